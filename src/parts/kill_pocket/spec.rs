//! What is asked of a kill-switch pocket, and how it lies.

use super::super::build::Ends;
use super::super::fixing::{Axes, PilotHole};
use super::super::marks::{apart, face_depth};
use super::super::module::Outside;
use super::super::{PartContext, Refusal};
use crate::measure::frame::direction;
use crate::measure::{Values, Vec2};
use crate::section::{Region, snap};
use crate::trade::wire::{BundleInput, bundle};

/// How far cuts reach beyond the outside, mm.
pub(super) const BEYOND: f64 = 2.0;
/// Least that the face plate or the body bears on at each end, mm. Common
/// practice, no source.
pub(super) const LEAST_BEARING: f64 = 0.8;
/// Ledge below each end of a body without ears, mm. Common practice, no source.
const LEDGE: f64 = 1.0;
/// Length of the bar of the mark I, and half the outer size of the mark O, mm:
/// the least that is read at arm's length. Common practice, no source.
pub(super) const MARK_HALF: f64 = 1.5;
/// Least depth of a thread-forming screw's hole that holds a switch, in its
/// diameters. Common practice, no source.
const LEAST_PILOT: f64 = 1.8;
/// The switch's own wires: to the cell and to the board.
const LEADS: usize = 2;

/// The switch at its largest. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Switch {
    pub width: f64,
    pub length: f64,
    pub height: f64,
    /// Width, length and height of the lever.
    pub lever: (f64, f64, f64),
    pub travel: f64,
    /// Length over the ears and their thickness.
    pub ears: Option<(f64, f64)>,
    /// Distance of the holes in the ears, and their thread.
    pub holes: Option<(f64, f64)>,
    pub terminals: f64,
    pub current: f64,
}

impl Switch {
    pub(super) fn new(values: &Values) -> Switch {
        let number = |key| values.number(key);
        let ears = values.maybe_number("ear_length").map(|l| (l, number("ear_thickness")));
        let holes = ears.and(values.maybe_number("ear_span"));
        Switch {
            width: number("body_width"),
            length: number("body_length"),
            height: number("body_height"),
            lever: (number("lever_width"), number("lever_length"), number("lever_height")),
            travel: number("travel"),
            ears,
            holes: holes.map(|span| (span, number("ear_thread"))),
            terminals: number("terminals"),
            current: number("current"),
        }
    }

    /// Its longest length along the lever's travel.
    pub(super) fn longest(&self) -> f64 {
        self.ears.map_or(self.length, |(length, _)| length.max(self.length))
    }

    /// Half the length that the lever sweeps.
    pub(super) fn sweep(&self) -> f64 {
        0.5 * (self.lever.1 + self.travel)
    }
}

/// All that was asked, in numbers that hints may vary. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Asked {
    pub outside: Outside,
    pub switch: Switch,
    pub side: bool,
    pub turn: f64,
    pub on_high: bool,
    pub recess: f64,
    pub reach: f64,
    pub clearance: f64,
    pub pilot: Option<PilotHole>,
    /// Diameter of the switch's wires as a bundle with its slack.
    pub duct: f64,
    pub to_cap: bool,
    pub low: f64,
    pub length: Option<f64>,
    pub mark: f64,
    pub ends: Ends,
    pub handle: f64,
    pub wall: f64,
    pub line: f64,
    pub hole_min: f64,
}

impl Asked {
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> Result<Asked, Refusal> {
        let printer = context.printer;
        let switch = Switch::new(values.component("switch"));
        let pilot = match (values.choice("fixing"), switch.holes) {
            ("glue", _) => None,
            (_, None) => {
                let what = "its ears have no holes to screw it down by";
                return Err(Refusal::new(what).at(values, "fixing").hint("fixing = \"glue\""));
            }
            (_, Some((_, thread))) => Some(
                PilotHole::new(thread, context.material, printer)
                    .map_err(|e| Refusal::new(e.to_string()).at(values, "switch"))?,
            ),
        };
        let input = BundleInput {
            wires: LEADS as _,
            wire_mm: values.component("lead").number("outer"),
            slack_percent: values.number("slack"),
            flat_depth_mm: None,
        };
        let leads = bundle(&input).map_err(|e| Refusal::new(e.to_string()).at(values, "lead"))?;
        Ok(Asked {
            outside: Outside::new(context, values)?,
            switch,
            side: values.choice("face") == "side",
            turn: values.number("turn"),
            on_high: values.choice("on") == "high",
            recess: values.number("recess"),
            reach: values.number("reach"),
            clearance: values
                .maybe_number("clearance")
                .unwrap_or(0.5 * printer.number("fit_slide")),
            pilot,
            duct: snap(leads.duct_mm),
            to_cap: values.choice("leads") == "cap",
            low: snap(values.number("from_z")),
            length: values.maybe_number("length").map(snap),
            mark: values.number("mark_depth"),
            ends: Ends::new(values),
            handle: context.handle.length(),
            wall: printer.number("wall_supported"),
            line: printer.number("engrave_width"),
            hole_min: printer.number("hole_min"),
        })
    }

    pub(super) fn axes(&self) -> Axes {
        Axes::new(direction(self.turn))
    }

    pub(super) fn radius(&self) -> f64 {
        self.outside.fit.radius
    }
}

/// What cannot be, with the numbers of it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Misfit {
    /// The wall that is left between two things, mm.
    Wall { left: f64, what: &'static str },
    /// What the switch bears on at each end, mm.
    Bearing { left: f64 },
    /// The part must be this long, mm.
    Short { least: f64 },
    /// It ends beyond the bore, there, mm.
    Long { high: f64 },
    /// The hole for the screws has this depth, mm, and needs that.
    Shallow { room: f64, least: f64 },
    /// The hole for the screws is this wide, mm, and closes when printed.
    Narrow { hole: f64 },
}

/// Something that is cut between two heights, mm.
#[derive(Clone, Debug)]
pub(super) struct Cut {
    pub name: &'static str,
    pub from: f64,
    pub to: f64,
    pub region: Region,
}

/// How the part lies. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub axes: Axes,
    pub high: f64,
    pub cuts: Vec<Cut>,
    /// The place of the switch's face: along the bore, or from the axis.
    pub face: f64,
    /// Middle of a sideways switch along the bore.
    pub middle: f64,
    /// Depth of the holes for screws.
    pub pilot: f64,
    pub bearing: f64,
    /// Depth of the marks as drawn; none without room for them.
    pub mark: Option<f64>,
    /// Half widths and distances of all that is cut, by key.
    pub numbers: Vec<(&'static str, &'static str, f64)>,
}

impl Layout {
    pub(super) fn new(asked: &Asked) -> Result<Layout, Misfit> {
        if let Some(hole) = asked.pilot.as_ref().map(|p| p.hole).filter(|h| *h < asked.hole_min) {
            return Err(Misfit::Narrow { hole });
        }
        let layout = if asked.side { sideways(asked) } else { endways(asked) }?;
        layout.check(asked)?;
        Ok(layout)
    }

    /// Walls to the outside, the keel and the wires' groove.
    fn check(&self, asked: &Asked) -> Result<(), Misfit> {
        if self.high > asked.handle {
            return Err(Misfit::Long { high: self.high });
        }
        let cuts = asked.outside.cuts();
        for cut in &self.cuts {
            // A sideways pocket is open on purpose on the side it looks to.
            let inside = if asked.side && cut.name != "channel" {
                cut.region.intersection(&asked.axes().quad(
                    (-2.0 * asked.radius(), 2.0 * asked.radius()),
                    (-2.0 * asked.radius(), 0.0),
                ))
            } else {
                cut.region.clone()
            };
            let far = inside.loops().iter().flatten().map(|s| s.a.norm()).fold(0.0, f64::max);
            let left = asked.radius() - far;
            if !inside.is_empty() && left < asked.wall {
                return Err(Misfit::Wall { left, what: "the outside" });
            }
            let left = apart(&cut.region, &cuts);
            if left < asked.wall {
                let keel = asked.outside.groove.is_none();
                let what = if keel { "the keel" } else { "the keel or the wires' groove" };
                return Err(Misfit::Wall { left, what });
            }
        }
        Ok(())
    }
}

/// Half of a size and the room beside it, on the grid.
fn half(size: f64, room: f64) -> f64 {
    snap(0.5 * size + room)
}

/// The lever points to the cap: the switch is put in from the front and bears
/// on a plate with an opening for the lever.
fn endways(asked: &Asked) -> Result<Layout, Misfit> {
    let (s, axes, low) = (&asked.switch, asked.axes(), asked.low);
    let plate = snap(low + s.lever.2 + asked.recess);
    let least = snap(plate + s.height + s.terminals + asked.duct - low);
    let length = asked.length.unwrap_or(least);
    if length < least {
        return Err(Misfit::Short { least });
    }
    let high = snap(low + length);
    let opening = (half(s.lever.0, asked.reach), snap(s.sweep() + asked.reach));
    let pocket = (half(s.width, asked.clearance), half(s.longest(), asked.clearance));
    // The plate bears the ends at least; a wide lever may take both sides.
    let bearing = 0.5 * s.longest() - opening.1;
    if bearing < LEAST_BEARING {
        return Err(Misfit::Bearing { left: bearing });
    }
    let quad = |(u, v): (f64, f64)| axes.quad((-u, u), (-v, v));
    let mut cuts = vec![
        Cut { name: "opening", from: low, to: plate, region: quad(opening) },
        Cut { name: "pocket", from: plate, to: high, region: quad(pocket) },
    ];
    let mut pilot = 0.0;
    if let (Some(hole), Some((span, _))) = (&asked.pilot, s.holes) {
        let room = plate - low - asked.wall;
        pilot = snap(room.min(hole.depth));
        let least = LEAST_PILOT * hole.hole;
        if room < least {
            return Err(Misfit::Shallow { room, least });
        }
        let discs = [-0.5, 0.5].map(|side| axes.point(0.0, side * span));
        let region = discs.iter().fold(Region::empty(), |all, c| {
            all.union(&Region::disc(Vec2::new(snap(c.x), snap(c.y)), snap(0.5 * hole.hole)))
        });
        let left = 0.5 * span - 0.5 * hole.hole - opening.1;
        if left < asked.wall {
            return Err(Misfit::Wall { left, what: "the screws' holes" });
        }
        cuts.push(Cut { name: "pilots", from: snap(plate - pilot), to: plate, region });
    }
    let at = snap(opening.1 + asked.wall + MARK_HALF);
    let corner = Vec2::new(MARK_HALF, at + MARK_HALF).norm();
    let depth = face_depth(asked.mark, asked.ends.low);
    let mut mark = None;
    let marks = letters(asked, &axes, at);
    let clear = apart(&marks[0].union(&marks[1]), &asked.outside.cuts());
    if depth > 0.0
        && corner + asked.wall <= asked.radius()
        && clear >= asked.wall
        && low + depth + asked.wall <= plate - pilot
    {
        mark = Some(snap(depth));
        for region in marks {
            cuts.push(Cut { name: "mark", from: low, to: snap(low + depth), region });
        }
    }
    let numbers = vec![
        ("plate", "where the switch's face bears", plate),
        ("opening_half_width", "half the opening's width", opening.0),
        ("opening_half_length", "half the opening's length", opening.1),
        ("pocket_half_width", "half the pocket's width", pocket.0),
        ("pocket_half_length", "half the pocket's length", pocket.1),
        ("mark_at", "middle of the marks from the axis", at),
    ];
    Ok(Layout { axes, high, cuts, face: plate, middle: 0.0, pilot, bearing, mark, numbers })
}

/// Width of the bar I, mm.
pub(super) fn mark_bar(asked: &Asked) -> f64 {
    asked.line.max(MARK_HALF / 3.0)
}

/// The marks in the end face: a bar where the lever closes the circuit, a ring
/// where it opens it (IEC 60417-5007 and 5008).
fn letters(asked: &Asked, axes: &Axes, at: f64) -> [Region; 2] {
    let side = if asked.on_high { 1.0 } else { -1.0 };
    let bar = mark_bar(asked);
    let v = side * at;
    let on = axes.quad((-MARK_HALF, MARK_HALF), (v - 0.5 * bar, v + 0.5 * bar));
    let c = axes.point(0.0, -v);
    let c = Vec2::new(snap(c.x), snap(c.y));
    let inner = ring_inner(asked);
    [on, Region::disc(c, MARK_HALF).difference(&Region::disc(c, inner))]
}

/// Inner radius of the mark O, mm.
pub(super) fn ring_inner(asked: &Asked) -> f64 {
    snap((MARK_HALF - asked.line).max(0.3 * MARK_HALF))
}

/// The lever points sideways: the switch is put in from there, its ears or the
/// ends of its body bear, and the lever stays below the outside.
fn sideways(asked: &Asked) -> Result<Layout, Misfit> {
    let (s, axes, low) = (&asked.switch, asked.axes(), asked.low);
    let room = asked.clearance;
    let face = snap(asked.radius() - asked.recess - s.lever.2);
    let seat = s.ears.map_or(face, |(_, thick)| snap(face - thick));
    let floor = snap(face - s.height);
    let bottom = snap(floor - s.terminals.max(asked.duct + asked.wall));
    let width = half(s.width.max(s.lever.0), room);
    let body = half(s.length, room);
    let ears = half(s.longest(), room);
    let beside = ears.max(snap(s.sweep() + asked.reach));
    let marked = asked.mark > 0.0;
    let band = snap(2.0 * MARK_HALF);
    let open = if marked { snap(beside + asked.wall + band + asked.wall) } else { beside };
    let end = asked.wall + asked.ends.low.max(asked.ends.high);
    let least = snap(2.0 * (open + end));
    let length = asked.length.unwrap_or(least);
    if length < least {
        return Err(Misfit::Short { least });
    }
    let (high, middle) = (snap(low + length), snap(low + 0.5 * length));
    let far = asked.radius() + BEYOND;
    let about = |h: f64| (snap(middle - h), snap(middle + h));
    let cut = |name, half_height: f64, u: f64, v: f64| {
        let (from, to) = about(half_height);
        Cut { name, from, to, region: axes.quad((-u, u), (v, far)) }
    };
    let ledge = snap(body - LEDGE);
    // A flat across all of the part, so that a finger gets at the lever; it runs
    // out of the high end, so that it prints without a ceiling.
    let flat = axes.quad((-2.0 * asked.radius(), 2.0 * asked.radius()), (face, far));
    let mut cuts = vec![
        Cut { name: "flat", from: snap(middle - open), to: high, region: flat },
        cut("ears", ears, width, seat),
        cut("body", body, width, floor),
        cut("terminals", ledge, width, bottom),
    ];
    let channel = half(asked.duct, 0.0);
    let (from, to) = if asked.to_cap { (low, middle) } else { (middle, high) };
    let region = axes.quad((-channel, channel), (bottom, snap(bottom + asked.duct)));
    cuts.push(Cut { name: "channel", from, to, region });
    if marked {
        let deep = snap(face - asked.mark);
        let bar = mark_bar(asked);
        let at = beside + asked.wall + MARK_HALF;
        let side = if asked.on_high { 1.0 } else { -1.0 };
        let mut push = |z: f64, half_height: f64, u: (f64, f64)| {
            let (from, to) = (snap(middle + z - half_height), snap(middle + z + half_height));
            cuts.push(Cut { name: "mark", from, to, region: axes.quad(u, (deep, far)) });
        };
        push(side * at, snap(0.5 * bar), (-MARK_HALF, MARK_HALF));
        // A ring of four bars: a section along the bore has no round of its own.
        let line = snap(asked.line.min(0.5 * MARK_HALF));
        for end in [-1.0, 1.0] {
            push(-side * at + end * (MARK_HALF - 0.5 * line), 0.5 * line, (-MARK_HALF, MARK_HALF));
        }
        let inner = MARK_HALF - line;
        push(-side * at, inner, (-MARK_HALF, -inner));
        push(-side * at, inner, (inner, MARK_HALF));
    }
    let mut pilot = 0.0;
    if let (Some(hole), Some((span, _))) = (&asked.pilot, s.holes) {
        // The channel for the wires passes below one of them.
        let room = seat - bottom - asked.duct - asked.wall;
        pilot = snap(room.min(hole.depth));
        let least = LEAST_PILOT * hole.hole;
        if room < least {
            return Err(Misfit::Shallow { room, least });
        }
        let left = 0.5 * span - 0.5 * hole.hole - body;
        if left < asked.wall {
            return Err(Misfit::Wall { left, what: "the screws' holes" });
        }
        let behind = asked.radius() + seat - pilot;
        if behind < asked.wall {
            return Err(Misfit::Wall { left: behind, what: "the outside behind the screws" });
        }
    }
    let bearing = match s.ears {
        Some((length, _)) => 0.5 * length - body,
        None => 0.5 * s.length - ledge,
    };
    if bearing < LEAST_BEARING {
        return Err(Misfit::Bearing { left: bearing });
    }
    let left = asked.radius() + bottom;
    if left < asked.wall {
        return Err(Misfit::Wall { left, what: "the outside behind the switch" });
    }
    let left = (asked.radius().powi(2) - face.powi(2)).max(0.0).sqrt() - width;
    if face >= asked.radius() || left < asked.wall {
        return Err(Misfit::Wall { left, what: "the outside beside the switch" });
    }
    let numbers = vec![
        ("middle", "middle of the switch along the bore", middle),
        ("face", "the switch's face from the axis", face),
        ("seat", "what its ears bear on, from the axis", seat),
        ("floor", "what its body bears on, from the axis", floor),
        ("bottom", "the lowest room for terminals, from the axis", bottom),
        ("flat_half_length", "half the flat's length", open),
        ("pocket_half_width", "half the pocket's width", width),
        ("ears_half_length", "half the length over the ears", ears),
        ("body_half_length", "half the body's length", body),
        ("terminals_half_length", "half the length of the terminals' room", ledge),
        (
            "mark_z",
            "middle of the marks, before and behind it",
            snap(beside + asked.wall + MARK_HALF),
        ),
        ("channel", "width of the channel for its wires", 2.0 * channel),
        ("channel_depth", "depth of that channel", asked.duct),
    ];
    let mark = marked.then_some(asked.mark);
    Ok(Layout { axes, high, cuts, face, middle, pilot, bearing, mark, numbers })
}
