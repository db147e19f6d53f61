//! Volume, area, centroid, inertia and bounding box by integration over the
//! boundary.
//!
//! By the divergence theorem the integral over a solid of a homogeneous `f` of
//! degree `k` is `1 / (k + 3)` times the integral of `f(p) (p . n)` over its
//! boundary. On each face that integral is turned into one over the loops by
//! Green's theorem, so only points and derivatives of the edges are needed.
//! All surfaces are ruled, and `p . n dA` has a simple form on each:
//!
//! | surface | point | `p . n dA` |
//! |---|---|---|
//! | plane | `o + u x + v y` | `(o . n) du dv` |
//! | cylinder | `o + r e(u) + v a` | `(o . e + r) r du dv` |
//! | cone | `o + (r + s v) e(u) + v a` | `(o . e + r - s o . a) (r + s v) du dv` |
//!
//! with `o` the origin, `e(u)` the radial direction, `a` the axis, `r` the
//! radius and `s` the slope. So every integrand is `h(u)` times a polynomial
//! in `v`, which is integrated in `v` in closed form, and along the loop in
//! `u` by Gauss-Legendre quadrature. The radial direction is taken from the
//! point itself: no angle is ever computed, so none can jump.
//! (Derivation: elementary, no source.)

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use nalgebra::Matrix3;

use super::{Brep, Curve, Face, FaceId, Solid, Surface, Trace};
use crate::measure::Vec3;

/// Integrals over a solid of unit density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MassProperties {
    /// Volume, mm3.
    pub volume: f64,
    /// Area of the whole boundary, voids included, mm2.
    pub area: f64,
    /// Centre of mass, mm.
    pub centroid: Vec3,
    /// Moment of inertia tensor about the centroid, for a density of 1 per
    /// mm3, mm5.
    pub inertia: Matrix3<f64>,
}

/// How many faces of each surface type a solid has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FaceCounts {
    /// Planar faces.
    pub planes: usize,
    /// Cylindrical faces.
    pub cylinders: usize,
    /// Conical faces.
    pub cones: usize,
}

impl Solid {
    /// Volume, area, centroid and inertia. The error is rounding only for
    /// edges that are lines and circles; other edges are integrated
    /// adaptively, to rounding as well if they are smooth.
    pub fn properties(&self) -> MassProperties {
        let brep = self.brep();
        let reference = Reference::of(brep);
        let mut area = 0.0;
        let mut sum = Moments::default();
        for face in &brep.faces {
            let m = face_moments(brep, face, &reference);
            area += signed_area(face, &m);
            sum.add(&m, 1.0);
        }
        let volume = sum.volume();
        let local = Vec3::new(sum.0[2], sum.0[3], sum.0[4]) / (4.0 * volume);
        let [xx, yy, zz, xy, xz, yz] = [5, 6, 7, 8, 9, 10].map(|i| sum.0[i] / 5.0);
        let second =
            Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz) - local * local.transpose() * volume;
        let inertia = Matrix3::identity() * second.trace() - second;
        MassProperties { volume, area, centroid: local + reference.at, inertia }
    }

    /// Area of each face in order, mm2. A negative one is a face whose loops
    /// run against its outward normal.
    pub fn face_areas(&self) -> Vec<f64> {
        let brep = self.brep();
        let reference = Reference::of(brep);
        brep.faces.iter().map(|f| signed_area(f, &face_moments(brep, f, &reference))).collect()
    }

    /// How many faces of each surface type there are.
    pub fn face_counts(&self) -> FaceCounts {
        let mut counts = FaceCounts::default();
        for face in self.faces() {
            match face.surface {
                Surface::Plane { .. } => counts.planes += 1,
                Surface::Cylinder { .. } => counts.cylinders += 1,
                Surface::Cone { .. } => counts.cones += 1,
            }
        }
        counts
    }

    /// Smallest and largest coordinates, mm. Exact: all surfaces are ruled, so
    /// along the ruling through any point inside a face a coordinate does not
    /// fall in at least one sense until the face's boundary is met, and the
    /// extremes are found on edges.
    pub fn bounds(&self) -> (Vec3, Vec3) {
        let mut low = Vec3::repeat(f64::INFINITY);
        let mut high = Vec3::repeat(f64::NEG_INFINITY);
        let mut include = |axis: usize, value: f64| {
            low[axis] = low[axis].min(value);
            high[axis] = high[axis].max(value);
        };
        for edge in self.edges() {
            for end in [edge.from, edge.to] {
                let p = self.vertices()[end as usize];
                (0..3).for_each(|i| include(i, p[i]));
            }
            match &edge.curve {
                Curve::Line { .. } => {}
                Curve::Circle { centre, x, y, radius, from, to } => {
                    conic_extremes(*centre, x * *radius, y * *radius, *from, *to, &mut include);
                }
                Curve::Ellipse { centre, x, y, from, to } => {
                    conic_extremes(*centre, *x, *y, *from, *to, &mut include);
                }
                Curve::Traced { trace, from, to } => {
                    trace_extremes(trace.as_ref(), *from, *to, &mut include);
                }
            }
        }
        (low, high)
    }

    /// The point that lies furthest in a direction, of any length but zero: exact as
    /// [`Solid::bounds`] is, for the same reason; on traced curves to a thousandth of their
    /// length. Of several the first.
    pub fn furthest(&self, way: Vec3) -> Vec3 {
        /// Pieces that traced curves are looked at in.
        const PIECES: u32 = 1024;
        let mut best = self.vertices()[0];
        let mut meet = |p: Vec3| {
            // Float noise does not choose between points of one face.
            if (p - best).dot(&way) > 1e-9 * way.norm() {
                best = p;
            }
        };
        for edge in self.edges() {
            let (from, to) = edge.curve.range();
            meet(edge.curve.point(from));
            meet(edge.curve.point(to));
            let summit = match &edge.curve {
                Curve::Line { .. } => continue,
                Curve::Circle { x, y, .. } | Curve::Ellipse { x, y, .. } => {
                    way.dot(y).atan2(way.dot(x))
                }
                Curve::Traced { .. } => {
                    let at = |i| from + (to - from) * f64::from(i) / f64::from(PIECES);
                    (1..PIECES).for_each(|i| meet(edge.curve.point(at(i))));
                    continue;
                }
            };
            let turn = (summit - from).rem_euclid(TAU);
            if turn <= to - from {
                meet(edge.curve.point(from + turn));
            }
        }
        best
    }
}

/// Signed volume enclosed by `faces`, mm3: positive when they face outwards;
/// or the first face whose loops run against its outward normal.
pub(super) fn shell_volume(brep: &Brep, faces: &[FaceId]) -> Result<f64, FaceId> {
    let reference = Reference::of(brep);
    let mut sum = Moments::default();
    for &f in faces {
        let face = &brep.faces[f as usize];
        let m = face_moments(brep, face, &reference);
        let area = signed_area(face, &m);
        if area.is_nan() || area <= 0.0 {
            return Err(f);
        }
        sum.add(&m, 1.0);
    }
    Ok(sum.volume())
}

/// A point amid the vertices, to keep the integrals free of cancellation, and
/// the reach of the vertices about it as a scale for errors.
struct Reference {
    at: Vec3,
    reach: f64,
}

impl Reference {
    fn of(brep: &Brep) -> Reference {
        let (mut low, mut high) = (Vec3::repeat(f64::INFINITY), Vec3::repeat(f64::NEG_INFINITY));
        for v in &brep.vertices {
            low = low.inf(v);
            high = high.sup(v);
        }
        Reference { at: (low + high) * 0.5, reach: (high - low).norm() * 0.5 }
    }
}

/// Over a face, with `h = p . n` for the natural normal: the integrals of `1`,
/// `h`, `h x`, `h y`, `h z`, `h x^2`, `h y^2`, `h z^2`, `h x y`, `h x z` and
/// `h y z`.
#[derive(Clone, Copy, Default)]
struct Moments([f64; 11]);

/// Degree of the length in each entry of [`Moments`].
const DEGREES: [i32; 11] = [2, 3, 4, 4, 4, 5, 5, 5, 5, 5, 5];

impl Moments {
    fn add(&mut self, other: &Moments, factor: f64) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a += factor * b;
        }
    }

    fn volume(&self) -> f64 {
        self.0[1] / 3.0
    }

    fn close_to(&self, other: &Moments, reach: f64) -> bool {
        DEGREES.iter().enumerate().all(|(i, &degree)| {
            (self.0[i] - other.0[i]).abs() <= QUADRATURE_TOLERANCE * reach.powi(degree)
        })
    }
}

fn signed_area(face: &Face, m: &Moments) -> f64 {
    if face.flipped { -m.0[0] } else { m.0[0] }
}

/// A surface as seen from the reference point, with its ruled coordinates.
enum Chart {
    Plane { o: Vec3, x: Vec3, y: Vec3, h: f64 },
    Round { o: Vec3, axis: Vec3, radius: f64, slope: f64, stretch: f64 },
}

impl Chart {
    /// `v` is measured from the point `near`, again against cancellation.
    fn new(surface: &Surface, reference: Vec3, near: Vec3) -> Chart {
        match *surface {
            Surface::Plane { origin, normal, x } => {
                let o = near - normal * (near - origin).dot(&normal) - reference;
                Chart::Plane { o, x, y: normal.cross(&x), h: (origin - reference).dot(&normal) }
            }
            Surface::Cylinder { origin, axis, radius, .. } => {
                let o = origin + axis * (near - origin).dot(&axis) - reference;
                Chart::Round { o, axis, radius, slope: 0.0, stretch: 1.0 }
            }
            Surface::Cone { origin, axis, radius, slope, .. } => {
                let v = (near - origin).dot(&axis);
                let o = origin + axis * v - reference;
                let stretch = (1.0 + slope * slope).sqrt();
                Chart::Round { o, axis, radius: radius + slope * v, slope, stretch }
            }
        }
    }

    /// What an element of a loop adds to the face's moments, per unit of the
    /// edge's parameter. `p` is relative to the reference point.
    fn element(&self, p: Vec3, dp: Vec3) -> Moments {
        // A ruling is `base + v along`; `ramp[k]` is the integral from 0 to v
        // of `v^k` times the surface's area element.
        let (du, base, along, h, ramp, stretch) = match *self {
            Chart::Plane { o, x, y, h } => {
                let d = p - o;
                let v = d.dot(&y);
                let ramp = [v, v * v / 2.0, v * v * v / 3.0];
                (dp.dot(&x), o + x * d.dot(&x), y, h, ramp, 1.0)
            }
            Chart::Round { o, axis, radius, slope, stretch } => {
                let d = p - o;
                let v = d.dot(&axis);
                let across = d - axis * v;
                let square = across.norm_squared();
                let e = across / square.sqrt();
                let ramp = [
                    v * (radius + slope * v / 2.0),
                    v * v * (radius / 2.0 + slope * v / 3.0),
                    v * v * v * (radius / 3.0 + slope * v / 4.0),
                ];
                let h = o.dot(&e) + radius - slope * o.dot(&axis);
                let du = axis.cross(&across).dot(&dp) / square;
                (du, o + e * radius, e * slope + axis, h, ramp, stretch)
            }
        };
        let first = base * ramp[0] + along * ramp[1];
        let pair = |i: usize, j: usize| {
            base[i] * base[j] * ramp[0]
                + (base[i] * along[j] + along[i] * base[j]) * ramp[1]
                + along[i] * along[j] * ramp[2]
        };
        let w = -du * h;
        Moments([
            -du * stretch * ramp[0],
            w * ramp[0],
            w * first.x,
            w * first.y,
            w * first.z,
            w * pair(0, 0),
            w * pair(1, 1),
            w * pair(2, 2),
            w * pair(0, 1),
            w * pair(0, 2),
            w * pair(1, 2),
        ])
    }
}

/// Signed by the sense of the loops about the natural normal, which is what
/// the divergence theorem wants: a flipped face runs the other way round.
fn face_moments(brep: &Brep, face: &Face, reference: &Reference) -> Moments {
    let mut sum = Moments::default();
    let Some(&first) = face.loops.first().and_then(|l| l.first()) else { return sum };
    let near = brep.vertices[brep.use_from(first) as usize];
    let chart = Chart::new(&face.surface, reference.at, near);
    for &u in face.loops.iter().flatten() {
        let edge = &brep.edges[u.edge as usize];
        let sense = if u.forward { 1.0 } else { -1.0 };
        sum.add(&edge_moments(&chart, &edge.curve, reference), sense);
    }
    sum
}

fn edge_moments(chart: &Chart, curve: &Curve, reference: &Reference) -> Moments {
    let (from, to) = curve.range();
    let mut sum = Moments::default();
    let element = |t: f64| chart.element(curve.point(t) - reference.at, curve.derivative(t));
    match curve {
        // A line on a cylinder or cone is a ruling, whose angle does not change,
        // or the corner of a slight taper, within the noise of which it is both.
        Curve::Line { .. } if matches!(chart, Chart::Round { .. }) => {
            gauss(&GAUSS_12, from, to, &element, &mut sum);
        }
        Curve::Line { .. } => gauss(&GAUSS_2, from, to, &element, &mut sum),
        Curve::Circle { centre, x, y, radius, .. } => {
            let centre = centre - reference.at;
            let pieces = ((to - from) / FRAC_PI_2).ceil().clamp(1.0, 4.0);
            let half = 0.5 * (to - from) / pieces;
            // The nodes lie alike about the middle of each piece, so their
            // sines and cosines serve all pieces.
            let offsets = GAUSS_12.map(|(node, weight)| ((half * node).sin_cos(), weight * half));
            for i in 0..pieces as usize {
                let (sin, cos) = (from + half * (2 * i + 1) as f64).sin_cos();
                let out = (x * cos + y * sin) * *radius;
                let along = (y * cos - x * sin) * *radius;
                for ((s, c), weight) in offsets {
                    for s in [-s, s] {
                        let m = chart.element(centre + out * c + along * s, along * c - out * s);
                        sum.add(&m, weight);
                    }
                }
            }
        }
        Curve::Ellipse { .. } | Curve::Traced { .. } => {
            let middle = 0.5 * (from + to);
            for (a, b) in [(from, middle), (middle, to)] {
                let mut whole = Moments::default();
                gauss(&GAUSS_12, a, b, &element, &mut whole);
                adaptive(a, b, &whole, reference.reach, MAX_BISECTIONS, &element, &mut sum);
            }
        }
    }
    sum
}

/// Two estimates of an integral along an edge, one of twice the points, may
/// differ by this times the matching power of the solid's half diagonal; the
/// better one is kept. Halving a piece lowers the error of a 12-point rule on
/// a smooth integrand by 2^24, so what is kept is exact to rounding.
const QUADRATURE_TOLERANCE: f64 = 1e-11;

/// Bisections of an edge until the tolerance is given up.
const MAX_BISECTIONS: u32 = 12;

fn adaptive(
    a: f64,
    b: f64,
    whole: &Moments,
    reach: f64,
    left: u32,
    element: &impl Fn(f64) -> Moments,
    sum: &mut Moments,
) {
    let middle = 0.5 * (a + b);
    let mut halves = [Moments::default(); 2];
    gauss(&GAUSS_12, a, middle, element, &mut halves[0]);
    gauss(&GAUSS_12, middle, b, element, &mut halves[1]);
    let mut both = halves[0];
    both.add(&halves[1], 1.0);
    if left == 0 || whole.close_to(&both, reach) {
        sum.add(&both, 1.0);
    } else {
        adaptive(a, middle, &halves[0], reach, left - 1, element, sum);
        adaptive(middle, b, &halves[1], reach, left - 1, element, sum);
    }
}

/// Positive nodes and weights of the 2-point Gauss-Legendre rule: exact for
/// the cubic integrands along a line in a plane.
const GAUSS_2: [(f64, f64); 1] = [(0.577_350_269_189_625_8, 1.0)];

/// Positive nodes and weights of the 12-point Gauss-Legendre rule, from Newton
/// steps on the Legendre polynomial in 40 digits. Along a quarter turn of a
/// circle the integrands are trigonometric polynomials of degree 4 at most,
/// and the rule's error term is below 1e-18 of their size.
const GAUSS_12: [(f64, f64); 6] = [
    (0.125_233_408_511_468_9, 0.249_147_045_813_402_77),
    (0.367_831_498_998_180_2, 0.233_492_536_538_354_8),
    (0.587_317_954_286_617_5, 0.203_167_426_723_065_92),
    (0.769_902_674_194_304_7, 0.160_078_328_543_346_22),
    (0.904_117_256_370_474_9, 0.106_939_325_995_318_43),
    (0.981_560_634_246_719_2, 0.047_175_336_386_511_83),
];

fn gauss(
    rule: &[(f64, f64)],
    a: f64,
    b: f64,
    element: &impl Fn(f64) -> Moments,
    sum: &mut Moments,
) {
    let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
    for &(node, weight) in rule {
        sum.add(&element(middle - half * node), weight * half);
        sum.add(&element(middle + half * node), weight * half);
    }
}

/// Includes the extremes of each coordinate of `centre + cos t x + sin t y` for
/// `t` in `[from, to]`.
fn conic_extremes(
    centre: Vec3,
    x: Vec3,
    y: Vec3,
    from: f64,
    to: f64,
    include: &mut impl FnMut(usize, f64),
) {
    for i in 0..3 {
        let top = y[i].atan2(x[i]);
        for (t, sign) in [(top, 1.0), (top + PI, -1.0)] {
            if from + (t - from).rem_euclid(TAU) < to {
                include(i, centre[i] + sign * x[i].hypot(y[i]));
            }
        }
    }
}

/// Samples along a trace between which at most one turning point of a
/// coordinate is expected. Common practice, no source.
const TRACE_SAMPLES: usize = 64;

/// Bisections that narrow a turning point to the last bit.
const TURNING_BISECTIONS: usize = 54;

fn trace_extremes(trace: &dyn Trace, from: f64, to: f64, include: &mut impl FnMut(usize, f64)) {
    let at = |k: usize| from + (to - from) * k as f64 / TRACE_SAMPLES as f64;
    let mut before = trace.derivative(from);
    for k in 1..=TRACE_SAMPLES {
        let after = trace.derivative(at(k));
        let p = trace.point(at(k));
        for i in 0..3 {
            include(i, p[i]);
            if (before[i] > 0.0) == (after[i] > 0.0) {
                continue;
            }
            let (mut a, mut b) = (at(k - 1), at(k));
            for _ in 0..TURNING_BISECTIONS {
                let middle = 0.5 * (a + b);
                if (trace.derivative(middle)[i] > 0.0) == (before[i] > 0.0) {
                    a = middle;
                } else {
                    b = middle;
                }
            }
            include(i, trace.point(a)[i]);
        }
        before = after;
    }
}
