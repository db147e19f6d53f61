//! Windows around the head, and the slot across a flat one.

use std::f64::consts::PI;

use super::super::fixing::Axes;
use super::super::{PartContext, Refusal};
use super::spec::{LightBore, Spec};
use crate::measure::frame::direction;
use crate::measure::rounding::{NOISE, down, up};
use crate::measure::{Values, Vec2};
use crate::section::{Region, snap};
use crate::solid::{BoreEnd, BoreProfile, CrossBore, Mouth};

/// Widest window over the bore behind it: wider ones would graze its wall.
const WIDEST: f64 = 0.8;
/// How far cuts reach, mm: beyond every plug.
const FAR: f64 = 200.0;
/// Narrowest stretch of a flat head that a slot leaves on each side, over the
/// head's radius.
const BESIDE_SLOT: f64 = 0.25;

/// The windows.
#[derive(Clone, Debug)]
pub(super) struct Windows {
    pub round: bool,
    pub low: f64,
    pub high: f64,
    /// Half the width, mm.
    pub half: f64,
    /// The wall between two at the bore, mm, if there are two.
    pub bars: Option<f64>,
    axes: Vec<Axes>,
}

/// A slot across a flat head: half its width and its depth, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slot {
    pub half: f64,
    pub depth: f64,
}

impl Slot {
    /// The slot, if one is asked for.
    ///
    /// # Errors
    /// A head that is not flat, or too small for it.
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &Values,
        spec: &Spec,
    ) -> Result<Option<Slot>, Refusal> {
        if values.choice("grip") != "slot" {
            return Ok(None);
        }
        if !spec.head_down {
            let what = format!(
                "a {} of {:.2} mm has no flat for a slot",
                values.choice("head"),
                2.0 * spec.head
            );
            return Err(Refusal::new(what)
                .at(values, "grip")
                .hint("give grip = \"groove\", or head = \"flat\""));
        }
        let (width, depth) = (snap(values.number("grip_width")), snap(values.number("grip_depth")));
        let beside = 2.0 * (1.0 - BESIDE_SLOT) * spec.head;
        let bridge = context.printer.maybe_number("bridge").unwrap_or(f64::INFINITY);
        if width > beside.min(bridge) + NOISE {
            let most = beside.min(bridge);
            let what = format!(
                "a slot {width:.2} mm wide is more than the {most:.2} that the head and the printer's \
                 bridges allow: by {:.2}",
                width - most
            );
            return Err(Refusal::new(what)
                .at(values, "grip_width")
                .hint(format!("give grip_width {:.2} or less", down(most))));
        }
        let room = spec.head_high - spec.head_low - context.printer.number("wall_supported");
        if depth > room {
            let what = format!(
                "a slot {depth:.2} mm deep reaches below the head's straight wall, which has room \
                 for {room:.2}: by {:.2}",
                depth - room
            );
            let refusal = Refusal::new(what).at(values, "grip_depth");
            return Err(if room >= LEAST_GRIP {
                refusal.hint(format!("give grip_depth {:.2} or less", down(room)))
            } else {
                refusal.hint("a longer head has room for a slot: give head_length more")
            });
        }
        Ok(Some(Slot { half: snap(0.5 * width), depth }))
    }
}

/// Least depth of a slot, mm: that of its row.
const LEAST_GRIP: f64 = 0.3;

impl Windows {
    /// The windows, if any are asked for.
    ///
    /// # Errors
    /// Windows that do not fit the head, leave too thin bars, or are wider than
    /// the printer bridges.
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &Values,
        spec: &Spec,
    ) -> Result<Option<Windows>, Refusal> {
        let count = values.integer("windows");
        if count == 0 {
            return Ok(None);
        }
        let Some(bore) = spec.bore else {
            let what =
                format!("{count} windows need a light bore behind them, and it is 0 mm wide");
            return Err(Refusal::new(what)
                .at(values, "light_bore")
                .hint("leave light_bore out: half the stem's diameter is taken"));
        };
        let round = values.choice("window") == "round";
        let width = values.number("window_width");
        let height = if round { width } else { values.number("window_height") };
        let bars = widths(context, values, bore, width, count, round)?;
        let wall = context.printer.number("wall_supported");
        let base = spec.grip.map_or(spec.head_low, |g| g.low + g.width) + wall;
        let low = snap(values.maybe_number("window_z").map_or(base, |z| spec.flange_top + z));
        let high = snap(low + height);
        let end = bore.straight.min(spec.head_high - spec.chamfers.1).min(spec.slot_floor()) - wall;
        if low < base - wall - NOISE || high > end + NOISE {
            let off = (base - wall - low).max(high - end);
            let what = format!(
                "the windows run from {:.2} to {:.2} mm above the flange; there is room from {:.2} to \
                 {:.2}: off by {off:.2}",
                low - spec.flange_top,
                high - spec.flange_top,
                base - spec.flange_top,
                end - spec.flange_top
            );
            let longer = values.number("head_length") + (high - end).max(0.0);
            let refusal = Refusal::new(what).at(values, "window_z");
            return Err(if base + height <= end {
                refusal.hint(format!(
                    "give window_z {:.2}, or leave it out",
                    up(base - spec.flange_top)
                ))
            } else {
                refusal.hint(format!(
                    "a head_length of {:.1} with a crown as now has room",
                    longer + 1.0
                ))
            });
        }
        let first = values.number("window_at");
        let axes = (0..count)
            .map(|i| Axes::new(direction(first + 360.0 * i as f64 / count as f64)))
            .collect();
        Ok(Some(Windows { round, low, high, half: snap(0.5 * width), bars, axes }))
    }
}

/// The wall between two windows at the bore, mm.
fn widths(
    context: &PartContext<'_>,
    values: &Values,
    bore: LightBore,
    width: f64,
    count: i64,
    round: bool,
) -> Result<Option<f64>, Refusal> {
    let printer = context.printer;
    let bridge = printer.maybe_number("bridge").filter(|_| !round).unwrap_or(f64::INFINITY);
    let most = bridge.min(2.0 * WIDEST * bore.radius);
    if width > most + NOISE {
        let what = format!(
            "windows {width:.2} mm wide are more than the {most:.2} that the light bore and the \
             printer's bridges allow: by {:.2}",
            width - most
        );
        return Err(Refusal::new(what)
            .at(values, "window_width")
            .hint(format!("give window_width {:.2} or less", down(most))));
    }
    let least = printer.number("hole_min");
    if width < least - NOISE {
        let what = format!(
            "windows {width:.2} mm wide close up on this printer, which keeps {least:.2} open: by {:.2}",
            least - width
        );
        return Err(Refusal::new(what)
            .at(values, "window_width")
            .hint(format!("give window_width {:.2} or more", up(least))));
    }
    if count < 2 {
        return Ok(None);
    }
    let bars = 2.0 * bore.radius * (PI / count as f64).sin() - width;
    let needed = printer.number("wall_free");
    if bars >= needed - NOISE {
        return Ok(Some(bars));
    }
    let fit = (PI / ((width + needed) / (2.0 * bore.radius)).min(1.0).asin()).floor();
    let what = format!(
        "{count} windows of {width:.2} mm around a bore of {:.2} leave bars of {bars:.2}; this \
         printer needs {needed:.2}: short by {:.2}",
        2.0 * bore.radius,
        needed - bars
    );
    Err(Refusal::new(what)
        .at(values, "windows")
        .hint(format!("give windows = {}", if fit < 2.0 { 1.0 } else { fit })))
}

impl Spec {
    /// Height of the slot's floor, or of the top without one, mm.
    pub(super) fn slot_floor(&self) -> f64 {
        snap(self.top - self.slot.map_or(0.0, |slot| slot.depth))
    }

    /// Heights at which cuts begin and end, mm.
    pub(super) fn cut_levels(&self) -> Vec<f64> {
        let mut levels = Vec::new();
        if self.slot.is_some() {
            levels.push(self.slot_floor());
        }
        if let Some(w) = self.windows.as_ref().filter(|w| !w.round) {
            levels.extend([w.low, w.high]);
        }
        levels
    }

    /// What is cut out at a height, mm.
    pub(super) fn cuts_at(&self, z: f64) -> Region {
        let mut cuts = Region::empty();
        if let Some(slot) = self.slot.filter(|_| z > self.slot_floor()) {
            cuts = Region::rectangle(Vec2::new(-FAR, -slot.half), Vec2::new(FAR, slot.half));
        }
        if let Some(w) = self.windows.as_ref().filter(|w| !w.round && w.low < z && z < w.high) {
            for axes in &w.axes {
                cuts = cuts.union(&axes.quad((-w.half, w.half), (0.0, FAR)));
            }
        }
        cuts
    }

    /// Round windows, drilled from inside.
    pub(super) fn window_bores(&self) -> Vec<CrossBore> {
        let Some(w) = self.windows.as_ref().filter(|w| w.round) else { return Vec::new() };
        let bore = |axes: &Axes| CrossBore {
            direction: axes.along,
            z: 0.5 * (w.low + w.high),
            offset: 0.0,
            start: 0.0,
            profile: BoreProfile::Round { radius: w.half },
            mouth: Mouth::Plain,
            end: BoreEnd::NextWall,
        };
        w.axes.iter().map(bore).collect()
    }
}
