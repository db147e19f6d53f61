use std::collections::BTreeSet;
use std::f64::consts::PI;

use super::{PIECES, TEST_PIECES, WORDS};
use crate::job::{Job, Made, MadeBody, check_made, make};
use crate::measure::{Axis, Library, Measured, Source, Vec3};
use crate::mesh::Mesh;
use crate::parts::trying::{CHORDS, sound, value, volume};
use crate::solid::Surface;

fn job(printer: &str, material: &str, bore: f64, keel: f64, pieces: &[&str]) -> Job {
    let mut text = format!(
        "format = 1\n[handle]\nname = \"none\"\nbore = [{bore}]\nlength = 100\ncaliper = 0.03\n[print]\n\
         printer = \"{printer}\"\nmaterial = \"{material}\"\n"
    );
    for piece in pieces {
        let keel = if *piece == "gauge" { format!("keel = {keel}\n") } else { String::new() };
        text.push_str(&format!(
            "[[part]]\nkind = \"test_piece\"\nname = \"{piece}\"\npiece = \"{piece}\"\n{keel}"
        ));
    }
    let source = Source::new("pieces", text).expect("UTF-8");
    Job::read(&source, Library::shipped(), TEST_PIECES).unwrap_or_else(|faults| panic!("{faults}"))
}

fn made(printer: &str, pieces: &[&str]) -> Vec<Made> {
    make(&job(printer, "petg", 31.4, 0.0, pieces)).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn words_are_those_of_the_pieces() {
    let names: Vec<&str> = PIECES.iter().map(|piece| piece.name).collect();
    assert_eq!(names, WORDS);
}

#[test]
fn every_printer_gets_sound_pieces_that_fit_its_bed() {
    let library = Library::shipped();
    for printer in library.names("printers") {
        let all = made(printer, WORDS);
        let bed = library.profile("printers", printer).expect("shipped");
        for body in all.iter().flat_map(|part| &part.bodies) {
            sound(&body.body, CHORDS, printer);
            let size = body.bounds.1 - body.bounds.0;
            assert!(size.x < bed.number("bed_x") - 10.0, "{printer}: {}", body.body.name);
            assert!(size.z < bed.number("bed_z"), "{printer}: {}", body.body.name);
        }
    }
}

#[test]
fn volumes_are_those_of_closed_forms() {
    let all = made("fdm-medium", WORDS);
    let of = |name: &str| {
        let mut bodies = all.iter().flat_map(|part| &part.bodies);
        &bodies.find(|b| b.body.name == name).expect("made").body
    };
    let near = |name: &str, wanted: f64| {
        let found = volume(of(name));
        assert!((found - wanted).abs() < 1e-6 * wanted, "{name}: {found}, not {wanted}");
    };
    let slots = 2.0 * (5.0 + 10.0) * (12.0 - 4.0);
    let marks = 3.0 * 4.0 * 0.6;
    let legs = 2.0 * 60.0 * 12.0 - 144.0 - slots;
    let shoulder = 2.0 * 26.0 * 12.0 - 144.0;
    near("angle", 10.0 * legs - 0.6 * marks + 10.0 * shoulder + 10.0 * 144.0);
    let holes: f64 = [2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0].map(|d: f64| d * d).iter().sum();
    near("bores", 6.0 * (86.0 * 20.0 - 0.25 * PI * holes));
    near("comb", 10.0 * (81.0 * 12.0 - (8.0 * 6.0 + 2.0) * 7.0 - 4.5));
    near("comb-peg", 1500.0);
    near("ladder", 3.0 * (48.4 * 23.0 - 4.5) + 10.0 * 15.0 * 8.4);
    near("lip-rod", PI * 49.0 * 25.0);
    let outside = value(of("gauge-3"), "outside_x");
    let ring = 0.25 * PI * (outside.powi(2) - (outside - 6.4).powi(2));
    // Notches have parallel sides, so what they take of the ring is a little more than
    // width by wall.
    let taken = 4.0 * ring - volume(of("gauge-3"));
    assert!((taken / (3.0 * 0.6 * 0.6 * 3.2) - 1.0).abs() < 0.01, "{taken}");
}

/// Distances from face to face of a mesh along an axis through a point, all pairs of
/// them: every size that is read lies between two walls.
fn across(mesh: &Mesh, axis: Axis, at: [f64; 3]) -> Vec<f64> {
    let k = axis as usize;
    let (u, v) = ((k + 1) % 3, (k + 2) % 3);
    let mut hits = Vec::new();
    for triangle in 0..mesh.triangles().len() {
        let corners = mesh.corners(triangle);
        let turn = |i: usize| {
            let (a, b) = (corners[i], corners[(i + 1) % 3]);
            (b[u] - a[u]) * (at[v] - a[v]) - (b[v] - a[v]) * (at[u] - a[u])
        };
        let turns = [turn(0), turn(1), turn(2)];
        let sum: f64 = turns.iter().sum();
        if turns.iter().all(|t| *t > 0.0) || turns.iter().all(|t| *t < 0.0) {
            hits.push((0..3).map(|i| turns[(i + 1) % 3] / sum * corners[i][k]).sum::<f64>());
        }
    }
    let pairs = hits.iter().flat_map(|a| hits.iter().map(move |b| b - a));
    pairs.filter(|distance| *distance > 0.0).collect()
}

/// How far a line beside the middle of a round mesh falls short of its diameter, mm:
/// two chord tolerances and the lines' distance. Slots differ by three times as much.
const OFF: f64 = 0.03;

#[test]
fn what_is_read_is_there_to_be_read() {
    let all = made("fdm-medium", WORDS);
    let mut seen = BTreeSet::new();
    for MadeBody { body, mesh, bounds, .. } in all.iter().flat_map(|part| &part.bodies) {
        for row in &body.computed {
            let Some(reading) = &row.reading else { continue };
            seen.insert((reading.what.word(), reading.axis.map(Axis::word)));
            if reading.what == Measured::Hole {
                let bored = body.solid.brep().faces.iter().any(|face| {
                    matches!(face.surface, Surface::Cylinder { axis, radius, .. }
                        if face.flipped
                            && axis.cross(&Vec3::z()).norm() < 1e-9
                            && (2.0 * radius - row.value).abs() < 1e-9)
                });
                assert!(bored, "{}: no {} of {} mm", body.name, row.key, row.value);
                continue;
            }
            let axes = reading.axis.map_or(vec![Axis::X, Axis::Y], |axis| vec![axis]);
            for axis in axes {
                // Lines all over the body, none along an edge.
                let size = bounds.1 - bounds.0;
                let found = (0..60 * 60).any(|i| {
                    let share = |n: i32| (f64::from(n) + 0.4871) / 60.0;
                    let (u, v) = ((axis as usize + 1) % 3, (axis as usize + 2) % 3);
                    let mut at = [bounds.0.x, bounds.0.y, bounds.0.z];
                    at[u] += share(i / 60) * size[u];
                    at[v] += share(i % 60) * size[v];
                    across(mesh, axis, at).iter().any(|d| (d - row.value).abs() < OFF)
                });
                assert!(found, "{}: no {} of {} mm", body.name, row.key, row.value);
            }
        }
    }
    for wanted in ["outside", "gap", "first_layer"] {
        for axis in ["x", "y"] {
            assert!(seen.contains(&(wanted, Some(axis))), "{wanted} along {axis}");
        }
    }
    assert!(seen.contains(&("hole", None)) && seen.contains(&("outside", Some("z"))));
}

#[test]
fn rings_go_from_press_to_loose_and_are_told_apart() {
    let job = job("fdm-medium", "petg", 31.4, 2.0, &["gauge"]);
    let all = make(&job).unwrap_or_else(|error| panic!("{error}"));
    let rings: Vec<_> = all[0].bodies.iter().map(|b| &b.body).collect();
    let sure = job.handle().bore().sure();
    for (k, ring) in rings.iter().enumerate() {
        let wanted = 0.05 + 0.25 * k as f64 * (0.4 - 0.05);
        assert!((value(ring, "clearance") - wanted).abs() < 0.0011, "ring {k}");
        assert!((sure - value(ring, "outside_x") - wanted).abs() < 0.0011, "ring {k}");
        assert!((value(ring, "outside_x") - value(ring, "outside_y") - 2.0).abs() < 1e-9);
        let (low, high) = ring.solid.bounds();
        assert!((high.y - low.y - value(ring, "outside_y")).abs() < 1e-6, "ring {k}");
        // A notch has a floor: a level face at its depth.
        let floors = ring.solid.brep().faces.iter().filter(|face| {
            let at = face.loops[0][0];
            let edge = &ring.solid.brep().edges[at.edge as usize];
            let z = |v: u32| ring.solid.brep().vertices[v as usize].z;
            let flat = face.loops.iter().flatten().all(|used| {
                let edge = &ring.solid.brep().edges[used.edge as usize];
                (z(edge.from) - z(edge.to)).abs() < 1e-9
            });
            flat && (z(edge.from) - (high.z - 0.6)).abs() < 1e-9
        });
        assert_eq!(floors.count(), k + 1, "notches of ring {}", k + 1);
    }
}

#[test]
fn a_bore_too_small_for_rings_is_refused_with_the_bore_that_would_do() {
    let refused = |bore: f64| make(&job("fdm-medium", "petg", bore, 0.0, &["gauge"]));
    let why = refused(8.0).expect_err("too small").to_string();
    let (_, after) = why.split_once("need a bore of ").expect("a bore");
    let needed: f64 = after.split(' ').next().and_then(|n| n.parse().ok()).expect("a number");
    assert!(refused(needed + 0.1).is_ok() && refused(needed - 0.3).is_err(), "{why}");
}

#[test]
fn only_pieces_that_go_to_the_limit_have_errors() {
    let job = job("fdm-medium", "petg", 31.4, 0.0, WORDS);
    let mut all = make(&job).unwrap_or_else(|error| panic!("{error}"));
    check_made(&job, &mut all, &[]);
    let mut beyond = BTreeSet::new();
    for part in &all {
        let piece = PIECES.iter().find(|piece| piece.name == part.name).expect("known");
        for body in &part.bodies {
            let checked = body.checked.as_ref().expect("checked");
            for finding in checked.findings.iter().filter(|f| f.blocks()) {
                assert!(piece.beyond.contains(&finding.check), "{}: {}", part.name, finding.text);
                beyond.insert(part.name.clone());
            }
        }
    }
    assert!(beyond.contains("ladder"), "{beyond:?}");
}
