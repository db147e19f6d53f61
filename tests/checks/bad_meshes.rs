//! Deliberately bad files: a clear finding or error each, never a panic, and
//! no more memory than the bytes are worth.

use std::time::{Duration, Instant};

use borewright::checks::{Analysis, CheckContext, Finding, Severity, check};
use borewright::export::stl;
use borewright::measure::{Library, Vec3};
use borewright::mesh::{MAX_TRIANGLES, ReadError, Soup, read_mesh};
use fastrand::Rng;

use crate::shapes::*;
use crate::speed::seconds_on_cpu;

fn cube() -> Soup {
    slabs(&[(0.0, 10.0, rect(0.0, 0.0, 10.0, 10.0))])
}

fn binary(soup: &Soup) -> Vec<u8> {
    stl(soup.vertices(), soup.triangles(), "test").expect("a good mesh")
}

fn text(soup: &Soup) -> String {
    let mut out = String::from("solid test\n");
    for t in triangles(soup) {
        out.push_str("facet normal 0 0 0\nouter loop\n");
        t.iter().for_each(|p| out.push_str(&format!("vertex {} {} {}\n", p.x, p.y, p.z)));
        out.push_str("endloop\nendfacet\n");
    }
    out + "endsolid test\n"
}

/// Reads and checks; what is wrong with the file or the mesh.
fn judged(bytes: &[u8]) -> Result<Vec<Finding>, ReadError> {
    let read = read_mesh(bytes, None)?;
    let library = Library::shipped();
    let mut all = Vec::new();
    for body in &read.bodies {
        let analysis = Analysis::new(body.soup.clone());
        all.extend(check(&CheckContext {
            printer: library.profile("printers", "fdm-thin").expect("shipped"),
            material: library.profile("materials", "petg").expect("shipped"),
            analysis: &analysis,
            remarks: &read.remarks,
            known: None,
        }));
    }
    Ok(all)
}

fn soup_findings(soup: &Soup) -> Vec<Finding> {
    only(findings_on(soup, "fdm-thin"), "sound_mesh")
}

#[track_caller]
fn assert_says(bytes: &[u8], words: &str) {
    match judged(bytes) {
        Err(error) => assert!(error.to_string().contains(words), "{error}"),
        Ok(found) => {
            let texts: Vec<&String> = found.iter().map(|f| &f.text).collect();
            assert!(texts.iter().any(|t| t.contains(words)), "{words}: {texts:?}");
        }
    }
}

#[track_caller]
fn assert_found(soup: &Soup, words: &str, severity: Severity) {
    let found = soup_findings(soup);
    let hit = found.iter().find(|f| f.text.contains(words));
    let hit = hit.unwrap_or_else(|| panic!("{words}: {found:?}"));
    assert_eq!(hit.severity, severity, "{}", hit.text);
    assert!(hit.severity != Severity::Error || hit.blocks());
}

#[test]
fn a_sound_cube_has_nothing_to_say() {
    assert!(soup_findings(&cube()).is_empty(), "{:?}", soup_findings(&cube()));
}

#[test]
fn files_that_are_cut_short_or_lie() {
    let good = binary(&cube());
    assert_says(&[], "the file is empty");
    assert_says(&good[..40], "too few for a binary STL");
    assert_says(&good[..84], "its header says 12");
    assert_says(&good[..good.len() - 130], "cut short");
    let with_count = |count: u32| {
        let mut bytes = good.clone();
        bytes[80..84].copy_from_slice(&count.to_le_bytes());
        bytes
    };
    assert_says(&with_count(u32::MAX), "the header says 4294967295 triangles, the file holds 12");
    assert_says(&with_count(3), "the header says 3 triangles, the file holds 12");
    let mut zero = with_count(0);
    zero.truncate(84);
    assert_says(&zero, "no usable triangle");
    // `solid` before binary triangles.
    let mut liar = good.clone();
    liar[..10].copy_from_slice(b"solid cube");
    assert!(judged(&liar).expect("reads").iter().all(|f| f.check != "sound_mesh"));
    // Text with another count of bytes than any binary.
    let plain = text(&cube());
    assert!(judged(plain.as_bytes()).expect("reads").iter().all(|f| f.check != "sound_mesh"));
    assert_says(&plain.as_bytes()[..plain.len() / 2], "cut short");
    assert_says(b"solid nothing\nendsolid nothing\n", "no usable triangle");
    assert_says(b"solid of words only, a letter to a friend\n", "no usable triangle");
    assert_says(
        b"\x89PNG\r\n\x1a\n and so on and so on, and more of it, until it is long enough \
                  to be taken for a header of eighty bytes and some triangles, which it is not: \
                  the numbers are letters",
        "no STL, OBJ or 3MF",
    );
    assert_says(b"PK\x03\x04 and no more", "cannot be opened");
    assert_says(b"v 0 0 0\nv 1 0 0\nf 1 2 3\n", "no usable triangle");
}

#[test]
fn numbers_that_are_none() {
    let good = binary(&cube());
    for value in [f32::NAN, f32::INFINITY, -1e30] {
        let mut bytes = good.clone();
        bytes[96..100].copy_from_slice(&value.to_le_bytes());
        assert_says(&bytes, "1 triangles are left out");
        assert_says(&bytes, "edges are open");
    }
    let plain = text(&cube()).replace("vertex 0 0 0", "vertex nan 0 0");
    assert_says(plain.as_bytes(), "triangles are left out");
    let all = text(&cube()).replace("vertex", "vertex 1e400");
    assert_says(all.as_bytes(), "no usable triangle");
    let huge = cube().mapped(|p| p * 9e5);
    assert_says(&binary(&huge), "do not fit the build space");
    assert_says(&binary(&huge), "probably drawn in");
}

#[test]
fn surfaces_that_bound_nothing() {
    let cube = cube();
    let list = triangles(&cube);
    assert_found(&welded(list[1..].iter().copied()), "3 edges are open", Severity::Error);
    assert_found(&cube.reversed(), "inside out", Severity::Error);
    let mut flipped = list.clone();
    flipped[0].swap(0, 1);
    assert_found(&welded(flipped), "face opposite ways", Severity::Error);
    let doubled = welded(list.iter().chain(&list[..1]).copied());
    assert_found(&doubled, "1 facets are there twice", Severity::Error);
    let p = list[0];
    let needle = welded(list.iter().copied().chain([[p[0], p[1], (p[0] + p[1]) * 0.5]]));
    assert_found(&needle, "1 facets have no area", Severity::Note);
    // Two cubes that share an edge.
    let beside = cube.mapped(|p| p + Vec3::new(10.0, 10.0, 0.0));
    assert_found(&together(&[cube.clone(), beside]), "three facets or more", Severity::Error);
    let through = cube.mapped(|p| p + Vec3::new(5.0, 4.0, 3.0));
    let crossing = together(&[cube.clone(), through]);
    assert_found(&crossing, "pairs of facets cross", Severity::Warning);
    assert_found(&crossing, "2 separate shells", Severity::Note);
    let flat = welded([[Vec3::zeros(), Vec3::x() * 9.0, Vec3::y() * 9.0]]);
    assert_found(&flat, "edges are open", Severity::Error);
    let sheet = welded([
        [Vec3::zeros(), Vec3::x() * 9.0, Vec3::y() * 9.0],
        [Vec3::zeros(), Vec3::y() * 9.0, Vec3::x() * 9.0],
    ]);
    assert_found(&sheet, "encloses no volume", Severity::Error);
}

/// Touching without crossing is no crossing: a tube in a tube's way.
#[test]
fn neighbours_that_touch_do_not_cross() {
    let under = cube();
    let over = slabs(&[(10.0, 14.0, rect(2.0, 2.0, 7.0, 7.0))]);
    let found = soup_findings(&together(&[under, over]));
    assert!(found.iter().all(|f| !f.text.contains("cross")), "{found:?}");
}

#[test]
fn too_many_triangles_are_refused_before_memory_is_taken() {
    // Ten million triangles: 500 MB of zeros are never made, the length of
    // a smaller file tells as well.
    let count = MAX_TRIANGLES + 1;
    let mut bytes = vec![0u8; 84 + 50 * count];
    bytes[80..84].copy_from_slice(&(count as u32).to_le_bytes());
    let start = Instant::now();
    let error = read_mesh(&bytes, None).expect_err("too many");
    assert_eq!(error, ReadError::TooMany { triangles: count as u64 });
    assert!(start.elapsed() < Duration::from_millis(50));
}

/// All in one point, all in one plane, a fan around one edge, noise: no check
/// may take more than linear time.
#[test]
fn hostile_heaps_of_triangles_end_soon() {
    let mut rng = Rng::with_seed(5);
    let n = 10_000;
    let mut random =
        |scale: f64| Vec3::new(rng.f64() - 0.5, rng.f64() - 0.5, rng.f64() - 0.5) * scale;
    let noise: Vec<[Vec3; 3]> =
        (0..n).map(|_| [random(30.0), random(30.0), random(30.0)]).collect();
    let fan: Vec<[Vec3; 3]> = (0..n)
        .map(|i| {
            let (sin, cos) = (f64::from(i) * 1e-3).sin_cos();
            [Vec3::zeros(), Vec3::z() * 20.0, Vec3::new(9.0 * cos, 9.0 * sin, 10.0)]
        })
        .collect();
    let plane: Vec<[Vec3; 3]> = (0..n)
        .map(|_| [random(40.0), random(40.0), random(40.0)].map(|p| Vec3::new(p.x, p.y, 0.0)))
        .collect();
    let dots: Vec<[Vec3; 3]> = (0..n).map(|_| [Vec3::new(1.0, 2.0, 3.0); 3]).collect();
    for (what, heap) in [("noise", noise), ("fan", fan), ("plane", plane), ("dots", dots)] {
        let soup = welded(heap);
        let start = Instant::now();
        let before = seconds_on_cpu(start);
        let found = findings_on(&soup, "resin-fine");
        let took = seconds_on_cpu(start) - before;
        println!("{what}: {} findings in {took:.1} s on the processor", found.len());
        assert!(found.iter().any(|f| f.severity >= Severity::Note), "{what}");
        assert!(took < 20.0, "{what}: {took} s");
    }
}

#[test]
fn mangled_bytes_never_panic() {
    let cube = cube();
    let samples = [
        binary(&cube),
        text(&cube).into_bytes(),
        crate::formats::three_mf(&crate::formats::model(&cube)),
        crate::formats::obj(&cube).into_bytes(),
    ];
    let mut rng = Rng::with_seed(11);
    let (mut errors, mut checked) = (0, 0);
    for _ in 0..400 {
        let mut bytes = samples[rng.usize(0..samples.len())].clone();
        for _ in 0..rng.usize(1..6) {
            let at = rng.usize(0..bytes.len());
            match rng.u8(0..4) {
                0 => bytes[at] = rng.u8(..),
                1 => bytes.truncate(at.max(1)),
                2 => bytes.insert(at, rng.u8(..)),
                _ => {
                    bytes.remove(at);
                }
            }
            if bytes.is_empty() {
                bytes.push(b's');
            }
        }
        match judged(&bytes) {
            Ok(_) => checked += 1,
            Err(_) => errors += 1,
        }
    }
    println!("{errors} refused, {checked} checked");
    assert!(errors > 20 && checked > 20);
}
