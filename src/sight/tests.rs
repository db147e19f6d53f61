//! Rays against every triangle one by one; edges that let nothing through.

use super::ray::Sheared;
use super::*;
use crate::measure::Vec3;
use crate::mesh::{Soup, Welder};

const ALL: (f64, f64) = (0.0, f64::INFINITY);

fn soup(triangles: impl IntoIterator<Item = [Vec3; 3]>) -> Soup {
    let mut welder = Welder::default();
    for t in triangles {
        welder.push(t).expect("few triangles");
    }
    welder.finish()
}

fn point(rng: &mut fastrand::Rng, size: f64) -> Vec3 {
    Vec3::from_fn(|_, _| size * (2.0 * rng.f64() - 1.0))
}

fn way(rng: &mut fastrand::Rng) -> Vec3 {
    loop {
        let d = point(rng, 1.0);
        if (0.01..1.0).contains(&d.norm_squared()) {
            // Every fourth runs along an axis, where components are 0.
            let axis = rng.usize(..3);
            let d = if rng.u32(..4) == 0 { Vec3::ith(axis, d[axis].signum()) } else { d };
            return d.normalize();
        }
    }
}

fn one_by_one(soup: &Soup, ray: &Ray, span: (f64, f64)) -> Option<Hit> {
    let sheared = Sheared::new(ray);
    let hits = (0..soup.triangles().len()).filter_map(|i| {
        let reach = sheared.reach(&soup.corners(i).map(Into::into))?;
        (span.0 <= reach && reach <= span.1).then_some(Hit { triangle: i as u32, reach })
    });
    hits.min_by(|p, q| p.reach.total_cmp(&q.reach))
}

#[test]
fn a_tree_finds_what_one_by_one_finds() {
    let mut rng = fastrand::Rng::with_seed(71);
    let mut met = 0;
    for round in 0..40 {
        let count = [0, 1, 3, 5, 40, 300][round % 6];
        // On a coarse grid in every other round: faces of boxes coincide.
        let grid = |p: Vec3| if round % 2 == 0 { p.map(f64::round) } else { p };
        let triangles = (0..count).map(|_| {
            let middle = point(&mut rng, 8.0);
            [0; 3].map(|_| grid(middle + point(&mut rng, 3.0)))
        });
        let soup = soup(triangles.collect::<Vec<_>>());
        let tree = Tree::new(&soup);
        for _ in 0..150 {
            let ray = Ray { from: grid(point(&mut rng, 10.0)), along: way(&mut rng) };
            let near = 2.0 * rng.f64();
            let span = (near, if rng.bool() { f64::INFINITY } else { near + 9.0 * rng.f64() });
            let (found, wanted) = (tree.first(&ray, span), one_by_one(&soup, &ray, span));
            assert_eq!(found, wanted, "{ray:?} {span:?}");
            assert_eq!(tree.any(&ray, span), wanted.is_some());
            met += usize::from(wanted.is_some());
        }
    }
    assert!(met > 300, "{met}");
}

/// A ball of triangles around the origin, its corners moved about.
fn ball(rng: &mut fastrand::Rng, around: usize) -> Soup {
    let rows = around / 2;
    let mut corners = vec![vec![Vec3::z() * 5.0; around]];
    for i in 1..rows {
        let (sin, cos) = (std::f64::consts::PI * i as f64 / rows as f64).sin_cos();
        let corner = |j: usize| {
            let (s, c) = (std::f64::consts::TAU * j as f64 / around as f64).sin_cos();
            Vec3::new(sin * c, sin * s, cos) * (4.0 + rng.f64())
        };
        corners.push((0..around).map(corner).collect());
    }
    corners.push(vec![Vec3::z() * -5.0; around]);
    let mut triangles = Vec::new();
    for i in 0..rows {
        for j in 0..around {
            let k = (j + 1) % around;
            let (a, b) = (corners[i][j], corners[i][k]);
            let (c, d) = (corners[i + 1][j], corners[i + 1][k]);
            if i > 0 {
                triangles.push([a, c, b]);
            }
            if i + 1 < rows {
                triangles.push([b, c, d]);
            }
        }
    }
    soup(triangles)
}

#[test]
fn no_ray_leaves_a_closed_mesh_not_even_through_corners_and_edges() {
    let mut rng = fastrand::Rng::with_seed(72);
    for _ in 0..8 {
        let soup = ball(&mut rng, 16);
        let tree = Tree::new(&soup);
        for _ in 0..40 {
            let from = point(&mut rng, 1.5);
            let [a, b, _] = soup.corners(rng.usize(..soup.triangles().len()));
            for share in [0.0, 1.0, 0.5, rng.f64()] {
                let along = (a + (b - a) * share - from).normalize();
                let hit = tree.first(&Ray { from, along }, ALL).expect("the ball is closed");
                assert!((0.3..8.0).contains(&hit.reach), "{}", hit.reach);
            }
            let ray = Ray { from, along: way(&mut rng) };
            let hit = tree.first(&ray, ALL).expect("the ball is closed");
            assert!(tree.normal(hit.triangle).dot(&ray.along) > 0.0, "seen from inside");
        }
    }
}
