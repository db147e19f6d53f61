//! Chooses lips that hold the cell and do not crack.

use super::across::{Across, WRAP_GUESS};
use super::spec::{LIP_LENGTH_MIN, Spec};
use crate::measure::Unit;
use crate::section::snap;
use crate::trade::TradeError;
use crate::trade::lip::{Lip, LipInput, curved_lip};
use crate::trade::lip_choice::{LipChoiceInput, choose_lip};

/// Least grip of each lip past the thinnest cell, mm. Common practice, no
/// source.
const GRIP_MIN: f64 = 0.1;
/// Step of the thicknesses tried for a given wrap, mm, as the search's own.
const THICKNESS_STEP: f64 = 0.1;

/// The lips.
#[derive(Clone, Debug)]
pub(super) struct Lips {
    /// How far they reach past the cell's middle, degrees.
    pub wrap: f64,
    pub thickness: f64,
    /// Length along each side, both pieces together, mm.
    pub length: f64,
    /// What the thinnest and the thickest cell ask of them.
    pub inputs: [LipInput; 2],
    pub smallest: Lip,
    pub largest: Lip,
    /// Why these values.
    pub reasons: Vec<String>,
}

impl Spec {
    /// The lips: what is given is kept, the rest is chosen.
    ///
    /// # Errors
    /// What the calculators refuse: the limit that binds and what would do.
    pub(super) fn lips(&self, across: &Across) -> Result<Lips, TradeError> {
        let mut refused = None;
        for guess in WRAP_GUESS {
            let wrap = self.wrap.unwrap_or(guess);
            let room = self.lip_room_across(across.cell_y, wrap);
            let (low, high) = match self.lip_thickness {
                Some(thickness) => (thickness, thickness),
                None => (self.wall_free, room.min(self.lip_thickest)),
            };
            if high < low - THICKNESS_STEP / 100.0 || high > room + THICKNESS_STEP / 100.0 {
                break;
            }
            let input = LipChoiceInput {
                cell_min_mm: self.cell.diameter.0,
                cell_max_mm: self.cell.diameter.1,
                clearance_mm: self.clearance,
                length_mm: self.lip_length.unwrap_or(self.lip_room()),
                length_min_mm: self.lip_length.unwrap_or(LIP_LENGTH_MIN),
                wall_min_mm: low,
                wall_max_mm: high.max(low),
                root_deg: across.root,
                modulus_mpa: self.modulus,
                allowed_percent: self.allowed,
                friction: self.friction,
                grip_min_mm: GRIP_MIN,
                insertion_max_n: self.push_max,
                pull_out_min_n: self.hold_min,
                pull_out_max_n: self.pull_max.max(self.hold_min),
            };
            if let Some(wrap) = self.wrap {
                return given_wrap(&input, wrap);
            }
            match choose_lip(&input) {
                Ok(c) if c.wrap_deg <= guess => {
                    let thickness = snap(c.thickness_mm);
                    return Ok(Lips {
                        wrap: c.wrap_deg,
                        thickness,
                        length: c.length_mm,
                        inputs: pair(&input, c.wrap_deg, thickness, c.length_mm),
                        smallest: c.smallest,
                        largest: c.largest,
                        reasons: c.reasons,
                    });
                }
                Ok(_) => {}
                Err(error) => {
                    // A wider guess leaves less room and cannot do better.
                    return Err(refused.unwrap_or(error));
                }
            }
            refused.get_or_insert(TradeError::Refused {
                input: "wrap",
                value: guess,
                min: 0.0,
                max: guess,
                unit: Unit::Degrees,
                reason: format!("lips that wrap more than {guess} deg do not fit the bore here"),
                hint: "narrow the range of cells or give less clearance".to_owned(),
            });
        }
        Err(refused.unwrap_or(TradeError::Refused {
            input: "lip_thickness",
            value: self.lip_thickness.unwrap_or(self.wall_free),
            min: 0.0,
            max: self.lip_room_across(across.cell_y, self.wrap.unwrap_or(WRAP_GUESS[0])),
            unit: Unit::Mm,
            reason: "the lips do not fit the bore".to_owned(),
            hint: "make the lips thinner".to_owned(),
        }))
    }
}

/// The best thickness and length for a wrap that is given.
fn given_wrap(limits: &LipChoiceInput, wrap_deg: f64) -> Result<Lips, TradeError> {
    let steps = ((limits.wall_max_mm - limits.wall_min_mm) / THICKNESS_STEP + 1e-9) as usize;
    let mut best: Option<(f64, Lips)> = None;
    let mut first = None;
    for i in 0..=steps {
        let thickness_mm = snap(limits.wall_min_mm + i as f64 * THICKNESS_STEP);
        match judged(limits, wrap_deg, thickness_mm) {
            Ok((room, lips)) if best.as_ref().is_none_or(|(most, _)| room > *most) => {
                best = Some((room, lips));
            }
            Ok(_) => {}
            Err(error) => {
                first.get_or_insert(error);
            }
        }
    }
    match (best, first) {
        (Some((_, lips)), _) => Ok(lips),
        (None, Some(error)) => Err(error),
        (None, None) => unreachable!("the loop runs at least once"),
    }
}

/// Lips under the thinnest and under the thickest cell.
fn pair(
    limits: &LipChoiceInput,
    wrap_deg: f64,
    thickness_mm: f64,
    length_mm: f64,
) -> [LipInput; 2] {
    [limits.cell_min_mm, limits.cell_max_mm].map(|cylinder_mm| LipInput {
        cylinder_mm,
        trough_mm: limits.cell_max_mm + 2.0 * limits.clearance_mm,
        thickness_mm,
        length_mm,
        wrap_deg,
        root_deg: limits.root_deg,
        modulus_mpa: limits.modulus_mpa,
        friction: limits.friction,
        allowed_percent: limits.allowed_percent,
    })
}

/// Lips of one wrap and thickness, their length in the geometric middle of
/// what the forces allow, and the least ratio of a limit to its value.
fn judged(
    limits: &LipChoiceInput,
    wrap_deg: f64,
    thickness_mm: f64,
) -> Result<(f64, Lips), TradeError> {
    let lips = |length: f64| -> Result<(Lip, Lip), TradeError> {
        let [small, large] = pair(limits, wrap_deg, thickness_mm, length);
        Ok((curved_lip(&small)?, curved_lip(&large)?))
    };
    let refuse = |input, value: f64, (min, max), unit, reason: &str, hint: String| {
        Err(TradeError::Refused { input, value, min, max, unit, reason: reason.to_owned(), hint })
    };
    let full = limits.length_mm;
    let (small, large) = lips(full)?;
    if !large.holds {
        return refuse(
            "allowed_percent",
            limits.allowed_percent,
            (large.strain_percent, f64::INFINITY),
            Unit::Percent,
            "lips of this wrap would crack or set on the thickest cell",
            "wrap less, use thinner lips, a material or print direction that allows more strain, \
             or leave `wrap` out"
                .to_owned(),
        );
    }
    if small.deflection_mm < GRIP_MIN {
        let needed = limits.cell_min_mm - 2.0 * GRIP_MIN;
        let wrap = (needed / large.mouth_mm * wrap_deg.to_radians().cos()).min(1.0).acos();
        return refuse(
            "wrap",
            wrap_deg,
            (wrap.to_degrees(), 40.0),
            Unit::Degrees,
            "lips of this wrap do not grip the thinnest cell",
            format!("give wrap {:.1} or more, or leave it out", wrap.to_degrees() + 0.05),
        );
    }
    let (Some(hold), Some(push), Some(pull)) =
        (small.pull_out_n, large.insertion_n, large.pull_out_n)
    else {
        return refuse(
            "friction",
            limits.friction,
            (0.0, 1.0 / wrap_deg.to_radians().tan()),
            Unit::One,
            "lips of this wrap lock",
            "wrap less, or leave `wrap` out".to_owned(),
        );
    };
    let shortest = limits.length_min_mm.max(full * limits.pull_out_min_n / hold);
    let longest =
        full.min(full * limits.insertion_max_n / push).min(full * limits.pull_out_max_n / pull);
    if shortest > longest {
        let stiff = longest < full;
        return if stiff {
            refuse(
                "push_max",
                limits.insertion_max_n.min(limits.pull_out_max_n),
                (push.max(pull) * shortest / full, f64::INFINITY),
                Unit::Newton,
                "lips of this wrap are too stiff for the thickest cell",
                "allow more force (push_max, pull_max), wrap less, or leave `wrap` out".to_owned(),
            )
        } else {
            refuse(
                "hold_min",
                limits.pull_out_min_n,
                (0.0, hold),
                Unit::Newton,
                "lips of this wrap do not hold the thinnest cell so firmly",
                format!("ask for at most {hold:.2} N, wrap further, or leave `wrap` out"),
            )
        };
    }
    let length = (shortest * longest).sqrt();
    let (smallest, largest) = lips(length)?;
    let share = length / full;
    let room = (limits.allowed_percent / large.strain_percent)
        .min(limits.insertion_max_n / (push * share))
        .min(limits.pull_out_max_n / (pull * share))
        .min(hold * share / limits.pull_out_min_n);
    let reasons = vec![format!(
        "wrap {wrap_deg} deg as given; thickness {thickness_mm} mm: strain {:.2} % of {:.2} % \
         allowed; length {length:.1} mm: push {:.1} N, holds {:.1} N",
        large.strain_percent,
        limits.allowed_percent,
        push * share,
        hold * share
    )];
    let inputs = pair(limits, wrap_deg, thickness_mm, length);
    let lips = Lips {
        wrap: wrap_deg,
        thickness: thickness_mm,
        length,
        inputs,
        smallest,
        largest,
        reasons,
    };
    Ok((room, lips))
}
