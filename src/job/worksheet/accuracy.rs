//! What the caliper's limit of error does to a sliding fit in the bore.

use crate::measure::{Unit, Values};
use crate::trade::fit_odds::{FitOddsInput, fit_odds};

/// Limits of error that are compared, mm: from a good caliper's to a ruler's.
const ERRORS: [f64; 6] = [0.01, 0.02, 0.03, 0.05, 0.1, 0.2];

/// A part that slides, in a bore that was read so well.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AccuracyRow {
    /// Limit of error of the readings, mm.
    pub error: f64,
    /// The gap as drawn, on the diameter, mm: a part is drawn for the smallest bore that
    /// may be.
    pub gap: f64,
    /// Least and largest gap, all errors at once, mm.
    pub worst: [f64; 2],
    /// Odds that it binds, 0 to 1.
    pub binds: f64,
    /// Odds that it rattles, 0 to 1.
    pub rattles: f64,
    /// Whether it is the job's own.
    pub own: bool,
}

/// The comparison, for one printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Accuracy {
    /// Its profile.
    pub printer: String,
    /// How far printed sizes may be off, mm.
    pub printed: f64,
    /// The gap of a sliding fit, mm.
    pub slide: f64,
    /// From the best caliper to the worst.
    pub rows: Vec<AccuracyRow>,
}

impl Accuracy {
    /// For a printer (values of the family `printers`); `own` is a limit of error that is
    /// shown among the others.
    pub(super) fn of(printer: &Values, own: Option<f64>) -> Option<Accuracy> {
        let (slide, loose) = (printer.number("fit_slide"), printer.number("fit_loose"));
        let printed = printer.number("accuracy");
        let mut errors = ERRORS.to_vec();
        errors.extend(own.filter(|own| !ERRORS.contains(own)));
        errors.sort_by(f64::total_cmp);
        let row = |error: f64| {
            let gap = slide + error;
            let out = fit_odds(&FitOddsInput {
                middle_mm: gap,
                even_mm: vec![printed, error],
                bell_mm: Vec::new(),
                binds_below_mm: 0.0,
                rattles_above_mm: Some(loose),
            })
            .ok()?;
            Some(AccuracyRow {
                error,
                gap,
                worst: [gap - out.worst_mm, gap + out.worst_mm],
                binds: out.binds,
                rattles: out.rattles,
                own: own == Some(error),
            })
        };
        Some(Accuracy {
            printer: printer.profile().unwrap_or("your own").to_owned(),
            printed,
            slide,
            rows: errors.into_iter().map(row).collect::<Option<Vec<AccuracyRow>>>()?,
        })
    }

    /// What it says, in a sentence.
    pub fn about(&self) -> String {
        let unit = Unit::Mm.symbol();
        format!(
            "A part that slides (gap {} {unit}), printed on {} (sizes within {} {unit} either way): it is \
             drawn for the smallest bore that your readings allow, so a worse caliper brings play, \
             not jamming.",
            self.slide, self.printer, self.printed
        )
    }
}
