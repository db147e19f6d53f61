//! The axes of what is round all about, for centre lines.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use crate::measure::Vec3;
use crate::solid::{Curve, Solid};

/// Places closer than this are one, mm; directions, as a share.
const SAME: f64 = 1e-3;

/// How much of a turn may be missing of what is round all about, radians.
const MISSING: f64 = 0.02;

/// An axis of round faces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundAxis {
    /// A point of it, mm: the middle of what is round about it.
    pub at: Vec3,
    /// Its unit direction.
    pub along: Vec3,
    /// How far the round faces reach along it from `at`, either way, mm.
    pub half: f64,
    /// The largest radius about it, mm.
    pub radius: f64,
}

type Key = [i64; 7];

/// The axes of a solid about which it has whole circles, each once.
pub fn round_axes(solid: &Solid) -> Vec<RoundAxis> {
    let mut turns: BTreeMap<Key, (f64, Vec3, Vec3, f64)> = BTreeMap::new();
    for edge in solid.edges() {
        let Curve::Circle { centre, x, y, radius, from, to } = &edge.curve else { continue };
        let along = upward(x.cross(y));
        let [a, b, c] = rounded(centre);
        let [d, e, f] = rounded(&along);
        let key = [a, b, c, d, e, f, (radius / SAME).round() as i64];
        turns.entry(key).or_insert((0.0, *centre, along, *radius)).0 += to - from;
    }
    let mut axes: BTreeMap<[i64; 6], (Vec3, Vec3, f64, f64, f64)> = BTreeMap::new();
    for (turn, centre, along, radius) in turns.into_values() {
        if turn < TAU - MISSING {
            continue;
        }
        let height = centre.dot(&along);
        let foot = centre - along * height;
        let ([a, b, c], [d, e, f]) = (rounded(&foot), rounded(&along));
        let axis = axes.entry([a, b, c, d, e, f]).or_insert((foot, along, height, height, radius));
        axis.2 = axis.2.min(height);
        axis.3 = axis.3.max(height);
        axis.4 = axis.4.max(radius);
    }
    let axis = |(foot, along, low, high, radius): (Vec3, Vec3, f64, f64, f64)| RoundAxis {
        at: foot + along * (0.5 * (low + high)),
        along,
        half: 0.5 * (high - low),
        radius,
    };
    axes.into_values().map(axis).collect()
}

/// A direction or its opposite, whichever has its last part that is not zero above zero.
fn upward(way: Vec3) -> Vec3 {
    let last = [way.z, way.y, way.x].into_iter().find(|c| c.abs() > SAME);
    if last.is_some_and(|c| c < 0.0) { -way } else { way }
}

fn rounded(p: &Vec3) -> [i64; 3] {
    [p.x, p.y, p.z].map(|c| (c / SAME).round() as i64)
}
