//! The solid through convex outlines in level planes, one above the other.

use super::{Brep, BrepError, Curve, Edge, EdgeId, EdgeUse, Face, Solid, Surface, VertexId};
use crate::measure::{Vec2, Vec3};

impl Solid {
    /// The convex hull of every two neighbouring outlines, joined. An outline
    /// has its height, mm, and its corners counter-clockwise, without corners on
    /// a line; a single corner is a tip, at an end only.
    ///
    /// # Errors
    /// [`BrepError`] if fewer than two outlines, or outlines that are not as
    /// stated, do not make a closed solid.
    pub fn through(outlines: &[(f64, Vec<Vec2>)]) -> Result<Solid, BrepError> {
        let mut made = Weave::default();
        let rings: Vec<Vec<VertexId>> = outlines
            .iter()
            .map(|(z, corners)| corners.iter().map(|p| made.vertex(p, *z)).collect())
            .collect();
        let levels: Vec<Vec<EdgeId>> = rings.iter().map(|ring| made.ring(ring)).collect();
        if let (Some(first), Some(last)) = (levels.first(), levels.last()) {
            made.lid(first, outlines[0].0, false);
            made.lid(last, outlines[outlines.len() - 1].0, true);
        }
        for k in 1..rings.len() {
            let low = (&rings[k - 1][..], &levels[k - 1][..]);
            let high = (&rings[k][..], &levels[k][..]);
            made.band(low, high)?;
        }
        Solid::new(made.brep)
    }
}

#[derive(Default)]
struct Weave {
    brep: Brep,
}

impl Weave {
    fn vertex(&mut self, p: &Vec2, z: f64) -> VertexId {
        self.brep.vertices.push(Vec3::new(p.x, p.y, z));
        self.brep.vertices.len() as VertexId - 1
    }

    fn point(&self, v: VertexId) -> Vec3 {
        self.brep.vertices[v as usize]
    }

    fn edge(&mut self, from: VertexId, to: VertexId) -> EdgeId {
        let curve = Curve::Line { from: self.point(from), to: self.point(to) };
        self.brep.edges.push(Edge { from, to, curve });
        self.brep.edges.len() as EdgeId - 1
    }

    fn ring(&mut self, ring: &[VertexId]) -> Vec<EdgeId> {
        if ring.len() < 3 {
            return Vec::new();
        }
        (0..ring.len()).map(|i| self.edge(ring[i], ring[(i + 1) % ring.len()])).collect()
    }

    fn lid(&mut self, edges: &[EdgeId], z: f64, up: bool) {
        if edges.is_empty() {
            return;
        }
        let mut uses: Vec<EdgeUse> =
            edges.iter().map(|&edge| EdgeUse { edge, forward: up }).collect();
        if !up {
            uses.reverse();
        }
        let normal = if up { Vec3::z() } else { -Vec3::z() };
        let surface = Surface::Plane { origin: Vec3::new(0.0, 0.0, z), normal, x: Vec3::x() };
        self.brep.faces.push(Face { surface, flipped: false, loops: vec![uses] });
    }

    /// The faces between two rings: the sides of both in the order of their
    /// outward directions, each with the corner of the other ring that lies
    /// furthest that way.
    fn band(
        &mut self,
        (low, low_edges): (&[VertexId], &[EdgeId]),
        (high, high_edges): (&[VertexId], &[EdgeId]),
    ) -> Result<(), BrepError> {
        let Some(&any) = low.first().or(high.first()) else { return Err(BrepError::Empty) };
        let (n, m) = (low_edges.len(), high_edges.len());
        let heading = |w: &Weave, ring: &[VertexId], i: usize| {
            let d = w.point(ring[(i + 1) % ring.len()]) - w.point(ring[i]);
            d.y.atan2(d.x)
        };
        // All sides by heading; a side of either ring leads to its end.
        let mut sides: Vec<(f64, bool, usize)> = (0..n)
            .map(|i| (heading(self, low, i), false, i))
            .chain((0..m).map(|j| (heading(self, high, j), true, j)))
            .collect();
        sides.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        if sides.is_empty() || low.is_empty() || high.is_empty() {
            return Err(BrepError::BrokenLoop { at: self.point(any) });
        }
        // Where both rings stand before the first side.
        let start = |upper: bool| sides.iter().find(|s| s.1 == upper).map_or(0, |s| s.2);
        let (mut i, mut j) = (start(false), start(true));
        let first = self.edge(low[i], high[j]);
        let mut rung = first;
        for (k, &(_, upper, side)) in sides.iter().enumerate() {
            let (own, ring) = if upper { (high_edges[side], high) } else { (low_edges[side], low) };
            let next = (side + 1) % ring.len();
            if upper {
                j = next
            } else {
                i = next
            }
            let last = k + 1 == sides.len();
            let after = if last { first } else { self.edge(low[i], high[j]) };
            // Seen from outside, counter-clockwise: along the low ring, up the
            // next rung, back along the high ring, down this rung.
            let mut uses = Vec::with_capacity(3);
            if !upper {
                uses.push(EdgeUse { edge: own, forward: true });
            }
            uses.push(EdgeUse { edge: after, forward: true });
            if upper {
                uses.push(EdgeUse { edge: own, forward: false });
            }
            uses.push(EdgeUse { edge: rung, forward: false });
            let corners: Vec<Vec3> =
                uses.iter().map(|&u| self.point(self.brep.use_from(u))).collect();
            let (a, b, c) = (corners[0], corners[1], corners[2]);
            let normal = (b - a).cross(&(c - a));
            let x = b - a;
            if normal.norm() == 0.0 || x.norm() == 0.0 {
                return Err(BrepError::BrokenLoop { at: a });
            }
            let surface =
                Surface::Plane { origin: a, normal: normal.normalize(), x: x.normalize() };
            self.brep.faces.push(Face { surface, flipped: false, loops: vec![uses] });
            rung = after;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(n: usize, radius: f64, turn: f64) -> Vec<Vec2> {
        let corner = |k: usize| {
            let (sin, cos) = (turn + std::f64::consts::TAU * k as f64 / n as f64).sin_cos();
            Vec2::new(radius * cos, radius * sin)
        };
        (0..n).map(corner).collect()
    }

    /// Heights over which a hull's volume is known: prisms, pyramids, and by
    /// Simpson's rule any, since its section's area is quadratic in z.
    #[test]
    fn hulls_have_the_volume_of_their_sections() {
        for (n, m, turn) in [(4, 4, 0.0), (6, 6, 0.1), (3, 7, 0.4), (12, 5, 1.0), (24, 24, 0.05)] {
            let (low, high) = (polygon(n, 5.0, 0.0), polygon(m, 3.0, turn));
            let solid = Solid::through(&[(1.0, low), (5.0, high)]).expect("a hull");
            let levels = crate::solid::Levels::new(&solid).expect("planes");
            let (low, high) = solid.bounds();
            assert!((levels.ends().0 - low.z).abs() + (levels.ends().1 - high.z).abs() < 1e-9);
            let area = |z: f64| levels.section(z).area();
            let volume = 4.0 / 6.0 * (area(1.0) + 4.0 * area(3.0) + area(5.0 - 1e-9));
            assert!((solid.properties().volume - volume).abs() < 1e-6, "{n} {m}");
        }
        let tip = vec![Vec2::new(0.5, 0.2)];
        let solid = Solid::through(&[(0.0, polygon(6, 4.0, 0.0)), (9.0, tip.clone())]);
        let base = 6.0 * 0.25 * 3f64.sqrt() * 16.0;
        assert!((solid.expect("a pyramid").properties().volume - 3.0 * base).abs() < 1e-9);
        let both = [(0.0, tip.clone()), (3.0, polygon(5, 2.0, 0.0)), (9.0, tip.clone())];
        assert!(Solid::through(&both).is_ok());
        assert!(Solid::through(&[(0.0, tip.clone()), (1.0, tip)]).is_err());
        assert!(Solid::through(&[]).is_err());
    }
}
