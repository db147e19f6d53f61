//! Sectors about the bore's axis, for gaps and shells.

use super::fixing::Axes;
use crate::measure::Vec2;
use crate::measure::frame::direction;
use crate::section::{Region, Seg};

/// Largest angle between two corners of a sector's outer side, degrees: it lies
/// at twice the wanted reach or nearer, and never within.
const STEP: f64 = 60.0;
/// How much further out the corners are than the sector must reach.
const FURTHER: f64 = 1.5;

/// All points between two clockings (degrees, counter-clockwise from the first
/// to the second), out to at least `reach` mm. Its sides are not moved to the
/// grid.
pub(super) fn wedge(from: f64, to: f64, reach: f64) -> Region {
    let steps = ((to - from) / STEP).ceil().max(1.0);
    let corner = |k: u32| {
        let angle = from + (to - from) * f64::from(k) / steps;
        Axes::new(direction(angle)).along * (FURTHER * reach)
    };
    let corners = (0..=steps as u32).map(corner);
    let points: Vec<Vec2> = [Vec2::zeros()].into_iter().chain(corners).collect();
    let n = points.len();
    let sides: Vec<Seg> = (0..n).map(|i| Seg::line(points[i], points[(i + 1) % n])).collect();
    Region::from_outlines(&[sides]).expect("a fan about the axis closes")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn wedges_take_their_share_of_a_disc() {
        let disc = Region::disc(Vec2::zeros(), 10.0);
        for (from, to) in
            [(0.0, 30.0), (-20.0, 40.0), (300.0, 400.0), (10.0, 200.0), (-90.0, 210.0)]
        {
            let found = disc.intersection(&wedge(from, to, 10.0)).area();
            let wanted = PI * 100.0 * (to - from) / 360.0;
            assert!((found - wanted).abs() < 1e-6, "{from} {to}: {found} {wanted}");
        }
    }
}
