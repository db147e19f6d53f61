//! Builds the chains of gaps that parts declare.

use super::PartContext;
use super::declared::{FitWords, Mating, Spread, Term};
use super::fit::BoreFit;
use crate::measure::{Values, Vec3};
use crate::trade::fit_odds::FitOddsInput;
use crate::trade::stack_up::StackUpInput;

/// How far a coat of paint may be off, as a share of its thickness. Common
/// practice, no source.
const COAT_SPREAD: f64 = 0.3;
/// Standard deviations in the reach of a bell.
const BELL_REACH: f64 = 2.0;
/// Harder interference than this, mm on the diameter, is no press fit for
/// printed plastic by hand. Common practice, no source.
const PRESS_MOST: f64 = 0.3;

impl Term {
    /// A dimension that may lie anywhere within `half` mm either way.
    pub(super) fn even(what: impl Into<String>, value: f64, half: f64) -> Term {
        Term { what: what.into(), value, reach: (-half, half), spread: Spread::Even, field: None }
    }

    /// The same, of which one may be surer by measuring what that field says.
    pub(super) fn by(self, field: impl Into<String>) -> Term {
        Term { field: Some(field.into()), ..self }
    }

    /// The middle of its reach, mm.
    fn middle(&self) -> f64 {
        self.value + 0.5 * (self.reach.0 + self.reach.1)
    }

    /// Half of its reach, mm.
    fn half(&self) -> f64 {
        0.5 * (self.reach.1 - self.reach.0)
    }

    /// A coat of paint on the outside, `coat` mm thick, that closes a gap on the
    /// diameter.
    pub(super) fn paint(coat: f64) -> Term {
        Term::even("paint", -2.0 * coat, 2.0 * COAT_SPREAD * coat)
    }

    /// A printed dimension, negative if it closes the gap: as the printer was
    /// measured to hold sizes, else within its accuracy.
    pub(super) fn printed(printer: &Values, what: impl Into<String>, value: f64) -> Term {
        match printer.maybe_number("size_sd") {
            None => {
                Term::even(what, value, printer.number("accuracy")).by(printer.path_of("size_sd"))
            }
            Some(sd) => {
                let off = printer.number("size_offset") * value.signum();
                let reach = (off - BELL_REACH * sd, off + BELL_REACH * sd);
                Term {
                    what: what.into(),
                    value,
                    reach,
                    spread: Spread::Bell,
                    field: Some(printer.path_of("size_sd")),
                }
            }
        }
    }
}

impl Mating {
    /// A mating that binds below no gap at all, and never rattles.
    pub(super) fn new(what: impl Into<String>, at: Vec3, field: impl Into<String>) -> Mating {
        Mating {
            what: what.into(),
            at,
            terms: Vec::new(),
            binds_below: 0.0,
            rattles_above: None,
            field: field.into(),
            words: None,
        }
    }

    /// The same with one more term.
    pub(super) fn term(mut self, term: Term) -> Mating {
        self.terms.push(term);
        self
    }

    /// The same with other limits.
    pub(super) fn limits(mut self, binds_below: f64, rattles_above: Option<f64>) -> Mating {
        (self.binds_below, self.rattles_above) = (binds_below, rattles_above);
        self
    }

    /// The gap with every dimension as drawn or read, mm.
    pub fn nominal(&self) -> f64 {
        self.terms.iter().map(|t| t.value).sum()
    }

    /// The chain as the calculator of stack-ups takes it.
    pub(super) fn chain(&self) -> StackUpInput {
        StackUpInput {
            values_mm: self.terms.iter().map(Term::middle).collect(),
            tolerances_mm: self.terms.iter().map(Term::half).collect(),
            sensitivities: Vec::new(),
            gap_min_mm: self.binds_below.is_finite().then_some(self.binds_below),
            gap_max_mm: self.rattles_above,
        }
    }

    /// The chain as the calculator of odds takes it.
    pub(super) fn odds(&self) -> FitOddsInput {
        let of = |spread: Spread| {
            self.terms.iter().filter(|t| t.spread == spread).map(Term::half).collect()
        };
        FitOddsInput {
            middle_mm: self.terms.iter().map(Term::middle).sum(),
            even_mm: of(Spread::Even),
            bell_mm: of(Spread::Bell),
            binds_below_mm: self.binds_below,
            rattles_above_mm: self.rattles_above,
        }
    }
}

/// The gaps, mm, below which a fit binds and above which it rattles, by its
/// word: a press fit must not slide, a sliding one not be loose; a loose one may.
pub(super) fn limits_of(word: &str, printer: &Values) -> (f64, Option<f64>) {
    match word {
        "press" => (-PRESS_MOST, Some(printer.number("fit_slide"))),
        "loose" => (0.0, None),
        _ => (0.0, Some(printer.number("fit_loose"))),
    }
}

/// The same of the row [`super::fit::FIT`] of `values`, on the diameter.
pub(super) fn limits_of_fit(printer: &Values, values: &Values) -> (f64, Option<f64>) {
    limits_of(values.choice("fit"), printer)
}

/// The part's outside in the bore: at the bore's tightest place, where it may
/// bind, and at its widest, where it may rattle. Of a bore of a tolerance class
/// both are one.
pub(super) fn in_bore(
    context: &PartContext<'_>,
    values: &Values,
    fit: &BoreFit,
    at: Vec3,
) -> Vec<Mating> {
    let (printer, bore) = (context.printer, context.handle.bore());
    let coat = values.number("coat");
    let field = values.path_of("fit");
    let words = FitWords::of(printer, values);
    let with_part = |mut mating: Mating| {
        mating.words = Some(words.clone());
        mating = mating.term(Term::printed(printer, "outside, printed", -2.0 * fit.radius));
        if coat > 0.0 {
            mating = mating.term(Term::paint(coat));
        }
        mating
    };
    let (binds, rattles) = limits_of_fit(printer, values);
    if let Some(class) = bore.class() {
        let (low, high) = (bore.smallest(), bore.largest());
        let term =
            Term::even(format!("bore, class {class}"), 0.5 * (low + high), 0.5 * (high - low));
        let mating = Mating::new("outside in the bore", at, field).term(term);
        return vec![with_part(mating.limits(binds, rattles))];
    }
    let ends = [
        ("outside in the bore's tightest place", bore.smallest(), -1.0, (binds, None)),
        ("outside in the bore's widest place", bore.largest(), 1.0, (f64::NEG_INFINITY, rattles)),
    ];
    let wanted = ends.into_iter().filter(|(.., limits)| limits.0.is_finite() || limits.1.is_some());
    wanted
        .map(|(what, reading, way, limits)| {
            let mut mating = Mating::new(what, at, field.clone())
                .limits(limits.0, limits.1)
                .term(Term::even("bore, caliper", reading, bore.caliper()).by("handle.bore"));
            if let Some(unread) = bore.unread() {
                // Beyond the readings, on the side of this end only.
                let far = 2.0 * unread * way;
                mating = mating.term(Term {
                    what: "bore, ovality between the readings".into(),
                    value: 0.0,
                    reach: (far.min(0.0), far.max(0.0)),
                    spread: Spread::Even,
                    field: Some("handle.bore".to_owned()),
                });
            }
            with_part(mating)
        })
        .collect()
}
