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

/// A leg of 0.02 mm whose end leans, far below a body: each column that it leaves opens
/// 13 mm of the way at once, of which blocks of the chassis fill some.
struct Leg {
    solid: Solid,
    /// Where it ends along x at the foot and at the top, z = 0 and 10 mm.
    ends: [f64; 2],
}

impl Leg {
    fn random(rng: &mut fastrand::Rng) -> Leg {
        let ends = [4.0 + rng.f64(), -4.0 + 2.0 * rng.f64()].map(|x| (x * 1e3).round() / 1e3);
        let body = rect(-5.0, 5.0, 5.0, 9.0).union(&rect(-5.0, -8.0, -4.5, 9.0));
        let [low, high] = ends.map(|x| body.union(&rect(-5.0, -8.0, x, -7.98)));
        let mut stack = Stack::default();
        stack.ruled(0.0, 10.0, RuledSection::between(&low, &high).expect("alike"));
        Leg { solid: stack.solid().expect("sound"), ends }
    }

    fn end_at(&self, z: f64) -> f64 {
        self.ends[0] + (self.ends[1] - self.ends[0]) * (z / 10.0)
    }
}

/// Bars of the chassis along z between leg and body, at odd places of x.
fn bars(rng: &mut fastrand::Rng) -> Vec<(f64, f64)> {
    let mut from = -4.4;
    let mut out = Vec::new();
    loop {
        from += 0.1 + 0.5 * rng.f64();
        let to = from + 0.1 + 0.4 * rng.f64();
        if to > 4.9 {
            return out;
        }
        out.push([from, to].map(|x| (x * 1e3).round() / 1e3).into());
        from = to;
    }
}

/// The bound of a way from +y holds where lowest lines jump, not only where faces lie.
#[test]
fn the_bound_of_a_way_from_above_holds_where_a_legs_end_leans() {
    let mut rng = fastrand::Rng::with_seed(57);
    let mut met = 0;
    for _ in 0..12 {
        let (leg, bars) = (Leg::random(&mut rng), bars(&mut rng));
        let Some(section) =
            bars.iter().map(|b| rect(b.0, -5.0, b.1, 3.0)).reduce(|a, b| a.union(&b))
        else {
            continue;
        };
        // A plate beyond the part's end keeps them in one piece.
        let foot = rect(-6.0, -6.0, 6.0, 4.0);
        let other = chassis(meshed(&stack(&[(-3.0, -1.0, foot), (-1.0, 12.0, section)])));
        let Some(found) = ask(&leg.solid, &other, Question::FromAbove) else { continue };
        // Bars count as far as the leg reaches below them: straight lines over z.
        let count = 20_000;
        let step = 10.0 / f64::from(count);
        let covered = |z: f64| -> f64 {
            let end = leg.end_at(z);
            bars.iter().map(|b| (end.min(b.1) - b.0).max(0.0) * 8.0).sum()
        };
        let exact: f64 = (0..count).map(|k| step * covered(step * (f64::from(k) + 0.5))).sum();
        let off = (found.volume - exact).abs();
        assert!(off <= found.bound + 1e-4, "{} of {exact} to within {}", found.volume, found.bound);
        assert!(found.bound < 0.02 * exact + 1.0, "{found:?}");
        met += 1;
    }
    assert!(met > 6, "{met}");
}

/// Random parts with leaning faces and legs, among leaning blocks: a way cut four
/// hundred times is as it is said to be.
#[test]
fn ways_from_above_are_known_to_within_their_bound() {
    let mut rng = fastrand::Rng::with_seed(58);
    let mut met = 0;
    for _ in 0..30 {
        let mut side = |from: f64, to: f64| ((from + (to - from) * rng.f64()) * 1e3).round() / 1e3;
        let mut slab = |y: (f64, f64)| {
            let section = |x: [f64; 2], deep: f64| rect(x[0], y.0 + deep, x[1], y.1 + deep);
            let low = section([side(-6.0, -1.0), side(1.0, 6.0)], side(-0.9, 0.9));
            let high = section([side(-6.0, -1.0), side(1.0, 6.0)], side(-0.9, 0.9));
            (low, high)
        };
        let ruled = |low: &Region, high: &Region| RuledSection::between(low, high).ok();
        let (leg, body) = (slab((-8.0, -6.0)), slab((2.0, 6.0)));
        let post = rect(-0.5, -7.0, 0.5, 4.0);
        let join = |leg: &Region, body: &Region| leg.union(body).union(&post);
        let Some(part) = ruled(&join(&leg.0, &body.0), &join(&leg.1, &body.1)) else { continue };
        let (block, wide) = (slab((-4.0, 0.0)), slab((7.0, 9.0)));
        let both = [(&block.0, &wide.0), (&block.1, &wide.1)].map(|(a, b)| a.union(b));
        let Some(blocks) = ruled(&both[0], &both[1]) else { continue };
        let (mut own, mut others) = (Stack::default(), Stack::default());
        own.ruled(0.0, 8.0, part);
        others.prism(-3.0, -1.0, &rect(-9.0, -9.0, 9.0, 12.0)).ruled(-1.0, 9.0, blocks);
        let (Ok(own), Ok(others)) = (own.solid(), others.solid()) else { continue };
        let other = chassis(meshed(&others));
        let Some(found) = ask(&own, &other, Question::FromAbove) else { continue };
        let levels = Levels::new(&own).expect("upright and lying faces only");
        let sections = Sections::new(&levels, Question::FromAbove);
        let high = Vec3::new(9.0, f64::INFINITY, 8.0);
        let near = other.near(Vec3::new(-9.0, -9.0, 0.0), high);
        let count = 400;
        let step = 8.0 / f64::from(count);
        let asked = Asked { reach: Reach::FromAbove, around: false };
        let area = |k: i32| {
            let z = step * (f64::from(k) + 0.5);
            let cut = sections.cut(z).expect("defined");
            common(&cut.pieces, &Pieces::between(near.at(z)), &cut.own, asked).area
        };
        let fine: f64 = (0..count).map(|k| step * area(k)).sum();
        let off = (found.volume - fine).abs();
        assert!(off <= found.bound + 1e-3, "{} of {fine} to within {}", found.volume, found.bound);
        assert!(found.bound < 0.2 * fine + 5.0, "{found:?}");
        met += 1;
    }
    assert!(met > 5, "{met}");
}
