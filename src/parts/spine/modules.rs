//! The modules that a spine joins, as they were made.

use super::super::around::BORE;
use super::super::{Neighbour, PartContext, PartKind, Refusal};
use super::level;
use crate::measure::{Values, Vec2, did_you_mean, number};
use crate::section::Region;
use crate::solid::Levels;

/// Sums of lengths carry less noise than this, mm.
const EXACT: f64 = 1e-6;
/// Farther than any section reaches, mm.
const FAR: f64 = 200.0;

/// A module on the spine.
#[derive(Clone, Debug)]
pub(super) struct Module<'a> {
    pub part: &'a Neighbour<'a>,
    /// Its ends, z mm, rounded to the step of features.
    pub low: f64,
    pub high: f64,
    /// Height of its lowest point, components between its ends included, mm.
    pub under: f64,
}

impl<'a> Module<'a> {
    fn new(part: &'a Neighbour<'a>) -> Module<'a> {
        let mut module =
            Module { part, low: f64::INFINITY, high: f64::NEG_INFINITY, under: f64::INFINITY };
        for body in &part.bodies {
            let (low, high) = body.solid.bounds();
            module.low = module.low.min(low.z);
            module.high = module.high.max(high.z);
            module.under = module.under.min(low.y);
        }
        for body in &part.bodies {
            let own = body.declared.components.iter();
            // The bore is around all, and screws go into what is below.
            let own = own.filter(|c| c.name != BORE && !c.name.starts_with("screw"));
            for component in own {
                // What stands out of its ends, as a tube in front, is not above the keel.
                let within = Levels::new(&component.solid)
                    .ok()
                    .map(|levels| levels.shadow(module.low, module.high));
                let lowest = match within {
                    Some(shadow) => shadow.bounds().map(|(low, _)| low.y),
                    None => Some(component.solid.bounds().0.y),
                };
                module.under = module.under.min(lowest.unwrap_or(f64::INFINITY));
            }
        }
        (module.low, module.high) = (level(module.low), level(module.high));
        module
    }

    /// Depth of the flat that it leaves for a keel, mm; none if it knows none.
    pub(super) fn keel(&self) -> Option<f64> {
        let values = self.part.values;
        values.rows().iter().any(|row| row.key == "keel").then(|| values.number("keel"))
    }

    /// Height of its underside between two heights within `half` mm of the
    /// middle; none if nothing of it is there.
    pub(super) fn underside(&self, (low, high): (f64, f64), half: f64) -> Option<f64> {
        let strip = Region::rectangle(Vec2::new(-half, -FAR), Vec2::new(half, FAR));
        let of = |solid| {
            let shadow = Levels::new(solid).ok()?.shadow(low, high);
            shadow.intersection(&strip).bounds().map(|(low, _)| low.y)
        };
        let heights = self.part.bodies.iter().filter_map(|body| of(&body.solid));
        heights.min_by(f64::total_cmp)
    }
}

/// The modules between the heights that are asked for, from the cap to the
/// front, and the names of those that are left out.
///
/// # Errors
/// None is there.
pub(super) fn joined<'a>(
    context: &PartContext<'a>,
    values: &Values,
) -> Result<(Vec<Module<'a>>, Vec<&'a str>), Refusal> {
    let from = values.maybe_number("from_z").unwrap_or(f64::NEG_INFINITY);
    let to = values.maybe_number("to_z").unwrap_or(f64::INFINITY);
    let others = context.made.iter().filter(|part| !PartKind::joins(part.kind));
    let (mut modules, mut left) = (Vec::new(), Vec::new());
    for part in others {
        let module = Module::new(part);
        if part.bodies.iter().any(|body| body.in_bore()) && module.high > from && module.low < to {
            modules.push(module);
        } else {
            left.push(part.name);
        }
    }
    modules.sort_by(|a, b| a.low.total_cmp(&b.low).then(a.part.name.cmp(b.part.name)));
    if !modules.is_empty() {
        return Ok((modules, left));
    }
    let refusal = if left.is_empty() {
        Refusal::new("0 modules are there for the spine to join: 1 or more are needed")
            .hint("add [[part]] tables of modules to the job, each with its from_z and keel = 4")
    } else {
        let what = format!(
            "0 modules stand in the bore between from_z and to_z of the spine: 1 or more are \
             needed; left out: {}",
            left.join(", ")
        );
        Refusal::new(what).at(values, "from_z").hint("leave from_z and to_z out to join all")
    };
    Err(refusal)
}

/// Which module a run names, by number.
///
/// # Errors
/// There is none of that name.
pub(super) fn named(modules: &[Module<'_>], run: &Values, key: &str) -> Result<usize, Refusal> {
    let name = run.text(key);
    if let Some(found) = modules.iter().position(|m| m.part.name == name) {
        return Ok(found);
    }
    let names: Vec<&str> = modules.iter().map(|m| m.part.name).collect();
    let what = format!("{name} is none of the {} modules on the spine", names.len());
    let mut refusal = Refusal::new(what).at(run, key);
    refusal.hints.extend(did_you_mean(name, names.iter().copied()));
    Err(refusal.hint(format!("known: {}", names.join(", "))))
}

/// The refusal of modules that leave the keel less than `least` mm up from the
/// outside, whose radius is `radius` mm.
pub(super) fn too_low(modules: &[Module<'_>], radius: f64, least: f64) -> Refusal {
    let lowest = modules.iter().min_by(|a, b| a.under.total_cmp(&b.under));
    let lowest = lowest.expect("a spine has a module");
    let there = lowest.under + radius;
    let name = lowest.part.name;
    let what = format!(
        "the keel needs {least:.2} mm from the outside up to the modules; {name} leaves {there:.2}: \
         short by {:.2}",
        least - there
    );
    let refusal = Refusal::new(what);
    let own = lowest.keel();
    let rounded = ((own.unwrap_or(0.0) + least - there) * 10.0 - EXACT).ceil() / 10.0;
    match own.is_some() {
        true => refusal.at(lowest.part.values, "keel").hint(format!(
            "give {name} keel = {} or more, and the other modules too",
            number(rounded)
        )),
        false => refusal.hint(format!(
            "from_z and to_z of the spine leave out modules that need the whole bore, as {name}"
        )),
    }
}
