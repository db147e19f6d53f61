//! Blocks of text into columns, over as many sheets as they need.

use super::words::{Block, Line};
use crate::export::drawing::{Extent, Item, Pen, Text, text_width};
use crate::measure::Vec2;

/// Heights of the capitals of text, mm: the largest that keeps all on one sheet is taken, or
/// the smallest, which is still read at arm's length. Common practice, no source.
const LETTERS: [f64; 4] = [2.5, 2.25, 2.0, 1.8];
/// Height of the capitals of headings, from line to line, and before a heading, in those of
/// text.
const HEADING: f64 = 1.17;
const STEP: f64 = 1.95;
const BEFORE: f64 = 0.9;
/// Height of the capitals of what is signed, mm, and of what the job says there: the largest
/// that needs two lines at most, or the smallest.
const SIGNED: f64 = 1.8;
const WRITTEN: [f64; 3] = [1.8, 1.5, 1.2];
/// Columns of a sheet, and the room between them, mm.
const COLUMNS: usize = 3;
const GAP: f64 = 6.0;
/// Least length of a line to write on, mm.
const TO_WRITE: f64 = 25.0;
/// From a baseline to the line to write on, mm.
const BELOW: f64 = 0.6;

/// Where the next line goes.
struct Pencil<'a> {
    areas: &'a [Extent],
    pages: Vec<Vec<Item>>,
    column: usize,
    /// Height of the capitals, mm.
    letters: f64,
    /// The last baseline, mm.
    y: f64,
}

impl Pencil<'_> {
    /// The area of the page at hand; pages beyond the last area are as that.
    fn area(&self) -> &Extent {
        &self.areas[(self.pages.len() - 1).min(self.areas.len() - 1)]
    }

    fn width(&self) -> f64 {
        (self.area().size().x - GAP * (COLUMNS - 1) as f64) / COLUMNS as f64
    }

    fn x(&self) -> f64 {
        self.area().low.x + self.column as f64 * (self.width() + GAP)
    }

    /// From line to line, mm.
    fn step(&self) -> f64 {
        STEP * self.letters
    }

    fn room(&self) -> f64 {
        self.area().high.y - self.y
    }

    /// Goes to the next column, or sheet.
    fn turn(&mut self) {
        self.column += 1;
        if self.column == COLUMNS {
            self.column = 0;
            self.pages.push(Vec::new());
        }
        self.y = self.area().low.y;
    }

    fn put(&mut self, item: Item) {
        self.pages.last_mut().expect("there is a first page").push(item);
    }

    fn write(&mut self, text: Text) {
        self.put(Item::Text(text));
    }

    /// A line to write on, from a place along the column to its end.
    fn rule(&mut self, from: f64) {
        let y = self.y + BELOW;
        let to = self.x() + self.width();
        self.put(Item::line(Pen::Thin, Vec2::new(from, y), Vec2::new(to, y)));
    }

    fn block(&mut self, block: &Block) {
        let first = block
            .lines
            .first()
            .map_or(0, |line| wrapped(&line.text, self.width(), self.letters).len());
        let at_top = self.y <= self.area().low.y;
        let needed = (BEFORE + STEP * (1 + first) as f64) * self.letters;
        if !at_top && self.room() < needed {
            self.turn();
        }
        if self.y > self.area().low.y {
            self.y += BEFORE * self.letters;
        }
        self.y += self.step();
        let at = Vec2::new(self.x(), self.y);
        let text = Text::new(at, HEADING * self.letters, block.heading.clone());
        self.write(text.bold());
        block.lines.iter().for_each(|line| self.line(line));
    }

    fn line(&mut self, line: &Line) {
        let mut end = self.x();
        for words in wrapped(&line.text, self.width(), self.letters) {
            if self.room() < self.step() {
                self.turn();
            }
            self.y += self.step();
            let text = Text::new(Vec2::new(self.x(), self.y), self.letters, words);
            end = self.x() + text.width();
            self.write(text);
        }
        if !line.to_fill {
            return;
        }
        let from = end + 1.0;
        if self.x() + self.width() - from >= TO_WRITE {
            self.rule(from);
            return;
        }
        if self.room() < self.step() {
            self.turn();
        }
        self.y += self.step();
        let from = self.x();
        self.rule(from);
    }
}

/// The items of each sheet: the first has the first area, all others the last. In letters as
/// large as keep all on one sheet, if any do.
pub(super) fn flow(blocks: &[Block], areas: &[Extent]) -> Vec<Vec<Item>> {
    let at = |letters: f64| {
        let y = areas[0].low.y;
        let mut pencil = Pencil { areas, pages: vec![Vec::new()], column: 0, letters, y };
        blocks.iter().for_each(|block| pencil.block(block));
        pencil.pages
    };
    let one = LETTERS.into_iter().map(at).find(|pages| pages.len() == 1);
    one.unwrap_or_else(|| at(LETTERS[LETTERS.len() - 1]))
}

/// A text as lines no longer than `width` mm; a word that is longer is cut.
fn wrapped(text: &str, width: f64, letters: f64) -> Vec<String> {
    let fits = |line: &str| text_width(line, letters, false) <= width;
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split([' ', '\t', '\n', '\r']) {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            if !fits(&format!("{line}{c}")) && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            line.push(c);
        }
    }
    lines.push(line);
    lines
}

/// Rows with what they are about, said or to be written, down a box.
pub(super) fn fields(rows: &[(&str, Option<&str>)], room: &Extent) -> Vec<Item> {
    let mut items = Vec::new();
    let step = room.size().y / rows.len().max(1) as f64;
    for (i, (about, said)) in rows.iter().enumerate() {
        let y = room.low.y + (i as f64 + 0.5) * step;
        let label = Text::new(Vec2::new(room.low.x, y), SIGNED, format!("{about}:"));
        let from = room.low.x + label.width() + 1.5;
        items.push(Item::Text(label));
        match said {
            Some(said) => {
                let room = room.high.x - from;
                let at = |letters: f64| (letters, wrapped(said, room, letters));
                let few = WRITTEN.into_iter().map(at).find(|(_, lines)| lines.len() <= 2);
                let (letters, lines) = few.unwrap_or_else(|| at(WRITTEN[WRITTEN.len() - 1]));
                for (k, line) in lines.into_iter().enumerate() {
                    let y = y + k as f64 * STEP * letters;
                    items.push(Item::Text(Text::new(Vec2::new(from, y), letters, line)));
                }
            }
            None => items.push(Item::line(
                Pen::Thin,
                Vec2::new(from, y + BELOW),
                Vec2::new(room.high.x, y + BELOW),
            )),
        }
    }
    items
}
