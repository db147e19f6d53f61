//! Meshes with known answers, and what a test needs to check one.

use std::f64::consts::{PI, TAU};

use borewright::checks::{Analysis, CheckContext, Finding, check};
use borewright::measure::{Library, Vec2, Vec3};
use borewright::mesh::{ChordTolerance, Soup, Welder, tessellate};
use borewright::section::Region;
use borewright::solid::{Solid, Stack};

/// Of tessellated solids, mm.
pub const CHORD: f64 = 0.01;

pub fn v2(x: f64, y: f64) -> Vec2 {
    Vec2::new(x, y)
}

pub fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
    Region::rectangle(v2(x0, y0), v2(x1, y1))
}

/// A solid of slabs: heights and sections.
pub fn stack(slabs: &[(f64, f64, Region)]) -> Solid {
    let mut stack = Stack::default();
    for (bottom, top, section) in slabs {
        stack.prism(*bottom, *top, section);
    }
    stack.solid().expect("a sound stack")
}

pub fn meshed_at(solid: &Solid, chord: f64) -> Soup {
    let tolerance = ChordTolerance { chord, ..ChordTolerance::default() };
    Soup::from(&tessellate(solid, &tolerance).expect("meshes"))
}

pub fn meshed(solid: &Solid) -> Soup {
    meshed_at(solid, CHORD)
}

pub fn slabs(list: &[(f64, f64, Region)]) -> Soup {
    meshed(&stack(list))
}

/// Triangles welded by their corners.
pub fn welded(triangles: impl IntoIterator<Item = [Vec3; 3]>) -> Soup {
    let mut welder = Welder::default();
    for t in triangles {
        welder.push(t).expect("few triangles");
    }
    welder.finish()
}

pub fn triangles(soup: &Soup) -> Vec<[Vec3; 3]> {
    (0..soup.triangles().len()).map(|i| soup.corners(i)).collect()
}

/// All triangles of several meshes in one.
pub fn together(soups: &[Soup]) -> Soup {
    welded(soups.iter().flat_map(triangles))
}

/// A sphere of `n` meridians; `outward` or a void's wall.
pub fn sphere(centre: Vec3, radius: f64, n: u32, outward: bool) -> Soup {
    let rings = n / 2;
    let at = |ring: u32, k: u32| {
        let (theta, phi) =
            (PI * f64::from(ring) / f64::from(rings), TAU * f64::from(k % n) / f64::from(n));
        let sine = if ring == 0 || ring == rings { 0.0 } else { theta.sin() };
        centre + Vec3::new(sine * phi.cos(), sine * phi.sin(), theta.cos()) * radius
    };
    let mut out = Vec::new();
    for ring in 0..rings {
        for k in 0..n {
            let (a, b) = (at(ring, k), at(ring, k + 1));
            let (c, d) = (at(ring + 1, k), at(ring + 1, k + 1));
            if ring > 0 {
                out.push([a, d, b]);
            }
            if ring + 1 < rings {
                out.push([a, c, d]);
            }
        }
    }
    let soup = welded(out);
    if outward { soup } else { soup.reversed() }
}

/// Distance of a sphere's or circle's chord from it, n pieces a turn.
pub fn sagitta(radius: f64, n: u32) -> f64 {
    radius * (1.0 - (PI / f64::from(n)).cos())
}

/// A surface of revolution about z from (radius, height) points, upwards along
/// the outside; ends with radius zero or flat caps.
pub fn turned(profile: &[(f64, f64)], n: u32) -> Soup {
    let at = |(r, z): (f64, f64), k: u32| {
        let phi = TAU * f64::from(k % n) / f64::from(n);
        if r == 0.0 { Vec3::new(0.0, 0.0, z) } else { Vec3::new(r * phi.cos(), r * phi.sin(), z) }
    };
    let mut all = vec![(0.0, profile[0].1)];
    all.extend_from_slice(profile);
    all.push((0.0, profile[profile.len() - 1].1));
    all.dedup();
    let mut out = Vec::new();
    for pair in all.windows(2) {
        for k in 0..n {
            let (a, b) = (at(pair[0], k), at(pair[0], k + 1));
            let (c, d) = (at(pair[1], k), at(pair[1], k + 1));
            if pair[0].0 > 0.0 {
                out.push([a, b, d]);
            }
            if pair[1].0 > 0.0 {
                out.push([a, d, c]);
            }
        }
    }
    welded(out)
}

/// A polygon (x, z), counter-clockwise seen from -y, drawn out along y.
pub fn drawn_out(polygon: &[(f64, f64)], length: f64) -> Soup {
    let region = Region::polygon(&polygon.iter().map(|&(x, z)| v2(x, z)).collect::<Vec<_>>());
    let upright = slabs(&[(0.0, length, region)]);
    // (x, y, z) -> (x, -z, y): a quarter turn about x.
    upright.mapped(|p| Vec3::new(p.x, -p.z, p.y))
}

pub fn findings_on(soup: &Soup, printer: &str) -> Vec<Finding> {
    let library = Library::shipped();
    let analysis = Analysis::new(soup.clone());
    check(&CheckContext {
        printer: library.profile("printers", printer).expect("a shipped printer"),
        material: library.profile("materials", "petg").expect("a shipped material"),
        analysis: &analysis,
        remarks: &[],
        known: None,
    })
}

pub fn only(findings: Vec<Finding>, check: &str) -> Vec<Finding> {
    findings.into_iter().filter(|f| f.check == check).collect()
}
