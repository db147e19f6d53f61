//! Dimensioned drawings of a job's bodies, one sheet each.

mod arrange;
mod sizes;
mod views;

#[cfg(test)]
mod tests;

use crate::export::drawing::{
    Anchor, Extent, Eye, Frame, Item, LINE_TOLERANCE, LineGroup, Paper, Pen, Projection, Sheet,
    Text, Title, line_mesh, round_axes, text_width, view_lines,
};
use crate::measure::{Vec2, Vec3, number};
use crate::mesh::{Mesh, MeshError};

use super::{Job, Made, MadeBody, fingerprint};
pub(super) use arrange::SCALES;
use arrange::{Arranged, Wanted, words};
pub use sizes::{Size, sizes};
use views::{View, up_of, views};

/// How drawings are wanted.
#[derive(Clone, Copy, Debug)]
pub struct DrawingWishes {
    /// The paper; default A4.
    pub paper: Paper,
    /// How views are laid out; default first angle.
    pub projection: Projection,
    /// Whether the scale is 1:1 whatever fits, with a bar to check the print with; default no.
    pub actual_size: bool,
}

impl Default for DrawingWishes {
    fn default() -> Self {
        Self { paper: Paper::A4, projection: Projection::First, actual_size: false }
    }
}

/// A body's sheet.
#[derive(Clone, Debug)]
pub struct BodyDrawing {
    /// The body's name.
    pub body: String,
    /// Its sheet.
    pub sheet: Sheet,
}

/// Why a body cannot be drawn.
#[derive(Clone, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DrawingError {
    /// It has no mesh as fine as lines need.
    #[error("{body} cannot be drawn: {source}")]
    Mesh {
        /// The body.
        body: String,
        /// Why.
        source: MeshError,
    },
    /// It is larger than the paper.
    #[error(
        "{body} takes {:.0} x {:.0} mm with its dimensions at {scale}; the sheet {} has room for {:.0} x {:.0}",
        size.x, size.y, paper.word(), room.x, room.y
    )]
    TooLarge {
        /// The body.
        body: String,
        /// What it takes, mm.
        size: Vec2,
        /// The scale that was tried last.
        scale: String,
        /// The paper.
        paper: Paper,
        /// The room on it, mm.
        room: Vec2,
    },
}

/// Which views are kept, best first, where a body that is drawn at 1:1 leaves no room for all:
/// from the side, from an end, from above or below.
const KEPT: [&[usize]; 3] = [&[0, 1, 2], &[0, 2], &[0]];
/// Height of the letters of notes, and from line to line, mm.
const NOTE: f64 = 1.8;
const NOTE_STEP: f64 = 3.4;
/// From the border to notes, mm.
const INSET: f64 = 2.0;
/// Length of the bar that a print at 1:1 is checked with, mm.
const CHECK_BAR: f64 = 50.0;
/// Smallest room that a picture of the body is put into, mm.
const PICTURE_LEAST: f64 = 28.0;
/// Share of that room that it fills at most.
const PICTURE_SHARE: f64 = 0.82;
/// How many characters of the fingerprint are printed: enough to tell jobs apart.
const PRINTED_FINGERPRINT: usize = 16;

/// A sheet for each body of a job; those of `only`, if it names any. `stamp` is the time stamp
/// of the job's files.
///
/// # Errors
/// A body that cannot be drawn, or is too large for the paper.
pub fn drawings(
    job: &Job,
    made: &[Made],
    stamp: &str,
    wishes: &DrawingWishes,
    only: &[String],
) -> Result<Vec<BodyDrawing>, DrawingError> {
    let wanted = |made: &MadeBody| only.is_empty() || only.contains(&made.body.name);
    let bodies: Vec<(&Made, &MadeBody)> = made
        .iter()
        .flat_map(|part| part.bodies.iter().map(move |body| (part, body)))
        .filter(|(_, body)| wanted(body))
        .collect();
    let title = Title {
        handle: job.handle().name().to_owned(),
        material: profile(job, "material"),
        printer: profile(job, "printer"),
        tolerance: format!("±{}", number(job.print().component("printer").number("accuracy"))),
        fingerprint: fingerprint(job).chars().take(PRINTED_FINGERPRINT).collect(),
        date: day(stamp),
        ..Title::default()
    };
    let count = bodies.len();
    let draw = |(i, (part, body)): (usize, &(&Made, &MadeBody))| {
        let title = Title {
            title: body.body.name.clone(),
            subject: part.kind.name.replace('_', " "),
            part: part.name.clone(),
            sheet: format!("{} / {count}", i + 1),
            ..title.clone()
        };
        Drawing::new(body, wishes)?.sheet(title)
    };
    bodies.iter().enumerate().map(draw).collect()
}

/// The name of a printer or a material.
pub(super) fn profile(job: &Job, key: &str) -> String {
    job.print().component(key).profile().unwrap_or("your own").to_owned()
}

/// The day of a time stamp; empty for that of files without time.
pub(super) fn day(stamp: &str) -> String {
    let day = stamp.split('T').next().unwrap_or_default();
    if day == "1970-01-01" { String::new() } else { day.to_owned() }
}

/// A body that is about to be drawn.
struct Drawing<'a> {
    made: &'a MadeBody,
    wishes: &'a DrawingWishes,
    frame: Frame,
    mesh: Mesh,
    sizes: Vec<Size>,
    views: Vec<View>,
    /// Numbers of sizes that no view can show.
    unseen: Vec<usize>,
}

impl<'a> Drawing<'a> {
    fn new(made: &'a MadeBody, wishes: &'a DrawingWishes) -> Result<Drawing<'a>, DrawingError> {
        let body = || made.body.name.clone();
        let mesh = line_mesh(&made.body.solid)
            .map_err(|source| DrawingError::Mesh { body: body(), source })?;
        let sizes = sizes(made, &mesh, up_of(made));
        let (views, unseen) = views(made, &mesh, &sizes);
        let frame = Frame { paper: wishes.paper };
        Ok(Drawing { made, wishes, frame, mesh, sizes, views, unseen })
    }

    fn sheet(&self, title: Title) -> Result<BodyDrawing, DrawingError> {
        let (arranged, scale) = self.arranged()?;
        let paper = self.wishes.paper.size();
        let title = Title { scale: format!("{}:{}", scale.0, scale.1), ..title };
        let mut items = self.frame.items(&title, Some(self.wishes.projection));
        items.extend(self.picture(&arranged.free));
        let mut left = self.unseen.clone();
        left.extend(arranged.left);
        left.sort_unstable();
        items.extend(arranged.items);
        items.extend(self.notes(&left));
        let body = &self.made.body.name;
        let sheet = Sheet {
            width: paper.x,
            height: paper.y,
            title: format!("{body}: dimensioned drawing, {}", title.scale),
            group: if scale.0 > scale.1 { LineGroup::Half } else { LineGroup::Third },
            items,
        };
        Ok(BodyDrawing { body: body.clone(), sheet })
    }

    /// The views at the largest scale that fits, or at 1:1.
    fn arranged(&self) -> Result<(Arranged, (u32, u32)), DrawingError> {
        let axes = round_axes(&self.made.body.solid);
        let wanted = |kept: &[usize]| Wanted {
            views: kept.iter().map(|&i| &self.views[i]).collect(),
            sizes: &self.sizes,
            axes: &axes,
            projection: self.wishes.projection,
        };
        let field = self.frame.field();
        let mut tried = (Vec2::zeros(), (1, 1));
        let (scales, choices) = match self.wishes.actual_size {
            false => (&SCALES[..], &KEPT[..1]),
            true => (&[(1, 1)][..], &KEPT[..]),
        };
        for (scale, kept) in scales.iter().flat_map(|s| choices.iter().map(move |k| (*s, *k))) {
            match wanted(kept).at(f64::from(scale.0) / f64::from(scale.1), &field) {
                Ok(mut arranged) => {
                    let dropped = (0..self.views.len()).filter(|i| !kept.contains(i));
                    arranged.left.extend(dropped.flat_map(|i| self.views[i].sizes.iter().copied()));
                    return Ok((arranged, scale));
                }
                Err(size) => tried = (size, scale),
            }
        }
        let (size, (a, b)) = tried;
        Err(DrawingError::TooLarge {
            body: self.made.body.name.clone(),
            size,
            scale: format!("{a}:{b}"),
            paper: self.wishes.paper,
            room: field.size(),
        })
    }

    /// A picture of the body in a free corner, if that is large enough.
    fn picture(&self, free: &Extent) -> Vec<Item> {
        let room = free.size();
        if room.x < PICTURE_LEAST || room.y < PICTURE_LEAST {
            return Vec::new();
        }
        let lines = view_lines(&self.made.body.solid, &self.mesh, &self.oblique(), None);
        let flipped = |p: &Vec2| Vec2::new(p.x, -p.y);
        let points = lines.seen.iter().flatten().map(flipped);
        let Some(extent) = Extent::around(points) else { return Vec::new() };
        let words = Text::new(Vec2::zeros(), NOTE, "not to scale").anchored(Anchor::Middle);
        let size = extent.size();
        let scale =
            (PICTURE_SHARE * room.x / size.x).min((PICTURE_SHARE * room.y - NOTE_STEP) / size.y);
        let middle = 0.5 * (free.low + free.high) - Vec2::new(0.0, 0.5 * NOTE_STEP);
        let centre = 0.5 * (extent.low + extent.high);
        let place = |p: &Vec2| middle + (flipped(p) - centre) * scale;
        let mut items: Vec<Item> = lines
            .seen
            .iter()
            .map(|run| Item::Line { pen: Pen::Thin, points: run.iter().map(place).collect() })
            .collect();
        let below = middle.y + 0.5 * size.y * scale + NOTE_STEP;
        items.push(Item::Text(Text { at: Vec2::new(middle.x, below), ..words }));
        items
    }

    /// An eye before the front, beside and above the body.
    fn oblique(&self) -> Eye {
        let up = up_of(self.made);
        let aside = Vec3::z().cross(&up);
        let toward = (-aside * 0.6 + up * 0.55 + Vec3::z() * 0.6).normalize();
        let right = up.cross(&toward).normalize();
        Eye::new(right, toward.cross(&right))
    }

    /// Beside the title block: the bar to check a print with, sizes that no view has room for,
    /// and how exact the lines are.
    fn notes(&self, left: &[usize]) -> Vec<Item> {
        let corner = self.frame.corner();
        let mut items = Vec::new();
        let mut at = corner.low + Vec2::new(INSET, INSET + NOTE);
        let say = |text: String, size: Option<&Size>, at: &mut Vec2, items: &mut Vec<Item>| {
            let text = Text::new(*at, NOTE, text);
            let text = match size {
                Some(size) => text
                    .with("key", size.key.clone())
                    .with("value", size.value.to_string())
                    .with("what", size.what.clone()),
                None => text,
            };
            items.push(Item::Text(text));
            at.y += NOTE_STEP;
        };
        if self.wishes.actual_size {
            items.extend(check_bar(at));
            at.y += 2.5 * NOTE_STEP;
        }
        let most = ((corner.high.y - INSET - at.y) / NOTE_STEP) as usize;
        let whole = format!("lines within {LINE_TOLERANCE} mm of the solid");
        let shown = if left.len() <= most { left.len() } else { most.saturating_sub(1) };
        for &number in &left[..shown] {
            let size = &self.sizes[number];
            let text = within(&format!("{}  {}", words(size), size.what), &corner);
            say(text, Some(size), &mut at, &mut items);
        }
        if shown < left.len() {
            let text = format!("and {} more sizes in report.txt", left.len() - shown);
            say(text, None, &mut at, &mut items);
        }
        say(whole, None, &mut at, &mut items);
        items
    }
}

/// A note, cut where the corner ends: its number stands first.
fn within(text: &str, corner: &Extent) -> String {
    let room = corner.size().x - 2.0 * INSET;
    let mut kept = text.to_owned();
    while text_width(&kept, NOTE, false) > room && kept.pop().is_some() {}
    kept
}

/// A bar of [`CHECK_BAR`] mm from a place, with what it is for.
fn check_bar(at: Vec2) -> Vec<Item> {
    let end = at + Vec2::new(CHECK_BAR, 0.0);
    let tick = |p: Vec2| Item::line(Pen::Seen, p - Vec2::new(0.0, 1.2), p + Vec2::new(0.0, 1.2));
    let words = format!("{CHECK_BAR} mm on paper, or this is not 1:1");
    let text = Text::new(at + Vec2::new(0.0, NOTE_STEP + 0.6), NOTE, words);
    let text = text.with("check-bar", CHECK_BAR.to_string());
    vec![Item::line(Pen::Seen, at, end), tick(at), tick(end), Item::Text(text)]
}
