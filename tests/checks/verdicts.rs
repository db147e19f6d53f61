//! Verdicts: limits from profiles, supported and free walls, holes, columns,
//! orientation, machine, unit, and what our own bodies add.

use borewright::checks::{
    Analysis, CheckContext, Finding, Known, Severity, Stand, Walker, check, wall_cap, wall_summary,
};
use borewright::measure::{Library, Vec3};
use borewright::mesh::{ChordTolerance, Soup, tessellate};
use borewright::parts::{Bend, Declared};
use borewright::section::Region;
use borewright::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, Solid, Stack};

use crate::shapes::*;

fn wall_errors(soup: &Soup, printer: &str) -> Vec<Finding> {
    let mut found = only(findings_on(soup, printer), "wall");
    found.retain(|f| f.severity == Severity::Error);
    found
}

pub fn tube(wall: f64) -> Soup {
    let ring =
        Region::disc(v2(0.0, 0.0), 12.0).difference(&Region::disc(v2(0.0, 0.0), 12.0 - wall));
    slabs(&[(0.0, 30.0, ring)])
}

/// A fin of a thickness and height on a block.
fn fin(thickness: f64, height: f64) -> Soup {
    let h = 0.5 * thickness;
    drawn_out(
        &[
            (-15.0, 0.0),
            (15.0, 0.0),
            (15.0, 5.0),
            (h, 5.0),
            (h, 5.0 + height),
            (-h, 5.0 + height),
            (-h, 5.0),
            (-15.0, 5.0),
        ],
        30.0,
    )
}

/// A partition between two blocks that are joined below.
fn partition(thickness: f64) -> Soup {
    let h = 0.5 * thickness;
    slabs(&[
        (0.0, 5.0, rect(-12.0, -12.0, 12.0, 12.0)),
        (
            5.0,
            15.0,
            rect(-12.0, -12.0, 12.0, -5.0)
                .union(&rect(-12.0, 5.0, 12.0, 12.0))
                .union(&rect(-h, -12.0, h, 12.0)),
        ),
    ])
}

#[test]
fn the_profile_makes_the_verdict() {
    let verdicts = |soup: &Soup| {
        ["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine", "sls-service"]
            .map(|printer| !wall_errors(soup, printer).is_empty())
    };
    // Walls 0.8, 1.0, 1.2, 0.4 and 0.7 at least, as a ring holds itself.
    assert_eq!(verdicts(&tube(1.3)), [false, false, false, false, false]);
    assert_eq!(verdicts(&tube(1.1)), [false, false, true, false, false]);
    assert_eq!(verdicts(&tube(0.9)), [false, true, true, false, false]);
    assert_eq!(verdicts(&tube(0.75)), [true, true, true, false, false]);
    assert_eq!(verdicts(&tube(0.6)), [true, true, true, false, true]);
    assert_eq!(verdicts(&tube(0.35)), [true, true, true, true, true]);
    // Just the limit passes.
    let found = wall_errors(&tube(0.8), "fdm-thin");
    assert!(found.is_empty(), "{:?} {:?}", found[0].measured, found[0].limit);
    let found = wall_errors(&tube(0.6), "fdm-thin");
    assert_eq!(found[0].limit, Some(0.8));
    assert_eq!(found[0].limit_from.as_deref(), Some("wall_supported of fdm-thin"));
    let source = found[0].limit_source.as_deref().expect("a source");
    assert!(source.starts_with("walls, holes"), "{source}");
    assert!((found[0].measured.expect("measured") - 0.6).abs() < 0.011);
}

#[test]
fn walls_that_stand_free_need_more_than_held_ones() {
    let stand = |soup: &Soup| {
        let library = Library::shipped();
        let printer = library.profile("printers", "fdm-thin").expect("shipped");
        let cap = wall_cap(printer);
        let analysis = Analysis::new(soup.clone());
        let least = *analysis.walls(cap).least().expect("thin");
        let walker = Walker::new(&analysis, borewright::checks::Side::Inside, cap);
        walker.stand(&least)
    };
    assert_eq!(stand(&fin(0.9, 12.0)), Stand::Free);
    assert_eq!(stand(&partition(0.9)), Stand::Supported);
    assert_eq!(stand(&tube(0.9)), Stand::Supported);
    assert_eq!(stand(&fin(0.7, 1.5)), Stand::Mark);
    let pin = slabs(&[
        (0.0, 4.0, rect(-8.0, -8.0, 8.0, 8.0)),
        (4.0, 12.0, rect(-0.45, -0.45, 0.45, 0.45)),
    ]);
    assert_eq!(stand(&pin), Stand::Pin);
    // fdm-thin: held 0.8, free 1.0, marks 0.6, pins 3.0.
    assert!(wall_errors(&partition(0.9), "fdm-thin").is_empty());
    assert_eq!(wall_errors(&fin(0.9, 12.0), "fdm-thin")[0].limit, Some(1.0));
    assert!(wall_errors(&fin(0.7, 1.5), "fdm-thin").is_empty());
    assert_eq!(wall_errors(&fin(0.5, 1.5), "fdm-thin")[0].limit, Some(0.6));
    assert_eq!(wall_errors(&pin, "fdm-thin")[0].limit, Some(3.0));
}

#[test]
fn gaps_and_sunk_marks() {
    let slot = |width: f64, depth: f64| {
        let h = 0.5 * width;
        drawn_out(
            &[
                (-10.0, 0.0),
                (10.0, 0.0),
                (10.0, 12.0),
                (h, 12.0),
                (h, 12.0 - depth),
                (-h, 12.0 - depth),
                (-h, 12.0),
                (-10.0, 12.0),
            ],
            15.0,
        )
    };
    let limit =
        |soup: &Soup| only(findings_on(soup, "fdm-thin"), "gap").first().and_then(|f| f.limit);
    // Gaps 0.5, sunk marks 0.6.
    assert_eq!(limit(&slot(0.4, 8.0)), Some(0.5));
    assert_eq!(limit(&slot(0.55, 8.0)), None);
    assert_eq!(limit(&slot(0.55, 1.0)), Some(0.6));
    assert_eq!(limit(&slot(0.7, 1.0)), None);
}

fn plate_with_holes() -> Solid {
    let mut section = rect(-20.0, -10.0, 20.0, 10.0);
    for (x, diameter) in [(-12.0, 1.2), (0.0, 1.8), (12.0, 6.0)] {
        section = section.difference(&Region::disc(v2(x, 0.0), 0.5 * diameter));
    }
    // A trough along the edge is none.
    section = section.difference(&Region::disc(v2(6.0, 10.0), 0.6));
    stack(&[(0.0, 5.0, section)])
}

#[test]
fn holes_are_fitted_on_foreign_meshes_and_known_on_our_own() {
    let solid = plate_with_holes();
    let mesh = tessellate(&solid, &ChordTolerance::default()).expect("meshes");
    let foreign = Soup::from(&mesh);
    let tilted = foreign.mapped(|p| {
        let turn = nalgebra_turn(0.7);
        turn(p) + Vec3::new(3.0, -40.0, 11.0)
    });
    let library = Library::shipped();
    for (soup, known) in [(&foreign, false), (&foreign, true), (&tilted, false)] {
        for (printer, expected) in
            [("fdm-thin", vec![1.2, 1.8]), ("sls-service", vec![1.2]), ("resin-fine", vec![])]
        {
            let analysis = Analysis::new(soup.clone());
            let nothing = Declared::default();
            let known = known.then_some(Known {
                solid: &solid,
                face_of: mesh.face_of(),
                declared: &nothing,
            });
            let found = check(&CheckContext {
                printer: library.profile("printers", printer).expect("shipped"),
                material: library.profile("materials", "petg").expect("shipped"),
                analysis: &analysis,
                remarks: &[],
                known,
            });
            let mut got: Vec<f64> = only(found, "hole").iter().filter_map(|f| f.measured).collect();
            got.sort_by(f64::total_cmp);
            assert_eq!(got.len(), expected.len(), "{printer}: {got:?}");
            for (g, e) in got.iter().zip(&expected) {
                let tolerance = if known.is_some() { 1e-9 } else { 0.005 };
                assert!((g - e).abs() < tolerance, "{printer}: {g} is not {e}");
            }
        }
    }
}

/// A turn about a skew axis, without another crate.
fn nalgebra_turn(angle: f64) -> impl Fn(Vec3) -> Vec3 {
    let axis = Vec3::new(0.3, -1.1, 0.7).normalize();
    let (sin, cos) = angle.sin_cos();
    move |p| p * cos + axis.cross(&p) * sin + axis * (axis.dot(&p) * (1.0 - cos))
}

#[test]
fn cross_bores_of_our_own_are_known_by_their_faces() {
    let mut rod = Stack::default();
    rod.prism(0.0, 30.0, &Region::disc(v2(0.0, 0.0), 10.0));
    let bore = |z, radius| CrossBore {
        direction: v2(0.0, 1.0),
        z,
        offset: 0.0,
        start: f64::NEG_INFINITY,
        profile: BoreProfile::Round { radius },
        mouth: Mouth::Plain,
        end: BoreEnd::AllWalls,
    };
    let solid = rod.bored(&[bore(8.0, 0.6), bore(20.0, 2.0)]).expect("bored");
    let mesh = tessellate(&solid, &ChordTolerance::default()).expect("meshes");
    let library = Library::shipped();
    for known in [true, false] {
        let analysis = Analysis::new(Soup::from(&mesh));
        let nothing = Declared::default();
        let known =
            known.then_some(Known { solid: &solid, face_of: mesh.face_of(), declared: &nothing });
        let found = check(&CheckContext {
            printer: library.profile("printers", "fdm-thin").expect("shipped"),
            material: library.profile("materials", "petg").expect("shipped"),
            analysis: &analysis,
            remarks: &[],
            known,
        });
        let found = only(found, "hole");
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].measured.expect("a diameter") - 1.2).abs() < 0.005, "{found:?}");
    }
}

#[test]
fn size_and_unit() {
    let rod = slabs(&[(0.0, 150.0, Region::disc(v2(0.0, 0.0), 10.0))]);
    assert!(only(findings_on(&rod, "fdm-thin"), "machine").is_empty());
    let long = rod.mapped(|p| p * 1.8);
    let found = only(findings_on(&long, "fdm-thin"), "machine");
    assert!((found[0].measured.expect("a height") - 270.0).abs() < 1e-9);
    assert!(only(findings_on(&long, "sls-service"), "machine").is_empty());
    // 100 x 60 fits a bed of 140 x 80 turned by a quarter, too.
    let flat = slabs(&[(0.0, 4.0, rect(0.0, 0.0, 60.0, 130.0))]);
    assert!(only(findings_on(&flat, "resin-fine"), "machine").is_empty());
    let inches = rod.mapped(|p| p / 25.4 / 3.0);
    let found = only(findings_on(&inches, "fdm-thin"), "sound_mesh");
    assert!(found.iter().any(|f| f.text.contains("inches")), "{found:?}");
    let metres = rod.mapped(|p| p / 1000.0);
    let found = only(findings_on(&metres, "fdm-thin"), "sound_mesh");
    assert!(found.iter().any(|f| f.text.contains("--unit m")), "{found:?}");
}

#[test]
fn orientation_is_recommended_with_reasons() {
    // A mushroom on its stem is better upside down.
    let mushroom = slabs(&[
        (0.0, 15.0, Region::disc(v2(0.0, 0.0), 4.0)),
        (15.0, 20.0, Region::disc(v2(0.0, 0.0), 15.0)),
    ]);
    let found = only(findings_on(&mushroom, "fdm-thin"), "orientation");
    assert!(found[0].text.contains("better printed with -z up"), "{}", found[0].text);
    let flat = slabs(&[(0.0, 5.0, rect(0.0, 0.0, 30.0, 20.0))]);
    let found = only(findings_on(&flat, "fdm-thin"), "orientation");
    assert!(found[0].text.starts_with("as it stands is the best side"), "{}", found[0].text);
    // A lip that is stretched along z wants to lie down.
    let solid = stack(&[(0.0, 20.0, rect(0.0, 0.0, 18.0, 16.0))]);
    let mesh = tessellate(&solid, &ChordTolerance::default()).expect("meshes");
    let bend = Bend {
        what: "left lip".into(),
        at: Vec3::zeros(),
        along: Vec3::z(),
        strain: 0.01,
        outside: false,
        field: "part[1].lips".into(),
    };
    let declared = Declared { bends: vec![bend], ..Declared::default() };
    let library = Library::shipped();
    let analysis = Analysis::new(Soup::from(&mesh));
    let found = check(&CheckContext {
        printer: library.profile("printers", "fdm-thin").expect("shipped"),
        material: library.profile("materials", "asa").expect("shipped"),
        analysis: &analysis,
        remarks: &[],
        known: Some(Known { solid: &solid, face_of: mesh.face_of(), declared: &declared }),
    });
    let found = only(found, "orientation");
    assert!(found[0].text.contains("left lip stretched 100 % across layers"), "{}", found[0].text);
    assert!(found[0].text.contains("better printed"), "{}", found[0].text);
}

#[test]
fn the_summary_has_minimum_share_and_histogram() {
    let library = Library::shipped();
    let printer = library.profile("printers", "fdm-thin").expect("shipped");
    let analysis = Analysis::new(tube(0.9));
    let summary = wall_summary(&analysis, printer);
    assert!((summary.least.expect("thin") - 0.9).abs() < 0.011);
    assert!(summary.share_below > 0.9, "{}", summary.share_below);
    assert!((summary.histogram.iter().sum::<f64>() - 1.0).abs() < 1e-9);
}

/// A thin plate is thin nearly all over: its rim is not.
#[test]
fn a_finding_says_what_share_of_the_surface_is_thin() {
    let (x, y, thick) = (30.0, 20.0, 0.5);
    let plate = slabs(&[(0.0, thick, rect(0.0, 0.0, x, y))]);
    let found = wall_errors(&plate, "fdm-medium");
    let share = found[0].text.split(" % of the surface").next().expect("some text");
    let share: f64 = share.rsplit(' ').next().expect("a word").parse().expect("a number");
    let flat = 2.0 * x * y;
    let wanted = 100.0 * flat / (flat + 2.0 * (x + y) * thick);
    assert!((share - wanted).abs() < 3.0, "{share} is not {wanted}");
}

#[test]
fn an_open_edge_is_told_where_it_is_and_a_closed_box_not_at_all() {
    let whole = slabs(&[(0.0, 7.0, rect(0.0, 0.0, 30.0, 20.0))]);
    assert!(!Analysis::new(whole.clone()).turned_over());
    assert!(Analysis::new(whole.reversed()).turned_over());
    assert!(only(findings_on(&whole, "fdm-medium"), "sound_mesh").is_empty());
    for out in 0..whole.triangles().len() {
        let mut left = triangles(&whole);
        let [a, b, c] = left.remove(out);
        let found = only(findings_on(&welded(left), "fdm-medium"), "sound_mesh");
        let open = found.iter().find(|f| f.text.contains("3 edges are open")).expect("a finding");
        let at = Vec3::from(open.place.point.expect("a place"));
        let middles = [(a, b), (b, c), (c, a)].map(|(p, q)| (p + q) * 0.5);
        assert!(middles.iter().any(|m| (m - at).norm() < 1e-6), "{at:?} of {middles:?}");
    }
}

#[test]
fn walls_that_are_allowed_hide_none_that_is_not() {
    // Thirty tubes whose walls hold themselves, and one fin, a little thicker, that is free.
    let tube = |i: i32| {
        let middle = v2(8.0 * f64::from(i % 6), 8.0 * f64::from(i / 6));
        Region::disc(middle, 3.0).difference(&Region::disc(middle, 2.15))
    };
    let tubes = (0..30).fold(Region::empty(), |all, i| all.union(&tube(i)));
    let standing = tubes.union(&rect(-5.0, 38.0, 45.0, 38.9));
    let plate = rect(-6.0, -6.0, 46.0, 40.0);
    let soup = slabs(&[(0.0, 3.0, plate), (3.0, 15.0, standing)]);
    let found = wall_errors(&soup, "fdm-thin");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!((found[0].measured.expect("a width") - 0.9).abs() < 0.01, "{found:?}");
}
