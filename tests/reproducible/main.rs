//! The same input gives the same bytes: every output of every kind of part,
//! made twice in one process and in two processes.
//!
//! Two clean builds: `bash tests/reproducible/builds.sh`.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

use borewright::job::{FORMATS, Job, files, make};
use borewright::measure::{Library, Source};
use borewright::parts::PART_KINDS;

/// Time stamp of the files.
const STAMP: &str = "2000-01-01T00:00:00";

fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let entries = std::fs::read_dir(folder).expect("the examples are there");
    let mut jobs: Vec<PathBuf> = entries.map(|e| e.expect("readable").path()).collect();
    jobs.retain(|path| path.extension().is_some_and(|e| e == "toml"));
    jobs.sort();
    jobs
}

fn read(path: &Path) -> Job {
    let source = Source::new("job.toml", std::fs::read(path).expect("readable")).expect("text");
    Job::read(&source, Library::shipped(), PART_KINDS).unwrap_or_else(|e| panic!("{e}"))
}

/// Commands whose standard output is compared; `{job}`, `{out}` and `{mesh}`
/// stand for files. What later commands print joins here with one line.
const COMMANDS: &[&[&str]] = &[
    &["coupon", "--job", "{job}", "--piece", "lip", "--out", "{out}"],
    &["make", "{job}", "--out", "{out}"],
    &["plate", "{job}", "--out", "{out}"],
    &["picture", "{job}", "--out", "{out}/picture.png"],
    &["drawing", "{job}", "--out", "{out}"],
    &["card", "{job}", "--out", "{out}"],
    &["fit-report", "{job}", "{out}/measured.toml"],
    &["check", "{mesh}", "--printer", "fdm-medium", "--material", "petg", "--json"],
    &["profiles", "printers"],
];

#[test]
fn the_examples_show_every_kind_of_part() {
    let jobs = examples();
    let shown: BTreeSet<&str> = jobs
        .iter()
        .flat_map(|j| read(j).parts().iter().map(|p| p.kind().name).collect::<Vec<_>>())
        .collect();
    for kind in PART_KINDS {
        assert!(shown.contains(kind.name), "no example has a {}", kind.name);
    }
}

#[test]
fn two_runs_in_one_process_give_the_same_bytes() {
    let mut seen = BTreeSet::new();
    for path in examples() {
        let run = || {
            let job = read(&path);
            files(&job, &make(&job).expect("can be made"), STAMP).expect("can be written")
        };
        let (first, second) = (run(), run());
        assert_eq!(first.len(), second.len());
        for (a, b) in first.iter().zip(&second) {
            assert_eq!(a.0, b.0);
            assert!(a.1 == b.1, "{} of {} differs between two runs", a.0, path.display());
            seen.extend(a.0.rsplit('.').next().map(str::to_owned));
        }
    }
    for (extension, _) in FORMATS {
        assert!(seen.contains(*extension), "no {extension} was written");
    }
}

/// Names and bytes of a folder.
fn folder(path: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(path).expect("the folder is there");
    entries
        .map(|e| e.expect("readable").path())
        .map(|p| {
            let name = p.file_name().expect("a name").to_string_lossy().into_owned();
            (name, std::fs::read(p).expect("readable"))
        })
        .collect()
}

#[test]
fn two_processes_give_the_same_bytes() {
    for job in examples() {
        let name = job.file_stem().expect("a name").to_string_lossy().into_owned();
        let run = |which: &str| {
            let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("same").join(&name);
            let _ = std::fs::remove_dir_all(&out);
            let mut printed = Vec::new();
            for command in COMMANDS {
                let mesh = std::fs::read_dir(&out).ok().into_iter().flatten();
                let mut mesh: Vec<PathBuf> = mesh.map(|e| e.expect("readable").path()).collect();
                mesh.retain(|p| p.extension().is_some_and(|e| e == "stl"));
                mesh.sort();
                let mesh = mesh.first().map(|p| p.display().to_string()).unwrap_or_default();
                let arguments = command.iter().map(|a| {
                    a.replace("{job}", &job.display().to_string())
                        .replace("{out}", &out.display().to_string())
                        .replace("{mesh}", &mesh)
                });
                let done = Command::new(env!("CARGO_BIN_EXE_borewright"))
                    .args(arguments)
                    // Time stamps come from here: reproducible-builds.org.
                    .env("SOURCE_DATE_EPOCH", "946684800")
                    .env("BOREWRIGHT_RUN", which)
                    .output()
                    .expect("it starts");
                let error = String::from_utf8_lossy(&done.stderr);
                // 3 is a finding, which a check of bare triangles may have.
                assert!(matches!(done.status.code(), Some(0 | 3)), "{command:?}: {error}");
                printed.push((command, done.stdout));
            }
            (printed, folder(&out))
        };
        let (first, second) = (run("one"), run("two"));
        for (a, b) in first.0.iter().zip(&second.0) {
            assert!(a.1 == b.1, "{name}: {:?} prints something else", a.0);
            assert!(!a.1.is_empty(), "{name}: {:?} prints nothing", a.0);
        }
        assert!(first.1.keys().eq(second.1.keys()), "{name}");
        for (file, bytes) in &first.1 {
            assert!(*bytes == second.1[file], "{name}: {file} differs between two processes");
        }
        println!(
            "{name}: {} files and {} printed texts are the same",
            first.1.len(),
            COMMANDS.len()
        );
    }
}
