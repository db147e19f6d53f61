//! Pieces of a section between two heights, and whether any two of them touch
//! on the way from one to the other.

use crate::measure::Vec2;
use crate::section::Arc;

/// Distances below this, mm, count as touching: above the noise of computed
/// corners, far below any contact.
const TOUCH: f64 = 1e-7;

/// A straight piece whose ends move evenly from their first to their last
/// place while its direction stays, as the section of a plane does; or an arc
/// that stays.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moving {
    pub a: [Vec2; 2],
    pub b: [Vec2; 2],
    pub arc: Option<Arc>,
}

impl Moving {
    /// The same piece elsewhere.
    pub fn moved(&self, by: Vec2) -> Moving {
        let arc = self.arc.map(|c| Arc { centre: c.centre + by, ..c });
        Moving { a: self.a.map(|p| p + by), b: self.b.map(|p| p + by), arc }
    }

    /// What its start passes by moving `by`.
    pub fn trail(&self, by: Vec2) -> Moving {
        Moving { a: self.a, b: self.a.map(|p| p + by), arc: None }
    }

    fn corners(&self) -> [Vec2; 4] {
        [self.a[0], self.a[1], self.b[0], self.b[1]]
    }

    fn bounds(&self) -> (Vec2, Vec2) {
        if let Some(arc) = self.arc {
            let r = Vec2::repeat(arc.radius);
            return (arc.centre - r, arc.centre + r);
        }
        let c = self.corners();
        (c[0].inf(&c[1]).inf(&c[2]).inf(&c[3]), c[0].sup(&c[1]).sup(&c[2]).sup(&c[3]))
    }

    /// Whether the two may touch anywhere on the way; false is certain.
    pub fn may_touch(&self, other: &Moving) -> bool {
        let (p, q) = (self.bounds(), other.bounds());
        if (0..2).any(|k| p.0[k] > q.1[k] + TOUCH || q.0[k] > p.1[k] + TOUCH) {
            return false;
        }
        match (self.arc, other.arc) {
            (None, None) => self.ends_meet(other) || other.ends_meet(self),
            (Some(arc), None) => near_arc(&arc, other),
            (None, Some(arc)) => near_arc(&arc, self),
            (Some(c), Some(d)) => {
                // One circle well inside the other.
                (c.centre - d.centre).norm() + TOUCH >= (c.radius - d.radius).abs()
            }
        }
    }

    /// Whether an end of this piece may meet the other. Its distance from the
    /// other's line changes evenly, since that line keeps its direction.
    fn ends_meet(&self, line: &Moving) -> bool {
        let (first, last) = (line.b[0] - line.a[0], line.b[1] - line.a[1]);
        let along = if first.norm() > last.norm() { first } else { last };
        let length = along.norm();
        if length <= TOUCH {
            return true;
        }
        let along = along / length;
        let across = Vec2::new(-along.y, along.x);
        [self.a, self.b].iter().any(|p| {
            let off = |k: usize| (p[k] - line.a[k]).dot(&across);
            let (d0, d1) = (off(0), off(1));
            if d0.min(d1) > TOUCH || d0.max(d1) < -TOUCH {
                return false;
            }
            if (d0 - d1).abs() <= TOUCH {
                return true;
            }
            // Within noise of the line from one share of the way to another.
            let (s, t) = ((d0 - TOUCH) / (d0 - d1), (d0 + TOUCH) / (d0 - d1));
            let at = |q: &[Vec2; 2], t: f64| q[0] + (q[1] - q[0]) * t.clamp(0.0, 1.0);
            let place = |t: f64| {
                let (p, a, b) = (at(p, t), at(&line.a, t), at(&line.b, t));
                ((p - a).dot(&along), (b - a).dot(&along))
            };
            let (near, far) = (place(s.min(t)), place(s.max(t)));
            // A line that turns round is nothing that a plane gives.
            let turned = near.1.min(far.1) < -TOUCH;
            let before = near.0.max(far.0) < -TOUCH;
            let beyond = (near.0 - near.1).min(far.0 - far.1) > TOUCH;
            turned || !(before || beyond)
        })
    }
}

/// Whether a moving line may touch a circle: not if all its places lie well
/// inside, or its bounds well outside.
fn near_arc(arc: &Arc, line: &Moving) -> bool {
    let inside = line.corners().iter().all(|p| (p - arc.centre).norm() < arc.radius - TOUCH);
    let (low, high) = line.bounds();
    let nearest = arc.centre.sup(&low).inf(&high);
    let outside = (nearest - arc.centre).norm() > arc.radius + TOUCH;
    !(inside || outside)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(a: [f64; 4], b: [f64; 4]) -> Moving {
        let both = |p: [f64; 4]| [Vec2::new(p[0], p[1]), Vec2::new(p[2], p[3])];
        Moving { a: both(a), b: both(b), arc: None }
    }

    /// Random pairs against many places on the way: none that is said to stay
    /// apart comes near, and most that stay well apart are told so.
    #[test]
    fn pieces_said_to_stay_apart_do() {
        let mut rng = fastrand::Rng::with_seed(5);
        let (mut apart, mut missed) = (0, 0);
        for _ in 0..20_000 {
            let mut piece = || {
                let mut p = || Vec2::new(10.0 * rng.f64(), 10.0 * rng.f64());
                let (a, along, to) = (p(), p() - p(), p());
                let longer = 0.5 + rng.f64();
                Moving { a: [a, to], b: [a + along, to + along * longer], arc: None }
            };
            let (p, q) = (piece(), piece());
            let gap = |k: i32| {
                let t = f64::from(k) / 400.0;
                let at = |q: &[Vec2; 2]| q[0] + (q[1] - q[0]) * t;
                let seg = |m: &Moving| crate::section::Seg::line(at(&m.a), at(&m.b));
                let (s, r) = (seg(&p), seg(&q));
                let side = |o: &crate::section::Seg, x: Vec2| {
                    let (u, v) = (o.b - o.a, x - o.a);
                    u.x * v.y - u.y * v.x
                };
                let cross =
                    side(&s, r.a) * side(&s, r.b) < 0.0 && side(&r, s.a) * side(&r, s.b) < 0.0;
                let ends =
                    s.distance(r.a).min(s.distance(r.b)).min(r.distance(s.a)).min(r.distance(s.b));
                if cross { 0.0 } else { ends }
            };
            let least = (0..=400).map(gap).fold(f64::INFINITY, f64::min);
            let said = !p.may_touch(&q);
            // Pieces that cross from first to last have no event of their own.
            let crossing = gap(0) == 0.0 && gap(200) == 0.0 && gap(400) == 0.0;
            assert!(!said || least > 0.0 || crossing, "{p:?} {q:?}");
            apart += usize::from(said);
            missed += usize::from(!said && least > 0.5);
        }
        assert!(apart > 5000 && missed < apart / 4, "{apart} {missed}");
    }

    #[test]
    fn what_stays_inside_a_circle_stays_off_its_arc() {
        let arc = Some(Arc { centre: Vec2::zeros(), radius: 5.0, ccw: true });
        let ring = Moving { a: [Vec2::new(5.0, 0.0); 2], b: [Vec2::new(-5.0, 0.0); 2], arc };
        assert!(!ring.may_touch(&line([-3.0, 0.0, -3.0, 2.0], [3.0, 0.0, 3.0, 2.0])));
        assert!(ring.may_touch(&line([-3.0, 0.0, -3.0, 4.5], [3.0, 0.0, 3.0, 4.5])));
        assert!(!ring.may_touch(&line([6.0, 0.0, 7.0, 0.0], [6.0, 1.0, 7.0, 1.0])));
    }
}
