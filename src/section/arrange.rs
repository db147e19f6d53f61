//! The arrangement of two layers of directed pieces: every crossing becomes a
//! vertex, every piece a chain of edges, and every edge knows how often each
//! layer winds around its two sides.

use std::collections::HashMap;

use super::seg::left;
use super::{EPS, Seg, VertexTable};
use crate::measure::Vec2;

/// The edges that replace one piece, in its direction: index and whether the
/// edge runs the same way.
pub(crate) type Chain = Vec<(u32, bool)>;

/// A piece between two vertices that no other edge crosses.
#[derive(Clone, Debug)]
pub(crate) struct ArrangedEdge {
    /// Start vertex.
    pub from: u32,
    /// End vertex.
    pub to: u32,
    /// Geometry from start to end.
    pub seg: Seg,
    /// Per layer: pieces that run along it minus pieces that run against it.
    pub net: [i32; 2],
    /// Per layer: winding number just left of it.
    pub left: [i32; 2],
    /// Per layer: winding number just right of it.
    pub right: [i32; 2],
}

/// See the module's text.
#[derive(Debug, Default)]
pub(crate) struct Arrangement {
    /// All edges, each once.
    pub edges: Vec<ArrangedEdge>,
    /// Per layer and piece, in the order given: its chain; empty for a piece
    /// that is shorter than a vertex.
    pub chains: [Vec<Chain>; 2],
}

/// Arranges two layers of pieces, numbering all points in `table`.
pub(crate) fn arrange(table: &mut VertexTable, layers: [&[Seg]; 2]) -> Arrangement {
    let pieces: Vec<Piece> = layers
        .iter()
        .enumerate()
        .flat_map(|(l, segs)| segs.iter().map(move |s| (l, s)))
        .map(|(layer, seg)| Piece::new(table, layer, seg))
        .collect();
    let cuts = cut_all(table, &pieces);
    let mut out = Arrangement::default();
    let mut known: HashMap<(u32, u32), Vec<u32>> = HashMap::new();
    let mut owners: Vec<Vec<u32>> = Vec::new();
    for (index, (piece, cuts)) in pieces.iter().zip(&cuts).enumerate() {
        let mut chain = Chain::new();
        for w in cuts.windows(2) {
            let sub = Seg { a: table.point(w[0]), b: table.point(w[1]), arc: piece.seg.arc };
            let (id, forward) = edge_id(&mut out.edges, &mut known, w[0], w[1], sub);
            if owners.len() < out.edges.len() {
                owners.push(Vec::new());
            }
            owners[id as usize].push(index as u32);
            out.edges[id as usize].net[piece.layer] += if forward { 1 } else { -1 };
            chain.push((id, forward));
        }
        out.chains[piece.layer].push(chain);
    }
    for (edge, owners) in out.edges.iter_mut().zip(&owners) {
        wind(edge, owners, &pieces);
    }
    out
}

struct Piece {
    layer: usize,
    seg: Seg,
    from: u32,
    to: u32,
    lo: Vec2,
    hi: Vec2,
}

impl Piece {
    fn new(table: &mut VertexTable, layer: usize, seg: &Seg) -> Piece {
        let (from, to) = (table.id(seg.a), table.id(seg.b));
        let seg = Seg { a: table.point(from), b: table.point(to), arc: seg.arc };
        let (lo, hi) = seg.bounds();
        Piece { layer, seg, from, to, lo, hi }
    }

    fn near(&self, other: &Piece) -> bool {
        let e = EPS.on_curve;
        self.lo.x <= other.hi.x + e
            && other.lo.x <= self.hi.x + e
            && self.lo.y <= other.hi.y + e
            && other.lo.y <= self.hi.y + e
    }
}

/// For every piece the vertices on it, in order from its start to its end.
fn cut_all(table: &mut VertexTable, pieces: &[Piece]) -> Vec<Vec<u32>> {
    let mut cuts: Vec<Vec<u32>> = pieces
        .iter()
        .map(|p| if p.from == p.to { Vec::new() } else { vec![p.from, p.to] })
        .collect();
    // Sweep in x, so that pieces far apart never meet.
    let mut order: Vec<usize> = (0..pieces.len()).filter(|&i| !cuts[i].is_empty()).collect();
    order.sort_by(|&i, &j| pieces[i].lo.x.total_cmp(&pieces[j].lo.x).then(i.cmp(&j)));
    for (k, &i) in order.iter().enumerate() {
        for &j in &order[k + 1..] {
            if pieces[j].lo.x > pieces[i].hi.x + EPS.on_curve {
                break;
            }
            if pieces[i].near(&pieces[j]) {
                cut_pair(table, pieces, &mut cuts, i.min(j), i.max(j));
            }
        }
    }
    for (piece, cuts) in pieces.iter().zip(&mut cuts) {
        if cuts.len() > 2 {
            let mut keyed: Vec<(f64, u32)> =
                cuts.iter().map(|&v| (piece.seg.position(table.point(v)), v)).collect();
            keyed.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1.cmp(&q.1)));
            keyed.retain(|&(_, v)| v != piece.from && v != piece.to);
            keyed.dedup_by_key(|k| k.1);
            cuts.clear();
            cuts.push(piece.from);
            cuts.extend(keyed.into_iter().map(|k| k.1));
            cuts.push(piece.to);
        }
    }
    cuts
}

fn cut_pair(table: &mut VertexTable, pieces: &[Piece], cuts: &mut [Vec<u32>], i: usize, j: usize) {
    let (p, q) = (&pieces[i], &pieces[j]);
    for v in [q.from, q.to] {
        if v != p.from && v != p.to && p.seg.passes(table.point(v)) {
            cuts[i].push(v);
        }
    }
    for v in [p.from, p.to] {
        if v != q.from && v != q.to && q.seg.passes(table.point(v)) {
            cuts[j].push(v);
        }
    }
    let (points, n) = p.seg.crossings(&q.seg);
    for &point in &points[..n] {
        let v = table.id(point);
        if v != p.from && v != p.to {
            cuts[i].push(v);
        }
        if v != q.from && v != q.to {
            cuts[j].push(v);
        }
    }
}

/// The number of the edge from `from` to `to` along `seg`, new if there is
/// none yet, and whether it runs the same way.
fn edge_id(
    edges: &mut Vec<ArrangedEdge>,
    known: &mut HashMap<(u32, u32), Vec<u32>>,
    from: u32,
    to: u32,
    seg: Seg,
) -> (u32, bool) {
    let ids = known.entry((from.min(to), from.max(to))).or_default();
    let mid = seg.mid();
    for &id in ids.iter() {
        let e = &edges[id as usize];
        if (e.seg.mid() - mid).norm() <= EPS.same_edge {
            return (id, e.from == from);
        }
    }
    let id = edges.len() as u32;
    ids.push(id);
    edges.push(ArrangedEdge { from, to, seg, net: [0; 2], left: [0; 2], right: [0; 2] });
    (id, true)
}

/// Slope below which an edge counts as upright (dx per length): its vertices
/// carry noise, so a ray along it would be undecided.
const UPRIGHT: f64 = 1e-3;

/// How far beside an upright edge the ray starts, mm: a hundred times the size
/// of a vertex and far below any width that a stack accepts.
const BESIDE: f64 = 1e-5;

/// Winding numbers by a ray straight up. It starts on the edge's midpoint, and
/// pieces that run along the edge are left out and accounted for by its net
/// count; for an upright edge it starts a little to the right.
fn wind(edge: &mut ArrangedEdge, owners: &[u32], pieces: &[Piece]) {
    let mut p = edge.seg.mid();
    let along = match edge.seg.arc {
        None => edge.seg.tangent_at_a(),
        Some(arc) => arc.tangent(p),
    };
    let upright = along.x.abs() <= UPRIGHT;
    if upright {
        p.x += BESIDE.min(0.1 * edge.seg.chord());
    }
    let mut above = [0; 2];
    for (i, piece) in pieces.iter().enumerate() {
        let beside = p.x < piece.lo.x || p.x >= piece.hi.x || p.y > piece.hi.y;
        if beside || (!upright && owners.contains(&(i as u32))) {
            continue;
        }
        if p.y < piece.lo.y || piece.seg.y_at(p.x) > p.y {
            // A piece that runs to the left has its left side below it.
            above[piece.layer] += if piece.seg.b.x < piece.seg.a.x { 1 } else { -1 };
        }
    }
    let ray_is_left = if upright { along.y < 0.0 } else { along.x > 0.0 };
    for (l, &above) in above.iter().enumerate() {
        if ray_is_left {
            edge.left[l] = above;
            edge.right[l] = above - edge.net[l];
        } else {
            edge.right[l] = above;
            edge.left[l] = above + edge.net[l];
        }
    }
}

impl Arrangement {
    /// Two edges, neither sharing a vertex, that come closer than `limit`
    /// without touching, if there are any: the place and the distance.
    pub(crate) fn sliver(&self, limit: f64) -> Option<(Vec2, f64)> {
        let mut order: Vec<(Vec2, Vec2, &ArrangedEdge)> = self
            .edges
            .iter()
            .map(|e| {
                let (lo, hi) = e.seg.bounds();
                (lo, hi, e)
            })
            .collect();
        order.sort_by(|p, q| p.0.x.total_cmp(&q.0.x));
        for (k, (lo, hi, e)) in order.iter().enumerate() {
            for (lo2, hi2, f) in &order[k + 1..] {
                if lo2.x > hi.x + limit {
                    break;
                }
                if lo2.y > hi.y + limit || lo.y > hi2.y + limit {
                    continue;
                }
                if let Some(found) = near_miss(e, f, limit) {
                    return Some(found);
                }
            }
        }
        None
    }
}

fn near_miss(e: &ArrangedEdge, f: &ArrangedEdge, limit: f64) -> Option<(Vec2, f64)> {
    let mut best: Option<(Vec2, f64)> = None;
    let mut offer = |p: Vec2, d: f64| {
        if d < limit && best.is_none_or(|b| d < b.1) {
            best = Some((p, d));
        }
    };
    for (own, other) in [(e, f), (f, e)] {
        for (v, p) in [(own.from, own.seg.a), (own.to, own.seg.b)] {
            if v != other.from && v != other.to {
                offer(p, other.seg.distance(p));
            }
        }
    }
    let shared = e.from == f.from || e.from == f.to || e.to == f.from || e.to == f.to;
    if !shared {
        // Between two arcs, or an arc and a line, the closest points may lie
        // inside both: on the line through the centres, or square to the line.
        for p in inner_candidates(&e.seg, &f.seg) {
            if e.seg.passes(p) {
                offer(p, f.seg.distance(p));
            }
        }
        for p in inner_candidates(&f.seg, &e.seg) {
            if f.seg.passes(p) {
                offer(p, e.seg.distance(p));
            }
        }
    }
    best
}

/// Points of `s` where its distance to the carrier of `t` is extreme.
fn inner_candidates(s: &Seg, t: &Seg) -> Vec<Vec2> {
    let Some(arc) = s.arc else { return Vec::new() };
    let d = match t.arc {
        Some(other) => other.centre - arc.centre,
        None => left(t.b - t.a),
    };
    let n = d.norm();
    if n <= EPS.on_curve {
        // Concentric: everywhere equally far; the middle will do.
        return vec![s.mid()];
    }
    vec![arc.centre + d * (arc.radius / n), arc.centre - d * (arc.radius / n)]
}

/// Heading, radians, of an edge as seen from a vertex at distance `reach`
/// along it: tangent edges are told apart by their curvature.
pub(crate) fn heading(seg: &Seg, reach: f64) -> f64 {
    let t = seg.tangent_at_a();
    let base = t.y.atan2(t.x);
    match seg.arc {
        None => base,
        Some(arc) => {
            let turn = (reach / (2.0 * arc.radius)).min(1.0).asin();
            base + if arc.ccw { turn } else { -turn }
        }
    }
}
