//! Families of components: which fields a profile has, and what they mean.

mod cut_off;
mod electrics;
mod fixings;
mod front;
mod plugs;
mod printing;
mod sound;

use super::param::Param;
use super::values::Values;

/// Values that are each allowed but not together.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// The key to point at.
    pub key: &'static str,
    /// Why, with the values.
    pub reason: String,
}

/// A family of components.
#[derive(Clone, Copy, Debug)]
pub struct Family {
    /// Name as in `profiles/NAME.toml`, plural.
    pub name: &'static str,
    /// What one of them is, for lists.
    pub summary: &'static str,
    /// Fields of a profile. Scalar rows only: profiles are merged field by field.
    pub rows: &'static [Param],
    /// Checks values against each other.
    pub check: fn(&Values) -> Vec<Conflict>,
    /// TOML text of the profiles that are compiled in.
    pub shipped: &'static str,
}

/// All families, in the order of lists.
pub const FAMILIES: &[Family] = &[
    electrics::CELLS,
    electrics::SWITCHES,
    cut_off::KILL_SWITCHES,
    electrics::PIXELS,
    electrics::WIRES,
    plugs::PLUGS,
    sound::SPEAKERS,
    fixings::SCREWS,
    fixings::INSERTS,
    fixings::GRUBS,
    fixings::SPRINGS,
    front::FRONT_CONTACTS,
    printing::PRINTERS,
    printing::MATERIALS,
];

/// The family of that name.
///
/// # Panics
/// If there is none: names come from tables, or are looked up first.
pub fn family_named(name: &str) -> &'static Family {
    let family = FAMILIES.iter().find(|family| family.name == name);
    family.unwrap_or_else(|| panic!("no family of components is called {name}"))
}

/// Where the values are from; every shipped profile has it.
const SOURCE: Param = Param::note("source", 400, "Where the values are from.");
/// What to know before use.
const NOTE: Param = Param::note("note", 400, "What to know before use.");

/// A conflict if `smaller` is greater than `larger`, where both have a value.
fn in_order(
    values: &Values,
    smaller: &'static str,
    larger: &'static str,
    conflicts: &mut Vec<Conflict>,
) {
    let pair = values.maybe_number(smaller).zip(values.maybe_number(larger));
    if let Some((a, b)) = pair.filter(|(a, b)| a > b) {
        use super::shown::number;
        let key = if values.written().any(|key| key == smaller) { smaller } else { larger };
        let (a, b) = (number(a), number(b));
        let reason = format!("{smaller} = {a} is more than {larger} = {b}");
        conflicts.push(Conflict { key, reason });
    }
}
