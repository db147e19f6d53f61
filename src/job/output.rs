//! Writes files all together or not at all.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// How names of folders begin in which files wait for their place.
const STAGING: &str = ".borewright-";

/// In such a folder: locked as long as its process lives.
const LOCK: &str = "lock";

/// Tries to get a folder of one's own, should another process sweep it away
/// between its making and its locking.
const TRIES: usize = 8;

/// Files that wait in a hidden folder beside their final places, and go there
/// in [`Staged::commit`]. Dropped before, they leave nothing; killed before,
/// the hidden folder, which the next run in the same place removes.
#[derive(Debug)]
pub struct Staged {
    folder: PathBuf,
    staging: PathBuf,
    /// Held until the end; none once all is done.
    lock: Option<File>,
    names: Vec<String>,
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
    /// whether the folder can be written to, so that long work is not lost, and
    /// removes what killed runs have left there.
    ///
    /// # Errors
    /// The folder cannot be made or written to.
    pub fn new(folder: impl Into<PathBuf>) -> Result<Self, StagedError> {
        /// Several of one process at once are told apart by it.
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let folder = folder.into();
        fs::create_dir_all(&folder).map_err(failed("make the folder", &folder))?;
        sweep(&folder);
        let mut tries = 0;
        loop {
            let count = COUNT.fetch_add(1, Ordering::Relaxed);
            let staging = folder.join(format!("{STAGING}{}-{count}", std::process::id()));
            let made = fs::create_dir(&staging).and_then(|()| {
                let lock = File::create_new(staging.join(LOCK))?;
                lock.lock()?;
                // Another run may have swept the folder before it was locked.
                fs::metadata(staging.join(LOCK)).map(|_| lock)
            });
            tries += 1;
            match made {
                Ok(lock) => {
                    return Ok(Self { folder, staging, lock: Some(lock), names: Vec::new() });
                }
                Err(error) if error.kind() == io::ErrorKind::NotFound && tries < TRIES => {}
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists && tries < TRIES => {}
                // Not every file system can lock; without it, nobody sweeps.
                Err(error) if error.kind() == io::ErrorKind::Unsupported => {
                    return Ok(Self { folder, staging, lock: None, names: Vec::new() });
                }
                Err(error) => return Err(failed("write to the folder", &folder)(error)),
            }
        }
    }

    /// Writes one file to where it waits. `name` is a plain file name.
    ///
    /// # Errors
    /// The file cannot be written, or a folder has its final name.
    pub fn write(&mut self, name: &str, bytes: &[u8]) -> Result<(), StagedError> {
        let target = self.folder.join(name);
        if target.is_dir() {
            let error = io::Error::from(io::ErrorKind::IsADirectory);
            return Err(failed("write", &target)(error));
        }
        self.names.push(name.to_owned());
        // No sync to the disk: it guards against a power cut only, and costs
        // more than making the parts.
        fs::write(self.staging.join(name), bytes).map_err(failed("write", &target))
    }

    /// Writes more of a file, behind what of it was written before. `name` is a
    /// plain file name.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn append(&mut self, name: &str, bytes: &[u8]) -> Result<(), StagedError> {
        if !self.names.iter().any(|known| known == name) {
            self.names.push(name.to_owned());
        }
        let waiting = self.staging.join(name);
        let file = File::options().create(true).append(true).open(waiting);
        file.and_then(|mut file| io::Write::write_all(&mut file, bytes))
            .map_err(failed("write", &self.folder.join(name)))
    }

    /// Brings all files to their places in the order in which they were
    /// written, replacing those of before.
    ///
    /// # Errors
    /// A file cannot be moved; those before it are then in place already.
    pub fn commit(self) -> Result<Vec<PathBuf>, StagedError> {
        let mut done = Vec::new();
        for name in &self.names {
            let target = self.folder.join(name);
            fs::rename(self.staging.join(name), &target).map_err(failed("write", &target))?;
            done.push(target);
        }
        Ok(done)
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        self.lock = None;
        // Nothing better can be done about what stays; the next run tries again.
        let _ = fs::remove_dir_all(&self.staging);
    }
}

/// Removes what killed runs have left in a folder: hidden folders whose lock
/// nobody holds.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        if !entry.file_name().to_string_lossy().starts_with(STAGING) {
            continue;
        }
        match File::open(entry.path().join(LOCK)) {
            Ok(lock) if lock.try_lock().is_ok() => {
                let _ = fs::remove_dir_all(entry.path());
            }
            // Killed before its lock was made, or just about to make it, which
            // then tries again.
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                let _ = fs::remove_dir(entry.path());
            }
            _ => {}
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

    #[test]
    fn what_killed_runs_left_is_removed_and_what_lives_is_not() {
        let folder = folder("swept");
        let mut living = Staged::new(&folder).expect("writable");
        living.write("a.stl", b"a").expect("writable");
        let dead = folder.join(format!("{STAGING}1-0"));
        fs::create_dir(&dead).expect("made");
        fs::write(dead.join(LOCK), b"").expect("written");
        fs::write(dead.join("half.stl"), b"ha").expect("written");
        let unborn = folder.join(format!("{STAGING}2-0"));
        fs::create_dir(&unborn).expect("made");
        let other = Staged::new(&folder).expect("writable");
        assert!(!dead.exists() && !unborn.exists());
        drop(other);
        living.commit().expect("it was left alone");
        let left: Vec<_> = fs::read_dir(&folder).expect("there").flatten().collect();
        assert_eq!(left.len(), 1, "{left:?}");
        fs::remove_dir_all(&folder).expect("removed");
    }
}
