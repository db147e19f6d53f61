//! The mount's sections along its length.

use super::super::build::Slab;
use super::spec::{Key, Spec};
use crate::measure::Vec2;
use crate::section::{Region, snap};

impl Key {
    /// The key's section, from its inner face beyond the seat's wall.
    pub(super) fn section(&self, pocket: f64) -> Region {
        self.axes.quad((-self.half, self.half), (self.inner, 2.0 * pocket))
    }
}

impl Spec {
    /// What is cut out for the board: a disc without the key.
    pub(super) fn seat_cut(&self) -> Region {
        let disc = Region::disc(Vec2::zeros(), self.pocket);
        match &self.key {
            Some(key) => disc.difference(&key.section(self.pocket)),
            None => disc,
        }
    }

    /// The holes for the board's screws at a height, mm.
    fn pilots_at(&self, z: f64) -> Region {
        let Some(pilots) = &self.pilots else { return Region::empty() };
        let below = self.seat - z;
        let radius = if below < pilots.depths.1 {
            pilots.radii.1
        } else if below < pilots.depths.0 {
            pilots.radii.0
        } else {
            return Region::empty();
        };
        let discs = pilots.at.iter().map(|at| Region::disc(*at, radius));
        discs.fold(Region::empty(), |all, disc| all.union(&disc))
    }

    /// The section at a height, mm.
    fn section(&self, z: f64) -> Region {
        let disc = |radius: f64| Region::disc(Vec2::zeros(), radius);
        let cut = if z > self.seat {
            self.seat_cut()
        } else {
            disc(if z > self.floor { self.recess } else { self.exit }).union(&self.pilots_at(z))
        };
        self.outside.region().difference(&cut)
    }

    /// Slabs in rising order.
    pub(super) fn slabs(&self) -> Vec<Slab> {
        let mut levels = vec![self.low, self.floor, self.seat, self.top];
        if let Some(pilots) = &self.pilots {
            levels.push(snap(self.seat - pilots.depths.0));
            levels.push(snap(self.seat - pilots.depths.1));
        }
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        levels
            .windows(2)
            .map(|z| Slab { bottom: z[0], top: z[1], section: self.section(0.5 * (z[0] + z[1])) })
            .collect()
    }
}
