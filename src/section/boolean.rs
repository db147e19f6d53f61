//! Boolean operations: select the edges between inside and outside, trace them.

use std::f64::consts::PI;

use super::arrange::{ArrangedEdge, heading};
use super::region::winding;
use super::{Arrangement, EPS, Region, Seg, VertexTable, arrange};
use crate::measure::Vec2;

/// A closed walk over arranged edges, material to the left.
#[derive(Clone, Debug)]
pub(crate) struct TracedLoop {
    /// Edge index and whether the walk follows the edge's own direction.
    pub uses: Vec<(u32, bool)>,
}

impl TracedLoop {
    /// The walk cut where it passes a vertex twice, as it does around a hole
    /// that touches the outer boundary: every part visits a vertex once.
    pub(crate) fn simple_parts(self, arrangement: &Arrangement) -> Vec<TracedLoop> {
        let mut parts = Vec::new();
        let mut path: Vec<(u32, bool)> = Vec::with_capacity(self.uses.len());
        for u in self.uses {
            path.push(u);
            let end = from_vertex(&arrangement.edges, (u.0, !u.1));
            if let Some(k) = path.iter().position(|&w| from_vertex(&arrangement.edges, w) == end) {
                parts.push(TracedLoop { uses: path.split_off(k) });
            }
        }
        parts
    }

    /// The geometry of the walk.
    pub(crate) fn segs(&self, arrangement: &Arrangement) -> Vec<Seg> {
        self.uses
            .iter()
            .map(|&(e, forward)| {
                let seg = arrangement.edges[e as usize].seg;
                if forward { seg } else { seg.reversed() }
            })
            .collect()
    }
}

impl Region {
    /// The material of either region.
    pub fn union(&self, other: &Region) -> Region {
        self.overlay(other, |a, b| a || b)
    }

    /// The material of this region that is not in the other.
    pub fn difference(&self, other: &Region) -> Region {
        self.overlay(other, |a, b| a && !b)
    }

    /// The material in both regions.
    pub fn intersection(&self, other: &Region) -> Region {
        self.overlay(other, |a, b| a && b)
    }

    /// The material in exactly one of the two regions.
    pub fn xor(&self, other: &Region) -> Region {
        self.overlay(other, |a, b| a != b)
    }

    fn overlay(&self, other: &Region, keep: impl Fn(bool, bool) -> bool) -> Region {
        if self.is_undefined() || other.is_undefined() {
            return Region::undefined();
        }
        let mut table = VertexTable::default();
        let (a, b) = (self.segs(), other.segs());
        let arrangement = arrange(&mut table, [&a, &b]);
        let loops = trace_loops(&arrangement, |w| keep(w[0] > 0, w[1] > 0));
        Region { loops: loops.into_iter().map(|l| l.segs(&arrangement)).collect() }.tidied()
    }

    /// Pieces on one carrier joined where nothing else meets them, arcs still
    /// split at their leftmost and rightmost points; loops in a fixed order
    /// with a fixed first piece.
    pub(super) fn tidied(mut self) -> Region {
        for pieces in &mut self.loops {
            *pieces = join_pieces(pieces);
            let first = pieces
                .iter()
                .enumerate()
                .min_by(|(_, p), (_, q)| p.a.x.total_cmp(&q.a.x).then(p.a.y.total_cmp(&q.a.y)))
                .map_or(0, |(i, _)| i);
            pieces.rotate_left(first);
        }
        self.loops.retain(|l| !is_flat(l));
        self.loops.sort_by(|p, q| {
            let (p, q) = (p[0].a, q[0].a);
            p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
        });
        self
    }
}

/// Whether a loop runs there and back on one way: what is left of a strip as thin as
/// float noise, once its pieces are joined.
fn is_flat(pieces: &[Seg]) -> bool {
    match pieces {
        [there, back] => (there.mid() - back.mid()).norm() <= EPS.same_edge,
        _ => pieces.len() < 2,
    }
}

fn join_pieces(pieces: &[Seg]) -> Vec<Seg> {
    let n = pieces.len();
    // Start at a true corner, so that a run of pieces is never cut by the wrap.
    let Some(start) = (0..n).find(|&i| joined(&pieces[(i + n - 1) % n], &pieces[i]).is_none())
    else {
        return pieces.to_vec();
    };
    let mut out: Vec<Seg> = Vec::with_capacity(n);
    for k in 0..n {
        let next = pieces[(start + k) % n];
        match out.last().and_then(|last| joined(last, &next)) {
            Some(seg) => *out.last_mut().expect("a last piece was just read") = seg,
            None => out.push(next),
        }
    }
    out
}

/// `p` followed by `q` as one piece, if they are on one carrier.
fn joined(p: &Seg, q: &Seg) -> Option<Seg> {
    let whole = Seg { a: p.a, b: q.b, arc: p.arc };
    match (p.arc, q.arc) {
        (None, None) => {
            let d = q.b - p.a;
            let ahead = (p.b - p.a).dot(&(q.b - q.a)) > 0.0;
            let straight = super::seg::cross(d, p.b - p.a).abs() <= EPS.on_curve * d.norm();
            (ahead && straight).then_some(whole)
        }
        (Some(c), Some(d)) => {
            let same = c.ccw == d.ccw
                && (c.centre - d.centre).norm() <= EPS.on_curve
                && (c.radius - d.radius).abs() <= EPS.on_curve;
            let at_extreme = (p.b.y - c.centre.y).abs() <= EPS.on_curve;
            (same && !at_extreme).then_some(whole)
        }
        _ => None,
    }
}

/// The closed walks between where `inside` holds and where it does not, with
/// `inside` to the left. At a vertex with several ways on, the walk turns so
/// that it stays with the same piece of material: regions that touch in a
/// point give separate loops.
pub(crate) fn trace_loops(
    arrangement: &Arrangement,
    inside: impl Fn([i32; 2]) -> bool,
) -> Vec<TracedLoop> {
    let edges = &arrangement.edges;
    let mut uses: Vec<(u32, bool)> = Vec::new();
    for (i, e) in edges.iter().enumerate() {
        let (l, r) = (inside(e.left), inside(e.right));
        if l != r {
            uses.push((i as u32, l));
        }
    }
    let start = |u: (u32, bool)| from_vertex(edges, u);
    let top = edges.iter().map(|e| e.from.max(e.to) as usize + 1).max().unwrap_or(0);
    let mut leaving: Vec<Vec<u32>> = vec![Vec::new(); top];
    for (k, &u) in uses.iter().enumerate() {
        leaving[start(u) as usize].push(k as u32);
    }
    let mut taken = vec![false; uses.len()];
    let mut loops = Vec::new();
    for k in 0..uses.len() {
        if taken[k] {
            continue;
        }
        let mut walk = Vec::new();
        let mut at = k;
        loop {
            taken[at] = true;
            walk.push(uses[at]);
            let v = start((uses[at].0, !uses[at].1));
            match next_use(edges, &uses, &leaving[v as usize], &taken, uses[at], k) {
                Some(next) if next != k => at = next,
                Some(_) => {
                    loops.push(TracedLoop { uses: walk });
                    break;
                }
                // Only a corrupt arrangement has a dead end; what it leaves
                // open is refused when a solid is made of it.
                None => break,
            }
        }
    }
    loops
}

fn from_vertex(edges: &[ArrangedEdge], (e, forward): (u32, bool)) -> u32 {
    let e = &edges[e as usize];
    if forward { e.from } else { e.to }
}

fn next_use(
    edges: &[ArrangedEdge],
    uses: &[(u32, bool)],
    leaving: &[u32],
    taken: &[bool],
    arriving: (u32, bool),
    first: usize,
) -> Option<usize> {
    let free = |k: usize| !taken[k] || k == first;
    if let [only] = leaving {
        return free(*only as usize).then_some(*only as usize);
    }
    let outward = |u: (u32, bool)| {
        let seg = edges[u.0 as usize].seg;
        if u.1 { seg } else { seg.reversed() }
    };
    let back = outward((arriving.0, !arriving.1));
    let reach = leaving
        .iter()
        .map(|&k| edges[uses[k as usize].0 as usize].seg.chord())
        .fold(back.chord(), f64::min)
        * 0.5;
    let from = heading(&back, reach);
    leaving
        .iter()
        .map(|&k| k as usize)
        .filter(|&k| free(k))
        .map(|k| {
            // Clockwise angle from the way back to the way on.
            let turn = (from - heading(&outward(uses[k]), reach)).rem_euclid(2.0 * PI);
            (if turn <= 0.0 { 2.0 * PI } else { turn }, k)
        })
        .min_by(|p, q| p.0.total_cmp(&q.0))
        .map(|(_, k)| k)
}

/// Sorts loops into faces: each outer loop (positive area) followed by the
/// holes directly inside it. Loops come as pieces, material to the left.
pub(crate) fn nest(loops: &[Vec<Seg>]) -> Vec<Vec<usize>> {
    let area = |l: &[Seg]| l.iter().map(Seg::twice_area).sum::<f64>();
    let areas: Vec<f64> = loops.iter().map(|l| area(l)).collect();
    let mut faces: Vec<Vec<usize>> =
        (0..loops.len()).filter(|&i| areas[i] > 0.0).map(|i| vec![i]).collect();
    for (hole, pieces) in loops.iter().enumerate() {
        if areas[hole] > 0.0 {
            continue;
        }
        // The smallest outer loop around it.
        let around = faces
            .iter()
            .enumerate()
            .filter(|(_, f)| surrounds(&loops[f[0]], pieces))
            .min_by(|(_, f), (_, g)| areas[f[0]].total_cmp(&areas[g[0]]))
            .map(|(i, _)| i);
        if let Some(i) = around {
            faces[i].push(hole);
        }
    }
    faces
}

/// Whether `inner` lies inside `outer`, given that they do not cross. They may
/// share vertices or even touch along edges, so the vote of several midpoints
/// that are off the outer boundary decides.
fn surrounds(outer: &[Seg], inner: &[Seg]) -> bool {
    let off = |p: Vec2| outer.iter().all(|s| s.distance(p) > EPS.same_edge);
    let probe = inner.iter().map(Seg::mid).find(|&p| off(p)).unwrap_or_else(|| inner[0].mid());
    winding(outer.iter(), probe) > 0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A loop may begin in the middle of a side.
    #[test]
    fn a_side_that_the_loop_begins_in_is_one_piece() {
        let corners = [(2.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)];
        let corners = corners.map(|(x, y)| Vec2::new(x, y));
        let pieces: Vec<Seg> =
            (0..5).map(|i| Seg::line(corners[i], corners[(i + 1) % 5])).collect();
        let joined = join_pieces(&pieces);
        assert_eq!(joined.len(), 4);
        assert!(joined.iter().all(|s| s.length() == 4.0), "{joined:?}");
        // Half a disc, its arc cut in two: the only corners are the first two.
        let (west, east, top) = (Vec2::new(-5.0, 0.0), Vec2::new(5.0, 0.0), Vec2::new(0.0, 5.0));
        let arc = |a, b| Seg::arc(Vec2::zeros(), 5.0, a, b, true);
        let pieces = [vec![Seg::line(west, east)], arc(east, top), arc(top, west)].concat();
        assert_eq!((pieces.len(), join_pieces(&pieces).len()), (3, 2));
    }
}
