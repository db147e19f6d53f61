//! Random jobs with one speaker cup, for tests here and in `tests/reference`.

use crate::measure::Library;
use crate::random_rows::{any_rows, mostly_low, one_part, pick, print};

/// A job with one cup: bore, lines of `[print]`, lines of the part.
pub fn job(bore: f64, print: &str, part: &str) -> String {
    one_part(("speaker_cup", "cup"), &format!("[{bore:.2}]"), "length = 260", print, part)
}

/// A random part: each row is written with a chance of `often`, within its range or near
/// its usual values.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let speaker = pick(rng, library, "speakers");
    let mut part = if rng.f64() < 0.4 {
        let profile = library.profile("speakers", &speaker).expect("known");
        let more = rng.f64();
        format!(
            "speaker = {{ profile = \"{speaker}\", depth = {:.2}, crest = {:.2}, rim_width = {:.2} }}\n",
            profile.number("depth") + 6.0 * more,
            more,
            1.0 + 1.5 * rng.f64()
        )
    } else {
        format!("speaker = \"{speaker}\"\n")
    };
    let low = mostly_low;
    any_rows(&mut part, "speaker_cup", &["speaker"], rng, library, (often, low));
    let profile = library.profile("speakers", &speaker).expect("known");
    let wide = profile.maybe_number("length").unwrap_or(profile.number("width"));
    let bore = (wide + 2.0 + 14.0 * rng.f64()).clamp(20.0, 60.0);
    let print = print(rng, library);
    job(bore, &print, &part)
}
