//! The region type: loops with the material to the left.

use super::{Seg, VertexTable, arrange, trace_loops};
use crate::measure::Vec2;

/// A set of closed loops with the material to the left: outer boundaries run
/// counter-clockwise, holes clockwise. No loops: the empty region.
///
/// What is made from numbers that are not finite or beyond a metre is undefined
/// ([`Region::is_undefined`]), and so is all that is made of it: a hole that is
/// not a hole never goes unnoticed, because a stack refuses such sections.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region {
    pub(super) loops: Vec<Vec<Seg>>,
}

/// Why given loops are not a region.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RegionError {
    /// A coordinate or radius is not finite or absurdly large.
    #[error("coordinate {value} is outside -{limit}..{limit} mm")]
    Coordinate {
        /// The value.
        value: f64,
        /// Largest allowed size, mm.
        limit: f64,
    },
    /// A piece does not start where the one before it ends.
    #[error("the outline is open at ({:.3}, {:.3}): the next piece starts at ({:.3}, {:.3})", end.x, end.y, start.x, start.y)]
    Open {
        /// End of a piece, mm.
        end: Vec2,
        /// Start of the next, mm.
        start: Vec2,
    },
    /// The ends of an arc do not lie on its circle.
    #[error("the arc end ({:.4}, {:.4}) is {off:.4} mm off its circle of radius {radius}", at.x, at.y)]
    OffCircle {
        /// The end, mm.
        at: Vec2,
        /// Distance from the circle, mm.
        off: f64,
        /// Radius, mm.
        radius: f64,
    },
}

/// Largest coordinate a section may have, mm: a metre, far beyond any handle.
const LIMIT: f64 = 1000.0;

/// Whether all numbers are finite and within the largest coordinate.
pub(super) fn within_limit(numbers: &[f64]) -> bool {
    numbers.iter().all(|n| n.abs() <= LIMIT)
}

impl Region {
    /// The region without material.
    pub fn empty() -> Region {
        Region::default()
    }

    /// The region whose area is not a number.
    pub(crate) fn undefined() -> Region {
        let nowhere = Vec2::repeat(f64::NAN);
        Region { loops: vec![vec![Seg::line(nowhere, nowhere); 2]] }
    }

    /// Whether it was made from numbers that make no region.
    pub fn is_undefined(&self) -> bool {
        self.loops.first().and_then(|l| l.first()).is_some_and(|s| s.a.x.is_nan())
    }

    /// The region that closed outlines enclose: counter-clockwise outlines add
    /// material, clockwise ones remove it, whatever crosses or overlaps is
    /// resolved by winding number (positive is material). Arcs over half a
    /// turn are split. Points are taken as they are: snap first.
    pub fn from_outlines(outlines: &[Vec<Seg>]) -> Result<Region, RegionError> {
        let mut segs = Vec::new();
        for outline in outlines {
            for (i, s) in outline.iter().enumerate() {
                check(s)?;
                let next = outline[(i + 1) % outline.len()];
                if (s.b - next.a).norm() > super::EPS.vertex {
                    return Err(RegionError::Open { end: s.b, start: next.a });
                }
                match s.arc {
                    None => segs.push(*s),
                    Some(c) => segs.extend(Seg::arc(c.centre, c.radius, s.a, s.b, c.ccw)),
                }
            }
        }
        Ok(filled(&segs))
    }

    /// The same for closed outlines whose arcs are split already, without
    /// resolving what crosses or overlaps: good for one boolean, no more.
    pub(crate) fn unresolved(loops: Vec<Vec<Seg>>) -> Region {
        Region { loops }
    }

    /// Without the loops whose bounds do not meet `low` to `high`: the same
    /// region as far as that rectangle reaches.
    pub(crate) fn near(&self, low: Vec2, high: Vec2) -> Region {
        let meets = |pieces: &&Vec<Seg>| {
            let bounds = pieces.iter().map(Seg::bounds);
            bounds
                .reduce(|(a, b), (l, h)| (a.inf(&l), b.sup(&h)))
                .is_some_and(|(l, h)| (0..2).all(|k| l[k] <= high[k] && low[k] <= h[k]))
        };
        Region { loops: self.loops.iter().filter(meets).cloned().collect() }
    }

    /// Its loops, pieces in order.
    pub fn loops(&self) -> &[Vec<Seg>] {
        &self.loops
    }

    /// All pieces, loop after loop.
    pub fn segs(&self) -> Vec<Seg> {
        self.loops.iter().flatten().copied().collect()
    }

    /// Whether there is no material.
    pub fn is_empty(&self) -> bool {
        self.loops.is_empty()
    }

    /// Area of the material, mm2; exact up to float noise.
    pub fn area(&self) -> f64 {
        0.5 * self.loops.iter().flatten().map(Seg::twice_area).sum::<f64>()
    }

    /// Length of all boundaries, mm.
    pub fn perimeter(&self) -> f64 {
        self.loops.iter().flatten().map(Seg::length).sum()
    }

    /// Lower left and upper right corner, or `None` when empty.
    pub fn bounds(&self) -> Option<(Vec2, Vec2)> {
        self.loops
            .iter()
            .flatten()
            .map(Seg::bounds)
            .reduce(|(lo, hi), (l, h)| (lo.inf(&l), hi.sup(&h)))
    }

    /// Whether `p` lies in the material; points on the boundary may go either way.
    pub fn contains(&self, p: Vec2) -> bool {
        winding(self.loops.iter().flatten(), p) > 0
    }

    /// Distance from `p` to the nearest boundary, mm; infinite when empty.
    pub fn boundary_distance(&self, p: Vec2) -> f64 {
        self.loops.iter().flatten().map(|s| s.distance(p)).fold(f64::INFINITY, f64::min)
    }
}

/// Winding number of pieces around a point, by a ray straight up.
pub(super) fn winding<'a>(segs: impl Iterator<Item = &'a Seg>, p: Vec2) -> i32 {
    let mut n = 0;
    for s in segs {
        let (lo, hi) = (s.a.x.min(s.b.x), s.a.x.max(s.b.x));
        if lo <= p.x && p.x < hi && s.y_at(p.x) > p.y {
            n += if s.b.x < s.a.x { 1 } else { -1 };
        }
    }
    n
}

/// The region where pieces wind positively.
pub(super) fn filled(segs: &[Seg]) -> Region {
    let mut table = VertexTable::default();
    let arrangement = arrange(&mut table, [segs, &[]]);
    let loops = trace_loops(&arrangement, |w| w[0] > 0);
    Region { loops: loops.into_iter().map(|l| l.segs(&arrangement)).collect() }.tidied()
}

fn check(s: &Seg) -> Result<(), RegionError> {
    let radius = s.arc.map_or(1.0, |c| c.radius);
    let centre = s.arc.map_or(s.a, |c| c.centre);
    for value in [s.a.x, s.a.y, s.b.x, s.b.y, radius, centre.x, centre.y] {
        if !within_limit(&[value]) {
            return Err(RegionError::Coordinate { value, limit: LIMIT });
        }
    }
    if let Some(c) = s.arc {
        for at in [s.a, s.b] {
            let off = ((at - c.centre).norm() - c.radius).abs();
            if off > super::EPS.on_curve || c.radius <= super::EPS.vertex {
                return Err(RegionError::OffCircle { at, off, radius: c.radius });
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn disc(x: f64, y: f64, r: f64) -> Region {
        Region::disc(Vec2::new(x, y), r)
    }

    fn close(a: f64, b: f64) {
        assert!((a - b).abs() <= 1e-10 * b.abs().max(1.0), "{a} is not {b}");
    }

    /// A nearly square outline, of which the band along one side is off the side by
    /// float noise: what lies between the two is no material.
    #[test]
    fn no_strip_of_noise_is_left_beside_an_offset() {
        let corners = [(-66.04, 20.829), (-9.935, -36.2), (18.579, -8.148), (-37.525, 48.882)];
        let outline = Region::polygon(&corners.map(|(x, y)| Vec2::new(x, y)));
        let inner = outline.offset(-0.3375);
        assert_eq!(inner.loops().len(), 1, "{inner:?}");
        let (area, way) = (outline.area(), outline.perimeter());
        // Less a band all round, whose corners overlap by its width twice.
        assert!((inner.area() - (area - 0.3375 * way + 4.0 * 0.3375 * 0.3375)).abs() < 1e-3);
    }

    /// Circular segments and lenses; closed forms evaluated to 25 digits.
    #[test]
    fn segments_and_lenses_have_their_closed_form_area() {
        for (r, h, area) in [
            (10.0, 5.0, 61.4184849304378),
            (15.0, 3.0, 36.787749478489),
            (12.5, 12.5, 245.436926061703),
            (18.0, 4.0, 61.8223983404844),
            (9.3, 2.0, 15.7292999195325),
            (20.0, 30.0, 1010.96312171417),
        ] {
            let cut = Region::rectangle(Vec2::new(-50.0, r - h), Vec2::new(50.0, 50.0));
            close(disc(0.0, 0.0, r).intersection(&cut).area(), area);
        }
        for (p, q, d, area) in [
            (10.0, 10.0, 10.0, 122.836969860876),
            (1.0, 1.0, 1.0, 1.22836969860876),
            (15.0, 9.25, 10.0, 207.897789083772),
            (14.0, 9.2, 6.0, 254.384799829672),
            (5.0, 3.0, 4.0, 18.2246946609862),
            (13.0, 8.0, 5.0, 201.061929829747),
            (3.0, 2.0, 1.0, 12.5663706143592),
        ] {
            close(disc(0.0, 0.0, p).intersection(&disc(d, 0.0, q)).area(), area);
        }
    }

    #[test]
    fn offset_of_a_square_is_rounded_outside_and_sharp_inside() {
        let square = Region::rectangle(Vec2::new(0.0, 0.0), Vec2::new(10.0, 10.0));
        close(square.offset(1.0).area(), 100.0 + 40.0 + std::f64::consts::PI);
        close(square.offset(-1.0).area(), 64.0);
        assert!(square.offset(-5.001).is_empty());
        let frame = square.difference(&Region::rectangle(Vec2::new(3.0, 3.0), Vec2::new(7.0, 7.0)));
        close(frame.offset(-1.0).area(), 64.0 - 36.0 + 4.0 - std::f64::consts::PI);
        close(frame.offset(2.5).area(), 100.0 + 100.0 + 6.25 * std::f64::consts::PI);
        close(square.offset_same_structure(0.5).expect("a square grows").area(), 121.0);
        assert!(square.offset_same_structure(-5.5).is_err());
    }

    #[test]
    fn offset_of_an_l_shape_and_of_discs() {
        let l = Region::polygon(&[
            Vec2::new(0.0, 0.0),
            Vec2::new(10.0, 0.0),
            Vec2::new(10.0, 4.0),
            Vec2::new(4.0, 4.0),
            Vec2::new(4.0, 10.0),
            Vec2::new(0.0, 10.0),
        ]);
        close(l.area(), 64.0);
        // Two arms, and what the round at the inner corner leaves of its square.
        close(l.offset(-1.0).area(), 16.0 + 12.0 + 1.0 - 0.25 * std::f64::consts::PI);
        close(disc(1.0, 2.0, 5.0).offset(-1.5).area(), 3.5 * 3.5 * std::f64::consts::PI);
        assert!(disc(1.0, 2.0, 5.0).offset(-5.5).is_empty());
    }

    #[test]
    fn a_cap_keeps_its_structure_until_its_circle_leaves_its_chord() {
        let cap_of = |radius: f64, from: f64| {
            let chord = (radius * radius - from * from).sqrt();
            radius * radius * (from / radius).acos() - from * chord
        };
        let right = Region::rectangle(Vec2::new(4.0, -9.0), Vec2::new(9.0, 9.0));
        let cap = disc(0.0, 0.0, 5.0).intersection(&right);
        close(cap.area(), cap_of(5.0, 4.0));
        for by in [-0.4, -0.1, 0.5] {
            let moved = cap.offset_same_structure(by).expect("an arc and a chord");
            close(moved.area(), cap_of(5.0 + by, 4.0 - by));
        }
        assert!(cap.offset_same_structure(-0.6).is_err());
    }

    /// The corner lies 1.1e-6 mm off the circle that its side touches a
    /// thousandth of a millimetre further up: a wedge far thinner than long.
    #[test]
    fn a_wedge_between_a_circle_and_its_tangent_keeps_both_sides() {
        let (d, r) = (disc(0.0, 0.0, 4.0), |lo: f64, hi: f64| {
            Region::rectangle(Vec2::new(lo, -0.003), Vec2::new(hi, 7.0))
        });
        for r in [r(-3.0, 4.0), r(-4.0, 3.0), r(-4.0, 4.0)] {
            let (sum, common) = (d.union(&r).area(), d.intersection(&r).area());
            close(sum + common, d.area() + r.area());
            close(d.xor(&r).area(), sum - common);
        }
    }

    /// A bar with a quarter disc bitten out of it, whose side it touches: the
    /// offset goes half round the tip of that cusp, and a quarter round the
    /// other three corners.
    #[test]
    fn an_offset_goes_round_the_tip_of_a_cusp() {
        let bar = Region::rectangle(Vec2::new(0.0, 0.0), Vec2::new(2.0, 9.0));
        let tip = bar.difference(&disc(0.0, 0.0, 2.0));
        let (pi, by) = (std::f64::consts::PI, 0.5);
        let arc = pi / 4.0 * (2.0 * 2.0 - 1.5 * 1.5);
        let grown = 18.0 - pi + by * 18.0 + arc + pi * by * by * (3.0 * 0.25 + 0.5);
        close(tip.offset(by).area(), grown);
        let outside = Region::rectangle(Vec2::new(-9.0, -9.0), Vec2::new(9.0, 18.0));
        let around = outside.difference(&tip).offset(-by);
        close(around.area(), 17.0 * 26.0 - grown);
    }

    #[test]
    fn what_makes_no_region_stays_undefined() {
        let o = Vec2::zeros();
        let square = Region::rectangle(o, Vec2::new(2.0, 2.0));
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e9] {
            let p = Vec2::new(bad, 1.0);
            for region in [
                Region::rectangle(o, p),
                Region::disc(p, 1.0),
                Region::disc(o, bad),
                Region::polygon(&[o, p, Vec2::new(0.0, 2.0)]),
                Region::slot(o, p, 1.0),
                Region::slot(o, Vec2::x(), bad),
                Region::half_plane(o, Vec2::x(), bad),
                square.offset(bad),
            ] {
                assert!(region.is_undefined() && region.area().is_nan());
                assert!(square.difference(&region).is_undefined());
                assert!(region.union(&square).offset(1.0).is_undefined());
                assert!(region.offset_same_structure(0.1).is_err());
            }
        }
        assert!(Region::half_plane(o, o, 5.0).is_undefined());
        assert!(!square.is_undefined() && !Region::empty().is_undefined());
    }

    #[test]
    fn an_offset_or_arc_of_next_to_nothing_ends() {
        let square = Region::rectangle(Vec2::zeros(), Vec2::new(2.0, 2.0));
        for by in [1e-309, 1e-300, 1e-20, 1e-9, -1e-309] {
            close(square.offset(by).area(), 4.0);
        }
        for radius in [0.0, 1e-309, 1e-12, f64::NAN] {
            let p = Vec2::new(radius, 0.0);
            assert!(!Seg::arc(Vec2::zeros(), radius, p, p, true).is_empty());
        }
    }

    /// The corner lies 6e-8 mm outside the circle: an arc of 4e-8 mm must know
    /// its own middle.
    #[test]
    fn a_corner_just_outside_a_circle_keeps_what_is_behind_it() {
        let d = disc(0.0, 0.0, 31.174);
        let tip = Vec2::new(-31.174, 0.002);
        let t = Region::polygon(&[tip, Vec2::zeros(), Vec2::new(0.169, 19.5)]);
        let (sum, common) = (d.union(&t).area(), d.intersection(&t).area());
        close(sum + common, d.area() + t.area());
        close(common, t.area());
    }
}
