//! How far two solids overlap, at rest and on a straight way.
//!
//! Both are seen level by level ([`Levels`]): between two heights that know no
//! other, sections either stay the same or change steadily. Where both stay
//! the same, one exact boolean of their sections decides. Elsewhere what each
//! covers between two heights is a bound that leaves nothing out; where the
//! bounds overlap the stretch is halved, down to [`STEP`]. A way across z
//! sweeps the sections, one along z joins those that pass a height.

use crate::measure::{Vec2, Vec3};
use crate::parts::Way;
use crate::section::Region;
use crate::solid::{Levels, Moving};

/// Overlaps that hold no disc of this diameter in any section, or are no
/// higher, mm, are contact: half the default chord tolerance of meshes. With
/// [`STEP`], no overlap is missed in which a ball as large as the chord
/// tolerance (0.01) has room: one of the sections looked at is at most half a
/// step off its middle and cuts a disc of 0.0087 out of it.
pub const CONTACT: f64 = 0.005;

/// Height, mm, to which changing sections are resolved.
const STEP: f64 = 0.005;

/// Change of a stretch's volume by halving it, as a share, at which it is
/// taken as known.
const VOLUME_SETTLED: f64 = 1e-4;

/// Halvings that find the largest disc in a section.
const DISC_HALVINGS: usize = 24;

/// Heights nearer than this, mm, meet.
const MEETS: f64 = 1e-4;

/// An overlap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overlap {
    /// How deep it is, mm: the height of its deepest run of sections, or the
    /// diameter of the largest disc in them, whichever is less.
    pub depth: f64,
    /// Its volume, mm3; on a way, of all that is passed.
    pub volume: f64,
    /// A point in its widest section, mm.
    pub at: Vec3,
    /// Between which heights, mm.
    pub heights: (f64, f64),
}

/// Sections could not be overlaid at this height, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unclear(pub f64);

/// How far `component` overlaps `body` where it sits, beyond `press` mm that it
/// may on purpose.
///
/// # Errors
/// [`Unclear`] where a section is not defined.
pub fn seated(
    body: &Levels<'_>,
    component: &Levels<'_>,
    press: f64,
) -> Result<Option<Overlap>, Unclear> {
    let eased = |r: Region| if press > 0.0 { r.offset(-press) } else { r };
    let mover = Mover {
        breaks: component.heights(),
        over: &|low, high| eased(component.shadow(low, high)),
        at: &|z| eased(component.section(z)),
        steady: &|low, high| component.is_steady(low, high),
        moving: &|low, high| if press > 0.0 { None } else { component.moving(low, high) },
    };
    Search { body, mover, runs: Vec::new() }.run()
}

/// How far `body` stands in the way of `component`; what it may push aside on
/// either side ([`Way::Across`]) does not count.
///
/// # Errors
/// [`Unclear`] where a section is not defined.
pub fn on_the_way(
    body: &Levels<'_>,
    component: &Levels<'_>,
    way: Way,
) -> Result<Option<Overlap>, Unclear> {
    match way {
        Way::Across { along, travel, aside } => {
            let (back, beside) = (-along * travel, Vec2::new(-along.y, along.x) * aside);
            let swept = |r: Region| {
                let swept = r.swept(back);
                if aside > 0.0 {
                    let (left, right) = (swept.moved(beside), swept.moved(-beside));
                    swept.intersection(&left).intersection(&right)
                } else {
                    swept
                }
            };
            let mover = Mover {
                breaks: component.heights(),
                over: &|low, high| swept(component.shadow(low, high)),
                at: &|z| swept(component.section(z)),
                steady: &|low, high| component.is_steady(low, high),
                moving: &|low, high| {
                    if aside > 0.0 {
                        return None;
                    }
                    let own = component.moving(low, high)?;
                    Some(
                        own.iter()
                            .flat_map(|m| [*m, m.moved(back), m.trail(back)])
                            .chain(own.iter().flat_map(|m| turning(m, back)))
                            .collect(),
                    )
                },
            };
            Search { body, mover, runs: Vec::new() }.run()
        }
        Way::Along { up, travel } => {
            // Coming up, it was lower before: what is now up to `travel` above
            // a height has passed it.
            let (under, over) = if up { (0.0, travel) } else { (travel, 0.0) };
            let (bottom, top) = component.ends();
            let all = component.shadow(bottom, top);
            let shadow = |low: f64, high: f64| {
                if low <= bottom && top <= high { all.clone() } else { component.shadow(low, high) }
            };
            let own = component.heights();
            let shifted = own.iter().map(|z| z + if up { -travel } else { travel });
            let steady = |low: f64, high: f64| {
                let (a, b) = (low - under, high + over);
                // Only the stretches in which the window ends may change.
                component.is_steady(a, a + (high - low)) && component.is_steady(b - (high - low), b)
            };
            let mover = Mover {
                breaks: own.iter().copied().chain(shifted).collect(),
                over: &|low, high| shadow(low - under, high + over),
                at: &|z| shadow(z - under, z + over),
                steady: &steady,
                moving: &|_, _| None,
            };
            Search { body, mover, runs: Vec::new() }.run()
        }
    }
}

/// What a component passes, level by level.
struct Mover<'m> {
    breaks: Vec<f64>,
    over: &'m dyn Fn(f64, f64) -> Region,
    at: &'m dyn Fn(f64) -> Region,
    steady: &'m dyn Fn(f64, f64) -> bool,
    /// All pieces of its boundary on the way between two heights, where that is
    /// known.
    moving: &'m dyn Fn(f64, f64) -> Option<Vec<Moving>>,
}

/// Heights one after the other in which sections overlap.
struct Run {
    low: f64,
    high: f64,
    volume: f64,
    widest: (f64, Region, f64),
}

struct Search<'m, 'b> {
    body: &'m Levels<'b>,
    mover: Mover<'m>,
    runs: Vec<Run>,
}

impl Search<'_, '_> {
    fn run(mut self) -> Result<Option<Overlap>, Unclear> {
        let (low, high) = self.body.ends();
        let mut heights = self.body.heights();
        heights.extend(self.mover.breaks.iter().filter(|z| low < **z && **z < high));
        heights.sort_by(f64::total_cmp);
        heights.dedup_by(|b, a| *b - *a <= MEETS);
        for pair in heights.windows(2) {
            self.between(pair[0], pair[1])?;
        }
        let mut worst: Option<Overlap> = None;
        let mut volume = 0.0;
        for run in &self.runs {
            let (_, section, z) = &run.widest;
            let disc = largest_disc(section);
            let depth = disc.1.min(run.high - run.low);
            if depth <= CONTACT {
                continue;
            }
            volume += run.volume;
            if worst.is_none_or(|w| depth > w.depth) {
                let at = Vec3::new(disc.0.x, disc.0.y, *z);
                worst = Some(Overlap { depth, volume, at, heights: (run.low, run.high) });
            }
        }
        Ok(worst.map(|w| Overlap { volume, ..w }))
    }

    fn between(&mut self, low: f64, high: f64) -> Result<(), Unclear> {
        let middle = 0.5 * (low + high);
        let bound = common(&self.body.bound(low, high), &(self.mover.over)(low, high), middle)?;
        if !holds(&bound, CONTACT) {
            return Ok(());
        }
        if self.body.is_steady(low, high) && (self.mover.steady)(low, high) {
            self.push(low, high, bound.area() * (high - low), bound, middle);
            return Ok(());
        }
        let section = self.section(middle)?;
        let overlaps = holds(&section, CONTACT);
        if section.is_empty() && self.stay_apart(low, high) {
            return Ok(());
        }
        if high - low <= STEP {
            if overlaps {
                self.push(low, high, section.area() * (high - low), section, middle);
            }
            return Ok(());
        }
        if overlaps {
            // Simpson's rule twice; where all five sections overlap and both
            // agree, that is the volume.
            let at = |k: f64| low + (high - low) * k;
            let mut areas = [0.0; 5];
            let mut all = true;
            for (area, k) in areas.iter_mut().zip([NEAR_END, 0.25, 0.5, 0.75, 1.0 - NEAR_END]) {
                let here = self.section(at(k))?;
                all &= holds(&here, CONTACT);
                *area = here.area();
            }
            let [a, b, c, d, e] = areas;
            let once = (a + 4.0 * c + e) / 6.0;
            let twice = (a + 4.0 * b + 2.0 * c + 4.0 * d + e) / 12.0;
            if all && (once - twice).abs() <= VOLUME_SETTLED * twice {
                self.push(low, high, twice * (high - low), section, middle);
                return Ok(());
            }
        }
        self.between(low, middle)?;
        self.between(middle, high)
    }

    /// Whether no piece of the body's boundary touches one of the component's
    /// between two heights: then sections that are apart at one are apart at
    /// all.
    fn stay_apart(&self, low: f64, high: f64) -> bool {
        let Some(body) = self.body.moving(low, high) else { return false };
        let Some(own) = (self.mover.moving)(low, high) else { return false };
        !body.iter().any(|p| own.iter().any(|q| p.may_touch(q)))
    }

    fn section(&self, z: f64) -> Result<Region, Unclear> {
        common(&self.body.section(z), &(self.mover.at)(z), z)
    }

    fn push(&mut self, low: f64, high: f64, volume: f64, section: Region, z: f64) {
        let width = section.area() / section.perimeter();
        match self.runs.last_mut().filter(|run| low - run.high <= MEETS) {
            Some(run) => {
                run.high = high;
                run.volume += volume;
                if width > run.widest.0 {
                    run.widest = (width, section, z);
                }
            }
            None => self.runs.push(Run { low, high, volume, widest: (width, section, z) }),
        }
    }
}

/// What a point of an arc that runs along the way passes: it bounds the swept
/// region beside the arc's ends.
fn turning(m: &Moving, by: Vec2) -> Vec<Moving> {
    let Some(arc) = m.arc else { return Vec::new() };
    let aside = Vec2::new(-by.y, by.x) / by.norm() * arc.radius;
    [arc.centre + aside, arc.centre - aside]
        .map(|p| Moving { a: [p; 2], b: [p + by; 2], arc: None })
        .to_vec()
}

/// Share of a stretch at whose ends sections are taken just inside it.
const NEAR_END: f64 = 1e-6;

fn common(a: &Region, b: &Region, z: f64) -> Result<Region, Unclear> {
    if a.is_undefined() || b.is_undefined() {
        return Err(Unclear(z));
    }
    let (Some(p), Some(q)) = (a.bounds(), b.bounds()) else { return Ok(Region::empty()) };
    let (low, high) = (p.0.sup(&q.0), p.1.inf(&q.1));
    if high.x - low.x < CONTACT || high.y - low.y < CONTACT {
        return Ok(Region::empty());
    }
    Ok(a.near(low, high).intersection(&b.near(low, high)))
}

/// Whether a disc of this diameter fits in a region.
fn holds(region: &Region, diameter: f64) -> bool {
    let (area, length) = (region.area(), region.perimeter());
    // No disc is larger than the area; and a region whose largest disc has
    // radius r lies within r of its boundary, so that its area is at most
    // r times the boundary's length.
    if region.is_empty() || area < 0.25 * std::f64::consts::PI * diameter * diameter {
        return false;
    }
    2.0 * area > diameter * length || !region.offset(-0.5 * diameter).is_empty()
}

/// A point in the middle of about the largest disc in a region, and that
/// disc's diameter, mm.
fn largest_disc(region: &Region) -> (Vec2, f64) {
    let Some((low, high)) = region.bounds() else { return (Vec2::zeros(), 0.0) };
    let (mut fits, mut too_large) = (0.0, (high - low).min());
    let mut at = region.segs().first().map_or(low, |s| s.a);
    for _ in 0..DISC_HALVINGS {
        let middle = 0.5 * (fits + too_large);
        match region.offset(-0.5 * middle).segs().first() {
            Some(s) => (fits, at) = (middle, s.a),
            None => too_large = middle,
        }
    }
    (at, fits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::{RuledSection, Solid, Stack};

    fn stack(slabs: &[(f64, f64, Region)]) -> Solid {
        let mut stack = Stack::default();
        for (low, high, section) in slabs {
            stack.prism(*low, *high, section);
        }
        stack.solid().expect("a sound stack")
    }

    fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
        Region::rectangle(Vec2::new(x0, y0), Vec2::new(x1, y1))
    }

    fn disc(radius: f64) -> Region {
        Region::disc(Vec2::zeros(), radius)
    }

    #[test]
    fn a_region_holds_the_discs_that_fit_in_it() {
        for diameter in [0.4, 1.0, 6.0] {
            assert!(holds(&disc(0.51 * diameter), diameter));
            assert!(!holds(&disc(0.49 * diameter), diameter));
            let strip = |width: f64| rect(0.0, 0.0, 20.0 * diameter, width * diameter);
            assert!(holds(&strip(1.02), diameter) && !holds(&strip(0.98), diameter));
        }
        assert!(!holds(&Region::empty(), 1.0));
    }

    fn levels(solid: &Solid) -> Levels<'_> {
        Levels::new(solid).expect("upright and lying faces only")
    }

    fn rest(body: &Solid, component: &Solid) -> Option<Overlap> {
        seated(&levels(body), &levels(component), 0.0).expect("defined")
    }

    fn across(body: &Solid, component: &Solid, aside: f64) -> Option<Overlap> {
        let way = Way::Across { along: Vec2::new(0.0, -1.0), travel: 40.0, aside };
        on_the_way(&levels(body), &levels(component), way).expect("defined")
    }

    fn close(a: f64, b: f64, by: f64) {
        assert!((a - b).abs() <= by, "{a} is not {b}");
    }

    #[test]
    fn cubes_overlap_by_a_tenth_or_touch_or_miss_in_every_direction() {
        let body = stack(&[(0.0, 10.0, rect(0.0, 0.0, 10.0, 10.0))]);
        for (shift, z) in [((9.9, 0.0), 0.0), ((0.0, -9.9), 0.0), ((0.0, 0.0), 9.9)] {
            for (more, wanted) in [(0.0, Some(0.1)), (0.1, None), (0.101, None), (5.0, None)] {
                let out = |v: f64| if v == 0.0 { 0.0 } else { v + v.signum() * more };
                let (x, y) = (out(shift.0), out(shift.1));
                let z = out(z);
                let cube = stack(&[(z, z + 10.0, rect(x, y, x + 10.0, y + 10.0))]);
                for (a, b) in [(&body, &cube), (&cube, &body)] {
                    let found = rest(a, b);
                    assert_eq!(
                        found.is_some(),
                        wanted.is_some(),
                        "{shift:?} {z} {more}: {found:?}"
                    );
                    if let (Some(found), Some(depth)) = (found, wanted) {
                        close(found.depth, depth, 1e-6);
                        close(found.volume, 10.0, 1e-6);
                    }
                }
            }
        }
        assert!(rest(&body, &body).is_some_and(|o| (o.volume - 1000.0).abs() < 1e-6));
    }

    #[test]
    fn a_cylinder_in_a_bore_is_free_touches_or_presses() {
        let ring = disc(12.0).difference(&disc(8.0));
        let body = stack(&[(0.0, 20.0, ring)]);
        for (radius, depth) in [(7.9, 0.0), (8.0, 0.0), (8.004, 0.0), (8.02, 0.02), (8.3, 0.3)] {
            let cell = stack(&[(2.0, 18.0, disc(radius))]);
            let found = rest(&body, &cell);
            assert_eq!(found.map_or(0.0, |o| o.depth) > 0.0, depth > 0.0, "{radius}");
            if let Some(found) = found {
                close(found.depth, depth, 1e-4);
                let volume = std::f64::consts::PI * (radius * radius - 64.0) * 16.0;
                close(found.volume, volume, 1e-6 * volume);
                let eased = seated(&levels(&body), &levels(&cell), depth + 0.001);
                assert_eq!(eased, Ok(None));
            }
        }
    }

    /// A wedge that leans over a block: where they meet, the wedge's face has
    /// come down to the block only at one end.
    #[test]
    fn a_wedge_is_found_where_it_comes_down() {
        let block = stack(&[(0.0, 10.0, rect(0.0, -5.0, 10.0, 0.0))]);
        for (down, deep) in [(0.0, false), (0.003, false), (0.1, true)] {
            let mut stack = Stack::default();
            let (low, high) = (rect(0.0, -down, 10.0, 5.0), rect(0.0, 3.0, 10.0, 5.0));
            stack.ruled(0.0, 10.0, RuledSection::between(&low, &high).expect("a wedge"));
            let wedge = stack.solid().expect("a wedge");
            let found = rest(&block, &wedge);
            assert_eq!(found.is_some(), deep, "{down}: {found:?}");
            if let Some(found) = found {
                // A triangle of 0.1 by what the lean needs to climb that far.
                let height = 10.0 * down / (3.0 + down);
                close(found.volume, 0.5 * down * height * 10.0, 2e-3);
                close(found.heights.1, height, 0.02);
            }
        }
    }

    #[test]
    fn a_lying_pin_in_a_lying_hole_keeps_its_gap_or_not() {
        use crate::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, Placing};
        let mut plate = Stack::default();
        plate.prism(0.0, 20.0, &rect(-10.0, -2.0, 10.0, 2.0));
        let body = plate
            .bored(&[CrossBore {
                direction: Vec2::new(0.0, -1.0),
                z: 10.0,
                offset: 0.0,
                start: f64::NEG_INFINITY,
                profile: BoreProfile::Round { radius: 3.0 },
                mouth: Mouth::Plain,
                end: BoreEnd::AllWalls,
            }])
            .expect("a plate with a hole");
        for (radius, moved, free) in [
            (2.9, 0.0, true),
            (2.9, 0.09, true),
            (3.0, 0.0, true),
            (2.9, 0.13, false),
            (3.05, 0.0, false),
        ] {
            let pin = stack(&[(-6.0, 6.0, disc(radius))]);
            let pin = pin
                .placed(&Placing {
                    origin: Vec3::new(0.0, 0.0, 10.0 + moved),
                    x: Vec3::x(),
                    y: -Vec3::z(),
                })
                .expect("no traced edges");
            let found = rest(&body, &pin);
            assert_eq!(found.is_none(), free, "{radius} {moved}: {found:?}");
            assert_eq!(across(&body, &pin, 0.0).is_none(), free, "{radius} {moved}");
        }
    }

    #[test]
    fn a_cell_snaps_in_under_lips_that_give_way_as_far_as_they_must() {
        // A trough of radius 9 whose lips close to a mouth of 8.6 either side.
        let mouth = 8.6_f64;
        let cut = disc(9.0).union(&rect(-mouth, 0.0, mouth, 20.0));
        let tray = disc(11.0).difference(&cut);
        let tray = tray.difference(&rect(-12.0, 4.0, 12.0, 12.0));
        let body = stack(&[(0.0, 30.0, tray)]);
        let cell = stack(&[(1.0, 29.0, disc(8.9))]);
        assert_eq!(rest(&body, &cell), None);
        let stuck = across(&body, &cell, 0.0).expect("lips are in the way");
        assert!(stuck.depth > 0.1 && stuck.depth <= 0.3, "{stuck:?}");
        assert!(across(&body, &cell, 0.25).is_some(), "too little");
        assert_eq!(across(&body, &cell, 0.3), None);
    }

    #[test]
    fn a_block_that_sits_free_may_not_get_in() {
        let shell = rect(-6.0, -6.0, 6.0, 6.0).difference(&rect(-5.0, -5.0, 5.0, 5.0));
        let body = stack(&[(0.0, 2.0, rect(-6.0, -6.0, 6.0, 6.0)), (2.0, 12.0, shell)]);
        let block = stack(&[(2.0, 8.0, rect(-4.0, -4.0, 4.0, 4.0))]);
        assert_eq!(rest(&body, &block), None);
        let found = across(&body, &block, 0.0).expect("a wall is in the way");
        close(found.depth, 1.0, 1e-6);
        let along = |up| {
            let way = Way::Along { up, travel: 20.0 };
            on_the_way(&levels(&body), &levels(&block), way).expect("defined")
        };
        assert_eq!(along(false), None, "it comes down from the open end");
        close(along(true).expect("the floor is in the way").depth, 2.0, 1e-6);
    }

    /// A cone comes down into a cone of the same slope, and touches it.
    #[test]
    fn a_cone_sits_down_in_its_cone() {
        let mut seat = Stack::default();
        let (wide, narrow) = (disc(8.0), disc(4.0));
        let block = rect(-10.0, -10.0, 10.0, 10.0);
        let (low, high) = (block.difference(&narrow), block.difference(&wide));
        seat.ruled(0.0, 2.0, RuledSection::between(&low, &high).expect("a taper"));
        let body = seat.solid().expect("a seat");
        for (raised, free) in [(0.0, true), (0.2, true), (-0.05, false)] {
            let mut plug = Stack::default();
            let z = raised;
            plug.ruled(z, z + 2.0, RuledSection::between(&narrow, &wide).expect("a cone"));
            let plug = plug.solid().expect("a plug");
            assert_eq!(rest(&body, &plug).is_none(), free, "{raised}");
            let way = |up| Way::Along { up, travel: 9.0 };
            let go = |up| on_the_way(&levels(&body), &levels(&plug), way(up)).expect("defined");
            assert_eq!(go(false).is_none(), free, "{raised}");
            assert!(go(true).is_some());
        }
    }
}
