//! What the cradle sits in: the bore, or a rectangular cavity of a chassis.

use super::super::fit::BoreFit;
use super::super::module::{keel_depth, keels_below};
use super::super::{Computed, PartContext, Refusal};
use crate::measure::rounding::up;
use crate::measure::{Unit, Values, Vec2, number};
use crate::section::{Arc, Region, Seg, snap};

/// Far outside every section, mm: how far cuts reach.
pub(super) const FAR: f64 = 300.0;

/// The outside of the cradle in section.
#[derive(Clone, Copy, Debug)]
pub(super) enum Outside {
    /// A circle about the bore's axis.
    Bore {
        /// mm.
        radius: f64,
        /// Height of the keel's flat, mm, if there is one.
        keel: Option<f64>,
    },
    /// A block, flat or round below.
    Block {
        /// Half the width, mm.
        half: f64,
        /// Lowest line, mm.
        bottom: f64,
        /// Top, mm.
        top: f64,
        /// Height of the middle and radius of a round floor, mm.
        trough: Option<(f64, f64)>,
    },
}

/// Float noise of a length that is just as asked, mm: far below the input grid.
pub(super) const NOISE: f64 = 1e-9;

/// What the cradle sits in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Holder<'a> {
    pub outside: Outside,
    /// In the bore: the fit there.
    pub fit: Option<BoreFit>,
    /// In a cavity: its rows.
    pub cavity: Option<&'a Values>,
    /// Largest length of the cradle, mm.
    pub room: f64,
}

/// A point of the part's inside that wants a wall outside it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Need {
    pub at: Vec2,
    /// Wall, mm.
    pub wall: f64,
}

impl Outside {
    /// Its outline, counter-clockwise.
    pub fn outline(&self) -> Vec<Seg> {
        match *self {
            Outside::Bore { radius, keel } => {
                let disc = Region::disc(Vec2::zeros(), radius);
                keel.map_or(disc.clone(), |y| {
                    let corners = (Vec2::new(-FAR, -FAR), Vec2::new(FAR, y));
                    disc.difference(&Region::rectangle(corners.0, corners.1))
                })
                .segs()
            }
            Outside::Block { half, bottom, top, trough } => {
                let (right, left) = (Vec2::new(half, top), Vec2::new(-half, top));
                let (low_left, low_right, arc) = match trough {
                    None => (Vec2::new(-half, bottom), Vec2::new(half, bottom), None),
                    Some((middle, radius)) => {
                        let y = middle - (radius * radius - half * half).sqrt();
                        let arc = Arc { centre: Vec2::new(0.0, middle), radius, ccw: true };
                        (Vec2::new(-half, y), Vec2::new(half, y), Some(arc))
                    }
                };
                vec![
                    Seg { a: low_left, b: low_right, arc },
                    Seg::line(low_right, right),
                    Seg::line(right, left),
                    Seg::line(left, low_left),
                ]
            }
        }
    }

    /// Distance from a point inside to the outside, the open top not counted,
    /// mm; negative outside.
    pub fn margin(&self, p: Vec2) -> f64 {
        match *self {
            Outside::Bore { radius, keel } => {
                let round = radius - p.norm();
                keel.map_or(round, |y| round.min(p.y - y))
            }
            Outside::Block { half, bottom, trough, .. } => {
                let floor = match trough {
                    None => p.y - bottom,
                    Some((middle, radius)) => radius - (p - Vec2::new(0.0, middle)).norm(),
                };
                floor.min(half - p.x.abs())
            }
        }
    }

    /// Distance to the outside all round, mm.
    pub fn margin_all_round(&self, p: Vec2) -> f64 {
        match *self {
            Outside::Bore { .. } => self.margin(p),
            Outside::Block { top, .. } => self.margin(p).min(top - p.y),
        }
    }

    /// Highest point, mm.
    pub fn top(&self) -> f64 {
        match *self {
            Outside::Bore { radius, .. } => radius,
            Outside::Block { top, .. } => top,
        }
    }

    /// Lowest point, mm.
    pub fn bottom(&self) -> f64 {
        match *self {
            Outside::Bore { radius, keel } => keel.unwrap_or(-radius),
            Outside::Block { bottom, .. } => bottom,
        }
    }
}

impl<'a> Holder<'a> {
    /// What the part's rows say.
    ///
    /// # Errors
    /// A cavity that no block can sit in.
    pub fn read(context: &PartContext<'_>, values: &'a Values) -> Result<Holder<'a>, Refusal> {
        let from_z = values.number("from_z");
        let Some(cavity) = values.maybe_table("cavity") else {
            let fit = BoreFit::new(context, values);
            let depth = keel_depth(fit.radius, values)?;
            let keel = (depth > 0.0).then(|| snap(depth - fit.radius));
            let outside = Outside::Bore { radius: fit.radius, keel };
            let room = context.handle.length() - from_z;
            return Ok(Holder { outside, fit: Some(fit), cavity: None, room });
        };
        let keel = values.number("keel");
        if keel > 0.0 {
            let what = format!(
                "a keel {keel:.2} mm deep is for a cradle in the bore; this one sits in a cavity, \
                 whose chassis has its own"
            );
            return Err(Refusal::new(what).at(values, "keel").hint("keel = 0, or left out"));
        }
        let clearance = cavity.number("clearance") + values.number("coat");
        let half = snap(cavity.number("width") / 2.0 - clearance);
        let depth = cavity.number("depth");
        let lowest = cavity.maybe_number("floor_y").unwrap_or(-depth / 2.0);
        let top = snap(lowest + depth);
        let mut bottom = snap(lowest);
        let mut trough = None;
        if cavity.choice("floor") == "arc" {
            let Some(radius) = cavity.maybe_number("floor_radius") else {
                return Err(Refusal::new(
                    "an arc floor has no floor_radius (2 to 200 mm is needed)",
                )
                .at(cavity, "floor")
                .hint("measure the trough and write floor_radius = its radius in mm"));
            };
            let least = cavity.number("width") / 2.0;
            if radius < least {
                return Err(Refusal::new(format!(
                    "a trough of radius {radius:.2} mm is narrower than the cavity: a width of \
                     {:.2} mm needs a radius of at least {least:.2}",
                    2.0 * least
                ))
                .at(cavity, "floor_radius")
                .hint(format!("floor_radius = {least:.2} is a floor that is half a circle")));
            }
            let middle = snap(lowest + radius);
            let own = snap(radius - clearance);
            bottom = snap(middle - own);
            let shoulder = middle - (own * own - half * half).max(0.0).sqrt();
            if shoulder + 0.1 > top {
                return Err(Refusal::new(format!(
                    "a trough of radius {radius:.2} mm rises {:.2} mm at the cavity's walls, past \
                     its depth of {depth:.2}",
                    shoulder - lowest
                ))
                .at(cavity, "floor_radius")
                .hint(format!(
                    "floor_radius = {:.2} rises half the depth",
                    (least * least + depth * depth / 4.0) / depth
                )));
            }
            trough = Some((middle, own));
        }
        let outside = Outside::Block { half, bottom, top, trough };
        let room = cavity.number("length") - 2.0 * clearance;
        Ok(Holder { outside, fit: None, cavity: Some(cavity), room })
    }

    /// By how much the outside is too small for the needs, mm, if it is.
    pub fn short(&self, needs: &[Need]) -> Option<f64> {
        let short = |n: &Need| n.wall - self.outside.margin(n.at);
        let most = needs.iter().map(short).fold(f64::NEG_INFINITY, f64::max);
        (most > NOISE).then_some(most)
    }

    /// The refusal of needs that do not fit, in numbers. `what` begins the
    /// sentence: "the stone's seat".
    pub fn too_small(
        &self,
        context: &PartContext<'_>,
        values: &Values,
        needs: &[Need],
        what: &str,
    ) -> Refusal {
        match (&self.fit, self.cavity) {
            (Some(fit), _) => {
                if let Some(refusal) = self.deep_keel(values, needs, what) {
                    return refusal;
                }
                let radius = needs.iter().map(|n| n.at.norm() + n.wall).fold(0.0, f64::max);
                let mut refusal = fit.too_small(context, up(radius));
                refusal.what = format!("{what} {}", refusal.what);
                refusal
            }
            (_, Some(cavity)) => self.small_cavity(cavity, needs, what),
            _ => Refusal::new(format!("{what} does not fit")),
        }
    }

    /// The refusal of needs that the bore would hold, but for its keel.
    fn deep_keel(&self, values: &Values, needs: &[Need], what: &str) -> Option<Refusal> {
        let Outside::Bore { radius, keel: Some(y) } = self.outside else { return None };
        let with = |depth: f64| {
            let keel = (depth > 0.0).then(|| snap(depth - radius));
            Holder { outside: Outside::Bore { radius, keel }, ..*self }.short(needs)
        };
        if with(0.0).is_some() {
            return None;
        }
        let short = up(self.short(needs)?);
        let what = format!(
            "{what} reaches {short:.2} mm too low for a keel {:.2} mm deep, whose flat is at \
             y = {y:.2}",
            y + radius
        );
        let refusal = Refusal::new(what).at(values, "keel");
        let found = keels_below(y + radius).find(|&keel| with(keel).is_none());
        Some(match found {
            Some(keel) => refusal.hint(format!("keel = {} would do", number(keel))),
            None => refusal,
        })
    }

    fn small_cavity(&self, cavity: &Values, needs: &[Need], what: &str) -> Refusal {
        let Outside::Block { half, bottom, trough, .. } = self.outside else {
            return Refusal::new(what);
        };
        let sides = needs.iter().map(|n| n.at.x.abs() + n.wall - half).fold(0.0, f64::max);
        if sides > NOISE {
            let width = cavity.number("width");
            return Refusal::new(format!(
                "{what} needs a cavity at least {:.2} mm wide; yours is {width:.2}: short by {:.2}",
                width + 2.0 * up(sides),
                2.0 * up(sides)
            ))
            .at(cavity, "width");
        }
        let floor = needs
            .iter()
            .map(|n| match trough {
                None => bottom + n.wall - n.at.y,
                Some((middle, radius)) => n.wall + (n.at - Vec2::new(0.0, middle)).norm() - radius,
            })
            .fold(0.0, f64::max);
        let lowest = needs.iter().map(|n| n.at.y - n.wall).fold(f64::INFINITY, f64::min);
        Refusal::new(format!(
            "{what} needs room down to y = {lowest:.2} mm; the floor is at {bottom:.2}: short by \
             {:.2}",
            up(floor)
        ))
        .at(cavity, "floor_y")
    }

    /// Rows that say how the outside came about.
    pub fn computed(&self) -> Vec<Computed> {
        match (&self.fit, self.outside) {
            (Some(fit), Outside::Bore { keel: Some(y), .. }) => {
                let mut rows = fit.computed();
                rows.push(Computed::new("keel_y", "height of the keel's flat", y, Unit::Mm));
                rows
            }
            (Some(fit), _) => fit.computed(),
            (None, Outside::Block { half, bottom, top, .. }) => vec![
                Computed::new("outside_width", "width of the block", 2.0 * half, Unit::Mm),
                Computed::new("outside_height", "height of the block", top - bottom, Unit::Mm),
            ],
            _ => Vec::new(),
        }
    }
}
