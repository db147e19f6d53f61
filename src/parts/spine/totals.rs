//! What all modules on a spine come to: length, gaps, mass, what comes apart.

use super::super::{Neighbour, PartContext};
use super::plan::Plan;
use crate::measure::{Kind, Values, Vec3};
use crate::solid::Solid;

/// Masses of what is known, and what is not.
#[derive(Clone, Debug, Default)]
pub(super) struct Masses {
    /// All masses, g.
    pub total: f64,
    /// Of it the printed bodies, g.
    pub printed: f64,
    /// Components whose mass no profile has: `part: row`.
    pub unknown: Vec<String>,
    moment: Vec3,
}

impl Masses {
    /// Of the modules and of the spine's own solids, printed solid.
    pub(super) fn new(context: &PartContext<'_>, plan: &Plan<'_>, own: &[&Solid]) -> Masses {
        let density = context.material.number("density");
        let mut out = Masses::default();
        let modules = plan.modules.iter().map(|m| m.part);
        let bodies = modules.clone().flat_map(|part| part.bodies.iter().map(|b| &b.solid));
        for solid in bodies.chain(own.iter().copied()) {
            let properties = solid.properties();
            // Cubic millimetres times grams per cubic centimetre.
            let mass = properties.volume * 1e-3 * density;
            out.printed += mass;
            out.add(mass, properties.centroid);
        }
        for part in modules {
            for (key, component) in components(part.values) {
                match component.rows().iter().any(|row| row.key == "mass") {
                    true => match component.maybe_number("mass") {
                        Some(mass) => out.add(mass, place(part, key)),
                        None => out.unknown.push(format!("{}: {key}", part.name)),
                    },
                    false => out.unknown.push(format!("{}: {key}", part.name)),
                }
            }
        }
        out.unknown.dedup();
        out
    }

    fn add(&mut self, mass: f64, at: Vec3) {
        self.total += mass;
        self.moment += at * mass;
    }

    /// The centre of all that is known, mm.
    pub(super) fn centre(&self) -> Vec3 {
        if self.total > 0.0 { self.moment / self.total } else { Vec3::zeros() }
    }
}

/// Families whose components are part of a module and weigh next to nothing, or
/// belong to the printed part itself.
const LIGHT: [&str; 4] = ["wires", "screws", "inserts", "springs"];

/// The components of a table by key, those of its lists too.
fn components(values: &Values) -> Vec<(&'static str, &Values)> {
    let mut out = Vec::new();
    for row in values.rows().iter().filter(|row| values.has(row.key)) {
        match row.kind {
            Kind::Component { family, .. } if !LIGHT.contains(&family) => {
                out.extend(values.maybe_component(row.key).map(|c| (row.key, c)));
            }
            Kind::List { .. } => {
                out.extend(values.list(row.key).iter().flat_map(components));
            }
            _ => {}
        }
    }
    out
}

/// Where a component sits: the middle of its solid, else that of its part.
fn place(part: &Neighbour<'_>, key: &str) -> Vec3 {
    let mut drawn = part.bodies.iter().flat_map(|b| &b.declared.components);
    if let Some(component) = drawn.find(|c| c.name == key) {
        return component.solid.properties().centroid;
    }
    part.bodies.first().map_or_else(Vec3::zeros, |b| b.solid.properties().centroid)
}

/// Groups of modules that hang together by runs without a plug, each in order.
pub(super) fn groups(plan: &Plan<'_>) -> Vec<Vec<usize>> {
    let mut group: Vec<usize> = (0..plan.modules.len()).collect();
    for run in plan.runs.iter().filter(|run| !run.values.flag("plug")) {
        let (a, b) = (group[run.ends.0], group[run.ends.1]);
        let (from, to) = (a.max(b), a.min(b));
        group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
    }
    let roots = (0..group.len()).filter(|&i| group[i] == i);
    roots.map(|r| (0..group.len()).filter(|&i| group[i] == r).collect()).collect()
}
