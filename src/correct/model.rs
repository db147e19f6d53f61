//! The model: how the size of a print follows from the size that was drawn.
//!
//! With drawn size `n`, scale `s` of the axis, growth `g` of every upright
//! surface, shrinkage `h` of the diameter of upright round holes and flare `f`
//! of the first layer on each side:
//!
//! - over the outside: `s n + 2 g`, on the first layer `s n + 2 g + 2 f`;
//! - across a gap: `s n - 2 g`;
//! - across a round hole: `s n - h`;
//! - along z, where only level faces are: `s n`.
//!
//! The size that was drawn is that of the print file: if this made up for the
//! printer already, it is taken back from the size that was wanted.

use super::compensate::{Compensation, LARGEST_DRAWN_HOLE};
use crate::measure::{Axis, Measured, Vec3};

/// A size of a test print with its readings.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeRow {
    /// What messages call it.
    pub name: String,
    /// What was measured.
    pub what: Measured,
    /// Along which axis; none for a hole that was read across both x and y.
    pub axis: Option<Axis>,
    /// The size as wanted, mm.
    pub nominal: f64,
    /// What the caliper said, mm; at least one.
    pub readings: Vec<f64>,
}

/// What is fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Printed over drawn along an axis.
    Scale(Axis),
    /// Growth of an upright surface, mm.
    Growth,
    /// Shrinkage of the diameter of an upright round hole, mm.
    HoleShrink,
    /// Bulge of the first layer, mm on each side.
    Flare,
}

/// How many effects there are.
pub const COUNT: usize = 6;

impl Effect {
    /// All of them, in the order of [`Effect::index`].
    pub const ALL: [Effect; COUNT] = [
        Effect::Scale(Axis::X),
        Effect::Scale(Axis::Y),
        Effect::Scale(Axis::Z),
        Effect::Growth,
        Effect::HoleShrink,
        Effect::Flare,
    ];

    /// Its place in [`Effect::ALL`].
    pub fn index(self) -> usize {
        match self {
            Effect::Scale(axis) => axis as usize,
            Effect::Growth => 3,
            Effect::HoleShrink => 4,
            Effect::Flare => 5,
        }
    }

    /// In words, for a table.
    pub fn what(self) -> &'static str {
        match self {
            Effect::Scale(Axis::X) => "scale along x",
            Effect::Scale(Axis::Y) => "scale along y",
            Effect::Scale(Axis::Z) => "scale along z",
            Effect::Growth => "growth of a surface",
            Effect::HoleShrink => "shrinkage of a hole",
            Effect::Flare => "flare of the first layer",
        }
    }

    /// Its value for a printer that makes what is drawn.
    pub fn none(self) -> f64 {
        match self {
            Effect::Scale(_) => 1.0,
            Effect::Growth | Effect::HoleShrink | Effect::Flare => 0.0,
        }
    }
}

impl SizeRow {
    /// By how much the printed size changes with each effect, if its file made up
    /// for `before`.
    pub(super) fn line(&self, before: Option<&Compensation>) -> Vec<f64> {
        let scales = before.map_or(Vec3::repeat(1.0), |before| before.scales);
        let drawn = self.nominal + self.drawn_out(before);
        let upright = self.axis != Some(Axis::Z);
        let mut line = vec![0.0; COUNT];
        // Read both ways, it is the mean of both.
        let axes = self.axis.map_or(vec![Axis::X, Axis::Y], |axis| vec![axis]);
        for axis in &axes {
            let share = (axes.len() as f64).recip();
            line[Effect::Scale(*axis).index()] = share * drawn / scales[*axis as usize];
        }
        match self.what {
            _ if !upright => {}
            Measured::Outside => line[Effect::Growth.index()] = 2.0,
            Measured::Gap => line[Effect::Growth.index()] = -2.0,
            Measured::Hole => line[Effect::HoleShrink.index()] = -1.0,
            Measured::FirstLayer => {
                line[Effect::Growth.index()] = 2.0;
                line[Effect::Flare.index()] = 2.0;
            }
        }
        line
    }

    /// How much larger than wanted it was drawn to make up for growth, mm.
    fn drawn_out(&self, before: Option<&Compensation>) -> f64 {
        let Some(before) = before.filter(|_| self.axis != Some(Axis::Z)) else { return 0.0 };
        let left = before.holes_drawn && self.nominal <= LARGEST_DRAWN_HOLE;
        match self.what {
            Measured::Outside | Measured::FirstLayer => -2.0 * before.growth,
            Measured::Hole if left => 0.0,
            Measured::Gap | Measured::Hole => 2.0 * before.growth,
        }
    }

    /// Mean of the readings, mm.
    pub fn mean(&self) -> f64 {
        self.readings.iter().sum::<f64>() / self.readings.len() as f64
    }
}
