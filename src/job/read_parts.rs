//! Reading the parts of a job: kind and name, the kind's own rows, a cavity.

use std::collections::BTreeMap;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{MAX_PARTS, PART, Part, cavity};
use crate::measure::{
    Default, Fault, Handle, Kind, MAX_NAME, PLACEHOLDER, Param, Place, Reader, What, bad_name,
    did_you_mean,
};
use crate::parts::PartKind;
use crate::survey::Chassis;

/// Reads `[[part]]`; `around` are the job's chassis and handle.
pub(super) fn read_parts(
    reader: &mut Reader<'_>,
    value: Option<&Spanned<DeValue<'_>>>,
    kinds: &'static [PartKind],
    around: (Option<&Chassis>, Option<&Handle>),
) -> Vec<Part> {
    let Some(value) = value else {
        let what = What::Missing { expected: "a part to make".into() };
        let end = reader.source.text().trim_end().len();
        let place = Place::new(reader.source, end..end);
        let hint = "start each part with [[part]], then kind = and name =";
        reader.faults.push(Fault::new(what, "part").at(place).hint(hint));
        return Vec::new();
    };
    let place = reader.place(value);
    let items = match value.get_ref() {
        DeValue::Array(items) => items,
        _ => {
            let what = What::WrongType {
                written: place.written().to_owned(),
                found: "no list of tables",
                expected: "a list of tables".into(),
            };
            let hint = "start each part with [[part]], in two brackets";
            reader.faults.push(Fault::new(what, "part").at(place).hint(hint));
            return Vec::new();
        }
    };
    if items.is_empty() || items.len() > MAX_PARTS {
        let what = What::ListLength { found: items.len(), min: 1, max: MAX_PARTS };
        reader.faults.push(Fault::new(what, "part").at(place));
        return Vec::new();
    }
    let mut seen = BTreeMap::new();
    let mut parts = Vec::new();
    for (i, item) in items.iter().enumerate() {
        let path = format!("part[{}]", i + 1);
        let Some(table) = item.get_ref().as_table() else {
            let place = reader.place(item);
            let what = What::WrongType {
                written: place.written().to_owned(),
                found: "no table",
                expected: "a table".into(),
            };
            let hint = "start each part with [[part]], in two brackets";
            reader.faults.push(Fault::new(what, path).at(place).hint(hint));
            continue;
        };
        let place = reader.place(item);
        let name = read_name(reader, table, &place, &path, &mut seen);
        let kind = read_kind(reader, table, &place, &path, kinds);
        let Some(kind) = kind else { continue };
        // A kind may have a table of that name for a cavity that was measured by hand.
        let own = kind.params.iter().any(|row| row.key == "cavity");
        let surveyed = table.get("cavity").filter(|value| !own || cavity::is_stretch(value));
        let mut rest = table.clone();
        if surveyed.is_some() {
            rest.remove("cavity");
        }
        let cavity = surveyed.and_then(|value| cavity::read(reader, value, &path, around));
        // A stretch that cannot be read is told once.
        begin_with(surveyed.filter(|_| cavity.is_some()), kind, &mut rest);
        scan_in_place(&mut rest);
        let values = reader.table(&rest, place, kind.params, &path, &["kind", "name"]);
        if let Some((name, values)) = name.zip(values) {
            parts.push(Part { kind, name, values, cavity });
        }
    }
    parts
}

/// A part that does not say where it begins does so with the stretch of its cavity.
fn begin_with<'t>(stretch: Option<&Spanned<DeValue<'t>>>, kind: &PartKind, rows: &mut DeTable<'t>) {
    let row = kind.params.iter().find(|row| row.key == BEGIN);
    let has_default =
        |row: &Param| matches!(row.kind, Kind::Number { default: Default::Value(_), .. });
    let from = stretch
        .and_then(|stretch| stretch.get_ref().as_table())
        .and_then(|stretch| stretch.get_key_value(BEGIN));
    if let Some((key, value)) = from.filter(|_| row.is_some_and(has_default))
        && !rows.contains_key(BEGIN)
    {
        rows.insert(key.clone(), value.clone());
    }
}

/// Leaves out the sections of a stone that nobody filled in, as a new job has them, where
/// a scan takes their place.
fn scan_in_place(rows: &mut DeTable<'_>) {
    let is_blank = |value: &Spanned<DeValue<'_>>| value.get_ref().as_str() == Some(PLACEHOLDER);
    let blank_table = |item: &Spanned<DeValue<'_>>| {
        item.get_ref().as_table().is_some_and(|table| table.values().all(is_blank))
    };
    let scanned = rows.get("scan").is_some_and(|scan| !is_blank(scan));
    let sections = rows.get("station").and_then(|sections| sections.get_ref().as_array());
    if scanned && sections.is_some_and(|sections| sections.iter().all(blank_table)) {
        rows.remove("station");
    }
}

/// The row for where a part, or the stretch of a cavity, begins.
const BEGIN: &str = "from_z";

/// A text of a part that must be there and filled in.
fn word<'t>(
    reader: &mut Reader<'_>,
    table: &'t DeTable<'_>,
    place: &Place,
    path: &str,
    key: &str,
) -> Option<(&'t str, Place)> {
    let row = PART.iter().find(|row| row.key == key).expect("the key is a row of PART");
    let value = table.get(key);
    let place = value.map_or(place.clone(), |value| reader.place(value));
    let what = match value.map(|value| (value.get_ref().as_str(), value)) {
        None => What::Missing { expected: row.kind.describe() },
        Some((Some(PLACEHOLDER), _)) => What::NotFilledIn { expected: row.kind.describe() },
        Some((Some(text), _)) => return Some((text, place)),
        Some((None, _)) => What::WrongType {
            written: place.written().to_owned(),
            found: "no text",
            expected: row.kind.describe(),
        },
    };
    let hint = format!("{key}: {}", row.doc);
    reader.faults.push(Fault::new(what, format!("{path}.{key}")).at(place).hint(hint));
    None
}

fn read_name(
    reader: &mut Reader<'_>,
    table: &DeTable<'_>,
    place: &Place,
    path: &str,
    seen: &mut BTreeMap<String, usize>,
) -> Option<String> {
    let (name, place) = word(reader, table, place, path, "name")?;
    let mut fail = |reason: String, hint: String| {
        let what = What::BadName { name: name.to_owned(), reason };
        reader.faults.push(Fault::new(what, format!("{path}.name")).at(place.clone()).hint(hint));
    };
    if bad_name(name).is_some() || name.contains('.') || name.starts_with('-') {
        let reason = "cannot be the name of files everywhere".into();
        fail(reason, format!("use a-z, 0-9, - and _, at most {MAX_NAME} characters"));
        return None;
    }
    if RESERVED.contains(&name) {
        fail("is reserved by some systems".into(), "choose another name".into());
        return None;
    }
    let line = place.line_column().0;
    if let Some(first) = seen.insert(name.to_owned(), line) {
        fail(format!("is used on line {first} already"), "give each part its own name".into());
        return None;
    }
    Some(name.to_owned())
}

/// Names that some systems keep for devices, whatever follows the dot (from
/// memory), and the report's own.
const RESERVED: [&str; 23] = [
    "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "com5", "com6", "com7", "com8",
    "com9", "lpt1", "lpt2", "lpt3", "lpt4", "lpt5", "lpt6", "lpt7", "lpt8", "lpt9", "report",
];

fn read_kind(
    reader: &mut Reader<'_>,
    table: &DeTable<'_>,
    place: &Place,
    path: &str,
    kinds: &'static [PartKind],
) -> Option<&'static PartKind> {
    let (word, place) = word(reader, table, place, path, "kind")?;
    if let Some(kind) = kinds.iter().find(|kind| kind.name == word) {
        return Some(kind);
    }
    let what = What::UnknownName { of: "part kind".into(), name: word.to_owned() };
    let mut fault = Fault::new(what, format!("{path}.kind")).at(place);
    fault.hints.extend(did_you_mean(word, kinds.iter().map(|kind| kind.name)));
    let names: Vec<&str> = kinds.iter().map(|kind| kind.name).collect();
    reader.faults.push(fault.hint(format!("known kinds: {}", names.join(", "))));
    None
}
