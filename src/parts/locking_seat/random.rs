//! Random jobs with one locking seat, for tests here and in `tests/reference`.

use crate::random_rows::{Rows, one_part, usual_print};

/// A job with one part of a kind: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    one_part(("locking_seat", "seat"), bore, "length = 200", print, part)
}

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut fastrand::Rng) -> String {
    let mut rows = Rows::new(rng);
    let screw = 20.0 + 150.0 * rng.f64();
    rows.row("screw_z", format!("{screw:.2}"));
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
        rows.number(rng, (2, 5), key, near, far);
    }
    rows.word(rng, "seat", &["\"flat\"", "\"dimple\"", "\"slot\""]);
    rows.word(rng, "slot", &["\"along\"", "\"around\""]);
    rows.word(
        rng,
        "screw",
        &["\"m3-dog\"", "\"m4-cone\"", "\"m4-flat\"", "\"m5-cup\"", "\"m5-dog\""],
    );
    rows.word(rng, "wires", &["0", "2", "4"]);
    rows.word(rng, "fit", &["\"press\"", "\"slide\"", "\"loose\""]);
    let print = usual_print(rng);
    job(&format!("[{:.2}]", 18.0 + 22.0 * rng.f64()), &print, &rows.text)
}
