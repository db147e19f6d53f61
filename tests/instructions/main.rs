//! Instruction counts as the guard against slower code: they do not depend on
//! what else the machine does.
//!
//! The program and pieces of the library run under callgrind in a release
//! build; each count may be at most [`SLACK`] above the one kept in
//! `counts.toml`. Counts depend on the compiler: with another `rustc`, or
//! without valgrind, nothing is compared, and the test says so.
//! `BOREWRIGHT_WRITE=1 cargo test --release --test instructions` keeps new ones.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use borewright::checks::{Analysis, CheckContext, check};
use borewright::measure::{Library, Vec2};
use borewright::mesh::{ChordTolerance, Soup, tessellate};
use borewright::section::Region;
use borewright::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, Solid, Stack};

/// Share by which a count may rise: hash maps with random seeds vary by less
/// than a hundredth, a lost index by far more.
const SLACK: f64 = 0.03;

/// Names a piece of work to the process that is counted.
const WORK: &str = "BOREWRIGHT_COUNTED";

/// Pieces of the library; what later layers do joins with one line.
const PIECES: &[(&str, fn())] = &[
    ("stack of 400 slabs", || assert!(slabs(400).faces().len() > 400)),
    ("96 bores in a tube", || assert!(bored(96).faces().len() > 96)),
    ("region booleans", || assert!(regions() > 0.0)),
    ("mesh at 0.001 mm", || assert!(meshed(1e-3).triangles().len() > 1_000)),
    ("all checks of a tube", checks),
];

fn disc(radius: f64) -> Region {
    Region::disc(Vec2::zeros(), radius)
}

fn tube(radius: f64) -> Region {
    disc(radius).difference(&disc(11.0))
}

fn slabs(n: usize) -> Solid {
    let mut stack = Stack::default();
    for i in 0..n {
        stack.prism(i as f64, (i + 1) as f64, &tube([13.0, 14.0][i % 2]));
    }
    stack.solid().expect("a stack of tubes")
}

fn bored(n: usize) -> Solid {
    let mut stack = Stack::default();
    stack.prism(0.0, 10.0 + 4.0 * n as f64, &tube(13.0));
    let bore = |i: usize| CrossBore {
        direction: Vec2::y(),
        z: 5.0 + 4.0 * i as f64,
        offset: 0.0,
        start: f64::NEG_INFINITY,
        profile: BoreProfile::Round { radius: 1.5 },
        mouth: Mouth::Plain,
        end: BoreEnd::AllWalls,
    };
    stack.bored(&(0..n).map(bore).collect::<Vec<_>>()).expect("inside the walls")
}

fn regions() -> f64 {
    let mut region = disc(14.0);
    for i in 0..60 {
        let (sin, cos) = (f64::from(i) * 0.7).sin_cos();
        let hole = Region::disc(Vec2::new(9.0 * cos, 9.0 * sin), 1.5);
        region = region.difference(&hole).union(&Region::slot(
            Vec2::new(6.0 * sin, 6.0 * cos),
            Vec2::new(12.0 * sin, 12.0 * cos),
            0.4,
        ));
    }
    region.offset(-0.2).area()
}

fn meshed(chord: f64) -> borewright::mesh::Mesh {
    let tolerance = ChordTolerance { chord, ..ChordTolerance::default() };
    tessellate(&bored(6), &tolerance).expect("a bored tube meshes")
}

fn checks() {
    let library = Library::shipped();
    let analysis = Analysis::new(Soup::from(&meshed(1e-2)));
    let found = check(&CheckContext {
        printer: library.profile("printers", "fdm-medium").expect("shipped"),
        material: library.profile("materials", "petg").expect("shipped"),
        analysis: &analysis,
        remarks: &[],
        known: None,
    });
    assert!(!found.is_empty());
}

/// Runs the piece that the environment names; nothing in an ordinary run.
#[test]
fn counted() {
    let Ok(name) = std::env::var(WORK) else { return };
    let (_, run) = PIECES.iter().find(|(piece, _)| *piece == name).expect("a known piece");
    run();
}

/// Instructions that a command takes, by callgrind's own total.
fn count(command: &mut Command, program: &Path, arguments: &[&str]) -> u64 {
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("callgrind.out");
    let done = command
        .arg("--tool=callgrind")
        .arg(format!("--callgrind-out-file={}", out.display()))
        .arg(program)
        .args(arguments)
        .output()
        .expect("valgrind starts");
    let error = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{arguments:?}: {error}");
    let text = std::fs::read_to_string(&out).expect("callgrind's result");
    let total = text.lines().find_map(|l| l.strip_prefix("totals:").or(l.strip_prefix("summary:")));
    total.and_then(|t| t.trim().parse().ok()).unwrap_or_else(|| panic!("no total in {text:.300}"))
}

fn counts() -> BTreeMap<String, u64> {
    let mut counts = BTreeMap::new();
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("counted");
    for name in ["lamplighters-rod", "ember-wand", "two-plungers"] {
        let job = examples.join(format!("{name}.toml"));
        let arguments = ["make", &job.display().to_string(), "--out", &out.display().to_string()];
        let program = Path::new(env!("CARGO_BIN_EXE_borewright"));
        let n = count(&mut Command::new("valgrind"), program, &arguments);
        counts.insert(format!("make {name}"), n);
    }
    let own: PathBuf = std::env::current_exe().expect("this program");
    for (name, _) in PIECES {
        let mut command = Command::new("valgrind");
        command.env(WORK, name);
        let n = count(&mut command, &own, &["--exact", "counted", "--test-threads=1"]);
        counts.insert((*name).to_owned(), n);
    }
    counts
}

#[test]
fn no_count_has_risen() {
    // A debug build's counts say nothing.
    if cfg!(debug_assertions) || std::env::var_os(WORK).is_some() {
        return;
    }
    if !Command::new("valgrind").arg("--version").output().is_ok_and(|o| o.status.success()) {
        println!("SKIPPED: valgrind is not installed, so no instructions are counted");
        return;
    }
    let rustc = Command::new("rustc").arg("--version").output().expect("there is a compiler");
    let rustc = String::from_utf8_lossy(&rustc.stdout).trim().to_owned();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/instructions/counts.toml");
    let kept: toml::Table = std::fs::read_to_string(&path)
        .unwrap_or_default()
        .parse()
        .unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let counts = counts();
    if std::env::var_os("BOREWRIGHT_WRITE").is_some() {
        let mut text = String::from(
            "# Instructions in a release build under callgrind; written by\n\
             # BOREWRIGHT_WRITE=1 cargo test --release --test instructions\n\n",
        );
        text.push_str(&format!("rustc = \"{rustc}\"\n\n[counts]\n"));
        counts.iter().for_each(|(name, n)| text.push_str(&format!("\"{name}\" = {n}\n")));
        std::fs::write(&path, text).expect("the counts can be kept");
        return;
    }
    let same = kept.get("rustc").and_then(toml::Value::as_str) == Some(rustc.as_str());
    let mut risen = Vec::new();
    for (name, &now) in &counts {
        let before = kept["counts"].get(name).and_then(toml::Value::as_integer);
        let before = before.unwrap_or_else(|| panic!("no count is kept for `{name}`")) as f64;
        let change = 100.0 * (now as f64 / before - 1.0);
        println!("{name}: {:.1} million instructions, {change:+.2} %", now as f64 * 1e-6);
        if now as f64 > before * (1.0 + SLACK) {
            risen.push(format!("{name}: {before:.0} -> {now}, {change:+.2} %"));
        }
    }
    if !same {
        println!("SKIPPED: the counts were kept with another compiler than {rustc}");
        return;
    }
    assert!(risen.is_empty(), "more instructions than kept:\n{}", risen.join("\n"));
}
