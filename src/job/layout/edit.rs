//! Writes places into a copy of a job's text.

use toml_edit::{DocumentMut, Item, Table, value};

/// The job's text with other values of rows of its parts: number of the part,
/// key, value. Comments and all else stay as they are.
///
/// # Errors
/// What is wrong with the text; none if it was read as a job before.
pub fn edited(text: &str, changes: &[(usize, &str, f64)]) -> Result<String, String> {
    let mut document: DocumentMut =
        text.parse().map_err(|e: toml_edit::TomlError| e.to_string())?;
    for &(part, key, number) in changes {
        let parts = document.get_mut("part").ok_or("the job has no parts")?;
        let missing = || format!("the job has no part {}", part + 1);
        match parts {
            Item::ArrayOfTables(tables) => {
                set(tables.get_mut(part).ok_or_else(missing)?, key, number);
            }
            Item::Value(toml_edit::Value::Array(array)) => {
                let item = array.get_mut(part).and_then(|v| v.as_inline_table_mut());
                let table = item.ok_or_else(missing)?;
                table.insert(key, number.into());
            }
            _ => return Err(missing()),
        }
    }
    Ok(document.to_string())
}

/// Sets a key, keeping what stands around its value; a new one comes behind
/// the table's own keys.
fn set(table: &mut Table, key: &str, number: f64) {
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            let decor = old.decor().clone();
            *old = number.into();
            *old.decor_mut() = decor;
        }
        None => {
            table.insert(key, value(number));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_and_order_stay() {
        let text = "# job\n[[part]]\nname = \"a\" # one\nfrom_z = 3 # was read\nkeel = 4\n\n\
                    [[part]]\nname = \"b\"\n[[part.run]]\nfrom = \"a\"\n";
        let out = edited(text, &[(0, "from_z", 12.5), (1, "from_z", 40.0)]).expect("it is TOML");
        let wanted = "# job\n[[part]]\nname = \"a\" # one\nfrom_z = 12.5 # was read\nkeel = 4\n\n\
                      [[part]]\nname = \"b\"\nfrom_z = 40.0\n[[part.run]]\nfrom = \"a\"\n";
        assert_eq!(out, wanted);
        assert!(edited(text, &[(7, "from_z", 1.0)]).is_err());
        assert!(edited("part = 3", &[(0, "from_z", 1.0)]).is_err());
    }
}
