//! A commented job file to start from, written from the tables.

use std::fmt::Write;

use super::{CHASSIS, FORMAT, PART, PRINT};
use crate::measure::frame::FRAME;
use crate::measure::{HANDLE, Kind, PLACEHOLDER, Param, did_you_mean, toml_string};
use crate::parts::PartKind;

/// Longest line of a comment, in characters.
const WIDTH: usize = 88;

/// A kind of part that is not known.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("unknown part kind {name}")]
pub struct TemplateError {
    /// The word as given.
    pub name: String,
    /// What could be meant.
    pub hint: String,
}

/// A job file for parts of the given kinds: every key with its meaning, range
/// and default. What must be measured stands as `"?"`, which every reader
/// refuses, so that no invented number is printed by accident.
///
/// # Errors
/// A kind that is not known.
pub fn template(parts: &[&str], kinds: &[PartKind]) -> Result<String, TemplateError> {
    let mut out = String::new();
    comment(&mut out, "A job for borewright: one handle and the parts to make for it.");
    FRAME.lines().for_each(|line| comment(&mut out, line));
    comment(
        &mut out,
        "Replace each \"?\" by your own measurement. A line that starts with # is left out: its \
         default holds. Remove the # to change it.",
    );
    writeln!(out, "format = {FORMAT}").expect(FITS);
    table(&mut out, "[handle]", HANDLE, "handle", &[]);
    table(&mut out, "[print]", PRINT, "print", &[]);
    out.push('\n');
    comment(
        &mut out,
        "A chassis of somebody else that the parts go into; left out, there is none.",
    );
    let mut chassis = String::new();
    table(&mut chassis, "[chassis]", CHASSIS, "chassis", &[]);
    hashed(&mut out, &chassis);
    comment(
        &mut out,
        "A table [card] holds what the card for the prop's owner says: `borewright explain card`.",
    );
    let mut names: Vec<String> = Vec::new();
    for name in parts {
        let (text, own) = part_template(name, kinds, &names)?;
        out.push_str(&text);
        names.push(own);
    }
    if parts.is_empty() {
        out.push('\n');
        comment(&mut out, "Add a part: a table [[part]] with kind and name, then the kind's keys.");
        for kind in kinds {
            comment(&mut out, &format!("kind = \"{}\": {}", kind.name, kind.summary));
        }
    }
    Ok(out)
}

/// The table of one part, commented as in [`template`], and the name that it
/// gets: none of those that are `taken`.
///
/// # Errors
/// A kind that is not known.
pub(super) fn part_template(
    name: &str,
    kinds: &[PartKind],
    taken: &[String],
) -> Result<(String, String), TemplateError> {
    let Some(kind) = kinds.iter().find(|kind| kind.name == name) else {
        let known: Vec<&str> = kinds.iter().map(|kind| kind.name).collect();
        let near = did_you_mean(name, known.iter().copied());
        let hint = near.unwrap_or_else(|| format!("known kinds: {}", known.join(", ")));
        return Err(TemplateError { name: name.to_owned(), hint });
    };
    let base = kind.name.replace('_', "-");
    let mut own = base.clone();
    let mut count = 1;
    while taken.contains(&own) {
        count += 1;
        own = format!("{base}-{count}");
    }
    let mut out = String::from("\n");
    let fixed = [("kind", kind.name), ("name", own.as_str())];
    comment(&mut out, &format!("{}.", kind.summary.trim_end_matches('.')));
    table(&mut out, "[[part]]", kind.params, "part", &fixed);
    Ok((out, own))
}

const FITS: &str = "a String takes any text";

/// A text as comment lines of at most [`WIDTH`] characters.
fn comment(out: &mut String, text: &str) {
    let mut line = String::from("#");
    for word in text.split_whitespace() {
        if line.len() > 1 && line.chars().count() + 1 + word.chars().count() > WIDTH {
            writeln!(out, "{line}").expect(FITS);
            line = String::from("#");
        }
        line.push(' ');
        line.push_str(word);
    }
    writeln!(out, "{line}").expect(FITS);
}

/// Lines that are left out as they stand.
fn hashed(out: &mut String, text: &str) {
    for line in text.trim_start().lines() {
        let hash = if line.starts_with('#') { "" } else { "# " };
        writeln!(out, "{}", format!("{hash}{line}").trim_end()).expect(FITS);
    }
}

/// One table under its header. Keys of sub-tables come after its own: TOML
/// reads a key after a header as one of that header.
fn table(out: &mut String, header: &str, rows: &[Param], path: &str, fixed: &[(&str, &str)]) {
    writeln!(out, "\n{header}").expect(FITS);
    for (key, value) in fixed {
        let doc = PART.iter().find(|row| row.key == *key).map_or("", |row| row.doc);
        comment(out, doc);
        writeln!(out, "{key} = {}", toml_string(value)).expect(FITS);
    }
    let nested = |row: &&Param| matches!(row.kind, Kind::Table { .. } | Kind::List { .. });
    let (asked, preset): (Vec<&Param>, Vec<&Param>) =
        rows.iter().filter(|row| !nested(row)).partition(|row| row.asks());
    for (i, row) in asked.iter().chain(&preset).enumerate() {
        if i == asked.len() && i > 0 {
            comment(out, "---- what may stay as it is ----");
        }
        let state = match (row.required(), row.default_text()) {
            (true, _) => "required".to_owned(),
            _ if row.asks() => "measure it, or leave the line out".to_owned(),
            (false, Some(default)) => format!("default {default}"),
            (false, None) => "may be left out".to_owned(),
        };
        comment(out, &format!("{} ({}; {state})", row.doc, row.kind.describe()));
        let hash = if row.asks() { "" } else { "# " };
        let value = row.default_text().unwrap_or_else(|| toml_string(PLACEHOLDER));
        writeln!(out, "{hash}{} = {value}", row.key).expect(FITS);
    }
    for row in rows.iter().filter(nested) {
        let path = format!("{path}.{}", row.key);
        let mut text = String::new();
        let (header, rows) = match row.kind {
            Kind::Table { rows, .. } => (format!("[{path}]"), rows),
            Kind::List { rows, .. } => (format!("[[{path}]]"), rows),
            _ => continue,
        };
        table(&mut text, &header, rows, &path, &[]);
        out.push('\n');
        comment(out, &format!("{} ({})", row.doc, row.kind.describe()));
        let repeat = match row.kind {
            Kind::List { starts, .. } => starts.max(1),
            _ => 1,
        };
        for again in 0..repeat {
            if again > 0 {
                out.push('\n');
            }
            // What the keys mean is said once.
            let said = |line: &&str| again == 0 || !line.starts_with('#');
            for line in text.trim_start().lines().filter(said) {
                let hash = if row.asks() || line.starts_with('#') { "" } else { "# " };
                writeln!(out, "{}", format!("{hash}{line}").trim_end()).expect(FITS);
            }
        }
    }
}
