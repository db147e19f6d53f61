//! Thickness of shapes with closed forms: within 0.005 mm or the chord error,
//! whichever is larger.

use borewright::checks::{Analysis, Probe, Side, inscribed};
use borewright::measure::Vec3;
use borewright::mesh::{Bvh, Soup};
use borewright::section::Region;

use crate::shapes::*;

const EXACT: f64 = 0.005;

fn least(soup: &Soup, side: Side, cap: f64) -> f64 {
    let analysis = Analysis::new(soup.clone());
    let field = if side == Side::Inside { analysis.walls(cap) } else { analysis.gaps(cap) };
    field.least().expect("something within the cap").value
}

fn assert_least(what: &str, soup: &Soup, side: Side, exact: f64, chord: f64) {
    let got = least(soup, side, 4.0 * exact);
    let allowed = EXACT.max(chord);
    println!("{what}: exact {exact:.4}, measured {got:.6}, off by {:.6} mm", got - exact);
    assert!((got - exact).abs() <= allowed, "{what}: {got} is not {exact} within {allowed}");
}

#[test]
fn slabs_are_as_thick_as_drawn_all_over() {
    for thickness in [0.4, 1.0, 3.0] {
        let slab = slabs(&[(0.0, thickness, rect(-20.0, -15.0, 20.0, 15.0))]);
        assert_least("slab", &slab, Side::Inside, thickness, 0.0);
        let analysis = Analysis::new(slab.clone());
        let field = analysis.walls(8.0);
        for s in field.samples.iter().filter(|s| s.towards.z.abs() > 0.9) {
            assert!((s.value - thickness).abs() < EXACT, "{} at {:?}", s.value, s.at);
        }
        let flat = 2.0 * 40.0 * 30.0;
        let share = flat / (flat + 140.0 * thickness);
        assert!((field.share_below(thickness + 0.01) - share).abs() < 0.02);
        let thin = field.at_vertices(&slab);
        assert!(thin.iter().all(|v| (v - thickness).abs() < EXACT), "{thin:?}");
        let bins = field.histogram(16);
        let all: f64 = bins.iter().sum();
        assert!((all - (flat + 140.0 * thickness)).abs() < 1e-6 * all, "{all} at {thickness}");
    }
}

/// Near the end of a high narrow facet its triangles are slivers, whose edges are one as far
/// as float noise tells; none of them is taken for the other side of a wall.
#[test]
fn the_end_of_a_narrow_facet_is_no_wall() {
    let (edge, side) = (-12.183, 7.207);
    let corners = [(-30.0, -20.0), (edge, -20.0), (edge, side), (edge - 0.3, side), (-20.0, 11.6)];
    let below = Region::polygon(
        &[&corners[..], &[(-30.0, 11.6)]]
            .concat()
            .iter()
            .map(|&(x, y)| v2(x, y))
            .collect::<Vec<_>>(),
    );
    let (low, high) = (148.4, 210.902);
    let block = slabs(&[(low, high, below), (high, high + 5.0, rect(-30.0, -20.0, 10.0, 20.0))]);
    let analysis = Analysis::new(block.clone());
    let probe = Probe::new(&block, analysis.bvh(), analysis.topology(), Side::Inside, 4.0);
    let upright = |i: &usize| {
        let corners = block.corners(*i);
        corners.iter().all(|p| (p.x - edge).abs() < 1e-4)
    };
    let faces: Vec<usize> = (0..block.triangles().len()).filter(upright).collect();
    assert!(!faces.is_empty());
    let mut rng = fastrand::Rng::with_seed(8);
    for _ in 0..20_000 {
        let off = |rng: &mut fastrand::Rng| 10f64.powf(-4.0 + 4.0 * rng.f64());
        let p = Vec3::new(edge, side - off(&mut rng), high - off(&mut rng));
        for &face in &faces {
            let found = probe.at(p, face as u32);
            assert!(found.value > 3.0, "{found:?}");
        }
    }
}

#[test]
fn tubes_and_eccentric_tubes() {
    for (outer, inner, aside) in [(12.5, 11.7, 0.0), (12.5, 10.0, 1.2), (6.0, 3.0, 2.6)] {
        let ring =
            Region::disc(v2(0.0, 0.0), outer).difference(&Region::disc(v2(aside, 0.0), inner));
        let tube = slabs(&[(0.0, 30.0, ring)]);
        assert_least("tube", &tube, Side::Inside, outer - inner - aside, CHORD);
    }
}

#[test]
fn spherical_shells_and_two_spheres() {
    let n = 96;
    let shell = |aside: f64| {
        together(&[
            sphere(Vec3::zeros(), 10.0, n, true),
            sphere(Vec3::new(aside, 0.0, 0.0), 8.5, n, false),
        ])
    };
    let chord = 2.0 * sagitta(10.0, n);
    assert_least("spherical shell", &shell(0.0), Side::Inside, 1.5, chord);
    assert_least("eccentric shell", &shell(0.7), Side::Inside, 0.8, chord);
    for gap in [0.3, 1.0] {
        let pair = together(&[
            sphere(Vec3::zeros(), 6.0, n, true),
            sphere(Vec3::new(10.0 + gap, 0.0, 0.0), 4.0, n, true),
        ]);
        assert_least("gap of two spheres", &pair, Side::Outside, gap, 2.0 * sagitta(6.0, n));
    }
}

#[test]
fn wedges_by_their_angle() {
    for degrees in [10.0f64, 20.0, 35.0] {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let length = 30.0;
        let wedge = drawn_out(&[(0.0, 0.0), (length, 0.0), (length * cos, length * sin)], 20.0);
        let analysis = Analysis::new(wedge.clone());
        // The ball that touches both faces at a distance s from the edge.
        let half = (0.5 * degrees).to_radians().tan();
        let mut seen = 0;
        for s in &analysis.walls(40.0).samples {
            let from_edge = s.at.xz().norm();
            let inner = s.at.y < -2.0 && s.at.y > -18.0 && (1.0..15.0).contains(&from_edge);
            if s.area == 0.0 || !inner {
                continue;
            }
            seen += 1;
            let exact = 2.0 * from_edge * half;
            assert!((s.value - exact).abs() < EXACT, "{degrees}: {} is not {exact}", s.value);
        }
        assert!(seen > 100, "{seen}");
        println!("wedge of {degrees} deg: {seen} samples exact");
    }
}

#[test]
fn cones_by_their_angle_and_the_ball_inside() {
    // Radius 3, height 12; the axis ball at a wall point is tangent all round.
    let n = 720;
    let cone = turned(&[(3.0, 0.0), (0.0, 12.0)], n);
    let analysis = Analysis::new(cone.clone());
    let half = (3.0f64 / 12.0).atan();
    let chord = EXACT.max(2.0 * sagitta(3.0, n));
    let mut seen = 0;
    for s in &analysis.walls(20.0).samples {
        // Away from the base, where the base stops the ball first.
        if s.area == 0.0 || s.towards.z.abs() > 0.9 || s.at.z < 5.0 || s.at.z > 11.0 {
            continue;
        }
        seen += 1;
        // Distance from the tip along the wall, and the ball with its centre
        // on the axis that touches there.
        let along = (12.0 - s.at.z) / half.cos();
        let exact = 2.0 * along * half.tan();
        assert!((s.value - exact).abs() < chord, "{} is not {exact} at {:?}", s.value, s.at);
    }
    assert!(seen > 300, "{seen}");
}

/// The plain inscribed ball sees the corner that a ray does not.
#[test]
fn balls_in_corners_are_smaller_than_rays() {
    let block = slabs(&[(0.0, 10.0, rect(0.0, 0.0, 20.0, 20.0))]);
    let bvh = Bvh::new(&block);
    let p = Vec3::new(10.0, 10.0, 10.0);
    assert!((inscribed(&bvh, p, -Vec3::z(), 100.0) - 10.0).abs() < 1e-9);
    let near_edge = Vec3::new(2.0, 10.0, 10.0);
    assert!((inscribed(&bvh, near_edge, -Vec3::z(), 100.0) - 4.0).abs() < 1e-9);
    assert!((bvh.ray(near_edge, -Vec3::z(), 1e-6).expect("hits").reach - 10.0).abs() < 1e-9);
}

#[test]
fn a_corner_that_points_at_a_flat_wall_is_measured_at_its_tip() {
    // A square hole on its corner leaves 0.5 mm to the flat side.
    let d = 4.0;
    let hole = Region::polygon(&[v2(-d, 0.0), v2(0.0, -d), v2(d, 0.0), v2(0.0, d)]);
    let body = rect(-10.0, -4.5, 10.0, 10.0).difference(&hole);
    let soup = slabs(&[(0.0, 20.0, body)]);
    assert_least("corner at a flat", &soup, Side::Inside, 0.5, 0.0);
    // Two square holes, corner to corner.
    let two = rect(-20.0, -9.0, 20.0, 9.0).difference(&hole.union(&Region::polygon(&[
        v2(d + 0.6, 0.3),
        v2(d + 4.6, -3.7),
        v2(d + 8.6, 0.3),
        v2(d + 4.6, 4.3),
    ])));
    let soup = slabs(&[(0.0, 20.0, two)]);
    assert_least("corner to corner", &soup, Side::Inside, 0.6f64.hypot(0.3), 0.0);
}

#[test]
fn slots_are_measured_from_outside() {
    let body = rect(0.0, 0.0, 20.0, 10.0).difference(&rect(9.7, 4.0, 10.3, 20.0));
    let soup = slabs(&[(0.0, 15.0, body)]);
    assert_least("slot", &soup, Side::Outside, 0.6, 0.0);
}
