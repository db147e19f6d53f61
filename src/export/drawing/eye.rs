//! From where a view is taken.

use crate::measure::{Vec2, Vec3};

/// An eye far away: what lies to the right and up in its view.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eye {
    right: Vec3,
    up: Vec3,
    toward: Vec3,
}

impl Eye {
    /// An eye with these directions in its view, which must be perpendicular unit vectors.
    pub fn new(right: Vec3, up: Vec3) -> Eye {
        Eye { right, up, toward: right.cross(&up) }
    }

    /// The direction to the right in the view.
    pub fn right(&self) -> Vec3 {
        self.right
    }

    /// The direction that is up in the view.
    pub fn up(&self) -> Vec3 {
        self.up
    }

    /// The direction from the body towards the eye.
    pub fn toward(&self) -> Vec3 {
        self.toward
    }

    /// A point in the view: right, up, and towards the eye, mm.
    pub fn see(&self, p: Vec3) -> Vec3 {
        Vec3::new(p.dot(&self.right), p.dot(&self.up), p.dot(&self.toward))
    }

    /// A point in the picture plane, mm.
    pub fn flat(&self, p: Vec3) -> Vec2 {
        self.see(p).xy()
    }
}
