//! Where everything of a sled lies: along the bore, and at a height of the board.

use super::super::module::level;
use super::room::pocket;
use super::spec::{Edge, Hold, Port, Relief, Span, Spec};

/// Length of the lips behind the gate, mm. Common practice, no source.
const LIP: f64 = 2.0;
/// How far the gate is held on either side, as a share of the rails' reach, and
/// at most, mm: the grooves stay deeper. Common practice, no source.
const HELD: (f64, f64) = (0.6, 1.5);
/// Least straight thickness of the gate beside its slanted ends, mm. Common
/// practice, no source.
const GATE_EDGE: f64 = 0.8;
/// Sills that are nearer to each other or to an end than this, mm, are one with
/// it. Common practice, no source.
const NEAR: f64 = 1.0;
/// Length of a sill that is only glued, mm. Common practice, no source.
const GLUED: f64 = 6.0;
/// Height of the walls beside the board over the outside's radius, where there
/// is room, so that they guide the sled above its middle. Common practice, no
/// source.
const GUIDE: f64 = 0.35;
/// Sine of the angle at which a level cut leaves a corner of 40 degrees at the
/// outside: sharper corners do not print well.
pub(super) const SHARPEST: f64 = 0.766;
/// Free depth below a board where none is asked for, mm, best first. Common
/// practice, no source.
pub(super) const UNDER: [f64; 4] = [2.0, 1.5, 1.0, 0.6];

/// The gate and its slot along the bore, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct GateZ {
    /// From its face towards the cap to the one that the board meets.
    pub gate: Span,
    /// How far it is held on either side, and the length of its slanted ends.
    pub held: f64,
    /// High end of its slot.
    pub slot: f64,
}

/// A stretch of the well's floor: heights at its low and its high end, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Floor {
    pub z: Span,
    pub y: Span,
}

/// Heights along the bore, mm.
#[derive(Clone, Debug)]
pub(super) struct Along {
    pub low: f64,
    /// Where the tongue ends and the sled begins.
    pub body: f64,
    pub gate: Option<GateZ>,
    /// The board's room.
    pub room: Span,
    /// The board's edge at the cap, in the middle of its play.
    pub board: f64,
    pub high: f64,
    /// Sills: where they bear.
    pub sills: Vec<Span>,
}

impl Along {
    pub(super) fn new(spec: &Spec) -> Along {
        let low = spec.low;
        let body = level(low + spec.relief.length());
        let gate = match spec.hold {
            Hold::Rails { reach, gate: Some(thickness) } => {
                let held = level((HELD.0 * reach).min(HELD.1).min(thickness - GATE_EDGE));
                let from = level(body + LIP);
                let to = level(from + thickness);
                Some(GateZ { gate: (from, to), held, slot: level(to + spec.clearance) })
            }
            _ => None,
        };
        let start = gate.map_or_else(|| level(body + before(spec)), |g| g.gate.1);
        let room = (start, level(start + spec.room()));
        let board = start + spec.clearance + 0.5 * spec.tolerance;
        let high = level(room.1 + spec.stop);
        let mut along = Along { low, body, gate, room, board, high, sills: Vec::new() };
        along.sills = along.bearings(spec);
        along
    }

    /// Where the sills bear, those that are near to each other as one.
    fn bearings(&self, spec: &Spec) -> Vec<Span> {
        let Hold::Posts { pilot } = &spec.hold else { return Vec::new() };
        let half = pilot.as_ref().map_or(0.5 * GLUED, |p| spec.screw_edge.max(0.5 * p.boss));
        let mut all: Vec<Span> = spec
            .holes
            .iter()
            .map(|h| {
                let z = self.board + h.z;
                (level(z - half).max(self.body), level(z + half).min(self.room.1))
            })
            .filter(|s| s.1 - s.0 > NEAR)
            .collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut out: Vec<Span> = Vec::new();
        for mut sill in all {
            if sill.0 - self.body < NEAR {
                sill.0 = self.body;
            }
            match out.last_mut() {
                Some(last) if sill.0 - last.1 < NEAR => last.1 = last.1.max(sill.1),
                _ => out.push(sill),
            }
        }
        out
    }

    /// The floor of the well: `floor` high, sills up to `board`, each with a
    /// slope of 45 degrees towards the front, so that it prints.
    pub(super) fn floors(&self, floor: f64, board: f64) -> Vec<Floor> {
        let depth = level(board - floor);
        let mut out: Vec<Floor> = Vec::new();
        let mut at = self.low;
        let mut add = |z: Span, y: Span| {
            if z.1 - z.0 > 0.0 {
                out.push(Floor { z, y });
            }
        };
        for (i, sill) in self.sills.iter().enumerate() {
            let next = self.sills.get(i + 1).map_or(self.room.1, |s| s.0);
            add((at, sill.0), (floor, floor));
            let foot = level(sill.1 + depth);
            if foot + NEAR > next {
                add((sill.0, next), (board, board));
                at = next;
            } else {
                add(*sill, (board, board));
                add((sill.1, foot), (board, floor));
                at = foot;
            }
        }
        add((at, self.room.1), (floor, floor));
        out
    }
}

/// Length before the board that its first screws need to the sled's end, mm.
fn before(spec: &Spec) -> f64 {
    if !matches!(spec.hold, Hold::Posts { pilot: Some(_) }) {
        return 0.0;
    }
    let play = spec.clearance + 0.5 * spec.tolerance;
    let first = spec.holes.iter().map(|h| h.z).fold(f64::INFINITY, f64::min);
    (spec.screw_edge - play - first).max(0.0)
}

/// Heights across the bore, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heights {
    /// The board's lower side.
    pub board: f64,
    pub floor: f64,
    /// Lower and upper side of the board's room.
    pub room: Span,
    /// Lower and upper face of the thickest board.
    pub faces: Span,
    /// Top of the wall at the front, of the rails and of the gate's bar.
    pub bar: f64,
}

impl Heights {
    pub(super) fn new(spec: &Spec, board: f64, under: f64) -> Heights {
        let play = if spec.rails() { 2.0 * spec.clearance } else { 0.0 };
        let faces = (board, level(board + spec.thickest));
        let room = (board, level(board + spec.thickest + play));
        Heights { board, floor: level(board - under), room, faces, bar: level(room.1 + spec.wall) }
    }
}

impl Heights {
    /// The top of the tongue: the floor, or below what slides or is plugged in
    /// over it.
    pub(super) fn tongue(&self, spec: &Spec) -> f64 {
        let below = spec.keep_outs.iter().filter(|k| !k.up && spec.rails());
        let pockets = below.map(|k| pocket(spec, k, self));
        let plugs = spec.ports.iter().filter(|p| p.edge == Edge::Cap);
        pockets.chain(plugs.map(|p| p.free(self.faces).0)).fold(self.floor, f64::min)
    }
}

/// A sled that can be made.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub along: Along,
    pub heights: Heights,
    /// Half the width between the rails, or of the board's room.
    pub well: f64,
    /// Half the width of the board's room.
    pub half: f64,
    /// Top of the walls beside the board.
    pub top: f64,
    pub tongue: Option<Tongue>,
}

/// The tongue for a cable tie.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tongue {
    /// Half its width where the tie is.
    pub half: f64,
    /// Width of the tie's place, mm.
    pub place: f64,
    pub top: f64,
    pub bottom: f64,
}

impl Plan {
    pub(super) fn new(spec: &Spec, along: Along, heights: Heights) -> Plan {
        let (well, half) = (spec.well(), spec.half());
        let tongue = match spec.relief {
            Relief::Tie { half, place, .. } => {
                let top = heights.tongue(spec);
                Some(Tongue { half, place, top, bottom: level(top - spec.tongue) })
            }
            _ => None,
        };
        let top = top(spec, &heights, &along);
        Plan { along, heights, well, half, top, tongue }
    }

    /// Half the width of the gate's slot where it is widest.
    pub(super) fn slot(&self) -> Option<f64> {
        self.along.gate.map(|g| level(self.well + g.held))
    }

    /// What of heights a port leaves open: up to where walls would be too thin.
    pub(super) fn opening(&self, spec: &Spec, port: &Port) -> (f64, Option<f64>) {
        let (low, high) = port.free(self.heights.faces);
        let roof = match port.edge {
            Edge::Front => self.heights.bar,
            // Between the rails nothing is above; the gate looks for itself.
            Edge::Cap if port.at.abs() + port.half_width() <= self.well => f64::INFINITY,
            Edge::Cap | Edge::MinusX | Edge::PlusX => self.top,
        };
        (low, (high + spec.wall <= roof).then_some(high))
    }
}

impl Spec {
    /// Widest half of the well, its slot for the gate included.
    pub(super) fn widest(&self, along: &Along) -> f64 {
        self.well() + along.gate.map_or(0.0, |g| g.held)
    }
}

/// The top of the walls: as high as guides well, with a wall left beside the
/// well, and none too thin beside the wires' groove.
fn top(spec: &Spec, heights: &Heights, along: &Along) -> f64 {
    let radius = spec.outside.fit.radius;
    let reach = spec.widest(along) + spec.wall;
    let most = ((radius - reach) * (radius + reach)).max(0.0).sqrt().min(SHARPEST * radius);
    let mut top = (GUIDE * radius).max(heights.bar).min(most);
    if let Some(groove) = &spec.outside.groove {
        let over = groove.middle.y + groove.radius + spec.wall;
        let under = groove.middle.y - groove.radius - spec.wall;
        if top > under && top < over {
            top = if over <= most { over } else { under.max(heights.bar) };
        }
    }
    level(top).max(heights.bar)
}
