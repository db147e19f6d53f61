//! Random jobs with one plate, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::Library;

/// A job of one plate: rows of the handle, of the part, and its plungers.
#[derive(Clone)]
pub struct Text {
    pub bore: String,
    pub handle: String,
    pub print: String,
    pub part: String,
    pub plungers: Vec<String>,
}

impl Default for Text {
    fn default() -> Self {
        Text {
            bore: "[31.0]".into(),
            handle: "outside = 38.0".into(),
            print: "printer = \"fdm-thin\"\nmaterial = \"petg\"".into(),
            part: String::new(),
            plungers: vec![PLUNGER.into()],
        }
    }
}

pub const PLUNGER: &str = "z = 60.0\ntip = 13.0\ntravel = 2.5\nswitch = \"6x6-h5.0\"";

impl Text {
    pub fn toml(&self) -> String {
        let mut out = format!(
            "format = 1\n[handle]\nname = \"rod\"\nlength = 160.0\nbore = {}\n{}\n[print]\n{}\n\
             [[part]]\nkind = \"switch_plate\"\nname = \"plate\"\n{}\n",
            self.bore, self.handle, self.print, self.part
        );
        for rows in &self.plungers {
            write!(out, "[[part.plunger]]\n{rows}\n").expect("a String takes any text");
        }
        out
    }
}

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut fastrand::Rng) -> Text {
    let wild = rng.u8(0..6) == 0;
    let mut in_range = |low: f64, high: f64, far_low: f64, far_high: f64| {
        let (a, b) = if wild && rng.bool() { (far_low, far_high) } else { (low, high) };
        let raw = a + (b - a) * rng.f64();
        // Whole and half millimetres make coincidences common.
        match rng.u8(0..3) {
            0 => (raw * 2.0).round() / 2.0,
            1 => (raw * 10.0).round() / 10.0,
            _ => (raw * 1000.0).round() / 1000.0,
        }
        .clamp(far_low, far_high)
    };
    let bore = in_range(18.0, 40.0, 8.0, 120.0);
    let mut text = Text {
        bore: format!("[{bore}, {}]", (bore + 0.1).min(120.0)),
        handle: format!("outside = {}", bore + 6.0),
        ..Text::default()
    };
    let mut part = String::new();
    let numbers = [
        ("coat", 0.0, 0.2, 0.0, 0.5),
        ("facing", 0.0, 30.0, -180.0, 360.0),
        ("thickness", 1.0, 4.0, 0.4, 40.0),
        ("back", -6.0, 3.0, -60.0, 60.0),
        ("ledge", 0.5, 2.5, 0.5, 8.0),
        ("wall", 0.8, 2.5, 0.3, 5.0),
        ("clearance", 0.0, 0.3, 0.0, 1.0),
        ("ends", 0.0, 8.0, 0.0, 60.0),
        ("land_top", 2.0, 12.0, -60.0, 60.0),
        ("from_z", 5.0, 30.0, 0.0, 1500.0),
        ("length", 40.0, 100.0, 3.0, 600.0),
        ("glue_area", 50.0, 400.0, 1.0, 20_000.0),
        ("spread", 6.0, 16.0, 1.0, 100.0),
        ("grip", 1.0, 3.0, 0.6, 20.0),
        ("play", 0.0, 0.3, 0.0, 3.0),
        ("seat_tolerance", 0.0, 0.2, 0.0, 2.0),
        ("lead_in", 0.0, 1.0, 0.0, 2.0),
        ("first_layer", 0.0, 0.6, 0.0, 2.0),
    ];
    let mut rows = Vec::new();
    for (key, a, b, c, d) in numbers {
        rows.push((key, in_range(a, b, c, d)));
    }
    let mut plungers = Vec::new();
    let mut z = in_range(15.0, 40.0, 0.0, 160.0);
    let base = in_range(0.0, 40.0, -180.0, 360.0);
    for _ in 0..8 {
        let gap = in_range(6.0, 24.0, 0.0, 60.0);
        let mut plunger = vec![
            ("z", z.min(1500.0)),
            ("clocking", (base + in_range(-40.0, 40.0, -100.0, 100.0)).clamp(-180.0, 360.0)),
            ("tip", (0.5 * bore - in_range(0.0, 5.0, -3.0, 12.0)).clamp(0.5, 100.0)),
            ("diameter", in_range(2.0, 9.0, 0.5, 30.0)),
            ("travel", in_range(2.0, 4.0, 0.1, 20.0)),
        ];
        plunger.push(("pad", in_range(0.0, 0.8, 0.0, 5.0)));
        plunger.push(("gap", in_range(0.3, 1.5, 0.0, 10.0)));
        plungers.push(plunger);
        z += gap;
    }
    for (key, number) in rows {
        let exclusive = key == "thickness" || key == "back";
        if rng.u8(0..if exclusive { 8 } else { 4 }) == 0 {
            writeln!(part, "{key} = {number}").expect("text");
        }
    }
    let words: [(&str, &[&str]); 9] = [
        ("fit", &["press", "slide", "loose"]),
        ("facet", &["across", "trough"]),
        ("plungers", &["stay", "out"]),
        ("wires", &["cap", "front", "none"]),
        ("wire", &["awg22", "awg28", "awg30"]),
        ("fixing", &["glue", "screws"]),
        ("screw", &["m2-socket", "m2.5-countersunk", "m3-pan", "m1.6-countersunk"]),
        ("basis", &["worst", "rss"]),
        ("print_on", &["back", "end"]),
    ];
    for (key, options) in words {
        if rng.bool() {
            let word = options[rng.usize(0..options.len())];
            writeln!(part, "{key} = \"{word}\"").expect("text");
        }
    }
    if rng.bool() {
        writeln!(part, "screws = {}", rng.i64(2..=4)).expect("text");
    }
    text.part = part;
    let printers = ["fdm-thin", "fdm-stout", "resin-fine", "sls-service"];
    let printer = printers[rng.usize(0..printers.len())];
    text.print = format!("printer = \"{printer}\"\nmaterial = \"pla\"");
    let switches: Vec<String> = Library::shipped().names("switches").map(str::to_owned).collect();
    let count = 1 + rng.usize(0..if wild { 8 } else { 3 });
    text.plungers = plungers[..count]
        .iter()
        .map(|numbers| {
            let mut rows = String::new();
            for (key, number) in numbers {
                if *key != "gap" && *key != "pad" || rng.u8(0..5) == 0 {
                    writeln!(rows, "{key} = {number}").expect("text");
                }
            }
            if rng.u8(0..4) == 0 {
                rows.push_str("turned = true\n");
            }
            let switch = &switches[rng.usize(0..switches.len())];
            writeln!(rows, "switch = \"{switch}\"").expect("text");
            rows
        })
        .collect();
    if rng.u8(0..6) == 0 {
        writeln!(text.part, "keel = {}", rng.i64(1..=12)).expect("text");
    }
    text
}
