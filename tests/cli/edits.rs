//! A measure of an example that is typed anew: whatever it is, there are parts, or an answer
//! in terms of the measures.

use std::path::Path;

use borewright::job::{Job, beside, make};
use borewright::measure::{Fault, Library, Source};
use borewright::parts::PART_KINDS;
use fastrand::Rng;
use toml::Value as Toml;

use super::drawing::examples;

/// Steps of what a caliper shows, mm.
const STEP: f64 = 0.01;

/// Edits of each number.
const EDITS: usize = 2;

/// Where the numbers of a job are: keys and places in lists.
fn numbers(value: &Toml, at: &[String], out: &mut Vec<Vec<String>>) {
    let mut into = |key: String, value: &Toml| numbers(value, &[at, &[key]].concat(), out);
    match value {
        Toml::Table(table) => table.iter().for_each(|(key, v)| into(key.clone(), v)),
        Toml::Array(list) => list.iter().enumerate().for_each(|(i, v)| into(i.to_string(), v)),
        Toml::Float(_) | Toml::Integer(_) if at != ["format"] => out.push(at.to_vec()),
        _ => {}
    }
}

fn number<'a>(value: &'a mut Toml, at: &[String]) -> &'a mut Toml {
    at.iter().fold(value, |value, key| match value {
        Toml::Array(list) => &mut list[key.parse::<usize>().expect("a place")],
        other => other.get_mut(key).expect("it is there"),
    })
}

#[test]
fn an_edit_by_hundredths_makes_parts_or_says_what_to_change() {
    let mut rng = Rng::with_seed(11);
    let (mut made, mut refused) = (0, 0);
    let mut bad = Vec::new();
    for path in examples() {
        let text = std::fs::read_to_string(&path).expect("readable");
        let job: Toml = toml::from_str(&text).expect("TOML");
        let mut all = Vec::new();
        numbers(&job, &[], &mut all);
        for at in all {
            for _ in 0..EDITS {
                let mut job = job.clone();
                let here = number(&mut job, &at);
                let was =
                    here.as_float().or(here.as_integer().map(|n| n as f64)).expect("a number");
                let reach = (0.2 * was.abs() / STEP).max(20.0) as i64;
                let now = was + STEP * rng.i64(-reach..=reach) as f64;
                *here = match here {
                    Toml::Integer(_) if rng.bool() => Toml::Integer(now.round() as i64),
                    _ => Toml::Float((now * 100.0).round() / 100.0),
                };
                let edit = format!("{}: {} = {now:.2}", path.display(), at.join("."));
                let text = toml::to_string(&job).expect("TOML");
                let source = Source::new("job.toml", text).expect("UTF-8");
                let beside = beside(path.parent().unwrap_or(Path::new("")));
                let read = Job::read_beside(&source, Library::shipped(), PART_KINDS, &beside);
                let faults = match read.map(|job| make(&job)) {
                    Ok(Ok(_)) => {
                        made += 1;
                        continue;
                    }
                    Ok(Err(refusals)) => refusals.0,
                    Err(faults) => faults,
                };
                refused += 1;
                let text = faults.to_string();
                // Some texts say it all: the range, or which of two measures is more than the other.
                let unhelpful = ["cannot be made: ", "cannot be meshed"];
                let told = |what: &str| ["allowed", "more than"].iter().any(|w| what.contains(w));
                let helps = |f: &Fault| !f.hints.is_empty() || told(&f.what.to_string());
                if unhelpful.iter().any(|what| text.contains(what)) || !faults.iter().all(helps) {
                    bad.push(format!("{edit}\n{text}"));
                }
            }
        }
    }
    println!("{made} edits make parts, {refused} are refused");
    assert!(bad.is_empty(), "{} of {}\n{}", bad.len(), made + refused, bad.join("\n\n"));
    assert!(made > refused && refused > 0, "{made} {refused}");
}
