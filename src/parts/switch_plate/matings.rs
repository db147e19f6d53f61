//! What a plate states for the checker.

use super::super::PartContext;
use super::super::declared::{Declared, Mating, Screw, Term};
use super::super::mating::in_bore;
use super::plan::Plan;
use super::plunger::Plunger;
use super::report::Facts;
use crate::measure::Vec3;

/// The plate's matings and screws, and which way up it is printed.
pub(super) fn declared(context: &PartContext<'_>, facts: &Facts<'_>) -> Declared {
    let plan = facts.plan;
    let facing = plan.facing.along;
    let middle = 0.5 * (plan.low + plan.high);
    let side = plan.facing.left * plan.radius;
    let at = Vec3::new(side.x, side.y, middle);
    let mut matings = in_bore(context, plan.values, facts.fit, at);
    for p in &plan.plungers {
        matings.extend(button(plan, p));
        matings.extend(pocket(context, plan, p));
    }
    let screws = screws(plan);
    if let (Some(screw), Some(flanges)) = (screws.first(), &plan.flanges) {
        matings.push(
            Mating::new("screw in its hole", screw.at, plan.values.path_of("screw_holes"))
                .term(Term::printed(
                    context.printer,
                    "hole, printed",
                    flanges.hole.hole - context.printer.number("hole_shrink"),
                ))
                .term(Term::even("screw's thread", -screw.thread, 0.0)),
        );
    }
    let up = (plan.values.choice("print_on") == "back").then(|| Vec3::new(facing.x, facing.y, 0.0));
    Declared { matings, screws, up, ..Declared::default() }
}

/// The gap at rest, and the travel left after the switch has closed.
fn button(plan: &Plan<'_>, p: &Plunger<'_>) -> [Mating; 2] {
    let c = &p.chain;
    let top = p.axes.point(0.0, p.stem_top());
    let at = Vec3::new(top.x, top.y, p.z);
    let gap = |sign: f64, mating: Mating| {
        let mut mating = mating
            .term(
                Term::even("plunger's end", sign * c.tip_mm, c.tip_tol_mm)
                    .by(p.values.path_of("tip_tolerance")),
            )
            .term(Term::even("play in the bore", 0.0, plan.play))
            .term(
                Term::even("floor, printed", -sign * c.seat_mm, c.seat_tol_mm)
                    .by(plan.values.path_of("seat_tolerance")),
            )
            .term(
                Term::even("switch's height", -sign * c.switch_mm, c.switch_tol_mm)
                    .by(p.switch.path_of("height_tolerance")),
            );
        if c.plate_mm > 0.0 {
            mating = mating.term(Term::even("pad", -sign * c.plate_mm, c.plate_tol_mm));
        }
        mating
    };
    let field = p.values.path_of("gap");
    let rest = format!("{}: gap to the switch at rest", p.name());
    let left = format!("{}: travel left when the switch closes", p.name());
    [
        gap(1.0, Mating::new(rest, at, field.clone())),
        gap(-1.0, Mating::new(left, at, field))
            .term(
                Term::even("plunger's travel", c.travel_mm, c.travel_tol_mm)
                    .by(p.values.path_of("travel_tolerance")),
            )
            .term(
                Term::even("switch's stroke", -c.stroke_mm, c.stroke_tol_mm)
                    .by(p.switch.path_of("stroke_tolerance")),
            ),
    ]
}

/// The switch's body in its pocket, both ways.
fn pocket(context: &PartContext<'_>, plan: &Plan<'_>, p: &Plunger<'_>) -> [Mating; 2] {
    let floor = p.axes.point(0.0, p.seat);
    let at = Vec3::new(floor.x, floor.y, p.z);
    let tolerance = p.switch.number("body_tolerance");
    let pocket = &p.foot.pocket;
    let turned = p.values.flag("turned");
    let one = |way: &str, key: &str, room: (f64, f64)| {
        let body = p.switch.number(key);
        let what = format!("{}: switch in its pocket, {way}", p.name());
        Mating::new(what, at, plan.values.path_of("clearance"))
            .term(Term::printed(context.printer, "pocket, printed", room.1 - room.0))
            .term(
                Term::even("switch's body", -body, tolerance)
                    .by(p.switch.path_of("body_tolerance")),
            )
    };
    let (across, along) =
        if turned { ("body_length", "body_width") } else { ("body_width", "body_length") };
    [one("across", across, pocket.u), one("along", along, pocket.z)]
}

/// The screws, at the middle of what their heads clamp.
fn screws(plan: &Plan<'_>) -> Vec<Screw> {
    let Some(flanges) = &plan.flanges else { return Vec::new() };
    let height = plan.back + 0.5 * flanges.grip;
    let rows = flanges.offsets.iter().zip(flanges.z);
    let places = rows.flat_map(|(offsets, z)| offsets.iter().map(move |&u| (u, z)));
    places
        .enumerate()
        .map(|(i, (u, z))| {
            let p = plan.facing.point(u, height);
            let along = plan.facing.along;
            Screw {
                what: format!("screw {}", i + 1),
                at: Vec3::new(p.x, p.y, z),
                axis: Vec3::new(along.x, along.y, 0.0),
                thread: flanges.hole.thread,
                hole: flanges.hole.hole,
                field: plan.values.path_of("screw"),
            }
        })
        .collect()
}
