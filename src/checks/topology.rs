//! How the triangles of a mesh hang together, whatever is wrong with them.

use crate::measure::Vec3;
use crate::mesh::Soup;

/// No neighbour: the edge is open, or more than two triangles meet there.
pub const NONE: u32 = u32::MAX;

/// Neighbours, normals, shells and the faults found on the way.
#[derive(Clone, Debug, Default)]
pub struct Topology {
    /// Unit normals by the right-hand rule; zero for triangles without area.
    pub normals: Vec<Vec3>,
    /// Areas, mm2.
    pub areas: Vec<f64>,
    /// Across the edge from corner `i` to the next: the other triangle, if
    /// just one other uses that edge, in either sense.
    pub neighbours: Vec<[u32; 3]>,
    /// Edges used by one triangle only: the triangle and the edge's number.
    pub open: Vec<(u32, u8)>,
    /// Edges where three or more triangles meet.
    pub crowded: Vec<(u32, u8)>,
    /// Edges that two triangles use in the same sense.
    pub turned: Vec<(u32, u8)>,
    /// Triangles without area.
    pub degenerate: Vec<u32>,
    /// Triangles with the same corners as an earlier one.
    pub duplicates: Vec<u32>,
    /// Number of the shell that each triangle belongs to, from 0.
    pub shell: Vec<u32>,
    /// Signed volume of each shell, mm3; meaningless for open ones.
    pub volumes: Vec<f64>,
}

/// Height over longest edge below which a triangle has no direction: what is
/// left of ten digits in 32-bit coordinates. Common practice, no source.
const FLAT: f64 = 1e-6;

/// Most facets around a vertex that are blended.
const MOST_AROUND: usize = 64;

/// Facets that turn by less lie in one plane: cosine of 0.06 degrees.
const FLUSH: f64 = 1.0 - 5e-7;

impl Topology {
    /// Looks at every edge once; sorting takes the time.
    pub fn new(soup: &Soup) -> Topology {
        let n = soup.triangles().len();
        let mut t = Topology { neighbours: vec![[NONE; 3]; n], ..Topology::default() };
        for i in 0..n {
            let [a, b, c] = soup.corners(i);
            let normal = (b - a).cross(&(c - a));
            let double = normal.norm();
            let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
            t.areas.push(0.5 * double);
            if double <= FLAT * longest * longest {
                t.degenerate.push(i as u32);
                t.normals.push(Vec3::zeros());
            } else {
                t.normals.push(normal / double);
            }
        }
        t.find_duplicates(soup);
        t.find_neighbours(soup);
        t.find_shells(soup);
        t
    }

    fn find_duplicates(&mut self, soup: &Soup) {
        let mut keyed: Vec<([u32; 3], u32)> = soup
            .triangles()
            .iter()
            .enumerate()
            .map(|(i, t)| {
                let mut key = *t;
                key.sort_unstable();
                (key, i as u32)
            })
            .collect();
        keyed.sort_unstable();
        let twins = keyed.windows(2).filter(|w| w[0].0 == w[1].0);
        self.duplicates = twins.map(|w| w[1].1).collect();
        self.duplicates.sort_unstable();
    }

    fn find_neighbours(&mut self, soup: &Soup) {
        let mut edges: Vec<(u64, u32)> = Vec::with_capacity(3 * soup.triangles().len());
        for (i, t) in soup.triangles().iter().enumerate() {
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                // An edge without length has no other side.
                if a != b {
                    let key = u64::from(a.min(b)) << 32 | u64::from(a.max(b));
                    edges.push((key, (i as u32) * 4 + k as u32));
                }
            }
        }
        edges.sort_unstable();
        let half = |h: u32| (h / 4, (h % 4) as u8);
        let starts = |h: u32| {
            let (i, k) = half(h);
            soup.triangles()[i as usize][k as usize]
        };
        for group in edges.chunk_by(|a, b| a.0 == b.0) {
            match *group {
                [(_, h)] => self.open.push(half(h)),
                [(_, g), (_, h)] => {
                    let ((i, k), (j, l)) = (half(g), half(h));
                    self.neighbours[i as usize][k as usize] = j;
                    self.neighbours[j as usize][l as usize] = i;
                    if starts(g) == starts(h) {
                        self.turned.push((i, k));
                    }
                }
                [(_, h), ..] => self.crowded.push(half(h)),
                [] => {}
            }
        }
    }

    fn find_shells(&mut self, soup: &Soup) {
        let n = soup.triangles().len();
        self.shell = vec![NONE; n];
        let mut stack = Vec::new();
        for first in 0..n {
            if self.shell[first] != NONE {
                continue;
            }
            let number = self.volumes.len() as u32;
            let base = soup.corners(first)[0];
            let mut six = 0.0;
            self.shell[first] = number;
            stack.push(first);
            while let Some(i) = stack.pop() {
                let [a, b, c] = soup.corners(i).map(|p| p - base);
                six += a.dot(&b.cross(&c));
                for &j in &self.neighbours[i] {
                    if j != NONE && self.shell[j as usize] == NONE {
                        self.shell[j as usize] = number;
                        stack.push(j as usize);
                    }
                }
            }
            self.volumes.push(six / 6.0);
        }
    }

    /// The unit normal at a point of a triangle, blended over the facets that
    /// turn from it by less than the angle of the given cosine: normals at the
    /// corners are weighted by the facets' angles there (G. Thuermer and
    /// C. A. Wuethrich, "Computing vertex normals from polygonal facets",
    /// Journal of Graphics Tools 3 (1998) 43-46), between them linearly.
    pub fn smooth_normal(&self, soup: &Soup, triangle: u32, p: Vec3, cosine: f64) -> Vec3 {
        let own = self.normals[triangle as usize];
        let smooth =
            |j: u32| j != NONE && (cosine..FLUSH).contains(&own.dot(&self.normals[j as usize]));
        let around = self.neighbours[triangle as usize];
        if !around.iter().any(|&j| {
            smooth(j) || j != NONE && self.neighbours[j as usize].iter().any(|&k| smooth(k))
        }) {
            return own;
        }
        let [a, b, c] = soup.corners(triangle as usize);
        let weights = [
            (b - p).cross(&(c - p)).dot(&own),
            (c - p).cross(&(a - p)).dot(&own),
            (a - p).cross(&(b - p)).dot(&own),
        ];
        let blend = (0..3).fold(Vec3::zeros(), |sum, k| {
            sum + self.corner_normal(soup, triangle, k, cosine) * weights[k].max(0.0)
        });
        blend.try_normalize(0.0).unwrap_or(own)
    }

    fn corner_normal(&self, soup: &Soup, triangle: u32, corner: usize, cosine: f64) -> Vec3 {
        let own = self.normals[triangle as usize];
        let vertex = soup.triangles()[triangle as usize][corner];
        let mut sum = Vec3::zeros();
        let mut add = |t: u32, k: usize| {
            let n = self.normals[t as usize];
            if own.dot(&n) >= cosine {
                let p = soup.corners(t as usize);
                sum += n * (p[(k + 1) % 3] - p[k]).angle(&(p[(k + 2) % 3] - p[k]));
            }
        };
        add(triangle, corner);
        // Around the vertex one way, and if that way is not closed, the other.
        for edge in [0, 2] {
            let (mut at, mut k) = (triangle, corner);
            for _ in 0..MOST_AROUND {
                let next = self.neighbours[at as usize][(k + edge) % 3];
                if next == NONE || next == triangle {
                    break;
                }
                let Some(found) = soup.triangles()[next as usize].iter().position(|v| *v == vertex)
                else {
                    break;
                };
                (at, k) = (next, found);
                add(at, k);
            }
            if self.neighbours[at as usize][(k + edge) % 3] == triangle {
                break;
            }
        }
        sum.try_normalize(0.0).unwrap_or(own)
    }

    /// Whether every edge joins two triangles in opposite senses.
    pub fn is_closed(&self) -> bool {
        self.open.is_empty() && self.crowded.is_empty() && self.turned.is_empty()
    }

    /// Connected groups of triangles that `wanted` takes, each sorted; the
    /// groups in the order of their first triangles.
    pub fn groups(&self, wanted: impl Fn(u32) -> bool) -> Vec<Vec<u32>> {
        self.groups_where(wanted, |_, _| true)
    }

    /// The same, joined only across edges that `joined` takes.
    pub fn groups_where(
        &self,
        wanted: impl Fn(u32) -> bool,
        joined: impl Fn(u32, u32) -> bool,
    ) -> Vec<Vec<u32>> {
        let n = self.neighbours.len();
        let mut seen = vec![false; n];
        let mut groups = Vec::new();
        for first in 0..n as u32 {
            if seen[first as usize] || !wanted(first) {
                continue;
            }
            seen[first as usize] = true;
            let mut group = vec![first];
            let mut next = 0;
            while let Some(&i) = group.get(next) {
                next += 1;
                for &j in &self.neighbours[i as usize] {
                    if j != NONE && !seen[j as usize] && wanted(j) && joined(i, j) {
                        seen[j as usize] = true;
                        group.push(j);
                    }
                }
            }
            group.sort_unstable();
            groups.push(group);
        }
        groups
    }
}
