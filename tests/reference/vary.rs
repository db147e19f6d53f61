//! The shipped examples, and jobs varied from them at random.

use std::path::Path;

use borewright::job::{Job, beside};
use borewright::measure::{Library, Source};
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
