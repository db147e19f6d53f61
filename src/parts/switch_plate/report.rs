//! The values that the report gives of a plate.

use std::f64::consts::PI;

use super::super::Computed;
use super::super::build::Ends;
use super::super::caliper::{Caliper, at};
use super::super::fit::BoreFit;
use super::neighbours::apart;
use super::passage::Passage;
use super::plan::{Plan, SHORT_LEGS};
use super::plunger::Plunger;
use super::walls::{Guides, Walls};
use crate::measure::{Unit, Vec3};

/// Everything that was found out about a plate.
pub(super) struct Facts<'a> {
    pub plan: &'a Plan<'a>,
    pub fit: &'a BoreFit,
    pub walls: &'a [Walls],
    pub guides: &'a Guides,
    pub passage: &'a Passage,
    /// Whether loose bits were left out.
    pub bits: bool,
    /// Whether wedges and fins too thin to print were cut off.
    pub feathers: bool,
    /// Area of the fullest section, mm2.
    pub fullest: f64,
    /// Chamfers asked for and made.
    pub asked: Ends,
    pub made: Ends,
}

/// The computed values of a plate.
pub(super) fn computed(facts: &Facts<'_>) -> Vec<Computed> {
    let plan = facts.plan;
    let mut rows = facts.fit.computed();
    let mm = |key: &str, what: &str, value| Computed::new(key, what, value, Unit::Mm);
    rows.push(mm("from_z", "low end", plan.low));
    rows.push(mm("length", "length", plan.high - plan.low));
    rows.push(Computed::new("facing", "way the plate faces", plan.facing_angle, Unit::Degrees));
    rows.push(mm("back", "distance of the flat back from the axis", plan.back));
    rows.push(mm("back_width", "width of the flat back", 2.0 * plan.half_back()));
    rows.push(mm("wall", "wall around the pockets", plan.wall));
    rows.push(mm("play", "play in the bore, either way", plan.play));
    rows.push(mm("moved_apart", "what near measures were moved apart by", plan.nudge));
    rows.push(mm("chamfer_low", "chamfer made at the low end", facts.made.low));
    rows.push(mm("chamfer_high", "chamfer made at the high end", facts.made.high));
    let mut numbered: Vec<usize> = (0..plan.plungers.len()).collect();
    numbered.sort_by_key(|&i| plan.plungers[i].number);
    for &i in &numbered {
        plunger_rows(facts, i, &mut rows);
    }
    let guides = facts.guides;
    for (side, k) in [("left", 0), ("right", 1)] {
        rows.push(mm(
            &format!("arc_{side}_least"),
            &format!("shortest guiding arc, {side}"),
            guides.least[k],
        ));
        rows.push(mm(
            &format!("arc_{side}_most"),
            &format!("longest guiding arc, {side}"),
            guides.most[k],
        ));
        rows.push(Computed::new(
            format!("flank_{side}"),
            format!("flank to glue, {side}"),
            guides.area[k],
            Unit::Mm2,
        ));
    }
    rows.push(mm("guided", "length between first and last guide", guides.span));
    rows.push(Computed::new("back_area", "flat back to glue", guides.back, Unit::Mm2));
    rows.push(Computed::new("fullest", "largest section of the plate", facts.fullest, Unit::Mm2));
    rows.push(Computed::new(
        "free_below",
        "section left free between back and bore",
        free_below(facts),
        Unit::Mm2,
    ));
    if let Some(flanges) = &plan.flanges {
        let hole = &flanges.hole;
        rows.push(mm("screw_hole", "screw hole", hole.hole));
        rows.push(mm("screw_recess", "recess of the head", hole.recess));
        rows.push(mm("screw_recess_depth", "its depth", hole.recess_depth));
        rows.push(mm("screw_edge", "least distance of a screw from an edge", hole.edge));
        rows.push(mm("grip", "plastic that a head clamps", flanges.grip));
        rows.push(mm("flange_length", "length of a flange", flanges.length));
        rows.push(mm(
            "flange_height",
            "height of a flange above the back",
            flanges.top - plan.back,
        ));
        if let Some((right, left)) = flanges.gathered {
            let what = "wires side by side past the screws";
            rows.push(mm("wires_from", &format!("{what}: from, left of the middle"), right));
            rows.push(mm("wires_to", &format!("{what}: to, left of the middle"), left));
        }
        let mut count = 0;
        for (offsets, z) in flanges.offsets.iter().zip(flanges.z) {
            for u in offsets {
                count += 1;
                rows.push(mm(&format!("screw{count}_z"), &format!("screw {count}: z"), z));
                rows.push(mm(
                    &format!("screw{count}_beside"),
                    &format!("screw {count}: left of the middle, seen from the front"),
                    *u,
                ));
            }
        }
    }
    rows
}

fn plunger_rows(facts: &Facts<'_>, i: usize, rows: &mut Vec<Computed>) {
    let plan = facts.plan;
    let p = &plan.plungers[i];
    let n = p.number;
    let mut row = |key: &str, what: &str, value: f64| {
        if value.is_finite() {
            rows.push(Computed::new(
                format!("plunger{n}_{key}"),
                format!("{}: {what}", p.name()),
                value,
                Unit::Mm,
            ));
        }
    };
    let stack = &p.stack;
    row("tip", "end of the plunger from the axis", p.tip);
    row("seat", "pocket floor from the axis", p.seat);
    row("stem_top", "stem's tip from the axis", p.stem_top());
    row("gap", "gap at rest", stack.gap.nominal_mm);
    row("gap_worst", "gap at rest, either way, all tolerances at once", stack.gap.worst_mm);
    row("gap_rss", "gap at rest, either way, root of squares", stack.gap.rss_mm);
    row("gap_worst_least", "smallest gap, all tolerances at once", stack.worst.gap_low_mm);
    row("gap_worst_most", "largest gap, all tolerances at once", stack.worst.gap_high_mm);
    row("gap_rss_least", "smallest gap, root of squares", stack.rss.gap_low_mm);
    row("gap_rss_most", "largest gap, root of squares", stack.rss.gap_high_mm);
    row("left", "travel left after closing", stack.left_nominal_mm);
    row("left_worst", "travel left, all tolerances at once", stack.worst.left_mm);
    row("left_rss", "travel left, root of squares", stack.rss.left_mm);
    row("seat_best", "floor that centres the result", p.spread().best_seat_mm);
    row("seat_window", "range of floors that work", p.spread().window_mm);
    row(
        "press_most",
        "deepest press on the switch, all tolerances at once",
        stack.deepest_press_mm,
    );
    row("pocket_width", "pocket across the plunger", 2.0 * p.foot.pocket.u.1);
    row("pocket_length", "pocket along the handle", 2.0 * p.foot.pocket.z.1);
    row("legs_width", "room for legs and body across", 2.0 * p.foot.half().0);
    row("legs_length", "room for legs and body along", 2.0 * p.foot.half().1);
    let walls = &facts.walls[i];
    for (side, k) in [("left", 0), ("right", 1)] {
        let to = if walls.outside[k] { "to the bore" } else { "to another cut" };
        row(&format!("wall_{side}"), &format!("{side} wall {to}"), walls.sides[k]);
    }
    row("floor", "thinnest floor", walls.floor);
    let (low, high) = plan.pocket(i);
    row("wall_cap", "from the pocket to the cap's end of the plate", low - plan.low);
    row("wall_front", "from the pocket to the front end of the plate", plan.high - high);
    let others = (0..plan.plungers.len()).filter(|&j| j != i);
    let near = others.map(|j| (apart(plan, i, j).wall(), plan.plungers[j].number));
    if let Some((wall, other)) = near.min_by(|p, q| p.0.total_cmp(&q.0)) {
        row("wall_neighbour", &format!("wall to the pocket of plunger {other}"), wall);
    }
    row("legs_out", "legs beyond the flat back", legs_out(facts, p));
    // Half way up the pocket's ledge, in its middle.
    let middle = at(p.axes.point(0.0, p.seat + 0.5 * plan.ledge), p.z);
    let gauges = [
        ("pocket_width", Caliper::between(middle, at(p.axes.left, 0.0))),
        ("pocket_length", Caliper::between(middle, Vec3::z())),
    ];
    let named = gauges.map(|(key, caliper)| (format!("plunger{n}_{key}"), caliper));
    *rows = Computed::gauged(std::mem::take(rows), named);
}

/// How far legs stand out of the back; negative when they end in the slots,
/// infinite when there are none.
pub(super) fn legs_out(facts: &Facts<'_>, p: &Plunger<'_>) -> f64 {
    if p.switch.choice("legs") != "through" {
        return f64::INFINITY;
    }
    let plan = facts.plan;
    let slot = &p.foot.slots[0];
    let middle = 0.5 * (slot.u.0 + slot.u.1);
    let above = |u: f64| p.axes.point(u, p.seat - p.legs()).dot(&plan.facing.along) - plan.back;
    -above(middle).min(above(-middle))
}

/// How much of the legs must be trimmed so that they do not meet the bore, mm.
pub(super) fn legs_trim(facts: &Facts<'_>, p: &Plunger<'_>) -> f64 {
    let room = p.foot.slots.iter().map(|slot| facts.plan.leg_room(p, slot.u));
    let room = room.fold(f64::INFINITY, f64::min);
    if p.legs() < SHORT_LEGS {
        return 0.0;
    }
    (p.legs() - room).max(0.0)
}

/// Area of the bore behind the flat back, mm2.
fn free_below(facts: &Facts<'_>) -> f64 {
    let r = 0.5 * facts.fit.bore;
    let v = (facts.plan.back / r).clamp(-1.0, 1.0);
    // Segment of a circle: r^2 (pi - a + sin a cos a), a from the facing to the back's edge.
    let a = v.acos();
    r * r * (PI - a + a.sin() * a.cos())
}
