//! The ring as slabs and cross bores.

use super::super::Refusal;
use super::super::build::{self, Ends, Slab, chamfered};
use super::super::fixing::Axes;
use super::super::marks::line;
use super::super::module::Outside;
use super::spec::{BEYOND, Hole, Ring};
use crate::measure::Vec2;
use crate::measure::frame::direction;
use crate::section::{Region, snap};
use crate::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, Solid};

/// How far inside the hole notches begin, as a share of its radius.
const NOTCH_FROM: f64 = 0.5;

/// A ring that was made.
pub(super) struct Shape {
    pub solid: Solid,
    /// Chamfers made.
    pub made: Ends,
}

impl Shape {
    /// # Errors
    /// Sections that make no solid, with the place.
    pub(super) fn new(ring: &Ring, shim: u32) -> Result<Shape, Refusal> {
        let outer = ring.outer(shim);
        let section = |radius: f64| {
            let mut outside: Outside = ring.outside.clone();
            outside.fit.radius = radius;
            Region::disc(Vec2::zeros(), radius)
                .difference(&Region::disc(Vec2::zeros(), ring.inner))
                .difference(&outside.cuts())
                .difference(&ring.gap_region(radius))
        };
        let plain = section(outer);
        let mut slabs = Vec::new();
        if let Some((thick, radius)) = ring.flange {
            slabs.push(Slab { bottom: -thick, top: ring.low, section: section(radius) });
        }
        let notched = if shim > 0 && !ring.notches.is_empty() { ring.notch.1 } else { 0.0 };
        let below = snap(ring.high - notched);
        slabs.push(Slab { bottom: ring.low, top: below, section: plain.clone() });
        if notched > 0.0 {
            let cuts = ring.notches.iter().take(shim as usize).map(|&clocking| {
                let axes = Axes::new(direction(clocking));
                line(&axes, ring.notch.0, NOTCH_FROM * ring.inner, outer + BEYOND)
            });
            let section = cuts.fold(plain, |section, cut| section.difference(&cut));
            slabs.push(Slab { bottom: below, top: ring.high, section });
        }
        let (stack, made) = chamfered(&slabs, ring.ends);
        let bores: Vec<CrossBore> = ring.holes.iter().map(bore).collect();
        let solid = build::solid(&stack, &bores, "the ring")?;
        Ok(Shape { solid, made })
    }
}

fn bore(hole: &Hole) -> CrossBore {
    let radius = hole.radius;
    let profile = if hole.between > 0.0 {
        BoreProfile::SlotAlongZ { radius, between: hole.between }
    } else {
        BoreProfile::Round { radius }
    };
    CrossBore {
        direction: -hole.axes.along,
        z: hole.z,
        offset: 0.0,
        start: f64::NEG_INFINITY,
        profile,
        mouth: Mouth::Plain,
        end: BoreEnd::NextWall,
    }
}
