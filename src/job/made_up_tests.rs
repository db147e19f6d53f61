//! The loop closed: print files, cut as a slicer does and distorted as the printer
//! is said to, are the wanted sections again.

use std::collections::BTreeMap;

use crate::correct::{CompensateError, Compensation, LARGEST_DRAWN_HOLE};
use crate::job::{Job, MadeBody, make, upright};
use crate::measure::{Library, Source, Vec2, Vec3};
use crate::mesh::{ChordTolerance, Mesh, tessellate};
use crate::parts::PART_KINDS;
use crate::section::{Region, Seg};
use crate::solid::{Stack, Surface};

/// Heights at which each body is cut.
const CUTS: usize = 8;
/// Most difference of a section, as a share of what growth alone would make of
/// it: facets of round walls move a little less than their corners, those that lie
/// are cut askew, and points of sections lie on a grid of 0.001 mm.
const SHARE: f64 = 0.04;

const EXAMPLES: [(&str, &str); 3] = [
    ("fdm-medium", include_str!("../../examples/lamplighters-rod.toml")),
    ("fdm-thin", include_str!("../../examples/two-plungers.toml")),
    ("fdm-thin", include_str!("../../examples/ember-wand.toml")),
];

/// An example's bodies, made for its printer with some values of its own.
fn made(example: &(&str, &str), own: &str) -> Vec<MadeBody> {
    let (printer, text) = example;
    let line = format!("printer = \"{printer}\"");
    assert!(text.contains(&line));
    let text = text.replace(&line, &format!("printer = {{ profile = \"{printer}\", {own} }}"));
    let source = Source::new("example.toml", text).expect("a text");
    let job = Job::read(&source, Library::shipped(), PART_KINDS).expect("an example is right");
    make(&job).expect("an example can be made").into_iter().flat_map(|part| part.bodies).collect()
}

/// The section of a mesh at a height where it has no vertex.
fn section(mesh: &Mesh, z: f64) -> Vec<Vec<Vec2>> {
    let at = |v: u32| mesh.vertices()[v as usize];
    let crossing = |a: u32, b: u32| {
        let (p, q) = (at(a.min(b)), at(a.max(b)));
        (p + (q - p) * ((z - p.z) / (q.z - p.z))).xy()
    };
    // From each crossed edge, upwards, to the next: material to the left.
    let mut next = BTreeMap::new();
    for triangle in mesh.triangles() {
        let (mut rises, mut falls) = (None, None);
        for k in 0..3 {
            let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
            match (at(a).z < z, at(b).z < z) {
                (true, false) => rises = Some((a.min(b), a.max(b))),
                (false, true) => falls = Some((a.min(b), a.max(b))),
                _ => {}
            }
        }
        if let Some((rises, falls)) = rises.zip(falls) {
            next.insert(falls, rises);
        }
    }
    let mut outlines = Vec::new();
    while let Some((&start, _)) = next.iter().next() {
        let (mut outline, mut edge) = (Vec::new(), start);
        while let Some(to) = next.remove(&edge) {
            outline.push(crossing(edge.0, edge.1));
            edge = to;
        }
        outlines.push(outline);
    }
    outlines
}

fn region(outlines: &[Vec<Vec2>]) -> Region {
    let around = |outline: &Vec<Vec2>| {
        let snapped: Vec<Vec2> =
            outline.iter().map(|p| p.map(|c| (c * 1000.0).round() / 1000.0)).collect();
        let mut points = snapped;
        points.dedup();
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        let end = |i: usize| points[(i + 1) % points.len()];
        (0..points.len()).map(|i| Seg::line(points[i], end(i))).collect::<Vec<Seg>>()
    };
    let outlines: Vec<Vec<Seg>> = outlines.iter().map(around).filter(|o| o.len() > 2).collect();
    Region::from_outlines(&outlines).expect("closed outlines")
}

/// What growth rounds away at corners that stick out: a sharp corner that is drawn
/// in and grown again is round.
fn rounded_away(outlines: &[Vec<Vec2>], growth: f64) -> f64 {
    let mut sum = 0.0;
    for outline in outlines {
        let n = outline.len();
        for i in 0..n {
            let (a, b, c) = (outline[i], outline[(i + 1) % n], outline[(i + 2) % n]);
            let (u, v) = (b - a, c - b);
            let turn = u.perp(&v).atan2(u.dot(&v));
            if turn > 0.0 {
                sum += ((0.5 * turn).tan() - 0.5 * turn) * growth * growth;
            }
        }
    }
    sum
}

#[test]
fn a_print_of_the_files_has_the_wanted_sections() {
    let own = "hole_shrink = 0, growth = 0.06, scale_x = 1.004, scale_y = 0.997, scale_z = 1.002";
    for example in &EXAMPLES {
        for body in made(example, own) {
            let (compensation, _) = body.made_up.as_ref().expect("it has growth");
            let (growth, scales) = (compensation.growth, compensation.scales);
            let wanted = body.mesh.moved(&upright(body.up()), Vec3::zeros());
            let (printed, to_bed) = body.to_print();
            let printed = printed.moved(&to_bed, Vec3::zeros());
            let (low, high) = wanted.bounds();
            let (mut worst, mut plain): (f64, f64) = (0.0, 0.0);
            for k in 0..CUTS {
                let z = low.z + (high.z - low.z) * (k as f64 + 0.513) / CUTS as f64;
                let outlines = section(&wanted, z);
                let nominal = region(&outlines);
                let distorted = |mesh: &Mesh| {
                    let mut outlines = section(mesh, z / scales.z);
                    let points = outlines.iter_mut().flatten();
                    points.for_each(|p| *p = p.component_mul(&scales.xy()));
                    region(&outlines).offset(growth)
                };
                let off = distorted(&printed).xor(&nominal).area();
                let without = distorted(&wanted).xor(&nominal).area();
                let most = rounded_away(&outlines, growth) + SHARE * growth * nominal.perimeter();
                assert!(
                    off <= most,
                    "{} at z = {z:.3}: {off:.4} mm2 off, {most:.4} allowed; made up for nothing, \
                     {without:.4}",
                    body.body.name
                );
                worst = worst.max(off);
                plain = plain.max(without);
            }
            println!("{}: {worst:.4} mm2 at most; made up for nothing, {plain:.3}", body.body.name);
            assert!(worst < 0.1 * plain, "{}: {worst} of {plain}", body.body.name);
        }
    }
}

#[test]
fn bodies_of_a_printer_that_needs_nothing_stay_as_they_are() {
    for body in made(&EXAMPLES[0], "growth = 0.0") {
        assert!(body.made_up.is_none());
        assert_eq!(body.to_print().0.vertices(), body.mesh.vertices());
    }
}

/// Small round upright holes that were drawn larger stay, and all else is where the
/// model says: every corner on the moved surface of its face, but for a few corners
/// of many faces, which miss by less than half the growth.
#[test]
fn holes_that_were_drawn_larger_stay() {
    const GROWTH: f64 = 0.05;
    let (mut all, mut left, mut missed) = (0, 0, 0);
    for example in &EXAMPLES {
        for body in made(example, "growth = 0.05") {
            let (_, printed) = body.made_up.as_ref().expect("it has growth");
            let (brep, up) = (body.body.solid.brep(), body.up());
            for (triangle, face) in printed.triangles().iter().zip(printed.face_of()) {
                let face = &brep.faces[*face as usize];
                let sense = if face.flipped { -1.0 } else { 1.0 };
                for to in triangle.map(|corner| printed.vertices()[corner as usize]) {
                    let outward = face.surface.normal(to) * sense;
                    let sine = (outward - up * outward.dot(&up)).norm();
                    let moved = face.surface.distance(to) * sense;
                    let hole = match face.surface {
                        Surface::Cylinder { axis, radius, .. } => {
                            face.flipped
                                && axis.cross(&up).norm() < 1e-9
                                && 2.0 * radius <= LARGEST_DRAWN_HOLE
                        }
                        _ => false,
                    };
                    let off = (moved + GROWTH * sine).abs();
                    let stays = hole && moved.abs() < 1e-6;
                    all += 1;
                    left += usize::from(stays);
                    missed += usize::from(off > 1e-6 && !stays);
                    let name = &body.body.name;
                    assert!(off <= 0.5 * GROWTH || stays, "{name} at {to}: {off}");
                }
            }
        }
    }
    println!("of {all} corners of triangles {left} stay in their holes, {missed} miss a face");
    assert!(left > 0, "some hole stays");
    assert!(100 * missed < all, "{missed} of {all}");
}

#[test]
fn a_detail_smaller_than_the_growth_is_refused() {
    let square = |half: f64| Region::rectangle(Vec2::repeat(-half), Vec2::repeat(half));
    let mut stack = Stack::default();
    stack.prism(0.0, 5.0, &square(5.0).difference(&square(4.0)));
    let solid = stack.solid().expect("a frame with walls of 1 mm");
    let mesh = tessellate(&solid, &ChordTolerance::default()).expect("flat faces");
    let drawn_in = |growth: f64| {
        let compensation = Compensation { growth, scales: Vec3::repeat(1.0), holes_drawn: false };
        compensation.drawn_in(&solid, &mesh, Vec3::z())
    };
    let thin = drawn_in(0.1).expect("0.8 mm are left");
    let wanted = 5.0 * (9.8 * 9.8 - 8.2 * 8.2);
    assert!((thin.volume() - wanted).abs() < 1e-9, "{} and {wanted}", thin.volume());
    let error = drawn_in(0.6).expect_err("nothing is left");
    assert!(matches!(error, CompensateError::Folded { .. }), "{error}");
}
