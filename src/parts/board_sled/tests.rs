//! Tests of board sleds.

use super::super::{Body, PART_KINDS};
use super::random::{job, random_job};
use super::rows::PARAMS;
use crate::job::{Job, make};
use crate::measure::{Library, Source, check_rows};
use crate::mesh::{ChordTolerance, tessellate};

const PRINT: &str = "printer = \"fdm-medium\"\nmaterial = \"petg\"";

/// The bodies, or the refusal's text with its hints.
fn made(text: &str) -> Result<Vec<Body>, String> {
    let source = Source::new("test.toml", text).expect("UTF-8");
    let job = Job::read(&source, Library::shipped(), PART_KINDS)
        .map_err(|faults| format!("unread: {faults}\n{text}"))?;
    match make(&job) {
        Ok(mut made) => Ok(made.remove(0).bodies.into_iter().map(|made| made.body).collect()),
        Err(error) => {
            let faults = error.0;
            let hints: Vec<String> = faults.iter().flat_map(|f| f.hints.clone()).collect();
            Err(format!("{faults}\nhint: {}", hints.join("\nhint: ")))
        }
    }
}

#[test]
fn rows_keep_the_rules() {
    check_rows(PARAMS).unwrap();
}

/// Jobs of the random test, and the share of them that must be made.
const JOBS: usize = 1000;
const SHARE: f64 = 0.3;

/// `BOREWRIGHT_SLEDS` sets how many are tried.
#[test]
fn random_sleds_are_made_or_refused_with_numbers() {
    let asked = std::env::var("BOREWRIGHT_SLEDS").ok().and_then(|n| n.parse().ok());
    let jobs = asked.unwrap_or(JOBS);
    let library = Library::shipped();
    let mut count = 0;
    let mut whys = std::collections::BTreeMap::<String, usize>::new();
    for seed in 0..jobs {
        let mut rng = fastrand::Rng::with_seed(seed as u64);
        let text = random_job(&mut rng, &library);
        match made(&text) {
            Ok(bodies) => {
                count += 1;
                for body in &bodies {
                    let mesh = tessellate(&body.solid, &ChordTolerance::default());
                    let mesh = mesh.unwrap_or_else(|e| panic!("{}: {e}\n{text}", body.name));
                    let volume = body.solid.properties().volume;
                    assert!((mesh.volume() / volume - 1.0).abs() < 0.01, "{text}");
                    assert!(body.computed.iter().all(|c| c.value.is_finite()), "{text}");
                }
            }
            Err(why) => {
                assert!(!why.starts_with("unread"), "{why}");
                assert!(why.chars().any(|c| c.is_ascii_digit()), "{why}\n{text}");
                assert!(why.contains("hint: "), "{why}\n{text}");
                let kind: String = why.chars().filter(|c| !c.is_ascii_digit()).take(80).collect();
                if kind.contains("cannot be made") {
                    println!("seed {seed}: {why}");
                }
                *whys.entry(kind).or_default() += 1;
            }
        }
    }
    println!("{count} of {jobs} made");
    for (why, n) in &whys {
        println!("{n} {why}");
    }
    assert!(count as f64 > SHARE * jobs as f64, "{count}");
}

// DEV
#[test]
#[ignore]
fn dev_write() {
    use crate::job::files;
    let place = std::path::Path::new("/tmp/b/ref");
    std::fs::create_dir_all(place).unwrap();
    let n: u64 = std::env::var("N").unwrap().parse().unwrap();
    let mut cases = Vec::new();
    for seed in 0..n {
        let text = random_job(&mut fastrand::Rng::with_seed(seed + 5000), &Library::shipped());
        let source = Source::new("test.toml", text.clone()).unwrap();
        let Ok(job) = Job::read(&source, Library::shipped(), PART_KINDS) else { continue };
        let Ok(made) = make(&job) else { continue };
        let name = format!("s{seed}");
        std::fs::write(place.join(format!("{name}.toml")), text).unwrap();
        for (file, bytes) in files(&job, &made, "2000-01-01T00:00:00").unwrap() {
            if file.ends_with(".step") || file.ends_with(".json") {
                std::fs::write(place.join(format!("{name}-{file}")), bytes).unwrap();
            }
        }
        cases.push(serde_json::json!({ "name": name, "report": format!("{name}-report.json"), "prefix": format!("{name}-") }));
    }
    std::fs::write(place.join("manifest.json"), serde_json::json!(cases).to_string()).unwrap();
}
