//! What tests of parts have in common: jobs that are made, and random ones.

use std::collections::BTreeMap;

use fastrand::Rng;

use super::{Body, PART_KINDS};
use crate::job::{Job, make};
use crate::measure::{Library, Source};
use crate::mesh::{ChordTolerance, tessellate};

/// The bodies of a job's first part, or the refusal and its hints.
pub(super) fn made(text: &str) -> Result<Vec<Body>, (String, Vec<String>)> {
    let source = Source::new("job.toml", text.to_owned()).expect("UTF-8");
    let job = Job::read(&source, Library::shipped(), PART_KINDS)
        .unwrap_or_else(|f| panic!("{f}\n{text}"));
    match make(&job) {
        Ok(mut made) => Ok(made.remove(0).bodies.into_iter().map(|b| b.body).collect()),
        Err(error) => {
            let fault = error.0.iter().next().expect("a fault").clone();
            Err((fault.to_string(), fault.hints))
        }
    }
}

/// The same with the refusal and its hints as one text.
pub(super) fn told(text: &str) -> Result<Vec<Body>, String> {
    made(text).map_err(|(what, hints)| format!("{what}\nhint: {}", hints.join("\nhint: ")))
}

/// A computed value of a body.
pub(super) fn value(body: &Body, key: &str) -> f64 {
    let found = body.computed.iter().find(|c| c.key == key);
    found.unwrap_or_else(|| panic!("no row {key}")).value
}

/// The exact volume of a body, mm3.
pub(super) fn volume(body: &Body) -> f64 {
    body.solid.properties().volume
}

/// Largest difference between a solid and its mesh, of its volume.
pub(super) const CHORDS: f64 = 0.01;

/// How many of some jobs were made, and why the others were not, without digits.
pub(super) struct Tally {
    pub made: usize,
    pub whys: BTreeMap<String, usize>,
}

impl Tally {
    /// Makes jobs: each gives sound bodies, or is refused with numbers and hints.
    pub(super) fn of(texts: impl Iterator<Item = String>) -> Tally {
        let mut bare = Vec::new();
        let mut tally = Tally { made: 0, whys: BTreeMap::new() };
        for text in texts {
            match made(&text) {
                Ok(bodies) => {
                    tally.made += 1;
                    bodies.iter().for_each(|body| sound(body, CHORDS, &text));
                }
                Err((why, hints)) => {
                    if hints.is_empty() {
                        bare.push(why.clone());
                    }
                    assert!(why.contains(|c: char| c.is_ascii_digit()), "{why}\n{text}");
                    let kind = why.chars().filter(|c| !c.is_ascii_digit()).take(LONGEST_WHY);
                    *tally.whys.entry(kind.collect()).or_default() += 1;
                }
            }
        }
        println!("{} made", tally.made);
        tally.whys.iter().for_each(|(why, n)| println!("{n} {why}"));
        assert!(bare.is_empty(), "no hint: {bare:#?}");
        tally
    }
}

/// What of a refusal tells its kind, characters.
const LONGEST_WHY: usize = 80;

/// Random jobs with one part: each is made as one solid that meshes, or refused
/// with numbers and hints, none of which leads to the same refusal again.
pub(super) struct Trial {
    /// Writes a job; rows of its part stand behind `[[part]]`, lists last.
    pub random: fn(&mut Rng) -> String,
    /// Jobs; `BOREWRIGHT_TRIALS` sets another number.
    pub count: u64,
    /// Refusals that name this are of a list's items: their hints are not tried.
    pub items: &'static str,
    /// Largest difference between solid and mesh, of the volume: [`CHORDS`], or twice that
    /// of shells, which are nearly all curved.
    pub chords: f64,
    /// Percent of the jobs that the engine may refuse since measures nearly coincide.
    pub unmade_percent: u64,
    /// Percent that must be made.
    pub made_percent: u64,
}

impl Trial {
    pub(super) fn run(&self) {
        let asked = std::env::var("BOREWRIGHT_TRIALS").ok().and_then(|n| n.parse().ok());
        let count: u64 = asked.unwrap_or(self.count);
        let (mut good, mut cured) = (0, 0);
        let mut unmade = Vec::new();
        for seed in 0..count {
            let text = (self.random)(&mut Rng::with_seed(seed));
            let (what, hints) = match made(&text) {
                Ok(bodies) => {
                    good += 1;
                    bodies.iter().for_each(|body| sound(body, self.chords, &text));
                    continue;
                }
                Err(refusal) => refusal,
            };
            assert!(what.contains(|c: char| c.is_ascii_digit()), "seed {seed}: {what}");
            assert!(!hints.is_empty(), "seed {seed}: no hint: {what}");
            if what.contains("cannot be m") {
                unmade.push((seed, what.clone()));
            }
            if self.items.is_empty() || !what.contains(self.items) {
                cured += hints.iter().filter(|hint| tried(&text, &what, hint, seed)).count();
            }
        }
        println!("made {good} of {count}; {cured} hints tried; no solid of {unmade:?}");
        assert!(good * 100 > count * self.made_percent, "made {good} of {count}");
        assert!(unmade.len() as u64 * 100 <= count * self.unmade_percent, "{unmade:?}");
    }
}

/// A body is one solid that meshes, and all that is told of it is finite.
pub(super) fn sound(body: &Body, chords: f64, text: &str) {
    let name = &body.name;
    let mesh = tessellate(&body.solid, &ChordTolerance::default())
        .unwrap_or_else(|e| panic!("{name}: {e}\n{text}"));
    let exact = volume(body);
    let off = (exact - mesh.volume()).abs();
    assert!(exact > 0.0 && off < chords * exact, "{name}: {off} of {exact}\n{text}");
    assert_eq!(body.solid.shells().len(), 1, "{name}\n{text}");
    assert!(body.computed.iter().all(|c| c.value.is_finite()), "{name}\n{text}");
    let undrawn = &body.declared.undrawn;
    assert!(undrawn.is_empty(), "{name}: {undrawn:?}\n{text}");
}

/// Whether a hint is of the form "key = value ..."; then it leads elsewhere.
fn tried(text: &str, what: &str, hint: &str, seed: u64) -> bool {
    let mut words = hint.split(' ');
    let (Some(key), Some("="), Some(value)) = (words.next(), words.next(), words.next()) else {
        return false;
    };
    let (head, rows) = text.split_once("[[part]]").expect("a part");
    let others = rows.lines().filter(|l| l.split(' ').next() != Some(key));
    let rows: String = others.map(|l| format!("{l}\n")).collect();
    let again = made(&format!("{head}[[part]]\n{key} = {value}{rows}"));
    // The same refusal may have other numbers.
    let reason = |what: &str| -> Option<String> {
        let digit = |c: &char| !c.is_ascii_digit() && !".-".contains(*c);
        what.split_once(": ").map(|w| w.1.chars().filter(digit).collect())
    };
    let same = again.as_ref().is_err_and(|(again, _)| reason(again) == reason(what));
    assert!(!same, "seed {seed}: {what}\nhint: {hint}\nagain: {:?}\n{text}", again.err());
    true
}
