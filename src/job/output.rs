//! Writes a job's files all together or not at all.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// Files that are written under temporary names beside their final ones, and
/// get those in [`Staged::commit`]. Dropped before, they leave nothing.
#[derive(Debug)]
pub struct Staged {
    folder: PathBuf,
    files: Vec<(PathBuf, PathBuf)>,
}

/// What could not be written.
#[derive(Debug, thiserror::Error)]
#[error("cannot {doing} {}: {source}", path.display())]
pub struct StagedError {
    doing: &'static str,
    path: PathBuf,
    source: io::Error,
}

fn failed(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> StagedError {
    let path = path.to_owned();
    move |source| StagedError { doing, path, source }
}

impl Staged {
    /// Files for a folder, which is made if it is not there. Tries at once
    /// whether the folder can be written to, so that long work is not lost.
    ///
    /// # Errors
    /// The folder cannot be made or written to.
    pub fn new(folder: impl Into<PathBuf>) -> Result<Self, StagedError> {
        let folder = folder.into();
        fs::create_dir_all(&folder).map_err(failed("make the folder", &folder))?;
        let trial = folder.join(format!(".borewright-{}-trial", std::process::id()));
        File::create(&trial).map_err(failed("write to the folder", &folder))?;
        fs::remove_file(&trial).map_err(failed("write to the folder", &folder))?;
        Ok(Self { folder, files: Vec::new() })
    }

    /// Writes one file under its temporary name. `name` is a plain file name.
    ///
    /// # Errors
    /// The file cannot be written, or a folder has its final name.
    pub fn write(&mut self, name: &str, bytes: &[u8]) -> Result<(), StagedError> {
        let target = self.folder.join(name);
        if target.is_dir() {
            let error = io::Error::from(io::ErrorKind::IsADirectory);
            return Err(failed("write", &target)(error));
        }
        let temporary = self.folder.join(format!(".{name}.{}-part", std::process::id()));
        self.files.push((temporary.clone(), target.clone()));
        // No sync to the disk: it guards against a power cut only, and costs
        // more than making the parts.
        fs::write(&temporary, bytes).map_err(failed("write", &target))
    }

    /// Gives all files their final names, replacing those of before.
    ///
    /// # Errors
    /// A file cannot be renamed; those before it are then in place already.
    pub fn commit(mut self) -> Result<Vec<PathBuf>, StagedError> {
        let mut done = Vec::new();
        while !self.files.is_empty() {
            let (temporary, target) = &self.files[0];
            fs::rename(temporary, target).map_err(failed("write", target))?;
            done.push(self.files.remove(0).1);
        }
        Ok(done)
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        for (temporary, _) in &self.files {
            // Nothing better can be done about a temporary file that stays.
            let _ = fs::remove_file(temporary);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("borewright-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        folder
    }

    #[test]
    fn files_appear_together_and_replace_earlier_ones() {
        let folder = folder("staged");
        let mut staged = Staged::new(&folder).expect("writable");
        staged.write("a.stl", b"old").expect("writable");
        staged.commit().expect("renamed");
        let mut staged = Staged::new(&folder).expect("writable");
        staged.write("a.stl", b"new").expect("writable");
        staged.write("b.stl", b"b").expect("writable");
        assert_eq!(fs::read(folder.join("a.stl")).expect("there"), b"old");
        assert!(!folder.join("b.stl").exists());
        staged.commit().expect("renamed");
        assert_eq!(fs::read(folder.join("a.stl")).expect("there"), b"new");
        assert_eq!(fs::read_dir(&folder).expect("there").count(), 2);
        fs::remove_dir_all(&folder).expect("removed");
    }

    #[test]
    fn what_is_not_committed_leaves_nothing() {
        let folder = folder("dropped");
        let mut staged = Staged::new(&folder).expect("writable");
        staged.write("a.stl", b"a").expect("writable");
        fs::create_dir(folder.join("b.stl")).expect("made");
        let error = staged.write("b.stl", b"b").expect_err("a folder is there");
        assert!(error.to_string().contains("b.stl"), "{error}");
        drop(staged);
        assert_eq!(fs::read_dir(&folder).expect("there").count(), 1);
        fs::remove_dir_all(&folder).expect("removed");
    }
}
