//! Edges cut into stretches that rise or fall steadily along z.

use super::{Curve, Edge};
use crate::measure::Vec3;

/// Samples of a traced curve between which its turning points are looked for.
const TRACE_SAMPLES: usize = 64;
/// Bisections that narrow a parameter to its last bit.
const BISECTIONS: usize = 54;

/// A stretch of an edge on which z only rises or only falls.
#[derive(Clone, Copy, Debug)]
pub(super) struct Climb {
    pub edge: u32,
    /// Parameters at the start and at the end of the stretch.
    from: f64,
    to: f64,
    /// z there, mm.
    pub start: f64,
    pub end: f64,
}

impl Climb {
    /// The stretches of an edge; none for one that is level.
    pub fn of(number: u32, edge: &Edge) -> Vec<Climb> {
        let curve = &edge.curve;
        let (from, to) = curve.range();
        let mut stops = vec![from];
        match curve {
            Curve::Line { .. } => {}
            Curve::Circle { x, y, radius, .. } => {
                turns(x.z * radius, y.z * radius, from, to, &mut stops);
            }
            Curve::Ellipse { x, y, .. } => turns(x.z, y.z, from, to, &mut stops),
            Curve::Traced { .. } => {
                let at = |k: usize| from + (to - from) * k as f64 / TRACE_SAMPLES as f64;
                for k in 0..TRACE_SAMPLES {
                    let rises = |t: f64| curve.derivative(t).z > 0.0;
                    let first = rises(at(k));
                    if first != rises(at(k + 1)) {
                        stops.push(bisect(at(k), at(k + 1), |t| rises(t) == first));
                    }
                }
            }
        }
        stops.push(to);
        let z = |t: f64| curve.point(t).z;
        stops
            .windows(2)
            .map(|w| Climb { edge: number, from: w[0], to: w[1], start: z(w[0]), end: z(w[1]) })
            .filter(|c| (c.end - c.start).abs() > LEVEL)
            .collect()
    }

    /// Whether it passes through height `z`.
    pub fn passes(&self, z: f64) -> bool {
        self.start.min(self.end) < z && z < self.start.max(self.end)
    }

    /// Its point at height `z`; its nearer end for heights beyond it.
    pub fn at(&self, curve: &Curve, z: f64) -> Vec3 {
        if let Curve::Line { from, to } = curve {
            let t = (z - from.z) / (to.z - from.z);
            return from + (to - from) * t.clamp(0.0, 1.0);
        }
        let rises = self.end > self.start;
        let below = |t: f64| (curve.point(t).z < z) == rises;
        curve.point(bisect(self.from, self.to, below))
    }
}

/// Height, mm, below which a stretch is level: float noise of a circle's ends.
const LEVEL: f64 = 1e-9;

/// Parameters at which `x cos t + y sin t` turns.
fn turns(x: f64, y: f64, from: f64, to: f64, stops: &mut Vec<f64>) {
    if x.hypot(y) <= LEVEL {
        return;
    }
    let first = y.atan2(x);
    let mut k = ((from - first) / std::f64::consts::PI).ceil();
    loop {
        let t = first + k * std::f64::consts::PI;
        if t >= to {
            return;
        }
        if t > from {
            stops.push(t);
        }
        k += 1.0;
    }
}

/// Where `before` stops to hold between `low`, where it holds, and `high`.
fn bisect(mut low: f64, mut high: f64, before: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..BISECTIONS {
        let middle = 0.5 * (low + high);
        if before(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
