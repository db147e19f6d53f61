//! Cross bores: closed forms, and random bores in random stacks against an
//! integral over the sections that knows nothing of the boundary.

use std::f64::consts::PI;

use borewright::measure::Vec2;
use borewright::section::Region;
use borewright::solid::{BoreEnd, BoreError, BoreProfile, CrossBore, Mouth, Stack, StackError};

use fastrand::Rng;

use crate::cases;
use crate::random::{Input, Source, stack_of};

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
        [(15.0, 40.0, 1.7, 28002.395819142923), (10.0, 30.0, 3.0, 8865.72667375718)]
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
        (3.0, 15.0, 5.0, 794.6106667729863),
        (2.0, 12.0, 6.0, 259.55421072862345),
        (2.0, 15.0, 0.0, 376.15148828138865),
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
        (1.7, 15.0, 12.5, 22.741996110023464),
        (3.0, 16.0, 14.0, 56.83707142244375),
        (6.0, 18.0, 16.0, 229.90726499980136),
        (1.25, 12.0, 11.0, 4.9160342116297535),
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
            close(move_by.y, 0.71, 0.03);
            let moved = CrossBore { z: 1.0 + 0.71 + 1e-6, ..near_edge };
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

/// Distances along `d` at which the line at `u` to its left passes from
/// outside to inside of a section and back, in order.
fn passes(section: &Region, d: Vec2, u: f64) -> Vec<f64> {
    let left = Vec2::new(-d.y, d.x);
    let mut out = Vec::new();
    for s in section.segs() {
        let (a, b) =
            (Vec2::new(s.a.dot(&left), s.a.dot(&d)), Vec2::new(s.b.dot(&left), s.b.dot(&d)));
        match s.arc {
            None => {
                if (a.x > u) != (b.x > u) {
                    out.push(a.y + (b.y - a.y) * (u - a.x) / (b.x - a.x));
                }
            }
            Some(arc) => {
                let c = Vec2::new(arc.centre.dot(&left), arc.centre.dot(&d));
                let half = (arc.radius * arc.radius - (u - c.x) * (u - c.x)).sqrt();
                for t in [c.y - half, c.y + half] {
                    let from = (a - c).y.atan2((a - c).x);
                    let at = (t - c.y).atan2(u - c.x);
                    // (left, along) is a mirrored frame.
                    let turn = if arc.ccw { from - at } else { at - from }.rem_euclid(2.0 * PI);
                    if half > 0.0 && turn < s.sweep() {
                        out.push(t);
                    }
                }
            }
        }
    }
    out.sort_by(f64::total_cmp);
    out
}

/// Volume that a round bore takes out of upright walls: Gauss-Chebyshev rule of
/// the second kind across the bore.
fn taken(section: &Region, bore: &CrossBore, radius: f64) -> f64 {
    let d = bore.direction / bore.direction.norm();
    let n = 400;
    let entry = passes(section, d, bore.offset + 1e-9)[0];
    (1..=n)
        .map(|i| {
            let angle = PI * f64::from(i) / f64::from(n + 1);
            let t = passes(section, d, bore.offset + radius * angle.cos());
            let length = match bore.end {
                BoreEnd::AllWalls => t.chunks(2).map(|c| c[1] - c[0]).sum(),
                BoreEnd::NextWall => t[1] - t[0],
                BoreEnd::Depth(depth) => entry + depth - t[0],
            };
            2.0 * radius * radius * PI / f64::from(n + 1) * angle.sin().powi(2) * length
        })
        .sum()
}

#[test]
fn random_bores_take_their_volume_or_are_refused_by_name() {
    let (mut drilled, mut refused) = (0, std::collections::BTreeMap::new());
    for seed in 0..cases(20_000) {
        let mut source = Source { rng: Rng::with_seed(seed), eps: 0.0, input: Input::Snapped };
        let slabs = source.slabs();
        let stack = stack_of(&slabs);
        if stack.solid().is_err() {
            continue;
        }
        let rng = &mut source.rng;
        let (bottom, top, section) = &slabs[rng.usize(0..slabs.len())];
        let turn =
            if rng.bool() { f64::from(rng.i32(0..8)) * PI / 4.0 } else { rng.f64() * 2.0 * PI };
        let radius = f64::from(rng.i32(1..=6)) * 0.25;
        let bore = CrossBore {
            end: match rng.u8(0..3) {
                0 => BoreEnd::AllWalls,
                1 => BoreEnd::NextWall,
                _ => BoreEnd::Depth(f64::from(rng.i32(1..=12)) * 0.25),
            },
            ..round(
                Vec2::new(turn.cos(), turn.sin()),
                bottom + (top - bottom) * f64::from(rng.i32(1..8)) / 8.0,
                f64::from(rng.i32(-10..=10)) * 0.5,
                radius,
            )
        };
        match stack.bored(&[bore]) {
            Ok(solid) => {
                let hole = taken(section, &bore, radius);
                let got = stack.volume() - solid.properties().volume;
                let noise = 1e-9 * stack.volume() + 1e-5 * hole;
                assert!((got - hole).abs() <= noise, "seed {seed}: {got} is not {hole}");
                drilled += 1;
            }
            Err(StackError::Bore(e)) => {
                let name = match e {
                    BoreError::NoWall { .. } => "no wall",
                    BoreError::CrossesEdge { .. } => "crosses an edge",
                    BoreError::Grazes { .. } => "grazes",
                    BoreError::Depth { .. } => "depth",
                    _ => "shape",
                };
                *refused.entry(name).or_insert(0) += 1;
            }
            // A bore may cut a body in two only by leaving edges: never here.
            Err(e) => panic!("seed {seed}: {e}"),
        }
    }
    println!("bores in random stacks: {drilled} drilled, refused {refused:?}");
    assert!(drilled > cases(2_000));
    assert!(!refused.contains_key("shape"));
}
