//! Metric screws and nuts: tables and the features cut for them.

use std::f64::consts::PI;

use super::inputs::{Inputs, choice, choice_or, choices, inputs, number_or, optional};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

choices! {
    /// Metric coarse thread.
    Size {
        /// M1.6.
        M1_6 = "M1.6",
        /// M2.
        M2 = "M2",
        /// M2.5.
        M2_5 = "M2.5",
        /// M3.
        M3 = "M3",
        /// M4.
        M4 = "M4",
    }
}

choices! {
    /// Series of ISO 273 clearance holes.
    Series {
        /// Fine, H12.
        Fine = "fine",
        /// Medium, H13.
        Medium = "medium",
        /// Coarse, H14.
        Coarse = "coarse",
    }
}

choices! {
    /// Shape of a screw's head.
    Head {
        /// None: a grub screw.
        Grub = "grub",
        /// Hexagon socket cap, ISO 4762.
        SocketCap = "cap",
        /// Pan, ISO 7045.
        Pan = "pan",
        /// Countersunk flat, ISO 7046.
        Countersunk = "countersunk",
    }
}

/// What the standards say about one size, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Nominal diameter.
    pub nominal_mm: f64,
    /// Coarse pitch, ISO 261.
    pub pitch_mm: f64,
    /// Tap drill.
    pub tap_drill_mm: f64,
    /// Clearance holes fine, medium, coarse, ISO 273.
    pub clearance_mm: [f64; 3],
    /// ISO 4762 head: largest diameter (plain), largest height, key.
    pub cap_mm: [f64; 3],
    /// ISO 4762 head: largest diameter when knurled.
    pub cap_knurled_mm: f64,
    /// ISO 7045 head: largest diameter, largest height.
    pub pan_mm: [f64; 2],
    /// ISO 7046 head: largest diameter, largest height, 90 degrees.
    pub countersunk_mm: [f64; 2],
    /// ISO 4032 nut: across flats largest and smallest, across corners
    /// smallest, height largest and smallest.
    pub nut_mm: [f64; 5],
}

/// Rows for [`Size::ALL`], in its order.
///
/// Source: ISO 273, 261, 4762, 7045, 7046, 4032 from secondary copies; tap
/// drills from a mechanical engineer's data handbook. ISO 7046 M1.6 and the
/// 90 degree head from memory. The M5-and-below nut heights are those of
/// ISO 4032, not of the older DIN 934.
#[expect(clippy::approx_constant, reason = "3.14 mm is a knurled head, not pi")]
pub const ROWS: [Row; 5] = [
    Row {
        nominal_mm: 1.6,
        pitch_mm: 0.35,
        tap_drill_mm: 1.25,
        clearance_mm: [1.7, 1.8, 2.0],
        cap_mm: [3.0, 1.6, 1.5],
        cap_knurled_mm: 3.14,
        pan_mm: [3.2, 1.3],
        countersunk_mm: [3.0, 1.0],
        nut_mm: [3.2, 3.02, 3.41, 1.3, 1.05],
    },
    Row {
        nominal_mm: 2.0,
        pitch_mm: 0.40,
        tap_drill_mm: 1.60,
        clearance_mm: [2.2, 2.4, 2.6],
        cap_mm: [3.8, 2.0, 1.5],
        cap_knurled_mm: 3.98,
        pan_mm: [4.0, 1.6],
        countersunk_mm: [3.8, 1.2],
        nut_mm: [4.0, 3.82, 4.32, 1.6, 1.35],
    },
    Row {
        nominal_mm: 2.5,
        pitch_mm: 0.45,
        tap_drill_mm: 2.05,
        clearance_mm: [2.7, 2.9, 3.1],
        cap_mm: [4.5, 2.5, 2.0],
        cap_knurled_mm: 4.68,
        pan_mm: [5.0, 2.1],
        countersunk_mm: [4.7, 1.5],
        nut_mm: [5.0, 4.82, 5.45, 2.0, 1.75],
    },
    Row {
        nominal_mm: 3.0,
        pitch_mm: 0.50,
        tap_drill_mm: 2.50,
        clearance_mm: [3.2, 3.4, 3.6],
        cap_mm: [5.5, 3.0, 2.5],
        cap_knurled_mm: 5.68,
        pan_mm: [5.6, 2.4],
        countersunk_mm: [5.5, 1.65],
        nut_mm: [5.5, 5.32, 6.01, 2.4, 2.15],
    },
    Row {
        nominal_mm: 4.0,
        pitch_mm: 0.70,
        tap_drill_mm: 3.30,
        clearance_mm: [4.3, 4.5, 4.8],
        cap_mm: [7.0, 4.0, 3.0],
        cap_knurled_mm: 7.22,
        pan_mm: [8.0, 3.1],
        countersunk_mm: [8.4, 2.7],
        nut_mm: [7.0, 6.78, 7.66, 3.2, 2.9],
    },
];

/// Least distance from a screw's middle to an edge, in nominal diameters:
/// common practice, no source.
pub const EDGE_DIAMETERS: f64 = 2.0;

impl Size {
    /// The row of this size.
    pub fn row(self) -> &'static Row {
        &ROWS[self as usize]
    }
}

inputs! {
    /// A screw that passes through a part. See [`clearance_hole`].
    HoleInput, HOLE_INPUTS {
        /// Thread.
        size: Size = choice(Size::WORDS);
        /// Series of ISO 273: `fine`, `medium` or `coarse`.
        series: Series = choice_or(Series::WORDS, "medium");
        /// Head: `grub`, `cap`, `pan` or `countersunk`.
        head: Head = choice_or(Head::WORDS, "cap");
        /// Clearance per side around the head, and above it.
        clearance_mm: f64 = number_or(Unit::Mm, 0.0, 2.0, 0.2);
    }
}

/// Result of [`clearance_hole`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearanceHole {
    /// Diameter of the hole, mm.
    pub hole_mm: f64,
    /// Diameter of the recess for the head, mm; the hole's for a grub screw.
    pub recess_mm: f64,
    /// Depth of the recess that hides the head, mm. For a countersunk head, of
    /// the cone from the recess down to the hole, with the clearance above it.
    pub recess_depth_mm: f64,
    /// Full angle of the recess's cone, degrees; 180 for a flat floor.
    pub cone_deg: f64,
    /// Least distance from the hole's middle to an edge, mm.
    pub edge_mm: f64,
}

/// Clearance hole after ISO 273 and head recess after ISO 4762, 7045, 7046.
///
/// Recess = largest head plus the clearance on both sides; the knurled
/// diameter for a cap head, which covers both. M1.6 to M4 only; other words are
/// refused. Edge distance: [`EDGE_DIAMETERS`]. Printed holes come out small:
/// add the printer's own hole allowance to these.
pub fn clearance_hole(input: &HoleInput) -> Result<ClearanceHole, TradeError> {
    input.check()?;
    let row = input.size.row();
    let hole_mm = row.clearance_mm[input.series as usize];
    let wide = |d: f64| d + 2.0 * input.clearance_mm;
    let (recess_mm, recess_depth_mm, cone_deg) = match input.head {
        Head::Grub => (hole_mm, 0.0, 180.0),
        Head::SocketCap => (wide(row.cap_knurled_mm), row.cap_mm[1] + input.clearance_mm, 180.0),
        Head::Pan => (wide(row.pan_mm[0]), row.pan_mm[1] + input.clearance_mm, 180.0),
        Head::Countersunk => {
            let recess = wide(row.countersunk_mm[0]);
            (recess, (recess - hole_mm) / 2.0 + input.clearance_mm, 90.0)
        }
    };
    let edge_mm = (EDGE_DIAMETERS * row.nominal_mm).max(recess_mm / 2.0);
    Ok(ClearanceHole { hole_mm, recess_mm, recess_depth_mm, cone_deg, edge_mm })
}

inputs! {
    /// A pocket for a hexagon nut. See [`nut_trap`].
    NutInput, NUT_INPUTS {
        /// Thread.
        size: Size = choice(Size::WORDS);
        /// Across flats as measured; left out, the largest of ISO 4032.
        flats_mm: Option<f64> = optional(Unit::Mm, 1.0, 50.0);
        /// Height as measured; left out, the largest of ISO 4032.
        height_mm: Option<f64> = optional(Unit::Mm, 0.3, 50.0);
        /// Clearance per side, and above.
        clearance_mm: f64 = number_or(Unit::Mm, 0.0, 2.0, 0.1);
    }
}

/// Result of [`nut_trap`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NutTrap {
    /// Pocket across flats, mm.
    pub flats_mm: f64,
    /// Pocket across its sharp corners, mm.
    pub corners_mm: f64,
    /// Area of the pocket, mm2.
    pub area_mm2: f64,
    /// Depth that hides the nut, mm.
    pub depth_mm: f64,
    /// Whether the pocket stops the nut from turning.
    pub holds: bool,
}

/// Pocket for a hexagon nut: across flats `s + 2 c`, across corners
/// `2 s / sqrt 3`, depth `m + c`.
///
/// It holds the nut while the pocket is narrower than the nut's corners
/// (ISO 4032 least, or the sharp hexagon of a measured nut). Source: ISO 4032
/// and geometry.
pub fn nut_trap(input: &NutInput) -> Result<NutTrap, TradeError> {
    input.check()?;
    let [flats, _, corners, height, _] = input.size.row().nut_mm;
    let nut_corners = input.flats_mm.map_or(corners, |s| 2.0 * s / 3.0_f64.sqrt());
    let flats_mm = input.flats_mm.unwrap_or(flats) + 2.0 * input.clearance_mm;
    Ok(NutTrap {
        flats_mm,
        corners_mm: 2.0 * flats_mm / 3.0_f64.sqrt(),
        area_mm2: 3.0_f64.sqrt() / 2.0 * flats_mm * flats_mm,
        depth_mm: input.height_mm.unwrap_or(height) + input.clearance_mm,
        holds: flats_mm < nut_corners,
    })
}

inputs! {
    /// A metric thread. See [`thread`].
    ThreadInput, THREAD_INPUTS {
        /// Thread.
        size: Size = choice(Size::WORDS);
    }
}

/// Result of [`thread`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thread {
    /// Nominal diameter, mm.
    pub nominal_mm: f64,
    /// Pitch, mm.
    pub pitch_mm: f64,
    /// Pitch diameter d2, mm.
    pub pitch_diameter_mm: f64,
    /// Minor diameter of the nut D1, mm.
    pub minor_mm: f64,
    /// Core diameter of the screw d3, mm.
    pub core_mm: f64,
    /// Stress area, mm2.
    pub stress_mm2: f64,
    /// Tap drill, mm.
    pub tap_drill_mm: f64,
}

/// Dimensions of a coarse metric thread, ISO 724: `d2 = D - 0.649519 P`,
/// `D1 = D - 1.082532 P`, `d3 = D - 1.226869 P`, stress area
/// `pi/4 ((d2 + d3)/2)^2`.
pub fn thread(input: &ThreadInput) -> Result<Thread, TradeError> {
    input.check()?;
    let row = input.size.row();
    let root3 = 3.0_f64.sqrt();
    let (d, p) = (row.nominal_mm, row.pitch_mm);
    let pitch_diameter_mm = d - 3.0 / 8.0 * root3 * p;
    let core_mm = d - 17.0 / 24.0 * root3 * p;
    Ok(Thread {
        nominal_mm: d,
        pitch_mm: p,
        pitch_diameter_mm,
        minor_mm: d - 5.0 / 8.0 * root3 * p,
        core_mm,
        stress_mm2: PI / 4.0 * ((pitch_diameter_mm + core_mm) / 2.0).powi(2),
        tap_drill_mm: row.tap_drill_mm,
    })
}

/// Row of the registry.
pub const CLEARANCE_HOLE: Calculator = Calculator {
    name: "clearance-hole",
    summary: "clearance hole and head recess of a metric screw",
    inputs: HOLE_INPUTS,
    run: work_hole,
};

/// Row of the registry.
pub const NUT_TRAP: Calculator = Calculator {
    name: "nut-trap",
    summary: "pocket for a hexagon nut",
    inputs: NUT_INPUTS,
    run: work_nut,
};

/// Row of the registry.
pub const THREAD: Calculator = Calculator {
    name: "thread",
    summary: "dimensions of a coarse metric thread",
    inputs: THREAD_INPUTS,
    run: work_thread,
};

fn work_hole(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = HoleInput::from_inputs(inputs)?;
    let out = clearance_hole(&i)?;
    let mut w = Worked::new(inputs, "ISO 273, ISO 4762, ISO 7045, ISO 7046, secondary copies");
    w.step("Hole", "h = ISO 273", &[], out.hole_mm, Unit::Mm);
    w.step("Recess: largest head and the clearance", "D = table", &[], out.recess_mm, Unit::Mm);
    w.result("hole_mm", "diameter of the hole", out.hole_mm, Unit::Mm);
    w.result("recess_mm", "diameter of the recess", out.recess_mm, Unit::Mm);
    w.result("recess_depth_mm", "depth of the recess", out.recess_depth_mm, Unit::Mm);
    w.result("cone_deg", "full angle of the recess", out.cone_deg, Unit::Degrees);
    w.result("edge_mm", "least distance to an edge", out.edge_mm, Unit::Mm);
    w.note("printed holes come out small: add the printer's hole allowance");
    Ok(w)
}

fn work_nut(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = NutInput::from_inputs(inputs)?;
    let out = nut_trap(&i)?;
    let mut w = Worked::new(inputs, "ISO 4032, secondary copy; geometry of a hexagon");
    let nut = i.flats_mm.unwrap_or(i.size.row().nut_mm[0]);
    let bound = [("s", nut), ("c", i.clearance_mm)];
    w.step("Pocket across flats", "S = {s} + 2 * {c}", &bound, out.flats_mm, Unit::Mm);
    let bound = [("S", out.flats_mm)];
    w.step("Across corners", "E = 2 * {S} / sqrt(3)", &bound, out.corners_mm, Unit::Mm);
    w.step("Area", "A = sqrt(3) / 2 * {S}^2", &bound, out.area_mm2, Unit::Mm2);
    w.result("flats_mm", "pocket across flats", out.flats_mm, Unit::Mm);
    w.result("corners_mm", "pocket across corners", out.corners_mm, Unit::Mm);
    w.result("area_mm2", "area of the pocket", out.area_mm2, Unit::Mm2);
    w.result("depth_mm", "depth of the pocket", out.depth_mm, Unit::Mm);
    w.note(if out.holds { "the nut cannot turn" } else { "TOO WIDE: the nut turns" });
    Ok(w)
}

fn work_thread(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = ThreadInput::from_inputs(inputs)?;
    let out = thread(&i)?;
    let mut w = Worked::new(inputs, "ISO 261, ISO 724");
    let bound = [("D", out.nominal_mm), ("P", out.pitch_mm)];
    let lines = [
        ("Pitch diameter", "d2 = {D} - 0.649519 * {P}", out.pitch_diameter_mm),
        ("Minor diameter", "D1 = {D} - 1.082532 * {P}", out.minor_mm),
        ("Core diameter", "d3 = {D} - 1.226869 * {P}", out.core_mm),
    ];
    for (what, template, value) in lines {
        w.step(what, template, &bound, value, Unit::Mm);
    }
    w.step(
        "Stress area",
        "A = pi / 4 * (({d2} + {d3}) / 2)^2",
        &[("d2", out.pitch_diameter_mm), ("d3", out.core_mm)],
        out.stress_mm2,
        Unit::Mm2,
    );
    w.result("pitch_mm", "pitch", out.pitch_mm, Unit::Mm);
    w.result("pitch_diameter_mm", "pitch diameter", out.pitch_diameter_mm, Unit::Mm);
    w.result("minor_mm", "minor diameter of the nut", out.minor_mm, Unit::Mm);
    w.result("core_mm", "core diameter of the screw", out.core_mm, Unit::Mm);
    w.result("stress_mm2", "stress area", out.stress_mm2, Unit::Mm2);
    w.result("tap_drill_mm", "tap drill", out.tap_drill_mm, Unit::Mm);
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_grow_with_the_size_and_agree_with_each_other() {
        assert_eq!(ROWS.len(), Size::ALL.len());
        for row in ROWS {
            let [fine, medium, coarse] = row.clearance_mm;
            assert!(row.nominal_mm < fine && fine < medium && medium < coarse);
            assert!(row.cap_mm[0] < row.cap_knurled_mm);
            let [s_max, s_min, e_min, m_max, m_min] = row.nut_mm;
            assert!(s_min < s_max && s_max < e_min && m_min < m_max);
            assert!(e_min < 2.0 * s_max / 3.0_f64.sqrt());
            assert!(row.tap_drill_mm < row.nominal_mm);
        }
        for pair in ROWS.windows(2) {
            assert!(pair[0].pitch_mm < pair[1].pitch_mm);
            assert!(pair[0].cap_mm[0] < pair[1].cap_mm[0]);
        }
    }

    #[test]
    fn wide_pocket_lets_the_nut_turn() {
        let input = NutInput { size: Size::M3, flats_mm: None, height_mm: None, clearance_mm: 0.1 };
        assert!(nut_trap(&input).unwrap().holds);
        assert!(!nut_trap(&NutInput { clearance_mm: 0.3, ..input }).unwrap().holds);
    }

    #[test]
    fn countersink_cone_meets_the_hole() {
        let input = HoleInput {
            size: Size::M3,
            series: Series::Medium,
            head: Head::Countersunk,
            clearance_mm: 0.0,
        };
        let out = clearance_hole(&input).unwrap();
        assert!((out.recess_depth_mm - (5.5 - 3.4) / 2.0).abs() < 1e-12);
        assert_eq!(out.cone_deg, 90.0);
    }
}
