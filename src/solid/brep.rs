//! The boundary representation and the checks that make it a [`Solid`].

use std::f64::consts::PI;
use std::sync::Arc;

use super::{CrossBore, Curve, Stack, Surface};
use crate::measure::Vec3;

/// Index of a vertex in [`Brep::vertices`].
pub type VertexId = u32;
/// Index of an edge in [`Brep::edges`].
pub type EdgeId = u32;
/// Index of a face in [`Brep::faces`].
pub type FaceId = u32;

/// A bounded curve between two vertices.
#[derive(Clone, Debug)]
pub struct Edge {
    /// Start vertex.
    pub from: VertexId,
    /// End vertex.
    pub to: VertexId,
    /// The curve from start to end.
    pub curve: Curve,
}

/// An edge as a loop runs through it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EdgeUse {
    /// Which edge.
    pub edge: EdgeId,
    /// Whether the loop runs from the edge's start to its end.
    pub forward: bool,
}

/// A bounded piece of a surface.
#[derive(Clone, Debug)]
pub struct Face {
    /// The surface.
    pub surface: Surface,
    /// Whether the outward normal is opposite to the surface's natural one.
    pub flipped: bool,
    /// The boundary, material of the face to the left when seen from outside
    /// the solid: the outer loop first, then the holes.
    pub loops: Vec<Vec<EdgeUse>>,
}

/// A connected closed set of faces.
#[derive(Clone, Debug)]
pub struct Shell {
    /// The faces.
    pub faces: Vec<FaceId>,
    /// Whether it bounds a void inside the solid.
    pub void: bool,
}

/// Vertices, edges and faces before they are known to close.
#[derive(Clone, Debug, Default)]
pub struct Brep {
    /// Points, mm.
    pub vertices: Vec<Vec3>,
    /// Edges.
    pub edges: Vec<Edge>,
    /// Faces.
    pub faces: Vec<Face>,
}

/// Why a [`Brep`] is not a solid.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BrepError {
    /// An edge is not used exactly once in each sense.
    #[error("edge at ({:.3}, {:.3}, {:.3}) is used {forward} times forward and {backward} times backward", at.x, at.y, at.z)]
    EdgeUse {
        /// Midpoint of the edge, mm.
        at: Vec3,
        /// Uses from start to end.
        forward: usize,
        /// Uses from end to start.
        backward: usize,
    },
    /// A loop does not return to its start, or runs through a vertex twice.
    #[error("face loop is broken at ({:.3}, {:.3}, {:.3})", at.x, at.y, at.z)]
    BrokenLoop {
        /// Where, mm.
        at: Vec3,
    },
    /// The loops of a face run against its outward normal, or enclose nothing.
    #[error("the face at ({:.3}, {:.3}, {:.3}) is inside out or empty", at.x, at.y, at.z)]
    FaceTurned {
        /// A vertex of the face, mm.
        at: Vec3,
    },
    /// The solid touches itself in a vertex only.
    #[error("solid touches itself in the point ({:.3}, {:.3}, {:.3})", at.x, at.y, at.z)]
    PinchedVertex {
        /// Where, mm.
        at: Vec3,
    },
    /// No face at all.
    #[error("solid has no face")]
    Empty,
    /// A shell encloses no volume, or the outermost one is inside out.
    #[error("shell at ({:.3}, {:.3}, {:.3}) encloses a volume of {volume:.6} mm3", at.x, at.y, at.z)]
    ShellVolume {
        /// A vertex of the shell, mm.
        at: Vec3,
        /// Signed volume, mm3.
        volume: f64,
    },
    /// More than one piece.
    #[error("the body falls into {pieces} separate pieces, one of them at ({:.3}, {:.3}, {:.3})", at.x, at.y, at.z)]
    Pieces {
        /// Number of outward shells.
        pieces: usize,
        /// A vertex of the smallest piece, mm.
        at: Vec3,
    },
}

/// A closed, outward-oriented body: every edge is used exactly twice in
/// opposite senses, no vertex is a pinch, one outer shell with any number of
/// voids.
#[derive(Clone, Debug)]
pub struct Solid {
    brep: Brep,
    shells: Vec<Shell>,
    drawn: Option<Arc<Drawn>>,
}

/// What a solid was made from.
#[derive(Clone, Debug)]
pub(crate) struct Drawn {
    /// Its sections.
    pub stack: Stack,
    /// What was drilled into it.
    pub bores: Vec<CrossBore>,
}

impl Solid {
    /// Checks `brep` and makes it a solid; see [`BrepError`] for what is refused.
    pub fn new(brep: Brep) -> Result<Solid, BrepError> {
        if brep.faces.is_empty() {
            return Err(BrepError::Empty);
        }
        check_loops(&brep)?;
        check_edge_uses(&brep)?;
        check_vertex_fans(&brep)?;
        let shells = split_shells(&brep)?;
        Ok(Solid { brep, shells, drawn: None })
    }

    /// The same, with what it was made from.
    pub(super) fn drawn_from(self, stack: &Stack, bores: &[CrossBore]) -> Solid {
        let drawn = Drawn { stack: stack.clone(), bores: bores.to_vec() };
        Solid { drawn: Some(Arc::new(drawn)), ..self }
    }

    /// What it was made from, if it was drilled or could have been
    /// ([`Stack::bored`]) and has not been moved since.
    pub(crate) fn drawn(&self) -> Option<&Drawn> {
        self.drawn.as_deref()
    }

    /// Points, mm.
    pub fn vertices(&self) -> &[Vec3] {
        &self.brep.vertices
    }

    /// Edges.
    pub fn edges(&self) -> &[Edge] {
        &self.brep.edges
    }

    /// Faces.
    pub fn faces(&self) -> &[Face] {
        &self.brep.faces
    }

    /// Shells: the outer one first, then the voids.
    pub fn shells(&self) -> &[Shell] {
        &self.shells
    }

    /// The underlying boundary.
    pub fn brep(&self) -> &Brep {
        &self.brep
    }
}

impl Brep {
    /// Start vertex of an edge use.
    pub fn use_from(&self, u: EdgeUse) -> VertexId {
        let e = &self.edges[u.edge as usize];
        if u.forward { e.from } else { e.to }
    }

    /// End vertex of an edge use.
    pub fn use_to(&self, u: EdgeUse) -> VertexId {
        let e = &self.edges[u.edge as usize];
        if u.forward { e.to } else { e.from }
    }
}

fn check_loops(brep: &Brep) -> Result<(), BrepError> {
    // The loop in which each vertex was seen last.
    let mut seen = vec![0; brep.vertices.len()];
    let mut number = 0;
    for face in &brep.faces {
        for uses in &face.loops {
            number += 1;
            for (i, &u) in uses.iter().enumerate() {
                let next = uses[(i + 1) % uses.len()];
                let (from, to) = (brep.use_from(u), brep.use_to(u));
                if to != brep.use_from(next) || from == to || seen[from as usize] == number {
                    return Err(BrepError::BrokenLoop { at: brep.vertices[from as usize] });
                }
                seen[from as usize] = number;
            }
            if uses.len() < 2 {
                let at = brep.vertices.first().copied().unwrap_or_else(Vec3::zeros);
                return Err(BrepError::BrokenLoop { at });
            }
        }
    }
    Ok(())
}

fn check_edge_uses(brep: &Brep) -> Result<(), BrepError> {
    let mut counts = vec![(0usize, 0usize); brep.edges.len()];
    for u in all_uses(brep) {
        let c = &mut counts[u.edge as usize];
        if u.forward {
            c.0 += 1;
        } else {
            c.1 += 1;
        }
    }
    for (edge, &(forward, backward)) in brep.edges.iter().zip(&counts) {
        if (forward, backward) != (1, 1) {
            let (a, b) = edge.curve.range();
            let at = edge.curve.point(0.5 * (a + b));
            return Err(BrepError::EdgeUse { at, forward, backward });
        }
    }
    Ok(())
}

fn all_uses(brep: &Brep) -> impl Iterator<Item = EdgeUse> + '_ {
    brep.faces.iter().flat_map(|f| f.loops.iter().flatten().copied())
}

/// Each vertex must have one closed fan of faces: walking from an edge use
/// that leaves it across the corner of the face to the edge where that corner
/// ends, and on into the neighbouring face, must visit every use that leaves.
fn check_vertex_fans(brep: &Brep) -> Result<(), BrepError> {
    let mut corners: Vec<Vec<Corner>> = vec![Vec::new(); brep.vertices.len()];
    for (f, face) in brep.faces.iter().enumerate() {
        for uses in &face.loops {
            for (i, &leaving) in uses.iter().enumerate() {
                let arriving = uses[(i + uses.len() - 1) % uses.len()];
                let v = brep.use_from(leaving) as usize;
                corners[v].push(Corner { face: f, leaving, arriving });
            }
        }
    }
    for (v, corners) in corners.iter_mut().enumerate() {
        if corners.is_empty() {
            continue;
        }
        pair_touching_loops(brep, corners);
        let mut at = 0;
        let mut steps = 0;
        loop {
            steps += 1;
            let EdgeUse { edge, forward } = corners[at].arriving;
            let across = EdgeUse { edge, forward: !forward };
            match corners.iter().position(|c| c.leaving == across) {
                Some(0) => break,
                Some(next) if steps <= corners.len() => at = next,
                _ => return Err(BrepError::PinchedVertex { at: brep.vertices[v] }),
            }
        }
        if steps != corners.len() {
            return Err(BrepError::PinchedVertex { at: brep.vertices[v] });
        }
    }
    Ok(())
}

/// One corner of a face at a vertex: the material lies counter-clockwise from
/// the leaving to the arriving edge.
#[derive(Clone, Copy)]
struct Corner {
    face: usize,
    leaving: EdgeUse,
    arriving: EdgeUse,
}

/// Where several loops of one face meet in a vertex, the corners of the face
/// run from each leaving edge to the arriving edge next to it counter-clockwise,
/// whichever loop that belongs to.
fn pair_touching_loops(brep: &Brep, corners: &mut [Corner]) {
    for i in 0..corners.len() {
        let face = corners[i].face;
        let same: Vec<usize> = (0..corners.len()).filter(|&j| corners[j].face == face).collect();
        if same.len() < 2 || same[0] != i {
            continue;
        }
        let arriving: Vec<(f64, EdgeUse)> = same
            .iter()
            .map(|&j| {
                let EdgeUse { edge, forward } = corners[j].arriving;
                (heading(brep, face, EdgeUse { edge, forward: !forward }), corners[j].arriving)
            })
            .collect();
        for &j in &same {
            let from = heading(brep, face, corners[j].leaving);
            let ahead = |h: f64| (h - from).rem_euclid(2.0 * PI);
            if let Some(best) = arriving.iter().min_by(|p, q| ahead(p.0).total_cmp(&ahead(q.0))) {
                corners[j].arriving = best.1;
            }
        }
    }
}

/// Direction, radians, in which an edge leaves its vertex, seen from outside
/// the face, taken a little way along the edge so that tangent edges differ.
fn heading(brep: &Brep, face: usize, leaving: EdgeUse) -> f64 {
    /// Share of the edge's parameter range.
    const STEP: f64 = 0.02;
    let face = &brep.faces[face];
    let curve = &brep.edges[leaving.edge as usize].curve;
    let (a, b) = curve.range();
    let (start, near) =
        if leaving.forward { (a, a + (b - a) * STEP) } else { (b, b - (b - a) * STEP) };
    let (u0, v0) = face.surface.local(curve.point(start));
    let (u1, v1) = face.surface.local(curve.point(near));
    let (du, dv) = match face.surface {
        Surface::Plane { .. } => (u1 - u0, v1 - v0),
        Surface::Cylinder { radius, .. } | Surface::Cone { radius, .. } => {
            let turn = (u1 - u0 + PI).rem_euclid(2.0 * PI) - PI;
            (turn * radius, v1 - v0)
        }
    };
    if face.flipped { (-dv).atan2(du) } else { dv.atan2(du) }
}

fn split_shells(brep: &Brep) -> Result<Vec<Shell>, BrepError> {
    let mut parent: Vec<usize> = (0..brep.faces.len()).collect();
    let mut owner: Vec<Option<usize>> = vec![None; brep.edges.len()];
    for (f, face) in brep.faces.iter().enumerate() {
        for u in face.loops.iter().flatten() {
            match owner[u.edge as usize] {
                None => owner[u.edge as usize] = Some(f),
                Some(g) => {
                    let (a, b) = (find(&mut parent, f), find(&mut parent, g));
                    parent[a.max(b)] = a.min(b);
                }
            }
        }
    }
    let mut groups: Vec<(usize, Vec<FaceId>)> = Vec::new();
    for f in 0..brep.faces.len() {
        let root = find(&mut parent, f);
        match groups.iter_mut().find(|g| g.0 == root) {
            Some(g) => g.1.push(f as FaceId),
            None => groups.push((root, vec![f as FaceId])),
        }
    }
    let mut shells = Vec::with_capacity(groups.len());
    let mut outer: Vec<(f64, Vec3)> = Vec::new();
    for (_, faces) in groups {
        let place = |f: FaceId| {
            let first = brep.faces[f as usize].loops[0][0];
            brep.vertices[brep.use_from(first) as usize]
        };
        let at = place(faces[0]);
        let volume = super::properties::shell_volume(brep, &faces)
            .map_err(|f| BrepError::FaceTurned { at: place(f) })?;
        if !volume.is_finite() || volume == 0.0 {
            return Err(BrepError::ShellVolume { at, volume });
        }
        if volume > 0.0 {
            outer.push((volume, at));
        }
        shells.push(Shell { faces, void: volume < 0.0 });
    }
    outer.sort_by(|a, b| a.0.total_cmp(&b.0));
    match outer.as_slice() {
        [] => {
            let at = brep.vertices[0];
            Err(BrepError::ShellVolume { at, volume: -1.0 })
        }
        [_] => {
            shells.sort_by_key(|s| s.void);
            Ok(shells)
        }
        [(_, at), ..] => Err(BrepError::Pieces { pieces: outer.len(), at: *at }),
    }
}

/// Root of `i` in a union-find forest, with path halving.
pub(super) fn find(parent: &mut [usize], mut i: usize) -> usize {
    while parent[i] != i {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    i
}
