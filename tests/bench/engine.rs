//! Speed of the engine: beside other kernels on the same shapes and tolerance,
//! and how it grows. One run, one table: `cargo bench --bench engine`.
//!
//! Times are medians of at least 20 runs, with the spread from the first to
//! the third quartile. The other kernels run in Python (tests/bench/kernels.py),
//! which adds microseconds to calls that take milliseconds.

#[path = "../reference/piece.rs"]
mod piece;
mod shapes;

use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use borewright::export::{StepHeader, StepProduct, step, stl};
use borewright::mesh::{ChordTolerance, tessellate};
use borewright::solid::Solid;
use serde_json::{Value, json};

use shapes::{Shape, growing};

/// Runs of each measurement.
const RUNS: usize = 21;

/// Of all meshes, mm.
const CHORD: f64 = 0.01;

/// Median and quartiles, milliseconds.
#[derive(Clone, Copy)]
struct Time([f64; 3]);

impl Time {
    fn of(mut run: impl FnMut()) -> Time {
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

    fn read(value: &Value) -> Option<Time> {
        let at = |i: usize| value.get(i).and_then(Value::as_f64);
        Some(Time([at(0)?, at(1)?, at(2)?]))
    }

    fn shown(self) -> String {
        let [low, median, high] = self.0;
        format!("{median:.3} ({low:.3}..{high:.3})")
    }
}

fn header() -> StepHeader<'static> {
    StepHeader { file_name: "b.step", time_stamp: "2000-01-01T00:00:00", description: "" }
}

/// Times of the four steps for one shape: build, mesh, STEP, STL.
fn ours(shape: &Shape) -> [Time; 4] {
    let build = || shape.stack().bored(&shape.bores).expect("a shape that can be made");
    let solid: Solid = build();
    let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
    let mesh = tessellate(&solid, &tolerance).expect("meshes");
    [
        Time::of(|| drop(black_box(build()))),
        Time::of(|| drop(black_box(tessellate(&solid, &tolerance)))),
        Time::of(|| {
            drop(black_box(step(&[StepProduct { name: "b", solid: &solid }], &header())));
        }),
        Time::of(|| drop(black_box(stl(mesh.vertices(), mesh.triangles(), "b")))),
    ]
}

/// Times of the other kernels by name, or why there are none.
fn others(shapes: &[Shape]) -> Result<Value, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = std::env::var_os("BOREWRIGHT_PYTHON")
        .map_or_else(|| root.join(".venv/bin/python"), PathBuf::from);
    let folder = root.join("target/bench");
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let cases: Value = shapes.iter().map(Shape::described).collect();
    let path = folder.join("shapes.json");
    let input = json!({ "runs": RUNS, "chord": CHORD, "shapes": cases });
    std::fs::write(&path, input.to_string()).map_err(|e| e.to_string())?;
    let output = Command::new(&python)
        .arg(root.join("tests/bench/kernels.py"))
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

fn compare() {
    let shapes = shapes::all();
    let theirs = others(&shapes).unwrap_or_else(|why| {
        println!("no other kernels: {why}\n");
        Value::Null
    });
    println!("Median of {RUNS} runs in ms (first to third quartile), chord {CHORD} mm.\n");
    println!("| shape | engine | build | mesh | STEP | STL |\n|---|---|---|---|---|---|");
    for shape in &shapes {
        let cells = ours(shape).map(Time::shown).join(" | ");
        println!("| {} | borewright | {cells} |", shape.name);
        for engine in ["OpenCascade", "manifold3d"] {
            let times = &theirs[shape.name][engine];
            if times.is_null() {
                continue;
            }
            let cells = ["build", "mesh", "STEP", "STL"]
                .map(|s| Time::read(&times[s]).map_or("-".to_owned(), Time::shown));
            println!("| {} | {engine} | {} |", shape.name, cells.join(" | "));
        }
    }
}

fn growth() {
    println!("\nGrowth: build in ms.\n\n| what | number | build | ms each |\n|---|---|---|---|");
    for (what, counts) in
        [("slabs", &[10, 100, 1_000, 10_000][..]), ("bores", &[1, 3, 12, 48, 192][..])]
    {
        for &n in counts {
            let shape = growing(what, n);
            let time = Time::of(|| drop(black_box(shape.stack().bored(&shape.bores))));
            println!("| {what} | {n} | {} | {:.4} |", time.shown(), time.0[1] / n as f64);
        }
    }
}

fn main() {
    // `cargo test` runs benchmarks too, to see that they still work; their
    // times would mean nothing.
    if !std::env::args().any(|a| a == "--bench") {
        return;
    }
    compare();
    growth();
}
