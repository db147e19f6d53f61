//! Cross bores: closed forms, and random bores in random stacks against an
//! integral over the sections that knows nothing of the boundary.

use std::f64::consts::PI;

use borewright::measure::Vec2;
use borewright::section::Region;
use borewright::solid::{BoreEnd, BoreError, BoreProfile, CrossBore, Mouth, Stack, StackError};

fn close(a: f64, b: f64, relative: f64) {
    assert!((a - b).abs() <= relative * b.abs(), "{a} is not {b}");
}

fn round(direction: Vec2, z: f64, offset: f64, radius: f64) -> CrossBore {
    CrossBore {
        direction,
        z,
        offset,
        start: f64::NEG_INFINITY,
        profile: BoreProfile::Round { radius },
        mouth: Mouth::Plain,
        end: BoreEnd::AllWalls,
    }
}

fn prism(section: &Region, height: f64) -> Stack {
    let mut stack = Stack::default();
    stack.prism(0.0, height, section);
    stack
}

fn disc(r: f64) -> Region {
    Region::disc(Vec2::zeros(), r)
}

/// Solid rods with a full cross hole: (8/3) b [(a2+b2) E(k) - (b2-a2) K(k)],
/// Bowman, Introduction to Elliptic Functions (1961), p. 34; evaluated to 25
/// digits.
#[test]
fn a_cross_hole_takes_its_closed_form_out_of_a_rod() {
    for (r, length, a, rest) in
        [(15.0, 40.0, 1.7, 28002.3958191429227), (10.0, 30.0, 3.0, 8865.72667375718023)]
    {
        for turn in [0.0, 0.3, 1.2, PI / 2.0, 4.0] {
            let d = Vec2::new(f64::cos(turn), f64::sin(turn));
            let solid = prism(&disc(r), length)
                .bored(&[round(d, length / 2.0, 0.0, a)])
                .expect("the hole lies well inside");
            close(solid.properties().volume, rest, 1e-9);
        }
    }
    for (a, r, e, hole) in [
        (3.0, 15.0, 5.0, 794.610666772986346),
        (2.0, 12.0, 6.0, 259.554210728623469),
        (2.0, 15.0, 0.0, 376.151488281388668),
    ] {
        let rod = prism(&disc(r), 40.0);
        let solid = rod.bored(&[round(Vec2::y(), 20.0, e, a)]).expect("inside the rod");
        close(rod.volume() - solid.properties().volume, hole, 1e-8);
    }
}

/// One-sided holes through a tube wall: half the difference of two full holes.
#[test]
fn a_hole_through_one_wall_of_a_tube() {
    for (a, outer, inner, hole) in [
        (1.7, 15.0, 12.5, 22.7419961100234632),
        (3.0, 16.0, 14.0, 56.8370714224437513),
        (6.0, 18.0, 16.0, 229.90726499980137),
        (1.25, 12.0, 11.0, 4.91603421162975374),
    ] {
        let tube = prism(&disc(outer).difference(&disc(inner)), 40.0);
        let next = CrossBore { end: BoreEnd::NextWall, ..round(Vec2::new(0.6, 0.8), 20.0, 0.0, a) };
        let solid = tube.bored(&[next]).expect("inside the wall");
        close(tube.volume() - solid.properties().volume, hole, 1e-8);
        let all = CrossBore { end: BoreEnd::AllWalls, ..next };
        let solid = tube.bored(&[all]).expect("inside both walls");
        close(tube.volume() - solid.properties().volume, 2.0 * hole, 1e-8);
        let from_inside = CrossBore { start: 0.0, ..all };
        let solid = tube.bored(&[from_inside]).expect("inside the far wall");
        close(tube.volume() - solid.properties().volume, hole, 1e-8);
    }
}

#[test]
fn mouths_floors_and_slots_in_a_block() {
    let block = prism(&Region::rectangle(Vec2::new(-10.0, -10.0), Vec2::new(10.0, 10.0)), 20.0);
    let volume = |bore: CrossBore| {
        let solid = block.bored(&[bore]).expect("well inside the block");
        block.volume() - solid.properties().volume
    };
    let base = round(-Vec2::y(), 10.0, 1.0, 1.7);
    close(volume(base), PI * 1.7 * 1.7 * 20.0, 1e-12);
    let blind = CrossBore { end: BoreEnd::Depth(5.0), ..base };
    close(volume(blind), PI * 1.7 * 1.7 * 5.0, 1e-12);
    let counterbored = CrossBore { mouth: Mouth::Counterbore { radius: 3.0, depth: 3.0 }, ..base };
    close(volume(counterbored), PI * (9.0 * 3.0 + 1.7 * 1.7 * 17.0), 1e-12);
    let sunk = CrossBore {
        mouth: Mouth::Countersink { radius: 3.2, angle: PI / 2.0, depth: 0.0 },
        ..base
    };
    let cone = PI / 3.0 * (3.2 * 3.2 + 3.2 * 1.7 + 1.7 * 1.7) * 1.5;
    close(volume(sunk), cone + PI * 1.7 * 1.7 * 18.5, 1e-12);
    let slot = CrossBore {
        profile: BoreProfile::SlotAlongZ { radius: 1.0, between: 4.0 },
        end: BoreEnd::Depth(6.0),
        ..base
    };
    close(volume(slot), (PI + 8.0) * 6.0, 1e-12);
    let across =
        CrossBore { profile: BoreProfile::SlotAcross { radius: 1.0, between: 4.0 }, ..slot };
    close(volume(across), (PI + 8.0) * 6.0, 1e-12);
    let oblique = CrossBore { direction: Vec2::new(0.2, -1.0), ..base };
    close(volume(oblique), PI * 1.7 * 1.7 * 20.0 * 1.04f64.sqrt(), 1e-9);
}

#[test]
fn a_counterbored_slotted_and_sunk_rod_closes() {
    let rod = prism(&disc(12.0), 60.0);
    let base = round(Vec2::new(0.3, -1.0), 10.0, 0.0, 1.7);
    let bores = [
        CrossBore { mouth: Mouth::Counterbore { radius: 3.0, depth: 4.0 }, ..base },
        CrossBore {
            z: 25.0,
            mouth: Mouth::Countersink { radius: 3.0, angle: PI / 2.0, depth: 2.0 },
            end: BoreEnd::Depth(9.0),
            ..base
        },
        CrossBore {
            z: 40.0,
            profile: BoreProfile::SlotAlongZ { radius: 1.2, between: 5.0 },
            ..base
        },
        CrossBore {
            z: 52.0,
            profile: BoreProfile::SlotAcross { radius: 1.2, between: 5.0 },
            end: BoreEnd::Depth(3.0),
            ..base
        },
    ];
    let solid = rod.bored(&bores).expect("four bores apart from each other");
    assert!(solid.properties().volume < rod.volume());
    assert_eq!(solid.shells().len(), 1);
}

#[test]
fn refusals_say_how_far_to_move() {
    let block = prism(&Region::rectangle(Vec2::new(-10.0, -10.0), Vec2::new(10.0, 10.0)), 20.0);
    let near_edge = round(Vec2::y(), 1.0, 0.0, 1.7);
    match block.bored(&[near_edge]) {
        Err(StackError::Bore(BoreError::CrossesEdge { move_by, .. })) => {
            close(move_by.y, 0.71, 1e-9);
            let moved = CrossBore { z: 1.0 + move_by.y + 1e-6, ..near_edge };
            assert!(block.bored(&[moved]).is_ok(), "moved as told, it fits");
        }
        other => panic!("{other:?}"),
    }
    let rod = prism(&disc(10.0), 20.0);
    let grazing = rod.bored(&[round(Vec2::y(), 10.0, 9.0, 1.7)]);
    assert!(matches!(grazing, Err(StackError::Bore(BoreError::Grazes { .. }))), "{grazing:?}");
    let missing = rod.bored(&[round(Vec2::y(), 10.0, 30.0, 1.7)]);
    assert!(matches!(missing, Err(StackError::Bore(BoreError::NoWall { .. }))), "{missing:?}");
    let deep = CrossBore { end: BoreEnd::Depth(19.9), ..round(Vec2::y(), 10.0, 0.0, 1.7) };
    let deep = rod.bored(&[deep]);
    assert!(matches!(deep, Err(StackError::Bore(BoreError::Depth { .. }))), "{deep:?}");
    let twice = rod.bored(&[round(Vec2::y(), 10.0, 0.0, 1.7), round(Vec2::x(), 10.0, 0.0, 1.7)]);
    assert!(twice.is_err(), "crossing bores share edges");
    let shape = rod.bored(&[round(Vec2::y(), 10.0, 0.0, f64::NAN)]);
    assert!(matches!(shape, Err(StackError::Bore(BoreError::Shape { .. }))), "{shape:?}");
}
