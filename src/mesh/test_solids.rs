//! Solids for tests, made by hand from the public B-rep types.

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::sync::Arc;

use crate::measure::{Vec2, Vec3};
use crate::solid::{Brep, Curve, Edge, EdgeUse, Face, Solid, Surface, Trace};

/// A side of a section: to the next corner, straight or around a centre.
#[derive(Clone, Copy)]
pub(super) enum Side {
    Line,
    /// Counter-clockwise or clockwise around a centre.
    Arc(Vec2, bool),
}

/// Corners of a section's loop, each with the side that follows it.
pub(super) type Loop = Vec<(Vec2, Side)>;

pub(super) fn polygon(points: &[[f64; 2]]) -> Loop {
    points.iter().map(|p| (Vec2::new(p[0], p[1]), Side::Line)).collect()
}

/// Two arcs, the first from angle `from`.
pub(super) fn circle(centre: [f64; 2], radius: f64, from: f64, ccw: bool) -> Loop {
    let c = Vec2::new(centre[0], centre[1]);
    let r = Vec2::new(from.cos(), from.sin()) * radius;
    vec![(c + r, Side::Arc(c, ccw)), (c - r, Side::Arc(c, ccw))]
}

/// Edges of a section in a plane at height z.
fn ring(brep: &mut Brep, side: &Loop, z: f64) -> (u32, u32) {
    let (v0, e0) = (brep.vertices.len() as u32, brep.edges.len() as u32);
    let n = side.len() as u32;
    for (p, _) in side {
        brep.vertices.push(Vec3::new(p.x, p.y, z));
    }
    for i in 0..n {
        let (p, s) = side[i as usize];
        let q = side[((i + 1) % n) as usize].0;
        let curve = match s {
            Side::Line => Curve::Line { from: Vec3::new(p.x, p.y, z), to: Vec3::new(q.x, q.y, z) },
            Side::Arc(c, ccw) => {
                let sense = if ccw { 1.0 } else { -1.0 };
                let (a, b) = (p - c, q - c);
                let from = sense * a.y.atan2(a.x);
                let sweep = (sense * b.y.atan2(b.x) - from).rem_euclid(TAU);
                Curve::Circle {
                    centre: Vec3::new(c.x, c.y, z),
                    x: Vec3::x(),
                    y: Vec3::y() * sense,
                    radius: a.norm(),
                    from,
                    to: from + sweep,
                }
            }
        };
        brep.edges.push(Edge { from: v0 + i, to: v0 + (i + 1) % n, curve });
    }
    (v0, e0)
}

fn uses(edges: impl Iterator<Item = u32>, forward: bool) -> Vec<EdgeUse> {
    let mut all: Vec<EdgeUse> = edges.map(|edge| EdgeUse { edge, forward }).collect();
    if !forward {
        all.reverse();
    }
    all
}

/// Joins two sections of one structure: planes, cylinders and cones between.
pub(super) fn loft(bottom: &[Loop], top: &[Loop], z0: f64, z1: f64) -> Brep {
    let mut brep = Brep::default();
    let plane = |z: f64| Surface::Plane { origin: Vec3::z() * z, normal: Vec3::z(), x: Vec3::x() };
    let mut floor = Face { surface: plane(z0), flipped: true, loops: Vec::new() };
    let mut roof = Face { surface: plane(z1), flipped: false, loops: Vec::new() };
    for (low, high) in bottom.iter().zip(top) {
        let n = low.len() as u32;
        let (va, ea) = ring(&mut brep, low, z0);
        let (vb, eb) = ring(&mut brep, high, z1);
        let rises = brep.edges.len() as u32;
        for i in 0..n {
            let (from, to) = (va + i, vb + i);
            let curve =
                Curve::Line { from: brep.vertices[from as usize], to: brep.vertices[to as usize] };
            brep.edges.push(Edge { from, to, curve });
        }
        floor.loops.push(uses(ea..ea + n, false));
        roof.loops.push(uses(eb..eb + n, true));
        for i in 0..n {
            let loops = vec![vec![
                EdgeUse { edge: ea + i, forward: true },
                EdgeUse { edge: rises + (i + 1) % n, forward: true },
                EdgeUse { edge: eb + i, forward: false },
                EdgeUse { edge: rises + i, forward: false },
            ]];
            let p = brep.vertices[(va + i) as usize];
            let q = brep.vertices[(va + (i + 1) % n) as usize];
            let up = brep.vertices[(vb + i) as usize] - p;
            let (surface, flipped) = match low[i as usize].1 {
                Side::Line => {
                    let x = (q - p).normalize();
                    (Surface::Plane { origin: p, normal: x.cross(&up).normalize(), x }, false)
                }
                Side::Arc(c, ccw) => {
                    let origin = Vec3::new(c.x, c.y, z0);
                    let radius = (p - origin).norm();
                    let end = (brep.vertices[(vb + i) as usize] - Vec3::new(c.x, c.y, z1)).norm();
                    let (axis, x) = (Vec3::z(), Vec3::x());
                    let surface = if radius == end {
                        Surface::Cylinder { origin, axis, x, radius }
                    } else {
                        let slope = (end - radius) / (z1 - z0);
                        Surface::Cone { origin, axis, x, radius, slope }
                    };
                    (surface, !ccw)
                }
            };
            brep.faces.push(Face { surface, flipped, loops });
        }
    }
    brep.faces.push(floor);
    brep.faces.push(roof);
    brep
}

pub(super) fn prism(section: &[Loop], z0: f64, z1: f64) -> Brep {
    loft(section, section, z0, z1)
}

pub(super) fn solid(brep: Brep) -> Solid {
    Solid::new(brep).expect("test solid closes")
}

/// Where a bore along x through the axis leaves a cylinder around z, at the
/// side of +x (`side = 1`) or -x.
#[derive(Clone, Copy, Debug)]
pub(super) struct BoreRim {
    pub(super) wall: f64,
    pub(super) bore: f64,
    pub(super) side: f64,
    pub(super) z: f64,
}

/// A rotation and shift of a test solid.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    pub(super) turn: nalgebra::Matrix3<f64>,
    pub(super) shift: Vec3,
}

impl Turn {
    /// About a skew axis.
    pub(super) fn skew(angle: f64, shift: Vec3) -> Turn {
        let axis = nalgebra::Unit::new_normalize(Vec3::new(0.3, -1.1, 0.7));
        Turn { turn: *nalgebra::Rotation3::from_axis_angle(&axis, angle).matrix(), shift }
    }

    pub(super) fn point(&self, p: Vec3) -> Vec3 {
        self.turn * p + self.shift
    }
}

impl Trace for BoreRim {
    fn point(&self, t: f64) -> Vec3 {
        let (sin, cos) = t.sin_cos();
        let y = self.bore * cos;
        let x = self.side * (self.wall * self.wall - y * y).sqrt();
        Vec3::new(x, y, self.z + self.bore * sin)
    }

    fn derivative(&self, t: f64) -> Vec3 {
        let (sin, cos) = t.sin_cos();
        let (y, dy) = (self.bore * cos, -self.bore * sin);
        let x = self.side * (self.wall * self.wall - y * y).sqrt();
        Vec3::new(-y * dy / x, dy, self.bore * cos)
    }

    fn spans_per_unit(&self) -> f64 {
        48.0 / TAU
    }
}

/// A cylinder around z with a bore along x through its axis at height `z`.
pub(super) fn bored_cylinder(wall: f64, height: f64, bore: f64, z: f64) -> Brep {
    let mut brep = prism(&[circle([0.0, 0.0], wall, -FRAC_PI_2, true)], 0.0, height);
    let mut rims = Vec::new();
    for side in [1.0, -1.0] {
        let rim = BoreRim { wall, bore, side, z };
        let v = brep.vertices.len() as u32;
        let e = brep.edges.len() as u32;
        brep.vertices.extend([rim.point(0.0), rim.point(PI)]);
        let trace = Arc::new(rim);
        for (k, from) in [(0, 0.0), (1, PI)] {
            let curve = Curve::Traced { trace: trace.clone(), from, to: from + PI };
            brep.edges.push(Edge { from: v + k, to: v + 1 - k, curve });
        }
        rims.push((v, e));
    }
    let ((v1, e1), (v2, e2)) = (rims[0], rims[1]);
    let e = brep.edges.len() as u32;
    for k in 0..2 {
        let curve = Curve::Line {
            from: brep.vertices[(v2 + k) as usize],
            to: brep.vertices[(v1 + k) as usize],
        };
        brep.edges.push(Edge { from: v2 + k, to: v1 + k, curve });
    }
    let take = |edge, forward| EdgeUse { edge, forward };
    // Seen from +x, y runs right and z up: the rim is counter-clockwise there
    // and the hole in the wall runs the other way.
    brep.faces[0].loops.push(vec![take(e1 + 1, false), take(e1, false)]);
    brep.faces[1].loops.push(vec![take(e2, true), take(e2 + 1, true)]);
    let surface =
        Surface::Cylinder { origin: Vec3::z() * z, axis: Vec3::x(), x: Vec3::y(), radius: bore };
    for k in 0..2u32 {
        let loops = vec![vec![
            take(e1 + k, true),
            take(e + 1 - k, false),
            take(e2 + k, false),
            take(e + k, true),
        ]];
        brep.faces.push(Face { surface, flipped: true, loops });
    }
    brep
}

/// The same solid elsewhere.
pub(super) fn moved(brep: &Brep, by: Turn) -> Brep {
    let direction = |d: &Vec3| by.turn * d;
    let mut out = brep.clone();
    out.vertices.iter_mut().for_each(|p| *p = by.point(*p));
    for e in &mut out.edges {
        match &mut e.curve {
            Curve::Line { from, to } => {
                *from = by.point(*from);
                *to = by.point(*to);
            }
            Curve::Circle { centre, x, y, .. } | Curve::Ellipse { centre, x, y, .. } => {
                *centre = by.point(*centre);
                *x = direction(x);
                *y = direction(y);
            }
            Curve::Traced { trace, .. } => *trace = Arc::new(Moved { trace: trace.clone(), by }),
        }
    }
    for f in &mut out.faces {
        match &mut f.surface {
            Surface::Plane { origin, normal, x } => {
                *origin = by.point(*origin);
                *normal = direction(normal);
                *x = direction(x);
            }
            Surface::Cylinder { origin, axis, x, .. } | Surface::Cone { origin, axis, x, .. } => {
                *origin = by.point(*origin);
                *axis = direction(axis);
                *x = direction(x);
            }
        }
    }
    out
}

#[derive(Debug)]
struct Moved {
    trace: Arc<dyn Trace>,
    by: Turn,
}

impl Trace for Moved {
    fn point(&self, t: f64) -> Vec3 {
        self.by.point(self.trace.point(t))
    }

    fn derivative(&self, t: f64) -> Vec3 {
        self.by.turn * self.trace.derivative(t)
    }

    fn spans_per_unit(&self) -> f64 {
        self.trace.spans_per_unit()
    }
}
