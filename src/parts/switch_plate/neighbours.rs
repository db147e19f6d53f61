//! Walls between the pockets of one plate.

use super::super::{PartContext, Refusal};
use super::plan::{Plan, switches};
use super::plunger::{Footprint, Plunger};
use crate::measure::{Vec2, number, or_list};

/// How far two pockets are apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Apart {
    /// Along the handle, mm; negative where they overlap.
    pub along: f64,
    /// In the section plane, mm; zero where they overlap.
    pub beside: f64,
}

impl Apart {
    /// Thickness of the wall between them, mm; negative where they overlap.
    pub(super) fn wall(&self) -> f64 {
        if self.along > 0.0 { self.along.hypot(self.beside) } else { self.beside }
    }
}

/// How far two pockets are apart.
pub(super) fn apart(plan: &Plan<'_>, i: usize, j: usize) -> Apart {
    let (p, q) = (plan.pocket(i), plan.pocket(j));
    let along = (p.0 - q.1).max(q.0 - p.1);
    let outline = |p: &Plunger<'_>| {
        let half = p.foot.half().0;
        let top = plan.radius.max(p.seat) + 1.0;
        [(-half, p.seat), (-half, top), (half, top), (half, p.seat)]
            .map(|(u, v)| p.axes.point(u, v))
    };
    let beside = distance(&outline(&plan.plungers[i]), &outline(&plan.plungers[j]));
    Apart { along, beside }
}

/// Refuses a wall between two pockets that the printer cannot hold.
pub(super) fn check(context: &PartContext<'_>, plan: &Plan<'_>) -> Result<(), Refusal> {
    let wall = plan.wall_least;
    for j in 1..plan.plungers.len() {
        for i in 0..j {
            let between = apart(plan, i, j);
            if between.wall() < wall - SLACK {
                return Err(refusal(context, plan, i, j, between));
            }
        }
    }
    Ok(())
}

/// Float noise, mm.
const SLACK: f64 = 1e-6;

fn refusal(
    context: &PartContext<'_>,
    plan: &Plan<'_>,
    i: usize,
    j: usize,
    between: Apart,
) -> Refusal {
    let (p, q) = (&plan.plungers[i], &plan.plungers[j]);
    let wall = plan.wall_least;
    // Moved apart, they clear each other beside or, at the latest, end to end.
    let clear = (wall * wall - between.beside * between.beside).max(0.0).sqrt();
    let needed = clear - between.along;
    let state = if between.along > 0.0 {
        format!("leave a wall of {:.2} mm between them", between.wall())
    } else if between.beside > 0.0 {
        format!("lie side by side with {:.2} mm between them", between.beside)
    } else {
        format!("overlap by {:.2} mm along the handle", -between.along)
    };
    let what = format!(
        "the pockets of {} and {} {state}; the printer needs {} mm",
        p.name(),
        q.name(),
        number(wall)
    );
    let mut refusal = Refusal::new(what).at(q.values, "z").hint(format!(
        "move {} by {needed:.2} mm towards the front, to z = {:.2}",
        q.name(),
        q.z + needed
    ));
    let turned = |p: &Plunger<'_>| {
        let turn = !p.values.flag("turned");
        (footprint(context, plan, p.switch, turn).half().1, turn)
    };
    for (one, other) in [(p, q), (q, p)] {
        let (half, turn) = turned(one);
        if half + needed <= one.foot.half().1 {
            refusal = refusal.hint(format!(
                "{}: turned = {turn} makes room beside {}",
                one.name(),
                other.name()
            ));
        }
    }
    let larger = if p.foot.half().1 >= q.foot.half().1 { p } else { q };
    let most = larger.foot.half().1 - needed;
    let turn = larger.values.flag("turned");
    let names = switches(context, |s| footprint(context, plan, s, turn).half().1 <= most);
    if !names.is_empty() {
        refusal = refusal.hint(format!(
            "{}: a switch whose pocket is at most {:.2} mm long would do: {}",
            larger.name(),
            2.0 * most,
            or_list(&names)
        ));
    }
    refusal
}

fn footprint(
    context: &PartContext<'_>,
    plan: &Plan<'_>,
    switch: &crate::measure::Values,
    turned: bool,
) -> Footprint {
    let post = context.printer.number("wall_free");
    Footprint::new(switch, turned, plan.clearance, post, plan.wire, plan.free)
}

/// Distance between two convex outlines; zero where they overlap.
fn distance(p: &[Vec2; 4], q: &[Vec2; 4]) -> f64 {
    if !separated(p, q) && !separated(q, p) {
        return 0.0;
    }
    let from = |corners: &[Vec2; 4], sides: &[Vec2; 4]| {
        let side = |i: usize| (sides[i], sides[(i + 1) % 4]);
        corners
            .iter()
            .flat_map(|&c| (0..4).map(move |i| to_segment(c, side(i))))
            .fold(f64::INFINITY, f64::min)
    };
    from(p, q).min(from(q, p))
}

/// Whether a side of `p` has all of `q` on its far side.
fn separated(p: &[Vec2; 4], q: &[Vec2; 4]) -> bool {
    let centre = (p[0] + p[2]) * 0.5;
    (0..4).any(|i| {
        let d = p[(i + 1) % 4] - p[i];
        let n = Vec2::new(d.y, -d.x);
        let n = if n.dot(&(p[i] - centre)) < 0.0 { -n } else { n };
        q.iter().all(|c| n.dot(&(c - p[i])) >= 0.0)
    })
}

fn to_segment(c: Vec2, (a, b): (Vec2, Vec2)) -> f64 {
    let d = b - a;
    let t = (d.dot(&(c - a)) / d.norm_squared()).clamp(0.0, 1.0);
    (a + d * t - c).norm()
}
