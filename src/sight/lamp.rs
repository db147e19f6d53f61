//! A source of light with its body.

use super::ray::Ray;
use crate::measure::Vec3;

/// A block whose front glows by Lambert's law (an LED with a full angle of 120
/// degrees does so), and whose sides can be seen as well.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lamp {
    /// Middle of its front, mm.
    pub middle: Vec3,
    /// From there to the middles of two of its sides, mm; square to each other.
    pub halves: [Vec3; 2],
    /// Unit normal of its front.
    pub ahead: Vec3,
    /// How far its sides reach back, mm.
    pub depth: f64,
}

/// Additive steps of evenly spread points in the unit square: 1/g and 1/g^2 for
/// the real root g of g^3 = g + 1 (M. Roberts, 2018, from memory).
const STEPS: [f64; 2] = [0.754_877_666_246_692_7, 0.569_840_290_998_053_2];

/// Number `index` of an evenly spread sequence in the unit square that starts
/// at `shift`.
pub(super) fn spread(index: usize, shift: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|i| (shift[i] + STEPS[i] * index as f64).fract())
}

impl Lamp {
    /// Area of its front, mm2.
    pub fn front(&self) -> f64 {
        4.0 * self.halves[0].norm() * self.halves[1].norm()
    }

    /// Area of its four sides, mm2.
    pub fn sides(&self) -> f64 {
        4.0 * self.depth * (self.halves[0].norm() + self.halves[1].norm())
    }

    /// The point of its front at two shares of its width and length, with the
    /// outward normal.
    pub(super) fn on_front(&self, [a, b]: [f64; 2]) -> (Vec3, Vec3) {
        let [u, v] = self.halves;
        (self.middle + u * (2.0 * a - 1.0) + v * (2.0 * b - 1.0), self.ahead)
    }

    /// The point of its sides at two shares, of the way around and of the
    /// depth, with the outward normal.
    pub(super) fn on_sides(&self, [around, back]: [f64; 2]) -> (Vec3, Vec3) {
        let [u, v] = self.halves;
        let (lu, lv) = (u.norm(), v.norm());
        // Twice around half of the girth: one side of each pair, then its
        // opposite.
        let (half, rest) = if around < 0.5 { (1.0, around) } else { (-1.0, around - 0.5) };
        let place = 2.0 * rest * (lu + lv);
        let (out, beside) = if place < lv {
            (u, v * (2.0 * place / lv - 1.0))
        } else {
            (v, u * (2.0 * (place - lv) / lu - 1.0))
        };
        let at = self.middle + out * half + beside - self.ahead * (self.depth * back);
        (at, out.normalize() * half)
    }
}

/// The ray from `from` at two shares of Lambert's law about the unit normal
/// `ahead`: the square of the sine is even.
pub(super) fn lambert(from: Vec3, ahead: Vec3, [a, b]: [f64; 2]) -> Ray {
    let beside = if ahead.x.abs() < 0.5 { Vec3::x() } else { Vec3::y() };
    let x = ahead.cross(&beside).normalize();
    let y = ahead.cross(&x);
    let (sin, cos) = (std::f64::consts::TAU * b).sin_cos();
    let aside = a.sqrt();
    let along = x * (aside * cos) + y * (aside * sin) + ahead * (1.0 - a).sqrt();
    Ray { from, along: along.normalize() }
}
