//! Sunk marks, and how near to one another what is cut into a section lies.

use super::fixing::Axes;
use crate::measure::{Param, Unit, Vec2};
use crate::section::{Region, Seg};

/// Depth of sunk marks, for the tables of parts.
pub(super) const MARK_DEPTH: Param =
    Param::number("mark_depth", Unit::Mm, (0.0, 2.0), "Depth of the sunk marks; 0 for none.")
        .or(0.6);

/// A chamfer takes at most a third of the slab at its end (see
/// [`super::build::chamfered`]), so that marks there are at least three as deep.
const SLABS: f64 = 3.0;

/// Depth of a mark in an end face that has a chamfer, mm; 0 for no mark.
pub(super) fn face_depth(mark: f64, chamfer: f64) -> f64 {
    if mark > 0.0 { mark.max(SLABS * chamfer) } else { 0.0 }
}

/// A sunk line `width` mm wide, `from` and `to` mm from the axis.
pub(super) fn line(axes: &Axes, width: f64, from: f64, to: f64) -> Region {
    axes.quad((-0.5 * width, 0.5 * width), (from, to))
}

/// Length between two points that are looked at, mm.
const STEP: f64 = 0.1;

/// Distance between two regions, mm: 0 where they meet, infinite where one is
/// empty. Curves are looked at every tenth of a millimetre, which is right to
/// a hundredth from a distance of a tenth on.
pub(super) fn apart(one: &Region, other: &Region) -> f64 {
    if !one.intersection(other).is_empty() {
        return 0.0;
    }
    near(one, other).min(near(other, one))
}

fn near(one: &Region, other: &Region) -> f64 {
    let points = |s: &Seg| -> Vec<Vec2> {
        let count = (s.length() / STEP).ceil().max(1.0);
        (0..=count as usize).map(|k| s.at(k as f64 / count)).collect()
    };
    let pieces = one.loops().iter().flatten();
    pieces.flat_map(points).map(|p| other.boundary_distance(p)).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_of_discs_and_bars() {
        let disc = Region::disc(Vec2::zeros(), 5.0);
        let far = Region::disc(Vec2::new(12.0, 0.0), 4.0);
        assert!((apart(&disc, &far) - 3.0).abs() < 0.01);
        let axes = Axes::new(Vec2::y());
        let bar = line(&axes, 1.0, 6.0, 9.0);
        assert!((apart(&bar, &disc) - 1.0).abs() < 0.01);
        assert_eq!(apart(&line(&axes, 1.0, 4.0, 9.0), &disc), 0.0);
        assert_eq!(apart(&disc, &Region::empty()), f64::INFINITY);
    }

    #[test]
    fn marks_at_an_end_are_deep_enough_for_its_chamfer() {
        assert_eq!(face_depth(0.6, 0.4), 3.0 * 0.4);
        assert_eq!(face_depth(0.6, 0.1), 0.6);
        assert_eq!(face_depth(0.0, 0.4), 0.0);
    }
}
