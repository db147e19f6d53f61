//! Sections that change linearly over a slab: prisms, chamfers and tapers.

use std::sync::Arc as Shared;

use super::{Curve, Surface, Trace};
use crate::measure::{Vec2, Vec3};
use crate::section::{Arc, EPS, OffsetError, Region, Seg};

/// A wall of a slab: the piece at its lower end and the one at its upper end,
/// both on parallel lines or on concentric arcs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RuledPiece {
    pub bottom: Seg,
    pub top: Seg,
}

/// Loops of walls, material to the left as in a [`Region`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RuledSection {
    loops: Vec<Vec<RuledPiece>>,
}

/// Why two sections cannot be ruled into one another.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RuleError {
    /// Different numbers or kinds of boundary pieces.
    #[error("the two sections have different outlines: {bottom} and {top} pieces")]
    Structure {
        /// Pieces of the lower section.
        bottom: usize,
        /// Pieces of the upper section.
        top: usize,
    },
    /// A wall between them would be neither plane, cylinder nor cone.
    #[error("the wall at ({:.3}, {:.3}) would be twisted", at.x, at.y)]
    Twisted {
        /// Middle of the lower piece, mm.
        at: Vec2,
    },
    /// Two neighbouring walls become tangent: their corner would run away.
    #[error("the walls at ({:.3}, {:.3}) become tangent on the way", at.x, at.y)]
    Grazing {
        /// The lower corner, mm.
        at: Vec2,
    },
    /// Walls would cross on the way.
    #[error("the walls cross between the two sections")]
    Crossing,
    /// The offset itself is refused.
    #[error(transparent)]
    Offset(#[from] OffsetError),
}

impl RuledSection {
    /// The same section all the way.
    pub fn prism(section: &Region) -> RuledSection {
        let walls =
            |pieces: &Vec<Seg>| pieces.iter().map(|&s| RuledPiece { bottom: s, top: s }).collect();
        RuledSection { loops: section.loops().iter().map(walls).collect() }
    }

    /// Straight rulings between two sections of the same structure.
    ///
    /// # Errors
    /// When pieces do not pair up as parallel lines and concentric arcs, or
    /// the walls cross halfway.
    pub fn between(bottom: &Region, top: &Region) -> Result<RuledSection, RuleError> {
        let count = |r: &Region| r.loops().iter().map(Vec::len).sum::<usize>();
        let differ = RuleError::Structure { bottom: count(bottom), top: count(top) };
        if bottom.loops().len() != top.loops().len() {
            return Err(differ);
        }
        let mut free: Vec<&Vec<Seg>> = top.loops().iter().collect();
        let mut loops = Vec::with_capacity(free.len());
        for pieces in bottom.loops() {
            let found = free
                .iter()
                .enumerate()
                .find_map(|(i, other)| paired(pieces, other).map(|walls| (i, walls)));
            let Some((i, walls)) = found else {
                let same_count = free.iter().any(|o| o.len() == pieces.len());
                return Err(if same_count {
                    RuleError::Twisted { at: pieces[0].mid() }
                } else {
                    differ
                });
            };
            free.remove(i);
            loops.push(walls);
        }
        RuledSection { loops }.uncrossed()
    }

    /// The section moved by `bottom_offset` and `top_offset` (outwards when
    /// positive) at its two ends, corners kept sharp: a chamfer or a draft.
    pub fn chamfer(
        section: &Region,
        bottom_offset: f64,
        top_offset: f64,
    ) -> Result<RuledSection, RuleError> {
        let moved = |by: f64| {
            if by == 0.0 { Ok(section.clone()) } else { section.offset_same_structure(by) }
        };
        let (bottom, top) = (moved(bottom_offset)?, moved(top_offset)?);
        let walls = |(p, q): (&Vec<Seg>, &Vec<Seg>)| {
            p.iter().zip(q).map(|(&bottom, &top)| RuledPiece { bottom, top }).collect()
        };
        let loops = bottom.loops().iter().zip(top.loops()).map(walls).collect();
        RuledSection { loops }.uncrossed()
    }

    fn uncrossed(self) -> Result<RuledSection, RuleError> {
        if self.is_prism() {
            return Ok(self);
        }
        for pieces in &self.loops {
            let n = pieces.len();
            for j in 0..n {
                let corner = Corner::new(&pieces[(j + n - 1) % n], &pieces[j]);
                if !corner.is_straight() && corner.grazes() {
                    return Err(RuleError::Grazing { at: corner.bottom });
                }
            }
        }
        let middle = self.at(0.5);
        let raw = 0.5 * middle.iter().flatten().map(Seg::twice_area).sum::<f64>();
        let clean = Region::from_outlines(&middle).map_err(|_| RuleError::Crossing)?;
        let noise = EPS.same_edge * clean.perimeter().max(1.0);
        if (clean.area() - raw).abs() <= noise && clean.loops().len() == self.loops.len() {
            Ok(self)
        } else {
            Err(RuleError::Crossing)
        }
    }

    /// Whether there is no material.
    pub fn is_empty(&self) -> bool {
        self.loops.is_empty()
    }

    /// Whether all walls are upright.
    pub fn is_prism(&self) -> bool {
        self.loops.iter().flatten().all(|p| p.bottom == p.top)
    }

    /// Corners of all walls at both ends.
    pub(super) fn corners(&self) -> impl Iterator<Item = Vec2> + '_ {
        self.loops.iter().flatten().flat_map(|p| [p.bottom.a, p.top.a])
    }

    pub(super) fn loops(&self) -> &[Vec<RuledPiece>] {
        &self.loops
    }

    pub(super) fn bottom_segs(&self) -> Vec<Seg> {
        self.loops.iter().flatten().map(|p| p.bottom).collect()
    }

    pub(super) fn top_segs(&self) -> Vec<Seg> {
        self.loops.iter().flatten().map(|p| p.top).collect()
    }

    /// The outlines at fraction `t` of the height.
    pub fn at(&self, t: f64) -> Vec<Vec<Seg>> {
        self.loops
            .iter()
            .map(|pieces| {
                let n = pieces.len();
                let corners: Vec<Vec2> = (0..n)
                    .map(|j| Corner::new(&pieces[(j + n - 1) % n], &pieces[j]).point(t))
                    .collect();
                (0..n)
                    .map(|j| Seg {
                        a: corners[j],
                        b: corners[(j + 1) % n],
                        arc: pieces[j].arc_at(t),
                    })
                    .collect()
            })
            .collect()
    }

    /// Mean of the section area over the height, mm2.
    pub fn mean_area(&self) -> f64 {
        let area = |t: f64| 0.5 * self.at(t).iter().flatten().map(Seg::twice_area).sum::<f64>();
        if self.is_prism() {
            return area(0.0);
        }
        // Three-point Gauss-Legendre rule: exact on one span where corners move
        // straight (area is quadratic). Where one moves nearly like a square
        // root it takes many.
        let by_spans = |spans: u32| {
            let reach = (0.6f64).sqrt() * 0.5 / f64::from(spans);
            (0..spans)
                .map(|i| {
                    let mid = (f64::from(i) + 0.5) / f64::from(spans);
                    (5.0 * area(mid - reach) + 8.0 * area(mid) + 5.0 * area(mid + reach)) / 18.0
                })
                .sum::<f64>()
                / f64::from(spans)
        };
        let mut spans = FEWEST_SPANS;
        let mut coarse = by_spans(spans);
        loop {
            spans *= 2;
            let fine = by_spans(spans);
            if spans >= MOST_SPANS || (fine - coarse).abs() <= CONVERGED * fine.abs() {
                return fine;
            }
            coarse = fine;
        }
    }
}

/// Spans of the first and the last rule for the mean area, and the relative
/// difference of two that ends the search: the rule's error falls by 2^6.
const FEWEST_SPANS: u32 = 8;
const MOST_SPANS: u32 = 512;
const CONVERGED: f64 = 1e-12;

/// Walls between two loops: the rotation of `top` that pairs all pieces and
/// moves them least.
fn paired(bottom: &[Seg], top: &[Seg]) -> Option<Vec<RuledPiece>> {
    let n = bottom.len();
    if top.len() != n {
        return None;
    }
    let moved = |shift: usize| -> f64 {
        (0..n).map(|i| (bottom[i].a - top[(i + shift) % n].a).norm_squared()).sum()
    };
    (0..n)
        .filter(|&shift| (0..n).all(|i| rules(&bottom[i], &top[(i + shift) % n])))
        .min_by(|&p, &q| moved(p).total_cmp(&moved(q)))
        .map(|shift| {
            (0..n).map(|i| RuledPiece { bottom: bottom[i], top: top[(i + shift) % n] }).collect()
        })
}

/// Whether the wall between two pieces is a plane, cylinder or cone.
fn rules(s: &Seg, t: &Seg) -> bool {
    match (s.arc, t.arc) {
        (None, None) => {
            let (d, e) = (s.b - s.a, t.b - t.a);
            // The far end of the wall leaves the plane by less than a vertex.
            d.dot(&e) > 0.0 && (d.x * e.y - d.y * e.x).abs() <= EPS.vertex * d.norm().min(e.norm())
        }
        (Some(c), Some(d)) => c.ccw == d.ccw && (c.centre - d.centre).norm() <= EPS.on_curve,
        _ => false,
    }
}

impl RuledPiece {
    fn arc_at(&self, t: f64) -> Option<Arc> {
        let (p, q) = (self.bottom.arc?, self.top.arc?);
        Some(Arc { radius: p.radius + (q.radius - p.radius) * t, ..p })
    }

    /// The wall's surface between heights `z0` and `z1`, and whether its
    /// natural normal points into the material.
    pub(super) fn surface(&self, z0: f64, z1: f64) -> (Surface, bool) {
        match (self.bottom.arc, self.top.arc) {
            (Some(p), Some(q)) => {
                let origin = Vec3::new(p.centre.x, p.centre.y, z0);
                let (axis, x, radius) = (Vec3::z(), Vec3::x(), p.radius);
                let slope = (q.radius - p.radius) / (z1 - z0);
                let surface = if p.radius == q.radius {
                    Surface::Cylinder { origin, axis, x, radius }
                } else {
                    Surface::Cone { origin, axis, x, radius, slope }
                };
                (surface, !p.ccw)
            }
            _ => {
                let longer =
                    if self.bottom.chord() >= self.top.chord() { self.bottom } else { self.top };
                let d = longer.tangent_at_a();
                let out = Vec2::new(d.y, -d.x);
                let lean = (self.top.a - self.bottom.a).dot(&out) / (z1 - z0);
                let normal = Vec3::new(out.x, out.y, -lean).normalize();
                let origin = Vec3::new(self.bottom.a.x, self.bottom.a.y, z0);
                (Surface::Plane { origin, normal, x: Vec3::new(d.x, d.y, 0.0) }, false)
            }
        }
    }

    /// The edge between this wall and the next one.
    pub(super) fn corner_curve(
        &self,
        next: &RuledPiece,
        z0: f64,
        z1: f64,
        ends: [Vec3; 2],
    ) -> Curve {
        let corner = Corner::new(self, next);
        if corner.is_straight() {
            return Curve::Line { from: ends[0], to: ends[1] };
        }
        Curve::Traced { trace: Shared::new(CornerTrace { corner, z0, z1 }), from: 0.0, to: 1.0 }
    }
}

/// A corner that leaves the straight line by less than this, mm, is straight.
const STRAIGHT: f64 = 1e-9;

/// The corner between two walls as the section changes.
#[derive(Clone, Copy, Debug)]
struct Corner {
    bottom: Vec2,
    top: Vec2,
    walls: [Moving; 2],
}

/// The carrier of a wall's section: it moves linearly with the height.
#[derive(Clone, Copy, Debug)]
enum Moving {
    /// `normal . p = from + t (to - from)`.
    Line { normal: Vec2, from: f64, to: f64 },
    /// `|p - centre| = from + t (to - from)`.
    Circle { centre: Vec2, from: f64, to: f64 },
}

impl Moving {
    fn new(p: &RuledPiece) -> Moving {
        match (p.bottom.arc, p.top.arc) {
            (Some(b), Some(t)) => Moving::Circle { centre: b.centre, from: b.radius, to: t.radius },
            _ => {
                let longer = if p.bottom.chord() >= p.top.chord() { p.bottom } else { p.top };
                let d = longer.tangent_at_a();
                let normal = Vec2::new(d.y, -d.x);
                Moving::Line { normal, from: normal.dot(&p.bottom.a), to: normal.dot(&p.top.a) }
            }
        }
    }

    /// Value, gradient and rate of the implicit equation at `p` and `t`.
    fn implicit(&self, p: Vec2, t: f64) -> (f64, Vec2, f64) {
        match *self {
            Moving::Line { normal, from, to } => {
                (normal.dot(&p) - from - (to - from) * t, normal, from - to)
            }
            Moving::Circle { centre, from, to } => {
                let d = p - centre;
                let n = d.norm();
                (n - from - (to - from) * t, d / n, from - to)
            }
        }
    }
}

impl Corner {
    fn new(before: &RuledPiece, after: &RuledPiece) -> Corner {
        Corner {
            bottom: after.bottom.a,
            top: after.top.a,
            walls: [Moving::new(before), Moving::new(after)],
        }
    }

    fn straight(&self, t: f64) -> Vec2 {
        self.bottom + (self.top - self.bottom) * t
    }

    fn is_straight(&self) -> bool {
        (1..8).all(|i| {
            let t = f64::from(i) / 8.0;
            (self.point(t) - self.straight(t)).norm() <= STRAIGHT
        })
    }

    /// Whether the walls meet at less than [`GRAZING`] anywhere on the way.
    fn grazes(&self) -> bool {
        (0..=8).any(|i| {
            let t = f64::from(i) / 8.0;
            let p = self.point(t);
            let (_, a, _) = self.walls[0].implicit(p, t);
            let (_, b, _) = self.walls[1].implicit(p, t);
            (a.x * b.y - a.y * b.x).abs() < GRAZING
        })
    }

    /// Newton's method from the straight line; tangent walls stay on it.
    fn point(&self, t: f64) -> Vec2 {
        let mut p = self.straight(t);
        if t == 0.0 || t == 1.0 {
            return p;
        }
        for _ in 0..12 {
            let (f, df, _) = self.walls[0].implicit(p, t);
            let (g, dg, _) = self.walls[1].implicit(p, t);
            let Some(step) = solve(df, dg, -f, -g) else { break };
            p += step;
            if step.norm() <= f64::EPSILON * 64.0 {
                break;
            }
        }
        p
    }

    fn velocity(&self, t: f64) -> Vec2 {
        let p = self.point(t);
        let (_, df, ft) = self.walls[0].implicit(p, t);
        let (_, dg, gt) = self.walls[1].implicit(p, t);
        solve(df, dg, -ft, -gt).unwrap_or(self.top - self.bottom)
    }
}

/// Sine of the least angle between the walls of a corner that does not move
/// straight: below it the corner moves like a square root, and a spline
/// through it would be wrong.
const GRAZING: f64 = 0.05;

/// Sine of the angle below which two walls count as tangent.
const TANGENT: f64 = 1e-6;

/// Solves `[a; b] x = (p, q)`; `None` when `a` and `b` are nearly parallel.
fn solve(a: Vec2, b: Vec2, p: f64, q: f64) -> Option<Vec2> {
    let det = a.x * b.y - a.y * b.x;
    if det.abs() <= TANGENT {
        return None;
    }
    Some(Vec2::new((p * b.y - q * a.y) / det, (a.x * q - b.x * p) / det))
}

#[derive(Clone, Copy, Debug)]
struct CornerTrace {
    corner: Corner,
    z0: f64,
    z1: f64,
}

impl Trace for CornerTrace {
    fn point(&self, t: f64) -> Vec3 {
        let p = self.corner.point(t);
        Vec3::new(p.x, p.y, self.z0 + (self.z1 - self.z0) * t)
    }

    fn derivative(&self, t: f64) -> Vec3 {
        let v = self.corner.velocity(t);
        Vec3::new(v.x, v.y, self.z1 - self.z0)
    }

    fn spans_per_unit(&self) -> f64 {
        32.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sides keep their directions from one section to the other, but the loops begin at
    /// another corner, so that pieces have to be paired by turning one loop.
    #[test]
    fn walls_join_sides_that_belong_together_wherever_the_loops_begin() {
        // Two points to the left, as far as given, and a notch between them.
        let section = |low: f64, high: f64, turned: bool| {
            let corners = [
                (7.0 - low, -12.0),
                (20.0, -12.0),
                (20.0, 12.0),
                (7.0 - high, 12.0),
                (-high, 5.0),
                (5.0 - 0.5 * (low + high), 0.5 * (low - high)),
                (-low, -5.0),
            ];
            let place =
                |(x, y): (f64, f64)| if turned { Vec2::new(-y, x) } else { Vec2::new(x, y) };
            Region::polygon(&corners.map(place))
        };
        for turned in [false, true] {
            for (low, high) in [(1.0, 3.0), (3.0, 1.0)] {
                let (bottom, top) = (section(low, high, turned), section(high, low, turned));
                let middle = section(2.0, 2.0, turned);
                let ruled = RuledSection::between(&bottom, &top).expect("sides are parallel");
                let simpson = (bottom.area() + 4.0 * middle.area() + top.area()) / 6.0;
                assert!((ruled.mean_area() - simpson).abs() < 1e-9, "{turned} {low}");
                let mut stack = crate::solid::Stack::default();
                stack.ruled(0.0, 6.0, ruled);
                let solid = stack.solid().expect("it stands");
                assert_eq!(solid.faces().len(), 9, "seven walls and two ends");
                assert!((solid.properties().volume - 6.0 * simpson).abs() < 1e-8);
            }
        }
    }
}
