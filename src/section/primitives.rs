//! Regions to start from. All lengths in mm, snapped to the input grid. Numbers
//! that are not finite or beyond a metre give the undefined region.

use super::region::within_limit;
use super::{Region, Seg, snap};
use crate::measure::Vec2;

fn snapped(p: Vec2) -> Vec2 {
    Vec2::new(snap(p.x), snap(p.y))
}

impl Region {
    /// The rectangle between two opposite corners; empty when it has no width
    /// or height on the grid.
    pub fn rectangle(corner: Vec2, opposite: Vec2) -> Region {
        let (p, q) = (snapped(corner), snapped(opposite));
        let (lo, hi) = (p.inf(&q), p.sup(&q));
        Region::polygon(&[lo, Vec2::new(hi.x, lo.y), hi, Vec2::new(lo.x, hi.y)])
    }

    /// A disc; empty when the radius is zero on the grid.
    pub fn disc(centre: Vec2, radius: f64) -> Region {
        let (c, r) = (snapped(centre), snap(radius.abs()));
        if !within_limit(&[c.x, c.y, r]) {
            return Region::undefined();
        }
        if r == 0.0 {
            return Region::empty();
        }
        let (west, east) = (c - Vec2::new(r, 0.0), c + Vec2::new(r, 0.0));
        let mut half = Seg::arc(c, r, west, east, true);
        half.extend(Seg::arc(c, r, east, west, true));
        Region { loops: vec![half] }
    }

    /// The polygon through `points`, in either sense, snapped; where it
    /// crosses itself, what winds around more to one side than to the other.
    pub fn polygon(points: &[Vec2]) -> Region {
        let mut points: Vec<Vec2> = points.iter().map(|&p| snapped(p)).collect();
        if !points.iter().all(|p| within_limit(p.as_slice())) {
            return Region::undefined();
        }
        points.dedup();
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        if points.len() < 3 {
            return Region::empty();
        }
        let mut segs: Vec<Seg> = (0..points.len())
            .map(|i| Seg::line(points[i], points[(i + 1) % points.len()]))
            .collect();
        if segs.iter().map(Seg::twice_area).sum::<f64>() < 0.0 {
            segs.reverse();
            segs.iter_mut().for_each(|s| *s = s.reversed());
        }
        super::region::filled(&segs)
    }

    /// What closed polygons enclose, snapped: those that run counter-clockwise add
    /// material, those that run clockwise take it away.
    pub(crate) fn enclosed(polygons: &[Vec<Vec2>]) -> Region {
        let mut segs = Vec::new();
        for points in polygons {
            let points: Vec<Vec2> = points.iter().map(|&p| snapped(p)).collect();
            if !points.iter().all(|p| within_limit(p.as_slice())) {
                return Region::undefined();
            }
            let sides = points.iter().zip(points.iter().cycle().skip(1));
            segs.extend(sides.filter(|(a, b)| a != b).map(|(&a, &b)| Seg::line(a, b)));
        }
        super::region::filled(&segs)
    }

    /// A slot with round ends: all points within `radius` of the line from
    /// `p` to `q`.
    pub fn slot(p: Vec2, q: Vec2, radius: f64) -> Region {
        let (p, q, r) = (snapped(p), snapped(q), snap(radius.abs()));
        if !within_limit(&[p.x, p.y, q.x, q.y, r]) {
            return Region::undefined();
        }
        let d = q - p;
        if d.norm() == 0.0 || r == 0.0 {
            return Region::disc(p, r);
        }
        let n = super::seg::left(d) * (r / d.norm());
        let mut outline = vec![Seg::line(p - n, q - n)];
        outline.extend(Seg::arc(q, r, q - n, q + n, true));
        outline.push(Seg::line(q + n, p + n));
        outline.extend(Seg::arc(p, r, p + n, p - n, true));
        super::region::filled(&outline)
    }

    /// The half plane on the left of the line through `p` along `d`, within
    /// `reach` of `p`: a square large enough to cut any section with.
    pub fn half_plane(p: Vec2, d: Vec2, reach: f64) -> Region {
        let d = d / d.norm() * reach;
        let n = super::seg::left(d);
        Region::polygon(&[p - d, p + d, p + d + n, p - d + n])
    }
}
