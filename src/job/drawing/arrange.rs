//! Views, dimensions and captions on a sheet, at the largest scale that fits.

use super::sizes::Size;
use super::views::{Place, View};
use crate::export::drawing::{
    Anchor, Dimension, Extent, Eye, Item, Pen, Projection, RoundAxis, Text, Way, place,
};
use crate::measure::{Vec2, Vec3, number};

/// Scales of drawings (ISO 5455), the largest first; the first number is the drawing's.
pub(in crate::job) const SCALES: [(u32, u32); 7] =
    [(10, 1), (5, 1), (2, 1), (1, 1), (1, 2), (1, 5), (1, 10)];

/// Between neighbouring views with all that stands beside them, mm.
const APART: f64 = 5.0;
/// From a view, with its dimensions, to its caption, and height of that, mm.
const CAPTION_GAP: f64 = 2.5;
const CAPTION: f64 = 1.8;
/// How far centre lines reach beyond what is round, mm.
const CENTRE: f64 = 3.0;
/// Between the lines of hatching, mm.
const HATCHING: f64 = 2.0;
/// Directions that differ by less than this are one.
const SAME: f64 = 1e-6;
/// From the border to what is drawn, mm.
const MARGIN: f64 = 2.0;
/// Letters at the plane of a section, mm.
const LETTER: f64 = 3.5;

/// What is put on a sheet.
pub(super) struct Wanted<'a> {
    pub(super) views: Vec<&'a View>,
    pub(super) sizes: &'a [Size],
    pub(super) axes: &'a [RoundAxis],
    pub(super) projection: Projection,
}

/// Views that have found their places.
pub(super) struct Arranged {
    pub(super) items: Vec<Item>,
    /// The room that is left where no view stands, in the corner opposite to the others.
    pub(super) free: Extent,
    /// Numbers of sizes that found no room.
    pub(super) left: Vec<usize>,
}

/// A view with all that stands beside it.
struct Block {
    place: Place,
    items: Vec<Item>,
    extent: Extent,
}

impl Block {
    fn moved(&mut self, by: Vec2) {
        self.items = std::mem::take(&mut self.items).into_iter().map(|i| i.moved(by)).collect();
        self.extent = Extent { low: self.extent.low + by, high: self.extent.high + by };
    }
}

impl Wanted<'_> {
    /// The views at a scale, in `field`; or how much room they take, mm.
    pub(super) fn at(&self, scale: f64, field: &Extent) -> Result<Arranged, Vec2> {
        let mut left = Vec::new();
        let mut blocks: Vec<Block> =
            self.views.iter().map(|view| self.block(view, scale, &mut left)).collect();
        let side = blocks[0].extent;
        let mut column = side;
        for block in blocks.iter().filter(|b| matches!(b.place, Place::Above | Place::Below)) {
            column.low.x = column.low.x.min(block.extent.low.x);
            column.high.x = column.high.x.max(block.extent.high.x);
        }
        let mut row = side;
        for block in blocks.iter().filter(|b| matches!(b.place, Place::Front | Place::Cap)) {
            row.low.y = row.low.y.min(block.extent.low.y);
            row.high.y = row.high.y.max(block.extent.high.y);
        }
        for block in &mut blocks[1..] {
            let (own, place) = (block.extent, block.place);
            let first = self.projection == Projection::First;
            let by = match place {
                Place::Side => Vec2::zeros(),
                Place::Front | Place::Cap if (place == Place::Front) == first => {
                    Vec2::new(column.low.x - APART - own.high.x, 0.0)
                }
                Place::Front | Place::Cap => Vec2::new(column.high.x + APART - own.low.x, 0.0),
                Place::Above | Place::Below if (place == Place::Above) == first => {
                    Vec2::new(0.0, row.high.y + APART - own.low.y)
                }
                Place::Above | Place::Below => Vec2::new(0.0, row.low.y - APART - own.high.y),
            };
            block.moved(by);
        }
        let whole = blocks.iter().map(|b| b.extent).reduce(Extent::joined).unwrap_or(side);
        let room = field.grown(-MARGIN);
        let (size, most) = (whole.size(), room.size());
        if size.x > most.x || size.y > most.y {
            return Err(size);
        }
        let by = 0.5 * (room.low + room.high) - 0.5 * (whole.low + whole.high);
        blocks.iter_mut().for_each(|block| block.moved(by));
        let free = free_corner(&blocks, field);
        let items = blocks.into_iter().flat_map(|block| block.items).collect();
        Ok(Arranged { items, free, left })
    }

    /// A view at a scale, its origin being the handle's.
    fn block(&self, view: &View, scale: f64, left: &mut Vec<usize>) -> Block {
        let eye = view.lines.eye();
        let flat = |p: Vec2| Vec2::new(p.x, -p.y) * scale;
        let runs = |pen: Pen, runs: &[Vec<Vec2>]| -> Vec<Item> {
            let run = |run: &Vec<Vec2>| Item::Line {
                pen,
                points: run.iter().map(|p| flat(*p)).collect(),
            };
            runs.iter().map(run).collect()
        };
        let mut items = Vec::new();
        for [a, b] in view.lines.hatched(HATCHING / scale) {
            items.push(Item::line(Pen::Thin, flat(a), flat(b)));
        }
        items.extend(runs(Pen::Hidden, &view.lines.hidden));
        items.extend(runs(Pen::Seen, &view.lines.seen));
        items.extend(runs(Pen::Seen, &view.lines.cut));
        let zero = Extent { low: Vec2::zeros(), high: Vec2::zeros() };
        let extent = |items: &[Item]| items.iter().filter_map(Item::extent).reduce(Extent::joined);
        let drawn = extent(&items).unwrap_or(zero);
        items.extend(self.axes.iter().flat_map(|axis| centre_lines(axis, eye, scale)));
        if let Some(plane) = self.cut_plane(view, scale, &drawn) {
            items.extend(plane);
        }
        let body = extent(&items).unwrap_or(drawn);
        let shown = view.sizes.iter().map(|&i| dimension(&self.sizes[i], eye, scale));
        let placed = place(&shown.collect::<Vec<Dimension>>(), &body);
        left.extend(placed.left.iter().map(|&i| view.sizes[i]));
        items.extend(placed.items);
        let words = match view.cut {
            Some(_) => format!("A-A: cut {}", view.place.words()),
            None => view.place.words().to_owned(),
        };
        let all = extent(&items).unwrap_or(body);
        let below =
            Vec2::new(0.5 * (drawn.low.x + drawn.high.x), all.high.y + CAPTION_GAP + CAPTION);
        items.push(Item::Text(Text::new(below, CAPTION, words).anchored(Anchor::Middle)));
        let extent = extent(&items).unwrap_or(all);
        Block { place: view.place, items, extent }
    }

    /// In an end view, where the side view is cut: a chain line with thick ends, arrows in the
    /// sense of the eye, and letters.
    fn cut_plane(&self, view: &View, scale: f64, drawn: &Extent) -> Option<Vec<Item>> {
        let side = self.views.iter().find(|v| v.place == Place::Side)?;
        let at = side.cut?;
        if !matches!(view.place, Place::Front | Place::Cap) {
            return None;
        }
        let (eye, toward) = (view.lines.eye(), side.lines.eye().toward());
        let x = eye.flat(toward * at).x * scale;
        let looks = -eye.flat(toward).x.signum();
        let (top, bottom) = (drawn.low.y - CENTRE, drawn.high.y + CENTRE);
        let mut items = vec![Item::line(Pen::Centre, Vec2::new(x, top), Vec2::new(x, bottom))];
        for (end, out) in [(top, -1.0), (bottom, 1.0)] {
            let tip = Vec2::new(x, end);
            items.push(Item::line(Pen::Seen, tip, tip + Vec2::new(0.0, out * 2.0)));
            let back = tip + Vec2::new(0.0, out);
            let head = back + Vec2::new(looks * 5.0, 0.0);
            items.push(Item::line(Pen::Thin, back, head));
            let wing = |y: f64| head + Vec2::new(-looks * 2.5, y);
            items.push(Item::Fill { points: vec![head, wing(0.33), wing(-0.33)], shade: 0.0 });
            let down = if out < 0.0 { 0.0 } else { LETTER };
            let beside = back + Vec2::new(-looks * LETTER, down + 0.5 * out);
            items.push(Item::Text(Text::new(beside, LETTER, "A").anchored(Anchor::Middle)));
        }
        Some(items)
    }
}

/// The corner of the field that no view stands in: beside the one that is above or below, on
/// the side of the one at an end.
fn free_corner(blocks: &[Block], field: &Extent) -> Extent {
    let side = blocks[0].extent;
    let mut free = *field;
    for block in &blocks[1..] {
        let own = block.extent;
        if own.high.x <= side.low.x {
            free.high.x = free.high.x.min(side.low.x);
        } else if own.low.x >= side.high.x {
            free.low.x = free.low.x.max(side.high.x);
        } else if own.low.y >= side.high.y {
            free.low.y = free.low.y.max(side.high.y);
        } else {
            free.high.y = free.high.y.min(side.low.y);
        }
    }
    let others: Vec<Extent> = blocks.iter().map(|b| b.extent).filter(|e| e.meets(&free)).collect();
    for other in others {
        let gaps = [
            (other.low.x - free.low.x, 0),
            (free.high.x - other.high.x, 1),
            (other.low.y - free.low.y, 2),
            (free.high.y - other.high.y, 3),
        ];
        let widest = gaps.into_iter().max_by(|a, b| a.0.total_cmp(&b.0)).map_or(0, |gap| gap.1);
        match widest {
            0 => free.high.x = other.low.x,
            1 => free.low.x = other.high.x,
            2 => free.high.y = other.low.y,
            _ => free.low.y = other.high.y,
        }
    }
    free.grown(-MARGIN)
}

/// Centre lines of an axis: a cross where it is seen from its end, a line where from its side.
fn centre_lines(axis: &RoundAxis, eye: &Eye, scale: f64) -> Vec<Item> {
    let flat = |p: Vec3| {
        let p = eye.flat(p);
        Vec2::new(p.x, -p.y) * scale
    };
    let at = flat(axis.at);
    let line = |way: Vec2, half: f64| Item::line(Pen::Centre, at - way * half, at + way * half);
    let toward = axis.along.dot(&eye.toward()).abs();
    if toward > 1.0 - SAME {
        let reach = axis.radius * scale + CENTRE;
        vec![line(Vec2::x(), reach), line(Vec2::y(), reach)]
    } else if toward < SAME {
        let way = flat(axis.along) / scale;
        vec![line(way, axis.half * scale + CENTRE)]
    } else {
        Vec::new()
    }
}

/// A size as a dimension of a view.
fn dimension(size: &Size, eye: &Eye, scale: f64) -> Dimension {
    let flat = |p: Vec3| {
        let p = eye.flat(p);
        Vec2::new(p.x, -p.y) * scale
    };
    let level = size.along.dot(&eye.right()).abs() > 0.5;
    Dimension {
        key: size.key.clone(),
        what: size.what.clone(),
        value: size.value,
        text: words(size),
        ends: size.ends.map(flat),
        way: if level { Way::Level } else { Way::Upright },
    }
}

/// A size with its tolerance, to a hundredth of a millimetre, which a caliper shows.
pub(super) fn words(size: &Size) -> String {
    let hundredth = |value: f64| number((value * 100.0).round() / 100.0);
    let sign = if size.round { "Ø" } else { "" };
    let tolerance = match size.tolerance.map(|(low, high)| (hundredth(low), hundredth(high))) {
        Some((low, high)) if low == format!("-{high}") => format!(" ±{high}"),
        Some((low, high)) => {
            let signed =
                |text: String| if text.starts_with('-') { text } else { format!("+{text}") };
            format!(" {}/{}", signed(high), signed(low))
        }
        None => String::new(),
    };
    format!("{sign}{}{tolerance}", hundredth(size.value))
}
