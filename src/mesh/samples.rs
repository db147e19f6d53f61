//! The points at which each edge is cut: once per edge, shared by both faces.

use super::ChordTolerance;
use super::grid::{AngleGrid, Grids};
use crate::measure::Vec3;
use crate::solid::{Brep, Curve, EdgeId, EdgeUse, FaceId, VertexId};

/// Pieces per radian in which an ellipse is first looked at.
const PROBES_PER_RADIAN: f64 = 8.0;

/// Fewest and most pieces in which a curve is first looked at.
const PROBE_LIMITS: (f64, f64) = (8.0, 256.0);

/// Steps to find where a curve crosses a grid line; six do as a rule.
const ROOT_STEPS: usize = 100;

/// The crossing is found when it is this near to the line, in steps of the grid
/// (float noise).
const ROOT_EPSILON: f64 = 1e-12;

/// Half of a piece is split when it strays this much beyond the chord; the
/// pieces are sized by curvature first, so this is rare.
const CHORD_SLACK: f64 = 1.0 + 1e-3;

/// A count of pieces this little above a whole number is that number (float
/// noise).
const COUNT_EPSILON: f64 = 1e-6;

/// Two samples nearer than this many snap widths can be one.
const NEAR_SNAPS: f64 = 10.0;

/// The mesh vertices: those of the solid, then the inner samples edge by edge.
pub(super) struct Samples {
    /// Points, mm.
    pub(super) points: Vec<Vec3>,
    /// Per edge: index of its first inner sample; one more entry at the end.
    /// The vertices of the solid come before them all.
    first: Vec<u32>,
    /// Per vertex of the solid: its mesh vertex.
    vertex: Vec<u32>,
}

impl Samples {
    /// Samples all edges of `brep`.
    pub(super) fn new(
        brep: &Brep,
        sides: &[[FaceId; 2]],
        grids: &Grids,
        tolerance: &ChordTolerance,
        halvings: &[u32],
    ) -> Samples {
        let (vertex, mut points) = used_vertices(brep);
        let mut first = Vec::with_capacity(brep.edges.len() + 1);
        let mut cutter = Cutter::default();
        for (e, edge) in brep.edges.iter().enumerate() {
            first.push(points.len() as u32);
            let walls = sides[e].map(|f| grids.face(f));
            match &edge.curve {
                Curve::Line { .. } if walls.iter().flatten().all(|g| stays(g, brep, e)) => {}
                Curve::Circle { .. } if grids.edge(e as EdgeId).is_some() => {
                    let grid = grids.edge(e as EdgeId).expect("just seen");
                    let start = brep.vertices[edge.from as usize];
                    sample_circle(&edge.curve, start, grid, &mut points);
                }
                curve => {
                    let mut finer = *tolerance;
                    finer.chord /= f64::from(1u32 << halvings[e]);
                    cutter.sample(curve, walls, &finer, &mut points);
                }
            }
        }
        first.push(points.len() as u32);
        Samples { points, first, vertex }
    }

    /// Whether a mesh vertex is a vertex of the solid.
    pub(super) fn is_corner(&self, id: u32) -> bool {
        id < self.first[0]
    }

    /// The mesh vertices along an edge as a loop runs through it, without its
    /// end.
    pub(super) fn along(&self, brep: &Brep, u: EdgeUse) -> impl Iterator<Item = u32> + use<> {
        let (a, b) = (self.first[u.edge as usize], self.first[u.edge as usize + 1]);
        let start = self.vertex[brep.use_from(u) as usize];
        let forward = u.forward;
        std::iter::once(start)
            .chain((0..b - a).map(move |i| if forward { a + i } else { b - 1 - i }))
    }
}

/// Numbers the vertices that an edge uses; the others are left out.
fn used_vertices(brep: &Brep) -> (Vec<u32>, Vec<Vec3>) {
    let mut used = vec![false; brep.vertices.len()];
    for e in &brep.edges {
        used[e.from as usize] = true;
        used[e.to as usize] = true;
    }
    let mut vertex = vec![0; brep.vertices.len()];
    let mut points = Vec::with_capacity(4 * brep.vertices.len());
    for (i, &p) in brep.vertices.iter().enumerate() {
        vertex[i] = points.len() as VertexId;
        if used[i] {
            points.push(p);
        }
    }
    (vertex, points)
}

/// Whether a straight edge crosses no line of the grid: it is a generator.
fn stays(grid: &AngleGrid, brep: &Brep, e: usize) -> bool {
    let edge = &brep.edges[e];
    let a = grid.q(brep.vertices[edge.from as usize]);
    let b = grid.q_near(brep.vertices[edge.to as usize], a);
    (a - b).abs() <= grid.snap
}

/// Samples a circle where it crosses the grid of its own axis.
fn sample_circle(curve: &Curve, start: Vec3, grid: &AngleGrid, points: &mut Vec<Vec3>) {
    let Curve::Circle { centre, x, y, radius, from, to } = curve else { return };
    let turn = (to - from) / grid.step;
    let ahead = grid.turns_with(x.cross(y));
    let q0 = grid.q(start);
    let q1 = if ahead { q0 + turn } else { q0 - turn };
    let (low, high) = (q0.min(q1), q0.max(q1));
    let first = (low + grid.snap).floor() as i64 + 1;
    let last = (high - grid.snap).ceil() as i64 - 1;
    let at = |line: i64| centre + grid.direction(line) * *radius;
    if ahead {
        points.extend((first..=last).map(at));
    } else {
        points.extend((first..=last).rev().map(at));
    }
}

/// Cuts ellipses and traced curves; the buffers are kept between edges.
#[derive(Default)]
struct Cutter {
    t: Vec<f64>,
    p: Vec<Vec3>,
    /// Pieces needed from the start up to each probe.
    need: Vec<f64>,
    cuts: Vec<f64>,
}

impl Cutter {
    fn sample(
        &mut self,
        curve: &Curve,
        walls: [Option<&AngleGrid>; 2],
        tolerance: &ChordTolerance,
        points: &mut Vec<Vec3>,
    ) {
        self.probe(curve, tolerance);
        self.cuts.clear();
        self.cuts.extend([self.t[0], self.t[self.t.len() - 1]]);
        for grid in walls.into_iter().flatten() {
            self.cross(curve, grid);
        }
        self.cuts.sort_by(f64::total_cmp);
        for i in 1..self.cuts.len() {
            self.divide(curve, i, tolerance.chord, points);
            if i + 1 < self.cuts.len() {
                points.push(curve.point(self.cuts[i]));
            }
        }
    }

    /// Points along the curve and how many pieces it takes to reach them. A
    /// piece of length s with curvature k strays k s^2 / 8 from its chord and
    /// turns by k s.
    fn probe(&mut self, curve: &Curve, tolerance: &ChordTolerance) {
        let (from, to) = curve.range();
        self.t.clear();
        self.p.clear();
        self.need.clear();
        let mut before: Option<(Vec3, Vec3)> = None;
        let mut need = 0.0;
        let density = match curve {
            Curve::Traced { trace, .. } => trace.spans_per_unit(),
            _ => PROBES_PER_RADIAN,
        };
        let (fewest, most) = PROBE_LIMITS;
        let probes = ((to - from) * density).ceil().clamp(fewest, most) as usize;
        for i in 0..=probes {
            let t = if i == probes { to } else { from + (to - from) * i as f64 / probes as f64 };
            let p = curve.point(t);
            let tangent = curve.derivative(t);
            if let Some((q, other)) = before {
                let turn = other.cross(&tangent).norm().atan2(other.dot(&tangent));
                let by_chord = (turn * (p - q).norm() / (8.0 * tolerance.chord)).sqrt();
                need += by_chord.max(turn / tolerance.max_angle);
            }
            self.t.push(t);
            self.p.push(p);
            self.need.push(need);
            before = Some((p, tangent));
        }
    }

    /// Adds the parameters at which the curve crosses the lines of `grid`. The
    /// first two cuts are its ends.
    fn cross(&mut self, curve: &Curve, grid: &AngleGrid) {
        let near = NEAR_SNAPS * grid.snap * grid.step * grid.radius;
        let known: Vec<Vec3> = self.cuts.iter().map(|&t| curve.point(t)).collect();
        let mut a = grid.q(self.p[0]);
        for i in 0..self.p.len() - 1 {
            let b = grid.q_near(self.p[i + 1], a);
            let (low, high) = (a.min(b), a.max(b));
            let mut line = low.floor() + 1.0;
            if a > b {
                line = low.ceil();
            }
            while line < high || (line == high && b > a) {
                let t = crossing(curve, grid, line, (self.t[i], a), (self.t[i + 1], b));
                let p = curve.point(t);
                let taken = known.iter().enumerate().any(|(k, &other)| {
                    let q = grid.q_near(other, line);
                    (other - p).norm() <= near && grid.is_on(q, line, k < 2)
                });
                if !taken {
                    self.cuts.push(t);
                }
                line += 1.0;
            }
            a = b;
        }
    }

    /// Adds samples between the cuts `i - 1` and `i`.
    fn divide(&self, curve: &Curve, i: usize, chord: f64, points: &mut Vec<Vec3>) {
        let (a, b) = (self.cuts[i - 1], self.cuts[i]);
        let (start, end) =
            (interpolate(&self.t, &self.need, a), interpolate(&self.t, &self.need, b));
        let pieces = (end - start - COUNT_EPSILON).ceil().max(1.0) as usize;
        let mut before = (a, curve.point(a));
        for k in 1..=pieces {
            let t = if k == pieces {
                b
            } else {
                let need = start + (end - start) * k as f64 / pieces as f64;
                interpolate(&self.need, &self.t, need)
            };
            let p = curve.point(t);
            let middle = curve.point(0.5 * (before.0 + t));
            if off_chord(middle, before.1, p) > CHORD_SLACK * chord {
                points.push(middle);
            }
            if k < pieces {
                points.push(p);
            }
            before = (t, p);
        }
    }
}

/// Distance of `p` from the line through `a` and `b`.
fn off_chord(p: Vec3, a: Vec3, b: Vec3) -> f64 {
    let d = b - a;
    let length = d.norm();
    if length > 0.0 { (p - a).cross(&d).norm() / length } else { (p - a).norm() }
}

/// Where the curve meets grid line `line` between two probes `(t, q)` on its
/// two sides: by false position with the Illinois rule (M. Dowell and P.
/// Jarratt, BIT 11, 1971; from memory).
fn crossing(curve: &Curve, grid: &AngleGrid, line: f64, a: (f64, f64), b: (f64, f64)) -> f64 {
    let (mut low, mut high) = ((a.0, a.1 - line), (b.0, b.1 - line));
    // An end that lies on the line exactly is the crossing itself.
    if low.1 == 0.0 {
        return low.0;
    }
    if high.1 == 0.0 {
        return high.0;
    }
    for _ in 0..ROOT_STEPS {
        let t = high.0 - high.1 * (high.0 - low.0) / (high.1 - low.1);
        let f = grid.q_near(curve.point(t), line) - line;
        if f.abs() <= ROOT_EPSILON {
            return t;
        }
        if (f < 0.0) == (high.1 < 0.0) {
            low.1 *= 0.5;
        } else {
            low = high;
        }
        high = (t, f);
    }
    high.0
}

/// The piecewise linear function through `(xs, ys)`, `xs` not falling, at `x`.
fn interpolate(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let i = xs.partition_point(|&v| v < x).clamp(1, xs.len() - 1);
    let (x0, x1) = (xs[i - 1], xs[i]);
    let part = if x1 > x0 { ((x - x0) / (x1 - x0)).clamp(0.0, 1.0) } else { 1.0 };
    ys[i - 1] + (ys[i] - ys[i - 1]) * part
}
