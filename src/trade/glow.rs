//! Will the stone glow: where light that enters its end face goes.

use super::inputs::{Inputs, inputs, number, number_or};
use super::light::{RefractionInput, refraction};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

inputs! {
    /// A clear stone lit through its flat end. See [`glow`].
    GlowInput, GLOW_INPUTS {
        /// Half-angle of the light at the end face, from the stone's axis.
        half_angle_deg: f64 = number(Unit::Degrees, 0.0, 90.0);
        /// Refractive index of the stone.
        index: f64 = number(Unit::One, 1.01, 4.0);
        /// Refractive index of what fills the gap before the end face: 1 for
        /// air, about 1.5 for clear glue.
        gap_index: f64 = number_or(Unit::One, 1.0, 2.0, 1.0);
        /// Angle of the side faces to the axis, closing towards the tip.
        taper_deg: f64 = number_or(Unit::Degrees, 0.0, 80.0, 0.0);
    }
}

/// Result of [`glow`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glow {
    /// Steepest ray inside the stone, from the axis, degrees.
    pub inside_deg: f64,
    /// Critical angle of the side faces against air, degrees.
    pub critical_deg: f64,
    /// Incidence of the steepest ray on a side face, from its normal, degrees.
    pub side_deg: f64,
    /// Light that enters at normal incidence, percent.
    pub entering_percent: f64,
    /// Whether smooth sides reflect even the steepest ray: then all light runs
    /// to the tip and the sides stay dark.
    pub guided: bool,
    /// Least taper at which the steepest ray leaves a smooth side, degrees.
    pub taper_needed_deg: f64,
}

/// First-order answer to whether a clear stone glows at its sides.
///
/// Snell at the end face: `sin b = n_gap sin a / n`. The steepest ray meets a
/// side at `90 - b - taper` from the normal, and leaves when that is under the
/// critical angle `asin(1 / n)`. With straight sides and an air gap it never
/// does for `n > sqrt 2`: quartz, fluorite and acrylic all guide the light to
/// the tip unless they are frosted, cloudy, facetted or glued.
///
/// Source: Snell's law; application derived here, in the plane of the axis.
/// First contact with a side only; each further contact on a taper is steeper
/// by twice the taper. A gap denser than the stone that reflects the steepest
/// ray at the end face counts as grazing inside.
pub fn glow(input: &GlowInput) -> Result<Glow, TradeError> {
    input.check()?;
    let entry = refraction(&RefractionInput {
        index_from: input.gap_index,
        index_to: input.index,
        incidence_deg: input.half_angle_deg,
        slab_mm: 0.0,
    })?;
    let side = refraction(&RefractionInput {
        index_from: input.index,
        index_to: 1.0,
        incidence_deg: 0.0,
        slab_mm: 0.0,
    })?;
    let inside_deg = entry.refracted_deg.unwrap_or(90.0);
    let side_deg = 90.0 - inside_deg - input.taper_deg;
    Ok(Glow {
        inside_deg,
        critical_deg: side.critical_deg,
        side_deg,
        entering_percent: 100.0 - entry.normal_percent,
        guided: side_deg >= side.critical_deg,
        taper_needed_deg: (90.0 - inside_deg - side.critical_deg).max(0.0),
    })
}

/// Row of the registry.
pub const GLOW: Calculator = Calculator {
    name: "glow",
    summary: "whether a clear stone lit from its end glows at its sides",
    inputs: GLOW_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = GlowInput::from_inputs(inputs)?;
    let out = glow(&i)?;
    let mut w = Worked::new(inputs, "Snell's law; application derived here");
    if out.inside_deg < 90.0 {
        w.step(
            "Steepest ray inside",
            "b = asin({n_gap} * sin({a deg}) / {n}) / pi * 180",
            &[("n_gap", i.gap_index), ("a", i.half_angle_deg), ("n", i.index)],
            out.inside_deg,
            Unit::Degrees,
        );
    }
    w.step(
        "Its incidence on a side",
        "s = 90 - {b} - {taper}",
        &[("b", out.inside_deg), ("taper", i.taper_deg)],
        out.side_deg,
        Unit::Degrees,
    );
    w.step(
        "Critical angle of the side",
        "c = asin(1 / {n}) / pi * 180",
        &[("n", i.index)],
        out.critical_deg,
        Unit::Degrees,
    );
    w.result("inside_deg", "steepest ray inside", out.inside_deg, Unit::Degrees);
    w.result("side_deg", "its incidence on a side", out.side_deg, Unit::Degrees);
    w.result("critical_deg", "critical angle of the side", out.critical_deg, Unit::Degrees);
    w.result("entering_percent", "light that enters", out.entering_percent, Unit::Percent);
    w.result(
        "taper_needed_deg",
        "taper at which a side lets light out",
        out.taper_needed_deg,
        Unit::Degrees,
    );
    w.note(if out.guided {
        format!(
            "smooth sides stay dark and the tip lights up: frost the sides, or taper them by {:.1} deg",
            out.taper_needed_deg
        )
    } else {
        "the steepest rays leave through the sides".to_owned()
    });
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(half_angle_deg: f64, index: f64, gap_index: f64, taper_deg: f64) -> Glow {
        glow(&GlowInput { half_angle_deg, index, gap_index, taper_deg }).unwrap()
    }

    #[test]
    fn straight_sides_guide_all_light_above_root_two() {
        for half_angle in [0.0, 30.0, 60.0, 90.0] {
            assert!(of(half_angle, 1.4338, 1.0, 0.0).guided);
            assert!(of(half_angle, 1.5443, 1.0, 0.0).guided);
        }
        assert!(!of(89.0, 1.40, 1.0, 0.0).guided);
    }

    #[test]
    fn glue_and_taper_let_light_out() {
        assert!(!of(60.0, 1.5443, 1.5, 0.0).guided);
        let needed = of(40.0, 1.5443, 1.0, 0.0).taper_needed_deg;
        assert!(of(40.0, 1.5443, 1.0, needed - 0.01).guided);
        assert!(!of(40.0, 1.5443, 1.0, needed + 0.01).guided);
    }

    #[test]
    fn total_reflection_at_the_end_face_is_no_panic() {
        assert_eq!(of(80.0, 1.2, 2.0, 0.0).inside_deg, 90.0);
        assert!(
            glow(&GlowInput {
                half_angle_deg: f64::NAN,
                index: 1.5,
                gap_index: 1.0,
                taper_deg: 0.0
            })
            .is_err()
        );
    }
}
