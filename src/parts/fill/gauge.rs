//! Where a caliper reads how large a body is that was filled out.

use super::super::caliper::{Caliper, at};
use crate::measure::Vec2;
use crate::section::{Region, Seg};
use crate::solid::{Levels, Solid};

/// So high is an outside at least that jaws lie on, mm. Common practice, no source.
const JAWS: f64 = 1.0;

/// Widths that differ by less are one, mm: the grid of sections.
const ONE_WIDTH: f64 = 1e-3;

/// How far the line that is drawn for a caliper reaches, mm: beyond every section.
const BEYOND: f64 = 500.0;

/// A line across a section and the stretch over which jaws could be moved.
struct Line {
    width: f64,
    middle: Vec2,
    room: f64,
}

/// The most that a caliper reads over a body along a level direction, mm, and where:
/// of places where it reads the same, the one with most room for the jaws. None if
/// nothing of it stands upright high enough for them.
pub(super) fn widest(solid: &Solid, along: Vec2) -> Option<(f64, Caliper)> {
    let levels = Levels::new(solid).ok()?;
    let heights = levels.heights();
    let upright = |ends: &&[f64]| ends[1] - ends[0] >= JAWS && levels.is_steady(ends[0], ends[1]);
    let mut best: Option<(Line, f64)> = None;
    for ends in heights.windows(2).filter(upright) {
        let (z, high) = (0.5 * (ends[0] + ends[1]), ends[1] - ends[0]);
        for mut line in lines(&levels.section(z), along) {
            line.room = line.room.min(high);
            let better = |(known, _): &(Line, f64)| {
                let more = line.width - known.width;
                more > ONE_WIDTH || (more > -ONE_WIDTH && line.room > known.room + ONE_WIDTH)
            };
            if best.as_ref().is_none_or(better) {
                best = Some((line, z));
            }
        }
    }
    let (line, z) = best?;
    Some((line.width, Caliper::over(at(line.middle, z), at(along, 0.0))))
}

/// Lines along a direction over a section: between each two of its corners, and
/// through the middles of its arcs, where these are widest.
fn lines(section: &Region, along: Vec2) -> Vec<Line> {
    let across = Vec2::new(-along.y, along.x);
    let segs = section.segs();
    let mut corners: Vec<f64> = segs.iter().map(|seg| seg.a.dot(&across)).collect();
    corners.sort_by(f64::total_cmp);
    corners.dedup_by(|b, a| *b - *a <= ONE_WIDTH);
    let between = corners.windows(2).map(|pair| (0.5 * (pair[0] + pair[1]), pair[1] - pair[0]));
    let middles = segs.iter().filter_map(|seg| Some((seg.arc?.centre.dot(&across), 0.0)));
    let line = |(off, room): (f64, f64)| {
        let from = across * off - along * BEYOND;
        let probe = Seg::line(from, from + along * (2.0 * BEYOND));
        let met = segs.iter().flat_map(|seg| {
            let (points, count) = probe.carriers_meet(seg);
            points.into_iter().take(count).filter(|p| seg.passes(*p))
        });
        let reach = |(low, high): (f64, f64), p: Vec2| {
            let place = p.dot(&along);
            (low.min(place), high.max(place))
        };
        let (low, high) = met.fold((f64::INFINITY, f64::NEG_INFINITY), reach);
        let middle = across * off + along * (0.5 * (low + high));
        (low < high).then_some(Line { width: high - low, middle, room })
    };
    between.chain(middles).filter_map(line).collect()
}
