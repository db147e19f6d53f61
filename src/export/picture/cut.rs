//! Bodies cut by a plane: what lies before it, as the eye sees, is taken away.

use super::scene::Frame;
use crate::measure::Vec3;
use crate::mesh::Mesh;

/// A plane square to an axis of the handle, at a place of the body's own frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// The axis that it is square to: 0 for x, 1 for y, 2 for z.
    pub axis: usize,
    /// Where it crosses that axis, mm.
    pub at: f64,
}

/// Least share of a view's direction that must go through the plane: sine of 1 degree.
/// A plane seen from its edge has no cut face.
const LEAST_SLOPE: f64 = 0.0175;

impl Cut {
    /// Whether a view in that direction sees the cut's face.
    pub fn is_seen(&self, direction: &Vec3) -> bool {
        direction
            .try_normalize(f64::MIN_POSITIVE)
            .is_some_and(|d| self.slope(&d).abs() > LEAST_SLOPE)
    }

    fn slope(&self, away: &Vec3) -> f64 {
        away.get(self.axis).copied().unwrap_or(0.0)
    }
}

/// The plane in the picture's frame, of one body: mm right and up, mm deep.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    /// Points away from the eye.
    normal: Vec3,
    offset: f64,
}

impl Plane {
    /// The plane through a body that is moved by `shift`; none if it is seen from its edge.
    pub(super) fn of(cut: &Cut, frame: &Frame, shift: Vec3) -> Option<Plane> {
        let mut axis = Vec3::zeros();
        *axis.get_mut(cut.axis)? = 1.0;
        let seen = frame.to_frame(axis);
        if seen.z.abs() <= LEAST_SLOPE {
            return None;
        }
        let normal = seen * seen.z.signum();
        Some(Plane { normal, offset: seen.z.signum() * (cut.at + axis.dot(&shift)) })
    }

    /// Whether a point is taken away.
    pub(super) fn takes(&self, p: &Vec3) -> bool {
        self.normal.dot(p) < self.offset
    }

    /// What is left of a mesh, given by its vertices in the frame, fits between these corners;
    /// none if nothing is left.
    pub(super) fn extent(&self, mesh: &Mesh, points: &[Vec3]) -> Option<(Vec3, Vec3)> {
        let beyond = |p: &Vec3| self.normal.dot(p) - self.offset;
        let crossings = mesh.edges().into_iter().filter_map(|([a, b], _)| {
            let (p, q) = (points[a as usize], points[b as usize]);
            let (u, v) = (beyond(&p), beyond(&q));
            (u * v < 0.0).then(|| p + (q - p) * (u / (u - v)))
        });
        let left = points.iter().copied().filter(|p| !self.takes(p));
        left.chain(crossings).map(|p| (p, p)).reduce(|(lo, hi), (p, _)| (lo.inf(&p), hi.sup(&p)))
    }

    /// How deep the plane lies at a place of the picture, mm.
    pub(super) fn depth(&self, right: f64, up: f64) -> f64 {
        (self.offset - self.normal.x * right - self.normal.y * up) / self.normal.z
    }
}
