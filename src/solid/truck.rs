//! A solid in truck's types: a second opinion on its topology, and the way to
//! go on modelling with it.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use truck_modeling::topology::{
    Edge as TruckEdge, Face as TruckFace, Shell as TruckShell, Solid as TruckSolid,
    Vertex as TruckVertex, Wire,
};
use truck_modeling::{
    BSplineCurve, Curve as TruckCurve, InnerSpace, KnotVec, Line, NurbsCurve, Plane, Point3,
    Processor, RevolutedCurve, Surface as TruckSurface, Vector3, Vector4,
};

use super::{CubicSpline, Curve, Edge, Face, Solid, Surface};
use crate::measure::Vec3;

/// truck does not take the boundary for that of a solid.
#[derive(Debug, thiserror::Error)]
#[error("truck refuses the solid's topology")]
pub struct TruckError(#[from] truck_modeling::errors::Error);

impl Solid {
    /// The same solid in truck's types, mm; the outer shell first, then the
    /// voids, all faces outwards.
    ///
    /// Lines stay lines; circles and ellipses become rational quadratics, which
    /// are exact; traced curves become cubic splines within 1e-6 mm. Planes
    /// stay planes; cylinders and cones are lines turned about an axis.
    ///
    /// # Errors
    /// truck checks that each loop is closed and simple, each shell connected
    /// and closed with its faces oriented alike, and no vertex singular.
    pub fn to_truck(&self) -> Result<TruckSolid, TruckError> {
        let topology = |e| TruckError(truck_modeling::errors::Error::FromTopology(e));
        let vertices: Vec<TruckVertex> =
            self.vertices().iter().map(|&p| TruckVertex::new(point(p))).collect();
        let mut edges = Vec::with_capacity(self.edges().len());
        for edge in self.edges() {
            let [start, end] = [edge.from, edge.to].map(|v| self.vertices()[v as usize]);
            let (from, to) = (&vertices[edge.from as usize], &vertices[edge.to as usize]);
            let curve = truck_curve(&edge.curve, start, end);
            edges.push(TruckEdge::try_new(from, to, curve).map_err(topology)?);
        }
        let mut shells = Vec::with_capacity(self.shells().len());
        for shell in self.shells() {
            let mut out = TruckShell::with_capacity(shell.faces.len());
            for &f in &shell.faces {
                let face = &self.faces()[f as usize];
                let wire = |uses: &Vec<super::EdgeUse>| -> Wire {
                    let edge = |u: &super::EdgeUse| {
                        let e = &edges[u.edge as usize];
                        if u.forward { e.clone() } else { e.inverse() }
                    };
                    uses.iter().map(edge).collect()
                };
                let wires = face.loops.iter().map(wire).collect();
                let surface = truck_surface(face, self.edges());
                out.push(TruckFace::try_new(wires, surface).map_err(topology)?);
            }
            shells.push(out);
        }
        TruckSolid::try_new(shells).map_err(topology)
    }
}

fn point(p: Vec3) -> Point3 {
    Point3::new(p.x, p.y, p.z)
}

fn vector(d: Vec3) -> Vector3 {
    Vector3::new(d.x, d.y, d.z)
}

fn truck_curve(curve: &Curve, start: Vec3, end: Vec3) -> TruckCurve {
    match curve {
        Curve::Line { .. } => TruckCurve::Line(Line(point(start), point(end))),
        Curve::Circle { centre, x, y, radius, from, to } => {
            conic(*centre, x * *radius, y * *radius, *from, *to, start, end)
        }
        Curve::Ellipse { centre, x, y, from, to } => conic(*centre, *x, *y, *from, *to, start, end),
        Curve::Traced { .. } => {
            let spline = CubicSpline::through(curve, start, end);
            let knots: Vec<f64> = (0..spline.knots.len())
                .flat_map(|k| std::iter::repeat_n(spline.knots[k], spline.multiplicity(k)))
                .collect();
            let points = spline.control_points.into_iter().map(point).collect();
            TruckCurve::BSplineCurve(BSplineCurve::new(KnotVec::from(knots), points))
        }
    }
}

/// `centre + cos t x + sin t y` as a rational quadratic, in pieces of at most
/// a quarter turn. A piece of half angle `d` has its middle control point
/// where the end tangents meet, with the weight `cos d` (Piegl and Tiller, The
/// NURBS Book, 7.3; from memory).
fn conic(c: Vec3, x: Vec3, y: Vec3, from: f64, to: f64, start: Vec3, end: Vec3) -> TruckCurve {
    let at = |t: f64, reach: f64| c + (x * t.cos() + y * t.sin()) * reach;
    let weighted = |p: Vec3, w: f64| Vector4::new(p.x * w, p.y * w, p.z * w, w);
    // A quarter turn off by rounding is still one piece.
    let pieces = ((to - from) / FRAC_PI_2 - 1e3 * f64::EPSILON).ceil().clamp(1.0, 4.0) as usize;
    let half = 0.5 * (to - from) / pieces as f64;
    let mut points = vec![weighted(start, 1.0)];
    let mut knots = vec![0.0; 3];
    for i in 0..pieces {
        let middle = from + half * (2 * i + 1) as f64;
        points.push(weighted(at(middle, 1.0 / half.cos()), half.cos()));
        if i + 1 < pieces {
            points.push(weighted(at(middle + half, 1.0), 1.0));
            knots.extend([(i + 1) as f64 / pieces as f64; 2]);
        }
    }
    points.push(weighted(end, 1.0));
    knots.extend([1.0; 3]);
    TruckCurve::NurbsCurve(NurbsCurve::new(BSplineCurve::new(KnotVec::from(knots), points)))
}

/// The surface under a face with its normal out of the solid.
fn truck_surface(face: &Face, edges: &[Edge]) -> TruckSurface {
    match face.surface {
        Surface::Plane { origin, normal, x } => {
            let out = if face.flipped { -normal } else { normal };
            let y = out.cross(&x);
            TruckSurface::Plane(Plane::new(point(origin), point(origin + x), point(origin + y)))
        }
        Surface::Cylinder { origin, axis, x, radius } => {
            turned(face, edges, [origin, axis, x], radius, 0.0)
        }
        Surface::Cone { origin, axis, x, radius, slope } => {
            turned(face, edges, [origin, axis, x], radius, slope)
        }
    }
}

/// A cylinder or cone as a line turned about the axis. An upward line gives an
/// inward normal, so the line runs down for an outer wall. The line reaches a
/// little farther than the face does, and the seam where the turn starts lies
/// opposite the middle of the face.
///
/// The line is given as a spline of degree 1: truck-modeling 0.6 recurses
/// without end when asked whether the turned surface of a `Line` includes a
/// curve.
fn turned(face: &Face, edges: &[Edge], frame: [Vec3; 3], radius: f64, slope: f64) -> TruckSurface {
    let [origin, axis, x] = frame;
    let y = axis.cross(&x);
    let (v, u) = reach(face, edges);
    let pad = |v: f64, by: f64| {
        // Half the way to the apex at most.
        let apex = if slope == 0.0 { f64::INFINITY } else { (v + radius / slope).abs() };
        v + by.signum() * by.abs().min(0.5 * apex)
    };
    let v = (pad(v.0, -REACH_MARGIN * (v.1 - v.0)), pad(v.1, REACH_MARGIN * (v.1 - v.0)));
    let seam = 0.5 * (u.0 + u.1) + PI;
    let out = x * seam.cos() + y * seam.sin();
    let on = |v: f64| point(origin + axis * v + out * (radius + slope * v));
    let line = if face.flipped { Line(on(v.0), on(v.1)) } else { Line(on(v.1), on(v.0)) };
    let (origin, axis) = (point(origin), vector(axis).normalize());
    let turned = RevolutedCurve::by_revolution(line.to_bspline().into(), origin, axis);
    TruckSurface::RevolutedCurve(Processor::new(turned))
}

/// Points looked at on each edge to find how far a face reaches. On half an
/// ellipse they miss its top by 1 - cos(pi / 32), half a percent of its height.
const REACH_SAMPLES: usize = 16;

/// What is added to a face's height at each end for what the samples miss, as
/// a part of it.
const REACH_MARGIN: f64 = 0.01;

/// Ranges of height and of continuous angle over a face's outer loop.
fn reach(face: &Face, edges: &[Edge]) -> ((f64, f64), (f64, f64)) {
    let mut height = (f64::INFINITY, f64::NEG_INFINITY);
    let mut angle = (f64::INFINITY, f64::NEG_INFINITY);
    let mut before: Option<f64> = None;
    for u in face.loops.iter().take(1).flatten() {
        let curve = &edges[u.edge as usize].curve;
        let (from, to) = curve.range();
        let (from, to) = if u.forward { (from, to) } else { (to, from) };
        for k in 0..=REACH_SAMPLES {
            let t = from + (to - from) * k as f64 / REACH_SAMPLES as f64;
            let (mut here, v) = face.surface.local(curve.point(t));
            if let Some(before) = before {
                here = before + (here - before + PI).rem_euclid(TAU) - PI;
            }
            before = Some(here);
            height = (height.0.min(v), height.1.max(v));
            angle = (angle.0.min(here), angle.1.max(here));
        }
    }
    (height, angle)
}
