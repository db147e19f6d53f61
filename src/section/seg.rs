//! One boundary piece: a straight line or a circular arc of at most half a turn.

use std::f64::consts::PI;

use super::EPS;
use crate::measure::Vec2;

/// The circle that carries an arc, and the sense in which the arc runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Centre, mm.
    pub centre: Vec2,
    /// Radius, mm.
    pub radius: f64,
    /// Whether the arc runs counter-clockwise.
    pub ccw: bool,
}

/// A directed boundary piece. Arcs lie wholly in the upper or the lower half
/// of their circle, so that every piece is monotone in x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seg {
    /// Start, mm.
    pub a: Vec2,
    /// End, mm.
    pub b: Vec2,
    /// The carrier of an arc; `None` for a straight line.
    pub arc: Option<Arc>,
}

/// Cross product of two plane vectors.
pub(crate) fn cross(a: Vec2, b: Vec2) -> f64 {
    a.x * b.y - a.y * b.x
}

/// `v` turned a quarter counter-clockwise.
pub(crate) fn left(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

impl Seg {
    /// A straight piece.
    pub fn line(a: Vec2, b: Vec2) -> Seg {
        Seg { a, b, arc: None }
    }

    /// The pieces of an arc from angle `from` over `sweep` radians (positive:
    /// counter-clockwise, at most a turn), split where the circle is leftmost
    /// and rightmost.
    pub fn arc(centre: Vec2, radius: f64, a: Vec2, b: Vec2, ccw: bool) -> Vec<Seg> {
        let angle = |p: Vec2| (p.y - centre.y).atan2(p.x - centre.x);
        let (from, to) = (angle(a), angle(b));
        let arc = Arc { centre, radius, ccw };
        let turn = 2.0 * PI;
        // Bounded, so that a radius of next to nothing means a turn.
        let noise = (EPS.vertex / radius).min(0.5);
        let mut sweep = if ccw { to - from } else { from - to }.rem_euclid(turn);
        if sweep <= noise {
            sweep += turn;
        }
        let mut cuts = vec![a];
        // The extreme points that lie strictly inside the sweep, in order.
        let start = if ccw { from } else { -from };
        let mut k = (start / PI).floor() + 1.0;
        while k * PI < start + sweep - noise {
            if k * PI > start + noise {
                let right = (k.rem_euclid(2.0)) == 0.0;
                cuts.push(centre + Vec2::new(if right { radius } else { -radius }, 0.0));
            }
            k += 1.0;
        }
        cuts.push(b);
        cuts.windows(2).map(|w| Seg { a: w[0], b: w[1], arc: Some(arc) }).collect()
    }

    /// The same piece run backwards.
    pub fn reversed(&self) -> Seg {
        let arc = self.arc.map(|c| Arc { ccw: !c.ccw, ..c });
        Seg { a: self.b, b: self.a, arc }
    }

    /// Straight distance between the ends, mm.
    pub fn chord(&self) -> f64 {
        (self.b - self.a).norm()
    }

    /// Swept angle of an arc, radians, positive; zero for a line.
    pub fn sweep(&self) -> f64 {
        let Some(arc) = self.arc else { return 0.0 };
        let (p, q) = (self.a - arc.centre, self.b - arc.centre);
        cross(p, q).atan2(p.dot(&q)).abs()
    }

    /// Length along the piece, mm.
    pub fn length(&self) -> f64 {
        self.arc.map_or_else(|| self.chord(), |arc| self.sweep() * arc.radius)
    }

    /// Midpoint along the piece.
    pub fn mid(&self) -> Vec2 {
        match self.arc {
            None => (self.a + self.b) * 0.5,
            Some(arc) => {
                let off = (self.a + self.b) * 0.5 - arc.centre;
                let n = off.norm();
                if n > 0.5 * arc.radius {
                    // The direction of a short chord would be float noise.
                    return arc.centre + off * (arc.radius / n);
                }
                // The bulge of an arc up to half a turn lies right of its chord
                // when it runs counter-clockwise.
                let right = -left(self.b - self.a) / self.chord();
                arc.centre + right * if arc.ccw { arc.radius } else { -arc.radius }
            }
        }
    }

    /// Unit direction of travel at the start.
    pub fn tangent_at_a(&self) -> Vec2 {
        match self.arc {
            None => (self.b - self.a) / self.chord(),
            Some(arc) => arc.tangent(self.a),
        }
    }

    /// Unit direction of travel at the end.
    pub fn tangent_at_b(&self) -> Vec2 {
        match self.arc {
            None => (self.b - self.a) / self.chord(),
            Some(arc) => arc.tangent(self.b),
        }
    }

    /// Curvature, 1/mm: positive where the piece bends to its left.
    pub(crate) fn bend(&self) -> f64 {
        self.arc.map_or(0.0, |arc| if arc.ccw { 1.0 / arc.radius } else { -1.0 / arc.radius })
    }

    /// The point at fraction `t` of the way: exact at 0 and 1.
    pub fn at(&self, t: f64) -> Vec2 {
        match self.arc {
            None => self.a + (self.b - self.a) * t,
            Some(arc) => {
                let (p, q) = (self.a - arc.centre, self.b - arc.centre);
                let sweep = cross(p, q).atan2(p.dot(&q)).abs() * t;
                let (sin, cos) = sweep.sin_cos();
                arc.centre + p * cos + left(p) * if arc.ccw { sin } else { -sin }
            }
        }
    }

    /// Whether the arc lies in the upper half of its circle.
    pub(crate) fn is_upper(&self) -> bool {
        self.arc.is_some_and(|arc| arc.ccw == (self.b.x < self.a.x))
    }

    /// Whether `moved`, on a circle about the same centre, lies in the same half.
    pub(super) fn same_half(&self, moved: &Seg) -> bool {
        let Some(arc) = self.arc else { return true };
        let up = if self.is_upper() { 1.0 } else { -1.0 };
        [moved.a, moved.b].iter().all(|p| (p.y - arc.centre.y) * up >= -EPS.on_curve)
    }

    /// Height of the piece over `x`, which must be inside its x-range.
    pub(crate) fn y_at(&self, x: f64) -> f64 {
        match self.arc {
            None => self.a.y + (self.b.y - self.a.y) * ((x - self.a.x) / (self.b.x - self.a.x)),
            Some(arc) => {
                let dx = x - arc.centre.x;
                let dy = ((arc.radius - dx) * (arc.radius + dx)).max(0.0).sqrt();
                if self.is_upper() { arc.centre.y + dy } else { arc.centre.y - dy }
            }
        }
    }

    /// Lower left and upper right corner of the bounding box.
    pub fn bounds(&self) -> (Vec2, Vec2) {
        let (mut lo, mut hi) = (self.a.inf(&self.b), self.a.sup(&self.b));
        if let Some(arc) = self.arc {
            let top = arc.centre.y + arc.radius;
            let bottom = arc.centre.y - arc.radius;
            let spans = lo.x <= arc.centre.x && arc.centre.x <= hi.x;
            if spans && self.is_upper() {
                hi.y = hi.y.max(top);
            } else if spans {
                lo.y = lo.y.min(bottom);
            }
        }
        (lo, hi)
    }

    /// Signed position of a point of the carrier along the piece, growing
    /// from `a`: mm for a line, radians for an arc.
    pub(crate) fn position(&self, p: Vec2) -> f64 {
        match self.arc {
            None => (p - self.a).dot(&(self.b - self.a)) / self.chord(),
            Some(arc) => {
                let (u, v) = (self.a - arc.centre, p - arc.centre);
                let angle = cross(u, v).atan2(u.dot(&v));
                let forward = if arc.ccw { angle } else { -angle };
                // Half a turn may read as minus half a turn.
                if forward < -0.5 * PI { forward + 2.0 * PI } else { forward }
            }
        }
    }

    /// Whether `p` lies on the piece, ends included, within noise.
    pub(crate) fn passes(&self, p: Vec2) -> bool {
        match self.arc {
            None => {
                let d = self.b - self.a;
                let len = d.norm();
                let along = (p - self.a).dot(&d) / len;
                let across = cross(d, p - self.a) / len;
                across.abs() <= EPS.on_curve
                    && (-EPS.on_curve..=len + EPS.on_curve).contains(&along)
            }
            Some(arc) => {
                let off = (p - arc.centre).norm() - arc.radius;
                off.abs() <= EPS.on_curve && {
                    let noise = EPS.on_curve / arc.radius;
                    (-noise..=self.sweep() + noise).contains(&self.position(p))
                        || (p - self.a).norm() <= EPS.on_curve
                        || (p - self.b).norm() <= EPS.on_curve
                }
            }
        }
    }

    /// Distance from `p` to the piece, mm.
    pub fn distance(&self, p: Vec2) -> f64 {
        let ends = (p - self.a).norm().min((p - self.b).norm());
        match self.arc {
            None => {
                let d = self.b - self.a;
                let t = (p - self.a).dot(&d) / d.norm_squared();
                if (0.0..=1.0).contains(&t) { (p - self.a - d * t).norm() } else { ends }
            }
            Some(arc) => {
                let v = p - arc.centre;
                let foot_inside = v.norm() > EPS.on_curve && {
                    let s = self.position(arc.centre + v);
                    (0.0..=self.sweep()).contains(&s)
                };
                if foot_inside { (v.norm() - arc.radius).abs() } else { ends }
            }
        }
    }

    /// Twice the signed area between the piece and the origin (Green), mm2.
    pub(crate) fn twice_area(&self) -> f64 {
        let straight = cross(self.a, self.b);
        match self.arc {
            None => straight,
            Some(arc) => {
                let sweep = self.sweep();
                let bulge = arc.radius * arc.radius * (sweep - sweep.sin());
                straight + if arc.ccw { bulge } else { -bulge }
            }
        }
    }

    /// Points where the carriers of the two pieces cross or touch, whether or not the pieces pass
    /// there. Pieces on one carrier give none: their ends lie on each other.
    pub(crate) fn carriers_meet(&self, other: &Seg) -> ([Vec2; 2], usize) {
        match (self.arc, other.arc) {
            (None, None) => line_line(self, other),
            (None, Some(arc)) => line_circle(self, &arc),
            (Some(arc), None) => line_circle(other, &arc),
            (Some(p), Some(q)) => circle_circle(&p, &q),
        }
    }
}

impl Arc {
    /// Unit direction of travel at a point of the arc.
    pub(crate) fn tangent(&self, p: Vec2) -> Vec2 {
        let t = left(p - self.centre) / self.radius;
        if self.ccw { t } else { -t }
    }
}

/// Sine of the angle under which two lines count as parallel: at a length of
/// 100 mm they part by less than a vertex.
const PARALLEL: f64 = 1e-9;

fn line_line(s: &Seg, t: &Seg) -> ([Vec2; 2], usize) {
    let (d, e) = (s.b - s.a, t.b - t.a);
    let den = cross(d, e);
    if den.abs() <= PARALLEL * d.norm() * e.norm() {
        return ([Vec2::zeros(); 2], 0);
    }
    let u = cross(t.a - s.a, e) / den;
    ([s.a + d * u, Vec2::zeros()], 1)
}

fn line_circle(s: &Seg, arc: &Arc) -> ([Vec2; 2], usize) {
    let d = (s.b - s.a) / s.chord();
    let foot = s.a + d * (arc.centre - s.a).dot(&d);
    let off = (arc.centre - foot).norm();
    chord_points(foot, d, off, arc.radius)
}

pub(super) fn circle_circle(p: &Arc, q: &Arc) -> ([Vec2; 2], usize) {
    let axis = q.centre - p.centre;
    let dist = axis.norm();
    if dist <= EPS.on_curve {
        return ([Vec2::zeros(); 2], 0);
    }
    let u = axis / dist;
    // Distance from p's centre to the common chord, in a form that does not
    // square large numbers and subtract them.
    let along = 0.5 * (dist + (p.radius - q.radius) * (p.radius + q.radius) / dist);
    let touching = (dist - p.radius - q.radius).abs() <= EPS.on_curve
        || (dist - (p.radius - q.radius).abs()).abs() <= EPS.on_curve;
    if touching {
        let on_p = p.centre + u * if along < 0.0 { -p.radius } else { p.radius };
        return ([on_p, Vec2::zeros()], 1);
    }
    if along.abs() >= p.radius {
        return ([Vec2::zeros(); 2], 0);
    }
    let half = ((p.radius - along) * (p.radius + along)).sqrt();
    let foot = p.centre + u * along;
    ([foot + left(u) * half, foot - left(u) * half], 2)
}

/// Both points of a line through `foot` (the point nearest to the centre, at
/// distance `off`) on a circle.
fn chord_points(foot: Vec2, d: Vec2, off: f64, radius: f64) -> ([Vec2; 2], usize) {
    if (off - radius).abs() <= EPS.on_curve {
        return ([foot, Vec2::zeros()], 1);
    }
    if off > radius {
        return ([Vec2::zeros(); 2], 0);
    }
    let half = ((radius - off) * (radius + off)).sqrt();
    ([foot - d * half, foot + d * half], 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An arc that begins or ends within noise of where the circle is leftmost or rightmost
    /// is not cut there: a piece without length would be left.
    #[test]
    fn arcs_are_cut_at_extremes_but_not_at_their_own_ends() {
        let centre = Vec2::new(1.0, -2.0);
        let at = |angle: f64| centre + Vec2::new(angle.cos(), angle.sin()) * 5.0;
        for noise in [0.0, 1e-13, -1e-13, 1e-11, -1e-11] {
            for extreme in [-PI, 0.0, PI] {
                for (sweep, cuts) in [(2.0, 1), (PI, 1), (4.0, 2), (2.0 * PI - 0.5, 2)] {
                    for ccw in [true, false] {
                        let turn = if ccw { sweep } else { -sweep };
                        let (a, b) = (at(extreme + noise), at(extreme + turn));
                        let pieces = Seg::arc(centre, 5.0, a, b, ccw);
                        assert_eq!(pieces.len(), cuts, "{noise} {extreme} {turn}: {pieces:?}");
                        assert!(pieces.iter().all(|p| (p.b - p.a).norm() > 0.1), "{pieces:?}");
                        let back = Seg::arc(centre, 5.0, b, a, !ccw);
                        assert_eq!(back.len(), cuts, "{noise} {extreme} {turn}: {back:?}");
                    }
                }
            }
        }
    }
}
