//! What a fitter wants to see of a pocket.

use super::super::build::Ends;
use super::super::hollow::Standing;
use super::super::{Computed, Message, Severity};
use super::plan::Plan;
use super::refuse::Asked;
use crate::measure::{Unit, number};

/// Share of the rated current, percent, past which a switch has little left for
/// inrush and age. Common practice, no source.
const LOADED: f64 = 80.0;

/// A made pocket, to be reported.
pub(super) struct Made<'a> {
    pub asked: &'a Asked<'a>,
    pub plan: &'a Plan,
    pub standing: Standing,
    pub chamfers: Ends,
}

fn message(severity: Severity, text: impl Into<String>, hint: Option<String>) -> Message {
    Message { severity, text: text.into(), hint }
}

impl Made<'_> {
    /// Current asked for over the rated one, percent.
    fn load(&self) -> f64 {
        100.0 * self.asked.values.number("current") / self.asked.spec.switch.current
    }

    /// Computed values of the pocket.
    pub(super) fn computed(&self) -> Vec<Computed> {
        let (plan, spec) = (self.plan, self.asked.spec);
        let mut rows = spec.outside.computed();
        rows.extend(self.standing.computed(self.chamfers));
        rows.extend(plan.walls.computed());
        let mut row = |key: &str, what: &str, value: f64, unit: Unit| {
            rows.push(Computed::new(key, what, value, unit));
        };
        row("switch_y_made", "switch's middle above the axis", plan.centre.y, Unit::Mm);
        for (name, what, half) in [
            ("sink", "the sink", plan.sink),
            ("pocket", "the case's pocket", plan.pocket),
            ("room", "the terminals' room", plan.room),
        ] {
            row(&format!("{name}_length"), &format!("{what} along"), 2.0 * half.0, Unit::Mm);
            row(&format!("{name}_width"), &format!("{what} across"), 2.0 * half.1, Unit::Mm);
        }
        row("level_z", "where the case's face lies", self.standing.z(plan.level), Unit::Mm);
        row("back_z", "where the case's back lies", self.standing.z(plan.back), Unit::Mm);
        let lever = plan.level + spec.switch.ear() + spec.switch.lever.2;
        row("lever_below", "lever's top below the face", plan.length - lever, Unit::Mm);
        let free = plan.back - spec.switch.terminals;
        row("wire_room", "behind the terminals for the wires' bend", free, Unit::Mm);
        if let Some(pilots) = &plan.pilots {
            let (hole, relief) = (pilots.hole, pilots.relief);
            row("pilot", "pilot holes as drawn", hole.0, Unit::Mm);
            row("pilot_depth", "depth of the pilot holes", hole.1, Unit::Mm);
            row("relief", "relief at their mouths as drawn", relief.0, Unit::Mm);
            row("relief_depth", "depth of the relief", relief.1, Unit::Mm);
            row("pilot_wall", "thinnest wall beside a relief", pilots.wall, Unit::Mm);
        }
        if let Some(marks) = &plan.marks {
            row("mark_height", "height of the marks", marks.height, Unit::Mm);
            row("mark_line", "width of their lines", marks.line, Unit::Mm);
            row("mark_bar", "length of the line", marks.bar, Unit::Mm);
            row("mark_on_x", "middle of the line (on), x", marks.on.x, Unit::Mm);
            row("mark_on_y", "middle of the line (on), y", marks.on.y, Unit::Mm);
            row("mark_off_x", "middle of the circle (off), x", marks.off.x, Unit::Mm);
            row("mark_off_y", "middle of the circle (off), y", marks.off.y, Unit::Mm);
        }
        row("load", "current over the switch's rated current", self.load(), Unit::Percent);
        rows
    }

    /// Choices, warnings and cautions of the pocket.
    pub(super) fn messages(&self) -> Vec<Message> {
        let (plan, spec) = (self.plan, self.asked.spec);
        let mut list = Vec::new();
        let mut note = |text: String| list.push(message(Severity::Note, text, None));
        if self.asked.values.maybe_number("switch_y").is_none() && plan.centre.y > 0.0 {
            note(format!(
                "the switch sits {:.2} mm above the bore's axis, to leave room for the keel",
                plan.centre.y
            ));
        }
        match &plan.pilots {
            Some(pilots) => note(format!(
                "screws: two of M{} that form their thread, {:.1} mm deep at most",
                number(spec.switch.holes.map_or(0.0, |(_, thread)| thread)),
                pilots.hole.1
            )),
            None => note(
                "glue: the switch is glued by its rim; keep glue away from lever and terminals"
                    .to_owned(),
            ),
        }
        if self.load() > LOADED {
            list.push(message(
                Severity::Warning,
                format!(
                    "{} A are {:.0} % of what the switch is rated for; common practice stays below \
                     {LOADED} %, since lights and amplifiers draw more when they start",
                    number(self.asked.values.number("current")),
                    self.load()
                ),
                Some("take a switch that is rated higher".to_owned()),
            ));
        }
        list.push(message(
            Severity::Caution,
            "the switch cuts only what is wired behind it: up to it the cell's wires stay live, and \
             it is no fuse",
            Some(
                "put it into the cell's positive wire close to the cell, behind a fuse; the data \
                 sheets of cell and switch decide, and ask a qualified person if in doubt"
                    .to_owned(),
            ),
        ));
        list.push(message(
            Severity::Caution,
            "soldering softens a switch's case, and a bare terminal can touch the metal tube",
            Some("solder it outside the pocket, and sleeve both terminals".to_owned()),
        ));
        list
    }
}
