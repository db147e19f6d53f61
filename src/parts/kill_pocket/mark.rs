//! The marks for on and off: the line and the circle of IEC 60417 (5007 and
//! 5008, symbols from memory), both in one for a push switch (5010).

use super::spec::Spec;
use crate::measure::Vec2;
use crate::section::{Region, snap};

/// Height of marks where none is asked for, mm. Common practice, no source.
const MARK: f64 = 4.0;
/// Narrowest line of a mark that is read at arm's length, mm. Common practice,
/// no source.
const LINE: f64 = 0.8;
/// Least height over the line's width: the circle's inside is twice the line.
const LEAST: f64 = 4.0;
/// Step by which marks are made smaller, mm.
const STEP: f64 = 0.2;

/// Marks in the face.
#[derive(Clone, Debug)]
pub(super) struct Marks {
    /// Height of a mark and width of its line, mm.
    pub height: f64,
    pub line: f64,
    /// Length of the line that means on, mm.
    pub bar: f64,
    /// How deep they are sunk, mm.
    pub depth: f64,
    /// Middles of the line (on) and of the circle (off), mm.
    pub on: Vec2,
    pub off: Vec2,
    pub region: Region,
}

/// Heights that are tried, mm, largest first.
pub(super) fn heights(spec: &Spec) -> Vec<f64> {
    let least = legible(spec);
    match spec.mark {
        Some(asked) => vec![asked].into_iter().filter(|m| *m >= least).collect(),
        None => {
            let most = MARK.max(least);
            let steps = ((most - least) / STEP).floor() as i32;
            (0..=steps).map(|i| snap(most - f64::from(i) * STEP)).collect()
        }
    }
}

/// The smallest legible height, mm.
pub(super) fn legible(spec: &Spec) -> f64 {
    let line = spec.engrave.max(LINE);
    if spec.switch.push {
        // A line twice as long as wide, with a wall around it, in the circle.
        let least = 2.0 * (line + spec.wall.max(line) + line.hypot(0.5 * line));
        snap((least / STEP).ceil() * STEP)
    } else {
        snap(LEAST * line)
    }
}

/// Length of the line of marks, mm: in a circle, its corners keep a wall away
/// from it.
fn length(spec: &Spec, height: f64, line: f64) -> f64 {
    if !spec.switch.push {
        return height;
    }
    let reach = 0.5 * height - line - spec.wall.max(line);
    snap(2.0 * (reach * reach - 0.25 * line * line).max(0.0).sqrt())
}

impl Marks {
    /// Marks of a height, beyond the sink's ends or beside it; `sink` holds half
    /// its length and width, mm. None if the face has no room there.
    pub(super) fn new(spec: &Spec, centre: Vec2, sink: (f64, f64), height: f64) -> Option<Marks> {
        let line = snap(spec.engrave.max(LINE));
        let gap = spec.wall.max(line) + 0.5 * height;
        // Beyond its ends, or beside it at these.
        let beyond = (sink.0 + gap, 0.0);
        let side = (spec.switch.swept().0.max(0.5 * height + line), sink.1 + gap);
        [beyond, side, (side.0, -side.1)].into_iter().find_map(|(along, across)| {
            let at = |along: f64| {
                let p = centre + spec.axes.point(across, along);
                Vec2::new(snap(p.x), snap(p.y))
            };
            let (on, off) = (at(along), if spec.switch.push { at(along) } else { at(-along) });
            let bar = length(spec, height, line);
            let region = drawn(spec, on, off, height, line, bar);
            let wide = region.offset(spec.wall);
            let clear = wide.difference(&spec.outside.region()).is_empty();
            clear.then_some(Marks { height, line, bar, depth: spec.mark_depth, on, off, region })
        })
    }
}

/// The circle around `off`, and the line across the travel at `on`.
fn drawn(spec: &Spec, on: Vec2, off: Vec2, height: f64, line: f64, bar: f64) -> Region {
    let ring = Region::disc(off, 0.5 * height).difference(&Region::disc(off, 0.5 * height - line));
    let (u, v) = (0.5 * bar, 0.5 * line);
    ring.union(&spec.axes.quad((-u, u), (-v, v)).moved(on))
}
