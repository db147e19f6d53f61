//! The seat: what the stone sweeps when it drops in from +y, plus clearance.
//!
//! Every section is cut by the same set of directions, so that each wall of
//! the seat stays parallel to itself along the stone and is an exact plane
//! between two stations. The clearance gives every wall some width at every
//! station, so the walls never change their order.

use super::scan::SPARE;
use super::stone::Stone;
use crate::measure::frame::direction;
use crate::measure::{Vec2, Vec3};
use crate::section::{Arc, Seg, snap};

/// How far the flat walls that stand for a round stone may be outside it, mm.
const OVERCUT: f64 = 0.02;
/// Least width of a wall of the seat, mm: over the sliver limit of the solid.
const LEAST_WALL: f64 = 0.0025;
/// A lean of the stone's side, as a factor on the clearance across, is followed
/// up to 60 degrees; on steeper ends the clearance along the stone counts.
const MOST_FACTOR: f64 = 2.0;
/// Upright walls keep at least this much under a lip, mm, so that the lip never
/// cuts into the seat below.
const LEAST_UPRIGHT: f64 = 0.1;
/// Sine of the least angle between such a wall and what closes over it: a
/// smaller one would leave a sliver beside the open seat.
const LEAST_SLOPE: f64 = 0.1;
/// Least width of what closes over it, mm.
const LEAST_COVER: f64 = 0.05;
/// Slopes that differ by less are one: over 100 mm they part by the grid.
const SAME_SLOPE: f64 = 1e-5;
/// Spacing of sample points on a round seat, degrees.
const SAMPLE: f64 = 1.0;

/// Shortest stretch of the seat beside its blunt end, mm.
const LEAST_STRETCH: f64 = 0.05;

/// Walls of the next stretch count for a point this near to it, mm: further than
/// a stone moves at once where it settles.
const NEAR_NODE: f64 = 0.3;

#[derive(Clone, Debug)]
enum Profile {
    /// Half a circle below, upright walls above; a radius for each node.
    Round { middle: Vec2, radii: Vec<f64> },
    /// Directions from -x over -y to +x, and the reach in each, for each node.
    Fan { normals: Vec<Vec2>, reaches: Vec<Vec<f64>> },
}

/// The open seat along z.
#[derive(Clone, Debug)]
pub(super) struct Seat {
    /// Heights at which walls may bend, mm, from the seat's low to its high end.
    pub nodes: Vec<f64>,
    profile: Profile,
    /// How far a corner of the seat lies outside stone plus clearance at most,
    /// mm.
    pub overcut: f64,
    /// Lengths over which its low and its high end are blunt, mm: there it is wider
    /// than that.
    pub blunt: [f64; 2],
}

/// How far a wall lies from the bore's axis at a node, by its number, mm.
type Reach<'r> = dyn Fn(usize) -> f64 + 'r;

/// A wall of the seat as it is seen from a point inside.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wall {
    /// Unit normal, out of the seat.
    pub normal: Vec3,
    /// Distance of the point from it, mm; negative beyond it.
    pub gap: f64,
}

/// What a seat keeps from the stone.
#[derive(Clone, Copy, Debug)]
pub(super) struct Keep {
    /// Gap all round, mm.
    pub clearance: f64,
    /// Least width of the seat, mm, so that a pointed end stays open.
    pub width: f64,
}

/// What a pointed end of the seat leaves room for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    /// Whether at the high end.
    pub high: bool,
    /// Middle of a disc that its section holds, mm.
    pub middle: Vec2,
    /// Radius of that disc, mm.
    pub radius: f64,
}

impl Seat {
    /// The seat of a stone whose low end lies at `low` mm along z.
    pub fn along(stone: &Stone, keep: Keep, low: f64) -> Seat {
        // A scanned stone is grown all round first, along the bore, too.
        if let Some(grown) = stone.grown(keep.clearance) {
            let low = low - (keep.clearance - SPARE).max(0.0);
            return Seat::along(&grown, Keep { clearance: SPARE, ..keep }, low);
        }
        let at: Vec<f64> = stone.sections.iter().map(|s| s.at).collect();
        let c = keep.clearance;
        let mut nodes: Vec<f64> = at.iter().map(|a| snap(low + a)).collect();
        nodes.insert(0, snap(low - c));
        nodes.push(snap(low + stone.length() + c));
        let doubled = |mut v: Vec<f64>| {
            v.insert(0, v[0]);
            v.push(v[v.len() - 1]);
            v
        };
        if let Some(middle) = stone.turned_about() {
            let bare: Vec<f64> = stone.sections.iter().map(|s| s.circle().unwrap_or(0.0)).collect();
            let (shifts, radii) = moved_out(&at, &bare, c);
            for (node, shift) in nodes[1..].iter_mut().zip(&shifts) {
                *node = snap(*node + shift);
            }
            let radii = radii.into_iter().map(|r| r.max(keep.width / 2.0)).collect();
            let radii = doubled(radii);
            return Seat {
                nodes,
                profile: Profile::Round { middle, radii },
                overcut: 0.0,
                blunt: [0.0; 2],
            };
        }
        let normals = fan(stone, c);
        let bare: Vec<Vec<f64>> = normals
            .iter()
            .map(|n| stone.sections.iter().map(|s| s.support(*n)).collect())
            .collect();
        let factors = factors(&at, &bare);
        let grown: Vec<f64> = (0..at.len())
            .map(|i| {
                let width = bare[0][i] + bare[bare.len() - 1][i];
                (c * factors[i]).max((keep.width - width) / 2.0)
            })
            .collect();
        let grow = |h: &Vec<f64>| doubled(h.iter().zip(&grown).map(|(h, g)| h + g).collect());
        let by_normal: Vec<Vec<f64>> = bare.iter().map(grow).collect();
        let reaches = (0..nodes.len()).map(|i| by_normal.iter().map(|h| h[i]).collect()).collect();
        let overcut = overcut(stone, &normals);
        Seat { nodes, profile: Profile::Fan { normals, reaches }, overcut, blunt: [0.0; 2] }
    }

    /// The same seat with an end as blunt as `room` wants it: from where it is as
    /// wide, no further than `most` mm in, it keeps its section to the end. A point
    /// that ran on into a hole as wide would leave slits and knife edges beside it.
    pub fn blunted(self, room: Room, most: f64) -> Seat {
        if room.high {
            self.blunted_high(room, most)
        } else {
            self.turned_over().blunted_high(room, most).turned_over()
        }
    }

    /// The seat as seen from its other end: its heights change their sign.
    fn turned_over(mut self) -> Seat {
        self.nodes.reverse();
        self.nodes.iter_mut().for_each(|z| *z = -*z);
        self.blunt.reverse();
        match &mut self.profile {
            Profile::Round { radii, .. } => radii.reverse(),
            Profile::Fan { reaches, .. } => reaches.reverse(),
        }
        self
    }

    fn blunted_high(mut self, room: Room, most: f64) -> Seat {
        let last = self.nodes.len() - 1;
        let roomy = |i: &usize| self.short(*i, room).iter().all(|s| *s <= 0.0);
        let Some(inner) = (0..=last).rev().find(roomy).filter(|inner| *inner < last) else {
            return self;
        };
        // Of the stretch to the next node, as much as every wall needs.
        let share = |(inside, outside): (f64, f64)| {
            if outside > 0.0 { outside / (outside - inside) } else { 0.0 }
        };
        let pairs = self.short(inner, room).into_iter().zip(self.short(inner + 1, room));
        let share = pairs.map(share).fold(0.0, f64::max);
        let (at, next, end) = (self.nodes[inner], self.nodes[inner + 1], self.nodes[last]);
        let from = snap((next + (at - next) * share).max(end - most));
        let before = |z: &&f64| from - **z >= LEAST_STRETCH;
        let kept = self.nodes.iter().take_while(before).count().max(1);
        let (i, t) = self.between(from);
        let chain = |values: &dyn Fn(usize) -> f64| -> Vec<f64> {
            let there = values(i) * (1.0 - t) + values(i + 1) * t;
            // A scan may bulge beyond that place.
            let widest = (kept..=last).map(values).fold(there, f64::max);
            (0..kept).map(values).chain([widest; 2]).collect()
        };
        self.profile = match &self.profile {
            Profile::Round { middle, radii } => {
                Profile::Round { middle: *middle, radii: chain(&|i| radii[i]) }
            }
            Profile::Fan { normals, reaches } => {
                let by_normal: Vec<Vec<f64>> =
                    (0..normals.len()).map(|k| chain(&|i| reaches[i][k])).collect();
                let at = |i: usize| by_normal.iter().map(|h| h[i]).collect();
                let reaches = (0..kept + 2).map(at).collect();
                Profile::Fan { normals: normals.clone(), reaches }
            }
        };
        self.nodes.truncate(kept);
        self.nodes.extend([from, end]);
        self.blunt[1] = end - from;
        self
    }

    /// By how much each wall at a node is too near for a disc, mm; negative where it
    /// has room.
    fn short(&self, node: usize, room: Room) -> Vec<f64> {
        match &self.profile {
            Profile::Round { middle, radii } => {
                vec![room.radius + (room.middle - middle).norm() - radii[node]]
            }
            Profile::Fan { normals, reaches } => {
                let walls = normals.iter().zip(&reaches[node]);
                walls.map(|(n, reach)| n.dot(&room.middle) + room.radius - reach).collect()
            }
        }
    }

    /// A straight seat from `low` to `high` mm that the whole stone fits in
    /// wherever it lies: what a stone needs that tips and slides in.
    pub fn straight(stone: &Stone, keep: Keep, low: f64, high: f64) -> Seat {
        let normals = fan(stone, keep.clearance);
        let length = stone.length();
        let reach: Vec<f64> =
            normals.iter().map(|n| stone.reach(0.0, length, *n) + keep.clearance).collect();
        let overcut = overcut(stone, &normals);
        let reaches = vec![reach.clone(), reach];
        let profile = Profile::Fan { normals, reaches };
        Seat { nodes: vec![snap(low), snap(high)], profile, overcut, blunt: [0.0; 2] }
    }

    /// Low and high end, mm.
    pub fn ends(&self) -> (f64, f64) {
        (self.nodes[0], self.nodes[self.nodes.len() - 1])
    }

    /// Number of the stretch between two nodes that `z` lies in.
    pub fn stretch(&self, z: f64) -> usize {
        self.nodes.iter().rposition(|n| *n <= z).unwrap_or(0).min(self.nodes.len() - 2)
    }

    fn between(&self, z: f64) -> (usize, f64) {
        let i = self.stretch(z);
        let t = (z - self.nodes[i]) / (self.nodes[i + 1] - self.nodes[i]);
        (i, t.clamp(0.0, 1.0))
    }

    /// Visits the walls around a point inside: those of its own stretch, those of
    /// a stretch nearby that are in its way, and both ends.
    pub fn walls(&self, p: Vec3, visit: &mut dyn FnMut(Wall)) {
        let (low, high) = self.ends();
        visit(Wall { normal: -Vec3::z(), gap: p.z - low });
        visit(Wall { normal: Vec3::z(), gap: high - p.z });
        let own = self.stretch(p.z);
        for i in self.stretch(p.z - NEAR_NODE)..=self.stretch(p.z + NEAR_NODE) {
            self.sides(p, &mut |n, reaches| {
                let line = |i: usize| {
                    let slope = (reaches(i + 1) - reaches(i)) / (self.nodes[i + 1] - self.nodes[i]);
                    (reaches(i) + slope * (p.z - self.nodes[i]), slope)
                };
                let (reach, slope) = line(i);
                // Beyond a waist, the wall of the next stretch is not in the way.
                if i == own || reach >= line(own).0 {
                    let long = 1f64.hypot(slope);
                    let normal = Vec3::new(n.x, n.y, -slope) / long;
                    visit(Wall { normal, gap: (reach - n.dot(&p.xy())) / long });
                }
            });
        }
    }

    /// Visits the directions of walls that a point can meet, with their reach at
    /// each node, mm from the bore's axis.
    fn sides(&self, p: Vec3, visit: &mut dyn FnMut(Vec2, &Reach<'_>)) {
        match &self.profile {
            Profile::Round { middle, radii } => {
                let off = p.xy() - middle;
                // Above its widest place it is upright.
                let n = if off.y < 0.0 { off.normalize() } else { Vec2::new(off.x.signum(), 0.0) };
                visit(n, &|i| n.dot(middle) + radii[i]);
            }
            Profile::Fan { normals, reaches } => {
                for (k, n) in normals.iter().enumerate() {
                    visit(*n, &|i| reaches[i][k]);
                }
            }
        }
    }

    /// Corners of the seat at `z` from the left wall's foot around below to the
    /// right wall's foot; samples where it is round.
    pub fn corners(&self, z: f64) -> Vec<Vec2> {
        let (i, t) = self.between(z);
        match &self.profile {
            Profile::Round { middle, radii } => {
                let r = radii[i] * (1.0 - t) + radii[i + 1] * t;
                let count = (180.0 / SAMPLE) as usize;
                (0..=count).map(|k| middle + direction(90.0 + SAMPLE * k as f64) * r).collect()
            }
            Profile::Fan { normals, reaches } => {
                let reach: Vec<f64> = (0..normals.len())
                    .map(|k| reaches[i][k] * (1.0 - t) + reaches[i + 1][k] * t)
                    .collect();
                (1..normals.len())
                    .map(|k| corner(normals[k - 1], reach[k - 1], normals[k], reach[k]))
                    .collect()
            }
        }
    }

    /// Feet of the left and of the right upright wall at `z`.
    pub fn feet(&self, z: f64) -> (Vec2, Vec2) {
        let corners = self.corners(z);
        (corners[0], corners[corners.len() - 1])
    }

    /// The outline at `z`, open to height `top`: counter-clockwise.
    pub fn outline(&self, z: f64, top: f64) -> Vec<Seg> {
        let corners = self.corners(z);
        let (left, right) = (corners[0], corners[corners.len() - 1]);
        let mut out = match &self.profile {
            Profile::Round { middle, .. } => {
                let radius = right.x - middle.x;
                let arc = Some(Arc { centre: *middle, radius, ccw: true });
                vec![Seg { a: left, b: right, arc }]
            }
            Profile::Fan { .. } => corners.windows(2).map(|w| Seg::line(w[0], w[1])).collect(),
        };
        let (upper_right, upper_left) = (Vec2::new(right.x, top), Vec2::new(left.x, top));
        out.extend([
            Seg::line(right, upper_right),
            Seg::line(upper_right, upper_left),
            Seg::line(upper_left, left),
        ]);
        out
    }

    /// The closed outline that a part of the stone (from `from` to `to` mm of
    /// its length) needs in this straight seat, as corners: the seat below, the
    /// stone's own top plus clearance above, raised by `lift` mm.
    pub fn closed(
        &self,
        stone: &Stone,
        keep: Keep,
        (from, to): (f64, f64),
        lift: f64,
    ) -> Vec<Vec2> {
        let Profile::Fan { normals, reaches } = &self.profile else { return Vec::new() };
        let mut sides: Vec<(Vec2, f64)> =
            normals.iter().copied().zip(reaches[0].iter().copied()).collect();
        let mirrored = fan_of(stone, keep.clearance, -1.0);
        let upper = mirrored.iter().filter(|n| n.y >= LEAST_SLOPE);
        let (left, right) = self.feet(self.nodes[0]);
        let above = Vec2::new(0.0, LEAST_UPRIGHT);
        sides.extend(upper.map(|n| {
            let feet = n.dot(&(left + above)).max(n.dot(&(right + above)));
            (*n, (stone.reach(from, to, *n) + keep.clearance + lift * n.y).max(feet))
        }));
        enclosed(sides)
    }
}

/// Factor on the clearance for each station: the steepest lean that meets
/// there, so that the gap square to the wall is kept.
fn factors(at: &[f64], reaches: &[Vec<f64>]) -> Vec<f64> {
    let slope = |i: usize| {
        let step = at[i + 1] - at[i];
        reaches.iter().map(|h| ((h[i + 1] - h[i]) / step).abs()).fold(0.0, f64::max)
    };
    let spans: Vec<f64> = (0..at.len() - 1).map(slope).collect();
    (0..at.len())
        .map(|i| {
            let before = if i > 0 { spans[i - 1] } else { 0.0 };
            let after = spans.get(i).copied().unwrap_or(0.0);
            1f64.hypot(before.max(after)).min(MOST_FACTOR)
        })
        .collect()
}

/// The outline `radii` over `at` moved out square to itself by `c` mm, so that
/// a straight stretch stays straight: how far each corner moves along, and the
/// radius there.
fn moved_out(at: &[f64], radii: &[f64], c: f64) -> (Vec<f64>, Vec<f64>) {
    let last = at.len() - 1;
    let slope = |i: usize| (radii[i + 1] - radii[i]) / (at[i + 1] - at[i]);
    let out = |slope: f64| c * 1f64.hypot(slope).min(MOST_FACTOR);
    (0..=last)
        .map(|i| {
            let before = slope(i.saturating_sub(1));
            let after = if i < last { slope(i) } else { before };
            if i == 0 || i == last || (before - after).abs() < SAME_SLOPE {
                let end = if i == 0 { slope(0) } else { before };
                return (0.0, radii[i] + out(end).max(out(after)));
            }
            let room = 0.4 * (at[i] - at[i - 1]).min(at[i + 1] - at[i]);
            let shift = (out(after) - out(before)) / (before - after);
            let shift = snap(shift.clamp(-room, room));
            // Where the grid moved the corner, the flatter stretch stays exact.
            let flatter = if before.abs() <= after.abs() { before } else { after };
            (shift, radii[i] + flatter * shift + out(flatter))
        })
        .unzip()
}

/// Where two walls `n . p = reach` meet.
fn corner(n: Vec2, h: f64, m: Vec2, k: f64) -> Vec2 {
    let det = n.x * m.y - n.y * m.x;
    Vec2::new(h * m.y - k * n.y, n.x * k - m.x * h) / det
}

fn fan(stone: &Stone, clearance: f64) -> Vec<Vec2> {
    fan_of(stone, clearance, 1.0)
}

/// Directions from -x over -y to +x (`side` 1), or from +x over +y to -x
/// (`side` -1): those of all facets, and a fine fan for round sections. Two
/// that are so near that the wall between them would be a sliver become one.
fn fan_of(stone: &Stone, clearance: f64, side: f64) -> Vec<Vec2> {
    let least = (LEAST_WALL / clearance).atan();
    // Angle from the first direction, 0 to pi on the wanted side.
    let angle = |n: Vec2| (-n.y * side).atan2(-n.x * side);
    let half = std::f64::consts::PI;
    let inside = |a: f64, gap: f64| a > gap && a < half - gap;
    let mut kept: Vec<(f64, Vec2)> =
        vec![(0.0, Vec2::new(-side, 0.0)), (half, Vec2::new(side, 0.0))];
    let mut add = |n: Vec2, gap: f64| {
        let a = angle(n);
        if !inside(a, gap) {
            return;
        }
        let at = kept.partition_point(|k| k.0 < a);
        if a - kept[at - 1].0 >= gap && kept[at].0 - a >= gap {
            kept.insert(at, (a, n));
        }
    };
    for n in stone.sections.iter().flat_map(|s| s.facets()) {
        add(n, least);
    }
    for section in &stone.sections {
        let normals = section.round_normals(OVERCUT);
        // Directions of other sections that are nearer than half a step serve
        // as well.
        let gap = half / normals.len().max(4) as f64;
        for n in normals {
            add(n, gap.min(0.1).max(least));
        }
    }
    kept.into_iter().map(|(_, n)| n).collect()
}

/// How far a corner of the circumscribed polygon lies outside the stone at
/// most, mm; the clearance comes on top.
fn overcut(stone: &Stone, normals: &[Vec2]) -> f64 {
    const BETWEEN: usize = 8;
    let mut most: f64 = 0.0;
    for section in &stone.sections {
        for pair in normals.windows(2) {
            let (n, m) = (pair[0], pair[1]);
            let p = corner(n, section.support(n), m, section.support(m));
            for k in 1..BETWEEN {
                let t = k as f64 / BETWEEN as f64;
                let between = (n * (1.0 - t) + m * t).normalize();
                most = most.max(between.dot(&p) - section.support(between));
            }
        }
    }
    most
}

/// Corners of the convex outline inside all `n . p <= reach`; what closes over
/// it in very narrow strips is left out, which only makes it larger.
fn enclosed(mut sides: Vec<(Vec2, f64)>) -> Vec<Vec2> {
    const LARGE: f64 = 400.0;
    let angle = |n: &Vec2| n.y.atan2(n.x);
    sides.sort_by(|p, q| angle(&p.0).total_cmp(&angle(&q.0)));
    loop {
        let mut outline: Vec<(Vec2, usize)> = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .map(|(x, y)| (Vec2::new(x, y) * LARGE, usize::MAX))
            .to_vec();
        // Each corner carries the side that starts there.
        for (i, (n, h)) in sides.iter().enumerate() {
            let mut next = Vec::with_capacity(outline.len() + 1);
            for (j, &(p, own)) in outline.iter().enumerate() {
                let (q, _) = outline[(j + 1) % outline.len()];
                let (dp, dq) = (n.dot(&p) - h, n.dot(&q) - h);
                if dp <= 0.0 {
                    next.push((p, own));
                }
                if (dp <= 0.0) != (dq <= 0.0) {
                    let cut = p + (q - p) * (dp / (dp - dq));
                    next.push((cut, if dp <= 0.0 { i } else { own }));
                }
            }
            outline = next;
        }
        let narrow = (0..outline.len()).find(|&j| {
            let (p, side) = outline[j];
            let above = sides.get(side).is_some_and(|(n, _)| n.y > 0.0);
            let q = outline[(j + 1) % outline.len()].0;
            above && (q - p).norm() < LEAST_COVER
        });
        match narrow.map(|j| outline[j].1) {
            Some(side) if side != usize::MAX => {
                sides.remove(side);
            }
            _ => return outline.into_iter().map(|(p, _)| p).collect(),
        }
    }
}
