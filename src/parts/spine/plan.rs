//! Everything decided about a spine before any geometry is made.

use super::super::fit::BoreFit;
use super::super::fixing::{PilotHole, ScrewHole};
use super::super::{PartContext, Refusal};
use super::joints::{Joints, joints};
use super::modules::{Module, joined, too_low};
use super::runs::{Run, runs};
use super::screws::screws;
use super::{LEAST_BAR, level};
use crate::measure::{Values, number};
use crate::section::snap;

/// Keel beyond an end ring, mm, so that its notch has two sides. Common
/// practice, no source.
const BEYOND_RING: f64 = 1.5;
/// Webs of the keel between two notches thinner than this are left out, mm.
/// Common practice, no source.
const LEAST_WEB: f64 = 2.0;
/// Modules whose underside is no higher than this above the keel need no chair,
/// mm: glue and shims fill it. Common practice, no source.
const LEAST_CHAIR: f64 = 1.0;
/// How much thicker than the printer's least pin a ring is, mm: what its
/// chamfers and facets take.
const PIN_SPARE: f64 = 0.1;
/// How far the highest flat stays below the axis, over the outside's radius.
/// Common practice, no source.
const HIGHEST: f64 = 0.1;
/// Least half width of a keel, mm. Common practice, no source.
const LEAST_HALF: f64 = 3.0;
/// Sums of lengths carry less noise than this, mm.
const EXACT: f64 = 1e-6;

/// A body that stands in a notch of the keel: a ring or a chair.
#[derive(Clone, Debug)]
pub(super) struct Standing {
    /// Its ends, z mm.
    pub z: (f64, f64),
    /// Height of its top, mm; of a chair only.
    pub top: Option<f64>,
    /// The module that it bears against, by number.
    pub module: usize,
}

/// A spine as it will be made. All lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Plan<'a> {
    pub values: &'a Values,
    pub fit: BoreFit,
    pub modules: Vec<Module<'a>>,
    /// Parts that are not joined.
    pub left: Vec<&'a str>,
    /// Ends of the keel, z.
    pub ends: (f64, f64),
    /// Height of its flat.
    pub top: f64,
    /// Half its width.
    pub half: f64,
    pub glue: f64,
    pub seat: f64,
    /// Play of a standing body along its notch, on each side.
    pub play: f64,
    pub ring_wall: f64,
    pub rings: Vec<Standing>,
    /// Why rings that were asked for are not there.
    pub no_ring: Vec<String>,
    pub chairs: Vec<Standing>,
    /// Half the width of chairs.
    pub chair_half: f64,
    /// Notches for rings and chairs, z.
    pub notches: Vec<(f64, f64)>,
    pub screws: Option<(ScrewHole, Vec<f64>)>,
    /// Pilot to drill into the modules for their screws.
    pub pilot: Option<f64>,
    pub runs: Vec<Run<'a>>,
    pub joints: Joints,
    /// Cut off the long edges of the flat.
    pub edge: f64,
}

/// Free length along the bore that a ring needs, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RingRoom {
    /// Between two modules.
    pub between: f64,
    /// At an end of the bore.
    pub end: f64,
}

impl RingRoom {
    fn new(length: f64, glue: f64, play: f64) -> RingRoom {
        RingRoom { between: length + 2.0 * glue, end: glue + length + play + BEYOND_RING }
    }

    /// For the rings of a spine with these values, rounded up to the step of
    /// features.
    pub fn of(values: &Values, printer: &Values) -> RingRoom {
        let up = |value: f64| (value * 100.0 - EXACT).ceil() / 100.0;
        let play = level(0.5 * printer.number("fit_slide"));
        let room = RingRoom::new(values.number("ring_length"), values.number("glue_gap"), play);
        RingRoom { between: up(room.between), end: up(room.end) }
    }
}

impl<'a> Plan<'a> {
    pub(super) fn new(context: &PartContext<'a>, values: &'a Values) -> Result<Plan<'a>, Refusal> {
        let printer = context.printer;
        let fit = BoreFit::new(context, values);
        let (modules, left) = joined(context, values)?;
        let glue = level(values.number("glue_gap"));
        let seat = level(values.number("seat"));
        let wall = printer.number("wall_supported");
        let ring_wall = ring_wall(values, printer)?;
        // High enough in a notch, and as wide as something can stand on.
        let stands = LEAST_HALF.min(0.5 * fit.radius);
        let dip = fit.radius - (fit.radius * fit.radius - stands * stands).sqrt();
        let least = (LEAST_BAR.max(wall) + seat).max(wall + seat + dip);
        let top = top(values, &fit, &modules, glue, least)?;
        // As wide as leaves a wall beside the flat where a notch is.
        let lowest = top - wall - seat;
        let half = level(((fit.radius - lowest) * (fit.radius + lowest)).max(0.0).sqrt() - 0.005);
        let mut plan = Plan {
            values,
            fit,
            left,
            ends: (modules[0].low, modules.iter().map(|m| m.high).fold(0.0, f64::max)),
            modules,
            top,
            half,
            glue,
            seat,
            play: level(0.5 * printer.number("fit_slide")),
            ring_wall,
            rings: Vec::new(),
            no_ring: Vec::new(),
            chairs: Vec::new(),
            chair_half: 0.0,
            notches: Vec::new(),
            screws: None,
            pilot: None,
            runs: Vec::new(),
            joints: Joints::default(),
            edge: 0.0,
        };
        let chair = values.maybe_number("chair_width").map_or(half, |w| level(0.5 * w));
        plan.chair_half = chair.min(half);
        plan.edge = snap(values.number("first_layer").min(0.5 * wall));
        plan.place_rings(context.handle.length());
        plan.place_chairs();
        plan.place_notches();
        plan.screws = screws(context, &plan)?;
        plan.pilot = plan.screws.as_ref().and_then(|(hole, _)| {
            let pilot = PilotHole::new(hole.thread, context.material, printer).ok()?;
            // A drill does not shrink as a printed hole does.
            Some(pilot.hole - printer.number("hole_shrink"))
        });
        plan.runs = runs(context, &plan)?;
        plan.joints = joints(context, &plan)?;
        Ok(plan)
    }

    /// Height of the keel's flat over the lowest point of its outside.
    pub(super) fn thickness(&self) -> f64 {
        self.top + self.fit.radius
    }

    /// Underside of what stands in a notch.
    pub(super) fn foot(&self) -> f64 {
        level(self.top - self.seat + self.glue)
    }

    /// Free length after module `i`, up to the next one or the bore's end.
    pub(super) fn gap_after(&self, i: usize) -> Option<f64> {
        Some(self.modules.get(i + 1)?.low - self.modules[i].high)
    }

    fn place_rings(&mut self, bore_length: f64) {
        let wanted = self.values.choice("rings");
        if wanted == "none" {
            return;
        }
        let length = level(self.values.number("ring_length"));
        let RingRoom { between: needed, end: beyond } = RingRoom::new(length, self.glue, self.play);
        let last = self.modules.len() - 1;
        let (low, high) = (self.modules[0].low, self.ends.1);
        let front = self.modules.iter().position(|m| m.high == high).unwrap_or(last);
        let mut ring = |z: (f64, f64), module| {
            self.rings.push(Standing { z: (level(z.0), level(z.1)), top: None, module });
        };
        let mut none = Vec::new();
        if low >= beyond - EXACT {
            ring((low - self.glue - length, low - self.glue), 0);
        } else {
            none.push(format!(
                "the cap's end has {:.2} mm for a ring, {beyond:.2} are needed",
                low
            ));
        }
        for i in 0..last {
            let (a, b) = (self.modules[i].high, self.modules[i + 1].low);
            if wanted == "between" && b - a >= needed - EXACT {
                ring((a + self.glue, a + self.glue + length), i);
            } else if wanted == "between" {
                none.push(format!(
                    "{:.2} mm between {} and {} take no ring: {needed:.2} are needed",
                    (b - a).max(0.0),
                    self.modules[i].part.name,
                    self.modules[i + 1].part.name
                ));
            }
        }
        let room = bore_length - high;
        if room >= beyond - EXACT {
            ring((high + self.glue, high + self.glue + length), front);
        } else {
            none.push(format!("the front has {room:.2} mm for a ring, {beyond:.2} are needed"));
        }
        self.no_ring = none;
        for ring in &self.rings {
            let beyond = self.play + BEYOND_RING;
            self.ends.0 = self.ends.0.min(level(ring.z.0 - beyond));
            self.ends.1 = self.ends.1.max(level(ring.z.1 + beyond));
        }
    }

    fn place_chairs(&mut self) {
        let length = level(self.values.number("chair"));
        if length == 0.0 {
            return;
        }
        for (i, module) in self.modules.iter().enumerate() {
            if module.under <= self.top + LEAST_CHAIR {
                continue;
            }
            let (low, high) = (module.low, module.high);
            let spans = if high - low < 2.0 * length + LEAST_WEB {
                vec![(low, high)]
            } else {
                vec![(low, level(low + length)), (level(high - length), high)]
            };
            for z in spans {
                let Some(under) = module.underside(z, self.chair_half) else { continue };
                let top = level(under - self.glue);
                if top > self.foot() + LEAST_CHAIR {
                    self.chairs.push(Standing { z, top: Some(top), module: i });
                }
            }
        }
    }

    /// Notches in order; those that leave a thin web between them are one.
    fn place_notches(&mut self) {
        if self.seat == 0.0 {
            return;
        }
        let standing = self.rings.iter().chain(&self.chairs);
        let mut all: Vec<(f64, f64)> = standing
            .map(|s| {
                let low = level(s.z.0 - self.play).max(self.ends.0);
                (low, level(s.z.1 + self.play).min(self.ends.1))
            })
            .collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (low, high) in all {
            match self.notches.last_mut() {
                Some(last) if low < last.1 + LEAST_WEB => last.1 = last.1.max(high),
                _ => self.notches.push((low, high)),
            }
        }
        let (low, high) = self.ends;
        for notch in &mut self.notches {
            if notch.0 < low + LEAST_WEB.min(BEYOND_RING) - EXACT {
                notch.0 = low;
            }
            if notch.1 > high - LEAST_WEB.min(BEYOND_RING) + EXACT {
                notch.1 = high;
            }
        }
    }
}

fn ring_wall(values: &Values, printer: &Values) -> Result<f64, Refusal> {
    let least = printer.number("wall_free");
    let Some(wall) = values.maybe_number("ring_wall") else {
        // As stout as a pin, which a piece of ring is.
        return Ok(level((2.0 * least).max(printer.number("pin_min") + PIN_SPARE)));
    };
    if wall < least {
        let what = format!(
            "a ring {wall:.2} mm thick is thinner than the {} mm that the printer holds",
            number(least)
        );
        let hint = format!("ring_wall = {} would do", number(least));
        return Err(Refusal::new(what).at(values, "ring_wall").hint(hint));
    }
    Ok(level(wall))
}

/// Height of the keel's flat: as asked for, or as high as the modules leave.
fn top(
    values: &Values,
    fit: &BoreFit,
    modules: &[Module<'_>],
    glue: f64,
    least: f64,
) -> Result<f64, Refusal> {
    let under = modules.iter().map(|m| m.under).fold(f64::INFINITY, f64::min);
    let room = under + fit.radius;
    if let Some(keel) = values.maybe_number("keel") {
        if keel < least + glue {
            let what = format!(
                "a keel of {keel:.2} mm leaves a bar of {:.2} mm with its notches and glue; \
                 {least:.2} are needed",
                keel - glue
            );
            let hint = format!("keel = {:.2} or more, and the modules too", least + glue);
            return Err(Refusal::new(what).at(values, "keel").hint(hint));
        }
        if keel <= room + EXACT {
            // Towards the outside, so that it never touches what it carries.
            return Ok(floor_level(keel - fit.radius - glue));
        }
        let down = (room * 100.0).floor() / 100.0;
        let mut refusal = too_low(modules, fit.radius, keel).at(values, "keel");
        if down >= least + glue {
            refusal = refusal.hint(format!("keel = {} of the spine would do", number(down)));
        }
        return Err(refusal);
    }
    if room < least + glue - EXACT {
        return Err(too_low(modules, fit.radius, least + glue));
    }
    // As deep as the modules' own keels where they have any: chairs carry what
    // lies higher. No higher than near the bore's axis, where the bar is widest.
    let own = modules.iter().filter_map(Module::keel).fold(0.0, f64::max);
    let room = if own > 0.0 { room.min(own.max(least + glue)) } else { room };
    Ok(floor_level((room - fit.radius - glue).min(-HIGHEST * fit.radius)))
}

fn floor_level(value: f64) -> f64 {
    snap((value * 100.0 + EXACT).floor() / 100.0)
}
