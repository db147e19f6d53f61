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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Vec2;
    use crate::section::Region;
    use crate::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, Stack};

    /// The stretches rise or fall steadily, follow one another, and leave nothing out.
    fn steady(edge: &Edge) -> usize {
        const SAMPLES: u32 = 500;
        let climbs = Climb::of(7, edge);
        let z = |t: f64| edge.curve.point(t).z;
        let along = |from: f64, to: f64| {
            (0..=SAMPLES).map(move |k| z(from + (to - from) * f64::from(k) / f64::from(SAMPLES)))
        };
        let steps = |from: f64, to: f64| {
            let heights: Vec<f64> = along(from, to).collect();
            heights.windows(2).map(|w| w[1] - w[0]).collect::<Vec<f64>>()
        };
        for climb in &climbs {
            assert_eq!(climb.edge, 7);
            assert!((z(climb.from) - climb.start).abs() + (z(climb.to) - climb.end).abs() < 1e-12);
            let up = climb.end > climb.start;
            let back = |step: &&f64| if up { **step < -1e-9 } else { **step > 1e-9 };
            let steps = steps(climb.from, climb.to);
            assert!(steps.iter().find(back).is_none(), "{climb:?} of {:?}", edge.curve);
            let middle = 0.5 * (climb.start + climb.end);
            assert!(climb.passes(middle) && !climb.passes(climb.start.max(climb.end)));
            assert!((climb.at(&edge.curve, middle).z - middle).abs() < 1e-9);
        }
        for pair in climbs.windows(2) {
            assert!(pair[0].to <= pair[1].from);
        }
        let (from, to) = edge.curve.range();
        let all: f64 = steps(from, to).iter().map(|step| step.abs()).sum();
        let found: f64 = climbs.iter().map(|c| (c.end - c.start).abs()).sum();
        // Samples miss the very turning points.
        assert!(all - 1e-9 <= found && found <= all + 1e-3 * all.max(1e-6), "{found} of {all}");
        climbs.len()
    }

    #[test]
    fn stretches_of_tilted_curves_turn_where_the_curves_do() {
        let mut rng = fastrand::Rng::with_seed(5);
        let mut turned = 0;
        for _ in 0..300 {
            let mut number = |low: f64, high: f64| low + (high - low) * rng.f64();
            let mut place = || Vec3::from_fn(|_, _| number(-5.0, 5.0));
            let (centre, x, other) = (place(), place().normalize(), place());
            let y = (other - x * x.dot(&other)).normalize();
            let radius = number(0.2, 20.0);
            let from = number(-4.0, 4.0);
            let to = from + number(0.01, 6.2);
            let circle = Curve::Circle { centre, x, y, radius, from, to };
            let minor = radius * number(0.1, 1.0);
            let ellipse = Curve::Ellipse { centre, x: x * radius, y: y * minor, from, to };
            for curve in [circle, ellipse] {
                let edge = Edge { from: 0, to: 1, curve };
                turned += usize::from(steady(&edge) > 1);
            }
        }
        assert!(turned > 200, "{turned} of 600 turn");
    }

    #[test]
    fn stretches_of_the_rims_of_bores_turn_where_the_rims_do() {
        let ring = Region::disc(Vec2::zeros(), 10.0).difference(&Region::disc(Vec2::zeros(), 8.0));
        let mut traced = 0;
        for (direction, offset, z) in [((1.0, 0.3), 3.0, 15.0), ((0.0, 1.0), -4.5, 12.0)] {
            let mut stack = Stack::default();
            stack.prism(0.0, 30.0, &ring);
            let bore = CrossBore {
                direction: Vec2::new(direction.0, direction.1),
                z,
                offset,
                start: f64::NEG_INFINITY,
                profile: BoreProfile::Round { radius: 2.5 },
                mouth: Mouth::Plain,
                end: BoreEnd::AllWalls,
            };
            let solid = stack.bored(&[bore]).expect("inside the walls");
            for edge in solid.edges() {
                traced += usize::from(matches!(edge.curve, Curve::Traced { .. }));
                steady(edge);
            }
        }
        assert!(traced >= 8, "{traced} rims");
    }
}
