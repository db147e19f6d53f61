//! Measuring a chassis mesh through the command line.

use std::fs;

use borewright::cli::Exit;
use borewright::export::stl;
use borewright::measure::{Vec2, Vec3};
use borewright::mesh::{ChordTolerance, Mesh, tessellate};
use borewright::section::Region;
use borewright::solid::Stack;

use super::support::{Folder, ran};

/// A rod of 30 mm with a pocket 12 mm wide, open towards +y, from z = 5 to 20,
/// and a hollow of 10 by 8 mm from 24 to 32.
fn rod() -> Mesh {
    let body = Region::disc(Vec2::zeros(), 15.0);
    let rect = |x: f64, y: f64, top: f64| Region::rectangle(Vec2::new(-x, y), Vec2::new(x, top));
    let mut stack = Stack::default();
    stack.prism(0.0, 5.0, &body);
    stack.prism(5.0, 20.0, &body.difference(&rect(6.0, -4.0, 30.0)));
    stack.prism(20.0, 24.0, &body);
    stack.prism(24.0, 32.0, &body.difference(&rect(5.0, -4.0, 4.0)));
    stack.prism(32.0, 36.0, &body);
    tessellate(&stack.solid().expect("sound"), &ChordTolerance::default()).expect("meshes")
}

fn bytes(mesh: &Mesh, moved: impl Fn(Vec3) -> Vec3) -> Vec<u8> {
    let vertices: Vec<Vec3> = mesh.vertices().iter().map(|&p| moved(p)).collect();
    stl(&vertices, mesh.triangles(), "a rod").expect("fits in STL")
}

/// Where a corner of the mesh goes.
type Move = fn(Vec3) -> Vec3;

fn close(value: &serde_json::Value, wanted: f64, tolerance: f64) {
    let value = value.as_f64().expect("a number");
    assert!((value - wanted).abs() <= tolerance, "{value} is not {wanted}");
}

#[test]
fn a_rod_is_measured_the_same_along_any_axis_and_in_any_unit() {
    let folder = Folder::new("survey");
    let mesh = rod();
    let turned: [(&str, Move); 3] = [
        ("z", |p| p / 10.0),
        ("x", |p| Vec3::new(p.z, p.x, p.y) / 10.0),
        ("y", |p| Vec3::new(p.y, p.z, p.x) / 10.0),
    ];
    for (axis, f) in turned {
        let path = folder.write("rod.stl", bytes(&mesh, f));
        let out = folder.path("survey.json");
        let options: [&dyn AsRef<std::ffi::OsStr>; 10] = [
            &"survey", &path, &"--axis", &axis, &"--unit", &"cm", &"--grid", &"0.25", &"--out",
            &out,
        ];
        let run = ran(&options);
        assert_eq!(run.exit, Exit::Made, "{}", run.err);
        assert!(run.out.contains("fits a circle of 30 mm"), "{}", run.out);
        assert!(run.out.contains("enclosed") && run.out.contains("+y 11.8"), "{}", run.out);
        let text = fs::read_to_string(&out).expect("written");
        let json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        let survey = &json["survey"];
        assert_eq!(survey["closed"], true);
        let cavities = survey["cavities"].as_array().expect("a list");
        assert_eq!(cavities.len(), 2, "{}", run.out);
        close(&cavities[0]["from"], 5.0, 1e-4);
        close(&cavities[0]["to"], 20.0, 1e-4);
        close(&cavities[0]["cylinder"]["diameter"], 12.0, 0.003);
        close(&cavities[0]["sections"][3]["depth"], 19.0, 0.02);
        // To within a step of the grid.
        close(&cavities[0]["sections"][3]["mouths"][0]["width"], 12.0, 0.25);
        close(&cavities[1]["from"], 24.0, 1e-4);
        close(&cavities[1]["box"]["width"], 10.0, 0.002);
        close(&cavities[1]["box"]["depth"], 8.0, 0.002);
        close(&cavities[1]["box"]["length"], 8.0, 1e-4);
        close(&cavities[1]["cylinder"]["diameter"], 8.0, 0.003);
    }
}

#[test]
fn a_range_is_measured_alone_and_written_as_a_table() {
    let folder = Folder::new("survey-range");
    let path = folder.write("rod.stl", bytes(&rod(), |p| p));
    let out = folder.path("survey.csv");
    let run = ran(&[
        &"survey", &path, &"--from", &"22", &"--to", &"30", &"--step", &"2", &"--grid", &"0.25",
        &"--out", &out,
    ]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    let text = fs::read_to_string(&out).expect("written");
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "cavity,z_mm,width_mm,depth_mm,area_mm2,open_clocking_deg,mouth_mm");
    assert_eq!(lines.len(), 4, "{text}");
    assert!(lines[1].starts_with("1,25,10,8,"), "{text}");
}

#[test]
fn what_cannot_be_surveyed_says_what_would_do() {
    let folder = Folder::new("survey-bad");
    let path = folder.write("rod.stl", bytes(&rod(), |p| p));
    let refused = |more: &[&str], wanted: &[&str]| {
        let mut arguments: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"survey", &path];
        arguments.extend(more.iter().map(|m| m as &dyn AsRef<std::ffi::OsStr>));
        let run = ran(&arguments);
        assert_eq!(run.exit, Exit::BadInput, "{}", run.out);
        for text in wanted {
            assert!(run.err.contains(text), "{}", run.err);
        }
    };
    refused(&["--out", "survey.txt"], &["survey.txt is no name", "survey.json or survey.csv"]);
    refused(&["--from", "40"], &["asked for from 40 holds", "within 0.00 to 36.00"]);
    refused(&["--step", "0"], &["a step of 0 mm"]);
    refused(&["--step", "0.001"], &["36000 steps", "would do"]);
    refused(&["--unit", "furlong"], &["unknown unit furlong"]);
    refused(&["--axis", "w"], &["invalid value 'w'"]);
    let metres = folder.write("metres.stl", bytes(&rod(), |p| p * 1e-3));
    let run = ran(&[&"survey", &metres]);
    assert_eq!(run.exit, Exit::BadInput, "{}", run.out);
    assert!(run.err.contains("in metres or inches: say its `--unit`"), "{}", run.err);
}
