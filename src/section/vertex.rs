//! One table of points for a whole part: near points share one number.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use super::EPS;
use crate::measure::Vec2;

/// Cell of the hash grid, mm: far larger than [`EPS`]`.vertex`, so that a look-up
/// rarely needs a neighbouring cell.
const CELL: f64 = 1e-2;

/// Numbers points so that points within [`EPS`]`.vertex` of each other get the same
/// number; the first one seen keeps its coordinates.
#[derive(Debug, Default)]
pub(crate) struct VertexTable {
    points: Vec<Vec2>,
    /// Of each point the next one of its cell, [`NONE`] of the last.
    next: Vec<u32>,
    /// The first and the last point of each cell.
    cells: HashMap<(i64, i64), (u32, u32), BuildHasherDefault<CellHasher>>,
}

/// No point: there are fewer.
const NONE: u32 = u32::MAX;

/// A multiplicative hash: numbers of cells and vertices are small and not chosen by an adversary.
#[derive(Default)]
pub(crate) struct CellHasher(u64);

impl Hasher for CellHasher {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for &b in bytes {
            self.write_u64(u64::from(b));
        }
    }

    fn write_u32(&mut self, n: u32) {
        self.write_u64(u64::from(n));
    }

    fn write_i64(&mut self, n: i64) {
        self.write_u64(n as u64);
    }

    fn write_u64(&mut self, n: u64) {
        // Odd constant from the golden ratio (Knuth, TAOCP 6.4).
        self.0 = (self.0.rotate_left(5) ^ n).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    }
}

impl VertexTable {
    /// The number of the vertex at `p`, new if there is none yet.
    pub(crate) fn id(&mut self, p: Vec2) -> u32 {
        if let Some(id) = self.find(p) {
            return id;
        }
        let id = self.points.len() as u32;
        self.points.push(p);
        self.next.push(NONE);
        let (first, last) = self.cells.entry(cell(p)).or_insert((id, id));
        if *first != id {
            self.next[*last as usize] = id;
            *last = id;
        }
        id
    }

    /// Coordinates of a vertex.
    pub(crate) fn point(&self, id: u32) -> Vec2 {
        self.points[id as usize]
    }

    fn find(&self, p: Vec2) -> Option<u32> {
        let lo = cell(p - Vec2::repeat(EPS.vertex));
        let hi = cell(p + Vec2::repeat(EPS.vertex));
        for i in lo.0..=hi.0 {
            for j in lo.1..=hi.1 {
                let Some(&(mut id, _)) = self.cells.get(&(i, j)) else { continue };
                while id != NONE {
                    if (self.points[id as usize] - p).norm() <= EPS.vertex {
                        return Some(id);
                    }
                    id = self.next[id as usize];
                }
            }
        }
        None
    }
}

fn cell(p: Vec2) -> (i64, i64) {
    ((p.x / CELL).floor() as i64, (p.y / CELL).floor() as i64)
}
