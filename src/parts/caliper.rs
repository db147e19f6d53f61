//! Where a caliper reads a size off a body, for drawings: the line that its jaws or its depth
//! rod lie on. What they find there is measured on the solid, not told by the part.

use super::Computed;
use crate::measure::{Vec2, Vec3};

/// A line through a body, and how it is read along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Caliper {
    /// A point of the line, mm.
    pub through: Vec3,
    /// Its unit direction; of a depth, from the floor to the face that the rod stands out of.
    pub along: Vec3,
    /// What is read.
    pub jaws: Jaws,
    /// Whether it is a diameter.
    pub round: bool,
}

/// What of a body is read along a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Jaws {
    /// From the first to the last surface: jaws closed over the body.
    Over,
    /// Between the surfaces next to the point on either side: jaws in a gap, or over a wall.
    Between,
    /// From the surface behind the point to the body's furthest face: the depth rod.
    Depth,
}

impl Caliper {
    fn new(through: Vec3, along: Vec3, jaws: Jaws) -> Caliper {
        Caliper { through, along: along.normalize(), jaws, round: false }
    }

    /// Over the whole body along a line.
    pub(super) fn over(through: Vec3, along: Vec3) -> Caliper {
        Caliper::new(through, along, Jaws::Over)
    }

    /// Across the gap, or the wall, around a point.
    pub(super) fn between(through: Vec3, along: Vec3) -> Caliper {
        Caliper::new(through, along, Jaws::Between)
    }

    /// Down from the body's furthest face `along` to what lies on the other side of a point.
    pub(super) fn depth(through: Vec3, along: Vec3) -> Caliper {
        Caliper::new(through, along, Jaws::Depth)
    }

    /// The same as a diameter.
    pub(super) fn round(self) -> Caliper {
        Caliper { round: true, ..self }
    }
}

/// A point of a section at a height.
pub(super) fn at(p: Vec2, z: f64) -> Vec3 {
    Vec3::new(p.x, p.y, z)
}

impl Computed {
    /// Rows of which those named, where they are there, are read so.
    pub(super) fn gauged<K: AsRef<str>>(
        mut rows: Vec<Computed>,
        lines: impl IntoIterator<Item = (K, Caliper)>,
    ) -> Vec<Computed> {
        for (key, caliper) in lines {
            for row in rows.iter_mut().filter(|row| row.key == key.as_ref()) {
                row.caliper = Some(caliper);
            }
        }
        rows
    }
}
