//! Columns and wrapped lines on the terminal.

use std::io::{self, Write};

use crate::measure::{columns, wrapped};

/// Writes rows in columns two spaces apart; the last column is not padded.
pub(super) fn write_columns(out: &mut dyn Write, rows: &[Vec<String>]) -> io::Result<()> {
    out.write_all(columns(rows, "").as_bytes())
}

/// A text as lines of at most `width` characters, all but the first indented.
pub(super) fn write_hanging(out: &mut dyn Write, text: &str, width: usize) -> io::Result<()> {
    let lead = " ".repeat(text.len() - text.trim_start().len());
    out.write_all(wrapped(text, &lead, &format!("{lead}    "), width).as_bytes())
}

/// A text as lines of at most `width` characters, each after `indent`.
pub(super) fn write_wrapped(
    out: &mut dyn Write,
    text: &str,
    indent: &str,
    width: usize,
) -> io::Result<()> {
    out.write_all(wrapped(text, indent, indent, width).as_bytes())
}
