//! Polygons with holes into triangles, by constrained Delaunay triangulation.

use spade::{ConstrainedDelaunayTriangulation, HasPosition, Point2, Triangulation};

use super::outline::{Outline, Reason};

/// The triangles' area may differ from the outline's by this share of the sum
/// of the terms that make it up (float noise).
const AREA_EPSILON: f64 = 1e-9;

/// Stretch along y before the Delaunay step. Corners sampled on one arc are
/// cocircular, which costs the in-circle test its exact arithmetic each time;
/// on an ellipse it is decided at once, and the triangles are as good.
const PLANE_STRETCH: f64 = 1.0625;

/// The same for round walls, where y runs along the axis. Seen foreshortened,
/// triangles reach along the generators rather than across them: one that is
/// wide and low lies askew to the wall although its corners are on it.
const WALL_STRETCH: f64 = 0.0625;

/// Shear along x for the same reason: it parts the corners of rectangles, which
/// are cocircular at any stretch.
const SHEAR: f64 = 0.013;

/// Where and why an outline cannot be filled: a corner, and the reason.
pub(super) type Fault = (usize, Reason);

/// Triangulates outlines; the buffers are kept between faces.
#[derive(Default)]
pub(super) struct Filler {
    /// Per mesh vertex: its point in the face at hand.
    point_of: Vec<u32>,
    /// Per corner: its point.
    points: Vec<u32>,
    /// Per corner: the next one in its loop.
    next: Vec<u32>,
    /// Per point: its first corner.
    corner: Vec<u32>,
    /// Per corner: another corner at the same point.
    twin: Vec<u32>,
    lines: Vec<(i64, f64, u32)>,
}

const NONE: u32 = u32::MAX;

struct At(Point2<f64>);

impl HasPosition for At {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.0
    }
}

impl Filler {
    /// Fills the outline with triangles of corner indices. No triangle passes
    /// over a line of the grid.
    pub(super) fn fill(
        &mut self,
        outline: &Outline,
        vertices: usize,
        out: &mut Vec<[u32; 3]>,
    ) -> Result<(), Fault> {
        let before = out.len();
        self.number(outline, vertices);
        let mut edges: Vec<[usize; 2]> = (0..self.points.len())
            .map(|c| [self.points[c] as usize, self.points[self.next[c] as usize] as usize])
            .collect();
        if !outline.q.is_empty() {
            self.chords(outline, &mut edges);
        }
        let stretch = if outline.q.is_empty() { PLANE_STRETCH } else { WALL_STRETCH };
        let sites: Vec<At> = self
            .corner
            .iter()
            .map(|&c| {
                let [x, y] = outline.at[c as usize];
                At(spade::mitigate_underflow(Point2::new(x + SHEAR * stretch * y, stretch * y)))
            })
            .collect();
        let count = sites.len();
        let mut conflict = None;
        let cdt = ConstrainedDelaunayTriangulation::<At>::try_bulk_load_cdt(sites, edges, |e| {
            conflict.get_or_insert(e[0]);
        });
        let crossing =
            |point: usize| (self.corner[point.min(count - 1)] as usize, Reason::Crossing);
        if let Some(point) = conflict {
            return Err(crossing(point));
        }
        let cdt = match cdt {
            Ok(cdt) if cdt.num_vertices() == count => cdt,
            _ => return Err(crossing(0)),
        };
        self.flood(&cdt, out)?;
        self.verify(outline, &out[before..])
    }

    /// Gives each mesh vertex of the outline one point and links the corners.
    fn number(&mut self, outline: &Outline, vertices: usize) {
        self.point_of.resize(vertices, NONE);
        self.points.clear();
        self.corner.clear();
        self.twin.clear();
        self.next.clear();
        for range in outline.loops() {
            self.next.extend(range.clone().map(|c| c as u32 + 1));
            self.next[range.end - 1] = range.start as u32;
        }
        for (c, &id) in outline.ids.iter().enumerate() {
            let point = &mut self.point_of[id as usize];
            if *point == NONE {
                *point = self.corner.len() as u32;
                self.corner.push(c as u32);
                self.twin.push(NONE);
            } else {
                let first = &mut self.corner[*point as usize];
                self.twin.push(*first);
                *first = c as u32;
            }
            self.points.push(*point);
        }
        for &id in &outline.ids {
            self.point_of[id as usize] = NONE;
        }
    }

    /// Joins neighbouring corners on each grid line.
    fn chords(&mut self, outline: &Outline, edges: &mut Vec<[usize; 2]>) {
        self.lines.clear();
        for (c, &q) in outline.q.iter().enumerate() {
            if q == q.round() {
                self.lines.push((q as i64, outline.at[c][1], self.points[c]));
            }
        }
        self.lines.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
        for w in self.lines.windows(2) {
            let (a, b) = (w[0].2, w[1].2);
            if w[0].0 == w[1].0 && a != b && !self.is_border(a, b) && !self.is_border(b, a) {
                edges.push([a as usize, b as usize]);
            }
        }
    }

    /// Whether the boundary runs from point `a` straight to point `b`.
    fn is_border(&self, a: u32, b: u32) -> bool {
        let mut c = self.corner[a as usize];
        while c != NONE {
            if self.points[self.next[c as usize] as usize] == b {
                return true;
            }
            c = self.twin[c as usize];
        }
        false
    }

    /// Collects the triangles to the left of the boundary.
    fn flood(
        &self,
        cdt: &ConstrainedDelaunayTriangulation<At>,
        out: &mut Vec<[u32; 3]>,
    ) -> Result<(), Fault> {
        let inside_out = |p: u32| (self.corner[p as usize] as usize, Reason::InsideOut);
        let mut seen = vec![false; cdt.num_all_faces()];
        let mut stack = Vec::new();
        for edge in cdt.directed_edges() {
            let (a, b) = (edge.from().index() as u32, edge.to().index() as u32);
            if self.is_border(a, b) {
                let face = edge.face().as_inner().ok_or_else(|| inside_out(a))?;
                if !std::mem::replace(&mut seen[face.index()], true) {
                    stack.push(face);
                }
            }
        }
        while let Some(face) = stack.pop() {
            for edge in face.adjacent_edges() {
                let (a, b) = (edge.from().index() as u32, edge.to().index() as u32);
                if self.is_border(a, b) {
                    continue;
                }
                if self.is_border(b, a) {
                    return Err(inside_out(a));
                }
                let other = edge.rev().face().as_inner().ok_or_else(|| inside_out(a))?;
                if !std::mem::replace(&mut seen[other.index()], true) {
                    stack.push(other);
                }
            }
            let [a, b, c] = face.vertices().map(|v| self.corner[v.index()]);
            out.push([a, b, c]);
        }
        Ok(())
    }

    /// Euler's formula and the area: nothing missing, nothing twice.
    fn verify(&self, outline: &Outline, triangles: &[[u32; 3]]) -> Result<(), Fault> {
        let (corners, points) = (self.points.len(), self.corner.len());
        let loops = outline.starts.len() - 1;
        // Each point where loops touch joins two corners in one.
        if triangles.is_empty() {
            return Err((0, Reason::Degenerate));
        }
        if triangles.len() + 2 + 2 * (corners - points) != corners + 2 * (loops - 1) {
            return Err((0, Reason::Crossing));
        }
        let cross = |a: [f64; 2], b: [f64; 2]| a[0] * b[1] - a[1] * b[0];
        let base = outline.at[0];
        let from = |c: u32| {
            let p = outline.at[c as usize];
            [p[0] - base[0], p[1] - base[1]]
        };
        let (mut border, mut noise) = (0.0, 0.0);
        for c in 0..corners {
            let term = cross(from(c as u32), from(self.next[c]));
            border += term;
            noise += term.abs();
        }
        let filled: f64 = triangles
            .iter()
            .map(|&[a, b, c]| {
                let (a, b, c) = (from(a), from(b), from(c));
                cross([b[0] - a[0], b[1] - a[1]], [c[0] - a[0], c[1] - a[1]])
            })
            .sum();
        if (filled - border).abs() > AREA_EPSILON * noise {
            return Err((0, Reason::Crossing));
        }
        Ok(())
    }
}
