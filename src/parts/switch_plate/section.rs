//! The section of the plate at every height.

use super::super::build::Slab;
use super::super::fixing::Axes;
use super::super::trim::{pieces, trimmed};
use super::level;
use super::plan::Plan;
use super::plunger::Plunger;
use crate::measure::Vec2;
use crate::parallel::each;
use crate::section::{Region, Seg, snap};

/// A lane shallower than this is not cut, mm: it would be a scratch.
const SHALLOW: f64 = 0.05;

/// Room beyond the plate that a cut reaches, mm.
const BEYOND: f64 = 5.0;

/// How much a channel is wider than a slot on each side, mm.
const MARGIN: f64 = 0.1;

/// Something that is cut away between two heights.
struct Cut {
    low: f64,
    high: f64,
    region: Region,
}

/// A wire channel in the flat back, between two distances to the left of the
/// way the plate faces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Channel {
    pub low: f64,
    pub high: f64,
    pub u: (f64, f64),
}

/// The slabs of the plate, from its low to its high end.
pub(super) fn slabs(plan: &Plan<'_>) -> Vec<Slab> {
    let cuts = cuts(plan);
    let count = plan.plungers.len();
    let mut heights = vec![plan.low, plan.high];
    heights.extend(cuts.iter().flat_map(|c| [c.low, c.high]));
    for i in 0..count {
        let ((a, b), (c, d)) = (plan.pocket(i), plan.zone(i));
        heights.extend([a, b, c, d]);
    }
    let mut heights: Vec<f64> = heights.into_iter().map(level).collect();
    heights.retain(|z| (plan.low..=plan.high).contains(z));
    heights.sort_by(f64::total_cmp);
    heights.dedup();
    let base = base(plan);
    let facets: Vec<Region> = (0..count).map(|i| facet(plan, i)).collect();
    let mut out: Vec<Slab> = Vec::new();
    for pair in heights.windows(2) {
        let (bottom, top) = (pair[0], pair[1]);
        let z = 0.5 * (bottom + top);
        let mut section = base.clone();
        if let Some(cut) = facets_at(plan, &facets, z) {
            section = section.difference(&cut);
        }
        for cut in cuts.iter().filter(|c| c.low < z && z < c.high) {
            section = section.difference(&cut.region);
        }
        match out.last_mut() {
            Some(last) if last.section == section => last.top = snap(top),
            _ => out.push(Slab { bottom: snap(bottom), top: snap(top), section }),
        }
    }
    out
}

fn reach(plan: &Plan<'_>) -> f64 {
    plan.radius + BEYOND
}

/// The bore's circle above the flat back, its long edges broken.
fn base(plan: &Plan<'_>) -> Region {
    let (far, back) = (reach(plan), plan.back);
    let above = plan.facing.quad((-far, far), (back, far));
    let mut base = Region::disc(Vec2::zeros(), plan.radius).intersection(&above);
    if plan.edge > 0.0 {
        let edge = level((plan.edge + 0.5 * plan.nudge).min(0.25 * plan.half_back()));
        // From `edge` beside the corner on the back to `edge` above it on the
        // arc: a cut at 45 degrees would take more of a flank that leans out.
        let on_back = (level(plan.half_back() - edge), 0.0);
        let on_arc = (plan.half_chord(back + edge), edge);
        let below = (2.0 * on_back.0 - on_arc.0, -edge);
        for side in [1.0, -1.0] {
            let p = |(u, v): (f64, f64)| plan.facing.point(side * u, back + v);
            let mut corners = [p(below), p((far, -edge)), p((far, edge)), p(on_arc)];
            if side > 0.0 {
                corners.reverse();
            }
            base = base.difference(&outline(&corners));
        }
    }
    base
}

fn outline(p: &[Vec2]) -> Region {
    let sides: Vec<Seg> = (0..p.len()).map(|i| Seg::line(p[i], p[(i + 1) % p.len()])).collect();
    Region::from_outlines(&[sides]).expect("sides between points near the axis close")
}

/// What lies above the ledge of a plunger.
fn facet(plan: &Plan<'_>, i: usize) -> Region {
    let p = &plan.plungers[i];
    let far = 2.0 * reach(plan);
    let half = if plan.across {
        far
    } else {
        level(p.foot.half().0 + plan.wall + plan.nudge).max(plan.column(i))
    };
    p.axes.quad((-half, half), (plan.ledge_top(i), far))
}

/// What the facets take away at height `z`.
///
/// In the height of a pocket its own facet is cut; between two pockets whose
/// end walls meet, only what both facets cut, so that each keeps its ledge;
/// in the free length between pockets, what either of the two next ones cuts.
fn facets_at(plan: &Plan<'_>, facets: &[Region], z: f64) -> Option<Region> {
    let within = |(low, high): (f64, f64)| low < z && z < high;
    let all = || 0..facets.len();
    let pockets: Vec<usize> = all().filter(|&i| within(plan.pocket(i))).collect();
    if !pockets.is_empty() {
        return joined(facets, &pockets, Region::union);
    }
    let walls: Vec<usize> = all().filter(|&i| within(plan.zone(i))).collect();
    if !walls.is_empty() {
        return joined(facets, &walls, Region::intersection);
    }
    let before = all()
        .filter(|&i| plan.zone(i).1 < z)
        .max_by(|&i, &j| plan.zone(i).1.total_cmp(&plan.zone(j).1))?;
    let after = all()
        .filter(|&i| plan.zone(i).0 > z)
        .min_by(|&i, &j| plan.zone(i).0.total_cmp(&plan.zone(j).0))?;
    joined(facets, &[before, after], Region::union)
}

fn joined(
    facets: &[Region],
    which: &[usize],
    join: fn(&Region, &Region) -> Region,
) -> Option<Region> {
    let mut regions = which.iter().map(|&i| facets[i].clone());
    let first = regions.next()?;
    Some(regions.fold(first, |a, b| join(&a, &b)))
}

/// Everything but the facets.
fn cuts(plan: &Plan<'_>) -> Vec<Cut> {
    let far = 2.0 * reach(plan);
    let mut out = Vec::new();
    for (i, p) in plan.plungers.iter().enumerate() {
        let mut cut = |z: (f64, f64), u: (f64, f64), v: (f64, f64)| {
            let region = p.axes.quad(u, v);
            out.push(Cut { low: level(p.z + z.0), high: level(p.z + z.1), region });
        };
        for rect in p.foot.rooms.iter().chain([&p.foot.pocket]) {
            cut(rect.z, rect.u, (p.seat, far));
        }
        for rect in &p.foot.slots {
            let (low, high) = (level(p.z + rect.z.0), level(p.z + rect.z.1));
            out.push(Cut { low, high, region: slot(plan, p, rect.u) });
        }
        let mut cut = |z: (f64, f64), u: (f64, f64), v: (f64, f64)| {
            let region = p.axes.quad(u, v);
            out.push(Cut { low: level(p.z + z.0), high: level(p.z + z.1), region });
        };
        let column = plan.column(i);
        cut((-column, column), (-column, column), (plan.ledge_top(i), far));
        let floor = lane_floor(plan, i);
        if let Some(floor) = floor.filter(|_| plan.lanes) {
            cut((column, plan.high - p.z), (-column, column), (floor, far));
        }
    }
    if let Some(flanges) = &plan.flanges {
        let wide = (-far, far);
        let region = plan.facing.quad(wide, (flanges.top, far));
        let (a, b) = (plan.low + flanges.length, plan.high - flanges.length);
        out.push(Cut { low: plan.low, high: a, region: region.clone() });
        out.push(Cut { low: b, high: plan.high, region });
    }
    if let Some(top) = plan.land_top {
        let zones = || (0..plan.plungers.len()).map(|i| plan.zone(i));
        let first = zones().map(|z| z.0).fold(plan.high, f64::min);
        let last = zones().map(|z| z.1).fold(plan.low, f64::max);
        let region = plan.facing.quad((-far, far), (top, far));
        out.push(Cut { low: plan.low, high: first, region: region.clone() });
        out.push(Cut { low: last, high: plan.high, region });
    }
    for channel in channels(plan) {
        let v = (plan.back - BEYOND, plan.back + plan.channel_depth);
        let region = plan.facing.quad(channel.u, v);
        out.push(Cut { low: channel.low, high: channel.high, region });
    }
    out
}

/// Where a lane must begin so that a plunger at rest passes; none if the
/// plunger ends outside the plate.
pub(super) fn lane_floor(plan: &Plan<'_>, i: usize) -> Option<f64> {
    let floor = level(plan.plungers[i].tip - plan.free - plan.nudge);
    (floor < plan.radius - SHALLOW).then_some(floor)
}

/// Plungers that lean less than this from the way the plate faces, degrees, have
/// slots along the plunger: wires bend that much by themselves.
const UPRIGHT: f64 = 3.0;

/// Whether a plunger's slots run along it, and not square to the back.
fn upright(plan: &Plan<'_>, axes: &Axes) -> bool {
    axes.along.dot(&plan.facing.along) >= UPRIGHT.to_radians().cos()
}

/// The section of a slot: square to the back, so that wires come out there, and
/// along the plunger as far as its legs reach.
fn slot(plan: &Plan<'_>, p: &Plunger<'_>, u: (f64, f64)) -> Region {
    let far = 2.0 * reach(plan);
    if upright(plan, &p.axes) {
        return p.axes.quad(u, (-far, p.seat));
    }
    let down = -plan.facing.along * far;
    let (a, b) = (p.axes.point(u.0, p.seat), p.axes.point(u.1, p.seat));
    let out = outline(&[a, b, b + down, a + down]);
    let legs = plan.leg_room(p, u);
    if legs > 0.0 { out.union(&p.axes.quad(u, (p.seat - legs, p.seat))) } else { out }
}

/// Where a slot comes out of the flat back: how far its sides are to the left of
/// the way the plate faces, mm, in order.
pub(super) fn slot_exit(plan: &Plan<'_>, p: &Plunger<'_>, u: (f64, f64)) -> (f64, f64) {
    let exit = |u: f64| {
        let at = p.axes.point(u, p.seat);
        if !upright(plan, &p.axes) {
            return at.dot(&plan.facing.left);
        }
        let down = (plan.back - at.dot(&plan.facing.along)) / p.axes.along.dot(&plan.facing.along);
        (at + p.axes.along * down).dot(&plan.facing.left)
    };
    let (a, b) = (exit(u.0), exit(u.1));
    (a.min(b), a.max(b))
}

/// The channels for wires in the flat back, from each slot to the end where
/// the wires leave. Channels that would leave a thin wall between them are one;
/// before a flange whose screws are in the way, all join and pass it together.
pub(super) fn channels(plan: &Plan<'_>) -> Vec<Channel> {
    let running = running_channels(plan);
    let Some((flanges, u)) = plan.flanges.as_ref().and_then(|f| f.gathered.map(|u| (f, u))) else {
        return running;
    };
    // Seen from the leaving end: the flange, a stretch to cross over, the rest.
    let across = level(plan.channel_depth + plan.nudge);
    let cap = plan.wires == "cap";
    let (passed, joined) = if cap {
        (level(plan.low + flanges.length), level(plan.low + flanges.length + across))
    } else {
        (level(plan.high - flanges.length), level(plan.high - flanges.length - across))
    };
    let between = |a: f64, b: f64| (a.min(b), a.max(b));
    let end = if cap { plan.low } else { plan.high };
    let mut wide = u;
    for c in &running {
        let here = between(passed, joined);
        if c.low < here.1 && c.high > here.0 {
            wide = (wide.0.min(c.u.0), wide.1.max(c.u.1));
        }
    }
    let channel = |(low, high), u| Channel { low, high, u };
    let mut out = vec![channel(between(end, passed), u), channel(between(passed, joined), wide)];
    out.extend(running.into_iter().filter_map(|c| {
        let (low, high) =
            if cap { (c.low.max(joined), c.high) } else { (c.low, c.high.min(joined)) };
        (low < high).then_some(channel((low, high), c.u))
    }));
    out
}

fn running_channels(plan: &Plan<'_>) -> Vec<Channel> {
    if plan.wires == "none" {
        return Vec::new();
    }
    struct Lane {
        z: (f64, f64),
        u: (f64, f64),
        wires: f64,
    }
    let mut lanes = Vec::new();
    for p in &plan.plungers {
        for slot in &p.foot.slots {
            let (a, b) = slot_exit(plan, p, slot.u);
            let middle = 0.5 * (a + b);
            let half = 0.5 * (b - a).max(plan.channel_depth) + MARGIN + plan.nudge;
            let z = match plan.wires {
                "cap" => (plan.low, level(p.z + slot.z.1)),
                _ => (level(p.z + slot.z.0), plan.high),
            };
            // Two wires to a switch, shared by its slots.
            let wires = 2.0 / p.foot.slots.len() as f64;
            lanes.push(Lane { z, u: (level(middle - half), level(middle + half)), wires });
        }
    }
    let mut heights: Vec<f64> = lanes.iter().flat_map(|l| [l.z.0, l.z.1]).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup();
    let mut out: Vec<Channel> = Vec::new();
    for pair in heights.windows(2) {
        let (low, high) = (pair[0], pair[1]);
        let z = 0.5 * (low + high);
        let here = lanes.iter().filter(|l| l.z.0 < z && z < l.z.1);
        let mut here: Vec<(f64, f64, f64)> = here.map(|l| (l.u.0, l.u.1, l.wires)).collect();
        here.sort_by(|p, q| p.0.total_cmp(&q.0));
        for u in merged(plan, here) {
            out.push(Channel { low, high, u });
        }
    }
    out
}

/// Channels wide enough for the wires in them side by side, and joined where
/// the wall between them would be thin.
fn merged(plan: &Plan<'_>, lanes: Vec<(f64, f64, f64)>) -> Vec<(f64, f64)> {
    let mut out = lanes;
    loop {
        let before = out.len();
        let mut next: Vec<(f64, f64, f64)> = Vec::new();
        for (a, b, wires) in out {
            match next.last_mut() {
                Some(last) if a < last.1 + plan.wall_least => {
                    *last = (last.0, last.1.max(b), last.2 + wires);
                }
                _ => next.push((a, b, wires)),
            }
        }
        for lane in &mut next {
            let short = lane.2.ceil() * plan.wire + 2.0 * plan.clearance - (lane.1 - lane.0);
            let grow = (0.5 * short).max(0.0);
            *lane = (level(lane.0 - grow), level(lane.1 + grow), lane.2);
        }
        out = next;
        if out.len() == before {
            return out.into_iter().map(|(a, b, _)| (a, b)).collect();
        }
    }
}

/// The slabs without feathers thinner than the printer holds; none if there are
/// no such feathers.
pub(super) fn without_feathers(plan: &Plan<'_>, slabs: &[Slab]) -> Option<Vec<Slab>> {
    let sections = each(slabs.iter().collect(), |s: &Slab| trimmed(&s.section, plan.wall_least));
    sections.iter().any(Option::is_some).then(|| {
        let with = |(slab, section): (&Slab, Option<Region>)| {
            section.map_or_else(|| slab.clone(), |section| Slab { section, ..*slab })
        };
        slabs.iter().zip(sections).map(with).collect()
    })
}

/// Largest part of the plate's volume that loose bits may have to be left out:
/// what stands between two lanes of a land. More is missed, and refused.
const LOOSE: f64 = 0.15;

/// Pieces that share less than this, mm2, only touch.
const TOUCH: f64 = 1e-3;

/// The slabs without bits that hang together with nothing else, such as what
/// two lanes leave of a land between them; none if there are no such bits, or
/// if the plate itself falls apart.
pub(super) fn without_loose_bits(slabs: &[Slab]) -> Option<Vec<Slab>> {
    let pieces: Vec<Vec<Region>> = slabs.iter().map(|s| pieces(&s.section)).collect();
    let ids: Vec<(usize, usize)> =
        pieces.iter().enumerate().flat_map(|(i, p)| (0..p.len()).map(move |k| (i, k))).collect();
    // Union-find over pieces that lie on one another.
    let mut group: Vec<usize> = (0..ids.len()).collect();
    let root = |group: &[usize], mut i: usize| {
        while group[i] != i {
            i = group[i];
        }
        i
    };
    for (m, &(i, k)) in ids.iter().enumerate() {
        for (n, &(j, l)) in ids.iter().enumerate().skip(m + 1) {
            if j == i + 1 && pieces[i][k].intersection(&pieces[j][l]).area() > TOUCH {
                let (a, b) = (root(&group, m), root(&group, n));
                group[b] = a;
            }
        }
    }
    let volume = |r: usize| -> f64 {
        let of = |(m, &(i, k)): (usize, &(usize, usize))| {
            let here = root(&group, m) == r;
            let height = slabs[i].top - slabs[i].bottom;
            if here { pieces[i][k].area() * height } else { 0.0 }
        };
        ids.iter().enumerate().map(of).sum()
    };
    let mut roots: Vec<usize> = (0..ids.len()).filter(|&m| root(&group, m) == m).collect();
    roots.sort_by(|&p, &q| volume(q).total_cmp(&volume(p)));
    let (&main, loose) = roots.split_first()?;
    if loose.is_empty() || loose.iter().map(|&r| volume(r)).sum::<f64>() > LOOSE * volume(main) {
        return None;
    }
    let mut out = slabs.to_vec();
    for (i, slab) in out.iter_mut().enumerate() {
        let kept = ids.iter().enumerate().filter(|&(m, &(j, _))| j == i && root(&group, m) == main);
        let kept: Vec<usize> = kept.map(|(_, &(_, k))| k).collect();
        if kept.len() < pieces[i].len() {
            let regions = kept.iter().map(|&k| &pieces[i][k]);
            slab.section = regions.fold(Region::empty(), |all, r| all.union(r));
        }
    }
    Some(out)
}
