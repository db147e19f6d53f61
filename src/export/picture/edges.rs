//! The lines of the picture: sharp edges between faces, and outlines.

use super::SAMPLES;
use super::scene::CREASE_COS;
use crate::measure::Vec3;
use crate::mesh::Mesh;

/// Width of a sharp edge, pixels.
const CREASE_WIDTH: f64 = 1.1;

/// Width of an outline, pixels.
const OUTLINE_WIDTH: f64 = 1.7;

/// A line from one place to another: samples right and down, mm deep.
pub(super) struct Line {
    pub(super) from: Vec3,
    pub(super) to: Vec3,
    /// Half width, samples.
    pub(super) half: f64,
    /// Number of the body that it is of; none for strokes.
    pub(super) body: Option<usize>,
}

impl Line {
    pub(super) fn new(from: Vec3, to: Vec3, width: f64) -> Line {
        Line { from, to, half: 0.5 * width * SAMPLES as f64, body: None }
    }
}

/// The lines of one mesh that may be seen, or all if hidden ones are wanted too;
/// `points` and `flat` are its vertices and triangle normals in the picture's frame.
pub(super) fn lines(mesh: &Mesh, points: &[Vec3], flat: &[Vec3], hidden: bool) -> Vec<Line> {
    let mut out = Vec::new();
    for ([a, b], [i, j]) in mesh.edges() {
        let (front, other) = (flat[i].z < 0.0, flat[j].z < 0.0);
        let sharp = mesh.face_of()[i] != mesh.face_of()[j] && flat[i].dot(&flat[j]) < CREASE_COS;
        let width = match (front, other) {
            (false, false) if !hidden => continue,
            (true, true) | (false, false) if sharp => CREASE_WIDTH,
            (true, true) | (false, false) => continue,
            _ => OUTLINE_WIDTH,
        };
        out.push(Line::new(points[a as usize], points[b as usize], width));
    }
    out
}
