//! Wall thickness of one mesh at the same points by us, by a mesh library and
//! by an arbiter of few lines, in one run.

use std::time::Instant;

use borewright::checks::inscribed;
use borewright::export::stl;
use borewright::job::{Job, make};
use borewright::measure::{Library, Source};
use borewright::mesh::{Bvh, ChordTolerance, Soup, read_mesh, tessellate};
use borewright::parts::PART_KINDS;
use fastrand::Rng;
use serde_json::{Value, json};

use crate::{folder, refereed, root};

/// Points on each mesh.
const POINTS: usize = 2_000;

/// Walls are measured up to this thickness, mm: beyond any part.
const CAP: f64 = 1e4;

/// The example tray, as it is written to a file, cut into chords of at most
/// `chord` mm.
fn tray(chord: f64) -> Soup {
    let path = root().join("examples/ember-wand.toml");
    let source = Source::new("ember-wand", std::fs::read(path).expect("readable")).expect("text");
    let job = Job::read(&source, Library::shipped(), PART_KINDS).expect("an example is valid");
    let made = make(&job).expect("an example can be made");
    let solid = &made[0].bodies[0].body.solid;
    let tolerance = ChordTolerance { chord, max_angle: 0.3 };
    let mesh = tessellate(solid, &tolerance).expect("a solid meshes");
    let bytes = stl(mesh.vertices(), mesh.triangles(), "tray").expect("single precision holds it");
    read_mesh(&bytes, None).expect("our own file").bodies.swap_remove(0).soup
}

/// The tray at the first chord that gives it at least `wanted` triangles.
fn tray_of(wanted: usize) -> Soup {
    let mut chord = 0.01;
    loop {
        let soup = tray(chord);
        if soup.triangles().len() >= wanted {
            return soup;
        }
        chord *= 0.7;
    }
}

/// One case for the referee: the mesh, points spread over its area with the
/// facets' normals, our answers and our time, tree and all.
fn case(name: &str, soup: &Soup, rng: &mut Rng) -> Value {
    let areas: Vec<f64> = (0..soup.triangles().len())
        .scan(0.0, |sum, i| {
            let [a, b, c] = soup.corners(i);
            *sum += (b - a).cross(&(c - a)).norm();
            Some(*sum)
        })
        .collect();
    let total = areas.last().copied().unwrap_or_default();
    let points: Vec<_> = (0..POINTS)
        .map(|_| {
            let at = rng.f64() * total;
            let [a, b, c] = soup.corners(areas.partition_point(|s| *s < at));
            let (mut u, mut v) = (rng.f64(), rng.f64());
            if u + v > 1.0 {
                (u, v) = (1.0 - u, 1.0 - v);
            }
            let normal = (b - a).cross(&(c - a)).normalize();
            (a + (b - a) * u + (c - a) * v, normal)
        })
        .collect();
    let timed = || {
        let start = Instant::now();
        let bvh = Bvh::new(soup);
        let ours: Vec<f64> = points.iter().map(|(p, n)| inscribed(&bvh, *p, -*n, CAP)).collect();
        (start.elapsed().as_secs_f64(), ours)
    };
    // Other programs have the machine too: the least of some runs counts, and of the other
    // library its time on a processor.
    let (_, ours) = timed();
    let seconds = (0..RUNS).map(|_| timed().0).fold(f64::INFINITY, f64::min);
    json!({
        "name": name,
        "vertices": soup.vertices().iter().map(|v| v.as_slice()).collect::<Vec<_>>(),
        "triangles": soup.triangles(),
        "points": points.iter().map(|(p, _)| p.as_slice()).collect::<Vec<_>>(),
        "normals": points.iter().map(|(_, n)| n.as_slice()).collect::<Vec<_>>(),
        "ours": ours,
        "seconds": seconds,
    })
}

/// Runs that are timed.
const RUNS: usize = 5;

#[test]
fn largest_balls_agree_with_another_library() {
    let folder = folder("thickness");
    let mut rng = Rng::with_seed(4);
    let cases =
        [case("tray", &tray(0.01), &mut rng), case("fine tray", &tray_of(20_000), &mut rng)];
    let path = folder.join("cases.json");
    std::fs::write(&path, json!(cases).to_string()).expect("target is writable");
    let (passed, text) = refereed("thickness.py", &path);
    println!("{text}");
    assert!(passed, "{text}");
}
