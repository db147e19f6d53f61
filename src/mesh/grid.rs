//! Angle grids: which arcs and round walls share one division of the turn.

use std::f64::consts::{FRAC_PI_2, TAU};

use super::ChordTolerance;
use crate::measure::Vec3;
use crate::solid::{Brep, Curve, EdgeId, FaceId, Surface};

/// Components of an axis direction smaller than this do not decide its sign
/// (float noise of a rotated frame).
const AXIS_EPSILON: f64 = 1e-9;

/// Axes that turn away from each other by less than this sine, or lie apart by
/// less than this many mm, count as one (float noise).
const COAXIAL_EPSILON: f64 = 1e-9;

/// How near to a grid line a corner counts as lying on it, as a share of the
/// chord: far below the chord, far above 32-bit rounding at 100 mm.
const SNAP_SHARE: f64 = 0.05;

/// How near to its grid line a sample put there is, in steps (float noise).
const LINE_EPSILON: f64 = 1e-8;

/// A division of the turn about one axis into `count` equal angles. Angles are
/// measured in steps ("q"), from a direction that depends on the axis alone,
/// so that all walls on one axis have their grid lines in one place.
#[derive(Clone, Debug)]
pub(super) struct AngleGrid {
    origin: Vec3,
    axis: Vec3,
    x: Vec3,
    y: Vec3,
    /// Number of steps a turn, a multiple of 4.
    pub(super) count: u32,
    /// Radians a step.
    pub(super) step: f64,
    /// Distance in q within which a corner counts as on a grid line.
    pub(super) snap: f64,
    /// Largest radius on this grid, mm.
    pub(super) radius: f64,
    cos_sin: Vec<(f64, f64)>,
}

impl AngleGrid {
    /// Angle of `p` in steps, in `(-count/2, count/2]`.
    pub(super) fn q(&self, p: Vec3) -> f64 {
        let d = p - self.origin;
        d.dot(&self.y).atan2(d.dot(&self.x)) / self.step
    }

    /// Height of `p` along the axis, mm.
    pub(super) fn height(&self, p: Vec3) -> f64 {
        (p - self.origin).dot(&self.axis)
    }

    /// The angle of `p` that is nearest to `near`, in steps.
    pub(super) fn q_near(&self, p: Vec3, near: f64) -> f64 {
        let q = self.q(p);
        let turn = f64::from(self.count);
        q + turn * ((near - q) / turn).round()
    }

    /// `q`, or the grid line that it lies on: within the snap for a corner of
    /// the solid, within float noise for a sample, which was put there.
    pub(super) fn settle(&self, q: f64, is_corner: bool) -> f64 {
        let line = q.round();
        let reach = if is_corner { self.snap } else { LINE_EPSILON };
        if (q - line).abs() <= reach { line } else { q }
    }

    /// Whether an angle settles on `line`.
    pub(super) fn is_on(&self, q: f64, line: f64, is_corner: bool) -> bool {
        self.settle(q, is_corner) == line
    }

    /// Unit direction of grid line `line`, perpendicular to the axis.
    pub(super) fn direction(&self, line: i64) -> Vec3 {
        let (cos, sin) = self.cos_sin[line.rem_euclid(i64::from(self.count)) as usize];
        self.x * cos + self.y * sin
    }

    /// Whether a rotation by the right-hand rule about `normal` increases q.
    pub(super) fn turns_with(&self, normal: Vec3) -> bool {
        self.axis.dot(&normal) > 0.0
    }
}

/// The grids of a solid, by face and by edge.
pub(super) struct Grids {
    grids: Vec<AngleGrid>,
    /// Per face, then per edge: its grid.
    of: Vec<Option<u32>>,
    faces: usize,
}

impl Grids {
    /// The grid of a cylinder or cone face.
    pub(super) fn face(&self, f: FaceId) -> Option<&AngleGrid> {
        self.of[f as usize].map(|g| &self.grids[g as usize])
    }

    /// The grid of a circular edge.
    pub(super) fn edge(&self, e: EdgeId) -> Option<&AngleGrid> {
        self.of[self.faces + e as usize].map(|g| &self.grids[g as usize])
    }
}

/// Which faces and edges share a grid: found once, used for each attempt.
pub(super) struct Sharing {
    /// Members: faces, then edges; each group by its index or none.
    of: Vec<Option<u32>>,
    groups: Vec<Group>,
    faces: usize,
}

struct Group {
    origin: Vec3,
    axis: Vec3,
    radius: f64,
    halvings: u32,
}

impl Sharing {
    /// Joins circles, cylinders and cones that share an edge and an axis.
    pub(super) fn new(brep: &Brep, sides: &[[FaceId; 2]]) -> Sharing {
        let faces = brep.faces.len();
        let axes: Vec<Option<(Vec3, Vec3)>> = (brep.faces.iter().map(|f| surface_axis(&f.surface)))
            .chain(brep.edges.iter().map(|e| curve_axis(&e.curve)))
            .collect();
        let mut parent: Vec<usize> = (0..axes.len()).collect();
        let mut join = |a: usize, b: usize| {
            if let (Some(p), Some(q)) = (axes[a], axes[b])
                && coaxial(p, q)
            {
                let (a, b) = (root(&mut parent, a), root(&mut parent, b));
                parent[a.max(b)] = a.min(b);
            }
        };
        for (e, &[f, g]) in sides.iter().enumerate() {
            join(faces + e, f as usize);
            join(faces + e, g as usize);
            join(f as usize, g as usize);
        }
        let mut groups: Vec<Group> = Vec::new();
        let mut of = vec![None; axes.len()];
        for i in 0..axes.len() {
            let Some((origin, axis)) = axes[i] else { continue };
            let r = root(&mut parent, i);
            if r == i {
                of[i] = Some(groups.len() as u32);
                groups.push(Group { origin, axis, radius: 0.0, halvings: 0 });
            } else {
                of[i] = of[r];
            }
        }
        let mut sharing = Sharing { of, groups, faces };
        sharing.measure(brep);
        sharing
    }

    /// The largest radius of each group: of its circles, its cylinders, and
    /// the corners of its cones.
    fn measure(&mut self, brep: &Brep) {
        for (i, g) in self.of.iter().enumerate() {
            let Some(g) = *g else { continue };
            let group = &mut self.groups[g as usize];
            let radius = if i < self.faces {
                match brep.faces[i].surface {
                    Surface::Cylinder { radius, .. } => radius,
                    Surface::Cone { origin, axis, .. } => brep.faces[i]
                        .loops
                        .iter()
                        .flatten()
                        .map(|u| {
                            let d = brep.vertices[brep.use_from(*u) as usize] - origin;
                            (d - axis * d.dot(&axis)).norm()
                        })
                        .fold(0.0, f64::max),
                    Surface::Plane { .. } => 0.0,
                }
            } else {
                match brep.edges[i - self.faces].curve {
                    Curve::Circle { radius, .. } => radius,
                    _ => 0.0,
                }
            };
            group.radius = group.radius.max(radius);
        }
    }

    /// The group of a round face.
    pub(super) fn face_group(&self, f: FaceId) -> Option<u32> {
        self.of[f as usize]
    }

    /// The group of a circular edge.
    pub(super) fn edge_group(&self, e: EdgeId) -> Option<u32> {
        self.of[self.faces + e as usize]
    }

    /// Halves the chord of a group.
    pub(super) fn refine(&mut self, group: u32) {
        self.groups[group as usize].halvings += 1;
    }

    /// The grids for a tolerance, halvings included.
    pub(super) fn grids(&self, tolerance: &ChordTolerance) -> Grids {
        let grids = self.groups.iter().map(|g| g.grid(tolerance)).collect();
        Grids { grids, of: self.of.clone(), faces: self.faces }
    }
}

impl Group {
    fn grid(&self, tolerance: &ChordTolerance) -> AngleGrid {
        let chord = tolerance.chord / f64::from(1u32 << self.halvings);
        let count = steps_a_turn(self.radius, chord, tolerance.max_angle);
        let step = TAU / f64::from(count);
        let axis = canonical(self.axis);
        // Zero points to +x for axes along the handle, to +z for cross bores.
        let towards = if axis.z.abs() > 0.9 { Vec3::x() } else { Vec3::z() };
        let x = (towards - axis * towards.dot(&axis)).normalize();
        AngleGrid {
            origin: self.origin,
            axis,
            x,
            y: axis.cross(&x),
            count,
            step,
            snap: (SNAP_SHARE * chord / (self.radius * step)).min(0.25),
            radius: self.radius,
            cos_sin: turn_table(count),
        }
    }
}

/// Steps a turn, a multiple of 4, such that the sagitta
/// `radius (1 - cos(step / 2))` is at most `chord` and the step at most
/// `max_angle`.
fn steps_a_turn(radius: f64, chord: f64, max_angle: f64) -> u32 {
    let half_step = if chord < radius { (1.0 - chord / radius).acos() } else { FRAC_PI_2 };
    let step = (2.0 * half_step).min(max_angle);
    // A hair's less, lest 24.000000000001 become 28.
    let quarter = (FRAC_PI_2 / step - AXIS_EPSILON).ceil().max(1.0);
    4 * quarter as u32
}

/// Cosine and sine of each grid angle; the quarters repeat the first exactly.
fn turn_table(count: u32) -> Vec<(f64, f64)> {
    let quarter = count / 4;
    let first: Vec<(f64, f64)> = (0..quarter)
        .map(|k| {
            let (sin, cos) = (TAU * f64::from(k) / f64::from(count)).sin_cos();
            (cos, sin)
        })
        .collect();
    let mut table = Vec::with_capacity(count as usize);
    for turn in 0..4 {
        table.extend(first.iter().map(|&(c, s)| match turn {
            0 => (c, s),
            1 => (-s, c),
            2 => (-c, -s),
            _ => (s, -c),
        }));
    }
    table
}

fn surface_axis(surface: &Surface) -> Option<(Vec3, Vec3)> {
    match *surface {
        Surface::Plane { .. } => None,
        Surface::Cylinder { origin, axis, .. } | Surface::Cone { origin, axis, .. } => {
            Some((origin, axis))
        }
    }
}

fn curve_axis(curve: &Curve) -> Option<(Vec3, Vec3)> {
    match curve {
        Curve::Circle { centre, x, y, .. } => Some((*centre, x.cross(y))),
        _ => None,
    }
}

fn coaxial((p, a): (Vec3, Vec3), (q, b): (Vec3, Vec3)) -> bool {
    a.cross(&b).norm() < COAXIAL_EPSILON && (q - p).cross(&a).norm() < COAXIAL_EPSILON
}

/// `axis` or its opposite: the one whose last component that is not noise is
/// positive.
fn canonical(axis: Vec3) -> Vec3 {
    let leading = [axis.z, axis.y, axis.x].into_iter().find(|c| c.abs() > AXIS_EPSILON);
    if leading.is_some_and(|c| c < 0.0) { -axis } else { axis }
}

fn root(parent: &mut [usize], mut i: usize) -> usize {
    while parent[i] != i {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    i
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_keep_the_sagitta_and_the_angle() {
        let max = 15f64.to_radians();
        assert_eq!(steps_a_turn(0.5, 0.01, max), 24);
        for radius in [0.2, 1.0, 6.3, 12.6, 80.0] {
            for chord in [0.1, 0.01, 1e-3, 1e-5] {
                let n = steps_a_turn(radius, chord, max);
                let sagitta = |n: u32| radius * (1.0 - (TAU / f64::from(2 * n)).cos());
                assert!(n.is_multiple_of(4) && n >= 24);
                assert!(sagitta(n) <= chord * (1.0 + 1e-6));
                assert!(n == 24 || sagitta(n - 4) > chord);
            }
        }
    }

    #[test]
    fn quarters_of_the_table_are_exact() {
        for n in [4, 24, 64, 100] {
            let table = turn_table(n);
            assert_eq!(table.len(), n as usize);
            let q = n as usize / 4;
            let quarters = [table[0], table[q], table[2 * q], table[3 * q]];
            assert_eq!(quarters, [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]);
            assert!(table.iter().all(|(c, s)| (c * c + s * s - 1.0).abs() < 1e-15));
        }
    }

    #[test]
    fn opposite_axes_are_one() {
        assert_eq!(canonical(-Vec3::z()), Vec3::z());
        assert_eq!(canonical(Vec3::new(0.0, -1.0, 1e-17)), Vec3::new(0.0, 1.0, -1e-17));
        assert!(coaxial((Vec3::zeros(), Vec3::z()), (Vec3::z() * 7.0, -Vec3::z())));
        assert!(!coaxial((Vec3::zeros(), Vec3::z()), (Vec3::x(), Vec3::z())));
    }
}
