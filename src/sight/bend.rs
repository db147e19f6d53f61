//! A ray at a smooth surface: Snell and Fresnel.

use crate::measure::Vec3;

/// What becomes of a ray at a surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Bend {
    /// Unit direction of what is mirrored.
    pub mirrored: Vec3,
    /// Share of unpolarised light that is mirrored, 1 where all of it is.
    pub share: f64,
    /// Unit direction of what passes; none where nothing does.
    pub passed: Option<Vec3>,
}

/// A ray along the unit vector `along` at a surface with the unit normal
/// `normal`, either way; `ratio` is the index on its side over that beyond.
///
/// Snell's law and Fresnel's equations, textbook optics; the same as
/// [`crate::trade::light::refraction`], without angles.
pub(super) fn bend(along: &Vec3, normal: &Vec3, ratio: f64) -> Bend {
    let towards = along.dot(normal);
    // The normal on the side that the light comes from, and its cosine there.
    let (normal, cos) = if towards > 0.0 { (-normal, towards) } else { (*normal, -towards) };
    let mirrored = along + normal * (2.0 * cos);
    let beyond = 1.0 - ratio * ratio * (1.0 - cos * cos);
    if beyond <= 0.0 {
        return Bend { mirrored, share: 1.0, passed: None };
    }
    let out = beyond.sqrt();
    let across = ((ratio * cos - out) / (ratio * cos + out)).powi(2);
    let level = ((ratio * out - cos) / (ratio * out + cos)).powi(2);
    let passed = (along * ratio + normal * (ratio * cos - out)).normalize();
    Bend { mirrored, share: (across + level) / 2.0, passed: Some(passed) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::light::{RefractionInput, refraction};

    #[test]
    fn angles_and_shares_are_those_of_the_calculator() {
        let mut rng = fastrand::Rng::with_seed(73);
        for _ in 0..2000 {
            let (from, to) = (1.0 + 1.5 * rng.f64(), 1.0 + 1.5 * rng.f64());
            let incidence_deg = 89.0 * rng.f64();
            let input =
                RefractionInput { index_from: from, index_to: to, incidence_deg, slab_mm: 0.0 };
            let wanted = refraction(&input).expect("in range");
            let (sin, cos) = incidence_deg.to_radians().sin_cos();
            let normal = Vec3::y() * if rng.bool() { 1.0 } else { -1.0 };
            let got = bend(&Vec3::new(sin, -cos, 0.0), &normal, from / to);
            assert!((got.share - wanted.reflected_percent / 100.0).abs() < 1e-9);
            assert!((got.mirrored - Vec3::new(sin, cos, 0.0)).norm() < 1e-12);
            assert_eq!(got.passed.is_some(), wanted.refracted_deg.is_some());
            if let (Some(d), Some(deg)) = (got.passed, wanted.refracted_deg) {
                let (sin, cos) = deg.to_radians().sin_cos();
                assert!((d - Vec3::new(sin, -cos, 0.0)).norm() < 1e-7, "{deg}");
            }
        }
    }

    #[test]
    fn the_critical_angle_and_normal_incidence_of_quartz() {
        let at = |degrees: f64, ratio: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            bend(&Vec3::new(sin, -cos, 0.0), &Vec3::y(), ratio)
        };
        let index: f64 = 1.5443;
        let critical = (1.0 / index).asin().to_degrees();
        assert!(at(critical - 1e-6, index).passed.is_some());
        assert!(at(critical + 1e-6, index).passed.is_none());
        let normal = ((index - 1.0) / (index + 1.0)).powi(2);
        for ratio in [index, 1.0 / index] {
            assert!((at(0.0, ratio).share - normal).abs() < 1e-15);
        }
    }
}
