//! The paper, its border and its title block.

use std::f64::consts::TAU;

use super::{Anchor, Extent, Item, Pen, Text, text_width};
use crate::measure::Vec2;

/// Sizes of paper, laid with the longer side level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 297 x 210 mm (ISO 216).
    A4,
    /// 420 x 297 mm (ISO 216).
    A3,
    /// 279.4 x 215.9 mm: 11 x 8.5 inches.
    Letter,
}

impl Paper {
    /// All of them, in order.
    pub const ALL: [Paper; 3] = [Paper::A4, Paper::A3, Paper::Letter];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Paper::A4 => "a4",
            Paper::A3 => "a3",
            Paper::Letter => "letter",
        }
    }

    /// Width and height, mm.
    pub fn size(self) -> Vec2 {
        match self {
            Paper::A4 => Vec2::new(297.0, 210.0),
            Paper::A3 => Vec2::new(420.0, 297.0),
            Paper::Letter => Vec2::new(279.4, 215.9),
        }
    }
}

/// How views are laid out (ISO 5456-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Projection {
    /// What is seen from the right is drawn on the left, what is seen from above below.
    First,
    /// What is seen from the right is drawn on the right, what is seen from above above.
    Third,
}

/// What the title block says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Title {
    /// The sheet's subject.
    pub title: String,
    /// What it is, in a few words.
    pub subject: String,
    /// The handle.
    pub handle: String,
    /// The part of the job.
    pub part: String,
    /// Its material.
    pub material: String,
    /// Its printer.
    pub printer: String,
    /// Tolerance of sizes without one.
    pub tolerance: String,
    /// The scale: 2:1.
    pub scale: String,
    /// The sheet's number and how many there are: 1 / 4.
    pub sheet: String,
    /// Which state of the job it was drawn from.
    pub fingerprint: String,
    /// The day, if it is known.
    pub date: String,
}

/// Border of the sheet, mm: wider on the left, to be filed (ISO 5457).
const BORDER: f64 = 10.0;
const FILING: f64 = 20.0;
/// Width of the title block (ISO 7200) and height of its rows, mm.
const BLOCK: f64 = 180.0;
const ROW: f64 = 8.0;
const ROWS: f64 = 4.0;
/// Heights of the capitals of labels and values, mm.
const LABEL: f64 = 1.6;
const VALUE: f64 = 2.5;
/// From a cell's side to its texts, mm.
const INSET: f64 = 1.2;
/// Smallest capitals that a long value is written in, mm; still longer ones are cut.
const SMALLEST: f64 = 1.6;

/// A sheet's border and title block.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// The paper.
    pub paper: Paper,
}

impl Frame {
    /// What is within the border.
    pub fn inside(&self) -> Extent {
        let size = self.paper.size();
        Extent { low: Vec2::new(FILING, BORDER), high: Vec2::new(size.x - BORDER, size.y - BORDER) }
    }

    /// The title block.
    pub fn block(&self) -> Extent {
        let Extent { high, .. } = self.inside();
        Extent { low: high - Vec2::new(BLOCK, ROWS * ROW), high }
    }

    /// The room above the title block.
    pub fn field(&self) -> Extent {
        let Extent { low, high } = self.inside();
        Extent { low, high: Vec2::new(high.x, self.block().low.y) }
    }

    /// The room to the left of the title block.
    pub fn corner(&self) -> Extent {
        let (inside, block) = (self.inside(), self.block());
        Extent {
            low: Vec2::new(inside.low.x, block.low.y),
            high: Vec2::new(block.low.x, inside.high.y),
        }
    }

    /// Border, title block and, of a drawing with views, the symbol of their projection.
    pub fn items(&self, title: &Title, projection: Option<Projection>) -> Vec<Item> {
        let mut items = vec![Item::sides(Pen::Seen, &self.inside())];
        let block = self.block();
        items.push(Item::sides(Pen::Seen, &block));
        let cells: [(f64, f64, f64, &str, &str); 11] = [
            (0.0, 90.0, 0.0, "title", &title.title),
            (90.0, 60.0, 0.0, "what it is", &title.subject),
            (0.0, 90.0, 1.0, "handle", &title.handle),
            (90.0, 60.0, 1.0, "part of the job", &title.part),
            (0.0, 45.0, 2.0, "material", &title.material),
            (45.0, 45.0, 2.0, "printer", &title.printer),
            (90.0, 60.0, 2.0, "sizes without a tolerance, mm", &title.tolerance),
            (150.0, 30.0, 2.0, "scale", &title.scale),
            (0.0, 90.0, 3.0, "fingerprint of the job", &title.fingerprint),
            (90.0, 60.0, 3.0, "date", &title.date),
            (150.0, 30.0, 3.0, "sheet", &title.sheet),
        ];
        for (x, width, row, label, value) in cells {
            let low = block.low + Vec2::new(x, row * ROW);
            let cell = Extent { low, high: low + Vec2::new(width, ROW) };
            items.push(Item::sides(Pen::Thin, &cell));
            let at = low + Vec2::new(INSET, INSET + LABEL);
            items.push(Item::Text(Text::new(at, LABEL, label)));
            let at = Vec2::new(low.x + INSET, cell.high.y - INSET);
            if !value.is_empty() {
                let (value, height) = fitted(value, width - 2.0 * INSET, VALUE);
                let text = Text::new(at, height, value).with("title", label);
                items.push(Item::Text(if row == 0.0 && x == 0.0 { text.bold() } else { text }));
            }
        }
        let low = block.low + Vec2::new(150.0, 0.0);
        let cell = Extent { low, high: low + Vec2::new(30.0, 2.0 * ROW) };
        items.push(Item::sides(Pen::Thin, &cell));
        match projection {
            Some(projection) => items.extend(symbol(projection, &cell)),
            None => {
                let at = 0.5 * (cell.low + cell.high) + Vec2::new(0.0, 0.5 * LABEL);
                items.push(Item::Text(
                    Text::new(at, LABEL, "lengths in mm").anchored(Anchor::Middle),
                ));
            }
        }
        items
    }
}

/// A text with the height of its capitals at which it is no longer than `width` mm; cut where
/// it would be too small.
pub(super) fn fitted(text: &str, width: f64, height: f64) -> (String, f64) {
    // Bold is wider, so that either fits.
    let long = |text: &str, height: f64| text_width(text, height, true);
    let height_then = height * (width / long(text, height)).min(1.0);
    if height_then >= SMALLEST {
        return (text.to_owned(), height_then);
    }
    let mut kept: Vec<char> = text.chars().collect();
    while !kept.is_empty() {
        kept.pop();
        let cut: String = kept.iter().chain(&['.', '.', '.']).collect();
        if long(&cut, SMALLEST) <= width {
            return (cut, SMALLEST);
        }
    }
    (String::new(), SMALLEST)
}

/// The symbol of a projection: the side of a blunt cone whose narrow end is to the left, and
/// what is seen from there, which first angle has on the right and third angle on the left.
fn symbol(projection: Projection, cell: &Extent) -> Vec<Item> {
    /// Radii of the cone's ends, its length, and from its middle to that of its circles, mm.
    const NARROW: f64 = 1.75;
    const WIDE: f64 = 3.5;
    const LONG: f64 = 7.0;
    const APART: f64 = 10.0;
    let middle = 0.5 * (cell.low + cell.high) - Vec2::new(0.0, INSET);
    let half = Vec2::new(0.5 * APART, 0.0);
    let (cone, rings) = match projection {
        Projection::First => (middle - half, middle + half),
        Projection::Third => (middle + half, middle - half),
    };
    let at = |x: f64, y: f64| cone + Vec2::new(x, y);
    let (left, right) = (-0.5 * LONG, 0.5 * LONG);
    let side = [(left, NARROW), (left, -NARROW), (right, -WIDE), (right, WIDE), (left, NARROW)];
    let ring = |radius: f64| Item::Line { pen: Pen::Seen, points: circle(rings, radius) };
    let reach = WIDE + 1.5;
    let level =
        |c: Vec2, r: f64| Item::line(Pen::Centre, c - Vec2::new(r, 0.0), c + Vec2::new(r, 0.0));
    let up = Vec2::new(0.0, reach);
    let words = Text::new(Vec2::new(middle.x, cell.high.y - 0.8), LABEL, "lengths in mm");
    vec![
        Item::Line { pen: Pen::Seen, points: side.map(|(x, y)| at(x, y)).to_vec() },
        ring(NARROW),
        ring(WIDE),
        level(cone, 0.5 * LONG + 1.0),
        level(rings, reach),
        Item::line(Pen::Centre, rings - up, rings + up),
        Item::Text(words.anchored(Anchor::Middle)),
    ]
}

/// A circle as a closed run.
pub(crate) fn circle(centre: Vec2, radius: f64) -> Vec<Vec2> {
    const CHORDS: u32 = 72;
    let point = |i: u32| {
        let (sin, cos) = (TAU * f64::from(i % CHORDS) / f64::from(CHORDS)).sin_cos();
        centre + Vec2::new(cos, sin) * radius
    };
    (0..=CHORDS).map(point).collect()
}
