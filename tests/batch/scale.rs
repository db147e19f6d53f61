//! How batches grow: parts a second, cores, memory.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::{Duration, Instant};

use super::{batch, example, folder, out, text, tree};

/// Variants of all three kinds of part, `count` in all.
fn tables(place: &Path, count: usize) -> Vec<String> {
    // Each by a field with a range in which its example can be made.
    let sweeps = [
        ("lamplighters-rod", "part[1].from_z", 40.0, 58.0),
        ("two-plungers", "part[1].plunger[1].z", 50.0, 58.0),
        ("ember-wand", "part[1].from_z", 2.0, 20.0),
    ];
    let mut paths = Vec::new();
    for (i, (name, field, from, to)) in sweeps.into_iter().enumerate() {
        let share = count / 3 + usize::from(i < count % 3);
        let mut table = format!("base,{field}\n");
        for row in 0..share {
            // Ten thousand steps on a grid of a micrometre would repeat.
            let value = from + (to - from) * row as f64 / share.max(2) as f64;
            let base = example(&format!("{name}.toml"));
            table.push_str(&format!("{},{value:.6}\n", base.display()));
        }
        let path = place.join(format!("{name}-{count}.csv"));
        fs::write(&path, table).expect("written");
        paths.push(path.to_str().expect("plain").to_owned());
    }
    paths
}

/// Wall time and peak resident memory, MiB, of one batch.
fn run(place: &Path, count: usize, workers: usize) -> (Duration, f64, PathBuf) {
    let (out, out_text) = out(place, &format!("out-{count}-{workers}"));
    let tables = tables(place, count);
    let mut arguments: Vec<&str> = tables.iter().map(String::as_str).collect();
    let workers = workers.to_string();
    arguments.extend(["--out", &out_text, "--workers", &workers]);
    let start = Instant::now();
    let mut child =
        batch(&arguments).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().expect("it starts");
    let status = format!("/proc/{}/status", child.id());
    let mut peak: f64 = 0.0;
    let ended = loop {
        // The peak so far, kept by the kernel; gone when the process is.
        if let Ok(status) = fs::read_to_string(&status)
            && let Some(line) = status.lines().find(|line| line.starts_with("VmHWM:"))
            && let Some(kib) =
                line.split_whitespace().nth(1).and_then(|word| word.parse::<f64>().ok())
        {
            peak = peak.max(kib / 1024.0);
        }
        match child.try_wait().expect("it is ours") {
            Some(ended) => break ended,
            None => std::thread::sleep(Duration::from_millis(5)),
        }
    };
    let wall = start.elapsed();
    let said = child.wait_with_output().expect("it has ended");
    assert!(ended.code().is_some_and(|c| c == 0 || c == 3), "{}", text(&said.stderr));
    (wall, peak, out)
}

/// Time grows with the number of variants and memory does not. The default is
/// small; `BOREWRIGHT_VARIANTS=1000,10000` gives other counts.
#[test]
#[cfg(target_os = "linux")]
fn time_is_linear_and_memory_flat() {
    // A debug build's times say nothing.
    if cfg!(debug_assertions) {
        return;
    }
    let place = folder("scale");
    let counts = std::env::var("BOREWRIGHT_VARIANTS").unwrap_or_else(|_| "10,60".into());
    let counts: Vec<usize> = counts.split(',').map(|c| c.parse().expect("a number")).collect();
    let mut rows = Vec::new();
    println!("variants  workers  seconds  variants a second  peak MiB  distinct results");
    for count in counts {
        for workers in [1, 2] {
            let (wall, peak, out) = run(&place, count, workers);
            let files = tree(&out);
            let mut parts: Vec<&Vec<u8>> = files
                .iter()
                .filter(|(n, _)| n.ends_with(".step"))
                .map(|(_, bytes)| bytes)
                .collect();
            parts.sort();
            let all = parts.len();
            parts.dedup();
            assert!(parts.len() == all, "all differ: {} of {all}", parts.len());
            println!(
                "{count:8}  {workers:7}  {:7.1}  {:17.1}  {peak:8.1}  {} of {all}",
                wall.as_secs_f64(),
                count as f64 / wall.as_secs_f64(),
                parts.len()
            );
            rows.push((count, workers, wall, peak));
            fs::remove_dir_all(out).expect("removed");
        }
    }
    let (first, last) = (rows[0], rows[rows.len() - 2]);
    assert_eq!((first.1, last.1), (1, 1));
    // The start of the process counts for the small one.
    let growth = last.2.as_secs_f64() / first.2.as_secs_f64();
    let more = last.0 as f64 / first.0 as f64;
    assert!(growth < 1.5 * more, "{more} times the variants take {growth:.1} times as long");
    assert!(last.3 < 2.0 * first.3 + 16.0, "{} MiB after {} MiB", last.3, first.3);
}
