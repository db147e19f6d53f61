//! Face surfaces: planes, cylinders and cones.

use crate::measure::Vec3;

/// The unbounded surface under a face. The natural normal of a plane is
/// `normal`; that of a cylinder or cone points away from the axis.
#[derive(Clone, Copy, Debug)]
pub enum Surface {
    /// All points `p` with `(p - origin) . normal = 0`.
    Plane {
        /// A point of the plane.
        origin: Vec3,
        /// Unit normal.
        normal: Vec3,
        /// Unit direction in the plane, for local coordinates.
        x: Vec3,
    },
    /// A right circular cylinder.
    Cylinder {
        /// A point of the axis.
        origin: Vec3,
        /// Unit direction of the axis.
        axis: Vec3,
        /// Unit direction of angle 0, perpendicular to the axis.
        x: Vec3,
        /// Radius, mm.
        radius: f64,
    },
    /// A right circular cone: radius `radius + slope v` at height `v` along
    /// the axis; only the part with positive radius is meant.
    Cone {
        /// The point of the axis at `v = 0`.
        origin: Vec3,
        /// Unit direction of the axis.
        axis: Vec3,
        /// Unit direction of angle 0, perpendicular to the axis.
        x: Vec3,
        /// Radius at the origin, mm.
        radius: f64,
        /// Growth of the radius per mm along the axis (tangent of the half
        /// angle), not zero.
        slope: f64,
    },
}

impl Surface {
    /// Local coordinates `(u, v)` of a point on the surface: mm along `x` and
    /// `normal cross x` for a plane; angle in `(-pi, pi]` and mm along the axis
    /// for a cylinder or cone.
    pub fn local(&self, p: Vec3) -> (f64, f64) {
        match *self {
            Surface::Plane { origin, normal, x } => {
                let d = p - origin;
                (d.dot(&x), d.dot(&normal.cross(&x)))
            }
            Surface::Cylinder { origin, axis, x, .. } | Surface::Cone { origin, axis, x, .. } => {
                let d = p - origin;
                let y = axis.cross(&x);
                (d.dot(&y).atan2(d.dot(&x)), d.dot(&axis))
            }
        }
    }

    /// The natural unit normal at a point of the surface.
    pub fn normal(&self, p: Vec3) -> Vec3 {
        match *self {
            Surface::Plane { normal, .. } => normal,
            Surface::Cylinder { origin, axis, .. } => radial(p - origin, axis),
            Surface::Cone { origin, axis, slope, .. } => {
                (radial(p - origin, axis) - axis * slope).normalize()
            }
        }
    }

    /// Signed distance of a point from the surface, positive on the side of
    /// the natural normal, mm.
    pub fn distance(&self, p: Vec3) -> f64 {
        match *self {
            Surface::Plane { origin, normal, .. } => (p - origin).dot(&normal),
            Surface::Cylinder { origin, axis, radius, .. } => {
                let d = p - origin;
                (d - axis * d.dot(&axis)).norm() - radius
            }
            Surface::Cone { origin, axis, radius, slope, .. } => {
                let d = p - origin;
                let v = d.dot(&axis);
                ((d - axis * v).norm() - radius - slope * v) / (1.0 + slope * slope).sqrt()
            }
        }
    }
}

fn radial(d: Vec3, axis: Vec3) -> Vec3 {
    (d - axis * d.dot(&axis)).normalize()
}
