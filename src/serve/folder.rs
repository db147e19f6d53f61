//! The folder that the user has chosen: jobs, meshes, earlier versions. Nothing
//! outside it is read or written.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use serde_json::{Value as Json, json};

use super::answer::{Refused, refused};
use crate::job::{OPTIONAL_TABLES, Staged, StagedError, Variants, digest_of};
use crate::measure::{FAMILIES, HANDLE, Kind, MAX_BYTES, MAX_FILE, Param, quoted};
use crate::parts::PART_KINDS;

/// Folder of earlier versions, one folder for each job.
const VERSIONS: &str = "versions";

/// Longest name of a file, characters: at most 240 bytes, of the 255 that common file systems take.
pub(super) const MAX_FILE_NAME: usize = 60;

/// What a name may begin and end with, and what may be inside, as classes of characters of
/// regular expressions (ECMA-262 with Unicode). Marks that some scripts count among their
/// letters are taken, too.
pub(super) const EDGE: &str = r"[\p{L}\p{N}_()]";
pub(super) const INSIDE: &str = r"[\p{L}\p{N}_() .+\-]";

/// Most files and versions that are listed. Common practice, no source.
const MOST_LISTED: usize = 1000;

/// Ending of job files.
pub(super) const JOB: &str = "toml";

/// Ending of tables of variants that are lists; others are TOML, as jobs are.
pub(super) const TABLE: &str = "csv";

/// Endings of meshes that `survey` reads besides what tables name.
pub(super) const MESHES: [&str; 3] = ["stl", "3mf", "obj"];

#[derive(Clone)]
pub(super) struct Folder {
    path: PathBuf,
}

impl Folder {
    /// The folder at a path, which must be there.
    pub fn new(path: &Path) -> io::Result<Folder> {
        let path = fs::canonicalize(path)?;
        fs::read_dir(&path)?;
        Ok(Folder { path })
    }

    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Jobs, tables of variants and meshes with size and time of the last change, by name.
    pub fn list(&self) -> Result<Json, Refused> {
        let mut files: Vec<(String, Json)> = Vec::new();
        for entry in fs::read_dir(&self.path).map_err(disk("list the folder"))?.flatten() {
            let Ok(name) = entry.file_name().into_string() else { continue };
            let kind = match ending(&name) {
                Some(JOB | TABLE) => "job",
                Some(ending) if endings().contains(&ending) => "mesh",
                _ => continue,
            };
            let Ok(about) = fs::metadata(entry.path()) else { continue };
            if !about.is_file() || plain(&name).is_err() || self.inside(&name).is_err() {
                continue;
            }
            let kind = match kind {
                "job" if self.varies(&name) => "variants",
                "job" if ending(&name) == Some(TABLE) => continue,
                kind => kind,
            };
            let entry = json!({
                "name": name, "kind": kind, "bytes": about.len(), "changed": changed(&about),
            });
            files.push((name, entry));
        }
        files.sort_by(|a, b| a.0.cmp(&b.0));
        files.truncate(MOST_LISTED);
        let files: Vec<Json> = files.into_iter().map(|(_, entry)| entry).collect();
        Ok(json!({ "folder": self.path.display().to_string(), "files": files }))
    }

    /// Whether a file is a table that varies jobs. One that is longer than a job may be is not
    /// looked into.
    fn varies(&self, name: &str) -> bool {
        let path = self.path.join(name);
        text_of(&path).is_ok_and(|text| !Variants::bases(&path, &text).is_empty())
    }

    /// The path of a file of the folder that is there.
    pub fn inside(&self, name: &str) -> Result<PathBuf, Refused> {
        plain(name)?;
        let missing = || {
            refused("not_found", format!("{} is not in the folder", quoted(name)))
                .hint("the list of files shows what is")
        };
        let real = fs::canonicalize(self.path.join(name)).map_err(|_| missing())?;
        if !real.starts_with(&self.path) || !real.is_file() {
            return Err(missing());
        }
        Ok(real)
    }

    /// The path of a job of the folder that is there.
    pub fn job(&self, name: &str) -> Result<PathBuf, Refused> {
        job_name(name)?;
        self.inside(name)
    }

    /// A job's text and its digest.
    pub fn open(&self, name: &str) -> Result<Json, Refused> {
        let text = text_of(&self.job(name)?)?;
        Ok(json!({ "name": name, "text": text, "digest": digest_of(text.as_bytes()) }))
    }

    /// Writes a job. `was` is the digest of what the page has opened; none for a
    /// new file. What is there and was not opened is never overwritten.
    pub fn save(&self, name: &str, text: &str, was: Option<&str>) -> Result<Json, Refused> {
        job_name(name)?;
        if text.len() > MAX_BYTES {
            let what = format!("the job has {} bytes; at most {MAX_BYTES} are read", text.len());
            return Err(refused("too_large", what));
        }
        let there = self.there(name)?;
        let known = there.as_deref().map(|text| digest_of(text.as_bytes()));
        if known.as_deref() != was {
            let what = match (was, &there) {
                (None, _) => format!("{name} is there already"),
                (_, None) => format!("{name} is no longer there"),
                _ => format!("{name} was changed meanwhile, in another tab or editor"),
            };
            return Err(refused("changed_meanwhile", what)
                .hint("save under another name, or open the file again"));
        }
        if let Some(there) = &there {
            self.keep(name, there)?;
        }
        let mut staged = Staged::new(&self.path).map_err(unwritable)?;
        staged.write(name, text.as_bytes()).map_err(unwritable)?;
        staged.commit().map_err(unwritable)?;
        let version = self.keep(name, text)?;
        Ok(json!({ "name": name, "digest": digest_of(text.as_bytes()), "version": version }))
    }

    /// The text of a job that may be there.
    fn there(&self, name: &str) -> Result<Option<String>, Refused> {
        // A link to nowhere is something that is there.
        match fs::symlink_metadata(self.path.join(name)) {
            Ok(_) => Ok(Some(text_of(&self.inside(name)?)?)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(disk("read the job")(error)),
        }
    }

    /// Keeps a text as the newest version of a job, unless it is that already.
    fn keep(&self, name: &str, text: &str) -> Result<usize, Refused> {
        let folder = self.versions_of(name)?;
        let newest = numbers(&folder).last().copied();
        if let Some(newest) = newest
            && fs::read(folder.join(version_name(newest))).is_ok_and(|old| old == text.as_bytes())
        {
            return Ok(newest);
        }
        let number = newest.unwrap_or(0) + 1;
        let mut staged = Staged::new(&folder).map_err(unwritable)?;
        staged.write(&version_name(number), text.as_bytes()).map_err(unwritable)?;
        staged.commit().map_err(unwritable)?;
        Ok(number)
    }

    fn versions_of(&self, name: &str) -> Result<PathBuf, Refused> {
        job_name(name)?;
        let stem = name.strip_suffix(".toml").unwrap_or(name);
        let folder = self.path.join(VERSIONS).join(stem);
        // Links may lead elsewhere.
        for part in [self.path.join(VERSIONS), folder.clone()] {
            if fs::canonicalize(&part).is_ok_and(|real| !real.starts_with(&self.path)) {
                let what = format!("{VERSIONS} leads out of the folder");
                return Err(refused("disk", what).hint("put a folder of that name in its place"));
            }
        }
        Ok(folder)
    }

    /// The versions of a job, the newest first.
    pub fn versions(&self, name: &str) -> Result<Json, Refused> {
        let folder = self.versions_of(name)?;
        let about = |number: &usize| {
            let about = fs::metadata(folder.join(version_name(*number))).ok()?;
            Some(json!({ "number": number, "changed": changed(&about), "bytes": about.len() }))
        };
        let all: Vec<Json> =
            numbers(&folder).iter().rev().take(MOST_LISTED).filter_map(about).collect();
        Ok(json!({ "name": name, "versions": all }))
    }

    /// The text of a version.
    pub fn version(&self, name: &str, number: usize) -> Result<Json, Refused> {
        let path = self.versions_of(name)?.join(version_name(number));
        if !path.is_file() {
            return Err(refused("not_found", format!("{name} has no version {number}")));
        }
        Ok(json!({ "name": name, "number": number, "text": text_of(&path)? }))
    }

    /// Puts a mesh, which waits in a file of the folder, under its name.
    pub fn take_in(&self, waiting: Staged) -> Result<(), Refused> {
        waiting.commit().map(drop).map_err(unwritable)
    }

    /// Checks the name of a mesh that is to be put into the folder, and begins it.
    pub fn mesh(&self, name: &str) -> Result<Staged, Refused> {
        plain(name)?;
        if !ending(name).is_some_and(|ending| endings().contains(&ending)) {
            let what = format!("{} is no file that a job can name", quoted(name));
            let known: Vec<String> = endings().iter().map(|e| format!(".{e}")).collect();
            return Err(refused("bad_request", what).hint(format!("known: {}", known.join(", "))));
        }
        if fs::symlink_metadata(self.path.join(name)).is_ok() {
            return Err(refused("changed_meanwhile", format!("{name} is there already"))
                .hint("give the file another name, or use the one that is there"));
        }
        Staged::new(&self.path).map_err(unwritable)
    }
}

/// A file name without a folder that no system misreads.
fn plain(name: &str) -> Result<(), Refused> {
    let known = |c: char| c.is_alphanumeric() || " -_.()+".contains(c);
    let edge = |c: char| c.is_alphanumeric() || c == '(' || c == ')' || c == '_';
    let good = !name.is_empty()
        && name.chars().count() <= MAX_FILE_NAME
        && name.chars().all(known)
        && name.starts_with(edge)
        && name.ends_with(edge);
    if good {
        return Ok(());
    }
    let what = format!("{} is no plain name of a file", quoted(name));
    Err(refused("bad_request", what).hint(format!(
        "letters, digits, spaces, -, _, + and . inside, at most {MAX_FILE_NAME} characters"
    )))
}

fn job_name(name: &str) -> Result<(), Refused> {
    plain(name)?;
    match ending(name) {
        Some(JOB) => Ok(()),
        _ => Err(refused("bad_request", format!("{} is no name of a job", quoted(name)))
            .hint("a job's file ends with .toml")),
    }
}

fn ending(name: &str) -> Option<&str> {
    name.rsplit_once('.').map(|(_, ending)| ending)
}

/// What the name of a mesh may end with: all that tables name, and what is surveyed.
pub(super) fn endings() -> Vec<&'static str> {
    fn of(rows: &'static [Param], out: &mut Vec<&'static str>) {
        for row in rows {
            match row.kind {
                Kind::File { endings } => out.extend(endings),
                Kind::Table { rows, .. } | Kind::List { rows, .. } => of(rows, out),
                _ => {}
            }
        }
    }
    let mut out = MESHES.to_vec();
    PART_KINDS.iter().for_each(|kind| of(kind.params, &mut out));
    FAMILIES.iter().for_each(|family| of(family.rows, &mut out));
    of(HANDLE, &mut out);
    of(OPTIONAL_TABLES, &mut out);
    out.sort_unstable();
    out.dedup();
    out
}

/// Longest mesh, bytes.
pub(super) const MAX_MESH: u64 = MAX_FILE;

fn version_name(number: usize) -> String {
    format!("{number:04}.toml")
}

/// Numbers of the versions in a folder, sorted.
fn numbers(folder: &Path) -> Vec<usize> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let number = |entry: fs::DirEntry| {
        entry.file_name().to_str()?.strip_suffix(".toml")?.parse::<usize>().ok()
    };
    let mut all: Vec<usize> = entries.flatten().filter_map(number).collect();
    all.sort_unstable();
    all
}

fn text_of(path: &Path) -> Result<String, Refused> {
    let about = fs::metadata(path).map_err(disk("read the job"))?;
    if about.len() > MAX_BYTES as u64 {
        let what = format!("the job has {} bytes; at most {MAX_BYTES} are read", about.len());
        return Err(refused("too_large", what));
    }
    let bytes = fs::read(path).map_err(disk("read the job"))?;
    String::from_utf8(bytes).map_err(|_| {
        refused("bad_request", "the file is no UTF-8 text").hint("save it as UTF-8 in its editor")
    })
}

/// Seconds since 1970.
fn changed(about: &fs::Metadata) -> Option<u64> {
    let time = about.modified().ok()?;
    time.duration_since(UNIX_EPOCH).ok().map(|since| since.as_secs())
}

fn disk(doing: &'static str) -> impl Fn(io::Error) -> Refused {
    move |error| refused("disk", format!("cannot {doing}: {error}"))
}

fn unwritable(error: StagedError) -> Refused {
    refused("disk", error.to_string()).hint("look whether the folder can be written to")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(name: &str) -> Folder {
        let path =
            std::env::temp_dir().join(format!("borewright-folder-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).expect("made");
        Folder::new(&path).expect("there")
    }

    fn text(value: &Json, key: &str) -> String {
        value[key].as_str().unwrap_or_default().to_owned()
    }

    #[test]
    fn names_that_lead_elsewhere_are_refused() {
        let folder = folder("names");
        for name in [
            "../a.toml",
            "/etc/passwd",
            "a/b.toml",
            "..",
            ".hidden.toml",
            "",
            "a\0.toml",
            "C:a.toml",
            "*.toml",
            "-a.toml",
        ] {
            assert_eq!(folder.open(name).expect_err(name).code, "bad_request", "{name}");
            assert_eq!(folder.save(name, "x", None).expect_err(name).code, "bad_request", "{name}");
            assert_eq!(folder.versions(name).expect_err(name).code, "bad_request", "{name}");
        }
        assert_eq!(folder.open("none.toml").expect_err("none").code, "not_found");
        assert_eq!(fs::read_dir(folder.path()).expect("there").count(), 0);
    }

    #[cfg(unix)]
    #[test]
    fn links_out_of_the_folder_are_not_followed() {
        let folder = folder("links");
        std::os::unix::fs::symlink("/etc/hostname", folder.path().join("a.toml")).expect("made");
        assert_eq!(folder.open("a.toml").expect_err("a link").code, "not_found");
        assert!(folder.save("a.toml", "x", None).is_err());
        std::os::unix::fs::symlink("/tmp", folder.path().join(VERSIONS)).expect("made");
        assert_eq!(folder.save("b.toml", "x", None).expect_err("a link").code, "disk");
        let listed = folder.list().expect("there");
        assert!(listed["files"].as_array().expect("a list").iter().all(|f| f["name"] != "a.toml"));
    }

    #[test]
    fn a_job_is_saved_over_what_was_opened_only_and_versions_stay() {
        let folder = folder("saved");
        let first = folder.save("wand.toml", "one", None).expect("new");
        assert_eq!(
            folder.save("wand.toml", "two", None).expect_err("there").code,
            "changed_meanwhile"
        );
        let was = text(&first, "digest");
        folder.save("wand.toml", "two", Some(&was)).expect("as opened");
        assert_eq!(
            folder.save("wand.toml", "three", Some(&was)).expect_err("stale").code,
            "changed_meanwhile"
        );
        // Another editor's text becomes a version before it is written over.
        fs::write(folder.path().join("wand.toml"), "by hand").expect("written");
        let opened = folder.open("wand.toml").expect("there");
        folder.save("wand.toml", "four", Some(&text(&opened, "digest"))).expect("as opened");
        let versions = folder.versions("wand.toml").expect("there");
        assert_eq!(versions["versions"].as_array().map(Vec::len), Some(4));
        let texts: Vec<String> = (1..=4)
            .map(|n| text(&folder.version("wand.toml", n).expect("there"), "text"))
            .collect();
        assert_eq!(texts, ["one", "two", "by hand", "four"]);
        assert_eq!(folder.version("wand.toml", 5).expect_err("none").code, "not_found");
    }

    #[test]
    fn meshes_get_a_name_that_a_job_can_say() {
        let folder = folder("meshes");
        let mut staged = folder.mesh("stone (2).stl").expect("a mesh");
        staged.write("stone (2).stl", b"solid").expect("written");
        folder.take_in(staged).expect("moved");
        assert_eq!(folder.mesh("stone (2).stl").expect_err("there").code, "changed_meanwhile");
        assert_eq!(folder.mesh("run.exe").expect_err("no mesh").code, "bad_request");
        let listed = folder.list().expect("there");
        assert_eq!(listed["files"][0]["kind"], "mesh");
    }
}
