//! The smallest circle around points.

use crate::measure::Vec2;

/// A circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Circle {
    pub centre: Vec2,
    pub radius: f64,
}

/// How far outside a point may lie, mm: float noise.
const NOISE: f64 = 1e-9;

/// Rounds after which the circle is taken as it is: each adds a corner of the
/// outline, and a handful is usual.
const ROUNDS: usize = 200;

/// The smallest circle around all points: that of a few of them, to which the
/// furthest outside is added until none is.
pub(super) fn around(points: &[Vec2]) -> Option<Circle> {
    let mut held = vec![*points.first()?];
    let mut circle = smallest(&held);
    for _ in 0..ROUNDS {
        let off = |p: &Vec2| (p - circle.centre).norm();
        let far = points.iter().max_by(|p, q| off(p).total_cmp(&off(q)))?;
        if off(far) <= circle.radius + NOISE {
            return Some(circle);
        }
        held.push(*far);
        circle = smallest(&held);
        // What lies inside does not hold the circle.
        held.retain(|p| (p - circle.centre).norm() >= circle.radius - NOISE);
    }
    let radius = points.iter().map(|p| (p - circle.centre).norm()).fold(0.0, f64::max);
    Some(Circle { radius, ..circle })
}

/// The same for a few points, by trying all pairs and triples.
fn smallest(points: &[Vec2]) -> Circle {
    let holds = |c: &Circle| points.iter().all(|p| (p - c.centre).norm() <= c.radius + NOISE);
    let mut best = Circle { centre: points[0], radius: f64::INFINITY };
    let mut offer = |c: Circle| {
        if c.radius < best.radius && holds(&c) {
            best = c;
        }
    };
    offer(Circle { centre: points[0], radius: 0.0 });
    for (i, a) in points.iter().enumerate() {
        for (j, b) in points.iter().enumerate().skip(i + 1) {
            offer(Circle { centre: (a + b) / 2.0, radius: (b - a).norm() / 2.0 });
            for c in points.iter().skip(j + 1) {
                if let Some(circle) = through(*a, *b, *c) {
                    offer(circle);
                }
            }
        }
    }
    best
}

fn through(a: Vec2, b: Vec2, c: Vec2) -> Option<Circle> {
    let (p, q) = (b - a, c - a);
    let twice = 2.0 * (p.x * q.y - p.y * q.x);
    let (pp, qq) = (p.norm_squared(), q.norm_squared());
    let at = Vec2::new(q.y * pp - p.y * qq, p.x * qq - q.x * pp) / twice;
    at.iter().all(|c| c.is_finite()).then(|| Circle { centre: a + at, radius: at.norm() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_of_points_is_found_again() {
        let mut rng = fastrand::Rng::with_seed(3);
        for _ in 0..200 {
            let centre = Vec2::new(rng.f64() * 9.0, rng.f64() * 9.0 - 4.0);
            let radius = 1.0 + 20.0 * rng.f64();
            let mut points: Vec<Vec2> = (0..3000)
                .map(|_| {
                    let (sin, cos) = (rng.f64() * std::f64::consts::TAU).sin_cos();
                    centre + Vec2::new(cos, sin) * radius * rng.f64().sqrt()
                })
                .collect();
            for k in 0..3 {
                let (sin, cos) = f64::from(k * 2).sin_cos();
                points.push(centre + Vec2::new(cos, sin) * radius);
            }
            let found = around(&points).expect("points");
            assert!((found.radius - radius).abs() < 1e-6, "{found:?} {radius}");
            assert!((found.centre - centre).norm() < 1e-6);
        }
        assert!(around(&[]).is_none());
        assert_eq!(around(&[Vec2::x(); 3]).expect("points").radius, 0.0);
    }
}
