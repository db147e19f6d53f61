//! What a pocket states for the checker, and the switch in it.

use super::super::around::{CLEAR, drawn};
use super::super::declared::{Declared, Mating, Term};
use super::super::{Component, Way};
use super::plan::rectangle;
use super::report::Made;
use crate::measure::Vec3;
use crate::section::Region;
use crate::solid::Solid;

impl Made<'_> {
    /// What the pocket states.
    pub(super) fn declared(&self) -> Declared {
        let (plan, asked) = (self.plan, self.asked);
        let (spec, values) = (asked.spec, asked.values);
        let side = Vec3::new(spec.outside.fit.radius, 0.0, self.standing.z(plan.level));
        let mut declared = spec.outside.declared(asked.context, values, side, self.standing.high());
        declared.up = Some(self.standing.up());
        let switch = values.component("switch");
        for (way, key, half) in
            [("along", "body_length", plan.pocket.0), ("across", "body_width", plan.pocket.1)]
        {
            let p = plan.centre
                + match way {
                    "along" => spec.axes.point(0.0, half),
                    _ => spec.axes.point(half, 0.0),
                };
            let at = Vec3::new(p.x, p.y, self.standing.z(0.5 * (plan.back + plan.level)));
            let what = format!("switch in its pocket, {way}");
            declared.matings.push(
                Mating::new(what, at, values.path_of("clearance"))
                    .term(Term::printed(asked.context.printer, "pocket, printed", 2.0 * half))
                    .term(Term::even("switch's case", -switch.number(key), spec.switch.tolerance)),
            );
        }
        let deepest = plan.back - spec.switch.terminals;
        declared.add("switch", self.switch(), |name, solid| Component {
            name,
            what: format!("the {} switch, largest, its lever on and off", spec.switch.name),
            solid,
            // From the cap's end towards the front.
            way: Some(Way::Along { up: true, travel: plan.length - deepest + CLEAR }),
            press: 0.0,
            field: values.path_of("switch"),
        });
        declared
    }

    /// The switch at its largest; its lever covers both of its ends.
    fn switch(&self) -> Result<Solid, String> {
        let (plan, spec) = (self.plan, self.asked.spec);
        let switch = &spec.switch;
        let part = |half: (f64, f64)| rectangle(spec, plan.centre, half);
        // Terminals stand within what the ledges leave free.
        let within = |half: f64, room: f64| half.min(room);
        let legs = (within(switch.half.0, plan.room.0), within(switch.half.1, plan.room.1));
        let face = plan.level + switch.ear();
        let ears = match switch.ears {
            Some((length, _)) => part((0.5 * length, switch.half.1)),
            None => Region::empty(),
        };
        let mut slabs: Vec<(f64, f64, Region)> = [
            (plan.back - switch.terminals, plan.back, part(legs)),
            (plan.back, plan.level, part(switch.half)),
            (plan.level, face, ears),
            (face, face + switch.lever.2, part(switch.swept())),
        ]
        .into_iter()
        .map(|(low, high, section)| {
            let (low, high) = self.standing.span(low, high);
            (low, high, section)
        })
        .collect();
        slabs.sort_by(|a, b| a.0.total_cmp(&b.0));
        drawn(&slabs)
    }
}
