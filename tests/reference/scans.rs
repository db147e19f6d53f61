//! Seats of scanned stones by a mesh library's distances, and what a survey says
//! fits into a chassis by its points inside.

#[path = "../../src/parts/crystal_cradle/scan/shapes.rs"]
mod shapes;

use std::path::Path;

use borewright::export::stl;
use borewright::job::make;
use borewright::mesh::{ChordTolerance, Mesh, Soup, tessellate};
use borewright::survey::{SurveyPlan, survey};
use fastrand::Rng;
use serde_json::{Map, Value, json};

use super::measure::Vec3;
use super::vary::read;
use super::{folder, refereed};

/// Of the cradles, mm.
const CHORD: f64 = 0.002;

/// Stones that are looked at.
const STONES: usize = 8;

/// Scans by another kernel: every one of its five shapes with each kind of noise.
const SCANS: usize = 15;

/// Writes the cradle of a scan beside it; its case for the referee.
fn case(place: &Path, number: usize, name: &str, scan: &str, rows: &str) -> (Value, Mesh) {
    let clearance = 0.1 + 0.05 * (number % 4) as f64;
    let text = format!(
        "format = 1\n[handle]\nname = \"t\"\nbore = [40]\ncaliper = 0\nlength = 300\n[print]\n\
         printer = \"fdm-medium\"\nmaterial = \"pla\"\n[[part]]\nkind = \"crystal_cradle\"\n\
         name = \"c\"\npixel = \"bare-5050\"\nscan = {:?}\nclearance = {clearance}\n{rows}",
        place.join(scan).display().to_string(),
    );
    let job = read("scan", text).expect("valid");
    let parts = make(&job).unwrap_or_else(|e| panic!("{name}: {}", e.0));
    let body = &parts[0].bodies[0].body;
    assert_eq!(body.declared.undrawn, [], "{name}");
    let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
    let mesh = tessellate(&body.solid, &tolerance).expect("meshes");
    let cradle = format!("cradle{number}.stl");
    let bytes = stl(mesh.vertices(), mesh.triangles(), "a cradle").expect("fits in STL");
    std::fs::write(place.join(&cradle), bytes).expect("target is writable");
    let numbers: Map<String, Value> =
        body.computed.iter().map(|c| (c.key.clone(), json!(c.value))).collect();
    let case = json!({
        "name": name,
        "stone": scan,
        "cradle": cradle,
        "clearance": clearance,
        "numbers": numbers,
        "axis": null,
        "survey": null,
    });
    (case, mesh)
}

fn judged(place: &Path, cases: &[Value]) {
    let manifest = place.join("manifest.json");
    let all = json!({ "chord": CHORD, "cases": cases });
    std::fs::write(&manifest, all.to_string()).expect("target is writable");
    let (passed, text) = refereed("scan_referee.py", &manifest);
    println!("{text}");
    assert!(passed, "{text}");
    assert_eq!(text.matches("ok ").count(), cases.len(), "{text}");
}

#[test]
fn scanned_stones_keep_their_clearance_by_another_library() {
    let place = folder("scans");
    let mut rng = Rng::with_seed(21);
    let mut cases: Vec<Value> = Vec::new();
    for number in 0..STONES {
        let made = shapes::shape(&mut rng);
        let turn = shapes::any_turn(&mut rng);
        let noise = [0.0, 0.02][number % 2];
        let mut triangles = shapes::roughened(&made.triangles, noise);
        triangles.iter_mut().flatten().for_each(|p| *p = turn * *p + Vec3::new(9.0, -30.0, 4.0));
        let soup = Soup::welded(triangles);
        let bytes = stl(soup.vertices(), soup.triangles(), "a stone").expect("fits in STL");
        let scan = format!("stone{number}.stl");
        std::fs::write(place.join(&scan), bytes).expect("target is writable");
        let rows = format!("scan_flip = {}\n", rng.bool());
        let (mut case, mesh) = case(&place, number, made.name, &scan, &rows);
        // What a cradle has room for is what a chassis has.
        let plan = SurveyPlan { grid: 0.25, ..SurveyPlan::default() };
        case["survey"] = json!(survey(&Soup::from(&mesh), &plan).expect("measured"));
        let known: Vec3 = turn.column(2).into_owned();
        case["axis"] = json!(made.symmetric.then(|| known.as_slice().to_vec()));
        cases.push(case);
    }
    judged(&place, &cases);
}

#[test]
fn decimated_noisy_scans_of_another_kernels_stones_keep_their_clearance() {
    let place = folder("scans-decimated");
    let request = place.join("request.json");
    let text = json!({ "seed": 7, "cases": SCANS }).to_string();
    std::fs::write(&request, text).expect("target is writable");
    let (made, text) = refereed("scan_maker.py", &request);
    assert!(made, "{text}");
    println!("{text}");
    let stones = std::fs::read_to_string(place.join("stones.json")).expect("it was written");
    let stones: Vec<Value> = serde_json::from_str(&stones).expect("a list");
    assert_eq!(stones.len(), SCANS);
    let word = |stone: &Value, key: &str| stone[key].as_str().expect("a text").to_owned();
    let cases: Vec<Value> = stones
        .iter()
        .enumerate()
        .map(|(number, stone)| {
            let (name, file) = (word(stone, "name"), word(stone, "file"));
            let (mut case, _) = case(&place, number, &name, &file, "");
            case["axis"] = stone["axis"].clone();
            case
        })
        .collect();
    judged(&place, &cases);
}
