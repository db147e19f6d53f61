//! Proposes an order and places along the bore for the modules of a job.

mod edit;
mod search;

use std::collections::BTreeMap;

use super::Job;
use crate::measure::{Default, Kind, Param, Unit, Values, Vec3};
use crate::mesh::{ChordTolerance, Mesh, tessellate};
use crate::parts::{Body, Refusal, RingRoom};

pub use edit::edited;
pub use search::{Arrangement, MOST_FREE, Piece as RowPiece, Row, Shortfall, Tie};

/// Steps to which proposed places are rounded, per mm.
const STEPS: f64 = 100.0;

/// What a person asks of a layout, besides the job. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Wishes {
    /// Least free length between two modules.
    pub gap: f64,
    /// Least free length at both ends of the bore.
    pub ends: f64,
    /// Modules whose low end is to be at a place.
    pub at: BTreeMap<String, f64>,
    /// Modules the middle of whose window is to be at a place.
    pub window: BTreeMap<String, f64>,
    /// Modules that stay where the job has them.
    pub hold: Vec<String>,
    /// The module that comes last, at the front.
    pub last: Option<String>,
    /// Where the centre of mass is wanted; none: the middle of the bore.
    pub balance: Option<f64>,
    /// What 1 mm off that place costs, mm of wire.
    pub weight: f64,
}

/// Why a module does not move.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fixed {
    /// Its place follows from a measured thing of the handle: this row.
    Measured(String),
    /// It has no row for a place, or its place is asked for.
    Asked(&'static str),
}

/// A module that was made, with its place now.
#[derive(Clone, Debug)]
pub struct Module {
    /// Its name, and its number among the parts of the job.
    pub name: String,
    /// Its number among the parts of the job.
    pub part: usize,
    /// Low and high end as made, mm.
    pub ends: (f64, f64),
    /// Its `from_z` as made, mm; none without such a row.
    pub from_z: Option<f64>,
    /// Where it is to stay, mm, and why; none if it may move.
    pub fixed: Option<(f64, Fixed)>,
    /// Mass of its printed bodies, g, and their centre, mm.
    pub mass: (f64, Vec3),
    /// Points along z that were measured on the handle: what, where.
    pub points: Vec<(String, f64)>,
    /// Its meshes, for a picture.
    pub meshes: Vec<Mesh>,
}

/// What is known of a job's modules, ready to be arranged.
#[derive(Clone, Debug)]
pub struct Layout {
    /// The modules, in the job's order.
    pub modules: Vec<Module>,
    /// Parts that are not in the bore, or join others.
    pub others: Vec<String>,
    /// The row that was arranged.
    pub row: Row,
    /// Why gap or ends are larger than was asked for.
    pub reasons: Vec<String>,
    /// A clocking that all grooves for wires are to have, and whose.
    pub clocking: Option<(f64, Vec<String>)>,
}

/// Most ways to share modules between those that are held that are tried: some seconds.
const MOST_SHARINGS: u64 = 1_000_000;

/// Why there is no layout.
#[derive(Clone, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LayoutError {
    /// A part that cannot be made even alone.
    #[error("{name} cannot be made, so its length is not known: {}", refusal.what)]
    Refused {
        /// Its name.
        name: String,
        /// Why.
        refusal: Box<Refusal>,
    },
    /// A name that is no module of the job.
    #[error("{name} is no module of the job that stands in the bore")]
    NoModule {
        /// The name.
        name: String,
        /// The modules.
        known: Vec<String>,
    },
    /// A module that cannot be told to be anywhere.
    #[error("{name} cannot be placed: {reason}")]
    NoPlace {
        /// Its name.
        name: String,
        /// Why.
        reason: String,
    },
    /// Nothing to arrange.
    #[error("0 modules of the job stand in the bore; 1 or more are needed")]
    Nothing,
    /// More than are put in order.
    #[error("{found} modules may move; at most {MOST_FREE} are put in order")]
    TooMany {
        /// How many.
        found: usize,
    },
    /// More ways to share them between those that are held than are tried.
    #[error(
        "{found} modules may move between {held} that are held: that is more than {MOST_SHARINGS} \
         ways to share them"
    )]
    TooManyBetween {
        /// How many may move.
        found: usize,
        /// How many are held.
        held: usize,
    },
}

impl Layout {
    /// Makes each module alone and reads off its length, its mass, and whether
    /// it may move: a `from_z` that is left out, or that has no default, means
    /// that measured things of the handle place it.
    ///
    /// # Errors
    /// [`LayoutError`]
    pub fn new(job: &Job, wishes: &Wishes) -> Result<Layout, LayoutError> {
        let (mut modules, mut others) = (Vec::new(), Vec::new());
        for (i, part) in job.parts().iter().enumerate() {
            if part.kind().joins() {
                others.push(part.name().to_owned());
                continue;
            }
            let made = (part.kind().make)(&job.context(part), part.values());
            let bodies = made.map_err(|refusal| LayoutError::Refused {
                name: part.name().to_owned(),
                refusal: Box::new(refusal),
            })?;
            if bodies.iter().any(Body::in_bore) {
                modules.push(module(job, i, &bodies));
            } else {
                others.push(part.name().to_owned());
            }
        }
        if modules.is_empty() {
            return Err(LayoutError::Nothing);
        }
        let last = wish(job, &mut modules, wishes)?;
        let free = modules.iter().filter(|m| m.fixed.is_none()).count();
        if free > MOST_FREE {
            return Err(LayoutError::TooMany { found: free });
        }
        let held = modules.len() - free;
        if (held as u64 + 1).saturating_pow(free as u32) > MOST_SHARINGS {
            return Err(LayoutError::TooManyBetween { found: free, held });
        }
        let spine = job.parts().iter().find(|part| part.kind().joins());
        let spine = spine.map(|part| part.values());
        let mut reasons = Vec::new();
        let (gap, ends) = room_for_rings(job, spine, wishes, &mut reasons);
        let length = job.handle().length();
        let pieces = modules.iter().map(|m| RowPiece {
            length: m.ends.1 - m.ends.0,
            fixed: m.fixed.as_ref().map(|(at, _)| *at),
            mass: (m.mass.0, m.mass.1.z - m.ends.0),
        });
        let row = Row {
            pieces: pieces.collect(),
            ties: spine.map_or_else(Vec::new, |spine| ties(spine, &modules)),
            room: (ends, length - ends),
            gap,
            last,
            balance: (wishes.balance.unwrap_or(0.5 * length), wishes.weight),
        };
        let clocking = clocking(job);
        Ok(Layout { modules, others, row, reasons, clocking })
    }

    /// The best arrangement, with places on the grid.
    ///
    /// # Errors
    /// The [`Shortfall`] if nothing fits.
    pub fn arrange(&self) -> Result<Arrangement, Shortfall> {
        let mut found = self.row.arrange()?;
        for (z, module) in found.at.iter_mut().zip(&self.modules) {
            if module.fixed.is_none() {
                *z = (*z * STEPS).round() / STEPS;
            }
        }
        found.cost = self.row.cost(&found.at);
        Ok(found)
    }

    /// The same with at least so much between modules, mm, for a reason.
    pub fn with_gap(&self, gap: f64, reason: &str) -> Layout {
        let mut other = self.clone();
        other.row.gap = (gap * STEPS).ceil() / STEPS;
        other.reasons.push(format!("{:.2} mm between modules {reason}", other.row.gap));
        other
    }

    /// The stretch between fixed modules or ends that has least room left in an
    /// arrangement: how much, mm, and between what.
    pub fn tightest(&self, found: &Arrangement) -> (f64, [String; 2]) {
        let name = |i: Option<&usize>, end: &str| {
            i.map_or(end.to_owned(), |&i| self.modules[i].name.clone())
        };
        let order = self.order(found);
        let (mut start, mut from, mut used) = (self.row.room.0, None, 0.0);
        let mut least = (f64::INFINITY, [String::new(), String::new()]);
        for i in order.iter().map(Some).chain([None]) {
            let fixed = i.is_none_or(|&i| self.modules[i].fixed.is_some());
            if !fixed {
                used += i.map_or(0.0, |&i| self.row.pieces[i].length + self.row.gap);
                continue;
            }
            let end = i.map_or(self.row.room.1, |&i| found.at[i] - self.row.gap);
            let last_gap = if used > 0.0 { self.row.gap } else { 0.0 };
            let left = end - start - used + last_gap;
            if used > 0.0 && left < least.0 {
                least = (left, [name(from, "the end cap"), name(i, "the front")]);
            }
            if let Some(&i) = i {
                start = found.at[i] + self.row.pieces[i].length + self.row.gap;
            }
            (from, used) = (i, 0.0);
        }
        least
    }

    /// The modules by their places in an arrangement.
    pub fn order(&self, found: &Arrangement) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.modules.len()).collect();
        order.sort_by(|&i, &j| found.at[i].total_cmp(&found.at[j]).then(i.cmp(&j)));
        order
    }

    /// The `from_z` of each module that an arrangement moves.
    pub fn moves(&self, found: &Arrangement) -> Vec<(usize, f64)> {
        let moved = self.modules.iter().zip(&found.at).filter_map(|(m, z)| {
            let from_z = m.from_z? + (z - m.ends.0);
            let rounded = (from_z * STEPS).round() / STEPS;
            ((z - m.ends.0).abs() > 0.5 / STEPS).then_some((m.part, rounded))
        });
        moved.collect()
    }
}

/// What is read off a made part.
fn module(job: &Job, part: usize, bodies: &[Body]) -> Module {
    let job_part = &job.parts()[part];
    let values = job_part.values();
    let mut ends = (f64::INFINITY, f64::NEG_INFINITY);
    let density = job.print().component("material").number("density");
    let (mut mass, mut moment) = (0.0, Vec3::zeros());
    let mut meshes = Vec::new();
    for body in bodies {
        let (low, high) = body.solid.bounds();
        ends = (ends.0.min(low.z), ends.1.max(high.z));
        let properties = body.solid.properties();
        // Cubic millimetres times grams per cubic centimetre.
        let own = properties.volume * 1e-3 * density;
        mass += own;
        moment += properties.centroid * own;
        meshes.extend(tessellate(&body.solid, &ChordTolerance::default()).ok());
    }
    let row = values.rows().iter().find(|row| row.key == "from_z");
    let points = measured(values, "");
    let fixed = match row {
        None => Some(Fixed::Asked("it has no from_z")),
        // Left out or not, the plungers and screws of the handle place it.
        Some(Param { kind: Kind::Number { default: Default::Absent, .. }, .. }) => {
            Some(match points.first() {
                Some((what, _)) => Fixed::Measured(what.clone()),
                None => Fixed::Asked("its from_z follows from what was measured"),
            })
        }
        Some(_) => points.first().map(|(what, _)| Fixed::Measured(what.clone())),
    };
    Module {
        name: job_part.name().to_owned(),
        part,
        ends,
        from_z: row.map(|_| values.maybe_number("from_z").unwrap_or(ends.0)),
        fixed: fixed.map(|why| (ends.0, why)),
        mass: (mass, if mass > 0.0 { moment / mass } else { Vec3::zeros() }),
        points,
        meshes,
    }
}

/// Largest value of rows that count from the handle's end cap, mm: the longest
/// bore. Rows `z` of a part's own things, as holes of a board, end before.
const LONGEST_BORE: f64 = 1500.0;

/// Heights of the handle's own things that a table names: rows `z` or `..._z`
/// from the end cap that are written, in its lists too.
fn measured(values: &Values, path: &str) -> Vec<(String, f64)> {
    let mut out = Vec::new();
    for row in values.rows().iter().filter(|row| values.has(row.key)) {
        let key = row.key;
        match row.kind {
            Kind::Number { unit: Unit::Mm, max, .. } => {
                let of_handle = (key == "z" || key.ends_with("_z")) && max >= LONGEST_BORE;
                let own = ["from_z", "to_z"].contains(&key);
                if of_handle && !own && values.place(key).is_some() {
                    out.push((format!("{path}{key}"), values.number(key)));
                }
            }
            Kind::List { .. } => {
                for (i, item) in values.list(key).iter().enumerate() {
                    out.extend(measured(item, &format!("{key} {} ", i + 1)));
                }
            }
            _ => {}
        }
    }
    out
}

/// Applies what a person wishes of single modules; gives the last one.
fn wish(job: &Job, modules: &mut [Module], wishes: &Wishes) -> Result<Option<usize>, LayoutError> {
    let known: Vec<String> = modules.iter().map(|m| m.name.clone()).collect();
    let number = |name: &String| {
        let found = known.iter().position(|k| k == name);
        found.ok_or_else(|| LayoutError::NoModule { name: name.clone(), known: known.clone() })
    };
    for (name, z) in &wishes.at {
        let module = &mut modules[number(name)?];
        place(module, *z, "its place is asked for")?;
    }
    for (name, z) in &wishes.window {
        let module = &mut modules[number(name)?];
        let made = (job.parts()[module.part].kind().make)(
            &job.context(&job.parts()[module.part]),
            job.parts()[module.part].values(),
        );
        let bodies = made.unwrap_or_default();
        let row = |key: &str| {
            let mut rows = bodies.iter().flat_map(|b| &b.computed);
            rows.find(|c| c.key == key).map(|c| c.value)
        };
        let (Some(from), Some(to)) = (row("window_from"), row("window_to")) else {
            let reason = "it has no window".to_owned();
            return Err(LayoutError::NoPlace { name: name.clone(), reason });
        };
        let low = module.ends.0 + z - 0.5 * (from + to);
        module.points.push(("window".into(), *z));
        place(module, low, "its window is asked for")?;
    }
    for name in &wishes.hold {
        let module = &mut modules[number(name)?];
        let z = module.ends.0;
        module.fixed.get_or_insert((z, Fixed::Asked("it is held")));
    }
    let at_front = |m: &Module| job.parts()[m.part].kind().closes_front();
    match &wishes.last {
        Some(name) => number(name).map(Some),
        None => Ok(modules.iter().position(at_front)),
    }
}

fn place(module: &mut Module, low: f64, why: &'static str) -> Result<(), LayoutError> {
    let reason = match (&module.fixed, module.from_z) {
        (Some((_, Fixed::Measured(what))), _) => format!("{what} of the handle holds it"),
        (_, None) => "it has no from_z".to_owned(),
        _ if low < 0.0 => format!("its low end would be at {low:.2} mm, before the end cap"),
        _ => {
            module.fixed = Some(((low * STEPS).round() / STEPS, Fixed::Asked(why)));
            return Ok(());
        }
    };
    Err(LayoutError::NoPlace { name: module.name.clone(), reason })
}

/// Gap and free ends, with what the rings of a spine need.
fn room_for_rings(
    job: &Job,
    spine: Option<&Values>,
    wishes: &Wishes,
    reasons: &mut Vec<String>,
) -> (f64, f64) {
    let (mut gap, mut ends) = (wishes.gap, wishes.ends);
    let Some(spine) = spine.filter(|s| s.choice("rings") != "none") else { return (gap, ends) };
    let RingRoom { between: ring, end } = RingRoom::of(spine, job.print().component("printer"));
    if spine.choice("rings") == "between" && ring > gap {
        gap = ring;
        reasons.push(format!("{ring:.2} mm between modules for the rings of the spine"));
    }
    if end > ends {
        ends = end;
        reasons.push(format!("{end:.2} mm at both ends for the rings of the spine"));
    }
    (gap, ends)
}

/// The wires of a spine's runs between modules.
fn ties(spine: &Values, modules: &[Module]) -> Vec<Tie> {
    let number = |name: &str| modules.iter().position(|m| m.name == name);
    let tie = |run: &Values| {
        let (from, to) = (number(run.text("from"))?, number(run.text("to"))?);
        Some(Tie { from, to, wires: run.integer("wires") })
    };
    spine.list("run").iter().filter_map(tie).collect()
}

/// The clocking that most grooves for wires have, if they differ, and the parts
/// that have another.
fn clocking(job: &Job) -> Option<(f64, Vec<String>)> {
    let has = |values: &Values, key: &str| values.rows().iter().any(|row| row.key == key);
    let grooved = job.parts().iter().filter(|part| {
        let values = part.values();
        has(values, "groove_at") && has(values, "wires") && values.integer("wires") > 0
    });
    let all: Vec<(&str, f64)> =
        grooved.map(|part| (part.name(), part.values().number("groove_at"))).collect();
    let same = |a: f64, b: f64| (a - b).rem_euclid(360.0) < 1e-9;
    let votes = |angle: f64| all.iter().filter(|(_, other)| same(*other, angle)).count();
    // Of equals the first in the job counts.
    let mut best: Option<(usize, f64)> = None;
    for (_, angle) in &all {
        let count = votes(*angle);
        if best.is_none_or(|(most, _)| count > most) {
            best = Some((count, *angle));
        }
    }
    let (_, angle) = best?;
    let others = all.iter().filter(|(_, other)| !same(*other, angle));
    let others: Vec<String> = others.map(|(name, _)| (*name).to_owned()).collect();
    (!others.is_empty()).then_some((angle, others))
}
