//! Forms of a job: what may be entered, from the tables; what is written; and a
//! typed text as the value that its row takes.

use serde_json::{Map, Value as Json, json};
use toml_edit::{Array, DocumentMut, Item, TableLike, Value};

use crate::job::worksheet::Method;
use crate::job::{OPTIONAL_TABLES, PART, PRINT};
use crate::measure::frame::FRAME;
use crate::measure::{
    FAMILIES, HANDLE, Kind, Library, PLACEHOLDER, Param, Unit, Values, length_in_text,
};
use crate::parts::{PART_KINDS, PartKind};

/// All tables, for a page that knows none of them.
pub(super) fn tables(library: &Library) -> Json {
    let kind = |kind: &PartKind| json!({ "name": kind.name, "summary": kind.summary, "rows": rows(kind.params) });
    let profile = |values: &Values| {
        let shown = values.rows().iter().filter_map(|row| Some((row.key, values.shown(row.key)?)));
        let shown: Map<String, Json> =
            shown.map(|(key, text)| (key.to_owned(), text.into())).collect();
        (values.profile().unwrap_or_default().to_owned(), Json::Object(shown))
    };
    let families = FAMILIES.iter().map(|family| {
        let profiles: Map<String, Json> =
            library.profiles(family.name).iter().map(profile).collect();
        let about =
            json!({ "summary": family.summary, "rows": rows(family.rows), "profiles": profiles });
        (family.name.to_owned(), about)
    });
    json!({
        "handle": rows(HANDLE),
        "print": rows(PRINT),
        "part": rows(PART),
        "optional": rows(OPTIONAL_TABLES),
        "kinds": PART_KINDS.iter().map(kind).collect::<Vec<_>>(),
        "families": families.collect::<Map<_, _>>(),
        "frame": FRAME.trim_end(),
        "placeholder": PLACEHOLDER,
    })
}

fn rows(rows: &[Param]) -> Vec<Json> {
    rows.iter().map(row).collect()
}

fn row(param: &Param) -> Json {
    let mut out = json!({
        "key": param.key,
        "doc": param.doc,
        "takes": param.kind.describe(),
        "required": param.required(),
        "measured": Method::of(param).words(),
        "asks": param.asks(),
        "default": param.default_text().map(|text| text.trim_matches('"').to_owned()),
    });
    let more = match param.kind {
        Kind::Number { unit, min, max, .. } => {
            json!({ "type": "number", "unit": unit.symbol(), "min": min, "max": max })
        }
        Kind::Integer { min, max, .. } => json!({ "type": "integer", "min": min, "max": max }),
        Kind::Flag { .. } => json!({ "type": "flag" }),
        Kind::Choice { options, .. } => json!({ "type": "choice", "options": options }),
        Kind::Text { max_len, .. } => json!({ "type": "text", "longest": max_len }),
        Kind::File { endings } => json!({ "type": "file", "endings": endings }),
        Kind::Numbers { unit, min, max, .. } => {
            json!({ "type": "numbers", "unit": unit.symbol(), "min": min, "max": max })
        }
        Kind::Points { min, max, .. } => {
            json!({ "type": "points", "unit": Unit::Mm.symbol(), "min": min, "max": max })
        }
        Kind::Component { family, .. } => json!({ "type": "component", "family": family }),
        Kind::Table { rows: own, .. } => json!({ "type": "table", "rows": rows(own) }),
        Kind::List { rows: own, count, .. } => {
            let most = (count.1 != usize::MAX).then_some(count.1);
            json!({ "type": "list", "rows": rows(own), "least": count.0, "most": most })
        }
    };
    if let (Some(out), Json::Object(more)) = (out.as_object_mut(), more) {
        out.extend(more);
    }
    out
}

/// What is written in a job, key by key, each value as a person would type it
/// into a form.
pub(super) fn written(document: &DocumentMut) -> Json {
    table(document.as_table())
}

fn table(table: &dyn TableLike) -> Json {
    let entry = |(key, item): (&str, &Item)| Some((key.to_owned(), item_text(item)?));
    Json::Object(table.iter().filter_map(entry).collect())
}

fn item_text(item: &Item) -> Option<Json> {
    match item {
        Item::None => None,
        Item::Value(value) => Some(value_text(value)),
        Item::Table(own) => Some(table(own)),
        Item::ArrayOfTables(tables) => Some(tables.iter().map(|own| table(own)).collect()),
    }
}

fn value_text(value: &Value) -> Json {
    match value {
        Value::String(text) if text.value() == PLACEHOLDER => "".into(),
        Value::String(text) => text.value().as_str().into(),
        Value::InlineTable(own) => table(own),
        Value::Array(array) if array.iter().any(Value::is_inline_table) => {
            array.iter().map(value_text).collect()
        }
        Value::Array(array) => {
            let texts = array.iter().map(bare);
            texts.collect::<Vec<_>>().join(", ").into()
        }
        other => bare(other).into(),
    }
}

/// A value without the comments around it.
fn bare(value: &Value) -> String {
    value.clone().decorated("", "").to_string()
}

/// The row of a field, named as in messages.
pub(super) fn row_of(field: &str, document: &DocumentMut) -> Option<&'static Param> {
    let mut keys = field.split('.');
    let first = keys.next()?;
    let mut rows: Vec<&'static [Param]> = match first.split('[').next()? {
        "handle" => vec![HANDLE],
        "print" => vec![PRINT],
        "part" => {
            let name = part_of(first, document)?.get("kind").and_then(Item::as_str);
            let kind = PART_KINDS.iter().find(|kind| Some(kind.name) == name);
            vec![kind.map_or(&[], |kind| kind.params), PART]
        }
        _ => Vec::new(),
    };
    let mut found = None;
    if let Some(row) = OPTIONAL_TABLES.iter().find(|row| row.key == first)
        && let Kind::Table { rows: own, .. } = row.kind
    {
        (rows, found) = (vec![own], Some(row));
    }
    for key in keys {
        let key = key.split('[').next()?;
        let row = rows.iter().copied().flatten().find(|row| row.key == key)?;
        rows = match row.kind {
            Kind::Table { rows, .. } | Kind::List { rows, .. } => vec![rows],
            Kind::Component { family, .. } => {
                let family = FAMILIES.iter().find(|known| known.name == family)?;
                vec![family.rows]
            }
            _ => Vec::new(),
        };
        found = Some(row);
    }
    found
}

/// What is written of `part[n]`.
fn part_of<'a>(part: &str, document: &'a DocumentMut) -> Option<&'a Item> {
    let number: usize = part.strip_prefix("part[")?.strip_suffix(']')?.parse().ok()?;
    document.get("part")?.get(number.checked_sub(1)?)
}

/// How many parts a job has.
pub(super) fn parts(document: &DocumentMut) -> usize {
    match document.get("part") {
        Some(Item::ArrayOfTables(tables)) => tables.len(),
        Some(Item::Value(Value::Array(array))) => array.len(),
        _ => 0,
    }
}

/// A typed text as the value of a row. What the row cannot take is written as a
/// text, so that nothing that was typed is lost and the reader says what is wrong.
pub(super) fn typed(row: Option<&Param>, field: &str, text: &str) -> Value {
    let text = text.trim();
    let value = match row.map(|row| row.kind) {
        Some(Kind::Numbers { unit, .. }) if field.ends_with(']') => number(text, unit),
        Some(Kind::Number { unit, .. }) => number(text, unit),
        Some(Kind::Integer { .. }) => text.parse::<i64>().ok().map(Value::from),
        Some(Kind::Flag { .. }) => text.parse::<bool>().ok().map(Value::from),
        Some(Kind::Numbers { unit, .. }) => numbers(text, unit),
        Some(Kind::Points { .. }) => points(text),
        _ => None,
    };
    value.unwrap_or_else(|| Value::from(text))
}

/// A number, its digits kept as typed. A comma is taken for a point.
fn number(text: &str, unit: Unit) -> Option<Value> {
    let plain = text.replace(',', ".");
    let parsed: Option<Value> = plain.parse().ok();
    let value = parsed.filter(|value: &Value| value.is_float() || value.is_integer());
    let value = value.or_else(|| plain.parse::<f64>().ok().map(Value::from));
    match unit {
        Unit::Mm => value.or_else(|| length_in_text(text).map(Value::from)),
        _ => value,
    }
}

/// Numbers parted by commas with a space, by semicolons or by spaces.
fn numbers(text: &str, unit: Unit) -> Option<Value> {
    let text = text.trim_start_matches('[').trim_end_matches(']');
    let point = text.contains('.') || !text.contains(',');
    let comma = |c: char| c == ',' && point;
    let words = text.split(|c: char| c.is_whitespace() || c == ';' || comma(c));
    let words = words.map(|word| word.trim_end_matches(',')).filter(|word| !word.is_empty());
    let list: Option<Array> = words.map(|word| number(word, unit)).collect();
    list.map(Value::Array)
}

fn points(text: &str) -> Option<Value> {
    let parse = |text: String| text.parse::<Value>().ok();
    let list = |value: &Value| {
        let rows = value.as_array();
        rows.is_some_and(|rows| rows.iter().all(Value::is_array))
    };
    parse(format!("[{text}]")).filter(list).or_else(|| parse(text.to_owned()).filter(list))
}

#[cfg(test)]
mod tests {
    use super::*;

    const JOB: &str = "[handle]\nbore = [31.4, # turned\n31.36]\ncaliper = 0.03 # mine\nlength = \"?\"\n[[part]]\n\
                       kind = \"cell_tray\"\ncell = { profile = \"18650\", length_max = 66.10 }\n\
                       from_z = 12\n[[part]]\nkind = \"switch_plate\"\n[[part.plunger]]\nz = 58.0\n";

    fn job() -> DocumentMut {
        JOB.parse().expect("it is TOML")
    }

    #[test]
    fn values_are_shown_as_typed() {
        let shown = written(&job());
        assert_eq!(
            shown["handle"],
            json!({ "bore": "31.4, 31.36", "caliper": "0.03", "length": "" })
        );
        assert_eq!(shown["part"][0]["cell"], json!({ "profile": "18650", "length_max": "66.10" }));
        assert_eq!(shown["part"][1]["plunger"][0]["z"], "58.0");
    }

    #[test]
    fn rows_are_found_by_the_fields_of_messages() {
        let job = job();
        let key = |field: &str| row_of(field, &job).map(|row| row.key);
        assert_eq!(key("handle.bore"), Some("bore"));
        assert_eq!(key("print.printer.wall_free"), Some("wall_free"));
        assert_eq!(key("part[1].cell.length_max"), Some("length_max"));
        assert_eq!(key("part[2].plunger[1].z"), Some("z"));
        assert_eq!(key("part[1].name"), Some("name"));
        for none in ["part[3].cell", "part[1].plunger", "handle", "", "part[0].name", "x.y"] {
            assert_eq!(key(none), None, "{none}");
        }
    }

    #[test]
    fn typed_texts_become_values_and_nonsense_stays() {
        let job = job();
        let shown = |field: &str, text: &str| typed(row_of(field, &job), field, text).to_string();
        for (field, text, wanted) in [
            ("handle.length", " 164.0 ", "164.0"),
            ("handle.length", "164,5", "164.5"),
            ("handle.length", "16.4 cm", "164.0"),
            ("handle.length", "long", "\"long\""),
            ("handle.bore", "31.4, 31.36; 31.40", "[31.4, 31.36, 31.40]"),
            ("handle.bore", "31,4 31,36", "[31.4, 31.36]"),
            ("handle.bore[2]", "31.4", "31.4"),
            ("handle.bore", "31.4 wide", "\"31.4 wide\""),
            ("part[1].wires", "3", "3"),
            ("part[1].wires", "2.5", "\"2.5\""),
            ("handle.name", "12", "\"12\""),
        ] {
            assert_eq!(shown(field, text), wanted, "{field} {text}");
        }
        let outline = Param {
            key: "outline",
            kind: Kind::Points { min: 0.0, max: 9.0, count: (1, 9), optional: false },
            doc: "",
        };
        assert_eq!(
            typed(Some(&outline), "outline", "[1, 2], [3, 4.0]").to_string(),
            "[[1, 2], [3, 4.0]]"
        );
        assert_eq!(typed(Some(&outline), "outline", "1, 2").to_string(), "\"1, 2\"");
    }

    #[test]
    fn every_row_of_every_kind_tells_its_type_and_meaning() {
        fn check(rows: &Json, at: &str) {
            for row in rows.as_array().expect("rows") {
                let at = format!("{at}.{}", row["key"].as_str().expect("a key"));
                assert!(row["doc"].as_str().is_some_and(|doc| doc.len() > 9), "{at}");
                assert!(row["type"].is_string() && row["takes"].is_string(), "{at}");
                if row["rows"].is_array() {
                    check(&row["rows"], &at);
                }
            }
        }
        let all = tables(&Library::shipped());
        check(&all["handle"], "handle");
        check(&all["print"], "print");
        let kinds = all["kinds"].as_array().expect("kinds");
        assert_eq!(kinds.len(), PART_KINDS.len());
        kinds.iter().for_each(|kind| check(&kind["rows"], kind["name"].as_str().expect("a name")));
        assert!(all["families"]["cells"]["profiles"]["18650"]["diameter_max"].is_string());
    }
}
