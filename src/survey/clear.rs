//! The clear round bore about the axis of a chassis, with its way in.

use super::chassis::{Chassis, Entry};
use super::shadow::{Polygon, covered};
use crate::measure::{Vec2, Vec3};
use crate::mesh::piece;

/// The ends of a range that are not looked at, mm: a floor at just that height
/// bounds it. Float noise of coordinates in 32 bits.
pub(super) const SKIN: f64 = 1e-4;

/// Grid that a diameter is rounded down to, mm: a tenth of a caliper's last digit.
const GRID: f64 = 1e-3;

/// A round bore about the handle's axis in which a chassis has no material, over a
/// range of z and on the way there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearBore {
    /// Its diameter, mm, rounded down; 0 if the axis itself runs in material.
    pub diameter: f64,
    /// What is nearest: a point of the triangle that bounds it, mm.
    pub at: Vec3,
    /// The way in, which is part of it: never [`Entry::Either`].
    pub entry: Entry,
}

impl Chassis {
    /// The largest clear bore from `from` to `to` mm: with all of its way from the
    /// end cap's end, or with all that lies above it to +y; by whichever is open,
    /// the wider of the two. Exact for the mesh: each triangle is cut at the ends
    /// of the range and seen along z. None if nothing of the chassis is there.
    pub fn clear_bore(&self, from: f64, to: f64) -> Option<ClearBore> {
        let below = self.bounds().0.z - 1.0;
        match self.entry() {
            Entry::Cap => self.clear(Entry::Cap, (below, to)),
            Entry::Window => self.clear(Entry::Window, (from, to)),
            Entry::Either => {
                let cap = self.clear(Entry::Cap, (below, to));
                let window = self.clear(Entry::Window, (from, to));
                match (cap, window) {
                    (Some(cap), Some(window)) if window.diameter > cap.diameter => Some(window),
                    (cap, window) => cap.or(window),
                }
            }
        }
    }

    fn clear(&self, entry: Entry, (from, to): (f64, f64)) -> Option<ClearBore> {
        let (low, high) = (from + SKIN, to - SKIN);
        let mut nearest: Option<(f64, Vec3)> = None;
        for i in 0..self.soup().triangles().len() {
            let corners = self.soup().corners(i);
            let Some(shadow) = covered(&corners, low, high) else { continue };
            let Some((off, at)) = reach(&shadow, entry) else { continue };
            if nearest.is_none_or(|(least, _)| off < least) {
                let heights = corners.map(|p| p.z.clamp(low, high));
                let z = 0.5
                    * (heights.iter().copied().fold(f64::INFINITY, f64::min)
                        + heights.iter().copied().fold(f64::NEG_INFINITY, f64::max));
                nearest = Some((off, Vec3::new(at.x, at.y, z)));
            }
        }
        let (off, at) = nearest?;
        let off =
            if self.is_material(0.5 * (low.max(self.bounds().0.z) + high)) { 0.0 } else { off };
        Some(ClearBore { diameter: (2.0 * off / GRID).floor() * GRID, at, entry })
    }

    /// Whether the axis runs in material at a height.
    fn is_material(&self, z: f64) -> bool {
        let all = (0..self.soup().triangles().len()).map(|i| self.soup().corners(i));
        let winds = |[a, b]: [Vec2; 2]| {
            if (a.y <= 0.0) == (b.y <= 0.0) {
                return 0;
            }
            let x = a.x + (b.x - a.x) * (-a.y / (b.y - a.y));
            // On +x, what runs up has the axis to its left.
            if x <= 0.0 {
                0
            } else if b.y > a.y {
                1
            } else {
                -1
            }
        };
        all.filter_map(|t| piece(&t, z)).map(winds).sum::<i32>() > 0
    }
}

/// How near a polygon comes to the axis, mm, and where; on the way from +y, what
/// lies above the axis counts by its distance from the plane x = 0.
fn reach(shadow: &Polygon, entry: Entry) -> Option<(f64, Vec2)> {
    let round = |polygon: &Polygon| {
        let near = polygon.nearest(Vec2::zeros());
        (near.norm(), near)
    };
    if entry == Entry::Cap {
        return Some(round(shadow));
    }
    let below = shadow.in_strip(f64::NEG_INFINITY, 0.0).map(|p| round(&p));
    let above = shadow.in_strip(0.0, f64::INFINITY).map(|p| {
        let corners = || p.corners().iter().copied();
        let crosses = corners().any(|c| c.x <= 0.0) && corners().any(|c| c.x >= 0.0);
        let near = corners().min_by(|a, b| a.x.abs().total_cmp(&b.x.abs()));
        let near = near.unwrap_or_else(Vec2::zeros);
        (if crosses { 0.0 } else { near.x.abs() }, near)
    });
    below.into_iter().chain(above).min_by(|a, b| a.0.total_cmp(&b.0))
}

#[cfg(test)]
mod tests {
    use super::super::{ChassisPlace, FileAxis};
    use super::*;
    use crate::mesh::{ChordTolerance, Soup, tessellate};
    use crate::section::Region;
    use crate::solid::Stack;

    fn rect(x: (f64, f64), y: (f64, f64)) -> Region {
        Region::rectangle(Vec2::new(x.0, y.0), Vec2::new(x.1, y.1))
    }

    /// A rod with a pocket open to +y from z = 10 to 40, at its foot a step, and a
    /// bore of 8 mm below it.
    fn rod(entry: Entry) -> Chassis {
        let disc = |r: f64| Region::disc(Vec2::zeros(), r);
        let pocket = |low: f64| rect((-7.0, 9.0), (low, 30.0));
        let mut stack = Stack::default();
        stack.prism(0.0, 10.0, &disc(15.0).difference(&disc(4.0)));
        stack.prism(10.0, 20.0, &disc(15.0).difference(&pocket(-5.0)));
        stack.prism(20.0, 40.0, &disc(15.0).difference(&pocket(-9.0)));
        stack.prism(40.0, 50.0, &disc(15.0));
        let mesh = tessellate(&stack.solid().expect("sound"), &ChordTolerance::default());
        let place = ChassisPlace { axis: FileAxis::Z, turn: 0.0, shift: Vec3::zeros() };
        Chassis::new("rod.stl", Soup::from(&mesh.expect("meshes")), &place, entry).expect("closed")
    }

    #[test]
    fn the_clear_bore_has_its_way_in() {
        let near = |bore: Option<ClearBore>, wanted: f64, by: f64| {
            let bore = bore.expect("there");
            assert!((bore.diameter - wanted).abs() <= by, "{bore:?} is not {wanted}");
            bore
        };
        // From above it is as wide as its nearer wall; along z as the bore below.
        near(rod(Entry::Window).clear_bore(20.0, 40.0), 14.0, 2e-3);
        let step = near(rod(Entry::Window).clear_bore(12.0, 40.0), 10.0, 2e-3);
        assert!((step.at.y + 5.0).abs() < 1e-6 && step.at.z < 20.001, "{step:?}");
        near(rod(Entry::Cap).clear_bore(20.0, 40.0), 8.0, 0.03);
        let either = near(rod(Entry::Either).clear_bore(20.0, 40.0), 14.0, 2e-3);
        assert_eq!(either.entry, Entry::Window);
        let low = near(rod(Entry::Either).clear_bore(2.0, 9.0), 8.0, 0.03);
        assert_eq!(low.entry, Entry::Cap);
        // Inside the solid end no wall is near, but all is material.
        near(rod(Entry::Window).clear_bore(42.0, 48.0), 0.0, 0.0);
        assert_eq!(rod(Entry::Window).clear_bore(60.0, 70.0), None);
    }
}
