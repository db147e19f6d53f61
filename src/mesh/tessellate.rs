//! A solid into a closed mesh within a chord tolerance.

use std::f64::consts::FRAC_PI_2;

use super::flat::Filler;
use super::grid::{Grids, Sharing};
use super::outline::{Outline, Reason, Trouble};
use super::samples::Samples;
use super::triangles::{is_flat_in_f32, open_edge};
use super::{Mesh, strips};
use crate::measure::Vec3;
use crate::solid::{Brep, Curve, FaceId, Solid};

/// How often a place where the mesh fails is tried again with half the chord.
const MAX_HALVINGS: u32 = 6;

/// Smallest chord accepted, mm: f32 in an STL resolves no less at 100 mm.
const MIN_CHORD: f64 = 1e-5;

/// Smallest largest angle accepted, radians: a thousandth of a turn or so.
const MIN_ANGLE: f64 = 0.005;

/// How far a mesh may stray from the solid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChordTolerance {
    /// Largest distance between a curve and the chord that replaces it, mm:
    /// at least 1e-5; default 0.01.
    pub chord: f64,
    /// Largest angle between neighbouring chords, radians: 0.005 to pi/2;
    /// default 15 degrees.
    pub max_angle: f64,
}

impl Default for ChordTolerance {
    fn default() -> Self {
        ChordTolerance { chord: 0.01, max_angle: 15f64.to_radians() }
    }
}

/// Why a solid has no mesh.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MeshError {
    /// The tolerance is out of range.
    #[error(
        "chord {chord} mm with an angle of {max_angle} rad: \
         the chord must be at least 1e-5 mm, the angle 0.005 to 1.57 rad"
    )]
    Tolerance {
        /// Chord asked for, mm.
        chord: f64,
        /// Largest angle asked for, radians.
        max_angle: f64,
    },
    /// Two parts of a face's boundary are nearer to each other than any chord
    /// that was tried.
    #[error(
        "the face at ({:.3}, {:.3}, {:.3}) has a sliver narrower than the chord, down to {chord:.5} mm",
        at.x, at.y, at.z
    )]
    Sliver {
        /// Where, mm.
        at: Vec3,
        /// The face.
        face: FaceId,
        /// The smallest chord tried, mm.
        chord: f64,
    },
    /// A round face runs around its whole axis.
    #[error(
        "the round face at ({:.3}, {:.3}, {:.3}) closes on itself; it must be cut in two halves",
        at.x, at.y, at.z
    )]
    Wraps {
        /// Where, mm.
        at: Vec3,
        /// The face.
        face: FaceId,
    },
    /// The loops of a face do not run around its material.
    #[error("the face at ({:.3}, {:.3}, {:.3}) is inside out", at.x, at.y, at.z)]
    InsideOut {
        /// Where, mm.
        at: Vec3,
        /// The face.
        face: FaceId,
    },
}

/// Cuts the faces of `solid` into triangles whose corners lie on it.
///
/// Each edge is sampled once, so neighbouring faces share its points. Round
/// walls on one axis share a division of the turn and are cut along it, so
/// that every triangle lies between two neighbouring generators: no triangle
/// strays further than `tolerance.chord` from its face. A face whose boundary
/// meets itself once sampled is tried again with half the chord, six times at
/// most. The result is deterministic.
pub fn tessellate(solid: &Solid, tolerance: &ChordTolerance) -> Result<Mesh, MeshError> {
    let ChordTolerance { chord, max_angle } = *tolerance;
    if !(chord >= MIN_CHORD && chord.is_finite() && (MIN_ANGLE..=FRAC_PI_2).contains(&max_angle)) {
        return Err(MeshError::Tolerance { chord, max_angle });
    }
    let brep = solid.brep();
    let sides = edge_sides(brep);
    let mut plan =
        Plan { brep, sharing: Sharing::new(brep, &sides), halvings: vec![0; brep.edges.len()] };
    let mut halving = 0;
    loop {
        let grids = plan.sharing.grids(tolerance);
        let samples = Samples::new(brep, &sides, &grids, tolerance, &plan.halvings);
        let mut work = Work::default();
        let mut failed = work.faces(brep, &grids, &samples);
        if failed.is_empty() {
            failed = work.folds(&samples);
        }
        if failed.is_empty() {
            return Ok(Mesh::checked(samples.points, work.triangles, work.face_of));
        }
        let stuck = match plan.refine(&failed) {
            Some(stuck) => stuck,
            None if halving == MAX_HALVINGS => failed[0],
            None => {
                halving += 1;
                continue;
            }
        };
        let (face, Trouble { at, reason }) = stuck;
        return Err(match reason {
            Reason::Wraps => MeshError::Wraps { at, face },
            Reason::InsideOut => MeshError::InsideOut { at, face },
            Reason::Crossing | Reason::Folded | Reason::Degenerate => {
                MeshError::Sliver { at, face, chord: chord / f64::from(1u32 << halving) }
            }
        });
    }
}

/// What to sample how finely, from attempt to attempt.
struct Plan<'a> {
    brep: &'a Brep,
    sharing: Sharing,
    /// Per edge that is no line or circle: how often its chord was halved.
    halvings: Vec<u32>,
}

impl Plan<'_> {
    /// Halves the chord around the failed faces, or returns one where that
    /// cannot help.
    fn refine(&mut self, failed: &[(FaceId, Trouble)]) -> Option<(FaceId, Trouble)> {
        let mut groups = Vec::new();
        let mut edges = Vec::new();
        for &(f, trouble) in failed {
            let before = groups.len() + edges.len();
            groups.extend(self.sharing.face_group(f));
            for u in self.brep.faces[f as usize].loops.iter().flatten() {
                match self.brep.edges[u.edge as usize].curve {
                    Curve::Line { .. } => {}
                    Curve::Circle { .. } => groups.extend(self.sharing.edge_group(u.edge)),
                    Curve::Ellipse { .. } | Curve::Traced { .. } => edges.push(u.edge),
                }
            }
            let in_vain = groups.len() + edges.len() == before;
            if trouble.reason == Reason::Wraps || in_vain && trouble.reason != Reason::Folded {
                return Some((f, trouble));
            }
        }
        if groups.is_empty() && edges.is_empty() {
            return failed.first().copied();
        }
        groups.sort_unstable();
        groups.dedup();
        edges.sort_unstable();
        edges.dedup();
        groups.into_iter().for_each(|g| self.sharing.refine(g));
        edges.into_iter().for_each(|e| self.halvings[e as usize] += 1);
        None
    }
}

/// The two faces at each edge, that which uses it forward first.
fn edge_sides(brep: &Brep) -> Vec<[FaceId; 2]> {
    let mut sides = vec![[0; 2]; brep.edges.len()];
    for (f, face) in brep.faces.iter().enumerate() {
        for u in face.loops.iter().flatten() {
            sides[u.edge as usize][usize::from(!u.forward)] = f as FaceId;
        }
    }
    sides
}

/// Buffers and results of one attempt.
#[derive(Default)]
struct Work {
    outline: Outline,
    filler: Filler,
    /// Triangles of the face at hand, as corners of the outline.
    local: Vec<[u32; 3]>,
    triangles: Vec<[u32; 3]>,
    face_of: Vec<FaceId>,
}

impl Work {
    /// Meshes all faces; returns those that failed.
    fn faces(&mut self, brep: &Brep, grids: &Grids, samples: &Samples) -> Vec<(FaceId, Trouble)> {
        (0..brep.faces.len() as FaceId)
            .filter_map(|f| self.face(brep, f, grids, samples).err().map(|trouble| (f, trouble)))
            .collect()
    }

    /// The faces around an edge of the mesh that is used more than twice: two
    /// curves between the same corners that have no sample in between.
    fn folds(&self, samples: &Samples) -> Vec<(FaceId, Trouble)> {
        let Some([a, b]) = open_edge(samples.points.len(), &self.triangles) else {
            return Vec::new();
        };
        let at = 0.5 * (samples.points[a as usize] + samples.points[b as usize]);
        let mut faces: Vec<(FaceId, Trouble)> = (self.triangles.iter().zip(&self.face_of))
            .filter(|(t, _)| t.contains(&a) && t.contains(&b))
            .map(|(_, &f)| (f, Trouble { at, reason: Reason::Folded }))
            .collect();
        faces.dedup_by_key(|f| f.0);
        faces
    }

    fn face(
        &mut self,
        brep: &Brep,
        f: FaceId,
        grids: &Grids,
        samples: &Samples,
    ) -> Result<(), Trouble> {
        self.local.clear();
        self.outline.lay(brep, &brep.faces[f as usize], grids.face(f), samples)?;
        if !strips::fill(&self.outline, &mut self.local) {
            self.filler.fill(&self.outline, samples.points.len(), &mut self.local).map_err(
                |(corner, reason)| Trouble {
                    at: samples.points[self.outline.ids[corner] as usize],
                    reason,
                },
            )?;
        }
        for &t in &self.local {
            let triangle = t.map(|c| self.outline.ids[c as usize]);
            let corners = triangle.map(|v| samples.points[v as usize]);
            if is_flat_in_f32(corners) {
                let at = (corners[0] + corners[1] + corners[2]) / 3.0;
                return Err(Trouble { at, reason: Reason::Degenerate });
            }
            self.triangles.push(triangle);
        }
        self.face_of.resize(self.triangles.len(), f);
        Ok(())
    }
}
