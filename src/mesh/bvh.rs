//! A tree of boxes over triangles, and the questions that checks ask of it.
//!
//! The ball queries are the shrinking ball of Inui, Umezu and Shimane,
//! "Shrinking sphere: a parallel algorithm for computing the thickness of 3D
//! objects", Computer-Aided Design and Applications 13 (2016) 199-207, done in
//! one descent: a ball that touches the surface at `p` shrinks towards `p`
//! only, so a box that a larger ball has missed is missed for good. Within one
//! triangle the shrinking is Dinkelbach's iteration for the smallest ratio
//! `|q - p|^2 / (2 (q - p) . d)` (Management Science 13 (1967) 492-498).

use std::cell::Cell;

use super::read::Soup;
use super::triangle::{NOISE, ball_to_triangle, closest_on_triangle, ray_triangle};
use crate::measure::Vec3;

/// Triangles in a leaf. Measured: 4 to 8 make no difference.
const LEAF: usize = 4;

#[derive(Clone, Copy, Debug)]
struct Node {
    low: Vec3,
    high: Vec3,
    /// First triangle of a leaf, or index of the second child.
    start: u32,
    /// Triangles of a leaf; 0 in an inner node, whose first child follows it.
    count: u32,
}

/// The tree. Triangles keep the numbers they have in the soup.
#[derive(Clone, Debug, Default)]
pub struct Bvh {
    nodes: Vec<Node>,
    corners: Vec<[Vec3; 3]>,
    ids: Vec<u32>,
    /// Where each triangle is in `corners`.
    slots: Vec<u32>,
    triangles: Vec<[u32; 3]>,
    /// The triangles at vertex `v` are `fans[starts[v]..starts[v + 1]]`.
    starts: Vec<u32>,
    fans: Vec<u32>,
    work: Cell<u64>,
}

/// A point of the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// The point, mm.
    pub at: Vec3,
    /// Its triangle.
    pub triangle: u32,
    /// How far: distance, ray parameter or radius, mm.
    pub reach: f64,
}

/// Which contacts stop a ball.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Contact {
    /// All: the ball is the largest that touches the surface at `p` and has
    /// nothing inside.
    Any,
    /// Those whose direction from `p` is at most this angle (radians, below
    /// pi/2) off the direction of the centre. Seen from the centre they lie
    /// across from `p`, as the other side of a wall does, and not beside it,
    /// as the side face at the end of a wall.
    /// Their triangles face the ball: the second number is 1 for balls outside,
    /// -1 for balls inside. So the lower edge of a step, seen from its upper one
    /// along the tread, stops nothing.
    Across(f64, f64),
}

impl Bvh {
    /// Builds the tree; triangles without any extent are taken in as points.
    pub fn new(soup: &Soup) -> Bvh {
        let n = soup.triangles().len();
        let corners: Vec<[Vec3; 3]> = (0..n).map(|i| soup.corners(i)).collect();
        let centres: Vec<Vec3> =
            corners.iter().map(|[a, b, c]| a.inf(b).inf(c) + a.sup(b).sup(c)).collect();
        let mut ids: Vec<u32> = (0..n as u32).collect();
        let mut nodes = Vec::with_capacity(n.max(1));
        // Ranges still to be built, with the inner node that waits for one as
        // its second child.
        let mut todo = vec![(0, n, None)];
        while let Some((start, end, parent)) = todo.pop() {
            let here = nodes.len();
            if let Some(parent) = parent {
                let parent: &mut Node = &mut nodes[parent];
                parent.start = here as u32;
            }
            let range = &mut ids[start..end];
            let mut bounds = (Vec3::repeat(f64::INFINITY), Vec3::repeat(f64::NEG_INFINITY));
            let mut spread = bounds;
            for &i in range.iter() {
                for p in &corners[i as usize] {
                    bounds = (bounds.0.inf(p), bounds.1.sup(p));
                }
                let c = &centres[i as usize];
                spread = (spread.0.inf(c), spread.1.sup(c));
            }
            let (low, high) = bounds;
            if end - start <= LEAF {
                nodes.push(Node { low, high, start: start as u32, count: (end - start) as u32 });
                continue;
            }
            let axis = (spread.1 - spread.0).imax();
            // The median keeps the depth logarithmic whatever the input; the
            // id breaks ties, so that the tree is the same on every run.
            let half = (end - start) / 2;
            range.select_nth_unstable_by(half, |&a, &b| {
                let (x, y) = (centres[a as usize][axis], centres[b as usize][axis]);
                x.total_cmp(&y).then(a.cmp(&b))
            });
            nodes.push(Node { low, high, start: 0, count: 0 });
            todo.push((start + half, end, Some(here)));
            todo.push((start, start + half, None));
        }
        let corners = ids.iter().map(|&i| corners[i as usize]).collect();
        let mut slots = vec![0; n];
        for (slot, &id) in ids.iter().enumerate() {
            slots[id as usize] = slot as u32;
        }
        let triangles = soup.triangles().to_vec();
        let (starts, fans) = fans(soup);
        Bvh { nodes, corners, ids, slots, triangles, starts, fans, work: Cell::new(0) }
    }

    fn is_empty(&self) -> bool {
        self.ids.is_empty()
    }

    /// Visits leaves near first. `reach` gives a lower bound for a box or
    /// nothing to pass it over; `leaf` handles a triangle, and both may use the
    /// state that `leaf` changes.
    fn descend<S>(
        &self,
        state: &mut S,
        reach: impl Fn(&S, &Node) -> Option<f64>,
        mut leaf: impl FnMut(&mut S, u32, &[Vec3; 3]),
    ) {
        if self.is_empty() {
            return;
        }
        // Twice the depth of a tree of 2^32 triangles.
        let mut stack = [0u32; 96];
        let mut top = 0;
        let mut looked_at = 1;
        let mut here = reach(state, &self.nodes[0]).map(|_| 0);
        loop {
            let Some(node) = here.take() else {
                if top == 0 {
                    break;
                }
                top -= 1;
                looked_at += 1;
                // The state may have changed since it was put aside.
                let waiting = stack[top];
                here = reach(state, &self.nodes[waiting as usize]).map(|_| waiting);
                continue;
            };
            let Node { start, count, .. } = self.nodes[node as usize];
            if count > 0 {
                for k in start..start + count {
                    leaf(state, self.ids[k as usize], &self.corners[k as usize]);
                }
                continue;
            }
            let (first, second) = (node + 1, start);
            looked_at += 1;
            let near = reach(state, &self.nodes[first as usize]);
            let far = reach(state, &self.nodes[second as usize]);
            here = match (near, far) {
                (Some(a), Some(b)) => {
                    let (next, later) = if a <= b { (first, second) } else { (second, first) };
                    stack[top] = later;
                    top += 1;
                    Some(next)
                }
                (Some(_), None) => Some(first),
                (None, Some(_)) => Some(second),
                (None, None) => None,
            };
        }
        self.work.set(self.work.get() + looked_at);
    }

    /// The nearest point of the surface within `within` mm, among triangles
    /// that `wanted` takes.
    pub fn nearest(&self, p: Vec3, within: f64, wanted: impl Fn(u32) -> bool) -> Option<Touch> {
        let mut state = (within * within, None);
        self.descend(
            &mut state,
            |s, node| Some(box_distance_squared(node, &p)).filter(|d| *d < s.0),
            |s, id, corners| {
                if !wanted(id) {
                    return;
                }
                let q = closest_on_triangle(&p, corners);
                let d = (q - p).norm_squared();
                if d < s.0 {
                    *s = (d, Some(Touch { at: q, triangle: id, reach: d.sqrt() }));
                }
            },
        );
        state.1
    }

    /// The first triangle hit by a ray from `p` in the unit direction `d`, not
    /// nearer than `from` mm.
    pub fn ray(&self, p: Vec3, d: Vec3, from: f64) -> Option<Touch> {
        let inverse = d.map(|c| 1.0 / c);
        let mut state: (f64, Option<Touch>) = (f64::INFINITY, None);
        self.descend(
            &mut state,
            |s, node| {
                let a = (node.low - p).component_mul(&inverse);
                let b = (node.high - p).component_mul(&inverse);
                // f64::max and min drop the NaN of 0 * infinity.
                let enter = a.x.min(b.x).max(a.y.min(b.y)).max(a.z.min(b.z));
                let leave = a.x.max(b.x).min(a.y.max(b.y)).min(a.z.max(b.z));
                (enter <= leave && leave >= from && enter < s.0).then_some(enter)
            },
            |s, id, corners| {
                if let Some(t) = ray_triangle(&p, &d, corners)
                    && t >= from
                    && t < s.0
                {
                    *s = (t, Some(Touch { at: p + d * t, triangle: id, reach: t }));
                }
            },
        );
        state.1
    }

    /// The ball that touches the surface at `p`, with its centre in the unit
    /// direction `d` from there, grown until a contact stops it; none if its
    /// radius would pass `limit` mm. `reach` is the radius, `at` the contact.
    pub fn ball(&self, p: Vec3, d: Vec3, limit: f64, contact: Contact) -> Option<Touch> {
        self.ball_at(p, d, limit, contact, None)
    }

    /// The same; `guess`, a triangle that may stop it, is looked at first. A
    /// good one saves half of the time, a bad one costs next to none.
    pub fn ball_at(
        &self,
        p: Vec3,
        d: Vec3,
        limit: f64,
        contact: Contact,
        guess: Option<u32>,
    ) -> Option<Touch> {
        let Contact::Across(angle, facing) = contact else {
            return self.stopped(p, d, limit, &Cone::ALL, guess, false);
        };
        let cone = Cone::new(&d, angle, facing);
        // To look around every contact takes most of the time. Where a face
        // beside reaches deeper than a contact, it mostly lies across as well
        // and stops the ball itself; so it is enough to look around the last.
        let last = self.stopped(p, d, limit, &cone, guess, false)?;
        let centre = p + d * last.reach;
        if self.is_nearest_around(last.triangle, last.at, centre, last.reach) {
            return Some(last);
        }
        self.stopped(p, d, limit, &cone, None, true)
    }

    fn stopped(
        &self,
        p: Vec3,
        d: Vec3,
        limit: f64,
        cone: &Cone,
        guess: Option<u32>,
        strict: bool,
    ) -> Option<Touch> {
        let mut state = (limit, None);
        let try_triangle = |s: &mut (f64, Option<Touch>), id: u32, corners: &[Vec3; 3]| {
            if cone.cosine > 0.0 {
                let [a, b, c] = corners;
                let (low, high) = (a.inf(b).inf(c), a.sup(b).sup(c));
                if !cone.may_meet(&low, &high, &p, &d, s.0) {
                    return;
                }
            }
            let Some((r, q)) = ball_to_triangle(&p, &d, s.0, corners) else { return };
            if cone.cosine > 0.0 {
                let v = q - p;
                if v.dot(&d) < cone.cosine * v.norm() {
                    return;
                }
                // A face beside lies along the line to the centre; where
                // it ends no ball is stopped.
                let centre = p + d * r;
                let normal = (corners[1] - corners[0]).cross(&(corners[2] - corners[0]));
                if cone.facing * normal.dot(&(centre - q)) < BESIDE * r * normal.norm() {
                    return;
                }
                // At a corner the face beside runs along `d` itself, and
                // no face at `p` lies across from it.
                let size = corners.iter().map(|c| (c - p).amax()).fold(0.0, f64::max);
                if (closest_on_triangle(&p, corners) - p).amax() <= NOISE * size
                    || strict && !self.is_nearest_around(id, q, centre, r)
                {
                    return;
                }
            }
            *s = (r, Some(Touch { at: q, triangle: id, reach: r }));
        };
        if let Some((id, &slot)) = guess.and_then(|id| Some((id, self.slots.get(id as usize)?))) {
            try_triangle(&mut state, id, &self.corners[slot as usize]);
        }
        self.descend(
            &mut state,
            |s, node| {
                if cone.cosine > 0.0 && !cone.may_meet(&node.low, &node.high, &p, &d, s.0) {
                    return None;
                }
                if box_distance_squared(node, &(p + d * s.0)) >= s.0 * s.0 {
                    return None;
                }
                Some(box_distance_squared(node, &p))
            },
            try_triangle,
        );
        state.1
    }

    /// Whether no triangle that meets `q`, a point of triangle `id`, reaches
    /// deeper into the ball than `q`: else the ball touches that one,
    /// elsewhere, and `q` is only where `id` ends.
    fn is_nearest_around(&self, id: u32, q: Vec3, centre: Vec3, radius: f64) -> bool {
        let own = &self.corners[self.slots[id as usize] as usize];
        let normal = (own[1] - own[0]).cross(&(own[2] - own[0]));
        let v = centre - q;
        // Inside its triangle the nearest point has the centre right above it.
        if normal.cross(&v).norm() <= NOISE * normal.norm() * v.norm() {
            return true;
        }
        let size = own.iter().map(|c| c.amax()).fold(radius, f64::max);
        let near = (NOISE * size).powi(2);
        let deep = (radius * (1.0 - NOISE)).powi(2);
        let off = |p: &Vec3, t: &[Vec3; 3]| (closest_on_triangle(p, t) - p).norm_squared();
        let t = &self.triangles[id as usize];
        let fan = |k: usize| {
            let v = t[k] as usize;
            &self.fans[self.starts[v] as usize..self.starts[v + 1] as usize]
        };
        // Of a thin triangle, `q` may be on two edges at once, as far as can be told.
        let edge = |k: usize| {
            let l = (k + 1) % 3;
            let (a, b) = (fan(k), fan(l));
            let meets = off(&q, &[own[k], own[l], own[l]]) <= near;
            meets.then_some(if a.len() <= b.len() { a } else { b })
        };
        let around = match (0..3).find(|&k| (own[k] - q).norm_squared() <= near) {
            Some(corner) => [Some(fan(corner)), None, None],
            None => [0, 1, 2].map(edge),
        };
        let around = around.into_iter().flatten().flat_map(|fan| fan.iter().take(MOST_AROUND));
        let mut others = around.map(|&i| &self.corners[self.slots[i as usize] as usize]);
        !others.any(|t| off(&q, t) <= near && off(&centre, t) < deep)
    }

    /// Nodes of the tree that were looked at since it was built: what all
    /// questions have cost.
    pub fn work(&self) -> u64 {
        self.work.get()
    }

    /// Pairs of triangles whose boxes meet, smaller number first, each once,
    /// until `visit` returns false.
    pub fn pairs(&self, mut visit: impl FnMut(u32, u32) -> bool) {
        for (k, corners) in self.corners.iter().enumerate() {
            let [a, b, c] = corners;
            let (low, high) = (a.inf(b).inf(c), a.sup(b).sup(c));
            let id = self.ids[k];
            let mut going = true;
            self.descend(
                &mut going,
                |going, node| {
                    let meet = (0..3).all(|i| node.low[i] <= high[i] && low[i] <= node.high[i]);
                    (*going && meet).then_some(0.0)
                },
                |going, other, [a, b, c]| {
                    let (l, h) = (a.inf(b).inf(c), a.sup(b).sup(c));
                    let meet = (0..3).all(|i| l[i] <= high[i] && low[i] <= h[i]);
                    if *going && other > id && meet {
                        *going = visit(id, other);
                    }
                },
            );
            if !going {
                return;
            }
        }
    }

    /// Visits the triangles that reach both above and below height `z`, or
    /// touch it.
    pub fn at_height(&self, z: f64, mut visit: impl FnMut(u32, &[Vec3; 3])) {
        self.descend(
            &mut (),
            |(), node| (node.low.z <= z && node.high.z >= z).then_some(0.0),
            |(), id, corners| visit(id, corners),
        );
    }
}

/// Triangles around a vertex that are looked at.
const MOST_AROUND: usize = 256;

/// The triangles at each vertex, as [`Bvh`] keeps them.
fn fans(soup: &Soup) -> (Vec<u32>, Vec<u32>) {
    let mut starts = vec![0u32; soup.vertices().len() + 1];
    for &v in soup.triangles().iter().flatten() {
        starts[v as usize + 1] += 1;
    }
    for v in 1..starts.len() {
        starts[v] += starts[v - 1];
    }
    let mut next = starts.clone();
    let mut fans = vec![0; 3 * soup.triangles().len()];
    for (i, &v) in
        soup.triangles().iter().enumerate().flat_map(|(i, t)| t.iter().map(move |v| (i, v)))
    {
        fans[next[v as usize] as usize] = i as u32;
        next[v as usize] += 1;
    }
    (starts, fans)
}

fn box_distance_squared(node: &Node, p: &Vec3) -> f64 {
    let axis = |i: usize| {
        let d = (node.low[i] - p[i]).max(p[i] - node.high[i]).max(0.0);
        d * d
    };
    axis(0) + axis(1) + axis(2)
}

/// The directions in which contacts count.
struct Cone {
    cosine: f64,
    /// 1 for balls outside, -1 for balls inside.
    facing: f64,
    /// How far the cone reaches aside along each axis, per distance.
    wide: Vec3,
    /// The box around what a ball of radius 1 at the origin has in the cone.
    low: Vec3,
    high: Vec3,
}

impl Cone {
    const ALL: Cone = Cone {
        cosine: 0.0,
        facing: 1.0,
        wide: Vec3::new(0.0, 0.0, 0.0),
        low: Vec3::new(0.0, 0.0, 0.0),
        high: Vec3::new(0.0, 0.0, 0.0),
    };

    fn new(d: &Vec3, angle: f64, facing: f64) -> Cone {
        let tangent = angle.tan();
        let wide = d.map(|c| tangent * (1.0 - c * c).max(0.0).sqrt());
        // The ball reaches 2 cos a in the direction at a off `d`, so along an
        // axis at b off `d` 2 cos a cos(b - a) = cos b + cos(b - 2a), the most at
        // a = b / 2 or where the cone ends.
        let (sin, cos) = (2.0 * angle).sin_cos();
        let most = |c: f64| {
            let aside = if c >= cos { 1.0 } else { c * cos + (1.0 - c * c).max(0.0).sqrt() * sin };
            (c + aside).max(0.0)
        };
        let (low, high) = (d.map(|c| -most(-c)), d.map(most));
        Cone { cosine: angle.cos(), facing, wide, low, high }
    }

    /// Whether a box may meet what a ball of radius `r` has in the cone. As far
    /// as the box reaches along the cone, the cone is no wider than there.
    fn may_meet(&self, low: &Vec3, high: &Vec3, p: &Vec3, d: &Vec3, r: f64) -> bool {
        let meets =
            |i: usize| low[i] <= p[i] + r * self.high[i] && high[i] >= p[i] + r * self.low[i];
        if !(meets(0) && meets(1) && meets(2)) {
            return false;
        }
        let middle = (low + high) * 0.5 - p;
        let half = (high - low) * 0.5;
        let along = middle.dot(d) + half.dot(&d.abs());
        if along <= 0.0 {
            return false;
        }
        let t = along.min(2.0 * r);
        (0..3).all(|i| {
            let tip = t * d[i];
            let aside = t * self.wide[i];
            middle[i] - half[i] <= tip.max(0.0) + aside
                && middle[i] + half[i] >= tip.min(0.0) - aside
        })
    }
}

/// Least cosine between a contact's direction and the normal of a face there.
/// At an edge that sticks in, one of the two faces has more, unless the edge
/// is sharper than 30 degrees.
const BESIDE: f64 = 0.25;
