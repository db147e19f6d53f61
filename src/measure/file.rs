//! Files that a job names: their bytes count as much as the job's own text.

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
    /// A file called `name` in the job, with what it held.
    pub fn new(name: impl Into<String>, bytes: Vec<u8>) -> GivenFile {
        GivenFile { name: name.into(), bytes }
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
