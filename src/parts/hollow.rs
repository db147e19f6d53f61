//! Modules whose inside is cut away slab by slab, widening from the print bed
//! up, so that nothing hangs over: where they stand, and their solid.

use super::build::{Ends, Slab, solid};
use super::module::Outside;
use super::{Computed, PartContext, Refusal};
use crate::measure::{Unit, Values, Vec2, Vec3};
use crate::section::{Region, snap};
use crate::solid::{RuledSection, Solid, Stack};

/// Step by which a chamfer is made smaller until the section takes it, mm.
const CHAMFER_STEP: f64 = 0.05;
/// Smallest chamfer worth making, mm.
const LEAST_CHAMFER: f64 = 0.1;
/// Steps of lengths in hints, per mm.
const HINTS_PER_MM: f64 = 100.0;
/// Heights nearer than this are one, mm: half of the grid.
const ONE: f64 = 0.5e-3;

/// Where a module stands: heights above its print bed, and z.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing {
    /// Its low end in the handle, mm.
    pub from_z: f64,
    /// Its length, mm.
    pub length: f64,
    /// Whether the end on the print bed is the one towards the front.
    pub front_down: bool,
}

impl Standing {
    /// The z of a height above the print bed, mm.
    pub(super) fn z(&self, height: f64) -> f64 {
        snap(self.from_z + if self.front_down { self.length - height } else { height })
    }

    /// Two heights as z in rising order, mm.
    pub(super) fn span(&self, low: f64, high: f64) -> (f64, f64) {
        let (a, b) = (self.z(low), self.z(high));
        (a.min(b), a.max(b))
    }

    /// The module's high end in the handle, mm.
    pub(super) fn high(&self) -> f64 {
        snap(self.from_z + self.length)
    }

    /// Which way is up while it is printed.
    pub(super) fn up(&self) -> Vec3 {
        if self.front_down { -Vec3::z() } else { Vec3::z() }
    }

    /// The chamfers of the end on the bed (`low`) and of the other: against a
    /// bulging first layer, and to lead the front end in.
    pub(super) fn ends(&self, asked: Ends) -> Ends {
        if self.front_down { Ends { low: asked.low.max(asked.high), high: 0.0 } } else { asked }
    }

    /// Refuses a module that reaches beyond the handle, pointing at `key`.
    pub(super) fn check(
        &self,
        context: &PartContext<'_>,
        values: &Values,
        key: &str,
    ) -> Result<(), Refusal> {
        let handle = context.handle.length();
        let beyond = self.high() - handle;
        if beyond <= 0.0 {
            return Ok(());
        }
        let what = format!(
            "a length of {:.2} mm from z {:.2} reaches to {:.2}; the handle ends at {handle:.2}: \
             {beyond:.2} mm too far",
            self.length,
            self.from_z,
            self.high()
        );
        let refusal = Refusal::new(what).at(values, key);
        let start = ((handle - self.length) * HINTS_PER_MM).floor() / HINTS_PER_MM;
        Err(if start >= 0.0 {
            refusal.hint(format!("give from_z {start:.2} or less"))
        } else {
            refusal.hint(format!("the handle must be {:.2} mm long at least", self.length))
        })
    }

    /// Rows of a report that say where it stands, with its chamfers.
    pub(super) fn computed(&self, made: Ends) -> Vec<Computed> {
        let (low, high) =
            if self.front_down { (made.high, made.low) } else { (made.low, made.high) };
        let row = |key: &str, what: &str, value| Computed::new(key, what, value, Unit::Mm);
        vec![
            row("from_z", "low end", self.from_z),
            row("length", "length", self.length),
            row("chamfer_low", "chamfer made at the low end", low),
            row("chamfer_high", "chamfer made at the high end", high),
        ]
    }
}

/// What a module's inside is cut by, and what its ends are chamfered by.
pub(super) struct Hollow<'a> {
    /// The outside.
    pub outside: &'a Outside,
    /// Where it stands.
    pub standing: Standing,
    /// What is cut away, by heights above the bed, in order and without gaps.
    pub cuts: Vec<Slab>,
    /// Chamfers around the outside, of the end on the bed and the other.
    pub ends: Ends,
}

impl Hollow<'_> {
    /// The solid, with the chamfers that could be made: one that just meets a
    /// groove or a flat is made smaller.
    pub(super) fn solid(&self, what: &str) -> Result<(Solid, Ends), Refusal> {
        let mut ends = self.ends;
        loop {
            let low = match self.stack(ends).map(|stack| solid(&stack, &[], what)) {
                Ok(Ok(solid)) => return Ok((solid, ends)),
                Ok(Err(refusal)) if ends.low + ends.high == 0.0 => return Err(refusal),
                Ok(Err(_)) => ends.low >= ends.high,
                Err(low) => low,
            };
            let size = if low { &mut ends.low } else { &mut ends.high };
            *size = snap(*size - CHAMFER_STEP);
            if *size < LEAST_CHAMFER {
                *size = 0.0;
            }
        }
    }

    /// The stack, or which chamfer was refused (`true`: the one on the bed).
    fn stack(&self, ends: Ends) -> Result<Stack, bool> {
        let length = self.standing.length;
        let mut levels: Vec<f64> = vec![ends.low, snap(length - ends.high)];
        levels.extend(self.cuts.iter().flat_map(|c| [c.bottom, c.top]));
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|a, b| (*a - *b).abs() < ONE);
        let off = |z: f64| (ends.low - z).max(ends.high - (length - z)).max(0.0);
        let mut slabs = Vec::new();
        for pair in levels.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let Some(cut) = self.cuts.iter().find(|c| c.bottom < middle && middle < c.top) else {
                continue;
            };
            let at = |by: f64| {
                Region::disc(Vec2::zeros(), self.outside.fit.radius - by)
                    .difference(&self.outside.cuts())
                    .difference(&cut.section)
            };
            let (mut a, mut b) = (off(pair[0]), off(pair[1]));
            if self.standing.front_down {
                std::mem::swap(&mut a, &mut b);
            }
            let ruled = if a.max(b) < ONE {
                RuledSection::prism(&at(0.0))
            } else {
                RuledSection::between(&at(a), &at(b)).map_err(|_| middle < 0.5 * length)?
            };
            slabs.push((self.standing.span(pair[0], pair[1]), ruled));
        }
        if self.standing.front_down {
            slabs.reverse();
        }
        let mut stack = Stack::default();
        for ((low, high), ruled) in slabs {
            stack.ruled(low, high, ruled);
        }
        Ok(stack)
    }
}
