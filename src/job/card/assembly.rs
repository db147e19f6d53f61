//! The parts in the handle, cut along its middle and seen from the side.

use super::CardError;
use crate::export::drawing::{
    Anchor, Extent, Eye, Item, Pen, Text, ViewLines, circle, line_mesh, view_lines,
};
use crate::job::drawing::SCALES;
use crate::job::{Job, Made};
use crate::measure::{Vec2, Vec3};
use crate::solid::Solid;

/// Share of the field's height that the drawing fills at most, its numbers included.
const SHARE: f64 = 0.42;
/// From the handle to the numbers, their radius, and least room between them, mm.
const AWAY: f64 = 5.5;
const BALLOON: f64 = 2.5;
const APART: f64 = 5.6;
/// Height of numbers and words, mm.
const LETTERS: f64 = 1.9;
/// Between lines of hatching, mm.
const HATCHING: f64 = 1.6;
/// Shades of the handle's wall and of what is not printed: 1 is white.
const WALL: f64 = 0.82;
const BESIDE: f64 = 0.93;
/// Wall of a handle whose outside is not known, as a share of its bore: any will do.
const WALL_SHARE: f64 = 0.06;
/// How closely the place that a number points to is looked for, mm.
const TIP_STEP: f64 = 0.5;
/// How far a component may reach beyond the bore and still lie in it, mm.
const BEYOND: f64 = 0.6;

/// Low and high end of a part, mm from the end cap.
pub(super) fn reach(part: &Made) -> (f64, f64) {
    let ends = part.bodies.iter().map(|body| (body.bounds.0.z, body.bounds.1.z));
    ends.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))).unwrap_or((0.0, 0.0))
}

/// A handle with its parts, to be drawn.
pub(super) struct Assembly<'a> {
    made: &'a [Made],
    /// Length of the bore, radii of bore and outside, mm.
    length: f64,
    bore: f64,
    outside: f64,
    /// From the lowest to the highest place drawn, mm.
    span: (f64, f64),
    bodies: Vec<ViewLines>,
    components: Vec<ViewLines>,
}

impl<'a> Assembly<'a> {
    pub(super) fn new(job: &Job, made: &'a [Made]) -> Result<Assembly<'a>, CardError> {
        let bore = 0.5 * job.handle().bore().largest();
        let outside = job.handle().outside().map_or(bore * (1.0 + WALL_SHARE), |d| 0.5 * d);
        let length = job.handle().length();
        let all = || made.iter().flat_map(|part| &part.bodies);
        let cut = |name: &str, solid: &Solid| {
            let mesh = line_mesh(solid)
                .map_err(|source| CardError::Mesh { body: name.to_owned(), source })?;
            Ok(view_lines(solid, &mesh, &Eye::new(Vec3::z(), Vec3::y()), Some(0.0)))
        };
        let bodies = all().map(|body| cut(&body.body.name, &body.body.solid));
        let bodies: Vec<ViewLines> = bodies.collect::<Result<_, CardError>>()?;
        let names: Vec<&str> = all().map(|body| body.body.name.as_str()).collect();
        let within = |solid: &Solid| {
            let (low, high) = solid.bounds();
            [low.x, low.y, high.x, high.y].iter().all(|c| c.abs() <= bore + BEYOND)
        };
        let mut components = Vec::new();
        let declared = all().flat_map(|body| &body.body.declared.components);
        for component in declared.filter(|c| !names.contains(&c.name.as_str()) && within(&c.solid))
        {
            components.push(cut(&component.name, &component.solid)?);
        }
        let ends = made.iter().map(reach);
        let span = ends.fold((0.0, length), |a: (f64, f64), b| (a.0.min(b.0), a.1.max(b.1)));
        Ok(Assembly { made, length, bore, outside, span, bodies, components })
    }

    /// Largest scale at which it fits.
    fn scale(&self, field: &Extent) -> (u32, u32) {
        let size = field.size();
        let fits = |(a, b): &(u32, u32)| {
            let scale = f64::from(*a) / f64::from(*b);
            let around = 2.0 * (AWAY + 2.0 * BALLOON) + 2.0 * LETTERS;
            (self.span.1 - self.span.0) * scale <= size.x - 2.0 * AWAY
                && 2.0 * self.outside * scale + around <= SHARE * size.y
        };
        SCALES.into_iter().find(fits).unwrap_or(SCALES[SCALES.len() - 1])
    }

    pub(super) fn scale_words(&self, field: &Extent) -> String {
        let (a, b) = self.scale(field);
        format!("{a}:{b}")
    }

    /// What is drawn at the top of a field, and where the room below it begins.
    pub(super) fn items(&self, field: &Extent) -> (Vec<Item>, f64) {
        let (a, b) = self.scale(field);
        let scale = f64::from(a) / f64::from(b);
        let half = self.outside * scale;
        let middle = field.low.y + 2.0 * BALLOON + AWAY + half;
        let from = 0.5 * (field.low.x + field.high.x) - 0.5 * (self.span.0 + self.span.1) * scale;
        let place = |p: Vec2| Vec2::new(from + p.x * scale, middle - p.y * scale);
        let mut items = self.walls(&place);
        for lines in &self.components {
            items.extend(lines.cut.iter().map(|run| Item::Fill {
                points: run.iter().map(|p| place(*p)).collect(),
                shade: BESIDE,
            }));
            items.extend(runs(Pen::Thin, &lines.cut, &place));
        }
        for lines in &self.bodies {
            let hatched = lines.hatched(HATCHING / scale);
            let line = |[a, b]: [Vec2; 2]| Item::line(Pen::Thin, place(a), place(b));
            items.extend(hatched.into_iter().map(line));
            items.extend(runs(Pen::Seen, &lines.cut, &place));
        }
        let (low, high) = (place(Vec2::new(self.span.0, 0.0)), place(Vec2::new(self.span.1, 0.0)));
        let past = Vec2::new(3.0, 0.0);
        items.push(Item::line(Pen::Centre, low - past, high + past));
        let (top, bottom) = (middle - half - AWAY, middle + half + AWAY);
        items.extend(self.numbers(&place, (top, bottom), field));
        let words = [("end cap", low, Anchor::Start), ("front", high, Anchor::End)];
        let y = bottom + BALLOON + LETTERS + 2.0;
        items.extend(words.map(|(word, p, anchor)| {
            Item::Text(Text::new(Vec2::new(p.x, y), LETTERS, word).anchored(anchor))
        }));
        let words = "cut along the middle, seen from the side; grey: the handle and what is fitted";
        let at = Vec2::new(0.5 * (low.x + high.x), y);
        let words = Text::new(at, LETTERS, words).anchored(Anchor::Middle);
        items.push(Item::Text(words));
        (items, y + 2.0)
    }

    /// The handle's wall above and below the bore.
    fn walls(&self, place: &impl Fn(Vec2) -> Vec2) -> Vec<Item> {
        let mut items = Vec::new();
        for side in [1.0, -1.0] {
            let at = |z: f64, y: f64| place(Vec2::new(z, side * y));
            let (inner, outer) = (self.bore, self.outside);
            let corners =
                [at(0.0, inner), at(self.length, inner), at(self.length, outer), at(0.0, outer)];
            items.push(Item::Fill { points: corners.to_vec(), shade: WALL });
            let mut around = corners.to_vec();
            around.push(corners[0]);
            items.push(Item::Line { pen: Pen::Thin, points: around });
        }
        items
    }

    /// Numbers of the parts: above, or below of those that join the others.
    fn numbers(
        &self,
        place: &impl Fn(Vec2) -> Vec2,
        (top, bottom): (f64, f64),
        field: &Extent,
    ) -> Vec<Item> {
        let mut items = Vec::new();
        for joins in [false, true] {
            let parts = self.made.iter().enumerate().filter(|(_, p)| p.kind.joins() == joins);
            let mut spots: Vec<(usize, Vec2)> =
                parts.map(|(i, part)| (i + 1, place(self.tip(i, part, joins)))).collect();
            spots.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
            let xs: Vec<f64> = spots.iter().map(|(_, p)| p.x).collect();
            let xs = apart(&xs, (field.low.x + BALLOON, field.high.x - BALLOON));
            let y = if joins { bottom } else { top };
            for ((number, tip), x) in spots.into_iter().zip(xs) {
                let centre = Vec2::new(x, y);
                let end = centre + (tip - centre).normalize() * BALLOON;
                items.push(Item::line(Pen::Thin, end, tip));
                items.push(Item::Fill { points: circle(tip, 0.5), shade: 0.0 });
                items.push(Item::Line { pen: Pen::Thin, points: circle(centre, BALLOON) });
                let at = centre + Vec2::new(0.0, 0.5 * LETTERS);
                let text = Text::new(at, LETTERS, number.to_string()).anchored(Anchor::Middle);
                items.push(Item::Text(text.with("part", self.made[number - 1].name.clone())));
            }
        }
        items
    }

    /// The place that a part's number points to: in the material of its first body that is
    /// cut, nearest to its middle along the bore and its edge on the number's side.
    fn tip(&self, number: usize, part: &Made, joins: bool) -> Vec2 {
        let (low, high) = reach(part);
        let edge = if joins { -self.bore } else { self.bore };
        let wanted = Vec2::new(0.5 * (low + high), edge);
        let before: usize = self.made[..number].iter().map(|part| part.bodies.len()).sum();
        let lines = &self.bodies[before..before + part.bodies.len()];
        let cut = lines.iter().map(|lines| lines.hatched(TIP_STEP)).find(|cut| !cut.is_empty());
        let middles = cut.into_iter().flatten().map(|[a, b]| 0.5 * (a + b));
        middles.min_by(|a, b| (a - wanted).norm().total_cmp(&(b - wanted).norm())).unwrap_or(wanted)
    }
}

fn runs(pen: Pen, runs: &[Vec<Vec2>], place: &impl Fn(Vec2) -> Vec2) -> Vec<Item> {
    let run = |run: &Vec<Vec2>| Item::Line { pen, points: run.iter().map(|p| place(*p)).collect() };
    runs.iter().map(run).collect()
}

/// Rising places moved so that they are [`APART`] and within a range, as far as it has room.
fn apart(xs: &[f64], (low, high): (f64, f64)) -> Vec<f64> {
    let mut out: Vec<f64> = xs.to_vec();
    for i in 0..out.len() {
        let least = if i == 0 { low } else { out[i - 1] + APART };
        out[i] = out[i].max(least);
    }
    let mut most = high;
    for x in out.iter_mut().rev() {
        *x = x.min(most);
        most = *x - APART;
    }
    out
}
