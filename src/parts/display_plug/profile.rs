//! Outlines of a turned part as straight pieces, and the stack of them.

use std::f64::consts::FRAC_PI_2;

use super::super::Refusal;
use super::spec::Spec;
use crate::measure::Vec2;
use crate::section::{Region, snap};
use crate::solid::{RuledSection, Stack};

/// Heights and radii of a turned outline, mm, in rising order; a step is two
/// radii at one height.
#[derive(Clone, Debug, Default)]
pub(super) struct Profile {
    points: Vec<(f64, f64)>,
}

impl Profile {
    /// Adds a corner, on the grid.
    pub(super) fn to(&mut self, z: f64, radius: f64) -> &mut Profile {
        self.points.push((snap(z), snap(radius)));
        self
    }

    /// A groove with sides of 45 degrees into a straight stretch.
    pub(super) fn groove(&mut self, low: f64, width: f64, depth: f64, radius: f64) -> &mut Profile {
        self.to(low, radius)
            .to(low + depth, radius - depth)
            .to(low + width - depth, radius - depth)
            .to(low + width, radius)
    }

    /// The corners.
    pub(super) fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Radii at the two ends of a stretch without a corner inside, mm; none
    /// where there is no outline.
    fn between(&self, low: f64, high: f64) -> Option<(f64, f64)> {
        let middle = 0.5 * (low + high);
        let piece = self.points.windows(2).find(|p| p[0].0 < middle && middle < p[1].0)?;
        let [(a, r), (b, s)] = [piece[0], piece[1]];
        // Exact at its own ends, so that neighbours meet.
        let at = |z: f64| {
            if z == a {
                r
            } else if z == b {
                s
            } else {
                r + (s - r) * (z - a) / (b - a)
            }
        };
        Some((at(low), at(high)))
    }
}

/// A dome: corners of the tapers that stand for a quarter of an ellipse.
#[derive(Clone, Debug)]
pub(super) struct Dome {
    /// Heights above its base and radii, mm, from the base to its flat top.
    pub corners: Vec<(f64, f64)>,
}

impl Dome {
    /// A dome of a base `radius` and a `height`, mm, that lies no more than
    /// `error` mm inside the ellipse. Equal steps of its angle leave at most
    /// `max(radius, height) (1 - cos(step / 2))`; the flat on top begins where
    /// the ellipse is `error` below its pole.
    pub(super) fn new(radius: f64, height: f64, error: f64) -> Dome {
        let last = (1.0 - error / height).clamp(0.0, 1.0).asin();
        let step = 2.0 * (1.0 - error / radius.max(height)).clamp(-1.0, 1.0).acos();
        let tapers = (last / step).ceil().max(1.0);
        let corner = |i: u32| {
            let (sin, cos) = (last * f64::from(i) / tapers).min(FRAC_PI_2).sin_cos();
            (height * sin, radius * cos)
        };
        // No more than some hundred for the ranges of the table.
        Dome { corners: (0..=tapers as u32).map(corner).collect() }
    }

    /// How many tapers it is made of.
    pub(super) fn tapers(&self) -> usize {
        self.corners.len() - 1
    }
}

impl Spec {
    /// Heights at which anything changes, rising.
    fn levels(&self) -> Vec<f64> {
        let outlines = self.outer.points().iter().chain(self.inner.points());
        let mut levels: Vec<f64> = outlines.map(|(z, _)| *z).chain(self.cut_levels()).collect();
        levels.retain(|z| (self.low..=self.top).contains(z));
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        levels
    }

    /// The plug as slabs.
    ///
    /// # Errors
    /// Two neighbouring sections that no straight walls join.
    pub(super) fn stack(&self) -> Result<Stack, Refusal> {
        let mut stack = Stack::default();
        for z in self.levels().windows(2) {
            let (low, high) = (z[0], z[1]);
            let Some(outer) = self.outer.between(low, high) else { continue };
            let inner = self.inner.between(low, high).unwrap_or_default();
            let cuts = self.cuts_at(0.5 * (low + high));
            let section = |outer: f64, inner: f64| {
                let disc = |radius: f64| Region::disc(Vec2::zeros(), radius);
                disc(outer).difference(&disc(inner)).difference(&cuts)
            };
            if outer.0 == outer.1 && inner.0 == inner.1 {
                stack.prism(low, high, &section(outer.0, inner.0));
                continue;
            }
            let ruled =
                RuledSection::between(&section(outer.0, inner.0), &section(outer.1, inner.1));
            let ruled = ruled.map_err(|e| {
                Refusal::new(format!("the plug cannot be made between z {low:.2} and {high:.2}: {e}"))
                    .hint("two of its measures nearly coincide there: change one by a tenth of a millimetre")
            })?;
            stack.ruled(low, high, ruled);
        }
        Ok(stack)
    }
}
