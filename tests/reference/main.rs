//! Exported files judged by an established B-rep kernel and a mesh library,
//! both driven through Python.

#[path = "../solids/build.rs"]
mod build;
mod chassis;
mod components;
mod jobs;
mod packages;
mod piece;
mod plates;
#[path = "../engine/random.rs"]
mod random;
#[path = "../../src/parts/random_rows.rs"]
mod random_rows;
mod rebuilt;
mod scans;
mod sections;
mod stacks;
mod thickness;
mod vary;

use std::path::{Path, PathBuf};
use std::process::Command;

use borewright::export::{StepHeader, StepProduct, step, stl};
use borewright::measure;
use borewright::measure::Vec2;
use borewright::mesh::{ChordTolerance, tessellate};
use borewright::parts;
use borewright::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, Solid, Surface};
use random::{Input, Source};
use serde_json::{Value, json};

/// Of all meshes, mm.
const CHORD: f64 = 0.01;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The interpreter with the packages of `requirements.txt`.
fn python() -> PathBuf {
    if let Some(path) = std::env::var_os("BOREWRIGHT_PYTHON") {
        return path.into();
    }
    let path = root().join(".venv/bin/python");
    assert!(
        path.exists(),
        "this test needs Python with the packages of tests/reference/requirements.txt; make it with\n\
         \n    python3 -m venv .venv && .venv/bin/pip install -r tests/reference/requirements.txt\n\
         \nor name another interpreter in BOREWRIGHT_PYTHON"
    );
    path
}

/// A fresh folder for the files of one test.
fn folder(name: &str) -> PathBuf {
    let path = root().join("target/referee").join(name);
    if path.exists() {
        std::fs::remove_dir_all(&path).expect("an earlier run's files can go");
    }
    std::fs::create_dir_all(&path).expect("target is writable");
    path
}

fn expected(name: &str, solid: &Solid) -> Value {
    let p = solid.properties();
    let (low, high) = solid.bounds();
    let faces = solid.face_counts();
    let rows: Vec<[f64; 3]> = p.inertia.row_iter().map(|r| [r[0], r[1], r[2]]).collect();
    json!({
        "name": name,
        "volume": p.volume,
        "area": p.area,
        "centroid": p.centroid.as_slice(),
        "inertia": rows,
        "bbox": [low.as_slice(), high.as_slice()],
        "faces": { "plane": faces.planes, "cylinder": faces.cylinders, "cone": faces.cones },
        "shells": solid.shells().len(),
    })
}

/// Runs the referee of bodies over a manifest in `folder`; gives its verdict
/// and text.
fn judge(folder: &Path, bodies: Vec<Value>) -> (bool, String) {
    judge_by("referee.py", folder, bodies)
}

/// Runs a referee over a manifest in `folder`; gives its verdict and text.
fn judge_by(referee: &str, folder: &Path, entries: Vec<Value>) -> (bool, String) {
    let manifest = folder.join("manifest.json");
    std::fs::write(&manifest, Value::Array(entries).to_string()).expect("target is writable");
    refereed(referee, &manifest)
}

/// Runs a referee over a file; gives its verdict and text.
fn refereed(referee: &str, file: &Path) -> (bool, String) {
    let output = Command::new(python())
        .arg(root().join("tests/reference").join(referee))
        .arg(file)
        .output()
        .expect("the interpreter starts");
    let text = [output.stdout, output.stderr].map(|b| String::from_utf8_lossy(&b).into_owned());
    (output.status.success(), text.join("\n"))
}

fn header(file_name: &str) -> StepHeader<'_> {
    StepHeader { file_name, time_stamp: "2000-01-01T00:00:00", description: "test solid" }
}

/// Writes the STEP file of one body and puts it into its manifest entry.
fn write_step(folder: &Path, body: &mut Value, solid: &Solid) {
    let name = body["name"].as_str().expect("a name").to_owned();
    let file = format!("{name}.step");
    let text = step(&[StepProduct { name: &name, solid }], &header(&file));
    std::fs::write(folder.join(&file), text).expect("target is writable");
    body["step"] = json!(file);
}

/// Writes our mesh of a body and puts it into its manifest entry.
fn write_stl(folder: &Path, body: &mut Value, solid: &Solid) {
    let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
    let mesh = tessellate(solid, &tolerance).expect("a solid meshes");
    let bytes = stl(mesh.vertices(), mesh.triangles(), "solid of the reference test")
        .expect("single precision holds it");
    let file = format!("{}.stl", body["name"].as_str().expect("a name"));
    std::fs::write(folder.join(&file), bytes).expect("target is writable");
    body["stl"] = json!(file);
    body["chord"] = json!(CHORD);
}

#[test]
fn hand_built_solids_pass_the_referees() {
    let folder = folder("solids");
    let mut bodies = Vec::new();
    for (name, brep) in build::gallery() {
        let solid = Solid::new(brep).expect(name);
        let mut body = expected(name, &solid);
        write_step(&folder, &mut body, &solid);
        write_stl(&folder, &mut body, &solid);
        bodies.push(body);
    }
    let (passed, text) = judge(&folder, bodies);
    println!("{text}");
    assert!(passed, "{text}");
}

/// Random stacks with a bore where one fits, half of them clear of the grid.
#[test]
fn random_stacks_pass_the_referees() {
    let folder = folder("stacks");
    let mut bodies = Vec::new();
    for seed in 0..400 {
        let mut source = Source {
            rng: fastrand::Rng::with_seed(seed),
            eps: if seed % 2 == 0 { 0.0 } else { 0.3 },
            input: Input::Snapped,
        };
        let stack = source.stack();
        let turn = source.rng.f64() * 6.0;
        let bore = CrossBore {
            direction: Vec2::new(turn.cos(), turn.sin()),
            z: source.rng.f64() * 6.0,
            offset: source.rng.f64() * 6.0 - 3.0,
            start: f64::NEG_INFINITY,
            profile: BoreProfile::Round { radius: 0.3 + source.rng.f64() },
            mouth: Mouth::Plain,
            end: BoreEnd::AllWalls,
        };
        let Ok(solid) = stack.bored(&[bore]).or_else(|_| stack.solid()) else { continue };
        let mut body = expected(&format!("stack{seed}"), &solid);
        write_step(&folder, &mut body, &solid);
        write_stl(&folder, &mut body, &solid);
        bodies.push(body);
    }
    assert!(bodies.len() > 100, "too few to mean anything: {}", bodies.len());
    let (passed, text) = judge(&folder, bodies);
    println!("{text}");
    assert!(passed, "{text}");
}

#[test]
fn several_products_share_a_file_under_their_own_names() {
    let folder = folder("products");
    let names = ["lamplighter's \\ rod", "Gl\u{fc}hstab \u{1f525} \u{3bb}", "rod"];
    let solids: Vec<Solid> = [
        build::rod(7.5, [0.0, 12.0]),
        build::oblique(8.0, -0.2, 15.0, 0.5),
        build::bored_rod(15.0, 40.0, 3.0, 5.0),
    ]
    .into_iter()
    .map(|b| Solid::new(b.brep()).expect("closes"))
    .collect();
    let products: Vec<StepProduct> =
        names.iter().zip(&solids).map(|(name, solid)| StepProduct { name, solid }).collect();
    let text = step(&products, &header("three's.step"));
    assert_eq!(text, step(&products, &header("three's.step")), "same input, same bytes");
    std::fs::write(folder.join("three.step"), text).expect("target is writable");
    let bodies = names.iter().zip(&solids).map(|(name, solid)| {
        let mut body = expected(name, solid);
        body["step"] = json!("three.step");
        body
    });
    let (passed, text) = judge(&folder, bodies.collect());
    assert!(passed, "{text}");
}

/// A cone whose frame lies beyond its apex, as sections of a taper give it.
#[test]
fn cones_placed_beyond_their_apex_are_written_from_their_wide_end() {
    let folder = folder("apex");
    let mut bodies = Vec::new();
    for (name, slope) in [("widening", 0.25), ("narrowing", -0.25)] {
        let radii = if slope > 0.0 { [4.0, 8.0] } else { [8.0, 4.0] };
        let mut brep = build::frustum(radii, None, 16.0).brep();
        for face in &mut brep.faces {
            if let Surface::Cone { origin, axis, radius, .. } = &mut face.surface {
                let shift = if slope > 0.0 { -20.0 } else { 36.0 };
                *origin += *axis * shift;
                *radius += slope * shift;
                assert!(*radius < 0.0);
            }
        }
        let solid = Solid::new(brep).expect(name);
        let mut body = expected(name, &solid);
        write_step(&folder, &mut body, &solid);
        write_stl(&folder, &mut body, &solid);
        bodies.push(body);
    }
    let (passed, text) = judge(&folder, bodies);
    assert!(passed, "{text}");
}

/// The referee is worth nothing if it lets a bad file pass.
#[test]
fn the_referee_finds_planted_faults() {
    let folder = folder("faulty");
    let solid = Solid::new(build::rod(7.5, [-4.0, 20.0]).brep()).expect("closes");
    let mut bodies = Vec::new();
    let mut plant = |name: &str, fault: &dyn Fn(&mut Value, &mut String, &mut Vec<u8>)| {
        let mut body = expected(name, &solid);
        write_step(&folder, &mut body, &solid);
        write_stl(&folder, &mut body, &solid);
        let [step, stl] = ["step", "stl"].map(|end| folder.join(format!("{name}.{end}")));
        let mut text = std::fs::read_to_string(&step).expect("just written");
        let mut bytes = std::fs::read(&stl).expect("just written");
        fault(&mut body, &mut text, &mut bytes);
        std::fs::write(&step, text).expect("target is writable");
        std::fs::write(&stl, bytes).expect("target is writable");
        bodies.push(body);
    };
    let swap = |text: &mut String, from: &str, to: &str| {
        assert!(text.contains(from), "{from} is not in the file");
        *text = text.replacen(from, to, 1);
    };
    plant("dangling", &|_, t, _| {
        swap(t, "#47=CYLINDRICAL_SURFACE('',#8", "#47=CYLINDRICAL_SURFACE('',#999")
    });
    plant("unused", &|_, t, _| {
        swap(t, "ENDSEC;\nEND", "#998=CARTESIAN_POINT('',(0.,0.,0.));\nENDSEC;\nEND")
    });
    plant("exponent", &|_, t, _| swap(t, "1.E-6", "1.e-6"));
    plant("sense", &|_, t, _| swap(t, "#47,.T.", "#47,.F."));
    plant("radius", &|_, t, _| swap(t, "#8,7.5);\n#10=", "#8,7.6);\n#10="));
    plant("volume", &|b, _, _| b["volume"] = json!(solid.properties().volume * (1.0 + 2e-6)));
    plant("inertia", &|b, _, _| b["inertia"][2][2] = json!(0.0));
    plant("box", &|b, _, _| b["bbox"][1][2] = json!(20.00002));
    plant("faces", &|b, _, _| b["faces"]["cone"] = json!(1));
    plant("shells", &|b, _, _| b["shells"] = json!(2));
    plant("hole", &|_, _, s| {
        s.truncate(s.len() - 50);
        let count = ((s.len() - 84) / 50) as u32;
        s[80..84].copy_from_slice(&count.to_le_bytes());
    });
    plant("winding", &|_, _, s| {
        let (left, right) = s[96..120].split_at_mut(12);
        left.swap_with_slice(right);
    });
    plant("coarse", &|b, _, _| b["chord"] = json!(1e-4));
    plant("header", &|_, _, s| s[..5].copy_from_slice(b"solid"));
    plant("cut", &|_, _, s| s.truncate(s.len() - 1));
    let names: Vec<String> =
        bodies.iter().map(|b| b["name"].as_str().expect("a name").to_owned()).collect();
    let (passed, text) = judge(&folder, bodies);
    println!("{text}");
    assert!(!passed, "{text}");
    for name in names {
        let found = text.lines().any(|l| l.starts_with("FAULT") && l.contains(&name));
        assert!(found, "the referee missed {name}:\n{text}");
    }
}
