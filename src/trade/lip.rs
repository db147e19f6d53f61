//! A lip that wraps a cylinder past its middle: curved cantilever.

use super::inputs::{Inputs, inputs, number, number_or};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

/// Positions of the cylinder on its way through the mouth that are tried.
/// With 61 the largest force is within 1e-4 of that with ten times as many.
const POSITIONS: usize = 61;
/// Thickest lip for its radius that the theory covers.
const THICKEST_RATIO: f64 = 0.4;

inputs! {
    /// A trough with two equal lips and the cylinder it holds. See
    /// [`curved_lip`].
    LipInput, LIP_INPUTS {
        /// Diameter of the cylinder pushed in.
        cylinder_mm: f64 = number(Unit::Mm, 1.0, 200.0);
        /// Inner diameter of the trough.
        trough_mm: f64 = number(Unit::Mm, 1.0, 200.0);
        /// Lip thickness.
        thickness_mm: f64 = number(Unit::Mm, 0.1, 20.0);
        /// Length of lip along the cylinder.
        length_mm: f64 = number(Unit::Mm, 0.5, 1000.0);
        /// Angle by which each lip wraps past the middle.
        wrap_deg: f64 = number(Unit::Degrees, 0.5, 75.0);
        /// Angle below the middle at which the thick floor begins.
        root_deg: f64 = number_or(Unit::Degrees, 0.0, 90.0, 45.0);
        /// Modulus of the material.
        modulus_mpa: f64 = number(Unit::Megapascal, 1.0, 500_000.0);
        /// Coefficient of friction.
        friction: f64 = number_or(Unit::One, 0.0, 2.0, 0.3);
        /// Strain that the material may take.
        allowed_percent: f64 = number(Unit::Percent, 0.01, 100.0);
    }
}

/// Result of [`curved_lip`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lip {
    /// Width of the mouth between the lips' tips, mm.
    pub mouth_mm: f64,
    /// How far each lip must give way: half of cylinder less mouth, mm.
    pub deflection_mm: f64,
    /// Radius of the lip's middle line, mm.
    pub radius_mm: f64,
    /// Length of the free arc from floor to tip, mm.
    pub arc_mm: f64,
    /// Second moment of area of the lip, mm4.
    pub inertia_mm4: f64,
    /// Integral of the squared lever arm, unit radius: opening per load across.
    pub across: f64,
    /// Mixed integral, unit radius: opening per load along the insertion.
    pub mixed: f64,
    /// Factor of the inner fibre of a curved bar over a straight one.
    pub curvature_factor: f64,
    /// Stiffness of one lip against a load straight across, N/mm.
    pub stiffness_n_per_mm: f64,
    /// Load across one lip as the widest point passes, without friction, N.
    pub across_n: f64,
    /// Strain under that load, percent.
    pub strain_across_percent: f64,
    /// Largest strain on the way in or out, with friction, percent; a way on
    /// which the lips lock does not count.
    pub strain_percent: f64,
    /// Largest push to insert, both lips, N; `None` when the lips lock.
    pub insertion_n: Option<f64>,
    /// Largest pull to remove, both lips, N; `None` when the lips lock.
    pub pull_out_n: Option<f64>,
    /// Whether the cylinder goes in and the strain is within what is allowed.
    pub holds: bool,
}

/// Integrals over the arc from `-root` to `wrap` (radians) of `Y^2`, `-Y X`
/// where `Y = sin w - sin a` and `X = cos w - cos a` are the lever arms of a
/// load across and along, for unit radius. Closed forms, derived here.
pub fn arc_integrals(wrap: f64, root: f64) -> (f64, f64) {
    let (s, c) = wrap.sin_cos();
    let (sr, cr) = root.sin_cos();
    let angle = wrap + root;
    let sin_sum = cr - c;
    let cos_sum = s + sr;
    let sin2 = angle / 2.0 - (s * c + sr * cr) / 2.0;
    let sin_cos = (s * s - sr * sr) / 2.0;
    let across = s * s * angle - 2.0 * s * sin_sum + sin2;
    let mixed = -(s * c * angle - s * cos_sum - c * sin_sum + sin_cos);
    (across, mixed)
}

/// Which way the cylinder moves.
#[derive(Clone, Copy)]
enum Way {
    In,
    Out,
}

/// Strain and forces of a trough's two lips while a cylinder passes them.
///
/// **Geometry.** The trough is a circle of radius `ri`; each lip ends `w` past
/// the middle, so the mouth is `2 ri cos w` wide. The cylinder of diameter `d`
/// opens each lip by `y = d/2 - ri cos w`.
///
/// **Beam.** Each lip is a circular arc of middle radius `R = ri + t/2`, fixed
/// where the floor begins (`root` below the middle), free at the tip. A tip
/// load `Fx` across (opening) and `Fy` along gives at angle `a` the moment
/// `M = R [X Fy - Y Fx]`, `Y = sin w - sin a`, `X = cos w - cos a`. With
/// Castigliano, `y = dU/dFx`, `U = integral M^2 R da / (2 E I)`:
/// `y = R^3/(E I) [A Fx + B Fy]`, `A = int Y^2 da`, `B = int -Y X da`, in
/// closed form in [`arc_integrals`]. Straight across, `Fx = E I y / (A R^3)`,
/// and the moment is largest at the floor.
///
/// **Contact.** On the way in, the centre of the cylinder stands above the tips
/// and the contact normal dips by `b`; the opening needed is `d/2 cos b -
/// ri cos w`, from zero to `y` at `b = 0`. Normal force and friction together
/// load the tip, downwards on the way in and upwards on the way out; the push
/// is twice the vertical part. The largest push, and the largest strain on the
/// whole way, are found over 61 positions.
///
/// **Strain.** `eps = 6 M k / (E b t^2)` with `k` of a curved rectangular bar's
/// inner fibre (Winkler-Bach): `k = t (rn - ri) / (6 e ri) `, `rn =
/// t / ln(ro/ri)`, `e = R - rn`.
///
/// Source: Castigliano's theorem and curved-bar theory, textbook; this
/// application derived here and checked against a discretised beam. Holds for
/// `t` up to 0.4 `R` (else refused), small deflection, a sharp tip, a rigid
/// floor and cylinder; axial and shear strain (a few percent) are left out, and
/// friction varies by half either way. Refuses a cylinder larger than the
/// trough, and one that the mouth does not hold at all.
pub fn curved_lip(input: &LipInput) -> Result<Lip, TradeError> {
    input.check()?;
    let refuse = |input, value, min, max, reason: &str, hint: &str| TradeError::Refused {
        input,
        value,
        min,
        max,
        unit: Unit::Mm,
        reason: reason.to_owned(),
        hint: hint.to_owned(),
    };
    let (ri, t) = (input.trough_mm / 2.0, input.thickness_mm);
    let (wrap, root) = (input.wrap_deg.to_radians(), input.root_deg.to_radians());
    let radius_mm = ri + t / 2.0;
    let mouth_mm = input.trough_mm * wrap.cos();
    if input.cylinder_mm > input.trough_mm || input.cylinder_mm <= mouth_mm {
        return Err(refuse(
            "cylinder_mm",
            input.cylinder_mm,
            mouth_mm,
            input.trough_mm,
            "the lips do not hold a cylinder of this size",
            "wrap further, or give the trough less clearance",
        ));
    }
    if t > THICKEST_RATIO * radius_mm {
        return Err(refuse(
            "thickness_mm",
            t,
            0.1,
            // Solves t = ratio (ri + t/2).
            THICKEST_RATIO * ri / (1.0 - THICKEST_RATIO / 2.0),
            "the lip is too thick for its radius to bend as a curved beam",
            "use a thinner lip",
        ));
    }
    let deflection_mm = (input.cylinder_mm - mouth_mm) / 2.0;
    let inertia_mm4 = input.length_mm * t.powi(3) / 12.0;
    let (across, mixed) = arc_integrals(wrap, root);
    let flexibility = radius_mm.powi(3) / (input.modulus_mpa * inertia_mm4);
    let stiffness_n_per_mm = 1.0 / (flexibility * across);
    let neutral = t / (1.0 + t / ri).ln();
    let eccentricity = radius_mm - neutral;
    let curvature_factor = t * (neutral - ri) / (6.0 * eccentricity * ri);
    let per_moment = 100.0 * 6.0 * curvature_factor / (input.modulus_mpa * input.length_mm * t * t);
    let (tip_sin, tip_cos) = wrap.sin_cos();
    let (root_sin, root_cos) = root.sin_cos();
    // |Y Fx - X Fy| is largest at the floor, or where the load's line is
    // farthest from the arc: along the load as seen from the centre.
    let moment = |fx: f64, fy: f64| {
        let about_centre = tip_sin * fx - tip_cos * fy;
        let load = fx.hypot(fy);
        let floor = (about_centre + root_sin * fx + root_cos * fy).abs();
        // At angle a the moment is about_centre - (fx sin a - fy cos a); the
        // bracket is -load or +load at a = atan2(-fx, fy) and opposite it.
        let on_arc = |sin: f64, cos: f64| cos > 0.0 && sin >= -root_sin && sin <= tip_sin;
        let mut most = floor;
        if load > 0.0 && on_arc(-fx / load, fy / load) {
            most = most.max((about_centre + load).abs());
        }
        if load > 0.0 && on_arc(fx / load, -fy / load) {
            most = most.max((about_centre - load).abs());
        }
        radius_mm * most
    };
    let across_n = stiffness_n_per_mm * deflection_mm;
    let strain_across_percent = per_moment * moment(across_n, 0.0);
    let half = input.cylinder_mm / 2.0;
    let first = (mouth_mm / input.cylinder_mm).acos();
    // Largest push and strain of one way; `None` when the lips lock on it.
    let pass = |way: Way| -> Option<(f64, f64)> {
        let (mut push, mut strain) = (0.0_f64, 0.0_f64);
        for i in 0..POSITIONS {
            let (sin, cos) = (first * i as f64 / (POSITIONS - 1) as f64).sin_cos();
            let needed = half * cos - mouth_mm / 2.0;
            let (x, along) = (cos - input.friction * sin, sin + input.friction * cos);
            let y = match way {
                Way::In => -along,
                Way::Out => along,
            };
            let give = flexibility * (across * x + mixed * y);
            if give <= 0.0 || x <= 0.0 {
                return None;
            }
            let normal = needed.max(0.0) / give;
            push = push.max(2.0 * normal * along);
            strain = strain.max(per_moment * moment(normal * x, normal * y));
        }
        Some((push, strain))
    };
    let (way_in, way_out) = (pass(Way::In), pass(Way::Out));
    let strain_percent = [way_in, way_out]
        .into_iter()
        .flatten()
        .fold(strain_across_percent, |most, (_, strain)| most.max(strain));
    let insertion_n = way_in.map(|(push, _)| push);
    let pull_out_n = way_out.map(|(push, _)| push);
    Ok(Lip {
        mouth_mm,
        deflection_mm,
        radius_mm,
        arc_mm: radius_mm * (wrap + root),
        inertia_mm4,
        across,
        mixed,
        curvature_factor,
        stiffness_n_per_mm,
        across_n,
        strain_across_percent,
        strain_percent,
        insertion_n,
        pull_out_n,
        holds: insertion_n.is_some() && strain_percent <= input.allowed_percent,
    })
}

/// Row of the registry.
pub const CURVED_LIP: Calculator = Calculator {
    name: "curved-lip",
    summary: "strain and forces of a trough whose lips wrap a cylinder",
    inputs: LIP_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = LipInput::from_inputs(inputs)?;
    let out = curved_lip(&i)?;
    let mut w = Worked::new(inputs, "Castigliano and curved-bar theory; application derived here");
    w.step(
        "Width of the mouth",
        "m = {D} * cos({w deg})",
        &[("D", i.trough_mm), ("w", i.wrap_deg)],
        out.mouth_mm,
        Unit::Mm,
    );
    w.step(
        "Each lip gives way by half the difference",
        "y = ({d} - {m}) / 2",
        &[("d", i.cylinder_mm), ("m", out.mouth_mm)],
        out.deflection_mm,
        Unit::Mm,
    );
    w.step(
        "Radius of the lip's middle line",
        "R = {D} / 2 + {t} / 2",
        &[("D", i.trough_mm), ("t", i.thickness_mm)],
        out.radius_mm,
        Unit::Mm,
    );
    w.step(
        "Integral of the squared lever arm over the arc (r: root below the middle)",
        "A = sin({w deg})^2 * ({w deg} + {r deg}) + 2 * sin({w deg}) * (cos({w deg}) - cos({r deg})) \
         + ({w deg} + {r deg}) / 2 - (sin(2 * {w deg}) + sin(2 * {r deg})) / 4",
        &[("w", i.wrap_deg), ("r", i.root_deg)],
        out.across,
        Unit::One,
    );
    w.step(
        "Stiffness of one lip, straight across",
        "k = {E} * {b} * {t}^3 / 12 / ({A} * {R}^3)",
        &[
            ("E", i.modulus_mpa),
            ("b", i.length_mm),
            ("t", i.thickness_mm),
            ("A", out.across),
            ("R", out.radius_mm),
        ],
        out.stiffness_n_per_mm,
        Unit::NewtonPerMm,
    );
    w.step(
        "Load across one lip as the widest point passes",
        "F = {k} * {y}",
        &[("k", out.stiffness_n_per_mm), ("y", out.deflection_mm)],
        out.across_n,
        Unit::Newton,
    );
    w.step(
        "Strain at the floor under that load (c: curved bar over straight bar)",
        "eps = 100 * 6 * {c} * {F} * {R} * (sin({w deg}) + sin({r deg})) / ({E} * {b} * {t}^2)",
        &[
            ("c", out.curvature_factor),
            ("F", out.across_n),
            ("R", out.radius_mm),
            ("w", i.wrap_deg),
            ("r", i.root_deg),
            ("E", i.modulus_mpa),
            ("b", i.length_mm),
            ("t", i.thickness_mm),
        ],
        out.strain_across_percent,
        Unit::Percent,
    );
    let scan = "largest of 61 positions, friction included";
    w.step("Largest strain on the way", scan, &[], out.strain_percent, Unit::Percent);
    w.result("mouth_mm", "width of the mouth", out.mouth_mm, Unit::Mm);
    w.result("deflection_mm", "how far each lip gives way", out.deflection_mm, Unit::Mm);
    w.result("strain_percent", "largest strain", out.strain_percent, Unit::Percent);
    match out.insertion_n {
        Some(n) => w.result("insertion_n", "largest push to insert", n, Unit::Newton),
        None => w.note("the lips lock on the way in at this friction"),
    }
    match out.pull_out_n {
        Some(n) => w.result("pull_out_n", "largest pull to remove", n, Unit::Newton),
        None => w.note("the lips lock on the way out at this friction"),
    }
    w.note(if out.strain_percent <= i.allowed_percent {
        "strain allowed"
    } else {
        "TOO MUCH STRAIN: the lip would crack or set"
    });
    w.note("friction varies by half either way, and so do the forces");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> LipInput {
        LipInput {
            cylinder_mm: 18.5,
            trough_mm: 18.8,
            thickness_mm: 1.2,
            length_mm: 40.0,
            wrap_deg: 20.0,
            root_deg: 45.0,
            modulus_mpa: 1700.0,
            friction: 0.3,
            allowed_percent: 1.0,
        }
    }

    /// The opening of a chain of short straight beams, each turning by
    /// `M ds / (E I)`, under a tip load: no energy theorem involved.
    fn discretised(input: &LipInput, fx: f64, fy: f64) -> f64 {
        let n = 40_000;
        let r = input.trough_mm / 2.0 + input.thickness_mm / 2.0;
        let (wrap, root) = (input.wrap_deg.to_radians(), input.root_deg.to_radians());
        let ei = input.modulus_mpa * input.length_mm * input.thickness_mm.powi(3) / 12.0;
        let da = (wrap + root) / f64::from(n);
        let (tip_x, tip_y) = (r * wrap.cos(), r * wrap.sin());
        let mut opening = 0.0;
        for i in 0..n {
            let a = -root + (f64::from(i) + 0.5) * da;
            let (px, py) = (r * a.cos(), r * a.sin());
            // Anticlockwise moment of the tip load about this element; the rest
            // of the lip turns with it as a rigid body.
            let moment = (tip_x - px) * fy - (tip_y - py) * fx;
            let turn = moment * r * da / ei;
            opening -= turn * (tip_y - py);
        }
        opening
    }

    #[test]
    fn discretised_beam_agrees_with_castigliano() {
        for (wrap_deg, root_deg) in [(14.0, 30.0), (20.0, 45.0), (35.0, 90.0), (60.0, 0.0)] {
            let input = LipInput { wrap_deg, root_deg, ..sample() };
            let out = curved_lip(&input).unwrap();
            let flexibility = out.radius_mm.powi(3) / (input.modulus_mpa * out.inertia_mm4);
            for (fx, fy) in [(1.0, 0.0), (0.0, 1.0), (0.8, -0.6)] {
                let want = discretised(&input, fx, fy);
                let have = flexibility * (out.across * fx + out.mixed * fy);
                assert!(
                    (have - want).abs() < 1e-6 * flexibility,
                    "{wrap_deg} {root_deg} {fx} {fy}"
                );
            }
            let load = discretised(&input, out.across_n, 0.0);
            assert!((load / out.deflection_mm - 1.0).abs() < 1e-6);
        }
    }

    /// A flat arc is a straight cantilever: `y = P L^3 / (3 E I)`.
    #[test]
    fn short_arc_is_a_straight_cantilever() {
        let (across, _) = arc_integrals(0.01, 0.01);
        assert!((across / (0.02_f64.powi(3) / 3.0) - 1.0).abs() < 1e-4, "{across}");
    }

    #[test]
    fn curvature_factor_tends_to_one_for_thin_lips() {
        let k = |thickness_mm| {
            curved_lip(&LipInput { thickness_mm, ..sample() }).unwrap().curvature_factor
        };
        assert!((k(0.1) - 1.0).abs() < 0.01);
        assert!(k(1.0) < k(2.0) && k(2.0) < k(3.0));
        assert!(k(3.0) < 1.3);
    }

    /// The largest strain found equals that of a fine sweep over positions and
    /// over the arc.
    #[test]
    fn largest_strain_and_push_match_a_fine_sweep() {
        for (wrap_deg, root_deg, friction) in
            [(20.0, 45.0, 0.3), (35.0, 90.0, 0.8), (40.0, 10.0, 0.0)]
        {
            let i = LipInput { wrap_deg, root_deg, friction, ..sample() };
            let out = curved_lip(&i).unwrap();
            let (wrap, root) = (wrap_deg.to_radians(), root_deg.to_radians());
            let flexibility = out.radius_mm.powi(3) / (i.modulus_mpa * out.inertia_mm4);
            let section = i.modulus_mpa * i.length_mm * i.thickness_mm.powi(2) / 6.0;
            let first = (out.mouth_mm / i.cylinder_mm).acos();
            let (mut strain, mut push) = (0.0_f64, 0.0_f64);
            for k in 0..=600 {
                let b = first * f64::from(k) / 600.0;
                let needed = i.cylinder_mm / 2.0 * b.cos() - out.mouth_mm / 2.0;
                for down in [true, false] {
                    let along = b.sin() + friction * b.cos();
                    let (x, y) = (b.cos() - friction * b.sin(), if down { -along } else { along });
                    let n = needed / (flexibility * (out.across * x + out.mixed * y));
                    if down {
                        push = push.max(-2.0 * n * y);
                    }
                    for m in 0..=400 {
                        let a = -root + (wrap + root) * f64::from(m) / 400.0;
                        let arm = (wrap.sin() - a.sin()) * x - (wrap.cos() - a.cos()) * y;
                        let moment = n * out.radius_mm * arm.abs();
                        strain = strain.max(100.0 * out.curvature_factor * moment / section);
                    }
                }
            }
            assert!(
                (out.strain_percent / strain - 1.0).abs() < 1e-3,
                "{} {strain}",
                out.strain_percent
            );
            assert!((out.insertion_n.unwrap() / push - 1.0).abs() < 1e-3);
        }
    }

    /// A run that stops where the lips lock has no peak: its strain up to there
    /// was once reported as the lip's.
    #[test]
    fn locked_lips_report_the_straight_strain_and_do_not_hold() {
        let out = curved_lip(&LipInput {
            friction: 1.9,
            wrap_deg: 35.0,
            allowed_percent: 50.0,
            ..sample()
        })
        .unwrap();
        assert_eq!((out.insertion_n, out.pull_out_n), (None, None));
        assert_eq!(out.strain_percent, out.strain_across_percent);
        assert!(!out.holds);
    }

    #[test]
    fn physics_is_monotone() {
        let of = |input: LipInput| curved_lip(&input).unwrap();
        let base = of(sample());
        let thick = of(LipInput { thickness_mm: 1.5, ..sample() });
        assert!(thick.strain_percent > base.strain_percent);
        assert!(thick.insertion_n > base.insertion_n);
        let wrapped = of(LipInput { wrap_deg: 25.0, ..sample() });
        assert!(wrapped.strain_percent > base.strain_percent);
        let rough = of(LipInput { friction: 0.5, ..sample() });
        assert!(rough.insertion_n > base.insertion_n);
        let deep = of(LipInput { root_deg: 70.0, ..sample() });
        assert!(deep.strain_percent < base.strain_percent);
        let long = of(LipInput { length_mm: 80.0, ..sample() });
        assert!((long.strain_percent - base.strain_percent).abs() < 1e-12);
        let (two, one) = (long.insertion_n.unwrap(), base.insertion_n.unwrap());
        assert!((two / one - 2.0).abs() < 1e-12);
    }

    #[test]
    fn cylinders_that_fall_out_or_do_not_fit_are_refused() {
        assert!(curved_lip(&LipInput { cylinder_mm: 17.0, ..sample() }).is_err());
        assert!(curved_lip(&LipInput { cylinder_mm: 19.0, ..sample() }).is_err());
        assert!(curved_lip(&LipInput { thickness_mm: 8.0, ..sample() }).is_err());
    }
}
