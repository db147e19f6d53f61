//! Wrong values in circulation, which the calculators must not give.

use borewright::trade::fits_iso286::limits;
use borewright::trade::screws::ROWS;
use borewright::trade::snap::{Material, allowed_strain_percent};

use crate::support::{Table, run, try_run, value};

/// What the tests below look at, as rows of the table.
pub fn rows(t: &mut Table) {
    let fit = |size: &str, key: &str| value("iso-fit", size, key);
    let upper = |size: f64, zone: &str| limits(size, zone).unwrap().upper_um;
    let page = "machinecalcs.com ISO 286 table: 16 i instead of the table";
    t.trap("H7 at 10 mm, um", page, upper(10.0, "H7"), 14.0);
    t.trap("10 H8/f7 max, um", page, fit("size_mm=10 fit=H8/f7", "clearance_max_um"), 49.0);
    let page = "torqyx fits page: 30 mm in the range above";
    t.trap("H7 at 30 mm, um", page, upper(30.0, "H7"), 25.0);
    t.trap("g6 at 30 mm, upper, um", page, upper(30.0, "g6"), -9.0);
    t.trap("g6 at 30 mm, lower, um", page, limits(30.0, "g6").unwrap().lower_um, -25.0);
    let page = "byjus 64 H8/f7 example: a slip of units";
    t.trap("f at 64 mm, um", page, upper(64.0, "f7"), -301.15);
    let page = "a copy of DIN ISO 2768-1 with another row c";
    let coarse = |size: &str| value("iso-2768", &format!("size_mm={size} class=c"), "tolerance_mm");
    t.trap("2 mm class c", page, coarse("2"), 0.15);
    t.trap("5 mm class c", page, coarse("5"), 0.2);
    let page = "tables headed ISO 4032 with DIN 934 values";
    t.trap("M1.6 nut e min", page, ROWS[0].nut_mm[2], 3.48);
    t.trap("M3 cap head dk, plain", "geartoolkit: knurled head", ROWS[3].cap_mm[0], 5.68);
    let ring = "joint_mm=26 other_mm=30 undercut_mm=0.26 modulus_mpa=1800";
    let strain = value("snap-annular", ring, "strain_percent");
    t.trap("ring strain, %", "a note with y = eps d / 2", strain, 2.0);
    let pla = allowed_strain_percent(Material::Pla, false, false);
    t.trap("PLA strain allowed, %", "a PLA snap table, 4 to 8 %", pla, 4.0);
    let row = borewright::trade::wire::GAUGES.iter().find(|r| r.gauge == 30).unwrap();
    let page = "a silicone wire table: 0.30 + 2 x 0.55";
    t.trap("30 AWG outside, mm", page, row.silicone_mm.unwrap(), 1.40);
    let page = "naive 2 pi a^2 b";
    for (a, r, naive) in [(3.0, 10.0, 565.486_677_6), (9.25, 14.0, 7_526.470_599_8)] {
        t.trap(
            format!("hole of {a} in a rod of {r}, mm3"),
            page,
            crate::geometry::hole(a, r, 0.0),
            naive,
        );
    }
}

/// A page takes 30 mm into the range above and prints H7 +25, g6 -9/-25.
#[test]
fn thirty_millimetres_belong_to_the_range_below() {
    let hole = limits(30.0, "H7").unwrap();
    assert_eq!((hole.lower_um, hole.upper_um), (0.0, 21.0));
    let shaft = limits(30.0, "g6").unwrap();
    assert_eq!((shaft.upper_um, shaft.lower_um), (-7.0, -20.0));
}

/// A page computes 16 i = 14.37 and prints 14, and 49 for H8/f7.
#[test]
fn grades_come_from_the_table_and_not_from_the_formula() {
    assert_eq!(limits(10.0, "H7").unwrap().upper_um, 15.0);
    assert_eq!(value("iso-fit", "size_mm=10 fit=H8/f7", "clearance_max_um"), 50.0);
}

/// A worked example has f = -0.30115 mm at 64 mm: a slip by ten.
#[test]
fn deviation_f_at_64_is_thirty_micrometres() {
    assert_eq!(limits(64.0, "f7").unwrap().upper_um, -30.0);
}

/// A copy of ISO 2768-1 prints .15/.2 in the first rows of class c.
#[test]
fn coarse_class_starts_at_two_and_three_tenths() {
    assert_eq!(value("iso-2768", "size_mm=2 class=c", "tolerance_mm"), 0.2);
    assert_eq!(value("iso-2768", "size_mm=5 class=c", "tolerance_mm"), 0.3);
}

/// Tables headed ISO 4032 print an old e = 3.48 for M1.6.
#[test]
fn smallest_nut_has_the_newer_corners() {
    assert_eq!(ROWS[0].nut_mm[2], 3.41);
}

/// dk max 5.68 is the knurled M3 head, 5.50 the plain one: a recess must take
/// both.
#[test]
fn cap_head_recess_takes_the_knurled_head() {
    assert_eq!(ROWS[3].cap_mm[0], 5.5);
    assert_eq!(value("clearance-hole", "size=M3 clearance_mm=0", "recess_mm"), 5.68);
}

/// A note has y = eps d / 2: that is the radial undercut, ours is diametral.
#[test]
fn annular_undercut_is_diametral() {
    let inputs = "joint_mm=26 other_mm=30 undercut_mm=0.26 modulus_mpa=1800";
    assert!((value("snap-annular", inputs, "strain_percent") - 1.0).abs() < 1e-12);
}

/// A table allows PLA 4 to 8 %; it yields at 2.9 %.
#[test]
fn pla_is_never_allowed_its_yield_strain() {
    for repeated in [false, true] {
        assert!(allowed_strain_percent(Material::Pla, repeated, false) < 2.9 / 2.0);
    }
    let arm =
        "length_mm=15 thickness_mm=2 width_mm=5 deflection_mm=3 modulus_mpa=3100 allowed_percent=1";
    let worked = run("snap-cantilever", arm);
    assert!(worked.value("strain_percent").unwrap() > 3.9);
    assert!(worked.notes.iter().any(|n| n.contains("TOO MUCH STRAIN")));
}

/// A page's gap of 3.00 breaks the page's own limit of 1.0.
#[test]
fn nominal_outside_its_limit_is_said() {
    let worked =
        run("stack-up", "values_mm=40,-25,-2,-10 tolerances_mm=0.1,0.05,0.03,0.05 gap_max_mm=1.0");
    assert!(worked.notes.iter().any(|n| n == "nominal gap: OUTSIDE the limits"));
}

/// A silicone wire table has conductor and wall that do not add up to its own
/// outer diameter: only the outer diameter is shipped.
#[test]
fn thirty_gauge_silicone_wire_is_eight_tenths() {
    let row = borewright::trade::wire::GAUGES.iter().find(|r| r.gauge == 30).unwrap();
    assert_eq!(row.silicone_mm, Some(0.8));
}

/// A chart's permanent joint: friction times slope of one or more.
#[test]
fn steep_retaining_face_is_permanent() {
    let arm = "length_mm=19 thickness_mm=2 width_mm=9.5 deflection_mm=1 modulus_mpa=1815 \
               friction=0.6 allowed_percent=2 exit_deg=60";
    let worked = run("snap-cantilever", arm);
    assert_eq!(worked.value("pull_out_n"), None);
    assert!(worked.notes.iter().any(|n| n.starts_with("permanent")));
    assert!(try_run("snap-cantilever", &arm.replace("60", "nan")).is_err());
}
