//! Random jobs with one front mount, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::{Kind, Library};
use crate::parts::PART_KINDS;

/// A job with one mount: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"test rod\"\nbore = {bore}\nlength = 220\noutside = 50\n\
         [print]\n{print}\n[[part]]\nkind = \"front_mount\"\nname = \"mount\"\n{part}\n"
    )
}

/// A random part: each row is written with a chance of `often`, within its
/// range, mostly near the low end.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let rows = PART_KINDS.iter().find(|k| k.name == "front_mount").expect("a kind").params;
    let pick = |rng: &mut fastrand::Rng, family: &str| -> String {
        let names: Vec<&str> = library.names(family).collect();
        names[rng.usize(..names.len())].to_owned()
    };
    let name = pick(rng, "front_contacts");
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
    for row in rows {
        let seldom = ["contacts", "fixing", "screw"].contains(&row.key);
        if seldom || rng.f64() > often {
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
                writeln!(part, "{key} = {}", rng.i64(min..=max.min(min + 6))).expect("text");
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
    let bore = board.number("diameter") + 2.0 + 12.0 * rng.f64();
    let print = format!(
        "printer = \"{}\"\nmaterial = \"{}\"",
        pick(rng, "printers"),
        pick(rng, "materials")
    );
    job(&format!("[{bore:.2}]"), &print, &part)
}
