//! Corners of a mesh that moved take the points between them along.

use std::collections::BTreeMap;

use crate::measure::Vec3;
use crate::mesh::Mesh;

/// How far each vertex slides along the edge of the solid that it lies on, given
/// how the vertices moved: evenly between the ends of the edge, so that a corner
/// does not pass the points beside it. Zero for ends, for edges that close on
/// themselves, and within faces.
pub(super) fn slides(mesh: &Mesh, moved: &[Vec3]) -> Vec<Vec3> {
    let beside = beside(mesh);
    let mut slides = vec![Vec3::zeros(); mesh.vertices().len()];
    let is_end = |v: &u32| beside.get(v).is_some_and(|next| next.len() != 2);
    for (&end, nexts) in beside.iter().filter(|(v, _)| is_end(v)) {
        for &next in nexts {
            let chain = chain(&beside, end, next);
            // Each edge is met from both of its ends.
            if chain.last().is_some_and(|last| is_end(last) && end <= *last) {
                slide(mesh.vertices(), moved, &chain, &mut slides);
            }
        }
    }
    slides
}

/// For each vertex on an edge of the solid, its neighbours on edges.
fn beside(mesh: &Mesh) -> BTreeMap<u32, Vec<u32>> {
    let mut face_of = BTreeMap::new();
    for (triangle, face) in mesh.triangles().iter().zip(mesh.face_of()) {
        for k in 0..3 {
            face_of.insert((triangle[k], triangle[(k + 1) % 3]), *face);
        }
    }
    let mut beside: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for ((from, to), face) in &face_of {
        if face_of.get(&(*to, *from)) != Some(face) {
            beside.entry(*from).or_default().push(*to);
        }
    }
    beside
}

/// The vertices from `end` by `next` to the next end.
fn chain(beside: &BTreeMap<u32, Vec<u32>>, end: u32, next: u32) -> Vec<u32> {
    let mut chain = vec![end, next];
    loop {
        let (before, at) = (chain[chain.len() - 2], chain[chain.len() - 1]);
        match beside.get(&at).map(Vec::as_slice) {
            Some(&[a, b]) if at != end => chain.push(if a == before { b } else { a }),
            _ => return chain,
        }
    }
}

fn slide(vertices: &[Vec3], moved: &[Vec3], chain: &[u32], slides: &mut [Vec3]) {
    let at = |i: usize| vertices[chain[i] as usize];
    let last = chain.len() - 1;
    let mut length = vec![0.0];
    for i in 1..=last {
        length.push(length[i - 1] + (at(i) - at(i - 1)).norm());
    }
    let along = |i: usize| (at((i + 1).min(last)) - at(i.saturating_sub(1))).normalize();
    let shift = |i: usize| moved[chain[i] as usize].dot(&along(i));
    let (first, end) = (shift(0), shift(last));
    for i in 1..last {
        let share = length[i] / length[last];
        slides[chain[i] as usize] = along(i) * (first + (end - first) * share);
    }
}
