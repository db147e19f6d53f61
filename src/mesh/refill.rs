//! A plane face's triangles anew, after its corners have moved in the plane.

use std::collections::{BTreeMap, BTreeSet};

use super::flat::Filler;
use super::outline::{Outline, PLANE_GRID};
use crate::measure::Vec3;

/// Other triangles between the same borders as `triangles`, which lie in a plane
/// with outward normal `normal` and may be turned over; as many of them. None if
/// the borders cross or touch themselves.
pub(crate) fn refilled(
    vertices: &[Vec3],
    triangles: &[[u32; 3]],
    normal: Vec3,
) -> Option<Vec<[u32; 3]>> {
    let outline = outline(vertices, triangles, normal)?;
    let mut corners = Vec::new();
    Filler::default().fill(&outline, vertices.len(), &mut corners).ok()?;
    let filled = corners.iter().map(|t| t.map(|corner| outline.ids[corner as usize]));
    Some(filled.collect()).filter(|filled: &Vec<_>| filled.len() == triangles.len())
}

/// The border of triangles, laid flat.
fn outline(vertices: &[Vec3], triangles: &[[u32; 3]], normal: Vec3) -> Option<Outline> {
    let edges = triangles.iter().flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)]);
    let edges: BTreeSet<(u32, u32)> = edges.collect();
    let mut next = BTreeMap::new();
    for (from, to) in edges.iter().filter(|(from, to)| !edges.contains(&(*to, *from))) {
        if next.insert(*from, *to).is_some() {
            return None;
        }
    }
    let mut outline = Outline::default();
    while let Some((&start, _)) = next.iter().next() {
        outline.starts.push(outline.ids.len() as u32);
        let mut at = start;
        while let Some(to) = next.remove(&at) {
            outline.ids.push(at);
            at = to;
        }
        if at != start {
            return None;
        }
    }
    outline.starts.push(outline.ids.len() as u32);
    let origin = vertices[*outline.ids.first()? as usize];
    let x = normal.cross(&Vec3::ith(normal.iamin(), 1.0)).normalize();
    let y = normal.cross(&x);
    let flat = |id: &u32| {
        let d = vertices[*id as usize] - origin;
        [d.dot(&x), d.dot(&y)].map(|c| (c * PLANE_GRID).round() / PLANE_GRID)
    };
    outline.at = outline.ids.iter().map(flat).collect();
    Some(outline)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square whose diagonal leaves a corner outside once that has moved in.
    #[test]
    fn a_corner_that_moved_past_a_diagonal_gets_the_other_one() {
        let mut vertices = vec![
            Vec3::new(0.0, 0.0, 5.0),
            Vec3::new(4.0, 0.0, 5.0),
            Vec3::new(4.0, 4.0, 5.0),
            Vec3::new(0.0, 4.0, 5.0),
        ];
        let triangles = [[0, 1, 2], [0, 2, 3]];
        vertices[3] = Vec3::new(2.5, 1.5, 5.0);
        let filled = refilled(&vertices, &triangles, Vec3::z()).expect("the border is sound");
        let area = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|v| vertices[v as usize]);
            0.5 * (b - a).cross(&(c - a)).z
        };
        assert!(filled.iter().all(|t| area(t) > 0.0), "{filled:?}");
        assert!((filled.iter().map(area).sum::<f64>() - 6.0).abs() < 1e-9);
        vertices[3] = Vec3::new(3.0, -1.0, 5.0);
        assert_eq!(refilled(&vertices, &triangles, Vec3::z()), None, "it crosses itself");
    }
}
