//! Leaf-spring contacts of a cell tray.

use super::inputs::{Inputs, inputs, number, number_or};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

/// Deflection over length above which the small-deflection beam is only an
/// estimate (a few percent off at 0.2). Textbook rule, from memory.
const SMALL_DEFLECTION: f64 = 0.2;

inputs! {
    /// A leaf spring at one end of a cell's compartment. See [`leaf_contact`].
    ContactInput, CONTACT_INPUTS {
        /// Free length of the leaf from its clamp to where the cell presses.
        length_mm: f64 = number(Unit::Mm, 1.0, 100.0);
        /// Width of the leaf.
        width_mm: f64 = number(Unit::Mm, 0.5, 50.0);
        /// Thickness of the leaf.
        thickness_mm: f64 = number(Unit::Mm, 0.05, 3.0);
        /// Modulus: spring steel about 206000, phosphor bronze about 110000
        /// (from memory; see the maker's sheet).
        modulus_mpa: f64 = number_or(Unit::Megapascal, 1000.0, 400_000.0, 206_000.0);
        /// Stress at which the leaf takes a set.
        yield_mpa: f64 = number_or(Unit::Megapascal, 10.0, 3000.0, 1000.0);
        /// Length between the fixed contact and the wall behind the leaf.
        space_mm: f64 = number(Unit::Mm, 5.0, 500.0);
        /// Tolerance of that length, plus or minus.
        space_tol_mm: f64 = number_or(Unit::Mm, 0.0, 5.0, 0.2);
        /// How far the unloaded leaf stands off the wall.
        free_height_mm: f64 = number(Unit::Mm, 0.1, 50.0);
        /// Height of the leaf pressed flat against the wall.
        solid_height_mm: f64 = number_or(Unit::Mm, 0.0, 50.0, 0.5);
        /// Shortest cell.
        cell_min_mm: f64 = number(Unit::Mm, 5.0, 500.0);
        /// Longest cell.
        cell_max_mm: f64 = number(Unit::Mm, 5.0, 500.0);
        /// Least contact force.
        force_min_n: f64 = number_or(Unit::Newton, 0.0, 100.0, 2.0);
    }
}

/// Result of [`leaf_contact`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// Stiffness of the leaf, N/mm.
    pub stiffness_n_per_mm: f64,
    /// Deflection with the shortest cell in the longest space, mm; zero or less
    /// does not touch.
    pub deflection_low_mm: f64,
    /// Deflection with the longest cell in the shortest space, mm.
    pub deflection_high_mm: f64,
    /// Force with the shortest cell, N.
    pub force_low_n: f64,
    /// Force with the longest cell, N.
    pub force_high_n: f64,
    /// Stress at the clamp with the longest cell, MPa.
    pub stress_mpa: f64,
    /// Travel between shortest and longest cell, mm.
    pub working_mm: f64,
    /// Travel left before the leaf is flat against the wall, mm.
    pub left_mm: f64,
    /// Whether the shortest cell is pressed with the least force or more.
    pub touches: bool,
    /// Whether the longest cell presses the leaf flat.
    pub solid: bool,
    /// Whether the leaf takes a set.
    pub sets: bool,
}

/// Force and stress of a leaf contact as a clamped beam: `k = E b t^3 /
/// (4 L^3)`, `F = k y`, `sigma = 1.5 E t y / L^2`, with the deflection
/// `y = cell + free - space` at both ends of the cell's length and of the
/// space's tolerance.
///
/// Source: straight-beam theory, textbook. Holds for deflections up to a fifth
/// of the length; past that force and stress are an estimate (noted). Refuses
/// a shortest cell longer than the longest, and a solid height not below the
/// free height. A leaf that does not touch, goes solid or takes a set is a
/// result, not an error.
pub fn leaf_contact(input: &ContactInput) -> Result<Contact, TradeError> {
    input.check()?;
    let ordered = [
        ("cell_min_mm", input.cell_min_mm, input.cell_max_mm),
        ("solid_height_mm", input.solid_height_mm, input.free_height_mm),
    ];
    for (key, value, max) in ordered {
        if value > max {
            return Err(TradeError::Refused {
                input: key,
                value,
                min: f64::NEG_INFINITY,
                max,
                unit: Unit::Mm,
                reason: "the lower of two values is above the upper".to_owned(),
                hint: "swap or correct the two values".to_owned(),
            });
        }
    }
    let (l, t) = (input.length_mm, input.thickness_mm);
    let stiffness_n_per_mm = input.modulus_mpa * input.width_mm * t.powi(3) / (4.0 * l.powi(3));
    let deflection_low_mm =
        input.cell_min_mm + input.free_height_mm - input.space_mm - input.space_tol_mm;
    let deflection_high_mm =
        input.cell_max_mm + input.free_height_mm - input.space_mm + input.space_tol_mm;
    let force = |y: f64| stiffness_n_per_mm * y.max(0.0);
    let stress_mpa = 1.5 * input.modulus_mpa * t * deflection_high_mm.max(0.0) / (l * l);
    let left_mm = input.free_height_mm - deflection_high_mm - input.solid_height_mm;
    let force_low_n = force(deflection_low_mm);
    Ok(Contact {
        stiffness_n_per_mm,
        deflection_low_mm,
        deflection_high_mm,
        force_low_n,
        force_high_n: force(deflection_high_mm),
        stress_mpa,
        working_mm: deflection_high_mm - deflection_low_mm,
        left_mm,
        touches: deflection_low_mm > 0.0 && force_low_n >= input.force_min_n,
        solid: left_mm <= 0.0,
        sets: stress_mpa >= input.yield_mpa,
    })
}

/// Row of the registry.
pub const LEAF_CONTACT: Calculator = Calculator {
    name: "leaf-contact",
    summary: "force and stress of a leaf contact at shortest and longest cell",
    inputs: CONTACT_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = ContactInput::from_inputs(inputs)?;
    let out = leaf_contact(&i)?;
    let mut w = Worked::new(inputs, "straight-beam theory, textbook");
    w.step(
        "Stiffness of the leaf",
        "k = {E} * {b} * {t}^3 / (4 * {L}^3)",
        &[("E", i.modulus_mpa), ("b", i.width_mm), ("t", i.thickness_mm), ("L", i.length_mm)],
        out.stiffness_n_per_mm,
        Unit::NewtonPerMm,
    );
    w.step(
        "Deflection, shortest cell in the longest space",
        "y1 = {cell} + {free} - {space} - {tol}",
        &[
            ("cell", i.cell_min_mm),
            ("free", i.free_height_mm),
            ("space", i.space_mm),
            ("tol", i.space_tol_mm),
        ],
        out.deflection_low_mm,
        Unit::Mm,
    );
    w.step(
        "Deflection, longest cell in the shortest space",
        "y2 = {cell} + {free} - {space} + {tol}",
        &[
            ("cell", i.cell_max_mm),
            ("free", i.free_height_mm),
            ("space", i.space_mm),
            ("tol", i.space_tol_mm),
        ],
        out.deflection_high_mm,
        Unit::Mm,
    );
    if out.deflection_high_mm > 0.0 {
        w.step(
            "Force with the longest cell",
            "F2 = {k} * {y2}",
            &[("k", out.stiffness_n_per_mm), ("y2", out.deflection_high_mm)],
            out.force_high_n,
            Unit::Newton,
        );
        w.step(
            "Stress at the clamp",
            "s = 1.5 * {E} * {t} * {y2} / {L}^2",
            &[
                ("E", i.modulus_mpa),
                ("t", i.thickness_mm),
                ("y2", out.deflection_high_mm),
                ("L", i.length_mm),
            ],
            out.stress_mpa,
            Unit::Megapascal,
        );
    }
    w.result("force_low_n", "force with the shortest cell", out.force_low_n, Unit::Newton);
    w.result("force_high_n", "force with the longest cell", out.force_high_n, Unit::Newton);
    w.result("stress_mpa", "stress with the longest cell", out.stress_mpa, Unit::Megapascal);
    w.result("working_mm", "working travel", out.working_mm, Unit::Mm);
    w.result("left_mm", "travel left before the leaf is flat", out.left_mm, Unit::Mm);
    if !out.touches {
        w.note("the shortest cell is NOT pressed with the least force");
    }
    if out.solid {
        w.note("the longest cell presses the leaf FLAT: the cell then carries the load");
    }
    if out.sets {
        w.note("the leaf takes a SET: thinner or longer");
    }
    if out.deflection_high_mm > SMALL_DEFLECTION * i.length_mm {
        w.note("deflection over a fifth of the length: force and stress are an estimate");
    }
    w.note("hold a cell by its case, never by pressure on its ends; keep the vent free");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> ContactInput {
        ContactInput {
            length_mm: 14.0,
            width_mm: 6.0,
            thickness_mm: 0.3,
            modulus_mpa: 206_000.0,
            yield_mpa: 1000.0,
            space_mm: 67.5,
            space_tol_mm: 0.2,
            free_height_mm: 4.0,
            solid_height_mm: 0.5,
            cell_min_mm: 64.5,
            cell_max_mm: 65.5,
            force_min_n: 1.0,
        }
    }

    #[test]
    fn stress_is_moment_over_section_modulus() {
        let (i, out) = (sample(), leaf_contact(&sample()).unwrap());
        let modulus = i.width_mm * i.thickness_mm.powi(2) / 6.0;
        let want = out.force_high_n * i.length_mm / modulus;
        assert!((out.stress_mpa / want - 1.0).abs() < 1e-12);
    }

    #[test]
    fn verdicts_turn_where_they_should() {
        assert!(leaf_contact(&sample()).unwrap().touches);
        let long = leaf_contact(&ContactInput { cell_max_mm: 66.9, ..sample() }).unwrap();
        assert!(long.solid);
        let short = leaf_contact(&ContactInput { cell_min_mm: 63.6, ..sample() }).unwrap();
        assert!(!short.touches && short.force_low_n == 0.0);
        assert!(leaf_contact(&ContactInput { cell_min_mm: 66.0, ..sample() }).is_err());
    }

    #[test]
    fn thicker_is_stiffer_and_more_stressed() {
        let a = leaf_contact(&sample()).unwrap();
        let b = leaf_contact(&ContactInput { thickness_mm: 0.4, ..sample() }).unwrap();
        assert!(b.force_low_n > a.force_low_n && b.stress_mpa > a.stress_mpa);
    }
}
