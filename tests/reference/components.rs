//! Overlaps of components with their bodies, by a mesh library's booleans: at
//! rest, moved at random, and on a few steps of the way in.

use borewright::checks::{CONTACT, on_the_way, seated};
use borewright::export::stl;
use borewright::job::make;
use borewright::measure::Vec3;
use borewright::mesh::{ChordTolerance, tessellate};
use borewright::parts::Way;
use borewright::solid::{Levels, Placing, Solid};
use fastrand::Rng;
use serde_json::{Value, json};
use std::path::Path;
use toml::Value as Toml;

use super::vary::{examples, read, varied};
use super::{folder, refereed};

/// Of both meshes, mm: finer than what counts as contact.
const CHORD: f64 = 0.002;

fn write(place: &Path, name: &str, solid: &Solid) -> Option<String> {
    let tolerance = ChordTolerance { chord: CHORD, ..ChordTolerance::default() };
    let mesh = tessellate(solid, &tolerance).ok()?;
    let bytes = stl(mesh.vertices(), mesh.triangles(), "component").expect("it holds them");
    let file = format!("{name}.stl");
    std::fs::write(place.join(&file), bytes).expect("target is writable");
    Some(file)
}

#[test]
fn overlaps_are_those_of_another_librarys_booleans() {
    /// Varied jobs beside the examples.
    const JOBS: usize = 24;
    let place = folder("components");
    let mut jobs: Vec<String> = examples().into_iter().map(|(_, text)| text).collect();
    let bases: Vec<Toml> = jobs
        .iter()
        .map(|text| text.parse::<toml::Table>().map(Toml::Table).expect("valid TOML"))
        .collect();
    let mut seed = 0;
    while jobs.len() < bases.len() + JOBS && seed < 4000 {
        let mut rng = Rng::with_seed(70_000 + seed);
        let mut job = bases[seed as usize % bases.len()].clone();
        seed += 1;
        varied(&mut job, "", &mut rng);
        let text = toml::to_string(&job).expect("TOML");
        if read("varied", text.clone()).is_some_and(|job| make(&job).is_ok()) {
            jobs.push(text);
        }
    }
    assert_eq!(jobs.len(), bases.len() + JOBS);
    let mut rng = Rng::with_seed(9);
    let mut questions: Vec<Value> = Vec::new();
    let (mut overlaps, mut free) = (0, 0);
    let (mut refused, mut unclear) = (Vec::new(), Vec::new());
    for (number, text) in jobs.iter().enumerate() {
        let job = read("job", text.clone()).expect("it was valid");
        let made = make(&job).expect("it was made");
        let bodies = || made.iter().flat_map(|part| &part.bodies);
        let names: Vec<&String> = bodies().map(|b| &b.body.name).collect();
        for body in bodies() {
            let solid = &body.body.solid;
            let levels = Levels::new(solid).expect("ours");
            let Some(own) = write(&place, &format!("job{number}-{}", body.body.name), solid) else {
                continue;
            };
            let declared = &body.body.declared;
            assert_eq!(declared.undrawn, [], "job {number} {}", body.body.name);
            for c in &declared.components {
                for moved in 0..2 {
                    let mut by = || if moved == 0 { 0.0 } else { 3.0 * (rng.f64() - 0.5) };
                    let origin = Vec3::new(by(), by(), by());
                    let placing = Placing { origin, x: Vec3::x(), y: Vec3::y() };
                    // A neighbour whose bores meet cannot be moved.
                    let placed =
                        if moved == 0 { Some(c.solid.clone()) } else { c.solid.placed(&placing) };
                    let Some(there) = placed else { continue };
                    let name = format!("job{number}-{}-{}-{moved}", body.body.name, c.name);
                    let Some(file) = write(&place, &name, &there) else { continue };
                    let seen = Levels::new(&there).expect("ours");
                    let press = if moved == 0 { c.press } else { 0.0 };
                    let way_in = |w| on_the_way(&levels, &seen, w);
                    let rest = seated(&levels, &seen, press);
                    let whole = c.way.map(way_in).transpose();
                    let (Ok(rest), Ok(whole)) = (rest, whole) else {
                        unclear.push(format!("{name}: {rest:?} {whole:?}"));
                        continue;
                    };
                    let whole = whole.flatten();
                    if rest.is_some() {
                        overlaps += 1
                    } else {
                        free += 1
                    }
                    let way =
                        c.way.filter(|w| !matches!(w, Way::Across { aside, .. } if *aside > 0.0));
                    let blocked = way.map(|_| whole.is_some());
                    // Lengths of varied modules may run into the next one.
                    let neighbour = number >= bases.len() && names.contains(&&c.name);
                    if moved == 0 && !neighbour && (rest.is_some() || whole.is_some()) {
                        refused.push(format!("{name}: {rest:?} {whole:?}"));
                    }
                    questions.push(json!({
                        "name": name,
                        "body": own,
                        "component": file,
                        "pressed": press,
                        "volume": rest.map(|o| o.volume),
                        "way": way.map(|w| w.direction().as_slice().to_vec()),
                        "travel": way.map(|w| w.travel()),
                        "blocked": blocked,
                    }));
                }
            }
        }
    }
    println!("{overlaps} overlap, {free} do not; {} ask for their way", questions.len());
    assert!(overlaps > 50 && free > 50);
    let manifest = place.join("manifest.json");
    let all = json!({ "contact": CONTACT, "chord": CHORD, "questions": questions });
    std::fs::write(&manifest, all.to_string()).expect("target is writable");
    let (passed, text) = refereed("component_referee.py", &manifest);
    println!("{text}");
    println!("{unclear:#?} {refused:#?}");
    assert!(passed, "{text}");
    assert!(unclear.is_empty(), "{unclear:#?}");
    // Unmoved components of parts that can be made have room.
    assert!(refused.is_empty(), "{refused:#?}");
}
