//! Triangles that somebody else made: nothing is known but their corners.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use super::super::Mesh;
use super::{MAX_COORDINATE, MAX_TRIANGLES, ReadError};
use crate::measure::Vec3;

/// Triangles over welded vertices. Every index is valid and every coordinate
/// finite and within [`MAX_COORDINATE`]; nothing else is promised: the mesh may
/// be open, folded, inside out or empty of volume.
#[derive(Clone, Debug, Default)]
pub struct Soup {
    vertices: Vec<Vec3>,
    triangles: Vec<[u32; 3]>,
}

impl Soup {
    /// Corner points, mm.
    pub fn vertices(&self) -> &[Vec3] {
        &self.vertices
    }

    /// Triangles as indices into [`Soup::vertices`]; corners may coincide.
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// The corner points of triangle `i`, mm.
    ///
    /// Panics if there is no such triangle, like slice indexing.
    pub fn corners(&self, i: usize) -> [Vec3; 3] {
        self.triangles[i].map(|v| self.vertices[v as usize])
    }

    /// Lowest and highest coordinates `(min, max)`, mm; zeros if empty.
    pub fn bounds(&self) -> (Vec3, Vec3) {
        let first = self.vertices.first().copied().unwrap_or_else(Vec3::zeros);
        self.vertices.iter().fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)))
    }

    /// The same triangles with every corner moved by `f`. A corner that is no
    /// longer within [`MAX_COORDINATE`] is put at its limit.
    pub fn mapped(&self, f: impl Fn(Vec3) -> Vec3) -> Soup {
        let held = |x: f64| {
            if x.is_finite() { x.clamp(-MAX_COORDINATE, MAX_COORDINATE) } else { MAX_COORDINATE }
        };
        let vertices = self.vertices.iter().map(|p| f(*p).map(held)).collect();
        Soup { vertices, triangles: self.triangles.clone() }
    }

    /// The soup of triangles whose corners are usable numbers, no more than are
    /// read from a file; corners with the same coordinates become one.
    pub fn welded(triangles: impl IntoIterator<Item = [Vec3; 3]>) -> Soup {
        let mut welder = Welder::default();
        for triangle in triangles {
            if welder.push(triangle).is_err() {
                break;
            }
        }
        welder.finish()
    }

    /// All triangles of several, in their order.
    pub fn joined(soups: impl IntoIterator<Item = Soup>) -> Soup {
        let mut soups = soups.into_iter();
        let mut all = soups.next().unwrap_or_default();
        for soup in soups {
            let first = all.vertices.len() as u32;
            all.vertices.extend(soup.vertices);
            all.triangles.extend(soup.triangles.into_iter().map(|t| t.map(|v| first + v)));
        }
        all
    }

    /// The same triangles seen from the other side.
    pub fn reversed(&self) -> Soup {
        let triangles = self.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect();
        Soup { vertices: self.vertices.clone(), triangles }
    }
}

impl From<&Mesh> for Soup {
    fn from(mesh: &Mesh) -> Soup {
        Soup { vertices: mesh.vertices().to_vec(), triangles: mesh.triangles().to_vec() }
    }
}

/// Collects triangles; corners with the very same coordinates become one
/// vertex. Triangles with a corner that is no usable number are counted and
/// left out.
#[derive(Default)]
pub struct Welder {
    soup: Soup,
    known: HashMap<[u64; 3], u32, BuildHasherDefault<Mixer>>,
    unusable: usize,
}

impl Welder {
    /// Adds one triangle, mm.
    ///
    /// # Errors
    /// [`ReadError::TooMany`] past [`MAX_TRIANGLES`].
    pub fn push(&mut self, corners: [Vec3; 3]) -> Result<(), ReadError> {
        // A NaN fails the comparison, too.
        if !corners.iter().all(|p| p.iter().all(|c| c.abs() <= MAX_COORDINATE)) {
            self.unusable += 1;
            return Ok(());
        }
        let count = self.soup.triangles.len();
        if count >= MAX_TRIANGLES {
            return Err(ReadError::TooMany { triangles: count as u64 + 1 });
        }
        let triangle = corners.map(|p| {
            // Adding zero makes one point of zero and negative zero.
            let p = p.map(|c| c + 0.0);
            let key = [p.x.to_bits(), p.y.to_bits(), p.z.to_bits()];
            let vertices = &mut self.soup.vertices;
            *self.known.entry(key).or_insert_with(|| {
                vertices.push(p);
                vertices.len() as u32 - 1
            })
        });
        self.soup.triangles.push(triangle);
        Ok(())
    }

    /// How many triangles were left out.
    pub fn unusable(&self) -> usize {
        self.unusable
    }

    /// What was collected.
    pub fn finish(self) -> Soup {
        self.soup
    }
}

/// A quick hash for coordinates; the default one takes most of the reading.
/// The table is only looked up, never iterated, so order does not depend on it.
#[derive(Default)]
struct Mixer(u64);

impl Hasher for Mixer {
    fn write(&mut self, bytes: &[u8]) {
        bytes.iter().for_each(|b| self.write_u64(u64::from(*b)));
    }

    fn write_u64(&mut self, word: u64) {
        // The odd constant is 2^64 over the golden ratio (Fibonacci hashing,
        // Knuth, The Art of Computer Programming 3, 6.4); from memory.
        self.0 = (self.0.rotate_left(23) ^ word).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    }

    fn finish(&self) -> u64 {
        // The table takes its bucket from the low bits, the product is good
        // in the high ones.
        self.0 ^ (self.0 >> 32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_corners_are_welded_and_bad_ones_left_out() {
        let mut welder = Welder::default();
        let (a, b, c) = (Vec3::zeros(), Vec3::x(), Vec3::y());
        welder.push([a, b, c]).expect("few");
        welder.push([c, b, Vec3::new(1.0, 1.0, -0.0)]).expect("few");
        welder.push([a, b, Vec3::new(f64::NAN, 0.0, 0.0)]).expect("few");
        welder.push([a, b, Vec3::new(0.0, 1e300, 0.0)]).expect("few");
        assert_eq!(welder.unusable(), 2);
        let soup = welder.finish();
        assert_eq!((soup.vertices().len(), soup.triangles().len()), (4, 2));
        assert_eq!(soup.triangles()[1][0], soup.triangles()[0][2]);
    }

    #[test]
    fn mapped_corners_stay_in_range() {
        let mut welder = Welder::default();
        welder.push([Vec3::zeros(), Vec3::x(), Vec3::y()]).expect("few");
        let far = welder.finish().mapped(|p| p * 1e20);
        assert!(far.bounds().1.x <= MAX_COORDINATE);
    }
}
