//! No text makes the reader panic, hang or lose its way.

use std::time::{Duration, Instant};

use borewright::job::Job;
use borewright::measure::{FAMILIES, Library, MAX_BYTES, Source, render};
use fastrand::Rng;

use super::support::{GOOD, KINDS};

/// Pieces that readers stumble over.
const PIECES: &[&str] = &[
    "nan",
    "-inf",
    "1e999",
    "-0.0",
    "0x7fffffffffffffffff",
    "9223372036854775808",
    "\"",
    "'''",
    "\"?\"",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    ".",
    "\n",
    "\r\n",
    "\t",
    "#",
    "\u{feff}",
    "\u{202e}",
    "\u{0}",
    "µ",
    "𝄞",
    "true",
    "1979-05-27T07:32:00Z",
    "[[part]]\n",
    "[handle]\n",
    "format = 1\n",
    "a.b.c = 1\n",
    "part = 3\n",
    "-",
    "3142",
    "[[[[[[[[",
    "{a={a={a=1}}}",
    "\\u0000",
    "\"\"\"",
];

fn mutated(rng: &mut Rng) -> Vec<u8> {
    let mut bytes = GOOD.as_bytes().to_vec();
    for _ in 0..rng.usize(1..6) {
        let at = rng.usize(..=bytes.len());
        let to = (at + rng.usize(..12)).min(bytes.len());
        match rng.u8(..6) {
            0 => drop(bytes.drain(at..to)),
            1 => drop(bytes.splice(at..at, rng.choice(PIECES).expect("some").bytes())),
            2 => drop(bytes.splice(at..to, rng.choice(PIECES).expect("some").bytes())),
            3 => {
                let copy = bytes[at..(at + rng.usize(..200)).min(bytes.len())].to_vec();
                let into = rng.usize(..=bytes.len());
                drop(bytes.splice(into..into, copy));
            }
            4 => bytes.truncate(at),
            _ => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte = rng.u8(..);
                }
            }
        }
    }
    bytes
}

#[test]
fn mutated_jobs_are_read_or_refused_with_a_place() {
    let mut rng = Rng::with_seed(20_260_331);
    let library = Library::shipped();
    let (mut good, mut refused) = (0, 0);
    for round in 0..6_000 {
        let Ok(source) = Source::new("job.toml", mutated(&mut rng)) else { continue };
        match Job::read(&source, library.clone(), KINDS) {
            Ok(_) => good += 1,
            Err(faults) => {
                refused += 1;
                assert!(faults.iter().all(|f| f.place.is_some()), "round {round}: {faults}");
                let text = render(&faults, false);
                assert!(text.contains("job.toml:"), "round {round}: {text}");
                assert!(!text.contains('\u{0}'), "round {round}");
                serde_json::to_string(&faults).expect("faults are data");
            }
        }
    }
    assert!(good > 20 && refused > 3_000, "{good} good, {refused} refused");
}

#[test]
fn mutated_profiles_are_read_or_refused() {
    let mut rng = Rng::with_seed(7);
    for _ in 0..300 {
        for family in FAMILIES {
            let mut text = family.shipped.to_owned();
            let pick = |rng: &mut Rng, text: &str| {
                let at = rng.usize(..text.len());
                (at..=text.len()).find(|at| text.is_char_boundary(*at)).expect("the end is one")
            };
            let at = pick(&mut rng, &text);
            text.insert_str(at, rng.choice(PIECES).expect("some"));
            let source = Source::new("own.toml", text).expect("a text");
            let mut library = Library::shipped();
            if let Err(faults) = library.add(family, &source) {
                assert!(!render(&faults, false).is_empty());
            }
        }
    }
}

/// Texts that cost a careless reader its stack or its afternoon.
#[test]
fn monstrous_texts_are_bounded() {
    let monsters = [
        "[".repeat(MAX_BYTES),
        format!("a = {}", "[".repeat(500_000)),
        format!("a = {}1{}", "{a=".repeat(50_000), "}".repeat(50_000)),
        "a.".repeat(500_000),
        format!("x = \"{}\"", "y".repeat(MAX_BYTES - 10)),
        (0..60_000).map(|i| format!("k{i} = {i}\n")).collect(),
        format!("format = 1\n{}", "[[part]]\n".repeat(100_000)),
        format!("{GOOD}\n[[part.plunger]]\ntravel = 1{}\n", "0".repeat(400_000)),
        "\n".repeat(MAX_BYTES),
        "\u{feff}".repeat(100_000),
    ];
    for (i, monster) in monsters.into_iter().enumerate() {
        let start = Instant::now();
        let source = Source::new("job.toml", monster).expect("a text of allowed length");
        let faults = Job::read(&source, Library::shipped(), KINDS).expect_err("no job");
        let text = render(&faults, false);
        assert!(text.len() < 100_000, "monster {i}: {} bytes of messages", text.len());
        let taken = start.elapsed();
        assert!(taken < Duration::from_secs(10), "monster {i} took {taken:?}");
    }
}
