//! The values and words that the report gives of a pocket.

use super::super::build::Ends;
use super::super::caliper::{Caliper, at};
use super::super::{Calculation, Computed, Message, PartContext, Severity};
use super::spec::{Asked, Layout, MARK_HALF, mark_bar, ring_inner};
use crate::measure::{Unit, Values, Vec3};
use crate::trade::bosses::SelfTapInput;

/// Sizes that are kept as halves, and the rows of the whole, which a caliper reads.
const WHOLE: [(&str, &str, &str); 6] = [
    ("pocket_half_width", "pocket_width", "width of the pocket"),
    ("pocket_half_length", "pocket_length", "length of the pocket"),
    ("opening_half_width", "opening_width", "width of the opening"),
    ("opening_half_length", "opening_length", "length of the opening"),
    ("ears_half_length", "ears_length", "length over the ears' room"),
    ("body_half_length", "body_length", "length of the body's room"),
];

/// All that is known of a pocket that was made.
pub(super) struct Made<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub asked: &'a Asked,
    pub layout: &'a Layout,
    pub ends: Ends,
}

impl Made<'_> {
    pub(super) fn computed(&self) -> Vec<Computed> {
        let (asked, layout) = (self.asked, self.layout);
        let mut rows = asked.outside.computed();
        let mut row = |key: &str, what: &str, value: f64| {
            rows.push(Computed::new(key, what, value, Unit::Mm));
        };
        row("from_z", "low end", asked.low);
        row("length", "length", layout.high - asked.low);
        for (key, what, value) in &layout.numbers {
            row(key, what, *value);
        }
        for (half, key, what) in WHOLE {
            let half = layout.numbers.iter().find(|(known, ..)| *known == half);
            half.into_iter().for_each(|(.., value)| row(key, what, 2.0 * value));
        }
        row("bearing", "what the switch bears on at each end", layout.bearing);
        if let (Some(hole), Some((span, _))) = (&asked.pilot, asked.switch.holes) {
            row("pilot", "diameter of the holes for its screws", hole.hole);
            row("pilot_depth", "depth of these holes", layout.pilot);
            row("pilot_span", "distance of these holes", span);
        }
        if let Some(depth) = layout.mark {
            row("mark_size", "height of the marks I and O", 2.0 * MARK_HALF);
            row("mark_line", "width of the ring's line", asked.line);
            row("mark_bar", "width of the bar I", mark_bar(asked));
            row("ring_inner", "inner diameter of the mark O", 2.0 * ring_inner(asked));
            row("mark_made", "their depth", depth);
        }
        row("chamfer_low", "chamfer made at the low end", self.ends.low);
        row("chamfer_high", "chamfer made at the high end", self.ends.high);
        Computed::gauged(rows, self.gauges())
    }

    /// Where a caliper reads the pocket.
    fn gauges(&self) -> Vec<(&'static str, Caliper)> {
        let (layout, axes) = (self.layout, self.layout.axes);
        let number = |key: &str| {
            let known = layout.numbers.iter().find(|(known, ..)| *known == key);
            known.map_or(0.0, |(.., value)| *value)
        };
        let (along, left) = (at(axes.along, 0.0), at(axes.left, 0.0));
        if !self.asked.side {
            let pocket = Vec3::z() * (0.5 * (layout.face + layout.high));
            let opening = Vec3::z() * (0.5 * (self.asked.low + layout.face));
            return vec![
                ("pocket_width", Caliper::between(pocket, left)),
                ("pocket_length", Caliper::between(pocket, along)),
                ("opening_width", Caliper::between(opening, left)),
                ("opening_length", Caliper::between(opening, along)),
            ];
        }
        let point = |v: f64, z: f64| at(axes.point(0.0, v), z);
        let body = point(0.5 * (number("floor") + number("seat")), layout.middle);
        let ears = point(0.5 * (number("seat") + layout.face), layout.middle);
        vec![
            ("pocket_width", Caliper::between(body, left)),
            ("body_length", Caliper::between(body, Vec3::z())),
            ("ears_length", Caliper::between(ears, Vec3::z())),
        ]
    }

    pub(super) fn messages(&self) -> Vec<Message> {
        let (asked, layout) = (self.asked, self.layout);
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: Option<String>| {
            out.push(Message { severity, text, hint });
        };
        let current = self.values.number("current");
        let rated = asked.switch.current;
        if current > rated {
            let profiles = self.context.library.profiles("kill_switches").iter();
            let enough = profiles.filter(|p| p.number("current") >= current);
            let names: Vec<&str> = enough.filter_map(Values::profile).collect();
            let known =
                if names.is_empty() { String::new() } else { format!(", as {}", names.join(", ")) };
            say(
                Severity::Caution,
                format!(
                    "the switch is rated for {rated} A and the cell may give {current} A: its \
                     contacts can weld together, and then it no longer cuts the cell off"
                ),
                Some(format!("take one for {current} A or more{known}, and fuse the cell")),
            );
        }
        say(
            Severity::Caution,
            "the wires up to the kill switch stay live when it is off".to_owned(),
            Some(
                "take the cell out before you solder; sleeve the terminals, and fuse the wire close \
                 to the cell"
                    .to_owned(),
            ),
        );
        if asked.pilot.is_none() {
            let rim = if asked.switch.ears.is_some() { "ears" } else { "rim" };
            for said in Message::glued(
                &format!("the switch is glued, on its {rim} only"),
                "glue that creeps into the lever's slot jams it; let it set before the part goes in",
            ) {
                say(said.severity, said.text, said.hint);
            }
        }
        let ends = if asked.side { ["cap", "front"] } else { ["other end", "turn's end"] };
        let on = ends[usize::from(asked.on_high)];
        match layout.mark {
            Some(_) => say(
                Severity::Note,
                format!(
                    "mark I (on) lies at the {on} of the lever's travel, mark O (off) opposite"
                ),
                Some("try it with a meter before the cell goes in".to_owned()),
            ),
            None if asked.mark > 0.0 => say(
                Severity::Warning,
                "there is no room for the marks I and O beside the lever".to_owned(),
                Some("a smaller reach gives room, or paint them on".to_owned()),
            ),
            None => {}
        }
        out
    }

    pub(super) fn worked(&self) -> Vec<Calculation> {
        let pilot = self.asked.pilot.as_ref().zip(self.asked.switch.holes);
        Calculation::list(pilot.map(|(_, (_, thread))| {
            let plastic = super::super::fixing::plastic(self.context.material);
            ("the screws' holes", SelfTapInput { screw_mm: thread, plastic }.worked())
        }))
    }
}
