//! Modules whose inside is cut away slab by slab, widening from the print bed
//! up, so that nothing hangs over: where they stand, and their solid.

use super::build::{Ends, Slab, solid};
use super::module::Outside;
use super::{Computed, PartContext, Refusal};
use crate::measure::frame::direction;
use crate::measure::{Unit, Values, Vec2, Vec3};
use crate::section::{Region, Seg, snap};
use crate::solid::{RuledSection, Solid, Stack};

/// Step by which a chamfer is made smaller until the section takes it, mm.
const CHAMFER_STEP: f64 = 0.05;
/// Smallest chamfer worth making, mm.
const LEAST_CHAMFER: f64 = 0.1;
/// Step of lengths in hints, mm.
const HINT_STEP: f64 = 0.01;
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
        let start = down(handle - self.length, HINT_STEP);
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

/// Cuts of a module that overlap in height, as slabs without gaps between its
/// ends: each is cut by all that are there.
pub(super) fn layered(cuts: &[Slab], (low, high): (f64, f64)) -> Vec<Slab> {
    let mut levels: Vec<f64> = cuts.iter().flat_map(|c| [c.bottom, c.top]).collect();
    levels.extend([low, high]);
    levels.retain(|z| (low..=high).contains(z));
    levels.sort_by(f64::total_cmp);
    levels.dedup_by(|a, b| (*a - *b).abs() < ONE);
    let slab = |pair: &[f64]| {
        let (bottom, top) = (pair[0], pair[1]);
        let middle = 0.5 * (bottom + top);
        let there = cuts.iter().filter(|c| c.bottom < middle && middle < c.top);
        let section = there.fold(Region::empty(), |all, c| all.union(&c.section));
        Slab { bottom, top, section }
    };
    levels.windows(2).map(slab).collect()
}

/// Thinnest walls from a cut to the bore, to the keel's flat and to the groove,
/// mm; negative where it reaches beyond.
#[derive(Clone, Copy, Debug)]
pub(super) struct Walls {
    pub bore: f64,
    pub keel: Option<f64>,
    pub groove: Option<f64>,
}

impl Walls {
    /// From a cut without holes that turns left all the way.
    pub(super) fn new(outside: &Outside, cut: &Region) -> Walls {
        let far = |s: &Seg| match s.arc {
            Some(arc) => arc.centre.norm() + arc.radius,
            None => s.a.norm().max(s.b.norm()),
        };
        let reach = cut.segs().iter().map(far).fold(0.0, f64::max);
        let low = cut.bounds().map_or(0.0, |(low, _)| low.y);
        Walls {
            bore: outside.fit.radius - reach,
            keel: outside.keel.map(|(_, y)| low - y),
            groove: outside.groove.as_ref().map(|groove| {
                let off = cut.boundary_distance(groove.middle);
                (if cut.contains(groove.middle) { -off } else { off }) - groove.radius
            }),
        }
    }

    /// Rows of a report.
    pub(super) fn computed(&self) -> Vec<Computed> {
        let row = |key: &str, what: &str, value| Computed::new(key, what, value, Unit::Mm);
        let mut rows = vec![row("wall_bore", "thinnest wall to the bore", self.bore)];
        rows.extend(self.keel.map(|w| row("wall_keel", "thinnest wall to the keel's flat", w)));
        rows.extend(self.groove.map(|w| row("wall_groove", "thinnest wall to the groove", w)));
        rows
    }
}

/// Step of the angles that are tried, degrees, and steps of them each way.
const TURN: f64 = 5.0;
const TURNS: i32 = 36;

/// Angles from one on, to either side in turn, degrees: for hints.
pub(super) fn turns(from: f64) -> impl Iterator<Item = f64> {
    (1..=TURNS).flat_map(move |i| {
        let by = f64::from(i) * TURN;
        [from + by, from - by].map(|angle| snap(angle.rem_euclid(360.0)))
    })
}

/// Where else the groove for wires could lie, degrees, nearest to where it was
/// asked: above the keel with `wall` mm between, and so that `works` holds with
/// its middle there.
pub(super) fn groove_turned(
    outside: &Outside,
    asked: f64,
    wall: f64,
    works: impl Fn(Vec2) -> bool,
) -> Option<f64> {
    let groove = outside.groove.as_ref()?;
    turns(asked).find(|angle| {
        let way = direction(*angle) * (outside.fit.radius - groove.radius);
        let middle = Vec2::new(snap(way.x), snap(way.y));
        let low = middle.y - groove.radius - wall;
        outside.keel.is_none_or(|(_, y)| low >= y) && works(middle)
    })
}

/// The largest value below one that is a multiple of `step`, for hints; one
/// that is a multiple but for float noise stays.
pub(super) fn down(value: f64, step: f64) -> f64 {
    snap((value / step + STEP_NOISE).floor() * step)
}

/// A value is a multiple of a step if it is less than this share of it below.
const STEP_NOISE: f64 = 1e-6;

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
