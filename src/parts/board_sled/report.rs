//! The values and messages that the report gives of a sled and its gate.

use super::super::caliper::Caliper;
use super::super::{Calculation, Computed, Message, PartContext, Severity};
use super::gate::Gate;
use super::plan::Plan;
use super::rails::held;
use super::room::{chord, corners, reach};
use super::shape::{FAR, keep_outs, middle, ports};
use super::spec::{Hold, Relief, Span, Spec};
use crate::measure::{Unit, Values, Vec3};

/// Everything that was found out about a sled.
pub(super) struct Facts<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub spec: &'a Spec,
    pub plan: &'a Plan,
    pub gate: Option<&'a Gate>,
    /// The chamfer around the front end, made and asked for.
    pub chamfer: f64,
    pub chamfer_asked: f64,
    /// Low ends of slopes in the floor that became steps.
    pub stepped: &'a [f64],
}

fn mm(key: impl Into<String>, what: impl Into<String>, value: f64) -> Computed {
    Computed::new(key, what, value, Unit::Mm)
}

/// Both ends of a stretch: `key_low` and `key_high`.
fn span(rows: &mut Vec<Computed>, key: &str, what: &str, (low, high): Span) {
    rows.push(mm(format!("{key}_low"), format!("{what}, low end"), low));
    rows.push(mm(format!("{key}_high"), format!("{what}, high end"), high));
}

impl Facts<'_> {
    /// The computed values of the sled.
    pub(super) fn computed(&self) -> Vec<Computed> {
        let (spec, plan) = (self.spec, self.plan);
        let (along, h) = (&plan.along, &plan.heights);
        let mut rows = spec.outside.computed();
        rows.push(mm("from_z", "low end", along.low));
        rows.push(mm("length", "length", along.high - along.low));
        rows.push(mm("board_width", "width of the board's outline", spec.board.width));
        rows.push(mm("board_length", "length of the board's outline", spec.board.length));
        rows.push(mm("height", "height of the board's lower side", h.board));
        rows.push(mm("under", "free depth below the board", h.board - h.floor));
        rows.push(mm("floor", "height of the well's floor", h.floor));
        rows.push(mm(
            "board_at",
            "the board's edge at the cap, in the middle of its play",
            along.board,
        ));
        rows.push(mm("room_half", "half the width of the board's room", plan.half));
        rows.push(mm("room_width", "width of the board's room", 2.0 * plan.half));
        rows.push(mm("room_height", "height of the board's room", h.room.1 - h.room.0));
        span(&mut rows, "room_y", "the board's room, height", h.room);
        span(&mut rows, "room_z", "the board's room, along the bore", along.room);
        rows.push(mm("well_width", "width of the well", 2.0 * plan.well));
        rows.push(mm("well_half", "half the width of the well", plan.well));
        rows.push(mm("top", "top of the walls beside the board", plan.top));
        rows.push(mm("bar", "top of the wall at the front", h.bar));
        rows.push(mm("wall", "least wall around the board's room", spec.wall));
        rows.push(mm(
            "chord_width",
            "widest board that this height has room for",
            chord(spec, plan),
        ));
        rows.push(mm("corner_gap", "from the board's corners to the outside", corners(spec, plan)));
        if spec.rails() {
            let [minus, plus] = held(spec, plan);
            rows.push(mm("held_minus_x", "board's edge in the rail at -x", minus));
            rows.push(mm("held_plus_x", "board's edge in the rail at +x", plus));
        }
        for (i, sill) in along.sills.iter().enumerate() {
            span(&mut rows, &format!("sill{}", i + 1), &format!("sill {}", i + 1), *sill);
        }
        if let (Hold::Posts { pilot: Some(pilot) }, true) = (&spec.hold, !spec.holes.is_empty()) {
            rows.push(mm("pilot", "diameter of the screws' pilots", pilot.hole));
            rows.push(mm("pilot_depth", "depth of the screws' pilots", pilot.depth));
            rows.push(mm("pilot_relief", "diameter of the relief at their mouths", pilot.relief.0));
            rows.push(mm("pilot_relief_depth", "depth of that relief", pilot.relief.1));
            for hole in &spec.holes {
                let (n, (x, z)) = (hole.index + 1, middle(plan, hole));
                rows.push(mm(format!("hole{n}_x"), format!("hole {n}, x"), x));
                rows.push(mm(format!("hole{n}_z"), format!("hole {n}, z"), z));
            }
        }
        if let (Some(gate), Some(slot)) = (along.gate, plan.slot()) {
            rows.push(mm("slot_half", "half the width of the gate's slot", slot));
            rows.push(mm("gate_low", "the gate's low end", gate.gate.0));
            rows.push(mm("slot_high", "the gate's slot, high end", gate.slot));
        }
        if let Some(tongue) = plan.tongue {
            rows.push(mm("tongue_half", "half the tongue's width below the tie", tongue.half));
            rows.push(mm("tongue_top", "height of the tongue's upper side", tongue.top));
            rows.push(mm("tongue_bottom", "height of the tongue's underside", tongue.bottom));
            rows.push(mm("tongue_length", "length of the tongue", along.body - along.low));
            rows.push(mm("tie_place", "width of the tie's place", tongue.place));
        }
        self.keep_out_rows(&mut rows);
        for (port, cut) in spec.ports.iter().zip(ports(spec, plan)) {
            let n = port.index + 1;
            let (key, name) = (format!("port{n}"), format!("opening of port {n}"));
            span(&mut rows, &format!("{key}_x"), &format!("{name}, x"), cut.low.x);
            let (bottom, roof) = self.plan.opening(spec, port);
            rows.push(mm(format!("{key}_y_low"), format!("{name}, bottom"), bottom));
            if let Some(roof) = roof {
                rows.push(mm(format!("{key}_y_high"), format!("{name}, top"), roof));
            }
            span(&mut rows, &format!("{key}_z"), &format!("{name}, z"), cut.z);
        }
        for (i, z) in self.stepped.iter().enumerate() {
            let what = "low end of a slope behind a sill that became a step";
            rows.push(mm(format!("stepped{}", i + 1), what, *z));
        }
        rows.push(mm("chamfer_high", "chamfer made at the front end", self.chamfer));
        let amid = |low: f64, high: f64| 0.5 * (low + high);
        let z = amid(along.room.0, along.room.1);
        let room = Vec3::new(0.0, amid(h.room.0, h.room.1), z);
        let rail = Vec3::new(amid(plan.well, plan.half), room.y, z);
        let well = Vec3::new(0.0, amid(h.floor, h.room.0), z);
        let gauges = [
            ("room_width", Caliper::between(room, Vec3::x())),
            ("room_height", Caliper::between(rail, Vec3::y())),
            ("well_width", Caliper::between(well, Vec3::x())),
        ];
        // Rails alone have a roof over the board.
        let wanted = gauges.into_iter().filter(|(key, _)| spec.rails() || *key != "room_height");
        Computed::gauged(rows, wanted.collect::<Vec<_>>())
    }

    /// How much room is left beside what stands off the board.
    fn keep_out_rows(&self, rows: &mut Vec<Computed>) {
        let (spec, h) = (self.spec, &self.plan.heights);
        for (k, cut) in spec.keep_outs.iter().zip(keep_outs(spec, self.plan)) {
            let n = k.index + 1;
            let y = reach(k, h.faces);
            let far = k.x.0.abs().max(k.x.1.abs()).hypot(if k.up { y.1 } else { y.0 });
            let gap = spec.outside.fit.radius - far;
            let what = format!("from keep-out {n} to the outside");
            rows.push(mm(format!("keep_out{n}_gap"), what, gap));
            let Some(cut) = cut else { continue };
            let name = format!("room of keep-out {n}");
            span(rows, &format!("keep_out{n}_x"), &format!("{name}, x"), cut.low.x);
            span(rows, &format!("keep_out{n}_z"), &format!("{name}, z"), cut.z);
            rows.push(mm(format!("keep_out{n}_y_low"), format!("{name}, bottom"), cut.low.y.0));
            if cut.low.y.1 < FAR {
                rows.push(mm(format!("keep_out{n}_y_high"), format!("{name}, top"), cut.low.y.1));
            }
        }
    }

    /// The computed values of the gate.
    pub(super) fn gate_computed(&self, gate: &Gate) -> Vec<Computed> {
        let mut rows = vec![
            mm("width", "its width", 2.0 * gate.half),
            mm("thickness", "its thickness", gate.z.gate.1 - gate.z.gate.0),
            mm("half", "half its width", gate.half),
            mm("held", "how far it is held on either side", gate.z.held),
        ];
        span(&mut rows, "y", "the gate", gate.y);
        span(&mut rows, "z", "the gate along the bore", gate.z.gate);
        if let Some((inner, bar)) = gate.opening {
            rows.push(mm("opening_half", "half the opening for wires", inner));
            rows.push(mm("opening_bottom", "height of its bottom", bar));
        }
        for (i, slot) in gate.slots.iter().enumerate() {
            span(&mut rows, &format!("slot{}", i + 1), &format!("slot {}", i + 1), *slot);
        }
        for (i, (x, y)) in gate.windows.iter().enumerate() {
            let (key, name) = (format!("window{}", i + 1), format!("window {}", i + 1));
            span(&mut rows, &format!("{key}_x"), &format!("{name}, x"), *x);
            rows.push(mm(format!("{key}_y_low"), format!("{name}, bottom"), y.0));
            if y.1 < FAR {
                rows.push(mm(format!("{key}_y_high"), format!("{name}, top"), y.1));
            }
        }
        if !gate.slots.is_empty() {
            rows.push(mm("slot_bottom", "height of the slots' bottoms", gate.slot_bottom));
        }
        let (low, high) = gate.z.gate;
        let foot = gate.opening.map_or(gate.y.1, |(_, bar)| bar);
        let middle = Vec3::new(0.0, 0.5 * (gate.y.0 + foot), 0.5 * (low + high));
        let gauges = [
            ("width", Caliper::over(middle, Vec3::x())),
            ("thickness", Caliper::over(middle, Vec3::z())),
        ];
        Computed::gauged(rows, gauges)
    }

    pub(super) fn worked(&self) -> Vec<Calculation> {
        self.spec.outside.worked()
    }

    /// The messages about the sled.
    pub(super) fn messages(&self) -> Vec<Message> {
        let (spec, plan) = (self.spec, self.plan);
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: Option<String>| {
            out.push(Message { severity, text, hint });
        };
        say(
            Severity::Note,
            "it prints upright on its front end, the end with the wall, without support".into(),
            None,
        );
        let (h, low) = (&plan.heights, plan.heights.board - plan.heights.floor);
        if spec.under.is_none() && low + 1e-9 < super::plan::UNDER[0] {
            say(
                Severity::Warning,
                format!("only {low:.1} mm are free below the board"),
                Some("cut solder joints and legs flush, or enter them as keep_out".into()),
            );
        }
        if let (Some(gate), true) = (self.gate, spec.rails())
            && gate.opening.is_none()
        {
            say(
                Severity::Warning,
                format!(
                    "the gate is closed from {:.2} to {:.2}: no wire passes it",
                    gate.y.0, gate.y.1
                ),
                Some("lead the wires out at the front, or take lock = \"none\"".into()),
            );
        }
        if self.gate.is_some() {
            say(
                Severity::Note,
                format!(
                    "board in, then the gate down in front of its edge, slanted sides towards the \
                     cap; the bore keeps it in. Its ears end {:.2} mm from the bore's middle",
                    plan.slot().map_or(0.0, |s| s.hypot(self.gate.map_or(0.0, |g| g.y.1)))
                ),
                None,
            );
        }
        if let Hold::Posts { pilot: Some(pilot) } = &spec.hold {
            say(
                Severity::Note,
                format!(
                    "screws cut their own threads: at most {:.1} mm of thread below the board",
                    pilot.depth
                ),
                Some("turn them in by hand; a washer keeps the head off tracks".into()),
            );
        }
        if matches!(spec.relief, Relief::Tie { .. }) && h.floor < h.board {
            say(
                Severity::Note,
                "lay the wires on the tongue, then the tie around both, its lock on top".into(),
                None,
            );
        }
        if self.chamfer < self.chamfer_asked - 1e-9 {
            say(
                Severity::Note,
                format!(
                    "the chamfer at the front end is {:.2} mm, {:.2} were asked for",
                    self.chamfer, self.chamfer_asked
                ),
                None,
            );
        }
        if matches!(spec.hold, Hold::Rails { gate: None, .. } | Hold::Posts { pilot: None }) {
            let besides = "keep it off contacts, sensors and sockets";
            out.extend(Message::glued("the board is held by glue", besides));
        }
        out
    }
}
