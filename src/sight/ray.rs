//! One ray, and one ray against one triangle.

use crate::measure::Vec3;

/// A ray; `along` is a unit vector.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ray {
    /// Where it starts, mm.
    pub from: Vec3,
    /// Where it goes.
    pub along: Vec3,
}

impl Ray {
    /// The point `reach` mm along it.
    pub fn at(&self, reach: f64) -> Vec3 {
        self.from + self.along * reach
    }
}

/// Where a ray meets a triangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// The triangle's number in the soup.
    pub triangle: u32,
    /// Distance along the ray, mm.
    pub reach: f64,
}

/// A ray made ready for many triangles.
///
/// S. Woop, C. Benthin and I. Wald, "Watertight ray/triangle intersection",
/// Journal of Computer Graphics Techniques 2 (2013) 65-82: in a frame sheared so
/// that the ray runs along one axis, the area on either side of an edge has the
/// same value with the opposite sign in the two triangles that share it. A ray
/// through the edge so meets one of them at least, whatever the rounding.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sheared {
    /// Axes of the frame; the last is the ray's largest component.
    axes: [usize; 3],
    shear: [f64; 3],
    from: [f64; 3],
    /// 1 over each component.
    inverse: [f64; 3],
    /// Where that is no number to count with.
    level: [bool; 3],
    /// Where the ray goes down.
    back: [bool; 3],
}

impl Sheared {
    pub fn new(ray: &Ray) -> Sheared {
        let d: [f64; 3] = ray.along.into();
        let z = ray.along.iamax();
        let (mut x, mut y) = ((z + 1) % 3, (z + 2) % 3);
        if d[z] < 0.0 {
            std::mem::swap(&mut x, &mut y);
        }
        Sheared {
            axes: [x, y, z],
            shear: [d[x] / d[z], d[y] / d[z], 1.0 / d[z]],
            from: ray.from.into(),
            inverse: d.map(|c| 1.0 / c),
            level: d.map(|c| !c.is_normal()),
            back: d.map(|c| c < 0.0),
        }
    }

    /// Distance to the triangle along the ray, negative behind its start.
    pub fn reach(&self, corners: &[[f64; 3]; 3]) -> Option<f64> {
        let [x, y, z] = self.axes;
        let [sx, sy, sz] = self.shear;
        let flat = |p: &[f64; 3]| {
            let depth = p[z] - self.from[z];
            [p[x] - self.from[x] - sx * depth, p[y] - self.from[y] - sy * depth, sz * depth]
        };
        let (a, b, c) = (flat(&corners[0]), flat(&corners[1]), flat(&corners[2]));
        let u = c[0] * b[1] - c[1] * b[0];
        let v = a[0] * c[1] - a[1] * c[0];
        let w = b[0] * a[1] - b[1] * a[0];
        if (u < 0.0 || v < 0.0 || w < 0.0) && (u > 0.0 || v > 0.0 || w > 0.0) {
            return None;
        }
        let sum = u + v + w;
        (sum != 0.0).then(|| (u * a[2] + v * b[2] + w * c[2]) / sum)
    }

    /// Distances at which the ray enters and leaves a box; the first is larger
    /// where it misses. T. Ize, "Robust BVH ray traversal", Journal of Computer
    /// Graphics Techniques 2 (2013) 12-27: the way out is moved on by its
    /// rounding, so that no box is missed that holds a hit.
    #[inline]
    pub fn span(&self, [low, high]: &[[f64; 3]; 2]) -> (f64, f64) {
        /// Two units more than three roundings.
        const ROUNDING: f64 = 1.0 + 8.0 * f64::EPSILON;
        let (mut enter, mut leave) = (f64::NEG_INFINITY, f64::INFINITY);
        for i in 0..3 {
            if self.level[i] {
                // Level with the slab all the way, its faces included.
                if self.from[i] < low[i] || self.from[i] > high[i] {
                    return (f64::INFINITY, f64::NEG_INFINITY);
                }
                continue;
            }
            let (first, last) = if self.back[i] { (high, low) } else { (low, high) };
            let a = (first[i] - self.from[i]) * self.inverse[i];
            let b = (last[i] - self.from[i]) * self.inverse[i];
            enter = if a > enter { a } else { enter };
            leave = if b < leave { b } else { leave };
        }
        (enter, leave * ROUNDING)
    }
}
