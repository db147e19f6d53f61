//! Random jobs with one speaker cup, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::{Kind, Library};
use crate::parts::PART_KINDS;

/// A job with one cup: bore, lines of `[print]`, lines of the part.
pub fn job(bore: f64, print: &str, part: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"test staff\"\nbore = [{bore:.2}]\nlength = 260\n[print]\n\
         {print}\n[[part]]\nkind = \"speaker_cup\"\nname = \"cup\"\n{part}\n"
    )
}

/// A random part: each row is written with a chance of `often`, within its range or near
/// its usual values.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let rows = PART_KINDS.iter().find(|k| k.name == "speaker_cup").expect("a kind").params;
    let pick = |rng: &mut fastrand::Rng, family: &str| -> String {
        let names: Vec<&str> = library.names(family).collect();
        names[rng.usize(..names.len())].to_owned()
    };
    let speaker = pick(rng, "speakers");
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
    for row in rows {
        let key = row.key;
        if key == "speaker" || rng.f64() > often {
            continue;
        }
        match row.kind {
            Kind::Number { min, max, .. } => {
                let t = rng.f64();
                // Most values near the low end, where people work.
                let t = if rng.u8(0..4) > 0 { t * t * t } else { t };
                writeln!(part, "{key} = {:.3}", min + (max - min) * t).expect("fits");
            }
            Kind::Integer { min, max, .. } => {
                writeln!(part, "{key} = {}", rng.i64(min..=max)).expect("fits");
            }
            Kind::Choice { options, .. } => {
                writeln!(part, "{key} = \"{}\"", options[rng.usize(..options.len())])
                    .expect("fits");
            }
            Kind::Component { family, .. } => {
                writeln!(part, "{key} = \"{}\"", pick(rng, family)).expect("fits");
            }
            _ => {}
        }
    }
    let profile = library.profile("speakers", &speaker).expect("known");
    let wide = profile.maybe_number("length").unwrap_or(profile.number("width"));
    let bore = (wide + 2.0 + 14.0 * rng.f64()).clamp(20.0, 60.0);
    let print = format!(
        "printer = \"{}\"\nmaterial = \"{}\"",
        pick(rng, "printers"),
        pick(rng, "materials")
    );
    job(bore, &print, &part)
}
