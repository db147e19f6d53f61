//! One triangle: its nearest point, the ball that it stops, the ray that hits it.

use crate::measure::Vec3;

/// Rounds of Dinkelbach's iteration in one triangle. It converges faster than
/// quadratically; 3 to 5 rounds are usual.
const ROUNDS: u32 = 24;

/// Relative change of the radius at which it has converged.
const CONVERGED: f64 = 1e-10;

/// The smallest ball tangent at `p` with centre along `d` that meets the
/// triangle, if smaller than radius `r`: its radius and the contact.
pub(super) fn ball_to_triangle(
    p: &Vec3,
    d: &Vec3,
    r: f64,
    corners: &[Vec3; 3],
) -> Option<(f64, Vec3)> {
    let ahead = corners.iter().map(|c| (c - p).dot(d)).fold(f64::NEG_INFINITY, f64::max);
    // A triangle behind the tangent plane meets no such ball. One through p
    // itself is ahead by float noise only.
    let size = corners.iter().map(|c| (c - p).norm_squared()).fold(0.0, f64::max).sqrt();
    if ahead <= NOISE * size {
        return None;
    }
    let mut best: Option<(f64, Vec3)> = None;
    let mut radius = r;
    for _ in 0..ROUNDS {
        let centre = p + d * radius;
        let q = closest_on_triangle(&centre, corners);
        let v = q - p;
        let along = v.dot(d);
        let length = v.norm_squared();
        if along <= NOISE * length.sqrt() {
            break;
        }
        let next = length / (2.0 * along);
        if next >= radius {
            break;
        }
        let settled = radius - next <= CONVERGED * radius;
        radius = next;
        best = Some((radius, q));
        if settled {
            break;
        }
    }
    best
}

/// Directions this near to the tangent plane are in it: float noise of
/// coordinates that were stored in 32 bits, relative to the distance.
pub(super) const NOISE: f64 = 1e-6;

/// The point of a triangle nearest to `p`: C. Ericson, Real-Time Collision
/// Detection (2005), 5.1.5. Triangles without area give one of their points.
pub fn closest_on_triangle(p: &Vec3, [a, b, c]: &[Vec3; 3]) -> Vec3 {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(&ap), ac.dot(&ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return *a;
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(&bp), ac.dot(&bp));
    if d3 >= 0.0 && d4 <= d3 {
        return *b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return a + ab * share(d1, d1 - d3);
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(&cp), ac.dot(&cp));
    if d6 >= 0.0 && d5 <= d6 {
        return *c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return a + ac * share(d2, d2 - d6);
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return b + (c - b) * share(d4 - d3, (d4 - d3) + (d5 - d6));
    }
    let sum = va + vb + vc;
    a + ab * share(vb, sum) + ac * share(vc, sum)
}

fn share(part: f64, whole: f64) -> f64 {
    if whole == 0.0 { 0.0 } else { part / whole }
}

/// T. Moeller and B. Trumbore, "Fast, minimum storage ray-triangle
/// intersection", Journal of Graphics Tools 2 (1997) 21-28.
pub(super) fn ray_triangle(p: &Vec3, d: &Vec3, [a, b, c]: &[Vec3; 3]) -> Option<f64> {
    let (e1, e2) = (b - a, c - a);
    let h = d.cross(&e2);
    let det = e1.dot(&h);
    if det == 0.0 {
        return None;
    }
    let s = p - a;
    let u = s.dot(&h) / det;
    let q = s.cross(&e1);
    let v = d.dot(&q) / det;
    // A ray through an edge must hit one of the two triangles at least.
    let inside = u >= -EDGE && v >= -EDGE && u + v <= 1.0 + EDGE;
    inside.then(|| e2.dot(&q) / det)
}

/// Slack of a ray at a triangle's edges, in barycentric coordinates.
const EDGE: f64 = 1e-9;
