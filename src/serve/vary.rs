//! A table of variants from what is typed on the page: fields of a job, each with its values.

use serde::{Deserialize, Serialize};
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value};

use super::forms::{row_of, typed};
use crate::job::FORMAT;
use crate::measure::{Kind, quoted};

/// What a page asks for: the text of the job that is varied, its file, and the fields.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Vary {
    /// The job's file, beside which the table will lie.
    pub base: String,
    pub text: String,
    pub fields: Vec<Field>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Field {
    /// As in messages.
    pub field: String,
    /// Values parted by commas or semicolons, or `40 to 45 in 20`.
    pub values: String,
}

/// The text of the table, and how many variants it has.
///
/// # Errors
/// What cannot be varied so, and what to type.
pub(super) fn table(asked: &Vary) -> Result<(String, usize), (String, String)> {
    if asked.fields.is_empty() {
        let hint = "choose at least one, and type its values".to_owned();
        return Err(("no field is to be varied".to_owned(), hint));
    }
    let document: DocumentMut = asked.text.parse().unwrap_or_default();
    let mut out = DocumentMut::new();
    out["format"] = toml_edit::value(FORMAT);
    out["base"] = toml_edit::value(&asked.base);
    let mut sweeps = ArrayOfTables::new();
    let mut count = 1_usize;
    for field in &asked.fields {
        let (table, values) = sweep(field, &document)?;
        count = count.saturating_mul(values);
        sweeps.push(table);
    }
    out["sweep"] = Item::ArrayOfTables(sweeps);
    Ok((out.to_string(), count))
}

/// One field's table, and how many values it has.
fn sweep(asked: &Field, document: &DocumentMut) -> Result<(Table, usize), (String, String)> {
    let Field { field, values } = asked;
    let example = "write values parted by commas, as 0.2, 0.25, 0.3, or a range, as 40 to 45 in 20";
    let refused = |what: &str| (format!("{}: {what}", quoted(field)), example.to_owned());
    let row = row_of(field, document).ok_or_else(|| refused("the job has no such field"))?;
    let mut table = Table::new();
    table["field"] = toml_edit::value(field);
    if let Some((from, to, count)) = range(values) {
        let number = |text: &str| Some(typed(Some(row), field, text)).filter(is_number);
        let ends = number(from).zip(number(to));
        let (from, to) = ends.ok_or_else(|| refused("its range goes from a number to another"))?;
        table["from"] = Item::Value(from);
        table["to"] = Item::Value(to);
        table["count"] = toml_edit::value(count);
        return Ok((table, usize::try_from(count).unwrap_or_default()));
    }
    let words = words(values, matches!(row.kind, Kind::Number { .. } | Kind::Integer { .. }));
    let list: Array = words.iter().map(|word| typed(Some(row), field, word)).collect();
    if list.is_empty() {
        return Err(refused("it has no values"));
    }
    let count = list.len();
    table["values"] = toml_edit::value(list);
    Ok((table, count))
}

fn is_number(value: &Value) -> bool {
    value.is_float() || value.is_integer()
}

/// The parts of `40 to 45 in 20`.
fn range(text: &str) -> Option<(&str, &str, i64)> {
    let (from, rest) = text.trim().split_once(" to ")?;
    let (to, count) = rest.rsplit_once(" in ")?;
    Some((from.trim(), to.trim(), count.trim().parse().ok()?))
}

/// Values parted by semicolons, else by commas. Numbers that are parted by spaces may have commas
/// for points, as in the readings of a bore.
fn words(text: &str, numbers: bool) -> Vec<&str> {
    let text = text.trim();
    let spaced = numbers && !text.contains('.') && text.contains(char::is_whitespace);
    let parts: Vec<&str> = if text.contains(';') {
        text.split(';').collect()
    } else if spaced {
        text.split_whitespace().map(|word| word.trim_end_matches(',')).collect()
    } else {
        text.split(',').collect()
    };
    parts.into_iter().map(str::trim).filter(|word| !word.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::job::Variants;

    const JOB: &str = include_str!("../../examples/ember-wand.toml");

    fn asked(fields: &[(&str, &str)]) -> Vary {
        let fields = fields
            .iter()
            .map(|(field, values)| Field { field: (*field).into(), values: (*values).into() });
        Vary { base: "wand.toml".into(), text: JOB.into(), fields: fields.collect() }
    }

    #[test]
    fn the_table_is_read_by_the_batch() {
        let fields = [("part[1].from_z", "10 to 14 in 5"), ("handle.length", "150, 160")];
        let (text, count) = table(&asked(&fields)).expect("it can be varied");
        let read = Variants::read(Path::new("a.toml"), &text, &|_| Ok(JOB.to_owned()));
        let read = read.expect("a table");
        assert_eq!((count, read.len()), (10, 10));
        let second = read.get(1).expect("there").values;
        assert_eq!(second[0], ("part[1].from_z".to_owned(), "10.0".to_owned()));
        assert_eq!(second[1].1, "160");
    }

    #[test]
    fn commas_part_values_and_stand_for_points() {
        for (text, wanted) in [
            ("1,2,3", ["1", "2", "3"]),
            ("1, 2 , 3", ["1", "2", "3"]),
            ("1,5 2,5, 3", ["1,5", "2,5", "3"]),
            ("1,5; 2; 3", ["1,5", "2", "3"]),
            ("1.5, 2.5 , 3", ["1.5", "2.5", "3"]),
        ] {
            assert_eq!(words(text, true), wanted, "{text}");
        }
        assert_eq!(words("press, slide", false), ["press", "slide"]);
    }

    #[test]
    fn what_cannot_be_varied_says_what_to_type() {
        for (field, values) in [
            ("part[1].nothing", "1"),
            ("part[9].from_z", "1"),
            ("part[1].from_z", " , "),
            ("part[1].from_z", "a to b in 3"),
        ] {
            let (what, hint) = table(&asked(&[(field, values)])).expect_err(values);
            assert!(what.contains(field) && hint.contains("parted by commas"), "{what}: {hint}");
        }
    }
}
