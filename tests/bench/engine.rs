//! Speed of the engine: beside other kernels on the same shapes and tolerance,
//! and how it grows. One run, one table: `cargo bench --bench engine`.
//!
//! Times are medians of at least 20 runs, with the spread from the first to
//! the third quartile. The other kernels run in Python (tests/bench/kernels.py),
//! which adds microseconds to calls that take milliseconds.

mod meshes;
#[path = "../reference/piece.rs"]
mod piece;
mod rays;
mod shapes;
mod time;

use std::hint::black_box;
use std::path::Path;

use borewright::export::{StepHeader, StepProduct, step, stl};
use borewright::job::{Job, make};
use borewright::measure::{Library, Source};
use borewright::mesh::{ChordTolerance, tessellate};
use borewright::parts::PART_KINDS;
use borewright::solid::Solid;
use serde_json::{Value, json};

use shapes::{Shape, growing};
use time::{RUNS, Time, python};

/// Of all meshes, mm.
const CHORD: f64 = 0.01;

fn header() -> StepHeader<'static> {
    StepHeader { file_name: "b.step", time_stamp: "2000-01-01T00:00:00", description: "" }
}

/// Times of the four steps for one shape: build, mesh, STEP, STL.
fn ours(shape: &Shape) -> [Time; 4] {
    let build = || shape.solid();
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

fn compare(shapes: &[Shape]) {
    let cases: Value = shapes.iter().map(Shape::described).collect();
    let task = json!({ "runs": RUNS, "chord": CHORD, "shapes": cases });
    let theirs = python("kernels.py", &task).unwrap_or_else(|why| {
        println!("no other kernels: {why}\n");
        Value::Null
    });
    println!("Median of {RUNS} runs in ms (first to third quartile), chord {CHORD} mm.\n");
    println!("| shape | engine | build | mesh | STEP | STL |\n|---|---|---|---|---|---|");
    for shape in shapes {
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
    println!("\nGrowth, ms.\n\n| what | number | time | ms each |\n|---|---|---|---|");
    for (what, counts) in
        [("slabs", &[10, 100, 1_000, 10_000][..]), ("bores", &[1, 3, 12, 48, 192][..])]
    {
        for &n in counts {
            let shape = growing(what, n);
            let time = Time::of(|| drop(black_box(shape.stack().bored(&shape.bores))));
            row(&format!("build, {what}"), n, time);
        }
    }
    let solid = shapes::all()[0].solid();
    // The number of triangles grows with the root of the chord.
    for chord in [1e-1, 1e-2, 1e-3, 1e-4] {
        let tolerance = ChordTolerance { chord, ..ChordTolerance::default() };
        let n = tessellate(&solid, &tolerance).expect("meshes").triangles().len();
        let time = Time::of(|| drop(black_box(tessellate(&solid, &tolerance))));
        row("mesh, triangles", n, time);
    }
    for n in [1, 4, 16, 64] {
        let job = batch(n);
        row("make, parts in one job", n, Time::of(|| drop(black_box(make(&job)))));
    }
}

fn row(what: &str, n: usize, time: Time) {
    println!("| {what} | {n} | {} | {:.4} |", time.shown(), time.median() / n as f64);
}

/// The example cradle as `n` parts of one job.
fn batch(n: usize) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/lamplighters-rod.toml");
    let text = std::fs::read_to_string(path).expect("the example is there");
    let (head, part) = text.split_once("[[part]]").expect("it has a part");
    let parts: String = (0..n)
        .map(|i| format!("[[part]]{}", part.replacen("rod-cradle", &format!("cradle-{i}"), 1)))
        .collect();
    let source = Source::new("batch.toml", format!("{head}{parts}")).expect("it is text");
    Job::read(&source, Library::shipped(), PART_KINDS).expect("it is valid")
}

fn main() {
    // `cargo test` runs benchmarks too, to see that they still work; their
    // times would mean nothing.
    if !std::env::args().any(|a| a == "--bench") {
        return;
    }
    let shapes = shapes::all();
    compare(&shapes);
    meshes::compare(&shapes);
    rays::compare(&shapes);
    growth();
}
