//! What writers of random jobs have in common, for tests here and in
//! `tests/reference`. It stands at the root of both crates.

use std::fmt::Write;

use fastrand::Rng;

use crate::measure::{Kind, Library};
use crate::parts::PART_KINDS;

/// A job with one part (its kind and name): bores, further lines of `[handle]`,
/// lines of `[print]`, lines of the part.
pub fn one_part(part: (&str, &str), bore: &str, handle: &str, print: &str, rows: &str) -> String {
    let (kind, name) = part;
    format!(
        "format = 1\n[handle]\nname = \"test rod\"\nbore = {bore}\n{handle}\n[print]\n{print}\n\
         [[part]]\nkind = \"{kind}\"\nname = \"{name}\"\n{rows}\n"
    )
}

/// Any profile of a family.
pub fn pick(rng: &mut Rng, library: &Library, family: &str) -> String {
    let names: Vec<&str> = library.names(family).collect();
    names[rng.usize(..names.len())].to_owned()
}

/// Lines of `[print]` with any printer and any material.
pub fn print(rng: &mut Rng, library: &Library) -> String {
    let printer = pick(rng, library, "printers");
    let material = pick(rng, library, "materials");
    format!("printer = \"{printer}\"\nmaterial = \"{material}\"")
}

/// Lines of `[print]` with one of a few printers, in petg.
pub fn usual_print(rng: &mut Rng) -> String {
    let printers = ["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine", "sls-service"];
    format!("printer = \"{}\"\nmaterial = \"petg\"", rng.choice(printers).expect("some"))
}

/// Rows of a kind of part, each with a chance of `often` and within its range; numbers
/// for which `low` holds near the low end, where people work. Those of `without` and
/// those that `part` has already are left out.
pub fn any_rows(
    part: &mut String,
    kind: &str,
    without: &[&str],
    rng: &mut Rng,
    library: &Library,
    (often, low): (f64, fn(&mut Rng) -> bool),
) {
    let rows = PART_KINDS.iter().find(|k| k.name == kind).expect("a kind").params;
    for row in rows {
        let key = row.key;
        let written = part.lines().any(|line| line.starts_with(&format!("{key} =")));
        if written || without.contains(&key) || rng.f64() > often {
            continue;
        }
        let value = match row.kind {
            Kind::Number { min, max, .. } => {
                let t = rng.f64();
                let t = if low(rng) { t * t * t } else { t };
                format!("{:.3}", min + (max - min) * t)
            }
            Kind::Integer { min, max, .. } => rng.i64(min..=max).to_string(),
            Kind::Choice { options, .. } => format!("\"{}\"", options[rng.usize(..options.len())]),
            Kind::Component { family, .. } => format!("\"{}\"", pick(rng, library, family)),
            _ => continue,
        };
        writeln!(part, "{key} = {value}").expect("text");
    }
}

/// Three numbers of four lie near the low end.
pub fn mostly_low(rng: &mut Rng) -> bool {
    rng.u8(0..4) > 0
}

/// Rows of a part that are mostly plausible, and of a wild part sometimes anything
/// that may be written.
pub struct Rows {
    /// The lines so far.
    pub text: String,
    wild: bool,
}

impl Rows {
    /// Rows after those of `text`; one part of six is wild.
    pub fn new(rng: &mut Rng) -> Rows {
        Rows { text: String::new(), wild: rng.u8(0..6) == 0 }
    }

    /// A row that is always written.
    pub fn row(&mut self, key: &str, value: impl std::fmt::Display) {
        writeln!(self.text, "{key} = {value}").expect("text");
    }

    /// A number in `near`, of a wild part perhaps in `far`, with a chance of
    /// `often.0` in `often.1`; one of two is a whole or a half.
    pub fn number(
        &mut self,
        rng: &mut Rng,
        often: (u8, u8),
        key: &str,
        near: (f64, f64),
        far: (f64, f64),
    ) {
        if rng.u8(0..often.1) >= often.0 {
            return;
        }
        let (a, b) = if self.wild && rng.bool() { far } else { near };
        let raw = a + (b - a) * rng.f64();
        let value = if rng.bool() { (raw * 2.0).round() / 2.0 } else { raw };
        self.row(key, format!("{:.3}", value.clamp(far.0, far.1)));
    }

    /// One of a few values, two times of three.
    pub fn word(&mut self, rng: &mut Rng, key: &str, values: &[&str]) {
        if rng.u8(0..3) > 0 {
            self.row(key, rng.choice(values).expect("some"));
        }
    }
}
