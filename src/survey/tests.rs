//! Chassis with known answers.

use super::*;
use crate::mesh::{ChordTolerance, tessellate};
use crate::section::Region;
use crate::solid::Stack;

/// Of tessellated chassis, mm.
const CHORD: f64 = 0.002;

fn disc(x: f64, y: f64, r: f64) -> Region {
    Region::disc(Vec2::new(x, y), r)
}

fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
    Region::rectangle(Vec2::new(x0, y0), Vec2::new(x1, y1))
}

fn chassis(slabs: &[(f64, f64, Region)]) -> Soup {
    let mut stack = Stack::default();
    for (low, high, section) in slabs {
        stack.prism(*low, *high, section);
    }
    let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
    Soup::from(&tessellate(&stack.solid().expect("sound"), &tolerance).expect("meshes"))
}

/// A tube, a pocket open towards +y, a bulkhead with a hole, an enclosed box.
fn staff() -> Soup {
    let body = disc(0.0, 0.0, 17.8);
    let pocket = rect(-10.0, -8.0, 10.0, 30.0);
    chassis(&[
        (0.0, 4.0, body.clone()),
        (4.0, 24.0, body.difference(&pocket)),
        (24.0, 30.0, body.difference(&disc(2.0, 1.0, 3.0))),
        (30.0, 45.0, body.difference(&rect(-9.0, -7.0, 9.0, 5.0))),
        (45.0, 50.0, disc(0.0, 0.0, 16.0)),
    ])
}

fn near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} is not {b} to {tolerance}");
}

#[test]
fn the_outside_and_the_cavities_of_a_staff_are_as_drawn() {
    let found = survey(&staff(), &SurveyPlan::default()).expect("measured");
    assert!(found.closed && !found.turned_over);
    near(found.diameter, 35.6, 2.0 * CHORD);
    assert_eq!(found.outside.len(), 50);
    for step in &found.outside {
        let drawn = if step.from >= 45.0 { 32.0 } else { 35.6 };
        near(step.diameter, drawn, 2.0 * CHORD);
    }
    let [pocket, hole, hollow] = &found.cavities[..] else { panic!("{:?}", found.cavities) };
    assert_eq!([pocket.from, pocket.to, hole.from, hole.to], [4.0, 24.0, 24.0, 30.0]);
    assert_eq!([hollow.from, hollow.to], [30.0, 45.0]);
    for section in &pocket.sections {
        near(section.width, 20.0, 1e-5);
        near(section.depth, 25.8, 0.01);
        near(section.area, pocket_area(), 10.0);
        let [mouth] = section.mouths[..] else { panic!("{:?}", section.mouths) };
        near((mouth.clocking + 180.0).rem_euclid(360.0), 180.0, 1.0);
        near(mouth.width, 20.0, 0.101);
    }
    assert!(hole.sections.iter().chain(&hollow.sections).all(|s| s.mouths.is_empty()));
    // A circle that touches both walls.
    near(pocket.cylinder.expect("one").diameter, 20.0, 0.003);
    let round = hole.cylinder.expect("one");
    near(round.diameter, 6.0, 0.006);
    near(round.x, 2.0, 0.01);
    near(round.y, 1.0, 0.01);
    // The largest rectangle in a circle is a square.
    let square = hole.fitting_box.expect("one");
    near(square.width * square.depth, 18.0, 0.3);
    let inside = hollow.fitting_box.expect("one");
    near(inside.width, 18.0, 0.0011);
    near(inside.depth, 12.0, 0.0011);
    assert_eq!(inside.turn, 0.0);
    near(inside.x, 0.0, 0.001);
    near(inside.y, -1.0, 0.001);
    near(hollow.cylinder.expect("one").diameter, 12.0, 0.003);
    // In the pocket a box may reach the circle: x from -10 to 10.
    let upright = pocket.fitting_box.expect("one");
    let top = (17.8f64 * 17.8 - 100.0).sqrt();
    assert!(upright.width * upright.depth > 20.0 * (top + 8.0) - 0.2, "{upright:?}");
}

fn pocket_area() -> f64 {
    disc(0.0, 0.0, 17.8).intersection(&rect(-10.0, -8.0, 10.0, 30.0)).area()
}

/// What fits is proven against the sections themselves: nothing of the box or
/// the cylinder lies in material, and a bound is kept.
#[test]
fn what_is_said_to_fit_fits_in_turned_and_shifted_cavities() {
    let mut rng = fastrand::Rng::with_seed(11);
    for case in 0..4 {
        let turn = rng.f64() * 90.0;
        let (sin, cos) = turn.to_radians().sin_cos();
        let (w, d) = (6.0 + 5.0 * rng.f64(), 12.0 + 5.0 * rng.f64());
        let at = Vec2::new(2.0 * rng.f64(), 2.0 * rng.f64());
        let corner = |x: f64, y: f64| at + Vec2::new(cos * x - sin * y, sin * x + cos * y);
        let (a, b) = (w / 2.0, d / 2.0);
        let points = [corner(-a, -b), corner(a, -b), corner(a, b), corner(-a, b)];
        let cavity = Region::polygon(&points);
        let rib = rect(-30.0, at.y + 0.35 * d, 30.0, at.y + 0.35 * d + 0.1);
        let body = disc(0.0, 0.0, 17.0);
        let open = body.difference(&cavity);
        // A rib far thinner than the step must not be missed.
        let soup = chassis(&[
            (0.0, 7.3, open.clone()),
            (7.3, 7.4, open.union(&body.intersection(&rib))),
            (7.4, 15.0, open.clone()),
        ]);
        let plan = SurveyPlan { step: 1.0, grid: 0.2, ..SurveyPlan::default() };
        let found = survey(&soup, &plan).expect("measured");
        let free = cavity.difference(&rib);
        let all = found.cavities.iter().filter(|c| c.from < 7.0 && c.to > 8.0);
        for cavity in all {
            let round = cavity.cylinder.expect("one");
            let own = disc(round.x, round.y, round.diameter / 2.0 - 0.002);
            assert!(own.difference(&free).area() < 1e-6, "case {case}: {round:?}");
            let fitting = cavity.fitting_box.expect("one");
            let (sin, cos) = fitting.turn.to_radians().sin_cos();
            let middle = Vec2::new(fitting.x, fitting.y);
            let (a, b) = (fitting.width / 2.0 - 0.002, fitting.depth / 2.0 - 0.002);
            let corner = |x: f64, y: f64| middle + Vec2::new(cos * x - sin * y, sin * x + cos * y);
            let own =
                Region::polygon(&[corner(-a, -b), corner(a, -b), corner(a, b), corner(-a, b)]);
            assert!(own.difference(&free).area() < 1e-6, "case {case}: {fitting:?}");
        }
        // Over the part without the rib, the answers are known.
        let plan = SurveyPlan { to: Some(7.0), ..plan };
        let found = survey(&soup, &plan).expect("measured");
        let [whole] = &found.cavities[..] else { panic!("{:?}", found.cavities) };
        let round = whole.cylinder.expect("one");
        near(round.diameter, w, 0.004);
        assert!(round.at_most >= w - 1e-3 && round.at_most < w + 8.0 * plan.grid);
        let fitting = whole.fitting_box.expect("one");
        // The nearest angle that is tried is off by half a step at most.
        assert!(fitting.width * fitting.depth > 0.8 * w * d, "case {case}: {fitting:?}");
    }
}

#[test]
fn a_mesh_inside_out_is_turned_over_and_an_open_one_is_said_to_be() {
    let soup = staff();
    let plan = SurveyPlan { grid: 0.5, step: 2.0, ..SurveyPlan::default() };
    let found = survey(&soup.reversed(), &plan).expect("measured");
    assert!(found.turned_over && found.closed);
    assert_eq!(found.cavities.len(), 3);
    let mut welder = crate::mesh::Welder::default();
    for i in 1..soup.triangles().len() {
        welder.push(soup.corners(i)).expect("few");
    }
    let open = survey(&welder.finish(), &plan).expect("measured");
    assert!(!open.closed);
}

#[test]
fn what_cannot_be_measured_is_refused_with_what_would_do() {
    let soup = staff();
    let refused = |plan: SurveyPlan| survey(&soup, &plan).expect_err("refused");
    let plan = SurveyPlan::default();
    let range = refused(SurveyPlan { from: Some(60.0), ..plan });
    assert!(matches!(range, SurveyError::NoRange { .. }), "{range}");
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let size = refused(SurveyPlan { step: bad, ..plan });
        assert!(matches!(size, SurveyError::NoSize { .. }), "{size}");
    }
    // What the hints say does do.
    let around = circle::Circle { centre: Vec2::zeros(), radius: 17.8 };
    for (step, grid, ways) in [(0.05, 0.01, 2), (0.05, 0.001, 1), (1e-5, 0.001, 1), (1e-5, 0.1, 1)]
    {
        let fine = refused(SurveyPlan { grid, step, ..plan });
        let SurveyError::TooFine { would_do, .. } = &fine else { panic!("{fine}") };
        assert_eq!(would_do.len(), ways, "{}", fine.hint());
        for &(step, grid) in would_do {
            let slabs = Slabs::new(0.0, 50.0, step).count;
            assert!(grid_over(&around, grid, slabs).is_some(), "{fine}: {}", fine.hint());
        }
    }
}
