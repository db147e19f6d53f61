//! How the triangles that somebody else made enclose space.

use super::read::Soup;
use crate::measure::Vec3;

impl Soup {
    /// Volume inside, mm3: negative if the mesh is inside out, meaningless if it
    /// is open.
    pub fn signed_volume(&self) -> f64 {
        let (low, high) = self.bounds();
        let middle = (low + high) / 2.0;
        let part = |i: usize| {
            let [a, b, c] = self.corners(i).map(|p| p - middle);
            a.dot(&b.cross(&c))
        };
        (0..self.triangles().len()).map(part).sum::<f64>() / 6.0
    }

    /// Number of edges that are not used as often one way as the other: none if
    /// the mesh is closed and its triangles face one way.
    pub fn unpaired_edges(&self) -> usize {
        let edges =
            self.triangles().iter().flat_map(|t| [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]]);
        let mut keyed: Vec<u64> = edges
            .filter(|[a, b]| a != b)
            .map(|[a, b]| u64::from(a.min(b)) << 33 | u64::from(a.max(b)) << 1 | u64::from(a > b))
            .collect();
        keyed.sort_unstable();
        let balance = |uses: &[u64]| uses.iter().map(|u| 1 - 2 * (u & 1) as i64).sum::<i64>();
        keyed.chunk_by(|a, b| a >> 1 == b >> 1).filter(|uses| balance(uses) != 0).count()
    }

    /// The pieces of the mesh that share no vertex with the others, in the order
    /// of their first triangles.
    pub fn shells(&self) -> Vec<Soup> {
        let mut parent: Vec<u32> = (0..self.vertices().len() as u32).collect();
        for t in self.triangles() {
            for v in &t[1..] {
                let (a, b) = (root(&mut parent, t[0]), root(&mut parent, *v));
                parent[a.max(b) as usize] = a.min(b);
            }
        }
        let mut number = vec![u32::MAX; parent.len()];
        let mut shells: Vec<Vec<[Vec3; 3]>> = Vec::new();
        for (i, t) in self.triangles().iter().enumerate() {
            let of = &mut number[root(&mut parent, t[0]) as usize];
            if *of == u32::MAX {
                *of = shells.len() as u32;
                shells.push(Vec::new());
            }
            shells[*of as usize].push(self.corners(i));
        }
        shells.into_iter().map(Soup::welded).collect()
    }
}

fn root(parent: &mut [u32], mut v: u32) -> u32 {
    while parent[v as usize] != v {
        let up = parent[parent[v as usize] as usize];
        parent[v as usize] = up;
        v = up;
    }
    v
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tetrahedron(at: f64, size: f64) -> Vec<[Vec3; 3]> {
        let [o, x, y, z] =
            [Vec3::zeros(), Vec3::x(), Vec3::y(), Vec3::z()].map(|p| p * size + Vec3::repeat(at));
        vec![[o, y, x], [o, x, z], [x, y, z], [y, o, z]]
    }

    #[test]
    fn shells_volumes_and_open_edges_are_found() {
        let both = Soup::welded([tetrahedron(0.0, 1.0), tetrahedron(9.0, 3.0)].concat());
        assert_eq!(both.unpaired_edges(), 0);
        assert!((both.signed_volume() - 28.0 / 6.0).abs() < 1e-12);
        assert!((both.reversed().signed_volume() + 28.0 / 6.0).abs() < 1e-12);
        let shells = both.shells();
        let volumes: Vec<f64> = shells.iter().map(|s| 6.0 * s.signed_volume()).collect();
        assert!((volumes[0] - 1.0).abs() < 1e-12 && (volumes[1] - 27.0).abs() < 1e-12);
        assert_eq!(Soup::welded(tetrahedron(0.0, 1.0)[1..].to_vec()).unpaired_edges(), 3);
        let mut turned = tetrahedron(0.0, 1.0);
        turned[2].swap(0, 1);
        assert_eq!(Soup::welded(turned).unpaired_edges(), 3);
    }
}
