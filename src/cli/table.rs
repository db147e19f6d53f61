//! Aligned columns of text.

use std::io::{self, Write};

/// Writes rows in columns two spaces apart; the last column is not padded.
pub(super) fn write_columns(out: &mut dyn Write, rows: &[Vec<String>]) -> io::Result<()> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|text| text.chars().count()).max()
    };
    let widths: Vec<usize> = (0..columns).map(|column| width(column).unwrap_or(0)).collect();
    for row in rows {
        let mut line = String::new();
        for (text, width) in row.iter().zip(&widths) {
            line.push_str(&format!("{text:<width$}  "));
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

/// A text as lines of at most `width` characters, all but the first indented.
pub(super) fn write_hanging(out: &mut dyn Write, text: &str, width: usize) -> io::Result<()> {
    let lead = text.len() - text.trim_start().len();
    let mut wrapped = Vec::new();
    write_wrapped(&mut wrapped, text, &" ".repeat(lead + 4), width)?;
    // The first line hangs out to the left.
    out.write_all(&" ".repeat(lead).into_bytes())?;
    out.write_all(wrapped.trim_ascii_start())
}

/// A text as lines of at most `width` characters, each after `indent`.
pub(super) fn write_wrapped(
    out: &mut dyn Write,
    text: &str,
    indent: &str,
    width: usize,
) -> io::Result<()> {
    let mut line = String::new();
    for word in text.split_whitespace() {
        let length = indent.len() + line.chars().count() + 1 + word.chars().count();
        if !line.is_empty() && length > width {
            writeln!(out, "{indent}{line}")?;
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if line.is_empty() { Ok(()) } else { writeln!(out, "{indent}{line}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up() {
        let mut out = Vec::new();
        let rows = [vec!["a".into(), "bcd".into(), "e".into()], vec!["fgh".into(), "i".into()]];
        write_columns(&mut out, &rows).expect("a Vec takes all");
        assert_eq!(String::from_utf8(out).expect("UTF-8"), "a    bcd  e\nfgh  i\n");
    }

    #[test]
    fn long_texts_wrap() {
        let mut out = Vec::new();
        write_wrapped(&mut out, "one two three", "  ", 10).expect("a Vec takes all");
        assert_eq!(String::from_utf8(out).expect("UTF-8"), "  one two\n  three\n");
    }
}
