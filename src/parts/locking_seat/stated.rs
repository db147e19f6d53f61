//! What a locking seat states for the checker: matings, and the screw's point.

use super::super::around::{CLEAR, drawn, standing};
use super::super::declared::{Component, Declared, Mating, Term, Way};
use super::super::handed::{Handed, Topic, clocked};
use super::report::Made;
use crate::measure::{Vec2, Vec3, number};
use crate::section::Region;
use crate::solid::{RuledSection, Solid, Stack};
use crate::trade::seat::Form;

impl Made<'_> {
    pub(super) fn declared(&self) -> Declared {
        let (asked, seat) = (self.asked, self.seat);
        let radius = asked.outside.fit.radius;
        let side = -seat.axes.along * radius;
        let at = Vec3::new(side.x, side.y, 0.5 * (seat.low + seat.high));
        let mut declared = asked.outside.declared(self.context, self.values, at, seat.high);
        let floor = seat.axes.along * seat.floor;
        let at = Vec3::new(floor.x, floor.y, asked.screw_z);
        let field = self.values.path_of("clearance");
        let printer = self.context.printer;
        let shrink = if asked.form == Form::Flat { 0.0 } else { asked.shrink };
        let room = |what: &str, width: f64| {
            Mating::new(what, at, field.clone())
                .term(Term::printed(printer, "seat, printed", width - shrink))
                .term(Term::even("screw's point", -seat.body, 0.0))
        };
        // A flat as long as the screw, and a hole, lock by their walls.
        if asked.form != Form::Flat {
            declared.matings.push(room("screw in its seat, across", 2.0 * seat.half_width));
        }
        if asked.form != Form::SlotAlong {
            declared.matings.push(room("screw in its seat, along", 2.0 * seat.half_height));
        }
        let key = self.key_torque().map_or_else(String::new, |most| {
            format!("; no more than {most:.0} N mm on the key, or the plastic is crushed")
        });
        let text = format!(
            "the locking screw, M{}, is {} mm from the end cap, {}: turn it in by {:.1} turns from \
             where its point is level with the bore's wall{key}",
            number(asked.grub.thread),
            number(asked.screw_z),
            clocked(asked.clocking),
            self.turns()
        );
        declared.handed.push(Handed::new(Topic::Screw, asked.screw_z, text));
        declared.add("screw", self.point(), |name, solid| Component {
            name,
            what: "the retention screw's point, turned in".into(),
            solid,
            way: Some(Way::Across {
                along: -seat.axes.along,
                travel: radius + CLEAR - seat.floor,
                aside: 0.0,
            }),
            press: 0.0,
            field: self.values.path_of("screw"),
        });
        declared
    }

    /// The screw's point where it bears, up to beyond the bore.
    fn point(&self) -> Result<Solid, String> {
        let (asked, grub) = (self.asked, &self.asked.grub);
        let low = self.seat.floor + asked.gap;
        let shoulder = low + grub.tip_length;
        let end = (0.5 * asked.outside.fit.bore + CLEAR).max(shoulder + CLEAR);
        let disc = |diameter: f64| Region::disc(Vec2::zeros(), 0.5 * diameter);
        let solid = if grub.dog {
            drawn(&[(low, shoulder, disc(grub.tip)), (shoulder, end, disc(grub.thread))])
        } else {
            let mut stack = Stack::default();
            match RuledSection::between(&disc(grub.tip), &disc(grub.thread)) {
                Ok(cone) => {
                    stack.ruled(low, shoulder, cone).prism(shoulder, end, &disc(grub.thread))
                }
                Err(error) => return Err(error.to_string()),
            };
            stack.solid().map_err(|e| e.to_string())
        };
        standing(&self.seat.axes, (0.0, asked.screw_z), solid)
    }
}
