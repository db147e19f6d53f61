//! What the report says about a plate.

use std::f64::consts::PI;

use super::super::build::Ends;
use super::super::fit::BoreFit;
use super::super::{Computed, Message, PartContext, Severity};
use super::neighbours::apart;
use super::passage::Passage;
use super::plan::Plan;
use super::plunger::{Plunger, case};
use super::section::channels;
use super::walls::{GUIDED, Guides, LEAST_ARC, Walls};
use crate::measure::{Unit, number};
use crate::trade::plunger::Basis;

/// Everything that was found out about a plate.
pub(super) struct Facts<'a> {
    pub plan: &'a Plan<'a>,
    pub fit: &'a BoreFit,
    pub walls: &'a [Walls],
    pub guides: &'a Guides,
    pub passage: &'a Passage,
    /// Chamfers asked for and made.
    pub asked: Ends,
    pub made: Ends,
}

/// A pressed switch may take this much more than its own stroke, mm, before a
/// word is said: tact switches bottom out softly. Common practice, no source.
const SPARE_STROKE: f64 = 0.3;

/// The rows and messages of a plate.
pub(super) fn report(
    context: &PartContext<'_>,
    facts: &Facts<'_>,
) -> (Vec<Computed>, Vec<Message>) {
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
        rows.push(mm("flange_length", "length of a flange", flanges.length));
        rows.push(mm(
            "flange_height",
            "height of a flange above the back",
            flanges.top - plan.back,
        ));
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
    (rows, messages(context, facts))
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
}

/// How far legs stand out of the back; negative when they end in the slots.
fn legs_out(facts: &Facts<'_>, p: &Plunger<'_>) -> f64 {
    if p.switch.choice("legs") != "through" {
        return f64::INFINITY;
    }
    let plan = facts.plan;
    let slot = &p.foot.slots[0];
    let middle = 0.5 * (slot.u.0 + slot.u.1);
    let down = |u: f64| {
        let floor = p.axes.point(u, p.seat).dot(&plan.facing.along) - plan.back;
        floor / p.axes.along.dot(&plan.facing.along)
    };
    let thick = down(middle).min(down(-middle));
    p.switch.number("leg_length") - p.pad - thick
}

/// Area of the bore behind the flat back, mm2.
fn free_below(facts: &Facts<'_>) -> f64 {
    let r = 0.5 * facts.fit.bore;
    let v = (facts.plan.back / r).clamp(-1.0, 1.0);
    // Segment of a circle: r^2 (pi - a + sin a cos a), a from the facing to the back's edge.
    let a = v.acos();
    r * r * (PI - a + a.sin() * a.cos())
}

fn messages(context: &PartContext<'_>, facts: &Facts<'_>) -> Vec<Message> {
    let plan = facts.plan;
    let mut out = Vec::new();
    let mut say = |severity, text: String, hint: Option<String>| {
        out.push(Message { severity, text, hint });
    };
    for (p, walls) in plan.plungers.iter().zip(facts.walls) {
        tolerance_messages(p, &mut say);
        press_messages(p, &mut say);
        let thin = walls.sides.iter().copied().fold(f64::INFINITY, f64::min);
        let free = context.printer.number("wall_free");
        if thin < free {
            say(
                Severity::Note,
                format!(
                    "{}: a pocket wall is {thin:.2} mm thick; it is held at both ends, free-standing \
                     ones need {}",
                    p.name(),
                    number(free)
                ),
                None,
            );
        }
        let out = legs_out(facts, p);
        if out.is_finite() && out > 0.2 {
            say(
                Severity::Note,
                format!("{}: its legs stand {out:.1} mm out of the flat back", p.name()),
                Some("trim them after soldering, or leave that much room behind the plate".into()),
            );
        } else if out.is_finite() {
            say(
                Severity::Note,
                format!(
                    "{}: its legs end in the slots, {:.1} mm before the flat back",
                    p.name(),
                    (-out).max(0.0)
                ),
                Some("solder the wires first and thread them through the slots".into()),
            );
        }
    }
    passage_messages(facts, &mut say);
    guide_messages(facts, &mut say);
    fixing_messages(facts, &mut say);
    if !channels(plan).is_empty() && plan.back > 0.0 && plan.channel_depth > 0.6 * plan.half_back()
    {
        say(Severity::Warning, "the wire channels take most of the back".into(), None);
    }
    let ends =
        [("front", facts.asked.high, facts.made.high), ("low", facts.asked.low, facts.made.low)];
    for (end, asked, made) in ends {
        if made < asked - 1e-6 {
            say(
                Severity::Note,
                format!(
                    "the chamfer at the {end} end is {made:.2} instead of {asked:.2} mm: its section has details as small"
                ),
                None,
            );
        }
    }
    out
}

type Say<'a> = dyn FnMut(Severity, String, Option<String>) + 'a;

fn tolerance_messages(p: &Plunger<'_>, say: &mut Say<'_>) {
    let (worst, rss) = (&p.stack.worst, &p.stack.rss);
    say(
        Severity::Note,
        format!(
            "{}: gap at rest {:.2} mm, {:.2} to {:.2} ({}), {:.2} to {:.2} ({}); travel left after \
             closing {:.2} mm, {:.2} and {:.2}",
            p.name(),
            p.stack.gap.nominal_mm,
            worst.gap_low_mm,
            worst.gap_high_mm,
            case(Basis::Worst),
            rss.gap_low_mm,
            rss.gap_high_mm,
            case(Basis::Rss),
            p.stack.left_nominal_mm,
            worst.left_mm,
            rss.left_mm
        ),
        None,
    );
    if !worst.works {
        let text = if worst.gap_low_mm < p.chain.gap_min_mm {
            format!(
                "{}: with all tolerances at once the gap would be {:.2} mm, and {:.2} is asked for",
                p.name(),
                worst.gap_low_mm,
                p.chain.gap_min_mm
            )
        } else {
            format!(
                "{}: with all tolerances at once the travel would end {:.2} mm before the switch \
                 closes",
                p.name(),
                -worst.left_mm
            )
        };
        let hint = "try the button before you glue; a strip of tape under the switch raises it";
        say(Severity::Warning, text, Some(hint.into()));
    }
}

/// What presses the switch beyond its own stroke.
fn press_messages(p: &Plunger<'_>, say: &mut Say<'_>) {
    let over = p.stack.deepest_press_mm - p.chain.stroke_mm;
    if over <= SPARE_STROKE {
        return;
    }
    let spare = p.spread().left_mm;
    say(
        Severity::Warning,
        format!(
            "{}: its travel can go on {over:.2} mm after the switch has closed; then switch and \
             plate take the whole force of the finger",
            p.name()
        ),
        Some(if spare > SPARE_STROKE {
            format!(
                "press it gently; a ring {spare:.2} mm thick that stops the plunger earlier takes \
                 that much of it, and the switch still closes ({})",
                case(p.chain.basis)
            )
        } else {
            "press it gently, or put a soft pad on the plunger".into()
        }),
    );
}

fn passage_messages(facts: &Facts<'_>, say: &mut Say<'_>) {
    let plan = facts.plan;
    let drawn: Vec<String> = plan
        .plungers
        .iter()
        .zip(&facts.passage.drawn)
        .filter(|(_, d)| **d > 0.0)
        .map(|(p, d)| format!("{} by {d:.2} mm", p.name()))
        .collect();
    let out = plan.values.choice("plungers") == "out";
    let text = match (drawn.is_empty(), out) {
        (true, _) => "slides in from the end cap, front end first, with the plungers at rest; do \
                      not press them on the way"
            .to_owned(),
        (false, false) => format!(
            "slides in from the end cap, front end first, once these are drawn out or taken out: \
             {}",
            drawn.join(", ")
        ),
        (false, true) => format!(
            "slides in from the end cap with the plungers out; drawing out is enough for {}",
            drawn.join(", ")
        ),
    };
    say(Severity::Note, text, None);
}

fn guide_messages(facts: &Facts<'_>, say: &mut Say<'_>) {
    let (plan, guides) = (facts.plan, facts.guides);
    let length = plan.high - plan.low;
    if guides.span < GUIDED * length {
        say(
            Severity::Warning,
            format!(
                "only {:.1} of {length:.1} mm lie between the first and the last arc of {LEAST_ARC} \
                 mm on both sides: the plate can tilt in its bore",
                guides.span
            ),
            Some("longer `ends`, or facet = \"trough\", leave more to guide it".into()),
        );
    }
    let force: f64 = plan
        .plungers
        .iter()
        .map(|p| p.switch.number("force") + p.switch.number("force_tolerance"))
        .sum();
    if plan.back > -0.2 * plan.radius {
        say(
            Severity::Note,
            format!(
                "the bore does not hold the plate from behind, its back lies {:.1} mm from the axis: \
                 what is below and the fixing take the press of the switches, {force:.1} N together, \
                 and the finger's",
                plan.back
            ),
            None,
        );
    }
}

fn fixing_messages(facts: &Facts<'_>, say: &mut Say<'_>) {
    let (plan, guides) = (facts.plan, facts.guides);
    match &plan.flanges {
        None => say(
            Severity::Caution,
            format!(
                "glued on its flanks ({:.0} and {:.0} mm2) or its back ({:.0} mm2): glue and \
                 solvents harm skin, eyes and lungs",
                guides.area[0], guides.area[1], guides.back
            ),
            Some(
                "try everything without glue first; air the room, wear gloves, keep glue off the \
                 switches and away from cells"
                    .into(),
            ),
        ),
        Some(flanges) => {
            let places: Vec<String> = flanges
                .offsets
                .iter()
                .zip(flanges.z)
                .flat_map(|(us, z)| us.iter().map(move |u| format!("z {z:.2} beside {u:.2}")))
                .collect();
            say(
                Severity::Note,
                format!(
                    "screwed down with {} screws of {} mm at {} (mm, left of the middle seen from the \
                     front); heads clamp {} mm",
                    places.len(),
                    number(flanges.hole.thread),
                    places.join(", "),
                    number(plan.values.number("grip"))
                ),
                Some(format!(
                    "tap or pilot holes below need {:.1} mm to an edge as well",
                    flanges.hole.edge
                )),
            );
        }
    }
}
