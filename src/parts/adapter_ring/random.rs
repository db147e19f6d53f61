//! Random jobs with one adapter ring, for tests here and in `tests/reference`.

use crate::random_rows::{Rows, one_part, usual_print};

/// A job with one ring: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    one_part(("adapter_ring", "ring"), bore, "length = 200", print, part)
}

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut fastrand::Rng) -> String {
    let mut rows = Rows::new(rng);
    let bore = 20.0 + 20.0 * rng.f64();
    let wall = 1.3 + 5.0 * rng.f64();
    rows.row("inner", format!("{:.2}", (bore - 2.0 * wall).max(5.0)));
    let flange = rng.u8(0..3) > 0;
    for (key, near, far) in [
        ("gap_angle", (14.0, 40.0), (2.0, 120.0)),
        ("gap_at", (0.0, 360.0), (-360.0, 360.0)),
        ("spring", (0.1, 0.7), (0.0, 3.0)),
        ("length", (12.0, 30.0), (3.0, 300.0)),
        (if flange { "flange" } else { "from_z" }, (1.0, 3.0), (0.0, 10.0)),
        ("shim_step", (0.1, 0.3), (0.02, 1.0)),
        ("mark_depth", (0.0, 1.0), (0.0, 2.0)),
        ("coat", (0.0, 0.1), (0.0, 0.5)),
        ("keel", (0.0, 0.8), (0.0, 12.0)),
        ("groove_at", (60.0, 300.0), (-360.0, 360.0)),
        ("first_layer", (0.0, 0.5), (0.0, 2.0)),
        ("lead_in", (0.0, 0.8), (0.0, 2.0)),
    ] {
        rows.number(rng, (2, 5), key, near, far);
    }
    if rng.bool() {
        rows.row("form", "\"split\"");
    }
    for (key, words) in [
        ("shim_count", &["0", "0", "1", "3"]),
        ("wires", &["0", "0", "0", "1"]),
        ("inner_fit", &["\"press\"", "\"slide\"", "\"slide\"", "\"loose\""]),
        ("fit", &["\"press\"", "\"slide\"", "\"slide\"", "\"loose\""]),
    ] {
        rows.row(key, rng.choice(words).expect("some"));
    }
    for _ in 0..rng.usize(0..3) {
        let (z, clocking) = (5.0 + 3.0 * rng.f64(), 360.0 * rng.f64());
        let slot = if rng.bool() { 1.5 } else { 0.0 };
        let diameter = 2.0 + 3.0 * rng.f64();
        rows.text.push_str("[[part.hole]]\n");
        rows.row("z", format!("{z:.2}"));
        rows.row("clocking", format!("{clocking:.1}"));
        rows.row("diameter", format!("{diameter:.2}"));
        rows.row("slot", slot);
    }
    let print = usual_print(rng);
    job(&format!("[{bore:.2}]"), &print, &rows.text)
}
