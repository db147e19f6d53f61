//! What the bore has room for: every limit that moves with the board's height,
//! and the height that meets them all.

use super::super::module::level;
use super::super::{PartContext, Refusal};
use super::cures::cures;
use super::plan::{Along, Heights, Plan, SHARPEST, UNDER};
use super::spec::{Edge, Hold, KeepOut, Port, Relief, Span, Spec};
use crate::measure::{Values, Vec2};

/// Least distance of what stands on a board from the tube, mm: metal shorts it.
/// Common practice, no source.
pub(super) const AIR: f64 = 0.5;
/// Step in which heights are tried, mm.
const STEP: f64 = 0.1;
/// Least width on which a wall or the gate stops the board, both sides
/// together, mm. Common practice, no source.
const STOPS: f64 = 3.0;
/// Shortest board that a hint names, mm: that of its row.
const LEAST_BOARD: f64 = 2.0;
/// Shortfalls below this are float noise, mm.
const NOISE: f64 = 1e-9;

/// A limit that is not met.
#[derive(Clone, Debug)]
pub(super) struct Short {
    /// What needs room, as a subject: "the rail at ...".
    what: String,
    needs: f64,
    has: f64,
    /// The field to point at, of the part or of an item of a list.
    key: &'static str,
    item: Option<(&'static str, usize)>,
}

impl Short {
    /// By how much, mm.
    pub(super) fn by(&self) -> f64 {
        self.needs - self.has
    }

    pub(super) fn told(&self) -> String {
        format!(
            "{} needs {:.2} mm; there are {:.2}: short by {:.2}",
            self.what,
            self.needs,
            self.has,
            self.by()
        )
    }

    /// As a refusal that points at its field.
    pub(super) fn refusal(&self, values: &Values) -> Refusal {
        let refusal = Refusal::new(self.told());
        match self.item {
            Some((list, index)) => refusal.at(&values.list(list)[index], self.key),
            None => refusal.at(values, self.key),
        }
    }
}

/// All limits at one height.
struct Limits<'a> {
    spec: &'a Spec,
    heights: Heights,
    found: Vec<Short>,
}

impl Limits<'_> {
    fn note(
        &mut self,
        what: impl FnOnce() -> String,
        needs: f64,
        has: f64,
        key: &'static str,
        item: Option<(&'static str, usize)>,
    ) {
        if needs - has > NOISE {
            self.found.push(Short { what: what(), needs, has, key, item });
        }
    }

    fn radius(&self) -> f64 {
        self.spec.outside.fit.radius
    }

    /// The lowest that anything may reach: the keel's flat, or the outside.
    fn bottom(&self) -> f64 {
        self.spec.outside.keel.map_or(-self.radius(), |(_, y)| y)
    }

    /// A rectangle of the section that must keep a wall to the outside, the
    /// keel and the wires' groove; its top may be open.
    fn cavity(
        &mut self,
        name: &str,
        (x, y): (Span, Span),
        key: &'static str,
        item: Option<(&'static str, usize)>,
    ) {
        let (wall, radius, bottom) = (self.spec.wall, self.radius(), self.bottom());
        let far = x.0.abs().max(x.1.abs()).hypot(y.0.abs().max(y.1.abs()));
        self.note(
            || format!("{name} with a wall of {wall:.2} mm around it, from the bore's axis,"),
            far + wall,
            radius,
            key,
            item,
        );
        self.note(
            || format!("{name} with a wall of {wall:.2} mm below it, down from the axis,"),
            wall - y.0,
            -bottom,
            key,
            item,
        );
        if let Some(groove) = &self.spec.outside.groove {
            let m = groove.middle;
            let off = |v: f64, s: Span| (s.0 - v).max(v - s.1).max(0.0);
            let apart = off(m.x, x).hypot(off(m.y, y)) - groove.radius;
            self.note(
                || format!("the wall between {name} and the wires' groove"),
                wall,
                apart,
                key,
                item,
            );
        }
    }

    fn board(&mut self, along: &Along) {
        let (spec, h) = (self.spec, self.heights);
        let half = spec.half();
        let name = format!("the board's room, {:.2} mm wide at y {:.2},", 2.0 * half, h.board);
        self.cavity(&name, ((-half, half), h.room), "width", None);
        let widest = spec.widest(along);
        self.cavity("the well", ((-widest, widest), (h.floor, h.bar)), "height", None);
        let radius = self.radius();
        self.note(
            || "the top of the rails, not to end in a thin edge,".to_owned(),
            h.bar,
            SHARPEST * radius,
            "height",
            None,
        );
    }

    fn keep_out(&mut self, k: &KeepOut) {
        let (spec, h) = (self.spec, self.heights);
        let item = Some(("keep_out", k.index));
        let side = if k.up { "above" } else { "below" };
        let name = format!("keep-out {}, {:.2} mm {side} the board,", k.index + 1, k.height);
        let y = reach(k, h.faces);
        let far = k.x.0.abs().max(k.x.1.abs()).hypot(if k.up { y.1 } else { y.0 });
        let radius = self.radius();
        self.note(
            || format!("{name} with {AIR} mm to the tube, from the bore's axis,"),
            far + AIR,
            radius,
            "height",
            item,
        );
        if !k.up && pocket(spec, k, &h) < h.floor {
            let c = spec.clearance;
            let x = (k.x.0 - c, k.x.1 + c);
            self.cavity(&name, (x, (pocket(spec, k, &h), h.floor)), "height", item);
        }
    }

    fn port(&mut self, p: &Port) {
        let (spec, h) = (self.spec, self.heights);
        let item = Some(("port", p.index));
        let name = format!("port {}", p.index + 1);
        let (low, high) = p.free(h.faces);
        let half = p.half_width();
        let (off, most) = match p.edge {
            Edge::Cap | Edge::Front => (p.at.abs(), 0.5 * spec.board.width),
            Edge::PlusX | Edge::MinusX => (p.at.max(-p.at), spec.board.length),
        };
        self.note(
            || format!("{name}, to lie on its edge of the board,"),
            off,
            most,
            "offset",
            item,
        );
        match p.edge {
            Edge::MinusX | Edge::PlusX => {
                let (wall, bottom, radius) = (spec.wall, self.bottom(), self.radius());
                self.note(
                    || format!("{name} with a wall of {wall:.2} mm below it, down from the axis,"),
                    wall - low,
                    (-bottom).min(SHARPEST * radius),
                    "height",
                    item,
                );
            }
            Edge::Cap | Edge::Front => {
                let well = spec.well();
                let x = (p.at - half, p.at + half);
                if low < h.floor {
                    self.cavity(&name, (x, (low, h.floor)), "height", item);
                }
                if low < h.room.1 && high > h.room.0 && spec.rails() {
                    let left = (x.0 + well).clamp(0.0, 2.0 * well);
                    let right = (well - x.1).clamp(0.0, 2.0 * well);
                    let what = if p.edge == Edge::Front { "the front wall" } else { "the gate" };
                    self.note(
                        || format!("{what} beside {name}, to stop the board,"),
                        STOPS,
                        left + right,
                        "width",
                        item,
                    );
                }
            }
        }
    }

    fn holes(&mut self, along: &Along) {
        let (spec, h) = (self.spec, self.heights);
        let Hold::Posts { pilot: Some(pilot) } = &spec.hold else { return };
        let half = 0.5 * pilot.relief.0.max(pilot.hole);
        for hole in &spec.holes {
            let name = format!("the pilot of hole {}, {:.2} mm deep,", hole.index + 1, pilot.depth);
            let x = (hole.x - half, hole.x + half);
            let item = Some(("hole", hole.index));
            self.cavity(&name, (x, (h.board - pilot.depth, h.board)), "x", item);
            let z = along.board + hole.z;
            let inside = (hole.x.abs() + half).max(0.0);
            self.note(
                || format!("the pilot of hole {} beside the middle", hole.index + 1),
                inside,
                spec.half(),
                "x",
                item,
            );
            let ends = (z - along.body).min(along.room.1 - z);
            let what = || format!("the pilot of hole {} before the sled's ends", hole.index + 1);
            self.note(what, half, ends, "z", item);
            for other in spec.holes.iter().filter(|other| other.index > hole.index) {
                let apart = Vec2::new(hole.x - other.x, hole.z - other.z).norm() - 2.0 * half;
                let (a, b) = (hole.index + 1, other.index + 1);
                let between = || format!("the wall between the pilots of holes {a} and {b}");
                self.note(between, spec.wall, apart, "x", item);
            }
            for (what, x, z_of) in self.openings_below(along) {
                let off = |v: f64, s: Span| (s.0 - v).max(v - s.1).max(0.0);
                let apart = off(hole.x, x).hypot(off(z, z_of)) - half;
                let between =
                    || format!("the wall between the pilot of hole {} and {what}", hole.index + 1);
                self.note(between, spec.wall, apart, "x", item);
            }
        }
    }

    /// What is open below the board's plane: its name, x and z.
    fn openings_below(&self, along: &Along) -> Vec<(String, Span, Span)> {
        let (spec, h) = (self.spec, &self.heights);
        let play = spec.clearance + 0.5 * spec.tolerance;
        let grown = |s: Span, by: f64| (s.0 - by, s.1 + by);
        let pockets = spec.keep_outs.iter().filter(|k| !k.up).map(|k| {
            let z = (along.board + k.z.0, along.board + k.z.1);
            (format!("keep-out {}", k.index + 1), grown(k.x, play), grown(z, play))
        });
        let low = spec.ports.iter().filter(|p| p.free(h.faces).0 < h.board);
        let windows = low.map(|p| {
            let half = p.half_width();
            let (x, z) = match p.edge {
                Edge::Cap => ((p.at - half, p.at + half), (along.low, along.board)),
                Edge::Front => ((p.at - half, p.at + half), (along.room.1, along.high)),
                Edge::PlusX | Edge::MinusX => {
                    let z = (along.board + p.at - half, along.board + p.at + half);
                    let from = spec.well() - super::shape::INTO;
                    let far = super::shape::FAR;
                    (if p.edge == Edge::PlusX { (from, far) } else { (-far, -from) }, z)
                }
            };
            (format!("port {}", p.index + 1), x, z)
        });
        pockets.chain(windows).collect()
    }

    fn relief(&mut self) {
        let (spec, h) = (self.spec, self.heights);
        match spec.relief {
            Relief::Tie { half, below, .. } => {
                let (bottom, radius) = (self.bottom(), self.radius());
                let underside = h.tongue(spec) - spec.tongue;
                let outside = ((radius - half) * (radius + half)).max(0.0).sqrt();
                self.note(
                    || format!("the tie below its tongue at y {underside:.2}, down from the axis,"),
                    below - underside,
                    (-bottom).min(outside),
                    "strain_relief",
                    None,
                );
            }
            Relief::Comb { count, width, depth } => {
                let bar = h.bar - h.floor - spec.wall;
                let name = "the slots of the comb with a wall below them, down from the bar's top,";
                self.note(|| name.to_owned(), depth, bar, "strain_relief", None);
                let all = count as f64 * (width + spec.wall) + spec.wall;
                self.note(
                    || format!("a comb of {count} slots across the gate"),
                    all,
                    2.0 * spec.well(),
                    "leads",
                    None,
                );
            }
            Relief::None => {}
        }
    }
}

/// Heights that a keep-out takes, at the thickest board.
pub(super) fn reach(k: &KeepOut, faces: Span) -> Span {
    if k.up { (faces.1, faces.1 + k.height) } else { (faces.0 - k.height, faces.0) }
}

/// The floor of the pocket for a keep-out below the board.
pub(super) fn pocket(spec: &Spec, k: &KeepOut, heights: &Heights) -> f64 {
    level(reach(k, heights.faces).0 - spec.clearance)
}

/// Everything that is short at one height.
pub(super) fn shortfalls(spec: &Spec, along: &Along, board: f64, under: f64) -> Vec<Short> {
    let heights = Heights::new(spec, board, under);
    let mut limits = Limits { spec, heights, found: Vec::new() };
    limits.board(along);
    spec.keep_outs.iter().for_each(|k| limits.keep_out(k));
    spec.ports.iter().for_each(|p| limits.port(p));
    limits.holes(along);
    limits.relief();
    limits.found
}

fn worst(shorts: &[Short]) -> Option<&Short> {
    shorts.iter().max_by(|a, b| a.by().total_cmp(&b.by()))
}

/// Heights that are tried, lowest first.
fn heights(spec: &Spec) -> impl Iterator<Item = f64> {
    let steps = (spec.outside.fit.radius / STEP) as i32;
    (-steps..=steps).map(|i| level(f64::from(i) * STEP))
}

/// Free depths below the board that are tried.
fn unders(spec: &Spec) -> Vec<f64> {
    spec.under.map_or_else(|| UNDER.to_vec(), |given| vec![level(given)])
}

/// The last free depth that is tried.
pub(super) fn deepest(spec: &Spec) -> f64 {
    *unders(spec).last().expect("there is at least one")
}

/// The lowest height that meets every limit, with the free depth there.
pub(super) fn found(spec: &Spec, along: &Along) -> Option<(f64, f64)> {
    let at = |under: f64| {
        let fits = |&board: &f64| shortfalls(spec, along, board, under).is_empty();
        heights(spec).find(fits).map(|board| (board, under))
    };
    unders(spec).into_iter().find_map(at)
}

/// The plan at the given height, or the lowest that works.
///
/// # Errors
/// The limit that is missed by most, and heights or widths that would do.
pub(super) fn plan(
    context: &PartContext<'_>,
    values: &Values,
    spec: &Spec,
) -> Result<Plan, Refusal> {
    let along = Along::new(spec);
    if spec.well() < 1.0 {
        let most = level(spec.half() - 1.0);
        let what = format!(
            "rails that reach {:.2} mm over a board {:.2} mm wide leave {:.2} between them; 2.00 \
             are needed: short by {:.2}",
            values.number("rail"),
            spec.board.width,
            2.0 * spec.well(),
            2.0 - 2.0 * spec.well()
        );
        return Err(Refusal::new(what)
            .at(values, "rail")
            .hint(format!("give rail {most:.2} or less")));
    }
    if along.high > context.handle.length() {
        let (has, needs) = (context.handle.length(), along.high);
        return Err(Refusal::new(format!(
            "the sled ends {needs:.2} mm from the cap; the handle is {has:.2} long: short by {:.2}",
            needs - has
        ))
        .at(values, "from_z")
        .hint(if needs - has <= spec.low {
            format!("from_z = {:.2} would do", (spec.low - (needs - has)).max(0.0))
        } else if spec.board.length - (needs - has - spec.low) > LEAST_BOARD {
            format!("a board {:.2} mm long would fit", spec.board.length - (needs - has - spec.low))
        } else {
            "a longer handle, or a shorter stop, has the room".to_owned()
        }));
    }
    overhangs(values, spec, &along)?;
    let given = values.maybe_number("height").map(level);
    let chosen = match given {
        None => found(spec, &along),
        Some(board) => unders(spec)
            .into_iter()
            .find(|&u| shortfalls(spec, &along, board, u).is_empty())
            .map(|u| (board, u)),
    };
    if let Some((board, under)) = chosen {
        return Ok(Plan::new(spec, along, Heights::new(spec, board, under)));
    }
    Err(refused(values, spec, &along, given))
}

/// What stands off the board stays between its ends: walls are there.
///
/// # Errors
/// A keep-out that reaches into the front wall or the gate.
fn overhangs(values: &Values, spec: &Spec, along: &Along) -> Result<(), Refusal> {
    for k in &spec.keep_outs {
        let (before, beyond) = (-k.z.0, k.z.1 - spec.board.length);
        let (over, edge, wall, moved) = if beyond > NOISE {
            (beyond, "front", "the sled's front wall", -beyond)
        } else if along.gate.is_some() && before > NOISE {
            (before, "cap", "the gate", before)
        } else {
            continue;
        };
        let what = format!(
            "keep-out {} reaches {over:.2} mm beyond the board's edge at the {edge}, into {wall}",
            k.index + 1
        );
        let middle = 0.5 * (k.z.0 + k.z.1) + moved;
        let item = &values.list("keep_out")[k.index];
        let refusal = Refusal::new(what).at(item, "z");
        return Err(if k.z.1 - k.z.0 <= spec.board.length {
            refusal.hint(format!("z = {middle:.2} would stay on the board"))
        } else {
            refusal.hint(format!("length = {:.2} is the board's own", spec.board.length))
        }
        .hint("what goes in over an edge is a port: [[part.port]] leaves the wall open there"));
    }
    Ok(())
}

fn refused(values: &Values, spec: &Spec, along: &Along, given: Option<f64>) -> Refusal {
    let under = deepest(spec);
    let short = |board: f64| worst(&shortfalls(spec, along, board, under)).cloned();
    let at = |board: f64| short(board).map(|short| (short, board));
    let nearest = || {
        let all = heights(spec).filter_map(at);
        all.min_by(|a, b| a.0.by().total_cmp(&b.0.by()))
    };
    let Some((short, height)) = given.map_or_else(nearest, at) else {
        return Refusal::new("0 heights are left to try: the bore is too small")
            .at(values, "height")
            .hint("a wider bore, or a smaller board");
    };
    let refusal = short.refusal(values);
    if let Some((board, _)) = given.and_then(|_| found(spec, along)) {
        return refusal.hint(format!("height = {board:.2} works, or leave it out"));
    }
    cures(spec, &short, height).into_iter().fold(refusal, Refusal::hint)
}

/// Width of a board at the plan's height that would just fit, mm: the chord of
/// the outside there, less walls and room.
pub(super) fn chord(spec: &Spec, plan: &Plan) -> f64 {
    let inside = spec.outside.fit.radius - spec.wall;
    let y = plan.heights.room.0.abs().max(plan.heights.room.1.abs());
    let half = ((inside - y) * (inside + y)).max(0.0).sqrt();
    2.0 * (half - spec.clearance) - spec.tolerance
}

/// Distance of the board's corners from the bore's outside of the part, mm.
pub(super) fn corners(spec: &Spec, plan: &Plan) -> f64 {
    let half = 0.5 * spec.board.width;
    let y = plan.heights.faces.0.abs().max(plan.heights.faces.1.abs());
    spec.outside.fit.radius - Vec2::new(half, y).norm()
}
