//! Dimensions beside a view (ISO 129-1): extension lines, arrowheads, the text above its line,
//! readable from below or from the right; each finds room where nothing else is.

use super::{Anchor, Extent, Item, Pen, Text};
use crate::measure::Vec2;

/// Height of the capitals of dimensions, mm (ISO 3098-1 has 2.5 as its second size).
pub(super) const LETTERS: f64 = 2.5;
/// From the view to the first line of dimensions, mm. Common practice, no source.
const FIRST: f64 = 8.0;
/// From one line of dimensions to the next, mm. Common practice, no source.
const STEP: f64 = 6.0;
/// How far extension lines reach beyond the line of the dimension, mm.
const BEYOND: f64 = 1.5;
/// From what is measured to the start of its extension line, mm.
const GAP: f64 = 0.6;
/// Length and half width of an arrowhead, mm: 15 degrees.
const ARROW: (f64, f64) = (2.5, 0.33);
/// Length of the line outside of an arrowhead that points inwards, mm.
const TAIL: f64 = 2.0;
/// From the line to the text above it, mm.
const ABOVE: f64 = 0.8;
/// Room kept around texts, mm.
const AROUND: f64 = 0.5;
/// Half the room that a line takes, mm.
const LINE: f64 = 0.1;
/// Lines of dimensions beside one side of a view, at most.
const MOST_ROWS: usize = 8;

/// Along which side of the sheet a dimension runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// From left to right.
    Level,
    /// From bottom to top.
    Upright,
}

impl Way {
    /// A place of the sheet as (along the dimension, across it), and back.
    fn turned(self, p: Vec2) -> Vec2 {
        match self {
            Way::Level => p,
            Way::Upright => Vec2::new(p.y, p.x),
        }
    }
}

/// A dimension of a view, on the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// Its key, as in the report.
    pub key: String,
    /// What is measured, for people.
    pub what: String,
    /// The size of the body, mm.
    pub value: f64,
    /// What is written.
    pub text: String,
    /// The two places measured, mm on the sheet.
    pub ends: [Vec2; 2],
    /// Along which side it runs.
    pub way: Way,
}

/// Dimensions that have found their places.
#[derive(Clone, Debug, Default)]
pub struct PlacedDimensions {
    /// What is drawn for them.
    pub items: Vec<Item>,
    /// Numbers of those that found no room.
    pub left: Vec<usize>,
}

/// Places dimensions around a view that fills `body`, the shortest next to it.
pub fn place(dimensions: &[Dimension], body: &Extent) -> PlacedDimensions {
    let mut order: Vec<usize> = (0..dimensions.len()).collect();
    let length = |i: usize| {
        let way = dimensions[i].way;
        let [a, b] = dimensions[i].ends.map(|p| way.turned(p));
        (b.x - a.x).abs()
    };
    order.sort_by(|&i, &j| length(i).total_cmp(&length(j)).then(i.cmp(&j)));
    let mut taken = Taken::default();
    let mut placed = PlacedDimensions::default();
    for number in order {
        let tries = candidates(&dimensions[number], body);
        let free = |strict: bool| tries.iter().position(|try_| taken.admits(try_, strict));
        match free(true).or_else(|| free(false)) {
            Some(at) => {
                placed.items.extend(tries[at].items());
                taken.add(&tries[at]);
            }
            None => placed.left.push(number),
        }
    }
    placed.left.sort_unstable();
    placed
}

/// What is taken of the paper around the view.
#[derive(Default)]
struct Taken {
    texts: Vec<Extent>,
    dimension_lines: Vec<Extent>,
    extensions: Vec<Extent>,
}

impl Taken {
    /// Whether a try meets nothing; if not `strict`, its lines may cross others.
    fn admits(&self, candidate: &Candidate, strict: bool) -> bool {
        let text = candidate.text.extent().grown(AROUND);
        let line = candidate.line_box();
        let extensions = candidate.extension_boxes();
        let free = |of: &Extent, among: &[Extent]| !among.iter().any(|other| other.meets(of));
        free(&text, &self.texts)
            && free(&text, &self.dimension_lines)
            && free(&text, &self.extensions)
            && free(&line, &self.texts)
            && free(&line, &self.dimension_lines)
            && extensions.iter().all(|e| free(e, &self.texts))
            && (!strict
                || extensions.iter().all(|e| free(e, &self.dimension_lines))
                    && free(&line, &self.extensions))
    }

    fn add(&mut self, candidate: &Candidate) {
        self.texts.push(candidate.text.extent().grown(AROUND));
        self.dimension_lines.push(candidate.line_box());
        self.extensions.extend(candidate.extension_boxes());
    }
}

/// One way to draw a dimension.
struct Candidate {
    way: Way,
    /// Where the line runs, across.
    level: f64,
    /// The ends of what is measured, along; the lower first.
    span: (f64, f64),
    /// The ends of the line, along: beyond the span where arrows or text stand outside.
    line: (f64, f64),
    /// Whether the arrows stand within the span.
    arrows_in: bool,
    /// Extension lines: where along, from and to across.
    extensions: Vec<(f64, f64, f64)>,
    text: Text,
}

/// All ways, the best first.
fn candidates(dimension: &Dimension, body: &Extent) -> Vec<Candidate> {
    let way = dimension.way;
    let mut ends = dimension.ends.map(|p| way.turned(p));
    if ends[0].x > ends[1].x {
        ends.swap(0, 1);
    }
    let (low, high) = (way.turned(body.low).y, way.turned(body.high).y);
    let middle = 0.5 * (ends[0].y + ends[1].y);
    // Beside the nearer side of the view; in the middle, above it and to its right.
    let nearer_low = match way {
        Way::Level => middle <= 0.5 * (low + high) + LINE,
        Way::Upright => middle < 0.5 * (low + high) - LINE,
    };
    let sides = if nearer_low { [true, false] } else { [false, true] };
    let mut out = Vec::new();
    for row in 0..MOST_ROWS {
        let away = FIRST + row as f64 * STEP;
        for side in sides {
            let level = if side { low - away } else { high + away };
            out.extend(at_level(dimension, &ends, level, side));
        }
    }
    out
}

/// The ways along one line, the text between the arrows first if there is room.
fn at_level(dimension: &Dimension, ends: &[Vec2; 2], level: f64, low: bool) -> Vec<Candidate> {
    let way = dimension.way;
    let span = (ends[0].x, ends[1].x);
    let text = Text::new(Vec2::zeros(), LETTERS, dimension.text.clone())
        .anchored(Anchor::Middle)
        .with("key", dimension.key.clone())
        .with("value", dimension.value.to_string())
        .with("what", dimension.what.clone());
    let text = if way == Way::Upright { text.upwards() } else { text };
    let (long, length) = (text.width(), span.1 - span.0);
    let arrows_in = length >= 2.0 * ARROW.0 + AROUND;
    let beyond = if low { level - BEYOND } else { level + BEYOND };
    let extension = |end: &Vec2| {
        let gap = (level - end.y).abs().min(GAP) * (level - end.y).signum();
        (end.x, end.y + gap, beyond)
    };
    let tail = if arrows_in { 0.0 } else { ARROW.0 + TAIL };
    let outside = tail.max(AROUND) + long + AROUND;
    let make = |line: (f64, f64), middle: f64| {
        let at = way.turned(Vec2::new(middle, level));
        let lift = match way {
            Way::Level => Vec2::new(0.0, -ABOVE),
            Way::Upright => Vec2::new(-ABOVE, 0.0),
        };
        Candidate {
            way,
            level,
            span,
            line,
            arrows_in,
            extensions: ends.iter().map(extension).collect(),
            text: Text { at: at + lift, ..text.clone() },
        }
    };
    let mut out = Vec::new();
    let whole = (span.0 - tail, span.1 + tail);
    if long + AROUND <= length {
        out.push(make(whole, 0.5 * (span.0 + span.1)));
    }
    let after = (whole.0, span.1 + outside);
    let before = (span.0 - outside, whole.1);
    out.push(make(after, span.1 + outside - 0.5 * long - AROUND));
    out.push(make(before, span.0 - outside + 0.5 * long + AROUND));
    out
}

impl Candidate {
    fn at(&self, along: f64, across: f64) -> Vec2 {
        self.way.turned(Vec2::new(along, across))
    }

    fn boxed(&self, a: (f64, f64), b: (f64, f64)) -> Extent {
        let (a, b) = (self.at(a.0, a.1), self.at(b.0, b.1));
        Extent { low: a.inf(&b), high: a.sup(&b) }.grown(LINE)
    }

    fn line_box(&self) -> Extent {
        self.boxed((self.line.0, self.level), (self.line.1, self.level))
    }

    fn extension_boxes(&self) -> Vec<Extent> {
        self.extensions.iter().map(|&(x, from, to)| self.boxed((x, from), (x, to))).collect()
    }

    fn items(&self) -> Vec<Item> {
        let mut items: Vec<Item> = self
            .extensions
            .iter()
            .map(|&(x, from, to)| Item::line(Pen::Thin, self.at(x, from), self.at(x, to)))
            .collect();
        let (from, to) = (self.at(self.line.0, self.level), self.at(self.line.1, self.level));
        items.push(Item::line(Pen::Thin, from, to));
        // An arrow within the span points outwards, one outside of it inwards.
        let back = if self.arrows_in { 1.0 } else { -1.0 };
        for (tip, back) in [(self.span.0, back), (self.span.1, -back)] {
            let corners = [(0.0, 0.0), (ARROW.0, ARROW.1), (ARROW.0, -ARROW.1)];
            let corner = |(x, y): (f64, f64)| self.at(tip + back * x, self.level + y);
            items.push(Item::Fill { points: corners.map(corner).to_vec(), shade: 0.0 });
        }
        items.push(Item::Text(self.text.clone()));
        items
    }
}
