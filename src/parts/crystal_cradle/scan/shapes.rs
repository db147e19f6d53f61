//! Meshes of stones with known answers, as a scanner would give them, for tests
//! here and in `tests/reference`.

use std::f64::consts::{PI, TAU};

use fastrand::Rng;

use crate::measure::{Mat3, Vec3};

/// Triangles of a stone whose long axis is z, and whether that is exact by its
/// symmetry.
pub struct Shape {
    pub name: &'static str,
    pub triangles: Vec<[Vec3; 3]>,
    pub symmetric: bool,
}

/// Rings of as many corners, from low to high, joined and closed at both ends.
pub fn rings(rings: &[Vec<Vec3>]) -> Vec<[Vec3; 3]> {
    let mut out = Vec::new();
    for pair in rings.windows(2) {
        let n = pair[0].len();
        for k in 0..n {
            let (a, b) = (pair[0][k], pair[0][(k + 1) % n]);
            let (c, d) = (pair[1][k], pair[1][(k + 1) % n]);
            out.push([a, b, d]);
            out.push([a, d, c]);
        }
    }
    for (ring, up) in [(&rings[0], false), (&rings[rings.len() - 1], true)] {
        let n = ring.len();
        let middle = ring.iter().sum::<Vec3>() / n as f64;
        for k in 0..n {
            let (a, b) = (ring[k], ring[(k + 1) % n]);
            out.push(if up { [middle, a, b] } else { [middle, b, a] });
        }
    }
    out
}

/// A loft of `levels` rings of `around` points at `radius(angle, share)`.
fn loft(
    length: f64,
    levels: usize,
    around: usize,
    radius: impl Fn(f64, f64) -> f64,
) -> Vec<[Vec3; 3]> {
    let ring = |level: usize| -> Vec<Vec3> {
        let share = level as f64 / levels as f64;
        (0..around)
            .map(|k| {
                let angle = TAU * k as f64 / around as f64;
                let r = radius(angle, share);
                Vec3::new(r * angle.cos(), r * angle.sin(), length * share)
            })
            .collect()
    };
    rings(&(0..=levels).map(ring).collect::<Vec<_>>())
}

/// Distance from the middle of a regular polygon's side to its edge.
fn polygon(sides: f64, apothem: f64, angle: f64) -> f64 {
    let step = TAU / sides;
    let off = (angle + step / 2.0).rem_euclid(step) - step / 2.0;
    apothem / off.cos()
}

/// A random stone of some kind.
pub fn shape(rng: &mut Rng) -> Shape {
    let length = 24.0 + 10.0 * rng.f64();
    let r = 4.0 + 2.0 * rng.f64();
    match rng.u32(..5) {
        0 => {
            let tip = 0.7 + 0.1 * rng.f64();
            let radius = |angle: f64, share: f64| {
                let narrow = if share > tip { (1.0 - share) / (1.0 - tip) } else { 1.0 };
                polygon(6.0, r * narrow.max(0.02), angle)
            };
            let triangles = loft(length, 60, 96, radius);
            Shape { name: "hexagonal prism with a point", triangles, symmetric: true }
        }
        1 => {
            let flat = 0.6 + 0.4 * rng.f64();
            let radius = |angle: f64, share: f64| {
                let waist = (4.0 * share * (1.0 - share)).sqrt().max(0.02);
                let (sin, cos) = angle.sin_cos();
                r * waist / cos.hypot(sin / flat)
            };
            Shape { name: "ellipsoid", triangles: loft(length, 80, 96, radius), symmetric: true }
        }
        2 => {
            let twist = 0.3 + 0.7 * rng.f64();
            let sides = f64::from(rng.u32(4..8));
            let radius = |angle: f64, share: f64| polygon(sides, r, angle - twist * share);
            Shape {
                name: "twisted prism",
                triangles: loft(length, 60, 120, radius),
                symmetric: true,
            }
        }
        3 => {
            // A small stone grown on the side of a large one.
            let at = rng.f64() * TAU;
            let (wide, low) = (0.8 + 0.4 * rng.f64(), 0.15 + 0.2 * rng.f64());
            let radius = |angle: f64, share: f64| {
                let own = polygon(6.0, r, angle);
                let off = ((angle - at + PI).rem_euclid(TAU) - PI).abs();
                let beside = (low..low + 0.3).contains(&share) && off < wide;
                if beside { own * (1.0 + 0.35 * (1.0 - off / wide)) } else { own }
            };
            Shape { name: "cluster", triangles: loft(length, 100, 120, radius), symmetric: false }
        }
        _ => {
            let waves: Vec<(f64, f64, f64)> =
                (0..4).map(|k| (f64::from(k + 1), 0.08 * rng.f64(), TAU * rng.f64())).collect();
            let lean = 0.15 * rng.f64();
            let radius = |angle: f64, share: f64| {
                let wave: f64 = waves.iter().map(|w| w.1 * (w.0 * angle + w.2 + share).sin()).sum();
                let waist = 1.0 - 0.6 * (2.0 * share - 1.0).abs().powi(3);
                r * (1.0 + wave) * waist * (1.0 + lean * (2.0 * share - 1.0))
            };
            Shape { name: "lump", triangles: loft(length, 60, 72, radius), symmetric: false }
        }
    }
}

/// The same corners, each moved by up to `noise` mm, alike wherever it is.
pub fn roughened(triangles: &[[Vec3; 3]], noise: f64) -> Vec<[Vec3; 3]> {
    let moved = |p: &Vec3| {
        let hash = |salt: f64| {
            let mixed = (p.x * 12.9898 + p.y * 78.233 + p.z * 37.719 + salt).sin() * 43_758.545;
            2.0 * (mixed - mixed.floor()) - 1.0
        };
        p + Vec3::new(hash(0.0), hash(1.7), hash(4.1)) * noise
    };
    triangles.iter().map(|t| [moved(&t[0]), moved(&t[1]), moved(&t[2])]).collect()
}

/// A random turn in space.
pub fn any_turn(rng: &mut Rng) -> Mat3 {
    let mut axis = || Vec3::new(rng.f64() - 0.5, rng.f64() - 0.5, rng.f64() - 0.5).normalize();
    let x = axis();
    let y = axis();
    let y = (y - x * x.dot(&y)).normalize();
    Mat3::from_columns(&[x, y, x.cross(&y)])
}
