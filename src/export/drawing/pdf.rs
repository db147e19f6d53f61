//! Sheets as a PDF file (ISO 32000-1), texts in a font that every reader has.

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

use super::font::{CAPITALS, code};
use super::{Item, LineGroup, Pen, Sheet, Text};
use crate::measure::Vec2;

/// Points of PDF in a millimetre: 72 to the inch.
const POINTS: f64 = 72.0 / 25.4;

/// Names of the fonts in pages.
const PLAIN: Name<'static> = Name(b"F1");
const BOLD: Name<'static> = Name(b"F2");

/// Sheets as one PDF, a page each. The same sheets give the same bytes: no date, no number of
/// the file.
pub fn pdf(sheets: &[Sheet], title: &str) -> Vec<u8> {
    let mut next = 0;
    let mut new = || {
        next += 1;
        Ref::new(next)
    };
    let (catalog, tree, info, plain, bold) = (new(), new(), new(), new(), new());
    let pages: Vec<(Ref, Ref)> = sheets.iter().map(|_| (new(), new())).collect();
    let mut file = Pdf::new();
    file.catalog(catalog).pages(tree);
    file.document_info(info).title(TextStr(title)).creator(TextStr("borewright"));
    file.pages(tree).kids(pages.iter().map(|p| p.0)).count(pages.len() as i32);
    for (font, name) in [(plain, "Helvetica"), (bold, "Helvetica-Bold")] {
        let mut font = file.type1_font(font);
        font.base_font(Name(name.as_bytes()));
        font.encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    for (sheet, (page, content)) in sheets.iter().zip(pages) {
        let mut entry = file.page(page);
        let (width, height) = (sheet.width * POINTS, sheet.height * POINTS);
        entry.media_box(Rect::new(0.0, 0.0, width as f32, height as f32));
        entry.parent(tree).contents(content);
        entry.resources().fonts().pair(PLAIN, plain).pair(BOLD, bold);
        entry.finish();
        let bytes = packed(&drawn(sheet));
        file.stream(content, &bytes).filter(Filter::FlateDecode);
    }
    file.finish()
}

/// Bytes compressed as FlateDecode reads them.
fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).expect("a Vec takes all bytes");
    encoder.finish().expect("a Vec takes all bytes")
}

/// What is on a sheet, in mm with y downwards as the sheet has it.
fn drawn(sheet: &Sheet) -> Vec<u8> {
    let mut page = Content::new();
    let scale = POINTS as f32;
    page.transform([scale, 0.0, 0.0, -scale, 0.0, (sheet.height * POINTS) as f32]);
    page.set_line_cap(LineCapStyle::RoundCap).set_line_join(LineJoinStyle::RoundJoin);
    let mut pen = None;
    for item in &sheet.items {
        match item {
            Item::Line { pen: wanted, points } => {
                if pen != Some(*wanted) {
                    take(&mut page, *wanted, sheet.group);
                    pen = Some(*wanted);
                }
                run(&mut page, points);
                page.stroke();
            }
            Item::Fill { points, shade } => {
                page.set_fill_gray(*shade as f32);
                run(&mut page, points);
                page.close_path().fill_nonzero();
            }
            Item::Text(text) => words(&mut page, text),
        }
    }
    page.finish().into_vec()
}

fn take(page: &mut Content, pen: Pen, group: LineGroup) {
    page.set_line_width(pen.width(group) as f32);
    page.set_dash_pattern(pen.dashes().iter().map(|d| *d as f32), 0.0);
}

fn run(page: &mut Content, points: &[Vec2]) {
    for (i, p) in points.iter().enumerate() {
        let (x, y) = (paper(p.x), paper(p.y));
        match i {
            0 => page.move_to(x, y),
            _ => page.line_to(x, y),
        };
    }
}

/// A length to a thousandth of a millimetre, as the SVG has it.
fn paper(value: f64) -> f32 {
    ((value * 1e3).round() / 1e3) as f32
}

fn words(page: &mut Content, text: &Text) {
    let start = text.start();
    let (x, y) = (paper(start.x), paper(start.y));
    // The page's y runs downwards, letters must not.
    let matrix = match text.upwards {
        false => [1.0, 0.0, 0.0, -1.0, x, y],
        true => [0.0, -1.0, -1.0, 0.0, x, y],
    };
    let bytes: Vec<u8> = text.text.chars().map(|c| code(c).unwrap_or(b'?')).collect();
    page.set_fill_gray(0.0).begin_text();
    page.set_font(if text.bold { BOLD } else { PLAIN }, (text.height / CAPITALS) as f32);
    page.set_text_matrix(matrix).show(Str(&bytes)).end_text();
}
