//! A sheet of paper and what is drawn on it, in mm from its upper left corner, y downwards.

use super::font::{ASCENT, DESCENT, text_width};
use crate::measure::Vec2;

/// A line of a drawing by its meaning (ISO 128-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pen {
    /// What is seen, the border of the sheet, the outline of a cut: continuous wide.
    Seen,
    /// What is hidden: dashed narrow.
    Hidden,
    /// Axes and middles: long-dashed dotted narrow.
    Centre,
    /// Dimensions, extension lines, hatching, leaders: continuous narrow.
    Thin,
    /// What is not part of the body: long-dashed double-dotted narrow.
    Beside,
}

impl Pen {
    /// All of them, in order.
    pub const ALL: [Pen; 5] = [Pen::Seen, Pen::Hidden, Pen::Centre, Pen::Thin, Pen::Beside];

    /// Its word, in files.
    pub fn word(self) -> &'static str {
        match self {
            Pen::Seen => "seen",
            Pen::Hidden => "hidden",
            Pen::Centre => "centre",
            Pen::Thin => "thin",
            Pen::Beside => "beside",
        }
    }

    /// Its width, mm.
    pub fn width(self, group: LineGroup) -> f64 {
        match (self, group) {
            (Pen::Seen, LineGroup::Half) => 0.5,
            (Pen::Seen, LineGroup::Third) => 0.35,
            (_, LineGroup::Half) => 0.25,
            (_, LineGroup::Third) => 0.18,
        }
    }

    /// Lengths of its dashes and gaps, mm; none for a continuous line. As ISO 128-2 has them
    /// for a narrow line of 0.25 mm (12, 24 and half a width, gaps of 3), from memory.
    pub fn dashes(self) -> &'static [f64] {
        match self {
            Pen::Seen | Pen::Thin => &[],
            Pen::Hidden => &[3.0, 0.75],
            Pen::Centre => &[6.0, 0.75, 0.4, 0.75],
            Pen::Beside => &[6.0, 0.75, 0.4, 0.75, 0.4, 0.75],
        }
    }
}

/// Widths that go together (ISO 128-2): wide lines twice as wide as narrow ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineGroup {
    /// 0.5 and 0.25 mm.
    Half,
    /// 0.35 and 0.18 mm, for fine details.
    Third,
}

/// Which point of a text its place is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The start of its baseline.
    Start,
    /// The middle of its baseline.
    Middle,
    /// The end of its baseline.
    End,
}

/// A line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Where its anchor is, mm.
    pub at: Vec2,
    /// Height of its capitals, mm.
    pub height: f64,
    /// What it says.
    pub text: String,
    /// Which point `at` is.
    pub anchor: Anchor,
    /// Whether it runs upwards, to be read from the right.
    pub upwards: bool,
    /// Whether it is bold.
    pub bold: bool,
    /// What it stands for, for programs: `data-KEY="VALUE"` of the SVG.
    pub data: Vec<(&'static str, String)>,
}

impl Text {
    /// A level text that starts at a place.
    pub fn new(at: Vec2, height: f64, text: impl Into<String>) -> Text {
        Text {
            at,
            height,
            text: text.into(),
            anchor: Anchor::Start,
            upwards: false,
            bold: false,
            data: Vec::new(),
        }
    }

    /// The same with another anchor.
    pub fn anchored(self, anchor: Anchor) -> Text {
        Text { anchor, ..self }
    }

    /// The same in bold.
    pub fn bold(self) -> Text {
        Text { bold: true, ..self }
    }

    /// The same, running upwards.
    pub fn upwards(self) -> Text {
        Text { upwards: true, ..self }
    }

    /// The same with one more thing that it stands for.
    pub fn with(mut self, key: &'static str, value: impl Into<String>) -> Text {
        self.data.push((key, value.into()));
        self
    }

    /// How long it is, mm.
    pub fn width(&self) -> f64 {
        text_width(&self.text, self.height, self.bold)
    }

    /// The start of its baseline, mm.
    pub fn start(&self) -> Vec2 {
        let back = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5 * self.width(),
            Anchor::End => self.width(),
        };
        match self.upwards {
            false => self.at - Vec2::new(back, 0.0),
            true => self.at + Vec2::new(0.0, back),
        }
    }

    /// The box that it fills, from the height of its capitals to below its baseline.
    pub fn extent(&self) -> Extent {
        let (start, width) = (self.start(), self.width());
        let (up, down) = (ASCENT * self.height, DESCENT * self.height);
        let (low, high) = match self.upwards {
            false => (Vec2::new(0.0, -up), Vec2::new(width, down)),
            true => (Vec2::new(-up, -width), Vec2::new(down, 0.0)),
        };
        Extent { low: start + low, high: start + high }
    }
}

/// A box on the sheet: its upper left and lower right corner, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// Upper left.
    pub low: Vec2,
    /// Lower right.
    pub high: Vec2,
}

impl Extent {
    /// The box around some points; none without points.
    pub fn around(points: impl IntoIterator<Item = Vec2>) -> Option<Extent> {
        let boxes = points.into_iter().map(|p| Extent { low: p, high: p });
        boxes.reduce(Extent::joined)
    }

    /// The box around both.
    pub fn joined(self, other: Extent) -> Extent {
        Extent { low: self.low.inf(&other.low), high: self.high.sup(&other.high) }
    }

    /// The same, larger by a margin on all sides.
    pub fn grown(self, margin: f64) -> Extent {
        let by = Vec2::new(margin, margin);
        Extent { low: self.low - by, high: self.high + by }
    }

    /// Its size, mm.
    pub fn size(&self) -> Vec2 {
        self.high - self.low
    }

    /// Whether the two share room.
    pub fn meets(&self, other: &Extent) -> bool {
        let room = self.high.inf(&other.high) - self.low.sup(&other.low);
        room.x > 0.0 && room.y > 0.0
    }

    /// Whether all of the other lies in it.
    pub fn holds(&self, other: &Extent) -> bool {
        self.low.inf(&other.low) == self.low && self.high.sup(&other.high) == self.high
    }
}

/// A thing on the sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A run of straight pieces.
    Line {
        /// How it is drawn.
        pen: Pen,
        /// Its points, mm.
        points: Vec<Vec2>,
    },
    /// A filled shape: an arrowhead, a bar.
    Fill {
        /// Its corners, mm.
        points: Vec<Vec2>,
        /// Its shade: 0 black, 1 white.
        shade: f64,
    },
    /// A text.
    Text(Text),
}

impl Item {
    /// A straight line.
    pub fn line(pen: Pen, from: Vec2, to: Vec2) -> Item {
        Item::Line { pen, points: vec![from, to] }
    }

    /// The sides of a box.
    pub fn sides(pen: Pen, extent: &Extent) -> Item {
        let Extent { low, high } = *extent;
        let corners = [low, Vec2::new(high.x, low.y), high, Vec2::new(low.x, high.y), low];
        Item::Line { pen, points: corners.to_vec() }
    }

    /// The same, elsewhere.
    pub fn moved(self, by: Vec2) -> Item {
        let all = |points: Vec<Vec2>| points.into_iter().map(|p| p + by).collect();
        match self {
            Item::Line { pen, points } => Item::Line { pen, points: all(points) },
            Item::Fill { points, shade } => Item::Fill { points: all(points), shade },
            Item::Text(text) => Item::Text(Text { at: text.at + by, ..text }),
        }
    }

    /// The box that it fills; none if it has no point.
    pub fn extent(&self) -> Option<Extent> {
        match self {
            Item::Line { points, .. } | Item::Fill { points, .. } => {
                Extent::around(points.iter().copied())
            }
            Item::Text(text) => Some(text.extent()),
        }
    }
}

/// One sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// What it shows, for programs and for those who cannot see it.
    pub title: String,
    /// Its line widths.
    pub group: LineGroup,
    /// What is on it, the first below.
    pub items: Vec<Item>,
}

impl Sheet {
    /// Its texts.
    pub fn texts(&self) -> impl Iterator<Item = &Text> {
        self.items.iter().filter_map(|item| match item {
            Item::Text(text) => Some(text),
            _ => None,
        })
    }
}
