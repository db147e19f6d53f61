//! Wires: gauge, resistance, drop, bundles and ducts.

use std::f64::consts::PI;

use super::inputs::{Inputs, inputs, integer, number, number_or};
use super::{Calculator, TradeError, Worked, num};
use crate::measure::Unit;

/// Resistivity of annealed copper at 20 degC, ohm mm2/m (IEC 60028: 1/58).
pub const COPPER_OHM_MM2_PER_M: f64 = 1.0 / 58.0;
/// Its temperature coefficient at 20 degC, 1/K (IEC 60028, from memory).
pub const COPPER_PER_KELVIN: f64 = 0.00393;

/// A gauge with its usual current and its usual insulated diameters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugeRow {
    /// Gauge number.
    pub gauge: i64,
    /// Chassis wiring current, A: one wire in free air.
    pub chassis_a: f64,
    /// Outer diameter in soft silicone, mm.
    pub silicone_mm: Option<f64>,
}

/// Source: currents from a university physics reference; diameters of soft
/// silicone wire from a maker's table (20 AWG: common practice, no source).
/// Trust the outer diameter; printed walls in such tables do not add up.
pub const GAUGES: [GaugeRow; 7] = [
    GaugeRow { gauge: 20, chassis_a: 11.0, silicone_mm: Some(1.8) },
    GaugeRow { gauge: 22, chassis_a: 7.0, silicone_mm: Some(1.7) },
    GaugeRow { gauge: 24, chassis_a: 3.5, silicone_mm: Some(1.6) },
    GaugeRow { gauge: 26, chassis_a: 2.2, silicone_mm: Some(1.5) },
    GaugeRow { gauge: 28, chassis_a: 1.4, silicone_mm: Some(1.2) },
    GaugeRow { gauge: 30, chassis_a: 0.86, silicone_mm: Some(0.8) },
    GaugeRow { gauge: 32, chassis_a: 0.53, silicone_mm: None },
];

/// Diameter of a solid conductor, mm: `0.127 * 92^((36 - n) / 39)`.
///
/// Source: ASTM B258. Exact by definition for whole gauges from 0 to 40;
/// stranded wire is about 5 % thicker.
pub fn gauge_mm(gauge: f64) -> f64 {
    0.127 * 92.0_f64.powf((36.0 - gauge) / 39.0)
}

/// Gauge, not rounded, of `strands` wires of `strand_mm` by equal area.
pub fn gauge_of_strands(strands: f64, strand_mm: f64) -> f64 {
    36.0 - 39.0 * (strands.sqrt() * strand_mm / 0.127).ln() / 92.0_f64.ln()
}

inputs! {
    /// A run of two wires, out and back. See [`wire`].
    WireInput, WIRE_INPUTS {
        /// American wire gauge.
        gauge: i64 = integer(10, 40);
        /// Length of the run, one way.
        run_m: f64 = number_or(Unit::Metre, 0.0, 100.0, 0.15);
        /// Current.
        current_a: f64 = number(Unit::Ampere, 0.0, 100.0);
        /// Temperature of the copper.
        copper_degc: f64 = number_or(Unit::Celsius, -40.0, 150.0, 20.0);
        /// Share of the free-air current that wires in a tube may carry
        /// (common practice 0.5 to 0.7, no source).
        derating: f64 = number_or(Unit::One, 0.1, 1.0, 0.5);
    }
}

/// Result of [`wire`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wire {
    /// Diameter of the solid conductor, mm.
    pub conductor_mm: f64,
    /// Its area, mm2.
    pub area_mm2: f64,
    /// Resistance per metre of wire, mOhm/m.
    pub resistance_mohm_per_m: f64,
    /// Drop over both wires, mV.
    pub drop_mv: f64,
    /// Loss in both wires, mW.
    pub loss_mw: f64,
    /// Current advised for bundled wire, A; `None` for gauges not in
    /// [`GAUGES`].
    pub advised_a: Option<f64>,
    /// Outer diameter in soft silicone, mm, where [`GAUGES`] has one.
    pub silicone_mm: Option<f64>,
}

/// Resistance, drop and loss of a run.
///
/// `d = 0.127 * 92^((36-n)/39)`, `R' = rho (1 + 0.00393 (T - 20)) / area`,
/// `U = 2 l I R'`, `P = U I`. Source: ASTM B258, IEC 60028. Direct current,
/// solid copper; plated or aluminium-core wire has more resistance. The
/// advised current is the free-air chassis value times the derating: common
/// practice, not a rating.
pub fn wire(input: &WireInput) -> Result<Wire, TradeError> {
    input.check()?;
    let conductor_mm = gauge_mm(input.gauge as f64);
    let area_mm2 = PI / 4.0 * conductor_mm * conductor_mm;
    let warm = 1.0 + COPPER_PER_KELVIN * (input.copper_degc - 20.0);
    let resistance_mohm_per_m = 1000.0 * COPPER_OHM_MM2_PER_M * warm / area_mm2;
    let drop_mv = 2.0 * input.run_m * input.current_a * resistance_mohm_per_m;
    let row = GAUGES.iter().find(|row| row.gauge == input.gauge);
    Ok(Wire {
        conductor_mm,
        area_mm2,
        resistance_mohm_per_m,
        drop_mv,
        loss_mw: drop_mv * input.current_a,
        advised_a: row.map(|row| row.chassis_a * input.derating),
        silicone_mm: row.and_then(|row| row.silicone_mm),
    })
}

/// Radius of the smallest circle around `n` equal unit circles, for n from 1.
///
/// Source: the published table of circle packings in a circle, from memory:
/// proved best for 1 to 13 and 19, best known for the others. The closed forms
/// are written as such.
const PACKING: [f64; 19] = [
    1.0,
    2.0,
    2.154_700_538_379_252, // 1 + 2/sqrt 3
    2.414_213_562_373_095, // 1 + sqrt 2
    2.701_301_616_704_08,  // 1 + 1/sin 36 deg
    3.0,
    3.0,
    3.304_764_871_0, // 1 + 1/sin(180/7 deg), rounded up
    3.613_125_929_8, // 1 + sqrt(2 (2 + sqrt 2)), rounded up
    3.813_025_632,
    3.923_804_400_2, // 1 + 1/sin 20 deg, rounded up
    4.029_601_931,
    4.236_067_977_5, // 2 + sqrt 5
    4.328_428_556,
    4.521_356_935,
    4.615_425_596,
    4.792_033_739,
    4.863_703_305_2, // 1 + sqrt 2 + sqrt 6
    4.863_703_305_2,
];

/// Circle around `n` equal unit circles, and whether it is proved smallest.
///
/// Up to 19 from the table of packings; above, a hexagon of `k` full rings holds
/// `1 + 3 k (k + 1)` circles in radius `2 k + 1`, which is an upper bound.
/// `None` for zero.
pub fn bundle_factor(n: i64) -> Option<(f64, bool)> {
    if n < 1 {
        return None;
    }
    if let Some(factor) = PACKING.get(usize::try_from(n - 1).ok()?) {
        return Some((*factor, n <= 13 || n == 19));
    }
    let rings = ((((12 * n - 3) as f64).sqrt() - 3.0) / 6.0).ceil();
    Some((2.0 * rings + 1.0, false))
}

/// Most wires in one bundle.
const MOST_WIRES: i64 = 200;

inputs! {
    /// A bundle of equal wires and the duct for it. See [`bundle`].
    BundleInput, BUNDLE_INPUTS {
        /// Number of wires.
        wires: i64 = integer(1, MOST_WIRES);
        /// Outer diameter of each wire, insulation included.
        wire_mm: f64 = number(Unit::Mm, 0.1, 20.0);
        /// Room in the duct beyond the bundle (common practice 10 to 15, no
        /// source).
        slack_percent: f64 = number_or(Unit::Percent, 0.0, 200.0, 15.0);
        /// Depth of a flat duct; left out, only the round one is found.
        flat_depth_mm: Option<f64> = super::inputs::optional(Unit::Mm, 0.1, 100.0);
    }
}

/// Result of [`bundle`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bundle {
    /// Bundle diameter over wire diameter.
    pub factor: f64,
    /// Whether that is proved smallest; else it is a packing that exists.
    pub exact: bool,
    /// Diameter of the bundle, mm.
    pub bundle_mm: f64,
    /// Diameter of a round duct with the slack, mm.
    pub duct_mm: f64,
    /// Width of the flat duct with the slack, mm, if a depth was given.
    pub flat_width_mm: Option<f64>,
}

/// Diameter of a bundle of equal wires, and the duct for it.
///
/// Bundle: [`bundle_factor`] times the wire. Round duct: bundle times
/// `1 + slack`. Flat duct: `floor(depth / wire)` rows in a square grid, as many
/// columns as needed, width times `1 + slack`. Soft insulation packs tighter
/// than this. Refuses a flat duct shallower than one wire.
pub fn bundle(input: &BundleInput) -> Result<Bundle, TradeError> {
    input.check()?;
    let (factor, exact) = bundle_factor(input.wires).expect("the count was checked");
    let bundle_mm = factor * input.wire_mm;
    let slack = 1.0 + input.slack_percent / 100.0;
    let flat_width_mm = match input.flat_depth_mm {
        None => None,
        Some(depth) if depth < input.wire_mm => {
            return Err(TradeError::Refused {
                input: "flat_depth_mm",
                value: depth,
                min: input.wire_mm,
                max: 100.0,
                unit: Unit::Mm,
                reason: "the duct is shallower than one wire".to_owned(),
                hint: format!("make it at least {} mm deep", num(input.wire_mm)),
            });
        }
        Some(depth) => {
            let rows = (depth / input.wire_mm).floor();
            Some((input.wires as f64 / rows).ceil() * input.wire_mm * slack)
        }
    };
    Ok(Bundle { factor, exact, bundle_mm, duct_mm: bundle_mm * slack, flat_width_mm })
}

/// Row of the registry.
pub const WIRE: Calculator = Calculator {
    name: "wire",
    summary: "diameter, resistance, drop and loss of a run of wire",
    inputs: WIRE_INPUTS,
    run: work_wire,
};

/// Row of the registry.
pub const WIRE_BUNDLE: Calculator = Calculator {
    name: "wire-bundle",
    summary: "diameter of a bundle of equal wires and its duct",
    inputs: BUNDLE_INPUTS,
    run: work_bundle,
};

fn work_wire(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = WireInput::from_inputs(inputs)?;
    let out = wire(&i)?;
    let mut w = Worked::new(inputs, "ASTM B258; IEC 60028; current: common practice, derated");
    w.step(
        "Diameter of the conductor",
        "d = 0.127 * 92^((36 - {n}) / 39)",
        &[("n", i.gauge as f64)],
        out.conductor_mm,
        Unit::Mm,
    );
    w.step("Area", "A = pi / 4 * {d}^2", &[("d", out.conductor_mm)], out.area_mm2, Unit::Mm2);
    w.step(
        "Resistance per metre",
        "R' = 1000 / 58 * (1 + 0.00393 * ({T} - 20)) / {A}",
        &[("T", i.copper_degc), ("A", out.area_mm2)],
        out.resistance_mohm_per_m,
        Unit::MilliohmPerMetre,
    );
    w.step(
        "Drop over both wires",
        "U = 2 * {l} * {I} * {R'}",
        &[("l", i.run_m), ("I", i.current_a), ("R'", out.resistance_mohm_per_m)],
        out.drop_mv,
        Unit::Millivolt,
    );
    w.step(
        "Loss",
        "P = {U} * {I}",
        &[("U", out.drop_mv), ("I", i.current_a)],
        out.loss_mw,
        Unit::Milliwatt,
    );
    w.result("conductor_mm", "diameter of the conductor", out.conductor_mm, Unit::Mm);
    w.result("area_mm2", "area of the conductor", out.area_mm2, Unit::Mm2);
    w.result(
        "resistance_mohm_per_m",
        "resistance per metre",
        out.resistance_mohm_per_m,
        Unit::MilliohmPerMetre,
    );
    w.result("drop_mv", "drop over both wires", out.drop_mv, Unit::Millivolt);
    w.result("loss_mw", "loss in both wires", out.loss_mw, Unit::Milliwatt);
    if let Some(outer) = out.silicone_mm {
        w.result("silicone_mm", "outer diameter in soft silicone", outer, Unit::Mm);
    }
    if let Some(advised) = out.advised_a {
        w.result("advised_a", "current advised in a bundle", advised, Unit::Ampere);
        if i.current_a > advised {
            w.note("MORE current than common practice advises for this gauge in a tube");
        }
    }
    w.note("current advice is common practice, no rating; a fuse protects the wire, not the load");
    Ok(w)
}

fn work_bundle(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = BundleInput::from_inputs(inputs)?;
    let out = bundle(&i)?;
    let mut w = Worked::new(inputs, "table of circle packings in a circle, from memory");
    w.step("Bundle over wire diameter", "f = table of packings", &[], out.factor, Unit::One);
    w.step(
        "Diameter of the bundle",
        "D = {f} * {d}",
        &[("f", out.factor), ("d", i.wire_mm)],
        out.bundle_mm,
        Unit::Mm,
    );
    w.step(
        "Round duct",
        "duct = {D} * (1 + {s} / 100)",
        &[("D", out.bundle_mm), ("s", i.slack_percent)],
        out.duct_mm,
        Unit::Mm,
    );
    w.result("bundle_mm", "diameter of the bundle", out.bundle_mm, Unit::Mm);
    w.result("duct_mm", "diameter of a round duct", out.duct_mm, Unit::Mm);
    if let Some(width) = out.flat_width_mm {
        w.result("flat_width_mm", "width of the flat duct", width, Unit::Mm);
    }
    w.note(if out.exact {
        "smallest possible circle"
    } else {
        "an upper bound: this packing exists"
    });
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packings_match_their_closed_forms_and_grow() {
        let sin = |deg: f64| deg.to_radians().sin();
        let forms = [
            (3, 1.0 + 2.0 / 3.0_f64.sqrt()),
            (4, 1.0 + 2.0_f64.sqrt()),
            (5, 1.0 + 1.0 / sin(36.0)),
            (8, 1.0 + 1.0 / sin(180.0 / 7.0)),
            (9, 1.0 + 1.0 / sin(22.5)),
            (11, 1.0 + 1.0 / sin(20.0)),
            (13, 2.0 + 5.0_f64.sqrt()),
            (19, 1.0 + 2.0_f64.sqrt() + 6.0_f64.sqrt()),
        ];
        for (n, want) in forms {
            let (have, exact) = bundle_factor(n).unwrap();
            assert!(
                (have - want).abs() < 2e-9 && have >= want - 1e-12 && exact,
                "{n} {have} {want}"
            );
        }
        for n in 1..MOST_WIRES {
            let (a, b) = (bundle_factor(n).unwrap().0, bundle_factor(n + 1).unwrap().0);
            assert!(a <= b, "{n}");
            // No packing is denser than the hexagonal one, pi / sqrt 12.
            assert!(n as f64 / (a * a) <= 1.0, "{n}");
        }
        assert_eq!(bundle_factor(37).unwrap().0, 7.0);
        assert_eq!(bundle_factor(38).unwrap().0, 9.0);
        assert_eq!(bundle_factor(0), None);
    }

    /// Finds each tabled packing by pushing overlapping circles apart from
    /// random starts: the circles do fit, to a thousandth of the radius.
    #[test]
    fn tabled_packings_exist() {
        let mut rng = fastrand::Rng::with_seed(19);
        for n in 2..=19 {
            let room = bundle_factor(n as i64).unwrap().0 * 1.001 - 1.0;
            let mut found = false;
            for _ in 0..400 {
                let mut p: Vec<[f64; 2]> =
                    (0..n).map(|_| [0, 1].map(|_| room * (2.0 * rng.f64() - 1.0))).collect();
                for _ in 0..4000 {
                    let mut overlap = 0.0_f64;
                    for i in 0..n {
                        for j in 0..i {
                            let (dx, dy) = (p[i][0] - p[j][0], p[i][1] - p[j][1]);
                            let d = dx.hypot(dy).max(1e-9);
                            if d < 2.0 {
                                overlap = overlap.max(2.0 - d);
                                let push = (2.0 - d) / 2.0 / d;
                                p[i] = [p[i][0] + push * dx, p[i][1] + push * dy];
                                p[j] = [p[j][0] - push * dx, p[j][1] - push * dy];
                            }
                        }
                        let r = p[i][0].hypot(p[i][1]);
                        if r > room {
                            overlap = overlap.max(r - room);
                            p[i] = p[i].map(|v| v * room / r);
                        }
                    }
                    if overlap < 1e-4 {
                        found = true;
                        break;
                    }
                }
                if found {
                    break;
                }
            }
            assert!(found, "{n} circles in {}", room + 1.0);
        }
    }

    #[test]
    fn thicker_gauge_drops_less() {
        let drop = |gauge| {
            let input =
                WireInput { gauge, run_m: 0.2, current_a: 1.0, copper_degc: 20.0, derating: 0.5 };
            wire(&input).unwrap().drop_mv
        };
        for gauge in 10..40 {
            let ratio = drop(gauge + 1) / drop(gauge);
            assert!((ratio - 1.260_976_72).abs() < 1e-8);
        }
    }

    #[test]
    fn flat_duct_holds_its_wires() {
        let input =
            BundleInput { wires: 7, wire_mm: 1.5, slack_percent: 0.0, flat_depth_mm: Some(3.2) };
        assert_eq!(bundle(&input).unwrap().flat_width_mm, Some(6.0));
        assert!(bundle(&BundleInput { flat_depth_mm: Some(1.0), ..input }).is_err());
    }
}
