//! Random jobs with one display plug, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::Library;
use crate::random_rows::{any_rows, mostly_low, one_part, print};

/// A job with one plug: lines of `[print]`, lines of the part.
pub fn job(print: &str, part: &str) -> String {
    one_part(
        ("display_plug", "plug"),
        "[36]",
        "length = 220
outside = 42",
        print,
        part,
    )
}

/// A random part: each row is written with a chance of `often`, within its
/// range, mostly near the low end.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let socket = 20.0 + 19.0 * rng.f64();
    let depth = 12.0 + 20.0 * rng.f64();
    let mut part = format!("socket_diameter = {socket:.2}\nsocket_depth = {depth:.1}\n");
    let mut write = |key: &str, low: f64, high: f64, rng: &mut fastrand::Rng| {
        if rng.bool() {
            writeln!(part, "{key} = {:.2}", low + (high - low) * rng.f64()).expect("text");
        }
    };
    write("head_length", 15.0, 60.0, rng);
    write("head_diameter", 20.0, 46.0, rng);
    write("light_bore", 4.0, 16.0, rng);
    let low = mostly_low;
    any_rows(&mut part, "display_plug", &[], rng, library, (often, low));
    let print = print(rng, library);
    job(&print, &part)
}
