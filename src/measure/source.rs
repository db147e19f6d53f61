//! Texts that a person wrote, and places in them.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// Longest text that is read, in bytes. A real job has a few kilobytes; the
/// limit keeps a wrong file (an STL, a picture) from costing time and memory.
/// Common practice, no source.
pub const MAX_BYTES: usize = 1 << 20;

/// A text with the name that messages call it by.
#[derive(Debug)]
pub struct Source {
    name: String,
    text: String,
}

/// Why bytes are not a text that can be read.
#[derive(Clone, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum UnreadableText {
    /// More than [`MAX_BYTES`].
    #[error("{name} has {bytes} bytes; at most {MAX_BYTES} are read")]
    TooLong {
        /// Name of the text.
        name: String,
        /// Its length.
        bytes: usize,
    },
    /// Not UTF-8.
    #[error("{name}, line {line}: byte {byte:#04x} is not part of a UTF-8 text")]
    NotUtf8 {
        /// Name of the text.
        name: String,
        /// Line of the first bad byte, from 1.
        line: usize,
        /// The first bad byte.
        byte: u8,
    },
}

impl Source {
    /// A text under a name; refuses what is too long or not UTF-8.
    ///
    /// # Errors
    /// [`UnreadableText`] with the place of the first bad byte.
    pub fn new(
        name: impl Into<String>,
        bytes: impl Into<Vec<u8>>,
    ) -> Result<Arc<Self>, UnreadableText> {
        let (name, bytes) = (name.into(), bytes.into());
        if bytes.len() > MAX_BYTES {
            return Err(UnreadableText::TooLong { name, bytes: bytes.len() });
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Arc::new(Self { name, text })),
            Err(error) => {
                let at = error.utf8_error().valid_up_to();
                let bytes = error.as_bytes();
                let line = 1 + bytes[..at].iter().filter(|b| **b == b'\n').count();
                let byte = bytes.get(at).copied().unwrap_or_default();
                Err(UnreadableText::NotUtf8 { name, line, byte })
            }
        }
    }

    /// The name that messages call it by: a path, or what a page calls its form.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The whole text.
    pub fn text(&self) -> &str {
        &self.text
    }
}

/// A stretch of a [`Source`].
#[derive(Clone)]
pub struct Place {
    source: Arc<Source>,
    span: Range<usize>,
}

impl Place {
    /// The bytes `span` of `source`, cut to whole characters inside the text.
    pub fn new(source: &Arc<Source>, span: Range<usize>) -> Self {
        let text = source.text();
        let down = |mut at: usize| {
            at = at.min(text.len());
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        let start = down(span.start);
        Self { source: source.clone(), span: start..down(span.end).max(start) }
    }

    /// The text that the place is in.
    pub fn source(&self) -> &Arc<Source> {
        &self.source
    }

    /// Byte range in the text, on character boundaries.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// What is written there.
    pub fn written(&self) -> &str {
        &self.source.text()[self.span.clone()]
    }

    /// Line and column of the start, both from 1, columns in characters.
    pub fn line_column(&self) -> (usize, usize) {
        let before = &self.source.text()[..self.span.start];
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let line = 1 + before.bytes().filter(|b| *b == b'\n').count();
        (line, 1 + before[line_start..].chars().count())
    }
}

impl fmt::Debug for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (line, column) = self.line_column();
        write!(f, "{}:{line}:{column}", self.source.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_lines_and_characters_from_one() {
        let source = Source::new("a.toml", "x = 1\nµ = \"ü\"\n").expect("UTF-8");
        let at = source.text().find("\"ü").expect("there");
        let place = Place::new(&source, at..at + 4);
        assert_eq!(place.line_column(), (2, 5));
        assert_eq!(place.written(), "\"ü\"");
    }

    #[test]
    fn a_span_inside_a_character_or_past_the_end_is_cut() {
        let source = Source::new("a", "ü").expect("UTF-8");
        assert_eq!(Place::new(&source, 1..9).span(), 0..2);
        assert_eq!(Place::new(&source, 7..9).span(), 2..2);
    }

    #[test]
    fn bad_bytes_are_refused_with_their_line() {
        let error = Source::new("a", b"ok\n\xff".to_vec()).expect_err("bad byte");
        assert_eq!(error.to_string(), "a, line 2: byte 0xff is not part of a UTF-8 text");
        let error = Source::new("a", vec![b' '; MAX_BYTES + 1]).expect_err("too long");
        assert_eq!(error.to_string(), "a has 1048577 bytes; at most 1048576 are read");
    }
}
