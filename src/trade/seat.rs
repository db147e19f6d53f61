//! What the seat of a grub screw holds in a printed part.

use std::f64::consts::PI;

use super::inputs::{Inputs, choice, choices, inputs, number, number_or};
use super::{Calculator, TradeError, Worked};
use crate::measure::Unit;

choices! {
    /// Form of a seat that a grub screw's point bears in.
    Form {
        /// A plane square to the screw.
        Flat = "flat",
        /// A round blind hole.
        Dimple = "dimple",
        /// A slot along the bore.
        SlotAlong = "slot-along",
        /// A slot around the part.
        SlotAround = "slot-around",
    }
}

inputs! {
    /// A grub screw's point in a seat. See [`seat_hold`].
    SeatHoldInput, SEAT_HOLD_INPUTS {
        /// Form of the seat.
        form: Form = choice(Form::WORDS);
        /// Outside diameter of the screw's thread.
        thread_mm: f64 = number(Unit::Mm, 1.0, 10.0);
        /// Diameter of the point's end, which presses on the floor.
        tip_mm: f64 = number(Unit::Mm, 0.1, 10.0);
        /// Diameter of what of the screw stands in the seat, at its rim.
        body_mm: f64 = number(Unit::Mm, 0.1, 10.0);
        /// How deep it stands in the seat.
        depth_mm: f64 = number(Unit::Mm, 0.05, 20.0);
        /// Distance of the seat's floor from the axis that the part turns about.
        floor_mm: f64 = number(Unit::Mm, 0.1, 100.0);
        /// Outside radius of the part, which the screw presses on the bore.
        outside_mm: f64 = number(Unit::Mm, 1.0, 100.0);
        /// Material along the bore between the seat and the part's end.
        end_mm: f64 = number(Unit::Mm, 0.1, 1000.0);
        /// Stress that the material takes.
        strength_mpa: f64 = number(Unit::Megapascal, 1.0, 2000.0);
        /// Coefficient of friction.
        friction: f64 = number_or(Unit::One, 0.0, 2.0, 0.3);
        /// Safety against that stress.
        safety: f64 = number_or(Unit::One, 1.0, 10.0, 2.0);
    }
}

/// Result of [`seat_hold`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeatHold {
    /// Largest force of the point on the floor, N.
    pub press_n: f64,
    /// Torque on the key that gives it, N mm.
    pub key_n_mm: f64,
    /// Torque that friction holds at that force, N mm.
    pub friction_n_mm: f64,
    /// Torque that the form holds, N mm: the seat's wall, or the flat that
    /// would have to lift the point.
    pub form_n_mm: f64,
    /// Torque that the seat bears, N mm.
    pub torque_n_mm: f64,
    /// Pull along the bore that crushes the seat's wall, N.
    pub crush_n: f64,
    /// Pull along the bore that shears out what is left to the end, N.
    pub shear_n: f64,
    /// Pull along the bore that the seat bears, N.
    pub pull_n: f64,
}

/// Torque on a key over force times thread. Common practice for dry steel, no
/// source.
const NUT_FACTOR: f64 = 0.2;
/// How far the pressure on a flat moves to the point's edge before the plastic
/// gives way there, as a share of the point's radius. Common practice, no source.
const LIFT: f64 = 0.5;

/// What a seat holds: with the allowed pressure `p`, strength over safety, the
/// point may press with `P = p pi/4 tip^2`; the key then takes `0.2 P d`.
///
/// Friction at the floor and where the part leans on the bore holds `mu P (f +
/// R)`. A flat adds what it takes to lift the point on its edge, half of its
/// radius; a wall bears `p d h` on the screw's side, at half its depth. Along the bore,
/// the same wall is crushed, or two planes to the end shear at `p / sqrt 3`.
///
/// Source: projected bearing area and shear by the criterion of greatest
/// distortion energy; the factors 0.2 and 0.5 are common practice, no source.
/// Layers, infill and creep are not looked at.
///
/// # Errors
/// Inputs outside the table; a floor that lies outside the part.
pub fn seat_hold(input: &SeatHoldInput) -> Result<SeatHold, TradeError> {
    input.check()?;
    let i = input;
    if i.floor_mm + i.depth_mm > i.outside_mm + ROUNDING {
        return Err(TradeError::Refused {
            input: "depth_mm",
            value: i.depth_mm,
            min: 0.05,
            max: i.outside_mm - i.floor_mm,
            unit: Unit::Mm,
            reason: "the seat is deeper than the part is thick above its floor".to_owned(),
            hint: "depth is what lies between the floor and the outside".to_owned(),
        });
    }
    let allowed = i.strength_mpa / i.safety;
    let press_n = allowed * PI / 4.0 * i.tip_mm * i.tip_mm;
    let friction_n_mm = i.friction * press_n * (i.floor_mm + i.outside_mm);
    let crush_n = allowed * i.body_mm * i.depth_mm;
    let shear_n = allowed / 3.0_f64.sqrt() * 2.0 * i.depth_mm * i.end_mm;
    let form_n_mm = match i.form {
        Form::Flat => press_n * LIFT * 0.5 * i.tip_mm,
        _ => crush_n * (i.floor_mm + 0.5 * i.depth_mm),
    };
    let torque_n_mm = match i.form {
        Form::Flat => friction_n_mm + form_n_mm,
        _ => form_n_mm,
    };
    let key_n_mm = NUT_FACTOR * press_n * i.thread_mm;
    let pull_n = crush_n.min(shear_n);
    Ok(SeatHold {
        press_n,
        key_n_mm,
        friction_n_mm,
        form_n_mm,
        torque_n_mm,
        crush_n,
        shear_n,
        pull_n,
    })
}

/// Float noise of a sum of lengths, mm.
const ROUNDING: f64 = 1e-9;

/// Row of the registry.
pub const SEAT_HOLD: Calculator = Calculator {
    name: "seat-hold",
    summary: "torque and pull that a grub screw's seat in plastic bears",
    inputs: SEAT_HOLD_INPUTS,
    run: work_seat,
};

fn work_seat(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = SeatHoldInput::from_inputs(inputs)?;
    let out = seat_hold(&i)?;
    let allowed = i.strength_mpa / i.safety;
    let mut w = Worked::new(
        inputs,
        "projected bearing area; shear by distortion energy; factors 0.2 and 0.5 common practice, no source",
    );
    let bound = [("s", i.strength_mpa), ("S", i.safety)];
    w.step("Allowed pressure", "p = {s} / {S}", &bound, allowed, Unit::Megapascal);
    let bound = [("p", allowed), ("t", i.tip_mm)];
    let what = "Force of the point on the floor";
    w.step(what, "P = {p} * pi / 4 * {t}^2", &bound, out.press_n, Unit::Newton);
    let bound = [("P", out.press_n), ("D", i.thread_mm)];
    w.step("Torque on the key", "K = 0.2 * {P} * {D}", &bound, out.key_n_mm, Unit::NewtonMm);
    let lever = [("mu", i.friction), ("P", out.press_n), ("f", i.floor_mm), ("R", i.outside_mm)];
    let what = "Torque that friction holds";
    w.step(what, "Tf = {mu} * {P} * ({f} + {R})", &lever, out.friction_n_mm, Unit::NewtonMm);
    let bound = [("p", allowed), ("b", i.body_mm), ("h", i.depth_mm)];
    let what = "Force that crushes the seat's wall";
    w.step(what, "F = {p} * {b} * {h}", &bound, out.crush_n, Unit::Newton);
    if i.form == Form::Flat {
        let bound = [("P", out.press_n), ("t", i.tip_mm)];
        let what = "Torque that lifts the point on its edge";
        w.step(what, "Tl = {P} * 0.5 * {t} / 2", &bound, out.form_n_mm, Unit::NewtonMm);
        let bound = [("Tf", out.friction_n_mm), ("Tl", out.form_n_mm)];
        w.step("Torque", "T = {Tf} + {Tl}", &bound, out.torque_n_mm, Unit::NewtonMm);
    } else {
        let bound = [("F", out.crush_n), ("f", i.floor_mm), ("h", i.depth_mm)];
        w.step("Torque", "T = {F} * ({f} + {h} / 2)", &bound, out.torque_n_mm, Unit::NewtonMm);
    }
    let bound = [("p", allowed), ("h", i.depth_mm), ("e", i.end_mm)];
    let what = "Force that shears out the end";
    w.step(what, "Fs = {p} / sqrt(3) * 2 * {h} * {e}", &bound, out.shear_n, Unit::Newton);
    w.result("torque_n_mm", "torque that the seat bears", out.torque_n_mm, Unit::NewtonMm);
    w.result("pull_n", "pull along the bore that it bears", out.pull_n, Unit::Newton);
    w.result("press_n", "largest force of the point on the floor", out.press_n, Unit::Newton);
    w.result("key_n_mm", "torque on the key that gives it", out.key_n_mm, Unit::NewtonMm);
    w.result("friction_n_mm", "torque that friction holds", out.friction_n_mm, Unit::NewtonMm);
    w.note("plastic creeps under a screw: look at it again after some days");
    if i.form == Form::SlotAround {
        w.note("the torque is that of the slot's ends; between them only friction holds");
    }
    if i.form == Form::SlotAlong {
        w.note("the pull is that of the slot's ends; between them only friction holds");
    }
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn input(form: Form) -> SeatHoldInput {
        SeatHoldInput {
            form,
            thread_mm: 4.0,
            tip_mm: 2.0,
            body_mm: 3.0,
            depth_mm: 1.5,
            floor_mm: 16.0,
            outside_mm: 17.5,
            end_mm: 5.0,
            strength_mpa: 30.0,
            friction: 0.5,
            safety: 2.0,
        }
    }

    #[test]
    fn a_wall_holds_more_than_a_flat_and_both_follow_their_formulas() {
        let flat = seat_hold(&input(Form::Flat)).unwrap();
        let press = 15.0 * PI;
        assert!((flat.press_n - press).abs() < 1e-9);
        assert!((flat.torque_n_mm - press * (0.5 * 33.5 + 0.5)).abs() < 1e-9);
        let dimple = seat_hold(&input(Form::Dimple)).unwrap();
        assert!((dimple.crush_n - 67.5).abs() < 1e-9);
        assert!((dimple.torque_n_mm - 67.5 * 16.75).abs() < 1e-9);
        assert!(dimple.torque_n_mm > flat.torque_n_mm);
        assert_eq!(dimple.pull_n, dimple.crush_n);
        let short = seat_hold(&SeatHoldInput { end_mm: 0.5, ..input(Form::Dimple) }).unwrap();
        assert!((short.pull_n - 15.0 / 3f64.sqrt() * 1.5).abs() < 1e-9);
    }

    #[test]
    fn a_floor_outside_the_part_is_refused() {
        let deep = SeatHoldInput { depth_mm: 2.0, ..input(Form::Flat) };
        assert!(matches!(seat_hold(&deep), Err(TradeError::Refused { input: "depth_mm", .. })));
    }
}
