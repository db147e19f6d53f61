//! Changes of a job's text that leave comments, order and all else as they are.

use toml_edit::{Array, ArrayOfTables, Decor, DocumentMut, InlineTable, Item, Table, Value};

use super::template::part_template;
use crate::parts::PartKind;

/// One change of a job's text. Fields are named as in messages, entries of
/// lists counted from 1: `part[2].plunger[1].travel`.
#[derive(Clone, Debug)]
pub enum TextChange {
    /// Gives a field a value; a table that its last key stands in is made.
    Set(String, Value),
    /// Leaves a field out, so that its default holds. Comments above it stay.
    Clear(String),
    /// Adds an empty table, or one more entry to a list of tables.
    Add {
        /// The table or list.
        field: String,
        /// Whether it is a list.
        list: bool,
    },
    /// Takes a table or an entry of a list away.
    Remove(String),
}

/// A change that cannot be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{0}")]
pub struct TextChangeError(String);

/// The job's text with `changes` made one after the other.
///
/// # Errors
/// The text is no TOML, or has no place for a change.
pub fn changed(text: &str, changes: &[TextChange]) -> Result<String, TextChangeError> {
    let mut document = parsed(text)?;
    for change in changes {
        match change {
            TextChange::Set(field, value) => {
                make_way(&mut document, field);
                set(&mut document, field, value)
            }
            TextChange::Clear(field) => clear(&mut document, field),
            TextChange::Add { field, list } => add(&mut document, field, *list),
            TextChange::Remove(field) => remove(&mut document, field),
        }
        .map_err(TextChangeError)?;
    }
    Ok(document.to_string())
}

/// The job's text with one more part, commented as a new job is.
///
/// # Errors
/// The text is no TOML, or the kind is not known.
pub fn with_part(text: &str, kind: &str, kinds: &[PartKind]) -> Result<String, TextChangeError> {
    let document = parsed(text)?;
    let parts = document.get("part").and_then(Item::as_array_of_tables);
    if parts.is_none() && document.contains_key("part") {
        let what = "part is written in one line: write each part below a line [[part]] first";
        return Err(TextChangeError(what.to_owned()));
    }
    let name = |part: &Table| part.get("name").and_then(Item::as_str).map(str::to_owned);
    let taken: Vec<String> = parts.iter().flat_map(|parts| parts.iter()).filter_map(name).collect();
    let (chunk, _) = part_template(kind, kinds, &taken)
        .map_err(|error| TextChangeError(format!("{error}; {}", error.hint)))?;
    Ok(format!("{}\n{chunk}", text.trim_end()))
}

fn parsed(text: &str) -> Result<DocumentMut, TextChangeError> {
    text.parse().map_err(|e: toml_edit::TomlError| TextChangeError(format!("not valid TOML: {e}")))
}

/// Writes a value to a field. Tables on the way must be there; the last key may
/// be new. What stands around an earlier value stays.
pub(super) fn set(document: &mut DocumentMut, field: &str, value: &Value) -> Result<(), String> {
    let (at, name, index) = reach(document, field)?;
    if let Some(index) = index {
        let list = at.get_mut(name).and_then(Item::as_array_mut);
        let slot = list.and_then(|list| list.get_mut(index));
        *slot.ok_or_else(|| format!("{field}: the job has no such entry"))? = value.clone();
        return Ok(());
    }
    match at {
        Item::Table(table) => match table.get_mut(name).and_then(Item::as_value_mut) {
            Some(old) => *old = around(value, old.decor().clone()),
            None => table.insert(name, Item::Value(value.clone())).map_or((), drop),
        },
        Item::Value(Value::InlineTable(table)) => match table.get_mut(name) {
            Some(old) => *old = around(value, old.decor().clone()),
            None => table.insert(name, value.clone()).map_or((), drop),
        },
        // A component that is named only gets a value of its own.
        Item::Value(profile @ Value::String(_)) => {
            let kept = profile.decor().clone();
            let mut table = InlineTable::new();
            table.insert("profile", profile.clone().decorated(" ", ""));
            table.insert(name, value.clone());
            *profile = around(&Value::InlineTable(table), kept);
        }
        _ => return Err(format!("{field}: the job has no table there")),
    }
    Ok(())
}

/// What a field holds, if the job has it.
pub(super) fn held<'a>(document: &'a mut DocumentMut, field: &str) -> Option<&'a Item> {
    let (at, name, index) = reach(document, field).ok()?;
    let item = at.get(name)?;
    index.map_or(Some(item), |index| item.get(index))
}

/// The value with what stood around an earlier one.
fn around(value: &Value, kept: Decor) -> Value {
    let mut value = value.clone();
    *value.decor_mut() = kept;
    value
}

/// The table of a field, the field's own key, and its number in a list.
fn reach<'a, 'f>(
    document: &'a mut DocumentMut,
    field: &'f str,
) -> Result<(&'a mut Item, &'f str, Option<usize>), String> {
    let keys: Vec<&str> = field.split('.').collect();
    let (last, way) = keys.split_last().ok_or("a field has no name")?;
    let mut at: &mut Item = document.as_item_mut();
    for key in way {
        at = step(at, key).ok_or_else(|| format!("{field}: the job has no {key}"))?;
    }
    let (name, index) = split(last).ok_or_else(|| format!("{field} is no field"))?;
    if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-') {
        return Err(format!("{field} is no field"));
    }
    Ok((at, name, index))
}

/// `name` or `name[n]`, n from 1.
fn split(key: &str) -> Option<(&str, Option<usize>)> {
    let Some((name, rest)) = key.split_once('[') else { return Some((key, None)) };
    let number: usize = rest.strip_suffix(']')?.parse().ok()?;
    Some((name, Some(number.checked_sub(1)?)))
}

fn step<'a>(at: &'a mut Item, key: &str) -> Option<&'a mut Item> {
    let (name, index) = split(key)?;
    // A key that is not there is an empty entry.
    let next = at.get_mut(name).filter(|next| !next.is_none())?;
    match index {
        None => Some(next),
        Some(index) => next.get_mut(index),
    }
}

/// Makes the table that a field's last key stands in, where only it is missing.
fn make_way(document: &mut DocumentMut, field: &str) {
    let Some((table, _)) = field.rsplit_once('.') else { return };
    if let Ok((at, name, None)) = reach(document, table)
        && at.get(name).is_none_or(Item::is_none)
    {
        // A place where no table can be is told when the value is set.
        let _ = add_table(at, name, table);
    }
}

fn clear(document: &mut DocumentMut, field: &str) -> Result<(), String> {
    let (at, name, index) = reach(document, field)?;
    if index.is_some() {
        return Err(format!("{field} is an entry of a list, which is written as a whole"));
    }
    match at {
        Item::Table(table) => {
            keep_comments(table, name);
            table.remove(name);
        }
        Item::Value(Value::InlineTable(table)) => {
            table.remove(name);
        }
        _ => {}
    }
    Ok(())
}

/// Moves the comments above a key to behind what stands before it.
fn keep_comments(table: &mut Table, name: &str) {
    let text = |raw: Option<&toml_edit::RawString>| {
        raw.and_then(toml_edit::RawString::as_str).unwrap_or_default().to_owned()
    };
    let Some(key) = table.key(name) else { return };
    let above = text(key.leaf_decor().prefix()).trim_end().to_owned();
    if above.trim().is_empty() {
        return;
    }
    let values = table.iter().filter(|(_, item)| item.is_value()).map(|(key, _)| key.to_owned());
    let before = values.take_while(|key| key != name).last();
    let value = before.and_then(|key| table.get_mut(&key).and_then(Item::as_value_mut));
    match value {
        Some(value) => {
            let behind = text(value.decor().suffix());
            value.decor_mut().set_suffix(format!("{behind}\n{above}"));
        }
        None => {
            let behind = text(table.decor().suffix());
            table.decor_mut().set_suffix(format!("{behind}\n{above}"));
        }
    }
}

fn add(document: &mut DocumentMut, field: &str, list: bool) -> Result<(), String> {
    let (at, name, index) = reach(document, field)?;
    if index.is_some() {
        return Err(format!("{field} is an entry of a list: name the list"));
    }
    if !list {
        return match at.get(name).is_none_or(Item::is_none) {
            true => add_table(at, name, field),
            false => Err(format!("{field} is there already")),
        };
    }
    let there = at.get_mut(name).filter(|item| !item.is_none());
    match there {
        Some(Item::ArrayOfTables(tables)) => tables.push(Table::new()),
        Some(Item::Value(Value::Array(array))) => array.push(InlineTable::new()),
        Some(_) => return Err(format!("{field} is no list of tables")),
        None => match at {
            Item::Table(table) => {
                let mut tables = ArrayOfTables::new();
                tables.push(Table::new());
                table.insert(name, Item::ArrayOfTables(tables));
            }
            Item::Value(Value::InlineTable(table)) => {
                table.insert(name, Value::Array(Array::from_iter([InlineTable::new()])));
            }
            _ => return Err(format!("{field}: the job has no table there")),
        },
    }
    Ok(())
}

fn add_table(at: &mut Item, name: &str, field: &str) -> Result<(), String> {
    match at {
        Item::Table(table) => table.insert(name, Item::Table(Table::new())).map(drop),
        Item::Value(Value::InlineTable(table)) => {
            table.insert(name, InlineTable::new().into()).map(drop)
        }
        _ => return Err(format!("{field}: the job has no table there")),
    };
    Ok(())
}

fn remove(document: &mut DocumentMut, field: &str) -> Result<(), String> {
    let (at, name, index) = reach(document, field)?;
    let missing = || format!("{field}: the job has no such entry");
    let Some(index) = index else {
        let table = at.as_table_like_mut().ok_or_else(missing)?;
        return table.remove(name).map(drop).ok_or_else(missing);
    };
    let left = match at.get_mut(name) {
        Some(Item::ArrayOfTables(tables)) if index < tables.len() => {
            tables.remove(index);
            tables.len()
        }
        Some(Item::Value(Value::Array(array))) if index < array.len() => {
            array.remove(index);
            array.len()
        }
        _ => return Err(missing()),
    };
    if left == 0
        && let Some(table) = at.as_table_like_mut()
    {
        table.remove(name);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::PART_KINDS;

    const TEXT: &str = "# job\nformat = 1\n[[part]]\n# what\nkind = \"a\" # one\n# how thick\n\
                        wall = 2 # read\ncell = \"18650\" # mine\n\n[[part]]\nname = \"b\"\n";

    fn after(changes: &[TextChange]) -> String {
        changed(TEXT, changes).unwrap_or_else(|e| panic!("{e}"))
    }

    #[test]
    fn a_value_is_set_between_its_comments() {
        let out = after(&[
            TextChange::Set("part[1].wall".into(), 2.5.into()),
            TextChange::Set("part[1].cell.length_max".into(), 66.1.into()),
            TextChange::Set("part[2].room.width".into(), 7.into()),
            TextChange::Set("part[2].keel".into(), 3.into()),
        ]);
        let wanted = "# job\nformat = 1\n[[part]]\n# what\nkind = \"a\" # one\n# how thick\n\
                      wall = 2.5 # read\ncell = { profile = \"18650\", length_max = 66.1 } # mine\n\n\
                      [[part]]\nname = \"b\"\nkeel = 3\n\n[part.room]\nwidth = 7\n";
        assert_eq!(out, wanted);
    }

    #[test]
    fn comments_above_a_value_outlive_it() {
        let out = after(&[TextChange::Clear("part[1].wall".into())]);
        assert_eq!(out, TEXT.replace("wall = 2 # read\n", ""));
        let out = after(&[TextChange::Clear("part[1].kind".into())]);
        assert!(out.contains("[[part]]\n# what\n# how thick\nwall = 2 # read\n"), "{out}");
        let out = after(&[TextChange::Clear("part[2].nothing".into())]);
        assert_eq!(out, TEXT);
    }

    #[test]
    fn tables_and_entries_come_and_go() {
        let list = |field: &str| TextChange::Add { field: field.into(), list: true };
        let out = after(&[
            list("part[1].plunger"),
            list("part[1].plunger"),
            TextChange::Set("part[1].plunger[2].z".into(), 58.into()),
        ]);
        assert!(out.contains("# mine\n\n[[part.plunger]]\n\n[[part.plunger]]\nz = 58\n"), "{out}");
        let out = changed(&out, &[TextChange::Remove("part[1].plunger[1]".into())]).expect("there");
        assert!(out.contains("# mine\n\n[[part.plunger]]\nz = 58\n\n[[part]]"), "{out}");
        let out = changed(&out, &[TextChange::Remove("part[1].plunger[1]".into())]).expect("there");
        assert_eq!(out, TEXT);
        let out = after(&[TextChange::Remove("part[1]".into())]);
        assert!(!out.contains("18650") && out.contains("name = \"b\""), "{out}");
    }

    #[test]
    fn what_has_no_place_is_said() {
        for change in [
            TextChange::Set("part[7].wall".into(), 1.into()),
            TextChange::Set("part[1].a b".into(), 1.into()),
            TextChange::Set(String::new(), 1.into()),
            TextChange::Remove("part[0]".into()),
            TextChange::Remove("part[1].nothing".into()),
            TextChange::Add { field: "format".into(), list: true },
            TextChange::Add { field: "part[1].cell".into(), list: false },
        ] {
            assert!(changed(TEXT, std::slice::from_ref(&change)).is_err(), "{change:?}");
        }
        assert!(changed("part = ", &[]).is_err());
    }

    #[test]
    fn a_part_gets_a_name_of_its_own() {
        let one = with_part("format = 1\n", "cell_tray", PART_KINDS).expect("known");
        let two = with_part(&one, "cell_tray", PART_KINDS).expect("known");
        assert!(two.contains("name = \"cell-tray\"\n") && two.contains("name = \"cell-tray-2\"\n"));
        assert!(with_part("", "cell_try", PART_KINDS).is_err());
        assert!(with_part("part = [{ kind = \"spine\" }]", "cell_tray", PART_KINDS).is_err());
    }
}
