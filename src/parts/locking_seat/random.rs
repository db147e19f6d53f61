//! Random jobs with one locking seat, for tests here and in `tests/reference`.

use std::fmt::Write;

/// A job with one part of a kind: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"test rod\"\nbore = {bore}\nlength = 200\n[print]\n{print}\n\
         [[part]]\nkind = \"locking_seat\"\nname = \"seat\"\n{part}\n"
    )
}

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut fastrand::Rng) -> String {
    let wild = rng.u8(0..6) == 0;
    let screw = 20.0 + 150.0 * rng.f64();
    let mut part = format!("screw_z = {screw:.2}\n");
    let mut number = |rng: &mut fastrand::Rng, key: &str, near: (f64, f64), far: (f64, f64)| {
        if rng.u8(0..5) < 2 {
            let (a, b) = if wild && rng.bool() { far } else { near };
            let raw = a + (b - a) * rng.f64();
            let value = if rng.bool() { (raw * 2.0).round() / 2.0 } else { raw };
            writeln!(part, "{key} = {:.3}", value.clamp(far.0, far.1)).expect("text");
        }
    };
    for (key, near, far) in [
        ("clocking", (0.0, 360.0), (-360.0, 360.0)),
        ("travel", (1.0, 8.0), (0.2, 60.0)),
        ("angle_range", (5.0, 90.0), (1.0, 150.0)),
        ("depth", (1.0, 3.0), (0.3, 8.0)),
        ("flat_length", (4.0, 10.0), (2.0, 100.0)),
        ("clearance", (0.0, 0.3), (0.0, 1.5)),
        ("gap", (0.0, 0.3), (0.0, 2.0)),
        ("length", (16.0, 30.0), (4.0, 200.0)),
        ("from_z", (screw - 9.0, screw - 6.0), (0.0, 1500.0)),
        ("core", (2.0, 14.0), (0.0, 100.0)),
        ("safety", (1.0, 3.0), (1.0, 10.0)),
        ("mark_depth", (0.0, 1.0), (0.0, 2.0)),
        ("coat", (0.0, 0.1), (0.0, 0.5)),
        ("keel", (1.0, 5.0), (0.0, 12.0)),
        ("groove_at", (60.0, 300.0), (-360.0, 360.0)),
        ("first_layer", (0.0, 0.6), (0.0, 2.0)),
        ("lead_in", (0.0, 1.0), (0.0, 2.0)),
    ] {
        number(rng, key, near, far);
    }
    let mut word = |rng: &mut fastrand::Rng, key: &str, words: &[&str]| {
        if rng.u8(0..3) > 0 {
            writeln!(part, "{key} = {}", rng.choice(words).expect("some")).expect("text");
        }
    };
    word(rng, "seat", &["\"flat\"", "\"dimple\"", "\"slot\""]);
    word(rng, "slot", &["\"along\"", "\"around\""]);
    word(rng, "screw", &["\"m3-dog\"", "\"m4-cone\"", "\"m4-flat\"", "\"m5-cup\"", "\"m5-dog\""]);
    word(rng, "wires", &["0", "2", "4"]);
    word(rng, "fit", &["\"press\"", "\"slide\"", "\"loose\""]);
    let printers = ["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine", "sls-service"];
    let print =
        format!("printer = \"{}\"\nmaterial = \"petg\"", rng.choice(&printers).expect("some"));
    job(&format!("[{:.2}]", 18.0 + 22.0 * rng.f64()), &print, &part)
}
