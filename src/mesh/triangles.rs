//! The triangle mesh and the checks that make it closed.

use std::collections::HashMap;

use nalgebra::Matrix3;

use crate::measure::Vec3;
use crate::solid::FaceId;

/// A closed, consistently oriented triangle mesh: every directed edge occurs
/// once and so does its opposite, and no triangle has zero area, not even
/// after rounding to the 32-bit floats of an STL file. Triangles run
/// counter-clockwise seen from outside.
#[derive(Clone, Debug)]
pub struct Mesh {
    vertices: Vec<Vec3>,
    triangles: Vec<[u32; 3]>,
    face_of: Vec<FaceId>,
}

/// Why a set of triangles is not a [`Mesh`].
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MeshDefect {
    /// The number of face labels differs from the number of triangles.
    #[error("{triangles} triangles have {labels} face labels")]
    Labels {
        /// Number of triangles.
        triangles: usize,
        /// Number of labels.
        labels: usize,
    },
    /// A triangle names a vertex that does not exist.
    #[error("triangle {triangle} names a vertex that does not exist")]
    Index {
        /// Index of the triangle.
        triangle: usize,
    },
    /// A vertex is not finite.
    #[error("vertex {vertex} is not a finite point")]
    NotFinite {
        /// Index of the vertex.
        vertex: usize,
    },
    /// A triangle has no area once its corners are rounded to 32 bits.
    #[error("triangle at ({:.3}, {:.3}, {:.3}) has no area", at.x, at.y, at.z)]
    Degenerate {
        /// Index of the triangle.
        triangle: usize,
        /// Its centroid, mm.
        at: Vec3,
    },
    /// An edge is not shared by exactly two triangles in opposite senses.
    #[error("mesh is open or folded at ({:.3}, {:.3}, {:.3})", at.x, at.y, at.z)]
    Open {
        /// Midpoint of the edge, mm.
        at: Vec3,
    },
}

impl Mesh {
    /// Checks the triangles and makes them a mesh. `face_of` holds, for each
    /// triangle, the face of the solid it lies on.
    pub fn new(
        vertices: Vec<Vec3>,
        triangles: Vec<[u32; 3]>,
        face_of: Vec<FaceId>,
    ) -> Result<Mesh, MeshDefect> {
        if face_of.len() != triangles.len() {
            let (triangles, labels) = (triangles.len(), face_of.len());
            return Err(MeshDefect::Labels { triangles, labels });
        }
        if let Some(vertex) = vertices.iter().position(|p| !p.iter().all(|c| c.is_finite())) {
            return Err(MeshDefect::NotFinite { vertex });
        }
        let count = vertices.len();
        if let Some(triangle) =
            triangles.iter().position(|t| t.iter().any(|&v| v as usize >= count))
        {
            return Err(MeshDefect::Index { triangle });
        }
        check_areas(&vertices, &triangles)?;
        if let Some([a, b]) = open_edge(count, &triangles) {
            let at = 0.5 * (vertices[a as usize] + vertices[b as usize]);
            return Err(MeshDefect::Open { at });
        }
        Ok(Mesh { vertices, triangles, face_of })
    }

    /// A mesh of triangles that passed the checks of [`Mesh::new`].
    pub(super) fn checked(
        vertices: Vec<Vec3>,
        triangles: Vec<[u32; 3]>,
        face_of: Vec<FaceId>,
    ) -> Mesh {
        Mesh { vertices, triangles, face_of }
    }

    /// The mesh turned about the origin, which may stretch but not mirror it, then
    /// shifted, mm.
    pub fn moved(&self, turn: &Matrix3<f64>, shift: Vec3) -> Mesh {
        let vertices = self.vertices.iter().map(|p| turn * p + shift).collect();
        Mesh { vertices, ..self.clone() }
    }

    /// Corner points, mm.
    pub fn vertices(&self) -> &[Vec3] {
        &self.vertices
    }

    /// Triangles as indices into [`Mesh::vertices`].
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// For each triangle, the face of the solid it lies on.
    pub fn face_of(&self) -> &[FaceId] {
        &self.face_of
    }

    /// Every edge once, as its ends in the sense of the first of the two
    /// triangles beside it, with both.
    pub fn edges(&self) -> Vec<([u32; 2], [usize; 2])> {
        edges(&self.triangles)
    }

    /// The corner points of triangle `i`, mm.
    ///
    /// Panics if there is no such triangle, like slice indexing.
    pub fn corners(&self, i: usize) -> [Vec3; 3] {
        self.triangles[i].map(|v| self.vertices[v as usize])
    }

    /// Enclosed volume, mm3.
    pub fn volume(&self) -> f64 {
        let Some(&base) = self.vertices.first() else { return 0.0 };
        let six: f64 = (0..self.triangles.len())
            .map(|i| {
                // Measured from a vertex: far from the origin the terms
                // would cancel.
                let [a, b, c] = self.corners(i).map(|p| p - base);
                a.dot(&b.cross(&c))
            })
            .sum();
        six / 6.0
    }

    /// Surface area, mm2.
    pub fn area(&self) -> f64 {
        (0..self.triangles.len())
            .map(|i| {
                let [a, b, c] = self.corners(i);
                0.5 * (b - a).cross(&(c - a)).norm()
            })
            .sum()
    }

    /// Lowest and highest coordinates `(min, max)`, mm.
    pub fn bounds(&self) -> (Vec3, Vec3) {
        let first = self.vertices.first().copied().unwrap_or_else(Vec3::zeros);
        self.vertices.iter().fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)))
    }
}

/// Every edge that triangles share, as [`Mesh::edges`] gives them. Where more than two meet,
/// each is paired with the one before.
pub(crate) fn edges(triangles: &[[u32; 3]]) -> Vec<([u32; 2], [usize; 2])> {
    let mut waiting: HashMap<(u32, u32), usize> = HashMap::new();
    let mut out = Vec::with_capacity(triangles.len() * 3 / 2);
    for (i, t) in triangles.iter().enumerate() {
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            if let Some(j) = waiting.insert((a.min(b), a.max(b)), i) {
                out.push(([a, b], [i, j]));
            }
        }
    }
    out
}

/// Whether three points span no area once rounded to 32-bit floats.
pub(super) fn is_flat_in_f32(corners: [Vec3; 3]) -> bool {
    let [a, b, c] = corners.map(|p| p.map(|x| f64::from(x as f32)));
    (b - a).cross(&(c - a)).norm_squared() == 0.0
}

fn check_areas(vertices: &[Vec3], triangles: &[[u32; 3]]) -> Result<(), MeshDefect> {
    for (triangle, t) in triangles.iter().enumerate() {
        let corners = t.map(|v| vertices[v as usize]);
        if is_flat_in_f32(corners) {
            let at = (corners[0] + corners[1] + corners[2]) / 3.0;
            return Err(MeshDefect::Degenerate { triangle, at });
        }
    }
    Ok(())
}

/// A directed edge that does not occur exactly once, or whose opposite does
/// not: the edges that leave each vertex are bucketed and sorted, then each
/// looks for its opposite.
pub(super) fn open_edge(vertices: usize, triangles: &[[u32; 3]]) -> Option<[u32; 2]> {
    let mut start = vec![0u32; vertices + 1];
    for &v in triangles.iter().flatten() {
        start[v as usize + 1] += 1;
    }
    for i in 1..start.len() {
        start[i] += start[i - 1];
    }
    let mut fill = start.clone();
    let mut ends = vec![0u32; 3 * triangles.len()];
    for t in triangles {
        for i in 0..3 {
            let slot = &mut fill[t[i] as usize];
            ends[*slot as usize] = t[(i + 1) % 3];
            *slot += 1;
        }
    }
    let range = |v: usize| start[v] as usize..start[v + 1] as usize;
    for v in 0..vertices {
        let leaving = &mut ends[range(v)];
        leaving.sort_unstable();
        if let Some(pair) = leaving.windows(2).find(|w| w[0] == w[1]) {
            return Some([v as u32, pair[0]]);
        }
    }
    for v in 0..vertices {
        for &end in &ends[range(v)] {
            if ends[range(end as usize)].binary_search(&(v as u32)).is_err() {
                return Some([v as u32, end]);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tetrahedron() -> (Vec<Vec3>, Vec<[u32; 3]>) {
        let vertices = vec![
            Vec3::new(0.0, 0.0, 0.0),
            Vec3::new(1.0, 0.0, 0.0),
            Vec3::new(0.0, 1.0, 0.0),
            Vec3::new(0.0, 0.0, 1.0),
        ];
        (vertices, vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    }

    #[test]
    fn a_tetrahedron_has_its_volume_area_and_bounds() {
        let (v, t) = tetrahedron();
        let mesh = Mesh::new(v, t, vec![0, 1, 2, 3]).unwrap();
        assert!((mesh.volume() - 1.0 / 6.0).abs() < 1e-15);
        assert!((mesh.area() - (1.5 + 3f64.sqrt() / 2.0)).abs() < 1e-15);
        assert_eq!(mesh.bounds(), (Vec3::zeros(), Vec3::new(1.0, 1.0, 1.0)));
    }

    #[test]
    fn defects_are_named() {
        let (v, t) = tetrahedron();
        let build = |v: &[Vec3], t: &[[u32; 3]]| {
            Mesh::new(v.to_vec(), t.to_vec(), vec![0; t.len()]).unwrap_err()
        };
        assert!(matches!(build(&v, &t[..3]), MeshDefect::Open { .. }));
        let mut turned = t.clone();
        turned[0].swap(0, 1);
        assert!(matches!(build(&v, &turned), MeshDefect::Open { .. }));
        let mut missing = t.clone();
        missing[0][0] = 9;
        assert_eq!(build(&v, &missing), MeshDefect::Index { triangle: 0 });
        let mut flat = v.clone();
        flat[3] = Vec3::new(1.0, 1e-60, 0.0);
        assert!(matches!(build(&flat, &t), MeshDefect::Degenerate { .. }));
        let mut wild = v.clone();
        wild[3].x = f64::NAN;
        assert_eq!(build(&wild, &t), MeshDefect::NotFinite { vertex: 3 });
        let labels = Mesh::new(v, t, vec![0]).unwrap_err();
        assert_eq!(labels, MeshDefect::Labels { triangles: 4, labels: 1 });
    }
}
