//! `borewright explain`.

use std::io::{self, Write};

use super::table::{write_columns, write_wrapped};
use super::{Environment, Stop, unknown};
use crate::checks::CHECKS;
use crate::job::{AFTER_PRINT, CARD, CHASSIS, PART, PRINT, READINGS};
use crate::measure::frame::FRAME;
use crate::measure::{FAMILIES, HANDLE, Kind, Library, Param};
use crate::parts::CAVITY;
use crate::trade::CALCULATORS;

/// Width of lines of text.
const WIDTH: usize = 88;

/// Tables that are topics of their own: name, what they are, rows.
const TABLES: [(&str, &str, &[Param]); 7] = [
    ("handle", "the table [handle] of a job", HANDLE),
    ("print", "the table [print] of a job", PRINT),
    ("chassis", "the table [chassis] of a job", CHASSIS),
    ("cavity", "the table [part.cavity] of any part", CAVITY),
    ("card", "the table [card] of a job, for the owner's card", CARD),
    ("readings", "a file of readings of test prints", READINGS),
    ("measured", "what was read of a job's printed parts", AFTER_PRINT),
];

#[derive(Debug, clap::Args)]
pub(super) struct Explain {
    /// handle, print, chassis, cavity, card, readings, measured, frame, a kind of part, a family of profiles, or any key,
    /// profile, check or calculation by its name; without it, the first few are listed
    topic: Option<String>,
}

impl Explain {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let Some(topic) = self.topic.as_deref() else {
            let about = |(name, what, _): &(&str, &str, _)| vec![(*name).into(), (*what).into()];
            let mut rows: Vec<Vec<String>> = TABLES.iter().map(about).collect();
            rows.push(vec!["frame".to_owned(), "axes, angles and units".to_owned()]);
            rows.extend(env.kinds.iter().map(|kind| vec![kind.name.into(), kind.summary.into()]));
            rows.extend(FAMILIES.iter().map(|f| vec![f.name.into(), f.summary.into()]));
            write_columns(env.out, &rows)?;
            return Ok(());
        };
        if topic == "frame" {
            env.out.write_all(FRAME.as_bytes())?;
            writeln!(env.out, "List items are counted from 1: part[2].plunger[1].travel.")?;
        } else if let Some((_, _, rows)) = TABLES.iter().find(|(name, ..)| *name == topic) {
            write_rows(env.out, rows, 0)?;
        } else if let Some(kind) = env.kinds.iter().find(|kind| kind.name == topic) {
            writeln!(env.out, "{}: {}\n", kind.name, kind.summary)?;
            write_rows(env.out, PART, 0)?;
            write_rows(env.out, kind.params, 0)?;
        } else if let Some(family) = FAMILIES.iter().find(|family| family.name == topic) {
            writeln!(env.out, "{}: {}\n", family.name, family.summary)?;
            write_rows(env.out, family.rows, 0)?;
        } else if !self.elsewhere(topic, env)? {
            let mut known: Vec<&str> = TABLES.iter().map(|(name, ..)| *name).collect();
            known.push("frame");
            known.extend(env.kinds.iter().map(|kind| kind.name));
            known.extend(FAMILIES.iter().map(|family| family.name));
            return Err(unknown("topic", topic, &known));
        }
        Ok(())
    }

    /// Tells of every key, profile, check and calculation of that name; whether
    /// there is any.
    fn elsewhere(&self, topic: &str, env: &mut Environment<'_>) -> io::Result<bool> {
        let key = topic.rsplit('.').next().unwrap_or(topic);
        let mut found = Vec::new();
        // The rows of a cavity are among those of a part.
        let tables = TABLES.iter().filter(|(name, ..)| *name != "cavity");
        let tables = tables.map(|(name, _, rows)| (*name, *rows)).chain([("part", PART)]);
        let kinds = env.kinds.iter().map(|kind| (kind.name, kind.params));
        for (path, rows) in tables.chain(kinds).chain(FAMILIES.iter().map(|f| (f.name, f.rows))) {
            rows_called(key, rows, path, &mut found);
        }
        for (path, row) in &found {
            writeln!(env.out, "in {path}")?;
            write_rows(env.out, std::slice::from_ref(*row), 1)?;
        }
        let library = Library::shipped();
        let mut any = !found.is_empty();
        for family in FAMILIES.iter().filter(|f| library.profile(f.name, topic).is_some()) {
            writeln!(env.out, "{topic} is a profile: borewright profiles {} {topic}", family.name)?;
            any = true;
        }
        for check in CHECKS.iter().filter(|check| check.name == topic) {
            writeln!(env.out, "{topic} is a check: {}", check.summary)?;
            any = true;
        }
        for calculator in CALCULATORS.iter().filter(|c| c.name == topic) {
            let summary = calculator.summary;
            writeln!(env.out, "{topic} is a calculation: {summary}; borewright work {topic}")?;
            any = true;
        }
        Ok(any)
    }
}

/// The rows called `key` in a table and those below it, with the table's path.
fn rows_called<'a>(key: &str, rows: &'a [Param], path: &str, found: &mut Vec<(String, &'a Param)>) {
    for row in rows {
        if row.key == key {
            found.push((path.to_owned(), row));
        }
        if let Kind::Table { rows, .. } | Kind::List { rows, .. } = row.kind {
            rows_called(key, rows, &format!("{path}.{}", row.key), found);
        }
    }
}

fn write_rows(out: &mut dyn Write, rows: &[Param], depth: usize) -> io::Result<()> {
    let indent = "  ".repeat(depth);
    for row in rows {
        let state = match (row.required(), row.default_text()) {
            (true, _) => "; required".to_owned(),
            (false, Some(default)) => format!("; default {default}"),
            (false, None) => "; may be left out".to_owned(),
        };
        write_wrapped(
            out,
            &format!("{}: {}{state}", row.key, row.kind.describe()),
            &indent,
            WIDTH,
        )?;
        write_wrapped(out, row.doc, &format!("{indent}    "), WIDTH)?;
        if let Kind::Table { rows, .. } | Kind::List { rows, .. } = row.kind {
            write_rows(out, rows, depth + 1)?;
        }
    }
    Ok(())
}
