//! How a part fits the bore: its outside radius, from readings and printer.

use super::declared::FitWords;
use super::{Computed, PartContext, Refusal};
use crate::measure::{Measured, Param, Unit, Values};
use crate::section::snap;

/// The words for a fit, the tightest first; the printer's clearances for them.
const WORDS: [&str; 3] = ["press", "slide", "loose"];
const CLEARANCES: [&str; 3] = ["fit_press", "fit_slide", "fit_loose"];

/// Key of the outside diameter in reports.
pub(crate) const OUTSIDE: &str = "outside";

/// The fit of a part in the bore, for the tables of parts.
pub(super) const FIT: Param = Param::choice(
    "fit",
    &WORDS,
    "How the part sits in the bore; the clearance on the diameter is the printer's.",
)
.or_word("slide");

/// A coat of paint on the outside, for the tables of parts.
pub(super) const COAT: Param = Param::number(
    "coat",
    Unit::Mm,
    (0.0, 0.5),
    "Thickness of paint on the outside of the part; the printed part is that much smaller all round.",
)
.or(0.0);

/// The outside of a part in the bore.
#[derive(Clone, Copy, Debug)]
pub(super) struct BoreFit {
    /// Outside radius of the printed part, mm, on the grid.
    pub radius: f64,
    /// Clearance on the diameter that the fit asks for, mm.
    pub clearance: f64,
    /// Smallest sure diameter of the bore, mm.
    pub bore: f64,
}

impl FitWords {
    /// What the printer has for each word, and which `values` (with the row
    /// [`FIT`]) choose.
    pub(super) fn of(printer: &Values, values: &Values) -> FitWords {
        let word = |(word, key)| (word, printer.number(key), printer.path_of(key));
        let chosen = WORDS.iter().position(|w| *w == values.choice("fit"));
        FitWords {
            words: WORDS.into_iter().zip(CLEARANCES).map(word).collect(),
            chosen: chosen.expect("a choice is one of its words"),
        }
    }
}

impl BoreFit {
    /// The fit that `values` (with rows [`FIT`] and [`COAT`]) ask for: sure
    /// diameter of the bore, less the printer's clearance, less two coats.
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> BoreFit {
        let words = FitWords::of(context.printer, values);
        let clearance = words.words[words.chosen].1;
        let bore = context.handle.bore().sure();
        let radius = snap(0.5 * (bore - clearance) - values.number("coat"));
        BoreFit { radius, clearance, bore }
    }

    /// The refusal of a part that needs a larger outside radius, mm; `hints`
    /// say what else would help.
    pub(super) fn too_small(&self, context: &PartContext<'_>, radius: f64) -> Refusal {
        let needed = self.bore + 2.0 * (radius - self.radius);
        let handle = context.handle;
        if let Some(cavity) = context.cavity.filter(|c| c.clear.diameter <= self.bore) {
            return cavity.too_narrow(needed);
        }
        Refusal::new(format!(
            "needs a bore of at least {:.2} mm; yours is {:.2} at its smallest, less {:.2} for the \
             caliper: short by {:.2}",
            needed,
            handle.bore().smallest(),
            handle.bore().caliper(),
            needed - self.bore
        ))
        .at(handle.values(), "bore")
    }

    /// The rows of a report that say how the outside came about.
    pub(super) fn computed(&self) -> Vec<Computed> {
        vec![
            Computed::new("bore_sure", "smallest sure bore", self.bore, Unit::Mm),
            Computed::new("fit_clearance", "clearance on the diameter", self.clearance, Unit::Mm),
            Computed::new(OUTSIDE, "outside diameter as printed", 2.0 * self.radius, Unit::Mm)
                .read(Measured::Outside, None, "over the round outside, turned"),
        ]
    }
}
