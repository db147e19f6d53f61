//! The values and words that the report gives of a locking seat.

use super::super::caliper::{Caliper, at};
use super::super::{Computed, Message, PartContext, Severity};
use super::play::{angle_play, axial_play, catch_angle};
use super::shape::Shape;
use super::spec::{Asked, Seat};
use crate::measure::{Unit, Values, Vec3};
use crate::trade::seat::{Form, SeatHold, SeatHoldInput, seat_hold};

/// All that is known of a seat that was made.
pub(super) struct Made<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub asked: &'a Asked,
    pub seat: &'a Seat,
    pub shape: &'a Shape,
    pub hold_input: SeatHoldInput,
    hold: Option<SeatHold>,
    angle: f64,
    axial: f64,
}

impl<'a> Made<'a> {
    pub(super) fn new(
        context: &'a PartContext<'a>,
        values: &'a Values,
        asked: &'a Asked,
        seat: &'a Seat,
        shape: &'a Shape,
    ) -> Made<'a> {
        let radius = asked.outside.fit.radius;
        let material = context.material;
        let end = (asked.screw_z - seat.low).min(seat.high - asked.screw_z) - seat.half_height;
        let hold_input = SeatHoldInput {
            form: asked.form,
            thread_mm: asked.grub.thread,
            tip_mm: asked.grub.tip,
            body_mm: seat.body,
            depth_mm: radius - seat.floor,
            floor_mm: seat.floor,
            outside_mm: radius,
            end_mm: end,
            // What the material takes once, by its modulus.
            strength_mpa: 0.01 * material.number("strain_once") * material.number("modulus"),
            friction: material.number("friction"),
            safety: values.number("safety"),
        };
        let hold = seat_hold(&hold_input).ok();
        let (angle, axial) = (angle_play(asked, seat), axial_play(asked, seat));
        Made { context, values, asked, seat, shape, hold_input, hold, angle, axial }
    }

    /// How far the point stands into the bore when it bears, mm.
    fn stands_in(&self) -> f64 {
        0.5 * self.asked.outside.fit.bore - self.seat.floor - self.asked.gap
    }

    /// Turns from where the point is level with the bore's wall until it bears.
    pub(super) fn turns(&self) -> f64 {
        self.stands_in() / self.asked.grub.pitch
    }

    /// Most torque on the key, N mm, where that is known.
    pub(super) fn key_torque(&self) -> Option<f64> {
        self.hold.as_ref().map(|hold| hold.key_n_mm)
    }

    pub(super) fn computed(&self) -> Vec<Computed> {
        let (asked, seat) = (self.asked, self.seat);
        let mut rows = asked.outside.computed();
        let mut row = |key: &str, what: &str, value: f64, unit| {
            rows.push(Computed::new(key, what, value, unit));
        };
        row("from_z", "low end", seat.low, Unit::Mm);
        row("length", "length", seat.high - seat.low, Unit::Mm);
        row("seat_floor", "the seat's floor from the axis", seat.floor, Unit::Mm);
        let deep = asked.outside.fit.radius - seat.floor;
        row("seat_depth", "the seat's floor below the outside", deep, Unit::Mm);
        row("seat_width", "room across the screw", 2.0 * seat.half_width, Unit::Mm);
        row("seat_height", "room along the bore", 2.0 * seat.half_height, Unit::Mm);
        if let Some(cone) = &seat.cone {
            let radius = asked.outside.fit.radius;
            row("cone_width", "width of the hole below its cone", 2.0 * cone.inner, Unit::Mm);
            let angle = 2.0 * cone.half_angle.to_degrees();
            row("cone_angle", "full angle of its cone", angle, Unit::Degrees);
            row(
                "cone_rim",
                "depth at which the cone begins",
                cone.rim(radius - seat.floor),
                Unit::Mm,
            );
        }
        row("screw_body", "largest diameter of the screw in the seat", seat.body, Unit::Mm);
        row("angle_play", "how far it can turn, either way", self.angle, Unit::Degrees);
        let caught = catch_angle(asked, seat);
        let what = "how far off its angle it may be put in, either way";
        row("catch_angle", what, caught, Unit::Degrees);
        row("axial_play", "how far it can slide, either way", self.axial, Unit::Mm);
        if seat.wall.is_finite() {
            row("seat_wall", "least wall from the seat to another cut", seat.wall, Unit::Mm);
        }
        row("stands_in", "the point from the bore's wall inwards", self.stands_in(), Unit::Mm);
        row("turns_in", "turns from level with the bore's wall", self.turns(), Unit::One);
        if let Some(hold) = &self.hold {
            let most = "torque that the seat bears";
            row("torque", most, hold.torque_n_mm, Unit::NewtonMm);
            row("pull", "pull along the bore that it bears", hold.pull_n, Unit::Newton);
            let press = "largest force of the point on the floor";
            row("press", press, hold.press_n, Unit::Newton);
            row("key_torque", "torque on the key, at most", hold.key_n_mm, Unit::NewtonMm);
        }
        if asked.mark > 0.0 {
            row("mark_width", "width of the witness line", asked.line, Unit::Mm);
            row("mark_from", "where it begins from the axis", seat.line_from, Unit::Mm);
            row("mark_depth_low", "its depth in the low end face", seat.faces.0, Unit::Mm);
            row("mark_depth_high", "its depth in the high end face", seat.faces.1, Unit::Mm);
        }
        for (i, (low, high)) in self.shape.lines.iter().enumerate() {
            let what = format!("witness line {} on the outside", i + 1);
            row(&format!("line{}_from", i + 1), &format!("{what}: from"), *low, Unit::Mm);
            row(&format!("line{}_to", i + 1), &format!("{what}: to"), *high, Unit::Mm);
        }
        row("chamfer_low", "chamfer made at the low end", self.shape.made.low, Unit::Mm);
        row("chamfer_high", "chamfer made at the high end", self.shape.made.high, Unit::Mm);
        Computed::gauged(rows, self.gauges())
    }

    /// Where a caliper reads the seat: just above its floor.
    fn gauges(&self) -> Vec<(&'static str, Caliper)> {
        let (asked, seat) = (self.asked, self.seat);
        let near = 0.5 * super::spec::LEAST_FLOOR;
        let through = at(seat.axes.point(0.0, seat.floor + near), asked.screw_z);
        let depth = ("seat_depth", Caliper::depth(through, at(seat.axes.along, 0.0)));
        let across = Caliper::between(through, at(seat.axes.left, 0.0));
        let along = Caliper::between(through, Vec3::z());
        match (&seat.cone, asked.form) {
            (Some(_), _) => vec![depth, ("cone_width", across.round())],
            (None, Form::Dimple) => vec![depth, ("seat_width", across.round())],
            (None, Form::SlotAlong) => vec![depth, ("seat_width", across), ("seat_height", along)],
            (None, _) => vec![depth, ("seat_height", along)],
        }
    }

    pub(super) fn messages(&self) -> Vec<Message> {
        let asked = self.asked;
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: Option<&str>| {
            out.push(Message { severity, text, hint: hint.map(str::to_owned) });
        };
        let bears = if asked.gap > 0.0 {
            format!("stands {:.2} mm off the floor", asked.gap)
        } else {
            "bears on the floor".into()
        };
        say(
            Severity::Note,
            format!(
                "turn the screw in by {:.1} turns ({:.2} mm) from where its point is level with the \
                 bore's wall: it then {bears}",
                self.turns(),
                self.stands_in()
            ),
            None,
        );
        if let Some(hold) = &self.hold
            && asked.gap == 0.0
        {
            say(
                Severity::Warning,
                format!(
                    "the point presses with {:.0} N at {:.0} N mm on the key; more crushes the plastic",
                    hold.press_n, hold.key_n_mm
                ),
                Some(
                    "hold the key by its short arm between two fingers, and put thread lock of the \
                      weakest kind on the thread (it must not reach the plastic)",
                ),
            );
        }
        let cone = self.values.component("screw").choice("point") == "cone";
        if asked.form == Form::Flat && cone {
            say(
                Severity::Note,
                "a cone point digs into a flat: each time it makes a new pit".into(),
                Some("seat = \"dimple\" is made for it, or use a flat or cup point"),
            );
        }
        let (asked_low, asked_high) = (asked.ends.low, asked.ends.high);
        let made = &self.shape.made;
        for (end, wanted, got) in [("low", asked_low, made.low), ("high", asked_high, made.high)] {
            if got < wanted - LEAST {
                say(
                    Severity::Note,
                    format!(
                        "the chamfer at the {end} end is {got:.2} mm instead of {wanted:.2}: its \
                             cuts leave no more room"
                    ),
                    None,
                );
            }
        }
        out
    }
}

/// Differences of chamfers below this are none, mm (float noise).
const LEAST: f64 = 1e-6;
