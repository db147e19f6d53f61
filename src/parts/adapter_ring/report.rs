//! The values and words that the report gives of an adapter ring.

use super::super::build::Ends;
use super::super::caliper::Caliper;
use super::super::{Computed, Message, PartContext, Severity};
use super::spec::Ring;
use crate::measure::{Measured, Unit, Values, Vec3, number};
use crate::trade::split_ring::{SplitRing, split_ring};

/// All that is known of a ring, or one of its shims, that was made.
pub(super) struct Made<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub ring: &'a Ring,
    pub shim: u32,
    pub chamfers: Ends,
}

impl Made<'_> {
    pub(super) fn squeezed(&self) -> Option<SplitRing> {
        let gap = self.ring.gap?;
        split_ring(&self.ring.squeeze_input(self.context, gap.squeeze, self.shim)).ok()
    }

    pub(super) fn computed(&self) -> Vec<Computed> {
        let ring = self.ring;
        let mut rows = ring.outside.computed();
        let mut row = |key: &str, what: &str, value: f64, unit| {
            rows.push(Computed::new(key, what, value, unit));
        };
        let outer = ring.outer(self.shim);
        row("ring_outside", "outside diameter of this ring", 2.0 * outer, Unit::Mm);
        row("ring_inside", "diameter of its hole", 2.0 * ring.inner, Unit::Mm);
        row("inner_clearance", "clearance to the chassis", ring.inner_clearance, Unit::Mm);
        row("wall", "wall of this ring", outer - ring.inner, Unit::Mm);
        row("from_z", "low end in the bore", ring.low, Unit::Mm);
        row("length", "length in the bore", ring.high - ring.low, Unit::Mm);
        if let Some(gap) = ring.gap {
            row("gap_angle", "angle of the gap, free", gap.angle, Unit::Degrees);
            let width = 2.0 * ring.inner * (0.5 * gap.angle).to_radians().sin();
            row("gap_width", "width of the gap at the inside, free", width, Unit::Mm);
            let squeeze = ring.squeeze_input(self.context, gap.squeeze, self.shim).squeeze_mm;
            row("squeeze", "how much its diameter is squeezed", squeeze, Unit::Mm);
        }
        if let Some(out) = self.squeezed() {
            row("gap_closes", "how much the gap closes", out.closes_mm, Unit::Mm);
            row("strain", "largest strain in the bore", out.strain_percent, Unit::Percent);
            row("squeeze_force", "force at the gap that squeezes it", out.force_n, Unit::Newton);
        }
        if let Some((thick, radius)) = ring.flange {
            row("flange", "thickness of the flange", thick, Unit::Mm);
            row("flange_diameter", "outside diameter of the flange", 2.0 * radius, Unit::Mm);
        }
        for (i, hole) in ring.holes.iter().enumerate() {
            let what = format!("hole {} as drawn", i + 1);
            row(&format!("hole{}_diameter", i + 1), &what, 2.0 * hole.radius, Unit::Mm);
        }
        if self.shim > 0 && !ring.notches.is_empty() {
            row("notch_width", "width of a notch", ring.notch.0, Unit::Mm);
            row("notch_depth", "depth of a notch in the front end", ring.notch.1, Unit::Mm);
            for (i, at) in ring.notches.iter().take(self.shim as usize).enumerate() {
                let what = format!("clocking of notch {}", i + 1);
                row(&format!("notch{}_at", i + 1), &what, *at, Unit::Degrees);
            }
        }
        row("chamfer_low", "chamfer made at the low end", self.chamfers.low, Unit::Mm);
        row("chamfer_high", "chamfer made at the high end", self.chamfers.high, Unit::Mm);
        if self.shim > 0 || ring.gap.is_some() {
            // Not as the fit has it: only its own outside is there to be read.
            rows.iter_mut().for_each(|row| row.reading = None);
            let over = "over the ring, turned, between its ends";
            rows = Computed::read_in(rows, "ring_outside", Measured::Outside, None, over);
        }
        let inside = "inner jaws in the ring, turned";
        rows = Computed::read_in(rows, "ring_inside", Measured::Gap, None, inside);
        let middle = Vec3::z() * (0.5 * (ring.low + ring.high));
        let wall = middle + Vec3::x() * (0.5 * (outer + ring.inner));
        let flange = ring.flange.map_or(middle, |(thick, _)| Vec3::z() * (-0.5 * thick));
        let gauges = [
            ("ring_outside", Caliper::over(middle, Vec3::x()).round()),
            ("ring_inside", Caliper::between(middle, Vec3::x()).round()),
            ("wall", Caliper::between(wall, Vec3::x())),
            ("flange_diameter", Caliper::over(flange, Vec3::x()).round()),
        ];
        Computed::gauged(rows, gauges)
    }

    pub(super) fn messages(&self) -> Vec<Message> {
        let ring = self.ring;
        let mut out = Vec::new();
        let mut say = |severity, text: String, hint: Option<String>| {
            out.push(Message { severity, text, hint });
        };
        if self.shim > 0 {
            let marked = if ring.notches.is_empty() { 0 } else { self.shim };
            say(
                Severity::Note,
                format!(
                    "shim {}: its wall is {} mm thicker than the ring's; {marked} notches in its front \
                     end",
                    self.shim,
                    number(ring.outer(self.shim) - ring.outer(0))
                ),
                Some(
                    "try the rings from the thinnest on, and keep the last that goes in by hand"
                        .into(),
                ),
            );
        }
        if let Some((thick, _)) = ring.flange {
            say(
                Severity::Note,
                format!("the flange stands {thick:.2} mm out of the bore's end"),
                Some("the end cap needs that much room".into()),
            );
        }
        for (end, asked, made) in [
            ("low", ring.ends.low, self.chamfers.low),
            ("high", ring.ends.high, self.chamfers.high),
        ] {
            if made < asked - LEAST {
                say(
                    Severity::Note,
                    format!(
                        "the chamfer at the {end} end is {made:.2} mm instead of {asked:.2}: its cuts \
                         leave no more room"
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
