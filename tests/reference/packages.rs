//! 3MF packages judged by the consortium's own reader.

use std::io::{Cursor, Read, Write};

use borewright::export::{Package, PackageItem, PackageMesh, threemf};
use borewright::measure::Vec3;
use borewright::mesh::{ChordTolerance, Mesh, tessellate};
use borewright::solid::Solid;
use nalgebra::Rotation3;
use serde_json::{Value, json};
use zip::write::SimpleFileOptions;

use super::{CHORD, build, folder, judge_by};

fn mesh(radius: f64, ends: [f64; 2]) -> Mesh {
    let solid = Solid::new(build::rod(radius, ends).brep()).expect("closes");
    tessellate(&solid, &ChordTolerance { chord: CHORD, ..ChordTolerance::default() })
        .expect("meshes")
}

/// A package with two copies of one mesh, turned, and one of another.
fn package<'a>(rod: &'a Mesh, disc: &'a Mesh) -> (Package<'a>, Value) {
    let object = |name, mesh: &'a Mesh, colour| PackageMesh {
        name,
        vertices: mesh.vertices(),
        triangles: mesh.triangles(),
        colour,
    };
    let turn = Rotation3::from_euler_angles(0.0, 0.0, 0.4).into_inner();
    let lying = Rotation3::from_euler_angles(0.0, std::f64::consts::FRAC_PI_2, 0.0).into_inner();
    let item = |mesh: usize, name: &str, turn, at: [f64; 3]| PackageItem {
        mesh,
        name: name.to_owned(),
        turn,
        shift: Vec3::from(at),
    };
    let package = Package {
        metadata: vec![
            ("Title", "props for <two> & three".to_owned()),
            ("Fingerprint", "9f3c".to_owned()),
        ],
        meshes: vec![object("rod", rod, Some([180, 120, 60])), object("disc", disc, None)],
        items: vec![
            item(0, "rod 1", turn, [10.0, 10.0, 4.0]),
            item(0, "rod 2", lying, [40.0, 30.0, 8.0]),
            item(1, "disc", turn, [80.0, 30.0, 0.0]),
        ],
        thumbnail: None,
    };
    let items = package.items.iter().map(|item| {
        let mesh = [rod, disc][item.mesh];
        let placed = mesh.vertices().iter().map(|p| item.turn * p + item.shift);
        let wide = (Vec3::repeat(f64::INFINITY), Vec3::repeat(f64::NEG_INFINITY));
        let (low, high) = placed.fold(wide, |(l, h), p| (l.inf(&p), h.sup(&p)));
        json!({
            "name": item.name,
            "volume": mesh.volume(),
            "bbox": [low.as_slice(), high.as_slice()],
        })
    });
    let items: Vec<Value> = items.collect();
    let entry = json!({
        "items": items,
        "metadata": { "Title": "props for <two> & three" },
        "thumbnail": false,
    });
    (package, entry)
}

#[test]
fn copies_colours_and_names_pass_the_consortiums_reader() {
    let place = folder("packages");
    let (rod, disc) = (mesh(7.5, [-4.0, 20.0]), mesh(12.0, [0.0, 2.0]));
    let (package, mut entry) = package(&rod, &disc);
    std::fs::write(place.join("copies.3mf"), threemf(&package).expect("written")).expect("target");
    entry["package"] = json!("copies.3mf");
    let (passed, text) = judge_by("package_referee.py", &place, vec![entry]);
    println!("{text}");
    assert!(passed, "{text}");
}

/// Rewrites the model of a package.
fn edited(bytes: &[u8], edit: impl Fn(String) -> String) -> Vec<u8> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).expect("just written");
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for i in 0..archive.len() {
        let mut file = archive.by_index(i).expect("listed");
        let name = file.name().expect("a plain name").into_owned();
        let mut text = String::new();
        file.read_to_string(&mut text).expect("it is text");
        let text = if name == "3D/3dmodel.model" { edit(text) } else { text };
        out.start_file(name, SimpleFileOptions::default()).expect("a plain name");
        out.write_all(text.as_bytes()).expect("memory");
    }
    out.finish().expect("memory").into_inner()
}

/// The referee is worth nothing if it lets a bad package pass.
#[test]
fn the_referee_of_packages_finds_planted_faults() {
    type Plant = (&'static str, fn(String) -> String);
    const PLANTS: [Plant; 6] = [
        ("unit", |t| t.replace("millimeter", "inch")),
        ("hole", |t| {
            let start = t.find("<triangle ").expect("there are triangles");
            let end = start + t[start..].find("/>").expect("closed") + 2;
            format!("{}{}", &t[..start], &t[end..])
        }),
        ("name", |t| t.replace("name=\"rod 2\"", "name=\"rod two\"")),
        ("shift", |t| t.replace("80 30 0\"", "80 31 0\"")),
        ("metadata", |t| t.replace("props for", "things for")),
        ("order", |t| t.replace("<build>", "<build><item objectid=\"77\"/>")),
    ];
    let place = folder("packages-faulty");
    let (rod, disc) = (mesh(7.5, [-4.0, 20.0]), mesh(12.0, [0.0, 2.0]));
    let (package, entry) = package(&rod, &disc);
    let bytes = threemf(&package).expect("written");
    let mut entries = Vec::new();
    for (name, plant) in PLANTS {
        let file = format!("{name}.3mf");
        let changed = edited(&bytes, |text| {
            let planted = plant(text.clone());
            assert_ne!(planted, text, "{name} changes nothing");
            planted
        });
        std::fs::write(place.join(&file), changed).expect("target is writable");
        let mut entry = entry.clone();
        entry["package"] = json!(file);
        entries.push(entry);
    }
    let (passed, text) = judge_by("package_referee.py", &place, entries);
    println!("{text}");
    assert!(!passed, "{text}");
    for (name, _) in PLANTS {
        let fault = format!("FAULT {name}.3mf");
        assert!(text.lines().any(|l| l.starts_with(&fault)), "missed {name}:\n{text}");
    }
}
