//! A chassis in the light: what it stops, and whether it covers the lamp.

use std::sync::Arc;

use super::lamp::lambert;
use super::look_tests::{END, block, counts, lamp, scene, soup};
use super::*;
use crate::measure::Vec3;

fn beam(low: [f64; 3], high: [f64; 3]) -> Vec<[Vec3; 3]> {
    block(low.into(), high.into())
}

/// A stone above the lamp, without walls, in a chassis of blocks.
fn among(chassis: &[Vec<[Vec3; 3]>]) -> Scene {
    let stone = beam([-4.0, -4.0, 6.0], [4.0, 4.0, 30.0]);
    let chassis = (!chassis.is_empty()).then(|| Arc::new(Tree::new(&soup(chassis.concat()))));
    let shell = Shell::Tube { radius: 50.0, half_angle: 0.5, window: (-50.0, 90.0) };
    Scene { chassis, shell, ..scene(Vec::new(), stone, 1.54) }
}

fn seen(chassis: &[Vec<[Vec3; 3]>]) -> Shown {
    look(&among(chassis), &lamp(1.0), END, counts())
}

/// The blocks of a lid towards +y, over all that the window shows, but for a hole
/// from z = 1 to 9 mm, 8 mm wide, `open` or not.
fn lid(at: f64, open: bool) -> Vec<Vec<[Vec3; 3]>> {
    let all = [
        ([-300.0, -300.0], [300.0, 1.0]),
        ([-300.0, 9.0], [300.0, 300.0]),
        ([-300.0, 1.0], [-4.0, 9.0]),
        ([4.0, 1.0], [300.0, 9.0]),
    ];
    let hole = (!open).then_some(([-4.0, 1.0], [4.0, 9.0]));
    let slab = |(low, high): ([f64; 2], [f64; 2])| {
        beam([low[0], at, low[1]], [high[0], at + 2.0, high[1]])
    };
    all.into_iter().chain(hole).map(slab).collect()
}

#[test]
fn a_wall_of_the_chassis_hides_the_lamp_and_a_hole_in_it_shows_it() {
    let bare = seen(&[]);
    assert!(bare.past_stone.percent > 1.0 && bare.in_chassis.is_none(), "{bare:?}");
    // Inside the shell, whose radius is 50 mm, and beyond it.
    for at in [20.0, 60.0] {
        let closed = seen(&lid(at, false));
        assert!(closed.lines.is_empty(), "{at}: {:?}", closed.lines.first());
        assert_eq!(closed.light_past.percent, 0.0, "{at}");
        assert_eq!(closed.in_chassis.map(|s| s.percent), Some(0.0));
        // What reaches the stone is the same: nothing stands before it.
        assert_eq!(closed.to_stone, bare.to_stone);
        let open = seen(&lid(at, true));
        assert!(0.0 < open.past_stone.percent, "{at}: {open:?}");
        assert!(open.light_past.percent < bare.light_past.percent);
        for line in &open.lines {
            let ray = line.ray();
            let hole = ray.at((at - ray.from.y) / ray.along.y);
            let through = hole.x.abs() <= 4.0 && (1.0..=9.0).contains(&hole.z);
            assert!(line.through_stone || through, "{line:?}");
        }
    }
}

#[test]
fn a_post_before_the_stone_takes_its_share_of_the_light() {
    let bare = seen(&[]);
    // Thin, so that what starts beside it is not stopped by its edge.
    let half = seen(&[beam([0.0, -9.0, 2.0], [9.0, 9.0, 2.001])]);
    let all = seen(&[beam([-9.0, -9.0, 2.0], [9.0, 9.0, 3.0])]);
    let (bare, half) = (bare.to_stone, half.to_stone);
    assert!((half.percent - 0.5 * bare.percent).abs() < 4.0 * half.error.max(0.3), "{half:?}");
    // The lid over the lamp leaves the ways beside it only, and none to the stone.
    assert_eq!(all.to_stone.percent, 0.0);
}

#[test]
fn light_is_neither_lost_nor_made_among_walls_of_a_chassis() {
    let mut rng = fastrand::Rng::with_seed(91);
    let (mut taken, mut seen) = (0.0, 0.0);
    let scene = among(&[lid(20.0, true), vec![beam([-1.0, -9.0, 2.0], [0.5, 9.0, 3.0])]].concat());
    for _ in 0..600 {
        let ray = lambert(Vec3::zeros(), Vec3::z(), [rng.f64(), rng.f64()]);
        let mut sum = 0.0;
        scene.follow(ray, |way| {
            sum += way.share;
            taken += if way.end == End::Taken { way.share } else { 0.0 };
            seen += if way.end == End::Seen { way.share } else { 0.0 };
        });
        assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    }
    assert!(taken > 60.0 && seen > 2.0, "{taken} {seen}");
}

#[test]
fn a_lamp_in_material_is_said_to_be() {
    // Its sides are 1 mm high below z = 0: half of all its surface, 4 + 8 mm2.
    let whole = seen(&[beam([-5.0, -5.0, -5.0], [5.0, 5.0, 3.0])]);
    assert_eq!(whole.in_chassis.map(|s| s.percent), Some(100.0));
    assert_eq!((whole.lines.len(), whole.to_stone.percent), (0, 0.0));
    let sides = seen(&[beam([-5.0, -5.0, -5.0], [5.0, 5.0, -1e-3])]).in_chassis.expect("there");
    assert!((sides.percent - 100.0 * 8.0 / 12.0).abs() < 1.0, "{sides:?}");
    // Two bodies that overlap are as one, and a hollow holds nothing.
    let two = [beam([-5.0, -5.0, -5.0], [5.0, 5.0, 3.0]), beam([-2.0, -2.0, 0.5], [9.0, 9.0, 9.0])];
    assert_eq!(seen(&two).in_chassis.map(|s| s.percent), Some(100.0));
    let inside = beam([-2.0, -2.0, -3.0], [2.0, 2.0, 2.0]);
    let inside = inside.into_iter().map(|[a, b, c]| [a, c, b]).collect();
    let hollow = seen(&[beam([-5.0, -5.0, -5.0], [5.0, 5.0, 3.0]), inside]);
    assert_eq!(hollow.in_chassis.map(|s| s.percent), Some(0.0));
    assert!(hollow.lines.is_empty());
}

/// Points in and beside a closed ball whose corners lie on a grid, so that rays
/// would meet edges if their way were along one.
#[test]
fn what_a_mesh_holds_is_told_at_points_of_its_grid() {
    let tree = Tree::new(&soup(beam([-4.0, -4.0, -4.0], [4.0, 4.0, 4.0])));
    for i in 0..1000 {
        let at = Vec3::new(f64::from(i % 10), f64::from(i / 10 % 10), f64::from(i / 100));
        let at = at - Vec3::repeat(4.5);
        assert_eq!(tree.holds(&at), at.amax() < 4.0, "{at:?}");
    }
}
