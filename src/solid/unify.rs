//! Neighbouring faces on one surface become one face, collinear edges one edge.

use std::collections::HashMap;
use std::f64::consts::PI;

use super::brep::find;
use super::{Brep, Curve, Edge, EdgeUse, Face, Surface, VertexId};
use crate::measure::Vec3;
use crate::section::EPS;

/// Two surfaces are one when they agree within this: mm for positions and
/// radii, and the same number for the sine of angles (at 100 mm that is 1e-7 mm).
const SAME: f64 = 1e-9;

/// Merges what can be merged. A group of faces that would wrap a full turn, or
/// whose outline would touch itself, is merged less or left as it was.
pub(super) fn unify(mut brep: Brep) -> Brep {
    brep.faces = merge_faces(&brep);
    merge_edges(&mut brep);
    compact(brep)
}

fn merge_faces(brep: &Brep) -> Vec<Face> {
    let owners = edge_owners(brep);
    let whole = groups(brep, &owners, |_, _| true);
    // Halves at the extreme generators never wrap.
    let halves = groups(brep, &owners, |e, s| !at_seam(brep, e, s));
    let mut half_of = vec![0; brep.faces.len()];
    for (i, half) in halves.iter().enumerate() {
        half.iter().for_each(|&f| half_of[f] = i);
    }
    let mut out = Vec::with_capacity(brep.faces.len());
    for group in whole {
        if let Some(face) = merged(brep, &owners, &group) {
            out.push(face);
            continue;
        }
        // In the order of their first faces.
        let firsts = group.iter().map(|&f| half_of[f]).zip(&group);
        for half in firsts.filter(|&(i, &f)| halves[i][0] == f).map(|(i, _)| &halves[i]) {
            match merged(brep, &owners, half) {
                Some(face) => out.push(face),
                None => out.extend(half.iter().map(|&g| brep.faces[g].clone())),
            }
        }
    }
    out
}

/// For every edge the faces that use it forward and backward.
pub(super) fn edge_owners(brep: &Brep) -> Vec<[Option<usize>; 2]> {
    let mut owners = vec![[None; 2]; brep.edges.len()];
    for (f, face) in brep.faces.iter().enumerate() {
        for u in face.loops.iter().flatten() {
            owners[u.edge as usize][usize::from(!u.forward)] = Some(f);
        }
    }
    owners
}

/// Connected sets of faces on one surface, in order of their first face.
fn groups(
    brep: &Brep,
    owners: &[[Option<usize>; 2]],
    may_cross: impl Fn(&Edge, &Surface) -> bool,
) -> Vec<Vec<usize>> {
    let mut parent: Vec<usize> = (0..brep.faces.len()).collect();
    for (edge, own) in brep.edges.iter().zip(owners) {
        if let [Some(f), Some(g)] = *own
            && f != g
            && same_surface(&brep.faces[f], &brep.faces[g])
            && may_cross(edge, &brep.faces[f].surface)
        {
            let (a, b) = (find(&mut parent, f), find(&mut parent, g));
            parent[a.max(b)] = a.min(b);
        }
    }
    let mut index = HashMap::new();
    let mut out: Vec<Vec<usize>> = Vec::new();
    for f in 0..brep.faces.len() {
        let root = find(&mut parent, f);
        let i = *index.entry(root).or_insert_with(|| {
            out.push(Vec::new());
            out.len() - 1
        });
        out[i].push(f);
    }
    out
}

/// Whether two faces lie on one surface and face the same way.
pub(super) fn same_surface(f: &Face, g: &Face) -> bool {
    match (f.surface, g.surface) {
        (
            Surface::Plane { origin: p, normal: n, .. },
            Surface::Plane { origin: q, normal: m, .. },
        ) => {
            let (n, m) = (if f.flipped { -n } else { n }, if g.flipped { -m } else { m });
            n.dot(&m) > 0.0 && n.cross(&m).norm() <= SAME && (q - p).dot(&n).abs() <= SAME
        }
        (
            Surface::Cylinder { origin: p, axis, radius: r, .. },
            Surface::Cylinder { origin: q, axis: other, radius: s, .. },
        ) => {
            let off = q - p;
            f.flipped == g.flipped
                && axis.cross(&other).norm() <= SAME
                && (r - s).abs() <= SAME
                && (off - axis * off.dot(&axis)).norm() <= SAME
        }
        (
            Surface::Cone { origin: p, axis, radius: r, slope: a, .. },
            Surface::Cone { origin: q, axis: other, radius: s, slope: b, .. },
        ) => {
            let off = q - p;
            let along = off.dot(&axis);
            f.flipped == g.flipped
                && (axis - other).norm() <= SAME
                && (a - b).abs() <= SAME
                && (r + a * along - s).abs() <= SAME
                && (off - axis * along).norm() <= SAME
        }
        _ => false,
    }
}

/// Whether an edge is a generator where its circle is leftmost or rightmost:
/// sections split all arcs there.
fn at_seam(brep: &Brep, edge: &Edge, surface: &Surface) -> bool {
    let (p, q) = (brep.vertices[edge.from as usize], brep.vertices[edge.to as usize]);
    match *surface {
        Surface::Plane { .. } => false,
        Surface::Cylinder { origin, .. } | Surface::Cone { origin, .. } => {
            let extreme = |v: Vec3| (v.y - origin.y).abs() <= EPS.on_curve;
            extreme(p) && extreme(q) && (p.z - q.z).abs() > SAME
        }
    }
}

/// The faces of `group` as one, or `None` if their outline is not simple.
fn merged(brep: &Brep, owners: &[[Option<usize>; 2]], group: &[usize]) -> Option<Face> {
    if let [only] = group {
        return Some(brep.faces[*only].clone());
    }
    let inside = |f: Option<usize>| f.is_some_and(|f| group.binary_search(&f).is_ok());
    let mut next: HashMap<VertexId, EdgeUse> = HashMap::new();
    let mut order = Vec::new();
    for &f in group {
        for &u in brep.faces[f].loops.iter().flatten() {
            if inside(owners[u.edge as usize][usize::from(u.forward)]) {
                continue;
            }
            let from = brep.use_from(u);
            if next.insert(from, u).is_some() {
                return None;
            }
            order.push(from);
        }
    }
    let first = &brep.faces[group[0]];
    let mut loops: Vec<(f64, Vec<EdgeUse>)> = Vec::new();
    for start in order {
        if !next.contains_key(&start) {
            continue;
        }
        let mut uses = Vec::new();
        let mut at = start;
        while let Some(u) = next.remove(&at) {
            uses.push(u);
            at = brep.use_to(u);
        }
        if at != start {
            return None;
        }
        loops.push((local_area(brep, first, &uses)?, uses));
    }
    let outer = loops.iter().filter(|l| l.0 > 0.0).count();
    if outer != 1 {
        return None;
    }
    loops.sort_by_key(|l| l.0 <= 0.0);
    Some(Face {
        surface: first.surface,
        flipped: first.flipped,
        loops: loops.into_iter().map(|l| l.1).collect(),
    })
}

/// Twice the signed area of a loop in the local coordinates of its surface,
/// positive for an outer loop; `None` when the loop wraps around the axis.
fn local_area(brep: &Brep, face: &Face, uses: &[EdgeUse]) -> Option<f64> {
    /// Points per edge: the sign of the area is all that is needed, and a
    /// curved edge bulges by less than its neighbours are apart.
    const STEPS: u32 = 16;
    let round = !matches!(face.surface, Surface::Plane { .. });
    let (mut twice, mut before, mut turn) = (0.0, None::<(f64, f64)>, 0.0);
    let mut first = (0.0, 0.0);
    for &u in uses {
        let curve = &brep.edges[u.edge as usize].curve;
        let (a, b) = curve.range();
        let steps = if matches!(curve, Curve::Line { .. }) { 1 } else { STEPS };
        for i in 0..=steps {
            let s = f64::from(i) / f64::from(steps);
            let t = if u.forward { a + (b - a) * s } else { b + (a - b) * s };
            let (mut x, y) = face.surface.local(curve.point(t));
            match before {
                None => first = (x, y),
                Some((px, py)) => {
                    if round {
                        x += turn;
                        let jump = ((px - x) / (2.0 * PI)).round() * 2.0 * PI;
                        turn += jump;
                        x += jump;
                    }
                    twice += (px - first.0) * (y - first.1) - (x - first.0) * (py - first.1);
                }
            }
            before = Some((x, y));
        }
    }
    let last = before?;
    if round && (last.0 - first.0).abs() > PI {
        return None;
    }
    // Natural orientation of (angle, height) and of plane coordinates is
    // counter-clockwise about the natural normal.
    Some(if face.flipped { -twice } else { twice })
}

/// Joins two edges that meet in a vertex where nothing else does and that lie
/// on one line or circle.
fn merge_edges(brep: &mut Brep) {
    let mut at: Vec<Vec<u32>> = vec![Vec::new(); brep.vertices.len()];
    let owners = edge_owners(brep);
    for (i, e) in brep.edges.iter().enumerate() {
        if owners[i].iter().any(Option::is_some) {
            at[e.from as usize].push(i as u32);
            at[e.to as usize].push(i as u32);
        }
    }
    let mut gone = vec![false; brep.edges.len()];
    let mut turned = vec![false; brep.edges.len()];
    for v in 0..at.len() {
        let [i, j] = at[v][..] else { continue };
        if i == j {
            continue;
        }
        let Some(edge) = joined(brep, i as usize, j as usize, v as VertexId) else { continue };
        // The far end of the edge that goes now belongs to the one that stays.
        let far =
            if edge.from == brep.edges[i as usize].from || edge.from == brep.edges[i as usize].to {
                edge.to
            } else {
                edge.from
            };
        for other in &mut at[far as usize] {
            if *other == j {
                *other = i;
            }
        }
        let i = i as usize;
        turned[i] ^= !edge_sense(&brep.edges[i], &edge);
        brep.edges[i] = edge;
        gone[j as usize] = true;
    }
    for uses in brep.faces.iter_mut().flat_map(|f| &mut f.loops) {
        uses.retain(|u| !gone[u.edge as usize]);
        for u in uses {
            u.forward ^= turned[u.edge as usize];
        }
    }
}

/// Whether `old`, a part of `new`, runs the same way.
fn edge_sense(old: &Edge, new: &Edge) -> bool {
    old.from == new.from || old.to == new.to
}

/// Edges `i` and `j`, which meet in `v`, as one edge in the sense of `i`.
fn joined(brep: &Brep, i: usize, j: usize, v: VertexId) -> Option<Edge> {
    let (e, f) = (&brep.edges[i], &brep.edges[j]);
    let far = |g: &Edge| if g.from == v { g.to } else { g.from };
    let (p, q) = (far(e), far(f));
    if p == q || p == v || q == v {
        return None;
    }
    let forward = e.to == v;
    let (from, to) = if forward { (p, q) } else { (q, p) };
    let (a, b) = (brep.vertices[from as usize], brep.vertices[to as usize]);
    let curve = match (&e.curve, &f.curve) {
        (Curve::Line { .. }, Curve::Line { .. }) => {
            let m = brep.vertices[v as usize];
            let (d, c) = (b - a, m - a);
            let straight = d.cross(&c).norm() <= SAME * d.norm_squared();
            if !straight || c.dot(&(b - m)) <= 0.0 {
                return None;
            }
            Curve::Line { from: a, to: b }
        }
        (
            Curve::Circle { centre, x, y, radius, from: t0, to: t1 },
            Curve::Circle { centre: c2, x: x2, y: y2, radius: r2, from: s0, to: s1 },
        ) => {
            let same = (centre - c2).norm() <= SAME
                && (radius - r2).abs() <= SAME
                && x.cross(y).cross(&x2.cross(y2)).norm() <= SAME;
            let span = (t1 - t0) + (s1 - s0);
            // A smooth join, not a turning back, and never a whole turn.
            let m = brep.vertices[v as usize];
            let tangent = |g: &Edge| {
                let (a, b) = g.curve.range();
                let d = g.curve.derivative(if g.from == v { a } else { b });
                if g.from == v { d } else { -d }
            };
            let opposite = tangent(e).dot(&tangent(f)) < 0.0;
            if !same || !opposite || span >= 2.0 * PI - 1e-6 || m == a {
                return None;
            }
            let (from, to) = if forward { (*t0, t1 + (s1 - s0)) } else { (t0 - (s1 - s0), *t1) };
            Curve::Circle { centre: *centre, x: *x, y: *y, radius: *radius, from, to }
        }
        _ => return None,
    };
    Some(Edge { from, to, curve })
}

/// Drops vertices and edges that no face uses.
pub(super) fn compact(brep: Brep) -> Brep {
    let mut edge_map = vec![u32::MAX; brep.edges.len()];
    let mut vertex_map = vec![u32::MAX; brep.vertices.len()];
    let mut out = Brep::default();
    for mut face in brep.faces {
        for u in face.loops.iter_mut().flatten() {
            let old = u.edge as usize;
            if edge_map[old] == u32::MAX {
                edge_map[old] = out.edges.len() as u32;
                let e = &brep.edges[old];
                let mut keep = |v: VertexId| {
                    if vertex_map[v as usize] == u32::MAX {
                        vertex_map[v as usize] = out.vertices.len() as u32;
                        out.vertices.push(brep.vertices[v as usize]);
                    }
                    vertex_map[v as usize]
                };
                let (from, to) = (keep(e.from), keep(e.to));
                out.edges.push(Edge { from, to, curve: e.curve.clone() });
            }
            u.edge = edge_map[old];
        }
        out.faces.push(face);
    }
    out
}
