//! The sled's solid: its outside less boxes, some of whose sides slope along z.

use super::super::Refusal;
use super::super::build::{chamfer, solid};
use super::super::module::level;
use super::plan::Plan;
use super::room::{pocket, reach};
use super::spec::{Edge, Hold, Hole, KeepOut, Span, Spec, TIE_EDGE};
use crate::measure::Vec2;
use crate::parts::fixing::Spot;
use crate::section::{Region, snap};
use crate::solid::{CrossBore, RuledSection, Solid, Stack};

/// Beyond every part, mm.
pub(super) const FAR: f64 = 200.0;
/// Heights nearer than this are one, mm.
const SAME: f64 = 0.5e-3;
/// Sides of cuts that would lie this near to the gate's slopes, mm, are moved
/// out to where the slopes end and this much beyond.
const BESIDE: f64 = 0.3;
/// How far windows in the sides reach into the well, mm, so that they open it.
pub(super) const INTO: f64 = 0.5;

/// A rectangle of a section, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rect {
    pub x: Span,
    pub y: Span,
}

impl Rect {
    fn region(&self) -> Region {
        Region::rectangle(Vec2::new(self.x.0, self.y.0), Vec2::new(self.x.1, self.y.1))
    }

    fn between(&self, other: &Rect, share: f64) -> Rect {
        let mix = |a: f64, b: f64| snap(a + (b - a) * share);
        Rect {
            x: (mix(self.x.0, other.x.0), mix(self.x.1, other.x.1)),
            y: (mix(self.y.0, other.y.0), mix(self.y.1, other.y.1)),
        }
    }
}

/// A box that is cut out, or a frustum of one: its section at both ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cut {
    pub z: Span,
    pub low: Rect,
    pub high: Rect,
}

impl Cut {
    fn plain(z: Span, x: Span, y: Span) -> Cut {
        let rect = Rect { x, y };
        Cut { z, low: rect, high: rect }
    }

    fn slopes(&self) -> bool {
        self.low != self.high
    }

    /// Its section at a height within it.
    fn at(&self, z: f64) -> Rect {
        self.low.between(&self.high, (z - self.z.0) / (self.z.1 - self.z.0))
    }

    fn covers(&self, low: f64, high: f64) -> bool {
        self.z.0 <= low + SAME && self.z.1 >= high - SAME
    }
}

/// A stretch of x whose ends stand clear of the slopes beside the gate.
fn clear(plan: &Plan, x: Span) -> Span {
    let Some(slot) = plan.slot() else { return x };
    let out = level(slot + BESIDE);
    let moved =
        |v: f64| if (plan.well - BESIDE..out).contains(&v.abs()) { out * v.signum() } else { v };
    (moved(x.0).min(x.0), moved(x.1).max(x.1))
}

/// A sled's body, with what was made of its chamfer and its slopes.
pub(super) struct Made {
    pub solid: Solid,
    /// The chamfer around the front end, mm.
    pub chamfer: f64,
    /// Low ends of slopes in the floor that were left out, so that it steps.
    pub stepped: Vec<f64>,
}

/// Everything that is cut out of the outside.
pub(super) fn cuts(spec: &Spec, plan: &Plan) -> Vec<Cut> {
    let (along, h) = (&plan.along, &plan.heights);
    let (low, high) = (along.low, along.high);
    let wide = |half: f64| (-half, half);
    let mut out = vec![
        Cut::plain((low, high), wide(FAR), (plan.top, FAR)),
        Cut::plain((along.room.1, high), wide(plan.well), (h.bar, FAR)),
    ];
    for floor in along.floors(h.floor, h.board) {
        let rect = |y: f64| Rect { x: wide(plan.well), y: (y, FAR) };
        out.push(Cut { z: floor.z, low: rect(floor.y.0), high: rect(floor.y.1) });
    }
    if spec.rails() {
        out.push(Cut::plain((low, along.room.1), wide(plan.half), h.room));
    }
    if let (Some(gate), Some(slot)) = (along.gate, plan.slot()) {
        let rect = |half: f64| Rect { x: wide(half), y: (h.floor, FAR) };
        let straight = level(gate.gate.0 + gate.held);
        let (narrow, full) = (rect(plan.well), rect(slot));
        out.push(Cut { z: (gate.gate.0, straight), low: narrow, high: full });
        out.push(Cut::plain((straight, gate.slot), full.x, full.y));
    }
    if let Some(tongue) = plan.tongue {
        let end = (low, along.body);
        out.push(Cut::plain(end, wide(FAR), (tongue.top, FAR)));
        out.push(Cut::plain(end, wide(FAR), (-FAR, tongue.bottom)));
        let (lip, place) = (level(low + TIE_EDGE), level(low + TIE_EDGE + tongue.place));
        // The lip slopes from its whole width to where the tie lies.
        let side = |sign: f64, half: f64| {
            let x = if sign > 0.0 { (half, FAR) } else { (-FAR, -half) };
            Rect { x, y: (-FAR, FAR) }
        };
        for sign in [-1.0, 1.0] {
            let (outer, inner) = (side(sign, tongue.half + TIE_EDGE), side(sign, tongue.half));
            out.push(Cut { z: (low, lip), low: outer, high: inner });
            out.push(Cut::plain((lip, place), inner.x, inner.y));
            out.push(Cut::plain((place, along.body), outer.x, outer.y));
        }
    }
    out.extend(keep_outs(spec, plan).into_iter().flatten());
    out.extend(ports(spec, plan));
    out.iter_mut().for_each(|cut| cut.z = (cut.z.0.max(low), cut.z.1.min(high)));
    out.retain(|cut| cut.z.1 - cut.z.0 > SAME);
    out
}

/// Room for what stands off the board, in the order of the job. In rails it
/// slides in along the bore with the board; onto sills it comes down with it.
pub(super) fn keep_outs(spec: &Spec, plan: &Plan) -> Vec<Option<Cut>> {
    let (along, h, c) = (&plan.along, &plan.heights, spec.clearance);
    let play = c + 0.5 * spec.tolerance;
    let one = |k: &KeepOut| {
        let x = clear(plan, (level(k.x.0 - play), level(k.x.1 + play)));
        let to = level(along.board + k.z.1 + play).min(along.room.1);
        let from = level(along.board + k.z.0 - play).max(along.low);
        let from = if spec.rails() { along.low } else { from };
        if to - from < SAME {
            return None;
        }
        let y = if k.up {
            let roof = level(reach(k, h.faces).1 + c);
            let closed = spec.rails() && roof + spec.wall <= plan.top;
            (h.room.0, if closed { roof } else { FAR })
        } else {
            (pocket(spec, k, h), if spec.rails() { h.room.1 } else { FAR })
        };
        Some(Cut::plain((from, to), x, y))
    };
    spec.keep_outs.iter().map(one).collect()
}

/// The windows of the ports, in their order.
pub(super) fn ports(spec: &Spec, plan: &Plan) -> Vec<Cut> {
    let along = &plan.along;
    spec.ports
        .iter()
        .map(|port| {
            let half = port.half_width();
            let (low, high) = plan.opening(spec, port);
            let y = (low, high.unwrap_or(FAR));
            let middle = if matches!(port.edge, Edge::Cap | Edge::Front) {
                port.at
            } else {
                along.board + port.at
            };
            let wide = (level(middle - half), level(middle + half));
            match port.edge {
                Edge::Cap => Cut::plain((along.low, level(along.board)), clear(plan, wide), y),
                Edge::Front => Cut::plain((along.room.1, along.high), wide, y),
                Edge::PlusX => Cut::plain(wide, (level(plan.well - INTO), FAR), y),
                Edge::MinusX => Cut::plain(wide, (-FAR, level(INTO - plan.well)), y),
            }
        })
        .collect()
}

/// Where a hole's middle lies: x and z.
pub(super) fn middle(plan: &Plan, hole: &Hole) -> (f64, f64) {
    (snap(hole.x), snap(plan.along.board + hole.z))
}

/// The pilots of the screws.
fn bores(spec: &Spec, plan: &Plan) -> Vec<CrossBore> {
    let Hold::Posts { pilot: Some(pilot) } = &spec.hold else { return Vec::new() };
    spec.holes
        .iter()
        .map(|hole| {
            // Downwards, +x is to the left.
            let (offset, z) = middle(plan, hole);
            pilot.bore(&Spot {
                direction: Vec2::new(0.0, -1.0),
                z,
                offset,
                start: -plan.heights.board - INTO,
            })
        })
        .collect()
}

/// The section at a height, of what is cut between two others around it.
fn section(whole: &Region, cuts: &[Cut], (low, high): Span, z: f64) -> Region {
    let here = cuts.iter().filter(|cut| cut.covers(low, high));
    here.fold(whole.clone(), |section, cut| section.difference(&cut.at(z).region()))
}

/// Heights at which anything changes, in order.
fn levels(cuts: &[Cut], ends: Span) -> Vec<f64> {
    let mut levels: Vec<f64> = cuts.iter().flat_map(|cut| [cut.z.0, cut.z.1]).collect();
    levels.extend([ends.0, ends.1]);
    levels.sort_by(f64::total_cmp);
    levels.dedup_by(|a, b| (*a - *b).abs() < SAME);
    levels
}

/// Makes steps of the slopes behind sills that something else cuts into: there
/// a step holds as well. Gives their low ends.
fn steps(whole: &Region, cuts: &mut [Cut], levels: &[f64], from: f64) -> Vec<f64> {
    let mut stepped = Vec::new();
    for i in 0..cuts.len() {
        let slope = cuts[i];
        if !slope.slopes() || slope.z.0 < from {
            continue;
        }
        let inside = levels.windows(2).filter(|l| slope.covers(l[0], l[1]));
        let holds = |l: &[f64]| {
            let at = |z: f64| section(whole, cuts, (l[0], l[1]), z);
            RuledSection::between(&at(l[0]), &at(l[1])).is_ok()
        };
        if !inside.into_iter().all(holds) {
            cuts[i].low = slope.high;
            stepped.push(slope.z.0);
        }
    }
    stepped
}

/// The solid.
///
/// # Errors
/// Sections that make none: see [`solid`].
pub(super) fn sled(spec: &Spec, plan: &Plan, lead_in: f64) -> Result<Made, Refusal> {
    let mut cuts = cuts(spec, plan);
    let whole = spec.outside.region();
    let levels = levels(&cuts, (plan.along.low, plan.along.high));
    let stepped = steps(&whole, &mut cuts, &levels, plan.along.room.0);
    let mut stack = Stack::default();
    let mut made = 0.0;
    let last = levels.len() - 2;
    for (i, pair) in levels.windows(2).enumerate() {
        let (low, high) = (pair[0], pair[1]);
        let at = |z: f64| section(&whole, &cuts, (low, high), z);
        if cuts.iter().any(|cut| cut.slopes() && cut.covers(low, high)) {
            let ruled = RuledSection::between(&at(low), &at(high)).map_err(|error| {
                let what =
                    format!("a slope between {low:.2} and {high:.2} mm cannot be made: {error}");
                Refusal::new(what)
                    .hint("move what is cut there by a millimetre, or take lock = \"none\"")
            })?;
            stack.ruled(low, high, ruled);
            continue;
        }
        let section = at(low);
        let room = (high - low) / 3.0;
        match chamfer(&section, lead_in.min(room), false).filter(|_| i == last) {
            None => {
                stack.prism(low, high, &section);
            }
            Some((size, ruled)) => {
                stack.prism(low, high - size, &section);
                stack.ruled(high - size, high, ruled);
                made = size;
            }
        }
    }
    let solid = solid(&stack, &bores(spec, plan), "the sled")?;
    Ok(Made { solid, chamfer: made, stepped })
}
