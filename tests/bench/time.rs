//! Times with their spread, and the other libraries' in Python.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use serde_json::Value;

/// Runs of each measurement.
pub const RUNS: usize = 21;

/// Median and quartiles, milliseconds.
#[derive(Clone, Copy)]
pub struct Time([f64; 3]);

impl Time {
    /// Of [`RUNS`] runs, after one that does not count.
    pub fn of(mut run: impl FnMut()) -> Time {
        run();
        let mut times: Vec<Duration> = (0..RUNS)
            .map(|_| {
                let start = Instant::now();
                run();
                start.elapsed()
            })
            .collect();
        times.sort();
        Time([RUNS / 4, RUNS / 2, RUNS * 3 / 4].map(|i| times[i].as_secs_f64() * 1e3))
    }

    pub fn read(value: &Value) -> Option<Time> {
        let at = |i: usize| value.get(i).and_then(Value::as_f64);
        Some(Time([at(0)?, at(1)?, at(2)?]))
    }

    pub fn median(self) -> f64 {
        self.0[1]
    }

    pub fn shown(self) -> String {
        let [low, median, high] = self.0;
        format!("{median:.3} ({low:.3}..{high:.3})")
    }
}

/// What a script beside this file prints for a task, or why there is nothing.
pub fn python(script: &str, task: &Value) -> Result<Value, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = std::env::var_os("BOREWRIGHT_PYTHON")
        .map_or_else(|| root.join(".venv/bin/python"), PathBuf::from);
    let folder = root.join("target/bench");
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let path = folder.join(format!("{script}.json"));
    std::fs::write(&path, task.to_string()).map_err(|e| e.to_string())?;
    let output = Command::new(&python)
        .arg(root.join("tests/bench").join(script))
        .arg(&path)
        .output()
        .map_err(|e| format!("{}: {e}", python.display()))?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned());
    }
    // Writers may print before it.
    let text = String::from_utf8_lossy(&output.stdout);
    serde_json::from_str(text.lines().last().unwrap_or_default()).map_err(|e| e.to_string())
}
