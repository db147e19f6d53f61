//! The section of a cover, and its pieces as solids.

use super::super::Refusal;
use super::super::build::{self, Ends, Slab, chamfered};
use super::super::fixing::Axes;
use super::super::wedge::wedge;
use super::clips::Clips;
use super::spec::Cover;
use crate::measure::Vec2;
use crate::measure::frame::direction;
use crate::section::{Region, Seg};
use crate::solid::Solid;

/// How far cuts reach beyond the outside, mm.
const BEYOND: f64 = 2.0;

/// A piece that was made.
pub(super) struct Shape {
    pub solid: Solid,
    /// Chamfers made.
    pub made: Ends,
}

impl Shape {
    /// # Errors
    /// A section that makes no solid, with the place.
    pub(super) fn new(cover: &Cover, piece: usize) -> Result<Shape, Refusal> {
        let (bottom, top) = cover.pieces[piece];
        let slab = Slab { bottom, top, section: section(cover) };
        let (stack, made) = chamfered(&[slab], cover.ends);
        let solid = build::solid(&stack, &[], "the cover")?;
        Ok(Shape { solid, made })
    }
}

fn section(cover: &Cover) -> Region {
    let far = cover.fit.radius + BEYOND;
    let disc = |radius: f64| Region::disc(Vec2::zeros(), radius);
    let shell = disc(cover.fit.radius)
        .difference(&disc(cover.inner))
        .intersection(&wedge(cover.from, cover.to, far));
    let flats = cover.lands.iter().map(|l| l.axes.quad((-far, far), (l.height, far)));
    let shell = flats.fold(shell, |shell, flat| shell.difference(&flat));
    let Some(clips) = &cover.clips else { return shell };
    let axes = Axes::new(direction(cover.middle()));
    // Legs end in the middle of the shell's wall.
    let within = disc(0.5 * (cover.inner + cover.fit.radius));
    [1.0, -1.0].iter().fold(shell, |shell, &side| {
        let leg = leg(clips, &axes, side, far).intersection(&within);
        shell.union(&leg).union(&hook(clips, &axes, side))
    })
}

/// A leg from the height of its hook's tip up; `side` is 1 to the left.
fn leg(clips: &Clips, axes: &Axes, side: f64, far: f64) -> Region {
    let (a, b) = (side * clips.leg.0, side * clips.leg.1);
    axes.quad((a.min(b), a.max(b)), (clips.tip.1, far))
}

/// A hook, whose upper face is carried on to the leg's outer face.
fn hook(clips: &Clips, axes: &Axes, side: f64) -> Region {
    let (inner, outer) = clips.leg;
    let corners = [(outer, clips.end), (inner, clips.end), clips.tip, (outer, clips.back)];
    let mut points = corners.map(|(u, v)| axes.point(side * u, v));
    if side < 0.0 {
        points.reverse();
    }
    let n = points.len();
    let sides: Vec<Seg> = (0..n).map(|i| Seg::line(points[i], points[(i + 1) % n])).collect();
    Region::from_outlines(&[sides]).expect("four corners near the axis close")
}
