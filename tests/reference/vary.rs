//! The shipped examples, and jobs varied from them at random.

use std::path::Path;

use borewright::job::{Job, beside};
use borewright::measure::{Kind, Library, Source};
use borewright::parts::PART_KINDS;
use fastrand::Rng;
use toml::Value as Toml;

pub fn read(name: &str, text: String) -> Option<Job> {
    let source = Source::new(name, text.into_bytes()).expect("it is text");
    // Files that it names have whole paths.
    Job::read_beside(&source, Library::shipped(), PART_KINDS, &beside(Path::new(""))).ok()
}

pub fn examples() -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> =
        std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples"))
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

/// Changes some of the numbers of a job by up to a quarter, some words to
/// others that their row allows.
pub fn varied(value: &mut Toml, key: &str, rng: &mut Rng) {
    /// Keys with words worth changing.
    const WORDS: &[&str] = &[
        "retention",
        "fit",
        "pixel_end",
        "light_shape",
        "fixing",
        "facet",
        "positive",
        "cover",
        "section",
    ];
    /// Printers that hold the parts' walls.
    const PRINTERS: &[&str] = &["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine"];
    match value {
        Toml::Float(f) if rng.u8(0..3) == 0 => *f *= 0.75 + 0.5 * rng.f64(),
        Toml::Integer(n) if key != "format" && rng.u8(0..4) == 0 => *n += rng.i64(-1..=1),
        Toml::String(word) => {
            let words = match key {
                "printer" => PRINTERS,
                _ if WORDS.contains(&key) => words(key, word),
                _ => &[],
            };
            if !words.is_empty() && rng.u8(0..3) == 0 {
                *word = rng.choice(words).expect("some words").to_string();
            }
        }
        Toml::Array(list) if key != "bore" => list.iter_mut().for_each(|v| varied(v, key, rng)),
        Toml::Table(table) => table.iter_mut().for_each(|(k, v)| varied(v, k, rng)),
        _ => {}
    }
}

/// The words that a row of this key allows, if it allows the given one; none if no kind of
/// part has such a row.
fn words(key: &str, word: &str) -> &'static [&'static str] {
    let all = PART_KINDS.iter().flat_map(|kind| kind.params);
    all.flat_map(|row| match row.kind {
        Kind::List { rows, .. } | Kind::Table { rows, .. } => rows,
        _ => std::slice::from_ref(row),
    })
    .filter(|row| row.key == key)
    .find_map(|row| match row.kind {
        Kind::Choice { options, .. } if options.contains(&word) => Some(options),
        _ => None,
    })
    .unwrap_or(&[])
}
