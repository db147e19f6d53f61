//! Faults as text for a terminal: what, the line with a mark, then hints.

use std::fmt::Write;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

use super::fault::{Fault, Faults, MAX_FAULTS};
use super::source::Place;

/// Width that long lines are cut to, in characters. Common practice, no source.
const WIDTH: usize = 100;
/// Longest line that is shown at all, in bytes; a longer one is no hand-written
/// line. Common practice, no source.
const LONGEST_LINE: usize = 2000;

/// All faults as text that is readable without colour; `colour` adds it.
pub fn render(faults: &Faults, colour: bool) -> String {
    let mut out = String::new();
    for (i, fault) in faults.iter().enumerate() {
        if i > 0 {
            out.push('\n');
        }
        one(fault, colour, &mut out);
    }
    let count = faults.iter().count();
    if count >= MAX_FAULTS {
        out.push_str("\nfurther faults are not shown\n");
    }
    out
}

fn one(fault: &Fault, colour: bool, out: &mut String) {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() }.term_width(WIDTH);
    let title = fault.to_string();
    let group = Group::with_title(Level::ERROR.primary_title(title.as_str()));
    let (text, first_line, span) = fault.place.as_ref().map(line_of).unwrap_or_default();
    let text = match &fault.place {
        None => renderer.render(&[group]),
        Some(place) if text.len() > LONGEST_LINE => {
            let (line, column) = place.line_column();
            let at = format!("{}:{line}:{column}", place.source().name());
            format!("{}\n --> {at}", renderer.render(&[group]))
        }
        Some(place) => {
            let snippet = Snippet::source(text)
                .path(place.source().name())
                .line_start(first_line)
                .annotation(AnnotationKind::Primary.span(span));
            renderer.render(&[group.element(snippet)])
        }
    };
    out.push_str(&text);
    out.push('\n');
    for (i, hint) in fault.hints.iter().enumerate() {
        let gap = if i == 0 { "\n" } else { "" };
        writeln!(out, "{gap}hint: {hint}").expect("a String takes any text");
    }
}

/// The line of a place's start, its number, and the place's span in it, cut to
/// that line.
fn line_of(place: &Place) -> (&str, usize, std::ops::Range<usize>) {
    let text = place.source().text();
    let span = place.span();
    let start = text[..span.start].rfind('\n').map_or(0, |at| at + 1);
    let end = text[span.start..].find('\n').map_or(text.len(), |at| span.start + at);
    let line = text[start..end].trim_end_matches('\r');
    let cut = |at: usize| at.saturating_sub(start).min(line.len());
    (line, place.line_column().0, cut(span.start)..cut(span.end))
}
