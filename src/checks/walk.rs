//! How a thin place is held: walks over the surface from there.
//!
//! From the thinnest point, walks start along the wall in eight directions. A
//! walk ends where the wall becomes thick or meets a face that rises before it
//! (it is held there), where the surface bends away over an edge (it is free
//! there), or where it comes back to its start (it is a ring, which holds
//! itself). A wall is **supported** if it is held at the nearest thick place
//! and on at least one more of the three sides square to that or opposite;
//! a ring counts as held, and so does a wall that goes on for some hundred
//! times its thickness. Otherwise it stands **free**. A free wall whose
//! width along itself is little more than its thickness is a **pin**, and
//! whatever stands no higher than [`MARK_HEIGHT`] is a raised **mark**, as
//! letters are.

use std::f64::consts::{FRAC_PI_4, PI};

use super::Analysis;
use super::field::{Probe, Sample, Side, least_axis};
use super::topology::Topology;
use crate::measure::Vec3;
use crate::mesh::Bvh;

/// Highest that raised marks stand and deepest that sunk ones are, mm: what
/// print guides give for marks (my3dpm, 'FDM/FFF Design Table': 0.6 mm wide,
/// 2.0 mm high).
pub const MARK_HEIGHT: f64 = 2.0;

/// A wall is thick where it has at least this times its least thickness.
const THICK: f64 = 2.0;

/// A pin is at most this times as wide as it is thick, in the second narrowest
/// of four directions: 2.5 along its width is 3.5 aslant. The narrowest may
/// cut off a corner of any wall.
const PIN: f64 = 3.5;

/// Turn of the surface that ends a walk: cosine of 60 degrees.
const EDGE: f64 = 0.5;

/// Least cosine between normals on one side of a wall and on its rim.
const OTHER_SIDE: f64 = -0.5;

/// Cosines of right angles, with float noise, are at most this.
const ALONG: f64 = 1e-9;

/// Most steps of a walk, and the growth of each: from half the thickness on,
/// 80 steps cross 275 thicknesses.
const STEPS: u32 = 80;
const GROWTH: f64 = 1.04;

/// Least step, mm.
const LEAST_STEP: f64 = 0.1;

/// How a walk ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    Held,
    Edge,
    Ring,
    Far,
}

/// How a thin place is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stand {
    /// Held on two sides or more.
    Supported,
    /// Held on one side, or none.
    Free,
    /// Free, and about as wide as thick.
    Pin,
    /// Raised by no more than [`MARK_HEIGHT`].
    Mark,
}

/// Walks on one mesh.
#[derive(Clone, Copy)]
pub struct Walker<'a> {
    bvh: &'a Bvh,
    topology: &'a Topology,
    probe: Probe<'a>,
    /// The outward normal at a sample is its direction times this.
    facing: f64,
}

impl<'a> Walker<'a> {
    /// On one side of a mesh; thickness past `cap` mm is thick.
    pub fn new(analysis: &'a Analysis, side: Side, cap: f64) -> Walker<'a> {
        let (bvh, topology) = (analysis.bvh(), analysis.topology());
        let probe = Probe::new(analysis.soup(), bvh, topology, side, cap);
        let facing = if side == Side::Inside { -1.0 } else { 1.0 };
        Walker { bvh, topology, probe, facing }
    }

    /// How the wall at a sample is held.
    pub fn stand(&self, sample: &Sample) -> Stand {
        let ends = self.around(sample);
        let held = |e: End| e != End::Edge;
        let nearest = nearest_held(&ends);
        let height = nearest
            .filter(|k| ends[(k + 4) % 8].0 == End::Edge)
            .map_or(f64::INFINITY, |k| ends[k].1 + ends[(k + 4) % 8].1);
        if self.is_pin(sample) {
            return if height <= MARK_HEIGHT { Stand::Mark } else { Stand::Pin };
        }
        let more = match nearest {
            Some(k) => [2, 4, 6].iter().any(|turn| held(ends[(k + turn) % 8].0)),
            None => ends.iter().any(|e| held(e.0)),
        };
        if more {
            Stand::Supported
        } else if height <= MARK_HEIGHT {
            Stand::Mark
        } else {
            Stand::Free
        }
    }

    /// Depth of the groove at a sample outside, mm: from its bottom to the
    /// edge of its mouth; none if it has none of the two.
    pub fn depth(&self, sample: &Sample) -> Option<f64> {
        let ends = self.around(sample);
        let k = nearest_held(&ends)?;
        let (mouth, up) = ends[(k + 4) % 8];
        (mouth == End::Edge).then_some(ends[k].1 + up)
    }

    /// Whether the wall is about as wide as thick, free on both sides of its
    /// length and at one end: no rail along a wall, no rim of a bent sheet, no
    /// web between two holes.
    pub fn is_pin(&self, sample: &Sample) -> bool {
        let widths = self.widths(sample);
        let mut sorted = widths;
        sorted.sort_by(f64::total_cmp);
        if sorted[1] > PIN * sample.value {
            return false;
        }
        let along = (0..4).max_by(|&a, &b| widths[a].total_cmp(&widths[b])).unwrap_or(0);
        let directions = directions(sample.towards);
        let (way, side) = (directions[along], directions[along + 2]);
        if [way, -way].into_iter().all(|way| self.widens(sample, way, side)) {
            return false;
        }
        let sides = [side, -side].map(|d| self.walk(sample, d));
        // Around a round pin, the way is pi times its width.
        sides.iter().all(|(end, _)| matches!(end, End::Edge | End::Ring))
            && sides.iter().map(|s| s.1).sum::<f64>() <= 2.0 * PI * PIN * sample.value
    }

    /// The greatest length of the wall along itself, mm.
    pub fn length(&self, sample: &Sample) -> f64 {
        self.widths(sample).into_iter().filter(|w| w.is_finite()).fold(0.0, f64::max)
    }

    /// Widths of the wall along itself through its middle.
    fn widths(&self, sample: &Sample) -> [f64; 4] {
        let middle = (sample.at + sample.across) * 0.5;
        let [a, b, c, d, ..] = directions(sample.towards);
        [a, b, c, d].map(|d| self.reach(middle, d) + self.reach(middle, -d))
    }

    /// From a point inside to the surface, mm.
    fn reach(&self, from: Vec3, way: Vec3) -> f64 {
        self.bvh.ray(from, way, 0.0).map_or(f64::INFINITY, |touch| touch.reach)
    }

    /// Whether what is as narrow as a pin joins something wide or thick that way.
    fn widens(&self, sample: &Sample, way: Vec3, side: Vec3) -> bool {
        let middle = (sample.at + sample.across) * 0.5;
        let step = (0.5 * sample.value).max(LEAST_STEP);
        let size = |at: Vec3, d: Vec3| self.reach(at, d) + self.reach(at, -d);
        let steps = (self.reach(middle, way) / step).min(f64::from(STEPS)) as u32;
        (1..=steps).map(|i| middle + way * (step * f64::from(i))).any(|at| {
            size(at, side) > PIN * sample.value || size(at, sample.towards) >= THICK * sample.value
        })
    }

    fn around(&self, sample: &Sample) -> [(End, f64); 8] {
        directions(sample.towards).map(|d| self.walk(sample, d))
    }

    fn walk(&self, sample: &Sample, start: Vec3) -> (End, f64) {
        let mut step = (0.5 * sample.value).max(LEAST_STEP);
        let (mut p, mut t) = (sample.at, start);
        // Not the triangle's: a sample in a corner may belong to either face.
        let mut n = sample.towards * self.facing;
        let mut gone = 0.0;
        for _ in 0..STEPS {
            // Not through a thin wall to its other side.
            let same_side = |i: u32| self.topology.normals[i as usize].dot(&n) > OTHER_SIDE;
            let Some(touch) = self.bvh.nearest(p + t * step, 2.0 * step, same_side) else {
                return (End::Edge, gone);
            };
            let normal = self.topology.normals[touch.triangle as usize];
            let forward = (touch.at - p).dot(&t);
            // Whether something rises before it: it is held then.
            let risen = || {
                let before = self.bvh.ray(p + n * (0.25 * step), t, 0.0);
                let held = before.is_some_and(|hit| hit.reach < 1.5 * step);
                if held { End::Held } else { End::Edge }
            };
            if normal.dot(&n) < EDGE {
                let along = normal.dot(&t);
                let end = match along {
                    // A face along the way, met from beside: it tells nothing.
                    _ if along.abs() < ALONG => risen(),
                    _ if along > 0.0 => End::Edge,
                    _ => End::Held,
                };
                return (end, gone + forward.max(0.0));
            }
            if forward < 0.25 * step {
                // At a corner, where both faces are equally near.
                return (risen(), gone + forward.max(0.0));
            }
            gone += (touch.at - p).norm();
            p = touch.at;
            n = normal;
            let Some(along) = (t - n * t.dot(&n)).try_normalize(0.0) else {
                return (End::Edge, gone);
            };
            t = along;
            if self.probe.at(p, touch.triangle).value >= THICK * sample.value {
                return (End::Held, gone);
            }
            if gone > 4.0 * step && (p - sample.at).norm() < step && t.dot(&start) > EDGE {
                return (End::Ring, gone);
            }
            step *= GROWTH;
        }
        (End::Far, gone)
    }
}

/// The direction in which the wall is held first.
fn nearest_held(ends: &[(End, f64); 8]) -> Option<usize> {
    let held = (0..8).filter(|&k| ends[k].0 == End::Held);
    held.min_by(|&a, &b| ends[a].1.total_cmp(&ends[b].1))
}

/// Eight directions square to `d`, in turn; the first four and the last four
/// are opposite.
fn directions(d: Vec3) -> [Vec3; 8] {
    let x = d.cross(&least_axis(d)).normalize();
    let y = d.cross(&x);
    std::array::from_fn(|k| {
        let (sin, cos) = (FRAC_PI_4 * k as f64).sin_cos();
        x * cos + y * sin
    })
}
