//! What a job text does not say yet: placeholders, and keys that must be written.

use super::{Group, Slot, slot};
use crate::job::PRINT;
use crate::measure::{HANDLE, Kind, PLACEHOLDER, Param};
use crate::parts::PartKind;

/// The slots that are blank; nothing of a text that is no TOML, or of parts of no known
/// kind: reading the job tells of these.
pub(super) fn groups(text: &str, kinds: &[PartKind]) -> Vec<Group> {
    let Ok(job) = text.parse::<toml::Table>() else { return Vec::new() };
    let mut out = Vec::new();
    for (name, rows) in [("handle", HANDLE), ("print", PRINT)] {
        let empty = toml::Table::new();
        let table = job.get(name).and_then(toml::Value::as_table).unwrap_or(&empty);
        blank(table, rows, name, &mut out);
    }
    let parts = job.get("part").and_then(toml::Value::as_array).into_iter().flatten();
    for (i, part) in parts.enumerate() {
        let table = part.as_table();
        let kind = table.and_then(|t| t.get("kind")).and_then(toml::Value::as_str);
        let kind = kinds.iter().find(|known| Some(known.name) == kind);
        if let (Some(table), Some(kind)) = (table, kind) {
            blank(table, kind.params, &format!("part[{}]", i + 1), &mut out);
        }
    }
    out
}

fn blank(table: &toml::Table, rows: &'static [Param], path: &str, out: &mut Vec<Group>) {
    let is_blank = |row: &&Param| match table.get(row.key) {
        Some(value) => value.as_str() == Some(PLACEHOLDER),
        None => row.required(),
    };
    let slots: Vec<Slot> = rows.iter().filter(is_blank).filter_map(|row| slot(row, path)).collect();
    super::push(Group { path: path.to_owned(), doc: String::new(), slots }, out);
    for row in rows {
        let path = format!("{path}.{}", row.key);
        match (row.kind, table.get(row.key)) {
            (Kind::Table { rows, .. }, Some(toml::Value::Table(inner))) => {
                blank(inner, rows, &path, out);
            }
            (Kind::List { rows, .. }, Some(toml::Value::Array(items))) => {
                let tables = items.iter().enumerate().filter_map(|(i, v)| Some((i, v.as_table()?)));
                for (i, inner) in tables {
                    blank(inner, rows, &format!("{path}[{}]", i + 1), out);
                }
            }
            (Kind::List { .. } | Kind::Table { .. }, None) if row.required() => {
                super::collect(std::slice::from_ref(row), parent(&path), row.doc, out);
            }
            _ => {}
        }
    }
}

/// The path of the table that a key is in.
fn parent(path: &str) -> &str {
    path.rsplit_once('.').map_or(path, |(parent, _)| parent)
}
