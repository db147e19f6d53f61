//! The hole that a lamp shines through.

use super::look::Sightline;
use crate::measure::Vec2;

/// A straight hole along z.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    /// Its middle, mm.
    pub middle: Vec2,
    /// Its diameter, or the side of a square along x and y, mm.
    pub width: f64,
    /// Whether it is round.
    pub round: bool,
    /// Its ends, z mm.
    pub ends: (f64, f64),
}

impl Hole {
    /// Least width, mm, of a hole there that a line still passes by; none if it
    /// does not go through this hole. Narrower ones stop it.
    pub fn needed(&self, line: &Sightline) -> Option<f64> {
        let ray = line.ray();
        let across = |z: f64| {
            let reach = (z - ray.from.z) / ray.along.z;
            let p = ray.at(reach).xy() - self.middle;
            let half = if self.round { p.norm() } else { p.amax() };
            (reach >= 0.0).then_some(2.0 * half)
        };
        let width = across(self.ends.0)?.max(across(self.ends.1)?);
        (width <= self.width).then_some(width)
    }

    /// Width, mm, below which a hole there stops all lines; none where some do
    /// not go through it.
    pub fn stops_all(&self, lines: &[Sightline]) -> Option<f64> {
        lines.iter().try_fold(self.width, |least, line| Some(least.min(self.needed(line)?)))
    }
}
