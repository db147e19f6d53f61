//! What a pocket states for the checker: matings, and the switch.

use super::super::around::{CLEAR, drawn};
use super::super::declared::{Component, Declared, Mating, Screw, Term, Way};
use super::super::handed::{Handed, Topic, clocked};
use super::report::Made;
use crate::measure::Vec3;
use crate::section::Region;
use crate::solid::Solid;

/// Share of the body's sides that terminals are within.
const TERMINALS: f64 = 0.4;

impl Made<'_> {
    pub(super) fn declared(&self) -> Declared {
        let (asked, layout, s) = (self.asked, self.layout, &self.asked.switch);
        let back = -layout.axes.along * asked.radius();
        let at = Vec3::new(back.x, back.y, 0.5 * (asked.low + layout.high));
        let mut declared = asked.outside.declared(self.context, self.values, at, layout.high);
        let printer = self.context.printer;
        let place = |v: f64, z: f64| {
            let p = layout.axes.along * v;
            Vec3::new(p.x, p.y, z)
        };
        let seat =
            if asked.side { place(layout.face, layout.middle) } else { place(0.0, layout.face) };
        let field = self.values.path_of("clearance");
        for (what, size) in [("across", s.width), ("along its travel", s.longest())] {
            declared.matings.push(
                Mating::new(format!("switch in its pocket, {what}"), seat, field.clone())
                    .term(Term::printed(printer, "pocket, printed", size + 2.0 * asked.clearance))
                    .term(Term::even("switch, largest", -size, 0.0)),
            );
        }
        declared.handed.push(self.handed());
        let field = self.values.path_of("switch");
        let solid = if asked.side { self.lying() } else { self.standing() };
        let (travel, way) = if asked.side {
            let travel = asked.radius() - layout.face + s.height + s.terminals + CLEAR;
            (travel, Way::Across { along: -layout.axes.along, travel, aside: 0.0 })
        } else {
            let travel = layout.high - layout.face + CLEAR;
            (travel, Way::Along { up: false, travel })
        };
        if travel > 0.0 {
            declared.add("kill_switch", solid, |name, solid| Component {
                name,
                what: "kill switch, its lever at both ends".into(),
                solid,
                way: Some(way),
                press: 0.0,
                field: field.clone(),
            });
        }
        if let (Some(hole), Some((span, thread)), true) = (&asked.pilot, s.holes, asked.side) {
            for (i, side) in [-1.0, 1.0].into_iter().enumerate() {
                let at = place(layout.face - 0.5 * layout.pilot, layout.middle + side * 0.5 * span);
                declared.screws.push(Screw {
                    what: format!("switch's screw {}", i + 1),
                    at,
                    axis: place(1.0, 0.0),
                    thread,
                    hole: hole.hole,
                    field: field.clone(),
                });
            }
        }
        declared
    }

    /// How the owner finds it, and which way is off.
    fn handed(&self) -> Handed {
        let (asked, layout) = (self.asked, self.layout);
        let marks = match layout.mark {
            Some(_) => ", marked I and O: at O the cell is cut off",
            None => "",
        };
        if !asked.side {
            let text = format!("it looks to the end cap, {:.0} mm from it{marks}", layout.face);
            return Handed::new(Topic::KillSwitch, layout.face, text);
        }
        let off = if asked.on_high { "end cap" } else { "front" };
        let text = format!(
            "it is {:.0} mm from the end cap, {}{marks}; off is towards the {off}",
            layout.middle,
            clocked(asked.turn)
        );
        Handed::new(Topic::KillSwitch, layout.middle, text)
    }

    fn quad(&self, u: f64, v: (f64, f64)) -> Region {
        self.layout.axes.quad((-u, u), v)
    }

    /// The switch that points to the cap.
    fn standing(&self) -> Result<Solid, String> {
        let (s, face) = (&self.asked.switch, self.layout.face);
        let around = |u: f64, v: f64| self.quad(u, (-v, v));
        let body = around(0.5 * s.width, 0.5 * s.length);
        let (ears, thick) = s.ears.unwrap_or((s.length, 0.0));
        drawn(&[
            (face - s.lever.2, face, around(0.5 * s.lever.0, s.sweep())),
            (face, face + thick, body.union(&around(0.5 * s.width, 0.5 * ears))),
            (face + thick, face + s.height, body),
            (
                face + s.height,
                face + s.height + s.terminals,
                around(TERMINALS * s.width, TERMINALS * s.length),
            ),
        ])
    }

    /// The switch that points sideways: sections along the bore.
    fn lying(&self) -> Result<Solid, String> {
        let (s, layout) = (&self.asked.switch, self.layout);
        let face = layout.face;
        let (ears, thick) = s.ears.unwrap_or((s.length, 0.0));
        let half = 0.5 * s.width;
        // Each kind of bar with half its length along the bore.
        let bars = [
            (0.5 * ears.max(s.length), self.quad(half, (face - thick.max(0.01), face))),
            (0.5 * s.length, self.quad(half, (face - s.height, face))),
            (s.sweep(), self.quad(0.5 * s.lever.0, (face, face + s.lever.2))),
            (
                TERMINALS * s.length,
                self.quad(TERMINALS * s.width, (face - s.height - s.terminals, face - s.height)),
            ),
        ];
        let mut levels: Vec<f64> = bars.iter().flat_map(|(l, _)| [-l, *l]).collect();
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        let slabs = levels.windows(2).map(|pair| {
            let middle = 0.5 * (pair[0] + pair[1]);
            let here = bars.iter().filter(|(l, _)| middle.abs() < *l);
            let section = here.fold(Region::empty(), |all, (_, bar)| all.union(bar));
            (layout.middle + pair[0], layout.middle + pair[1], section)
        });
        drawn(&slabs.collect::<Vec<_>>())
    }
}
