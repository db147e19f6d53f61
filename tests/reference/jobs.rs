//! The bodies of the shipped examples, and of jobs varied from them at random,
//! as the command writes them.

use borewright::job::{Coupon, Job, MadeBody, files, make};
use borewright::measure::{Library, Source};
use borewright::parts::{PIECES, TEST_PIECES};
use fastrand::Rng;
use serde_json::{Value, json};
use toml::Value as Toml;

use super::vary::{examples, read, varied};
use super::{CHORD, expected, folder, judge};

/// Writes a job's files under names of its own; gives its manifest entries.
fn entries(job: &Job, prefix: &str, place: &std::path::Path) -> Option<Vec<Value>> {
    let made = make(job).ok()?;
    for (name, bytes) in files(job, &made, "2000-01-01T00:00:00").expect("they can be written") {
        std::fs::write(place.join(format!("{prefix}-{name}")), bytes).expect("target is writable");
    }
    let bodies: Vec<&MadeBody> = made.iter().flat_map(|part| &part.bodies).collect();
    Some(
        bodies
            .into_iter()
            .map(|made| {
                let name = &made.body.name;
                let mut entry = expected(name, &made.body.solid);
                entry["step"] = json!(format!("{prefix}-{name}.step"));
                entry["stl"] = json!(format!("{prefix}-{name}.stl"));
                entry["chord"] = json!(CHORD);
                entry["package"] = json!(format!("{prefix}-{name}.3mf"));
                entry["mesh_volume"] = json!(made.mesh.volume());
                entry
            })
            .collect(),
    )
}

#[test]
fn the_examples_pass_the_referees() {
    let place = folder("examples");
    let mut bodies = Vec::new();
    for (name, text) in examples() {
        let job = read(&name, text).expect("an example is valid");
        bodies.extend(entries(&job, &name, &place).expect("an example can be made"));
    }
    assert!(bodies.len() >= 4, "three parts, one of them with a cover");
    let (passed, text) = judge(&place, bodies);
    println!("{text}");
    assert!(passed, "{text}");
}

#[test]
fn test_pieces_pass_the_referees() {
    let place = folder("pieces");
    let mut bodies = Vec::new();
    for (printer, bore) in [("fdm-medium", 31.4), ("resin-fine", 22.0), ("sls-service", 40.0)] {
        let asked = Coupon {
            like: None,
            bore: Some(bore),
            printer: Some(printer),
            material: Some("petg"),
            pieces: PIECES.iter().collect(),
        };
        let source = Source::new("pieces", asked.job_text()).expect("a text");
        let job = Job::read(&source, Library::shipped(), TEST_PIECES)
            .unwrap_or_else(|faults| panic!("{faults}"));
        bodies.extend(entries(&job, printer, &place).expect("pieces can be made"));
    }
    assert_eq!(bodies.len(), 3 * 13, "seven pieces, three of them in several bodies");
    let (passed, text) = judge(&place, bodies);
    println!("{text}");
    assert!(passed, "{text}");
}

#[test]
fn varied_jobs_pass_the_referees() {
    /// Jobs to be made; most variations are refused, as they should be.
    const WANTED: usize = 300;
    let place = folder("varied");
    let bases: Vec<Toml> = examples()
        .iter()
        .map(|(_, text)| text.parse::<toml::Table>().map(Toml::Table).expect("valid TOML"))
        .collect();
    let mut bodies = Vec::new();
    let (mut made, mut tried) = (0, 0);
    while made < WANTED && tried < 20 * WANTED {
        let mut rng = Rng::with_seed(tried as u64);
        let mut job = bases[tried % bases.len()].clone();
        tried += 1;
        varied(&mut job, "", &mut rng);
        let Some(job) = read("varied", toml::to_string(&job).expect("TOML")) else { continue };
        let Some(found) = entries(&job, &format!("job{tried}"), &place) else { continue };
        made += 1;
        bodies.extend(found);
    }
    println!("{made} of {tried} varied jobs can be made: {} bodies", bodies.len());
    assert_eq!(made, WANTED, "too few of {tried} to mean anything");
    // Names of bodies repeat; the referee's table tells them apart by file.
    let (passed, text) = judge(&place, bodies);
    println!("{text}");
    assert!(passed, "{text}");
}
