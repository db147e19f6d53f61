//! What more exact measuring would do for the fits of a part.

use super::fit::fit_rows;
use crate::parts::{Declared, Mating};

/// The share of its error that is left of a dimension that is measured anew with care.
/// Common practice, no source.
pub const LEFT: f64 = 0.5;

/// What it does for one gap to know some dimensions of it better.
#[derive(Clone, Debug, PartialEq)]
pub struct Gain {
    /// Path of the job's field that is measured.
    pub field: String,
    /// What is uncertain, as the gap's chain calls it.
    pub term: String,
    /// How far it may be off either way, mm.
    pub half: f64,
    /// The gap: what meets what.
    pub fit: String,
    /// Odds, 0 to 1, that it binds or rattles as it is now.
    pub risk: f64,
    /// The same with [`LEFT`] of the error.
    pub then: f64,
}

/// The gains for every gap and every field that more is to be known of, in the order of
/// the part.
pub fn gains(declared: &Declared) -> Vec<Gain> {
    declared.matings.iter().flat_map(|mating| of_mating(declared, mating)).collect()
}

fn of_mating(declared: &Declared, mating: &Mating) -> Vec<Gain> {
    let Some(risk) = risk(declared, mating.clone()) else { return Vec::new() };
    let mut out: Vec<Gain> = Vec::new();
    for term in &mating.terms {
        let Some(field) = term.field.as_ref().filter(|f| out.iter().all(|g| g.field != **f)) else {
            continue;
        };
        let Some(then) = self::risk(declared, surer(mating, field)) else { continue };
        out.push(Gain {
            field: field.clone(),
            term: term.what.clone(),
            half: 0.5 * (term.reach.1 - term.reach.0),
            fit: mating.what.clone(),
            risk,
            then,
        });
    }
    out
}

/// The gap with less error in the terms of a field.
fn surer(mating: &Mating, field: &str) -> Mating {
    let mut surer = mating.clone();
    for term in surer.terms.iter_mut().filter(|t| t.field.as_deref() == Some(field)) {
        let (middle, half) =
            (0.5 * (term.reach.0 + term.reach.1), 0.5 * (term.reach.1 - term.reach.0));
        term.reach = (middle - LEFT * half, middle + LEFT * half);
    }
    surer
}

fn risk(declared: &Declared, mating: Mating) -> Option<f64> {
    let alone = Declared { matings: vec![mating], ..declared.clone() };
    fit_rows(&alone).first().map(|row| row.binds + row.rattles)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Vec3;
    use crate::parts::{Spread, Term};

    #[test]
    fn the_larger_error_is_worth_more() {
        let term = |what: &str, value: f64, half: f64, field: Option<&str>| Term {
            what: what.to_owned(),
            value,
            reach: (-half, half),
            spread: Spread::Even,
            field: field.map(str::to_owned),
        };
        let mating = Mating {
            what: "peg in its hole".to_owned(),
            at: Vec3::zeros(),
            terms: vec![
                term("hole", 10.1, 0.2, Some("part[1].hole")),
                term("peg", -10.0, 0.05, Some("part[1].peg")),
                term("play", 0.0, 0.01, None),
            ],
            binds_below: 0.0,
            rattles_above: None,
            field: "part[1].fit".to_owned(),
            words: None,
        };
        let gains = gains(&Declared { matings: vec![mating], ..Declared::default() });
        assert_eq!(gains.len(), 2, "{gains:?}");
        let [hole, peg] = [&gains[0], &gains[1]];
        assert_eq!((hole.field.as_str(), hole.half), ("part[1].hole", 0.2));
        // Even errors of 0.2 and 0.05 mm: a quarter of the hole's lies below -0.1. With the
        // hole's halved, 0.05 / 2 / 0.2 of the half of the peg's that closes the gap.
        assert!((hole.risk - 0.25).abs() < 0.002 && (hole.then - 0.0625).abs() < 0.002, "{hole:?}");
        assert!((peg.then - 0.25).abs() < 0.002, "{peg:?}");
    }
}
