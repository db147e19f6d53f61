//! Tessellation of hand-made solids against closed forms and a second reader.

use std::f64::consts::{FRAC_PI_2, PI};

use truck_meshalgo::prelude::*;

use super::test_solids::*;
use super::*;
use crate::measure::Vec3;
use crate::solid::{Brep, Solid, Surface};

/// Closed (by type), of the given Euler characteristic, every corner on its
/// face, every triangle facing out of it, and closed in a second opinion.
fn assert_good(solid: &Solid, mesh: &Mesh, euler: i64) {
    let edges = mesh.triangles().len() * 3 / 2;
    let got = mesh.vertices().len() as i64 - edges as i64 + mesh.triangles().len() as i64;
    assert_eq!(got, euler, "Euler characteristic");
    assert!(mesh.volume() > 0.0);
    for (i, &f) in mesh.face_of().iter().enumerate() {
        let face = &solid.faces()[f as usize];
        let [a, b, c] = mesh.corners(i);
        for p in [a, b, c] {
            assert!(face.surface.distance(p).abs() < 1e-9, "corner off its face");
        }
        let outward =
            face.surface.normal((a + b + c) / 3.0) * if face.flipped { -1.0 } else { 1.0 };
        let normal = (b - a).cross(&(c - a)).normalize();
        assert!(normal.dot(&outward) > 0.9, "face {f} triangle {i}: {normal} against {outward}");
    }
    assert_eq!(second_opinion(mesh).shell_condition(), ShellCondition::Closed);
}

fn second_opinion(mesh: &Mesh) -> PolygonMesh {
    let positions = mesh.vertices().iter().map(|p| Point3::new(p.x, p.y, p.z)).collect();
    let faces: Vec<[usize; 3]> = mesh.triangles().iter().map(|t| t.map(|v| v as usize)).collect();
    PolygonMesh::new(
        StandardAttributes { positions, ..Default::default() },
        Faces::from_iter(faces),
    )
}

fn tolerance(chord: f64) -> ChordTolerance {
    ChordTolerance { chord, max_angle: FRAC_PI_2 }
}

/// Over decades of chord: closed, and the volume misses by no more than the
/// chord over the round faces, and shrinks a thousandfold with it.
fn assert_converges(brep: Brep, euler: i64, exact: f64, round_area: f64) {
    let solid = solid(brep);
    let mut errors = Vec::new();
    for chord in [0.1, 0.01, 1e-3, 1e-4] {
        let mesh = tessellate(&solid, &tolerance(chord)).unwrap();
        if chord > 5e-4 {
            assert_good(&solid, &mesh, euler);
        }
        let error = (mesh.volume() - exact).abs();
        assert!(error <= chord * round_area, "chord {chord}: volume off by {error}");
        errors.push(error);
    }
    // Over three decades; from one to the next the errors of hollow and full
    // walls may cancel.
    assert!(errors[3] <= 3e-3 * errors[0] + 1e-9 * exact, "errors {errors:?}");
}

fn square(half: f64) -> Loop {
    polygon(&[[-half, -half], [half, -half], [half, half], [-half, half]])
}

#[test]
fn a_box_is_twelve_triangles() {
    let s = solid(prism(&[square(5.0)], 0.0, 3.0));
    let mesh = tessellate(&s, &ChordTolerance::default()).unwrap();
    assert_good(&s, &mesh, 2);
    assert_eq!(mesh.triangles().len(), 12);
    assert_eq!(mesh.volume(), 300.0);
    assert_eq!(mesh.area(), 320.0);
    assert_eq!(mesh.bounds(), (Vec3::new(-5.0, -5.0, 0.0), Vec3::new(5.0, 5.0, 3.0)));
}

#[test]
fn cylinders_converge() {
    let brep = prism(&[circle([1.0, 2.0], 12.6, 0.3, true)], -4.0, 36.0);
    assert_converges(brep, 2, PI * 12.6 * 12.6 * 40.0, 2.0 * PI * 12.6 * 40.0);
}

#[test]
fn bored_boxes_converge() {
    let bore = circle([1.0, -0.5], 2.5, 1.0, false);
    let brep = prism(&[square(5.0), bore], 0.0, 8.0);
    assert_converges(brep, 0, (100.0 - PI * 6.25) * 8.0, 2.0 * PI * 2.5 * 8.0);
}

#[test]
fn frustum_rings_converge() {
    let bore = circle([0.0, 0.0], 3.0, 0.1, false);
    let wide = circle([0.0, 0.0], 9.0, 0.1, true);
    let narrow = circle([0.0, 0.0], 6.0, 0.1, true);
    let (h, pi) = (10.0, PI);
    let volume = pi * h / 3.0 * (81.0 + 54.0 + 36.0) - pi * 9.0 * h;
    let area = pi * 15.0 * (109f64).sqrt() + 2.0 * pi * 3.0 * h;
    let up = loft(&[wide.clone(), bore.clone()], &[narrow.clone(), bore.clone()], 0.0, h);
    assert_converges(up, 0, volume, area);
    let down = loft(&[narrow, bore.clone()], &[wide, bore], 0.0, h);
    assert_converges(down, 0, volume, area);
}

/// Half a cylinder with a coaxial trough in its flat.
fn trough(outer: f64, inner: f64) -> Vec<Loop> {
    let (o, i) = (outer, inner);
    let zero = crate::measure::Vec2::zeros();
    let at = crate::measure::Vec2::new;
    vec![vec![
        (at(-o, 0.0), Side::Arc(zero, true)),
        (at(o, 0.0), Side::Line),
        (at(i, 0.0), Side::Arc(zero, false)),
        (at(-i, 0.0), Side::Line),
    ]]
}

#[test]
fn troughs_converge() {
    let volume = FRAC_PI_2 * (12.0 * 12.0 - 9.3 * 9.3) * 20.0;
    assert_converges(prism(&trough(12.0, 9.3), 0.0, 20.0), 2, volume, PI * 21.3 * 20.0);
}

/// Volume common to two cylinders that cross at a right angle, R >= r:
/// 8 int_0^r sqrt(R^2 - y^2) sqrt(r^2 - y^2) dy, by Simpson's rule in
/// y = r sin(a).
fn crossing_volume(wall: f64, bore: f64) -> f64 {
    let n = 2000;
    let f = |i: usize| {
        let a = FRAC_PI_2 * i as f64 / n as f64;
        let y = bore * a.sin();
        (wall * wall - y * y).sqrt() * (bore * a.cos()).powi(2)
    };
    let sum: f64 = (0..=n)
        .map(|i| {
            f(i) * if i == 0 || i == n {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            }
        })
        .sum();
    8.0 * sum * FRAC_PI_2 / n as f64 / 3.0
}

#[test]
fn cross_bores_converge() {
    for (bore, z) in [(6.0, 10.0), (0.4, 7.0), (9.9, 10.0)] {
        let volume = PI * 100.0 * 20.0 - crossing_volume(10.0, bore);
        let area = 2.0 * PI * 10.0 * 20.0 + 2.0 * PI * bore * 20.0;
        assert_converges(bored_cylinder(10.0, 20.0, bore, z), 0, volume, area);
    }
}

#[test]
fn a_turned_solid_meshes_alike() {
    let brep = bored_cylinder(10.0, 20.0, 4.0, 10.0);
    let volume = PI * 100.0 * 20.0 - crossing_volume(10.0, 4.0);
    for k in 0..12 {
        let by = Turn::skew(0.5 * f64::from(k), Vec3::new(40.0, -3.0, 17.0));
        let s = solid(moved(&brep, by));
        let mesh = tessellate(&s, &ChordTolerance::default()).unwrap();
        assert_good(&s, &mesh, 0);
        assert!((mesh.volume() - volume).abs() < 0.01 * 2.0 * PI * 14.0 * 20.0);
    }
}

#[test]
fn every_triangle_stays_within_the_chord_of_its_face() {
    for brep in [
        bored_cylinder(10.0, 20.0, 6.0, 10.0),
        prism(&trough(12.0, 9.3), 0.0, 20.0),
        loft(
            &[circle([0.0, 0.0], 9.0, 0.0, true)],
            &[circle([0.0, 0.0], 2.0, 0.0, true)],
            0.0,
            4.0,
        ),
    ] {
        let s = solid(brep);
        for chord in [0.05, 0.01, 0.002] {
            let mesh = tessellate(&s, &tolerance(chord)).unwrap();
            for (i, &f) in mesh.face_of().iter().enumerate() {
                let surface = &s.faces()[f as usize].surface;
                let [a, b, c] = mesh.corners(i);
                for (x, y) in [(0.5, 0.0), (0.0, 0.5), (0.5, 0.5), (0.3, 0.3)] {
                    let d = surface.distance(a + (b - a) * x + (c - a) * y).abs();
                    assert!(d <= 1.06 * chord, "{d} mm off at chord {chord}");
                }
            }
        }
    }
}

#[test]
fn walls_on_one_axis_share_their_grid() {
    let section = [circle([0.0, 0.0], 6.0, 0.0, true), circle([0.0, 0.0], 3.0, 0.0, false)];
    let s = solid(prism(&section, 0.0, 1.0));
    let mesh = tessellate(&s, &ChordTolerance::default()).unwrap();
    for p in mesh.vertices().iter().filter(|p| p.x.abs() < 1e-9) {
        assert_eq!(p.x, 0.0, "quarter points are exact");
    }
    let angles = |r: f64| {
        let on = |p: &&Vec3| (p.xy().norm() - r).abs() < 1e-9 && p.z == 0.0;
        mesh.vertices().iter().filter(on).count()
    };
    assert_eq!(angles(6.0) % 4, 0);
    assert_eq!(angles(3.0) % 4, 0);
}

#[test]
fn nearly_coincident_arcs_are_sampled_finer() {
    for gap in [1.0, 0.05, 0.011, 0.003] {
        let s = solid(prism(&trough(12.0, 12.0 - gap), 0.0, 20.0));
        let mesh = tessellate(&s, &ChordTolerance::default()).unwrap();
        assert_good(&s, &mesh, 2);
    }
}

/// Between two arcs through the corners (-h, 0) and (h, 0), which rise by
/// `high` and by `low` above them.
fn crescent(h: f64, high: f64, low: f64) -> Vec<Loop> {
    let at = crate::measure::Vec2::new;
    let centre = |rise: f64| at(0.0, 0.5 * (rise * rise - h * h) / rise);
    vec![vec![
        (at(h, 0.0), Side::Arc(centre(high), true)),
        (at(-h, 0.0), Side::Arc(centre(low), false)),
    ]]
}

#[test]
fn crescents_between_shared_corners_mesh() {
    let mut refused = Vec::new();
    for gap in [2.0, 0.5, 0.1, 0.05, 0.02, 0.01] {
        let s = solid(prism(&crescent(5.0, 1.0 + gap, 1.0), 0.0, 4.0));
        match tessellate(&s, &ChordTolerance::default()) {
            Ok(mesh) => assert_good(&s, &mesh, 2),
            Err(MeshError::Sliver { .. }) => refused.push(gap),
            Err(error) => panic!("{error}"),
        }
    }
    assert!(refused.is_empty(), "refused: {refused:?}");
}

#[test]
fn a_hopeless_sliver_is_refused_with_its_place() {
    let s = solid(prism(&trough(12.0, 12.0 - 1e-7), 0.0, 20.0));
    let error = tessellate(&s, &ChordTolerance::default()).unwrap_err();
    assert!(matches!(error, MeshError::Sliver { .. }), "{error}");
}

#[test]
fn bad_tolerances_are_refused() {
    let s = solid(prism(&[square(5.0)], 0.0, 3.0));
    for chord in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-7] {
        let error = tessellate(&s, &tolerance(chord)).unwrap_err();
        assert!(matches!(error, MeshError::Tolerance { .. }));
    }
    for max_angle in [0.0, f64::NAN, 2.0] {
        let error = tessellate(&s, &ChordTolerance { chord: 0.1, max_angle }).unwrap_err();
        assert!(matches!(error, MeshError::Tolerance { .. }));
    }
}

#[test]
fn the_same_solid_gives_the_same_mesh() {
    let s = solid(bored_cylinder(10.0, 20.0, 6.0, 10.0));
    let one = tessellate(&s, &ChordTolerance::default()).unwrap();
    let two = tessellate(&s.clone(), &ChordTolerance::default()).unwrap();
    assert_eq!(one.vertices(), two.vertices());
    assert_eq!(one.triangles(), two.triangles());
    assert!(s.faces().iter().any(|f| matches!(f.surface, Surface::Cylinder { .. })));
}
