//! Mesh files that the person named.

use std::io::{self, Read};
use std::path::Path;

use super::{Stop, unknown};
use crate::mesh::{FileUnit, MAX_FILE_BYTES, ReadError, ReadMesh, admit, read_mesh};

/// Bytes of a file that are read before it is admitted.
const HEAD: u64 = 84;

/// The unit of a name given with `--unit`.
pub(super) fn unit_named(name: &str) -> Result<FileUnit, Stop> {
    FileUnit::named(name).ok_or_else(|| unknown("unit", name, &FileUnit::WORDS))
}

/// Reads a mesh file; refuses by its length before its bytes are read.
pub(super) fn read(path: &Path, unit: Option<FileUnit>) -> Result<ReadMesh, Stop> {
    let shown = path.display();
    let unreadable = |error: io::Error| {
        let hint = match path.is_dir() {
            true => format!("name the meshes in it: {shown}/*.3mf"),
            false => "give the path of a mesh that can be read".to_owned(),
        };
        Stop::bad_input(format!("cannot read {shown}: {error}"), [hint])
    };
    if let Some(hint) = no_mesh(path) {
        return Err(Stop::bad_input(format!("{shown} is no mesh"), [hint]));
    }
    let bad =
        |error: ReadError| Stop::bad_input(format!("{shown}: {error}"), [error.hint().to_owned()]);
    let file = std::fs::File::open(path).map_err(unreadable)?;
    let length = file.metadata().map_err(unreadable)?.len();
    let mut bytes = Vec::new();
    // A pipe has no length; it ends at the limit.
    let mut file = file.take(MAX_FILE_BYTES + 1);
    (&mut file).take(HEAD).read_to_end(&mut bytes).map_err(unreadable)?;
    admit(&bytes, length).map_err(bad)?;
    file.read_to_end(&mut bytes).map_err(unreadable)?;
    read_mesh(&bytes, unit).map_err(bad)
}

/// What to do instead, if a file's name says that it holds something else.
fn no_mesh(path: &Path) -> Option<String> {
    let extension = path.extension()?.to_string_lossy().to_lowercase();
    match extension.as_str() {
        "step" | "stp" => Some("a STEP file is an exact solid: export it as STL or 3MF".to_owned()),
        "toml" => Some(format!("to check the parts of a job: borewright make {}", path.display())),
        _ => None,
    }
}
