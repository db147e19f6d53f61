//! Writes places into a copy of a job's text.

use toml_edit::DocumentMut;

use crate::job::change::set;

/// The job's text with other values of rows of its parts: number of the part,
/// key, value. Comments and all else stay as they are.
///
/// # Errors
/// What is wrong with the text; none if it was read as a job before.
pub fn edited(text: &str, changes: &[(usize, &str, f64)]) -> Result<String, String> {
    let mut document: DocumentMut =
        text.parse().map_err(|e: toml_edit::TomlError| e.to_string())?;
    for &(part, key, number) in changes {
        set(&mut document, &format!("part[{}].{key}", part + 1), &number.into())?;
    }
    Ok(document.to_string())
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
