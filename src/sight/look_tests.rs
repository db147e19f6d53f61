//! Shares of light against closed forms; what shows and what does not.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::lamp::{lambert, spread};
use super::*;
use crate::measure::Vec3;
use crate::mesh::{Soup, Welder};
use crate::parallel::each;
use crate::trade::light::{disc_to_disc, lambertian_share};

pub(super) const END: (f64, f64) = (-1.0, 1e3);
const OPEN: Shell = Shell::Tube { radius: 50.0, half_angle: FRAC_PI_2, window: (-50.0, 90.0) };

pub(super) fn soup(triangles: impl IntoIterator<Item = [Vec3; 3]>) -> Soup {
    let mut welder = Welder::default();
    triangles.into_iter().for_each(|t| welder.push(t).expect("few triangles"));
    welder.finish()
}

/// A level rectangle at height z, from two corners.
fn plate(low: (f64, f64), high: (f64, f64), z: f64) -> [[Vec3; 3]; 2] {
    let p = |x, y| Vec3::new(x, y, z);
    let (a, b) = (p(low.0, low.1), p(high.0, low.1));
    let (c, d) = (p(high.0, high.1), p(low.0, high.1));
    [[a, c, b], [a, d, c]]
}

/// A level disc of as many sides as make its area agree within 2e-5.
fn disc(radius: f64, z: f64) -> Vec<[Vec3; 3]> {
    let corner = |k: i32| {
        let (sin, cos) = (TAU * f64::from(k) / 600.0).sin_cos();
        Vec3::new(radius * cos, radius * sin, z)
    };
    (0..600).map(|k| [Vec3::new(0.0, 0.0, z), corner(k + 1), corner(k)]).collect()
}

/// The block from two corners, seen from outside.
pub(super) fn block(low: Vec3, high: Vec3) -> Vec<[Vec3; 3]> {
    let p = |i: usize| {
        let pick = |k: usize| if i >> k & 1 == 1 { high[k] } else { low[k] };
        Vec3::new(pick(0), pick(1), pick(2))
    };
    let quads =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let halves = |[a, b, c, d]: [usize; 4]| [[p(a), p(b), p(c)], [p(a), p(c), p(d)]];
    quads.into_iter().flat_map(halves).collect()
}

pub(super) fn lamp(half: f64) -> Lamp {
    Lamp {
        middle: Vec3::zeros(),
        halves: [Vec3::x() * half, Vec3::y() * half],
        ahead: Vec3::z(),
        depth: 1.0,
    }
}

pub(super) fn scene(walls: Vec<[Vec3; 3]>, stone: Vec<[Vec3; 3]>, index: f64) -> Scene {
    let (walls, stone) = (Tree::new(&soup(walls)), Tree::new(&soup(stone)));
    Scene { walls, stone, index, shell: OPEN, chassis: None }
}

pub(super) fn counts() -> Counts {
    Counts { groups: 16, points: 16, rays: 64, lines: 4 }
}

/// Off by no more than four of its own standard errors, which are small.
fn assert_share(share: Share, wanted: f64) {
    assert!(share.error < 1.0, "{share:?}");
    assert!((share.percent - wanted).abs() <= 4.0 * share.error + 0.05, "{share:?}, {wanted}");
}

#[test]
fn a_small_source_lights_a_disc_by_the_square_of_the_sine() {
    for degrees in [10.0f64, 30.0, 45.0, 70.0] {
        let scene = scene(Vec::new(), disc(5.0 * degrees.to_radians().tan(), 5.0), 1.5);
        let shown = look(&scene, &lamp(1e-4), END, counts());
        assert_share(shown.to_stone, 100.0 * lambertian_share(degrees));
        assert_eq!(shown.to_end, shown.to_stone);
    }
}

#[test]
fn a_square_lights_an_equal_square_across_by_its_view_factor() {
    // Aligned parallel rectangles, catalogue of view factors, from memory; two
    // unit squares a side apart have 0.1998.
    let factor = |x: f64| {
        let r = (1.0 + x * x).sqrt();
        let log = ((1.0 + x * x).powi(2) / (1.0 + 2.0 * x * x)).sqrt().ln();
        2.0 / (PI * x * x) * (log + 2.0 * x * r * (x / r).atan() - 2.0 * x * x.atan())
    };
    assert!((factor(1.0) - 0.1998).abs() < 1e-4);
    for height in [1.0, 2.0, 5.0] {
        let stone = plate((-1.0, -1.0), (1.0, 1.0), height).to_vec();
        let shown = look(&scene(Vec::new(), stone, 1.5), &lamp(1.0), END, counts());
        assert_share(shown.to_stone, 100.0 * factor(2.0 / height));
    }
}

#[test]
fn a_disc_lights_a_coaxial_disc_by_its_view_factor() {
    for (source, target, height) in [(1.75, 2.0, 3.6), (1.75, 9.0, 4.0), (3.0, 1.0, 1.0)] {
        let tree = Tree::new(&soup(disc(target, height)));
        let groups = each((0..16).collect(), |group: usize| {
            let mut rng = fastrand::Rng::with_seed(group as u64);
            let (mut met, places) = (0, [rng.f64(), rng.f64()]);
            for k in 0..1000 {
                let [a, b] = spread(k, places);
                let (sin, cos) = (TAU * b).sin_cos();
                let from = Vec3::new(cos, sin, 0.0) * (source * a.sqrt());
                let ray = lambert(from, Vec3::z(), [rng.f64(), rng.f64()]);
                met += u32::from(tree.any(&ray, (0.0, f64::INFINITY)));
            }
            f64::from(met) / 1000.0
        });
        let mean = groups.iter().sum::<f64>() / 16.0;
        let square = groups.iter().map(|g| (g - mean).powi(2)).sum::<f64>();
        let error = (square / (16.0 * 15.0)).sqrt();
        let wanted = disc_to_disc(source, target, height);
        assert!((mean - wanted).abs() <= 4.0 * error, "{mean} +- {error}, {wanted}");
    }
}

#[test]
fn a_lamp_in_the_open_shows_and_one_in_a_box_does_not() {
    let open = look(&scene(Vec::new(), Vec::new(), 1.5), &lamp(2.0), END, counts());
    assert!(open.past_stone.percent > 75.0, "the side away from the window stays hidden");
    assert!(!open.lines.is_empty());
    let around = block(Vec3::new(-3.0, -3.0, -3.0), Vec3::new(3.0, 3.0, 3.0));
    let hidden = look(&scene(around.clone(), Vec::new(), 1.5), &lamp(2.0), END, counts());
    assert_eq!(hidden.past_stone.percent, 0.0);
    assert!(hidden.lines.is_empty());
    // Without its wall towards the window it shows there, and only there.
    let some: Vec<[Vec3; 3]> = around.into_iter().filter(|t| t.iter().any(|p| p.y < 0.0)).collect();
    let shown = look(&scene(some, Vec::new(), 1.5), &lamp(2.0), END, counts());
    assert!(!shown.lines.is_empty());
    assert!(shown.lines.iter().all(|l| l.window[1] > 0.0 && !l.through_stone));
}

#[test]
fn light_is_neither_lost_nor_made() {
    let stone = block(Vec3::new(-4.0, -4.0, 2.0), Vec3::new(4.0, 4.0, 30.0));
    for index in [1.33, 1.54, 2.4] {
        let scene = scene(Vec::new(), stone.clone(), index);
        let mut rng = fastrand::Rng::with_seed(75);
        for _ in 0..300 {
            let ray = lambert(Vec3::zeros(), Vec3::z(), [rng.f64(), rng.f64()]);
            let mut sum = 0.0;
            scene.follow(ray, |way| sum += way.share);
            assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        }
    }
}

/// In a straight bar that light enters by its end, the steepest ray meets the
/// sides at 90 degrees less the critical angle: it leaves them only if the
/// index is below the square root of 2.
#[test]
fn a_straight_bar_shows_the_lamp_only_below_an_index_of_root_two() {
    let stone = block(Vec3::new(-4.0, -4.0, 0.5), Vec3::new(4.0, 4.0, 60.0));
    // A wall with a hole that hides all but the bar's end, and one beyond.
    let mut walls = Vec::new();
    for (low, high) in [
        ((-49.0, -49.0), (49.0, -3.9)),
        ((-49.0, 3.9), (49.0, 49.0)),
        ((-49.0, -3.9), (-3.9, 3.9)),
        ((3.9, -3.9), (49.0, 3.9)),
    ] {
        walls.extend(plate(low, high, 0.49));
    }
    walls.extend(plate((-49.0, -49.0), (49.0, 49.0), 60.01));
    let shell = Shell::Tube { radius: 6.0, half_angle: FRAC_PI_2, window: (1.0, 60.0) };
    let shown = |index| {
        let scene = Scene { shell, ..scene(walls.clone(), stone.clone(), index) };
        look(&scene, &lamp(1.0), END, counts())
    };
    let clear = shown(1.54);
    assert_eq!(clear.past_stone.percent, 0.0);
    assert_eq!(clear.light_through.percent, 0.0);
    let thin = shown(1.30);
    assert!(thin.light_through.percent > 1.0, "{:?}", thin.light_through);
    assert!(thin.through_stone.percent > 1.0 && thin.lines.iter().all(|l| l.through_stone));
}

#[test]
fn the_same_scene_gives_the_same_numbers() {
    let stone = block(Vec3::new(-4.0, -4.0, 2.0), Vec3::new(4.0, 4.0, 30.0));
    let scene = scene(Vec::new(), stone, 1.54);
    assert_eq!(look(&scene, &lamp(1.0), END, counts()), look(&scene, &lamp(1.0), END, counts()));
}
