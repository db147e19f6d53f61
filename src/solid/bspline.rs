//! Cubic B-splines through traced curves, for formats that know no better.

use super::Curve;
use crate::measure::Vec3;

/// A cubic B-spline with continuous tangents: every interior knot is double,
/// the end knots are fourfold.
#[derive(Clone, Debug)]
pub(crate) struct CubicSpline {
    /// Distinct knots, increasing: the curve's own parameter.
    pub knots: Vec<f64>,
    /// Two control points per knot, mm.
    pub control_points: Vec<Vec3>,
    /// Largest distance found between spline and curve at equal parameters,
    /// mm; the distance between the curves as sets is not larger.
    pub deviation: f64,
}

/// Largest deviation of a spline from the curve it stands for, mm: the
/// uncertainty that exchange files state.
pub(crate) const SPLINE_TOLERANCE: f64 = 1e-6;

/// A span may deviate by this part of the tolerance at the places looked at,
/// because its worst place may lie between them.
const SAMPLED_PART: f64 = 0.7;

/// Where a span is compared with the curve. The error of Hermite interpolation
/// is close to a multiple of `s^2 (1 - s)^2` (de Boor, A Practical Guide to
/// Splines, from memory), largest at the middle.
const SAMPLES: [f64; 3] = [0.3, 0.5, 0.7];

/// A span that still deviates after this many bisections is left so; the
/// spline's `deviation` tells.
const MAX_BISECTIONS: u32 = 10;

impl CubicSpline {
    /// Interpolates points and derivatives of `curve`, on spans bisected until
    /// each is within [`SPLINE_TOLERANCE`]. The ends are exactly `start` and
    /// `end`, which must be the curve's own but for rounding.
    pub fn through(curve: &Curve, start: Vec3, end: Vec3) -> CubicSpline {
        let (from, to) = curve.range();
        let spans = match curve {
            Curve::Traced { trace, .. } => (trace.spans_per_unit() * (to - from)).ceil(),
            _ => 1.0,
        };
        // What is not a number becomes zero in the cast.
        let spans = (spans as usize).clamp(1, MAX_FIRST_SPANS);
        let mut spline = CubicSpline { knots: vec![from], control_points: vec![], deviation: 0.0 };
        let mut a = Knot { t: from, point: start, tangent: curve.derivative(from) };
        spline.control_points.push(a.point);
        for i in 1..=spans {
            let t = from + (to - from) * i as f64 / spans as f64;
            let b = if i == spans {
                Knot { t: to, point: end, tangent: curve.derivative(to) }
            } else {
                Knot::on(curve, t)
            };
            spline.append(curve, &a, &b, MAX_BISECTIONS);
            a = b;
        }
        spline.control_points.push(end);
        spline
    }

    fn append(&mut self, curve: &Curve, a: &Knot, b: &Knot, left: u32) {
        let third = (b.t - a.t) / 3.0;
        let (p, q) = (a.point + a.tangent * third, b.point - b.tangent * third);
        let deviation = SAMPLES
            .iter()
            .map(|&s| {
                let r = 1.0 - s;
                let on_spline = a.point * (r * r * r)
                    + p * (3.0 * r * r * s)
                    + q * (3.0 * r * s * s)
                    + b.point * (s * s * s);
                (on_spline - curve.point(a.t + (b.t - a.t) * s)).norm()
            })
            .fold(0.0, f64::max);
        if left > 0 && deviation > SAMPLED_PART * SPLINE_TOLERANCE {
            let middle = Knot::on(curve, 0.5 * (a.t + b.t));
            self.append(curve, a, &middle, left - 1);
            self.append(curve, &middle, b, left - 1);
            return;
        }
        self.deviation = self.deviation.max(deviation);
        self.control_points.extend([p, q]);
        self.knots.push(b.t);
    }

    /// How often each of `knots` counts.
    pub fn multiplicity(&self, knot: usize) -> usize {
        if knot == 0 || knot + 1 == self.knots.len() { 4 } else { 2 }
    }
}

/// Limit on the spans a trace may ask for at first, against a wild value.
const MAX_FIRST_SPANS: usize = 4096;

struct Knot {
    t: f64,
    point: Vec3,
    tangent: Vec3,
}

impl Knot {
    fn on(curve: &Curve, t: f64) -> Knot {
        Knot { t, point: curve.point(t), tangent: curve.derivative(t) }
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;
    use std::sync::Arc;

    use super::*;
    use crate::solid::Trace;

    /// A curve on a cylinder of radius 9 that turns back sharply.
    #[derive(Debug)]
    struct Wave {
        spans: f64,
    }

    impl Trace for Wave {
        fn point(&self, t: f64) -> Vec3 {
            Vec3::new(9.0 * t.cos(), 9.0 * t.sin(), (3.0 * t.sin()).tanh())
        }

        fn derivative(&self, t: f64) -> Vec3 {
            let steep = 1.0 - (3.0 * t.sin()).tanh().powi(2);
            Vec3::new(-9.0 * t.sin(), 9.0 * t.cos(), 3.0 * t.cos() * steep)
        }

        fn spans_per_unit(&self) -> f64 {
            self.spans
        }
    }

    fn de_boor(s: &CubicSpline, t: f64) -> Vec3 {
        let flat: Vec<f64> = (0..s.knots.len())
            .flat_map(|i| std::iter::repeat_n(s.knots[i], s.multiplicity(i)))
            .collect();
        assert_eq!(flat.len(), s.control_points.len() + 4);
        let k = flat.iter().rposition(|&x| x <= t).unwrap().min(s.control_points.len() - 1);
        let mut d: Vec<Vec3> = (0..4).map(|j| s.control_points[k - 3 + j]).collect();
        for r in 1..4 {
            for j in (r..4).rev() {
                let (lo, hi) = (flat[k - 3 + j], flat[k + 1 + j - r]);
                let alpha = (t - lo) / (hi - lo);
                d[j] = d[j - 1] * (1.0 - alpha) + d[j] * alpha;
            }
        }
        d[3]
    }

    #[test]
    fn spline_stays_within_the_tolerance_whatever_the_trace_asks_for() {
        for spans in [0.0, 1.0, 20.0, f64::NAN] {
            let (from, to) = (0.2, 0.2 + TAU / 2.0);
            let curve = Curve::Traced { trace: Arc::new(Wave { spans }), from, to };
            let spline = CubicSpline::through(&curve, curve.start(), curve.end());
            assert_eq!(spline.control_points[0], curve.start());
            assert_eq!(*spline.control_points.last().unwrap(), curve.end());
            let mut worst: f64 = 0.0;
            for i in 0..=20_000 {
                let t = (from + (to - from) * f64::from(i) / 20_000.0).min(to - 1e-12);
                worst = worst.max((de_boor(&spline, t) - curve.point(t)).norm());
            }
            assert!(worst < SPLINE_TOLERANCE, "{worst:e} off with {spans} spans per unit");
            assert!(worst < 1.2 * spline.deviation, "{worst:e} against {:e}", spline.deviation);
        }
    }
}
