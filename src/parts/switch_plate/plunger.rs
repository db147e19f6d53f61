//! One plunger with its switch: footprint of the pocket, and the seat height
//! that the stack of tolerances allows.

use super::super::fixing::Axes;
use super::super::handed::{Handed, Topic, clocked};
use super::super::{PartContext, Refusal};
use super::level;
use crate::measure::{Values, frame, number};
use crate::trade::TradeError;
use crate::trade::plunger::{Basis, Plunger as Stack, PlungerInput, Spread, plunger as stack};

/// Thickness of the sheet that legs are cut from, mm. Common practice, no
/// source; the slots leave room all round.
pub(super) const LEG_SHEET: f64 = 0.3;

/// A rectangle in the plane of a pocket's floor, relative to its middle:
/// across the plunger (to the left seen from the front) and along the handle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rect {
    pub u: (f64, f64),
    pub z: (f64, f64),
}

impl Rect {
    /// A rectangle in the switch's own directions: across and along its legs'
    /// rows; a turned switch swaps them.
    fn new(across: (f64, f64), along: (f64, f64), turned: bool) -> Rect {
        if turned { Rect { u: along, z: across } } else { Rect { u: across, z: along } }
    }
}

/// What is cut for a switch, seen along its plunger.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Footprint {
    /// The body's room.
    pub pocket: Rect,
    /// Room for legs beside the body.
    pub rooms: Vec<Rect>,
    /// Slots through the plate, for legs and wires.
    pub slots: Vec<Rect>,
}

impl Footprint {
    /// The footprint of a switch with `clearance` mm on each side of the
    /// thickest body. Posts between leg rooms thinner than `post` mm are left
    /// out; slots take a wire of `wire` mm and are at least `gap` mm wide.
    pub(super) fn new(
        switch: &Values,
        turned: bool,
        clearance: f64,
        post: f64,
        wire: f64,
        gap: f64,
    ) -> Footprint {
        let half = |key: &str| {
            level(0.5 * (switch.number(key) + switch.number("body_tolerance")) + clearance)
        };
        let (across, along) = (half("body_width"), half("body_length"));
        let span = level(0.5 * switch.number("leg_span") + clearance);
        let leg = 0.5 * switch.number("leg_width") + clearance;
        let pitch = 0.5 * switch.number("leg_pitch");
        let outer = level((pitch + leg).max(along));
        let inner = level(pitch - leg);
        let ranges = if 2.0 * inner < post {
            vec![(-outer, outer)]
        } else {
            vec![(-outer, -inner), (inner, outer)]
        };
        let pocket = Rect::new((-across, across), (-along, along), turned);
        let mut rooms = Vec::new();
        let mut slots = Vec::new();
        let width = (LEG_SHEET + 2.0 * clearance).max(wire + 2.0 * clearance).max(gap);
        let slot = (level(span - width).max(level(0.4 * span)), span);
        for &range in &ranges {
            if span > across {
                rooms.push(Rect::new((-span, span), range, turned));
            }
            slots.push(Rect::new(slot, range, turned));
            slots.push(Rect::new((-slot.1, -slot.0), range, turned));
        }
        Footprint { pocket, rooms, slots }
    }

    /// Half its width across the plunger and half its length along the handle.
    pub(super) fn half(&self) -> (f64, f64) {
        let all = || self.rooms.iter().chain([&self.pocket]);
        (all().map(|r| r.u.1).fold(0.0, f64::max), all().map(|r| r.z.1).fold(0.0, f64::max))
    }
}

/// A plunger, its switch, and the seat that was found for it.
#[derive(Clone, Debug)]
pub(super) struct Plunger<'a> {
    pub values: &'a Values,
    pub switch: &'a Values,
    /// From 1, as the person counts.
    pub number: usize,
    pub z: f64,
    pub clocking: f64,
    pub axes: Axes,
    /// Distance of the inner end from the axis at rest, mm.
    pub tip: f64,
    pub diameter: f64,
    pub pad: f64,
    pub foot: Footprint,
    /// Distance of the pocket's floor from the axis, mm.
    pub seat: f64,
    pub chain: PlungerInput,
    pub stack: Stack,
}

/// What all plungers of a plate share.
pub(super) struct Shared {
    pub clearance: f64,
    /// Least wall that stands free.
    pub post: f64,
    pub wire: f64,
    pub gap: f64,
    pub play: f64,
    pub seat_tolerance: f64,
    pub gap_least: f64,
    pub basis: Basis,
}

impl<'a> Plunger<'a> {
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &'a Values,
        number: usize,
        shared: &Shared,
    ) -> Result<Plunger<'a>, Refusal> {
        let tip = tip(context, values, number)?;
        let switch = values.component("switch");
        let pad = values.number("pad");
        let height = switch.number("overall_height");
        let mut chain = PlungerInput {
            tip_mm: tip,
            tip_tol_mm: values.number("tip_tolerance"),
            play_tol_mm: shared.play,
            seat_mm: 0.0,
            seat_tol_mm: shared.seat_tolerance,
            plate_mm: pad,
            plate_tol_mm: if pad > 0.0 { values.number("pad_tolerance") } else { 0.0 },
            switch_mm: height,
            switch_tol_mm: switch.number("height_tolerance"),
            travel_mm: values.number("travel"),
            travel_tol_mm: values.number("travel_tolerance"),
            stroke_mm: switch.number("stroke"),
            stroke_tol_mm: switch.number("stroke_tolerance"),
            gap_min_mm: shared.gap_least,
            basis: shared.basis,
        };
        let refuse = |chain: &PlungerInput, error| no_height(values, number, chain, error);
        let centred = stack(&chain).map_err(|e| refuse(&chain, e))?;
        let seat = match values.maybe_number("gap") {
            Some(gap) => tip - gap - pad - height,
            None => centred.best_seat_mm,
        };
        chain.seat_mm = level(seat);
        let stack = stack(&chain).map_err(|e| refuse(&chain, e))?;
        let clocking = values.number("clocking");
        let foot = Footprint::new(
            switch,
            values.flag("turned"),
            shared.clearance,
            shared.post,
            shared.wire,
            shared.gap,
        );
        let plunger = Plunger {
            values,
            switch,
            number,
            z: level(values.number("z")),
            clocking,
            axes: Axes::new(frame::direction(clocking)),
            tip,
            diameter: values.number("diameter"),
            pad,
            foot,
            seat: chain.seat_mm,
            chain,
            stack,
        };
        plunger.gap_works()?;
        Ok(plunger)
    }

    /// Where the owner finds it.
    pub(super) fn handed(&self) -> Handed {
        let text = format!(
            "{}, {} mm from the end cap, {}",
            self.name(),
            number(self.z),
            clocked(self.clocking)
        );
        Handed::new(Topic::Control, self.z, text)
    }

    /// What the person calls it.
    pub(super) fn name(&self) -> String {
        format!("plunger {}", self.number)
    }

    /// Distance of the stem's tip from the axis at rest, mm.
    pub(super) fn stem_top(&self) -> f64 {
        self.seat + self.pad + self.switch.number("overall_height")
    }

    /// How far the legs reach below the pocket's floor, mm.
    pub(super) fn legs(&self) -> f64 {
        match self.switch.choice("legs") {
            "through" => (self.switch.number("leg_length") - self.pad).max(0.0),
            _ => 0.0,
        }
    }

    /// The spread that must leave the button working.
    pub(super) fn spread(&self) -> &Spread {
        match self.chain.basis {
            Basis::Worst => &self.stack.worst,
            Basis::Rss => &self.stack.rss,
        }
    }

    /// A gap of the person's own must work.
    fn gap_works(&self) -> Result<(), Refusal> {
        let spread = self.spread();
        if spread.works || !self.values.has("gap") {
            return Ok(());
        }
        let gap = self.stack.gap.nominal_mm;
        let case = case(self.chain.basis);
        let (low, high) = self.gaps();
        let what = if spread.gap_low_mm < self.chain.gap_min_mm {
            format!(
                "{}: with a gap of {gap:.2} mm the smallest gap is {:.2} mm ({case}); at least \
                 {:.2} is needed, else the switch is held down",
                self.name(),
                spread.gap_low_mm,
                self.chain.gap_min_mm
            )
        } else {
            format!(
                "{}: with a gap of {gap:.2} mm the travel of {:.2} mm ends {:.2} mm before the \
                 switch closes ({case})",
                self.name(),
                self.chain.travel_mm,
                -spread.left_mm
            )
        };
        Err(Refusal::new(what).at(self.values, "gap").hint(format!(
            "a gap from {low:.2} to {high:.2} mm works; left out, the middle of that is taken"
        )))
    }

    /// The nominal gaps that work on the basis asked for, mm.
    pub(super) fn gaps(&self) -> (f64, f64) {
        let spread = self.spread();
        let middle = self.stack.gap.nominal_mm + self.seat - spread.best_seat_mm;
        (middle - 0.5 * spread.window_mm, middle + 0.5 * spread.window_mm)
    }
}

/// The sum of tolerances in words.
pub(super) fn case(basis: Basis) -> &'static str {
    match basis {
        Basis::Worst => "all tolerances at once",
        Basis::Rss => "root of the sum of squares",
    }
}

fn tip(context: &PartContext<'_>, values: &Values, which: usize) -> Result<f64, Refusal> {
    match (values.maybe_number("tip"), values.maybe_number("depth")) {
        (Some(tip), None) => Ok(tip),
        (None, Some(depth)) => {
            let Some(outside) = context.handle.outside() else {
                let what = format!(
                    "plunger {which}: a depth of {} mm is measured from the handle's outside, \
                     whose diameter is not given",
                    number(depth)
                );
                return Err(Refusal::new(what)
                    .at(values, "depth")
                    .hint("give `outside` in [handle], or `tip` here"));
            };
            let tip = 0.5 * outside - depth;
            if tip < LEAST_TIP {
                let what = format!(
                    "plunger {which}: a depth of {} mm below an outside of {} mm puts its end \
                     {:.2} mm from the axis; at least {LEAST_TIP} is needed",
                    number(depth),
                    number(outside),
                    tip
                );
                let most = 0.5 * outside - LEAST_TIP;
                return Err(Refusal::new(what)
                    .at(values, "depth")
                    .hint(format!("a depth of at most {most:.2} mm would do")));
            }
            Ok(tip)
        }
        (Some(tip), Some(depth)) => Err(Refusal::new(format!(
            "plunger {which}: both tip = {} and depth = {} are given; exactly one says where its \
             end is",
            number(tip),
            number(depth)
        ))
        .at(values, "depth")
        .hint("take one of the two out")),
        (None, None) => Err(Refusal::new(format!(
            "plunger {which}: neither tip nor depth is given (0 of 1 needed)"
        ))
        .at(values, "z")
        .hint("give tip, the distance of the plunger's inner end from the bore's axis")
        .hint("or depth, how far that end lies below the handle's outside")),
    }
}

/// Least distance of a plunger's end from the axis, mm: the range of `tip`.
const LEAST_TIP: f64 = 0.5;

/// The calculator's refusal in the words of the job file.
fn no_height(values: &Values, which: usize, chain: &PlungerInput, error: TradeError) -> Refusal {
    let key = match &error {
        TradeError::Refused { input, .. } | TradeError::OutOfRange { input, .. } => *input,
        _ => "travel_mm",
    };
    let row = row_of(key);
    let (what, hint) = match &error {
        TradeError::Refused { reason, .. } => {
            (reason.clone(), error.hint().replace(key, row.trim_start_matches("switch.")))
        }
        _ => (error.to_string(), error.hint().to_owned()),
    };
    let mut refusal = Refusal::new(format!("plunger {which}: {what}")).hint(hint);
    refusal = match row.strip_prefix("switch.") {
        Some(field) => refusal.at(values.component("switch"), field),
        None if values.rows().iter().any(|r| r.key == row) => refusal.at(values, row),
        None => refusal.at(values, "travel"),
    };
    let by_squares = PlungerInput { basis: Basis::Rss, ..chain.clone() };
    if chain.basis == Basis::Worst && stack(&by_squares).is_ok() {
        refusal = refusal
            .hint("basis = \"rss\" works: odds are good, but be ready to shim one plate in many");
    }
    refusal
}

/// The row of the job file that a term of the chain comes from.
fn row_of(input: &str) -> &'static str {
    match input {
        "tip_tol_mm" => "tip_tolerance",
        "play_tol_mm" => "play",
        "seat_tol_mm" => "seat_tolerance",
        "plate_tol_mm" => "pad_tolerance",
        "switch_tol_mm" => "switch.height_tolerance",
        "travel_tol_mm" => "travel_tolerance",
        "stroke_tol_mm" => "switch.stroke_tolerance",
        "stroke_mm" => "switch.stroke",
        "switch_mm" => "switch.overall_height",
        "plate_mm" => "pad",
        "tip_mm" => "tip",
        _ => "travel",
    }
}
