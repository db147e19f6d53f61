//! What a first print of the real parts says of a printer, where there are too few
//! sizes for [`super::fit`]: its growth, and the clearance of a fit.

use super::compensate::Compensation;
use super::model::{COUNT, Effect, SizeRow};
use crate::measure::Values;

/// Standard deviation that growth has before anything is read, and that sizes have about
/// the model where the printer has no `size_sd`, as shares of the printer's accuracy: the
/// accuracy is taken for two standard deviations of a size, of which growth is half.
/// Common practice, no source.
const GROWTH_SD: f64 = 0.5;
const SIZE_SD: f64 = 0.5;
/// Least standard deviation of either, mm: half of what a caliper's dial shows. Common
/// practice, no source.
const LEAST_SD: f64 = 0.005;
/// By how much a word moves a clearance, as a share of the printer's accuracy, and the
/// least that it does, mm: what hands can tell. Common practice, no source.
const STEP: f64 = 0.5;
const LEAST_STEP: f64 = 0.03;

/// How a printed part sat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sat {
    /// It does not go in, or goes harder than its fit means.
    Binds,
    /// As its fit means.
    Right,
    /// It has more play than its fit means.
    Loose,
}

impl Sat {
    /// All, in order.
    pub const ALL: [Sat; 3] = [Sat::Binds, Sat::Right, Sat::Loose];
    /// Their words, in order.
    pub const WORDS: &'static [&'static str] = &["binds", "right", "loose"];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }

    /// What a word means.
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|sat| sat.word() == word)
    }
}

/// A size of a printed part, with what its file made up for and the caliper's limit of
/// error, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct AfterPrint {
    /// The size and its readings.
    pub row: SizeRow,
    /// What the printed file made up for.
    pub made_up: Option<Compensation>,
    /// The caliper's limit of error, mm.
    pub caliper: f64,
}

/// Growth and how sure it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Growth {
    /// Best value, mm.
    pub value: f64,
    /// Its standard deviation, mm.
    pub sd: f64,
}

impl Growth {
    /// Growth of a printer before any of its parts is read.
    pub fn before(printer: &Values, value: f64) -> Growth {
        Growth { value, sd: (GROWTH_SD * printer.number("accuracy")).max(LEAST_SD) }
    }

    /// The same after sizes were read: the mean of before and what each size says, each
    /// weighed by the inverse of its variance (normal distributions; JCGM 100:2008 has
    /// the variance of an even spread, 4.3.7). Scales stay those of the printer. Sizes
    /// that growth does not show in count for nothing.
    pub fn after(self, printer: &Values, sizes: &[AfterPrint]) -> Growth {
        let sd = printer.maybe_number("size_sd");
        let spread = sd.unwrap_or(SIZE_SD * printer.number("accuracy")).max(LEAST_SD);
        let mut weight = self.sd.powi(-2);
        let mut sum = weight * self.value;
        for size in sizes {
            let line = size.row.line(size.made_up.as_ref());
            let by_growth = line[Effect::Growth.index()];
            if by_growth == 0.0 {
                continue;
            }
            let rest = size.row.mean() - without_growth(&line, printer);
            let variance = spread * spread + size.caliper * size.caliper / 3.0;
            let own = by_growth * by_growth / variance;
            weight += own;
            sum += own * rest / by_growth;
        }
        Growth { value: sum / weight, sd: weight.sqrt().recip() }
    }
}

/// What a size would come out as on that printer, were it not for growth, mm.
fn without_growth(line: &[f64], printer: &Values) -> f64 {
    let effects: [f64; COUNT] = Effect::ALL.map(|effect| match effect {
        Effect::Scale(axis) => printer.number(&format!("scale_{}", axis.word())),
        Effect::HoleShrink => printer.number("hole_shrink"),
        Effect::Growth | Effect::Flare => 0.0,
    });
    line.iter().zip(effects).map(|(by, effect)| by * effect).sum()
}

/// The clearance to draw next, mm, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearance {
    /// The clearance, mm.
    pub value: f64,
    /// One sentence.
    pub why: String,
}

/// The clearance for a fit after parts sat with given clearances (`tried`, as they were
/// printed, mm, in the order of time), from `now`.
///
/// A part that binds asks for a step more than it had, one that is loose for a step
/// less; between one that bound and one that was loose, the middle is taken, so that
/// each try halves the room; where one sat right, its clearance is taken. The step is
/// half the printer's accuracy: common practice, no source. The result stays within
/// `within`, the clearances of the neighbouring fits.
pub fn next_clearance(
    now: f64,
    tried: &[(Sat, f64)],
    printer: &Values,
    within: (f64, f64),
) -> Clearance {
    let step = (STEP * printer.number("accuracy")).max(LEAST_STEP);
    let of = |sat: Sat| tried.iter().filter(move |(s, _)| *s == sat).map(|(_, c)| *c);
    let low = of(Sat::Binds).reduce(f64::max);
    let high = of(Sat::Loose).reduce(f64::min);
    let right = tried.iter().rev().find(|(sat, _)| *sat == Sat::Right).map(|(_, c)| *c);
    let (value, why) = match (right, low, high) {
        (Some(right), ..) => (right, format!("a part sat right with {right:.2} mm")),
        (None, Some(low), Some(high)) if low < high => (
            0.5 * (low + high),
            format!("half way from {low:.2} mm, which bound, to {high:.2} mm, which was loose"),
        ),
        (None, Some(low), Some(high)) => (
            now,
            format!(
                "{low:.2} mm bound and {high:.2} mm was loose: these do not go together, look at \
                 the parts again"
            ),
        ),
        (None, Some(low), None) => {
            (now.max(low + step), format!("a part with {low:.2} mm bound: a step of {step:.2} mm"))
        }
        (None, None, Some(high)) => {
            (now.min(high - step), format!("a part with {high:.2} mm was loose: {step:.2} mm less"))
        }
        (None, None, None) => (now, "no part was tried".to_owned()),
    };
    let cut = value.clamp(within.0.min(within.1), within.1);
    if cut == value {
        return Clearance { value, why };
    }
    Clearance { value: cut, why: format!("{why}, cut to that of the next fit") }
}

#[cfg(test)]
mod tests {
    use fastrand::Rng;

    use super::*;
    use crate::measure::{Axis, Library, Measured, Vec3};

    fn printer(library: &Library) -> &Values {
        library.profile("printers", "fdm-medium").expect("shipped")
    }

    fn size(
        what: Measured,
        nominal: f64,
        reading: f64,
        made_up: Option<Compensation>,
    ) -> AfterPrint {
        let row = SizeRow { name: "a".into(), what, axis: None, nominal, readings: vec![reading] };
        AfterPrint { row, made_up, caliper: 0.02 }
    }

    #[test]
    fn more_sizes_bring_growth_nearer_to_the_truth_whatever_the_files_made_up_for() {
        let library = Library::shipped();
        let printer = printer(&library);
        let mut rng = Rng::with_seed(7);
        let start = Growth::before(printer, 0.0);
        let mut last = start.sd;
        for count in [1, 4, 16, 64] {
            let sizes: Vec<AfterPrint> = (0..count)
                .map(|i| {
                    let growth = 0.04 * f64::from(i % 3);
                    let made_up = (growth > 0.0).then_some(Compensation {
                        growth,
                        scales: Vec3::repeat(1.0),
                        holes_drawn: true,
                    });
                    let noise = 0.1 * (rng.f64() - 0.5);
                    let left = 2.0 * (0.08 - growth) + noise;
                    if i % 2 == 0 {
                        size(Measured::Outside, 31.0, 31.0 + left, made_up)
                    } else {
                        size(Measured::Gap, 8.0, 8.0 - left, made_up)
                    }
                })
                .collect();
            let after = start.after(printer, &sizes);
            assert!(after.sd < last, "{count}: {after:?}");
            assert!((after.value - 0.08).abs() < 3.0 * after.sd, "{count}: {after:?}");
            assert!(after.value > start.value, "{count}: {after:?}");
            last = after.sd;
        }
        assert!(last < 0.01, "{last}");
    }

    #[test]
    fn a_printer_and_a_caliper_that_claim_to_be_exact_are_not_believed() {
        let mut library = Library::shipped();
        let family = crate::measure::FAMILIES.iter().find(|family| family.name == "printers");
        let text = "[exact]\nlike = \"fdm-medium\"\naccuracy = 0\nsize_sd = 0\nsource = \"none\"\n";
        let source = crate::measure::Source::new("printers.toml", text).expect("a text");
        library.add(family.expect("known"), &source).unwrap_or_else(|faults| panic!("{faults}"));
        let printer = library.profile("printers", "exact").expect("added");
        let mut exact = size(Measured::Outside, 20.0, 20.1, None);
        exact.caliper = 0.0;
        let after = Growth::before(printer, 0.0).after(printer, &[exact]);
        assert!(after.value > 0.03 && after.value < 0.05 && after.sd > 0.0, "{after:?}");
    }

    #[test]
    fn heights_say_nothing_of_growth() {
        let library = Library::shipped();
        let printer = printer(&library);
        let start = Growth::before(printer, 0.03);
        let mut high = size(Measured::Outside, 20.0, 20.9, None);
        high.row.axis = Some(Axis::Z);
        assert_eq!(start.after(printer, &[high]).value, 0.03);
    }

    #[test]
    fn words_move_a_clearance_by_bounded_steps() {
        let library = Library::shipped();
        let printer = printer(&library);
        let next = |now, tried: &[(Sat, f64)]| next_clearance(now, tried, printer, (0.05, 0.4));
        let near = |found: Clearance, wanted: f64| {
            assert!((found.value - wanted).abs() < 1e-12, "{found:?}, not {wanted}");
        };
        near(next(0.2, &[(Sat::Binds, 0.2)]), 0.3);
        near(next(0.2, &[(Sat::Loose, 0.2)]), 0.1);
        // What the caliper has explained already asks for nothing more.
        near(next(0.2, &[(Sat::Binds, 0.08)]), 0.2);
        near(next(0.3, &[(Sat::Binds, 0.2), (Sat::Loose, 0.3)]), 0.25);
        near(next(0.25, &[(Sat::Binds, 0.2), (Sat::Loose, 0.3), (Sat::Right, 0.25)]), 0.25);
        near(next(0.2, &[(Sat::Loose, 0.1), (Sat::Binds, 0.2)]), 0.2);
        near(next(0.2, &[(Sat::Binds, 0.38)]), 0.4);
        near(next(0.2, &[(Sat::Loose, 0.08)]), 0.05);
        near(next(0.2, &[]), 0.2);
    }

    #[test]
    fn halving_finds_the_clearance_that_sits_right() {
        let library = Library::shipped();
        let printer = printer(&library);
        for truth in [0.1, 0.17, 0.26, 0.35] {
            let (mut now, mut tried) = (0.2, Vec::new());
            for _ in 0..6 {
                let sat = match now - truth {
                    d if d < -0.02 => Sat::Binds,
                    d if d > 0.02 => Sat::Loose,
                    _ => Sat::Right,
                };
                tried.push((sat, now));
                now = next_clearance(now, &tried, printer, (0.0, 0.5)).value;
            }
            assert!((now - truth).abs() <= 0.0201, "{truth}: {tried:?}");
        }
    }
}
