//! A tree of boxes over triangles for rays.
//!
//! [`crate::mesh::Bvh`] halves triangles by their median, which suits balls and
//! stays shallow for hostile meshes. Rays gain a factor of two from boxes that
//! are split where the least surface is crossed (J. Goldsmith and J. Salmon,
//! IEEE Computer Graphics and Applications 7 (1987) 14-20), in bins (I. Wald,
//! IEEE Symposium on Interactive Ray Tracing 2007). Below a depth it is the
//! median again.

use super::ray::{Hit, Ray, Sheared};
use crate::measure::Vec3;
use crate::mesh::Soup;

/// Triangles in a leaf at most.
const LEAF: usize = 4;
/// Bins along an axis.
const BINS: usize = 12;
/// Depth from which triangles are halved by number, so that the whole depth is
/// at most this and 32 more.
const DEEP: u32 = 48;
/// Nodes that wait while one is looked at.
const WAITING: usize = 96;
/// A way along no axis, plane or diagonal that meshes have: a ray along it meets
/// no edge, at which it would count two triangles for one.
const ASKEW: [f64; 3] = [0.430_159_709, 0.752_031_873, 0.498_891_347];

type Point = [f64; 3];

#[derive(Clone, Copy, Debug)]
struct Bounds {
    /// Its low and its high corner.
    ends: [Point; 2],
}

impl Bounds {
    const NONE: Bounds = Bounds { ends: [[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]] };

    fn add(&mut self, other: &Bounds) {
        for i in 0..3 {
            self.ends[0][i] = self.ends[0][i].min(other.ends[0][i]);
            self.ends[1][i] = self.ends[1][i].max(other.ends[1][i]);
        }
    }

    /// Half the surface; 0 of nothing.
    fn surface(&self) -> f64 {
        let [x, y, z] = [0, 1, 2].map(|i| (self.ends[1][i] - self.ends[0][i]).max(0.0));
        x * y + y * z + z * x
    }

    fn twice_middle(&self, axis: usize) -> f64 {
        self.ends[0][axis] + self.ends[1][axis]
    }
}

#[derive(Clone, Copy, Debug)]
struct Node {
    bounds: Bounds,
    /// First triangle of a leaf, or index of the second child.
    start: u32,
    /// Triangles of a leaf; 0 in an inner node, whose first child follows it.
    count: u32,
}

/// The tree. It is shared by threads as it is.
#[derive(Clone, Debug, Default)]
pub struct Tree {
    nodes: Vec<Node>,
    corners: Vec<[Point; 3]>,
    ids: Vec<u32>,
    normals: Vec<Vec3>,
}

impl Tree {
    /// The tree over all triangles; those without area are never met.
    pub fn new(soup: &Soup) -> Tree {
        let n = soup.triangles().len();
        let corners = |i: usize| -> [Point; 3] { soup.corners(i).map(Into::into) };
        let boxes: Vec<Bounds> = (0..n).map(|i| around(&corners(i))).collect();
        let mut ids: Vec<u32> = (0..n as u32).collect();
        let mut nodes: Vec<Node> = Vec::with_capacity(n.max(1));
        // Ranges still to be built: start, end, depth, and the inner node that
        // waits for one as its second child.
        let mut todo = vec![(0, n, 0, None)];
        todo.retain(|_| n > 0);
        while let Some((start, end, depth, parent)) = todo.pop() {
            let here = nodes.len();
            if let Some(parent) = parent {
                let parent: &mut Node = &mut nodes[parent];
                parent.start = here as u32;
            }
            let range = &mut ids[start..end];
            let mut bounds = Bounds::NONE;
            range.iter().for_each(|&i| bounds.add(&boxes[i as usize]));
            if end - start <= LEAF {
                nodes.push(Node { bounds, start: start as u32, count: (end - start) as u32 });
                continue;
            }
            let middle = start + split(range, &boxes, depth);
            nodes.push(Node { bounds, start: 0, count: 0 });
            todo.push((middle, end, depth + 1, Some(here)));
            todo.push((start, middle, depth + 1, None));
        }
        // Millions of triangles: what is no longer wanted makes room.
        drop(boxes);
        let normal = |i: usize| {
            let [a, b, c] = soup.corners(i);
            (b - a).cross(&(c - a)).try_normalize(0.0).unwrap_or_else(Vec3::zeros)
        };
        Tree {
            nodes,
            corners: ids.iter().map(|&i| corners(i as usize)).collect(),
            normals: (0..n).map(normal).collect(),
            ids,
        }
    }

    /// Unit normal of a triangle, outward where the mesh is.
    ///
    /// Panics if there is no such triangle, like slice indexing.
    pub fn normal(&self, triangle: u32) -> Vec3 {
        self.normals[triangle as usize]
    }

    /// The nearest triangle met between two distances, mm, both included; of two
    /// that are met at the same distance the one with the smaller number.
    pub fn first(&self, ray: &Ray, span: (f64, f64)) -> Option<Hit> {
        let mut best: Option<Hit> = None;
        self.visit(ray, span, |hit| {
            let nearer =
                |b: Hit| hit.reach < b.reach || hit.reach == b.reach && hit.triangle < b.triangle;
            if best.is_none_or(nearer) {
                best = Some(hit);
            }
            Some(best.map_or(span.1, |b| b.reach))
        });
        best
    }

    /// Whether any triangle is met between two distances, mm, both included.
    pub fn any(&self, ray: &Ray, span: (f64, f64)) -> bool {
        let mut met = false;
        self.visit(ray, span, |_| {
            met = true;
            None
        });
        met
    }

    /// Whether a point lies in material of a closed mesh, outward: whether its
    /// surfaces, all together, wind about it. One on a surface may be either.
    pub fn holds(&self, at: &Vec3) -> bool {
        let ray = Ray { from: *at, along: Vec3::from(ASKEW).normalize() };
        let mut winding = 0;
        self.visit(&ray, (0.0, f64::INFINITY), |hit| {
            let leaves = self.normal(hit.triangle).dot(&ray.along);
            winding += i32::from(leaves > 0.0) - i32::from(leaves < 0.0);
            Some(f64::INFINITY)
        });
        winding > 0
    }

    /// Tells `meet` of triangles that are met, near boxes first; it answers how
    /// far to look from then on, or not at all.
    fn visit(
        &self,
        ray: &Ray,
        (near, mut far): (f64, f64),
        mut meet: impl FnMut(Hit) -> Option<f64>,
    ) {
        let Some(root) = self.nodes.first() else { return };
        let sheared = Sheared::new(ray);
        let enters = |node: &Node, far: f64| {
            let (enter, leave) = sheared.span(&node.bounds.ends);
            (enter <= leave && leave >= near && enter <= far).then_some(enter)
        };
        let mut waiting = [(0u32, 0.0f64); WAITING];
        let mut top = 0;
        let mut here = enters(root, far).map(|_| 0u32);
        loop {
            let Some(index) = here.take() else {
                if top == 0 {
                    return;
                }
                top -= 1;
                let (index, enter) = waiting[top];
                here = (enter <= far).then_some(index);
                continue;
            };
            let node = &self.nodes[index as usize];
            if node.count == 0 {
                let (first, second) = (index + 1, node.start);
                let one = enters(&self.nodes[first as usize], far);
                let two = enters(&self.nodes[second as usize], far);
                here = match (one, two) {
                    (Some(a), Some(b)) => {
                        let (next, later) =
                            if a <= b { (first, (second, b)) } else { (second, (first, a)) };
                        waiting[top] = later;
                        top += 1;
                        Some(next)
                    }
                    (one, two) => one.map(|_| first).or(two.map(|_| second)),
                };
                continue;
            }
            let range = node.start as usize..(node.start + node.count) as usize;
            for (corners, &triangle) in self.corners[range.clone()].iter().zip(&self.ids[range]) {
                let Some(reach) = sheared.reach(corners) else { continue };
                if reach < near || reach > far {
                    continue;
                }
                match meet(Hit { triangle, reach }) {
                    Some(until) => far = until,
                    None => return,
                }
            }
        }
    }
}

fn around(corners: &[Point; 3]) -> Bounds {
    let mut bounds = Bounds::NONE;
    corners.iter().for_each(|p| bounds.add(&Bounds { ends: [*p; 2] }));
    bounds
}

/// Parts the triangles of a node in two and says how many are in the first
/// part: at least one, and not all.
fn split(range: &mut [u32], boxes: &[Bounds], depth: u32) -> usize {
    if depth < DEEP
        && let Some((axis, at)) = cheapest(range, boxes)
    {
        let below = |i: &u32| boxes[*i as usize].twice_middle(axis) < at;
        // Stable, so that the tree is the same on every run.
        let (first, second): (Vec<u32>, Vec<u32>) = range.iter().partition(|i| below(i));
        if !first.is_empty() && !second.is_empty() {
            let count = first.len();
            range[..count].copy_from_slice(&first);
            range[count..].copy_from_slice(&second);
            return count;
        }
    }
    range.len() / 2
}

/// The axis and twice the place on it where two parts have the least surface
/// times triangles; none where all middles coincide.
fn cheapest(range: &[u32], boxes: &[Bounds]) -> Option<(usize, f64)> {
    let mut best: Option<(f64, usize, f64)> = None;
    for axis in 0..3 {
        let middles = range.iter().map(|&i| boxes[i as usize].twice_middle(axis));
        let (low, high) = middles
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), m| (low.min(m), high.max(m)));
        let width = (high - low) / BINS as f64;
        if !(width > 0.0 && width.is_finite()) {
            continue;
        }
        let mut bins = [(0usize, Bounds::NONE); BINS];
        for &i in range {
            let own = &boxes[i as usize];
            let bin = ((own.twice_middle(axis) - low) / width) as usize;
            let bin = &mut bins[bin.min(BINS - 1)];
            bin.0 += 1;
            bin.1.add(own);
        }
        let mut above = [0.0; BINS];
        let (mut count, mut bounds) = (0, Bounds::NONE);
        for k in (1..BINS).rev() {
            count += bins[k].0;
            bounds.add(&bins[k].1);
            above[k] = count as f64 * bounds.surface();
        }
        (count, bounds) = (0, Bounds::NONE);
        for k in 1..BINS {
            count += bins[k - 1].0;
            bounds.add(&bins[k - 1].1);
            let cost = count as f64 * bounds.surface() + above[k];
            if best.is_none_or(|b| cost < b.0) {
                best = Some((cost, axis, low + width * k as f64));
            }
        }
    }
    best.map(|(_, axis, at)| (axis, at))
}
