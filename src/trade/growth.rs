//! Growth with heat, and shrinkage of prints.

use super::inputs::{Inputs, inputs, number, number_or};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

/// A material's growth and shrinkage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Growing {
    /// Name.
    pub name: &'static str,
    /// Thermal expansion, 1e-6/K.
    pub expansion: f64,
    /// Smallest and largest linear shrinkage of a print, percent; zero for
    /// metals, which are bought to size.
    pub shrinkage_percent: [f64; 2],
}

/// Defaults by material. Source: expansion from memory of data sheets and
/// handbooks; shrinkage common practice, no source. Both vary by a third
/// between makers: measure your own.
pub const MATERIALS: [Growing; 8] = [
    Growing { name: "PLA", expansion: 68.0, shrinkage_percent: [0.2, 0.5] },
    Growing { name: "PETG", expansion: 60.0, shrinkage_percent: [0.2, 0.6] },
    Growing { name: "ABS", expansion: 90.0, shrinkage_percent: [0.4, 0.8] },
    Growing { name: "ASA", expansion: 95.0, shrinkage_percent: [0.4, 0.7] },
    Growing { name: "PA12", expansion: 110.0, shrinkage_percent: [0.0, 0.3] },
    Growing { name: "resin", expansion: 100.0, shrinkage_percent: [1.0, 2.0] },
    Growing { name: "aluminium", expansion: 23.0, shrinkage_percent: [0.0, 0.0] },
    Growing { name: "brass", expansion: 19.0, shrinkage_percent: [0.0, 0.0] },
];

inputs! {
    /// A part inside a handle, warmed together. See [`growth`].
    GrowthInput, GROWTH_INPUTS {
        /// Dimension of the part.
        size_mm: f64 = number(Unit::Mm, 0.0, 5000.0);
        /// Thermal expansion of the part.
        expansion_per_k: f64 = number(Unit::MicroPerKelvin, 0.0, 1000.0);
        /// Thermal expansion of the handle around it.
        handle_expansion_per_k: f64 = number_or(Unit::MicroPerKelvin, 0.0, 1000.0, 23.0);
        /// Rise of temperature; negative cools.
        rise_k: f64 = number(Unit::Kelvin, -200.0, 200.0);
        /// Linear shrinkage of the print, for the scale that undoes it.
        shrinkage_percent: f64 = number_or(Unit::Percent, 0.0, 10.0, 0.0);
    }
}

/// Result of [`growth`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Growth {
    /// Growth of the part, mm.
    pub growth_mm: f64,
    /// Growth of the handle over the same dimension, mm.
    pub handle_mm: f64,
    /// Clearance lost (or, negative, won) over that dimension, mm.
    pub lost_mm: f64,
    /// Size of the print before shrinking that ends at the size wanted, mm.
    pub model_mm: f64,
    /// The same as a factor.
    pub scale: f64,
}

/// Thermal growth `a L dT`, its difference to the handle's, and the scale
/// `1 / (1 - s)` that undoes a shrinkage `s`.
///
/// Source: textbook. Linear, for rises well below the softening of the plastic
/// (PLA: from about 55 degC it creeps instead). Defaults in [`MATERIALS`].
pub fn growth(input: &GrowthInput) -> Result<Growth, TradeError> {
    input.check()?;
    let of = |expansion: f64| expansion * 1e-6 * input.size_mm * input.rise_k;
    let (growth_mm, handle_mm) = (of(input.expansion_per_k), of(input.handle_expansion_per_k));
    let scale = 1.0 / (1.0 - input.shrinkage_percent / 100.0);
    Ok(Growth {
        growth_mm,
        handle_mm,
        lost_mm: growth_mm - handle_mm,
        model_mm: input.size_mm * scale,
        scale,
    })
}

/// Row of the registry.
pub const GROWTH: Calculator = Calculator {
    name: "growth",
    summary: "growth with heat and the scale against shrinkage",
    inputs: GROWTH_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = GrowthInput::from_inputs(inputs)?;
    let out = growth(&i)?;
    let mut w = Worked::new(inputs, "textbook; material values from memory of data sheets");
    let lines = [
        ("Growth of the part", "dL = {a} * 1e-6 * {L} * {dT}", i.expansion_per_k, out.growth_mm),
        (
            "Growth of the handle",
            "dH = {a} * 1e-6 * {L} * {dT}",
            i.handle_expansion_per_k,
            out.handle_mm,
        ),
    ];
    for (what, template, a, value) in lines {
        let bound = [("a", a), ("L", i.size_mm), ("dT", i.rise_k)];
        w.step(what, template, &bound, value, Unit::Mm);
    }
    let bound = [("dL", out.growth_mm), ("dH", out.handle_mm)];
    w.step("Clearance lost", "c = {dL} - {dH}", &bound, out.lost_mm, Unit::Mm);
    let bound = [("L", i.size_mm), ("s", i.shrinkage_percent)];
    w.step("Model size", "M = {L} / (1 - {s} / 100)", &bound, out.model_mm, Unit::Mm);
    w.result("growth_mm", "growth of the part", out.growth_mm, Unit::Mm);
    w.result("handle_mm", "growth of the handle", out.handle_mm, Unit::Mm);
    w.result("lost_mm", "clearance lost", out.lost_mm, Unit::Mm);
    w.result("model_mm", "size before shrinking", out.model_mm, Unit::Mm);
    w.result("scale", "scale against shrinkage", out.scale, Unit::One);
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scale_undoes_the_shrinkage_and_cooling_mirrors_warming() {
        let input = GrowthInput {
            size_mm: 100.0,
            expansion_per_k: 68.0,
            handle_expansion_per_k: 23.0,
            rise_k: 30.0,
            shrinkage_percent: 0.4,
        };
        let warm = growth(&input).unwrap();
        let cold = growth(&GrowthInput { rise_k: -30.0, ..input.clone() }).unwrap();
        assert_eq!(warm.growth_mm, -cold.growth_mm);
        assert!((warm.model_mm * (1.0 - 0.004) - 100.0).abs() < 1e-12);
        assert!(growth(&GrowthInput { rise_k: f64::NAN, ..input }).is_err());
    }
}
