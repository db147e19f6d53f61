//! The lines of a view: which edges and outlines an eye sees, which are hidden, and what a
//! section cuts.
//!
//! The edges are those of the exact solid, as its mesh samples them; outlines of round faces
//! are the edges of the mesh between triangles that face the eye and others. Visibility can
//! change only where a line passes behind such an outline, so each is split at all of these,
//! and one point of each piece is looked at.

use super::Eye;
use super::grid::Grid;
use super::join::{Stroke, joined};
use super::section;
use crate::measure::{Vec2, Vec3};
use crate::mesh::{ChordTolerance, Mesh, MeshError, tessellate};
use crate::solid::{FaceId, Solid};

/// How far lines of a view may be from the exact ones, mm of the body: the chord of the mesh
/// that they are taken from.
pub const LINE_TOLERANCE: f64 = 0.005;

/// Largest angle between neighbouring chords of a round line, radians: 6 degrees, so that a
/// small hole looks round on paper.
const LINE_ANGLE: f64 = 0.104_719_755;

/// Faces that meet at a smaller angle get no line: cosine of 10 degrees. Above the angles
/// between the stretches of a stone's seat, and between the tapers of a dome. Common
/// practice, no source.
const SHARP_COS: f64 = 0.984_807_753;

/// A triangle whose unit normal has no more than this towards the eye is seen from its edge.
const EDGE_ON: f64 = 1e-6;

/// What lies this much nearer to the eye hides a point, mm: above float noise on steep
/// triangles, below what a printer makes.
const NEARER: f64 = 2e-3;

/// Points closer than this in the view are one, mm: float noise.
const SAME: f64 = 1e-6;

/// Ends of outlines this close to a line split it, mm.
const BESIDE: f64 = 1e-4;

/// The lines of a view in its plane, mm; each a run of points.
#[derive(Clone, Debug)]
pub struct ViewLines {
    eye: Eye,
    scene: Scene,
    /// What the eye sees.
    pub seen: Vec<Vec<Vec2>>,
    /// What is hidden from it; where a seen line covers a hidden one, only the seen one is
    /// there.
    pub hidden: Vec<Vec<Vec2>>,
    /// Where the section cuts material: closed outlines.
    pub cut: Vec<Vec<Vec2>>,
}

impl ViewLines {
    /// The eye that sees them.
    pub fn eye(&self) -> &Eye {
        &self.eye
    }

    /// Whether the eye sees a point outside of the body's material, mm in the handle's frame:
    /// nothing lies before it, and the section has not taken its surroundings away.
    pub fn sees(&self, p: Vec3) -> bool {
        let p = self.eye.see(p);
        self.scene.cut.is_none_or(|cut| p.z <= cut + NEARER) && !self.scene.hides(p)
    }

    /// Hatching of what the section cuts: lines at 45 degrees, `spacing` mm apart.
    pub fn hatched(&self, spacing: f64) -> Vec<[Vec2; 2]> {
        section::hatch(&self.scene.section, spacing)
    }

    /// Total length of some runs, mm.
    pub fn length(runs: &[Vec<Vec2>]) -> f64 {
        runs.iter().flat_map(|run| run.windows(2)).map(|w| (w[1] - w[0]).norm()).sum()
    }
}

/// The mesh that the lines of views are taken from.
///
/// # Errors
/// The solid cannot be meshed within [`LINE_TOLERANCE`].
pub fn line_mesh(solid: &Solid) -> Result<Mesh, MeshError> {
    tessellate(solid, &ChordTolerance { chord: LINE_TOLERANCE, max_angle: LINE_ANGLE })
}

/// The lines of a solid, with its [`line_mesh`], for an eye. With `cut`, what lies nearer to
/// the eye than this, mm along [`Eye::toward`], is taken away, and hidden lines are left out.
pub fn view_lines(solid: &Solid, mesh: &Mesh, eye: &Eye, cut: Option<f64>) -> ViewLines {
    let scene = Scene::new(solid, mesh, eye, cut);
    let (mut seen, mut hidden) = (Vec::new(), Vec::new());
    for &(from, to) in &scene.edges {
        for (a, b) in scene.pieces(from, to) {
            let stroke = Stroke::new(a.xy(), b.xy());
            match scene.hides(0.5 * (a + b)) {
                true => hidden.push(stroke),
                false => seen.push(stroke),
            }
        }
    }
    let section: Vec<Stroke> = scene.section.iter().map(|[a, b]| Stroke::new(*a, *b)).collect();
    if cut.is_some() {
        hidden.clear();
    }
    let seen_runs = joined(&seen, &section);
    let cut = joined(&section, &[]);
    seen.extend(section);
    ViewLines { eye: *eye, scene, seen: seen_runs, hidden: joined(&hidden, &seen), cut }
}

/// A body before an eye.
#[derive(Clone, Debug)]
struct Scene {
    /// Edges and outlines to draw: right, up, towards the eye.
    edges: Vec<(Vec3, Vec3)>,
    /// Outlines behind which visibility changes.
    outlines: Vec<[Vec2; 2]>,
    outline_grid: Grid,
    /// Triangles that face the eye.
    covers: Vec<[Vec3; 3]>,
    cover_grid: Grid,
    /// Where it is cut, and the pieces of that outline.
    cut: Option<f64>,
    section: Vec<[Vec2; 2]>,
}

impl Scene {
    fn new(solid: &Solid, mesh: &Mesh, eye: &Eye, cut: Option<f64>) -> Scene {
        let points: Vec<Vec3> = mesh.vertices().iter().map(|&p| eye.see(p)).collect();
        let corners = |i: usize| mesh.triangles()[i].map(|v| points[v as usize]);
        let faces_eye = |i: usize| {
            let [a, b, c] = corners(i);
            (b - a).cross(&(c - a)).normalize().z > EDGE_ON
        };
        let front: Vec<bool> = (0..mesh.triangles().len()).map(faces_eye).collect();
        let (mut edges, mut outlines) = (Vec::new(), Vec::new());
        for ([a, b], [i, j]) in mesh.edges() {
            let outline = front[i] != front[j];
            let at = 0.5 * (mesh.vertices()[a as usize] + mesh.vertices()[b as usize]);
            if !outline && !is_sharp(solid, mesh.face_of()[i], mesh.face_of()[j], at) {
                continue;
            }
            let (a, b) = (points[a as usize], points[b as usize]);
            let Some((a, b)) = section::below(a, b, cut) else { continue };
            if (b - a).xy().norm() < SAME {
                continue;
            }
            edges.push((a, b));
            if outline {
                outlines.push([a.xy(), b.xy()]);
            }
        }
        let (mut covers, mut section) = (Vec::new(), Vec::new());
        for (i, &front) in front.iter().enumerate() {
            if front {
                covers.extend(section::remains(corners(i), cut));
            }
            section.extend(cut.and_then(|at| section::cut_triangle(corners(i), at)));
        }
        outlines.extend(section.iter().copied());
        let outline_grid = Grid::new(&outlines.iter().map(|l| around(l)).collect::<Vec<_>>());
        let flat = |t: &[Vec3; 3]| around(&t.map(|p| p.xy()));
        let cover_grid = Grid::new(&covers.iter().map(flat).collect::<Vec<_>>());
        Scene { edges, outlines, outline_grid, covers, cover_grid, cut, section }
    }

    /// An edge, split where it may pass behind an outline.
    fn pieces(&self, from: Vec3, to: Vec3) -> Vec<(Vec3, Vec3)> {
        let (a, b) = (from.xy(), to.xy());
        let way = b - a;
        let length = way.norm();
        let (low, high) = around(&[a, b]);
        let mut splits = vec![0.0, 1.0];
        for number in self.outline_grid.near(low, high) {
            let [p, q] = self.outlines[number as usize];
            let side = |x: Vec2| way.perp(&(x - a)) / length;
            let along = |x: Vec2| way.dot(&(x - a)) / (length * length);
            let (u, v) = (side(p), side(q));
            splits
                .extend([(p, u), (q, v)].iter().filter(|e| e.1.abs() < BESIDE).map(|e| along(e.0)));
            if (u < 0.0) != (v < 0.0) {
                splits.push(along(p + (q - p) * (u / (u - v))));
            }
        }
        let least = SAME / length;
        splits.retain(|t| (0.0..=1.0).contains(t));
        splits.sort_by(f64::total_cmp);
        splits.dedup_by(|t, before| *t - *before < least);
        let at = |t: f64| from + (to - from) * t;
        splits.windows(2).map(|w| (at(w[0]), at(w[1]))).collect()
    }

    /// Whether something lies between a point of the body and the eye.
    fn hides(&self, p: Vec3) -> bool {
        if let Some(cut) = self.cut
            && p.z < cut - NEARER
            && section::encloses(&self.section, p.xy())
        {
            return true;
        }
        let over = |&number: &u32| {
            depth_at(&self.covers[number as usize], p.xy()).is_some_and(|z| z > p.z + NEARER)
        };
        self.cover_grid.at(p.xy()).iter().any(over)
    }
}

/// Whether two faces of the solid meet at an angle that gets a line.
fn is_sharp(solid: &Solid, one: FaceId, other: FaceId, at: Vec3) -> bool {
    let normal = |id: FaceId| {
        let face = &solid.faces()[id as usize];
        face.surface.normal(at) * if face.flipped { -1.0 } else { 1.0 }
    };
    one != other && normal(one).dot(&normal(other)) < SHARP_COS
}

/// How far towards the eye a triangle is at a place of the view, if it is there, its border
/// included.
fn depth_at(triangle: &[Vec3; 3], p: Vec2) -> Option<f64> {
    let [a, b, c] = triangle;
    let twice = (b - a).xy().perp(&(c - a).xy());
    let mut depth = 0.0;
    for (from, to, far) in [(b, c, a), (c, a, b), (a, b, c)] {
        let side = (to - from).xy();
        let over = side.perp(&(p - from.xy()));
        if over < -SAME * side.norm() {
            return None;
        }
        depth += far.z * over / twice;
    }
    Some(depth)
}

/// Lower and upper corner of the box around some points.
fn around(points: &[Vec2]) -> (Vec2, Vec2) {
    let first = points[0];
    points.iter().fold((first, first), |(low, high), p| (low.inf(p), high.sup(p)))
}
