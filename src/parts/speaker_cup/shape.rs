//! The sections of a cup and of its ring, and their solids.

use super::super::Refusal;
use super::super::build::{Ends, Slab, chamfered, solid};
use super::super::hollow::{Hollow, Standing};
use super::plan::{Plan, Ring};
use super::spec::Spec;
use crate::section::Region;
use crate::solid::Solid;

/// Chamfers around the ends of the ring, mm: it is pressed in, and either end
/// may lie on the bed. Common practice, no source.
pub(super) const RING_CHAMFER: f64 = 0.3;

impl Plan {
    /// The cup, to be made.
    pub(super) fn hollow<'a>(&self, spec: &'a Spec, standing: Standing, ends: Ends) -> Hollow<'a> {
        let (hole, slit) = match &self.channel {
            None => (Region::empty(), Region::empty()),
            Some(channel) => (
                Region::disc(channel.middle, channel.radius),
                Region::slot(channel.middle, self.centre, channel.radius),
            ),
        };
        let slab = |bottom, top, section: Region| Slab { bottom, top, section };
        let cuts = vec![
            slab(0.0, self.grille, self.ports.region().union(&hole)),
            slab(self.grille, self.shoulder, self.oval(self.opening).union(&hole)),
            slab(self.shoulder, self.length, self.seat_section().union(&slit)),
        ];
        Hollow { outside: &spec.outside, standing, cuts, ends }
    }

    /// The section of the seat, without the channel.
    pub(super) fn seat_section(&self) -> Region {
        self.oval(self.seat)
    }

    /// The ring's section.
    pub(super) fn ring_section(&self, ring: &Ring) -> Region {
        self.oval(ring.outer).difference(&self.oval(ring.inner))
    }

    /// The ring where it sits, and the chamfers at its low and high end.
    pub(super) fn ring_solid(
        &self,
        ring: &Ring,
        standing: Standing,
    ) -> Result<(Solid, Ends), Refusal> {
        let (bottom, top) = standing.span(ring.low, ring.high);
        // A third of its width stays flat.
        let size = RING_CHAMFER.min((ring.outer - ring.inner) / 3.0);
        let slab = Slab { bottom, top, section: self.ring_section(ring) };
        let (stack, made) = chamfered(&[slab], Ends { low: size, high: size });
        Ok((solid(&stack, &[], "the ring")?, made))
    }
}
