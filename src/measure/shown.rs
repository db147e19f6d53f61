//! Numbers, units and foreign text as messages show them.

use super::Unit;

/// Longest piece of a person's text that a message repeats, in characters.
const MAX_QUOTED: usize = 48;

/// A number as a person would write it: at most 6 significant digits, no
/// trailing zeros, no exponent between 1e-6 and 1e9.
pub fn number(value: f64) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    let rounded: f64 = format!("{value:.5e}").parse().expect("a formatted number parses");
    let size = rounded.abs();
    if rounded == 0.0 {
        "0".into()
    } else if (1e-6..1e9).contains(&size) {
        rounded.to_string()
    } else {
        format!("{rounded:e}")
    }
}

/// The unit with a space before it; empty for plain numbers.
pub fn unit_after(unit: Unit) -> String {
    match unit.symbol() {
        "" => String::new(),
        symbol => format!(" {symbol}"),
    }
}

/// A text as lines of at most `width` characters, the first after `first`, the
/// others after `rest`; empty for an empty text.
pub fn wrapped(text: &str, first: &str, rest: &str, width: usize) -> String {
    let mut out = String::new();
    let mut line = String::new();
    let mut indent = first;
    for word in text.split_whitespace() {
        let length = indent.chars().count() + line.chars().count() + 1 + word.chars().count();
        if !line.is_empty() && length > width {
            out.push_str(&format!("{indent}{line}\n"));
            line.clear();
            indent = rest;
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        out.push_str(&format!("{indent}{line}\n"));
    }
    out
}

/// Rows in columns two spaces apart, each line after `indent`; the last column
/// is not padded.
pub fn columns(rows: &[Vec<String>], indent: &str) -> String {
    let most = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|text| text.chars().count()).max()
    };
    let widths: Vec<usize> = (0..most).map(|column| width(column).unwrap_or(0)).collect();
    let mut out = String::new();
    for row in rows {
        let cells = row.iter().zip(&widths).map(|(text, width)| format!("{text:<width$}  "));
        let line: String = cells.collect();
        out.push_str(format!("{indent}{line}").trim_end());
        out.push('\n');
    }
    out
}

/// A person's text for a message: control characters escaped, cut when long.
pub fn quoted(text: &str) -> String {
    let mut out = String::new();
    for (i, c) in text.chars().enumerate() {
        if i == MAX_QUOTED {
            out.push_str("...");
            break;
        }
        if c.is_control() || is_invisible(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    if out.is_empty() { "\"\"".into() } else { out }
}

/// Characters that turn the direction of text or have no width: shown as they
/// are, they make a message lie (Unicode standard annex 9).
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// A text as a TOML basic string, with quotes.
pub fn toml_string(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up() {
        let rows = [vec!["a".into(), "bcd".into(), "e".into()], vec!["fgh".into(), "i".into()]];
        assert_eq!(columns(&rows, " "), " a    bcd  e\n fgh  i\n");
    }

    #[test]
    fn long_texts_wrap() {
        assert_eq!(wrapped("one two three", "- ", "  ", 10), "- one two\n  three\n");
        assert_eq!(wrapped(" ", "- ", "  ", 10), "");
    }

    #[test]
    fn numbers_lose_float_noise_but_not_digits() {
        let shown = [31.419999999999998, 0.1 + 0.2, -0.0, 1e-7, 3142.0, 2.5e12, 0.05];
        assert_eq!(shown.map(number), ["31.42", "0.3", "0", "1e-7", "3142", "2.5e12", "0.05"]);
    }

    #[test]
    fn foreign_text_cannot_steer_a_terminal() {
        assert_eq!(quoted("a\u{1b}[31m\n"), "a\\u{1b}[31m\\u{a}");
        assert_eq!(quoted(&"x".repeat(60)).len(), 51);
        assert_eq!(toml_string("a\"b\\"), "\"a\\\"b\\\\\"");
    }
}
