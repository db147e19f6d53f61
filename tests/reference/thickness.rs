//! Our inscribed balls against trimesh's on one mesh, in one run.

use std::process::Command;
use std::time::Instant;

use borewright::checks::{Topology, inscribed};
use borewright::export::stl;
use borewright::measure::{Vec2, Vec3};
use borewright::mesh::{Bvh, ChordTolerance, Soup, read_mesh, tessellate};
use borewright::section::Region;
use borewright::solid::Stack;

use crate::{folder, python, root};

/// Largest relative difference of two diameters.
const AGREEMENT: f64 = 0.01;

/// How many times faster ours must be with optimisation.
const FASTER: f64 = 30.0;

/// Points whose thickness is compared; trimesh takes a tenth of a second for
/// each hundred.
const POINTS: usize = 2_000;

/// A trough with ribs and ducts in a rod, with at least that many triangles.
fn tray(wanted: usize) -> Soup {
    let disc = |x, y, r| Region::disc(Vec2::new(x, y), r);
    let rect = |a, b, c, d| Region::rectangle(Vec2::new(a, b), Vec2::new(c, d));
    let rod =
        disc(0.0, 0.0, 12.5).difference(&disc(8.5, -6.0, 1.1)).difference(&disc(-8.5, -6.0, 1.1));
    let seat = rod.difference(&disc(0.0, 1.0, 9.3).union(&rect(-8.0, 2.0, 8.0, 20.0)));
    let window = rect(5.0, -3.0, 20.0, 20.0);
    let mut chord = 0.02;
    loop {
        let mut stack = Stack::default();
        stack.prism(0.0, 3.0, &rod.difference(&disc(0.0, 1.0, 3.0)));
        for k in 0..8 {
            let z = 3.0 + 8.0 * f64::from(k);
            stack.prism(z, z + 3.0, &seat);
            stack.prism(z + 3.0, z + 8.0, &seat.difference(&window));
        }
        stack.prism(67.0, 70.0, &rod);
        let solid = stack.solid().expect("a sound tray");
        let tolerance = ChordTolerance { chord, ..ChordTolerance::default() };
        let soup = Soup::from(&tessellate(&solid, &tolerance).expect("meshes"));
        if soup.triangles().len() >= wanted {
            return soup;
        }
        chord *= 0.8;
    }
}

#[test]
fn thickness_agrees_with_an_independent_library_and_is_faster() {
    let folder = folder("thickness");
    let mesh = tray(20_000);
    let bytes = stl(mesh.vertices(), mesh.triangles(), "tray").expect("a good mesh");
    let file = folder.join("tray.stl");
    std::fs::write(&file, &bytes).expect("target is writable");
    // What the file holds, in single precision, is what both see.
    let soup = read_mesh(&bytes, None).expect("reads").bodies.remove(0).soup;
    let topology = Topology::new(&soup);
    let count = soup.triangles().len();
    let mut points: Vec<(Vec3, Vec3)> = Vec::new();
    for i in (0..count).step_by(count.div_ceil(POINTS)) {
        let [a, b, c] = soup.corners(i);
        points.push(((a + b + c) / 3.0, topology.normals[i]));
    }
    let rows: Vec<[f64; 6]> = points.iter().map(|(p, n)| [p.x, p.y, p.z, n.x, n.y, n.z]).collect();
    let list = folder.join("points.json");
    std::fs::write(&list, serde_json::to_string(&rows).expect("numbers")).expect("writable");

    let start = Instant::now();
    let bvh = Bvh::new(&soup);
    let ours: Vec<f64> = points.iter().map(|(p, n)| inscribed(&bvh, *p, -n, 1e4)).collect();
    let our_seconds = start.elapsed().as_secs_f64();

    let output = Command::new(python())
        .arg(root().join("tests/reference/thickness.py"))
        .args([&file, &list])
        .output()
        .expect("the interpreter starts");
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let theirs = report["diameters"].as_array().expect("a list");
    let seconds = report["seconds"].as_f64().expect("a time");
    assert_eq!(theirs.len(), ours.len());

    let mut worst: f64 = 0.0;
    let mut apart = Vec::new();
    for (i, (ours, theirs)) in ours.iter().zip(theirs).enumerate() {
        let theirs = theirs.as_f64().unwrap_or(f64::INFINITY);
        let off = (ours - theirs).abs() / theirs;
        worst = worst.max(off);
        if off > AGREEMENT {
            apart.push(format!("{:?}: ours {ours}, theirs {theirs}", points[i].0));
        }
    }
    let ratio = seconds / our_seconds;
    println!(
        "{count} triangles, {} points: worst difference {:.5} %; ours {:.2} ms with the tree, theirs \
         {:.0} ms without: {ratio:.0} times faster",
        ours.len(),
        100.0 * worst,
        1e3 * our_seconds,
        1e3 * seconds
    );
    assert!(
        apart.is_empty(),
        "{} of {} apart: {:#?}",
        apart.len(),
        ours.len(),
        &apart[..apart.len().min(5)]
    );
    if !cfg!(debug_assertions) {
        assert!(ratio >= FASTER, "only {ratio:.1} times faster");
    }
}
