//! Plunger to switch: the stack-up that decides whether a button works.

use super::inputs::{Inputs, choice_or, choices, inputs, number, number_or};
use super::stack_up::{StackUp, StackUpInput, stack_up};
use super::{Calculator, TradeError, Worked, num};
use crate::measure::Unit;
use crate::measure::rounding::{NOISE, down, up};

/// Largest distance from the bore axis, mm.
const REACH_MM: f64 = 200.0;
/// Largest tolerance of one term, mm.
const TOLERANCE_MM: f64 = 5.0;
/// Halvings when a tolerance that cures is sought; leaves 1e-12 of it.
const HALVINGS: usize = 40;

choices! {
    /// Which spread of the chain must stay inside the limits.
    Basis {
        /// All tolerances at once.
        Worst = "worst",
        /// Root of the sum of squares.
        Rss = "rss",
    }
}

inputs! {
    /// The chain from the plunger's tip to the switch. All heights are measured
    /// from the bore axis towards the switches. See [`plunger`].
    PlungerInput, PLUNGER_INPUTS {
        /// Plunger tip at rest.
        tip_mm: f64 = number(Unit::Mm, -REACH_MM, REACH_MM);
        /// Tolerance of the tip, as measured.
        tip_tol_mm: f64 = number_or(Unit::Mm, 0.0, TOLERANCE_MM, 0.1);
        /// How far the chassis may sit to either side in its bore.
        play_tol_mm: f64 = number_or(Unit::Mm, 0.0, TOLERANCE_MM, 0.2);
        /// The plate's seat: the height that the designer may choose.
        seat_mm: f64 = number(Unit::Mm, -REACH_MM, REACH_MM);
        /// Print tolerance of the seat.
        seat_tol_mm: f64 = number_or(Unit::Mm, 0.0, TOLERANCE_MM, 0.2);
        /// Thickness of board or pad between seat and switch.
        plate_mm: f64 = number_or(Unit::Mm, 0.0, REACH_MM, 1.6);
        /// Tolerance of that thickness.
        plate_tol_mm: f64 = number_or(Unit::Mm, 0.0, TOLERANCE_MM, 0.1);
        /// Switch height from its own seat to the top of the stem at rest.
        switch_mm: f64 = number(Unit::Mm, 0.1, REACH_MM);
        /// Tolerance of the switch height.
        switch_tol_mm: f64 = number_or(Unit::Mm, 0.0, TOLERANCE_MM, 0.2);
        /// How far the plunger can be pressed in.
        travel_mm: f64 = number(Unit::Mm, 0.05, 50.0);
        /// Tolerance of the plunger's travel.
        travel_tol_mm: f64 = number_or(Unit::Mm, 0.0, TOLERANCE_MM, 0.1);
        /// Stroke at which the switch closes.
        stroke_mm: f64 = number_or(Unit::Mm, 0.0, 20.0, 0.25);
        /// Tolerance of that stroke.
        stroke_tol_mm: f64 = number_or(Unit::Mm, 0.0, TOLERANCE_MM, 0.15);
        /// Smallest rest gap wanted, so that the switch is never held down.
        gap_min_mm: f64 = number_or(Unit::Mm, 0.0, TOLERANCE_MM, 0.05);
        /// Which spread must fit: `worst` or `rss`.
        basis: Basis = choice_or(Basis::WORDS, "worst");
    }
}

/// Rest gap and travel with one kind of spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Smallest rest gap, mm; zero or less holds the switch down.
    pub gap_low_mm: f64,
    /// Largest rest gap, mm.
    pub gap_high_mm: f64,
    /// Travel left after the switch has closed, at the largest gap, mm; below
    /// zero the button cannot close the switch.
    pub left_mm: f64,
    /// Width of the range of seat heights that work, mm; below zero none does.
    pub window_mm: f64,
    /// Seat height in the middle of that range, mm.
    pub best_seat_mm: f64,
    /// Whether the seat as given works.
    pub works: bool,
}

/// Result of [`plunger`].
#[derive(Clone, Debug, PartialEq)]
pub struct Plunger {
    /// The gap chain: tip, play, seat, plate, switch.
    pub gap: StackUp,
    /// Travel left after closing with everything nominal, mm.
    pub left_nominal_mm: f64,
    /// With all tolerances at once.
    pub worst: Spread,
    /// With the root of the sum of squares.
    pub rss: Spread,
    /// Seat height that centres the result on the basis asked for, mm.
    pub best_seat_mm: f64,
    /// Deepest press onto the switch, all tolerances at once, mm. What exceeds
    /// the switch's own stroke is carried by switch and seat.
    pub deepest_press_mm: f64,
}

/// The tolerances that make up the spread, with the weight of each in the
/// window of seat heights: those of the gap count at both ends.
const TOLERANCES: [&str; 7] = [
    "tip_tol_mm",
    "play_tol_mm",
    "seat_tol_mm",
    "plate_tol_mm",
    "switch_tol_mm",
    "travel_tol_mm",
    "stroke_tol_mm",
];

fn tolerances(input: &PlungerInput) -> [f64; 7] {
    [
        input.tip_tol_mm,
        input.play_tol_mm,
        input.seat_tol_mm,
        input.plate_tol_mm,
        input.switch_tol_mm,
        input.travel_tol_mm,
        input.stroke_tol_mm,
    ]
}

/// Spread of the gap, and of travel minus gap minus stroke.
fn spreads(t: &[f64; 7], basis: Basis) -> (f64, f64) {
    match basis {
        Basis::Worst => (t[..5].iter().sum(), t.iter().sum()),
        Basis::Rss => {
            let root = |t: &[f64]| t.iter().map(|v| v * v).sum::<f64>().sqrt();
            (root(&t[..5]), root(t))
        }
    }
}

/// Width of the range of seat heights that work, mm.
fn window(input: &PlungerInput, t: &[f64; 7], basis: Basis) -> f64 {
    let (gap, left) = spreads(t, basis);
    input.travel_mm - input.stroke_mm - left - (input.gap_min_mm + gap)
}

/// Rest gap and remaining travel of a plunger over a switch.
///
/// With the seat at height `s`: gap `g = tip - s - plate - switch`, travel left
/// after closing `l = travel - g - stroke`. The seat works when `g - G >=
/// gap_min` (else the switch is held down) and `l - L >= 0` (else it never
/// closes), where `G` and `L` are the spreads of the two chains, worst case or
/// RSS. The range of seats that satisfy both is `travel - stroke - gap_min - G
/// - L` wide, and its middle is the best seat.
///
/// Source: the pass rule is common practice, no source; the spreads are those
/// of [`stack_up`]. Refuses when no seat height works on the basis asked for,
/// and names the tolerance whose shrinking cures it, with the value it needs.
pub fn plunger(input: &PlungerInput) -> Result<Plunger, TradeError> {
    input.check()?;
    let t = tolerances(input);
    if window(input, &t, input.basis) < -NOISE {
        return Err(refusal(input, &t));
    }
    let gap = stack_up(&StackUpInput {
        values_mm: vec![input.tip_mm, 0.0, -input.seat_mm, -input.plate_mm, -input.switch_mm],
        tolerances_mm: t[..5].to_vec(),
        sensitivities: Vec::new(),
        gap_min_mm: Some(input.gap_min_mm),
        gap_max_mm: None,
    })?;
    let left_nominal_mm = input.travel_mm - gap.nominal_mm - input.stroke_mm;
    let spread = |basis| {
        let (around_gap, around_left) = spreads(&t, basis);
        let window_mm = window(input, &t, basis);
        let best_gap = input.gap_min_mm + around_gap + window_mm / 2.0;
        let gap_low_mm = gap.nominal_mm - around_gap;
        let left_mm = left_nominal_mm - around_left;
        Spread {
            gap_low_mm,
            gap_high_mm: gap.nominal_mm + around_gap,
            left_mm,
            window_mm,
            best_seat_mm: input.seat_mm + gap.nominal_mm - best_gap,
            works: gap_low_mm >= input.gap_min_mm - NOISE && left_mm >= -NOISE,
        }
    };
    let (worst, rss) = (spread(Basis::Worst), spread(Basis::Rss));
    let best_seat_mm = match input.basis {
        Basis::Worst => worst.best_seat_mm,
        Basis::Rss => rss.best_seat_mm,
    };
    let deepest_press_mm = input.travel_mm + input.travel_tol_mm - worst.gap_low_mm;
    Ok(Plunger { gap, left_nominal_mm, worst, rss, best_seat_mm, deepest_press_mm })
}

/// The refusal when no seat works: the tolerance with most left after the cure.
fn refusal(input: &PlungerInput, t: &[f64; 7]) -> TradeError {
    let mut cure: Option<(usize, f64)> = None;
    for i in 0..t.len() {
        let with = |value: f64| {
            let mut changed = *t;
            changed[i] = value;
            window(input, &changed, input.basis)
        };
        if with(0.0) < 0.0 {
            continue;
        }
        let works = largest_that_works(t[i], with);
        if cure.is_none_or(|(j, best): (usize, f64)| works * t[j] > best * t[i]) {
            cure = Some((i, works));
        }
    }
    let short = -window(input, t, input.basis);
    let reason = format!(
        "no seat height works ({} case): the plunger's travel is {} mm too short for the tolerances",
        input.basis.word(),
        num(up(short))
    );
    match cure {
        Some((i, works)) => TradeError::Refused {
            input: TOLERANCES[i],
            value: t[i],
            min: 0.0,
            max: works,
            unit: Unit::Mm,
            reason,
            hint: format!(
                "shrink {} by {} mm, to {} mm, or allow {} mm more travel",
                TOLERANCES[i],
                num(t[i] - down(works)),
                num(down(works)),
                num(up(short))
            ),
        },
        None => TradeError::Refused {
            input: "travel_mm",
            value: input.travel_mm,
            min: input.travel_mm + short,
            max: f64::INFINITY,
            unit: Unit::Mm,
            reason,
            hint: together(input, t, short),
        },
    }
}

/// The largest value up to `fails` at which `window` is not negative, given that
/// it is not at zero.
fn largest_that_works(mut fails: f64, window: impl Fn(f64) -> f64) -> f64 {
    let mut works = 0.0;
    for _ in 0..HALVINGS {
        let middle = (works + fails) / 2.0;
        if window(middle) >= 0.0 { works = middle } else { fails = middle }
    }
    works
}

/// The hint when no single tolerance cures: all of them in proportion, or more
/// travel.
fn together(input: &PlungerInput, t: &[f64; 7], short: f64) -> String {
    let with = |share: f64| window(input, &t.map(|v| v * share), input.basis);
    let travel = format!(
        "use a plunger with {} mm more travel or a switch with a shorter stroke",
        num(up(short))
    );
    if with(0.0) < 0.0 {
        return travel;
    }
    let percent = 100.0 * largest_that_works(1.0, with);
    format!(
        "no single tolerance cures this: shrink all of them to {} % of what they are, or {travel}",
        num(percent.floor())
    )
}

/// Row of the registry.
pub const PLUNGER: Calculator = Calculator {
    name: "plunger",
    summary: "rest gap and remaining travel of a plunger over a switch",
    inputs: PLUNGER_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let input = PlungerInput::from_inputs(inputs)?;
    let out = plunger(&input)?;
    let t = tolerances(&input);
    let mut w =
        Worked::new(inputs, "textbook tolerance stack; pass rule: common practice, no source");
    w.step(
        "Rest gap",
        "g = {tip} - {seat} - {plate} - {switch}",
        &[
            ("tip", input.tip_mm),
            ("seat", input.seat_mm),
            ("plate", input.plate_mm),
            ("switch", input.switch_mm),
        ],
        out.gap.nominal_mm,
        Unit::Mm,
    );
    let five = [("t1", t[0]), ("t2", t[1]), ("t3", t[2]), ("t4", t[3]), ("t5", t[4])];
    w.step(
        "Spread of the gap, worst case",
        "G = {t1} + {t2} + {t3} + {t4} + {t5}",
        &five,
        out.gap.worst_mm,
        Unit::Mm,
    );
    w.step(
        "Spread of the gap, RSS",
        "Gr = sqrt({t1}^2 + {t2}^2 + {t3}^2 + {t4}^2 + {t5}^2)",
        &five,
        out.gap.rss_mm,
        Unit::Mm,
    );
    w.step(
        "Travel left after the switch has closed",
        "l = {travel} - {g} - {stroke}",
        &[("travel", input.travel_mm), ("g", out.gap.nominal_mm), ("stroke", input.stroke_mm)],
        out.left_nominal_mm,
        Unit::Mm,
    );
    w.step(
        "Range of seat heights that work, worst case",
        "window = {travel} - {stroke} - {gmin} - 2 * {G} - {tt} - {ts}",
        &[
            ("travel", input.travel_mm),
            ("stroke", input.stroke_mm),
            ("gmin", input.gap_min_mm),
            ("G", out.gap.worst_mm),
            ("tt", t[5]),
            ("ts", t[6]),
        ],
        out.worst.window_mm,
        Unit::Mm,
    );
    w.result("gap_nominal_mm", "rest gap", out.gap.nominal_mm, Unit::Mm);
    w.result("worst_gap_low_mm", "smallest gap, worst case", out.worst.gap_low_mm, Unit::Mm);
    w.result("worst_left_mm", "travel left, worst case", out.worst.left_mm, Unit::Mm);
    w.result("rss_gap_low_mm", "smallest gap, RSS", out.rss.gap_low_mm, Unit::Mm);
    w.result("rss_left_mm", "travel left, RSS", out.rss.left_mm, Unit::Mm);
    w.result("best_seat_mm", "seat height that centres the result", out.best_seat_mm, Unit::Mm);
    w.result("deepest_press_mm", "deepest press on the switch", out.deepest_press_mm, Unit::Mm);
    for (name, spread) in [("worst case", out.worst), ("RSS", out.rss)] {
        w.note(match (spread.works, spread.window_mm >= 0.0) {
            (true, _) => format!("{name}: the seat as given works"),
            (false, true) => {
                format!("{name}: this seat FAILS, {} mm works", num(spread.best_seat_mm))
            }
            (false, false) => format!("{name}: no seat height works"),
        });
    }
    for (key, share) in TOLERANCES.iter().zip(&out.gap.shares) {
        w.note(format!("{key}: {:.0} % of the gap's RSS variance", share.rss_percent));
    }
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> PlungerInput {
        PlungerInput {
            tip_mm: 12.0,
            tip_tol_mm: 0.15,
            play_tol_mm: 0.10,
            seat_mm: 4.0,
            seat_tol_mm: 0.20,
            plate_mm: 1.6,
            plate_tol_mm: 0.10,
            switch_mm: 5.0,
            switch_tol_mm: 0.20,
            travel_mm: 2.5,
            travel_tol_mm: 0.1,
            stroke_mm: 0.25,
            stroke_tol_mm: 0.15,
            gap_min_mm: 0.0,
            basis: Basis::Worst,
        }
    }

    #[test]
    fn best_seat_balances_both_ends() {
        for basis in [Basis::Worst, Basis::Rss] {
            let mut input = PlungerInput { basis, ..sample() };
            input.seat_mm = plunger(&input).unwrap().best_seat_mm;
            let out = plunger(&input).unwrap();
            let s = if basis == Basis::Worst { out.worst } else { out.rss };
            assert!(s.works);
            assert!((s.gap_low_mm - s.left_mm).abs() < 1e-12, "{s:?}");
        }
    }

    #[test]
    fn the_cure_named_is_exact() {
        for basis in [Basis::Worst, Basis::Rss] {
            let input = PlungerInput { travel_mm: 1.6, basis, ..sample() };
            let input = match basis {
                Basis::Worst => input,
                Basis::Rss => PlungerInput { travel_mm: 0.9, ..input },
            };
            let TradeError::Refused { input: key, value, max, .. } = plunger(&input).unwrap_err()
            else {
                panic!("wanted a refusal that names a tolerance");
            };
            let set = |v: f64| {
                let mut t = tolerances(&input);
                t[TOLERANCES.iter().position(|k| *k == key).unwrap()] = v;
                window(&input, &t, basis)
            };
            assert!(max < value);
            assert!(set(max) >= 0.0 && set(max + 1e-6) < 0.0, "{key} {max}");
        }
    }

    /// A value that a hint names is enough, and is not refused for float noise.
    #[test]
    fn the_travel_named_works_and_so_does_one_at_the_very_limit() {
        for travel_mm in [1.1, 1.333, 1.5, 1.6] {
            for seat_tol_mm in [0.025, 0.1, 0.15, 0.19] {
                let input = PlungerInput { travel_mm, seat_tol_mm, ..sample() };
                let Err(refused) = plunger(&input) else { continue };
                let TradeError::Refused { hint, .. } = &refused else { panic!("{refused}") };
                let before = hint.split(" mm more travel").next().unwrap();
                let more: f64 = before.rsplit(' ').next().unwrap().parse().unwrap();
                assert_eq!(more, (100.0 * more).round() / 100.0, "{hint}");
                let cured = PlungerInput { travel_mm: travel_mm + more, ..input.clone() };
                plunger(&cured).unwrap();
                let least = travel_mm - window(&input, &tolerances(&input), input.basis);
                plunger(&PlungerInput { travel_mm: least - 1e-13, ..input.clone() }).unwrap();
                plunger(&PlungerInput { travel_mm: least - 1e-6, ..input }).unwrap_err();
            }
        }
    }

    #[test]
    fn hopeless_travel_names_the_travel() {
        let err = plunger(&PlungerInput { travel_mm: 0.3, ..sample() }).unwrap_err();
        assert!(matches!(err, TradeError::Refused { input: "travel_mm", .. }), "{err}");
    }

    /// Uniform draws of every term never leave the worst-case range, and a
    /// centred seat works for each of them.
    #[test]
    fn monte_carlo_stays_inside() {
        let mut input = sample();
        input.seat_mm = plunger(&input).unwrap().best_seat_mm;
        let out = plunger(&input).unwrap();
        let t = tolerances(&input);
        let mut rng = fastrand::Rng::with_seed(3);
        for _ in 0..20_000 {
            let e = t.map(|t| t * (2.0 * rng.f64() - 1.0));
            let gap = out.gap.nominal_mm + e[0] + e[1] - e[2] - e[3] - e[4];
            let left = input.travel_mm + e[5] - gap - input.stroke_mm - e[6];
            assert!(gap >= out.worst.gap_low_mm && gap <= out.worst.gap_high_mm);
            assert!(gap > 0.0 && left >= out.worst.left_mm);
        }
    }
}
