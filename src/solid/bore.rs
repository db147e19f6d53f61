//! Cross bores: holes and pockets drilled square to the z axis.
//!
//! A bore is a profile swept along a horizontal direction. It is accepted only
//! where, inside its column, every wall it meets is a single face without edges
//! or silhouettes ([`super::column`]): then the new rims, walls, shoulders and
//! floors are known exactly, and no boolean of solids is needed.

use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::Arc as Shared;

use super::column::{Column, Span};
use super::{
    Brep, Curve, Edge, EdgeId, EdgeUse, Face, Solid, Stack, StackError, Surface, Trace, VertexId,
};
use crate::measure::{Vec2, Vec3};
use crate::section::{Arc, Region, Seg, snap};

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
        for bore in bores {
            drill(&mut brep, bore)?;
        }
        Ok(Solid::new(brep)?)
    }
}

/// The frame of a bore: `across`, z and `along` are right-handed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub along: Vec3,
    pub across: Vec3,
    pub centre: Vec2,
}

impl Frame {
    /// The point at profile coordinates `p` and distance `t` along the bore.
    pub(super) fn lift(&self, p: Vec2, t: f64) -> Vec3 {
        self.across * p.x + Vec3::z() * p.y + self.along * t
    }

    /// Profile coordinates and distance of a point.
    pub(super) fn local(&self, p: Vec3) -> (Vec2, f64) {
        (Vec2::new(p.dot(&self.across), p.z), p.dot(&self.along))
    }
}

/// One length of the tool: its profile from `from` on, reached by a cone or a step.
struct Stage {
    pieces: Vec<Seg>,
    from: f64,
    cone: bool,
}

fn drill(brep: &mut Brep, bore: &CrossBore) -> Result<(), BoreError> {
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
    let spans = Column::new(brep, frame, half, snap(rim)).spans(bore)?;
    let first = spans[0];
    let stages = stages(bore, &first, &profile, &widest)?;
    for (i, span) in spans.iter().enumerate() {
        let here: &[Stage] = if i == 0 { &stages } else { &stages[stages.len() - 1..] };
        let floor = match bore.end {
            BoreEnd::Depth(depth) => Some(floor_at(bore, span, here, depth)?),
            _ => None,
        };
        cut(brep, &frame, span, here, floor);
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
    brep.faces[span.face_in].loops.push(uses(&rim, true));
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
            brep.faces[span.face_out].loops.push(uses(&end, false));
        }
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

/// A surface that a bore enters or leaves through.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wall {
    surface: Surface,
    /// Which of the two points where a line meets a cylinder is meant: -1 for
    /// the first one along the bore, 1 for the second.
    side: f64,
}

impl Wall {
    pub(super) fn new(face: &Face, entering: bool) -> Wall {
        // Material lies inside a cylinder whose normal is not flipped: one
        // enters it on the near side, and on the far side of any other.
        let side = if entering == face.flipped { 1.0 } else { -1.0 };
        Wall { surface: face.surface, side }
    }

    fn across(frame: &Frame, t: f64) -> Wall {
        let origin = frame.lift(frame.centre, t);
        let surface = Surface::Plane { origin, normal: -frame.along, x: frame.across };
        Wall { surface, side: -1.0 }
    }

    /// Distance along the bore at which the line through `p` meets the wall;
    /// not a number where it misses.
    pub(super) fn depth(&self, frame: &Frame, p: Vec2) -> f64 {
        let base = frame.lift(p, 0.0);
        match self.surface {
            Surface::Plane { origin, normal, .. } => {
                (origin - base).dot(&normal) / frame.along.dot(&normal)
            }
            Surface::Cylinder { origin, axis, radius, .. } => {
                let flat = |v: Vec3| v - axis * v.dot(&axis);
                let (d, off) = (flat(frame.along), flat(base - origin));
                let len = d.norm();
                let mid = -off.dot(&d) / (len * len);
                let miss = (off + d * mid).norm();
                let half = ((radius - miss) * (radius + miss)).sqrt() / len;
                mid + self.side * half
            }
            // No bore is accepted through a cone.
            Surface::Cone { .. } => f64::NAN,
        }
    }

    fn point(&self, frame: &Frame, p: Vec2) -> Vec3 {
        frame.lift(p, self.depth(frame, p))
    }

    /// The exact curve of a profile piece laid on the wall.
    fn curve(&self, frame: &Frame, piece: &Seg) -> Curve {
        let (from, to) = (self.point(frame, piece.a), self.point(frame, piece.b));
        match (self.surface, piece.arc) {
            (Surface::Plane { .. }, None) => Curve::Line { from, to },
            (Surface::Plane { normal, .. }, Some(arc)) if normal.z == 0.0 => {
                let lean = frame.across.dot(&normal) / frame.along.dot(&normal);
                let centre = self.point(frame, arc.centre);
                let y = if arc.ccw { Vec3::z() } else { -Vec3::z() };
                let (a0, a1) = half_angles(&arc, piece);
                if lean == 0.0 {
                    let x = frame.across;
                    return Curve::Circle { centre, x, y, radius: arc.radius, from: a0, to: a1 };
                }
                let x = (frame.across - frame.along * lean) * arc.radius;
                Curve::Ellipse { centre, x, y: y * arc.radius, from: a0, to: a1 }
            }
            (Surface::Cylinder { axis, .. }, None)
                if axis == Vec3::z() && piece.a.x == piece.b.x =>
            {
                Curve::Line { from, to }
            }
            (Surface::Cylinder { origin, axis, radius, .. }, None)
                if axis == Vec3::z() && piece.a.y == piece.b.y =>
            {
                let centre = Vec3::new(origin.x, origin.y, piece.a.y);
                let angle = |p: Vec3| (p.y - centre.y).atan2(p.x - centre.x);
                let turn = (angle(to) - angle(from) + PI).rem_euclid(2.0 * PI) - PI;
                let y = if turn > 0.0 { Vec3::y() } else { -Vec3::y() };
                let a0 = if turn > 0.0 { angle(from) } else { -angle(from) };
                let a1 = a0 + turn.abs();
                Curve::Circle { centre, x: Vec3::x(), y, radius, from: a0, to: a1 }
            }
            _ => {
                let trace = Laid { frame: *frame, wall: *self, piece: *piece };
                Curve::Traced { trace: Shared::new(trace), from: 0.0, to: trace.extent() }
            }
        }
    }
}

/// First and last angle of an arc about its centre, growing in its own sense.
fn half_angles(arc: &Arc, piece: &Seg) -> (f64, f64) {
    let d = piece.a - arc.centre;
    let from = (if arc.ccw { d.y } else { -d.y }).atan2(d.x);
    (from, from + piece.sweep())
}

/// A profile piece laid on a curved wall: by angle for an arc, by fraction for
/// a line.
#[derive(Clone, Copy, Debug)]
struct Laid {
    frame: Frame,
    wall: Wall,
    piece: Seg,
}

impl Laid {
    fn extent(&self) -> f64 {
        if self.piece.arc.is_some() { self.piece.sweep() } else { 1.0 }
    }
}

impl Trace for Laid {
    fn point(&self, t: f64) -> Vec3 {
        self.wall.point(&self.frame, self.piece.at(t / self.extent()))
    }

    fn derivative(&self, t: f64) -> Vec3 {
        let p = self.piece.at(t / self.extent());
        let rate = match self.piece.arc {
            Some(arc) => arc.tangent(p) * arc.radius,
            None => self.piece.b - self.piece.a,
        };
        let flat = self.frame.lift(rate, 0.0);
        let normal = self.wall.surface.normal(self.wall.point(&self.frame, p));
        flat - self.frame.along * (flat.dot(&normal) / self.frame.along.dot(&normal))
    }

    fn spans_per_unit(&self) -> f64 {
        48.0 / (4.0 * FRAC_PI_2)
    }
}
