//! The solids of a planned cradle.

use super::super::build::{Ends, Slab, cavity_sweep, chamfer, chamfered};
use super::cap::Cap;
use super::holder::{FAR, Outside};
use super::plan::{Plan, Retention, lip_lengths};
use crate::measure::Vec2;
use crate::section::{Region, Seg, snap};
use crate::solid::Stack;

/// Share of the wall around the pixel's pocket that a chamfer may take on
/// either side, so that the edge does not become a knife.
const CHAMFER_SHARE: f64 = 0.3;

/// Low and high end of a part of an end wall, mm, and what is cut away there.
type Span = (f64, f64, Vec<Vec<Seg>>);

/// The region inside `outer` and outside all `cuts`, which run
/// counter-clockwise and may overlap.
fn without(outer: Vec<Seg>, cuts: impl IntoIterator<Item = Vec<Seg>>) -> Region {
    let mut outlines = vec![outer];
    outlines.extend(cuts.into_iter().map(|cut| cut.iter().rev().map(Seg::reversed).collect()));
    Region::from_outlines(&outlines).unwrap_or_default()
}

fn polygon(corners: &[Vec2]) -> Vec<Seg> {
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(a, b)| Seg::line(*a, *b)).collect()
}

impl Plan<'_> {
    fn cut(&self, mut cuts: Vec<Vec<Seg>>) -> Region {
        let outside = self.holder.outside;
        cuts.extend(self.pixel.groove_cut(outside.bottom() + self.pixel.groove));
        without(outside.outline(), cuts)
    }

    fn recess(&self, low: f64, high: f64) -> Option<Vec<Seg>> {
        let Retention::Cap(cap) = &self.retention else { return None };
        let middle = (low + high) / 2.0;
        (cap.ends.0 < middle && middle < cap.ends.1).then(|| cap.recess(&self.holder.outside))
    }

    /// The section through the open seat at `z`, a little above or below it
    /// where it jumps: `at` names the stretch that is meant.
    pub fn seat_section(&self, z: f64, at: f64) -> Region {
        let (low, high) = self.seat.ends();
        let (mut lip_low, mut lip_high) = (low, high);
        if let Retention::Lips(lips, closed) = &self.retention {
            let (a, b) = lip_lengths(lips, self.pixel_low);
            (lip_low, lip_high) = (snap(low + a), snap(high - b));
            if at < lip_low {
                return self.cut(vec![polygon(&closed[0])]);
            }
            if at > lip_high {
                return self.cut(vec![polygon(&closed[1])]);
            }
        }
        let mut cuts = vec![self.seat.outline(z, FAR / 2.0)];
        let capped = matches!(self.retention, Retention::Cap(_));
        let shows = self.window_z.0 < at && at < self.window_z.1 && !capped;
        let opening = if shows { Some(&self.window) } else { self.trimmed.as_ref() };
        // Under a cap the opening ends at the ledge.
        let outside = match (&self.retention, self.holder.outside) {
            (Retention::Cap(cap), outside @ Outside::Bore { .. }) => {
                Outside::Bore { radius: Cap::ledge(&outside, cap.thickness, cap.gap), keel: None }
            }
            (_, outside) => outside,
        };
        cuts.extend(opening.and_then(|o| o.cut(&self.seat, &outside, z, at)));
        cuts.extend(self.recess(lip_low, lip_high));
        self.cut(cuts)
    }

    /// Heights between which the seat's section changes evenly, mm.
    fn seat_breaks(&self) -> Vec<f64> {
        let (low, high) = self.seat.ends();
        let mut breaks = self.seat.nodes.clone();
        match &self.retention {
            Retention::Lips(lips, _) => {
                let (a, b) = lip_lengths(lips, self.pixel_low);
                breaks.extend([snap(low + a), snap(high - b), self.window_z.0, self.window_z.1]);
            }
            Retention::Glue => breaks.extend([self.window_z.0, self.window_z.1]),
            Retention::Cap(_) => {}
        }
        breaks.retain(|z| (low..=high).contains(z));
        breaks.sort_by(f64::total_cmp);
        breaks.dedup();
        breaks
    }

    /// The end wall with the pixel, from its outside face inwards: thickness
    /// and what is cut away.
    fn pixel_wall(&self) -> Vec<(f64, Vec<Vec<Seg>>)> {
        let p = &self.pixel;
        let mut out = vec![(p.back, p.back_cuts())];
        if p.ledge > p.back {
            out.push((p.ledge - p.back, p.board_cuts()));
        }
        out.push((p.web - p.ledge, p.package_cuts()));
        out.push((p.web_thickness, p.bore_cuts()));
        out
    }

    /// Slabs of the walls at the low and the high end.
    fn end_slabs(&self) -> [Vec<Slab>; 2] {
        let (seat_low, seat_high) = self.seat.ends();
        let mut pixel = self.pixel_wall();
        let mut spans: [Vec<Span>; 2] = Default::default();
        if self.pixel_low {
            let mut z = self.ends.0;
            for (height, cuts) in pixel {
                let top = snap(z + height);
                spans[0].push((z, top, cuts));
                z = top;
            }
            spans[1].push((seat_high, self.ends.1, Vec::new()));
        } else {
            spans[0].push((self.ends.0, seat_low, Vec::new()));
            pixel.reverse();
            let mut z = seat_high;
            for (height, cuts) in pixel {
                let top = snap(z + height);
                spans[1].push((z, top, cuts));
                z = top;
            }
        }
        spans.map(|spans| {
            let mut slabs = Vec::new();
            for (bottom, top, cuts) in spans {
                let mut at = vec![bottom];
                if let Retention::Cap(cap) = &self.retention {
                    at.extend(
                        [cap.ends.0, cap.ends.1].iter().filter(|z| (bottom < **z) && (**z < top)),
                    );
                }
                at.push(top);
                for pair in at.windows(2) {
                    let mut cuts = cuts.clone();
                    cuts.extend(self.recess(pair[0], pair[1]));
                    slabs.push(Slab { bottom: pair[0], top: pair[1], section: self.cut(cuts) });
                }
            }
            slabs
        })
    }

    /// The section at `z`, which must lie inside the cradle, as it is made but
    /// for chamfers.
    #[cfg(test)]
    pub fn section(&self, z: f64) -> Region {
        let (low, high) = self.seat.ends();
        if low < z && z < high {
            return self.seat_section(z, z);
        }
        let slabs = self.end_slabs();
        let found = slabs.iter().flatten().find(|s| s.bottom <= z && z <= s.top);
        found.map_or_else(Region::empty, |s| s.section.clone())
    }

    /// The cradle's stack, and the chamfers that were made.
    pub fn stack(&self, layer: f64) -> (Stack, Ends) {
        let wanted = Ends::new(self.values);
        let limit = snap(CHAMFER_SHARE * self.pixel.least_wall(&self.holder).max(0.0));
        let ends = if self.pixel_low {
            Ends { low: wanted.low.min(limit), ..wanted }
        } else {
            Ends { high: wanted.high.min(limit), ..wanted }
        };
        let [low, high] = self.end_slabs();
        let (mut stack, mut made) = chamfered(&low, Ends { low: ends.low, high: 0.0 });
        let sweep = cavity_sweep(layer);
        for pair in self.seat_breaks().windows(2) {
            let middle = (pair[0] + pair[1]) / 2.0;
            stack.swept(pair, &sweep, &|z| self.seat_section(z, middle));
        }
        let last = high.len() - 1;
        for (i, slab) in high.iter().enumerate() {
            let room = (slab.top - slab.bottom) / 3.0;
            match chamfer(&slab.section, ends.high.min(room), false) {
                Some((size, ruled)) if i == last => {
                    made.high = size;
                    stack.prism(slab.bottom, slab.top - size, &slab.section);
                    stack.ruled(slab.top - size, slab.top, ruled);
                }
                _ => {
                    stack.prism(slab.bottom, slab.top, &slab.section);
                }
            }
        }
        (stack, made)
    }

    /// The cap's stack.
    pub fn cap_stack(&self, cap: &Cap) -> Stack {
        let outside = &self.holder.outside;
        let frame = without(cap.outline(outside), []);
        let open = without(cap.outline(outside), [cap.window_cut()]);
        let (low, high) = cap.own_ends();
        let mut stack = Stack::default();
        stack.prism(low, self.window_z.0, &frame);
        stack.prism(self.window_z.0, self.window_z.1, &open);
        stack.prism(self.window_z.1, high, &frame);
        stack
    }
}
