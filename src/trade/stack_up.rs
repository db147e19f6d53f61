//! Stack-up of a chain of dimensions with tolerances.

use super::inputs::{Inputs, inputs, optional};
use super::{Calculator, TradeError, Worked};
use crate::measure::{Kind, Unit};

/// Largest dimension in a chain, mm: longer than any handle.
const LARGEST_MM: f64 = 10_000.0;
/// Most terms in one chain.
const MOST_TERMS: usize = 64;

inputs! {
    /// A chain of signed dimensions. See [`stack_up`].
    StackUpInput, STACK_UP_INPUTS {
        /// The dimensions along the chain, those that close the gap negative.
        values_mm: Vec<f64> = Kind::Numbers {
            unit: Unit::Mm, min: -LARGEST_MM, max: LARGEST_MM, count: (1, MOST_TERMS), optional: false,
        };
        /// The tolerance of each dimension, plus or minus, in the same order.
        tolerances_mm: Vec<f64> = Kind::Numbers {
            unit: Unit::Mm, min: 0.0, max: LARGEST_MM, count: (1, MOST_TERMS), optional: false,
        };
        /// How much the gap changes for one millimetre of each dimension; left
        /// out, 1 for each (the sign is in the dimension).
        sensitivities: Vec<f64> = Kind::Numbers {
            unit: Unit::One, min: -100.0, max: 100.0, count: (1, MOST_TERMS), optional: true,
        };
        /// Smallest gap allowed.
        gap_min_mm: Option<f64> = optional(Unit::Mm, -LARGEST_MM, LARGEST_MM);
        /// Largest gap allowed.
        gap_max_mm: Option<f64> = optional(Unit::Mm, -LARGEST_MM, LARGEST_MM);
    }
}

/// Share of one term in the result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Change of the gap per millimetre of this dimension.
    pub sensitivity: f64,
    /// What the term adds to the worst case, mm.
    pub reach_mm: f64,
    /// Its part of the worst case, percent.
    pub worst_percent: f64,
    /// Its part of the RSS variance, percent.
    pub rss_percent: f64,
}

/// Result of [`stack_up`].
#[derive(Clone, Debug, PartialEq)]
pub struct StackUp {
    /// Gap with every dimension at its nominal, mm.
    pub nominal_mm: f64,
    /// Worst case, plus or minus, mm.
    pub worst_mm: f64,
    /// Root of the sum of squares, plus or minus, mm.
    pub rss_mm: f64,
    /// One share per term, in the order of the chain.
    pub shares: Vec<Share>,
    /// Whether the nominal gap is inside the limits given.
    pub nominal_inside: bool,
    /// Whether the whole worst-case range is inside the limits given.
    pub worst_inside: bool,
    /// Whether the whole RSS range is inside the limits given.
    pub rss_inside: bool,
}

/// Gap of a chain: nominal `sum(s_i x_i)`, worst case `sum(|s_i| t_i)`,
/// statistical `sqrt(sum((s_i t_i)^2))`.
///
/// Source: common textbook method. The worst case always holds. The RSS value
/// assumes independent, centred, roughly normal dimensions whose tolerances
/// are equal multiples of their standard deviations; a bought part sorted into
/// classes, or a printer that is off in one direction, breaks that, and then
/// only the worst case may be used. At most 64 terms; refuses lists of
/// unequal length, negative tolerances and NaN.
pub fn stack_up(input: &StackUpInput) -> Result<StackUp, TradeError> {
    input.check()?;
    let n = input.values_mm.len();
    same_length("tolerances_mm", input.tolerances_mm.len(), n)?;
    if !input.sensitivities.is_empty() {
        same_length("sensitivities", input.sensitivities.len(), n)?;
    }
    let sensitivity = |i: usize| input.sensitivities.get(i).copied().unwrap_or(1.0);
    let nominal_mm: f64 = (0..n).map(|i| sensitivity(i) * input.values_mm[i]).sum();
    let reach: Vec<f64> = (0..n).map(|i| sensitivity(i).abs() * input.tolerances_mm[i]).collect();
    let worst_mm: f64 = reach.iter().sum();
    let variance: f64 = reach.iter().map(|r| r * r).sum();
    let percent = |part: f64, whole: f64| if whole > 0.0 { 100.0 * part / whole } else { 0.0 };
    let shares = (0..n)
        .map(|i| Share {
            sensitivity: sensitivity(i),
            reach_mm: reach[i],
            worst_percent: percent(reach[i], worst_mm),
            rss_percent: percent(reach[i] * reach[i], variance),
        })
        .collect();
    let rss_mm = variance.sqrt();
    let inside = |spread: f64| {
        input.gap_min_mm.is_none_or(|min| nominal_mm - spread >= min)
            && input.gap_max_mm.is_none_or(|max| nominal_mm + spread <= max)
    };
    Ok(StackUp {
        nominal_mm,
        worst_mm,
        rss_mm,
        shares,
        nominal_inside: inside(0.0),
        worst_inside: inside(worst_mm),
        rss_inside: inside(rss_mm),
    })
}

fn same_length(input: &'static str, len: usize, wanted: usize) -> Result<(), TradeError> {
    if len == wanted {
        return Ok(());
    }
    Err(TradeError::Refused {
        input,
        value: len as f64,
        min: wanted as f64,
        max: wanted as f64,
        unit: Unit::One,
        reason: "each dimension of the chain needs its own entry".to_owned(),
        hint: format!("give {wanted} numbers in {input}, one for each of values_mm"),
    })
}

/// Row of the registry.
pub const STACK_UP: Calculator = Calculator {
    name: "stack-up",
    summary: "nominal, worst case and RSS of a chain of dimensions",
    inputs: STACK_UP_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let input = StackUpInput::from_inputs(inputs)?;
    let out = stack_up(&input)?;
    let mut w =
        Worked::new(inputs, "textbook tolerance stack; RSS needs independent, centred parts");
    let terms = |letter: char, values: Vec<f64>| -> Vec<(String, f64)> {
        values.into_iter().enumerate().map(|(i, v)| (format!("{letter}{}", i + 1), v)).collect()
    };
    let x = terms(
        'x',
        out.shares.iter().zip(&input.values_mm).map(|(s, v)| s.sensitivity * v).collect(),
    );
    let t = terms('t', out.shares.iter().map(|s| s.reach_mm).collect());
    let sum = |terms: &[(String, f64)], power: &str| {
        let each: Vec<String> = terms.iter().map(|(n, _)| format!("{{{n}}}{power}")).collect();
        each.join(" + ")
    };
    let lines = [
        (
            "Nominal gap, each dimension times its sensitivity",
            format!("gap = {}", sum(&x, "")),
            &x,
            out.nominal_mm,
        ),
        ("Worst case: all tolerances at once", format!("T = {}", sum(&t, "")), &t, out.worst_mm),
        (
            "Statistical: root of the sum of squares",
            format!("R = sqrt({})", sum(&t, "^2")),
            &t,
            out.rss_mm,
        ),
    ];
    for (what, template, bound, value) in lines {
        let bound: Vec<(&str, f64)> = bound.iter().map(|(n, v)| (n.as_str(), *v)).collect();
        w.step(what, &template, &bound, value, Unit::Mm);
    }
    w.result("nominal_mm", "nominal gap", out.nominal_mm, Unit::Mm);
    w.result("worst_mm", "worst case, plus or minus", out.worst_mm, Unit::Mm);
    w.result("rss_mm", "RSS, plus or minus", out.rss_mm, Unit::Mm);
    for (i, s) in out.shares.iter().enumerate() {
        w.note(format!(
            "x{}: sensitivity {}, {:.0} % of the worst case, {:.0} % of the RSS variance",
            i + 1,
            super::num(s.sensitivity),
            s.worst_percent,
            s.rss_percent
        ));
    }
    if input.gap_min_mm.is_some() || input.gap_max_mm.is_some() {
        let verdict = |ok| if ok { "inside the limits" } else { "OUTSIDE the limits" };
        w.note(format!("nominal gap: {}", verdict(out.nominal_inside)));
        w.note(format!("worst case: {}", verdict(out.worst_inside)));
        w.note(format!("RSS: {}", verdict(out.rss_inside)));
    }
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chain(values: &[f64], tolerances: &[f64]) -> StackUpInput {
        StackUpInput {
            values_mm: values.to_vec(),
            tolerances_mm: tolerances.to_vec(),
            sensitivities: Vec::new(),
            gap_min_mm: None,
            gap_max_mm: None,
        }
    }

    #[test]
    fn nominal_outside_its_own_limit_is_reported() {
        let mut input = chain(&[40.0, -25.0, -2.0, -10.0], &[0.10, 0.05, 0.03, 0.05]);
        input.gap_max_mm = Some(1.0);
        let out = stack_up(&input).unwrap();
        assert!(!out.nominal_inside && !out.worst_inside && !out.rss_inside);
    }

    #[test]
    fn shares_add_up_to_the_whole() {
        let out = stack_up(&chain(&[5.0, -1.0, 2.0], &[0.3, 0.1, 0.2])).unwrap();
        let sum: f64 = out.shares.iter().map(|s| s.rss_percent).sum();
        assert!((sum - 100.0).abs() < 1e-9);
        assert!(out.rss_mm <= out.worst_mm);
    }

    #[test]
    fn unequal_lists_and_nan_are_refused() {
        let err = stack_up(&chain(&[1.0, 2.0], &[0.1])).unwrap_err();
        assert!(matches!(err, TradeError::Refused { input: "tolerances_mm", .. }));
        assert!(stack_up(&chain(&[f64::NAN], &[0.1])).is_err());
    }

    /// A quarter of a million draws put the RSS value where a normal chain has
    /// it (tolerance = 3 sigma), and no uniform draw leaves the worst case.
    #[test]
    fn monte_carlo_agrees() {
        let input = chain(&[40.0, -25.0, -2.0, -10.0], &[0.10, 0.05, 0.03, 0.05]);
        let out = stack_up(&input).unwrap();
        let mut rng = fastrand::Rng::with_seed(9);
        let draws = 250_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..draws {
            let mut gap = 0.0;
            let mut uniform = 0.0;
            for (v, t) in input.values_mm.iter().zip(&input.tolerances_mm) {
                let (a, b) = (1.0 - rng.f64(), rng.f64());
                let normal = (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos();
                gap += v + t / 3.0 * normal;
                uniform += v + t * (2.0 * rng.f64() - 1.0);
            }
            assert!((uniform - out.nominal_mm).abs() <= out.worst_mm + 1e-12);
            sum += gap - out.nominal_mm;
            squares += (gap - out.nominal_mm).powi(2);
        }
        let mean = sum / draws as f64;
        let three_sigma = 3.0 * (squares / draws as f64 - mean * mean).sqrt();
        assert!(mean.abs() < 5e-4, "mean {mean}");
        assert!((three_sigma / out.rss_mm - 1.0).abs() < 0.01, "{three_sigma}");
    }
}
