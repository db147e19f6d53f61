//! What keeps the stone from falling out.

use super::super::around::{CLEAR, drawn};
use super::super::{Bars, Declared, Hold, Kept};
use super::holder::Outside;
use super::lips::Lips;
use super::plan::{Plan, Retention, USUAL_WINDOW, lip_lengths};
use super::scan::least_width;
use crate::measure::Vec3;
use crate::measure::frame::direction;
use crate::section::{Region, snap};
use crate::solid::Solid;

/// Widest clocking angle of the ways out that are tried on either side, degrees: half of
/// the usual window.
const ASIDE: f64 = USUAL_WINDOW / 2.0;

/// What helps a stone that its bars hardly hold.
const FURTHER: &str = "bars that reach further over its ends";

/// Grams in a cubic millimetre of a density of 1 g/cm3.
const GRAMS: f64 = 1e-3;

impl Plan<'_> {
    /// What holds the stone, and how well.
    pub fn kept(&self) -> Declared {
        let (hold, row, cure) = match &self.retention {
            Retention::Glue => (
                self.glued(self.land_area()),
                "retention",
                "lips or a cap hold it without its glue",
            ),
            Retention::Lips(lips, _) => (self.under_lips(lips), "overlap", FURTHER),
            Retention::Cap(_) => (self.under_cap(), "overlap", FURTHER),
        };
        let at = self.stone.bulk().map_or_else(Vec3::zeros, |b| b.1) + Vec3::z() * self.stone_low;
        let kept = |what: &str, hold, row, cure| Kept {
            what: what.to_owned(),
            at,
            hold,
            field: self.values.path_of(row),
            cure,
        };
        let mut declared = Declared::default();
        declared.kept.extend(hold.map(|hold| kept("the stone", hold, row, cure)));
        if let Retention::Cap(cap) = &self.retention {
            let area = cap.land_area(self.seat.ends(), self.end_chord());
            let cure = "a thicker wall gives the cap wider ledges, up to 2 mm";
            let hold = self.glued(area);
            declared
                .kept
                .extend(hold.map(|hold| kept("the cap with the stone", hold, "far_wall", cure)));
        }
        declared
    }

    /// Weight of the stone, g.
    pub fn weight(&self) -> Option<f64> {
        Some(self.stone.bulk()?.0 * self.values.number("stone_density") * GRAMS)
    }

    fn glued(&self, area: f64) -> Option<Hold> {
        Some(Hold::Glue { area, grams: self.weight()? })
    }

    /// The least width of the stone less the narrower way of the window, mm.
    pub fn window_margin(&self) -> f64 {
        least_width(&self.stone.skin()) - self.window_narrow()
    }

    fn under_lips(&self, lips: &Lips) -> Option<Hold> {
        let (low, high) = self.seat.ends();
        let (at_low, at_high) = lip_lengths(lips, self.pixel_low);
        // With foam behind the stone, the deep lip reaches past it by less.
        let over = |from: f64, to: f64| -> Option<Solid> {
            let middle = (from + to) / 2.0;
            let region = self.seat_section(middle, middle);
            drawn(&[(snap(from), snap(to), region)]).ok()
        };
        let bars = vec![
            ("the lip at its low end".to_owned(), over(low, low + at_low)?),
            ("the lip at its high end".to_owned(), over(high - at_high, high)?),
        ];
        let under = lips.under(&self.stone, self.keep, self.pixel_low);
        self.barred(bars, under)
    }

    fn under_cap(&self) -> Option<Hold> {
        let Retention::Cap(cap) = &self.retention else { return None };
        let (low, high) = cap.own_ends();
        let section = Region::from_outlines(&[cap.outline(&self.holder.outside)]).ok()?;
        let frame = |from: f64, to: f64| drawn(&[(from, to, section.clone())]).ok();
        let bars = vec![
            ("the cap's frame at its low end".to_owned(), frame(low, self.window_z.0)?),
            ("the cap's frame at its high end".to_owned(), frame(self.window_z.1, high)?),
        ];
        let under = self.holder.outside.top() - cap.thickness;
        self.barred(bars, [under; 2])
    }

    fn barred(&self, bars: Vec<(String, Solid)>, under: [f64; 2]) -> Option<Hold> {
        let outside = self.holder.outside;
        Some(Hold::Bars(Box::new(Bars {
            solid: self.stone.solid(self.stone_low).ok()?,
            bars,
            out: [-1.0, 0.0, 1.0].map(|side| direction(side * self.aside())).to_vec(),
            travel: outside.top() - outside.bottom() + CLEAR,
            play: self.keep.clearance,
            spare: self.window_margin(),
            tips_out: Lips::tips_out(
                &self.stone,
                self.keep,
                self.values.number("overlap"),
                under,
                outside.top(),
            ),
        })))
    }

    /// Clocking angle of the outermost way out, degrees: beyond the slopes of its opening
    /// the seat's own walls are in the way.
    fn aside(&self) -> f64 {
        let opening = match (&self.retention, &self.trimmed) {
            (Retention::Cap(_), Some(opening)) => opening.degrees,
            (Retention::Cap(_), None) => USUAL_WINDOW,
            _ => self.window.degrees,
        };
        ASIDE.min(opening / 2.0)
    }

    /// The narrower way of the window, mm: how wide it is at the outside, or its
    /// length.
    fn window_narrow(&self) -> f64 {
        let degrees = match &self.retention {
            Retention::Cap(cap) => cap.window,
            _ => self.window.degrees,
        };
        let half = (degrees / 2.0).to_radians();
        let across = match self.holder.outside {
            Outside::Bore { radius, .. } => 2.0 * radius * half.sin(),
            Outside::Block { half: side, top, .. } => 2.0 * (top * half.tan()).abs().min(side),
        };
        across.min(self.window_z.1 - self.window_z.0)
    }
}
