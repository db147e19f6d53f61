//! Bosses: thread-forming screws and heat-set inserts.

use super::inputs::{Inputs, choice, choices, inputs, number, number_or};
use super::{Calculator, TradeError, Worked, num};
use crate::measure::Unit;

choices! {
    /// Material that a thread-forming screw is driven into.
    Plastic {
        /// Acrylonitrile butadiene styrene.
        Abs = "abs",
        /// Its blend with polycarbonate.
        AbsPc = "abs-pc",
        /// Acrylonitrile styrene acrylate.
        Asa = "asa",
        /// Polyamide 6.
        Pa6 = "pa6",
        /// Polyamide 6 with glass.
        Pa6Gf30 = "pa6-gf30",
        /// Polybutylene terephthalate.
        Pbt = "pbt",
        /// Polylactide: common practice, no source.
        Pla = "pla",
        /// Glycol-modified polyester: common practice, no source.
        Petg = "petg",
        /// Photopolymer resin: common practice, no source.
        Resin = "resin",
    }
}

impl Plastic {
    /// Hole, boss and engagement in screw diameters, and whether a maker's
    /// table says so (a screw maker's table for moulded plastics; where it
    /// gives only the hole, boss and engagement are 2.0).
    fn ratios(self) -> ([f64; 3], bool) {
        match self {
            Plastic::Abs | Plastic::AbsPc => ([0.80, 2.0, 2.0], true),
            Plastic::Asa => ([0.78, 2.0, 2.0], true),
            Plastic::Pa6 => ([0.75, 1.85, 1.70], true),
            Plastic::Pa6Gf30 => ([0.80, 2.0, 1.90], true),
            Plastic::Pbt => ([0.75, 2.0, 2.0], true),
            Plastic::Pla | Plastic::Petg | Plastic::Resin => ([0.85, 2.5, 2.5], false),
        }
    }
}

inputs! {
    /// A thread-forming screw. See [`self_tap`].
    SelfTapInput, SELF_TAP_INPUTS {
        /// Outer diameter of the screw's thread.
        screw_mm: f64 = number(Unit::Mm, 1.0, 8.0);
        /// What it is driven into.
        plastic: Plastic = choice(Plastic::WORDS);
    }
}

/// Result of [`self_tap`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SelfTap {
    /// Diameter of the pilot hole, mm.
    pub pilot_mm: f64,
    /// Least diameter of the boss, mm.
    pub boss_mm: f64,
    /// Least length of thread in the plastic, mm.
    pub engagement_mm: f64,
    /// Least depth of the pilot, mm: 2.7 diameters, or engagement and half a
    /// diameter for the screw's point (common practice) if that is more.
    pub depth_mm: f64,
    /// Wide relief at the mouth: diameter, mm.
    pub relief_mm: f64,
    /// Its depth, mm.
    pub relief_depth_mm: f64,
    /// Least distance from the middle to an edge, mm.
    pub edge_mm: f64,
    /// Whether the ratios come from a published table.
    pub published: bool,
}

/// Pilot, boss and engagement of a thread-forming screw, as ratios of its
/// outer diameter by material.
///
/// Source: a screw maker's table for moulded plastics; relief 1.1 d, 0.4 d deep
/// and depth 2.7 d after another maker. PLA, PETG and resin: common practice (0.85 d), no
/// source. Printed bosses split along their layers: print and test.
pub fn self_tap(input: &SelfTapInput) -> Result<SelfTap, TradeError> {
    input.check()?;
    let ([hole, boss, engagement], published) = input.plastic.ratios();
    let d = input.screw_mm;
    Ok(SelfTap {
        pilot_mm: hole * d,
        boss_mm: boss * d,
        engagement_mm: engagement * d,
        depth_mm: (engagement + 0.5).max(2.7) * d,
        relief_mm: 1.1 * d,
        relief_depth_mm: 0.4 * d,
        edge_mm: boss * d / 2.0,
        published,
    })
}

inputs! {
    /// A heat-set insert, from its own data sheet. See [`heat_set`].
    InsertInput, INSERT_INPUTS {
        /// Largest diameter of the insert, over its knurl.
        insert_mm: f64 = number(Unit::Mm, 1.5, 20.0);
        /// Its length.
        length_mm: f64 = number(Unit::Mm, 1.0, 40.0);
        /// The hole that its maker asks for.
        hole_mm: f64 = number(Unit::Mm, 1.0, 20.0);
        /// Room below the insert for displaced plastic.
        below_mm: f64 = number_or(Unit::Mm, 0.0, 10.0, 0.5);
        /// Boss diameter over insert diameter.
        boss_ratio: f64 = number_or(Unit::One, 1.2, 4.0, 2.0);
    }
}

/// Result of [`heat_set`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatSet {
    /// Diameter of the pocket, mm.
    pub pocket_mm: f64,
    /// Depth of the pocket, mm.
    pub depth_mm: f64,
    /// Diameter of the boss, mm.
    pub boss_mm: f64,
    /// Wall around the insert, mm.
    pub wall_mm: f64,
    /// Bite of the knurl per side, mm.
    pub bite_mm: f64,
    /// Least distance from the middle to an edge, mm.
    pub edge_mm: f64,
}

/// Pocket and boss for a heat-set insert: the hole its maker asks for, depth
/// `length + 0.5 mm`, boss twice the insert's diameter.
///
/// Source: hole and depth from makers' data, boss from a print-design tutorial.
/// The insert's geometry is an input: inserts of one thread differ by half a
/// millimetre. Refuses a hole not smaller than the insert.
pub fn heat_set(input: &InsertInput) -> Result<HeatSet, TradeError> {
    input.check()?;
    if input.hole_mm >= input.insert_mm {
        return Err(TradeError::Refused {
            input: "hole_mm",
            value: input.hole_mm,
            min: 1.0,
            max: input.insert_mm,
            unit: Unit::Mm,
            reason: "the knurl finds nothing to bite".to_owned(),
            hint: format!("the hole must be smaller than the {} mm insert", num(input.insert_mm)),
        });
    }
    let boss_mm = input.boss_ratio * input.insert_mm;
    Ok(HeatSet {
        pocket_mm: input.hole_mm,
        depth_mm: input.length_mm + input.below_mm,
        boss_mm,
        wall_mm: (boss_mm - input.insert_mm) / 2.0,
        bite_mm: (input.insert_mm - input.hole_mm) / 2.0,
        edge_mm: boss_mm / 2.0,
    })
}

/// Row of the registry.
pub const SELF_TAP: Calculator = Calculator {
    name: "self-tap",
    summary: "pilot hole and boss of a thread-forming screw",
    inputs: SELF_TAP_INPUTS,
    run: work_self_tap,
};

/// Row of the registry.
pub const HEAT_SET: Calculator = Calculator {
    name: "heat-set",
    summary: "pocket and boss of a heat-set insert",
    inputs: INSERT_INPUTS,
    run: work_heat_set,
};

fn work_self_tap(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = SelfTapInput::from_inputs(inputs)?;
    let out = self_tap(&i)?;
    let ([hole, boss, engagement], _) = i.plastic.ratios();
    let mut w = Worked::new(inputs, "a screw maker's table for moulded plastics");
    let lines = [
        ("Pilot hole", "p = {k} * {d}", hole, out.pilot_mm),
        ("Boss", "b = {k} * {d}", boss, out.boss_mm),
        ("Engagement", "e = {k} * {d}", engagement, out.engagement_mm),
    ];
    for (what, template, k, value) in lines {
        w.step(what, template, &[("k", k), ("d", i.screw_mm)], value, Unit::Mm);
    }
    w.result("pilot_mm", "pilot hole", out.pilot_mm, Unit::Mm);
    w.result("boss_mm", "least boss", out.boss_mm, Unit::Mm);
    w.result("engagement_mm", "least engagement", out.engagement_mm, Unit::Mm);
    w.result("depth_mm", "least depth of the pilot", out.depth_mm, Unit::Mm);
    w.result("relief_mm", "relief at the mouth", out.relief_mm, Unit::Mm);
    w.result("relief_depth_mm", "depth of the relief", out.relief_depth_mm, Unit::Mm);
    w.result("edge_mm", "least distance to an edge", out.edge_mm, Unit::Mm);
    if !out.published {
        w.note("common practice for this material, no source: print and test one");
    }
    Ok(w)
}

fn work_heat_set(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = InsertInput::from_inputs(inputs)?;
    let out = heat_set(&i)?;
    let mut w = Worked::new(inputs, "the insert's own data; boss: a print-design tutorial");
    let bound = [("L", i.length_mm), ("c", i.below_mm)];
    w.step("Depth of the pocket", "h = {L} + {c}", &bound, out.depth_mm, Unit::Mm);
    let bound = [("k", i.boss_ratio), ("D", i.insert_mm)];
    w.step("Boss", "B = {k} * {D}", &bound, out.boss_mm, Unit::Mm);
    let bound = [("B", out.boss_mm), ("D", i.insert_mm)];
    w.step("Wall around the insert", "w = ({B} - {D}) / 2", &bound, out.wall_mm, Unit::Mm);
    w.result("pocket_mm", "diameter of the pocket", out.pocket_mm, Unit::Mm);
    w.result("depth_mm", "depth of the pocket", out.depth_mm, Unit::Mm);
    w.result("boss_mm", "diameter of the boss", out.boss_mm, Unit::Mm);
    w.result("wall_mm", "wall around the insert", out.wall_mm, Unit::Mm);
    w.result("bite_mm", "bite of the knurl per side", out.bite_mm, Unit::Mm);
    w.result("edge_mm", "least distance to an edge", out.edge_mm, Unit::Mm);
    w.note("caution: the iron is hot and the plastic fumes; set inserts with no cell in place");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn insert_needs_a_smaller_hole() {
        let input = InsertInput {
            insert_mm: 4.4,
            length_mm: 5.0,
            hole_mm: 4.0,
            below_mm: 0.5,
            boss_ratio: 2.0,
        };
        assert!((heat_set(&input).unwrap().wall_mm - 2.2).abs() < 1e-12);
        assert!(heat_set(&InsertInput { hole_mm: 4.4, ..input }).is_err());
    }
}
