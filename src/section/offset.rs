//! Offsets: round (Minkowski sum with a disc) and structure-keeping.

use std::f64::consts::PI;

use super::region::{filled, within_limit};
use super::seg::{cross, left};
use super::{Arc, EPS, Region, Seg, VertexTable, arrange, trace_loops};
use crate::measure::Vec2;

/// Why a structure-keeping offset is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OffsetError {
    /// A piece would vanish or turn round.
    #[error("an offset by {by:.3} mm swallows the piece at ({:.3}, {:.3})", at.x, at.y)]
    Swallowed {
        /// The offset asked for, mm.
        by: f64,
        /// Middle of the piece, mm.
        at: Vec2,
    },
    /// Two neighbouring pieces no longer meet.
    #[error("an offset by {by:.3} mm opens the corner at ({:.3}, {:.3})", at.x, at.y)]
    OpenCorner {
        /// The offset asked for, mm.
        by: f64,
        /// The corner, mm.
        at: Vec2,
    },
    /// An arc would run past the leftmost or rightmost point of its circle,
    /// where sections split all arcs.
    #[error("an offset by {by:.3} mm moves the end of the arc at ({:.3}, {:.3}) past the side of its circle", at.x, at.y)]
    PastSide {
        /// The offset asked for, mm.
        by: f64,
        /// Middle of the arc, mm.
        at: Vec2,
    },
    /// The moved outline crosses itself.
    #[error("an offset by {by:.3} mm makes the outline cross itself near ({:.3}, {:.3})", at.x, at.y)]
    Crossing {
        /// The offset asked for, mm.
        by: f64,
        /// A point of the outline, mm.
        at: Vec2,
    },
}

impl Region {
    /// All points within `by` of the region (`by > 0`: corners become round),
    /// or all points of it at least `-by` from its boundary (`by < 0`).
    ///
    /// Every piece sweeps a band of width `|by|` on the side that moves, every
    /// convex corner a sector; one arrangement adds the bands to the region or
    /// takes them away, so that arcs stay arcs and swallowed details vanish.
    pub fn offset(&self, by: f64) -> Region {
        if self.is_undefined() || !within_limit(&[by]) {
            return Region::undefined();
        }
        if by.abs() <= EPS.vertex || self.is_empty() {
            return self.clone();
        }
        let mut bands = Vec::new();
        for pieces in &self.loops {
            for (i, s) in pieces.iter().enumerate() {
                band(s, by, &mut bands);
                sector(s, &pieces[(i + 1) % pieces.len()], by, &mut bands);
            }
        }
        let own = self.segs();
        let mut table = VertexTable::default();
        let arrangement = arrange(&mut table, [&own, &bands]);
        let keep = |w: [i32; 2]| {
            if by > 0.0 { w[0] > 0 || w[1] > 0 } else { w[0] > 0 && w[1] <= 0 }
        };
        let loops = trace_loops(&arrangement, keep);
        Region { loops: loops.into_iter().map(|l| l.segs(&arrangement)).collect() }.tidied()
    }

    /// Every piece moved outwards by `by` (inwards when negative) along its
    /// normal and met with its moved neighbours: corners stay sharp, and each
    /// piece of the result belongs to the piece at the same place of this
    /// region. Refused when a piece would vanish or the outline would cross
    /// itself; this is what a chamfer or taper needs.
    pub fn offset_same_structure(&self, by: f64) -> Result<Region, OffsetError> {
        let mut loops = Vec::with_capacity(self.loops.len());
        for pieces in &self.loops {
            let n = pieces.len();
            let moved: Vec<Carrier> = pieces
                .iter()
                .map(|s| Carrier::moved(s, by))
                .collect::<Option<_>>()
                .ok_or(OffsetError::Swallowed { by, at: pieces[0].mid() })?;
            let mut corners = Vec::with_capacity(n);
            for i in 0..n {
                let before = (i + n - 1) % n;
                let at = pieces[i].a;
                let corner = meet(&moved[before], &moved[i], &pieces[before], &pieces[i], by)
                    .ok_or(OffsetError::OpenCorner { by, at })?;
                corners.push(corner);
            }
            let mut out = Vec::with_capacity(n);
            for i in 0..n {
                let seg = moved[i].between(corners[i], corners[(i + 1) % n]);
                let gone = OffsetError::Swallowed { by, at: pieces[i].mid() };
                let forward = match seg.arc {
                    None => (seg.b - seg.a).dot(&(pieces[i].b - pieces[i].a)) > 0.0,
                    // The moved corner may have passed the end of its arc.
                    Some(_) => (0.0..=PI + EPS.vertex).contains(&seg.position(seg.b)),
                };
                if forward && !pieces[i].same_half(&seg) {
                    return Err(OffsetError::PastSide { by, at: pieces[i].mid() });
                }
                if seg.chord() <= EPS.vertex || !forward {
                    return Err(gone);
                }
                out.push(seg);
            }
            loops.push(out);
        }
        let region = Region { loops };
        let clean = filled(&region.segs());
        let same = clean.loops.len() == region.loops.len()
            && (clean.area() - region.area()).abs() <= EPS.same_edge * region.perimeter();
        if same {
            Ok(region)
        } else {
            let at = self.loops[0][0].a;
            Err(OffsetError::Crossing { by, at })
        }
    }
}

/// The band that piece `s` sweeps when it moves by `by` along its outward
/// (right-hand) normal, as a positively wound outline.
fn band(s: &Seg, by: f64, out: &mut Vec<Seg>) {
    let (na, nb) = (-left(s.tangent_at_a()), -left(s.tangent_at_b()));
    let (a, b) = (s.a + na * by, s.b + nb * by);
    let mut outline: Vec<Seg> = Vec::new();
    match s.arc {
        None => outline.extend([
            Seg::line(s.b, s.a),
            Seg::line(s.a, a),
            Seg::line(a, b),
            Seg::line(b, s.b),
        ]),
        Some(c) => {
            outline.push(s.reversed());
            let radius = if c.ccw { c.radius + by } else { c.radius - by };
            if radius > EPS.vertex {
                outline.push(Seg::line(s.a, a));
                outline.push(Seg { a, b, arc: Some(Arc { radius, ..c }) });
                outline.push(Seg::line(b, s.b));
            } else {
                // The arc has shrunk through its centre: the sector it sweeps
                // up to there; beyond the centre others sweep.
                outline.push(Seg::line(s.a, c.centre));
                outline.push(Seg::line(c.centre, s.b));
            }
        }
    }
    if by < 0.0 {
        outline.reverse();
        outline.iter_mut().for_each(|s| *s = s.reversed());
    }
    out.extend(outline);
}

/// The sector that the corner between `s` and `t` sweeps on the moving side.
fn sector(s: &Seg, t: &Seg, by: f64, out: &mut Vec<Seg>) {
    let (ds, dt) = (s.tangent_at_b(), t.tangent_at_a());
    let mut turn = cross(ds, dt);
    if turn.abs() <= EPS.vertex {
        if ds.dot(&dt) > 0.0 {
            return;
        }
        // A cusp: a tip of material, around which the walk turns left, where
        // the way on lies to the right of the way back.
        turn = -(s.bend() + t.bend());
    }
    // Outward movement opens left turns, inward movement right turns.
    if (turn > 0.0) != (by > 0.0) {
        return;
    }
    let v = s.b;
    let (p, q) = (v - left(ds) * by, v - left(dt) * by);
    let r = by.abs();
    let ccw = by > 0.0;
    let mut outline = vec![Seg::line(v, p)];
    outline.extend(Seg::arc(v, r, p, q, ccw));
    outline.push(Seg::line(q, v));
    if !ccw {
        outline.reverse();
        outline.iter_mut().for_each(|s| *s = s.reversed());
    }
    out.extend(outline);
}

/// An unbounded line or circle with a direction of travel.
#[derive(Clone, Copy)]
pub(crate) enum Carrier {
    /// Through `p` along the unit vector `d`.
    Line { p: Vec2, d: Vec2 },
    /// A circle.
    Circle(Arc),
}

impl Carrier {
    /// The carrier of `s` moved by `by` to the right of its travel; `None`
    /// when an arc shrinks to nothing.
    pub(crate) fn moved(s: &Seg, by: f64) -> Option<Carrier> {
        match s.arc {
            None => {
                let d = s.tangent_at_a();
                Some(Carrier::Line { p: s.a - left(d) * by, d })
            }
            Some(c) => {
                let radius = if c.ccw { c.radius + by } else { c.radius - by };
                (radius > EPS.vertex).then_some(Carrier::Circle(Arc { radius, ..c }))
            }
        }
    }

    /// The piece of the carrier from `a` to `b`.
    pub(crate) fn between(&self, a: Vec2, b: Vec2) -> Seg {
        match *self {
            Carrier::Line { .. } => Seg::line(a, b),
            Carrier::Circle(arc) => Seg { a, b, arc: Some(arc) },
        }
    }

    /// A long piece of the carrier around `near`, to intersect with.
    fn crossings(&self, other: &Carrier) -> Vec<Vec2> {
        match (*self, *other) {
            (Carrier::Line { p, d }, Carrier::Line { p: q, d: e }) => {
                let den = cross(d, e);
                if den.abs() <= EPS.vertex {
                    return Vec::new();
                }
                vec![p + d * (cross(q - p, e) / den)]
            }
            (Carrier::Line { p, d }, Carrier::Circle(c))
            | (Carrier::Circle(c), Carrier::Line { p, d }) => {
                let foot = p + d * (c.centre - p).dot(&d);
                let off = (c.centre - foot).norm();
                if off >= c.radius - EPS.on_curve {
                    return if off <= c.radius + EPS.on_curve { vec![foot] } else { Vec::new() };
                }
                let half = ((c.radius - off) * (c.radius + off)).sqrt();
                vec![foot - d * half, foot + d * half]
            }
            (Carrier::Circle(p), Carrier::Circle(q)) => {
                let (points, n) = super::seg::circle_circle(&p, &q);
                points[..n].to_vec()
            }
        }
    }
}

/// Where two moved neighbours meet: the crossing of their carriers nearest to
/// the old corner, or for pieces that were tangent the moved corner itself.
fn meet(p: &Carrier, q: &Carrier, s: &Seg, t: &Seg, by: f64) -> Option<Vec2> {
    let (ds, dt) = (s.tangent_at_b(), t.tangent_at_a());
    let v = s.b;
    if cross(ds, dt).abs() <= EPS.same_edge && ds.dot(&dt) > 0.0 {
        return Some(v - left(dt) * by);
    }
    let near = |x: &Vec2| (x - v).norm();
    let found = p.crossings(q).into_iter().min_by(|x, y| near(x).total_cmp(&near(y)))?;
    Some(found)
}
