//! What a fitter wants to see of a cup and its ring.

use super::super::build::Ends;
use super::super::caliper::{Caliper, at};
use super::super::hollow::Standing;
use super::super::{Computed, Message, Severity};
use super::plan::{Plan, Ring};
use super::refuse::Asked;
use super::shape::RING_CHAMFER;
use crate::measure::{Measured, Unit, Vec2, Vec3, number};

/// Air before the cone that is published practice, mm.
const GAP_ADVISED: (f64, f64) = (1.0, 2.0);
/// Least open area that any published advice allows, percent: an eighth.
const SHARE_ADVISED: f64 = 12.5;
/// Narrowest shoulder that seals well, mm. Common practice, no source.
const LAND_ADVISED: f64 = 1.0;

/// A made cup, to be reported.
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
    /// Air behind the cone to the module's open end, mm3: the seat less the
    /// speaker at its largest and the ring.
    pub(super) fn rear_volume(&self) -> f64 {
        let (plan, speaker) = (self.plan, &self.asked.spec.speaker);
        let area = |half: f64| plan.oval(half).area();
        let (thick, (magnet, deep)) = (speaker.rim.1, speaker.magnet);
        let mut taken = area(speaker.half) * thick;
        taken += area(speaker.basket()) * (speaker.depth - thick - deep);
        taken += 0.25 * std::f64::consts::PI * magnet * magnet * deep;
        if let Some(ring) = &plan.ring {
            taken += plan.ring_section(ring).area() * (ring.high - ring.low);
        }
        area(plan.seat) * (plan.length - plan.rim) - taken
    }

    /// Leak past the rim over the ports' open area, percent.
    fn leak(&self) -> f64 {
        let leak = self.plan.channel.as_ref().map_or(0.0, |c| c.leak);
        100.0 * leak / self.plan.ports.out.open_mm2
    }

    /// Area of the rim that lies on the shoulder, mm2.
    fn land_area(&self) -> f64 {
        let plan = self.plan;
        plan.oval(self.asked.spec.speaker.half).area() - plan.oval(plan.opening).area()
    }

    /// Computed values of the cup.
    pub(super) fn computed(&self) -> Vec<Computed> {
        let (plan, spec) = (self.plan, self.asked.spec);
        let mut rows = spec.outside.computed();
        rows.extend(self.standing.computed(self.chamfers));
        let mut row = |key: &str, what: &str, value: f64, unit: Unit| {
            rows.push(Computed::new(key, what, value, unit));
        };
        if let Some(bundle) = spec.outside.bundle() {
            row("bundle", "diameter of the bundle that passes", bundle.bundle_mm, Unit::Mm);
        }
        row("speaker_y_made", "speaker's middle above the axis", plan.centre.y, Unit::Mm);
        row("rim_z", "where the rim's face lies", self.standing.z(plan.rim), Unit::Mm);
        row("seat_width", "seat across the frame", 2.0 * plan.seat, Unit::Mm);
        let deep = plan.length - plan.rim;
        row("seat_depth", "from the open end to the rim's face", deep, Unit::Mm);
        if plan.straight > 0.0 {
            let long = 2.0 * (plan.seat + plan.straight);
            row("seat_length", "seat along the frame", long, Unit::Mm);
        }
        row("opening_width", "opening before the cone", 2.0 * plan.opening, Unit::Mm);
        row("land_made", "width of the rim on the shoulder", plan.land, Unit::Mm);
        row("land_area", "area of the rim on the shoulder", self.land_area(), Unit::Mm2);
        row("shoulder", "from the ports' face to the shoulder", plan.shoulder, Unit::Mm);
        rows.extend(plan.walls.computed());
        let mut row = |key: &str, what: &str, value: f64, unit: Unit| {
            rows.push(Computed::new(key, what, value, unit));
        };
        let out = &plan.ports.out;
        row("cone_area", "area of the cone", out.speaker_mm2, Unit::Mm2);
        row("ports", "number of sound ports", out.centres_mm.len() as f64, Unit::One);
        row("port_made", "diameter of a sound port", plan.ports.input.port_mm, Unit::Mm);
        row("port_drawn", "diameter of a sound port as drawn", plan.ports.drawn, Unit::Mm);
        row("port_pitch", "distance between neighbouring ports", out.pitch_mm, Unit::Mm);
        let between = out.wall_mm - spec.hole_shrink;
        row("port_wall", "thinnest wall beside a port, as drawn", between, Unit::Mm);
        row("open_area", "open area of the ports", out.open_mm2, Unit::Mm2);
        row("open_share_made", "open area over the cone's", out.open_percent, Unit::Percent);
        let front = plan.oval(plan.opening).area() * (plan.shoulder - plan.grille);
        row("front_volume", "air between ports' wall and shoulder", front, Unit::Mm3);
        let rear = self.rear_volume();
        row("rear_volume", "air behind the rim's face to the open end", rear, Unit::Mm3);
        if let Some(channel) = &plan.channel {
            row("channel", "diameter of the channel past the rim", 2.0 * channel.radius, Unit::Mm);
            row("channel_x", "its middle across the bore, x", channel.middle.x, Unit::Mm);
            row("channel_y", "its middle across the bore, y", channel.middle.y, Unit::Mm);
            row("channel_inner", "wall from it to the opening", channel.walls.0, Unit::Mm);
            row("channel_outer", "wall from it to the outside", channel.walls.1, Unit::Mm);
            row("leak_area", "open area beside its wires, unsealed", channel.leak, Unit::Mm2);
        }
        row("leak_share", "that leak over the ports' open area", self.leak(), Unit::Percent);
        Computed::gauged(rows, self.gauges())
    }

    /// Where a caliper reads the cup.
    fn gauges(&self) -> [(&'static str, Caliper); 5] {
        let plan = self.plan;
        let (centre, out) = (plan.centre, self.standing.up());
        let between = |a: f64, b: f64| self.standing.z(0.5 * (a + b));
        let seat = at(centre, between(plan.rim, plan.length));
        let opening = at(centre, between(plan.grille, plan.shoulder));
        // On the shoulder, between the opening and the seat's wall.
        let land = Vec2::new(0.0, 0.5 * (plan.opening + plan.seat));
        let on_land = at(centre + land, between(plan.rim, plan.length));
        let [x, y] = plan.ports.out.centres_mm.first().copied().unwrap_or_default();
        let port = at(centre + Vec2::new(x, y), between(0.0, plan.grille));
        let round = |caliper: Caliper| if plan.straight > 0.0 { caliper } else { caliper.round() };
        [
            ("seat_width", round(Caliper::between(seat, Vec3::y()))),
            ("seat_length", Caliper::between(seat, Vec3::x())),
            ("seat_depth", Caliper::depth(on_land, out)),
            ("opening_width", round(Caliper::between(opening, Vec3::y()))),
            ("port_drawn", Caliper::between(port, Vec3::x()).round()),
        ]
    }

    /// Choices, warnings and cautions of the cup.
    pub(super) fn messages(&self) -> Vec<Message> {
        let (plan, spec, values) = (self.plan, self.asked.spec, self.asked.values);
        let out = &plan.ports.out;
        let mut list = vec![message(
            Severity::Note,
            format!(
                "ports: {} holes of {} mm, {:.1} % of the cone's area",
                out.centres_mm.len(),
                number(plan.ports.input.port_mm),
                out.open_percent
            ),
            None,
        )];
        if values.maybe_number("speaker_y").is_none() && plan.centre.y > 0.0 {
            list.push(message(
                Severity::Note,
                format!(
                    "the speaker sits {:.2} mm above the bore's axis, to leave room for the keel",
                    plan.centre.y
                ),
                None,
            ));
        }
        let electric = values.component("speaker");
        if let Some(ohm) = electric.maybe_text("impedance") {
            let power = electric.maybe_text("power").map_or(String::new(), |p| format!(", {p}"));
            list.push(message(
                Severity::Note,
                format!("the speaker is rated {ohm}{power}"),
                Some("check that the amplifier may drive it".to_owned()),
            ));
        }
        self.warnings(&mut list);
        if spec.ring.is_none() || values.choice("ring_fit") == "glue" {
            list.extend(Message::glued(
                "the speaker or its ring is glued",
                "vapours of fast glue stiffen the surround: take a soft silicone or contact glue \
                 that its sheet allows for plastics, and keep the cone free of it",
            ));
        }
        list.push(message(
            Severity::Caution,
            "the magnet pulls in steel chips and loose screws, which tear the cone, and can short \
             a cell",
            Some(
                "deburr and clean the bore before, and cover the magnet until it is in place"
                    .to_owned(),
            ),
        ));
        list
    }

    fn warnings(&self, list: &mut Vec<Message>) {
        let (plan, spec) = (self.plan, self.asked.spec);
        let mut warn = |text: String, hint: String| {
            list.push(message(Severity::Warning, text, Some(hint)));
        };
        let (least, most) = GAP_ADVISED;
        if spec.front_gap < least || spec.front_gap > most {
            warn(
                format!(
                    "{} mm of air before the cone; published practice is {least} to {most}",
                    number(spec.front_gap)
                ),
                format!("give front_gap between {least} and {most}"),
            );
        }
        let share = plan.ports.out.open_percent;
        if share < SHARE_ADVISED {
            warn(
                format!(
                    "the ports open {share:.1} % of the cone's area; no published advice goes below \
                     {SHARE_ADVISED}"
                ),
                format!("give open_share {SHARE_ADVISED} or more"),
            );
        }
        if plan.land < LAND_ADVISED {
            warn(
                format!(
                    "the rim lies on a shoulder {:.2} mm wide; {LAND_ADVISED} mm seals well",
                    plan.land
                ),
                "seal it all round with a bead of soft glue, and test it for leaks".to_owned(),
            );
        }
        if let Some(channel) = &plan.channel {
            warn(
                format!(
                    "the wires' channel joins the air before and behind the speaker: unsealed, \
                     {:.2} mm2 are open, {:.1} % of the ports",
                    channel.leak,
                    self.leak()
                ),
                "fill it with soft glue around the wires".to_owned(),
            );
        }
    }

    /// Computed values of the ring.
    pub(super) fn ring_computed(&self, ring: &Ring, made: Ends) -> Vec<Computed> {
        let row = |key: &str, what: &str, value| Computed::new(key, what, value, Unit::Mm);
        let (low, high) = self.standing.span(ring.low, ring.high);
        let middle = at(self.plan.centre, 0.5 * (low + high));
        let wall = middle + Vec3::y() * (0.5 * (ring.outer + ring.inner));
        let rows = vec![
            row("from_z", "low end", low),
            row("length", "height", high - low),
            row("outer_width", "outside across the frame", 2.0 * ring.outer).read(
                Measured::Outside,
                None,
                "over the ring, across the frame",
            ),
            row("inner_width", "inside across the frame", 2.0 * ring.inner).read(
                Measured::Gap,
                None,
                "inner jaws in the ring, across the frame",
            ),
            row("ring_wall", "width of the ring", ring.outer - ring.inner),
            row("ring_clearance", "clearance on its width in the seat", ring.clearance),
            row("chamfer_low", "chamfer made at the low end", made.low),
            row("chamfer_high", "chamfer made at the high end", made.high),
        ];
        let gauges = [
            ("outer_width", Caliper::over(middle, Vec3::y())),
            ("inner_width", Caliper::between(middle, Vec3::y())),
            ("ring_wall", Caliper::between(wall, Vec3::y())),
        ];
        Computed::gauged(rows, gauges)
    }

    /// Messages of the ring.
    pub(super) fn ring_messages(&self) -> Vec<Message> {
        let how = match self.asked.values.choice("ring_fit") {
            "press" => "push the ring in evenly until it lies on the rim",
            _ => "push the ring in until it lies on the rim, then glue its outside",
        };
        let text = format!("{how}; its chamfers of {RING_CHAMFER} mm at most are at both ends");
        vec![message(Severity::Note, text, None)]
    }
}
