//! What sits in a switch plate or around it, as solids.

use super::super::around::{CLEAR, bar, bore, drawn, standing};
use super::super::fit::BoreFit;
use super::super::fixing::Axes;
use super::super::{Component, Declared, PartContext, Way};
use super::plan::Plan;
use super::plunger::{LEG_SHEET, Plunger};
use crate::measure::Vec2;
use crate::section::Region;
use crate::solid::{RuledSection, Solid, Stack};

/// How far a countersunk head is drawn above where it bears, mm: both cones
/// have the same angle, and touch.
const HEAD_PLAY: f64 = 0.05;
/// How far screws reach through the flat back, mm.
const SCREW_TIP: f64 = 3.0;

impl Plan<'_> {
    /// Everything that belongs to the plate.
    pub(super) fn components(&self, context: &PartContext<'_>, fit: &BoreFit) -> Declared {
        let mut declared = Declared::default();
        for p in &self.plungers {
            self.switch(&mut declared, p);
            self.plunger(&mut declared, p, fit);
        }
        self.screws(&mut declared);
        bore(&mut declared, context, self.values, fit, self.high);
        declared
    }

    /// Down onto the plate until something whose lowest point ends at `lowest`
    /// mm from the axis sits.
    fn down(&self, axes: &Axes, lowest: f64) -> Way {
        Way::Across { along: -axes.along, travel: self.radius + CLEAR - lowest, aside: 0.0 }
    }

    fn switch(&self, declared: &mut Declared, p: &Plunger<'_>) {
        let s = p.switch;
        let turned = p.values.flag("turned");
        // Across and along its own rows of legs.
        let rect = |across: (f64, f64), along: (f64, f64)| {
            if turned { bar(along, across) } else { bar(across, along) }
        };
        let more = s.number("body_tolerance");
        let half = |key: &str| 0.5 * (s.number(key) + more);
        let (across, along) = (half("body_width"), half("body_length"));
        let case = rect((-across, across), (-along, along));
        let (span, pitch) = (0.5 * s.number("leg_span"), 0.5 * s.number("leg_pitch"));
        let wide = 0.5 * s.number("leg_width");
        let legs = |from: f64, to: f64| {
            let mut all = Region::empty();
            for side in [-1.0, 1.0] {
                for row in [-pitch, pitch] {
                    let (a, b) = (side * from, side * to);
                    let leg = rect((a.min(b), a.max(b)), (row - wide, row + wide));
                    all = all.union(&leg);
                }
            }
            all
        };
        let base = p.seat + p.pad;
        let reach = match s.choice("legs") {
            "through" => s.number("leg_length"),
            _ => 0.0,
        };
        let inner = (span - LEG_SHEET).min(across);
        let top = base + s.number("overall_height");
        let shoulder = base + s.number("body_height");
        let stem = Region::disc(Vec2::zeros(), 0.5 * s.number("stem_diameter"));
        let solid = drawn(&[
            (base - reach, base, legs(span - LEG_SHEET, span)),
            (base, base + LEG_SHEET, case.union(&legs(inner, span))),
            (base + LEG_SHEET, shoulder, case),
            (shoulder, top, stem),
        ]);
        let solid = standing(&p.axes, (0.0, p.z), solid);
        declared.add(format!("switch_{}", p.number), solid, |name, solid| Component {
            name,
            what: format!("the switch of plunger {}, thickest", p.number),
            solid,
            way: Some(self.down(&p.axes, base - reach)),
            press: 0.0,
            field: p.values.path_of("switch"),
        });
    }

    /// The plunger pressed all the way, and at rest on its way past the plate.
    fn plunger(&self, declared: &mut Declared, p: &Plunger<'_>, fit: &BoreFit) {
        let round = Region::disc(Vec2::zeros(), 0.5 * p.diameter);
        let end = 0.5 * fit.bore + CLEAR;
        let rod = |tip: f64| standing(&p.axes, (0.0, p.z), drawn(&[(tip, end, round.clone())]));
        let pressed = rod(p.tip - p.chain.travel_mm);
        declared.add(format!("plunger_{}_pressed", p.number), pressed, |name, solid| Component {
            name,
            what: format!("plunger {}, pressed", p.number),
            solid,
            way: None,
            press: 0.0,
            field: p.values.path_of("travel"),
        });
        // The plate slides in from the end cap's end under plungers that stay;
        // those that are out come in after it.
        let way = if self.lanes {
            Way::Along { up: false, travel: self.high - p.z + p.diameter }
        } else {
            self.down(&p.axes, p.tip)
        };
        declared.add(format!("plunger_{}", p.number), rod(p.tip), |name, solid| Component {
            name,
            what: format!("plunger {}, at rest", p.number),
            solid,
            way: Some(way),
            press: 0.0,
            field: p.values.path_of("diameter"),
        });
    }

    fn screws(&self, declared: &mut Declared) {
        let Some(flanges) = &self.flanges else { return };
        let screw = self.values.component("screw");
        let (head, thread) = (0.5 * screw.number("head_diameter"), 0.5 * flanges.hole.thread);
        let bears = flanges.top - flanges.hole.recess_depth;
        let tip = self.back - SCREW_TIP;
        let solid = || -> Result<Solid, String> {
            let disc = |radius: f64| Region::disc(Vec2::zeros(), radius);
            let Some(angle) = flanges.hole.cone else {
                let height = screw.number("head_height");
                return drawn(&[(tip, bears, disc(thread)), (bears, bears + height, disc(head))]);
            };
            // Where a cone through the rim of the hole has these radii.
            let tangent = (0.5 * angle).to_radians().tan();
            let at = |radius: f64| bears + HEAD_PLAY + (radius - 0.5 * flanges.hole.hole) / tangent;
            let cone = RuledSection::between(&disc(thread), &disc(head));
            let mut stack = Stack::default();
            stack.prism(tip, at(thread), &disc(thread));
            stack.ruled(at(thread), at(head), cone.map_err(|e| e.to_string())?);
            stack.solid().map_err(|e| e.to_string())
        };
        let mut number = 0;
        for (offsets, z) in flanges.offsets.iter().zip(flanges.z) {
            for &u in offsets {
                number += 1;
                let placed = standing(&self.facing, (u, z), solid());
                declared.add(format!("screw_{number}"), placed, |name, solid| Component {
                    name,
                    what: format!("screw {number}"),
                    solid,
                    way: Some(self.down(&self.facing, tip)),
                    press: 0.0,
                    field: self.values.path_of("screw"),
                });
            }
        }
    }
}
