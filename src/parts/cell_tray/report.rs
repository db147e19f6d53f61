//! What a fitter wants to see of a tray and its cover.

use super::super::build::Ends;
use super::super::caliper::Caliper;
use super::super::{Calculation, Computed, Message, Refusal, Severity};
use super::across::Across;
use super::axial::{Axial, Contacts, Sprung};
use super::cover::{Cover, HOLD_WEAK, PLAY};
use super::lips::Lips;
use super::refuse::Asked;
use super::shape::{Shape, at_angle, round_tip};
use super::spec::Opening;
use crate::measure::{Axis, Measured, Unit, Vec3, number};
use crate::trade::TradeError;
use crate::trade::wire::{Wire, WireInput, gauge_of_strands, wire};

/// Free space that the positive end should have, mm. Common practice, no
/// source.
const VENT_ADVISED: f64 = 2.0;
/// Temperature of wires beside a working cell, degrees Celsius.
const WARM: f64 = 40.0;
/// Share of the free-air current advised for wires in a tube. Common
/// practice, no source.
const DERATING: f64 = 0.5;
/// From the cover's end to where a caliper reads its wall, mm.
const FROM_END: f64 = 0.5;
/// Millimetres in a metre.
const PER_METRE: f64 = 1000.0;

/// A made tray, to be reported.
pub(super) struct Made<'a> {
    pub asked: &'a Asked<'a>,
    pub across: &'a Across,
    pub sprung: &'a Sprung,
    pub contacts: &'a Contacts,
    pub axial: &'a Axial,
    pub lips: &'a Lips,
    pub cover: Option<&'a Cover>,
    pub shape: &'a Shape<'a>,
    pub chamfers: Ends,
}

fn message(severity: Severity, text: impl Into<String>, hint: Option<String>) -> Message {
    Message { severity, text: text.into(), hint }
}

fn caution(text: &str, hint: &str) -> Message {
    message(Severity::Caution, text, Some(hint.to_owned()))
}

impl Made<'_> {
    /// The loss in one pair of wires, out and back.
    fn wire(&self) -> Result<Wire, TradeError> {
        wire(&self.wire_input())
    }

    /// The calculations behind the tray.
    pub(super) fn tray_worked(&self) -> Vec<Calculation> {
        let lips = &self.lips;
        let mut tried = vec![
            ("lips, thickest cell", lips.inputs[1].worked()),
            ("lips, thinnest cell", lips.inputs[0].worked()),
            ("spring", self.sprung.input.worked()),
        ];
        if let Some((input, _)) = &self.across.bundle {
            tried.push(("wires of one duct", input.worked()));
            tried.push(("one pair of wires, out and back", self.wire_input().worked()));
        }
        Calculation::list(tried)
    }

    fn wire_input(&self) -> WireInput {
        let (spec, values) = (self.asked.spec, self.asked.values);
        let run = values.maybe_number("run").unwrap_or(self.axial.total);
        let gauge = gauge_of_strands(1.0, spec.wires.conductor).round().clamp(10.0, 40.0);
        WireInput {
            gauge: gauge as i64,
            run_m: run / PER_METRE,
            current_a: values.number("current"),
            copper_degc: WARM,
            derating: DERATING,
        }
    }

    /// Computed values of the tray.
    pub(super) fn tray_values(&self) -> Result<Vec<Computed>, Refusal> {
        let (spec, across, axial) = (self.asked.spec, self.across, self.axial);
        let (lips, contact) = (self.lips, &self.sprung.contact);
        let mut rows = self.asked.fit.computed();
        let mut row = |key: &str, what: &str, value: f64, unit: Unit| {
            rows.push(Computed::new(key, what, value, unit));
        };
        if let Some(radius) = self.asked.radius_needed(spec) {
            let needed = self.asked.fit.bore + 2.0 * (radius - spec.outside);
            row("bore_needed", "smallest sure bore that would do", needed, Unit::Mm);
        }
        row("length", "length of the tray", axial.total, Unit::Mm);
        row("inside", "length between the end walls", axial.inside(), Unit::Mm);
        let from_z = self.asked.values.number("from_z");
        let back = self.asked.values.choice("positive") == "back";
        let touch = from_z + if back { axial.total - axial.touch } else { axial.touch };
        row("contact_z", "where the cell touches the positive contact", touch, Unit::Mm);
        row("cell_y", "cell's axis above the bore's", across.cell_y, Unit::Mm);
        row("trough", "diameter of the trough", 2.0 * spec.trough(), Unit::Mm);
        row("floor", "wall under the cell, least without marks", across.floor, Unit::Mm);
        row("floor_mark", "depth of the marks in the floor", across.mark, Unit::Mm);
        if spec.keel > 0.0 {
            row("keel_y", "height of the keel's flat", spec.keel - spec.outside, Unit::Mm);
        }
        if let Some(flat) = across.flat {
            let under = across.cell_y - spec.trough() - flat;
            row("base_made", "from trough to flat underside", under, Unit::Mm);
        }
        let top = 0.5 * self.asked.fit.bore;
        let top = match self.cover {
            Some(cover) if cover.spec.opening != Opening::Mouth => spec.outside - cover.spec.wall,
            _ => top,
        };
        let above = top - across.cell_y - spec.cell.radius();
        row("room_above", "room above the thickest cell", above, Unit::Mm);
        row("wrap_made", "wrap of the lips past the middle", lips.wrap, Unit::Degrees);
        row("root_made", "where the lips begin, below the middle", across.root, Unit::Degrees);
        row("lip_thickness_made", "thickness of the lips", lips.thickness, Unit::Mm);
        row("lip_length_made", "length of lip along each side", lips.length, Unit::Mm);
        row("finger_made", "finger cut-out between the lips", self.shape.finger(), Unit::Mm);
        row("mouth", "width of the mouth", lips.largest.mouth_mm, Unit::Mm);
        let opens = lips.largest.deflection_mm;
        row("lip_opens", "how far each lip opens, thickest cell", opens, Unit::Mm);
        row(
            "strain",
            "strain of the lips, thickest cell",
            lips.largest.strain_percent,
            Unit::Percent,
        );
        row("strain_allowed", "strain allowed again and again", spec.allowed, Unit::Percent);
        let forces = [
            ("push", "push that snaps the thickest cell in", lips.largest.insertion_n),
            ("pull", "pull that takes the thickest cell out", lips.largest.pull_out_n),
            ("hold", "pull that still holds the thinnest cell", lips.smallest.pull_out_n),
        ];
        for (key, what, force) in forces {
            if let Some(force) = force {
                row(key, what, force, Unit::Newton);
            }
        }
        let spring = &self.sprung.spring;
        for (key, what, size) in [
            ("spring_thickness", "thickness of the leaf", spring.thickness),
            ("spring_width", "width of the leaf", spring.width),
            ("spring_beam", "length of the leaf, from plate to contact", spring.beam),
            ("spring_free", "height of the unloaded leaf", spring.free),
            ("spring_solid", "height of the leaf pressed flat", spring.solid),
        ] {
            row(key, what, size, Unit::Mm);
        }
        row("spring_modulus", "modulus of the leaf", spring.modulus, Unit::Megapascal);
        row("spring_rate", "stiffness of the leaf", contact.stiffness_n_per_mm, Unit::NewtonPerMm);
        row(
            "spring_space",
            "from the wall behind the spring to the contact",
            self.sprung.space,
            Unit::Mm,
        );
        row(
            "spring_travel",
            "travel between shortest and longest cell",
            contact.working_mm,
            Unit::Mm,
        );
        let low = contact.deflection_low_mm;
        row("spring_low", "spring pressed by the shortest cell", low, Unit::Mm);
        row(
            "spring_high",
            "spring pressed by the longest cell",
            contact.deflection_high_mm,
            Unit::Mm,
        );
        row("spring_left", "travel left before it is flat", contact.left_mm, Unit::Mm);
        row("spring_force_low", "force with the shortest cell", contact.force_low_n, Unit::Newton);
        row("spring_force_high", "force with the longest cell", contact.force_high_n, Unit::Newton);
        row("spring_stress", "stress with the longest cell", contact.stress_mpa, Unit::Megapascal);
        row(
            "spring_stress_max",
            "stress that the spring returns from",
            self.sprung.spring.stress,
            Unit::Megapascal,
        );
        row(
            "spring_touches",
            "where the spring touches, above the cell's axis",
            self.contacts.touches,
            Unit::Mm,
        );
        row("tab_bump", "height of the bump that the positive tab needs", axial.bump, Unit::Mm);
        row("contact_recess", "positive contact behind its guard", axial.recess, Unit::Mm);
        row("vent", "free space before the positive end's rim", axial.vent, Unit::Mm);
        row("chamfer_low", "chamfer made at the low end", self.chamfers.low, Unit::Mm);
        row("chamfer_high", "chamfer made at the high end", self.chamfers.high, Unit::Mm);
        if let Some((most, bundle)) = &across.bundle {
            row("ducts", "number of ducts", across.ducts.len() as f64, Unit::One);
            row("duct_wires", "wires in the fullest duct", most.wires as f64, Unit::One);
            row("bundle", "diameter of their bundle", bundle.bundle_mm, Unit::Mm);
            row("duct", "diameter of a duct as drawn", across.duct, Unit::Mm);
            let wire = self.wire().map_err(|e| {
                let refusal = Refusal::new(format!("the wires cannot be reckoned: {e}"));
                refusal.at(self.asked.values, "wire").hint(e.hint().to_owned())
            })?;
            let run = self.asked.values.maybe_number("run").unwrap_or(axial.total) / PER_METRE;
            let pair = 2.0 * run * wire.resistance_mohm_per_m;
            row("wire_resistance", "resistance of a pair, at 40 degC", pair, Unit::Milliohm);
            row(
                "wire_drop",
                "drop over a pair at the given current",
                wire.drop_mv,
                Unit::Millivolt,
            );
            row("wire_loss", "heat in a pair at the given current", wire.loss_mw, Unit::Milliwatt);
            if let Some(advised) = wire.advised_a {
                row("wire_advised", "current advised in a bundle", advised, Unit::Ampere);
            }
        }
        let at = "inner jaws between the lips' tips, without pressing";
        let rows = Computed::read_in(rows, "mouth", Measured::Gap, Some(Axis::X), at);
        Ok(Computed::gauged(rows, self.gauges()))
    }

    /// Where a caliper reads the tray: amid the first piece of its lips.
    fn gauges(&self) -> [(&'static str, Caliper); 5] {
        let (spec, across, axial) = (self.asked.spec, self.across, self.axial);
        let (trough, thick) = (spec.trough(), self.lips.thickness);
        let (x, y, z) = (Vec3::x(), Vec3::y(), Vec3::z());
        let piece = self.shape.pieces[0];
        let amid = self.place(0.5 * (piece.0 + piece.1));
        let centre = y * across.cell_y + z * amid;
        let half_way = y * across.cell_y + z * self.place(0.5 * axial.total);
        let tip = at_angle(round_tip(trough, thick, self.lips.wrap)) * (trough + 0.5 * thick);
        let side = x * (trough + 0.5 * thick);
        [
            ("trough", Caliper::between(centre, x).round()),
            ("mouth", Caliper::between(centre + y * tip.y, x)),
            ("lip_thickness_made", Caliper::between(centre + side, x)),
            ("finger_made", Caliper::between(half_way + side, z)),
            ("floor", Caliper::between(half_way - y * (trough + 0.5 * across.floor), y)),
        ]
    }

    /// Choices, warnings and cautions of the tray.
    pub(super) fn tray_messages(&self) -> Vec<Message> {
        let (spec, across, axial) = (self.asked.spec, self.across, self.axial);
        let values = self.asked.values;
        let note = |text: String| message(Severity::Note, text, None);
        let mut out: Vec<Message> = Vec::new();
        for reason in &self.lips.reasons {
            out.push(note(format!("lips: {reason}")));
        }
        if values.maybe_component("spring").is_none() {
            out.push(note(format!(
                "spring: {} of the profiles suits best; it is pressed with {:.1} to {:.1} N",
                self.sprung.spring.name,
                self.sprung.contact.force_low_n,
                self.sprung.contact.force_high_n
            )));
        }
        if !across.ducts.is_empty() {
            let most = across.bundle.as_ref().map_or(0, |b| b.0.wires);
            out.push(note(format!(
                "wires: {} {} in {} duct(s) of {:.2} mm, at most {most} in one",
                spec.wires.count,
                spec.wires.name,
                across.ducts.len(),
                across.duct
            )));
        }
        if across.mark < spec.mark {
            let how = match across.mark {
                0.0 => "left out".to_owned(),
                depth => format!("{depth:.2} mm deep"),
            };
            out.push(note(format!(
                "marks: those in the floor are {how}, not {:.2} mm deep, so that {:.2} mm stay \
                 below them; the end faces have theirs in full",
                spec.mark, spec.wall_supported
            )));
        }
        if spec.tail > 0.0 {
            out.push(note(
                "contacts: drop their plates into the slots from +y and bend each tail out \
                 through its slit right below the plate, clear of the wires"
                    .to_owned(),
            ));
        }
        if axial.bump > 0.0 {
            out.push(note(format!(
                "form a bump {:.1} mm high in the positive tab, so that it reaches the cell",
                axial.bump
            )));
        }
        if !spec.lying {
            out.push(message(
                Severity::Warning,
                format!(
                    "printed upright, the lips begin {:.1} mm above the bed without anything below",
                    self.shape.pieces[0].0.min(axial.total - self.shape.pieces[1].1)
                ),
                Some("allow support below the four lip ends, nowhere else".to_owned()),
            ));
        }
        let opens = self.lips.largest.deflection_mm;
        let room = self.asked.fit.radius - (across.cell_y + spec.trough() + self.lips.thickness);
        if room < opens {
            out.push(note(format!(
                "change the cell with the tray out of the handle: each lip opens by {opens:.2} mm, \
                 the bore leaves {:.2} mm",
                room.max(0.0)
            )));
        }
        if let (Ok(wire), false) = (self.wire(), across.ducts.is_empty())
            && let Some(advised) = wire.advised_a
            && values.number("current") > advised
        {
            out.push(message(
                Severity::Warning,
                format!(
                    "{} A is more than the {advised:.2} A that common practice advises for {} in \
                     a tube",
                    number(values.number("current")),
                    spec.wires.name
                ),
                Some("use a thicker wire or two in parallel, and fuse the cell".to_owned()),
            ));
        }
        self.cautions(&mut out);
        out
    }

    /// What can hurt somebody.
    fn cautions(&self, out: &mut Vec<Message>) {
        let (spec, axial) = (self.asked.spec, self.axial);
        if axial.guarded() {
            out.push(message(
                Severity::Caution,
                format!(
                    "polarity: the positive contact lies {:.1} mm behind its guard, so that a cell \
                     put in the wrong way round does not touch it",
                    axial.recess
                ),
                Some("follow the marks + and -, and keep the tab behind the guard".to_owned()),
            ));
        } else {
            out.push(caution(
                "polarity: the button of this cell is too low to be guarded; a cell put in the \
                 wrong way round would be connected",
                "follow the marks + and -, and protect the electronics against a reversed cell",
            ));
        }
        if axial.vent < VENT_ADVISED - 1e-9 {
            out.push(message(
                Severity::Caution,
                format!(
                    "only {:.1} mm are free before the cell's vent; at least {VENT_ADVISED} mm is \
                     common practice",
                    axial.vent
                ),
                Some(format!("give vent_gap {VENT_ADVISED} or more")),
            ));
        }
        out.push(caution(
            "do not block the vent at the positive end: no glue, foam or wires in the gap",
            "leave a way out of the handle for gas",
        ));
        out.push(caution(
            "round off and deburr whatever touches the cell: a cut wrap is a short circuit, the \
             can is the negative pole",
            "feel lips and walls with a fingertip, and never pry a cell out with metal",
        ));
        out.push(caution(
            "never glue or solder to the cell; solder the contacts before the cell is near",
            "sleeve the tails, and fuse the wires close to the cell",
        ));
        if spec.cell.li_ion() {
            let unprotected = !spec.cell.protected;
            let text = if unprotected {
                "a lithium-ion cell without protection circuit: short, overcharge or deep \
                 discharge can set it on fire"
            } else {
                "a lithium-ion cell can catch fire when shorted, crushed, overheated or overcharged"
            };
            out.push(caution(
                text,
                "the cell maker's data sheet decides on limits; charge it outside the prop, and \
                 ask a qualified person if in doubt",
            ));
        } else {
            out.push(caution(
                "a short circuit makes any cell hot",
                "the cell maker's data sheet decides on limits; fuse the wires close to the cell",
            ));
        }
    }

    /// Computed values of the cover.
    pub(super) fn cover_values(&self, cover: &Cover) -> Vec<Computed> {
        let spec = self.asked.spec;
        let row =
            |key: &str, what: &str, value: f64, unit: Unit| Computed::new(key, what, value, unit);
        let mut rows = vec![
            row("cover_wall_made", "thickness of the cover", cover.spec.wall, Unit::Mm),
            row("cover_gap", "gap between cover and tray", cover.spec.gap, Unit::Mm),
            row("cover_wrap", "reach of its edges past the middle", cover.wrap, Unit::Degrees),
            row("cover_snaps", "length that snaps", cover.snaps, Unit::Mm),
            row("cover_opens", "how far each edge opens", cover.lip.deflection_mm, Unit::Mm),
            row(
                "cover_strain",
                "strain when it is snapped on",
                cover.lip.strain_percent,
                Unit::Percent,
            ),
        ];
        let forces = [
            ("cover_push", "push that snaps it on", cover.lip.insertion_n),
            ("cover_pull", "pull that takes it off", cover.lip.pull_out_n),
        ];
        for (key, what, force) in forces {
            rows.extend(force.map(|n| row(key, what, n, Unit::Newton)));
        }
        // Beside the axis, at the end that no opening reaches.
        let wall = Vec3::x() * (spec.outside - 0.5 * cover.spec.wall)
            + Vec3::z() * self.place(cover.flange + PLAY + FROM_END);
        Computed::gauged(rows, [("cover_wall_made", Caliper::between(wall, Vec3::x()))])
    }

    /// Messages of the cover.
    pub(super) fn cover_messages(&self, cover: &Cover) -> Vec<Message> {
        let mut out = Vec::new();
        let text = match cover.spec.opening {
            Opening::Nothing => "the cover hides tray and wires; take it off to change the cell",
            Opening::Fingers => {
                "the cover leaves the finger cut-outs open; take it off to change the cell"
            }
            Opening::Mouth => "the cell comes out through the cover's mouth",
        };
        out.push(message(Severity::Note, text, None));
        match cover.lip.pull_out_n {
            Some(hold) if hold < HOLD_WEAK => out.push(message(
                Severity::Warning,
                format!("the cover holds with {hold:.2} N only while it is out of the bore"),
                Some(
                    "in the bore it cannot come off; a thicker cover_wall holds firmer".to_owned(),
                ),
            )),
            _ => {}
        }
        if cover.spec.opening != Opening::Mouth {
            out.push(caution(
                "the slot in the cover's crown lets the cell's vent breathe",
                "do not tape it over",
            ));
        }
        out
    }
}
