//! Light: what leaves a pixel's bore, and what a stone does with it.

use super::inputs::{Inputs, choice, choices, inputs, number, number_or};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

inputs! {
    /// A pixel in front of a bore that leads to a stone. See [`light_bore`].
    BoreInput, BORE_INPUTS {
        /// Diameter of the pixel's luminous face.
        source_mm: f64 = number_or(Unit::Mm, 0.1, 50.0, 3.5);
        /// Diameter of the light bore at its mouth.
        bore_mm: f64 = number(Unit::Mm, 0.1, 100.0);
        /// Distance from the pixel's face to that mouth.
        bore_distance_mm: f64 = number(Unit::Mm, 0.01, 500.0);
        /// Diameter of the stone's end face.
        stone_mm: f64 = number(Unit::Mm, 0.1, 100.0);
        /// Distance from the pixel's face to the stone.
        stone_distance_mm: f64 = number(Unit::Mm, 0.01, 500.0);
    }
}

/// Result of [`light_bore`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LightBore {
    /// Half-angle of the bore's mouth seen from the middle of the pixel,
    /// degrees.
    pub half_angle_deg: f64,
    /// Share of a small Lambertian source's flux in that cone, percent.
    pub small_percent: f64,
    /// Share of the pixel's flux through the mouth, percent: disc to disc.
    pub mouth_percent: f64,
    /// Share of the pixel's flux that would reach the stone's face without the
    /// bore in between, percent.
    pub stone_percent: f64,
    /// Upper limit of the share that reaches the stone directly, percent: the
    /// smaller of the two.
    pub direct_percent: f64,
}

/// Share of a Lambertian source's flux inside `half_angle_deg`: `sin^2`.
pub fn lambertian_share(half_angle_deg: f64) -> f64 {
    half_angle_deg.to_radians().sin().powi(2)
}

/// View factor of a disc of radius `r1` to a coaxial disc of radius `r2` at
/// distance `h`, all in one unit and positive:
/// `F = (X - sqrt(X^2 - 4 (r2/r1)^2)) / 2`, `X = 1 + (h^2 + r2^2) / r1^2`.
///
/// Source: the catalogue of radiation view factors (coaxial discs), from
/// memory; checked in the tests by its limits and by reciprocity. Written
/// without the cancelling difference.
pub fn disc_to_disc(r1: f64, r2: f64, h: f64) -> f64 {
    let ratio = (r2 / r1).powi(2);
    let x = 1.0 + (h * h + r2 * r2) / (r1 * r1);
    2.0 * ratio / (x + (x * x - 4.0 * ratio).max(0.0).sqrt())
}

/// How much of a pixel's light goes through its bore and to the stone.
///
/// `sin^2` of the half-angle for a small source, [`disc_to_disc`] for the real
/// one. A 120 degree pixel (half power at 60 degrees) is a Lambertian source.
/// First-order: black walls, no lens, everything coaxial; white walls give
/// more. Refuses a stone nearer than the mouth.
pub fn light_bore(input: &BoreInput) -> Result<LightBore, TradeError> {
    input.check()?;
    if input.stone_distance_mm < input.bore_distance_mm {
        return Err(TradeError::Refused {
            input: "stone_distance_mm",
            value: input.stone_distance_mm,
            min: input.bore_distance_mm,
            max: 500.0,
            unit: Unit::Mm,
            reason: "the stone lies before the mouth of the bore".to_owned(),
            hint: "measure both distances from the pixel's face".to_owned(),
        });
    }
    let source = input.source_mm / 2.0;
    let bore = input.bore_mm / 2.0;
    let half_angle_deg = bore.atan2(input.bore_distance_mm).to_degrees();
    let mouth = disc_to_disc(source, bore, input.bore_distance_mm);
    let stone = disc_to_disc(source, input.stone_mm / 2.0, input.stone_distance_mm);
    Ok(LightBore {
        half_angle_deg,
        small_percent: 100.0 * lambertian_share(half_angle_deg),
        mouth_percent: 100.0 * mouth,
        stone_percent: 100.0 * stone,
        direct_percent: 100.0 * mouth.min(stone),
    })
}

inputs! {
    /// A ray at a surface. See [`refraction`].
    RefractionInput, REFRACTION_INPUTS {
        /// Refractive index on the side the light comes from.
        index_from: f64 = number_or(Unit::One, 1.0, 4.0, 1.0);
        /// Refractive index on the other side.
        index_to: f64 = number(Unit::One, 1.0, 4.0);
        /// Angle of incidence from the normal.
        incidence_deg: f64 = number_or(Unit::Degrees, 0.0, 90.0, 0.0);
        /// Thickness of a plane slab of the second material.
        slab_mm: f64 = number_or(Unit::Mm, 0.0, 1000.0, 0.0);
    }
}

/// Result of [`refraction`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Refraction {
    /// Angle of the refracted ray, degrees; `None` when all is reflected.
    pub refracted_deg: Option<f64>,
    /// Critical angle inside the denser material, degrees; 90 for equal ones.
    pub critical_deg: f64,
    /// Brewster's angle on the first side, degrees.
    pub brewster_deg: f64,
    /// Reflected share at normal incidence, percent.
    pub normal_percent: f64,
    /// Reflected share of unpolarised light at this angle, percent.
    pub reflected_percent: f64,
    /// Share through both faces of a slab at normal incidence, with all inner
    /// reflections, percent.
    pub slab_percent: f64,
    /// Sideways shift of the ray behind the slab, mm; `None` when all is
    /// reflected.
    pub shift_mm: Option<f64>,
}

/// Refraction, reflection and total reflection at a smooth surface.
///
/// Snell `n1 sin a = n2 sin b`; critical angle `asin(n_low / n_high)`; Brewster
/// `atan(n2 / n1)`; Fresnel; slab at normal incidence `2 n / (n^2 + 1)` with
/// `n = n2/n1`; shift `t sin(a - b) / cos b`. Source: textbook optics. Smooth,
/// clear, not absorbing; a frosted face scatters instead.
pub fn refraction(input: &RefractionInput) -> Result<Refraction, TradeError> {
    input.check()?;
    let (n1, n2) = (input.index_from, input.index_to);
    let a = input.incidence_deg.to_radians();
    let sin_b = n1 * a.sin() / n2;
    let r0 = ((n1 - n2) / (n1 + n2)).powi(2);
    let n = n2 / n1;
    let critical_deg = (n1.min(n2) / n1.max(n2)).asin().to_degrees();
    let (refracted, reflected) = if sin_b > 1.0 {
        (None, 1.0)
    } else {
        let b = sin_b.asin();
        let (ca, cb) = (a.cos(), b.cos());
        let s = ((n1 * ca - n2 * cb) / (n1 * ca + n2 * cb)).powi(2);
        let p = ((n1 * cb - n2 * ca) / (n1 * cb + n2 * ca)).powi(2);
        let grazing = n1 * ca + n2 * cb == 0.0 || n1 * cb + n2 * ca == 0.0;
        (Some(b), if grazing { 1.0 } else { (s + p) / 2.0 })
    };
    Ok(Refraction {
        refracted_deg: refracted.map(f64::to_degrees),
        critical_deg,
        brewster_deg: n.atan().to_degrees(),
        normal_percent: 100.0 * r0,
        reflected_percent: 100.0 * reflected,
        slab_percent: 100.0 * 2.0 * n / (n * n + 1.0),
        shift_mm: refracted
            .filter(|b| b.cos() > 0.0)
            .map(|b| input.slab_mm * (a - b).sin() / b.cos()),
    })
}

choices! {
    /// A clear material with published dispersion.
    Clear {
        /// Quartz, ordinary ray (Ghosh 1999); amethyst and citrine are within
        /// 0.0005 of it (from memory).
        QuartzO = "quartz-o",
        /// Quartz, extraordinary ray (Ghosh 1999).
        QuartzE = "quartz-e",
        /// Fluorite, CaF2 (Malitson 1963).
        Fluorite = "fluorite",
        /// Crown glass N-BK7 (Schott).
        Bk7 = "bk7",
        /// Acrylic (Sultanova 2009).
        Pmma = "pmma",
    }
}

impl Clear {
    /// Constant, and `(B, C)` terms of `n^2 = const + sum B L^2 / (L^2 - C)`,
    /// wavelength `L` in micrometres. Source: the references named at the
    /// variants, as collected in the refractiveindex.info database; entered
    /// from memory and checked against its tabulated indices.
    fn terms(self) -> (f64, &'static [(f64, f64)]) {
        match self {
            Clear::QuartzO => {
                (1.286_041_41, &[(1.070_440_83, 1.005_859_97e-2), (1.102_022_42, 100.0)])
            }
            Clear::QuartzE => {
                (1.288_518_04, &[(1.095_099_24, 1.021_018_64e-2), (1.156_624_75, 100.0)])
            }
            Clear::Fluorite => (
                1.0,
                &[
                    (0.567_588_8, 0.050_263_605 * 0.050_263_605),
                    (0.471_091_4, 0.100_390_9 * 0.100_390_9),
                    (3.848_472_3, 34.649_040 * 34.649_040),
                ],
            ),
            Clear::Bk7 => (
                1.0,
                &[
                    (1.039_612_12, 0.006_000_698_67),
                    (0.231_792_344, 0.020_017_914_4),
                    (1.010_469_45, 103.560_653),
                ],
            ),
            Clear::Pmma => (1.0, &[(1.181_9, 0.011_313)]),
        }
    }
}

inputs! {
    /// A clear material and a wavelength. See [`sellmeier`].
    SellmeierInput, SELLMEIER_INPUTS {
        /// The material.
        material: Clear = choice(Clear::WORDS);
        /// Wavelength in air.
        wavelength_nm: f64 = number_or(Unit::Nanometre, 440.0, 1000.0, 587.56);
    }
}

/// Refractive index by Sellmeier's formula.
///
/// Source: see [`Clear`]. Valid 440 to 1000 nm, the part common to all five
/// references; refused outside.
pub fn sellmeier(input: &SellmeierInput) -> Result<f64, TradeError> {
    input.check()?;
    let l2 = (input.wavelength_nm / 1000.0).powi(2);
    let (constant, terms) = input.material.terms();
    let n2: f64 = constant + terms.iter().map(|(b, c)| b * l2 / (l2 - c)).sum::<f64>();
    Ok(n2.sqrt())
}

/// Row of the registry.
pub const LIGHT_BORE: Calculator = Calculator {
    name: "light-bore",
    summary: "how much of a pixel's light reaches the stone",
    inputs: BORE_INPUTS,
    run: work_bore,
};

/// Row of the registry.
pub const REFRACTION: Calculator = Calculator {
    name: "refraction",
    summary: "refraction, reflection and total reflection at a face",
    inputs: REFRACTION_INPUTS,
    run: work_refraction,
};

/// Row of the registry.
pub const SELLMEIER: Calculator = Calculator {
    name: "sellmeier",
    summary: "refractive index of a clear material at a wavelength",
    inputs: SELLMEIER_INPUTS,
    run: work_sellmeier,
};

fn work_bore(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = BoreInput::from_inputs(inputs)?;
    let out = light_bore(&i)?;
    let mut w = Worked::new(inputs, "Lambert's law; catalogue of view factors, coaxial discs");
    w.step(
        "Half-angle of the mouth",
        "a = atan({D} / 2 / {h}) / pi * 180",
        &[("D", i.bore_mm), ("h", i.bore_distance_mm)],
        out.half_angle_deg,
        Unit::Degrees,
    );
    w.step(
        "Share of a small source's flux in that cone",
        "s = 100 * sin({a deg})^2",
        &[("a", out.half_angle_deg)],
        out.small_percent,
        Unit::Percent,
    );
    let template = "F = 50 * (1 + (4 * {h}^2 + {D}^2) / {d}^2 - \
                    sqrt((1 + (4 * {h}^2 + {D}^2) / {d}^2)^2 - 4 * {D}^2 / {d}^2))";
    let mouth = [("h", i.bore_distance_mm), ("D", i.bore_mm), ("d", i.source_mm)];
    w.step("Pixel to mouth, disc to disc", template, &mouth, out.mouth_percent, Unit::Percent);
    let stone = [("h", i.stone_distance_mm), ("D", i.stone_mm), ("d", i.source_mm)];
    w.step("Pixel to stone, disc to disc", template, &stone, out.stone_percent, Unit::Percent);
    w.result("half_angle_deg", "half-angle of the mouth", out.half_angle_deg, Unit::Degrees);
    w.result("mouth_percent", "flux through the mouth", out.mouth_percent, Unit::Percent);
    w.result("stone_percent", "flux to the stone, no bore", out.stone_percent, Unit::Percent);
    w.result("direct_percent", "direct flux, at most", out.direct_percent, Unit::Percent);
    w.note("black walls assumed; white walls add reflected light");
    Ok(w)
}

fn work_refraction(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = RefractionInput::from_inputs(inputs)?;
    let out = refraction(&i)?;
    let mut w = Worked::new(inputs, "Snell, Brewster and Fresnel, textbook optics");
    let n = [("n1", i.index_from), ("n2", i.index_to), ("a", i.incidence_deg)];
    if let Some(b) = out.refracted_deg {
        let template = "b = asin({n1} * sin({a deg}) / {n2}) / pi * 180";
        w.step("Refracted ray", template, &n, b, Unit::Degrees);
        w.result("refracted_deg", "refracted ray", b, Unit::Degrees);
    } else {
        w.note("total reflection: no light passes at this angle");
    }
    let low_high =
        [("n_low", i.index_from.min(i.index_to)), ("n_high", i.index_from.max(i.index_to))];
    let template = "c = asin({n_low} / {n_high}) / pi * 180";
    w.step("Critical angle inside", template, &low_high, out.critical_deg, Unit::Degrees);
    let template = "R0 = 100 * (({n1} - {n2}) / ({n1} + {n2}))^2";
    w.step("Reflected at normal incidence", template, &n[..2], out.normal_percent, Unit::Percent);
    let template = "B = atan({n2} / {n1}) / pi * 180";
    w.step("Brewster's angle", template, &n[..2], out.brewster_deg, Unit::Degrees);
    w.result("critical_deg", "critical angle inside", out.critical_deg, Unit::Degrees);
    w.result("brewster_deg", "Brewster's angle", out.brewster_deg, Unit::Degrees);
    w.result("normal_percent", "reflected, normal incidence", out.normal_percent, Unit::Percent);
    w.result("reflected_percent", "reflected at this angle", out.reflected_percent, Unit::Percent);
    w.result("slab_percent", "through a slab, normal incidence", out.slab_percent, Unit::Percent);
    if let (Some(shift), true) = (out.shift_mm, i.slab_mm > 0.0) {
        w.result("shift_mm", "sideways shift behind the slab", shift, Unit::Mm);
    }
    Ok(w)
}

fn work_sellmeier(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = SellmeierInput::from_inputs(inputs)?;
    let n = sellmeier(&i)?;
    let mut w = Worked::new(inputs, "Sellmeier coefficients: refractiveindex.info database (CC0)");
    let (constant, terms) = i.material.terms();
    let l = i.wavelength_nm / 1000.0;
    let mut template = "n = sqrt({a}".to_owned();
    let names: Vec<String> =
        (1..=terms.len()).flat_map(|k| [format!("B{k}"), format!("C{k}")]).collect();
    let mut bound = vec![("a", constant), ("L", l)];
    for (pair, (b, c)) in names.chunks(2).zip(terms) {
        template += &format!(" + {{{}}} * {{L}}^2 / ({{L}}^2 - {{{}}})", pair[0], pair[1]);
        bound.extend([(pair[0].as_str(), *b), (pair[1].as_str(), *c)]);
    }
    template.push(')');
    w.step("Refractive index, L in micrometres", &template, &bound, n, Unit::One);
    w.result("index", "refractive index", n, Unit::One);
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn view_factor_limits_and_reciprocity() {
        let mut rng = fastrand::Rng::with_seed(21);
        for _ in 0..1000 {
            let (r1, r2, h) =
                (0.1 + 9.0 * rng.f64(), 0.1 + 9.0 * rng.f64(), 0.01 + 30.0 * rng.f64());
            let (there, back) = (disc_to_disc(r1, r2, h), disc_to_disc(r2, r1, h));
            assert!((0.0..=1.0).contains(&there));
            assert!((there * r1 * r1 - back * r2 * r2).abs() < 1e-12 * r1.max(r2).powi(2));
            assert!(disc_to_disc(r1, r2, h * 1.1) < there);
        }
        let small = disc_to_disc(1e-6, 3.0, 4.0);
        assert!((small - lambertian_share(3.0_f64.atan2(4.0).to_degrees())).abs() < 1e-12);
        assert!((disc_to_disc(2.0, 2.0, 1e-9) - 1.0).abs() < 1e-8);
    }

    /// Integrates the Lambertian kernel over both discs by quadrature.
    #[test]
    fn view_factor_matches_a_double_integral() {
        let (r1, r2, h) = (2.0, 3.0, 5.0);
        let n = 60;
        let mid = |i: usize, top: f64| (i as f64 + 0.5) / n as f64 * top;
        let mut sum = 0.0;
        for i in 0..n {
            for j in 0..n {
                for k in 0..n {
                    let (a, b) = (mid(i, r1), mid(j, r2));
                    let phi = mid(k, std::f64::consts::PI);
                    let square = h * h + a * a + b * b - 2.0 * a * b * phi.cos();
                    sum += a * b * h * h / (square * square);
                }
            }
        }
        let cell = r1 * r2 * std::f64::consts::PI / (n as f64).powi(3);
        // Both angles: 2 pi for one disc, twice the half turn for the other.
        let want = sum * cell * 4.0 / (r1 * r1) / std::f64::consts::PI;
        assert!((disc_to_disc(r1, r2, h) / want - 1.0).abs() < 1e-3);
    }

    #[test]
    fn reflection_rises_to_all_at_grazing_and_past_the_critical_angle() {
        let of = |incidence_deg, index_from, index_to| {
            refraction(&RefractionInput { index_from, index_to, incidence_deg, slab_mm: 0.0 })
                .unwrap()
        };
        assert!((of(90.0, 1.0, 1.5).reflected_percent - 100.0).abs() < 1e-9);
        assert_eq!(of(50.0, 1.5, 1.0).refracted_deg, None);
        assert_eq!(of(50.0, 1.5, 1.0).reflected_percent, 100.0);
        assert!((of(0.0, 1.0, 1.5).reflected_percent - 4.0).abs() < 1e-12);
        let equal = of(90.0, 1.5, 1.5);
        assert!(equal.reflected_percent.is_finite());
    }
}
