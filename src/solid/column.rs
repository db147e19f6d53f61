//! What a cross bore meets on its way: walls that cover its whole profile, or
//! an edge or silhouette inside it, for which it is refused.

use std::cell::OnceCell;
use std::collections::BTreeMap;
use std::f64::consts::PI;

use super::bore::{BoreEnd, BoreError, CrossBore, Mouth};
use super::unify::{edge_owners, same_surface};
use super::wall::{Frame, Wall};
use super::{Brep, Curve, EdgeUse, Face, Surface};
use crate::measure::{Vec2, Vec3};

/// Least distance of a bore's rim from the edges of the face it lies in, and
/// of its floors from the walls, mm.
pub(super) const CLEAR: f64 = 0.01;

/// A length of material that a bore passes: the face where it goes in, the
/// one where it comes out, and distances along the bore.
#[derive(Clone, Copy, Debug)]
pub(super) struct Span {
    pub face_in: usize,
    pub face_out: usize,
    /// Where the centre line goes in.
    pub centre_in: f64,
    /// Where the first and the last point of the profile go in.
    pub first_in: f64,
    pub last_in: f64,
    /// Where the first and the last point of the profile come out.
    pub first_out: f64,
    last_out: f64,
    /// [`CLEAR`].
    pub clear: f64,
    /// Differences below this are float noise.
    pub noise: f64,
    /// Upright edges between two faces of one cylinder that the bore may cut
    /// through, where it goes in and where it comes out.
    pub seam_in: Option<Seam>,
    pub seam_out: Option<Seam>,
}

/// An upright edge between two faces of one cylinder.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seam {
    pub edge: usize,
    /// Its place across the bore, mm.
    pub across: f64,
}

/// Boxes around edges and faces, kept from one bore to the next, and the edges
/// by height: without them every bore would have to walk along every edge.
#[derive(Default)]
pub(super) struct Boxes {
    edges: Vec<Box3>,
    /// Bores take away from a face; its first box stays around it.
    faces: Vec<Box3>,
    /// Edges by the cells of height, [`CELL`] mm each, that they reach into.
    cells: BTreeMap<i64, Vec<usize>>,
    /// Edges that reach into more than [`TALL`] cells.
    tall: Vec<usize>,
}

/// Height of a cell, mm: about the diameter of a bore.
const CELL: f64 = 4.0;

/// Cells that an edge is listed in at most.
const TALL: i64 = 16;

fn cell(z: f64) -> i64 {
    (z / CELL).floor() as i64
}

/// Lower and upper corner.
#[derive(Clone, Copy)]
struct Box3(Vec3, Vec3);

impl Box3 {
    const NOTHING: Box3 =
        Box3(Vec3::new(f64::MAX, f64::MAX, f64::MAX), Vec3::new(f64::MIN, f64::MIN, f64::MIN));

    fn around(self, other: Box3) -> Box3 {
        Box3(self.0.inf(&other.0), self.1.sup(&other.1))
    }

    fn holds(&self, p: Vec3) -> bool {
        (0..3).all(|i| self.0[i] - CLEAR <= p[i] && p[i] <= self.1[i] + CLEAR)
    }
}

impl Boxes {
    /// Adds the edges and faces that are new since the last time.
    pub(super) fn grow(&mut self, brep: &Brep) {
        for edge in &brep.edges[self.edges.len()..] {
            let around = edge_box(&edge.curve);
            let index = self.edges.len();
            let (low, high) = (cell(around.0.z), cell(around.1.z));
            if high.saturating_sub(low) > TALL {
                self.tall.push(index);
            } else {
                (low..=high).for_each(|c| self.cells.entry(c).or_default().push(index));
            }
            self.edges.push(around);
        }
        for face in &brep.faces[self.faces.len()..] {
            let loops = face.loops.iter().map(|uses| self.around(uses));
            let around = loops.fold(Box3::NOTHING, Box3::around);
            self.faces.push(around);
        }
    }

    fn around(&self, uses: &[EdgeUse]) -> Box3 {
        uses.iter().map(|u| self.edges[u.edge as usize]).fold(Box3::NOTHING, Box3::around)
    }

    /// The edges that may reach between two heights, in order.
    fn between(&self, low: f64, high: f64) -> Vec<usize> {
        let cells = self.cells.range(cell(low)..=cell(high)).flat_map(|(_, edges)| edges);
        let mut found: Vec<usize> = cells.chain(&self.tall).copied().collect();
        found.sort_unstable();
        found.dedup();
        found
    }
}

fn edge_box(curve: &Curve) -> Box3 {
    let (t0, t1) = curve.range();
    let rough = if matches!(curve, Curve::Line { .. }) { 1 } else { ROUGH };
    let at = |i: u32| curve.point(t0 + (t1 - t0) * f64::from(i) / f64::from(rough));
    let mut found = Box3(at(0), at(0));
    let mut length = 0.0;
    for i in 1..=rough {
        let p = at(i);
        found = found.around(Box3(p, p));
        length += (p - at(i - 1)).norm();
    }
    // Between rough samples a curve bulges by less than a step.
    let bulge = if rough == 1 { 0.0 } else { length / f64::from(rough) };
    Box3(found.0 - Vec3::repeat(bulge), found.1 + Vec3::repeat(bulge))
}

/// Rough samples along an edge that is not straight.
const ROUGH: u32 = 16;

/// All points within `radius` of the profile's core, swept along the bore.
pub(super) struct Column<'a> {
    brep: &'a Brep,
    frame: Frame,
    half: Vec2,
    radius: f64,
    boxes: &'a Boxes,
    /// The edges at its height.
    near: Vec<usize>,
    /// Per face: its box, and whether it meets that of the column. All surfaces
    /// are ruled, so what is inside the loops is inside their box.
    faces: Vec<bool>,
    outlines: Vec<OnceCell<Vec<Outline>>>,
    owners: Vec<[Option<usize>; 2]>,
}

/// A loop: its box, and as a polygon in the local coordinates of its surface.
struct Outline {
    around: Box3,
    polygon: OnceCell<Vec<(f64, f64)>>,
}

impl<'a> Column<'a> {
    /// `boxes` are those of all edges and faces of `brep`.
    pub(super) fn new(
        brep: &'a Brep,
        boxes: &'a Boxes,
        frame: Frame,
        half: Vec2,
        radius: f64,
    ) -> Column<'a> {
        let outlines = (0..brep.faces.len()).map(|_| OnceCell::new()).collect();
        let owners = edge_owners(brep);
        let reach = half.y.abs() + radius + CLEAR;
        let near = boxes.between(frame.centre.y - reach, frame.centre.y + reach);
        let mut column =
            Column { brep, frame, half, radius, boxes, near, faces: Vec::new(), outlines, owners };
        column.faces = boxes.faces.iter().map(|&around| column.meets(around)).collect();
        column
    }

    /// Whether a box meets the one around the column.
    fn meets(&self, Box3(low, high): Box3) -> bool {
        let reach = self.half.map(f64::abs) + Vec2::repeat(self.radius + CLEAR);
        let (mid, size) = ((low + high) * 0.5, (high - low) * 0.5);
        let off = self.frame.local(mid).0 - self.frame.centre;
        let across = self.frame.across.abs().dot(&size);
        off.x.abs() <= reach.x + across && off.y.abs() <= reach.y + size.z
    }

    /// The spans to be drilled, in order; at least one.
    pub(super) fn spans(&self, bore: &CrossBore) -> Result<Vec<Span>, BoreError> {
        let hits = self.hits(bore)?;
        let mut spans = Vec::new();
        for pair in hits.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if a.entering && !b.entering && a.t >= bore.start {
                spans.push(self.span(bore, &a, &b)?);
                if bore.end != BoreEnd::AllWalls {
                    break;
                }
            }
        }
        if spans.is_empty() {
            return Err(BoreError::NoWall { z: bore.z });
        }
        for span in &mut spans {
            span.seam_in = self.seam(span.face_in, (span.first_in, span.last_in));
            span.seam_out = self.seam(span.face_out, (span.first_out, span.last_out));
        }
        // The tool comes from its start, and may not touch anything by halves.
        let end = match (bore.end, &spans[..]) {
            (BoreEnd::Depth(depth), [first, ..]) => first.centre_in + depth + CLEAR,
            (BoreEnd::NextWall, [first, ..]) => first.last_out + CLEAR,
            _ => f64::INFINITY,
        };
        self.refuse_edges(bore, &spans, bore.start, end)?;
        self.refuse_silhouettes(bore, bore.start, end)?;
        Ok(spans)
    }

    /// The seam of a wall, met between two distances along the bore, that runs
    /// through the whole column, if there is one.
    fn seam(&self, face: usize, (near, far): (f64, f64)) -> Option<Seam> {
        let wall = &self.brep.faces[face];
        self.near.iter().find_map(|&edge| {
            let e = &self.brep.edges[edge];
            let [Some(f), Some(g)] = self.owners[edge] else { return None };
            if !self.meets(self.boxes.edges[edge]) {
                return None;
            }
            let ours = same_surface(wall, &self.brep.faces[f]) && (f == face || g == face);
            if f == g || !ours || !same_surface(wall, &self.brep.faces[g]) {
                return None;
            }
            let Curve::Line { from, to } = e.curve else { return None };
            let ((p, t), (q, _)) = (self.frame.local(from), self.frame.local(to));
            let (low, high) = (p.y.min(q.y), p.y.max(q.y));
            let reach = self.half.y.abs() + self.radius + CLEAR;
            let across = p.x - self.frame.centre.x;
            let runs_through = (p.x - q.x).abs() <= PARALLEL
                && t >= near - CLEAR
                && t <= far + CLEAR
                && low < self.frame.centre.y - reach
                && high > self.frame.centre.y + reach
                && across.abs() < self.half.x.abs() + self.radius - CLEAR;
            runs_through.then_some(Seam { edge, across: p.x })
        })
    }

    /// Where the bore meets faces, in order.
    fn hits(&self, bore: &CrossBore) -> Result<Vec<Hit>, BoreError> {
        // Beside the centre, so that no seam runs through the point; inside the
        // column every wall is met or missed as a whole.
        let probe = self.frame.centre + Vec2::new(0.317, 0.211) * self.radius;
        let mut hits = Vec::new();
        for (f, face) in self.brep.faces.iter().enumerate().filter(|&(f, _)| self.faces[f]) {
            if let Surface::Cone { .. } = face.surface {
                self.refuse_cone(bore, f)?;
                continue;
            }
            for entering in [true, false] {
                let wall = Wall::new(face, entering);
                let t = wall.depth(&self.frame, self.frame.centre);
                let p = self.frame.lift(probe, wall.depth(&self.frame, probe));
                if !t.is_finite() || !self.on_face(f, p) {
                    continue;
                }
                let facing = outward(face, p).dot(&self.frame.along);
                if (facing < 0.0) == entering {
                    hits.push(Hit { t, face: f, entering });
                }
            }
        }
        hits.sort_by(|p, q| p.t.total_cmp(&q.t));
        Ok(hits)
    }

    fn span(&self, bore: &CrossBore, a: &Hit, b: &Hit) -> Result<Span, BoreError> {
        let (first_in, last_in) = self.range(bore, a)?;
        let (first_out, last_out) = self.range(bore, b)?;
        Ok(Span {
            face_in: a.face,
            face_out: b.face,
            centre_in: a.t,
            first_in,
            last_in,
            first_out,
            last_out,
            clear: CLEAR,
            noise: 1e-9,
            seam_in: None,
            seam_out: None,
        })
    }

    /// Least and largest distance at which the profile meets a wall.
    fn range(&self, bore: &CrossBore, hit: &Hit) -> Result<(f64, f64), BoreError> {
        /// Points across the profile; the walls are planes and cylinders, whose
        /// depth is smooth in both directions.
        const STEPS: i32 = 32;
        let wall = Wall::new(&self.brep.faces[hit.face], hit.entering);
        let reach = self.half.map(f64::abs) + Vec2::repeat(self.radius);
        let mut range = (f64::INFINITY, f64::NEG_INFINITY);
        for i in 0..=STEPS {
            let s = f64::from(2 * i - STEPS) / f64::from(STEPS);
            for step in [Vec2::new(reach.x * s, 0.0), Vec2::new(0.0, reach.y * s)] {
                let t = wall.depth(&self.frame, self.frame.centre + step);
                if t.is_nan() {
                    let at = self.frame.lift(self.frame.centre + step, hit.t);
                    return Err(BoreError::Grazes { z: bore.z, at });
                }
                range = (range.0.min(t), range.1.max(t));
            }
        }
        Ok(range)
    }

    /// How deep a profile point lies inside the column, and the least move of
    /// the bore that brings it out.
    fn depth_inside(&self, p: Vec2) -> Option<(f64, Vec2)> {
        let off = p - self.frame.centre;
        let len2 = self.half.norm_squared();
        let along = if len2 > 0.0 { (off.dot(&self.half) / len2).clamp(-1.0, 1.0) } else { 0.0 };
        let from_core = off - self.half * along;
        let d = from_core.norm();
        let inside = self.radius + CLEAR - d;
        let away = if d > 0.0 { -from_core / d } else { Vec2::new(0.0, 1.0) };
        (inside > 0.0).then(|| (inside, away * inside))
    }

    fn refuse_edges(
        &self,
        bore: &CrossBore,
        spans: &[Span],
        low: f64,
        high: f64,
    ) -> Result<(), BoreError> {
        let mut worst: Option<(f64, Vec2, Vec3)> = None;
        for &index in &self.near {
            let edge = &self.brep.edges[index];
            // Edges that a bore has cut in two are still there, without faces.
            let unused = self.owners[index] == [None; 2];
            if unused || !self.meets(self.boxes.edges[index]) || self.may_cut(bore, spans, index) {
                continue;
            }
            let (t0, t1) = edge.curve.range();
            let steps = self.steps(&edge.curve);
            for i in 0..=steps {
                let s = f64::from(i) / f64::from(steps);
                let at = edge.curve.point(t0 + (t1 - t0) * s);
                let (p, t) = self.frame.local(at);
                if t < low || t > high {
                    continue;
                }
                if let Some((inside, move_by)) = self.depth_inside(p)
                    && worst.is_none_or(|w| inside > w.0)
                {
                    worst = Some((inside, move_by, at));
                }
            }
        }
        match worst {
            None => Ok(()),
            Some((_, move_by, at)) => Err(BoreError::CrossesEdge { z: bore.z, at, move_by }),
        }
    }

    /// Whether an edge is a seam that the bore may cut through. A cone can only
    /// be cut along its middle generators.
    fn may_cut(&self, bore: &CrossBore, spans: &[Span], edge: usize) -> bool {
        let sunk = matches!(bore.mouth, Mouth::Countersink { .. });
        spans.iter().flat_map(|s| [s.seam_in, s.seam_out]).flatten().any(|s| {
            s.edge == edge && (!sunk || (s.across - self.frame.centre.x).abs() <= PARALLEL)
        })
    }

    /// Samples along an edge, fine enough that a graze between two of them is
    /// shallower than the clearance.
    fn steps(&self, curve: &Curve) -> u32 {
        let (t0, t1) = curve.range();
        let rough = if matches!(curve, Curve::Line { .. }) { 1 } else { ROUGH };
        let at = |i: u32| curve.point(t0 + (t1 - t0) * f64::from(i) / f64::from(rough));
        let length: f64 = (0..rough).map(|i| (at(i + 1) - at(i)).norm()).sum();
        let fine = (8.0 * self.radius * 0.5 * CLEAR).sqrt();
        (length / fine).ceil().clamp(1.0, 20_000.0) as u32
    }

    /// Cylinders turn away from the bore along their silhouettes.
    fn refuse_silhouettes(&self, bore: &CrossBore, low: f64, high: f64) -> Result<(), BoreError> {
        const STEPS: i32 = 64;
        for (f, face) in self.brep.faces.iter().enumerate().filter(|&(f, _)| self.faces[f]) {
            let Surface::Cylinder { origin, axis, radius, .. } = face.surface else { continue };
            let side = self.frame.along.cross(&axis);
            let slope = self.frame.local(axis).0;
            if side.norm() <= PARALLEL || slope.norm() <= PARALLEL {
                continue;
            }
            let side = side / side.norm() * radius;
            for base in [origin + side, origin - side] {
                let p = self.frame.local(base).0;
                let nearest = (self.frame.centre - p).dot(&slope) / slope.norm_squared();
                let reach = (self.half.norm() + self.radius + CLEAR) / slope.norm();
                for i in -STEPS..=STEPS {
                    let s = nearest + reach * f64::from(i) / f64::from(STEPS);
                    let at = base + axis * s;
                    let (p, t) = self.frame.local(at);
                    let inside = t >= low && t <= high && self.depth_inside(p).is_some();
                    if inside && self.on_face(f, at) {
                        return Err(BoreError::Grazes { z: bore.z, at });
                    }
                }
            }
        }
        Ok(())
    }

    /// A chamfer or countersink anywhere in the column is refused.
    fn refuse_cone(&self, bore: &CrossBore, face: usize) -> Result<(), BoreError> {
        for u in self.brep.faces[face].loops.iter().flatten() {
            let curve = &self.brep.edges[u.edge as usize].curve;
            let (t0, t1) = curve.range();
            for i in 0..=16 {
                let at = curve.point(t0 + (t1 - t0) * f64::from(i) / 16.0);
                let (p, t) = self.frame.local(at);
                if t >= bore.start && self.depth_inside(p).is_some() {
                    return Err(BoreError::Grazes { z: bore.z, at });
                }
            }
        }
        Ok(())
    }

    /// Whether a point of a face's surface lies inside its loops.
    fn on_face(&self, face: usize, p: Vec3) -> bool {
        let f = &self.brep.faces[face];
        let outlines = self.outlines[face].get_or_init(|| {
            let each = |uses: &Vec<EdgeUse>| Outline {
                around: self.boxes.around(uses),
                polygon: OnceCell::new(),
            };
            f.loops.iter().map(each).collect()
        });
        let (x, y) = f.surface.local(p);
        let turns: &[f64] = match f.surface {
            Surface::Plane { .. } => &[0.0],
            _ => &[0.0, 2.0 * PI, -2.0 * PI],
        };
        let mut odd = [false; 3];
        for (outline, uses) in outlines.iter().zip(&f.loops) {
            if !outline.around.holds(p) {
                continue;
            }
            let polygon = outline.polygon.get_or_init(|| polygon(self.brep, f, uses));
            for (odd, turn) in odd.iter_mut().zip(turns) {
                *odd ^= inside(polygon, x + turn, y);
            }
        }
        odd.contains(&true)
    }
}

/// Sine of the angle below which a cylinder's axis is parallel to the bore.
const PARALLEL: f64 = 1e-9;

#[derive(Clone, Copy)]
struct Hit {
    t: f64,
    face: usize,
    entering: bool,
}

fn outward(face: &Face, p: Vec3) -> Vec3 {
    let n = face.surface.normal(p);
    if face.flipped { -n } else { n }
}

fn polygon(brep: &Brep, face: &Face, uses: &[EdgeUse]) -> Vec<(f64, f64)> {
    let round = !matches!(face.surface, Surface::Plane { .. });
    let mut polygon: Vec<(f64, f64)> = Vec::new();
    for &u in uses {
        let curve = &brep.edges[u.edge as usize].curve;
        let (a, b) = curve.range();
        let steps = if !round && matches!(curve, Curve::Line { .. }) { 1 } else { 24 };
        for i in 0..steps {
            let s = f64::from(i) / f64::from(steps);
            let t = if u.forward { a + (b - a) * s } else { b + (a - b) * s };
            let (mut x, y) = face.surface.local(curve.point(t));
            if round && let Some(&(px, _)) = polygon.last() {
                x += ((px - x) / (2.0 * PI)).round() * 2.0 * PI;
            }
            polygon.push((x, y));
        }
    }
    polygon
}

/// Even-odd rule.
fn inside(polygon: &[(f64, f64)], x: f64, y: f64) -> bool {
    let mut odd = false;
    for (i, &(x0, y0)) in polygon.iter().enumerate() {
        let (x1, y1) = polygon[(i + 1) % polygon.len()];
        if (y0 > y) != (y1 > y) && x < x0 + (x1 - x0) * (y - y0) / (y1 - y0) {
            odd = !odd;
        }
    }
    odd
}
