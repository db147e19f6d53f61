//! Takes away feathers: where two cuts leave a wedge or a fin that is thinner
//! than the printer holds, and nothing behind it.

use std::f64::consts::PI;

use crate::measure::Vec2;
use crate::section::{Region, Seg, nest};

/// Half of the widest angle, radians, at which two faces are the sides of one
/// wall: 20 degrees, as for the wall check (`checks::ACROSS`). Wider corners
/// stay.
const SHARP: f64 = 20.0 * PI / 180.0;

/// A bit with a blunt end may stand out this far, over the radius of the disc
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
    let stays = match turns[..] {
        // A tip: its angle is what is left of half a turn.
        [turn] => PI - turn.abs() > 2.0 * SHARP,
        _ => {
            let off = |p: Vec2| rolled.boundary_distance(p);
            let far = sides.iter().map(|s| off(s.b).max(off(s.mid())));
            far.fold(0.0, f64::max) < STANDS_OUT * radius
        }
    };
    if stays {
        return None;
    }
    let cut = Seg::line(last.b, first.a);
    let outline: Vec<Seg> = sides.iter().copied().chain([cut]).collect();
    Region::from_outlines(&[outline]).ok()
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
