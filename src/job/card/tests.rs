use std::sync::Arc;

use super::words::{Block, Line};
use super::*;
use crate::export::drawing::{Item, Pen, Text};
use crate::measure::{Library, Source, Vec2};
use crate::parts::PART_KINDS;

const STAFF: &str = include_str!("../../../examples/storm-lantern-staff.toml");

fn read(text: &str) -> (Job, Vec<Made>) {
    let source: Arc<Source> = Source::new("staff.toml", text).expect("a text");
    let job = Job::read(&source, Library::shipped(), PART_KINDS).expect("valid");
    let made = crate::job::make(&job).expect("made");
    (job, made)
}

fn carded(job: &Job, made: &[Made]) -> Result<Vec<Sheet>, CardError> {
    card(job, made, "1970-01-01T00:00:00", Paper::A4)
}

fn texts(items: &[Item]) -> Vec<&Text> {
    let mut texts = Vec::new();
    for item in items {
        if let Item::Text(text) = item {
            texts.push(text);
        }
    }
    texts
}

#[track_caller]
fn apart(texts: &[&Text]) {
    for (i, text) in texts.iter().enumerate() {
        let own = text.extent();
        assert!(texts[..i].iter().all(|other| !other.extent().meets(&own)), "{text:?}");
    }
}

fn areas() -> [Extent; 2] {
    let area = |y: f64| Extent { low: Vec2::new(20.0, y), high: Vec2::new(287.0, 160.0) };
    [area(80.0), area(12.0)]
}

/// Blocks of many words, none of which may get lost.
fn many(blocks: usize) -> (Vec<Block>, Vec<String>) {
    let mut random = fastrand::Rng::with_seed(11);
    let mut words = Vec::new();
    let mut all = Vec::new();
    for i in 0..blocks {
        let mut lines = Vec::new();
        for k in 0..random.usize(1..6) {
            let count = random.usize(1..30);
            let own: Vec<String> = (0..count).map(|n| format!("w{i}x{k}n{n}")).collect();
            lines.push(Line { text: own.join(" "), to_fill: random.bool() });
            words.extend(own);
        }
        all.push(Block { heading: format!("Heading {i}"), lines });
    }
    (all, words)
}

#[test]
fn no_word_is_lost_and_none_lies_on_another() {
    for count in [1, 2, 4, 40] {
        let (blocks, words) = many(count);
        let pages = flow::flow(&blocks, &areas());
        let written: Vec<&str> = pages
            .iter()
            .flat_map(|page| texts(page))
            .flat_map(|text| text.text.split_whitespace())
            .collect();
        assert!(words.iter().all(|word| written.contains(&word.as_str())), "{count}");
        for (i, page) in pages.iter().enumerate() {
            let area = areas()[i.min(1)].grown(1.0);
            let texts = texts(page);
            apart(&texts);
            assert!(texts.iter().all(|text| area.holds(&text.extent())), "sheet {i}");
        }
        assert_eq!(pages.len() > 1, count == 40, "{count} blocks on {} sheets", pages.len());
    }
}

/// All that is written on a job's card, and how many lines it has to write on.
fn told(text: &str) -> (String, usize) {
    let (job, made) = read(text);
    let sheets = carded(&job, &made).expect("a card");
    assert_eq!(sheets.len(), 1, "one page");
    let items = &sheets[0].items;
    let texts = texts(items);
    apart(&texts);
    let numbers = texts.iter().filter(|t| t.data.iter().any(|(key, _)| *key == "part"));
    assert_eq!(numbers.count(), made.len(), "a number for each part");
    let to_write = |item: &&Item| match item {
        Item::Line { pen: Pen::Thin, points } => {
            matches!(points[..], [a, b] if a.y == b.y && b.x - a.x > 20.0 && a.y > 57.0)
        }
        _ => false,
    };
    let all: Vec<&str> = texts.iter().map(|text| text.text.as_str()).collect();
    (all.join(" "), items.iter().filter(to_write).count())
}

#[test]
fn what_the_job_says_stands_on_the_card_and_what_not_is_a_line_to_fill() {
    let (said, some) = told(STAFF);
    for words in ["next colour", "negative end", "1.8 turns", "kill switch", "data sheet"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let (left, all) = told(&STAFF[..STAFF.find("[card]").expect("it has a card")]);
    assert!(!left.contains("next colour"));
    // Two controls, the colours and the owner.
    assert_eq!(all, some + 4);
}

#[test]
fn more_controls_than_plungers_are_refused_at_their_line() {
    let (job, made) = read(&format!("{STAFF}[[card.control]]\ndoes = \"sings\"\n"));
    let Err(CardError::Job(faults)) = carded(&job, &made) else {
        panic!("three controls for two plungers");
    };
    let told = crate::measure::render(&faults, false);
    assert!(told.contains("3 controls are told of; the parts have plungers: 2"), "{told}");
    assert!(told.contains("staff.toml:"), "{told}");
}
