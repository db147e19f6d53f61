//! Regions moved, and what they pass on the way.

use super::region::{filled, within_limit};
use super::seg::left;
use super::{Arc, EPS, Region, Seg};
use crate::measure::Vec2;

impl Seg {
    fn moved(&self, by: Vec2) -> Seg {
        let arc = self.arc.map(|c| Arc { centre: c.centre + by, ..c });
        Seg { a: self.a + by, b: self.b + by, arc }
    }
}

impl Region {
    /// The same region elsewhere.
    pub fn moved(&self, by: Vec2) -> Region {
        if self.is_undefined() || !within_limit(by.as_slice()) {
            return Region::undefined();
        }
        let moved = |l: &Vec<Seg>| l.iter().map(|s| s.moved(by)).collect();
        Region { loops: self.loops.iter().map(moved).collect() }
    }

    /// All points that the region passes while it moves straight by `by`: its
    /// Minkowski sum with that way. Every piece passes an area between where it
    /// is and where it comes to; arcs are split where they run along the way.
    pub fn swept(&self, by: Vec2) -> Region {
        if self.is_undefined() || !within_limit(by.as_slice()) {
            return Region::undefined();
        }
        if by.norm() <= EPS.vertex {
            return self.clone();
        }
        let mut segs = self.segs();
        segs.extend(self.moved(by).segs());
        for piece in self.loops.iter().flatten().flat_map(|s| split(s, by)) {
            let to = piece.moved(by);
            let mut outline =
                vec![piece, Seg::line(piece.b, to.b), to.reversed(), Seg::line(to.a, piece.a)];
            if outline.iter().map(Seg::twice_area).sum::<f64>() < 0.0 {
                outline.iter_mut().for_each(|s| *s = s.reversed());
            }
            segs.extend(outline);
        }
        filled(&segs)
    }
}

/// A piece cut where its tangent runs along `way`, so that nothing of it
/// passes what the rest passes the other way round.
fn split(s: &Seg, way: Vec2) -> Vec<Seg> {
    let Some(arc) = s.arc else { return vec![*s] };
    let aside = left(way) / way.norm() * arc.radius;
    let mut cuts: Vec<Vec2> = [arc.centre + aside, arc.centre - aside]
        .into_iter()
        .filter(|p| s.passes(*p) && (p - s.a).norm() > EPS.vertex && (p - s.b).norm() > EPS.vertex)
        .collect();
    cuts.sort_by(|p, q| s.position(*p).total_cmp(&s.position(*q)));
    let mut out = Vec::new();
    let mut from = s.a;
    for to in cuts.into_iter().chain([s.b]) {
        out.push(Seg { a: from, b: to, arc: s.arc });
        from = to;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn close(a: f64, b: f64) {
        assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} is not {b}");
    }

    #[test]
    fn a_disc_passes_a_slot_and_a_ring_fills_its_hole() {
        let disc = Region::disc(Vec2::new(1.0, 2.0), 3.0);
        for degrees in 0..36 {
            let way = crate::measure::frame::direction(10.0 * f64::from(degrees)) * 7.0;
            close(disc.swept(way).area(), 9.0 * PI + 6.0 * 7.0);
        }
        let ring = disc.difference(&Region::disc(Vec2::new(1.0, 2.0), 2.5));
        close(ring.swept(Vec2::new(0.0, 20.0)).area(), 9.0 * PI + 6.0 * 20.0);
    }

    #[test]
    fn what_is_moved_is_the_same_elsewhere() {
        let (o, by) = (Vec2::new(1.0, 2.0), Vec2::new(3.5, -0.25));
        let ring = Region::disc(o, 3.0).difference(&Region::rectangle(o, o + Vec2::new(1.0, 1.0)));
        let moved = ring.moved(by);
        close(moved.area(), 9.0 * PI - 1.0);
        let (low, high) = moved.bounds().expect("it is somewhere");
        assert!((low - o - by).add_scalar(3.0).norm() < 1e-12, "{low}");
        assert!((high - o - by).add_scalar(-3.0).norm() < 1e-12, "{high}");
        assert_eq!(moved.moved(-by).xor(&ring).area(), 0.0);
        assert!(ring.moved(Vec2::new(f64::NAN, 0.0)).is_undefined());
    }

    #[test]
    fn a_short_way_leaves_the_middle_of_a_hole() {
        let o = Vec2::zeros();
        let frame = Region::rectangle(Vec2::new(-5.0, -5.0), Vec2::new(5.0, 5.0))
            .difference(&Region::rectangle(Vec2::new(-4.0, -4.0), Vec2::new(4.0, 4.0)));
        close(frame.swept(Vec2::new(0.0, 2.0)).area(), 10.0 * 12.0 - 8.0 * 6.0);
        close(frame.swept(Vec2::new(0.0, 9.0)).area(), 10.0 * 19.0);
        let ring = Region::disc(o, 5.0).difference(&Region::disc(o, 4.0));
        // The hole and the moved hole share a lens.
        let lens = Region::disc(o, 4.0).intersection(&Region::disc(Vec2::new(2.0, 0.0), 4.0));
        close(ring.swept(Vec2::new(2.0, 0.0)).area(), 25.0 * PI + 20.0 - lens.area());
    }
}
