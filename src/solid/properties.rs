//! Volume, area, centroid and inertia by integration over the boundary.

use super::{Brep, FaceId};

/// Signed volume enclosed by `faces`, mm3: positive when they face outwards.
pub(super) fn shell_volume(brep: &Brep, faces: &[FaceId]) -> f64 {
    let mut six = 0.0;
    for &f in faces {
        for uses in &brep.faces[f as usize].loops {
            let p = brep.vertices[brep.use_from(uses[0]) as usize];
            for &u in &uses[1..] {
                let a = brep.vertices[brep.use_from(u) as usize];
                let b = brep.vertices[brep.use_to(u) as usize];
                six += p.dot(&a.cross(&b));
            }
        }
    }
    six / 6.0
}
