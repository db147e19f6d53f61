//! Sections of a solid at a height, and what it covers between two heights.
//!
//! Between two heights at which an edge begins, ends or turns, the same faces
//! meet a level plane in the same order. There a section is made from links: a
//! link is the piece of one face between two of its edges. Planes give lines,
//! upright cylinders and cones arcs, lying cylinders lines; nothing of that is
//! approximated. Only lying cones give short lines in place of hyperbolas.

use std::cell::OnceCell;
use std::f64::consts::TAU;

use super::climb::Climb;
use super::{Curve, EdgeUse, Face, FaceId, Moving, Solid, Surface};
use crate::measure::{Vec2, Vec3};
use crate::section::{Arc, Region, Seg};

/// Heights nearer to each other than this, mm, are one: a hundredth of the
/// grid of sections, and far above the noise of computed vertices.
const SAME_HEIGHT: f64 = 1e-5;
/// Cosine up to which an axis or a normal counts as level, or sine up to which
/// an axis counts as upright: float noise.
const LEANS: f64 = 1e-9;
/// Pieces shorter than this, mm, are left out: vertices of sections are one
/// below it.
const SHORT: f64 = 1e-8;
/// How far the lines in place of a hyperbola lie off it at most, mm.
const OFF_HYPERBOLA: f64 = 1e-4;

/// Why a solid's sections are not known.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LevelsError {
    /// A cylinder or cone that is neither upright nor lying.
    #[error("the curved face at ({:.3}, {:.3}, {:.3}) leans: its sections are not known", at.x, at.y, at.z)]
    Leans {
        /// A point of its axis, mm.
        at: Vec3,
    },
    /// The pieces of a section do not make closed outlines.
    #[error("the section at z = {z:.4} mm does not close")]
    Open {
        /// The height, mm.
        z: f64,
    },
}

/// A solid seen level by level.
#[derive(Debug)]
pub struct Levels<'a> {
    solid: &'a Solid,
    climbs: Vec<Climb>,
    stretches: Vec<Stretch>,
}

/// The piece of a face between two of its edges.
#[derive(Clone, Copy, Debug)]
struct Link {
    face: FaceId,
    from: u32,
    to: u32,
}

/// Heights between which the same edges are met.
#[derive(Debug)]
struct Stretch {
    low: f64,
    high: f64,
    outlines: Vec<Vec<Link>>,
    /// Whether all its faces are upright: its section is the same everywhere.
    upright: bool,
    whole: OnceCell<Region>,
}

/// Lowest and highest point of a face's edges that climb, and those edges'
/// stretches, each with whether the face runs along it.
type Reach = (f64, f64, Vec<(u32, bool)>);

impl Stretch {
    /// Whether what it covers between two heights is what it covers at all.
    fn is_known(&self, low: f64, high: f64) -> bool {
        self.upright || (low <= self.low && self.high <= high)
    }
}

impl<'a> Levels<'a> {
    /// Finds the heights between which sections change steadily.
    ///
    /// # Errors
    /// [`LevelsError`]: none of our parts has such faces.
    pub fn new(solid: &'a Solid) -> Result<Levels<'a>, LevelsError> {
        if let Some(at) = solid.faces().iter().find_map(|f| leaning(&f.surface)) {
            return Err(LevelsError::Leans { at });
        }
        let mut climbs = Vec::new();
        let mut of_edge: Vec<(usize, usize)> = Vec::with_capacity(solid.edges().len());
        for (i, edge) in solid.edges().iter().enumerate() {
            let first = climbs.len();
            climbs.extend(Climb::of(i as u32, edge));
            of_edge.push((first, climbs.len()));
        }
        let mut heights: Vec<f64> = climbs.iter().flat_map(|c| [c.start, c.end]).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup_by(|b, a| *b - *a <= SAME_HEIGHT);
        let mut out = Levels { solid, climbs, stretches: Vec::new() };
        // What each face has of edges that climb, lowest and highest of it.
        let faces: Vec<Reach> = solid
            .faces()
            .iter()
            .map(|face| {
                let uses = face.loops.iter().flatten();
                let of_use = |u: &EdgeUse| {
                    let (first, end, forward) =
                        (of_edge[u.edge as usize].0, of_edge[u.edge as usize].1, u.forward);
                    (first..end).map(move |k| (k as u32, forward))
                };
                let own: Vec<(u32, bool)> = uses.flat_map(of_use).collect();
                let ends = own.iter().map(|(k, _)| {
                    let c = &out.climbs[*k as usize];
                    (c.start.min(c.end), c.start.max(c.end))
                });
                let (low, high) = ends
                    .reduce(|p, q| (p.0.min(q.0), p.1.max(q.1)))
                    .unwrap_or((f64::INFINITY, f64::NEG_INFINITY));
                (low, high, own)
            })
            .collect();
        for pair in heights.windows(2) {
            let stretch = out.stretch(pair[0], pair[1], &faces)?;
            out.stretches.push(stretch);
        }
        Ok(out)
    }

    /// Lowest and highest point, mm.
    pub fn ends(&self) -> (f64, f64) {
        let low = self.stretches.first().map_or(0.0, |s| s.low);
        (low, self.stretches.last().map_or(low, |s| s.high))
    }

    /// The heights between which sections change steadily, mm, rising.
    pub fn heights(&self) -> Vec<f64> {
        let first = self.stretches.first().map(|s| s.low);
        first.into_iter().chain(self.stretches.iter().map(|s| s.high)).collect()
    }

    /// Whether the section is the same at all heights between two that have no
    /// other of [`Levels::heights`] between them.
    pub fn is_steady(&self, low: f64, high: f64) -> bool {
        self.between(low, high).all(|s| s.upright)
    }

    fn between(&self, low: f64, high: f64) -> impl Iterator<Item = &Stretch> {
        self.stretches
            .iter()
            .filter(move |s| s.low < high - SAME_HEIGHT && s.high > low + SAME_HEIGHT)
    }

    /// The section at height `z`, mm, as it is just above it; empty outside.
    pub fn section(&self, z: f64) -> Region {
        match self.stretches.iter().find(|s| s.low <= z && z < s.high) {
            None => Region::empty(),
            Some(s) if s.upright => self.whole(s).clone(),
            Some(s) => region(&self.outlines(s, z)),
        }
    }

    /// All that the solid covers between two heights, seen along z.
    pub fn shadow(&self, low: f64, high: f64) -> Region {
        let mut parts = self.between(low, high);
        if let (Some(one), None) = (parts.next(), parts.next())
            && one.is_known(low, high)
        {
            return self.whole(one).clone();
        }
        region(self.bound(low, high).loops())
    }

    /// The same, for one boolean with another region: outlines as they come.
    pub(crate) fn bound(&self, low: f64, high: f64) -> Region {
        let mut outlines: Vec<Vec<Seg>> = Vec::new();
        for part in self.between(low, high) {
            if part.is_known(low, high) {
                outlines.extend(self.whole(part).loops().iter().cloned());
            } else {
                outlines.extend(self.covered(part, low.max(part.low), high.min(part.high)));
            }
        }
        Region::unresolved(outlines)
    }

    /// All that leaning faces cover between two heights, seen along z: beside it the
    /// section is the same at all of them, but where a level face lies between. For one
    /// boolean with another region.
    pub(crate) fn leaning(&self, low: f64, high: f64) -> Region {
        let of = |part: &Stretch| self.leaned(part, low.max(part.low), high.min(part.high));
        Region::unresolved(self.between(low, high).flat_map(of).collect())
    }

    /// The pieces of the section on the way from one height to another; none if
    /// it is not made of planes and upright cylinders there, or changes its
    /// faces between.
    pub(crate) fn moving(&self, low: f64, high: f64) -> Option<Vec<Moving>> {
        let mut parts = self.between(low, high);
        let (part, None) = (parts.next()?, parts.next()) else { return None };
        let (low, high) = (low.max(part.low), high.min(part.high));
        let mut out = Vec::new();
        for link in part.outlines.iter().flatten() {
            let straight = |climb: u32| {
                let edge = self.climbs[climb as usize].edge as usize;
                matches!(self.solid.edges()[edge].curve, Curve::Line { .. })
            };
            if !(straight(link.from) && straight(link.to)) {
                return None;
            }
            let arc = match self.face(link).surface {
                Surface::Plane { .. } => None,
                Surface::Cylinder { origin, axis, radius, .. } if !is_level(&axis) => {
                    Some(Arc { centre: origin.xy(), radius, ccw: !self.face(link).flipped })
                }
                _ => return None,
            };
            let ends = |climb: u32| [self.at(climb, low), self.at(climb, high)];
            out.push(Moving { a: ends(link.from), b: ends(link.to), arc });
        }
        Some(out)
    }

    fn whole<'s>(&self, stretch: &'s Stretch) -> &'s Region {
        stretch.whole.get_or_init(|| {
            if stretch.upright {
                region(&self.outlines(stretch, 0.5 * (stretch.low + stretch.high)))
            } else {
                region(&self.covered(stretch, stretch.low, stretch.high))
            }
        })
    }

    /// Outlines whose winding numbers count what lies at or between two
    /// heights of one stretch: both sections, and what each leaning face
    /// covers between them.
    fn covered(&self, stretch: &Stretch, low: f64, high: f64) -> Vec<Vec<Seg>> {
        let mut out = self.outlines(stretch, low);
        out.extend(self.outlines(stretch, high));
        out.extend(self.leaned(stretch, low, high));
        out
    }

    /// The outline of what each leaning face covers between two heights of one
    /// stretch, counter-clockwise.
    fn leaned(&self, stretch: &Stretch, low: f64, high: f64) -> Vec<Vec<Seg>> {
        let mut out = Vec::new();
        for link in stretch.outlines.iter().flatten() {
            if is_upright(&self.face(link).surface) {
                continue;
            }
            // Corners that meet are made one, so that the outline closes.
            let met = |p: Vec2, q: Vec2| if (q - p).norm() <= SHORT { p } else { q };
            let a0 = self.at(link.from, low);
            let b0 = met(a0, self.at(link.to, low));
            let a1 = met(a0, self.at(link.from, high));
            let b1 = met(a1, met(b0, self.at(link.to, high)));
            let mut outline = self.pieces(link, low, a0, b0);
            push_line(&mut outline, b0, b1);
            outline.extend(self.pieces(link, high, a1, b1).iter().rev().map(Seg::reversed));
            push_line(&mut outline, a1, a0);
            if outline.iter().map(Seg::twice_area).sum::<f64>() < 0.0 {
                outline.reverse();
                outline.iter_mut().for_each(|s| *s = s.reversed());
            }
            if outline.len() > 1 {
                out.push(outline);
            }
        }
        out
    }

    fn outlines(&self, stretch: &Stretch, z: f64) -> Vec<Vec<Seg>> {
        let outline = |links: &Vec<Link>| {
            let first = links.first().map_or_else(Vec2::zeros, |l| self.at(l.from, z));
            let mut a = first;
            let mut out = Vec::with_capacity(links.len());
            for (i, link) in links.iter().enumerate() {
                // What is too short to be a piece moves the next one's start.
                let last = i + 1 == links.len();
                let b = if last { first } else { self.at(link.to, z) };
                if (b - a).norm() > SHORT || last {
                    out.extend(self.pieces(link, z, a, b));
                    a = b;
                }
            }
            out
        };
        stretch.outlines.iter().map(outline).filter(|o: &Vec<Seg>| o.len() > 1).collect()
    }

    fn face(&self, link: &Link) -> &Face {
        &self.solid.faces()[link.face as usize]
    }

    fn at(&self, climb: u32, z: f64) -> Vec2 {
        let climb = &self.climbs[climb as usize];
        climb.at(&self.solid.edges()[climb.edge as usize].curve, z).xy()
    }

    /// The pieces of a section that a link gives at height `z`, from its corner
    /// `a` to `b`.
    fn pieces(&self, link: &Link, z: f64, a: Vec2, b: Vec2) -> Vec<Seg> {
        if a == b {
            return Vec::new();
        }
        let face = self.face(link);
        match face.surface {
            Surface::Plane { .. } => vec![Seg::line(a, b)],
            Surface::Cylinder { axis, .. } if is_level(&axis) => vec![Seg::line(a, b)],
            Surface::Cylinder { origin, radius, .. } => {
                Seg::arc(origin.xy(), radius, a, b, !face.flipped)
            }
            Surface::Cone { origin, axis, radius, slope, .. } if !is_level(&axis) => {
                let radius = radius + slope * (z - origin.z) * axis.z;
                Seg::arc(origin.xy(), radius, a, b, !face.flipped)
            }
            Surface::Cone { origin, axis, radius, slope, .. } => {
                let along = axis.xy();
                let across = Vec2::new(-along.y, along.x);
                let (w0, w1) = ((a - origin.xy()).dot(&across), (b - origin.xy()).dot(&across));
                let h = z - origin.z;
                let point = |w: f64| {
                    let v = (w.hypot(h) - radius) / slope;
                    origin.xy() + along * v + across * w
                };
                // The sagitta of a hyperbola is at most that of its vertex.
                let bend = 1.0 / (slope.abs() * h.abs().max(w0.abs().min(w1.abs())).max(SHORT));
                let step = (8.0 * OFF_HYPERBOLA / bend).sqrt();
                let count = (((w1 - w0).abs() / step).ceil()).clamp(1.0, MOST_LINES) as usize;
                let inner = (1..count).map(|k| point(w0 + (w1 - w0) * k as f64 / count as f64));
                let points: Vec<Vec2> =
                    std::iter::once(a).chain(inner).chain(std::iter::once(b)).collect();
                points.windows(2).map(|w| Seg::line(w[0], w[1])).collect()
            }
        }
    }

    fn stretch(&self, low: f64, high: f64, faces: &[Reach]) -> Result<Stretch, LevelsError> {
        let z = 0.5 * (low + high);
        let mut links: Vec<Link> = Vec::new();
        let mut upright = true;
        for (f, (bottom, top, own)) in faces.iter().enumerate() {
            if z <= *bottom || *top <= z {
                continue;
            }
            let met: Vec<(u32, bool)> = own
                .iter()
                .map(|&(k, forward)| (k, forward, &self.climbs[k as usize]))
                .filter(|(_, _, climb)| climb.passes(z))
                .map(|(k, forward, climb)| (k, (climb.end > climb.start) == forward))
                .collect();
            if met.is_empty() {
                continue;
            }
            upright &= is_upright(&self.solid.faces()[f].surface);
            self.pair(f as FaceId, &met, z, &mut links).ok_or(LevelsError::Open { z })?;
        }
        let outlines = chain(links).ok_or(LevelsError::Open { z })?;
        Ok(Stretch { low, high, outlines, upright, whole: OnceCell::new() })
    }

    /// Pairs the edges that a face has at height `z`. Seen from outside, the
    /// face lies to the left of its edges; so on the way that keeps material
    /// to the left in a section, it begins at edges that it passes downwards.
    fn pair(&self, face: FaceId, met: &[(u32, bool)], z: f64, links: &mut Vec<Link>) -> Option<()> {
        let which = |rises: bool| met.iter().filter(move |m| m.1 == rises).map(|m| m.0);
        let (begins, ends): (Vec<u32>, Vec<u32>) = (which(false).collect(), which(true).collect());
        if let (&[from], &[to]) = (&begins[..], &ends[..]) {
            links.push(Link { face, from, to });
            return Some(());
        }
        if begins.len() != ends.len() {
            return None;
        }
        let face_of = &self.solid.faces()[face as usize];
        for &from in &begins {
            let p = self.at(from, z);
            let next = ends
                .iter()
                .filter_map(|&to| Some((ahead(face_of, z, p, self.at(to, z))?, to)))
                .min_by(|a, b| a.0.total_cmp(&b.0))?;
            links.push(Link { face, from, to: next.1 });
        }
        Some(())
    }
}

/// Most lines in place of one piece of a hyperbola.
const MOST_LINES: f64 = 200.0;

/// How far `q` lies ahead of `p` on a face's piece of the section at `z`; none
/// behind it, or if it is on another piece.
fn ahead(face: &Face, z: f64, p: Vec2, q: Vec2) -> Option<f64> {
    let sign = if face.flipped { -1.0 } else { 1.0 };
    let normal = face.surface.normal(Vec3::new(p.x, p.y, z)) * sign;
    let way = Vec2::new(-normal.y, normal.x);
    let straight = || {
        let distance = (q - p).dot(&way);
        (distance >= 0.0).then_some(distance)
    };
    match face.surface {
        Surface::Plane { .. } => straight(),
        Surface::Cylinder { origin, axis, .. } if is_level(&axis) => {
            let across = Vec2::new(-axis.y, axis.x);
            let side = |p: Vec2| (p - origin.xy()).dot(&across) > 0.0;
            if side(p) == side(q) { straight() } else { None }
        }
        Surface::Cone { axis, .. } if is_level(&axis) => straight(),
        Surface::Cylinder { origin, .. } | Surface::Cone { origin, .. } => {
            let angle = |p: Vec2| {
                let d = p - origin.xy();
                d.y.atan2(d.x)
            };
            Some((sign * (angle(q) - angle(p))).rem_euclid(TAU))
        }
    }
}

/// Links in closed outlines.
fn chain(mut links: Vec<Link>) -> Option<Vec<Vec<Link>>> {
    links.sort_by_key(|l| l.from);
    if links.windows(2).any(|w| w[0].from == w[1].from) {
        return None;
    }
    let mut taken = vec![false; links.len()];
    let mut out = Vec::new();
    for first in 0..links.len() {
        if taken[first] {
            continue;
        }
        let mut outline = Vec::new();
        let mut at = first;
        while !taken[at] {
            taken[at] = true;
            outline.push(links[at]);
            at = links.binary_search_by_key(&links[at].to, |l| l.from).ok()?;
        }
        if at != first {
            return None;
        }
        out.push(outline);
    }
    Some(out)
}

/// The region of outlines whose winding numbers are positive where there is
/// material and zero elsewhere.
fn region(outlines: &[Vec<Seg>]) -> Region {
    // Undefined is what no check takes for free.
    Region::from_outlines(outlines).unwrap_or_else(|_| Region::undefined())
}

fn push_line(outline: &mut Vec<Seg>, a: Vec2, b: Vec2) {
    if a != b {
        outline.push(Seg::line(a, b));
    }
}

fn is_level(axis: &Vec3) -> bool {
    axis.z.abs() <= LEANS
}

fn is_upright(surface: &Surface) -> bool {
    match surface {
        Surface::Plane { normal, .. } => is_level(normal),
        Surface::Cylinder { axis, .. } => !is_level(axis),
        Surface::Cone { .. } => false,
    }
}

fn leaning(surface: &Surface) -> Option<Vec3> {
    match surface {
        Surface::Plane { .. } => None,
        Surface::Cylinder { origin, axis, .. } | Surface::Cone { origin, axis, .. } => {
            let upright = axis.x.hypot(axis.y) <= LEANS;
            (!upright && !is_level(axis)).then_some(*origin)
        }
    }
}
