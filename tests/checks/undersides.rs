//! Overhangs, bridges, islands, hollows and standing on sets with known answers.

use std::f64::consts::PI;

use borewright::checks::{Finding, Severity};
use borewright::measure::Vec3;
use borewright::mesh::Soup;
use borewright::section::Region;

use crate::shapes::*;

/// Bridges to 5 mm, overhangs to 45 degrees, layers of 0.2 mm.
const PRINTER: &str = "fdm-medium";

/// A mesh and what must be found of one check: measured values in order,
/// largest first, each with a tolerance.
struct Case {
    what: &'static str,
    soup: Soup,
    measured: Vec<(f64, f64)>,
}

fn case(what: &'static str, soup: Soup, measured: &[(f64, f64)]) -> Case {
    Case { what, soup, measured: measured.to_vec() }
}

fn assert_cases(check: &str, cases: Vec<Case>) {
    for Case { what, soup, measured } in cases {
        let found = only(findings_on(&soup, PRINTER), check);
        let got: Vec<f64> = found.iter().filter_map(|f| f.measured).collect();
        let texts: Vec<&String> = found.iter().map(|f| &f.text).collect();
        println!("{check}: {what}: {got:?}");
        assert_eq!(got.len(), measured.len(), "{check}: {what}: {texts:?}");
        for (got, (wanted, tolerance)) in got.iter().zip(&measured) {
            assert!((got - wanted).abs() <= *tolerance, "{what}: {got} is not {wanted}: {texts:?}");
        }
        for f in &found {
            assert!(f.place.point.is_some() && f.limit_from.is_some() && f.hint.is_some());
        }
    }
}

fn block(x0: f64, y0: f64, x1: f64, y1: f64, z0: f64, z1: f64) -> Soup {
    slabs(&[(z0, z1, rect(x0, y0, x1, y1))])
}

/// A doorway: two posts and a lintel over `span` mm, `depth` mm deep.
fn doorway(span: f64, depth: f64) -> Soup {
    let (a, b) = (0.5 * span, 0.5 * span + 5.0);
    drawn_out(
        &[(-b, 0.0), (-a, 0.0), (-a, 10.0), (a, 10.0), (a, 0.0), (b, 0.0), (b, 14.0), (-b, 14.0)],
        depth,
    )
}

/// A block with a round hole across, its axis along y.
fn cross_hole(radius: f64) -> Soup {
    let section = rect(-15.0, 0.0, 15.0, 30.0).difference(&Region::disc(v2(0.0, 15.0), radius));
    slabs(&[(0.0, 12.0, section)]).mapped(|p| Vec3::new(p.x, -p.z, p.y))
}

/// A post with a roof over one side, its underside `lean` degrees off upright.
fn leaning(lean: f64) -> Soup {
    let rise = 8.0 / lean.to_radians().tan();
    drawn_out(
        &[(0.0, 0.0), (8.0, 0.0), (8.0, 6.0), (16.0, 6.0 + rise), (16.0, 30.0), (0.0, 30.0)],
        10.0,
    )
}

#[test]
fn overhangs() {
    assert_cases(
        "overhang",
        vec![
            case(
                "a block stands on its face: nothing",
                block(0.0, 0.0, 20.0, 20.0, 0.0, 10.0),
                &[],
            ),
            case("a roof at 40 deg holds itself", leaning(40.0), &[]),
            case("a roof at just 45 deg holds itself", leaning(45.0), &[]),
            case("a roof at 50 deg does not", leaning(50.0), &[(50.0, 0.01)]),
            case("a roof at 80 deg does not", leaning(80.0), &[(80.0, 0.01)]),
            case("a level lip over air hangs at 90 deg", leaning(90.0), &[(90.0, 0.01)]),
            case("a doorway is a bridge, no overhang", doorway(12.0, 10.0), &[]),
            case("the ceiling of a cross hole leans to 90 deg", cross_hole(5.0), &[(90.0, 8.0)]),
        ],
    );
}

#[test]
fn areas_of_overhangs_are_exact() {
    let area = |soup: &Soup| {
        let found = only(findings_on(soup, PRINTER), "overhang");
        let text = &found.first().expect("an overhang").text;
        text.split_whitespace().next().and_then(|w| w.parse::<f64>().ok()).expect("an area")
    };
    // 8 mm wide, 10 mm deep, at 50 degrees.
    let exact = 8.0 / 50f64.to_radians().sin() * 10.0;
    assert!((area(&leaning(50.0)) - exact).abs() < 0.01);
    // A quarter turn of a cylinder of radius 5, 12 mm long, to within a facet
    // at each end.
    let exact = 0.5 * PI * 5.0 * 12.0;
    let got = area(&cross_hole(5.0));
    assert!((got - exact).abs() < 0.12 * exact, "{got} is not {exact}");
}

#[test]
fn bridges() {
    let long_door = doorway(12.0, 40.0);
    // A square well with a floor plate over it, open at one side only.
    let alcove = slabs(&[
        (0.0, 8.0, rect(-14.0, -14.0, 14.0, 14.0).difference(&rect(-9.0, -9.0, 9.0, 20.0))),
        (8.0, 12.0, rect(-14.0, -14.0, 14.0, 14.0)),
    ]);
    let pit = slabs(&[
        (0.0, 8.0, rect(-14.0, -14.0, 14.0, 14.0).difference(&rect(-9.0, -4.0, 9.0, 4.0))),
        (8.0, 12.0, rect(-14.0, -14.0, 14.0, 14.0)),
    ]);
    let round = slabs(&[
        (0.0, 8.0, Region::disc(v2(0.0, 0.0), 14.0).difference(&Region::disc(v2(0.0, 0.0), 8.0))),
        (8.0, 12.0, Region::disc(v2(0.0, 0.0), 14.0)),
    ]);
    let ring = slabs(&[
        (0.0, 8.0, Region::disc(v2(0.0, 0.0), 14.0).difference(&Region::disc(v2(0.0, 0.0), 8.0))),
        (8.0, 12.0, Region::disc(v2(0.0, 0.0), 14.0).difference(&Region::disc(v2(0.0, 0.0), 5.0))),
    ]);
    let turned = doorway(12.0, 30.0).mapped(|p| {
        let (sin, cos) = 0.4f64.sin_cos();
        Vec3::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos, p.z)
    });
    assert_cases(
        "bridge",
        vec![
            case("a doorway of 4 mm is within the limit of 5", doorway(4.0, 10.0), &[]),
            case("a doorway of 12 mm", doorway(12.0, 10.0), &[(12.0, 1e-6)]),
            case("a doorway of 12 mm, 40 deep, spans its short way", long_door, &[(12.0, 1e-6)]),
            case("the same, turned on the plate", turned, &[(12.0, 1e-6)]),
            case("an alcove of 18 x 23 spans between its side walls", alcove, &[(18.0, 1e-6)]),
            case("a pit of 18 x 8 spans 8", pit, &[(8.0, 1e-6)]),
            case("a round pit spans its diameter", round, &[(16.0, 0.02)]),
            case("a ring around a hole has a free rim: no bridge", ring.clone(), &[]),
            case("a level lip hangs free: no bridge", leaning(90.0), &[]),
        ],
    );
    assert_cases("overhang", vec![case("that ring hangs over instead", ring, &[(90.0, 0.01)])]);
}

#[test]
fn islands() {
    let plate = || block(0.0, 0.0, 30.0, 30.0, 0.0, 2.0);
    let hook = drawn_out(
        &[
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 12.0),
            (16.0, 12.0),
            (16.0, 6.1),
            (20.0, 6.1),
            (20.0, 20.0),
            (0.0, 20.0),
        ],
        10.0,
    );
    let pyramid = turned(&[(0.0, 6.0), (5.0, 12.0), (5.0, 15.0)], 48);
    assert_cases(
        "island",
        vec![
            case("a block has none", block(0.0, 0.0, 20.0, 20.0, 0.0, 10.0), &[]),
            case("a lip that grows out of a wall is none", leaning(90.0), &[]),
            case("the ceiling of a doorway is none", doorway(12.0, 10.0), &[]),
            case("the point of a hook, 4 x 10", hook, &[(40.0, 1.0)]),
            case(
                "a block that floats over a plate, 10 x 6",
                together(&[plate(), block(10.0, 10.0, 20.0, 16.0, 7.0, 12.0)]),
                &[(60.0, 1.0)],
            ),
            case(
                "two blocks that float at different heights, 5 x 6 and 8 x 5",
                together(&[
                    plate(),
                    block(2.0, 10.0, 7.0, 16.0, 7.0, 12.0),
                    block(20.0, 10.0, 28.0, 15.0, 9.0, 12.0),
                ]),
                &[(30.0, 1.0), (40.0, 1.0)],
            ),
            case(
                "a cone on its tip over a plate starts as a dot",
                together(&[block(-10.0, -10.0, 10.0, 10.0, 0.0, 2.0), pyramid]),
                &[(0.05, 0.1)],
            ),
        ],
    );
}

fn resin(soup: &Soup) -> Vec<Finding> {
    only(findings_on(soup, "resin-fine"), "hollow")
}

#[test]
fn hollows_are_trapped_or_cups() {
    let outer = || rect(-10.0, -10.0, 10.0, 10.0);
    let inner = || rect(-6.0, -6.0, 6.0, 6.0);
    let tube = || outer().difference(&inner());
    let closed = slabs(&[(0.0, 2.0, outer()), (2.0, 12.0, tube()), (12.0, 14.0, outer())]);
    let found = resin(&closed);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].severity, Severity::Error);
    let volume = found[0].measured.expect("a volume");
    assert!((volume - 1440.0).abs() < 15.0, "{volume}");
    // On a filament printer it is no more than a note.
    assert!(
        only(findings_on(&closed, PRINTER), "hollow").iter().all(|f| f.severity == Severity::Note)
    );

    let cup = slabs(&[(0.0, 2.0, outer()), (2.0, 12.0, tube())]);
    let found = resin(&cup);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].severity, Severity::Warning);
    assert!((found[0].measured.expect("an area") - 144.0).abs() < 2.0);

    // The plate shuts what is open below; held off it, the same is open.
    let bell = slabs(&[(0.0, 10.0, tube()), (10.0, 12.0, outer())]);
    assert_eq!(resin(&bell).len(), 1);
    let feet = rect(-10.0, -10.0, -8.0, -8.0).union(&rect(8.0, 8.0, 10.0, 10.0));
    let raised = slabs(&[(0.0, 2.0, feet), (2.0, 10.0, tube()), (10.0, 12.0, outer())]);
    assert!(resin(&raised).is_empty(), "{:?}", resin(&raised));
    let vented = slabs(&[
        (0.0, 2.0, outer()),
        (2.0, 4.0, tube().difference(&rect(0.0, -1.5, 20.0, 1.5))),
        (4.0, 12.0, tube()),
        (12.0, 14.0, outer()),
    ]);
    assert!(resin(&vented).iter().all(|f| f.severity != Severity::Error));
}

#[test]
fn standing_on_the_plate() {
    let block = block(0.0, 0.0, 20.0, 20.0, 0.0, 30.0);
    assert!(only(findings_on(&block, PRINTER), "first_layer").is_empty());
    // A ball touches with a dot.
    let ball = sphere(Vec3::zeros(), 10.0, 96, true);
    let found = only(findings_on(&ball, PRINTER), "first_layer");
    assert!(found.iter().any(|f| f.unit == "mm2"), "{found:?}");
    // A gallows: its weight hangs beside its foot.
    let gallows = drawn_out(
        &[(0.0, 0.0), (6.0, 0.0), (6.0, 30.0), (40.0, 30.0), (40.0, 36.0), (0.0, 36.0)],
        6.0,
    );
    let found = only(findings_on(&gallows, PRINTER), "first_layer");
    assert!(found.iter().any(|f| f.severity == Severity::Error), "{found:?}");
    // A narrow plank on edge.
    let plank = slabs(&[(0.0, 60.0, rect(0.0, 0.0, 4.0, 60.0))]);
    let found = only(findings_on(&plank, PRINTER), "first_layer");
    let tilt = found.iter().find(|f| f.unit == "deg").and_then(|f| f.measured);
    assert!((tilt.expect("tips") - (2.0f64 / 30.0).atan().to_degrees()).abs() < 1e-6);
}
