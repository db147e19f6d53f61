//! Profiles laid on walls: the exact curves where a bore meets a face.

use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::Arc as Shared;

use super::{Curve, Face, Surface, Trace};
use crate::measure::{Vec2, Vec3};
use crate::section::{Arc, Seg};

/// The frame of a bore: `across`, z and `along` are right-handed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub along: Vec3,
    pub across: Vec3,
    pub centre: Vec2,
}

impl Frame {
    /// The point at profile coordinates `p` and distance `t` along the bore.
    pub(super) fn lift(&self, p: Vec2, t: f64) -> Vec3 {
        self.across * p.x + Vec3::z() * p.y + self.along * t
    }

    /// Profile coordinates and distance of a point.
    pub(super) fn local(&self, p: Vec3) -> (Vec2, f64) {
        (Vec2::new(p.dot(&self.across), p.z), p.dot(&self.along))
    }
}

/// A surface that a bore enters or leaves through.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wall {
    surface: Surface,
    /// Which of the two points where a line meets a cylinder is meant: -1 for
    /// the first one along the bore, 1 for the second.
    side: f64,
}

impl Wall {
    pub(super) fn new(face: &Face, entering: bool) -> Wall {
        // Material lies inside a cylinder whose normal is not flipped: one
        // enters it on the near side, and on the far side of any other.
        let side = if entering == face.flipped { 1.0 } else { -1.0 };
        Wall { surface: face.surface, side }
    }

    /// The plane across the bore at distance `t`.
    pub(super) fn across(frame: &Frame, t: f64) -> Wall {
        let origin = frame.lift(frame.centre, t);
        let surface = Surface::Plane { origin, normal: -frame.along, x: frame.across };
        Wall { surface, side: -1.0 }
    }

    /// Distance along the bore at which the line through `p` meets the wall;
    /// not a number where it misses.
    pub(super) fn depth(&self, frame: &Frame, p: Vec2) -> f64 {
        let base = frame.lift(p, 0.0);
        match self.surface {
            Surface::Plane { origin, normal, .. } => {
                (origin - base).dot(&normal) / frame.along.dot(&normal)
            }
            Surface::Cylinder { origin, axis, radius, .. } => {
                let flat = |v: Vec3| v - axis * v.dot(&axis);
                let (d, off) = (flat(frame.along), flat(base - origin));
                let len = d.norm();
                let mid = -off.dot(&d) / (len * len);
                let miss = (off + d * mid).norm();
                let half = ((radius - miss) * (radius + miss)).sqrt() / len;
                mid + self.side * half
            }
            // No bore is accepted through a cone.
            Surface::Cone { .. } => f64::NAN,
        }
    }

    fn point(&self, frame: &Frame, p: Vec2) -> Vec3 {
        frame.lift(p, self.depth(frame, p))
    }

    /// The exact curve of a profile piece laid on the wall.
    pub(super) fn curve(&self, frame: &Frame, piece: &Seg) -> Curve {
        let (from, to) = (self.point(frame, piece.a), self.point(frame, piece.b));
        match (self.surface, piece.arc) {
            (Surface::Plane { .. }, None) => Curve::Line { from, to },
            (Surface::Plane { normal, .. }, Some(arc)) if normal.z == 0.0 => {
                let lean = frame.across.dot(&normal) / frame.along.dot(&normal);
                let centre = self.point(frame, arc.centre);
                let y = if arc.ccw { Vec3::z() } else { -Vec3::z() };
                let (a0, a1) = half_angles(&arc, piece);
                if lean == 0.0 {
                    let x = frame.across;
                    return Curve::Circle { centre, x, y, radius: arc.radius, from: a0, to: a1 };
                }
                let x = (frame.across - frame.along * lean) * arc.radius;
                Curve::Ellipse { centre, x, y: y * arc.radius, from: a0, to: a1 }
            }
            (Surface::Cylinder { axis, .. }, None)
                if axis == Vec3::z() && piece.a.x == piece.b.x =>
            {
                Curve::Line { from, to }
            }
            (Surface::Cylinder { origin, axis, radius, .. }, None)
                if axis == Vec3::z() && piece.a.y == piece.b.y =>
            {
                let centre = Vec3::new(origin.x, origin.y, piece.a.y);
                let angle = |p: Vec3| (p.y - centre.y).atan2(p.x - centre.x);
                let turn = (angle(to) - angle(from) + PI).rem_euclid(2.0 * PI) - PI;
                let y = if turn > 0.0 { Vec3::y() } else { -Vec3::y() };
                let a0 = if turn > 0.0 { angle(from) } else { -angle(from) };
                let a1 = a0 + turn.abs();
                Curve::Circle { centre, x: Vec3::x(), y, radius, from: a0, to: a1 }
            }
            _ => {
                let trace = Laid { frame: *frame, wall: *self, piece: *piece };
                Curve::Traced { trace: Shared::new(trace), from: 0.0, to: trace.extent() }
            }
        }
    }
}

/// First and last angle of an arc about its centre, growing in its own sense.
fn half_angles(arc: &Arc, piece: &Seg) -> (f64, f64) {
    let d = piece.a - arc.centre;
    let from = (if arc.ccw { d.y } else { -d.y }).atan2(d.x);
    (from, from + piece.sweep())
}

/// A profile piece laid on a curved wall: by angle for an arc, by fraction for
/// a line.
#[derive(Clone, Copy, Debug)]
struct Laid {
    frame: Frame,
    wall: Wall,
    piece: Seg,
}

impl Laid {
    fn extent(&self) -> f64 {
        if self.piece.arc.is_some() { self.piece.sweep() } else { 1.0 }
    }
}

impl Trace for Laid {
    fn point(&self, t: f64) -> Vec3 {
        self.wall.point(&self.frame, self.piece.at(t / self.extent()))
    }

    fn derivative(&self, t: f64) -> Vec3 {
        let p = self.piece.at(t / self.extent());
        let rate = match self.piece.arc {
            Some(arc) => arc.tangent(p) * arc.radius,
            None => self.piece.b - self.piece.a,
        };
        let flat = self.frame.lift(rate, 0.0);
        let normal = self.wall.surface.normal(self.wall.point(&self.frame, p));
        flat - self.frame.along * (flat.dot(&normal) / self.frame.along.dot(&normal))
    }

    fn spans_per_unit(&self) -> f64 {
        48.0 / (4.0 * FRAC_PI_2)
    }
}
