//! Files that a job names: their bytes count as much as the job's own text.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Longest file that a job may name, bytes: a scan of three million triangles
/// in binary STL. Keeps memory bounded; common practice, no source.
pub const MAX_FILE: u64 = 160 << 20;

/// A file that a job names, as it was when the job was read.
#[derive(Debug, PartialEq, Eq)]
pub struct GivenFile {
    name: String,
    bytes: Vec<u8>,
}

impl GivenFile {
    /// Reads the file `name`, which counts from the folder of the job's own file
    /// unless it is absolute.
    ///
    /// # Errors
    /// It cannot be read, is no plain file, or is longer than [`MAX_FILE`].
    pub(crate) fn read(name: &str, job: &str) -> Result<GivenFile, String> {
        let path = Path::new(job).parent().map_or_else(PathBuf::new, Path::to_path_buf).join(name);
        let failed = |error: io::Error| format!("cannot read {}: {error}", path.display());
        // Opening a pipe would wait for its other end.
        if !std::fs::metadata(&path).map_err(failed)?.is_file() {
            return Err(format!("{} is no file", path.display()));
        }
        let mut bytes = Vec::new();
        let file = File::open(&path).map_err(failed)?;
        file.take(MAX_FILE + 1).read_to_end(&mut bytes).map_err(failed)?;
        if bytes.len() as u64 > MAX_FILE {
            return Err(format!("{} has more than {MAX_FILE} bytes", path.display()));
        }
        Ok(GivenFile { name: name.to_owned(), bytes })
    }

    /// The name as written.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What it held.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
}
