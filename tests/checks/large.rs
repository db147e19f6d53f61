//! Files of millions of triangles, through the command as a process: refused,
//! or checked, in bounded memory and time.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::{Duration, Instant};

/// A file that is gone when the test ends, whatever its outcome.
struct Gone(PathBuf);

impl Drop for Gone {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

/// A rough sphere as binary STL with at least `wanted` triangles; the header
/// says `told`, or the truth.
fn rough_sphere(name: &str, wanted: u32, told: Option<u32>) -> (Gone, u32) {
    // 2 n (n / 2 - 1) triangles for n meridians.
    let n = (1 + f64::from(wanted).sqrt() as u32).next_multiple_of(2) + 2;
    let rings = n / 2;
    let count = 2 * n * (rings - 1);
    assert!(count >= wanted);
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let mut file = BufWriter::new(File::create(&path).expect("target is writable"));
    let mut header = [b' '; 84];
    header[80..].copy_from_slice(&told.unwrap_or(count).to_le_bytes());
    file.write_all(&header).expect("room on the disk");
    let sines: Vec<(f64, f64)> =
        (0..n).map(|k| (std::f64::consts::TAU * f64::from(k) / f64::from(n)).sin_cos()).collect();
    let at = |ring: u32, k: u32| -> [f32; 3] {
        let (sin, cos) = (std::f64::consts::PI * f64::from(ring) / f64::from(rings)).sin_cos();
        let (s, c) = sines[(k % n) as usize];
        let waist = if ring == 0 || ring == rings { 0.0 } else { sin };
        let r = 20.0 + 0.2 * (f64::from(ring) * 0.05).sin();
        [(r * waist * c) as f32, (r * waist * s) as f32, (r * cos) as f32]
    };
    let mut put = |corners: [[f32; 3]; 3]| {
        let mut bytes = [0; 50];
        for (slot, v) in bytes[12..48].chunks_exact_mut(4).zip(corners.iter().flatten()) {
            slot.copy_from_slice(&v.to_le_bytes());
        }
        file.write_all(&bytes).expect("room on the disk");
    };
    for ring in 0..rings {
        for k in 0..n {
            let (a, b) = (at(ring, k), at(ring, k + 1));
            let (c, d) = (at(ring + 1, k), at(ring + 1, k + 1));
            if ring > 0 {
                put([a, d, b]);
            }
            if ring + 1 < rings {
                put([a, c, d]);
            }
        }
    }
    file.flush().expect("room on the disk");
    (Gone(path), count)
}

/// Runs the check in so much address space.
fn check_within(path: &Path, kib: u32) -> (Output, Duration) {
    run_within(path, kib, "check", &["--printer", "fdm-thin", "--material", "petg"])
}

fn run_within(path: &Path, kib: u32, command: &str, options: &[&str]) -> (Output, Duration) {
    let start = Instant::now();
    let script = format!("ulimit -v {kib} && exec \"$@\"");
    let done = Command::new("bash")
        .args(["-c", &script, "bash", env!("CARGO_BIN_EXE_borewright"), command])
        .arg(path)
        .args(options)
        .output()
        .expect("bash starts");
    (done, start.elapsed())
}

/// A trough 150 mm long as binary STL: an outside of 18 mm radius with a slot
/// from +y down to a round of 12 mm, all of it rough by 0.02 mm; `around` pieces
/// around and `along` pieces along.
fn rough_trough(name: &str, around: u32, along: u32) -> (Gone, u32) {
    let (half, length) = (around / 2, 150.0);
    let count = 2 * around * along + 4 * (half - 1);
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let mut file = BufWriter::new(File::create(&path).expect("target is writable"));
    let mut header = [b' '; 84];
    header[80..].copy_from_slice(&count.to_le_bytes());
    file.write_all(&header).expect("room on the disk");
    // From one lip of the slot around the outside to the other, and back
    // inside: each outer corner has its inner one.
    let at = |k: u32, row: u32| -> [f32; 3] {
        let k = k % around;
        let (outer, step) = if k < half { (true, k) } else { (false, around - 1 - k) };
        let share = f64::from(step) / f64::from(half - 1);
        let angle = 2.4 + share * (2.0 * std::f64::consts::PI - 1.66);
        let rough = 0.02 * f64::from((k * 7 + row * 13) % 5) / 5.0;
        let r = if outer { 18.0 - rough } else { 12.0 + rough };
        let z = length * f64::from(row) / f64::from(along);
        [(r * angle.cos()) as f32, (r * angle.sin()) as f32, z as f32]
    };
    let mut put = |corners: [[f32; 3]; 3]| {
        let mut bytes = [0; 50];
        for (slot, v) in bytes[12..48].chunks_exact_mut(4).zip(corners.iter().flatten()) {
            slot.copy_from_slice(&v.to_le_bytes());
        }
        file.write_all(&bytes).expect("room on the disk");
    };
    for row in 0..along {
        for k in 0..around {
            put([at(k, row), at(k + 1, row), at(k + 1, row + 1)]);
            put([at(k, row), at(k + 1, row + 1), at(k, row + 1)]);
        }
    }
    for (row, up) in [(0, false), (along, true)] {
        for k in 0..half - 1 {
            let (a, b) = (at(k, row), at(k + 1, row));
            let (c, d) = (at(around - 2 - k, row), at(around - 1 - k, row));
            for [p, q, r] in [[a, b, c], [a, c, d]] {
                put(if up { [p, q, r] } else { [p, r, q] });
            }
        }
    }
    file.flush().expect("room on the disk");
    (Gone(path), count)
}

/// Address space in which two million triangles are surveyed, KiB.
const SURVEYING: u32 = 1024 * 1024;

/// What somebody else made, as fine as a scan: its slot and what fits in it.
#[test]
fn two_million_triangles_are_surveyed() {
    // A debug build takes minutes: it measures a tenth.
    let along = if cfg!(debug_assertions) { 100 } else { 1000 };
    let (file, count) = rough_trough("two-million-trough.stl", 1000, along);
    let options = ["--grid", if cfg!(debug_assertions) { "0.4" } else { "0.1" }];
    let (done, time) = run_within(&file.0, SURVEYING, "survey", &options);
    let (out, err) = (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    println!("{count} triangles surveyed in {time:?} within {SURVEYING} KiB\n{out}");
    assert_eq!(done.status.code(), Some(0), "{out}{err}");
    assert!(out.contains("fits a circle of 36 mm"), "{out}{err}");
    assert!(!out.contains("warning"), "{out}{err}");
    // The round of 12 mm less nothing: the inside is rough outwards only.
    assert!(out.contains(" 23.99 x 150") || out.contains(" 24.0"), "{out}{err}");
    assert!(cfg!(debug_assertions) || time < Duration::from_secs(15), "{time:?}");
}

/// Address space in which ten million triangles are refused, KiB: the whole
/// program has no more.
const REFUSING: u32 = 64 * 1024;

/// The same where only all bytes show it: they and little more.
const READING: u32 = 640 * 1024;

#[test]
fn ten_million_triangles_are_refused_before_they_are_read() {
    let (file, count) = rough_sphere("ten-million.stl", 10_000_000, None);
    let (done, time) = check_within(&file.0, REFUSING);
    let err = String::from_utf8_lossy(&done.stderr);
    println!("{count} triangles refused in {time:?} within {REFUSING} KiB");
    assert_eq!(done.status.code(), Some(2), "{err}");
    assert!(err.contains(&format!("the file has {count} triangles or more; at most")), "{err}");
    assert!(err.contains("reduce it first"), "{err}");
    assert!(time < Duration::from_secs(2), "{time:?}");
}

#[test]
fn a_header_that_hides_ten_million_triangles_is_found_out() {
    let (file, _) = rough_sphere("hidden-millions.stl", 10_000_000, Some(12));
    let (done, time) = check_within(&file.0, READING);
    let err = String::from_utf8_lossy(&done.stderr);
    println!("hidden behind 12: refused in {time:?} within {READING} KiB");
    assert_eq!(done.status.code(), Some(2), "{err}");
    assert!(err.contains("triangles or more; at most"), "{err}");
    assert!(time < Duration::from_secs(20), "{time:?}");
}

/// A scanned chassis has two million: it is read and checked.
#[test]
fn two_million_triangles_are_checked() {
    // A debug build takes minutes.
    if cfg!(debug_assertions) {
        return;
    }
    let (file, count) = rough_sphere("two-million.stl", 2_000_000, None);
    let (done, time) = check_within(&file.0, 2048 * 1024);
    let (out, err) = (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    println!("{count} triangles checked in {time:?} within 2 GiB");
    assert!(out.contains(&format!("{count} triangles")), "{out}{err}");
    assert!(matches!(done.status.code(), Some(0 | 3)), "{out}{err}");
    assert!(out.contains("orientation"), "the last check has run: {out}{err}");
    assert!(time < Duration::from_secs(60), "{time:?}");
}
