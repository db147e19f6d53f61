//! The sizes of a wire cover, and why it may not be.

use super::super::build::Ends;
use super::super::fit::BoreFit;
use super::super::fixing::Axes;
use super::super::{PartContext, Refusal};
use super::clips::Clips;
use crate::measure::frame::direction;
use crate::measure::rounding::{down, up};
use crate::measure::{Values, number};
use crate::section::snap;

/// Wall of a shell that nothing else decides, mm. Common practice, no source.
const COMMON_WALL: f64 = 1.6;
/// Step in which places for lands are tried, degrees.
const PLACE: f64 = 1.0;
/// Most that a cover may go around, degrees: beyond it, it is a tube.
const MOST_ROUND: f64 = 340.0;
/// Share of the wall that a chamfer takes at most, so that an end stays as wide
/// as it is deep. Common practice, no source.
const CHAMFER_SHARE: f64 = 0.25;

/// A flat on the outside. Lengths in mm.
#[derive(Clone, Debug)]
pub(super) struct Land {
    pub axes: Axes,
    pub clocking: f64,
    pub width: f64,
    /// Distance of the flat from the axis.
    pub height: f64,
}

/// Sizes of a cover. Lengths in mm, angles in degrees.
#[derive(Clone, Debug)]
pub(super) struct Cover {
    pub fit: BoreFit,
    pub inner: f64,
    pub from: f64,
    pub to: f64,
    /// Low and high end of each piece.
    pub pieces: Vec<(f64, f64)>,
    pub lands: Vec<Land>,
    pub clips: Option<Clips>,
    pub ends: Ends,
}

impl Cover {
    /// # Errors
    /// Angles, walls, lands, lengths and clips that cannot be.
    pub(super) fn new(context: &PartContext<'_>, values: &Values) -> Result<Cover, Refusal> {
        let printer = context.printer;
        let fit = BoreFit::new(context, values);
        let least = printer.number("wall_free");
        let wall = snap(values.maybe_number("wall").unwrap_or(COMMON_WALL.max(least)));
        if wall < least {
            let what = format!(
                "a shell with a wall of {wall:.2} mm is thinner than the printer's {least:.2}: short \
                 by {:.2}",
                least - wall
            );
            let hint = format!("wall = {} works", number(least));
            return Err(Refusal::new(what).at(values, "wall").hint(hint));
        }
        let inner = snap(fit.radius - wall);
        if inner <= 0.0 {
            return Err(fit.too_small(context, wall + least).hint("take a thinner wall"));
        }
        let (from, to) = angles(values, inner, least)?;
        let most = CHAMFER_SHARE * wall;
        let asked = Ends::new(values);
        let ends = Ends { low: snap(asked.low.min(most)), high: snap(asked.high.min(most)) };
        let mut cover = Cover {
            fit,
            inner,
            from,
            to,
            pieces: pieces(context, values, least)?,
            lands: Vec::new(),
            clips: None,
            ends,
        };
        cover.lands = cover.lands_asked(values, least)?;
        if values.choice("hold") == "clips" {
            cover.clips = Some(Clips::new(context, values, &cover)?);
        }
        Ok(cover)
    }

    /// The middle of the cover, degrees.
    pub(super) fn middle(&self) -> f64 {
        0.5 * (self.from + self.to)
    }

    fn lands_asked(&self, values: &Values, least: f64) -> Result<Vec<Land>, Refusal> {
        let radius = self.fit.radius;
        let deepest = self.inner + least;
        let widest = 2.0 * ((radius - deepest) * (radius + deepest)).max(0.0).sqrt();
        let mut lands: Vec<Land> = Vec::new();
        for row in values.list("land") {
            let (width, clocking) = (row.number("width"), row.number("clocking"));
            let half = 0.5 * width;
            if width > widest {
                let what = format!(
                    "a land {width:.2} mm wide leaves less than {least:.2} mm of the shell: {widest:.2} \
                     mm at most, {:.2} less",
                    width - widest
                );
                let refusal = Refusal::new(what).at(row, "width");
                let fits = down(widest);
                let wall = up(radius - dip_to(radius, half) + least);
                let refusal = if fits >= 1.0 {
                    refusal.hint(format!("width = {} works", number(fits)))
                } else {
                    refusal
                };
                return Err(
                    refusal.hint(format!("wall = {} takes it, if there is room", number(wall)))
                );
            }
            let height = snap(dip_to(radius, half));
            // What of the shell the flat really takes.
            let edge = (height / radius).acos().to_degrees();
            let beside = (least / radius).to_degrees();
            let turn = (clocking - self.from).rem_euclid(360.0);
            let (low, high) = (edge + beside, self.to - self.from - edge - beside);
            if turn < low || turn > high {
                let what = format!(
                    "a land {width:.2} mm wide at {clocking:.1} degrees does not lie on the cover, which \
                     goes from {:.1} to {:.1}: it takes {edge:.1} degrees either way and {beside:.1} \
                     beside it",
                    self.from, self.to
                );
                let refusal = Refusal::new(what).at(row, "clocking");
                return Err(if low <= high {
                    refusal
                        .hint(format!("clocking = {} works", number(0.5 * (self.from + self.to))))
                } else {
                    refusal.hint("make the land narrower, or the cover wider")
                });
            }
            let needed = |other: &Land| edge + (other.height / radius).acos().to_degrees() + beside;
            let apart = |at: f64, other: &Land| {
                let apart = (at - other.clocking).rem_euclid(360.0);
                apart.min(360.0 - apart)
            };
            let clear = |at: f64| lands.iter().all(|other| apart(at, other) >= needed(other));
            if let Some(other) = lands.iter().find(|other| apart(clocking, other) < needed(other)) {
                let what = format!(
                    "lands at {:.1} and {clocking:.1} degrees are {:.1} degrees apart; they need {:.1}",
                    other.clocking,
                    apart(clocking, other),
                    needed(other)
                );
                let places = (0..=((high - low) / PLACE) as u32)
                    .map(|i| up(self.from + low + f64::from(i) * PLACE))
                    .filter(|&at| at <= self.from + high && clear(at));
                let nearest =
                    places.min_by(|a, b| (a - clocking).abs().total_cmp(&(b - clocking).abs()));
                let refusal = Refusal::new(what).at(row, "clocking");
                return Err(match nearest {
                    Some(at) => refusal.hint(format!("clocking = {} works", number(at))),
                    None => refusal.hint("there is room for fewer lands, or narrower ones"),
                });
            }
            lands.push(Land { axes: Axes::new(direction(clocking)), clocking, width, height });
        }
        Ok(lands)
    }
}

/// Distance from the middle of a circle's chord of half length `half`, mm.
pub(super) fn dip_to(radius: f64, half: f64) -> f64 {
    ((radius - half) * (radius + half)).max(0.0).sqrt()
}

fn angles(values: &Values, inner: f64, least: f64) -> Result<(f64, f64), Refusal> {
    let (from, to) = (values.number("from_angle"), values.number("to_angle"));
    let round = to - from;
    // As wide as it is thick at least.
    let narrowest = (least / inner).min(1.0).asin().to_degrees() * 2.0;
    if round > MOST_ROUND || round < narrowest {
        let what = format!(
            "a cover from {from:.1} to {to:.1} degrees goes {round:.1} around; it can go \
             {narrowest:.1} to {MOST_ROUND:.1}"
        );
        let works = if round < narrowest { from + up(narrowest) } else { from + MOST_ROUND };
        let refusal = Refusal::new(what).at(values, "to_angle");
        let refusal = if round < 0.0 && round + 360.0 > narrowest {
            refusal.hint(format!("to_angle = {} works", number(to + 360.0)))
        } else {
            refusal
        };
        return Err(refusal.hint(format!("to_angle = {} works", number(works))));
    }
    Ok((from, to))
}

fn pieces(
    context: &PartContext<'_>,
    values: &Values,
    least: f64,
) -> Result<Vec<(f64, f64)>, Refusal> {
    let (low, length) = (snap(values.number("from_z")), values.number("length"));
    let room = context.handle.length();
    if low + length > room {
        let what = format!(
            "the cover ends at z = {:.2}; the bore is {room:.2} long: {:.2} mm too far",
            low + length,
            low + length - room
        );
        let refusal = Refusal::new(what).at(values, "length");
        return Err(if room - low >= 4.0 {
            refusal.hint(format!("length = {} works", number(down(room - low))))
        } else {
            refusal.hint(format!(
                "a cover of {} mm fits from the cap on, with from_z = 0",
                number(down(length.min(room)))
            ))
        });
    }
    let count = values.integer("pieces") as f64;
    let joint = values.number("joint");
    let each = (length - (count - 1.0) * joint) / count;
    // A piece is no shorter than its wall is thick, twice.
    let shortest = 2.0 * least;
    if each < shortest {
        let most = ((length + joint) / (shortest + joint)).floor().max(1.0);
        let what = format!(
            "{count} pieces of a cover {length:.2} mm long are {each:.2} mm long each; {shortest:.2} is \
             the least"
        );
        let hint = format!("pieces = {} works", number(most));
        return Err(Refusal::new(what).at(values, "pieces").hint(hint));
    }
    let start = |k: f64| low + k * (each + joint);
    Ok((0..count as u32).map(f64::from).map(|k| (snap(start(k)), snap(start(k) + each))).collect())
}
