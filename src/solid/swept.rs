//! A section that changes along z, resolved into slabs.

use super::{RuledSection, Stack};
use crate::section::{Region, snap};

/// What a step that stands for a changing section keeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StepKeeps {
    /// Only material that is there all the way: cavities keep their clearance.
    LessMaterial,
    /// All material that is there anywhere: outsides keep their size.
    MoreMaterial,
}

/// How a changing section is resolved.
#[derive(Clone, Copy, Debug)]
pub struct Sweep {
    /// Where rulings do not fit, steps are no higher than this, mm: the
    /// printer's layer or less.
    pub step: f64,
    /// What a step keeps.
    pub keeps: StepKeeps,
}

/// Two sections are one when no point of their boundaries is further apart
/// than this, on average, mm: ten times the noise of a computed vertex.
const SAME: f64 = 1e-7;

impl Stack {
    /// Adds slabs for a section that is a function of z, between the first and
    /// the last of `breakpoints` (mm, growing): straight walls where it does
    /// not change, rulings (planes, cones) where both ends of a stretch have
    /// the same structure and the middle agrees, and otherwise halves of the
    /// stretch down to steps of [`Sweep::step`].
    pub fn swept(
        &mut self,
        breakpoints: &[f64],
        sweep: &Sweep,
        section: &impl Fn(f64) -> Region,
    ) -> &mut Stack {
        for pair in breakpoints.windows(2) {
            let (low, high) = (pair[0], pair[1]);
            if high > low {
                self.stretch(low, high, &section(low), &section(high), sweep, section);
            }
        }
        self
    }

    fn stretch(
        &mut self,
        low: f64,
        high: f64,
        bottom: &Region,
        top: &Region,
        sweep: &Sweep,
        section: &impl Fn(f64) -> Region,
    ) {
        let middle = snap(0.5 * (low + high));
        let within = low < middle && middle < high;
        let half = if within { section(middle) } else { bottom.clone() };
        if bottom == top && half == *bottom {
            self.prism(low, high, bottom);
            return;
        }
        if let Ok(ruled) = RuledSection::between(bottom, top)
            && (!within || agrees(&ruled, (middle - low) / (high - low), &half))
        {
            self.ruled(low, high, ruled);
            return;
        }
        if !within || high - low <= sweep.step {
            let kept = match sweep.keeps {
                StepKeeps::LessMaterial => bottom.intersection(top),
                StepKeeps::MoreMaterial => bottom.union(top),
            };
            self.prism(low, high, &kept);
            return;
        }
        self.stretch(low, middle, bottom, &half, sweep, section);
        self.stretch(middle, high, &half, top, sweep, section);
    }
}

fn agrees(ruled: &RuledSection, t: f64, section: &Region) -> bool {
    let Ok(at) = Region::from_outlines(&ruled.at(t)) else { return false };
    at.xor(section).area() <= SAME * section.perimeter().max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Vec2;

    const SWEEP: Sweep = Sweep { step: 0.1, keeps: StepKeeps::LessMaterial };

    #[test]
    fn a_tapered_slot_becomes_planes() {
        let block = Region::rectangle(Vec2::new(-10.0, -5.0), Vec2::new(10.0, 5.0));
        let section = |z: f64| {
            let w = 2.0 + 0.1 * z;
            block.difference(&Region::polygon(&[
                Vec2::new(-w, 0.0),
                Vec2::new(w, 0.0),
                Vec2::new(w, 9.0),
                Vec2::new(-w, 9.0),
            ]))
        };
        let mut stack = Stack::default();
        stack.swept(&[0.0, 10.0, 20.0], &SWEEP, &section);
        let solid = stack.solid().expect("a slotted block");
        assert_eq!(solid.faces().len(), 10, "slot floor, two slot walls, and the block's");
        let expected = 20.0 * 10.0 * 20.0 - 5.0 * (20.0 * 4.0 + 0.2 * 200.0);
        assert!((solid.properties().volume - expected).abs() < 1e-9 * expected);
    }

    #[test]
    fn a_round_taper_becomes_a_cone_and_a_curved_one_steps() {
        let cone = |z: f64| Region::disc(Vec2::zeros(), 10.0 - 0.1 * z);
        let mut stack = Stack::default();
        stack.swept(&[0.0, 10.0], &SWEEP, &cone);
        let solid = stack.solid().expect("a frustum");
        assert_eq!(solid.face_counts().cones, 2);
        let volume = std::f64::consts::PI * 10.0 / 3.0 * (100.0 + 90.0 + 81.0);
        assert!((solid.properties().volume - volume).abs() < 1e-9 * volume);

        let bulb = |z: f64| Region::disc(Vec2::zeros(), snap((100.0 - z * z).sqrt()));
        let mut stack = Stack::default();
        stack.swept(&[0.0, 6.0], &SWEEP, &bulb);
        let exact = std::f64::consts::PI * (100.0 * 6.0 - 72.0);
        let solid = stack.solid().expect("a part of a ball in steps");
        let got = solid.properties().volume;
        assert!(got <= exact && got > 0.99 * exact, "{got} of {exact}");
    }
}
