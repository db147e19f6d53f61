//! Choosing wrap angle, lip thickness and lip length for a cell tray.

use super::inputs::{Inputs, inputs, number, number_or};
use super::lip::{Lip, LipInput, curved_lip};
use super::{Calculator, TradeError, Worked, num};
use crate::measure::Unit;

/// Step of the wrap angle that is tried, degrees.
const WRAP_STEP_DEG: f64 = 0.5;
/// Smallest and largest wrap angle tried, degrees: past 40 the opening asks
/// more of any print than it can give.
const WRAP_DEG: (f64, f64) = (4.0, 40.0);
/// Step of the lip thickness that is tried, mm.
const THICKNESS_STEP_MM: f64 = 0.1;
/// Step to which the lip's length is rounded where its range allows, mm.
const LENGTH_STEP_MM: f64 = 0.1;

inputs! {
    /// What the tray must hold, and the limits. See [`choose_lip`].
    LipChoiceInput, LIP_CHOICE_INPUTS {
        /// Smallest cell that must be held.
        cell_min_mm: f64 = number(Unit::Mm, 2.0, 100.0);
        /// Largest cell that must go in.
        cell_max_mm: f64 = number(Unit::Mm, 2.0, 100.0);
        /// Clearance per side around the largest cell.
        clearance_mm: f64 = number_or(Unit::Mm, 0.0, 5.0, 0.15);
        /// Longest lip there is room for.
        length_mm: f64 = number(Unit::Mm, 1.0, 1000.0);
        /// Shortest lip worth printing.
        length_min_mm: f64 = number_or(Unit::Mm, 0.5, 1000.0, 4.0);
        /// Thinnest lip that prints.
        wall_min_mm: f64 = number_or(Unit::Mm, 0.1, 20.0, 0.8);
        /// Thickest lip there is room for.
        wall_max_mm: f64 = number_or(Unit::Mm, 0.1, 20.0, 2.4);
        /// Angle below the middle at which the thick floor begins.
        root_deg: f64 = number_or(Unit::Degrees, 0.0, 90.0, 60.0);
        /// Modulus of the material.
        modulus_mpa: f64 = number(Unit::Megapascal, 1.0, 500_000.0);
        /// Strain that the material may take.
        allowed_percent: f64 = number(Unit::Percent, 0.01, 100.0);
        /// Coefficient of friction.
        friction: f64 = number_or(Unit::One, 0.0, 2.0, 0.3);
        /// Least grip of each lip past the smallest cell.
        grip_min_mm: f64 = number_or(Unit::Mm, 0.0, 5.0, 0.1);
        /// Largest push to insert the largest cell.
        insertion_max_n: f64 = number_or(Unit::Newton, 0.1, 1000.0, 40.0);
        /// Least pull that must hold the smallest cell.
        pull_out_min_n: f64 = number_or(Unit::Newton, 0.0, 1000.0, 5.0);
        /// Largest pull to remove the largest cell.
        pull_out_max_n: f64 = number_or(Unit::Newton, 0.1, 1000.0, 40.0);
    }
}

/// Result of [`choose_lip`].
#[derive(Clone, Debug, PartialEq)]
pub struct LipChoice {
    /// Angle by which each lip wraps past the middle, degrees.
    pub wrap_deg: f64,
    /// Lip thickness, mm.
    pub thickness_mm: f64,
    /// Length of lip to keep, mm.
    pub length_mm: f64,
    /// Length to cut away for the fingers, mm.
    pub cut_away_mm: f64,
    /// Inner diameter of the trough, mm.
    pub trough_mm: f64,
    /// Lip with the smallest cell.
    pub smallest: Lip,
    /// Lip with the largest cell.
    pub largest: Lip,
    /// The least of the three ratios limit over value (strain, push, hold).
    pub room: f64,
    /// Why these values, one sentence each.
    pub reasons: Vec<String>,
}

/// One wrap and thickness, with forces for the full length.
struct Candidate {
    lip: LipInput,
    largest: Lip,
    /// Pull that holds the smallest cell, full length, N.
    hold: f64,
    /// Push of the largest cell, full length, N.
    push: f64,
    /// Pull of the largest cell, full length, N.
    pull: f64,
}

/// Chooses wrap angle, lip thickness and lip length.
///
/// Strain is set by wrap and thickness alone, forces also by the length of lip
/// (they are proportional to it). So every wrap (0.5 degree steps, 4 to 40) and
/// thickness (0.1 mm steps within the walls) whose strain is allowed with the
/// largest cell, and whose lips grip the smallest one, gives a range of
/// lengths; the choice is the one with most room to its nearest limit, the
/// length in the geometric middle of its range. What is not kept is cut away
/// for the fingers.
///
/// Source: [`curved_lip`]; the search is our own. Refuses when nothing fits,
/// and says which limit binds and the value that would cure it.
pub fn choose_lip(input: &LipChoiceInput) -> Result<LipChoice, TradeError> {
    input.check()?;
    let order = [
        ("cell_min_mm", input.cell_min_mm, input.cell_max_mm, Unit::Mm),
        ("wall_min_mm", input.wall_min_mm, input.wall_max_mm, Unit::Mm),
        ("length_min_mm", input.length_min_mm, input.length_mm, Unit::Mm),
        ("pull_out_min_n", input.pull_out_min_n, input.pull_out_max_n, Unit::Newton),
    ];
    for (key, low, high, unit) in order {
        if low > high {
            return Err(TradeError::Refused {
                input: key,
                value: low,
                min: f64::NEG_INFINITY,
                max: high,
                unit,
                reason: "the lower limit is above the upper one".to_owned(),
                hint: format!("give {key} at most {}", num(high)),
            });
        }
    }
    let all = candidates(input);
    let Some(gentlest) = all.iter().min_by(|a, b| strain(a).total_cmp(&strain(b))) else {
        return Err(no_grip(input));
    };
    let allowed: Vec<&Candidate> =
        all.iter().filter(|c| strain(c) <= input.allowed_percent).collect();
    if allowed.is_empty() {
        return Err(TradeError::Refused {
            input: "allowed_percent",
            value: input.allowed_percent,
            min: strain(gentlest),
            max: f64::INFINITY,
            unit: Unit::Percent,
            reason: format!(
                "every lip that grips a {} mm cell would crack or set on a {} mm cell",
                num(input.cell_min_mm),
                num(input.cell_max_mm)
            ),
            hint: format!(
                "use a material or print direction that allows {} % strain, narrow the range of \
                 cells, reduce the clearance, or start the floor lower (root_deg)",
                num(strain(gentlest))
            ),
        });
    }
    let mut best: Option<(f64, f64, &Candidate)> = None;
    for &c in &allowed {
        let shortest = input.length_min_mm.max(input.length_mm * input.pull_out_min_n / c.hold);
        let longest = (input.length_mm)
            .min(input.length_mm * input.insertion_max_n / c.push)
            .min(input.length_mm * input.pull_out_max_n / c.pull);
        if shortest > longest {
            continue;
        }
        let middle = (shortest * longest).sqrt();
        let round = (middle / LENGTH_STEP_MM).round() * LENGTH_STEP_MM;
        let length = if round >= shortest && round <= longest { round } else { middle };
        let share = length / input.length_mm;
        let hold_room = if input.pull_out_min_n > 0.0 {
            c.hold * share / input.pull_out_min_n
        } else {
            f64::INFINITY
        };
        let room = (input.allowed_percent / strain(c))
            .min(input.insertion_max_n / (c.push * share))
            .min(input.pull_out_max_n / (c.pull * share))
            .min(hold_room);
        if best.is_none_or(|(most, ..)| room > most) {
            best = Some((room, length, c));
        }
    }
    match best {
        Some((room, length, c)) => finish(input, room, length, c),
        None => Err(no_force(input, &allowed)),
    }
}

fn strain(c: &Candidate) -> f64 {
    c.largest.strain_percent
}

/// Every wrap and thickness that grips the smallest cell and does not lock.
fn candidates(input: &LipChoiceInput) -> Vec<Candidate> {
    let steps = |low: f64, high: f64, step: f64| {
        let n = ((high - low) / step + 1e-9).floor() as usize;
        (0..=n).map(move |i| low + i as f64 * step)
    };
    let trough_mm = input.cell_max_mm + 2.0 * input.clearance_mm;
    let mut found = Vec::new();
    for wrap_deg in steps(WRAP_DEG.0, WRAP_DEG.1, WRAP_STEP_DEG) {
        for thickness_mm in steps(input.wall_min_mm, input.wall_max_mm, THICKNESS_STEP_MM) {
            let lip = LipInput {
                cylinder_mm: input.cell_max_mm,
                trough_mm,
                thickness_mm,
                length_mm: input.length_mm,
                wrap_deg,
                root_deg: input.root_deg,
                modulus_mpa: input.modulus_mpa,
                friction: input.friction,
                allowed_percent: input.allowed_percent,
            };
            let Ok(largest) = curved_lip(&lip) else { continue };
            if (input.cell_min_mm - largest.mouth_mm) / 2.0 < input.grip_min_mm {
                break;
            }
            let small = LipInput { cylinder_mm: input.cell_min_mm, ..lip.clone() };
            let Ok(smallest) = curved_lip(&small) else { continue };
            let (Some(hold), Some(push), Some(pull)) =
                (smallest.pull_out_n, largest.insertion_n, largest.pull_out_n)
            else {
                continue;
            };
            let over = largest.strain_percent > input.allowed_percent;
            if hold > 0.0 {
                found.push(Candidate { lip, largest, hold, push, pull });
            }
            // Strain grows with thickness: the first one over the limit is the
            // gentlest of the rest, which is all a refusal needs.
            if over {
                break;
            }
        }
    }
    found
}

fn no_grip(input: &LipChoiceInput) -> TradeError {
    let trough = input.cell_max_mm + 2.0 * input.clearance_mm;
    let least = trough * WRAP_DEG.1.to_radians().cos() + 2.0 * input.grip_min_mm;
    TradeError::Refused {
        input: "cell_min_mm",
        value: input.cell_min_mm,
        min: least.min(input.cell_max_mm),
        max: input.cell_max_mm,
        unit: Unit::Mm,
        reason: "no lip grips the smallest cell without locking".to_owned(),
        hint: "narrow the range of cells, reduce the clearance or the friction, or use a \
               thinner lip"
            .to_owned(),
    }
}

/// The refusal when the strain is fine but the forces are not.
fn no_force(input: &LipChoiceInput, allowed: &[&Candidate]) -> TradeError {
    let hold = allowed.iter().map(|c| c.hold).fold(0.0, f64::max);
    if hold < input.pull_out_min_n {
        let length = input.length_mm * input.pull_out_min_n / hold;
        return TradeError::Refused {
            input: "pull_out_min_n",
            value: input.pull_out_min_n,
            min: 0.0,
            max: hold,
            unit: Unit::Newton,
            reason: "no lip of this length holds the smallest cell so firmly within its strain"
                .to_owned(),
            hint: format!(
                "ask for at most {} N, or give the lip {} mm of length",
                num(hold),
                num(length)
            ),
        };
    }
    // What the push and the pull must be allowed to reach, by candidate.
    let need = |c: &&Candidate| {
        let share = (input.length_min_mm / input.length_mm).max(input.pull_out_min_n / c.hold);
        (c.push * share, c.pull * share)
    };
    let worst = |c: &&Candidate| {
        let (push, pull) = need(c);
        (push / input.insertion_max_n).max(pull / input.pull_out_max_n)
    };
    let nearest = allowed
        .iter()
        .min_by(|a, b| worst(a).total_cmp(&worst(b)))
        .expect("the caller has at least one candidate");
    let (push, pull) = need(nearest);
    let (key, value, min) = if push / input.insertion_max_n >= pull / input.pull_out_max_n {
        ("insertion_max_n", input.insertion_max_n, push)
    } else {
        ("pull_out_max_n", input.pull_out_max_n, pull)
    };
    TradeError::Refused {
        input: key,
        value,
        min,
        max: f64::INFINITY,
        unit: Unit::Newton,
        reason: "a lip that holds the smallest cell is too stiff for the largest one".to_owned(),
        hint: format!(
            "allow {} N in {key}, ask for a weaker hold (pull_out_min_n), a shorter lip \
             (length_min_mm), a thinner wall, or narrow the range of cells",
            num(min)
        ),
    }
}

fn finish(
    input: &LipChoiceInput,
    room: f64,
    length: f64,
    c: &Candidate,
) -> Result<LipChoice, TradeError> {
    let with =
        |cylinder_mm| curved_lip(&LipInput { cylinder_mm, length_mm: length, ..c.lip.clone() });
    let (smallest, largest) = (with(input.cell_min_mm)?, with(input.cell_max_mm)?);
    let force = |v: Option<f64>| format!("{:.1}", v.unwrap_or(f64::INFINITY));
    let reasons = vec![
        format!(
            "wrap {} deg: each lip grips the {} mm cell by {:.2} mm and opens {:.2} mm for the {} mm cell",
            num(c.lip.wrap_deg),
            num(input.cell_min_mm),
            smallest.deflection_mm,
            largest.deflection_mm,
            num(input.cell_max_mm)
        ),
        format!(
            "thickness {} mm: strain {:.2} % of {} % allowed",
            num(c.lip.thickness_mm),
            largest.strain_percent,
            num(input.allowed_percent)
        ),
        format!(
            "length {:.1} of {} mm: push {} N (at most {}), holds {} N (at least {})",
            length,
            num(input.length_mm),
            force(largest.insertion_n),
            num(input.insertion_max_n),
            force(smallest.pull_out_n),
            num(input.pull_out_min_n)
        ),
    ];
    Ok(LipChoice {
        wrap_deg: c.lip.wrap_deg,
        thickness_mm: c.lip.thickness_mm,
        length_mm: length,
        cut_away_mm: input.length_mm - length,
        trough_mm: c.lip.trough_mm,
        smallest,
        largest,
        room,
        reasons,
    })
}

/// Row of the registry.
pub const CHOOSE_LIP: Calculator = Calculator {
    name: "choose-lip",
    summary: "wrap angle, lip thickness and finger cut-out of a cell tray",
    inputs: LIP_CHOICE_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = LipChoiceInput::from_inputs(inputs)?;
    let out = choose_lip(&i)?;
    let mut w =
        Worked::new(inputs, "curved-lip for every wrap and thickness; the search is our own");
    w.step(
        "Inner diameter of the trough",
        "D = {d} + 2 * {c}",
        &[("d", i.cell_max_mm), ("c", i.clearance_mm)],
        out.trough_mm,
        Unit::Mm,
    );
    w.step("Wrap past the middle", "w = search", &[], out.wrap_deg, Unit::Degrees);
    w.step("Lip thickness", "t = search", &[], out.thickness_mm, Unit::Mm);
    w.step(
        "Largest cell: each lip gives way by",
        "y = ({d} - {D} * cos({w deg})) / 2",
        &[("d", i.cell_max_mm), ("D", out.trough_mm), ("w", out.wrap_deg)],
        out.largest.deflection_mm,
        Unit::Mm,
    );
    w.step(
        "Its largest strain",
        "eps = curved-lip",
        &[],
        out.largest.strain_percent,
        Unit::Percent,
    );
    w.step(
        "Cut away for the fingers",
        "c = {full} - {kept}",
        &[("full", i.length_mm), ("kept", out.length_mm)],
        out.cut_away_mm,
        Unit::Mm,
    );
    w.result("wrap_deg", "wrap past the middle", out.wrap_deg, Unit::Degrees);
    w.result("thickness_mm", "lip thickness", out.thickness_mm, Unit::Mm);
    w.result("length_mm", "length of lip to keep", out.length_mm, Unit::Mm);
    w.result("cut_away_mm", "length to cut away", out.cut_away_mm, Unit::Mm);
    let percent = out.largest.strain_percent;
    w.result("strain_percent", "strain with the largest cell", percent, Unit::Percent);
    let forces = [
        ("insertion_n", "push, largest cell", out.largest.insertion_n),
        ("pull_out_n", "pull, largest cell", out.largest.pull_out_n),
        ("hold_n", "pull, smallest cell", out.smallest.pull_out_n),
    ];
    for (key, what, force) in forces {
        if let Some(n) = force {
            w.result(key, what, n, Unit::Newton);
        }
    }
    w.result("room", "least ratio of limit to value", out.room, Unit::One);
    w.notes.extend(out.reasons);
    w.note("friction varies by half either way, and so do the forces");
    w.note("caution: never pry a cell out with metal; its wrap must stay whole");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> LipChoiceInput {
        LipChoiceInput {
            cell_min_mm: 18.2,
            cell_max_mm: 18.6,
            clearance_mm: 0.1,
            length_mm: 50.0,
            length_min_mm: 4.0,
            wall_min_mm: 0.8,
            wall_max_mm: 2.4,
            root_deg: 60.0,
            modulus_mpa: 1700.0,
            allowed_percent: 1.0,
            friction: 0.3,
            grip_min_mm: 0.1,
            insertion_max_n: 40.0,
            pull_out_min_n: 4.0,
            pull_out_max_n: 40.0,
        }
    }

    fn assert_within(input: &LipChoiceInput, out: &LipChoice) {
        assert!(out.largest.strain_percent <= input.allowed_percent);
        assert!(out.largest.insertion_n.unwrap() <= input.insertion_max_n * (1.0 + 1e-12));
        assert!(out.largest.pull_out_n.unwrap() <= input.pull_out_max_n * (1.0 + 1e-12));
        assert!(out.smallest.pull_out_n.unwrap() >= input.pull_out_min_n * (1.0 - 1e-12));
        assert!(out.smallest.deflection_mm >= input.grip_min_mm);
        assert!(out.room >= 1.0 - 1e-12 && out.cut_away_mm >= 0.0);
    }

    #[test]
    fn the_choice_obeys_every_limit() {
        let out = choose_lip(&sample()).unwrap();
        assert_within(&sample(), &out);
        assert_eq!(out.reasons.len(), 3);
    }

    #[test]
    fn random_wishes_are_met_or_refused_with_a_cure() {
        let mut rng = fastrand::Rng::with_seed(5);
        let (mut met, mut refused) = (0, 0);
        for _ in 0..60 {
            let max = 10.0 + 16.0 * rng.f64();
            let input = LipChoiceInput {
                cell_max_mm: max,
                cell_min_mm: max - rng.f64(),
                clearance_mm: 0.3 * rng.f64(),
                allowed_percent: 0.3 + 2.0 * rng.f64(),
                pull_out_min_n: 12.0 * rng.f64(),
                insertion_max_n: 2.0 + 40.0 * rng.f64(),
                ..sample()
            };
            match choose_lip(&input) {
                Ok(out) => {
                    met += 1;
                    assert_within(&input, &out);
                }
                Err(err) => {
                    refused += 1;
                    assert!(!err.hint().is_empty());
                }
            }
        }
        assert!(met > 10 && refused > 5, "{met} {refused}");
    }

    #[test]
    fn brittle_material_is_refused_and_the_cure_works() {
        let input = LipChoiceInput { allowed_percent: 0.05, ..sample() };
        let err = choose_lip(&input).unwrap_err();
        let TradeError::Refused { input: "allowed_percent", min, .. } = err else {
            panic!("wanted the strain to bind, got {err}");
        };
        let forces = LipChoiceInput { pull_out_min_n: 0.0, insertion_max_n: 1000.0, ..input };
        let cured = LipChoiceInput { allowed_percent: min, pull_out_max_n: 1000.0, ..forces };
        assert!(choose_lip(&cured).is_ok());
    }

    #[test]
    fn a_hold_too_firm_is_refused_and_the_cure_works() {
        let input = LipChoiceInput { pull_out_min_n: 500.0, pull_out_max_n: 1000.0, ..sample() };
        let err = choose_lip(&input).unwrap_err();
        let TradeError::Refused { input: "pull_out_min_n", max, .. } = err else {
            panic!("wanted the hold to bind, got {err}");
        };
        let cured = LipChoiceInput { pull_out_min_n: max, insertion_max_n: 1000.0, ..input };
        assert!(choose_lip(&cured).is_ok());
    }

    #[test]
    fn a_push_too_light_is_refused_and_the_cure_works() {
        let input = LipChoiceInput { insertion_max_n: 0.5, ..sample() };
        let err = choose_lip(&input).unwrap_err();
        let TradeError::Refused { input: "insertion_max_n", min, .. } = err else {
            panic!("wanted the push to bind, got {err}");
        };
        assert!(choose_lip(&LipChoiceInput { insertion_max_n: min * 1.0001, ..input }).is_ok());
    }
}
