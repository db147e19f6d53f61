//! Random jobs with one kill-switch pocket, for tests here and in `tests/reference`.

use std::fmt::Write;

/// A job with one pocket: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"test rod\"\nbore = {bore}\nlength = 200\n[print]\n{print}\n\
         [[part]]\nkind = \"kill_pocket\"\nname = \"kill\"\n{part}\n"
    )
}

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut fastrand::Rng) -> String {
    let wild = rng.u8(0..6) == 0;
    let mut part = String::from("current = 1.0\n");
    let mut number = |rng: &mut fastrand::Rng, key: &str, near: (f64, f64), far: (f64, f64)| {
        if rng.u8(0..5) < 2 {
            let (a, b) = if wild && rng.bool() { far } else { near };
            let raw = a + (b - a) * rng.f64();
            let value = if rng.bool() { (raw * 2.0).round() / 2.0 } else { raw };
            writeln!(part, "{key} = {:.3}", value.clamp(far.0, far.1)).expect("text");
        }
    };
    for (key, near, far) in [
        ("from_z", (0.0, 120.0), (0.0, 1500.0)),
        ("length", (34.0, 60.0), (4.0, 120.0)),
        ("turn", (0.0, 90.0), (-360.0, 360.0)),
        ("recess", (0.5, 3.0), (0.3, 10.0)),
        ("reach", (0.4, 1.4), (0.2, 8.0)),
        ("clearance", (0.05, 0.3), (0.0, 1.0)),
        ("mark_depth", (0.0, 0.8), (0.0, 2.0)),
        ("coat", (0.0, 0.1), (0.0, 0.5)),
        ("keel", (0.5, 3.0), (0.0, 12.0)),
        ("groove_at", (130.0, 240.0), (-360.0, 360.0)),
        ("first_layer", (0.0, 0.4), (0.0, 2.0)),
        ("lead_in", (0.0, 0.6), (0.0, 2.0)),
    ] {
        number(rng, key, near, far);
    }
    let mut word = |rng: &mut fastrand::Rng, key: &str, words: &[&str]| {
        if rng.u8(0..3) > 0 {
            writeln!(part, "{key} = {}", rng.choice(words).expect("some")).expect("text");
        }
    };
    word(rng, "face", &["\"cap\"", "\"side\""]);
    word(rng, "on", &["\"high\"", "\"low\""]);
    word(rng, "leads", &["\"front\"", "\"cap\""]);
    word(rng, "wires", &["0", "2", "4"]);
    word(rng, "fit", &["\"press\"", "\"slide\"", "\"loose\""]);
    let switches = ["slide-small", "slide-eared", "slide-strong", "latch-8"];
    let switch = rng.choice(&switches).expect("some");
    writeln!(part, "switch = \"{switch}\"").expect("text");
    // Most that have no holes are glued.
    if rng.u8(0..8) == 0 || (rng.bool() && ["slide-eared", "slide-strong"].contains(switch)) {
        writeln!(part, "fixing = \"screws\"").expect("text");
    }
    let printers = ["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine", "sls-service"];
    let print =
        format!("printer = \"{}\"\nmaterial = \"petg\"", rng.choice(&printers).expect("some"));
    job(&format!("[{:.2}]", 25.0 + 15.0 * rng.f64()), &print, &part)
}
