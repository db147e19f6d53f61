//! Files that lie beside a job.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

use crate::measure::MAX_FILE;

/// Reads files that a job in `folder` names; their paths count from there. One
/// that is no plain file, or longer than [`MAX_FILE`], is refused, so that a
/// wrong one does no harm.
pub fn beside(folder: &Path) -> impl Fn(&str) -> Result<Vec<u8>, String> + '_ {
    move |name| {
        let path = folder.join(name);
        let failed = |error: io::Error| format!("cannot read {}: {error}", path.display());
        // Opening a pipe would wait for its other end.
        if !fs::metadata(&path).map_err(failed)?.is_file() {
            return Err(format!("{} is no file", path.display()));
        }
        let mut bytes = Vec::new();
        let file = File::open(&path).map_err(failed)?;
        file.take(MAX_FILE + 1).read_to_end(&mut bytes).map_err(failed)?;
        if bytes.len() as u64 > MAX_FILE {
            return Err(format!("{} has more than {MAX_FILE} bytes", path.display()));
        }
        Ok(bytes)
    }
}
