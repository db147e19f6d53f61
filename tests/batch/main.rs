//! `borewright batch` as a process: killed, crowded, short of room, in shares.

mod scale;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

use fastrand::Rng;
use serde_json::Value;

/// A fresh folder for one test.
fn folder(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("batch-{name}"));
    let _ = fs::remove_dir_all(&path);
    fs::create_dir_all(&path).expect("made");
    path
}

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name)
}

fn batch(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_borewright"));
    command.arg("batch").args(arguments).env_remove("SOURCE_DATE_EPOCH");
    command
}

fn ran(arguments: &[&str]) -> Output {
    batch(arguments).output().expect("it starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A table that sweeps each of the shipped examples' own measures: `stones` by
/// `fits` variants of the cradle.
fn table(folder: &Path, stones: usize) -> String {
    let base = example("lamplighters-rod.toml");
    let path = folder.join("rods.toml");
    let text = format!(
        "format = 1\nbase = {base:?}\n\n[[sweep]]\nfield = \"part[1].fit\"\n\
         values = [\"slide\", \"loose\"]\n\n[[sweep]]\nfield = \"part[1].coat\"\nfrom = 0\nto = 0.2\n\
         count = {stones}\n"
    );
    fs::write(&path, text).expect("written");
    path.to_str().expect("a plain path").to_owned()
}

/// All files below a folder with their bytes.
fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(root: &Path, at: &Path, out: &mut BTreeMap<String, Vec<u8>>) {
        for entry in fs::read_dir(at).expect("a folder").flatten() {
            let path = entry.path();
            if path.is_dir() {
                walk(root, &path, out);
            } else {
                let name = path.strip_prefix(root).expect("below").to_string_lossy().into_owned();
                out.insert(name, fs::read(&path).expect("readable"));
            }
        }
    }
    let mut out = BTreeMap::new();
    if folder.exists() {
        walk(folder, folder, &mut out);
    }
    out
}

fn out(folder: &Path, name: &str) -> (PathBuf, String) {
    let path = folder.join(name);
    let text = path.to_str().expect("a plain path").to_owned();
    (path, text)
}

#[test]
fn one_bad_job_stops_no_other_and_unchanged_ones_are_skipped() {
    let place = folder("mixed");
    let jobs = place.join("jobs");
    fs::create_dir_all(jobs.join("more")).expect("made");
    let rod = fs::read_to_string(example("lamplighters-rod.toml")).expect("readable");
    fs::write(jobs.join("a-rod.toml"), &rod).expect("written");
    fs::write(jobs.join("b-broken.toml"), "format = ").expect("written");
    fs::write(
        jobs.join("more/c-narrow.toml"),
        rod.replace("bore = [31.42, 31.38, 31.46, 31.40, 31.44]", "bore = [12.0]")
            .replace("31.4", "12.4"),
    )
    .expect("written");
    fs::copy(example("ember-wand.toml"), jobs.join("more/d-wand.toml")).expect("copied");
    let (out, out_text) = out(&place, "out");
    let jobs_text = jobs.to_str().expect("plain");
    let run = ran(&[jobs_text, "--out", &out_text]);
    assert_eq!(run.status.code(), Some(2), "{}{}", text(&run.stdout), text(&run.stderr));
    assert!(text(&run.stderr).contains("b-broken: bad input: error: "), "{}", text(&run.stderr));
    assert!(text(&run.stdout).contains("2 new\n2 not made"), "{}", text(&run.stdout));
    assert!(out.join("a-rod/rod-cradle.stl").exists());
    let summary: Value =
        serde_json::from_slice(&fs::read(out.join("summary.json")).expect("there")).expect("JSON");
    let outcome = |i: &str| summary["rows"][i]["outcome"].as_str().expect("a word").to_owned();
    assert_eq!(outcome("1"), "bad_input");
    assert!(["made", "made_with_errors"].contains(&outcome("0").as_str()));
    assert!(["refused", "bad_input"].contains(&outcome("2").as_str()), "{}", outcome("2"));
    let before = tree(&out);
    assert!(before.contains_key("d-wand/report.json"));

    // Nothing has changed: nothing is made, and the summary is the same.
    let run = ran(&[jobs_text, "--out", &out_text]);
    assert!(text(&run.stdout).contains("unchanged since an earlier run"), "{}", text(&run.stdout));
    assert!(tree(&out) == before, "the same files");

    // One job changes, a file of another is gone: just these are made again.
    fs::write(jobs.join("a-rod.toml"), rod.replace("fit = \"slide\"", "fit = \"loose\""))
        .expect("written");
    fs::remove_file(out.join("d-wand/report.txt")).expect("removed");
    let run = ran(&[jobs_text, "--out", &out_text]);
    let said = text(&run.stdout);
    assert!(said.contains("1 made again: what went in has changed"), "{said}");
    assert!(said.contains("1 made again: files were missing or changed"), "{said}");
    let after = tree(&out);
    assert_ne!(after["a-rod/rod-cradle.stl"], before["a-rod/rod-cradle.stl"]);
    assert_eq!(after["d-wand/report.txt"], before["d-wand/report.txt"]);
}

#[test]
fn shards_join_to_the_whole_byte_for_byte() {
    let place = folder("shards");
    let table = table(&place, 6);
    let ((whole, whole_text), (shared, shared_text)) =
        (out(&place, "whole"), out(&place, "shared"));
    let run = ran(&[&table, "--out", &whole_text]);
    assert!(run.status.code().is_some_and(|c| c == 0 || c == 3), "{}", text(&run.stderr));
    let mut children: Vec<Child> = (1..=3)
        .map(|i| {
            batch(&[&table, "--out", &shared_text, "--shard", &format!("{i}/3")])
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .expect("it starts")
        })
        .collect();
    for child in &mut children {
        let status = child.wait().expect("it ends");
        assert_eq!(status.code(), run.status.code());
    }
    let merged = ran(&["merge", &shared_text, "--out", &shared_text]);
    assert_eq!(merged.status.code(), run.status.code(), "{}", text(&merged.stderr));
    let mut joined = tree(&shared);
    joined.retain(|name, _| !name.starts_with("summary-"));
    let wanted = tree(&whole);
    assert_eq!(joined.keys().collect::<Vec<_>>(), wanted.keys().collect::<Vec<_>>());
    for (name, bytes) in &wanted {
        assert!(&joined[name] == bytes, "{name} differs");
    }
    assert!(wanted.len() > 12 * 5, "{} files", wanted.len());

    // A share that is missing is told, one of another batch refused.
    let first = shared.join("summary-1-of-3.json");
    let part = ran(&["merge", first.to_str().expect("plain"), "--out", &out(&place, "part").1]);
    assert!(text(&part.stderr).contains("8 jobs of the batch are in no share given"));
    assert_eq!(part.status.code(), Some(2));
    let other = ran(&[
        "merge",
        first.to_str().expect("plain"),
        example("lamplighters-rod.toml").to_str().expect("plain"),
        "--out",
        &out(&place, "part").1,
    ]);
    assert_eq!(other.status.code(), Some(2));
    assert!(text(&other.stderr).contains("is no summary of a batch"), "{}", text(&other.stderr));
}

/// No file of a folder that has a record may be other than what an undisturbed
/// run makes, whenever the process is killed.
#[test]
#[cfg(unix)]
fn killed_at_any_moment_it_leaves_whole_files_and_goes_on() {
    const KILLS: usize = 50;
    let place = folder("killed");
    let table = table(&place, 10);
    let (good, good_text) = out(&place, "good");
    let start = std::time::Instant::now();
    ran(&[&table, "--out", &good_text]);
    let whole = start.elapsed();
    let wanted = tree(&good);
    let (out, out_text) = out(&place, "out");
    let mut rng = Rng::with_seed(7);
    // How long a run from the start takes; other tests may slow the first one.
    let (mut length, mut killed, mut rounds) = (whole.as_secs_f64(), 0, 0);
    while killed < KILLS {
        rounds += 1;
        assert!(rounds < 10 * KILLS, "only {killed} of {rounds} runs were there to be killed");
        // From time to time from the start, so that all moments have a turn.
        if rounds % 5 == 0 {
            let _ = fs::remove_dir_all(&out);
        }
        let mut child = batch(&[&table, "--out", &out_text])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("it starts");
        std::thread::sleep(Duration::from_secs_f64(length * rng.f64()));
        // SIGKILL: nothing can be tidied up.
        child.kill().expect("sent");
        if child.wait().expect("it ends").code().is_none() {
            killed += 1;
        } else {
            length *= 0.9;
            let _ = fs::remove_dir_all(&out);
            continue;
        }
        for (name, bytes) in tree(&out) {
            let hidden = name.split('/').any(|part| part.starts_with(".borewright-"));
            let summary = name.starts_with("summary");
            assert!(hidden || summary || wanted.get(&name) == Some(&bytes), "{name} is not whole");
        }
    }
    let run = ran(&[&table, "--out", &out_text]);
    assert!(run.status.code().is_some_and(|c| c == 0 || c == 3), "{}", text(&run.stderr));
    let left = tree(&out);
    assert_eq!(left.keys().collect::<Vec<_>>(), wanted.keys().collect::<Vec<_>>());
    assert!(left == wanted, "all as if it had never been killed");
}

#[test]
fn two_runs_in_one_folder_do_not_disturb_each_other() {
    let place = folder("two");
    let table = table(&place, 8);
    let ((good, good_text), (both, both_text)) = (out(&place, "good"), out(&place, "both"));
    let alone = ran(&[&table, "--out", &good_text]);
    let mut children: Vec<Child> = (0..2)
        .map(|_| {
            batch(&[&table, "--out", &both_text, "--again"])
                .stdout(Stdio::null())
                .stderr(Stdio::piped())
                .spawn()
                .expect("it starts")
        })
        .collect();
    for child in children.drain(..) {
        let ended = child.wait_with_output().expect("it ends");
        assert_eq!(ended.status.code(), alone.status.code(), "{}", text(&ended.stderr));
    }
    assert!(tree(&both) == tree(&good));
}

/// A file system of one megabyte, if this machine lets us mount one.
#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_is_told_and_nothing_is_half_written() {
    let place = folder("full");
    let table = table(&place, 10);
    let (good, good_text) = out(&place, "good");
    ran(&[&table, "--out", &good_text]);
    let wanted = tree(&good);
    let (small, small_text) = out(&place, "small");
    fs::create_dir_all(&small).expect("made");
    let mounted = Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=1m", "tmpfs", &small_text])
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success());
    if !mounted {
        println!("skipped: this machine lets nobody mount a small file system");
        return;
    }
    let run = ran(&[&table, "--out", &small_text]);
    let found = tree(&small);
    let again = ran(&[&table, "--out", &small_text]);
    assert!(Command::new("umount").arg(&small_text).status().expect("it starts").success());
    assert_eq!(run.status.code(), Some(2), "{}", text(&run.stderr));
    assert!(text(&run.stderr).contains("No space left"), "{}", text(&run.stderr));
    assert_eq!(again.status.code(), Some(2));
    assert!(found.len() < wanted.len());
    for (name, bytes) in found {
        assert!(name.starts_with("summary") || wanted.get(&name) == Some(&bytes), "{name}");
    }
}

#[test]
fn what_cannot_be_used_is_refused_before_anything_is_made() {
    let place = folder("refused");
    let good = example("lamplighters-rod.toml");
    let good = good.to_str().expect("plain");
    let table = table(&place, 3);
    let clash = place.join("lamplighters-rod.toml");
    fs::copy(good, &clash).expect("copied");
    let empty = place.join("empty");
    fs::create_dir_all(&empty).expect("made");
    let file = place.join("file");
    fs::write(&file, "x").expect("written");
    let list = place.join("list.csv");
    fs::write(&list, "base\nnone.toml\n").expect("written");
    let path = |p: &Path| p.to_str().expect("plain").to_owned();
    let cases: [(Vec<String>, &str); 7] = [
        (vec![good.into(), path(&clash)], "would both write to the folder lamplighters-rod"),
        (vec![path(&empty)], "no job file is there"),
        (vec![path(&place.join("no*.toml"))], "nothing matches"),
        (vec![path(&list)], "line 2: cannot read"),
        (vec![table.clone(), "--shard".into(), "4/3".into()], "is no share I/N"),
        (vec![table.clone(), "--shard".into(), "0/3".into()], "is no share I/N"),
        (vec![table, "--out".into(), path(&file)], "cannot make the folder"),
    ];
    for (arguments, wanted) in cases {
        let mut arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let (out, out_text) = out(&place, "out");
        if !arguments.contains(&"--out") {
            arguments.extend(["--out", &out_text]);
        }
        let run = ran(&arguments);
        assert_eq!(run.status.code(), Some(2), "{wanted}");
        let said = text(&run.stderr);
        assert!(said.contains(wanted) && said.contains("hint: "), "{wanted}: {said}");
        assert!(!out.exists(), "{wanted}");
    }
}
