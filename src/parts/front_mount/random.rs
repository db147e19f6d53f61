//! Random jobs with one front mount, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::Library;
use crate::random_rows::{any_rows, mostly_low, one_part, pick, print};

/// A job with one mount: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    one_part(
        ("front_mount", "mount"),
        bore,
        "length = 220
outside = 50",
        print,
        part,
    )
}

/// A random part: each row is written with a chance of `often`, within its
/// range, mostly near the low end.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let name = pick(rng, library, "front_contacts");
    let board = library.profile("front_contacts", &name).expect("known");
    let mut part = format!("contacts = {{ profile = \"{name}\"");
    let more = rng.f64();
    if rng.bool() {
        write!(part, ", diameter = {:.2}", board.number("diameter") + more).expect("text");
    }
    if rng.u8(0..4) == 0 {
        part.push_str(", notch_width = 0, notch_depth = 0");
    }
    part.push_str(" }\n");
    let holes = board.integer("screw_count") > 0;
    if holes && rng.bool() {
        let screw = ["m1.6-socket", "m2-pan", "m2.5-socket"][rng.usize(..3)];
        writeln!(part, "fixing = \"screws\"\nscrew = \"{screw}\"").expect("text");
    }
    let low = mostly_low;
    any_rows(
        &mut part,
        "front_mount",
        &["contacts", "fixing", "screw"],
        rng,
        library,
        (often, low),
    );
    let bore = board.number("diameter") + 2.0 + 12.0 * rng.f64();
    let print = print(rng, library);
    job(&format!("[{bore:.2}]"), &print, &part)
}
