//! A cavity of a foreign chassis that a part is made for: its clear round bore
//! stands for the handle's.

use super::Refusal;
use crate::measure::frame::clocking;
use crate::measure::{Param, Unit, Values};
use crate::survey::{ClearBore, ClearOutline, Entry};

/// Rows of `[part.cavity]`, which every part may have.
pub const CAVITY: &[Param] = &[
    Param::note(
        "from",
        200,
        "The chassis mesh that the cavity is in: that of the job's [chassis]; left out, the same.",
    ),
    Param::number(
        "from_z",
        Unit::Mm,
        (0.0, 1500.0),
        "Where the stretch begins that the part is to lie in, from the end cap.",
    ),
    Param::number(
        "to_z",
        Unit::Mm,
        (0.0, 1500.0),
        "Where the stretch ends that the part is to lie in, from the end cap.",
    ),
    Param::choice(
        "outline",
        &OUTLINES,
        "Whether the part's outside follows the cavity's own outline, less its fit, or stays as \
         round as what is clear about the bore's axis.",
    )
    .or_word("cavity"),
];

/// The words for the outline.
const OUTLINES: [&str; 2] = ["cavity", "round"];

/// Whether values of [`CAVITY`] ask for the cavity's own outline.
pub(crate) fn follows(values: &Values) -> bool {
    values.choice("outline") == OUTLINES[0]
}

/// A cavity that was surveyed for a part.
#[derive(Clone, Debug)]
pub struct Cavity {
    /// File of the chassis, as written in the job.
    pub chassis: String,
    /// The largest round bore that is clear in it.
    pub clear: ClearBore,
    /// All that is clear in it, within the handle's bore; none if the part is to stay
    /// round, or if no outline of few corners was found.
    pub outline: Option<ClearOutline>,
    /// Whether an outline was asked for and not found.
    pub rough: bool,
    /// Values of [`CAVITY`].
    pub values: Values,
}

impl Cavity {
    /// Lower and upper end of its stretch, mm.
    pub fn stretch(&self) -> (f64, f64) {
        (self.values.number("from_z"), self.values.number("to_z"))
    }

    /// What is clear, where it is narrowest, and the way in, in words.
    pub fn told(&self) -> String {
        let ClearBore { diameter, at, entry } = self.clear;
        let way = match entry {
            Entry::Window => "the way from +y",
            Entry::Cap | Entry::Either => "the way along z from the end cap",
        };
        let (from, to) = self.stretch();
        format!(
            "the cavity of {} from z = {from} to {to} mm is {diameter:.2} mm clear about the bore's \
             axis, {way} included: it is narrowest at z = {:.2}, clocking {:.0}",
            self.chassis,
            at.z,
            clocking(at.xy())
        )
    }

    /// The refusal of a part that needs it `needed` mm wide.
    pub(super) fn too_narrow(&self, needed: f64) -> Refusal {
        let short = needed - self.clear.diameter;
        let what =
            format!("needs a cavity {needed:.2} mm clear: short by {short:.2}; {}", self.told());
        Refusal::new(what).at(&self.values, "from_z")
    }
}
