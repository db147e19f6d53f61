//! Openings in front of a speaker.

use std::f64::consts::PI;

use super::inputs::{Inputs, inputs, number, number_or};
use super::{Calculator, TradeError, Worked, num};
use crate::measure::Unit;

/// Most ports in one plate: more print badly and mesh slowly.
const MOST_PORTS: usize = 1000;
/// Step of the pitch on an oval plate, mm.
const PITCH_STEP: f64 = 0.05;
/// Relative slack when a count or a ring is compared, float noise only.
const EPSILON: f64 = 1e-9;

inputs! {
    /// A speaker, round or with round ends, and the round ports in front of it.
    /// See [`sound_ports`].
    SoundInput, SOUND_INPUTS {
        /// Diameter of the speaker, or width of an oval one.
        speaker_mm: f64 = number(Unit::Mm, 5.0, 200.0);
        /// Diameter of the plate that may carry ports; left out, the speaker's.
        plate_mm: Option<f64> = super::inputs::optional(Unit::Mm, 3.0, 200.0);
        /// How much longer than wide speaker and plate are; left out, round.
        oval_mm: Option<f64> = super::inputs::optional(Unit::Mm, 0.0, 200.0);
        /// Open area wanted, as a share of the speaker's area. Published advice
        /// goes from an eighth (12.5) to a fifth (20) as the least.
        open_percent: f64 = number_or(Unit::Percent, 1.0, 80.0, 20.0);
        /// Diameter of one port.
        port_mm: f64 = number_or(Unit::Mm, 0.3, 20.0, 2.0);
        /// Least wall between ports, and between ports and the plate's edge.
        web_mm: f64 = number_or(Unit::Mm, 0.1, 20.0, 0.8);
    }
}

/// Result of [`sound_ports`].
#[derive(Clone, Debug, PartialEq)]
pub struct SoundPorts {
    /// Area of the speaker, mm2.
    pub speaker_mm2: f64,
    /// Open area wanted, mm2.
    pub wanted_mm2: f64,
    /// Fewest ports that reach it.
    pub needed: usize,
    /// Centres of the ports from the middle of the plate, mm; full rings of a
    /// hexagonal pattern, so never fewer than needed.
    pub centres_mm: Vec<[f64; 2]>,
    /// Distance between neighbouring centres, mm; zero for a single port.
    pub pitch_mm: f64,
    /// Wall between neighbouring ports, mm; the plate's edge for one port.
    pub wall_mm: f64,
    /// Open area reached, mm2.
    pub open_mm2: f64,
    /// The same as a share of the speaker's area, percent.
    pub open_percent: f64,
}

/// Open area in front of a speaker, and a port pattern that reaches it.
///
/// Area `pi/4 D^2`, of an oval one with straight sides `l` long `D l` more; fewest ports `ceil(share area / (pi/4 d^2))`. The pattern
/// is a hexagonal grid about the middle, spread as wide as the plate allows:
/// pitch = (plate/2 - port/2 - web) / distance of its outermost full ring. On an
/// oval plate rings do not count: its pitch is the widest (in steps of
/// [`PITCH_STEP`]) at which enough of the grid's points lie on the plate.
///
/// Source: least open area a fifth of the plate over the speaker with a front
/// gap of 1 to 2 mm, after a maker's enclosure guide; an eighth after another.
/// First-order: nothing about resonance. Refuses a share that the plate cannot
/// carry with the web asked for, and says which share it can.
pub fn sound_ports(input: &SoundInput) -> Result<SoundPorts, TradeError> {
    input.check()?;
    let oval = input.oval_mm.unwrap_or(0.0);
    let speaker_mm2 = input.speaker_mm * (PI / 4.0 * input.speaker_mm + oval);
    let port_mm2 = PI / 4.0 * input.port_mm * input.port_mm;
    let wanted_mm2 = speaker_mm2 * input.open_percent / 100.0;
    let needed = (wanted_mm2 / port_mm2 * (1.0 - EPSILON)).ceil().max(1.0) as usize;
    let plate = input.plate_mm.unwrap_or(input.speaker_mm);
    let reach = plate / 2.0 - input.port_mm / 2.0 - input.web_mm;
    let densest = input.port_mm + input.web_mm;
    let most = if reach < 0.0 { 0 } else { on_slot(densest, reach, 0.5 * oval).len() };
    if needed > most.min(MOST_PORTS) {
        let can = 100.0 * most.min(MOST_PORTS) as f64 * port_mm2 / speaker_mm2;
        return Err(TradeError::Refused {
            input: "open_percent",
            value: input.open_percent,
            min: 0.0,
            max: can,
            unit: Unit::Percent,
            reason: format!(
                "{needed} ports of {} mm do not fit the plate with {} mm between them",
                num(input.port_mm),
                num(input.web_mm)
            ),
            hint: "use another port diameter, a thinner web, a larger plate or less open area"
                .to_owned(),
        });
    }
    let pitch_mm = if oval > 0.0 {
        widest(needed, densest, reach, 0.5 * oval)
    } else {
        let ring = length(pattern(reach / densest)[needed - 1]);
        if ring > 0.0 { reach / ring } else { 0.0 }
    };
    let centres_mm = match (pitch_mm > 0.0, oval > 0.0) {
        (false, _) => vec![[0.0, 0.0]],
        (true, true) => on_slot(pitch_mm, reach, 0.5 * oval),
        (true, false) => scaled(pattern(reach / pitch_mm), pitch_mm),
    };
    let wall_mm = if centres_mm.len() > 1 {
        pitch_mm - input.port_mm
    } else {
        plate / 2.0 - input.port_mm / 2.0
    };
    let open_mm2 = centres_mm.len() as f64 * port_mm2;
    Ok(SoundPorts {
        speaker_mm2,
        wanted_mm2,
        needed,
        centres_mm,
        pitch_mm,
        wall_mm,
        open_mm2,
        open_percent: 100.0 * open_mm2 / speaker_mm2,
    })
}

fn length([x, y]: [f64; 2]) -> f64 {
    x.hypot(y)
}

fn scaled(unit: Vec<[f64; 2]>, pitch: f64) -> Vec<[f64; 2]> {
    unit.into_iter().map(|[x, y]| [x * pitch, y * pitch]).collect()
}

/// Points of the hexagonal grid of `pitch` mm that lie within `reach` mm of the
/// line from -`half` to +`half` mm along x, nearest to the middle first.
fn on_slot(pitch: f64, reach: f64, half: f64) -> Vec<[f64; 2]> {
    let within = |[x, y]: &[f64; 2]| length([(x.abs() - half).max(0.0), *y]);
    scaled(pattern((reach + half) / pitch), pitch)
        .into_iter()
        .filter(|p| within(p) <= reach * (1.0 + EPSILON))
        .collect()
}

/// The widest pitch of a grid on an oval plate that has `needed` points, mm;
/// at `densest` it has.
fn widest(needed: usize, densest: f64, reach: f64, half: f64) -> f64 {
    // Beyond this, at most the middle lies on the plate.
    let most = ((reach + half) / PITCH_STEP).ceil() as i64;
    let enough = |pitch: f64| on_slot(pitch, reach, half).len() >= needed;
    let first = (densest / PITCH_STEP).ceil() as i64;
    let mut steps = (first..=most).rev().map(|step| step as f64 * PITCH_STEP);
    steps.find(|&pitch| enough(pitch)).unwrap_or(densest)
}

/// Points of the unit hexagonal grid within `radius`, nearest first, then by
/// row and column. Cut off after enough rings for [`MOST_PORTS`].
fn pattern(radius: f64) -> Vec<[f64; 2]> {
    let rings = (radius * 2.0).min(40.0).ceil() as i64;
    let mut points = Vec::new();
    for j in -rings..=rings {
        for i in -2 * rings..=2 * rings {
            let p = [i as f64 + j as f64 / 2.0, j as f64 * 0.75_f64.sqrt()];
            if length(p) <= radius * (1.0 + EPSILON) {
                // Squared distance in a hexagonal grid is a whole number.
                points.push((i * i + i * j + j * j, j, i, p));
            }
        }
    }
    points.sort_by_key(|(square, j, i, _)| (*square, *j, *i));
    points.into_iter().map(|(.., p)| p).collect()
}

/// Row of the registry.
pub const SOUND_PORTS: Calculator = Calculator {
    name: "sound-ports",
    summary: "ports in front of a speaker that reach an open area",
    inputs: SOUND_INPUTS,
    run: work,
};

fn work(inputs: &Inputs) -> Result<Worked, TradeError> {
    let i = SoundInput::from_inputs(inputs)?;
    let out = sound_ports(&i)?;
    let mut w = Worked::new(inputs, "open area: makers' enclosure guides; pattern: our own");
    let bound = [("D", i.speaker_mm), ("l", i.oval_mm.unwrap_or(0.0))];
    let (formula, bound) = match i.oval_mm {
        Some(_) => ("A = pi / 4 * {D}^2 + {D} * {l}", &bound[..]),
        None => ("A = pi / 4 * {D}^2", &bound[..1]),
    };
    w.step("Area of the speaker", formula, bound, out.speaker_mm2, Unit::Mm2);
    w.step(
        "Open area wanted",
        "a = {A} * {p} / 100",
        &[("A", out.speaker_mm2), ("p", i.open_percent)],
        out.wanted_mm2,
        Unit::Mm2,
    );
    w.step(
        "Fewest ports",
        "n = ceil({a} / (pi / 4 * {d}^2))",
        &[("a", out.wanted_mm2), ("d", i.port_mm)],
        out.needed as f64,
        Unit::One,
    );
    w.step(
        "Open area of the pattern (full rings)",
        "a = {n} * pi / 4 * {d}^2",
        &[("n", out.centres_mm.len() as f64), ("d", i.port_mm)],
        out.open_mm2,
        Unit::Mm2,
    );
    w.result("needed", "fewest ports", out.needed as f64, Unit::One);
    w.result("ports", "ports in the pattern", out.centres_mm.len() as f64, Unit::One);
    w.result("pitch_mm", "distance between centres", out.pitch_mm, Unit::Mm);
    w.result("wall_mm", "wall between ports", out.wall_mm, Unit::Mm);
    w.result("open_mm2", "open area", out.open_mm2, Unit::Mm2);
    w.result("open_percent", "share of the speaker's area", out.open_percent, Unit::Percent);
    w.note("keep a front gap of 1 to 2 mm, and front and rear of the speaker sealed apart");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> SoundInput {
        SoundInput {
            speaker_mm: 28.0,
            plate_mm: None,
            oval_mm: None,
            open_percent: 20.0,
            port_mm: 2.0,
            web_mm: 0.8,
        }
    }

    #[test]
    fn ports_keep_their_distance_and_stay_on_the_plate() {
        let mut rng = fastrand::Rng::with_seed(11);
        let mut made = 0;
        for _ in 0..200 {
            let input = SoundInput {
                speaker_mm: 13.0 + 40.0 * rng.f64(),
                open_percent: 2.0 + 40.0 * rng.f64(),
                port_mm: 0.8 + 3.0 * rng.f64(),
                ..sample()
            };
            let Ok(out) = sound_ports(&input) else { continue };
            made += 1;
            assert!(out.open_percent >= input.open_percent * (1.0 - 1e-6));
            assert!(out.centres_mm.len() >= out.needed);
            for (k, a) in out.centres_mm.iter().enumerate() {
                let edge = input.speaker_mm / 2.0 - length(*a) - input.port_mm / 2.0;
                assert!(edge >= input.web_mm - 1e-6);
                for b in &out.centres_mm[..k] {
                    let wall = (a[0] - b[0]).hypot(a[1] - b[1]) - input.port_mm;
                    assert!(wall >= out.wall_mm - 1e-6 && wall >= input.web_mm - 1e-6);
                }
            }
        }
        assert!(made > 50, "{made}");
    }

    #[test]
    fn ports_of_an_oval_plate_stay_on_it() {
        for (long, share) in [(0.5, 20.0), (8.0, 15.0), (10.0, 30.0), (30.0, 20.0)] {
            let input = SoundInput { oval_mm: Some(long), open_percent: share, ..sample() };
            let out = sound_ports(&input).unwrap();
            assert!((out.speaker_mm2 - (PI * 196.0 + 28.0 * long)).abs() < 1e-9);
            assert!(out.open_percent >= share && out.wall_mm >= input.web_mm - 1e-9);
            for [x, y] in out.centres_mm {
                let edge = 14.0 - length([(x.abs() - 0.5 * long).max(0.0), y]) - 1.0;
                assert!(edge >= input.web_mm - 1e-6);
            }
        }
    }

    #[test]
    fn refusal_names_the_share_that_fits() {
        let err = sound_ports(&SoundInput { open_percent: 70.0, ..sample() }).unwrap_err();
        let TradeError::Refused { max, .. } = err else { panic!("wanted a refusal") };
        let input = SoundInput { open_percent: max, ..sample() };
        assert!(sound_ports(&input).is_ok());
        assert!(sound_ports(&SoundInput { plate_mm: Some(3.0), ..sample() }).is_err());
    }

    #[test]
    fn one_large_port_is_in_the_middle() {
        let input = SoundInput { port_mm: 14.0, ..sample() };
        assert_eq!(sound_ports(&input).unwrap().centres_mm, [[0.0, 0.0]]);
    }
}
