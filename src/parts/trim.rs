//! Takes away feathers: where two cuts leave a wedge or a fin that is thinner
//! than the printer holds, and nothing behind it.

use std::f64::consts::PI;

use crate::measure::Vec2;
use crate::section::{Region, Seg, nest};

/// Half of the widest angle, radians, at which two faces are the sides of one
/// wall: 20 degrees, as for the wall check (`checks::ACROSS`). Wider corners
/// stay.
const SHARP: f64 = 20.0 * PI / 180.0;

/// A bit with a blunt end whose sides are not along one another may stand out this far, over the radius of the disc
/// that does not fit into it: more than the corner of a square, 0.41.
const STANDS_OUT: f64 = 0.5;

/// Arcs whose radii differ by less are the same, mm (float noise).
const SAME: f64 = 1e-6;

/// Sides that turn by less are one, radians.
const SMOOTH: f64 = 0.01;

/// Bits smaller than this are float noise, mm2.
const NOISE: f64 = 1e-6;

/// The pieces of a section that do not hang together.
pub(super) fn pieces(section: &Region) -> Vec<Region> {
    let loops = section.loops();
    nest(loops)
        .iter()
        .map(|face| {
            let loops: Vec<Vec<Seg>> = face.iter().map(|&i| loops[i].clone()).collect();
            Region::from_outlines(&loops).expect("loops of a section are closed")
        })
        .collect()
}

/// The section without wedges and fins thinner than `thickness` mm, or none if
/// it has none. Thin walls between two thick places stay, so that nothing
/// falls apart, and so do corners of more than 40 degrees.
///
/// What a disc that rolls inside cannot reach sticks out of what it can. Each
/// such bit is cut off square where the disc touched both of its sides last.
pub(super) fn trimmed(section: &Region, thickness: f64) -> Option<Region> {
    // So that the cut is as long as asked for in the bluntest wedge.
    let radius = 0.5 * thickness / SHARP.cos();
    let rolled = section.offset(-radius).offset(radius);
    let mut out: Option<Region> = None;
    for bit in pieces(&section.difference(&rolled)) {
        if bit.area() < NOISE {
            continue;
        }
        if let Some(cut) = feather(&bit, &rolled, radius) {
            out = Some(out.as_ref().unwrap_or(section).difference(&cut));
        }
    }
    out
}

/// What to cut off of a bit that the disc did not reach, if it is a feather.
fn feather(bit: &Region, rolled: &Region, radius: f64) -> Option<Region> {
    let [outline] = bit.loops() else { return None };
    let rolls = |s: &Seg| {
        let same = s.arc.is_some_and(|a| (a.radius - radius).abs() < SAME);
        same && rolled.boundary_distance(s.mid()) < SAME
    };
    // The sides of the bit, behind the one place where the disc was stopped.
    let n = outline.len();
    let starts: Vec<usize> =
        (0..n).filter(|&i| rolls(&outline[i]) && !rolls(&outline[(i + 1) % n])).collect();
    let [start] = starts[..] else { return None };
    let sides: Vec<Seg> =
        (1..n).map(|k| outline[(start + k) % n]).take_while(|s| !rolls(s)).collect();
    let (first, last) = (sides.first()?, sides.last()?);
    // A side may go on in another piece; corners are where they turn.
    let turns: Vec<f64> = sides
        .windows(2)
        .map(|pair| {
            let (u, v): (Vec2, Vec2) = (pair[0].tangent_at_b(), pair[1].tangent_at_a());
            (u.x * v.y - u.y * v.x).atan2(u.dot(&v))
        })
        .filter(|turn| turn.abs() > SMOOTH)
        .collect();
    // The angle between its sides is what is left of half a turn.
    let angle = PI - turns.iter().sum::<f64>().abs();
    let stays = angle > 2.0 * SHARP
        && (turns.len() == 1 || {
            let off = |p: Vec2| rolled.boundary_distance(p);
            let far = sides.iter().map(|s| off(s.b).max(off(s.mid())));
            far.fold(0.0, f64::max) < STANDS_OUT * radius
        });
    if stays {
        return nib(&sides, 2.0 * radius);
    }
    let cut = Seg::line(last.b, first.a);
    let outline: Vec<Seg> = sides.iter().copied().chain([cut]).collect();
    Region::from_outlines(&[outline]).ok()
}

/// What stands out past an inner corner among these sides, where going straight
/// on from there would cut off less than `thickness` mm: a nib, as where a
/// channel is a little wider than the slot above it. The smallest counts.
fn nib(sides: &[Seg], thickness: f64) -> Option<Region> {
    let mut out: Option<Region> = None;
    for (i, pair) in sides.windows(2).enumerate() {
        let (u, v): (Vec2, Vec2) = (pair[0].tangent_at_b(), pair[1].tangent_at_a());
        if (u.x * v.y - u.y * v.x).atan2(u.dot(&v)) > -SMOOTH {
            continue;
        }
        let corner = pair[0].b;
        let on = |way: Vec2, s: &Seg| meets(corner, way, s).filter(|t| *t < thickness);
        let after = (i + 2..sides.len()).find_map(|j| {
            let hit = corner + u * on(u, &sides[j])?;
            let mut outline = sides[i + 1..j].to_vec();
            outline.extend([Seg::line(sides[j].a, hit), Seg::line(hit, corner)]);
            Some(outline)
        });
        let before = (0..i).rev().find_map(|j| {
            let hit = corner - v * on(-v, &sides[j])?;
            let mut outline = vec![Seg::line(corner, hit), Seg::line(hit, sides[j].b)];
            outline.extend(&sides[j + 1..=i]);
            Some(outline)
        });
        for outline in [after, before].into_iter().flatten() {
            let Ok(cut) = Region::from_outlines(&[outline]) else { continue };
            if cut.area() > NOISE && out.as_ref().is_none_or(|o| cut.area() < o.area()) {
                out = Some(cut);
            }
        }
    }
    out
}

/// How far from `from` a ray meets a straight side, mm.
fn meets(from: Vec2, way: Vec2, side: &Seg) -> Option<f64> {
    let along = side.b - side.a;
    let cross = |a: Vec2, b: Vec2| a.x * b.y - a.y * b.x;
    let det = cross(way, along);
    let off = side.a - from;
    let (t, s) = (cross(off, along) / det, cross(off, way) / det);
    (side.arc.is_none() && t > SAME && s > 0.0 && s < 1.0).then_some(t)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(points: &[(f64, f64)]) -> Region {
        Region::polygon(&points.iter().map(|&(x, y)| Vec2::new(x, y)).collect::<Vec<_>>())
    }

    #[test]
    fn a_feather_is_cut_where_it_is_as_thick_as_asked() {
        // A block whose one side runs out in a wedge of 15 degrees.
        let slope = 15f64.to_radians().tan();
        let block =
            polygon(&[(0.0, 0.0), (20.0, 0.0), (10.0, 10.0 * slope), (10.0, 8.0), (0.0, 8.0)]);
        let cut = trimmed(&block, 0.8).expect("it has a feather");
        let (_, high) = cut.bounds().expect("something is left");
        let left = (20.0 - high.x) * slope;
        assert!((0.78..0.9).contains(&left), "{left}");
        assert!(trimmed(&cut, 0.75).is_none());
        let (least, most) = (block.area() - 0.5 * 0.9 * 0.9 / slope, block.area());
        assert!(least < cut.area() && cut.area() < most);
    }

    #[test]
    fn nibs_go_however_short_and_broken_corners_stay() {
        // A nib of 0.2 by 0.1 mm beside a wall, as where a channel is a little
        // wider than the slot above it.
        let wall = [(0.0, 0.0), (5.0, 0.0), (5.0, 4.8), (5.1, 4.8), (5.1, 5.0), (0.0, 5.0)];
        let cut = trimmed(&polygon(&wall), 0.8).expect("it has a nib");
        assert!((25.0 - 0.1..25.0).contains(&cut.area()), "{}", cut.area());
        assert!(cut.bounds().expect("something is left").1.x < 5.0 + 1e-9);
        let broken = [(0.0, 0.0), (5.0, 0.0), (5.0, 4.8), (4.8, 5.0), (0.0, 5.0)];
        assert!(trimmed(&polygon(&broken), 0.8).is_none());
    }

    #[test]
    fn fins_go_and_walls_between_thick_places_stay() {
        let fin = polygon(&[
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 5.0),
            (6.0, 5.0),
            (6.0, 9.0),
            (5.5, 9.0),
            (5.5, 5.0),
            (0.0, 5.0),
        ]);
        let cut = trimmed(&fin, 0.8).expect("it has a fin");
        assert!((cut.area() - 50.0).abs() < 1e-6, "{}", cut.area());
        let hole = polygon(&[(2.0, 0.5), (8.0, 0.5), (8.0, 3.0), (2.0, 3.0)]);
        let block = polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (0.0, 5.0)]);
        assert!(trimmed(&block.difference(&hole), 0.8).is_none());
        assert!(trimmed(&block, 0.8).is_none());
        // A corner of 45 degrees is no feather.
        assert!(trimmed(&polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)]), 0.8).is_none());
    }
}
