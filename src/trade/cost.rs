//! First-order mass, material and time of a print.

use std::f64::consts::PI;

use super::inputs::{Inputs, inputs, integer_or, number, number_or};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

/// Largest volume and area of a part, mm3 and mm2.
const LARGEST: f64 = 1e9;

inputs! {
    /// A part printed in filament. See [`filament`].
    FilamentInput, FILAMENT_INPUTS {
        /// Volume of the part.
        volume_mm3: f64 = number(Unit::Mm3, 0.0, LARGEST);
        /// Its surface.
        area_mm2: f64 = number(Unit::Mm2, 0.0, LARGEST);
        /// Its height as printed.
        height_mm: f64 = number(Unit::Mm, 0.0, 2000.0);
        /// Layer height.
        layer_mm: f64 = number_or(Unit::Mm, 0.02, 2.0, 0.2);
        /// Width of one line.
        line_mm: f64 = number_or(Unit::Mm, 0.05, 3.0, 0.45);
        /// Number of walls (and of full layers above and below, taken alike).
        walls: i64 = integer_or(0, 100, 3);
        /// Infill.
        infill_percent: f64 = number_or(Unit::Percent, 0.0, 100.0, 20.0);
        /// Speed along the line.
        speed_mm_per_s: f64 = number_or(Unit::MmPerSecond, 1.0, 2000.0, 60.0);
        /// Share of the time in which plastic flows.
        flow_percent: f64 = number_or(Unit::Percent, 5.0, 100.0, 70.0);
        /// Density of the material.
        density_g_per_cm3: f64 = number_or(Unit::GramPerCm3, 0.1, 20.0, 1.24);
        /// Diameter of the filament.
        filament_mm: f64 = number_or(Unit::Mm, 0.5, 5.0, 1.75);
    }
}

/// Result of [`filament`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filament {
    /// Volume of walls, mm3.
    pub shell_mm3: f64,
    /// Plastic laid down, mm3.
    pub plastic_mm3: f64,
    /// Mass, g.
    pub mass_g: f64,
    /// Length of filament, m.
    pub filament_m: f64,
    /// Number of layers.
    pub layers: f64,
    /// Printing time, min.
    pub time_min: f64,
}

/// Mass, filament and time of a filament print.
///
/// Shell = `min(volume, area * walls * line)`; plastic = shell + infill of the
/// rest; time = plastic / (layer * line * speed * flow share). Source: our own
/// first-order model, common practice; an estimate within about a third,
/// supports and purging not included. A slicer knows better.
pub fn filament(input: &FilamentInput) -> Result<Filament, TradeError> {
    input.check()?;
    let shell_mm3 = (input.area_mm2 * input.walls as f64 * input.line_mm).min(input.volume_mm3);
    let plastic_mm3 = shell_mm3 + (input.volume_mm3 - shell_mm3) * input.infill_percent / 100.0;
    let section = PI / 4.0 * input.filament_mm * input.filament_mm;
    let rate = input.layer_mm * input.line_mm * input.speed_mm_per_s * input.flow_percent / 100.0;
    Ok(Filament {
        shell_mm3,
        plastic_mm3,
        mass_g: plastic_mm3 * input.density_g_per_cm3 / 1000.0,
        filament_m: plastic_mm3 / section / 1000.0,
        layers: layers(input.height_mm, input.layer_mm),
        time_min: plastic_mm3 / rate / 60.0,
    })
}

/// Relative noise allowed before a further layer is counted.
const EPSILON: f64 = 1e-9;

fn layers(height_mm: f64, layer_mm: f64) -> f64 {
    (height_mm / layer_mm * (1.0 - EPSILON)).ceil()
}

inputs! {
    /// A part printed in resin. See [`resin`].
    ResinInput, RESIN_INPUTS {
        /// Volume of the part.
        volume_mm3: f64 = number(Unit::Mm3, 0.0, LARGEST);
        /// Its height as printed.
        height_mm: f64 = number(Unit::Mm, 0.0, 2000.0);
        /// Layer height.
        layer_mm: f64 = number_or(Unit::Mm, 0.01, 0.5, 0.05);
        /// Time of one layer: exposure, lift, wait.
        layer_s: f64 = number_or(Unit::Second, 0.1, 600.0, 9.0);
        /// Resin for supports and what stays on the part.
        extra_percent: f64 = number_or(Unit::Percent, 0.0, 300.0, 20.0);
        /// Density of the resin.
        density_g_per_cm3: f64 = number_or(Unit::GramPerCm3, 0.1, 20.0, 1.12);
    }
}

/// Result of [`resin`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resin {
    /// Resin used, mm3.
    pub resin_mm3: f64,
    /// Its mass, g.
    pub mass_g: f64,
    /// Number of layers.
    pub layers: f64,
    /// Printing time, min.
    pub time_min: f64,
}

/// Resin and time of a resin print: volume times `1 + extra`, layers times the
/// time of one. Source: common practice, an estimate; several parts on one
/// plate take no longer than one.
pub fn resin(input: &ResinInput) -> Result<Resin, TradeError> {
    input.check()?;
    let resin_mm3 = input.volume_mm3 * (1.0 + input.extra_percent / 100.0);
    let layers = layers(input.height_mm, input.layer_mm);
    Ok(Resin {
        resin_mm3,
        mass_g: resin_mm3 * input.density_g_per_cm3 / 1000.0,
        layers,
        time_min: layers * input.layer_s / 60.0,
    })
}

/// Row of the registry.
pub const FILAMENT: Calculator = Calculator {
    name: "cost-filament",
    summary: "estimate of mass, filament and time of a filament print",
    inputs: FILAMENT_INPUTS,
    run: work_filament,
};

/// Row of the registry.
pub const RESIN: Calculator = Calculator {
    name: "cost-resin",
    summary: "estimate of resin and time of a resin print",
    inputs: RESIN_INPUTS,
    run: work_resin,
};

const ESTIMATE: &str = "an estimate, good to about a third; supports and purging not included";

fn work_filament(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = FilamentInput::from_inputs(inputs)?;
    let out = filament(&i)?;
    let mut w = Worked::new(inputs, "first-order model, common practice");
    w.step(
        "Walls, no more than the part",
        "S = min({A} * {n} * {w}, {V})",
        &[("A", i.area_mm2), ("n", i.walls as f64), ("w", i.line_mm), ("V", i.volume_mm3)],
        out.shell_mm3,
        Unit::Mm3,
    );
    w.step(
        "Plastic: walls, and infill of the rest",
        "P = {S} + ({V} - {S}) * {f} / 100",
        &[("S", out.shell_mm3), ("V", i.volume_mm3), ("f", i.infill_percent)],
        out.plastic_mm3,
        Unit::Mm3,
    );
    w.step(
        "Mass",
        "m = {P} * {rho} / 1000",
        &[("P", out.plastic_mm3), ("rho", i.density_g_per_cm3)],
        out.mass_g,
        Unit::Gram,
    );
    w.step(
        "Length of filament",
        "L = {P} / (pi / 4 * {d}^2) / 1000",
        &[("P", out.plastic_mm3), ("d", i.filament_mm)],
        out.filament_m,
        Unit::Metre,
    );
    w.step(
        "Time",
        "T = {P} / ({h} * {w} * {v} * {k} / 100) / 60",
        &[
            ("P", out.plastic_mm3),
            ("h", i.layer_mm),
            ("w", i.line_mm),
            ("v", i.speed_mm_per_s),
            ("k", i.flow_percent),
        ],
        out.time_min,
        Unit::Minute,
    );
    w.result("plastic_mm3", "plastic laid down", out.plastic_mm3, Unit::Mm3);
    w.result("mass_g", "mass", out.mass_g, Unit::Gram);
    w.result("filament_m", "length of filament", out.filament_m, Unit::Metre);
    w.result("layers", "layers", out.layers, Unit::One);
    w.result("time_min", "printing time", out.time_min, Unit::Minute);
    w.note(ESTIMATE);
    Ok(w)
}

fn work_resin(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = ResinInput::from_inputs(inputs)?;
    let out = resin(&i)?;
    let mut w = Worked::new(inputs, "first-order model, common practice");
    let bound = [("V", i.volume_mm3), ("x", i.extra_percent)];
    w.step("Resin", "R = {V} * (1 + {x} / 100)", &bound, out.resin_mm3, Unit::Mm3);
    let bound = [("R", out.resin_mm3), ("rho", i.density_g_per_cm3)];
    w.step("Mass", "m = {R} * {rho} / 1000", &bound, out.mass_g, Unit::Gram);
    let bound = [("H", i.height_mm), ("h", i.layer_mm)];
    w.step("Layers", "n = ceil({H} / {h})", &bound, out.layers, Unit::One);
    let bound = [("n", out.layers), ("t", i.layer_s)];
    w.step("Time", "T = {n} * {t} / 60", &bound, out.time_min, Unit::Minute);
    w.result("resin_mm3", "resin used", out.resin_mm3, Unit::Mm3);
    w.result("mass_g", "mass of the resin", out.mass_g, Unit::Gram);
    w.result("layers", "layers", out.layers, Unit::One);
    w.result("time_min", "printing time", out.time_min, Unit::Minute);
    w.note(ESTIMATE);
    w.note("caution: uncured resin harms skin; gloves, and no uncured resin near a cell's wrap");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> FilamentInput {
        FilamentInput {
            volume_mm3: 8000.0,
            area_mm2: 5000.0,
            height_mm: 40.0,
            layer_mm: 0.2,
            line_mm: 0.45,
            walls: 2,
            infill_percent: 20.0,
            speed_mm_per_s: 60.0,
            flow_percent: 70.0,
            density_g_per_cm3: 1.24,
            filament_mm: 1.75,
        }
    }

    #[test]
    fn solid_infill_is_the_volume_and_thin_parts_are_all_wall() {
        let full = filament(&FilamentInput { infill_percent: 100.0, ..sample() }).unwrap();
        assert!((full.plastic_mm3 - 8000.0).abs() < 1e-9);
        let thin = filament(&FilamentInput { area_mm2: 90_000.0, ..sample() }).unwrap();
        assert_eq!(thin.shell_mm3, 8000.0);
        assert_eq!(thin.layers, 200.0);
    }

    #[test]
    fn more_walls_or_infill_never_print_faster() {
        let base = filament(&sample()).unwrap().time_min;
        assert!(filament(&FilamentInput { walls: 3, ..sample() }).unwrap().time_min > base);
        let dense = FilamentInput { infill_percent: 40.0, ..sample() };
        assert!(filament(&dense).unwrap().time_min > base);
    }
}
