//! Random jobs with one display plug, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::{Kind, Library};
use crate::parts::PART_KINDS;

/// A job with one plug: lines of `[print]`, lines of the part.
pub fn job(print: &str, part: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"test rod\"\nbore = [36]\nlength = 220\noutside = 42\n\
         [print]\n{print}\n[[part]]\nkind = \"display_plug\"\nname = \"plug\"\n{part}\n"
    )
}

/// A random part: each row is written with a chance of `often`, within its
/// range, mostly near the low end.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let rows = PART_KINDS.iter().find(|k| k.name == "display_plug").expect("a kind").params;
    let pick = |rng: &mut fastrand::Rng, family: &str| -> String {
        let names: Vec<&str> = library.names(family).collect();
        names[rng.usize(..names.len())].to_owned()
    };
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
    for row in rows {
        let done = row.key.starts_with("socket_d") || part.contains(&format!("{} =", row.key));
        if done || rng.f64() > often {
            continue;
        }
        let key = row.key;
        match row.kind {
            Kind::Number { min, max, .. } => {
                let t = rng.f64();
                // Most values near the low end, where people work.
                let t = if rng.u8(0..4) > 0 { t * t * t } else { t };
                writeln!(part, "{key} = {:.3}", min + (max - min) * t).expect("text");
            }
            Kind::Integer { min, max, .. } => {
                writeln!(part, "{key} = {}", rng.i64(min..=max)).expect("text");
            }
            Kind::Choice { options, .. } => {
                writeln!(part, "{key} = \"{}\"", options[rng.usize(..options.len())])
                    .expect("text");
            }
            Kind::Component { family, .. } => {
                writeln!(part, "{key} = \"{}\"", pick(rng, family)).expect("text");
            }
            _ => {}
        }
    }
    let print = format!(
        "printer = \"{}\"\nmaterial = \"{}\"",
        pick(rng, "printers"),
        pick(rng, "materials")
    );
    job(&print, &part)
}
