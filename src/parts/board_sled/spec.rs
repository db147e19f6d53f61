//! Everything that was entered, typed and turned into the handle's x.

use super::super::fixing::PilotHole;
use super::super::module::{Outside, level};
use super::super::{PartContext, Refusal};
use super::board::Board;
use crate::measure::Values;
use crate::trade::screws::EDGE_DIAMETERS;
use crate::trade::wire::{BundleInput, bundle};

/// Least wall around the board's room that is chosen, mm. Common practice, no
/// source.
const WALL: f64 = 1.2;
/// Thickness of the gate that is chosen where pins may be so thin, mm. Common
/// practice, no source.
const GATE: f64 = 2.8;
/// Room around the body of a plug, mm: it goes in by hand. Common practice, no
/// source.
pub(super) const PLUG_ROOM: f64 = 0.5;
/// Room below a cable tie, mm, so that its end can be threaded. Common
/// practice, no source.
const TIE_ROOM: f64 = 0.4;
/// How far the tongue's ends stand out beside the tie, mm. Common practice, no
/// source.
pub(super) const TIE_EDGE: f64 = 1.2;
/// Least width of the tongue where the tie goes round it, mm. Common practice,
/// no source.
const TONGUE: f64 = 6.0;
/// Wires are held by slots that are narrower than they are by this share.
/// Common practice, no source.
const SQUEEZE: f64 = 0.1;

/// A stretch from low to high, mm.
pub(super) type Span = (f64, f64);

/// Something that stands off the board.
#[derive(Clone, Copy, Debug)]
pub(super) struct KeepOut {
    /// Its index in the job's list.
    pub index: usize,
    /// In the handle's x.
    pub x: Span,
    /// From the board's edge at the cap.
    pub z: Span,
    pub height: f64,
    /// Whether it lies above the board, towards +y.
    pub up: bool,
}

/// A hole that a screw goes through.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hole {
    pub index: usize,
    pub x: f64,
    pub z: f64,
}

/// Which edge of the board a port is at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Edge {
    Cap,
    Front,
    /// The side at -x of the handle.
    MinusX,
    /// The side at +x.
    PlusX,
}

/// The body of a plug.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plug {
    pub width: f64,
    pub height: f64,
    pub length: f64,
    /// How far an angled plug rises from the socket's middle.
    pub bend: Option<f64>,
}

/// A socket at an edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Port {
    pub index: usize,
    pub edge: Edge,
    /// Along the edge: the handle's x, or z from the board's edge at the cap.
    pub at: f64,
    pub width: f64,
    pub height: f64,
    pub up: bool,
    pub plug: Option<Plug>,
}

impl Port {
    /// Half the width that is kept free.
    pub(super) fn half_width(&self) -> f64 {
        let body = self.plug.map_or(0.0, |p| p.width);
        level(0.5 * self.width.max(body) + PLUG_ROOM)
    }

    /// Half the height that is kept free.
    fn half_height(&self) -> f64 {
        let body = self.plug.map_or(0.0, |p| p.height);
        level(0.5 * self.height.max(body) + PLUG_ROOM)
    }

    /// Middle of the socket over a board whose faces are at these heights.
    pub(super) fn middle(&self, faces: Span) -> f64 {
        if self.up { faces.1 + 0.5 * self.height } else { faces.0 - 0.5 * self.height }
    }

    /// What is kept free of heights; an angled plug goes on upwards or down.
    pub(super) fn free(&self, faces: Span) -> Span {
        let (middle, half) = (self.middle(faces), self.half_height());
        let bend = self.plug.and_then(|p| p.bend).map_or(0.0, |b| b + PLUG_ROOM);
        let (mut low, mut high) = (middle - half, middle + half);
        if self.up {
            high = high.max(middle + bend);
        } else {
            low = low.min(middle - bend);
        }
        (level(low), level(high))
    }
}

/// What holds the wires at the cap's end.
#[derive(Clone, Copy, Debug)]
pub(super) enum Relief {
    None,
    /// A tongue: half its width where the tie is, width of the tie's place,
    /// room below it.
    Tie {
        half: f64,
        place: f64,
        below: f64,
    },
    /// Slots in the gate: their number, width and depth.
    Comb {
        count: i64,
        width: f64,
        depth: f64,
    },
}

impl Relief {
    /// Length of the tongue, mm.
    pub(super) fn length(&self) -> f64 {
        match *self {
            Relief::Tie { place, .. } => level(place + 2.0 * TIE_EDGE),
            _ => 0.0,
        }
    }
}

/// How the board is held.
#[derive(Clone, Debug)]
pub(super) enum Hold {
    /// Reach of the rails, thickness of the gate if there is one.
    Rails { reach: f64, gate: Option<f64> },
    /// The pilot of its screws, if it is not glued.
    Posts { pilot: Option<PilotHole> },
}

/// Everything that was entered.
#[derive(Clone, Debug)]
pub(super) struct Spec {
    pub outside: Outside,
    pub board: Board,
    /// Turns the board's x into the handle's.
    pub mirror: f64,
    pub thickness: f64,
    pub thickest: f64,
    pub tolerance: f64,
    pub clearance: f64,
    pub wall: f64,
    pub under: Option<f64>,
    pub hold: Hold,
    pub holes: Vec<Hole>,
    pub keep_outs: Vec<KeepOut>,
    pub ports: Vec<Port>,
    pub relief: Relief,
    pub stop: f64,
    pub low: f64,
    /// Room on each side of the gate in its slot: both are printed.
    pub gate_room: f64,
    /// Thickness of the tongue for a cable tie.
    pub tongue: f64,
    /// Least distance of a screw from an end of the sled.
    pub screw_edge: f64,
}

impl Spec {
    /// The typed values.
    ///
    /// # Errors
    /// What cannot be whatever the board's height: see [`Board::new`],
    /// [`Outside::new`], screws of sizes that are not known.
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> Result<Spec, Refusal> {
        let outside = Outside::new(context, values)?;
        let board = Board::new(values)?;
        let printer = context.printer;
        let face_up = values.choice("face") == "up";
        let mirror = if face_up { -1.0 } else { 1.0 };
        let least = printer.number("wall_supported");
        let wall = values.maybe_number("wall").unwrap_or(WALL.max(least));
        if wall < least {
            let what = format!(
                "the wall of {wall:.2} mm is thinner than the printer's least, {least:.2}: short \
                 by {:.2}",
                least - wall
            );
            return Err(Refusal::new(what)
                .at(values, "wall")
                .hint(format!("give wall {least} or more, or leave it out")));
        }
        let clearance =
            values.maybe_number("clearance").unwrap_or(0.5 * printer.number("fit_slide"));
        let up = |v: &Values| (v.choice("side") == "top") == face_up;
        let turned = |x: f64| mirror * x;
        let thickness = values.number("thickness");
        Ok(Spec {
            hold: hold(context, values)?,
            relief: relief(values)?,
            holes: indexed(values, "hole", |index, v| Hole {
                index,
                x: turned(v.number("x")),
                z: v.number("z"),
            }),
            keep_outs: indexed(values, "keep_out", |index, v| {
                let (x, z) = (turned(v.number("x")), v.number("z"));
                let (w, l) = (0.5 * v.number("width"), 0.5 * v.number("length"));
                let (x, z) = ((x - w, x + w), (z - l, z + l));
                KeepOut { index, x, z, height: v.number("height"), up: up(v) }
            }),
            ports: indexed(values, "port", |index, v| {
                let (edge, at) = match v.choice("edge") {
                    "cap" => (Edge::Cap, turned(v.number("offset"))),
                    "front" => (Edge::Front, turned(v.number("offset"))),
                    side => {
                        let plus = (side == "right") == (mirror > 0.0);
                        (if plus { Edge::PlusX } else { Edge::MinusX }, v.number("offset"))
                    }
                };
                let plug = v.maybe_component("plug").map(|p| Plug {
                    width: p.number("body_width"),
                    height: p.number("body_height"),
                    length: p.number("length"),
                    bend: p.maybe_number("bend_height"),
                });
                let (width, height) = (v.number("width"), v.number("height"));
                Port { index, edge, at, width, height, up: up(v), plug }
            }),
            thickness,
            thickest: thickness + values.number("thickness_tolerance"),
            tolerance: values.number("board_tolerance"),
            under: values.maybe_number("under"),
            stop: level(values.number("stop").max(least)),
            low: level(values.number("from_z")),
            gate_room: clearance.max(0.5 * printer.number("fit_loose")),
            tongue: level((2.0 * wall).max(printer.number("pin_min"))),
            screw_edge: EDGE_DIAMETERS * values.component("screw").number("thread"),
            outside,
            board,
            mirror,
            clearance,
            wall,
        })
    }

    /// Half the width of the board's room, mm.
    pub(super) fn half(&self) -> f64 {
        level(0.5 * (self.board.width + self.tolerance) + self.clearance)
    }

    /// Half the width of the well between the rails, or of the board's room.
    pub(super) fn well(&self) -> f64 {
        match self.hold {
            Hold::Rails { reach, .. } => level(self.half() - reach),
            Hold::Posts { .. } => self.half(),
        }
    }

    /// Length of the board's room, mm.
    pub(super) fn room(&self) -> f64 {
        level(self.board.length + self.tolerance + 2.0 * self.clearance)
    }

    /// Whether the board is in rails.
    pub(super) fn rails(&self) -> bool {
        matches!(self.hold, Hold::Rails { .. })
    }
}

fn indexed<T>(values: &Values, key: &str, read: impl Fn(usize, &Values) -> T) -> Vec<T> {
    values.list(key).iter().enumerate().map(|(index, v)| read(index, v)).collect()
}

fn hold(context: &PartContext<'_>, values: &Values) -> Result<Hold, Refusal> {
    let pin = context.printer.number("pin_min");
    if values.choice("hold") == "rails" {
        let thickness = || values.maybe_number("gate").unwrap_or(GATE.max(pin));
        let gate = (values.choice("lock") == "gate").then(|| level(thickness()));
        return Ok(Hold::Rails { reach: level(values.number("rail")), gate });
    }
    let pilot = match values.choice("fixing") {
        "screws" => {
            let thread = values.component("screw").number("thread");
            let pilot = PilotHole::new(thread, context.material, context.printer);
            Some(pilot.map_err(|e| Refusal::new(e.to_string()).at(values, "screw"))?)
        }
        _ => None,
    };
    if values.list("hole").is_empty() {
        return Err(Refusal::new("a board on sills needs 1 hole or more; 0 are given")
            .at(values, "hole")
            .hint("enter its holes: [[part.hole]] with x, z and diameter")
            .hint("hold = \"rails\" needs no holes"));
    }
    let screw = values.component("screw");
    for hole in values.list("hole").iter().filter(|_| pilot.is_some()) {
        let (has, needs) = (hole.number("diameter"), screw.number("thread"));
        if has < needs {
            return Err(Refusal::new(format!(
                "the screw of {needs:.2} mm does not go through a hole of {has:.2}: short by {:.2}",
                needs - has
            ))
            .at(hole, "diameter")
            .hint(thinner(context, has)));
        }
    }
    Ok(Hold::Posts { pilot })
}

/// Screws that go through a hole, or what to do without.
fn thinner(context: &PartContext<'_>, hole: f64) -> String {
    let screws = context.library.profiles("screws").iter();
    let fitting: Vec<&str> =
        screws.filter(|s| s.number("thread") <= hole).filter_map(|s| s.profile()).take(3).collect();
    if fitting.is_empty() {
        return "fixing = \"glue\" needs no screws".to_owned();
    }
    format!("screw {} would go through", crate::measure::or_list(&fitting))
}

fn relief(values: &Values) -> Result<Relief, Refusal> {
    let wire = values.component("lead").number("outer");
    let count = values.integer("leads");
    match values.choice("strain_relief") {
        "tie" => {
            let input = BundleInput {
                wires: count,
                wire_mm: wire,
                slack_percent: 0.0,
                flat_depth_mm: None,
            };
            let held =
                bundle(&input).map_err(|e| Refusal::new(e.to_string()).at(values, "leads"))?;
            Ok(Relief::Tie {
                half: level(0.5 * TONGUE.max(held.duct_mm)),
                place: level(values.number("tie_width") + TIE_ROOM),
                below: level(values.number("tie_thickness") + TIE_ROOM),
            })
        }
        "comb" => {
            if values.choice("hold") != "rails" || values.choice("lock") != "gate" {
                return Err(Refusal::new(
                    "a comb is cut into the gate, and there are 0 gates here",
                )
                .at(values, "strain_relief")
                .hint("strain_relief = \"tie\" needs no gate"));
            }
            let width = level(wire * (1.0 - SQUEEZE));
            Ok(Relief::Comb { count, width, depth: level(1.5 * wire) })
        }
        _ => Ok(Relief::None),
    }
}
