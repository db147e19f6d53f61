//! Thickness of walls and gaps over a whole surface.
//!
//! At a point of the surface, the thickness is the diameter of the largest
//! ball that touches the surface there from inside and is stopped by what lies
//! across from it (outside: the gap). Only contacts within [`ACROSS`] of the
//! opposite direction count: seen so, a plate is as thick at its rim as in its
//! middle, and the edge of a block, where a ball of any size is stopped by the
//! face beside, is no wall. A knife edge is one if it is sharper than twice
//! that angle.
//!
//! Samples: a grid over the surface, and the sharp edges that stick into
//! the measured side, where the ball may touch in a whole fan of directions.
//! The thinnest places are then followed downhill.

use std::collections::VecDeque;
use std::f64::consts::FRAC_PI_2;

use super::topology::{NONE, Topology};
use crate::measure::Vec3;
use crate::mesh::{Bvh, Contact, Soup};

/// How far off the opposite direction a contact may lie, radians, seen from
/// the point of the surface: 20 degrees, so that two faces are the sides of
/// one wall if they meet at 40 degrees or less. Chosen below the 45 degrees of
/// a chamfer or lead-in; common practice, no source.
pub const ACROSS: f64 = 20.0 * std::f64::consts::PI / 180.0;

/// Samples that the whole surface gets, about. Each smooth face has one at
/// least, however small.
const GRID: f64 = 6_000.0;

/// Least distance of samples, mm: half of the thinnest wall that any profile
/// allows would show no more.
const LEAST_SPACING: f64 = 0.2;

/// Most samples that are measured, and most on edges.
const MOST: usize = 60_000;

/// Edges are sharp from this turn on, radians (25 degrees): arcs at the
/// coarsest chord turn by 15.
const SHARP: f64 = 25.0 * std::f64::consts::PI / 180.0;

/// Directions in the fan of a sharp edge.
const FAN: [f64; 3] = [0.2, 0.5, 0.8];

/// Nodes of the tree that may be looked at for each triangle and sample, in a
/// field. A part takes about 100; heaps of triangles that all lie in each
/// other would take as many as there are triangles.
const WORK: u64 = 1000;

/// How many of the thinnest places are followed downhill.
const FOLLOWED: usize = 32;

/// The walk downhill ends at steps below this length, mm: thickness is flat at
/// its least, so what such a step may gain is far smaller.
const LEAST_STEP: f64 = 0.005;

/// A step that gains less, mm, does not lead down: far below what is told from
/// a limit. Towards the tip of a wedge every step gains, down to float noise.
const LEAST_GAIN: f64 = 1e-6;

/// Most steps of a walk downhill. Usual ones take 20 to 60.
const MOST_STEPS: u32 = 400;

/// Where no step leads down, steps become shorter by this factor.
const NARROWER: f64 = 0.3;

/// Which side of the surface is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Inside: walls.
    Inside,
    /// Outside: gaps.
    Outside,
}

/// Thickness at one point of the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// The point, mm.
    pub at: Vec3,
    /// Unit direction in which the ball's centre lies.
    pub towards: Vec3,
    /// Triangle of the point.
    pub triangle: u32,
    /// Area that it stands for, mm2; zero on edges and followed places.
    pub area: f64,
    /// Diameter of the ball, mm; infinite past the field's cap.
    pub value: f64,
    /// Where the ball is stopped, mm; the point itself if it is not.
    pub across: Vec3,
    /// Triangle there.
    pub across_triangle: u32,
}

/// Thickness all over.
#[derive(Clone, Debug)]
pub struct Field {
    /// Which side.
    pub side: Side,
    /// Largest thickness that is told from infinite, mm.
    pub cap: f64,
    /// Distance of samples on large triangles, mm.
    pub spacing: f64,
    /// All samples; those over triangles first, in their order.
    pub samples: Vec<Sample>,
    /// Whether it was given up before all was measured: the triangles lie in
    /// each other in such a way that the time would grow with their square.
    pub given_up: bool,
}

/// Measures single points of one side.
#[derive(Clone, Copy)]
pub struct Probe<'a> {
    soup: &'a Soup,
    bvh: &'a Bvh,
    topology: &'a Topology,
    side: Side,
    cap: f64,
}

impl<'a> Probe<'a> {
    /// For one side, up to thickness `cap` mm.
    pub fn new(
        soup: &'a Soup,
        bvh: &'a Bvh,
        topology: &'a Topology,
        side: Side,
        cap: f64,
    ) -> Probe<'a> {
        Probe { soup, bvh, topology, side, cap }
    }

    /// Thickness at a point of a triangle, along the normal there: between
    /// facets of a round wall that of the wall, not of the facet, since a ball
    /// in a rod fits only where it points at the axis.
    pub fn at(&self, p: Vec3, triangle: u32) -> Sample {
        self.beside(p, triangle, None)
    }

    /// The same beside another sample: what stopped the ball there is looked at
    /// first.
    fn beside(&self, p: Vec3, triangle: u32, other: Option<&Sample>) -> Sample {
        let normal = self.topology.smooth_normal(self.soup, triangle, p, SHARP.cos());
        let towards = if self.side == Side::Inside { -normal } else { normal };
        let guess = other.filter(|s| s.value.is_finite()).map(|s| s.across_triangle);
        self.along(p, triangle, towards, guess)
    }

    fn along(&self, p: Vec3, triangle: u32, towards: Vec3, guess: Option<u32>) -> Sample {
        let facing = if self.side == Side::Inside { -1.0 } else { 1.0 };
        let contact = Contact::Across(ACROSS, facing);
        let touch = self.bvh.ball_at(p, towards, 0.5 * self.cap, contact, guess);
        let (value, across, across_triangle) =
            touch.map_or((f64::INFINITY, p, triangle), |t| (2.0 * t.reach, t.at, t.triangle));
        Sample { at: p, towards, triangle, area: 0.0, value, across, across_triangle }
    }

    /// Thickness at a point of a sharp edge between two triangles: the least
    /// over the directions in which a ball can touch there.
    fn on_edge(&self, p: Vec3, triangle: u32, other: u32) -> Sample {
        let sign = if self.side == Side::Inside { -1.0 } else { 1.0 };
        let a = self.topology.normals[triangle as usize] * sign;
        let b = self.topology.normals[other as usize] * sign;
        let fan = FAN.iter().map(|t| (a * (1.0 - t) + b * *t).normalize());
        let best = fan
            .filter(|d| d.iter().all(|c| c.is_finite()))
            .map(|d| self.along(p, triangle, d, None))
            .min_by(|x, y| x.value.total_cmp(&y.value));
        let Some(mut best) = best else { return self.at(p, triangle) };
        if best.value.is_finite()
            && let Some(d) = (best.across - p).try_normalize(0.0)
        {
            // Straight at the contact, if the fan holds that direction.
            let held = d.angle(&a) + d.angle(&b) <= a.angle(&b) + 1e-3;
            let straight = self.along(p, triangle, d, Some(best.across_triangle));
            if held && straight.value < best.value {
                best = straight;
            }
        }
        best
    }
}

impl Field {
    /// Measures one side of a mesh.
    pub fn new(soup: &Soup, topology: &Topology, bvh: &Bvh, side: Side, cap: f64) -> Field {
        let probe = Probe::new(soup, bvh, topology, side, cap);
        let n = soup.triangles().len();
        let total: f64 = topology.areas.iter().sum();
        let spacing = (total / GRID).sqrt().max(LEAST_SPACING);
        let mut samples: Vec<Sample> = Vec::new();
        let enough = bvh.work() + WORK * (n as u64 + GRID as u64);
        let cosine = SHARP.cos();
        let normal = |i: u32| topology.normals[i as usize];
        let solid = |i: u32| normal(i) != Vec3::zeros();
        let faces = topology.groups_where(solid, |i, j| normal(i).dot(&normal(j)) >= cosine);
        // Small triangles wait until they are worth a sample together.
        let worth = spacing * spacing;
        for face in faces {
            let first = samples.len();
            let mut waiting = worth;
            let mut area = 0.0;
            for i in face {
                if bvh.work() > enough || samples.len() > MOST {
                    return Field { side, cap, spacing, samples, given_up: true };
                }
                let corners = soup.corners(i as usize);
                area += topology.areas[i as usize];
                waiting += topology.areas[i as usize];
                if waiting < worth {
                    continue;
                }
                if topology.areas[i as usize] > worth {
                    grid(&corners, spacing, |p| samples.push(probe.beside(p, i, samples.last())));
                } else {
                    let p = along(&corners, samples.len());
                    samples.push(probe.beside(p, i, samples.last()));
                }
                waiting = 0.0;
            }
            let each = area / (samples.len() - first).max(1) as f64;
            samples[first..].iter_mut().for_each(|s| s.area = each);
        }
        let mut field = Field { side, cap, spacing, samples, given_up: false };
        field.add_edges(soup, topology, &probe);
        field.follow(&probe);
        field
    }

    fn add_edges(&mut self, soup: &Soup, topology: &Topology, probe: &Probe<'_>) {
        let mut budget = MOST;
        let mut waiting = self.spacing;
        for (i, neighbours) in topology.neighbours.iter().enumerate() {
            for k in 0..3 {
                let j = neighbours[k];
                if j == NONE || (j as usize) < i || !sticks_in(soup, topology, i, k, self.side) {
                    continue;
                }
                let t = soup.triangles()[i];
                let [a, b] = [t[k], t[(k + 1) % 3]].map(|v| soup.vertices()[v as usize]);
                let length = (b - a).norm();
                waiting += length;
                if waiting < self.spacing && length < 0.5 * self.spacing {
                    continue;
                }
                waiting = 0.0;
                let pieces = (length / (2.0 * self.spacing)).ceil().clamp(1.0, 200.0) as usize;
                if pieces > budget {
                    return;
                }
                budget -= pieces;
                for s in 0..pieces {
                    let p = a + (b - a) * ((s as f64 + 0.5) / pieces as f64);
                    let sample = probe.on_edge(p, i as u32, j);
                    if sample.value.is_finite() {
                        self.samples.push(sample);
                    }
                }
            }
        }
    }

    /// From the thinnest places, and from those across, downhill.
    fn follow(&mut self, probe: &Probe<'_>) {
        let mut order: Vec<u32> = (0..self.samples.len() as u32)
            .filter(|&i| self.samples[i as usize].value.is_finite())
            .collect();
        let key = |i: &u32| self.samples[*i as usize].value;
        order.sort_by(|a, b| key(a).total_cmp(&key(b)).then(a.cmp(b)));
        // Places a few samples apart lead to the same bottom.
        let cell = 4.0 * self.spacing;
        let mut taken = std::collections::BTreeSet::new();
        let mut starts = Vec::new();
        for i in order {
            let s = self.samples[i as usize];
            let at = (s.at + s.across) * (0.5 / cell);
            if taken.insert([at.x.floor() as i64, at.y.floor() as i64, at.z.floor() as i64]) {
                starts.push(s);
            }
            if starts.len() == FOLLOWED {
                break;
            }
        }
        for start in starts {
            for from in [start, probe.at(start.across, start.across_triangle)] {
                let least = self.downhill(probe, Sample { area: 0.0, ..from });
                if least.value.is_finite() {
                    self.samples.push(least);
                }
            }
        }
    }

    fn downhill(&self, probe: &Probe<'_>, mut best: Sample) -> Sample {
        let mut step = self.spacing;
        // The way that led down last is tried first.
        let mut last = 0;
        for _ in 0..MOST_STEPS {
            if step <= LEAST_STEP {
                break;
            }
            let x = best.towards.cross(&least_axis(best.towards)).normalize();
            let y = best.towards.cross(&x);
            let moves = [x, y, -x, -y];
            let side = if probe.side == Side::Inside { -1.0 } else { 1.0 };
            let next = [0, 1, 3, 2].into_iter().find_map(|turn| {
                let way = (last + turn) % 4;
                // On this side of the wall, not on the other.
                let wanted =
                    |t: u32| probe.topology.normals[t as usize].dot(&best.towards) * side > FACING;
                let touch = probe.bvh.nearest(best.at + moves[way] * step, 2.0 * step, wanted)?;
                let next = probe.beside(touch.at, touch.triangle, Some(&best));
                (next.value < best.value - LEAST_GAIN).then_some((way, next))
            });
            match next {
                Some((way, next)) => (last, best) = (way, next),
                None => step *= NARROWER,
            }
        }
        best
    }

    /// The thinnest sample.
    pub fn least(&self) -> Option<&Sample> {
        let finite = self.samples.iter().filter(|s| s.value.is_finite());
        finite.min_by(|a, b| a.value.total_cmp(&b.value))
    }

    /// Share of the sampled area with a thickness below `limit` mm.
    pub fn share_below(&self, limit: f64) -> f64 {
        let area = |s: &Sample| s.area;
        let all: f64 = self.samples.iter().map(area).sum();
        let below: f64 = self.samples.iter().filter(|s| s.value < limit).map(area).sum();
        if all > 0.0 { below / all } else { 0.0 }
    }

    /// Area by thickness, mm2: `bins` equal steps from 0 to the cap, and last
    /// all beyond.
    pub fn histogram(&self, bins: usize) -> Vec<f64> {
        let mut out = vec![0.0; bins + 1];
        for s in &self.samples {
            let bin = (s.value / self.cap * bins as f64).min(bins as f64) as usize;
            out[bin] += s.area;
        }
        out
    }

    /// Thickness at every vertex, mm, for a heat map: the least of the samples
    /// in its triangles that are nearest, or not a spacing further, else that of
    /// a neighbour; infinite past the cap.
    pub fn at_vertices(&self, soup: &Soup) -> Vec<f64> {
        let corners = |s: &Sample| soup.triangles()[s.triangle as usize].map(|v| v as usize);
        let far = |s: &Sample, v: usize| (soup.vertices()[v] - s.at).norm();
        let mut nearest = vec![f64::INFINITY; soup.vertices().len()];
        for s in &self.samples {
            for v in corners(s) {
                nearest[v] = nearest[v].min(far(s, v));
            }
        }
        let mut out = vec![f64::INFINITY; soup.vertices().len()];
        for s in &self.samples {
            for v in corners(s) {
                if far(s, v) <= nearest[v] + self.spacing {
                    out[v] = out[v].min(s.value);
                }
            }
        }
        spread(soup, &mut out, nearest.iter().map(|d| d.is_finite()).collect());
        out
    }
}

/// Vertices that are not known take the least value of a triangle that has one that is: from
/// triangle to triangle, those nearest to what is known first.
fn spread(soup: &Soup, out: &mut [f64], mut known: Vec<bool>) {
    if known.iter().all(|k| *k) {
        return;
    }
    let mut around: Vec<Vec<u32>> = vec![Vec::new(); known.len()];
    for (i, t) in soup.triangles().iter().enumerate() {
        t.iter().for_each(|v| around[*v as usize].push(i as u32));
    }
    let corners = |i: u32| soup.triangles()[i as usize].map(|v| v as usize);
    let all = 0..soup.triangles().len() as u32;
    let mut queue: VecDeque<u32> = all.filter(|&i| corners(i).iter().any(|v| known[*v])).collect();
    while let Some(i) = queue.pop_front() {
        let t = corners(i);
        let from = t.iter().copied().filter(|v| known[*v]);
        let Some(value) = from.map(|v| out[v]).min_by(f64::total_cmp) else { continue };
        for v in t {
            if !known[v] {
                (known[v], out[v]) = (true, value);
                queue.extend(&around[v]);
            }
        }
    }
}

/// Least cosine between normals on one side of a wall: 60 degrees.
const FACING: f64 = 0.5;

/// The coordinate axis that is most nearly perpendicular to `d`.
pub(super) fn least_axis(d: Vec3) -> Vec3 {
    let mut axis = Vec3::zeros();
    axis[d.abs().imin()] = 1.0;
    axis
}

/// Whether the edge `k` of triangle `i` is sharp and sticks into a side.
fn sticks_in(soup: &Soup, topology: &Topology, i: usize, k: usize, side: Side) -> bool {
    let j = topology.neighbours[i][k] as usize;
    let (a, b) = (topology.normals[i], topology.normals[j]);
    if a.dot(&b) > SHARP.cos() || a == Vec3::zeros() || b == Vec3::zeros() {
        return false;
    }
    // The far corner of the neighbour above this plane: a valley.
    let t = soup.triangles()[i];
    let far = soup.triangles()[j].iter().find(|v| !t.contains(v));
    let Some(far) = far else { return false };
    let height = (soup.vertices()[*far as usize] - soup.vertices()[t[k] as usize]).dot(&a);
    if side == Side::Inside { height > 0.0 } else { height < 0.0 }
}

/// A point of a small or narrow triangle, at another share of its length for
/// each number: neighbours are sampled at different heights. The shares are
/// multiples of the golden ratio, which spread evenly.
fn along([a, b, c]: &[Vec3; 3], number: usize) -> Vec3 {
    let share = (number as f64 * 0.618_033_988_749_895).fract();
    let low = 0.1 + 0.7 * share;
    let rest = 0.5 * (0.9 - low) + 0.05;
    a * low + b * rest + c * (1.0 - low - rest)
}

/// Points over a triangle at about `spacing`: rows along its longest edge; a
/// narrow triangle has as many as its area is worth.
fn grid(corners: &[Vec3; 3], spacing: f64, mut visit: impl FnMut(Vec3)) {
    let length = |k: usize| (corners[(k + 1) % 3] - corners[k]).norm();
    let k = (0..3).max_by(|&a, &b| length(a).total_cmp(&length(b))).unwrap_or(0);
    let [a, b, c] = [corners[k], corners[(k + 1) % 3], corners[(k + 2) % 3]];
    let base = (b - a).norm();
    let height = (b - a).cross(&(c - a)).norm() / base;
    let rows = (height / spacing).ceil().max(1.0);
    let across = if rows > 1.0 { spacing } else { spacing * spacing / (0.75 * height) };
    for row in 0..rows as u32 {
        let v = if rows > 1.0 { (f64::from(row) + 0.5) / rows } else { 1.0 / 3.0 };
        let count = (base * (1.0 - v) / across).ceil().clamp(1.0, 1000.0);
        for i in 0..count as u32 {
            let u = (f64::from(i) + 0.5) / count * (1.0 - v);
            visit(a + (b - a) * u + (c - a) * v);
        }
    }
}

/// Thickness of the inscribed (or outside: escribed) ball at a point, stopped
/// by any contact, mm: the plain definition, which is small beside every
/// convex edge. For comparison with other programs.
pub fn inscribed(bvh: &Bvh, p: Vec3, towards: Vec3, cap: f64) -> f64 {
    bvh.ball(p, towards, 0.5 * cap, Contact::Any).map_or(f64::INFINITY, |t| 2.0 * t.reach)
}

const _: () = assert!(ACROSS < FRAC_PI_2);

#[cfg(test)]
mod tests {
    use super::*;

    /// Points over a triangle and their mean.
    fn points(corners: [Vec3; 3], spacing: f64) -> (f64, Vec3) {
        let (mut count, mut sum) = (0.0, Vec3::zeros());
        let area = (corners[1] - corners[0]).cross(&(corners[2] - corners[0])).norm();
        grid(&corners, spacing, |p| {
            let part = |k: usize| (corners[k] - p).cross(&(corners[(k + 1) % 3] - p)).norm();
            assert!((part(0) + part(1) + part(2) - area).abs() < 1e-9, "{p} is outside");
            count += 1.0;
            sum += p;
        });
        (count, sum / count)
    }

    #[test]
    fn triangles_wide_and_narrow_get_points_as_their_area_is_worth() {
        for (base, height, spacing) in
            [(10.0, 8.0, 0.5), (100.0, 0.2, 0.5), (60.0, 0.9, 1.4), (7.0, 30.0, 0.5)]
        {
            let corners = [
                Vec3::new(1.0, 2.0, 3.0),
                Vec3::new(1.0 + base, 2.0, 3.0),
                Vec3::new(1.0 + 0.3 * base, 2.0, 3.0 + height),
            ];
            let (count, mean) = points(corners, spacing);
            let wanted = 0.5 * base * height / (spacing * spacing);
            // A row along the longest edge has up to a point more than its length is worth.
            let edges = [0, 1, 2].map(|k| (corners[(k + 1) % 3] - corners[k]).norm());
            let longest = edges.into_iter().fold(0.0, f64::max);
            let rows = (base * height / longest / spacing).ceil();
            assert!(wanted <= count + 1e-9 && count <= wanted + rows, "{count} for {wanted}");
            let middle = (corners[0] + corners[1] + corners[2]) / 3.0;
            assert!((mean - middle).norm() < 0.06 * base.max(height), "{mean} {middle}");
        }
    }

    #[test]
    fn the_point_of_a_small_triangle_lies_in_it() {
        let corners = [Vec3::x(), Vec3::y(), Vec3::z()];
        let mut last = f64::NAN;
        for number in 0..200 {
            // Shares of the corners.
            let p = along(&corners, number);
            assert!((p.sum() - 1.0).abs() < 1e-12 && p.min() >= 0.04, "{number}: {p}");
            assert!(p.x != last, "neighbours are at other heights");
            last = p.x;
        }
    }
}
