//! The parts that we make, on the printer that they were made for: no wall and
//! no gap below its limits.

use std::collections::BTreeMap;

use borewright::checks::{Analysis, CHECKS, CheckContext, Finding, Severity};
use borewright::job::{Job, make};
use borewright::mesh::Soup;
use fastrand::Rng;
use toml::Value as Toml;

use crate::vary::{examples, read, varied};

/// Errors of walls and gaps of all bodies of a job, with the kind of their
/// part; none if it cannot be made.
fn thin(job: &Job) -> Option<Vec<(&'static str, String, Finding)>> {
    let made = make(job).ok()?;
    let mut out = Vec::new();
    for (part, made) in job.parts().iter().zip(&made) {
        let context = job.context(part);
        for body in &made.bodies {
            let analysis = Analysis::new(Soup::from(&body.mesh));
            let context = CheckContext {
                printer: context.printer,
                material: context.material,
                analysis: &analysis,
                remarks: &[],
                known: None,
            };
            let checks = CHECKS.iter().filter(|c| ["wall", "gap"].contains(&c.name));
            let found = checks.flat_map(|c| (c.run)(&context));
            let found = found.filter(|f| f.severity == Severity::Error);
            out.extend(found.map(|f| (made.kind.name, body.body.name.clone(), f)));
        }
    }
    Some(out)
}

#[test]
fn the_examples_are_thick_enough_for_their_printer() {
    let mut texts = Vec::new();
    for (name, text) in examples() {
        let job = read(&name, text).expect("an example is valid");
        let found = thin(&job).expect("an example can be made");
        texts.extend(found.into_iter().map(|(_, body, f)| format!("{name}, {body}: {}", f.text)));
    }
    assert!(texts.is_empty(), "{}", texts.join("\n"));
}

#[test]
fn varied_jobs_are_thick_enough_for_their_printer() {
    /// Jobs to be made; most variations are refused, as they should be.
    const WANTED: usize = 60;
    /// Jobs of these that may have an error: one, in which the check says too
    /// much. A ball just below a cradle's flat rim of 0.3 mm is stopped by the
    /// rim's far edge, where a slope rises that is no wall.
    const KNOWN: usize = 1;
    let bases: Vec<Toml> = examples()
        .iter()
        .map(|(_, text)| text.parse::<toml::Table>().map(Toml::Table).expect("valid TOML"))
        .collect();
    let (mut made, mut tried, mut thin_jobs) = (0, 0, 0);
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let mut texts = Vec::new();
    while made < WANTED && tried < 20 * WANTED {
        let mut rng = Rng::with_seed(tried as u64);
        let mut job = bases[tried % bases.len()].clone();
        varied(&mut job, "", &mut rng);
        let seed = tried;
        tried += 1;
        let text = toml::to_string(&job).expect("TOML");
        let Some(job) = read("varied", text.clone()) else { continue };
        let Some(found) = thin(&job) else { continue };
        made += 1;
        if !found.is_empty() {
            thin_jobs += 1;
            *counts.entry(found[0].0).or_default() += 1;
            let name = format!("{}/target/thin-{seed}.toml", env!("CARGO_MANIFEST_DIR"));
            std::fs::write(name, text).expect("target is writable");
        }
        texts.extend(
            found.into_iter().map(|(kind, body, f)| {
                format!("seed {seed}, {kind}, {body}: {} {}", f.check, f.text)
            }),
        );
    }
    println!("{made} of {tried} varied jobs can be made; too thin somewhere: {counts:?}");
    assert_eq!(made, WANTED, "too few of {tried} to mean anything");
    println!("{}", texts.join("\n"));
    assert!(thin_jobs <= KNOWN, "{thin_jobs} jobs:\n{}", texts.join("\n"));
}
