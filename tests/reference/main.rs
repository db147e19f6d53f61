//! Exported files judged by an established B-rep kernel and a mesh library,
//! both driven through Python.

#[path = "../solids/build.rs"]
mod build;

use std::path::{Path, PathBuf};
use std::process::Command;

use borewright::export::{StepHeader, StepProduct, step};
use borewright::solid::Solid;
use serde_json::{Value, json};

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

/// Runs the referee over a manifest in `folder`; gives its verdict and text.
fn judge(folder: &Path, bodies: Vec<Value>) -> (bool, String) {
    let manifest = folder.join("manifest.json");
    std::fs::write(&manifest, Value::Array(bodies).to_string()).expect("target is writable");
    let output = Command::new(python())
        .arg(root().join("tests/reference/referee.py"))
        .arg(&manifest)
        .output()
        .expect("the interpreter starts");
    let text = [output.stdout, output.stderr].map(|b| String::from_utf8_lossy(&b).into_owned());
    (output.status.success(), text.join("\n"))
}

fn header(file_name: &str) -> StepHeader<'_> {
    StepHeader { file_name, time_stamp: "2000-01-01T00:00:00", description: "test solid" }
}

#[test]
fn hand_built_solids_pass_the_referees() {
    let folder = folder("solids");
    let mut bodies = Vec::new();
    for (name, brep) in build::gallery() {
        let solid = Solid::new(brep).expect(name);
        let mut body = expected(name, &solid);
        let file = format!("{name}.step");
        let text = step(&[StepProduct { name, solid: &solid }], &header(&file));
        std::fs::write(folder.join(&file), text).expect("target is writable");
        body["step"] = json!(file);
        bodies.push(body);
    }
    let (passed, text) = judge(&folder, bodies);
    println!("{text}");
    assert!(passed, "{text}");
}
