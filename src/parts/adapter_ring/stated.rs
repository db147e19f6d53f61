//! What an adapter ring states for the checker.

use super::super::around::{CLEAR, bore, drawn};
use super::super::declared::{Bend, Component, Declared, Mating, Term, Way};
use super::super::mating::{in_bore, limits_of};
use super::report::Made;
use crate::measure::frame::direction;
use crate::measure::{Vec2, Vec3};
use crate::section::Region;

/// How far the chassis is drawn beyond both ends of the ring, mm.
const SHOWN: f64 = 5.0;

impl Made<'_> {
    pub(super) fn declared(&self) -> Declared {
        let ring = self.ring;
        let mut declared = Declared::default();
        let middle = 0.5 * (ring.low + ring.high);
        let squeeze = ring.gap.map_or(0.0, |gap| gap.squeeze);
        let opposite = direction(ring.gap.map_or(90.0, |gap| gap.at + 180.0));
        let at = |radius: f64| {
            let p = opposite * radius;
            Vec3::new(p.x, p.y, middle)
        };
        let outer = at(ring.outside.fit.radius);
        if self.shim == 0 {
            match ring.gap {
                None => {
                    let fit = &ring.outside.fit;
                    declared.matings = in_bore(self.context, self.values, fit, outer);
                }
                Some(_) => declared.matings.push(self.sprung(outer)),
            }
        }
        declared.matings.push(self.chassis_fit(at(ring.inner), squeeze));
        if let Some(out) = self.squeezed() {
            declared.bends.push(Bend {
                what: "split ring, opposite its gap".into(),
                at: outer,
                along: Vec3::new(-opposite.y, opposite.x, 0.0),
                strain: 0.01 * out.strain_percent,
                outside: true,
                field: self.values.path_of("spring"),
            });
        }
        self.components(&mut declared, squeeze);
        declared
    }

    /// A split ring presses for as long as the bore is narrower than it.
    fn sprung(&self, at: Vec3) -> Mating {
        let bore = self.context.handle.bore();
        let printer = self.context.printer;
        let radius = self.ring.outside.fit.radius;
        let (low, high) = (bore.smallest(), bore.largest());
        let mating = Mating::new("split ring in the bore, free", at, self.values.path_of("spring"))
            .term(
                Term::even("bore", 0.5 * (low + high), 0.5 * (high - low) + bore.caliper())
                    .by("handle.bore"),
            )
            .term(Term::printed(printer, "outside, printed", -2.0 * radius))
            .limits(f64::NEG_INFINITY, Some(0.0));
        match self.values.number("coat") {
            coat if coat > 0.0 => mating.term(Term::paint(coat)),
            _ => mating,
        }
    }

    fn chassis_fit(&self, at: Vec3, squeeze: f64) -> Mating {
        let printer = self.context.printer;
        let caliper = self.context.handle.bore().caliper();
        let (binds, rattles) = limits_of(self.values.choice("inner_fit"), printer);
        let inside = 2.0 * self.ring.inner - squeeze;
        Mating::new("chassis in the ring", at, self.values.path_of("inner_fit"))
            .term(Term::printed(printer, "ring's hole, printed", inside))
            .term(
                Term::even("chassis, caliper", -self.values.number("inner"), caliper)
                    .by(self.values.path_of("inner")),
            )
            .limits(binds, rattles)
    }

    /// The bore and the chassis, as they meet the ring that lies free.
    fn components(&self, declared: &mut Declared, squeeze: f64) {
        let ring = self.ring;
        let mut fit = ring.outside.fit;
        // What springs, or is a shim to try, is drawn where it just goes in.
        fit.bore += squeeze + 2.0 * (ring.outer(self.shim) - ring.outer(0));
        bore(declared, self.context, self.values, &fit, ring.high);
        let round = Region::disc(Vec2::zeros(), 0.5 * (self.values.number("inner") + squeeze));
        let low = ring.low - ring.flange.map_or(0.0, |(thick, _)| thick) - SHOWN;
        let high = ring.high + SHOWN;
        declared.add("chassis", drawn(&[(low, high, round)]), |name, solid| Component {
            name,
            what: "the small chassis".into(),
            solid,
            way: Some(Way::Along { up: true, travel: high - low + CLEAR }),
            press: (0.5 * (self.values.number("inner") + squeeze) - ring.inner).max(0.0),
            field: self.values.path_of("inner"),
        });
    }
}
