//! ISO 286 limits and fits, from shipped tables.

use super::inputs::{Inputs, inputs, number};
use super::{Calculator, TradeError, Worked};
use crate::measure::{Default, Kind, Unit};

/// Lowest and highest tolerance grade shipped.
const GRADES: (u32, u32) = (5, 14);

/// Where a row of the tables was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// In a secondary copy of the standard.
    Copy,
    /// From memory of ISO 286-1 and -2; not checked against the standard.
    Memory,
}

/// One range of nominal sizes: over the previous `up_to_mm`, up to and
/// including this one. Grades and deviations in micrometres.
#[derive(Clone, Copy, Debug)]
pub struct Range {
    /// Upper end of the range, included, mm.
    pub up_to_mm: f64,
    /// Where the row's grades and its f, g, h deviations were read.
    pub origin: Origin,
    /// Grades IT5 to IT14, um.
    pub it_um: [f64; 10],
    /// Deviations nearest the zero line, um, in the order of [`LETTERS`]:
    /// upper for d to h, lower for k to p.
    pub deviations_um: [f64; 9],
}

/// Shaft letters with a deviation in the table; js is half the grade.
pub const LETTERS: [&str; 9] = ["d", "e", "f", "g", "h", "k", "m", "n", "p"];

/// ISO 286-1 table 1 (grades) and the shaft deviations of its tables.
///
/// Source: IT5 to IT14 from 3 to 50 mm from a secondary copy, f, g, h from two
/// copies of JIS B 0401, 50-80 mm f, IT7 and IT8 checked by a published worked
/// example. Letters d, e, k, m, n, p and the other ranges: from memory.
pub const RANGES: [Range; 8] = [
    Range {
        up_to_mm: 3.0,
        origin: Origin::Memory,
        it_um: [4.0, 6.0, 10.0, 14.0, 25.0, 40.0, 60.0, 100.0, 140.0, 250.0],
        deviations_um: [-20.0, -14.0, -6.0, -2.0, 0.0, 0.0, 2.0, 4.0, 6.0],
    },
    Range {
        up_to_mm: 6.0,
        origin: Origin::Copy,
        it_um: [5.0, 8.0, 12.0, 18.0, 30.0, 48.0, 75.0, 120.0, 180.0, 300.0],
        deviations_um: [-30.0, -20.0, -10.0, -4.0, 0.0, 1.0, 4.0, 8.0, 12.0],
    },
    Range {
        up_to_mm: 10.0,
        origin: Origin::Copy,
        it_um: [6.0, 9.0, 15.0, 22.0, 36.0, 58.0, 90.0, 150.0, 220.0, 360.0],
        deviations_um: [-40.0, -25.0, -13.0, -5.0, 0.0, 1.0, 6.0, 10.0, 15.0],
    },
    Range {
        up_to_mm: 18.0,
        origin: Origin::Copy,
        it_um: [8.0, 11.0, 18.0, 27.0, 43.0, 70.0, 110.0, 180.0, 270.0, 430.0],
        deviations_um: [-50.0, -32.0, -16.0, -6.0, 0.0, 1.0, 7.0, 12.0, 18.0],
    },
    Range {
        up_to_mm: 30.0,
        origin: Origin::Copy,
        it_um: [9.0, 13.0, 21.0, 33.0, 52.0, 84.0, 130.0, 210.0, 330.0, 520.0],
        deviations_um: [-65.0, -40.0, -20.0, -7.0, 0.0, 2.0, 8.0, 15.0, 22.0],
    },
    Range {
        up_to_mm: 50.0,
        origin: Origin::Copy,
        it_um: [11.0, 16.0, 25.0, 39.0, 62.0, 100.0, 160.0, 250.0, 390.0, 620.0],
        deviations_um: [-80.0, -50.0, -25.0, -9.0, 0.0, 2.0, 9.0, 17.0, 26.0],
    },
    Range {
        up_to_mm: 80.0,
        origin: Origin::Memory,
        it_um: [13.0, 19.0, 30.0, 46.0, 74.0, 120.0, 190.0, 300.0, 460.0, 740.0],
        deviations_um: [-100.0, -60.0, -30.0, -10.0, 0.0, 2.0, 11.0, 20.0, 32.0],
    },
    Range {
        up_to_mm: 120.0,
        origin: Origin::Memory,
        it_um: [15.0, 22.0, 35.0, 54.0, 87.0, 140.0, 220.0, 350.0, 540.0, 870.0],
        deviations_um: [-120.0, -72.0, -36.0, -12.0, 0.0, 3.0, 13.0, 23.0, 37.0],
    },
];

/// Grades up to which letter k has the table's deviation; it is zero above.
const K_UP_TO_GRADE: u32 = 7;

inputs! {
    /// A nominal size and a fit. See [`fit`].
    FitInput, FIT_INPUTS {
        /// Nominal size common to hole and shaft.
        size_mm: f64 = number(Unit::Mm, 1.0, 120.0);
        /// The fit, hole before shaft, such as `H7/g6`.
        fit: String = Kind::Text { max_len: 12, default: Default::Required };
    }
}

/// Limits of a hole or a shaft.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// Letter as written: upper case for a hole.
    pub letter: String,
    /// Grade number.
    pub grade: u32,
    /// Tolerance of the grade, um.
    pub it_um: f64,
    /// Upper deviation, um.
    pub upper_um: f64,
    /// Lower deviation, um.
    pub lower_um: f64,
    /// Largest size, mm.
    pub size_high_mm: f64,
    /// Smallest size, mm.
    pub size_low_mm: f64,
    /// Where the values were read.
    pub origin: Origin,
}

/// What a fit does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FitKind {
    /// Always some clearance, or none at the tight end.
    Clearance,
    /// Either.
    Transition,
    /// Always some interference.
    Interference,
}

/// Result of [`fit`].
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Limits of the hole.
    pub hole: Limits,
    /// Limits of the shaft.
    pub shaft: Limits,
    /// Smallest clearance, um; negative is interference.
    pub clearance_min_um: f64,
    /// Largest clearance, um; negative is interference.
    pub clearance_max_um: f64,
    /// What the fit does.
    pub kind: FitKind,
}

/// The range that holds `size_mm`: over the previous end, up to and including
/// its own. Refuses sizes outside 1 to 120 mm.
pub fn range(size_mm: f64) -> Result<&'static Range, TradeError> {
    FitInput { size_mm, fit: String::new() }.check()?;
    Ok(RANGES.iter().find(|r| size_mm <= r.up_to_mm).expect("size was checked"))
}

/// Limits of one hole or shaft, such as `H7` or `g6`.
///
/// Holes A to H mirror the shaft of the same letter (`EI = -es`, ISO 286-1);
/// JS and js are exactly half the grade to each side. Holes K to P need the
/// delta rule and are refused: use the hole basis instead.
pub fn limits(size_mm: f64, zone: &str) -> Result<Limits, TradeError> {
    let range = range(size_mm)?;
    let split = zone.find(|c: char| c.is_ascii_digit()).unwrap_or(zone.len());
    let (letter, grade) = zone.split_at(split);
    let bad = |expected: &str, hint: &str| TradeError::Unreadable {
        input: "fit",
        text: zone.to_owned(),
        expected: expected.to_owned(),
        hint: hint.to_owned(),
    };
    let grade: u32 = grade
        .parse()
        .ok()
        .filter(|g| (GRADES.0..=GRADES.1).contains(g))
        .ok_or_else(|| bad("a letter and a grade from 5 to 14", "write it as in H7 or g6"))?;
    let it_um = range.it_um[(grade - GRADES.0) as usize];
    let lower_case = letter.to_lowercase();
    let hole = letter != lower_case;
    if hole && letter != letter.to_uppercase() {
        return Err(bad("one letter case", "holes are upper case, shafts lower case"));
    }
    let (upper_um, lower_um, origin) = if lower_case == "js" {
        (it_um / 2.0, -it_um / 2.0, range.origin)
    } else {
        let known = "one of d, e, f, g, h, js, k, m, n, p (shaft) or D to H, JS (hole)";
        let hint = "use the hole basis: an H hole with the shaft letter that gives the fit";
        let column =
            LETTERS.iter().position(|l| *l == lower_case).ok_or_else(|| bad(known, hint))?;
        let mut near = range.deviations_um[column];
        if lower_case == "k" && grade > K_UP_TO_GRADE {
            near = 0.0;
        }
        let below_zero = column <= 4;
        if hole && !below_zero {
            return Err(bad(known, hint));
        }
        let sourced = ["f", "g", "h"].contains(&LETTERS[column]);
        let origin = if sourced { range.origin } else { Origin::Memory };
        match (hole, below_zero) {
            // `0.0 -` and not a minus sign, so that h and H give 0 and not -0.
            (true, _) => (it_um - near, 0.0 - near, origin),
            (false, true) => (near, near - it_um, origin),
            (false, false) => (near + it_um, near, origin),
        }
    };
    Ok(Limits {
        letter: letter.to_owned(),
        grade,
        it_um,
        upper_um,
        lower_um,
        size_high_mm: size_mm + upper_um / 1000.0,
        size_low_mm: size_mm + lower_um / 1000.0,
        origin,
    })
}

/// Clearance of a named fit: `min = EI - es`, `max = ES - ei`.
///
/// Source: ISO 286-1 and -2, see [`RANGES`] for what is from memory. Valid
/// from 1 to 120 mm and for grades 5 to 14; refuses everything else. Tables,
/// not the formula of the standard: rounding in the standard moves single
/// values by up to 9 %.
pub fn fit(input: &FitInput) -> Result<Fit, TradeError> {
    input.check()?;
    let wrong = |hint: &str| TradeError::Unreadable {
        input: "fit",
        text: input.fit.clone(),
        expected: "a fit such as H7/g6".to_owned(),
        hint: hint.to_owned(),
    };
    let (hole, shaft) =
        input.fit.split_once('/').ok_or_else(|| wrong("write hole, slash, shaft"))?;
    let hole = limits(input.size_mm, hole.trim())?;
    let shaft = limits(input.size_mm, shaft.trim())?;
    if hole.letter == hole.letter.to_lowercase() || shaft.letter == shaft.letter.to_uppercase() {
        return Err(wrong("the hole comes first and is upper case, the shaft is lower case"));
    }
    let clearance_min_um = hole.lower_um - shaft.upper_um;
    let clearance_max_um = hole.upper_um - shaft.lower_um;
    let kind = if clearance_min_um >= 0.0 {
        FitKind::Clearance
    } else if clearance_max_um <= 0.0 {
        FitKind::Interference
    } else {
        FitKind::Transition
    };
    Ok(Fit { hole, shaft, clearance_min_um, clearance_max_um, kind })
}

/// Row of the registry.
pub const ISO_FIT: Calculator = Calculator {
    name: "iso-fit",
    summary: "limits and clearance of an ISO 286 fit such as H7/g6",
    inputs: FIT_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let input = FitInput::from_inputs(inputs)?;
    let out = fit(&input)?;
    let um = Unit::Micrometre;
    let mut w = Worked::new(inputs, "ISO 286-1 and -2 tables, from secondary copies and memory");
    w.step("Grade of the hole", "IT_hole = table 1", &[], out.hole.it_um, um);
    w.step("Grade of the shaft", "IT_shaft = table 1", &[], out.shaft.it_um, um);
    w.step("Upper deviation of the hole", "ES = table", &[], out.hole.upper_um, um);
    w.step("Lower deviation of the hole", "EI = table", &[], out.hole.lower_um, um);
    w.step("Upper deviation of the shaft", "es = table", &[], out.shaft.upper_um, um);
    w.step("Lower deviation of the shaft", "ei = table", &[], out.shaft.lower_um, um);
    let tight = [("EI", out.hole.lower_um), ("es", out.shaft.upper_um)];
    w.step("Smallest clearance", "min = {EI} - {es}", &tight, out.clearance_min_um, um);
    let loose = [("ES", out.hole.upper_um), ("ei", out.shaft.lower_um)];
    w.step("Largest clearance", "max = {ES} - {ei}", &loose, out.clearance_max_um, um);
    w.result("clearance_min_um", "smallest clearance", out.clearance_min_um, um);
    w.result("clearance_max_um", "largest clearance", out.clearance_max_um, um);
    w.result("hole_low_mm", "smallest hole", out.hole.size_low_mm, Unit::Mm);
    w.result("hole_high_mm", "largest hole", out.hole.size_high_mm, Unit::Mm);
    w.result("shaft_low_mm", "smallest shaft", out.shaft.size_low_mm, Unit::Mm);
    w.result("shaft_high_mm", "largest shaft", out.shaft.size_high_mm, Unit::Mm);
    w.note(match out.kind {
        FitKind::Clearance => "clearance fit",
        FitKind::Transition => "transition fit",
        FitKind::Interference => "interference fit",
    });
    if out.hole.origin == Origin::Memory || out.shaft.origin == Origin::Memory {
        w.note("some of these table values are from memory: check them before machining");
    }
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_include_their_upper_end() {
        for (size, it7) in [(6.0, 12.0), (10.0, 15.0), (18.0, 18.0), (30.0, 21.0), (50.0, 25.0)] {
            assert_eq!(limits(size, "H7").unwrap().upper_um, it7, "{size}");
            let above = limits(size + 0.001, "H7").unwrap().upper_um;
            assert!(above > it7, "{size}");
        }
    }

    /// ISO 286-1: `i = 0.45 D^(1/3) + 0.001 D` and the multipliers of the
    /// grades (from memory). The shipped table is rounded, hence 9 %.
    #[test]
    fn formula_is_near_the_table() {
        let multipliers = [7.0, 10.0, 16.0, 25.0, 40.0, 64.0, 100.0, 160.0, 250.0, 400.0];
        for pair in RANGES.windows(2) {
            let d = (pair[0].up_to_mm * pair[1].up_to_mm).sqrt();
            let i = 0.45 * d.cbrt() + 0.001 * d;
            for (table, m) in pair[1].it_um.iter().zip(multipliers) {
                assert!((i * m / table - 1.0).abs() < 0.09, "{d} {table}");
            }
        }
    }

    #[test]
    fn grades_and_deviations_grow_with_size_and_letter() {
        for r in RANGES {
            assert!(r.it_um.windows(2).all(|p| p[0] < p[1]));
            assert!(r.deviations_um.windows(2).all(|p| p[0] <= p[1]));
        }
        for pair in RANGES.windows(2) {
            for (a, b) in pair[0].it_um.iter().zip(pair[1].it_um) {
                assert!(*a < b);
            }
        }
    }

    #[test]
    fn js_is_half_the_grade_and_k_vanishes_above_seven() {
        let js = limits(25.0, "js7").unwrap();
        assert_eq!((js.upper_um, js.lower_um), (10.5, -10.5));
        assert_eq!(limits(25.0, "k6").unwrap().lower_um, 2.0);
        assert_eq!(limits(25.0, "k8").unwrap().lower_um, 0.0);
    }

    #[test]
    fn nonsense_is_refused_with_a_hint() {
        for text in ["", "H7", "g6/H7", "H7/H6", "Z7/g6", "H4/g6", "H7/g", "Js7/g6", "K7/h6"] {
            let err = fit(&FitInput { size_mm: 20.0, fit: text.to_owned() }).unwrap_err();
            assert!(!err.hint().is_empty(), "{text}");
        }
        assert!(limits(f64::NAN, "H7").is_err());
        assert!(limits(121.0, "H7").is_err());
    }

    #[test]
    fn kinds() {
        let kind = |text: &str| fit(&FitInput { size_mm: 25.0, fit: text.into() }).unwrap().kind;
        assert_eq!(kind("H7/g6"), FitKind::Clearance);
        assert_eq!(kind("H7/h6"), FitKind::Clearance);
        assert_eq!(kind("H7/k6"), FitKind::Transition);
        assert_eq!(kind("H7/p6"), FitKind::Interference);
    }
}
