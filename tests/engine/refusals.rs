//! What the engine does not take: outlines, stacks, bores and boundaries, each
//! refused by its own name.

use std::f64::consts::PI;

use borewright::measure::{Vec2, Vec3};
use borewright::section::{Arc, OffsetError, Region, RegionError, Seg, snap};
use borewright::solid::{
    BoreEnd, BoreError, BoreProfile, Brep, BrepError, CrossBore, Mouth, RuleError, RuledSection,
    Solid, Stack, StackError, StackTolerance, StepKeeps, Sweep,
};

fn at(x: f64, y: f64) -> Vec2 {
    Vec2::new(x, y)
}

fn square() -> Region {
    Region::rectangle(at(-5.0, -5.0), at(5.0, 5.0))
}

fn block() -> Brep {
    let mut stack = Stack::default();
    stack.prism(0.0, 10.0, &square());
    stack.solid().expect("a block").brep().clone()
}

#[test]
fn outlines_that_are_none() {
    let (a, b, c) = (at(0.0, 0.0), at(4.0, 0.0), at(0.0, 4.0));
    let open = vec![Seg::line(a, b), Seg::line(b, c), Seg::line(at(0.0, 3.9), a)];
    let refused = Region::from_outlines(&[open]);
    assert!(matches!(refused, Err(RegionError::Open { end, .. }) if end == c), "{refused:?}");
    let far = vec![Seg::line(a, at(2000.0, 0.0)), Seg::line(at(2000.0, 0.0), a)];
    let refused = Region::from_outlines(&[far]);
    let named = matches!(refused, Err(RegionError::Coordinate { value, .. }) if value == 2000.0);
    assert!(named, "{refused:?}");
    let arc = Arc { centre: a, radius: 4.1, ccw: true };
    let off = vec![Seg { a: b, b: c, arc: Some(arc) }, Seg::line(c, a), Seg::line(a, b)];
    let refused = Region::from_outlines(&[off]);
    let named = matches!(refused, Err(RegionError::OffCircle { off, .. }) if off > 0.099);
    assert!(named, "{refused:?}");
    assert!(Region::polygon(&[a, b, b, a]).is_empty());
    assert!(Region::disc(a, 1e-4).is_empty());
    assert!(Region::rectangle(a, b).is_empty());
}

/// Inside, box and distance of a D with a hole, against what is plain.
#[test]
fn regions_answer_questions() {
    let d = Region::disc(at(0.0, 0.0), 5.0)
        .intersection(&Region::rectangle(at(-9.0, -9.0), at(9.0, 3.0)))
        .difference(&Region::disc(at(0.0, -1.0), 1.0));
    let (low, high) = d.bounds().expect("not empty");
    assert!((low - at(-5.0, -5.0)).norm() < 1e-12 && (high - at(5.0, 3.0)).norm() < 1e-12);
    assert_eq!(Region::empty().bounds(), None);
    for i in -60..=60 {
        for j in -60..=60 {
            let p = at(f64::from(i) * 0.1 + 0.03, f64::from(j) * 0.1 + 0.04);
            let to_disc = 5.0 - p.norm();
            let to_hole = (p - at(0.0, -1.0)).norm() - 1.0;
            let inside = to_disc > 0.0 && to_hole > 0.0 && p.y < 3.0;
            assert_eq!(d.contains(p), inside, "{p:?}");
            let distance = d.boundary_distance(p);
            if inside {
                let expected = to_disc.min(to_hole).min(3.0 - p.y);
                assert!((distance - expected).abs() < 1e-12, "{p:?}: {distance} is not {expected}");
            }
        }
    }
    let corner = d.boundary_distance(at(5.0, 8.0));
    assert!((corner - 26f64.sqrt()).abs() < 1e-12, "to the corner (4, 3)");
    assert!((d.boundary_distance(at(0.0, 7.0)) - 4.0).abs() < 1e-12, "to the flat");
    assert_eq!(Region::empty().boundary_distance(at(0.0, 0.0)), f64::INFINITY);
    // Clockwise points make the same region.
    let points = [at(0.0, 0.0), at(3.0, 0.0), at(3.0, 2.0)];
    let turned: Vec<Vec2> = points.iter().rev().copied().collect();
    assert_eq!(Region::polygon(&points), Region::polygon(&turned));
    let half = Region::half_plane(at(1.0, 0.0), at(0.0, 2.0), 10.0);
    assert!(half.contains(at(0.5, 3.0)) && !half.contains(at(1.5, 3.0)), "left of the line");
}

#[test]
fn stacks_that_do_not_stand() {
    let build = |slabs: &[(f64, f64)]| {
        let mut stack = Stack::default();
        for &(bottom, top) in slabs {
            stack.prism(bottom, top, &square());
        }
        stack.solid()
    };
    for slabs in [&[(0.0, 0.0005)][..], &[(1.0, 0.0)], &[(0.0, 2.0), (1.0, 3.0)]] {
        let refused = build(slabs);
        assert!(matches!(refused, Err(StackError::Height { .. })), "{slabs:?}: {refused:?}");
    }
    // A step of the grid is one at any height, whatever its float noise.
    for at in (0..400_000).step_by(997).map(|n| 1e-3 * f64::from(n)) {
        let low = snap(at);
        let thin = build(&[(low - 1.0, low), (low, snap(low + 0.001))]);
        assert!(thin.is_ok_and(|s| s.faces().len() == 6), "{low}");
    }
    let gap = build(&[(0.0, 2.0), (3.0, 4.0)]);
    let pieces = matches!(gap, Err(StackError::Boundary(BrepError::Pieces { pieces: 2, .. })));
    assert!(pieces, "{gap:?}");
    assert!(matches!(Stack::default().solid(), Err(StackError::Empty)));
    assert!(build(&[(0.0, 2.0), (2.0, 4.0)]).is_ok_and(|s| s.faces().len() == 6), "merged");
    // A thin wall, refused by default and taken with thresholds of one's own.
    let thin = Region::rectangle(at(0.0, 0.0), at(10.0, 0.001));
    let mut stack = Stack::default();
    stack.prism(0.0, 1.0, &thin);
    assert!(matches!(stack.solid(), Err(StackError::Sliver { .. })));
    let mut stack = Stack::with_tolerance(StackTolerance { sliver: 1e-4, ..Default::default() });
    stack.prism(0.0, 1.0, &thin);
    assert!(stack.solid().is_ok());
}

#[test]
fn sections_that_cannot_be_ruled() {
    let cut = square().difference(&Region::disc(at(0.0, 0.0), 1.0));
    let refused = RuledSection::between(&square(), &cut);
    assert!(matches!(refused, Err(RuleError::Structure { bottom: 4, top: 6 })), "{refused:?}");
    // The hole passes through the outer wall on the way.
    let hole = |x: f64| {
        Region::rectangle(at(-9.0, -9.0), at(9.0, 9.0))
            .difference(&Region::rectangle(at(x - 1.0, -1.0), at(x + 1.0, 1.0)))
    };
    assert!(RuledSection::between(&hole(-6.0), &hole(6.0)).is_ok(), "a leaning hole");
    let near = Region::rectangle(at(-4.0, -1.0), at(-2.0, 1.0));
    let far = Region::rectangle(at(2.0, -1.0), at(4.0, 1.0));
    let two = near.union(&far);
    let swapped = two.union(&Region::empty());
    assert!(RuledSection::between(&two, &swapped).is_ok_and(|r| r.is_prism()));
}

#[test]
fn steps_may_keep_more_than_there_is() {
    let bulb = |z: f64| Region::disc(at(0.0, 0.0), (100.0 - z * z).sqrt());
    let exact = PI * (100.0 * 6.0 - 72.0);
    let mut stack = Stack::default();
    stack.swept(&[0.0, 6.0], &Sweep { step: 0.1, keeps: StepKeeps::MoreMaterial }, &bulb);
    let volume = stack.solid().expect("steps").properties().volume;
    assert!(volume >= exact && volume < 1.01 * exact, "{volume} of {exact}");
}

#[test]
fn a_floor_above_the_end_of_a_wide_mouth_is_refused() {
    let mut stack = Stack::default();
    stack.prism(0.0, 20.0, &square());
    let bore = |mouth: Mouth, depth: f64| CrossBore {
        direction: at(0.0, 1.0),
        z: 10.0,
        offset: 0.0,
        start: f64::NEG_INFINITY,
        profile: BoreProfile::Round { radius: 1.0 },
        mouth,
        end: BoreEnd::Depth(depth),
    };
    let wide = Mouth::Counterbore { radius: 2.0, depth: 3.0 };
    let sunk = Mouth::Countersink { radius: 2.0, angle: PI / 2.0, depth: 0.0 };
    assert!(stack.bored(&[bore(wide, 3.5)]).is_ok() && stack.bored(&[bore(sunk, 1.5)]).is_ok());
    for (mouth, depth, end) in [(wide, 2.5, 3.0), (wide, 3.005, 3.0), (sunk, 0.9, 1.0)] {
        match stack.bored(&[bore(mouth, depth)]) {
            Err(StackError::Bore(BoreError::Depth { what: "floor", least, most, .. })) => {
                assert!((least - end - 0.01).abs() < 1e-9 && (most - 9.99).abs() < 1e-9);
            }
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn boundaries_that_do_not_close() {
    assert_eq!(Solid::new(Brep::default()).err(), Some(BrepError::Empty));
    let mut open = block();
    open.faces.pop();
    assert!(matches!(Solid::new(open), Err(BrepError::EdgeUse { .. })));
    let mut turned = block();
    turned.faces[0].loops[0].reverse();
    assert!(matches!(Solid::new(turned), Err(BrepError::BrokenLoop { .. })));
    let mut twice = block();
    let uses = twice.faces[0].loops[0].clone();
    twice.faces[0].loops[0].extend(uses);
    assert!(matches!(Solid::new(twice), Err(BrepError::BrokenLoop { .. })));
    let mut empty = block();
    empty.faces[0].loops.push(Vec::new());
    assert!(matches!(Solid::new(empty), Err(BrepError::BrokenLoop { .. })));
    let mut inside_out = block();
    for uses in inside_out.faces.iter_mut().flat_map(|f| &mut f.loops) {
        uses.reverse();
        uses.iter_mut().for_each(|u| u.forward = !u.forward);
    }
    // Loops against the faces' normals; then normals turned as well.
    let turned = Solid::new(inside_out.clone());
    assert!(matches!(turned, Err(BrepError::FaceTurned { .. })), "{turned:?}");
    inside_out.faces.iter_mut().for_each(|f| f.flipped = !f.flipped);
    assert!(matches!(Solid::new(inside_out), Err(BrepError::ShellVolume { .. })));
    // Two blocks that share a corner.
    let (mut pair, other) = (block(), block());
    let shift = Vec3::new(10.0, 10.0, 10.0);
    let (vertices, edges) = (pair.vertices.len() as u32, pair.edges.len() as u32);
    let corner = |b: &Brep, p: Vec3| b.vertices.iter().position(|v| (v - p).norm() < 1e-9);
    let shared = corner(&pair, Vec3::new(5.0, 5.0, 10.0)).expect("a corner") as u32;
    let own = corner(&other, Vec3::new(-5.0, -5.0, 0.0)).expect("a corner") as u32;
    pair.vertices.extend(other.vertices.iter().map(|v| v + shift));
    let moved = |v: u32| if v == own { shared } else { v + vertices };
    for mut edge in other.edges {
        (edge.from, edge.to) = (moved(edge.from), moved(edge.to));
        pair.edges.push(edge);
    }
    for mut face in other.faces {
        face.loops.iter_mut().flatten().for_each(|u| u.edge += edges);
        pair.faces.push(face);
    }
    assert!(matches!(Solid::new(pair), Err(BrepError::PinchedVertex { .. })));
}

/// A neck between two squares whose sides pass each other when they move
/// inwards: every piece keeps its sense, but the outline crosses itself.
#[test]
fn a_neck_that_closes_has_no_offset_of_its_structure() {
    let pad = |x: f64| Region::rectangle(at(x - 4.0, -4.0), at(x + 4.0, 4.0));
    let neck = Region::rectangle(at(-6.0, -0.5), at(6.0, 0.5));
    let region = pad(-8.0).union(&pad(8.0)).union(&neck);
    assert!(region.offset_same_structure(-0.4).is_ok());
    let refused = region.offset_same_structure(-0.6);
    assert!(matches!(refused, Err(OffsetError::Crossing { by: -0.6, .. })), "{refused:?}");
    // The round offset, which may change structure, leaves two squares.
    assert_eq!(region.offset(-0.6).loops().len(), 2);
}
