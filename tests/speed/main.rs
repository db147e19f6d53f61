//! The whole process on the shipped examples: time and memory.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

/// From start to exit of `make` for one example of one part, all checks of up to
/// two bodies and the report page included; a full check of a body has 100 ms
/// (`tests/checks/speed.rs`). The fastest of 21 counts: 190 to 205 ms on two cores.
const MAKE: Duration = Duration::from_millis(300);

/// For each further part, of up to two bodies.
const MORE: Duration = Duration::from_millis(70);

/// Address space that `make` gets, KiB; resident memory is less.
const MEMORY_KIB: u32 = 64 * 1024;

fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut jobs: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the examples are there")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    jobs.sort();
    assert!(jobs.len() >= 3, "three examples at least");
    jobs
}

fn out(name: &str) -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join(name)
}

#[test]
fn make_is_quick() {
    // A debug build's times say nothing.
    if cfg!(debug_assertions) {
        return;
    }
    for job in examples() {
        let mut times: Vec<Duration> = (0..21)
            .map(|_| {
                let start = Instant::now();
                let done = Command::new(env!("CARGO_BIN_EXE_borewright"))
                    .arg("make")
                    .arg(&job)
                    .arg("--out")
                    .arg(out("speed"))
                    .output()
                    .expect("it starts");
                assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
                start.elapsed()
            })
            .collect();
        times.sort();
        let name = job.file_stem().expect("a name").to_string_lossy();
        println!(
            "{name}: process of make {:.1} ms median, {:.1} to {:.1}, of 21",
            times[10].as_secs_f64() * 1e3,
            times[0].as_secs_f64() * 1e3,
            times[20].as_secs_f64() * 1e3
        );
        let text = std::fs::read_to_string(&job).expect("readable");
        let parts = text.lines().filter(|line| *line == "[[part]]").count() as u32;
        let most = MAKE + MORE * parts.saturating_sub(1);
        assert!(times[0] < most, "{name} takes {:?} of {most:?}", times[0]);
    }
}

#[test]
fn make_needs_little_memory() {
    for job in examples() {
        let script = format!("ulimit -v {MEMORY_KIB} && exec \"$@\"");
        let done = Command::new("bash")
            .args(["-c", &script, "bash", env!("CARGO_BIN_EXE_borewright"), "make"])
            .arg(&job)
            .arg("--out")
            .arg(out("memory"))
            .output()
            .expect("bash starts");
        assert!(
            done.status.success(),
            "{} in {MEMORY_KIB} KiB: {}",
            job.display(),
            String::from_utf8_lossy(&done.stderr)
        );
    }
}
