//! What a cup and its ring state for the checker, and what is put into them.

use super::super::around::{CLEAR, drawn};
use super::super::declared::{Declared, Mating, Term};
use super::super::handed::{Handed, Topic};
use super::super::{Component, Way};
use super::plan::Ring;
use super::report::Made;
use crate::measure::{Vec2, Vec3};
use crate::section::Region;
use crate::solid::Solid;

/// Harder interference than this, mm on the width, bends cup or ring. Common
/// practice, no source.
const PRESS_MOST: f64 = 0.3;

impl Made<'_> {
    /// What the cup states; `ring` is the ring's solid.
    pub(super) fn declared(&self, ring: Option<&Solid>) -> Declared {
        let (plan, asked) = (self.plan, self.asked);
        let (spec, values) = (asked.spec, asked.values);
        let side = Vec3::new(spec.outside.fit.radius, 0.0, self.standing.z(plan.shoulder));
        let mut declared = spec.outside.declared(asked.context, values, side, self.standing.high());
        declared.up = Some(self.standing.up());
        let edge = Vec3::new(0.0, plan.centre.y + plan.seat, self.standing.z(plan.rim));
        let half = spec.speaker.tolerance;
        let frame = 2.0 * spec.speaker.half - half;
        let printer = asked.context.printer;
        declared.matings.push(
            Mating::new("speaker in its seat, across", edge, values.path_of("clearance"))
                .term(Term::printed(printer, "seat, printed", 2.0 * plan.seat))
                .term(
                    Term::even("speaker's frame", -frame, half)
                        .by(values.component("speaker").path_of("frame_tolerance")),
                ),
        );
        if let Some(ring) = &plan.ring {
            declared.matings.push(self.ring_mating(ring));
        }
        let towards = if self.standing.front_down { "front" } else { "end cap" };
        let at = self.standing.z(plan.rim);
        let text = format!("it leaves towards the {towards}: keep the ports free of tape and dust");
        declared.handed.push(Handed::new(Topic::Sound, at, text));
        let way = self.way(plan.rim);
        declared.add("speaker", self.speaker(), |name, solid| Component {
            name,
            what: format!("the {} speaker, largest", spec.speaker.name),
            solid,
            way: Some(way),
            press: 0.0,
            field: values.path_of("speaker"),
        });
        if let (Some(solid), Some(ring)) = (ring, &plan.ring) {
            declared.add("ring", Ok(solid.clone()), |name, solid| Component {
                name,
                what: "the ring behind the rim".into(),
                solid,
                way: Some(self.way(ring.low)),
                press: (-0.5 * ring.clearance).max(0.0),
                field: values.path_of("ring_fit"),
            });
        }
        declared
    }

    /// The way in from the open end, down to a height above the bed.
    fn way(&self, height: f64) -> Way {
        let travel = self.plan.length - height + CLEAR;
        Way::Along { up: self.standing.front_down, travel }
    }

    /// The speaker at its largest.
    fn speaker(&self) -> Result<Solid, String> {
        let (plan, speaker) = (self.plan, &self.asked.spec.speaker);
        let (thick, (magnet, deep)) = (speaker.rim.1, speaker.magnet);
        let back = plan.rim + speaker.depth;
        let cone = plan.oval(0.5 * speaker.cone);
        let slabs = [
            (plan.rim - speaker.crest, plan.rim, cone),
            (plan.rim, plan.rim + thick, plan.oval(speaker.half)),
            (plan.rim + thick, back - deep, plan.oval(speaker.basket())),
            (back - deep, back, Region::disc(plan.centre, 0.5 * magnet)),
        ];
        let mut slabs: Vec<(f64, f64, Region)> = slabs
            .into_iter()
            .map(|(low, high, section)| {
                let (low, high) = self.standing.span(low, high);
                (low, high, section)
            })
            .collect();
        slabs.sort_by(|a, b| a.0.total_cmp(&b.0));
        drawn(&slabs)
    }

    /// The ring in the seat.
    fn ring_mating(&self, ring: &Ring) -> Mating {
        let (plan, values) = (self.plan, self.asked.values);
        let printer = self.asked.context.printer;
        let at = Vec3::new(0.0, plan.centre.y + plan.seat, self.standing.z(ring.low));
        let (binds, rattles) = match values.choice("ring_fit") {
            "press" => (-PRESS_MOST, Some(printer.number("fit_slide"))),
            _ => (0.0, None),
        };
        Mating::new("ring in the cup, across", at, values.path_of("ring_fit"))
            .limits(binds, rattles)
            .term(Term::printed(printer, "seat, printed", 2.0 * plan.seat))
            .term(Term::printed(printer, "ring, printed", -2.0 * ring.outer))
    }

    /// What the ring states: the cup around it is the same mating.
    pub(super) fn ring_declared(&self, ring: &Ring) -> Declared {
        let (plan, asked) = (self.plan, self.asked);
        let mut declared =
            Declared { matings: vec![self.ring_mating(ring)], ..Declared::default() };
        declared.up = Some(self.standing.up());
        let way = Way::Along {
            up: !self.standing.front_down,
            travel: ring.high - plan.rim + asked.spec.speaker.depth + CLEAR,
        };
        declared.add("speaker", self.speaker(), |name, solid| Component {
            name,
            what: "the speaker before the ring".into(),
            solid,
            way: Some(way),
            press: 0.0,
            field: asked.values.path_of("speaker"),
        });
        // Seen from the ring, the cup comes down over it.
        let around = Region::disc(Vec2::zeros(), asked.spec.outside.fit.radius)
            .difference(&plan.seat_section());
        let (low, high) = self.standing.span(plan.shoulder, plan.length);
        declared.add("seat", drawn(&[(low, high, around)]), |name, solid| Component {
            name,
            what: "the cup's seat".into(),
            solid,
            way: Some(Way::Along {
                up: !self.standing.front_down,
                travel: plan.length - ring.low + CLEAR,
            }),
            press: (-0.5 * ring.clearance).max(0.0),
            field: asked.values.path_of("ring_fit"),
        });
        declared
    }
}
