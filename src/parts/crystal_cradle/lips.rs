//! Two lips over the stone's ends, and how the stone gets under them.
//!
//! A stiff stone cannot drop straight under two lips. It goes in tipped: its
//! far end under the deep lip first, then the pixel's end drops past the other
//! lip, then it slides home under that one. The seat must be longer than the
//! stone for that; how much is worked out in the side view.

use super::seat::Keep;
use super::stone::Stone;
use crate::measure::Vec2;

/// Longest way that the stone may slide, mm. Common practice, no source.
const MOST_SLIDE: f64 = 20.0;
/// Steps in which the slide is found, mm.
const SLIDE_STEP: f64 = 0.1;
/// Steps of the tipping angle, degrees, and the steepest tried.
const TIP_STEP: f64 = 0.5;
const MOST_TIP: f64 = 80.0;
/// Points on each edge of the side view.
const EDGE_POINTS: usize = 24;

/// Lips that the stone can get under.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lips {
    /// Length of the lip at the pixel's end, mm.
    pub near: f64,
    /// Length of the lip at the other end, mm.
    pub far: f64,
    /// How far the stone slides home, mm.
    pub slide: f64,
    /// How far the stone tips on its way, degrees.
    pub tip: f64,
    /// Length of the seat, mm.
    pub seat: f64,
}

/// The stone from the side: distance from the end that goes under the deep
/// lip, and height, mm.
fn side_view(stone: &Stone, pixel_low: bool) -> Vec<Vec2> {
    let length = stone.length();
    let along = |at: f64| if pixel_low { length - at } else { at };
    let line = |up: f64| {
        let points: Vec<Vec2> = stone
            .sections
            .iter()
            .map(|s| Vec2::new(along(s.at), up * s.support(Vec2::new(0.0, up))))
            .collect();
        points
    };
    let (low, high) = (line(-1.0), line(1.0));
    let mut outline = low.clone();
    outline.extend(high.iter().rev());
    let next = outline.iter().cycle().skip(1);
    let between = |(a, b): (&Vec2, &Vec2)| -> Vec<Vec2> {
        let (a, b) = (*a, *b);
        (0..EDGE_POINTS).map(|k| a + (b - a) * (k as f64 / EDGE_POINTS as f64)).collect()
    };
    outline.iter().zip(next).flat_map(between).collect()
}

impl Lips {
    /// The shortest lips that overlap both ends of the stone by `overlap` mm at
    /// home and that it can get under; `top` is the height of the lips' outer
    /// side. None if it cannot, with a slide up to 20 mm.
    pub fn find(
        stone: &Stone,
        keep: Keep,
        overlap: f64,
        pixel_low: bool,
        top: f64,
    ) -> Option<Lips> {
        let view = side_view(stone, pixel_low);
        let length = stone.length();
        let steps = (MOST_SLIDE / SLIDE_STEP).round() as usize;
        let lips = |k: usize| {
            let spare = 2.0 * keep.clearance + SLIDE_STEP * k as f64;
            Lips {
                near: overlap + keep.clearance,
                far: 2.0 * overlap + spare,
                slide: overlap + spare - keep.clearance,
                tip: 0.0,
                seat: length + keep.clearance + overlap + spare,
            }
        };
        let way = |k: usize| lips(k).way_in(stone, &view, keep, pixel_low, top);
        // A longer slide only deepens the lip: what goes in, goes in then too.
        way(steps)?;
        let (mut no, mut yes) = (0, steps);
        if way(0).is_some() {
            yes = 0;
        }
        while yes - no > 1 {
            let middle = (no + yes) / 2;
            if way(middle).is_some() { yes = middle } else { no = middle }
        }
        Some(Lips { tip: way(yes)?, ..lips(yes) })
    }

    /// The tipping angle, degrees, at which the stone comes free of the deep
    /// lip, if there is a way from home to there.
    fn way_in(
        &self,
        stone: &Stone,
        view: &[Vec2],
        keep: Keep,
        pixel_low: bool,
        top: f64,
    ) -> Option<f64> {
        let length = stone.length();
        let under = |from: f64, to: f64| {
            let (from, to) = if pixel_low { (length - to, length - from) } else { (from, to) };
            stone.reach(from, to, Vec2::y()) + keep.clearance
        };
        let deep = under(0.0, self.far);
        let near = under(length - self.near, length);
        let floor = view.iter().map(|p| p.y).fold(f64::INFINITY, f64::min) - keep.clearance;
        let mut angle = 0.0;
        while angle <= MOST_TIP {
            let (sin, cos) = f64::to_radians(angle).sin_cos();
            let tipped: Vec<Vec2> = view
                .iter()
                .map(|p| Vec2::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos))
                .collect();
            let drop = floor - tipped.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
            let (mut least, mut most, mut free) =
                (f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY);
            for p in tipped.iter().map(|p| Vec2::new(p.x, p.y + drop)).filter(|p| p.y <= top) {
                least = least.max(-p.x);
                most = most.min(self.seat - p.x);
                free = free.max(self.far - p.x);
                if p.y >= deep {
                    least = least.max(self.far - p.x);
                }
                if p.y >= near {
                    most = most.min(self.seat - self.near - p.x);
                }
            }
            if least > most {
                return None;
            }
            if free <= most {
                return Some(angle);
            }
            angle += TIP_STEP;
        }
        None
    }
}
