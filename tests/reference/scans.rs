//! Seats of scanned stones by a mesh library's distances, and what a survey says
//! fits into a chassis by its points inside.

#[path = "../../src/parts/crystal_cradle/scan/shapes.rs"]
mod shapes;

use borewright::export::stl;
use borewright::job::make;
use borewright::mesh::{ChordTolerance, Soup, tessellate};
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

#[test]
fn scanned_stones_keep_their_clearance_by_another_library() {
    let place = folder("scans");
    let mut rng = Rng::with_seed(21);
    let mut cases: Vec<Value> = Vec::new();
    for case in 0..STONES {
        let made = shapes::shape(&mut rng);
        let turn = shapes::any_turn(&mut rng);
        let noise = [0.0, 0.02][case % 2];
        let mut triangles = shapes::roughened(&made.triangles, noise);
        triangles.iter_mut().flatten().for_each(|p| *p = turn * *p + Vec3::new(9.0, -30.0, 4.0));
        let soup = Soup::welded(triangles);
        let bytes = stl(soup.vertices(), soup.triangles(), "a stone").expect("fits in STL");
        let scan = format!("stone{case}.stl");
        std::fs::write(place.join(&scan), bytes).expect("target is writable");
        let clearance = 0.1 + 0.05 * (case % 4) as f64;
        let text = format!(
            "format = 1\n[handle]\nname = \"t\"\nbore = [40]\ncaliper = 0\nlength = 300\n[print]\n\
             printer = \"fdm-medium\"\nmaterial = \"pla\"\n[[part]]\nkind = \"crystal_cradle\"\n\
             name = \"c\"\npixel = \"bare-5050\"\nscan = {:?}\nclearance = {clearance}\n\
             scan_flip = {}\n",
            place.join(&scan).display().to_string(),
            rng.bool()
        );
        let job = read("scan", text).expect("valid");
        let parts = make(&job).unwrap_or_else(|e| panic!("{}: {}", made.name, e.0));
        let body = &parts[0].bodies[0].body;
        assert_eq!(body.declared.undrawn, [], "{}", made.name);
        let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
        let mesh = tessellate(&body.solid, &tolerance).expect("meshes");
        let cradle = format!("cradle{case}.stl");
        let bytes = stl(mesh.vertices(), mesh.triangles(), "a cradle").expect("fits in STL");
        std::fs::write(place.join(&cradle), bytes).expect("target is writable");
        let numbers: Map<String, Value> =
            body.computed.iter().map(|c| (c.key.clone(), json!(c.value))).collect();
        // What a cradle has room for is what a chassis has.
        let plan = SurveyPlan { grid: 0.25, ..SurveyPlan::default() };
        let found = survey(&Soup::from(&mesh), &plan).expect("measured");
        let known: Vec3 = turn.column(2).into_owned();
        cases.push(json!({
            "name": made.name,
            "stone": scan,
            "cradle": cradle,
            "clearance": clearance,
            "numbers": numbers,
            "axis": made.symmetric.then(|| known.as_slice().to_vec()),
            "survey": found,
        }));
    }
    let manifest = place.join("manifest.json");
    let all = json!({ "chord": CHORD, "cases": cases });
    std::fs::write(&manifest, all.to_string()).expect("target is writable");
    let (passed, text) = refereed("scan_referee.py", &manifest);
    println!("{text}");
    assert!(passed, "{text}");
}
