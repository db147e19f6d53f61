//! The cover that snaps over a tray.

use super::super::Refusal;
use super::super::build::solid;
use super::across::Across;
use super::axial::Axial;
use super::shape::{Shape, at_angle, base_edge, ring_sector, round_tip};
use super::spec::{CoverSpec, Opening, Spec};
use crate::measure::Vec2;
use crate::section::{Region, snap};
use crate::solid::{Solid, Stack};
use crate::trade::lip::{Lip, LipInput, curved_lip};

/// Share of the end wall that stays full as a flange beside the cover.
const FLANGE: f64 = 0.5;
/// Axial play of the cover between the flanges, on each side, mm.
pub(super) const PLAY: f64 = 0.15;
/// Wrap past the middle that is tried, degrees.
const WRAP: (u32, u32) = (5, 35);
/// Distance of the cover's edges from the base and of the rebate from them,
/// degrees at the bore.
const EDGE: f64 = 3.0;
/// Hardest push that snaps the cover on, N. Common practice, no source.
const PUSH_MAX: f64 = 30.0;
/// Hold from which a cover need not wrap further, N. Common practice, no
/// source.
const HOLD_FIRM: f64 = 3.0;
/// Hold below which a cover counts as weak, N. Common practice, no source.
pub(super) const HOLD_WEAK: f64 = 0.5;
/// Half angle of the strip that stays over finger openings, degrees.
const STRIP: f64 = 35.0;
/// Half width of the opening over the vent, over the cell's radius.
const VENT: f64 = 0.35;
/// Room beside the thickest cell in an open mouth, mm.
const MOUTH_ROOM: f64 = 0.3;

/// A cover and how it snaps on.
#[derive(Clone, Debug)]
pub(super) struct Cover {
    pub spec: CoverSpec,
    /// How far its edges reach past the bore's middle, degrees.
    pub wrap: f64,
    /// Where the tray's rebate for it ends, degrees below the middle.
    pub rebate: f64,
    pub input: LipInput,
    pub lip: Lip,
    /// Thickness of the flanges, mm.
    pub flange: f64,
    /// Length that snaps, mm.
    pub snaps: f64,
    /// Opening over cell and fingers, mm from the negative end's face.
    pub opening: Option<(f64, f64)>,
}

/// The thinnest strain found, when no cover holds.
#[derive(Clone, Debug)]
pub(super) struct NoCover {
    pub what: String,
    pub hint: String,
}

impl Cover {
    /// The cover that wraps just far enough to hold firmly, or as far as the
    /// material's strain allows.
    pub(super) fn new(
        spec: &Spec,
        cover: CoverSpec,
        across: &Across,
        axial: &Axial,
        finger: (f64, f64),
    ) -> Result<Cover, NoCover> {
        let flange = snap(FLANGE * spec.end_wall);
        let length = axial.total - 2.0 * (flange + PLAY);
        let opening = match cover.opening {
            Opening::Nothing => None,
            Opening::Fingers => Some(finger),
            Opening::Mouth => Some((axial.frame, snap(axial.touch + MOUTH_ROOM))),
        };
        // Only pieces that run all the way over the crown press.
        let snaps = match (cover.opening, opening) {
            (Opening::Mouth, Some((from, to))) => length - (to - from),
            _ => length,
        };
        let room = base_edge(spec, across) - 2.0 * EDGE;
        let inner = spec.outside - cover.wall;
        let mut gentlest: Option<f64> = None;
        let mut best = None;
        for wrap in WRAP.0..=WRAP.1 {
            let wrap = f64::from(wrap);
            if wrap > room {
                break;
            }
            let input = LipInput {
                cylinder_mm: 2.0 * spec.covered(),
                trough_mm: 2.0 * inner,
                thickness_mm: cover.wall,
                length_mm: snaps,
                wrap_deg: wrap,
                // Its arms are held at the crown.
                root_deg: 90.0,
                modulus_mpa: spec.modulus,
                friction: spec.friction,
                allowed_percent: spec.allowed,
            };
            let Ok(lip) = curved_lip(&input) else { continue };
            if lip.holds && lip.insertion_n.is_some_and(|n| n <= PUSH_MAX) {
                let firm = lip.pull_out_n.is_some_and(|n| n >= HOLD_FIRM);
                best = Some((wrap, input, lip));
                if firm {
                    break;
                }
            } else {
                gentlest.get_or_insert(lip.strain_percent);
            }
        }
        let Some((wrap, input, lip)) = best else {
            return Err(match gentlest {
                Some(strain) => NoCover {
                    what: format!(
                        "a cover of {:.2} mm would crack or be too stiff: it needs {strain:.2} % \
                         strain, {:.2} % is allowed",
                        cover.wall, spec.allowed
                    ),
                    hint: format!(
                        "a cover of at most {:.2} mm would do, or a material or print direction \
                         that allows more strain",
                        cover.wall * spec.allowed / strain
                    ),
                },
                None => NoCover {
                    what: format!(
                        "the cover's edges have no room: they may reach {room:.1} deg past the \
                         middle before the base begins, and do not hold there"
                    ),
                    hint: "take fewer or thinner wires, so that the base is narrower".to_owned(),
                },
            });
        };
        let rebate = wrap + EDGE;
        Ok(Cover { spec: cover, wrap, rebate, input, lip, flange, snaps, opening })
    }

    /// Length between the flanges and that of the cover, mm, on a tray `total`
    /// mm long.
    pub(super) fn along(&self, total: f64) -> (f64, f64) {
        (total - 2.0 * self.flange, total - 2.0 * (self.flange + PLAY))
    }

    /// The cover's solid, at its place over the tray.
    pub(super) fn solid(
        &self,
        shape: &Shape<'_>,
        from_z: f64,
        flip: bool,
    ) -> Result<Solid, Refusal> {
        let (spec, axial) = (shape.spec, shape.axial);
        let total = axial.total;
        let origin = Vec2::zeros();
        let inner = snap(spec.outside - self.spec.wall);
        let wall = snap(spec.outside) - inner;
        let tip = round_tip(inner, wall, self.wrap);
        let full = ring_sector(origin, inner, wall, (-tip, 180.0 + tip), (true, true));
        let (low, high) = (snap(self.flange + PLAY), snap(total - self.flange - PLAY));
        let over = |half: f64| {
            Region::rectangle(Vec2::new(-half, 0.0), Vec2::new(half, 2.0 * spec.outside))
        };
        let opened = match self.spec.opening {
            Opening::Nothing => full.clone(),
            Opening::Fingers => {
                let strip = Region::polygon(&[
                    origin,
                    at_angle(90.0 - STRIP) * (3.0 * spec.outside),
                    at_angle(90.0 + STRIP) * (3.0 * spec.outside),
                ]);
                full.intersection(&strip)
            }
            Opening::Mouth => full.difference(&over(spec.cell.radius() + MOUTH_ROOM)),
        };
        // Gas leaves over the gap before the positive end.
        // It runs out of the end: what would close it is a rung as thin as a pin.
        let vent = (snap(axial.touch - spec.cell.button), high);
        let mut levels = vec![low, high, vent.0, vent.1];
        levels.extend(self.opening.iter().flat_map(|o| [snap(o.0), snap(o.1)]));
        levels.retain(|l| (low..=high).contains(l));
        levels.sort_by(f64::total_cmp);
        levels.dedup_by(|a, b| (*a - *b).abs() < 0.5e-3);
        let place = |z: f64| snap(from_z + if flip { total - z } else { z });
        let mut slabs: Vec<(f64, f64, Region)> = levels
            .windows(2)
            .map(|pair| {
                let z = 0.5 * (pair[0] + pair[1]);
                let open = self.opening.is_some_and(|o| o.0 < z && z < o.1);
                let mut section = if open { opened.clone() } else { full.clone() };
                let vents = self.spec.opening != Opening::Mouth && vent.0 < z && z < vent.1;
                if vents {
                    section = section.difference(&over(VENT * spec.cell.radius()));
                }
                let (a, b) = (place(pair[0]), place(pair[1]));
                (a.min(b), a.max(b), section)
            })
            .collect();
        slabs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut stack = Stack::default();
        for (a, b, section) in &slabs {
            stack.prism(*a, *b, section);
        }
        solid(&stack, &[], "the cover")
    }
}
