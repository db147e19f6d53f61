//! Ranges of angle about the bore's axis.

use std::f64::consts::{PI, TAU};

use super::super::wedge::wedge;
use crate::measure::Vec2;
use crate::section::{Region, Seg};

/// Angles that differ by less are one, radians: a vertex of a section on the
/// narrowest bore is ten times as wide.
const SAME: f64 = 1e-10;

/// Ranges of angle, radians from +x, counter-clockwise, rising and apart; each
/// begins within 0 to a turn, and the last may go on beyond it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Spans(Vec<(f64, f64)>);

impl Spans {
    /// Where pieces of a section run counter-clockwise on a circle about the axis.
    pub(super) fn on_circle<'a>(segs: impl Iterator<Item = &'a Seg>, radius: f64) -> Spans {
        let on = segs.filter(|s| is_outer(s, radius));
        // An arc lies in one half of its circle.
        let range = |s: &Seg| {
            let middle = angle(s.mid());
            let half = 0.5 * s.sweep();
            (middle - half, middle + half)
        };
        Spans::joined(on.map(range).collect())
    }

    fn joined(mut ranges: Vec<(f64, f64)>) -> Spans {
        ranges.sort_by(|p, q| p.0.total_cmp(&q.0));
        let mut out: Vec<(f64, f64)> = Vec::with_capacity(ranges.len());
        for (a, b) in ranges {
            match out.last_mut() {
                Some(last) if a <= last.1 + SAME => last.1 = last.1.max(b),
                _ => out.push((a, b)),
            }
        }
        // One that ends at a turn goes on where the first begins.
        if let (Some(first), Some(last)) = (out.first().copied(), out.last().copied())
            && out.len() > 1
            && last.1 >= TAU + first.0 - SAME
        {
            out.remove(0);
            out.last_mut().expect("two are there").1 = TAU + first.1;
        }
        Spans(out)
    }

    /// What lies in both.
    pub(super) fn shared(&self, other: &Spans) -> Spans {
        let mut out = Vec::new();
        for &(a, b) in &self.0 {
            for &(c, d) in &other.0 {
                for turn in [-TAU, 0.0, TAU] {
                    let (low, high) = (a.max(c + turn), b.min(d + turn));
                    if high > low + SAME {
                        let by = if low < -SAME { TAU } else { 0.0 };
                        out.push((low + by, high + by));
                    }
                }
            }
        }
        out.sort_by(|p, q| p.0.total_cmp(&q.0));
        out.dedup_by(|q, p| (q.0 - p.0).abs() <= SAME || q.0 - p.0 >= TAU - SAME);
        Spans::joined(out)
    }

    /// The same, drawn in by an angle at both ends; a full turn stays.
    pub(super) fn narrowed(&self, by: f64) -> Spans {
        let drawn_in = |&(a, b): &(f64, f64)| {
            if b - a >= TAU - SAME { (a, b) } else { (a + by, b - by) }
        };
        Spans(self.0.iter().map(drawn_in).filter(|(a, b)| b > a).collect())
    }

    /// Without those that are narrower than `least` mm on a circle.
    pub(super) fn at_least(mut self, least: f64, radius: f64) -> Spans {
        self.0.retain(|(a, b)| (b - a) * radius >= least);
        self
    }

    /// All points at these angles, out to at least `reach` mm.
    pub(super) fn sectors(&self, reach: f64) -> Region {
        self.0.iter().fold(Region::empty(), |all, &(a, b)| {
            if b - a >= TAU - SAME {
                return Region::disc(Vec2::zeros(), reach);
            }
            // Clockings count from +y.
            let clocking = |angle: f64| (angle - 0.5 * PI).to_degrees();
            all.union(&wedge(clocking(a), clocking(b), reach))
        })
    }
}

/// Whether a piece runs counter-clockwise on a circle about the axis.
pub(super) fn is_outer(s: &Seg, radius: f64) -> bool {
    outer(s).is_some_and(|r| (r - radius).abs() <= SAME_RADIUS)
}

/// Radius of a piece that runs counter-clockwise about the axis, mm.
pub(super) fn outer(s: &Seg) -> Option<f64> {
    let about = |c: &crate::section::Arc| c.ccw && c.centre.norm() <= SAME_RADIUS;
    s.arc.filter(about).map(|c| c.radius)
}

/// Radii that differ by less are one, mm: float noise of sections.
const SAME_RADIUS: f64 = 1e-8;

fn angle(p: Vec2) -> f64 {
    p.y.atan2(p.x).rem_euclid(TAU)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(spans: &Spans, wanted: &[(f64, f64)]) {
        assert_eq!(spans.0.len(), wanted.len(), "{spans:?}");
        for (p, q) in spans.0.iter().zip(wanted) {
            assert!((p.0 - q.0).abs() < 1e-9 && (p.1 - q.1).abs() < 1e-9, "{spans:?} {wanted:?}");
        }
    }

    #[test]
    fn arcs_of_a_section_become_spans_across_the_turn() {
        let disc = Region::disc(Vec2::zeros(), 10.0);
        let all = Spans::on_circle(disc.segs().iter(), 10.0);
        close(&all, &[(0.0, TAU)]);
        assert!(Spans::on_circle(disc.segs().iter(), 9.0).0.is_empty());
        // Open towards +y, and towards -x.
        let slot = Region::rectangle(Vec2::new(-5.0, 0.0), Vec2::new(5.0, 20.0));
        let open = disc.difference(&slot);
        let sixty = PI / 3.0;
        close(&Spans::on_circle(open.segs().iter(), 10.0), &[(2.0 * sixty, TAU + sixty)]);
        let side = Region::rectangle(Vec2::new(-20.0, -5.0), Vec2::new(0.0, 5.0));
        let gap = disc.difference(&side);
        let other = Spans::on_circle(gap.segs().iter(), 10.0);
        close(&other, &[(PI + 0.5 * sixty, TAU + PI - 0.5 * sixty)]);
        let both = Spans::on_circle(open.segs().iter(), 10.0).shared(&other);
        close(&both, &[(2.0 * sixty, 2.5 * sixty), (3.5 * sixty, TAU + sixty)]);
        let kept = both.at_least(6.0, 10.0);
        close(&kept, &[(3.5 * sixty, TAU + sixty)]);
        let share = disc.intersection(&kept.sectors(10.0)).area();
        assert!((share - 50.0 * 3.5 * sixty).abs() < 1e-6, "{share}");
        close(&all.shared(&kept), &[(3.5 * sixty, TAU + sixty)]);
        close(&kept.narrowed(0.1), &[(3.5 * sixty + 0.1, TAU + sixty - 0.1)]);
        close(&all.narrowed(0.1), &[(0.0, TAU)]);
        assert!((all.sectors(10.0).area() - disc.area()).abs() < 1e-9);
    }
}
