//! Solids built by hand through the public boundary types, with closed-form
//! properties to hold the rest of the crate against.

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::sync::Arc;

use borewright::measure::Vec3;
use borewright::solid::{Brep, Curve, Edge, EdgeUse, Face, Surface, Trace};
use nalgebra::Rotation3;

/// Points and edges nearer than this are one, mm.
const SAME: f64 = 1e-9;

/// A curve and whether the loop runs along it.
type Walk = (Curve, bool);

/// Collects faces whose loops are given as curves, and finds shared edges.
#[derive(Default)]
pub struct Build {
    brep: Brep,
}

impl Build {
    fn vertex(&mut self, p: Vec3) -> u32 {
        if let Some(i) = self.brep.vertices.iter().position(|q| (p - q).norm() < SAME) {
            return i as u32;
        }
        self.brep.vertices.push(p);
        self.brep.vertices.len() as u32 - 1
    }

    fn edge(&mut self, (curve, forward): Walk) -> EdgeUse {
        let (from, to) = (self.vertex(curve.start()), self.vertex(curve.end()));
        let middle = midpoint(&curve);
        for (i, e) in self.brep.edges.iter().enumerate() {
            let same_ends = (e.from, e.to) == (from, to) || (e.from, e.to) == (to, from);
            if same_ends && (midpoint(&e.curve) - middle).norm() < SAME {
                return EdgeUse { edge: i as u32, forward: forward == (e.from == from) };
            }
        }
        self.brep.edges.push(Edge { from, to, curve });
        EdgeUse { edge: self.brep.edges.len() as u32 - 1, forward }
    }

    pub fn face(&mut self, surface: Surface, flipped: bool, loops: Vec<Vec<Walk>>) {
        let loops =
            loops.into_iter().map(|l| l.into_iter().map(|w| self.edge(w)).collect()).collect();
        self.brep.faces.push(Face { surface, flipped, loops });
    }

    pub fn brep(self) -> Brep {
        self.brep
    }
}

fn midpoint(curve: &Curve) -> Vec3 {
    let (a, b) = curve.range();
    curve.point(0.5 * (a + b))
}

fn reversed(path: Vec<Walk>) -> Vec<Walk> {
    path.into_iter().rev().map(|(c, f)| (c, !f)).collect()
}

fn line(from: Vec3, to: Vec3) -> Walk {
    (Curve::Line { from, to }, true)
}

/// One segment of a profile: straight, or an arc about a centre.
#[derive(Clone, Copy)]
pub struct Seg {
    a: [f64; 2],
    b: [f64; 2],
    arc: Option<([f64; 2], bool)>,
}

impl Seg {
    pub fn line(a: [f64; 2], b: [f64; 2]) -> Seg {
        Seg { a, b, arc: None }
    }

    pub fn arc(a: [f64; 2], b: [f64; 2], centre: [f64; 2], ccw: bool) -> Seg {
        Seg { a, b, arc: Some((centre, ccw)) }
    }

    fn at(&self, z: f64) -> Walk {
        let lift = |p: [f64; 2]| Vec3::new(p[0], p[1], z);
        let Some((c, ccw)) = self.arc else { return line(lift(self.a), lift(self.b)) };
        let (a, b) = if ccw { (self.a, self.b) } else { (self.b, self.a) };
        let from = (a[1] - c[1]).atan2(a[0] - c[0]);
        let sweep = ((b[1] - c[1]).atan2(b[0] - c[0]) - from).rem_euclid(TAU);
        let radius = (a[0] - c[0]).hypot(a[1] - c[1]);
        let (x, y) = (Vec3::x(), Vec3::y());
        (Curve::Circle { centre: lift(c), x, y, radius, from, to: from + sweep }, ccw)
    }
}

/// Closed polygon.
pub fn polygon(points: &[[f64; 2]]) -> Vec<Seg> {
    (0..points.len()).map(|i| Seg::line(points[i], points[(i + 1) % points.len()])).collect()
}

/// Full circle as two arcs that meet at `y = centre.y`.
pub fn circle(c: [f64; 2], r: f64, ccw: bool) -> Vec<Seg> {
    let (right, left) = ([c[0] + r, c[1]], [c[0] - r, c[1]]);
    vec![Seg::arc(right, left, c, ccw), Seg::arc(left, right, c, ccw)]
}

fn plane(origin: Vec3, normal: Vec3, x: Vec3) -> Surface {
    Surface::Plane { origin, normal, x }
}

/// Adds the prism over `loops` (outer counter-clockwise, holes clockwise)
/// between two heights; `inside_out` makes it a void.
pub fn extrude(build: &mut Build, loops: &[Vec<Seg>], z: [f64; 2], inside_out: bool) {
    let turn = |path: Vec<Walk>| if inside_out { reversed(path) } else { path };
    for (i, up) in [(0, -1.0), (1, 1.0)] {
        let paths = loops.iter().map(|l| {
            let path: Vec<Walk> = l.iter().map(|s| s.at(z[i])).collect();
            turn(if up < 0.0 { reversed(path) } else { path })
        });
        let paths = paths.collect();
        let surface = plane(Vec3::new(0.0, 0.0, z[i]), Vec3::z() * up, Vec3::x());
        build.face(surface, inside_out, paths);
    }
    for seg in loops.iter().flatten() {
        let lift = |p: [f64; 2], z: f64| Vec3::new(p[0], p[1], z);
        let mut top = seg.at(z[1]);
        top.1 = !top.1;
        let path = vec![
            seg.at(z[0]),
            line(lift(seg.b, z[0]), lift(seg.b, z[1])),
            top,
            line(lift(seg.a, z[1]), lift(seg.a, z[0])),
        ];
        let (surface, flipped) = match seg.arc {
            None => {
                let along = (lift(seg.b, 0.0) - lift(seg.a, 0.0)).normalize();
                (plane(lift(seg.a, z[0]), along.cross(&Vec3::z()), along), false)
            }
            Some((c, ccw)) => {
                let radius = (seg.a[0] - c[0]).hypot(seg.a[1] - c[1]);
                let (origin, axis, x) = (lift(c, z[0]), Vec3::z(), Vec3::x());
                (Surface::Cylinder { origin, axis, x, radius }, !ccw)
            }
        };
        build.face(surface, flipped != inside_out, vec![turn(path)]);
    }
}

fn prism(loops: &[Vec<Seg>], z: [f64; 2]) -> Build {
    let mut build = Build::default();
    extrude(&mut build, loops, z, false);
    build
}

fn rectangle(x: [f64; 2], y: [f64; 2]) -> Vec<Seg> {
    polygon(&[[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]])
}

/// Box with one corner at the origin.
pub fn block(x: f64, y: f64, z: f64) -> Build {
    prism(&[rectangle([0.0, x], [0.0, y])], [0.0, z])
}

/// Box with a round hole along z.
pub fn block_with_hole(x: f64, y: f64, z: f64, centre: [f64; 2], radius: f64) -> Build {
    prism(&[rectangle([0.0, x], [0.0, y]), circle(centre, radius, false)], [0.0, z])
}

/// Round rod along z.
pub fn rod(radius: f64, z: [f64; 2]) -> Build {
    prism(&[circle([0.0, 0.0], radius, true)], z)
}

/// The half of a rod with positive y.
pub fn half_rod(radius: f64, length: f64) -> Build {
    let (a, b) = ([radius, 0.0], [-radius, 0.0]);
    prism(&[vec![Seg::arc(a, b, [0.0, 0.0], true), Seg::line(b, a)]], [0.0, length])
}

/// Box with a box-shaped void and a round one.
pub fn block_with_voids() -> Build {
    let mut build = block(30.0, 20.0, 10.0);
    extrude(&mut build, &[rectangle([3.0, 9.0], [4.0, 11.0])], [2.0, 7.0], true);
    extrude(&mut build, &[circle([20.0, 10.0], 4.0, true)], [1.0, 8.5], true);
    build
}

fn half_circles(radius: f64, z: f64) -> [Walk; 2] {
    let seg = circle([0.0, 0.0], radius, true);
    [seg[0].at(z), seg[1].at(z)]
}

/// Frustum along z from radius `r[0]` at 0 to `r[1]` at `h`, with a conical
/// bore of radii `bore` if given.
pub fn frustum(r: [f64; 2], bore: Option<[f64; 2]>, h: f64) -> Build {
    let mut build = Build::default();
    let z = [0.0, h];
    for (i, up) in [(0, -1.0), (1, 1.0)] {
        let mut paths = vec![half_circles(r[i], z[i]).to_vec()];
        if let Some(b) = bore {
            paths.push(reversed(half_circles(b[i], z[i]).to_vec()));
        }
        if up < 0.0 {
            paths = paths.into_iter().map(reversed).collect();
        }
        let surface = plane(Vec3::new(0.0, 0.0, z[i]), Vec3::z() * up, Vec3::x());
        build.face(surface, false, paths);
    }
    for (radii, inner) in [(Some(r), false), (bore, true)] {
        let Some(radii) = radii else { continue };
        let (low, high) = (half_circles(radii[0], 0.0), half_circles(radii[1], h));
        let surface = Surface::Cone {
            origin: Vec3::zeros(),
            axis: Vec3::z(),
            x: Vec3::x(),
            radius: radii[0],
            slope: (radii[1] - radii[0]) / h,
        };
        for i in 0..2 {
            let (low, high) = (low[i].clone(), high[i].clone());
            let path = vec![
                low.clone(),
                line(low.0.end(), high.0.end()),
                (high.0.clone(), false),
                line(high.0.start(), low.0.start()),
            ];
            build.face(surface, inner, vec![if inner { reversed(path) } else { path }]);
        }
    }
    build
}

/// Cone or cylinder from radius `r` at z = 0, growing by `slope`, under the
/// oblique plane `z = h + k x`.
pub fn oblique(r: f64, slope: f64, h: f64, k: f64) -> Build {
    let mut build = Build::default();
    let (rho, m) = (r + slope * h, slope * k);
    let (semi_x, semi_y) = (rho / (1.0 - m * m), rho / (1.0 - m * m).sqrt());
    let cx = semi_x * m;
    let half = |from: f64| Curve::Ellipse {
        centre: Vec3::new(cx, 0.0, h + k * cx),
        x: Vec3::new(semi_x, 0.0, k * semi_x),
        y: Vec3::new(0.0, semi_y, 0.0),
        from,
        to: from + PI,
    };
    let bottom = half_circles(r, 0.0);
    let base = plane(Vec3::zeros(), -Vec3::z(), Vec3::x());
    build.face(base, false, vec![reversed(bottom.to_vec())]);
    let normal = Vec3::new(-k, 0.0, 1.0).normalize();
    let top = plane(Vec3::new(0.0, 0.0, h), normal, Vec3::new(1.0, 0.0, k).normalize());
    build.face(top, false, vec![vec![(half(0.0), true), (half(PI), true)]]);
    let (origin, axis, x) = (Vec3::zeros(), Vec3::z(), Vec3::x());
    let wall = if slope == 0.0 {
        Surface::Cylinder { origin, axis, x, radius: r }
    } else {
        Surface::Cone { origin, axis, x, radius: r, slope }
    };
    for (i, low) in bottom.into_iter().enumerate() {
        let high = half(PI * i as f64);
        let path = vec![
            low.clone(),
            line(low.0.end(), high.end()),
            (high.clone(), false),
            line(high.start(), low.0.start()),
        ];
        build.face(wall, false, vec![path]);
    }
    build
}

/// Where a bore of radius `a` along x, its axis at `y = e`, `z = c`, meets the
/// rod of radius `r` on the side `side` of x; by the bore's angle.
#[derive(Debug)]
struct BoreMouth {
    a: f64,
    r: f64,
    e: f64,
    c: f64,
    side: f64,
}

impl Trace for BoreMouth {
    fn point(&self, t: f64) -> Vec3 {
        let y = self.e + self.a * t.cos();
        Vec3::new(self.side * (self.r * self.r - y * y).sqrt(), y, self.c + self.a * t.sin())
    }

    fn derivative(&self, t: f64) -> Vec3 {
        let (y, dy) = (self.e + self.a * t.cos(), -self.a * t.sin());
        let x = (self.r * self.r - y * y).sqrt();
        Vec3::new(-self.side * y * dy / x, dy, self.a * t.cos())
    }

    fn spans_per_unit(&self) -> f64 {
        10.0
    }
}

/// Rod of radius `r` and length `l` with a bore of radius `a` right through
/// it, along x at half length, offset by `e` in y.
pub fn bored_rod(r: f64, l: f64, a: f64, e: f64) -> Build {
    let mut build = Build::default();
    let c = 0.5 * l;
    let mouth = |side: f64, from: f64| Curve::Traced {
        trace: Arc::new(BoreMouth { a, r, e, c, side }),
        from,
        to: from + PI,
    };
    let half = |side: f64, z: f64| {
        let (low, high) = ([0.0, -side * r], [0.0, side * r]);
        Seg::arc(low, high, [0.0, 0.0], true).at(z)
    };
    for (z, up) in [(0.0, -1.0), (l, 1.0)] {
        let path = vec![half(1.0, z), half(-1.0, z)];
        let path = if up < 0.0 { reversed(path) } else { path };
        build.face(plane(Vec3::new(0.0, 0.0, z), Vec3::z() * up, Vec3::x()), false, vec![path]);
    }
    let (origin, axis) = (Vec3::zeros(), Vec3::z());
    for side in [1.0, -1.0] {
        let (low, mut high) = (half(side, 0.0), half(side, l));
        let path = vec![
            low.clone(),
            line(low.0.end(), high.0.end()),
            {
                high.1 = false;
                high.clone()
            },
            line(high.0.start(), low.0.start()),
        ];
        let hole = vec![(mouth(side, 0.0), true), (mouth(side, PI), true)];
        let hole = if side > 0.0 { reversed(hole) } else { hole };
        let wall = Surface::Cylinder { origin, axis, x: Vec3::x() * side, radius: r };
        build.face(wall, false, vec![path, hole]);
    }
    let bore = Surface::Cylinder {
        origin: Vec3::new(0.0, e, c),
        axis: Vec3::x(),
        x: Vec3::y(),
        radius: a,
    };
    for from in [0.0, PI] {
        let (near, far) = (mouth(1.0, from), mouth(-1.0, from));
        let path = vec![
            (near.clone(), true),
            line(near.end(), far.end()),
            (far.clone(), false),
            line(far.start(), near.start()),
        ];
        build.face(bore, true, vec![path]);
    }
    build
}

/// Plate of a stadium outline with a D-shaped hole and a concave side: arcs of
/// both senses, more and less than half a turn.
pub fn keyed_plate() -> Build {
    let (w, r) = (14.0, 9.0);
    let notch = 4.0;
    let outline = vec![
        Seg::line([-w, -r], [-notch, -r]),
        Seg::arc([-notch, -r], [notch, -r], [0.0, -r], false),
        Seg::line([notch, -r], [w, -r]),
        Seg::arc([w, -r], [w, r], [w, 0.0], true),
        Seg::line([w, r], [-w, r]),
        Seg::arc([-w, r], [-w, -r], [-w, 0.0], true),
    ];
    let (d, flat) = (3.0, 1.2f64);
    let half = (d * d - flat * flat).sqrt();
    let hole = vec![
        Seg::arc([flat, half], [flat, -half], [0.0, 0.0], true),
        Seg::line([flat, -half], [flat, half]),
    ];
    let hole = reverse_profile(&hole);
    prism(&[outline, hole], [-1.5, 4.0])
}

fn reverse_profile(path: &[Seg]) -> Vec<Seg> {
    let turn = |s: &Seg| Seg { a: s.b, b: s.a, arc: s.arc.map(|(c, ccw)| (c, !ccw)) };
    path.iter().rev().map(turn).collect()
}

#[derive(Debug)]
struct Moved {
    trace: Arc<dyn Trace>,
    rotation: Rotation3<f64>,
    shift: Vec3,
}

impl Trace for Moved {
    fn point(&self, t: f64) -> Vec3 {
        self.rotation * self.trace.point(t) + self.shift
    }

    fn derivative(&self, t: f64) -> Vec3 {
        self.rotation * self.trace.derivative(t)
    }

    fn spans_per_unit(&self) -> f64 {
        self.trace.spans_per_unit()
    }
}

/// A skew rotation with no axis in a coordinate plane.
pub fn skew() -> Rotation3<f64> {
    Rotation3::from_euler_angles(0.3, -1.1, 2.0)
        * Rotation3::from_axis_angle(&Vec3::x_axis(), FRAC_PI_2)
}

/// The same body turned and shifted.
pub fn moved(brep: &Brep, rotation: Rotation3<f64>, shift: Vec3) -> Brep {
    let mut brep = brep.clone();
    let point = |p: &mut Vec3| *p = rotation * *p + shift;
    let turn = |d: &mut Vec3| *d = rotation * *d;
    brep.vertices.iter_mut().for_each(point);
    for edge in &mut brep.edges {
        match &mut edge.curve {
            Curve::Line { from, to } => {
                point(from);
                point(to);
            }
            Curve::Circle { centre, x, y, .. } | Curve::Ellipse { centre, x, y, .. } => {
                point(centre);
                turn(x);
                turn(y);
            }
            Curve::Traced { trace, .. } => {
                *trace = Arc::new(Moved { trace: trace.clone(), rotation, shift });
            }
        }
    }
    for face in &mut brep.faces {
        match &mut face.surface {
            Surface::Plane { origin, normal, x } => {
                point(origin);
                turn(normal);
                turn(x);
            }
            Surface::Cylinder { origin, axis, x, .. } | Surface::Cone { origin, axis, x, .. } => {
                point(origin);
                turn(axis);
                turn(x);
            }
        }
    }
    brep
}

/// Every kind of test solid, by name.
pub fn gallery() -> Vec<(&'static str, Brep)> {
    let plain: Vec<(&'static str, Build)> = vec![
        ("block", block(30.0, 20.0, 10.0)),
        ("block-with-hole", block_with_hole(30.0, 20.0, 10.0, [12.0, 9.0], 5.0)),
        ("rod", rod(7.5, [-4.0, 20.0])),
        ("half-rod", half_rod(12.5, 18.0)),
        ("frustum", frustum([10.0, 6.0], None, 15.0)),
        ("flared-ring", frustum([11.5, 12.5], Some([9.0, 4.0]), 2.0)),
        ("block-with-voids", block_with_voids()),
        ("oblique-rod", oblique(8.0, 0.0, 20.0, 0.7)),
        ("oblique-cone", oblique(8.0, -0.2, 15.0, 0.5)),
        ("keyed-plate", keyed_plate()),
        ("bored-rod", bored_rod(15.0, 40.0, 1.7, 0.0)),
        ("bored-rod-offset", bored_rod(15.0, 40.0, 3.0, 5.0)),
    ];
    let mut all: Vec<(&'static str, Brep)> =
        plain.into_iter().map(|(name, b)| (name, b.brep())).collect();
    let shift = Vec3::new(13.0, -7.0, 31.0);
    let skewed = [
        ("skew-flared-ring", "flared-ring"),
        ("skew-oblique-cone", "oblique-cone"),
        ("skew-keyed-plate", "keyed-plate"),
        ("skew-bored-rod", "bored-rod-offset"),
    ];
    for (name, of) in skewed {
        let brep = &all.iter().find(|(n, _)| *n == of).expect("a plain solid").1;
        let brep = moved(brep, skew(), shift);
        all.push((name, brep));
    }
    all
}
