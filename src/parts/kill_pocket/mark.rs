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
/// The same of a circle with a line in it, which has room beside it.
const LEAST_BOTH: f64 = 6.0;
/// Step by which marks are made smaller, mm.
const STEP: f64 = 0.2;

/// Marks in the face.
#[derive(Clone, Debug)]
pub(super) struct Marks {
    /// Height of a mark and width of its line, mm.
    pub height: f64,
    pub line: f64,
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
    let lines = if spec.switch.push { LEAST_BOTH } else { LEAST };
    snap(lines * spec.engrave.max(LINE))
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
            let region = drawn(spec, on, off, height, line);
            let wide = region.offset(spec.wall);
            let clear = wide.difference(&spec.outside.region()).is_empty();
            clear.then(|| Marks { height, line, depth: spec.mark_depth, on, off, region })
        })
    }
}

/// The circle around `off`, and the line across the travel at `on`.
fn drawn(spec: &Spec, on: Vec2, off: Vec2, height: f64, line: f64) -> Region {
    let ring = Region::disc(off, 0.5 * height).difference(&Region::disc(off, 0.5 * height - line));
    // Within the circle, the line keeps its own width away from it.
    let long = if spec.switch.push { height - 4.0 * line } else { height };
    let (u, v) = (0.5 * long, 0.5 * line);
    ring.union(&spec.axes.quad((-u, u), (-v, v)).moved(on))
}
