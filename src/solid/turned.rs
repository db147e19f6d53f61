//! A solid turned and moved.

use super::{Brep, Curve, Edge, Face, Solid, Surface};
use crate::measure::Vec3;

/// Where a solid's own axes point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placing {
    /// Where its origin goes, mm.
    pub origin: Vec3,
    /// Unit vector that its x turns to.
    pub x: Vec3,
    /// Unit vector that its y turns to, square to `x`; z follows right-handed.
    pub y: Vec3,
}

impl Placing {
    fn turn(&self, v: Vec3) -> Vec3 {
        self.x * v.x + self.y * v.y + self.x.cross(&self.y) * v.z
    }

    fn place(&self, p: Vec3) -> Vec3 {
        self.origin + self.turn(p)
    }

    fn curve(&self, curve: &Curve) -> Option<Curve> {
        Some(match curve {
            Curve::Line { from, to } => {
                Curve::Line { from: self.place(*from), to: self.place(*to) }
            }
            Curve::Circle { centre, x, y, radius, from, to } => Curve::Circle {
                centre: self.place(*centre),
                x: self.turn(*x),
                y: self.turn(*y),
                radius: *radius,
                from: *from,
                to: *to,
            },
            Curve::Ellipse { centre, x, y, from, to } => Curve::Ellipse {
                centre: self.place(*centre),
                x: self.turn(*x),
                y: self.turn(*y),
                from: *from,
                to: *to,
            },
            Curve::Traced { .. } => return None,
        })
    }

    fn surface(&self, surface: &Surface) -> Surface {
        match *surface {
            Surface::Plane { origin, normal, x } => Surface::Plane {
                origin: self.place(origin),
                normal: self.turn(normal),
                x: self.turn(x),
            },
            Surface::Cylinder { origin, axis, x, radius } => Surface::Cylinder {
                origin: self.place(origin),
                axis: self.turn(axis),
                x: self.turn(x),
                radius,
            },
            Surface::Cone { origin, axis, x, radius, slope } => Surface::Cone {
                origin: self.place(origin),
                axis: self.turn(axis),
                x: self.turn(x),
                radius,
                slope,
            },
        }
    }
}

impl Solid {
    /// The same solid elsewhere; none if it has traced edges, as bores through
    /// curved walls have.
    pub fn placed(&self, placing: &Placing) -> Option<Solid> {
        let brep = self.brep();
        let edge = |e: &Edge| Some(Edge { curve: placing.curve(&e.curve)?, ..*e });
        let face = |f: &Face| Face {
            surface: placing.surface(&f.surface),
            flipped: f.flipped,
            loops: f.loops.clone(),
        };
        Solid::new(Brep {
            vertices: brep.vertices.iter().map(|&p| placing.place(p)).collect(),
            edges: brep.edges.iter().map(edge).collect::<Option<Vec<_>>>()?,
            faces: brep.faces.iter().map(face).collect(),
        })
        .ok()
    }
}
