//! A face's boundary laid flat: planes as they are, round walls unrolled.

use super::grid::AngleGrid;
use super::samples::Samples;
use crate::measure::Vec3;
use crate::solid::{Brep, Face, Surface};

/// Angles nearer than this, in steps, are one angle: corners along one
/// generator of a wall then unroll to one exact abscissa (float noise).
const Q_EPSILON: f64 = 1e-9;

/// Steps a mm to which corners in a plane are rounded (2.3e-10 mm): corners in
/// line with a plane's axis then are so exactly, in spite of float noise.
pub(super) const PLANE_GRID: f64 = 4_294_967_296.0;

/// The boundary of a face in the plane, counter-clockwise around material.
#[derive(Default)]
pub(super) struct Outline {
    /// Per corner: its mesh vertex.
    pub(super) ids: Vec<u32>,
    /// Per corner: its place in the plane, mm.
    pub(super) at: Vec<[f64; 2]>,
    /// Per corner of a round wall: its angle in grid steps; empty for a plane.
    pub(super) q: Vec<f64>,
    /// First corner of each loop; one more entry at the end.
    pub(super) starts: Vec<u32>,
}

/// Why a face cannot be meshed as sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Trouble {
    /// Where, mm.
    pub(super) at: Vec3,
    /// What.
    pub(super) reason: Reason,
}

/// What went wrong in a face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Reason {
    /// The sampled boundary meets itself.
    Crossing,
    /// Two curves between the same corners became one.
    Folded,
    /// A round face runs around its whole axis.
    Wraps,
    /// The loops do not run around material on their left.
    InsideOut,
    /// A triangle has no area.
    Degenerate,
}

impl Outline {
    /// Lays `face` flat.
    pub(super) fn lay(
        &mut self,
        brep: &Brep,
        face: &Face,
        grid: Option<&AngleGrid>,
        samples: &Samples,
    ) -> Result<(), Trouble> {
        self.ids.clear();
        self.at.clear();
        self.q.clear();
        self.starts.clear();
        for uses in &face.loops {
            self.starts.push(self.ids.len() as u32);
            for &u in uses {
                self.ids.extend(samples.along(brep, u));
            }
        }
        self.starts.push(self.ids.len() as u32);
        let sense = if face.flipped { -1.0 } else { 1.0 };
        match (face.surface, grid) {
            (Surface::Plane { origin, normal, x }, _) => {
                let y = normal.cross(&x) * sense;
                self.at.extend(self.ids.iter().map(|&id| {
                    let d = samples.points[id as usize] - origin;
                    [d.dot(&x), d.dot(&y)].map(|c| (c * PLANE_GRID).round() / PLANE_GRID)
                }));
                Ok(())
            }
            (_, Some(grid)) => self.unroll(grid, samples, sense),
            (_, None) => unreachable!("round faces have a grid"),
        }
    }

    /// The loops as ranges of corners.
    pub(super) fn loops(&self) -> impl Iterator<Item = std::ops::Range<usize>> + '_ {
        self.starts.windows(2).map(|w| w[0] as usize..w[1] as usize)
    }

    fn unroll(&mut self, grid: &AngleGrid, samples: &Samples, sense: f64) -> Result<(), Trouble> {
        let turn = f64::from(grid.count);
        let mut middle = None;
        for w in 0..self.starts.len() - 1 {
            let (start, end) = (self.starts[w] as usize, self.starts[w + 1] as usize);
            let mut last = 0.0;
            for i in start..end {
                let p = samples.points[self.ids[i] as usize];
                let q = if i == start { grid.q(p) } else { grid.q_near(p, last) };
                let settled = grid.settle(q, samples.is_corner(self.ids[i]));
                last = if i > start && (settled - last).abs() < Q_EPSILON { last } else { settled };
                self.q.push(last);
            }
            let first = self.q[start];
            for i in (start..end).rev() {
                if (self.q[i] - first).abs() >= Q_EPSILON {
                    break;
                }
                self.q[i] = first;
            }
            if (last - first).abs() > 0.5 * turn {
                let at = samples.points[self.ids[start] as usize];
                return Err(Trouble { at, reason: Reason::Wraps });
            }
            self.check_steps(start..end, samples)?;
            // A hole belongs on the sheet of the outer loop.
            match middle {
                None => middle = Some(centre_of(&self.q[start..end])),
                Some(m) => {
                    let shift = turn * ((m - centre_of(&self.q[start..end])) / turn).round();
                    self.q[start..end].iter_mut().for_each(|q| *q += shift);
                }
            }
        }
        let scale = grid.step * grid.radius;
        for (i, &id) in self.ids.iter().enumerate() {
            let v = grid.height(samples.points[id as usize]);
            self.at.push([self.q[i] * scale, v * sense]);
        }
        Ok(())
    }

    /// No piece of the boundary may pass over a grid line.
    fn check_steps(&self, range: std::ops::Range<usize>, samples: &Samples) -> Result<(), Trouble> {
        for i in range.clone() {
            let next = if i + 1 == range.end { range.start } else { i + 1 };
            let (a, b) = (self.q[i], self.q[next]);
            if a.min(b).floor() + 1.0 < a.max(b) {
                let at = samples.points[self.ids[i] as usize];
                return Err(Trouble { at, reason: Reason::Crossing });
            }
        }
        Ok(())
    }
}

fn centre_of(q: &[f64]) -> f64 {
    let low = q.iter().copied().fold(f64::INFINITY, f64::min);
    let high = q.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    0.5 * (low + high)
}
