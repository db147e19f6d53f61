//! Edge curves: straight lines, circles, ellipses and traced intersections.

use std::f64::consts::FRAC_PI_2;
use std::fmt;
use std::sync::Arc;

use crate::measure::Vec3;

/// The curve under an edge, with a parameter that increases from the edge's
/// start vertex to its end vertex.
#[derive(Clone, Debug)]
pub enum Curve {
    /// Straight between two points; the parameter runs from 0 to 1.
    Line {
        /// Start point.
        from: Vec3,
        /// End point.
        to: Vec3,
    },
    /// `centre + radius (cos t x + sin t y)` for `t` in `[from, to]`, radians;
    /// `x` and `y` are orthonormal and `to - from` is at most one turn.
    Circle {
        /// Centre.
        centre: Vec3,
        /// Unit direction of t = 0.
        x: Vec3,
        /// Unit direction of t = pi/2.
        y: Vec3,
        /// Radius, mm.
        radius: f64,
        /// First parameter, radians.
        from: f64,
        /// Last parameter, radians, larger than `from`.
        to: f64,
    },
    /// `centre + cos t x + sin t y` for `t` in `[from, to]`, radians; `x` and
    /// `y` are the perpendicular semi-axes with their lengths, `|x| >= |y|`.
    Ellipse {
        /// Centre.
        centre: Vec3,
        /// Major semi-axis.
        x: Vec3,
        /// Minor semi-axis.
        y: Vec3,
        /// First parameter, radians.
        from: f64,
        /// Last parameter, radians, larger than `from`.
        to: f64,
    },
    /// An exact intersection curve that is none of the above.
    Traced {
        /// The curve itself.
        trace: Arc<dyn Trace>,
        /// First parameter.
        from: f64,
        /// Last parameter, larger than `from`.
        to: f64,
    },
}

/// A smooth space curve known by evaluation: the exact intersection of two
/// surfaces, followed by a parameter of its own.
pub trait Trace: fmt::Debug + Send + Sync {
    /// The point at parameter `t`.
    fn point(&self, t: f64) -> Vec3;
    /// The derivative of [`Trace::point`] at `t`.
    fn derivative(&self, t: f64) -> Vec3;
    /// How many cubic spans per unit of parameter an exchange file needs to
    /// stay within 1e-6 mm of the curve.
    fn spans_per_unit(&self) -> f64;
}

impl Curve {
    /// The parameter range `(from, to)`.
    pub fn range(&self) -> (f64, f64) {
        match self {
            Curve::Line { .. } => (0.0, 1.0),
            Curve::Circle { from, to, .. }
            | Curve::Ellipse { from, to, .. }
            | Curve::Traced { from, to, .. } => (*from, *to),
        }
    }

    /// The point at parameter `t`.
    pub fn point(&self, t: f64) -> Vec3 {
        match self {
            Curve::Line { from, to } => from + (to - from) * t,
            Curve::Circle { centre, x, y, radius, .. } => {
                let (sin, cos) = exact_sin_cos(t);
                centre + (x * cos + y * sin) * *radius
            }
            Curve::Ellipse { centre, x, y, .. } => {
                let (sin, cos) = exact_sin_cos(t);
                centre + x * cos + y * sin
            }
            Curve::Traced { trace, .. } => trace.point(t),
        }
    }

    /// The derivative of [`Curve::point`] at `t`.
    pub fn derivative(&self, t: f64) -> Vec3 {
        match self {
            Curve::Line { from, to } => to - from,
            Curve::Circle { x, y, radius, .. } => {
                let (sin, cos) = exact_sin_cos(t);
                (y * cos - x * sin) * *radius
            }
            Curve::Ellipse { x, y, .. } => {
                let (sin, cos) = exact_sin_cos(t);
                y * cos - x * sin
            }
            Curve::Traced { trace, .. } => trace.derivative(t),
        }
    }

    /// Start point.
    pub fn start(&self) -> Vec3 {
        self.point(self.range().0)
    }

    /// End point.
    pub fn end(&self) -> Vec3 {
        self.point(self.range().1)
    }
}

/// Sine and cosine of `t` radians, exact at multiples of a quarter turn.
pub fn exact_sin_cos(t: f64) -> (f64, f64) {
    let quarters = t / FRAC_PI_2;
    let nearest = quarters.round();
    // A quarter turn computed in floating point misses by a few ulps.
    if (quarters - nearest).abs() <= 8.0 * f64::EPSILON * nearest.abs().max(1.0) {
        return match nearest.rem_euclid(4.0) as u8 {
            0 => (0.0, 1.0),
            1 => (1.0, 0.0),
            2 => (0.0, -1.0),
            _ => (-1.0, 0.0),
        };
    }
    t.sin_cos()
}
