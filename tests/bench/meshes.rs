//! Thickness and overhang on meshes, beside a mesh library.

use std::hint::black_box;

use borewright::checks::{Analysis, CHECKS, CheckContext, Probe, Side};
use borewright::measure::Library;
use borewright::mesh::{ChordTolerance, Soup, tessellate};
use serde_json::{Value, json};

use crate::CHORD;
use crate::shapes::Shape;
use crate::time::{RUNS, Time, python};

/// Points at which the thickness is measured.
const POINTS: usize = 500;

/// Largest thickness told from none, mm: no shape has a larger ball.
const CAP: f64 = 30.0;

struct Case {
    soup: Soup,
    /// A point on a triangle, and the direction into the material.
    points: Vec<([f64; 3], u32, [f64; 3])>,
}

fn case(shape: &Shape) -> Case {
    let solid = shape.solid();
    let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
    let soup = Soup::from(&tessellate(&solid, &tolerance).expect("meshes"));
    let analysis = Analysis::new(soup.clone());
    let samples: Vec<_> =
        analysis.walls(CAP).samples.iter().filter(|s| s.area > 0.0).copied().collect();
    let points = (0..POINTS)
        .map(|i| samples[i * samples.len() / POINTS])
        .map(|s| (s.at.into(), s.triangle, s.towards.into()))
        .collect();
    Case { soup, points }
}

/// Times for the thickness at all points and for the overhangs, both from
/// bare triangles.
fn ours(case: &Case) -> [Time; 2] {
    let library = Library::shipped();
    let overhang = CHECKS.iter().find(|c| c.name == "overhang").expect("there is one");
    let thickness = || {
        let analysis = Analysis::new(case.soup.clone());
        let probe = Probe::new(&case.soup, analysis.bvh(), analysis.topology(), Side::Inside, CAP);
        case.points.iter().map(|&(p, triangle, _)| probe.at(p.into(), triangle).value).sum::<f64>()
    };
    let undersides = || {
        let analysis = Analysis::new(case.soup.clone());
        let context = CheckContext {
            printer: library.profile("printers", "fdm-medium").expect("shipped"),
            material: library.profile("materials", "petg").expect("shipped"),
            analysis: &analysis,
            remarks: &[],
            known: None,
        };
        (overhang.run)(&context)
    };
    [Time::of(|| _ = black_box(thickness())), Time::of(|| drop(black_box(undersides())))]
}

pub fn compare(shapes: &[Shape]) {
    let cases: Vec<Case> = shapes.iter().map(case).collect();
    let list: Value = cases
        .iter()
        .map(|c| {
            let vertices: Vec<[f64; 3]> = c.soup.vertices().iter().map(|&v| v.into()).collect();
            let points: Vec<_> = c.points.iter().map(|p| p.0).collect();
            let inwards: Vec<_> = c.points.iter().map(|p| p.2).collect();
            json!({ "vertices": vertices, "triangles": c.soup.triangles(), "points": points,
                    "inwards": inwards })
        })
        .collect();
    let theirs =
        python("meshes.py", &json!({ "runs": RUNS, "meshes": list })).unwrap_or_else(|why| {
            println!("no mesh library: {why}\n");
            Value::Null
        });
    println!(
        "\nThickness at {POINTS} points, and surfaces that lean beyond 45 degrees, from bare \
         triangles; ms.\n"
    );
    println!("| shape | triangles | engine | thickness | overhang |\n|---|---|---|---|---|");
    for (i, (shape, case)) in shapes.iter().zip(&cases).enumerate() {
        let n = case.soup.triangles().len();
        let [thickness, overhang] = ours(case).map(Time::shown);
        println!("| {} | {n} | borewright | {thickness} | {overhang} |", shape.name);
        let read = |key: &str| Time::read(&theirs[i][key]).map(Time::shown);
        if let (Some(thickness), Some(overhang)) = (read("thickness"), read("overhang")) {
            println!("| {} | {n} | trimesh | {thickness} | {overhang} |", shape.name);
        }
    }
}
