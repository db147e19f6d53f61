//! Snap fits: cantilever, annular, friction, and the strain a print may take.

use super::inputs::{Inputs, choice, choice_or, choices, inputs, number, number_or};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

/// `(mu + tan a) / (1 - mu tan a)`: push along the axis for a unit of force
/// across it, on a ramp at `angle_deg` with friction; `None` when the ramp
/// locks (`mu tan a >= 1`).
///
/// Source: Covestro "Snap-Fit Joints for Plastics - A Design Guide".
pub fn ramp_factor(friction: f64, angle_deg: f64) -> Option<f64> {
    let tan = angle_deg.to_radians().tan();
    let room = 1.0 - friction * tan;
    (room > 0.0).then(|| (friction + tan) / room)
}

/// Below this `1 - ratio` the closed form of [`taper_integral`] cancels, and
/// the series is used; at 0.2 both agree to 1e-12.
const SERIES_BELOW: f64 = 0.2;
/// Terms of that series; 0.2^24 is under the noise.
const SERIES_TERMS: i32 = 24;

/// `K(r) = integral over u in 0..1 of u^2 / (r + (1 - r) u)^3`, the flexibility
/// of a cantilever whose thickness falls in a straight line to `r` times the
/// root's at the tip: `y = 2 K eps L^2 / h`. `K(1) = 1/3`.
///
/// Derived here: with `a = 1 - r`, `K = (2 r - r^2/2 - 3/2 - ln r) / a^3`, and
/// as a series `sum a^n / (n + 3)`. `2 K(0.5) = 1.0904` is the 1.09 of the
/// published guide.
pub fn taper_integral(ratio: f64) -> f64 {
    let a = 1.0 - ratio;
    if a < SERIES_BELOW {
        return (0..SERIES_TERMS).map(|n| a.powi(n) / f64::from(n + 3)).sum();
    }
    (2.0 * ratio - ratio * ratio / 2.0 - 1.5 - ratio.ln()) / a.powi(3)
}

inputs! {
    /// A snap arm of constant width. See [`cantilever`].
    CantileverInput, CANTILEVER_INPUTS {
        /// Free length of the arm.
        length_mm: f64 = number(Unit::Mm, 0.5, 500.0);
        /// Thickness at the root, in the direction of bending.
        thickness_mm: f64 = number(Unit::Mm, 0.1, 50.0);
        /// Width of the arm.
        width_mm: f64 = number(Unit::Mm, 0.1, 500.0);
        /// Deflection at the tip.
        deflection_mm: f64 = number(Unit::Mm, 0.0, 100.0);
        /// Thickness at the tip as a share of that at the root.
        tip_ratio: f64 = number_or(Unit::One, 0.3, 1.0, 1.0);
        /// Secant modulus of the material at that strain.
        modulus_mpa: f64 = number(Unit::Megapascal, 1.0, 500_000.0);
        /// Coefficient of friction.
        friction: f64 = number_or(Unit::One, 0.0, 2.0, 0.3);
        /// Angle of the lead-in ramp to the direction of insertion.
        entry_deg: f64 = number_or(Unit::Degrees, 0.0, 90.0, 30.0);
        /// Angle of the retaining face to the direction of pull-out.
        exit_deg: f64 = number_or(Unit::Degrees, 0.0, 90.0, 45.0);
        /// Strain that the material may take.
        allowed_percent: f64 = number(Unit::Percent, 0.01, 100.0);
    }
}

/// Result of [`cantilever`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cantilever {
    /// Flexibility factor `2 K`: 2/3 for constant thickness.
    pub factor: f64,
    /// Strain at the root, percent.
    pub root_strain_percent: f64,
    /// Largest strain along the arm, percent; off the root when the tip is
    /// thinner than half the root.
    pub strain_percent: f64,
    /// Deflection at which the strain is the allowed one, mm.
    pub deflection_allowed_mm: f64,
    /// Force across the arm at the tip, N.
    pub deflection_force_n: f64,
    /// Stiffness, N/mm.
    pub stiffness_n_per_mm: f64,
    /// Push to insert, N; `None` when the ramp locks.
    pub insertion_n: Option<f64>,
    /// Pull to remove, N; `None` when the joint is permanent.
    pub pull_out_n: Option<f64>,
    /// Whether the strain is within what is allowed.
    pub holds: bool,
}

/// Strain and forces of a cantilever snap arm.
///
/// `eps = h y / (2 K L^2)` with [`taper_integral`] `K` (constant thickness:
/// `1.5 h y / L^2`), `P = (b h^2 / 6) E eps / L` with the root's strain,
/// `W = P (mu + tan a) / (1 - mu tan a)`.
///
/// With the tip thinner than half the root the largest strain is not at the
/// root: it is `1 / (4 r (1 - r))` of the root's, at `u = r / (1 - r)` of the
/// length from the tip. The guide's factor for 0.3 is the root's.
///
/// Source: Covestro "Snap-Fit Joints for Plastics - A Design Guide"; the taper
/// and the strain maximum derived here. Straight-beam theory, rigid root: for
/// arms shorter than five times their thickness the true strain is lower and
/// the force higher; for deflections over a third of the length it is only an
/// estimate. Inputs outside the table are refused.
pub fn cantilever(input: &CantileverInput) -> Result<Cantilever, TradeError> {
    input.check()?;
    let (l, h, r) = (input.length_mm, input.thickness_mm, input.tip_ratio);
    let factor = 2.0 * taper_integral(r);
    let root = h * input.deflection_mm / (factor * l * l);
    let peak = if r < 0.5 { 1.0 / (4.0 * r * (1.0 - r)) } else { 1.0 };
    let stiffness_n_per_mm =
        input.width_mm * h.powi(3) * input.modulus_mpa / (6.0 * factor * l.powi(3));
    let force = input.width_mm * h * h / 6.0 * input.modulus_mpa * root / l;
    let strain_percent = 100.0 * root * peak;
    let push = |angle| ramp_factor(input.friction, angle).map(|f| force * f);
    Ok(Cantilever {
        factor,
        root_strain_percent: 100.0 * root,
        strain_percent,
        deflection_allowed_mm: input.allowed_percent / 100.0 / peak * factor * l * l / h,
        deflection_force_n: force,
        stiffness_n_per_mm,
        insertion_n: push(input.entry_deg),
        pull_out_n: push(input.exit_deg),
        holds: strain_percent <= input.allowed_percent,
    })
}

choices! {
    /// Which half of an annular snap gives way.
    Elastic {
        /// An elastic tube on a rigid shaft.
        Tube = "tube",
        /// An elastic hollow or solid shaft in a rigid tube.
        Shaft = "shaft",
    }
}

inputs! {
    /// A ring-shaped snap. See [`annular`].
    AnnularInput, ANNULAR_INPUTS {
        /// Diameter of the joint.
        joint_mm: f64 = number(Unit::Mm, 1.0, 500.0);
        /// Outer diameter of the elastic tube, or bore of the elastic shaft
        /// (0 for a solid one).
        other_mm: f64 = number(Unit::Mm, 0.0, 1000.0);
        /// Undercut on the diameter.
        undercut_mm: f64 = number(Unit::Mm, 0.0, 50.0);
        /// Which half gives way: `tube` or `shaft`.
        elastic: Elastic = choice_or(Elastic::WORDS, "tube");
        /// Secant modulus.
        modulus_mpa: f64 = number(Unit::Megapascal, 1.0, 500_000.0);
        /// Poisson's ratio.
        poisson: f64 = number_or(Unit::One, 0.0, 0.5, 0.35);
        /// Coefficient of friction.
        friction: f64 = number_or(Unit::One, 0.0, 2.0, 0.5);
        /// Angle of the lead-in to the axis.
        entry_deg: f64 = number_or(Unit::Degrees, 0.0, 90.0, 30.0);
    }
}

/// Result of [`annular`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Annular {
    /// Hoop strain, percent: undercut on the diameter over the diameter.
    pub strain_percent: f64,
    /// Geometry factor X of the guide.
    pub geometry: f64,
    /// Force across the joint, N.
    pub transverse_n: f64,
    /// Push to assemble near the end of the tube, N; `None` when it locks.
    pub insertion_n: Option<f64>,
    /// Upper estimate when the joint is remote from the end, N.
    pub insertion_remote_n: Option<f64>,
    /// Distance from the end from which the joint counts as remote, mm.
    pub remote_mm: f64,
}

/// Factor between a joint near the end and a remote one: theory 4, tests at
/// most 3 (Covestro guide).
const REMOTE_FACTOR: f64 = 3.0;

/// Strain and push of an annular snap near the end of the tube.
///
/// `eps = y / d` with the **diametral** undercut `y` (half of it on the
/// radius); `P = y d E X`; elastic tube: `X = 0.62 sqrt((q-1)/(q+1)) /
/// ((q^2+1)/(q^2-1) + nu)`, `q = d0/d`; elastic shaft: the same with
/// `q = d/di` and `- nu`. Remote from the end (`1.8 sqrt(d t)` or more) up to
/// three times as much.
///
/// Source: Covestro guide, annular joints. Refuses a tube not larger than the
/// joint, a shaft bore not smaller. A solid shaft does not give way and is
/// refused.
pub fn annular(input: &AnnularInput) -> Result<Annular, TradeError> {
    input.check()?;
    let d = input.joint_mm;
    let (ratio, nu, range) = match input.elastic {
        Elastic::Tube => (input.other_mm / d, input.poisson, (d, 1000.0)),
        Elastic::Shaft => (d / input.other_mm, -input.poisson, (0.0, d)),
    };
    if !(ratio > 1.0 && ratio.is_finite()) {
        return Err(TradeError::Refused {
            input: "other_mm",
            value: input.other_mm,
            min: range.0,
            max: range.1,
            unit: Unit::Mm,
            reason: "the elastic half has no wall".to_owned(),
            hint: "give the tube's outer diameter, or the bore of a hollow shaft".to_owned(),
        });
    }
    let q2 = ratio * ratio;
    let geometry = 0.62 * ((ratio - 1.0) / (ratio + 1.0)).sqrt() / ((q2 + 1.0) / (q2 - 1.0) + nu);
    let transverse_n = input.undercut_mm * d * input.modulus_mpa * geometry;
    let insertion_n = ramp_factor(input.friction, input.entry_deg).map(|f| transverse_n * f);
    let wall = (input.other_mm - d).abs() / 2.0;
    Ok(Annular {
        strain_percent: 100.0 * input.undercut_mm / d,
        geometry,
        transverse_n,
        insertion_n,
        insertion_remote_n: insertion_n.map(|w| REMOTE_FACTOR * w),
        remote_mm: 1.8 * (d * wall).sqrt(),
    })
}

choices! {
    /// A printed material with measured flexural data.
    Material {
        /// Polylactide.
        Pla = "pla",
        /// Glycol-modified polyester.
        Petg = "petg",
        /// Acrylonitrile styrene acrylate.
        Asa = "asa",
        /// Polyamide 12, sintered or fused.
        Pa12 = "pa12",
    }
}

/// Snap data of a printed material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SnapMaterial {
    /// Flexural modulus, MPa.
    pub modulus_mpa: f64,
    /// Strain at yield, percent.
    pub yield_percent: f64,
    /// Strain allowed for one assembly, percent.
    pub once_percent: f64,
    /// Strain allowed for repeated use, percent.
    pub repeated_percent: f64,
    /// Factor when the bending opens the layers.
    pub across_factor: f64,
}

impl Material {
    /// Snap data, printed flat.
    ///
    /// Source: flexural modulus and yield strain from filament data sheets;
    /// once = a third of the yield strain, repeated = 0.6 of that (additive
    /// and moulded guides). Across the layers: half, or the ratio of hook tests
    /// printed upright and flat where that is lower (PETG 0.46, ASA 0.29; PLA
    /// 0.55). PA12's yield strain is an estimate, its half common practice.
    pub fn snap(self) -> SnapMaterial {
        let (modulus_mpa, yield_percent, once_percent, repeated_percent, across_factor) = match self
        {
            Material::Pla => (3100.0, 2.9, 1.0, 0.6, 0.5),
            Material::Petg => (1700.0, 5.1, 1.7, 1.0, 0.46),
            Material::Asa => (2000.0, 3.4, 1.1, 0.7, 0.29),
            Material::Pa12 => (1800.0, 10.0, 3.3, 2.0, 0.5),
        };
        SnapMaterial { modulus_mpa, yield_percent, once_percent, repeated_percent, across_factor }
    }
}

/// Strain that a printed snap may take, percent: [`Material::snap`], for one
/// assembly or repeated use, along or across the layers.
pub fn allowed_strain_percent(material: Material, repeated: bool, across_layers: bool) -> f64 {
    let data = material.snap();
    let flat = if repeated { data.repeated_percent } else { data.once_percent };
    flat * if across_layers { data.across_factor } else { 1.0 }
}

inputs! {
    /// Which material, how used. See [`allowed_strain_percent`].
    SnapMaterialInput, SNAP_MATERIAL_INPUTS {
        /// The printed material.
        material: Material = choice(Material::WORDS);
        /// Whether the snap is opened again and again.
        repeated: bool = crate::measure::Kind::Flag { default: true };
        /// Whether bending opens the layers.
        across_layers: bool = crate::measure::Kind::Flag { default: false };
    }
}

/// Row of the registry.
pub const SNAP_CANTILEVER: Calculator = Calculator {
    name: "snap-cantilever",
    summary: "strain and forces of a cantilever snap arm",
    inputs: CANTILEVER_INPUTS,
    run: work_cantilever,
};

/// Row of the registry.
pub const SNAP_ANNULAR: Calculator = Calculator {
    name: "snap-annular",
    summary: "strain and push of a ring-shaped snap",
    inputs: ANNULAR_INPUTS,
    run: work_annular,
};

/// Row of the registry.
pub const SNAP_MATERIAL: Calculator = Calculator {
    name: "snap-material",
    summary: "strain that a printed snap may take",
    inputs: SNAP_MATERIAL_INPUTS,
    run: work_material,
};

const GUIDE: &str = "Covestro, Snap-Fit Joints for Plastics - A Design Guide; taper derived here";

fn work_cantilever(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = CantileverInput::from_inputs(inputs)?;
    let out = cantilever(&i)?;
    let mut w = Worked::new(inputs, GUIDE);
    if i.tip_ratio < 1.0 - SERIES_BELOW {
        w.step(
            "Flexibility of the tapered arm",
            "f = 2 * (2 * {r} - {r}^2 / 2 - 1.5 - ln({r})) / (1 - {r})^3",
            &[("r", i.tip_ratio)],
            out.factor,
            Unit::One,
        );
    } else {
        w.step("Flexibility, 2/3 without taper", "f = 2 * K(r)", &[], out.factor, Unit::One);
    }
    w.step(
        "Strain at the root",
        "eps = 100 * {h} * {y} / ({f} * {L}^2)",
        &[("h", i.thickness_mm), ("y", i.deflection_mm), ("f", out.factor), ("L", i.length_mm)],
        out.root_strain_percent,
        Unit::Percent,
    );
    if i.tip_ratio < 0.5 {
        w.step(
            "Largest strain, off the root",
            "eps_max = {eps} / (4 * {r} * (1 - {r}))",
            &[("eps", out.root_strain_percent), ("r", i.tip_ratio)],
            out.strain_percent,
            Unit::Percent,
        );
    }
    w.step(
        "Force across the arm",
        "P = {b} * {h}^2 / 6 * {E} * {eps} / 100 / {L}",
        &[
            ("b", i.width_mm),
            ("h", i.thickness_mm),
            ("E", i.modulus_mpa),
            ("eps", out.root_strain_percent),
            ("L", i.length_mm),
        ],
        out.deflection_force_n,
        Unit::Newton,
    );
    let ramps = [
        ("Push to insert", "W", i.entry_deg, out.insertion_n),
        ("Pull to remove", "W'", i.exit_deg, out.pull_out_n),
    ];
    for (what, name, angle, force) in ramps {
        let Some(force) = force else { continue };
        w.step(
            what,
            &format!("{name} = {{P}} * ({{mu}} + tan({{a deg}})) / (1 - {{mu}} * tan({{a deg}}))"),
            &[("P", out.deflection_force_n), ("mu", i.friction), ("a", angle)],
            force,
            Unit::Newton,
        );
    }
    w.result("strain_percent", "largest strain", out.strain_percent, Unit::Percent);
    w.result(
        "deflection_allowed_mm",
        "deflection at the allowed strain",
        out.deflection_allowed_mm,
        Unit::Mm,
    );
    w.result("deflection_force_n", "force across the arm", out.deflection_force_n, Unit::Newton);
    w.result("stiffness_n_per_mm", "stiffness", out.stiffness_n_per_mm, Unit::NewtonPerMm);
    match out.insertion_n {
        Some(n) => w.result("insertion_n", "push to insert", n, Unit::Newton),
        None => w.note("the lead-in locks: it cannot be pushed in at this angle and friction"),
    }
    match out.pull_out_n {
        Some(n) => w.result("pull_out_n", "pull to remove", n, Unit::Newton),
        None => w.note("permanent: the retaining face locks and does not let go"),
    }
    w.note(if out.holds {
        "strain allowed"
    } else {
        "TOO MUCH STRAIN: the arm would crack or set"
    });
    if i.length_mm < 5.0 * i.thickness_mm {
        w.note("short arm: shear and a soft root make the strain lower than stated");
    }
    Ok(w)
}

fn work_annular(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = AnnularInput::from_inputs(inputs)?;
    let out = annular(&i)?;
    let mut w = Worked::new(inputs, GUIDE);
    w.step(
        "Hoop strain, from the undercut on the diameter",
        "eps = 100 * {y} / {d}",
        &[("y", i.undercut_mm), ("d", i.joint_mm)],
        out.strain_percent,
        Unit::Percent,
    );
    let (ratio, sign) = match i.elastic {
        Elastic::Tube => (i.other_mm / i.joint_mm, "+"),
        Elastic::Shaft => (i.joint_mm / i.other_mm, "-"),
    };
    w.step(
        "Geometry factor",
        &format!(
            "X = 0.62 * sqrt(({{q}} - 1) / ({{q}} + 1)) / (({{q}}^2 + 1) / ({{q}}^2 - 1) {sign} {{nu}})"
        ),
        &[("q", ratio), ("nu", i.poisson)],
        out.geometry,
        Unit::One,
    );
    w.step(
        "Force across the joint",
        "P = {y} * {d} * {E} * {X}",
        &[("y", i.undercut_mm), ("d", i.joint_mm), ("E", i.modulus_mpa), ("X", out.geometry)],
        out.transverse_n,
        Unit::Newton,
    );
    if let (Some(n), Some(remote)) = (out.insertion_n, out.insertion_remote_n) {
        w.step(
            "Push to assemble",
            "W = {P} * ({mu} + tan({a deg})) / (1 - {mu} * tan({a deg}))",
            &[("P", out.transverse_n), ("mu", i.friction), ("a", i.entry_deg)],
            n,
            Unit::Newton,
        );
        w.result("insertion_n", "push near the tube's end", n, Unit::Newton);
        w.result("insertion_remote_n", "push far from the end, at most", remote, Unit::Newton);
    } else {
        w.note("the lead-in locks: it cannot be pushed together at this angle and friction");
    }
    w.result("strain_percent", "hoop strain", out.strain_percent, Unit::Percent);
    w.result("transverse_n", "force across the joint", out.transverse_n, Unit::Newton);
    w.result("remote_mm", "remote from this distance to the end", out.remote_mm, Unit::Mm);
    Ok(w)
}

fn work_material(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = SnapMaterialInput::from_inputs(inputs)?;
    let data = i.material.snap();
    let allowed = allowed_strain_percent(i.material, i.repeated, i.across_layers);
    let mut w = Worked::new(inputs, "filament data sheets and snap guides; see the table's docs");
    let flat = if i.repeated { data.repeated_percent } else { data.once_percent };
    let k = if i.across_layers { data.across_factor } else { 1.0 };
    let bound = [("eps", flat), ("k", k)];
    w.step("Allowed strain", "a = {eps} * {k}", &bound, allowed, Unit::Percent);
    w.result("allowed_percent", "allowed strain", allowed, Unit::Percent);
    w.result("modulus_mpa", "flexural modulus", data.modulus_mpa, Unit::Megapascal);
    w.result("yield_percent", "strain at yield", data.yield_percent, Unit::Percent);
    w.note("print and test one: layer bond and infill change these values");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn taper_series_and_closed_form_meet() {
        let near = |r: f64| {
            let a = 1.0 - r;
            (2.0 * r - r * r / 2.0 - 1.5 - r.ln()) / a.powi(3)
        };
        assert!((taper_integral(0.81) - near(0.81)).abs() < 1e-12);
        assert!((taper_integral(1.0) - 1.0 / 3.0).abs() < 1e-15);
        assert!((2.0 * taper_integral(0.5) - 1.090_355).abs() < 1e-6);
        assert!((2.0 * taper_integral(0.3) - 1.510_05).abs() < 1e-5);
    }

    #[test]
    fn thin_tip_moves_the_strain_off_the_root() {
        let ratio = |r: f64| {
            let u = |u: f64| u / (r + (1.0 - r) * u).powi(2);
            (0..=10_000).map(|i| u(f64::from(i) / 10_000.0)).fold(0.0, f64::max)
        };
        for r in [0.3, 0.4, 0.5, 0.7, 1.0] {
            let out = cantilever(&CantileverInput {
                length_mm: 20.0,
                thickness_mm: 2.0,
                width_mm: 5.0,
                deflection_mm: 1.0,
                tip_ratio: r,
                modulus_mpa: 2000.0,
                friction: 0.3,
                entry_deg: 30.0,
                exit_deg: 45.0,
                allowed_percent: 2.0,
            })
            .unwrap();
            let want = out.root_strain_percent * ratio(r);
            assert!((out.strain_percent / want - 1.0).abs() < 1e-6, "{r}");
        }
    }

    #[test]
    fn ramps_lock_where_friction_times_slope_is_one() {
        assert_eq!(ramp_factor(1.0, 45.1), None);
        assert!(ramp_factor(1.0, 44.9).is_some_and(|f| f > 100.0));
        assert!((ramp_factor(0.6, 30.0).unwrap() - 1.80136).abs() < 1e-5);
    }

    #[test]
    fn across_layers_never_allows_more() {
        for m in Material::ALL {
            for repeated in [false, true] {
                let along = allowed_strain_percent(*m, repeated, false);
                assert!(allowed_strain_percent(*m, repeated, true) <= along / 2.0);
                assert!(along < m.snap().yield_percent / 2.0);
            }
        }
    }
}
