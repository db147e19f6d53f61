//! What is around all of it, with the opening that one looks in through.

use super::ray::Ray;
use crate::measure::Vec3;

/// An opaque shell about the bore's axis with a window towards +y. Beyond its
/// wall is the open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shell {
    /// A tube about z without ends.
    Tube {
        /// Radius of its inside, mm.
        radius: f64,
        /// Half the angle of the window about +y, radians, at most pi/2.
        half_angle: f64,
        /// Ends of the window, z mm.
        window: (f64, f64),
    },
    /// A chassis that ends at a level rim.
    Trough {
        /// Half the width of its opening, mm.
        half: f64,
        /// Height of its rim, mm.
        rim: f64,
        /// Ends of the opening, z mm.
        window: (f64, f64),
    },
}

/// Where a ray passes the shell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Leaving {
    /// Distance along the ray, mm; infinite where it never does.
    pub reach: f64,
    /// Whether it passes the window.
    pub seen: bool,
}

impl Shell {
    /// Where a ray from inside passes the shell; at once from outside.
    pub(super) fn leaving(&self, ray: &Ray) -> Leaving {
        const NEVER: Leaving = Leaving { reach: f64::INFINITY, seen: false };
        const OUTSIDE: Leaving = Leaving { reach: 0.0, seen: true };
        let (p, d) = (ray.from, ray.along);
        match *self {
            Shell::Tube { radius, half_angle, window } => {
                let inside = radius * radius - p.x * p.x - p.y * p.y;
                if inside < 0.0 {
                    return OUTSIDE;
                }
                let (square, half) = (d.x * d.x + d.y * d.y, p.x * d.x + p.y * d.y);
                if square == 0.0 {
                    return NEVER;
                }
                let reach = ((half * half + square * inside).sqrt() - half) / square;
                let at = ray.at(reach);
                let around = at.x.abs().atan2(at.y);
                let seen = around <= half_angle && (window.0..=window.1).contains(&at.z);
                Leaving { reach, seen }
            }
            Shell::Trough { half, rim, window } => {
                if p.y > rim {
                    return OUTSIDE;
                }
                if d.y <= 0.0 {
                    return NEVER;
                }
                let reach = (rim - p.y) / d.y;
                let at = ray.at(reach);
                let seen = at.x.abs() <= half && (window.0..=window.1).contains(&at.z);
                Leaving { reach, seen }
            }
        }
    }

    /// The point of the window at two shares of its width and length.
    pub(super) fn pane(&self, across: f64, along: f64) -> Vec3 {
        let z = |window: (f64, f64)| window.0 + (window.1 - window.0) * along;
        match *self {
            Shell::Tube { radius, half_angle, window } => {
                let (sin, cos) = (half_angle * (2.0 * across - 1.0)).sin_cos();
                Vec3::new(radius * sin, radius * cos, z(window))
            }
            Shell::Trough { half, rim, window } => {
                Vec3::new(half * (2.0 * across - 1.0), rim, z(window))
            }
        }
    }

    /// Whether `z` lies beyond the window's ends.
    pub(super) fn beyond(&self, z: f64) -> bool {
        let (Shell::Tube { window, .. } | Shell::Trough { window, .. }) = self;
        !(window.0..=window.1).contains(&z)
    }
}
