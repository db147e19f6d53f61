//! Fewer triangles of a mesh for the eye.

use std::collections::HashMap;

use super::Soup;
use crate::measure::Vec3;

/// Size of the first grid, mm.
const FIRST: f64 = 0.05;

/// How much the next grid is coarser.
const COARSER: f64 = 1.5;

impl Soup {
    /// About the same shape of at most `most` triangles, to be looked at and not measured:
    /// the corners in each cell of a grid become their mean, and triangles that lose a corner
    /// are left out (vertex clustering: Rossignac and Borrel 1993, from memory).
    pub fn coarsened(&self, most: usize) -> Soup {
        let (mut soup, mut cell) = (self.clone(), FIRST);
        while soup.triangles().len() > most {
            soup = soup.clustered(cell);
            cell *= COARSER;
        }
        soup
    }

    fn clustered(&self, cell: f64) -> Soup {
        // From its corner, so that one cell that is large enough holds all.
        let low = self.bounds().0;
        let mut cells: HashMap<[u64; 3], usize> = HashMap::new();
        let mut sums: Vec<(Vec3, f64)> = Vec::new();
        let in_cell = |p: &Vec3| {
            let key = [0, 1, 2].map(|k| ((p[k] - low[k]) / cell) as u64);
            let i = *cells.entry(key).or_insert(sums.len());
            if i == sums.len() {
                sums.push((Vec3::zeros(), 0.0));
            }
            sums[i].0 += p;
            sums[i].1 += 1.0;
            i
        };
        let of: Vec<usize> = self.vertices().iter().map(in_cell).collect();
        let triangles = self.triangles().iter().map(|t| t.map(|v| of[v as usize]));
        let whole = triangles.filter(|[a, b, c]| a != b && b != c && c != a);
        Soup::welded(whole.map(|t| t.map(|i| sums[i].0 / sums[i].1)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::{ChordTolerance, tessellate};
    use crate::section::Region;
    use crate::solid::Stack;

    #[test]
    fn fewer_triangles_keep_the_shape() {
        let disc = |r: f64| Region::disc(nalgebra::Vector2::zeros(), r);
        let mut stack = Stack::default();
        stack.prism(0.0, 80.0, &disc(15.0).difference(&disc(12.0)));
        let fine = ChordTolerance { chord: 2e-5, ..ChordTolerance::default() };
        let mesh = tessellate(&stack.solid().expect("sound"), &fine).expect("meshes");
        let soup = Soup::from(&mesh);
        let count = soup.triangles().len();
        assert!(count > 4000, "{count}");
        let same = soup.coarsened(count);
        assert_eq!(same.triangles(), soup.triangles());
        let fewer = soup.coarsened(500);
        assert!((100..=500).contains(&fewer.triangles().len()), "{}", fewer.triangles().len());
        assert_eq!(fewer.unpaired_edges(), 0);
        let lost = 1.0 - fewer.signed_volume() / soup.signed_volume();
        assert!(lost.abs() < 0.02, "{lost}");
        assert!(soup.coarsened(0).triangles().is_empty());
    }
}
