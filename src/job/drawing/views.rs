//! Which views a body is drawn in, and which sizes each of them shows.

use super::sizes::Size;
use crate::export::drawing::{Eye, ViewLines, view_lines};
use crate::job::MadeBody;
use crate::measure::{Vec2, Vec3};
use crate::mesh::Mesh;

/// Hidden lines of the side view, as a share of its seen ones, from which a section shows the
/// inside better. Common practice, no source.
const CROWDED: f64 = 0.6;

/// How far from a measured place the air beside it is looked at, mm.
const BESIDE: f64 = 0.02;

/// Directions that differ by less than this are one.
const SAME: f64 = 1e-6;

/// Where a view stands among the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// In the middle: from the side, the cap on the left.
    Side,
    /// What is seen from the front, which lies on the right.
    Front,
    /// What is seen from the cap, which lies on the left.
    Cap,
    /// What is seen from above.
    Above,
    /// What is seen from below.
    Below,
}

impl Place {
    /// What stands below the view.
    pub(super) fn words(self) -> &'static str {
        match self {
            Place::Side => "from the side, cap on the left",
            Place::Front => "from the front",
            Place::Cap => "from the end cap",
            Place::Above => "from above, the switches' side",
            Place::Below => "from below, the keel's side",
        }
    }

    fn eye(self, up: Vec3) -> Eye {
        let z = Vec3::z();
        let aside = z.cross(&up);
        match self {
            Place::Side => Eye::new(z, up),
            Place::Front => Eye::new(-aside, up),
            Place::Cap => Eye::new(aside, up),
            Place::Above => Eye::new(z, -aside),
            Place::Below => Eye::new(z, aside),
        }
    }
}

/// A view of a body.
pub(super) struct View {
    pub(super) place: Place,
    pub(super) lines: ViewLines,
    /// Where it is cut, along [`Eye::toward`].
    pub(super) cut: Option<f64>,
    /// Numbers of the sizes that it shows.
    pub(super) sizes: Vec<usize>,
}

/// The way that is up in the views of a body: the way it faces if it is printed lying; else
/// that to the switches, unless all that calipers read across the bore lies askew to it.
pub(super) fn up_of(made: &MadeBody) -> Vec3 {
    let up = made.up();
    if up.z.abs() < SAME {
        return if up.y < 0.0 { -up } else { up };
    }
    let calipers = made.body.computed.iter().filter_map(|row| row.caliper);
    let across = calipers.map(|caliper| caliper.along).filter(|along| along.z.abs() < SAME);
    let is_askew = |along: &Vec3| along.x.abs() > SAME && along.y.abs() > SAME;
    let (askew, straight): (Vec<Vec3>, Vec<Vec3>) = across.partition(is_askew);
    match askew.first() {
        Some(along) if straight.is_empty() => upward(*along),
        _ => Vec3::y(),
    }
}

/// Of a direction across the bore, its opposite and those square to it, that which is nearest
/// to +y.
fn upward(along: Vec3) -> Vec3 {
    let aside = Vec3::z().cross(&along);
    let all = [along, aside, -along, -aside];
    all.into_iter().max_by(|a, b| a.y.total_cmp(&b.y)).unwrap_or(Vec3::y())
}

/// The views of a body: from the side (cut through the axis if too much is hidden there), the
/// end and the face that show more; and numbers of the sizes that none of them can show.
pub(super) fn views(made: &MadeBody, mesh: &Mesh, sizes: &[Size]) -> (Vec<View>, Vec<usize>) {
    let up = up_of(made);
    let draw = |place: Place, cut: Option<f64>| {
        let lines = view_lines(&made.body.solid, mesh, &place.eye(up), cut);
        View { place, lines, cut, sizes: Vec::new() }
    };
    let mut side = draw(Place::Side, None);
    let length = |runs: &[Vec<Vec2>]| ViewLines::length(runs);
    if length(&side.lines.hidden) > CROWDED * length(&side.lines.seen) {
        side = draw(Place::Side, Some(through(made, side.lines.eye())));
    }
    let better = |one: View, other: View| {
        let worth = |view: &View| {
            let shown = sizes.iter().filter(|size| shows(view, size) == Shows::Seen).count();
            (shown, length(&view.lines.seen))
        };
        let (a, b) = (worth(&one), worth(&other));
        if b.0 > a.0 || (b.0 == a.0 && b.1 > a.1 + SAME) { other } else { one }
    };
    let end = better(draw(Place::Front, None), draw(Place::Cap, None));
    let face = better(draw(Place::Above, None), draw(Place::Below, None));
    let mut views = vec![side, end, face];
    let mut left = Vec::new();
    for (number, size) in sizes.iter().enumerate() {
        let by = |wanted: Shows| views.iter().position(|view| shows(view, size) == wanted);
        match by(Shows::Seen).or_else(|| by(Shows::Hidden)) {
            Some(view) => views[view].sizes.push(number),
            None => left.push(number),
        }
    }
    (views, left)
}

/// Where the side view is cut: through the bore's axis, or the body's middle beside it.
fn through(made: &MadeBody, eye: &Eye) -> f64 {
    let way = eye.toward();
    let (low, high) =
        (made.body.solid.furthest(-way).dot(&way), made.body.solid.furthest(way).dot(&way));
    // The axis itself, if the body lies on both sides of it with a fair share.
    let fair = 0.2 * (high - low);
    if low + fair < 0.0 && high - fair > 0.0 { 0.0 } else { 0.5 * (low + high) }
}

/// How a view shows a size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shows {
    /// Its places are in sight.
    Seen,
    /// They are hidden, and drawn so.
    Hidden,
    /// Not at all.
    Not,
}

fn shows(view: &View, size: &Size) -> Shows {
    let eye = view.lines.eye();
    let is = |way: Vec3| size.along.cross(&way).norm() < SAME;
    if !(is(eye.right()) || is(eye.up())) {
        return Shows::Not;
    }
    let [from, to] = size.ends;
    // The air beside a place: towards the other across a gap, away from it over material.
    let apart = size.along * (size.along.dot(&(to - from)).signum() * BESIDE);
    let away = if size.open { apart } else { -apart };
    let places = [from + away, to - away];
    if places.iter().all(|p| view.lines.sees(*p)) {
        return Shows::Seen;
    }
    let outer = !size.open && view.cut.is_some();
    let kept = |p: &Vec3| view.cut.is_none_or(|cut| eye.see(*p).z <= cut);
    match view.cut {
        // A section has no hidden lines, but its outline is there.
        Some(_) if outer && places.iter().all(kept) => Shows::Hidden,
        Some(_) => Shows::Not,
        None => Shows::Hidden,
    }
}
