//! A sheet as SVG, in mm, texts as texts.

use std::fmt::Write;

use super::font::CAPITALS;
use super::{Anchor, Item, Pen, Sheet, Text};
use crate::measure::Vec2;

/// A sheet as the text of an SVG file (SVG 1.1). The same sheet gives the same text.
pub fn svg(sheet: &Sheet) -> String {
    let (width, height) = (short(sheet.width), short(sheet.height));
    let title = escaped(&sheet.title);
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
         width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" role=\"img\" \
         aria-label=\"{title}\">\n<title>{title}</title>\n"
    );
    put(&mut out, format_args!("<style>\n{}</style>\n", style(sheet)));
    put(&mut out, format_args!("<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n"));
    for item in &sheet.items {
        match item {
            Item::Line { pen, points } => {
                put(
                    &mut out,
                    format_args!("<path class=\"{}\" d=\"{}\"/>\n", pen.word(), run(points)),
                );
            }
            Item::Fill { points, shade } => {
                let grey = (255.0 * shade.clamp(0.0, 1.0)).round() as u8;
                let d = run(points);
                put(
                    &mut out,
                    format_args!("<path d=\"{d}Z\" fill=\"#{grey:02x}{grey:02x}{grey:02x}\"/>\n"),
                );
            }
            Item::Text(text) => words(&mut out, text),
        }
    }
    out.push_str("</svg>\n");
    out
}

/// Appends to a text, which takes all that is written.
fn put(out: &mut String, what: std::fmt::Arguments<'_>) {
    out.write_fmt(what).expect("a String takes all text");
}

fn style(sheet: &Sheet) -> String {
    let mut out = String::new();
    for pen in Pen::ALL {
        let width = pen.width(sheet.group);
        let dashes: Vec<String> = pen.dashes().iter().map(|d| short(*d)).collect();
        let dashes = match dashes.is_empty() {
            true => String::new(),
            false => format!(";stroke-dasharray:{}", dashes.join(" ")),
        };
        put(
            &mut out,
            format_args!(
                "path.{}{{fill:none;stroke:#000;stroke-width:{width};stroke-linecap:round;\
                 stroke-linejoin:round{dashes}}}\n",
                pen.word()
            ),
        );
    }
    out.push_str("text{font-family:Helvetica,Arial,sans-serif;fill:#000;white-space:pre}\n");
    out
}

fn words(out: &mut String, text: &Text) {
    let Text { at, height, anchor, upwards, bold, data, .. } = text;
    let anchor = match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let (x, y) = (short(at.x), short(at.y));
    put(
        out,
        format_args!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" text-anchor=\"{anchor}\" textLength=\"{}\" \
             lengthAdjust=\"spacingAndGlyphs\"",
            short(height / CAPITALS),
            short(text.width())
        ),
    );
    if *upwards {
        put(out, format_args!(" transform=\"rotate(-90 {x} {y})\""));
    }
    if *bold {
        out.push_str(" font-weight=\"bold\"");
    }
    for (key, value) in data {
        put(out, format_args!(" data-{key}=\"{}\"", escaped(value)));
    }
    put(out, format_args!(">{}</text>\n", escaped(&text.text)));
}

/// Points as the data of a path.
fn run(points: &[Vec2]) -> String {
    let mut out = String::new();
    for (i, p) in points.iter().enumerate() {
        let word = if i == 0 { 'M' } else { 'L' };
        put(&mut out, format_args!("{word}{} {}", short(p.x), short(p.y)));
    }
    out
}

/// A length with as many digits as paper shows: to a thousandth of a millimetre.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A text as XML takes it: control characters, which it does not, are left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}
