//! The values and words that the report gives of a wire cover.

use super::super::build::Ends;
use super::super::caliper::{Caliper, at};
use super::super::fixing::Axes;
use super::super::{Computed, Message, PartContext, Severity};
use super::clips::Clips;
use super::spec::Cover;
use crate::measure::frame::direction;
use crate::measure::{Unit, Values};

/// From the hooks up to where a caliper reads the legs, mm.
const ABOVE_HOOK: f64 = 0.1;

/// All that is known of a piece that was made.
pub(super) struct Made<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub cover: &'a Cover,
    pub piece: usize,
    pub chamfers: Ends,
}

impl Made<'_> {
    pub(super) fn ends(&self) -> (f64, f64) {
        self.cover.pieces[self.piece]
    }

    pub(super) fn computed(&self) -> Vec<Computed> {
        let cover = self.cover;
        let mut rows = cover.fit.computed();
        let mut row = |key: &str, what: &str, value: f64, unit| {
            rows.push(Computed::new(key, what, value, unit));
        };
        let (low, high) = self.ends();
        row("inside", "inside diameter of the shell", 2.0 * cover.inner, Unit::Mm);
        row("wall", "wall of the shell", cover.fit.radius - cover.inner, Unit::Mm);
        row("from_z", "low end of this piece", low, Unit::Mm);
        row("length", "length of this piece", high - low, Unit::Mm);
        row("around", "how far it goes around", cover.to - cover.from, Unit::Degrees);
        for (i, land) in cover.lands.iter().enumerate() {
            let what = format!("land {}", i + 1);
            let key = |k: &str| format!("land{}_{k}", i + 1);
            row(&key("height"), &format!("{what}: from the axis"), land.height, Unit::Mm);
            let left = land.height - cover.inner;
            row(&key("wall"), &format!("{what}: wall under it"), left, Unit::Mm);
            let area = land.width * (high - low);
            row(&key("area"), &format!("{what}: area to glue"), area, Unit::Mm2);
        }
        if let Some(clips) = &cover.clips {
            row("rail_top", "the rail's top from the axis", clips.rail.1, Unit::Mm);
            row("leg_inside", "a leg's inner face from the middle", clips.leg.0, Unit::Mm);
            row("leg_outside", "a leg's outer face from the middle", clips.leg.1, Unit::Mm);
            row("legs_between", "between the legs", 2.0 * clips.leg.0, Unit::Mm);
            row("legs_over", "over the legs", 2.0 * clips.leg.1, Unit::Mm);
            row("leg_free", "free length of a leg", clips.free, Unit::Mm);
            row("leg_end", "a leg's end from the axis, up", clips.end, Unit::Mm);
            row("hook", "how far a hook reaches under the rail", clips.hook, Unit::Mm);
            row("hook_tip", "a hook's tip from the axis, up", clips.tip.1, Unit::Mm);
            row("hook_tip_beside", "a hook's tip from the middle", clips.tip.0, Unit::Mm);
            let what = "where its upper face meets the leg's outer face, up";
            row("hook_back", what, clips.back, Unit::Mm);
            row("strain", "strain of a leg", clips.bent.strain_percent, Unit::Percent);
            let both = |force: Option<f64>| force.map(|n| 2.0 * n);
            if let Some(push) = both(clips.bent.insertion_n) {
                row("push", "push that clips this piece on", self.share(push), Unit::Newton);
            }
            if let Some(pull) = both(clips.bent.pull_out_n) {
                row("pull", "pull that takes it off", self.share(pull), Unit::Newton);
            }
        }
        row("chamfer_low", "chamfer made at the low end", self.chamfers.low, Unit::Mm);
        row("chamfer_high", "chamfer made at the high end", self.chamfers.high, Unit::Mm);
        let axes = Axes::new(direction(cover.middle()));
        let across = at(axes.left, 0.0);
        let legs = cover.clips.iter().flat_map(|clips| {
            let level = |v: f64| at(axes.point(0.0, v), 0.5 * (low + high));
            // Between the hooks and the shell, and just above the hooks.
            let inside = level(0.5 * (clips.back + clips.rail.1));
            let outside = level(clips.back + ABOVE_HOOK);
            [
                ("legs_between", Caliper::between(inside, across)),
                ("legs_over", Caliper::over(outside, across)),
            ]
        });
        // A shell that reaches down beside the legs keeps jaws from them.
        let edge = cover.inner * (0.5 * (cover.to - cover.from)).to_radians().cos();
        let free = |clips: &Clips| clips.back + ABOVE_HOOK < edge;
        let beside = cover.clips.as_ref().is_some_and(free);
        let legs = legs.filter(|(key, _)| beside || *key != "legs_over");
        Computed::gauged(rows, legs.collect::<Vec<_>>())
    }

    /// A force on the shortest piece, on this one.
    fn share(&self, force: f64) -> f64 {
        let (low, high) = self.ends();
        self.cover.clips.as_ref().map_or(force, |c| force * (high - low) / c.input.width_mm)
    }

    pub(super) fn messages(&self) -> Vec<Message> {
        let cover = self.cover;
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: Option<&str>| {
            out.push(Message { severity, text, hint: hint.map(str::to_owned) });
        };
        match &cover.clips {
            Some(clips) if clips.bent.pull_out_n.is_none() => say(
                Severity::Warning,
                format!(
                    "the hooks do not let go: with this friction their upper face of {:.0} degrees locks",
                    clips.input.exit_deg
                ),
                Some("take a smaller exit_angle, or slide the cover off along the rail"),
            ),
            Some(_) => {}
            None => {
                let besides = "some wires' insulation does not stand it";
                for said in Message::glued("the cover is held by glue", besides) {
                    say(said.severity, said.text, said.hint.as_deref());
                }
            }
        }
        let asked = Ends::new(self.values);
        let cut = |asked: f64, made: f64| made < asked - LEAST;
        if cut(asked.low, self.chamfers.low) || cut(asked.high, self.chamfers.high) {
            say(
                Severity::Note,
                format!(
                    "the chamfers at the ends are {:.2} and {:.2} mm: a thin shell takes no more",
                    self.chamfers.low, self.chamfers.high
                ),
                None,
            );
        }
        out
    }
}

/// Differences of chamfers below this are none, mm (float noise).
const LEAST: f64 = 1e-6;
