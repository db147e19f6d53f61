//! The arrangement of two layers of directed pieces: every crossing becomes a
//! vertex, every piece a chain of edges, and every edge knows how often each
//! layer winds around its two sides.

use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::hash::BuildHasherDefault;

use super::seg::left;
use super::shelves::Shelves;
use super::vertex::CellHasher;
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
    let mut known = Known::default();
    let mut owners: Vec<Few> = Vec::new();
    for (index, (piece, cuts)) in pieces.iter().zip(&cuts).enumerate() {
        let mut chain = Chain::new();
        for w in cuts.windows(2) {
            let sub = Seg { a: table.point(w[0]), b: table.point(w[1]), arc: piece.seg.arc };
            let (id, forward) = edge_id(&mut out.edges, &mut known, w[0], w[1], sub);
            match owners.get_mut(id as usize) {
                Some(owners) => owners.push(index as u32),
                None => owners.push(Few::new(index as u32)),
            }
            out.edges[id as usize].net[piece.layer] += if forward { 1 } else { -1 };
            chain.push((id, forward));
        }
        out.chains[piece.layer].push(chain);
    }
    let across = Shelves::new(pieces.iter().map(|piece| (piece.lo.x, piece.hi.x)));
    let up = Shelves::new(pieces.iter().map(|piece| (piece.lo.y, piece.hi.y)));
    for (edge, owners) in out.edges.iter_mut().zip(&owners) {
        wind(edge, owners, &pieces, (&across, &up));
    }
    out
}

/// Beyond a piece's box by so many times the noise, along each axis, nothing lies on it: it may
/// be off by the noise both along the piece and across it.
const FAR: f64 = 4.0;

/// Numbers of edges by those of their two vertices, the smaller first.
type Known = HashMap<(u32, u32), Few, BuildHasherDefault<CellHasher>>;

/// Numbers of which there is one, rarely more.
struct Few {
    first: u32,
    more: Vec<u32>,
}

impl Few {
    fn new(first: u32) -> Few {
        Few { first, more: Vec::new() }
    }

    fn push(&mut self, number: u32) {
        self.more.push(number);
    }

    fn iter(&self) -> impl Iterator<Item = u32> {
        std::iter::once(self.first).chain(self.more.iter().copied())
    }
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

    /// Whether `p` lies on the piece, ends included, within noise: most points are nowhere near.
    fn passes(&self, p: Vec2) -> bool {
        let e = FAR * EPS.on_curve;
        self.lo.x - e <= p.x
            && p.x <= self.hi.x + e
            && self.lo.y - e <= p.y
            && p.y <= self.hi.y + e
            && self.seg.passes(p)
    }

    /// What the piece adds to the winding number of `p` by a ray straight up.
    fn winding_from_above(&self, p: Vec2) -> i32 {
        if p.x < self.lo.x || p.x >= self.hi.x || p.y > self.hi.y {
            return 0;
        }
        if p.y >= self.lo.y && self.seg.y_at(p.x) <= p.y {
            return 0;
        }
        // A piece that runs to the left has its left side below it.
        if self.seg.b.x < self.seg.a.x { 1 } else { -1 }
    }

    /// What the piece adds to the winding number of `p` by a ray to the right:
    /// an arc may be crossed on both sides of its top or bottom. If `p` lies
    /// on the piece, the crossing there is left out.
    fn winding_from_right(&self, p: Vec2, on_piece: bool) -> i32 {
        if p.y < self.lo.y || p.y > self.hi.y || p.x > self.hi.x {
            return 0;
        }
        let Seg { a, b, arc } = self.seg;
        let Some(arc) = arc else {
            let passed = rises(a.y, b.y, p.y);
            let x = |y: f64| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y));
            return if passed != 0 && !on_piece && x(p.y) > p.x { passed } else { 0 };
        };
        let dy = p.y - arc.centre.y;
        let half = ((arc.radius - dy) * (arc.radius + dy)).max(0.0).sqrt();
        let crossing = |from: f64, to: f64, right: bool| {
            let x = if right { arc.centre.x + half } else { arc.centre.x - half };
            let here = on_piece && right == (p.x > arc.centre.x);
            if !here && x > p.x { rises(from, to, p.y) } else { 0 }
        };
        if (a.x < arc.centre.x) == (b.x < arc.centre.x) {
            return crossing(a.y, b.y, self.seg.mid().x > arc.centre.x);
        }
        let top = if self.seg.is_upper() { arc.radius } else { -arc.radius };
        let top = arc.centre.y + top;
        crossing(a.y, top, a.x > arc.centre.x) + crossing(top, b.y, b.x > arc.centre.x)
    }
}

/// 1 where a piece from height `from` to `to` passes `y` on its way up, -1 on
/// its way down: its left side then is on the left, or the right.
fn rises(from: f64, to: f64, y: f64) -> i32 {
    i32::from(to > y) - i32::from(from > y)
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
        if v != p.from && v != p.to && p.passes(table.point(v)) {
            cuts[i].push(v);
        }
    }
    for v in [p.from, p.to] {
        if v != q.from && v != q.to && q.passes(table.point(v)) {
            cuts[j].push(v);
        }
    }
    let (points, n) = p.seg.carriers_meet(&q.seg);
    for &point in points[..n].iter().filter(|&&point| p.passes(point) && q.passes(point)) {
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
    known: &mut Known,
    from: u32,
    to: u32,
    seg: Seg,
) -> (u32, bool) {
    let id = edges.len() as u32;
    match known.entry((from.min(to), from.max(to))) {
        Entry::Vacant(vacant) => drop(vacant.insert(Few::new(id))),
        Entry::Occupied(mut there) => {
            let mid = seg.mid();
            let same = |e: &ArrangedEdge| (e.seg.mid() - mid).norm() <= EPS.same_edge;
            if let Some(id) = there.get().iter().find(|&id| same(&edges[id as usize])) {
                return (id, edges[id as usize].from == from);
            }
            there.get_mut().push(id);
        }
    }
    edges.push(ArrangedEdge { from, to, seg, net: [0; 2], left: [0; 2], right: [0; 2] });
    (id, true)
}

/// Winding numbers by a ray from the edge's midpoint: straight up, or to the
/// right from an edge that is steeper than half a right angle, so that the ray
/// never runs along it. Pieces that run along the edge are left out there and
/// accounted for by its net count. No step aside is taken: however thin a
/// sliver beside the edge is, its far side is seen. The shelves hold the pieces by x and by y.
fn wind(
    edge: &mut ArrangedEdge,
    owners: &Few,
    pieces: &[Piece],
    (across, up): (&Shelves, &Shelves),
) {
    let p = edge.seg.mid();
    let along = match edge.seg.arc {
        None => edge.seg.tangent_at_a(),
        Some(arc) => arc.tangent(p),
    };
    let steep = along.y.abs() > along.x.abs();
    let mut beyond = [0; 2];
    for i in if steep { up.at(p.y) } else { across.at(p.x) } {
        let (piece, on_piece) = (&pieces[*i as usize], owners.iter().any(|owner| owner == *i));
        beyond[piece.layer] += match (steep, on_piece) {
            (true, _) => piece.winding_from_right(p, on_piece),
            (false, true) => 0,
            (false, false) => piece.winding_from_above(p),
        };
    }
    let ray_is_left = if steep { along.y < 0.0 } else { along.x > 0.0 };
    for (l, &beyond) in beyond.iter().enumerate() {
        if ray_is_left {
            edge.left[l] = beyond;
            edge.right[l] = beyond - edge.net[l];
        } else {
            edge.right[l] = beyond;
            edge.left[l] = beyond + edge.net[l];
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

#[cfg(test)]
mod tests {
    use super::super::Arc;
    use super::*;

    fn sliver(pieces: &[Seg], limit: f64) -> Option<(Vec2, f64)> {
        arrange(&mut VertexTable::default(), [pieces, &[]]).sliver(limit)
    }

    fn line(ax: f64, ay: f64, bx: f64, by: f64) -> Seg {
        Seg::line(Vec2::new(ax, ay), Vec2::new(bx, by))
    }

    /// The upper half of a circle.
    fn dome(x: f64, y: f64, radius: f64) -> Vec<Seg> {
        let at = |dx: f64| Vec2::new(x + dx, y);
        Seg::arc(at(0.0), radius, at(radius), at(-radius), true)
    }

    #[test]
    fn edges_that_share_an_end_are_no_sliver_and_near_ones_are() {
        let base = line(0.0, 0.0, 10.0, 0.0);
        let corner = line(0.0, 0.0, 0.0, 10.0);
        assert_eq!(sliver(&[base, corner, line(10.0, 0.0, 10.0, 5.0)], 1e-2), None);
        // Its low end is next to the base's middle, one way round or the other.
        for post in [line(4.0, 1e-3, 4.0, 5.0), line(4.0, 5.0, 4.0, 1e-3)] {
            let (at, gap) = sliver(&[base, post], 1e-2).expect("a near miss");
            assert!((at - Vec2::new(4.0, 1e-3)).norm() < 1e-9 && (gap - 1e-3).abs() < 1e-9);
            assert_eq!(sliver(&[base, post], 1e-4), None);
        }
        // Both ends of a bar are near; the nearer one is told.
        for bar in [line(2.0, 3e-3, 8.0, 1e-3), line(8.0, 1e-3, 2.0, 3e-3)] {
            let (at, gap) = sliver(&[base, bar], 1e-2).expect("a near miss");
            assert!((at - Vec2::new(8.0, 1e-3)).norm() < 1e-9 && (gap - 1e-3).abs() < 1e-9);
        }
        // A corner with two edges beside a wall: one end of each is near.
        let wedge = [line(4.0, 1e-3, 2.0, 5.0), line(4.0, 1e-3, 6.0, 5.0)];
        assert!(sliver(&[base, wedge[0], wedge[1]], 1e-2).is_some());
    }

    #[test]
    fn arcs_are_near_each_other_and_lines_where_no_end_is() {
        let above = line(-20.0, 5.002, 20.0, 5.002);
        let with_line: Vec<Seg> = dome(0.0, 0.0, 5.0).into_iter().chain([above]).collect();
        let (at, gap) = sliver(&with_line, 1e-2).expect("the top is near the line");
        assert!((at - Vec2::new(0.0, 5.0)).norm() < 1e-9 && (gap - 2e-3).abs() < 1e-9);
        assert_eq!(sliver(&with_line, 1e-3), None);
        // One dome inside another that is only a little larger at the top.
        let nested: Vec<Seg> =
            dome(0.0, 0.0, 5.0).into_iter().chain(dome(0.0, -0.998, 6.0)).collect();
        let (at, gap) = sliver(&nested, 1e-2).expect("the tops are near each other");
        assert!((at.x.abs() < 1e-9) && (gap - 2e-3).abs() < 1e-9, "{at} {gap}");
    }

    #[test]
    fn an_arcs_heading_is_the_way_to_its_point_at_the_reach() {
        let reach = 0.3;
        for radius in [0.5, 2.0, 40.0] {
            for ccw in [true, false] {
                let side = if ccw { 1.0 } else { -1.0 };
                let centre = Vec2::new(0.0, side * radius);
                let end = Vec2::new(radius, side * radius);
                let seg = Seg { a: Vec2::zeros(), b: end, arc: Some(Arc { centre, radius, ccw }) };
                // Half the angle at the centre, whose chord is the reach.
                let half = (0.5 * reach / radius).asin();
                assert!((heading(&seg, reach) - side * half).abs() < 1e-12, "{radius} {ccw}");
            }
        }
        assert_eq!(heading(&line(0.0, 0.0, 0.0, 2.0), reach), 0.5 * std::f64::consts::PI);
    }
}
