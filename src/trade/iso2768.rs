//! ISO 2768-1: tolerances of linear dimensions that state none.

use super::inputs::{Inputs, choice_or, choices, inputs, number};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

choices! {
    /// Tolerance class of ISO 2768-1.
    Class {
        /// Fine.
        Fine = "f",
        /// Medium.
        Medium = "m",
        /// Coarse.
        Coarse = "c",
        /// Very coarse.
        VeryCoarse = "v",
    }
}

/// A row: upper end of the range (included), then f, m, c, v in mm.
type Row = (f64, [Option<f64>; 4]);

/// ISO 2768-1 table 1, plus or minus mm. Ranges are "over ... up to and
/// including", the first from 0.5. Source: f, m, v from secondary copies of the
/// standard, c agreed by two of them (one circulating copy prints .15/.2 for
/// the first two rows of class c, which is wrong).
pub const LINEAR: [Row; 8] = [
    (3.0, [Some(0.05), Some(0.1), Some(0.2), None]),
    (6.0, [Some(0.05), Some(0.1), Some(0.3), Some(0.5)]),
    (30.0, [Some(0.1), Some(0.2), Some(0.5), Some(1.0)]),
    (120.0, [Some(0.15), Some(0.3), Some(0.8), Some(1.5)]),
    (400.0, [Some(0.2), Some(0.5), Some(1.2), Some(2.5)]),
    (1000.0, [Some(0.3), Some(0.8), Some(2.0), Some(4.0)]),
    (2000.0, [Some(0.5), Some(1.2), Some(3.0), Some(6.0)]),
    (4000.0, [None, Some(2.0), Some(4.0), Some(8.0)]),
];

inputs! {
    /// A dimension without a tolerance of its own. See [`iso2768`].
    Iso2768Input, ISO_2768_INPUTS {
        /// The dimension.
        size_mm: f64 = number(Unit::Mm, 0.5, 4000.0);
        /// Class: `f` fine, `m` medium, `c` coarse, `v` very coarse.
        class: Class = choice_or(Class::WORDS, "m");
    }
}

/// Result of [`iso2768`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Iso2768 {
    /// Tolerance, plus or minus, mm.
    pub tolerance_mm: f64,
    /// Smallest size, mm.
    pub size_low_mm: f64,
    /// Largest size, mm.
    pub size_high_mm: f64,
}

/// Tolerance of an untoleranced linear dimension after [`LINEAR`].
///
/// Valid from 0.5 to 4000 mm; below 0.5 mm the standard wants the tolerance
/// beside the dimension. Class v starts above 3 mm and class f ends at
/// 2000 mm. Everything else is refused. For machined metal and the like, not
/// for prints.
pub fn iso2768(input: &Iso2768Input) -> Result<Iso2768, TradeError> {
    input.check()?;
    let row = LINEAR.iter().find(|row| input.size_mm <= row.0).expect("range was checked");
    let column = Class::ALL.iter().position(|c| *c == input.class).expect("a class of the list");
    let Some(tolerance_mm) = row.1[column] else {
        let (min, max) = if input.class == Class::Fine { (0.5, 2000.0) } else { (3.0, 4000.0) };
        return Err(TradeError::Refused {
            input: "size_mm",
            value: input.size_mm,
            min,
            max,
            unit: Unit::Mm,
            reason: format!("class {} has no value for this size", input.class.word()),
            hint: "choose another class, or write the tolerance beside the dimension".to_owned(),
        });
    };
    Ok(Iso2768 {
        tolerance_mm,
        size_low_mm: input.size_mm - tolerance_mm,
        size_high_mm: input.size_mm + tolerance_mm,
    })
}

/// Row of the registry.
pub const ISO_2768: Calculator = Calculator {
    name: "iso-2768",
    summary: "general tolerance of a metal dimension that states none",
    inputs: ISO_2768_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let input = Iso2768Input::from_inputs(inputs)?;
    let out = iso2768(&input)?;
    let mut w = Worked::new(inputs, "ISO 2768-1 table 1, from secondary copies");
    w.step("Tolerance, plus or minus", "t = table 1", &[], out.tolerance_mm, Unit::Mm);
    let bound = [("x", input.size_mm), ("t", out.tolerance_mm)];
    w.step("Smallest size", "low = {x} - {t}", &bound, out.size_low_mm, Unit::Mm);
    w.step("Largest size", "high = {x} + {t}", &bound, out.size_high_mm, Unit::Mm);
    w.result("tolerance_mm", "tolerance, plus or minus", out.tolerance_mm, Unit::Mm);
    w.result("size_low_mm", "smallest size", out.size_low_mm, Unit::Mm);
    w.result("size_high_mm", "largest size", out.size_high_mm, Unit::Mm);
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(size_mm: f64, class: Class) -> Result<Iso2768, TradeError> {
        iso2768(&Iso2768Input { size_mm, class })
    }

    #[test]
    fn upper_ends_are_included() {
        for (size, want) in [(3.0, 0.1), (6.0, 0.1), (6.001, 0.2), (30.0, 0.2), (120.0, 0.3)] {
            assert_eq!(of(size, Class::Medium).unwrap().tolerance_mm, want, "{size}");
        }
    }

    #[test]
    fn empty_cells_and_small_sizes_are_refused() {
        assert!(of(2.0, Class::VeryCoarse).is_err());
        assert!(of(2500.0, Class::Fine).is_err());
        assert!(of(0.4, Class::Fine).is_err());
        assert!(of(f64::NAN, Class::Fine).is_err());
    }

    #[test]
    fn classes_never_tighten_and_sizes_never_loosen_backwards() {
        for pair in LINEAR.windows(2) {
            for column in 0..4 {
                if let (Some(a), Some(b)) = (pair[0].1[column], pair[1].1[column]) {
                    assert!(a <= b);
                }
            }
        }
        for row in LINEAR {
            let present: Vec<f64> = row.1.into_iter().flatten().collect();
            assert!(present.windows(2).all(|p| p[0] < p[1]));
        }
    }
}
