//! The bodies of the shipped examples, and of jobs varied from them at random,
//! as the command writes them.

use borewright::job::{Job, MadeBody, files, make};
use borewright::measure::{Library, Source};
use borewright::parts::PART_KINDS;
use fastrand::Rng;
use serde_json::{Value, json};
use toml::Value as Toml;

use super::{CHORD, expected, folder, judge, root};

pub(super) fn read(name: &str, text: String) -> Option<Job> {
    let source = Source::new(name, text.into_bytes()).expect("it is text");
    Job::read(&source, Library::shipped(), PART_KINDS).ok()
}

pub(super) fn examples() -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = std::fs::read_dir(root().join("examples"))
        .expect("the examples are there")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| {
            let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
            (name, std::fs::read_to_string(path).expect("readable"))
        })
        .collect();
    found.sort();
    assert!(found.len() >= 3, "three examples at least");
    found
}

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

/// Changes some of the numbers of a job by up to a quarter, some words to
/// others that their row allows.
pub(super) fn varied(value: &mut Toml, key: &str, rng: &mut Rng) {
    /// Keys with words worth changing.
    const WORDS: &[(&str, &[&str])] = &[
        ("retention", &["glue", "lips", "cap"]),
        ("fit", &["press", "slide", "loose"]),
        ("pixel_end", &["low", "high"]),
        ("light_shape", &["round", "square"]),
        ("fixing", &["glue", "screws"]),
        ("facet", &["across", "pocket"]),
        ("positive", &["front", "cap"]),
        ("cover", &["none", "closed", "open"]),
        ("section", &["round", "hexagon", "facets", "rectangle"]),
        ("printer", &["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine"]),
    ];
    match value {
        Toml::Float(f) if rng.u8(0..3) == 0 => *f *= 0.75 + 0.5 * rng.f64(),
        Toml::Integer(n) if key != "format" && rng.u8(0..4) == 0 => *n += rng.i64(-1..=1),
        Toml::String(word) => {
            if let Some((_, words)) = WORDS.iter().find(|(k, _)| *k == key)
                && rng.u8(0..3) == 0
            {
                *word = rng.choice(words.iter()).expect("some words").to_string();
            }
        }
        Toml::Array(list) if key != "bore" => list.iter_mut().for_each(|v| varied(v, key, rng)),
        Toml::Table(table) => table.iter_mut().for_each(|(k, v)| varied(v, k, rng)),
        _ => {}
    }
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
