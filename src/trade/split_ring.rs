//! A split ring that is squeezed into a bore.

use super::inputs::{Inputs, inputs, number};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

inputs! {
    /// A split ring of even wall. See [`split_ring`].
    SplitRingInput, SPLIT_RING_INPUTS {
        /// Outside diameter as it lies free.
        free_mm: f64 = number(Unit::Mm, 2.0, 500.0);
        /// Wall of the ring.
        ring_wall_mm: f64 = number(Unit::Mm, 0.1, 50.0);
        /// Length of the ring along its axis.
        ring_length_mm: f64 = number(Unit::Mm, 0.5, 1000.0);
        /// How much its diameter is squeezed.
        squeeze_mm: f64 = number(Unit::Mm, 0.0, 50.0);
        /// Modulus of the material.
        modulus_mpa: f64 = number(Unit::Megapascal, 1.0, 500_000.0);
    }
}

/// Result of [`split_ring`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SplitRing {
    /// Mean radius of the free ring, mm.
    pub mean_mm: f64,
    /// How much its gap closes, mm.
    pub closes_mm: f64,
    /// Force at the ends of the gap that closes it so far, N.
    pub force_n: f64,
    /// Largest strain, opposite the gap, percent.
    pub strain_percent: f64,
}

/// A split ring squeezed by forces at the ends of its gap: `F = E I s / (3
/// rho^3)` with `I = b t^3 / 12`, strain opposite the gap `t s / (3 rho^2)`;
/// the gap closes by `pi s`.
///
/// Source: energy of bending of a thin ring slit at one place, whose gap closes
/// by `3 pi F rho^3 / (E I)`; derived here. A bore presses all around it, which
/// strains it a quarter less. Thick rings (wall over a third of the mean radius) are an
/// estimate.
///
/// # Errors
/// Inputs outside the table; a ring without a hole.
pub fn split_ring(input: &SplitRingInput) -> Result<SplitRing, TradeError> {
    input.check()?;
    let mean_mm = 0.5 * (input.free_mm - input.ring_wall_mm);
    if 2.0 * input.ring_wall_mm >= input.free_mm || input.squeeze_mm >= mean_mm {
        let most = (0.5 * input.free_mm).min(mean_mm);
        return Err(TradeError::Refused {
            input: "ring_wall_mm",
            value: input.ring_wall_mm,
            min: 0.1,
            max: most,
            unit: Unit::Mm,
            reason: "the ring has no hole, or is squeezed to nothing".to_owned(),
            hint: "give the wall on one side, and the change of the diameter".to_owned(),
        });
    }
    let inertia = input.ring_length_mm * input.ring_wall_mm.powi(3) / 12.0;
    Ok(SplitRing {
        mean_mm,
        closes_mm: std::f64::consts::PI * input.squeeze_mm,
        force_n: input.modulus_mpa * inertia * input.squeeze_mm / (3.0 * mean_mm.powi(3)),
        strain_percent: 100.0 * input.ring_wall_mm * input.squeeze_mm / (3.0 * mean_mm * mean_mm),
    })
}

/// Row of the registry.
pub const SPLIT_RING: Calculator = Calculator {
    name: "split-ring",
    summary: "strain and force of a split ring squeezed into a bore",
    inputs: SPLIT_RING_INPUTS,
    run: work_ring,
};

fn work_ring(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = SplitRingInput::from_inputs(inputs)?;
    let out = split_ring(&i)?;
    let mut w = Worked::new(inputs, "bending energy of a thin slit ring, derived here");
    let bound = [("D", i.free_mm), ("t", i.ring_wall_mm)];
    w.step("Mean radius", "rho = ({D} - {t}) / 2", &bound, out.mean_mm, Unit::Mm);
    let bound = [("s", i.squeeze_mm)];
    w.step("How much the gap closes", "g = pi * {s}", &bound, out.closes_mm, Unit::Mm);
    let bound = [("t", i.ring_wall_mm), ("s", i.squeeze_mm), ("rho", out.mean_mm)];
    let what = "Strain opposite the gap";
    let formula = "eps = 100 * {t} * {s} / (3 * {rho}^2)";
    w.step(what, formula, &bound, out.strain_percent, Unit::Percent);
    let bound = [
        ("E", i.modulus_mpa),
        ("b", i.ring_length_mm),
        ("t", i.ring_wall_mm),
        ("s", i.squeeze_mm),
        ("rho", out.mean_mm),
    ];
    let formula = "F = {E} * {b} * {t}^3 / 12 * {s} / (3 * {rho}^3)";
    w.step("Force at the gap", formula, &bound, out.force_n, Unit::Newton);
    w.result("strain_percent", "largest strain", out.strain_percent, Unit::Percent);
    w.result("force_n", "force at the ends of the gap", out.force_n, Unit::Newton);
    w.result("closes_mm", "how much the gap closes", out.closes_mm, Unit::Mm);
    w.note("plastic that stays bent for long keeps some of the bend");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The gap closes by the sum of what each bit of the ring turns: moment `F
    /// rho (1 - cos a)` times lever over `E I`.
    #[test]
    fn the_gap_closes_by_what_the_bits_of_the_ring_turn() {
        let i = SplitRingInput {
            free_mm: 32.0,
            ring_wall_mm: 2.0,
            ring_length_mm: 10.0,
            squeeze_mm: 0.5,
            modulus_mpa: 2000.0,
        };
        let out = split_ring(&i).unwrap();
        let inertia = 10.0 * 8.0 / 12.0;
        let n = 20_000;
        let step = 2.0 * std::f64::consts::PI / f64::from(n);
        let lever = |k: i32| 15.0 * (1.0 - ((f64::from(k) + 0.5) * step).cos());
        let bits = (0..n).map(|k| out.force_n * lever(k) * lever(k) / (2000.0 * inertia));
        let closes: f64 = bits.map(|turn| turn * 15.0 * step).sum();
        assert!((closes - out.closes_mm).abs() < 1e-6 * closes, "{closes} {}", out.closes_mm);
        let moment = out.force_n * 30.0;
        let strain = 100.0 * moment * 1.0 / (2000.0 * inertia);
        assert!((strain - out.strain_percent).abs() < 1e-9);
    }
}
