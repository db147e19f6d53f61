//! Random jobs with one spine and one to four modules, for tests here and in
//! `tests/reference`.

use std::fmt::Write;

use fastrand::Rng;

/// A job with a spine: text before the parts, the modules, the spine's rows and
/// its runs.
#[derive(Clone)]
pub struct Text {
    pub head: String,
    pub modules: Vec<String>,
    pub spine: String,
    pub runs: Vec<String>,
}

impl Text {
    pub fn toml(&self) -> String {
        let mut out = self.head.clone();
        for module in &self.modules {
            out += module;
        }
        out += "[[part]]\nkind = \"spine\"\nname = \"spine\"\n";
        out += &self.spine;
        for run in &self.runs {
            write!(out, "[[part.run]]\n{run}").expect("a String takes any text");
        }
        out
    }
}

/// Head of a job: bore and length, mm, and a printer.
pub fn head(bore: f64, length: f64, printer: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"storm-lantern staff\"\nbore = [{bore}]\n\
         length = {length}\n[print]\nprinter = \"{printer}\"\nmaterial = \"petg\"\n"
    )
}

/// A module of a kind at a height with a keel, about how long it is, mm.
pub fn module(kind: &str, name: &str, from_z: f64, keel: f64, radius: f64) -> (String, f64) {
    let start = format!("[[part]]\nkind = \"{kind}\"\nname = \"{name}\"\nkeel = {keel}\n");
    match kind {
        "cell_tray" => {
            let cell = "{ profile = \"16340\", diameter_min = 16.7, diameter_max = 17.0 }";
            (format!("{start}from_z = {from_z}\nlayers = \"upright\"\ncell = {cell}\n"), 44.0)
        }
        "crystal_cradle" => {
            let stone = |at: f64| {
                format!(
                    "[[part.station]]\nat = {at}\nwidth = 9\nheight = 9\nsection = \"hexagon\"\n"
                )
            };
            let stations = stone(0.0) + &stone(24.0);
            (format!("{start}from_z = {from_z}\npixel = \"bare-5050\"\n{stations}"), 36.0)
        }
        _ => {
            let (z, tip) = (from_z + 12.0, radius - 4.0);
            let plunger = format!(
                "[[part.plunger]]\nz = {z}\ntip = {tip}\ntravel = 2.5\nswitch = \"6x6-h5.0\"\n"
            );
            (format!("{start}from_z = {from_z}\nlength = 26\n{plunger}"), 26.0)
        }
    }
}

const KINDS: [(&str, &str); 3] =
    [("cell_tray", "tray"), ("switch_plate", "plate"), ("crystal_cradle", "cradle")];

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut Rng) -> Text {
    let wild = rng.u8(0..6) == 0;
    let printers = ["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine", "sls-service"];
    let bore = 29.0 + (90.0 * rng.f64()).round() / 10.0;
    let keel = if wild { rng.i64(0..=8) as f64 } else { 4.0 + rng.i64(0..=10) as f64 / 10.0 };
    let mut z = 1.0 + (120.0 * rng.f64()).round() / 10.0;
    let mut modules = Vec::new();
    let mut names = Vec::new();
    let count = 1 + rng.usize(0..4);
    let first = rng.usize(0..3);
    for i in 0..count {
        let (kind, name) = KINDS[(first + i) % 3];
        let name = format!("{name}{i}");
        let (text, length) = module(kind, &name, z, keel, 0.5 * bore);
        let gap = [0.0, 1.0, 4.0, 9.25, 14.0][rng.usize(0..5)];
        z += length + if wild { gap - 6.0 } else { gap + 0.07 };
        z = (z * 100.0).round() / 100.0;
        modules.push(text);
        names.push(name);
    }
    let mut spine = String::new();
    let mut number = |rng: &mut Rng, key: &str, all: (f64, f64), usual: (f64, f64)| {
        if rng.u8(0..4) == 0 {
            let (low, high) = if wild { all } else { usual };
            let value = low + (high - low) * rng.f64();
            writeln!(spine, "{key} = {value:.2}").expect("a String takes any text");
        }
    };
    number(rng, "keel", (0.0, 40.0), (3.5, 4.0));
    number(rng, "glue_gap", (0.02, 0.5), (0.05, 0.2));
    number(rng, "ring_length", (1.0, 20.0), (2.0, 6.0));
    number(rng, "ring_wall", (0.3, 10.0), (2.5, 5.0));
    number(rng, "seat", (0.0, 2.0), (0.0, 0.8));
    number(rng, "chair", (0.0, 40.0), (2.0, 8.0));
    number(rng, "chair_width", (2.0, 60.0), (6.0, 20.0));
    number(rng, "grip", (0.6, 20.0), (1.0, 2.0));
    number(rng, "slack", (0.0, 100.0), (0.0, 30.0));
    number(rng, "lead_in", (0.0, 2.0), (0.0, 1.0));
    number(rng, "first_layer", (0.0, 2.0), (0.0, 0.6));
    number(rng, "coat", (0.0, 0.5), (0.0, 0.2));
    let words: [(&str, &[&str]); 4] = [
        ("rings", &["none", "ends", "between"]),
        ("fixing", &["glue", "screws"]),
        ("screw", &["m1.6-countersunk", "m2-countersunk", "m2-pan"]),
        ("fit", &["press", "slide", "loose"]),
    ];
    for (key, options) in words {
        if rng.bool() {
            let word = options[rng.usize(0..options.len())];
            writeln!(spine, "{key} = \"{word}\"").expect("a String takes any text");
        }
    }
    if rng.u8(0..3) == 0 {
        writeln!(spine, "pieces = {}", rng.i64(1..=if wild { 8 } else { 2 })).expect("text");
    }
    let mut runs = Vec::new();
    for _ in 0..rng.usize(0..4) {
        let (from, to) = (rng.usize(0..count), rng.usize(0..count));
        if from == to && !wild {
            continue;
        }
        let mut run = format!("from = \"{}\"\nto = \"{}\"\n", names[from], names[to]);
        writeln!(run, "wires = {}", rng.i64(1..=if wild { 16 } else { 3 })).expect("text");
        let wire = ["awg28", "awg30", "awg26"][rng.usize(0..3)];
        writeln!(run, "wire = \"{wire}\"\nplug = {}", rng.bool()).expect("text");
        if rng.u8(0..3) == 0 {
            writeln!(run, "path = \"outside\"\nclocking = {}", rng.i64(60..=300)).expect("text");
        }
        runs.push(run);
    }
    let printer = printers[rng.usize(0..printers.len())];
    Text { head: head(bore, if wild { 120.0 } else { 300.0 }, printer), modules, spine, runs }
}
