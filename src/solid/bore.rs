//! Cross bores: holes and pockets drilled square to the z axis.
//!
//! A bore is a profile swept along a horizontal direction. It is accepted only
//! where, inside its column, every wall it meets is a single face without edges
//! or silhouettes ([`super::column`]): then the new rims, walls, shoulders and
//! floors are known exactly, and no boolean of solids is needed.

use super::column::{Boxes, Column, Seam, Span};
use super::unify::compact;
use super::wall::{Frame, Wall};
use super::{
    Brep, Curve, Edge, EdgeId, EdgeUse, Face, Solid, Stack, StackError, Surface, VertexId,
};
use crate::measure::{Vec2, Vec3};
use crate::section::{Region, Seg, snap};

/// The shape of a bore, seen along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BoreProfile {
    /// A round hole.
    Round {
        /// Radius, mm.
        radius: f64,
    },
    /// A slot with round ends, longer along z.
    SlotAlongZ {
        /// Radius of the ends, mm.
        radius: f64,
        /// Distance between the centres of the ends, mm.
        between: f64,
    },
    /// A slot with round ends, longer across z.
    SlotAcross {
        /// Radius of the ends, mm.
        radius: f64,
        /// Distance between the centres of the ends, mm.
        between: f64,
    },
}

/// How a bore begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mouth {
    /// With the profile itself.
    Plain,
    /// With a wider cylinder that ends in a flat shoulder.
    Counterbore {
        /// Radius, mm, larger than the bore's.
        radius: f64,
        /// Depth on the bore's centre line, mm.
        depth: f64,
    },
    /// With a cone that narrows to the bore, below a cylinder of its rim.
    Countersink {
        /// Radius of the rim, mm, larger than the bore's.
        radius: f64,
        /// Full angle of the cone, radians.
        angle: f64,
        /// Depth of the cylinder above the cone, mm; zero only on a face
        /// square to the bore.
        depth: f64,
    },
}

/// Where a bore ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BoreEnd {
    /// Beyond the first wall it meets.
    NextWall,
    /// Beyond the last wall.
    AllWalls,
    /// On a flat floor this far below the first wall, mm, measured on the
    /// bore's centre line.
    Depth(f64),
}

/// A hole drilled square to the z axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrossBore {
    /// Direction of travel in the section plane; need not be unit.
    pub direction: Vec2,
    /// Height of the centre line, mm.
    pub z: f64,
    /// Distance of the centre line from the z axis, mm, to the left of the
    /// direction of travel when seen from +z.
    pub offset: f64,
    /// Where drilling starts, mm along the direction from the z axis; walls
    /// before it are left alone. `f64::NEG_INFINITY` starts outside.
    pub start: f64,
    /// Shape.
    pub profile: BoreProfile,
    /// How it begins; other than plain for round profiles only.
    pub mouth: Mouth,
    /// Where it ends.
    pub end: BoreEnd,
}

/// Why a bore is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BoreError {
    /// Nothing to drill.
    #[error("the bore at z = {z:.3} mm meets no wall")]
    NoWall {
        /// Height of the centre line, mm.
        z: f64,
    },
    /// A face ends inside the bore.
    #[error(
        "the bore at z = {z:.3} mm crosses an edge at ({:.3}, {:.3}, {:.3}); move it by {:.3} mm across and {:.3} mm along z, or make it narrower by that much",
        at.x, at.y, at.z, move_by.x, move_by.y
    )]
    CrossesEdge {
        /// Height of the centre line, mm.
        z: f64,
        /// The point of the edge that lies deepest in the bore, mm.
        at: Vec3,
        /// Least move that clears this point: to the left of the direction of
        /// travel, and along z, mm.
        move_by: Vec2,
    },
    /// The tool would graze a curved wall or meet a chamfer.
    #[error("the bore at z = {z:.3} mm grazes a curved wall near ({:.3}, {:.3}, {:.3})", at.x, at.y, at.z)]
    Grazes {
        /// Height of the centre line, mm.
        z: f64,
        /// Where, mm.
        at: Vec3,
    },
    /// A floor, shoulder or cone lies outside the wall it should be in.
    #[error(
        "the {what} of the bore at z = {z:.3} mm lies {depth:.3} mm deep; it must lie between {least:.3} and {most:.3} mm"
    )]
    Depth {
        /// Height of the centre line, mm.
        z: f64,
        /// Floor, shoulder or cone.
        what: &'static str,
        /// Depth asked for, mm.
        depth: f64,
        /// Least depth possible, mm.
        least: f64,
        /// Largest depth possible, mm.
        most: f64,
    },
    /// A radius or angle that makes no hole.
    #[error(
        "the bore at z = {z:.3} mm has {what} {value:.3}; it must be between {least:.3} and {most:.3}"
    )]
    Shape {
        /// Height of the centre line, mm.
        z: f64,
        /// Which dimension.
        what: &'static str,
        /// Its value, mm or degrees.
        value: f64,
        /// Least possible, same unit.
        least: f64,
        /// Largest possible, same unit.
        most: f64,
    },
}

impl Stack {
    /// The solid with holes drilled one after the other.
    ///
    /// # Errors
    /// [`StackError`], with [`BoreError`] for a hole that cannot be drilled.
    pub fn bored(&self, bores: &[CrossBore]) -> Result<Solid, StackError> {
        let mut brep = self.brep()?;
        let mut boxes = Boxes::default();
        for bore in bores {
            boxes.grow(&brep);
            drill(&mut brep, &boxes, bore)?;
        }
        Ok(Solid::new(compact(brep))?.drawn_from(self, bores))
    }
}

/// One length of the tool: its profile from `from` on, reached by a cone or a step.
#[derive(Clone)]
struct Stage {
    pieces: Vec<Seg>,
    from: f64,
    cone: bool,
}

impl CrossBore {
    /// Half its height along z and half its width across, mm, at its widest.
    pub(crate) fn reach(&self) -> (f64, f64) {
        let (along, across) = match self.profile {
            BoreProfile::Round { radius } => (radius, radius),
            BoreProfile::SlotAlongZ { radius, between } => (radius + 0.5 * between, radius),
            BoreProfile::SlotAcross { radius, between } => (radius, radius + 0.5 * between),
        };
        let rim = match self.mouth {
            Mouth::Plain => 0.0,
            Mouth::Counterbore { radius, .. } | Mouth::Countersink { radius, .. } => radius,
        };
        (along.max(rim), across.max(rim))
    }
}

impl Stage {
    /// Radius of its ends, mm.
    fn radius(&self) -> f64 {
        self.pieces.iter().find_map(|p| p.arc).map_or(1.0, |arc| arc.radius)
    }

    /// Cuts the pieces where they cross the line at `across`, so that the rim
    /// has vertices on the seam there.
    fn split(&mut self, across: f64) {
        let mut out = Vec::with_capacity(self.pieces.len() + 2);
        for piece in &self.pieces {
            let (lo, hi) = (piece.a.x.min(piece.b.x), piece.a.x.max(piece.b.x));
            if lo + ON_SEAM < across && across < hi - ON_SEAM {
                let mid = Vec2::new(across, piece.y_at(across));
                out.push(Seg { b: mid, ..*piece });
                out.push(Seg { a: mid, ..*piece });
            } else {
                out.push(*piece);
            }
        }
        self.pieces = out;
    }
}

/// A profile vertex this close to a seam lies on it, mm.
const ON_SEAM: f64 = 1e-9;

fn drill(brep: &mut Brep, boxes: &Boxes, bore: &CrossBore) -> Result<(), BoreError> {
    let d = bore.direction / bore.direction.norm();
    let frame = Frame {
        along: Vec3::new(d.x, d.y, 0.0),
        across: Vec3::new(-d.y, d.x, 0.0),
        centre: Vec2::new(snap(bore.offset), snap(bore.z)),
    };
    let (radius, half) = dimensions(bore)?;
    let outline = |radius: f64| Region::slot(frame.centre - half, frame.centre + half, radius);
    let rim = match bore.mouth {
        Mouth::Plain => radius,
        Mouth::Counterbore { radius, .. } | Mouth::Countersink { radius, .. } => radius,
    };
    if bore.mouth != Mouth::Plain {
        check(bore, "a mouth radius in mm of", rim, radius + LEAST_RADIUS, MOST)?;
        check(bore, "a wider mouth and a slot length in mm of", half.norm(), 0.0, 0.0)?;
    }
    let (profile, widest) = (outline(radius), outline(rim));
    let spans = Column::new(brep, boxes, frame, half, snap(rim)).spans(bore)?;
    let first = spans[0];
    let stages = stages(bore, &first, &profile, &widest)?;
    for (i, span) in spans.iter().enumerate() {
        let mut here = if i == 0 { stages.clone() } else { stages[stages.len() - 1..].to_vec() };
        let floor = match bore.end {
            BoreEnd::Depth(depth) => Some(floor_at(bore, span, &here, depth)?),
            _ => None,
        };
        let sunk = here.iter().any(|s| s.cone);
        let last = here.len() - 1;
        for (seam, end) in [(span.seam_in, 0), (span.seam_out, last)] {
            let Some(seam) = seam else { continue };
            // Straight lines of a cone run towards its tip: where it is narrower,
            // they are nearer to the middle.
            let (middle, wide) = (frame.centre.x, here[end].radius());
            for (k, stage) in here.iter_mut().enumerate() {
                if k == end {
                    stage.split(seam.across);
                } else if sunk {
                    stage.split(middle + (seam.across - middle) * stage.radius() / wide);
                }
            }
        }
        cut(brep, &frame, span, &here, floor);
    }
    Ok(())
}

/// Radius of the profile, and half the way between its end centres.
fn dimensions(bore: &CrossBore) -> Result<(f64, Vec2), BoreError> {
    let (radius, half) = match bore.profile {
        BoreProfile::Round { radius } => (radius, Vec2::zeros()),
        BoreProfile::SlotAlongZ { radius, between } => (radius, Vec2::new(0.0, 0.5 * between)),
        BoreProfile::SlotAcross { radius, between } => (radius, Vec2::new(0.5 * between, 0.0)),
    };
    check(bore, "a radius in mm of", radius, LEAST_RADIUS, MOST)?;
    check(bore, "a slot length in mm of", half.norm(), 0.0, MOST)?;
    check(bore, "a height in mm of", bore.z, -MOST, MOST)?;
    check(bore, "an offset in mm of", bore.offset, -MOST, MOST)?;
    check(bore, "a direction of length", bore.direction.norm(), f64::MIN_POSITIVE, f64::MAX)?;
    Ok((radius, half.map(snap)))
}

/// Smallest radius of a bore, mm: below it no process leaves a hole.
const LEAST_RADIUS: f64 = 0.05;

/// Largest dimension of a bore, mm.
const MOST: f64 = 1000.0;

fn check(
    bore: &CrossBore,
    what: &'static str,
    value: f64,
    least: f64,
    most: f64,
) -> Result<(), BoreError> {
    if (least..=most).contains(&value) {
        return Ok(());
    }
    Err(BoreError::Shape { z: bore.z, what, value, least, most })
}

fn stages(
    bore: &CrossBore,
    span: &Span,
    profile: &Region,
    widest: &Region,
) -> Result<Vec<Stage>, BoreError> {
    let pieces = |r: &Region| r.segs();
    let plain = |from: f64, cone: bool| Stage { pieces: pieces(profile), from, cone };
    let inside = |what: &'static str, t: f64| within(bore, span, what, t);
    Ok(match (bore.mouth, bore.profile) {
        (Mouth::Counterbore { depth, .. }, _) => {
            let shoulder = inside("shoulder", span.centre_in + depth)?;
            vec![
                Stage { pieces: pieces(widest), from: span.centre_in, cone: false },
                plain(shoulder, false),
            ]
        }
        (Mouth::Countersink { radius, angle, depth }, BoreProfile::Round { radius: inner }) => {
            let degrees = angle.to_degrees();
            check(bore, "a cone angle in degrees of", degrees, 10.0, 170.0)?;
            let top = span.centre_in + depth;
            let tip = top + (radius - inner) / (0.5 * angle).tan();
            let mut out = Vec::new();
            let flush = depth == 0.0 && span.last_in - span.first_in <= span.noise;
            let start = if flush { span.centre_in } else { inside("cone", top)? };
            out.push(Stage { pieces: pieces(widest), from: span.centre_in, cone: false });
            if !flush {
                out.push(Stage { pieces: pieces(widest), from: start, cone: false });
            }
            out.push(plain(inside("cone", tip)?, true));
            out
        }
        _ => vec![plain(span.centre_in, false)],
    })
}

/// A plane across the bore at `t` must lie clear of both walls.
fn within(bore: &CrossBore, span: &Span, what: &'static str, t: f64) -> Result<f64, BoreError> {
    let (low, high) = (span.last_in + span.clear, span.first_out - span.clear);
    if low <= t && t <= high {
        return Ok(t);
    }
    let depth = |t: f64| t - span.centre_in;
    Err(BoreError::Depth { z: bore.z, what, depth: depth(t), least: depth(low), most: depth(high) })
}

fn floor_at(bore: &CrossBore, span: &Span, stages: &[Stage], depth: f64) -> Result<f64, BoreError> {
    let floor = within(bore, span, "floor", span.centre_in + depth)?;
    let last = stages.last().map_or(span.centre_in, |s| s.from);
    if stages.len() > 1 && floor < last + span.clear {
        return Err(BoreError::Depth {
            z: bore.z,
            what: "floor",
            depth,
            least: last + span.clear - span.centre_in,
            most: span.first_out - span.clear - span.centre_in,
        });
    }
    Ok(floor)
}

/// The edges of one profile laid on a wall or plane, in profile order.
struct Rim {
    vertices: Vec<VertexId>,
    edges: Vec<EdgeId>,
}

fn cut(brep: &mut Brep, frame: &Frame, span: &Span, stages: &[Stage], floor: Option<f64>) {
    let entry = Wall::new(&brep.faces[span.face_in], true);
    let exit = Wall::new(&brep.faces[span.face_out], false);
    let mut rim = lay(brep, frame, &stages[0].pieces, &entry);
    open(brep, span.face_in, span.seam_in, &stages[0].pieces, &rim, true);
    let mut pieces = &stages[0].pieces;
    for stage in &stages[1..] {
        let plane = Wall::across(frame, stage.from);
        if stage.cone {
            let next = lay(brep, frame, &stage.pieces, &plane);
            walls(brep, frame, pieces, &stage.pieces, &rim, &next);
            rim = next;
        } else {
            let outer = lay(brep, frame, pieces, &plane);
            walls(brep, frame, pieces, pieces, &rim, &outer);
            if *pieces == stage.pieces {
                rim = outer;
            } else {
                let inner = lay(brep, frame, &stage.pieces, &plane);
                shoulder(brep, frame, stage.from, &outer, Some(&inner));
                rim = inner;
            }
        }
        pieces = &stage.pieces;
    }
    match floor {
        Some(t) => {
            let end = lay(brep, frame, pieces, &Wall::across(frame, t));
            walls(brep, frame, pieces, pieces, &rim, &end);
            shoulder(brep, frame, t, &end, None);
        }
        None => {
            let end = lay(brep, frame, pieces, &exit);
            walls(brep, frame, pieces, pieces, &rim, &end);
            open(brep, span.face_out, span.seam_out, pieces, &end, false);
        }
    }
}

/// Opens a wall along a rim: a hole in its face, or, over a seam, a bite out
/// of the faces on both sides.
fn open(
    brep: &mut Brep,
    face: usize,
    seam: Option<Seam>,
    pieces: &[Seg],
    rim: &Rim,
    forward: bool,
) {
    let on_seam: Vec<usize> = match seam {
        None => Vec::new(),
        Some(s) => {
            (0..pieces.len()).filter(|&i| (pieces[i].a.x - s.across).abs() <= ON_SEAM).collect()
        }
    };
    let (Some(seam), &[i, j]) = (seam, &on_seam[..]) else {
        brep.faces[face].loops.push(uses(rim, forward));
        return;
    };
    // The rim's vertices on the seam in the order of the seam's edge.
    let Edge { from, to, .. } = brep.edges[seam.edge];
    let upward = brep.vertices[to as usize].z > brep.vertices[from as usize].z;
    let (first, second) = if (pieces[i].a.y < pieces[j].a.y) == upward { (i, j) } else { (j, i) };
    let mut line = |a: VertexId, b: VertexId| -> EdgeId {
        let curve = Curve::Line { from: brep.vertices[a as usize], to: brep.vertices[b as usize] };
        brep.edges.push(Edge { from: a, to: b, curve });
        brep.edges.len() as EdgeId - 1
    };
    let before = line(from, rim.vertices[first]);
    let after = line(rim.vertices[second], to);
    let n = pieces.len();
    let path = |a: usize, b: usize| -> Vec<EdgeUse> {
        let mut out = Vec::new();
        let mut k = a;
        while k != b {
            let edge = if forward { rim.edges[k] } else { rim.edges[(k + n - 1) % n] };
            out.push(EdgeUse { edge, forward });
            k = if forward { (k + 1) % n } else { (k + n - 1) % n };
        }
        out
    };
    for uses in brep.faces.iter_mut().flat_map(|f| &mut f.loops) {
        let Some(at) = uses.iter().position(|u| u.edge as usize == seam.edge) else { continue };
        let along = uses[at].forward;
        let (a, b) = if along { (before, after) } else { (after, before) };
        let bite = if along { path(first, second) } else { path(second, first) };
        let detour = [EdgeUse { edge: a, forward: along }]
            .into_iter()
            .chain(bite)
            .chain([EdgeUse { edge: b, forward: along }]);
        uses.splice(at..=at, detour);
    }
}

fn uses(rim: &Rim, forward: bool) -> Vec<EdgeUse> {
    let each = |&edge: &EdgeId| EdgeUse { edge, forward };
    if forward {
        rim.edges.iter().map(each).collect()
    } else {
        rim.edges.iter().rev().map(each).collect()
    }
}

/// A flat face across the bore that faces back towards its mouth.
fn shoulder(brep: &mut Brep, frame: &Frame, t: f64, outer: &Rim, inner: Option<&Rim>) {
    let mut loops = vec![uses(outer, false)];
    loops.extend(inner.map(|r| uses(r, true)));
    let surface = Surface::Plane {
        origin: frame.lift(frame.centre, t),
        normal: -frame.along,
        x: frame.across,
    };
    brep.faces.push(Face { surface, flipped: false, loops });
}

/// Lays a profile on a wall: one edge per piece.
fn lay(brep: &mut Brep, frame: &Frame, pieces: &[Seg], wall: &Wall) -> Rim {
    let first = brep.vertices.len() as VertexId;
    let n = pieces.len() as u32;
    for p in pieces {
        brep.vertices.push(frame.lift(p.a, wall.depth(frame, p.a)));
    }
    let mut rim = Rim { vertices: (first..first + n).collect(), edges: Vec::new() };
    for (i, piece) in pieces.iter().enumerate() {
        let (from, to) = (rim.vertices[i], rim.vertices[(i + 1) % pieces.len()]);
        let curve = wall.curve(frame, piece);
        rim.edges.push(brep.edges.len() as EdgeId);
        brep.edges.push(Edge { from, to, curve });
    }
    rim
}

/// The faces between two rims.
fn walls(brep: &mut Brep, frame: &Frame, pieces: &[Seg], next: &[Seg], from: &Rim, to: &Rim) {
    let n = pieces.len();
    let first = brep.edges.len() as EdgeId;
    for i in 0..n {
        let (a, b) = (from.vertices[i], to.vertices[i]);
        let curve = Curve::Line { from: brep.vertices[a as usize], to: brep.vertices[b as usize] };
        brep.edges.push(Edge { from: a, to: b, curve });
    }
    for (i, (piece, other)) in pieces.iter().zip(next).enumerate() {
        let (left, right) = (first + i as EdgeId, first + ((i + 1) % n) as EdgeId);
        let uses = vec![
            EdgeUse { edge: from.edges[i], forward: false },
            EdgeUse { edge: left, forward: true },
            EdgeUse { edge: to.edges[i], forward: true },
            EdgeUse { edge: right, forward: false },
        ];
        let start = brep.vertices[from.vertices[i] as usize];
        let end = brep.vertices[to.vertices[i] as usize];
        let (surface, flipped) = wall_surface(frame, piece, other, start, end);
        brep.faces.push(Face { surface, flipped, loops: vec![uses] });
    }
}

/// The surface swept by a piece that becomes `other` between the depths of
/// `start` and `end`, and whether its natural normal points into the material.
fn wall_surface(
    frame: &Frame,
    piece: &Seg,
    other: &Seg,
    start: Vec3,
    end: Vec3,
) -> (Surface, bool) {
    let Some(arc) = piece.arc else {
        let d = piece.tangent_at_a();
        let left = Vec2::new(-d.y, d.x);
        let normal = frame.lift(left, 0.0);
        return (Surface::Plane { origin: start, normal, x: frame.along }, false);
    };
    let t = |p: Vec3| p.dot(&frame.along);
    let origin = frame.lift(arc.centre, t(start));
    let (axis, x, radius) = (frame.along, frame.across, arc.radius);
    let slope = other.arc.map_or(0.0, |o| (o.radius - radius) / (t(end) - t(start)));
    let surface = if slope == 0.0 {
        Surface::Cylinder { origin, axis, x, radius }
    } else {
        Surface::Cone { origin, axis, x, radius, slope }
    };
    (surface, arc.ccw)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bore_reaches_as_far_as_its_widest_place() {
        let bore = |profile, mouth| CrossBore {
            direction: Vec2::new(1.0, 0.0),
            z: 20.0,
            offset: 0.0,
            start: f64::NEG_INFINITY,
            profile,
            mouth,
            end: BoreEnd::AllWalls,
        };
        let round = BoreProfile::Round { radius: 2.0 };
        let up = BoreProfile::SlotAlongZ { radius: 2.0, between: 3.0 };
        let across = BoreProfile::SlotAcross { radius: 2.0, between: 3.0 };
        assert_eq!(bore(round, Mouth::Plain).reach(), (2.0, 2.0));
        assert_eq!(bore(up, Mouth::Plain).reach(), (3.5, 2.0));
        assert_eq!(bore(across, Mouth::Plain).reach(), (2.0, 3.5));
        let wide = Mouth::Counterbore { radius: 3.0, depth: 1.0 };
        assert_eq!(bore(round, wide).reach(), (3.0, 3.0));
    }
}
