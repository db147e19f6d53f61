//! Random jobs with one kill-switch pocket, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::{Kind, Library};
use crate::parts::PART_KINDS;

/// A job with one pocket: bore, lines of `[print]`, lines of the part.
pub fn job(bore: f64, print: &str, part: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"test staff\"\nbore = [{bore:.2}]\nlength = 260\n[print]\n\
         {print}\n[[part]]\nkind = \"kill_pocket\"\nname = \"kill\"\n{part}\n"
    )
}

/// A random part: each row is written with a chance of `often`, within its range or near
/// its usual values.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library, often: f64) -> String {
    let rows = PART_KINDS.iter().find(|k| k.name == "kill_pocket").expect("a kind").params;
    let pick = |rng: &mut fastrand::Rng, family: &str| -> String {
        let names: Vec<&str> = library.names(family).collect();
        names[rng.usize(..names.len())].to_owned()
    };
    let switch = pick(rng, "kill_switches");
    let profile = library.profile("kill_switches", &switch).expect("known");
    let mut part = if rng.f64() < 0.4 {
        format!(
            "switch = {{ profile = \"{switch}\", body_height = {:.2}, lever_height = {:.2} }}\n",
            2.0 + 9.0 * rng.f64(),
            0.5 + 5.0 * rng.f64()
        )
    } else {
        format!("switch = \"{switch}\"\n")
    };
    let current = profile.number("current") * (0.2 + 0.9 * rng.f64());
    writeln!(part, "current = {current:.3}").expect("fits");
    for row in rows {
        let key = row.key;
        if key == "switch" || key == "current" || rng.f64() > often {
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
    let bore = 24.0 + 18.0 * rng.f64();
    let print = format!(
        "printer = \"{}\"\nmaterial = \"{}\"",
        pick(rng, "printers"),
        pick(rng, "materials")
    );
    job(bore, &print, &part)
}
