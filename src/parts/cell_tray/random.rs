//! Random jobs with one tray, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::{Kind, Library};
use crate::parts::PART_KINDS;

/// A job with one tray: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"test rod\"\nbore = {bore}\nlength = 220\n[print]\n{print}\n\
         [[part]]\nkind = \"cell_tray\"\nname = \"tray\"\n{part}\n"
    )
}

/// A random part: each row is written with a chance of `often`, within its range or near
/// its usual values.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let rows = PART_KINDS.iter().find(|k| k.name == "cell_tray").expect("a kind").params;
    let pick = |rng: &mut fastrand::Rng, family: &str| -> String {
        let names: Vec<&str> = library.names(family).collect();
        names[rng.usize(..names.len())].to_owned()
    };
    let cell = pick(rng, "cells");
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
    for row in rows {
        if row.key == "cell" || row.key == "from_z" || rng.f64() > often {
            continue;
        }
        let key = row.key;
        match row.kind {
            Kind::Number { min, max, .. } => {
                let t = rng.f64();
                // Most values near the low end, where people work.
                let t = if rng.bool() { t * t * t } else { t };
                writeln!(part, "{key} = {:.3}", min + (max - min) * t).expect("fits");
            }
            Kind::Integer { min, max, .. } => {
                writeln!(part, "{key} = {}", rng.i64(min..=max)).expect("fits");
            }
            Kind::Choice { options, .. } => {
                let word = options[rng.usize(..options.len())];
                writeln!(part, "{key} = \"{word}\"").expect("fits");
            }
            Kind::Component { family, .. } => {
                writeln!(part, "{key} = \"{}\"", pick(rng, family)).expect("fits");
            }
            _ => {}
        }
    }
    let profile = library.profile("cells", &cell).expect("known");
    let bore = profile.number("diameter_max") + 3.0 + 9.0 * rng.f64();
    let print = format!(
        "printer = \"{}\"\nmaterial = \"{}\"",
        pick(rng, "printers"),
        pick(rng, "materials")
    );
    job(&format!("[{bore:.2}]"), &print, &part)
}
