//! From a stack of sections to a closed boundary.
//!
//! All sections share one vertex table. At every interface between two slabs
//! the section below and the section above are arranged once; the caps are
//! read off that arrangement and every wall knows the chain of its edges, so
//! the topology is shared exactly and no boolean of solids is ever needed.

use std::collections::HashMap;

use super::ruled::RuledSection;
use super::unify::unify;
use super::{
    BoreError, Brep, BrepError, Curve, Edge, EdgeId, EdgeUse, Face, Solid, Surface, VertexId,
};
use crate::measure::{Vec2, Vec3};
use crate::section::{Arrangement, Region, Seg, VertexTable, arrange, nest, trace_loops};

/// Lengths below which a stack is refused, mm.
#[derive(Clone, Copy, Debug)]
pub struct StackTolerance {
    /// Walls, gaps and steps within an interface must be at least this wide.
    /// Default 0.002: no printer shows less, and a mesh with a chord of a
    /// hundredth cannot tell the two sides apart.
    pub sliver: f64,
    /// Slabs must be at least this high. Default 0.001, the input grid.
    pub slab: f64,
}

impl Default for StackTolerance {
    fn default() -> Self {
        StackTolerance { sliver: 0.002, slab: 0.001 }
    }
}

/// Largest coordinate of a stack, mm: far more than any handle, and little
/// enough that float noise stays below a vertex.
const LIMIT: f64 = 20_000.0;

/// Float noise of a difference of two heights within it, mm: 404.469 - 404.468 is
/// less than 0.001.
const NOISE: f64 = 1e-9;

fn within(value: f64) -> bool {
    value.abs() <= LIMIT
}

/// Why a stack is not a solid.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StackError {
    /// Fewer than one slab with material.
    #[error("the stack has no material")]
    Empty,
    /// A slab without height, or heights that do not grow.
    #[error("slab from z = {bottom} to {top} mm must be at least {least} mm high")]
    Height {
        /// Lower end, mm.
        bottom: f64,
        /// Upper end, mm.
        top: f64,
        /// Least height, mm.
        least: f64,
    },
    /// A height or a section beyond what is meant, or no number at all.
    #[error("a measure of slab {slab} (from below) is not a number within -{limit}..{limit} mm")]
    Coordinate {
        /// Which slab, from 1.
        slab: usize,
        /// Largest size, mm.
        limit: f64,
    },
    /// Material touches itself along an edge or in a point.
    #[error("material touches itself without joining at ({:.3}, {:.3}, {:.3})", at.x, at.y, at.z)]
    Pinch {
        /// Where, mm.
        at: Vec3,
    },
    /// Two boundaries nearly touch.
    #[error("boundaries only {distance:.5} mm apart at ({:.3}, {:.3}, {:.3}); at least {least} mm is needed", at.x, at.y, at.z)]
    Sliver {
        /// Where, mm.
        at: Vec3,
        /// How far apart, mm.
        distance: f64,
        /// Least distance, mm.
        least: f64,
    },
    /// A hole cannot be drilled.
    #[error(transparent)]
    Bore(#[from] BoreError),
    /// The body falls apart or does not close.
    #[error(transparent)]
    Boundary(#[from] BrepError),
}

/// A slab: straight walls over one section, or walls ruled between two.
#[derive(Clone, Debug)]
struct Slab {
    bottom: f64,
    top: f64,
    shape: RuledSection,
}

/// Slabs on top of each other along z, to be made a solid.
#[derive(Clone, Debug, Default)]
pub struct Stack {
    slabs: Vec<Slab>,
    tolerance: StackTolerance,
}

impl Stack {
    /// A stack with thresholds of one's own.
    pub fn with_tolerance(tolerance: StackTolerance) -> Stack {
        Stack { slabs: Vec::new(), tolerance }
    }

    /// Adds a slab with straight walls between heights `bottom` and `top`, mm.
    /// Slabs must come in order; a gap between them is empty space.
    pub fn prism(&mut self, bottom: f64, top: f64, section: &Region) -> &mut Stack {
        self.ruled(bottom, top, RuledSection::prism(section))
    }

    /// Adds a slab whose walls are ruled from one section to another.
    pub fn ruled(&mut self, bottom: f64, top: f64, shape: RuledSection) -> &mut Stack {
        self.slabs.push(Slab { bottom, top, shape });
        self
    }

    /// Its slabs: lower end, upper end, mm, and sections.
    pub(crate) fn slabs(&self) -> impl Iterator<Item = (f64, f64, &RuledSection)> {
        self.slabs.iter().map(|slab| (slab.bottom, slab.top, &slab.shape))
    }

    /// Sum over the slabs of the integral of the section area, mm3: the volume
    /// of the solid by another way than its boundary.
    pub fn volume(&self) -> f64 {
        self.slabs.iter().map(|s| (s.top - s.bottom) * s.shape.mean_area()).sum()
    }

    /// The solid.
    ///
    /// # Errors
    /// [`StackError`] names what is refused and where.
    pub fn solid(&self) -> Result<Solid, StackError> {
        Ok(Solid::new(self.brep()?)?)
    }

    /// The boundary with neighbouring faces on one surface unified.
    pub(super) fn brep(&self) -> Result<Brep, StackError> {
        let slabs = self.checked()?;
        Ok(unify(Assembly::new(&slabs).run(self.tolerance.sliver)?))
    }

    /// The slabs with equal neighbours merged and gaps filled by empty slabs.
    fn checked(&self) -> Result<Vec<Slab>, StackError> {
        let mut out: Vec<Slab> = Vec::with_capacity(self.slabs.len());
        for (i, slab) in self.slabs.iter().enumerate() {
            if !(within(slab.bottom)
                && within(slab.top)
                && slab.shape.corners().all(|p| within(p.x) && within(p.y)))
            {
                return Err(StackError::Coordinate { slab: i + 1, limit: LIMIT });
            }
            let below = out.last().map_or(slab.bottom, |s| s.top);
            let fits =
                slab.top - slab.bottom >= self.tolerance.slab - NOISE && slab.bottom >= below;
            if !fits {
                let (bottom, top) = (slab.bottom, slab.top);
                return Err(StackError::Height { bottom, top, least: self.tolerance.slab });
            }
            if slab.bottom > below {
                out.push(Slab { bottom: below, top: slab.bottom, shape: RuledSection::default() });
            }
            match out.last_mut() {
                Some(last) if last.shape.is_prism() && last.shape == slab.shape => {
                    last.top = slab.top;
                }
                _ => out.push(slab.clone()),
            }
        }
        if out.iter().all(|s| s.shape.is_empty()) {
            return Err(StackError::Empty);
        }
        Ok(out)
    }
}

/// The running state of one assembly.
struct Assembly<'a> {
    slabs: &'a [Slab],
    table: VertexTable,
    brep: Brep,
    /// 3D vertex of a plane vertex at an interface.
    vertices: HashMap<(u32, usize), VertexId>,
}

/// What a slab's walls need to know of one of their interfaces: for every
/// piece its edges in 3D, in the piece's direction.
type WallEdges = Vec<Vec<EdgeUse>>;

impl<'a> Assembly<'a> {
    fn new(slabs: &'a [Slab]) -> Self {
        Assembly {
            slabs,
            table: VertexTable::default(),
            brep: Brep::default(),
            vertices: HashMap::new(),
        }
    }

    fn run(mut self, sliver: f64) -> Result<Brep, StackError> {
        let mut walls_below: WallEdges = Vec::new();
        for k in 0..=self.slabs.len() {
            let z = if k == 0 { self.slabs[0].bottom } else { self.slabs[k - 1].top };
            let below = if k == 0 { Vec::new() } else { self.slabs[k - 1].shape.top_segs() };
            let above = self.slabs.get(k).map_or_else(Vec::new, |s| s.shape.bottom_segs());
            let arrangement = arrange(&mut self.table, [&below, &above]);
            if let Some((p, distance)) = arrangement.sliver(sliver) {
                let at = Vec3::new(p.x, p.y, z);
                return Err(StackError::Sliver { at, distance, least: sliver });
            }
            self.refuse_pinches(&arrangement, z)?;
            let ids = self.edges_at(&arrangement, k, z);
            self.caps(&arrangement, &ids, z);
            let lift = |chains: &[Vec<(u32, bool)>]| -> WallEdges {
                chains
                    .iter()
                    .map(|c| {
                        c.iter()
                            .map(|&(e, forward)| EdgeUse { edge: ids[e as usize], forward })
                            .collect()
                    })
                    .collect()
            };
            let tops = lift(&arrangement.chains[0]);
            if k > 0 {
                self.walls(k - 1, &walls_below, &tops);
            }
            walls_below = lift(&arrangement.chains[1]);
        }
        Ok(self.brep)
    }

    /// An edge along which one slab ends and the other begins on the opposite
    /// side would be used four times; a vertex of a section through which two
    /// loops run would make its upright edge so.
    fn refuse_pinches(&self, arrangement: &Arrangement, z: f64) -> Result<(), StackError> {
        let mut leaving: [HashMap<u32, u32>; 2] = Default::default();
        for e in &arrangement.edges {
            let opposed = e.net[0] * e.net[1] < 0;
            let mid = e.seg.mid();
            if opposed || e.net.iter().any(|n| n.abs() > 1) {
                return Err(StackError::Pinch { at: Vec3::new(mid.x, mid.y, z) });
            }
            for (net, leaving) in e.net.iter().zip(&mut leaving) {
                if *net != 0 {
                    let from = if *net > 0 { e.from } else { e.to };
                    *leaving.entry(from).or_default() += 1;
                }
            }
        }
        let mut pinched: Vec<u32> =
            leaving.iter().flatten().filter(|&(_, &n)| n > 1).map(|(&v, _)| v).collect();
        pinched.sort_unstable();
        match pinched.first() {
            None => Ok(()),
            Some(&v) => {
                let p = self.table.point(v);
                Err(StackError::Pinch { at: Vec3::new(p.x, p.y, z) })
            }
        }
    }

    fn vertex(&mut self, v: u32, k: usize, z: f64) -> VertexId {
        let p = self.table.point(v);
        let vertices = &mut self.brep.vertices;
        *self.vertices.entry((v, k)).or_insert_with(|| {
            vertices.push(Vec3::new(p.x, p.y, z));
            vertices.len() as VertexId - 1
        })
    }

    fn edges_at(&mut self, arrangement: &Arrangement, k: usize, z: f64) -> Vec<EdgeId> {
        arrangement
            .edges
            .iter()
            .map(|e| {
                let (from, to) = (self.vertex(e.from, k, z), self.vertex(e.to, k, z));
                self.push_edge(from, to, level_curve(&e.seg, z))
            })
            .collect()
    }

    fn push_edge(&mut self, from: VertexId, to: VertexId, curve: Curve) -> EdgeId {
        self.brep.edges.push(Edge { from, to, curve });
        self.brep.edges.len() as EdgeId - 1
    }

    /// Faces at height `z` where material ends (facing up) or begins (facing down).
    fn caps(&mut self, arrangement: &Arrangement, ids: &[EdgeId], z: f64) {
        for up in [true, false] {
            let inside = |w: [i32; 2]| {
                let (below, above) = (w[0] > 0, w[1] > 0);
                if up { below && !above } else { above && !below }
            };
            let traced: Vec<_> = trace_loops(arrangement, inside)
                .into_iter()
                .flat_map(|l| l.simple_parts(arrangement))
                .collect();
            let outlines: Vec<Vec<Seg>> = traced.iter().map(|l| l.segs(arrangement)).collect();
            for group in nest(&outlines) {
                let loops = group
                    .iter()
                    .map(|&i| {
                        let mut uses: Vec<EdgeUse> = traced[i]
                            .uses
                            .iter()
                            .map(|&(e, forward)| EdgeUse {
                                edge: ids[e as usize],
                                forward: forward == up,
                            })
                            .collect();
                        if !up {
                            uses.reverse();
                        }
                        uses
                    })
                    .collect();
                let normal = if up { Vec3::z() } else { -Vec3::z() };
                let surface =
                    Surface::Plane { origin: Vec3::new(0.0, 0.0, z), normal, x: Vec3::x() };
                self.brep.faces.push(Face { surface, flipped: false, loops });
            }
        }
    }

    /// The walls of slab `s` between the chains of its pieces.
    fn walls(&mut self, s: usize, bottoms: &WallEdges, tops: &WallEdges) {
        let slab = &self.slabs[s];
        let (z0, z1) = (slab.bottom, slab.top);
        let mut index = 0;
        for pieces in slab.shape.loops() {
            let n = pieces.len();
            let first = index;
            index += n;
            let corners: Vec<Option<EdgeUse>> = (0..n)
                .map(|j| {
                    let piece = &pieces[j];
                    let before = &pieces[(j + n - 1) % n];
                    let (b, t) = (self.table.id(piece.bottom.a), self.table.id(piece.top.a));
                    let (from, to) = (self.vertex(b, s, z0), self.vertex(t, s + 1, z1));
                    let curve = before.corner_curve(
                        piece,
                        z0,
                        z1,
                        [self.brep.vertices[from as usize], self.brep.vertices[to as usize]],
                    );
                    let edge = self.push_edge(from, to, curve);
                    Some(EdgeUse { edge, forward: true })
                })
                .collect();
            for j in 0..n {
                let (Some(left), Some(right)) = (corners[j], corners[(j + 1) % n]) else {
                    continue;
                };
                let mut uses = bottoms[first + j].clone();
                uses.push(right);
                uses.extend(
                    tops[first + j]
                        .iter()
                        .rev()
                        .map(|u| EdgeUse { edge: u.edge, forward: !u.forward }),
                );
                uses.push(EdgeUse { edge: left.edge, forward: false });
                let (surface, flipped) = pieces[j].surface(z0, z1);
                self.brep.faces.push(Face { surface, flipped, loops: vec![uses] });
            }
        }
    }
}

/// A section piece at height `z` as an edge curve.
fn level_curve(seg: &Seg, z: f64) -> Curve {
    let lift = |p: Vec2| Vec3::new(p.x, p.y, z);
    let Some(arc) = seg.arc else {
        return Curve::Line { from: lift(seg.a), to: lift(seg.b) };
    };
    // An arc lies in one half of its circle: no angle wraps.
    let y = if arc.ccw { Vec3::y() } else { -Vec3::y() };
    let angle = |p: Vec2| {
        let d = p - arc.centre;
        (if arc.ccw { d.y } else { -d.y }).atan2(d.x)
    };
    let from = angle(seg.a);
    let to = from + seg.sweep();
    Curve::Circle { centre: lift(arc.centre), x: Vec3::x(), y, radius: arc.radius, from, to }
}
