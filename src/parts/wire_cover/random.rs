//! Random jobs with one wire cover, for tests here and in `tests/reference`.

use crate::random_rows::{Rows, one_part};

/// A job with one cover: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    one_part(("wire_cover", "cover"), bore, "length = 200", print, part)
}

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut fastrand::Rng) -> String {
    let mut rows = Rows::new(rng);
    let bore = 22.0 + 18.0 * rng.f64();
    let from = 360.0 * rng.f64() - 180.0;
    let around = 60.0 + 160.0 * rng.f64();
    rows.number(rng, (6, 6), "from_angle", (from, from), (-360.0, 360.0));
    rows.number(rng, (6, 6), "to_angle", (from + around, from + around), (-360.0, 720.0));
    for (key, often, near, far) in [
        ("length", 6, (10.0, 120.0), (4.0, 1000.0)),
        ("from_z", 2, (0.0, 60.0), (0.0, 1500.0)),
        ("joint", 2, (0.0, 0.5), (0.0, 5.0)),
        ("wall", 2, (1.2, 2.5), (0.3, 6.0)),
        ("rail_width", 6, (0.3 * bore, 0.6 * bore), (2.0, 100.0)),
        ("rail_depth", 6, (7.0, 14.0), (1.0, 60.0)),
        ("rail_top", 1, (0.3 * bore, 0.4 * bore), (0.0, 100.0)),
        ("leg", 2, (1.0, 1.5), (0.4, 5.0)),
        ("hook", 1, (0.2, 0.5), (0.1, 3.0)),
        ("exit_angle", 2, (30.0, 60.0), (20.0, 80.0)),
        ("coat", 2, (0.0, 0.1), (0.0, 0.5)),
        ("first_layer", 2, (0.0, 0.5), (0.0, 2.0)),
        ("lead_in", 2, (0.0, 0.8), (0.0, 2.0)),
    ] {
        rows.number(rng, (often, 6), key, near, far);
    }
    for (key, words) in [
        ("pieces", &["1", "1", "2", "3"]),
        ("hold", &["\"clips\"", "\"clips\"", "\"clips\"", "\"glue\""]),
        ("fit", &["\"press\"", "\"slide\"", "\"slide\"", "\"loose\""]),
    ] {
        rows.row(key, rng.choice(words).expect("some"));
    }
    for k in 0..rng.usize(0..3) {
        let clocking = from + around * (0.3 + 0.4 * k as f64);
        let width = 2.0 + 3.0 * rng.f64();
        rows.text.push_str("[[part.land]]\n");
        rows.row("clocking", format!("{:.2}", clocking.min(360.0)));
        rows.row("width", format!("{width:.2}"));
    }
    let printers = ["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine", "sls-service"];
    let materials = ["petg", "pla", "asa", "pa12-sls"];
    let print = format!(
        "printer = \"{}\"\nmaterial = \"{}\"",
        rng.choice(&printers).expect("some"),
        rng.choice(&materials).expect("some")
    );
    job(&format!("[{bore:.2}]"), &print, &rows.text)
}
