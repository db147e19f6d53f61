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
const SLIDE_STEP: f64 = 0.5;
/// Most and step of the room above the stone under the deep lip, mm.
const MOST_LIFT: f64 = 8.0;
const LIFT_STEP: f64 = 0.1;
/// Steps of the tipping angle, degrees, and the steepest tried.
const TIP_STEP: f64 = 1.0;
const MOST_TIP: f64 = 80.0;
/// Points around the side view, about.
const POINTS: usize = 160;

/// Lips that the stone can get under.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lips {
    /// Length of the lip at the pixel's end, mm.
    pub near: f64,
    /// Length of the lip at the other end, mm.
    pub far: f64,
    /// How far the stone slides home, mm.
    pub slide: f64,
    /// Room above the stone under the deep lip, beyond the clearance, mm.
    pub lift: f64,
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
    let each = (POINTS / outline.len()).max(2);
    let next = outline.iter().cycle().skip(1);
    let between = |(a, b): (&Vec2, &Vec2)| -> Vec<Vec2> {
        let (a, b) = (*a, *b);
        (0..each).map(|k| a + (b - a) * (k as f64 / each as f64)).collect()
    };
    outline.iter().zip(next).flat_map(between).collect()
}

impl Lips {
    /// The tightest lips that overlap both ends of the stone by `overlap` mm at
    /// home and that it can get under; `top` is the height of the lips' outer
    /// side, and no lip is thinner than `wall`. None if it cannot, with a slide
    /// up to 20 mm.
    pub fn find(
        stone: &Stone,
        keep: Keep,
        overlap: f64,
        pixel_low: bool,
        (top, wall): (f64, f64),
    ) -> Option<Lips> {
        let view = side_view(stone, pixel_low);
        let length = stone.length();
        let lips = |slide: usize, lift: usize| {
            let spare = 2.0 * keep.clearance + SLIDE_STEP * slide as f64;
            Lips {
                near: overlap + keep.clearance,
                far: 2.0 * overlap + spare,
                slide: overlap + spare - keep.clearance,
                lift: LIFT_STEP * lift as f64,
                tip: 0.0,
                seat: length + keep.clearance + overlap + spare,
            }
        };
        let way = |slide: usize, lift: usize| {
            lips(slide, lift).way_in(stone, &view, keep, pixel_low, top)
        };
        // More room only lifts the lip: what goes in, goes in then too. Of all
        // slides the one that leaves the least room around the stone.
        let slides = (MOST_SLIDE / SLIDE_STEP).round() as usize;
        let lifts = (MOST_LIFT / LIFT_STEP).round() as usize;
        let mut best: Option<(f64, Lips)> = None;
        for slide in 0..=slides {
            let room = top - wall - lips(slide, 0).deep(stone, keep, pixel_low);
            if room < 0.0 {
                continue;
            }
            let most = lifts.min((room / LIFT_STEP) as usize);
            let Some(lift) = first(most, |lift| way(slide, lift).is_some()) else { continue };
            let found = lips(slide, lift);
            let rattle = found.lift + found.slide / 2.0;
            if best.is_none_or(|(least, _)| rattle < least) {
                best = way(slide, lift).map(|tip| (rattle, Lips { tip, ..found }));
            }
        }
        best.map(|(_, lips)| lips)
    }

    /// The least tipping angle, degrees, at which a stone at home comes out past
    /// bars that reach `overlap` mm over its ends, low and high, with undersides at
    /// the heights `under` and outer sides at `top`, mm; none if it cannot. The
    /// floor is taken as flat, as low as the stone's lowest place.
    pub fn tips_out(
        stone: &Stone,
        keep: Keep,
        overlap: f64,
        under: [f64; 2],
        top: f64,
    ) -> Option<f64> {
        let over = overlap + keep.clearance;
        let seat = stone.length() + 2.0 * keep.clearance;
        let home = Lips { near: over, far: over, slide: 0.0, lift: 0.0, tip: 0.0, seat };
        // Either end may come out first.
        let ways = [(true, (under[1], under[0])), (false, (under[0], under[1]))];
        let found = ways.map(|(pixel_low, under)| {
            home.way_under(&side_view(stone, pixel_low), keep, under, top)
        });
        found.into_iter().flatten().min_by(f64::total_cmp)
    }

    /// Heights of the undersides of the lips at the low and the high end once foam
    /// fills the room that the way in needs, mm.
    pub fn under(&self, stone: &Stone, keep: Keep, pixel_low: bool) -> [f64; 2] {
        let length = stone.length();
        let held = self.near.min(length);
        let (from, to) = if pixel_low { (0.0, held) } else { (length - held, length) };
        let near = stone.reach(from, to, Vec2::y()) + keep.clearance;
        let deep = self.deep(stone, keep, pixel_low) - self.lift;
        if pixel_low { [near, deep] } else { [deep, near] }
    }

    /// Height of the deep lip's underside, mm.
    fn deep(&self, stone: &Stone, keep: Keep, pixel_low: bool) -> f64 {
        let length = stone.length();
        let far = self.far.min(length);
        let (from, to) = if pixel_low { (length - far, length) } else { (0.0, far) };
        stone.reach(from, to, Vec2::y()) + keep.clearance + self.lift
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
        let under = self.under(stone, keep, pixel_low);
        let (deep, near) = if pixel_low { (under[1], under[0]) } else { (under[0], under[1]) };
        self.way_under(view, keep, (deep + self.lift, near), top)
    }

    /// The same under lips whose undersides are at the heights `deep` and `near`,
    /// mm.
    fn way_under(
        &self,
        view: &[Vec2],
        keep: Keep,
        (deep, near): (f64, f64),
        top: f64,
    ) -> Option<f64> {
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

/// The first of `0..=most` that is good, if all after a good one are good.
fn first(most: usize, good: impl Fn(usize) -> bool) -> Option<usize> {
    if !good(most) {
        return None;
    }
    let (mut no, mut yes) = (0, most);
    if good(0) {
        return Some(0);
    }
    while yes - no > 1 {
        let middle = (no + yes) / 2;
        if good(middle) { yes = middle } else { no = middle }
    }
    Some(yes)
}
