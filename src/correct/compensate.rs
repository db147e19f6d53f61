//! Print files that are off the other way, so that the print comes out as drawn.
//!
//! A printer whose upright surfaces come out by `growth` and whose sizes come out
//! `scale` times as long gets each layer's section drawn in by `growth`, and all
//! of it divided by `scale` along the printer's axes.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector, Matrix3};

use super::slide::slides;
use crate::measure::{Values, Vec3};
use crate::mesh::{Mesh, MeshDefect, refilled};
use crate::solid::{Brep, Curve, Solid, Surface};

/// Largest diameter of a round hole that is taken for one that was drawn larger
/// by the printer's `hole_shrink`, mm: the holes of screws, inserts, wires and
/// light; it is also the largest that a coupon measures it on. Common practice,
/// no source.
pub const LARGEST_DRAWN_HOLE: f64 = 12.0;
/// Sine of the angle below which a surface is level, or an axis upright.
const LEVEL_EPSILON: f64 = 1e-9;
/// Singular values below this share of the largest are none: faces that go on
/// smoothly into each other.
const RANK_EPSILON: f64 = 1e-6;
/// Most of Newton's steps to where surfaces meet, and the step, mm, that is float
/// noise: planes need one step, round walls two or three.
const STEPS: usize = 6;
const STEP_EPSILON: f64 = 1e-12;
/// How far a corner may be from where each of its faces went, as a share of the
/// growth: a corner of more faces than it has directions to move in is still
/// nearer to where it belongs than if it had stayed.
const MISSED: f64 = 0.5;
/// Share of the change of volume by which it may differ from what the areas say,
/// and share of the volume that is float noise. Facets of round walls move by up
/// to the cosine of half their angle less; corners add the square of the growth.
const VOLUME_TOLERANCE: (f64, f64) = (0.05, 1e-7);

/// What the print files of a printer make up for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compensation {
    /// Growth of upright surfaces, mm.
    pub growth: f64,
    /// Printed over drawn along the printer's x, y and z.
    pub scales: Vec3,
    /// Whether small round upright holes are drawn larger already.
    pub holes_drawn: bool,
}

/// Why a body cannot be made up for.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CompensateError {
    /// A corner where faces move apart.
    #[error(
        "the faces at ({:.2}, {:.2}, {:.2}) would move apart by {missed:.3} mm", at.x, at.y, at.z
    )]
    Torn {
        /// Where, mm.
        at: Vec3,
        /// By how much, mm.
        missed: f64,
    },
    /// A detail is smaller than the growth.
    #[error("a detail at ({:.2}, {:.2}, {:.2}) is smaller than the growth", at.x, at.y, at.z)]
    Folded {
        /// Where, mm.
        at: Vec3,
    },
    /// The triangles are no closed mesh any more.
    #[error(transparent)]
    Defect(#[from] MeshDefect),
    /// The volume is not what the areas say.
    #[error("its volume changes by {found:.3} mm3, where its surfaces say {wanted:.3}")]
    Volume {
        /// Change found, mm3.
        found: f64,
        /// Change expected, mm3.
        wanted: f64,
    },
}

impl Compensation {
    /// What a printer's profile asks for; none if nothing.
    pub fn of(printer: &Values) -> Option<Self> {
        let scale = |key| printer.number(key);
        let out = Self {
            growth: printer.number("growth"),
            scales: Vec3::new(scale("scale_x"), scale("scale_y"), scale("scale_z")),
            holes_drawn: printer.number("hole_shrink") > 0.0,
        };
        (out.growth != 0.0 || out.scales != Vec3::repeat(1.0)).then_some(out)
    }

    /// Makes up for the scales: applied where the body stands on the bed.
    pub fn stretch(&self) -> Matrix3<f64> {
        Matrix3::from_diagonal(&self.scales.map(f64::recip))
    }

    /// The mesh of `solid` with each section across `up` drawn in by the growth:
    /// a face that leans moves as far as its sections do, a level one stays. Round
    /// upright holes of up to [`LARGEST_DRAWN_HOLE`] that are whole stay as well if
    /// they were drawn larger.
    ///
    /// Corners go to where the planes of their faces, shifted, meet (least squares
    /// by singular values). The result is proved: closed as before, no triangle
    /// turned over, the volume changed as the areas say.
    ///
    /// # Errors
    /// See [`CompensateError`].
    pub fn drawn_in(&self, solid: &Solid, mesh: &Mesh, up: Vec3) -> Result<Mesh, CompensateError> {
        if self.growth == 0.0 {
            return Ok(mesh.clone());
        }
        let brep = solid.brep();
        let stays = self.stays(brep, up);
        let faces = faces_at(mesh);
        let corner = |v: usize, from: Vec3| self.settled(brep, &stays, &faces[v], from, up);
        let mut moved = Vec::with_capacity(faces.len());
        for (v, at) in mesh.vertices().iter().enumerate() {
            moved.push(corner(v, *at)? - at);
        }
        let slides = slides(mesh, &moved);
        let mut vertices = Vec::with_capacity(faces.len());
        for (v, at) in mesh.vertices().iter().enumerate() {
            vertices.push(corner(v, at + moved[v] + slides[v])?);
        }
        let triangles = flat_faces_anew(brep, mesh, &vertices)?;
        let out = Mesh::new(vertices, triangles, mesh.face_of().to_vec())?;
        self.prove(mesh, &out, &stays, up)?;
        Ok(out)
    }

    /// The point near `from` where the shifted surfaces of `faces` meet.
    fn settled(
        &self,
        brep: &Brep,
        stays: &[bool],
        faces: &[u32],
        from: Vec3,
        up: Vec3,
    ) -> Result<Vec3, CompensateError> {
        let (mut at, mut missed) = (from, 0.0);
        for _ in 0..STEPS {
            let planes = faces.iter().map(|f| {
                let face = &brep.faces[*f as usize];
                let sense = if face.flipped { -1.0 } else { 1.0 };
                let outward = face.surface.normal(at) * sense;
                let by = if stays[*f as usize] { 0.0 } else { self.inwards(outward, up) };
                (outward, by - sense * face.surface.distance(at))
            });
            let step;
            (step, missed) = meeting(&planes.collect::<Vec<_>>());
            at += step;
            if step.norm() < STEP_EPSILON {
                break;
            }
        }
        if missed > MISSED * self.growth.abs() {
            return Err(CompensateError::Torn { at: from, missed });
        }
        Ok(at)
    }

    /// How far a surface moves along its outward normal, mm: its sections across
    /// `up` move by the growth.
    fn inwards(&self, outward: Vec3, up: Vec3) -> f64 {
        let sine = (outward - up * outward.dot(&up)).norm();
        if sine < LEVEL_EPSILON { 0.0 } else { -self.growth * sine }
    }

    /// Which faces are of holes that were drawn larger.
    fn stays(&self, brep: &Brep, up: Vec3) -> Vec<bool> {
        let mut stays = vec![false; brep.faces.len()];
        if !self.holes_drawn {
            return stays;
        }
        let beside = faces_of_edges(brep);
        let hole = |face| upright_hole(brep, face, up);
        let same = |a: usize, b: usize| {
            hole(a).zip(hole(b)).is_some_and(|((foot, radius), (other, of_other))| {
                (foot - other).norm() < RANK_EPSILON && (radius - of_other).abs() < RANK_EPSILON
            })
        };
        for start in 0..brep.faces.len() {
            if stays[start] || hole(start).is_none() {
                continue;
            }
            let (mut wall, mut whole, mut next) = (vec![start], true, 0);
            while let Some(&face) = wall.get(next) {
                next += 1;
                for edge in brep.faces[face].loops.iter().flatten().map(|u| u.edge as usize) {
                    for &other in &beside[&edge] {
                        if other == face || wall.contains(&other) {
                            continue;
                        }
                        if same(start, other) {
                            wall.push(other);
                        } else if !matches!(brep.edges[edge].curve, Curve::Circle { .. }) {
                            // A hole that is whole ends in circles only.
                            whole = false;
                        }
                    }
                }
            }
            if whole {
                wall.into_iter().for_each(|face| stays[face] = true);
            }
        }
        stays
    }

    /// Whether the moved mesh is what was wanted.
    fn prove(
        &self,
        before: &Mesh,
        after: &Mesh,
        stays: &[bool],
        up: Vec3,
    ) -> Result<(), CompensateError> {
        let mut wanted = 0.0;
        for (i, face) in before.face_of().iter().enumerate() {
            let doubled = |mesh: &Mesh| {
                let [a, b, c] = mesh.corners(i);
                ((b - a).cross(&(c - a)), a)
            };
            let ((old, at), (new, _)) = (doubled(before), doubled(after));
            if old.dot(&new) <= 0.0 {
                return Err(CompensateError::Folded { at });
            }
            if !stays[*face as usize] {
                // Areas change evenly with the way, so their mean counts; of a plane
                // face they count together, whichever its triangles are.
                wanted += 0.25 * (old.norm() + new.norm()) * self.inwards(old.normalize(), up);
            }
        }
        let found = after.volume() - before.volume();
        let (share, noise) = VOLUME_TOLERANCE;
        if (found - wanted).abs() > share * wanted.abs() + noise * before.volume() {
            return Err(CompensateError::Volume { found, wanted });
        }
        Ok(())
    }
}

/// The triangles of a mesh whose vertices moved: those of plane faces in which one
/// turned over, as where a corner moved past a diagonal, are made anew.
fn flat_faces_anew(
    brep: &Brep,
    mesh: &Mesh,
    vertices: &[Vec3],
) -> Result<Vec<[u32; 3]>, CompensateError> {
    let mut triangles = mesh.triangles().to_vec();
    let mut of_face: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (i, face) in mesh.face_of().iter().enumerate() {
        of_face.entry(*face).or_default().push(i);
    }
    for (face, own) in of_face {
        let face = &brep.faces[face as usize];
        let Surface::Plane { normal, .. } = face.surface else { continue };
        let outward = if face.flipped { -normal } else { normal };
        let turned_over = |i: &&usize| {
            let [a, b, c] = triangles[**i].map(|v| vertices[v as usize]);
            (b - a).cross(&(c - a)).dot(&outward) <= 0.0
        };
        let Some(at) = own.iter().find(turned_over).map(|i| mesh.corners(*i)[0]) else { continue };
        let old: Vec<[u32; 3]> = own.iter().map(|i| triangles[*i]).collect();
        let new = refilled(vertices, &old, outward).ok_or(CompensateError::Folded { at })?;
        own.iter().zip(new).for_each(|(i, new)| triangles[*i] = new);
    }
    Ok(triangles)
}

/// For each vertex, the faces that meet there, sorted.
fn faces_at(mesh: &Mesh) -> Vec<Vec<u32>> {
    let mut faces = vec![Vec::new(); mesh.vertices().len()];
    for (triangle, face) in mesh.triangles().iter().zip(mesh.face_of()) {
        for corner in triangle {
            let at: &mut Vec<u32> = &mut faces[*corner as usize];
            if let Err(place) = at.binary_search(face) {
                at.insert(place, *face);
            }
        }
    }
    faces
}

fn faces_of_edges(brep: &Brep) -> BTreeMap<usize, Vec<usize>> {
    let mut beside: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (face, loops) in brep.faces.iter().map(|f| &f.loops).enumerate() {
        for used in loops.iter().flatten() {
            beside.entry(used.edge as usize).or_default().push(face);
        }
    }
    beside
}

/// The foot of the axis on the plane across `up` through the origin, and the
/// radius, of a face that is the wall of a small round upright hole.
fn upright_hole(brep: &Brep, face: usize, up: Vec3) -> Option<(Vec3, f64)> {
    let face = &brep.faces[face];
    match face.surface {
        Surface::Cylinder { origin, axis, radius, .. }
            if face.flipped
                && axis.cross(&up).norm() < LEVEL_EPSILON
                && 2.0 * radius <= LARGEST_DRAWN_HOLE =>
        {
            Some((origin - up * origin.dot(&up), radius))
        }
        _ => None,
    }
}

/// The shortest way on which a point reaches planes that moved along their unit
/// normals, and by how much it misses the worst of them.
fn meeting(planes: &[(Vec3, f64)]) -> (Vec3, f64) {
    if planes.iter().all(|(_, by)| by.abs() < STEP_EPSILON) {
        return (Vec3::zeros(), 0.0);
    }
    let normals = DMatrix::from_fn(planes.len(), 3, |i, k| planes[i].0[k]);
    let ways = DVector::from_iterator(planes.len(), planes.iter().map(|(_, by)| *by));
    let svd = normals.svd(true, true);
    let least = RANK_EPSILON * svd.singular_values.amax();
    let moved = svd.solve(&ways, least).expect("both factors were asked for");
    let moved = Vec3::new(moved[0], moved[1], moved[2]);
    let missed = planes.iter().map(|(normal, by)| (normal.dot(&moved) - by).abs());
    (moved, missed.fold(0.0, f64::max))
}
