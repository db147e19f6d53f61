//! Random jobs with one kill-switch pocket, for tests here and in `tests/reference`.

use crate::random_rows::{Rows, one_part, usual_print};

/// A job with one pocket: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    one_part(("kill_pocket", "kill"), bore, "length = 200", print, part)
}

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut fastrand::Rng) -> String {
    let mut rows = Rows::new(rng);
    rows.row("current", "1.0");
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
        rows.number(rng, (2, 5), key, near, far);
    }
    rows.word(rng, "face", &["\"cap\"", "\"side\""]);
    rows.word(rng, "on", &["\"high\"", "\"low\""]);
    rows.word(rng, "leads", &["\"front\"", "\"cap\""]);
    rows.word(rng, "wires", &["0", "2", "4"]);
    rows.word(rng, "fit", &["\"press\"", "\"slide\"", "\"loose\""]);
    let switches = ["slide-small", "slide-eared", "slide-strong", "latch-8"];
    let switch = rng.choice(&switches).expect("some");
    rows.row("switch", format!("\"{switch}\""));
    // Most that have no holes are glued.
    if rng.u8(0..8) == 0 || (rng.bool() && ["slide-eared", "slide-strong"].contains(switch)) {
        rows.row("fixing", "\"screws\"");
    }
    let print = usual_print(rng);
    job(&format!("[{:.2}]", 25.0 + 15.0 * rng.f64()), &print, &rows.text)
}
