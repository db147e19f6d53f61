//! Files that lie beside a job.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::measure::MAX_BYTES;

/// Reads files that a job in `folder` names; their paths count from there. Of
/// each at most one byte more than a text may have is read, so that a wrong one
/// does no harm.
pub fn beside(folder: &Path) -> impl Fn(&str) -> Result<Vec<u8>, String> + '_ {
    move |name| {
        let path = folder.join(name);
        let mut bytes = Vec::new();
        File::open(&path)
            .and_then(|file| file.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes))
            .map_err(|error| format!("cannot read {}: {error}", path.display()))?;
        Ok(bytes)
    }
}
