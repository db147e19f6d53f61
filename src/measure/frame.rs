//! The handle's frame, used by every part, report and drawing: see [`FRAME`].

use super::Vec2;

/// The frame in words, for help texts: the only place where it is laid down.
pub const FRAME: &str = "\
z runs along the bore, from the end cap (z = 0) to the front.
+y points to the switches.
x is y cross z, so that the frame is right-handed: seen from the front, looking
back to the end cap (against +z), +x is to the right of +y.
A clocking angle turns about z: 0 is +y (at the switches), positive is
counter-clockwise seen from the front, so that 90 degrees is -x.
Lengths are millimetres, angles degrees.
";

/// Unit vector (x, y) of a clocking angle in degrees: `(-sin a, cos a)`, exact
/// at multiples of 90 degrees.
pub fn direction(clocking: f64) -> Vec2 {
    // remainder of division by 360 is exact for finite f64.
    let turn = clocking.rem_euclid(360.0);
    if turn == 0.0 || turn == 360.0 {
        Vec2::new(0.0, 1.0)
    } else if turn == 90.0 {
        Vec2::new(-1.0, 0.0)
    } else if turn == 180.0 {
        Vec2::new(0.0, -1.0)
    } else if turn == 270.0 {
        Vec2::new(1.0, 0.0)
    } else {
        let (sin, cos) = turn.to_radians().sin_cos();
        Vec2::new(-sin, cos)
    }
}

/// Clocking angle in degrees, in `[0, 360)`, of the direction from the bore's
/// axis to a point; 0 for the axis itself.
pub fn clocking(point: Vec2) -> f64 {
    let turn = (-point.x).atan2(point.y).to_degrees().rem_euclid(360.0);
    // rem_euclid of a tiny negative number rounds up to 360.
    if turn >= 360.0 { 0.0 } else { turn }
}

#[cfg(test)]
mod tests {
    use super::super::Vec3;
    use super::*;

    #[test]
    fn quarter_turns_are_exact() {
        let at = |a: f64| (direction(a).x, direction(a).y);
        assert_eq!(at(0.0), (0.0, 1.0));
        assert_eq!(at(90.0), (-1.0, 0.0));
        assert_eq!(at(-90.0), (1.0, 0.0));
        assert_eq!(at(540.0), (0.0, -1.0));
        assert_eq!(at(-1e-20), (0.0, 1.0));
    }

    #[test]
    fn counter_clockwise_seen_from_the_front() {
        let (from, to) = (direction(10.0), direction(40.0));
        assert!(from.x * to.y - from.y * to.x > 0.0, "a positive turn about +z");
        assert_eq!(Vec3::y().cross(&Vec3::z()), Vec3::x());
    }

    #[test]
    fn clocking_undoes_direction() {
        for step in 0..720 {
            let angle = f64::from(step) * 0.5;
            let back = clocking(direction(angle) * 7.0);
            let off = (back - angle).abs();
            assert!(off < 1e-12 || (off - 360.0).abs() < 1e-12, "{angle} became {back}");
        }
        assert_eq!(clocking(Vec2::zeros()), 0.0);
    }
}
