use super::*;
use crate::mesh::{ChordTolerance, Soup, tessellate};
use crate::section::Region;
use crate::solid::{RuledSection, Solid, Stack};
use crate::survey::{ChassisPlace, Entry, FileAxis};

fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
    Region::rectangle(Vec2::new(x0, y0), Vec2::new(x1, y1))
}

fn stack(slabs: &[(f64, f64, Region)]) -> Solid {
    let mut stack = Stack::default();
    for (low, high, section) in slabs {
        stack.prism(*low, *high, section);
    }
    stack.solid().expect("a sound stack")
}

fn meshed(solid: &Solid) -> Soup {
    Soup::from(&tessellate(solid, &ChordTolerance::default()).expect("meshes"))
}

fn chassis(soup: Soup) -> Chassis {
    let place = ChassisPlace { axis: FileAxis::Z, turn: 0.0, shift: Vec3::zeros() };
    Chassis::new("chassis.stl", soup, &place, Entry::Either).expect("closed")
}

fn ask(part: &Solid, other: &Chassis, question: Question) -> Option<Meeting> {
    let levels = Levels::new(part).expect("upright and lying faces only");
    meeting(&levels, &meshed(part), other, question).expect("defined")
}

fn near(found: f64, wanted: f64, by: f64) {
    assert!((found - wanted).abs() <= by, "{found} is not {wanted}");
}

/// A tube with a window towards +y from z = 20 to 60.
fn tube() -> Chassis {
    let ring = Region::disc(Vec2::zeros(), 15.0).difference(&Region::disc(Vec2::zeros(), 12.0));
    let open = ring.difference(&rect(-10.0, 0.0, 10.0, 20.0));
    let plug = Region::disc(Vec2::zeros(), 15.0);
    chassis(meshed(&stack(&[
        (0.0, 4.0, plug),
        (4.0, 20.0, ring.clone()),
        (20.0, 60.0, open),
        (60.0, 80.0, ring),
    ])))
}

#[test]
fn a_block_in_a_wall_is_measured_exactly() {
    let wall = chassis(meshed(&stack(&[(0.0, 50.0, rect(-20.0, 8.0, 20.0, 12.0))])));
    let part = stack(&[(10.0, 30.0, rect(-3.0, -5.0, 5.0, 9.5))]);
    let found = ask(&part, &wall, Question::Seated).expect("1.5 mm in the wall");
    near(found.volume, 8.0 * 1.5 * 20.0, 1e-6);
    assert!(found.bound < 1e-6, "upright walls only: {}", found.bound);
    near(found.depth, 1.5, 1e-3);
    for (corner, wanted) in
        [(found.low, Vec3::new(-3.0, 8.0, 10.0)), (found.high, Vec3::new(5.0, 9.5, 30.0))]
    {
        assert!((corner - wanted).norm() < 2e-3, "{corner:?}");
    }
    // From 20.6 degrees on +x to 32 degrees on -x, to the degree.
    assert_eq!(found.clocking, Some((327.0, 21.0)));
    // A little less than contact, and flush, are nothing.
    for reach in [8.0, 8.004] {
        let flush = stack(&[(10.0, 30.0, rect(-3.0, -5.0, 5.0, reach))]);
        assert_eq!(ask(&flush, &wall, Question::Seated), None, "{reach}");
    }
    let low = stack(&[(49.997, 60.0, rect(-3.0, -5.0, 5.0, 20.0))]);
    assert_eq!(ask(&low, &wall, Question::Seated), None, "stands on it");
}

#[test]
fn a_part_goes_in_where_it_is_open() {
    let tube = tube();
    let way = |part: &Solid| {
        assert_eq!(ask(part, &tube, Question::Seated), None);
        (ask(part, &tube, Question::FromCap), ask(part, &tube, Question::FromAbove))
    };
    // Under the window: the closed end is in the way along z.
    let (along, across) = way(&stack(&[(25.0, 55.0, rect(-8.0, -8.0, 8.0, 8.0))]));
    let along = along.expect("the closed end");
    assert_eq!(across, None);
    near(along.volume, 16.0 * 16.0 * 4.0, 1e-3);
    near(along.low.z, 0.0, 1e-3);
    near(along.high.z, 4.0, 2e-3);
    assert_eq!(along.clocking, None, "all around");
    // Half under the rim: from +y the ring above it is in the way.
    let (_, across) = way(&stack(&[(50.0, 70.0, rect(-8.0, -8.0, 8.0, 8.0))]));
    let across = across.expect("the rim");
    near(across.low.z, 60.0, 2e-3);
    near(across.high.z, 70.0, 2e-3);
    assert!(across.low.y > 8.9 && across.high.y < 15.01, "{across:?}");
    let dome = |r: f64| {
        let half = Region::disc(Vec2::zeros(), r).intersection(&rect(-8.0, 0.0, 8.0, 20.0));
        half.area()
    };
    near(across.volume, 10.0 * (dome(15.0) - dome(12.0)), 1.0);
    let open = chassis(meshed(&stack(&[(
        0.0,
        80.0,
        Region::disc(Vec2::zeros(), 15.0).difference(&Region::disc(Vec2::zeros(), 12.0)),
    )])));
    let part = stack(&[(25.0, 55.0, Region::disc(Vec2::zeros(), 11.9))]);
    assert_eq!(ask(&part, &open, Question::FromCap), None);
    assert!(ask(&part, &open, Question::FromAbove).is_some());
}

/// What overlaps where it sits is not counted again as in the way.
#[test]
fn the_way_does_not_count_what_the_part_covers() {
    let floor = chassis(meshed(&stack(&[(0.0, 5.0, rect(-20.0, -20.0, 20.0, 4.0))])));
    let part = stack(&[(3.0, 30.0, rect(-4.0, -4.0, 4.0, 4.0))]);
    near(ask(&part, &floor, Question::Seated).expect("2 mm deep").volume, 128.0, 1e-6);
    let along = ask(&part, &floor, Question::FromCap).expect("3 mm of floor below");
    near(along.volume, 192.0, 1e-6);
    near(along.high.z, 3.0, 2e-3);
    assert_eq!(ask(&part, &floor, Question::FromAbove), None);
}

/// Leaning faces of both: volumes by closed form, within the stated bound.
#[test]
fn leaning_faces_stay_within_the_bound() {
    let disc = |r: f64| Region::disc(Vec2::zeros(), r);
    let cone = |low: f64, high: f64, r: (f64, f64)| {
        let mut stack = Stack::default();
        let ruled = RuledSection::between(&disc(r.0), &disc(r.1)).expect("a cone");
        stack.ruled(low, high, ruled);
        stack.solid().expect("a cone")
    };
    let part = cone(0.0, 20.0, (10.0, 2.0));
    let block = chassis(meshed(&stack(&[(5.0, 12.0, rect(-30.0, -30.0, 30.0, 30.0))])));
    let r = |z: f64| 10.0 - 0.4 * z;
    let exact = |a: f64, b: f64| {
        std::f64::consts::PI * (b - a) / 3.0 * (r(a).powi(2) + r(a) * r(b) + r(b).powi(2))
    };
    let found = ask(&part, &block, Question::Seated).expect("a slice");
    // Two thousandths of the volume.
    assert!(found.bound < 2e-3 * found.volume, "{} of {}", found.bound, found.volume);
    near(found.volume, exact(5.0, 12.0), found.bound);
    near(found.high.x, 8.0, 0.02);
    // The other cone, upside down, as the mesh.
    let other = chassis(meshed(&cone(2.0, 22.0, (2.0, 10.0))));
    let found = ask(&part, &other, Question::Seated).expect("they meet");
    // Both are as wide at z = 11: below it the mesh's, above it the part's.
    let wanted = 2.0 * std::f64::consts::PI * 9.0 / 3.0 * (5.6f64.powi(2) + 5.6 * 2.0 + 4.0);
    // The mesh lies within its chord of the cone.
    let chord = 0.01 * std::f64::consts::TAU * 5.6 * 11.0;
    near(found.volume, wanted, found.bound + chord);
}
