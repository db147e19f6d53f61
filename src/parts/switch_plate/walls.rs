//! What is left of the plate: walls, floors, ledges and the arcs that guide it,
//! measured on the sections.

use super::super::build::Slab;
use super::super::fixing::arcs_on_bore;
use super::super::{PartContext, Refusal};
use super::level;
use super::plan::Plan;
use super::plunger::Plunger;
use crate::measure::{Vec2, number};
use crate::section::{Region, Seg};

/// Least arc on each side that guides a plate, mm. Common practice, no source.
pub(super) const LEAST_ARC: f64 = 2.0;
/// Least part of the plate's length between its first and its last guide.
/// Common practice, no source.
pub(super) const GUIDED: f64 = 0.5;
/// A ledge that is left to less than this part of its height on a side holds
/// nothing there. Common practice, no source.
const LEDGE_LEFT: f64 = 0.6;
/// Points up a wall at which it is measured, as parts of its height.
const HEIGHTS: [f64; 5] = [0.02, 0.25, 0.5, 0.75, 0.98];
/// How far beside a wall it is measured, mm: far above float noise, far below
/// the step of features.
const BESIDE: f64 = 1e-3;

/// What is left around one switch, mm. Infinite where nothing was met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Walls {
    /// Thinnest pocket wall to the left and right, seen from the front.
    pub sides: [f64; 2],
    /// Whether that wall ends at the bore, and not at another pocket.
    pub outside: [bool; 2],
    /// Thinnest floor.
    pub floor: f64,
    /// Whether another cut than back and channels makes it so thin.
    pub undercut: bool,
    /// Height of the ledge that is left: left, right, cap's end, front.
    pub ledges: [f64; 4],
}

/// Measures around all plungers, in their order.
pub(super) fn measure(plan: &Plan<'_>, slabs: &[Slab]) -> Vec<Walls> {
    (0..plan.plungers.len()).map(|i| around(plan, slabs, i)).collect()
}

fn around(plan: &Plan<'_>, slabs: &[Slab], i: usize) -> Walls {
    let p = &plan.plungers[i];
    let (low, high) = plan.pocket(i);
    let mut walls = Walls {
        sides: [f64::INFINITY; 2],
        outside: [true; 2],
        floor: f64::INFINITY,
        undercut: false,
        ledges: [0.0; 4],
    };
    for slab in slabs.iter().filter(|s| s.bottom < high - BESIDE && s.top > low + BESIDE) {
        let z = 0.5 * (slab.bottom + slab.top) - p.z;
        let here = |r: &&super::plunger::Rect| r.z.0 < z && z < r.z.1;
        let rects = || p.foot.rooms.iter().chain([&p.foot.pocket]).filter(here);
        let half = rects().map(|r| r.u.1).fold(0.0, f64::max);
        if half == 0.0 {
            continue;
        }
        for (k, side) in [(0, 1.0), (1, -1.0)] {
            for part in HEIGHTS {
                let from = p.axes.point(side * (half + BESIDE), p.seat + part * plan.ledge);
                let (thick, met) = through(&slab.section, from, p.axes.left * side);
                if thick < walls.sides[k] {
                    walls.sides[k] = thick;
                    walls.outside[k] = (met.norm() - plan.radius).abs() < BESIDE;
                }
            }
            walls.ledges[k] =
                walls.ledges[k].max(standing(plan, p, &slab.section, side * (half + BESIDE)));
        }
        // A slot that leans undercuts the floor's edge beside it, which is a
        // corner and no thin floor.
        let lean = p.axes.along.dot(&plan.facing.along).clamp(-1.0, 1.0).acos();
        let corner = 1.1 * plan.wall_least * lean.tan() + BESIDE;
        let slots: Vec<(f64, f64)> = p.foot.slots.iter().filter(here).map(|r| r.u).collect();
        for part in [-0.98, -0.7, -0.35, 0.0, 0.35, 0.7, 0.98] {
            // Half a step beside what is cut, never along it.
            let u = level(part * p.foot.half().0) + 5.0 * BESIDE;
            if slots.iter().any(|s| u > s.0 - corner && u < s.1 + corner) {
                continue;
            }
            let from = p.axes.point(u, p.seat - BESIDE);
            if slab.section.contains(from) {
                let (thick, met) = through(&slab.section, from, -p.axes.along);
                if thick < walls.floor {
                    walls.floor = thick;
                    let below = plan.back + plan.channel_depth + plan.nudge + BESIDE;
                    walls.undercut =
                        met.dot(&plan.facing.along) > below && met.norm() < plan.radius - BESIDE;
                }
            }
        }
    }
    let end = 0.25 * plan.wall_least;
    for (k, z) in [(2, low - end), (3, high + end)] {
        let Some(slab) = slabs.iter().find(|s| s.bottom < z && z < s.top) else { continue };
        for part in [-0.5, 0.0, 0.5] {
            let u = part * p.foot.pocket.u.1;
            walls.ledges[k] = walls.ledges[k].max(standing(plan, p, &slab.section, u));
        }
    }
    walls
}

/// Height up to which material stands without a break above the floor, mm.
fn standing(plan: &Plan<'_>, p: &Plunger<'_>, section: &Region, u: f64) -> f64 {
    let from = p.axes.point(u, p.seat + BESIDE);
    through(section, from, p.axes.along).0.min(plan.ledge)
}

/// Refuses walls, floors and ledges that do not hold.
pub(super) fn check(
    context: &PartContext<'_>,
    plan: &Plan<'_>,
    all: &[Walls],
) -> Result<(), Refusal> {
    let least = context.printer.number("wall_supported");
    for (p, walls) in plan.plungers.iter().zip(all) {
        let name = p.name();
        if walls.floor < least - BESIDE {
            let what = format!(
                "the floor under the switch of {name} is only {:.2} mm thick somewhere; the \
                 printer needs {}",
                walls.floor,
                number(least)
            );
            let more = least - walls.floor;
            let refusal = Refusal::new(what);
            if walls.undercut {
                return Err(spared(plan, p, refusal.at(p.values, "z")));
            }
            return Err(match plan.thickness {
                Some(t) => refusal
                    .at(plan.values, "thickness")
                    .hint(format!("thickness = {:.1} would do", t + 1.5 * more + 0.1)),
                None => refusal
                    .at(plan.values, "back")
                    .hint(format!("back = {:.1} would do", plan.back - 1.5 * more - 0.1)),
            });
        }
        let sides = ["left", "right", "cap's", "front"];
        for (side, left) in sides.iter().zip(walls.ledges) {
            if left >= LEDGE_LEFT * plan.ledge {
                continue;
            }
            let what = format!(
                "the ledge of {name}'s pocket is only {left:.2} of {:.2} mm high on its {side} \
                 side: what is cut for another plunger takes the rest",
                plan.ledge
            );
            return Err(spared(plan, p, Refusal::new(what).at(p.values, "z")));
        }
        for (side, thick) in ["left", "right"].iter().zip(walls.sides) {
            if thick < least - BESIDE {
                let what = format!(
                    "the {side} wall of {name}'s pocket is only {thick:.2} mm thick; the printer \
                     needs {}",
                    number(least)
                );
                return Err(spared(plan, p, Refusal::new(what).at(p.values, "switch")));
            }
        }
    }
    Ok(())
}

/// What would cut less of a pocket's walls.
fn spared(plan: &Plan<'_>, p: &Plunger<'_>, mut refusal: Refusal) -> Refusal {
    if plan.across {
        refusal = refusal.hint("facet = \"trough\" cuts only as wide as each pocket and its walls");
    }
    if plan.lanes {
        refusal = refusal.hint("plungers = \"out\" cuts no lanes for them");
    }
    let needed = neighbour_move(plan, p);
    if needed > 0.0 {
        refusal = refusal.hint(format!(
            "{needed:.2} mm more between it and the next plunger along the handle frees both"
        ));
    }
    refusal
}

/// How far the nearest other plunger must move so that the zones of both lie
/// clear of each other, mm.
fn neighbour_move(plan: &Plan<'_>, p: &Plunger<'_>) -> f64 {
    let index = |q: &Plunger<'_>| plan.plungers.iter().position(|r| r.number == q.number);
    let own = plan.zone(index(p).expect("it is one of the plan's"));
    let others = plan.plungers.iter().enumerate().filter(|(_, q)| q.number != p.number);
    let overlap = others.map(|(j, _)| {
        let other = plan.zone(j);
        (own.1 - other.0).min(other.1 - own.0)
    });
    overlap.fold(0.0, f64::max)
}

/// The arcs on the bore that guide the plate.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Guides {
    /// Shortest arc to the left and right of the way the plate faces, mm.
    pub least: [f64; 2],
    /// Longest.
    pub most: [f64; 2],
    /// From the first to the last height with enough arc on both sides, mm.
    pub span: f64,
    /// Area of each flank, mm2.
    pub area: [f64; 2],
    /// Area of the flat back, mm2.
    pub back: f64,
}

/// Measures the arcs of all slabs.
pub(super) fn guides(plan: &Plan<'_>, slabs: &[Slab]) -> Guides {
    let mut out =
        Guides { least: [f64::INFINITY; 2], most: [0.0; 2], span: 0.0, area: [0.0; 2], back: 0.0 };
    let mut guided = (f64::INFINITY, f64::NEG_INFINITY);
    for slab in slabs {
        let arcs = arcs_on_bore(&slab.section, plan.radius, &plan.facing);
        let height = slab.top - slab.bottom;
        for ((k, arc), area) in arcs.into_iter().enumerate().zip(&mut out.area) {
            out.least[k] = out.least[k].min(arc);
            out.most[k] = out.most[k].max(arc);
            *area += arc * height;
        }
        if arcs.iter().all(|&arc| arc >= LEAST_ARC) {
            guided = (guided.0.min(slab.bottom), guided.1.max(slab.top));
        }
        let on_back = |s: &&Seg| {
            let off = |p: Vec2| (p.dot(&plan.facing.along) - plan.back).abs();
            s.arc.is_none() && off(s.a) < BESIDE && off(s.b) < BESIDE
        };
        let width: f64 =
            slab.section.loops().iter().flatten().filter(on_back).map(Seg::length).sum();
        out.back += width * height;
    }
    out.span = (guided.1 - guided.0).max(0.0);
    out
}

impl Guides {
    /// Refuses a plate that nothing guides.
    pub(super) fn check(&self, plan: &Plan<'_>) -> Result<(), Refusal> {
        if self.span > 0.0 {
            return Ok(());
        }
        let what = format!(
            "the facets leave arcs of at most {:.2} mm on the left and {:.2} mm on the right; \
             {LEAST_ARC} mm on both sides are needed to guide the plate in its bore",
            self.most[0], self.most[1]
        );
        let mut refusal = Refusal::new(what);
        if plan.across {
            refusal = refusal.hint("facet = \"trough\" keeps the arcs beside the pockets");
        }
        if plan.ends[0] + plan.ends[1] < 1.0 {
            refusal = refusal.hint("ends = 4 leaves full lands at both ends");
        }
        let lower = plan.back - (LEAST_ARC - self.most[0].min(self.most[1])) - 0.5;
        if lower > -plan.radius + 1.0 {
            refusal = refusal.hint(format!("back = {lower:.1} makes the plate deeper"));
        }
        Err(refusal.at(plan.values, "facet"))
    }
}

/// Thickness of the material from a point inside it along a direction, and
/// where it ends; zero outside.
pub(super) fn through(section: &Region, from: Vec2, direction: Vec2) -> (f64, Vec2) {
    if !section.contains(from) {
        return (0.0, from);
    }
    let pieces = section.loops().iter().flatten();
    let t = pieces.flat_map(|s| crossings(s, from, direction)).fold(f64::INFINITY, f64::min);
    (t, from + direction * t)
}

/// Distances along a ray at which it meets a piece.
pub(super) fn crossings(s: &Seg, from: Vec2, direction: Vec2) -> Vec<f64> {
    let cross = |a: Vec2, b: Vec2| a.x * b.y - a.y * b.x;
    match s.arc {
        None => {
            let d = s.b - s.a;
            let den = cross(direction, d);
            if den.abs() <= f64::EPSILON * d.norm() {
                return Vec::new();
            }
            let t = cross(s.a - from, d) / den;
            let along = cross(s.a - from, direction) / den;
            if t > 0.0 && (0.0..=1.0).contains(&along) { vec![t] } else { Vec::new() }
        }
        Some(arc) => {
            let to = from - arc.centre;
            let half = to.dot(&direction);
            let root = half * half - (to.norm_squared() - arc.radius * arc.radius);
            if root < 0.0 {
                return Vec::new();
            }
            let root = root.sqrt();
            let on_arc = |t: &f64| {
                let p = from + direction * *t;
                let turn = if arc.ccw { 1.0 } else { -1.0 };
                // Pieces are half a turn at most: on the outer side of the chord.
                *t > 0.0 && turn * cross(s.b - s.a, p - s.a) <= 0.0
            };
            [-half - root, -half + root].into_iter().filter(on_arc).collect()
        }
    }
}
