//! Random jobs with one tray, for tests here and in `tests/reference`.

use crate::measure::Library;
use crate::random_rows::{any_rows, one_part, pick, print};

/// A job with one tray: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    one_part(("cell_tray", "tray"), bore, "length = 220", print, part)
}

/// A random part: each row is written with a chance of `often`, within its range or near
/// its usual values.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let cell = pick(rng, library, "cells");
    let mut part = if rng.f64() < 0.6 {
        let profile = library.profile("cells", &cell).expect("known");
        let top = profile.number("diameter_max");
        let long = profile.number("length_max");
        let (d, l) = (0.4 * rng.f64() * rng.f64(), 0.8 * rng.f64());
        format!(
            "cell = {{ profile = \"{cell}\", diameter_min = {:.3}, diameter_max = {top}, \
             length_min = {:.3}, length_max = {long} }}\n",
            top - d,
            long - l
        )
    } else {
        format!("cell = \"{cell}\"\n")
    };
    let low = fastrand::Rng::bool;
    any_rows(&mut part, "cell_tray", &["cell", "from_z"], rng, library, (often, low));
    let profile = library.profile("cells", &cell).expect("known");
    let bore = profile.number("diameter_max") + 3.0 + 9.0 * rng.f64();
    let print = print(rng, library);
    job(&format!("[{bore:.2}]"), &print, &part)
}
