//! The pictures of the examples are what the program makes now.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::{pictures, root};

/// A picture that is shown, and the command that `examples/PICTURES.md` says made it.
struct Shown {
    file: String,
    command: Vec<String>,
}

fn shown() -> Vec<Shown> {
    let text = std::fs::read_to_string(root().join("examples/PICTURES.md")).expect("readable");
    let mut file = None;
    let mut all = Vec::new();
    for line in text.lines() {
        if let Some((_, rest)) = line.strip_prefix("![").and_then(|l| l.split_once("](")) {
            file = rest.strip_suffix(')').map(str::to_owned);
        } else if let Some(command) = line.strip_prefix('`').and_then(|l| l.strip_suffix('`')) {
            let command = command.split_whitespace().map(str::to_owned).collect();
            all.push(Shown { file: file.take().expect("a picture above the command"), command });
        }
    }
    all
}

/// Runs the command in `examples`, the picture written to a folder of the test's.
fn made(shown: &Shown) -> PathBuf {
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("examples").join(&shown.file);
    std::fs::create_dir_all(out.parent().expect("a folder")).expect("made");
    let mut command = Command::new(env!("CARGO_BIN_EXE_borewright"));
    command.current_dir(root().join("examples"));
    match shown.command.iter().position(|word| *word == shown.file) {
        Some(at) => {
            command.args(&shown.command[..at]).arg(&out).args(&shown.command[at + 1..]);
        }
        None => {
            command.args(&shown.command).arg("--out").arg(&out);
        }
    }
    let done = command.output().expect("it starts");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    out
}

#[test]
fn pictures_of_the_examples_are_made_by_their_commands() {
    let all = shown();
    assert!(all.len() >= 6, "{} pictures", all.len());
    let mut faults = Vec::new();
    let results = std::thread::scope(|scope| {
        let runs: Vec<_> = all.iter().map(|shown| scope.spawn(|| made(shown))).collect();
        runs.into_iter().map(|run| run.join().expect("it was made")).collect::<Vec<_>>()
    });
    for (shown, path) in all.iter().zip(results) {
        let kept = root().join("examples").join(&shown.file);
        if std::env::var_os("BOREWRIGHT_WRITE").is_some() {
            std::fs::copy(&path, &kept).expect("writable");
        }
        match pictures::difference(&pictures::read(&path), &pictures::read(&kept)) {
            Ok(difference) => println!("{}: {difference}", shown.file),
            Err(why) => faults.push(format!("{}: {why}", shown.file)),
        }
    }
    assert!(faults.is_empty(), "{}\nBOREWRIGHT_WRITE=1 keeps what is made now", faults.join("\n"));
}

#[test]
fn readme_shows_no_other_pictures() {
    let text = std::fs::read_to_string(root().join("README.md")).expect("readable");
    let known: Vec<String> = shown().into_iter().map(|s| format!("examples/{}", s.file)).collect();
    let mut count = 0;
    for (_, rest) in text.lines().filter_map(|l| l.strip_prefix("![")?.split_once("](")) {
        let file = rest.strip_suffix(')').expect("a picture by itself").to_owned();
        assert!(known.contains(&file), "{file} is not in examples/PICTURES.md");
        count += 1;
    }
    assert!(count > 0);
}
