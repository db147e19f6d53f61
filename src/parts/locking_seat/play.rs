//! How far a part can turn before the screw's point meets its seat.

use super::spec::{Asked, LEAST_FLOOR, Seat, dip};
use crate::measure::Vec2;
use crate::trade::seat::Form;

/// Angles are looked at in steps of this, degrees, up to [`MOST`].
const STEP: f64 = 0.05;
/// Largest angle that is looked at, degrees.
const MOST: f64 = 60.0;
/// Halvings of the last step: far below a thousandth of a degree.
const HALVINGS: u32 = 20;
/// Float noise, mm.
const NOISE: f64 = 1e-9;

/// The seat across the screw, and the screw's point, in the section at its
/// height. Lengths in mm.
struct Across {
    floor: f64,
    /// Half width and distance from the axis of the walls' corners, lowest
    /// first: the last is the rim. None for a flat.
    walls: Vec<Vec2>,
    /// Half width and distance from the axis of the point's corners, lowest first.
    point: Vec<Vec2>,
}

impl Across {
    /// Whether nothing overlaps with the part turned by `degrees`: no corner of
    /// the point below the floor or beyond a wall, no rim of a wall in the screw.
    fn fits(&self, degrees: f64) -> bool {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let turned = |p: Vec2| Vec2::new(p.x * cos + p.y * sin, p.y * cos - p.x * sin);
        let corners: Vec<Vec2> =
            self.point.iter().flat_map(|p| [Vec2::new(-p.x, p.y), *p]).map(turned).collect();
        if corners.iter().any(|p| p.y < self.floor - NOISE) {
            return false;
        }
        let Some(rim) = self.walls.last() else { return true };
        let within = |p: &Vec2| p.y >= rim.y || p.x.abs() <= half_at(&self.walls, p.y) + NOISE;
        if !corners.iter().all(within) {
            return false;
        }
        // The walls' corners as the screw sees them.
        self.walls.iter().flat_map(|p| [Vec2::new(-p.x, p.y), *p]).all(|p| {
            let p = Vec2::new(p.x * cos - p.y * sin, p.y * cos + p.x * sin);
            p.y < self.point[0].y || p.x.abs() >= half_at(&self.point, p.y) - NOISE
        })
    }

    fn most(&self) -> f64 {
        let mut low = 0.0;
        while low < MOST && self.fits(low + STEP) {
            low += STEP;
        }
        let mut high = low + STEP;
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.fits(middle) { low = middle } else { high = middle }
        }
        low
    }
}

/// Half width of an outline at a distance from the axis; that of its end beyond.
fn half_at(outline: &[Vec2], y: f64) -> f64 {
    let span = outline.windows(2).find(|w| y <= w[1].y);
    let last = outline.last().map_or(0.0, |p| p.x);
    span.map_or(last, |w| {
        let rise = w[1].y - w[0].y;
        let share = if rise <= NOISE { 1.0 } else { ((y - w[0].y) / rise).clamp(0.0, 1.0) };
        w[0].x + (w[1].x - w[0].x) * share
    })
}

/// How far the part can turn, degrees either way, while the screw stays.
pub(super) fn angle_play(asked: &Asked, seat: &Seat) -> f64 {
    let grub = &asked.grub;
    let radius = asked.outside.fit.radius;
    let low = seat.floor + asked.gap;
    let (tip, thread) = (0.5 * grub.tip, 0.5 * grub.thread);
    let shoulder = low + grub.tip_length;
    let mut point = vec![Vec2::new(tip, low)];
    if grub.dog {
        point.push(Vec2::new(tip, shoulder));
    }
    point.push(Vec2::new(thread, shoulder));
    point.push(Vec2::new(thread, shoulder + radius));
    let rim = Vec2::new(seat.half_width, radius - dip(radius, seat.half_width));
    let walls = match (asked.form, seat.cone) {
        (Form::Flat, _) => Vec::new(),
        (_, None) => vec![Vec2::new(seat.half_width, seat.floor), rim],
        (_, Some(cone)) => vec![
            Vec2::new(cone.inner, seat.floor),
            Vec2::new(cone.inner, seat.floor + LEAST_FLOOR),
            Vec2::new(cone.outer, radius - cone.rim(radius - seat.floor)),
            rim,
        ],
    };
    // Where there are walls, these are what stops it.
    let floor = if walls.is_empty() { seat.floor } else { 0.0 };
    let turn = Across { floor, walls, point }.most();
    if asked.form == Form::SlotAround { turn + 0.5 * asked.angle_range } else { turn }
}

/// How far off its angle the part may be put in, degrees either way, so that
/// the screw's point still comes down on the seat's floor: a flat it then pulls
/// square, and finds the middle of a hole.
pub(super) fn catch_angle(asked: &Asked, seat: &Seat) -> f64 {
    let tip = 0.5 * asked.grub.tip;
    let half = match asked.form {
        Form::Flat => {
            let radius = asked.outside.fit.radius;
            ((radius - seat.floor) * (radius + seat.floor)).max(0.0).sqrt()
        }
        _ => seat.cone.map_or(seat.half_width, |cone| cone.outer),
    };
    // The point's middle meets the floor at floor * tan(angle).
    let caught = ((half - tip).max(0.0) / seat.floor).atan().to_degrees();
    if asked.form == Form::SlotAround { caught + 0.5 * asked.angle_range } else { caught }
}

/// How far the part can move along the bore, mm either way.
pub(super) fn axial_play(asked: &Asked, seat: &Seat) -> f64 {
    let shrink = if asked.form == Form::Flat { 0.0 } else { asked.shrink };
    (seat.half_height - 0.5 * (seat.body + shrink)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight pin in a hole turns until the pin's side meets the rim:
    /// `p + m sin a = h cos a`.
    #[test]
    fn a_straight_pin_turns_until_its_side_meets_the_rim() {
        for (pin, half, rim) in [(1.0, 1.2, 16.0), (1.25, 1.3, 9.0), (2.0, 2.5, 17.0)] {
            let point = vec![Vec2::new(pin, rim - 1.0), Vec2::new(pin, 40.0)];
            let found = Across {
                floor: 0.0,
                walls: vec![Vec2::new(half, 0.0), Vec2::new(half, rim)],
                point,
            }
            .most();
            let reach = half.hypot(rim);
            let wanted = (pin / reach).acos() - rim.atan2(half);
            assert!((found - wanted.to_degrees()).abs() < 1e-4, "{found} {wanted}");
        }
    }

    /// Over a flat the point's corner comes down: `s cos a - r sin a = f`.
    #[test]
    fn a_point_above_a_flat_turns_until_its_corner_meets_it() {
        let (floor, tip, gap) = (15.0, 1.25, 0.1);
        let point = vec![Vec2::new(tip, floor + gap), Vec2::new(tip, 30.0)];
        let found = Across { floor, walls: Vec::new(), point: point.clone() }.most();
        let s: f64 = floor + gap;
        let wanted = (floor / s.hypot(tip)).acos() - (tip / s).atan();
        assert!((found - wanted.to_degrees()).abs() < 1e-4, "{found}");
        let pressed = Across { floor: floor + gap, walls: Vec::new(), point }.most();
        assert!(pressed < 1e-3, "{pressed}");
    }
}
