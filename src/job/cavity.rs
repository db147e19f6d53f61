//! The table `[part.cavity]`: the clear bore of a cavity stands for the handle's.

use toml::Spanned;
use toml::de::DeValue;

use super::{Chassis, Handle};
use crate::measure::rounding::{down, up};
use crate::measure::{Bore, Fault, Place, Reader, What};
use crate::parts::{CAVITY, Cavity, follows};

/// Narrowest cavity that parts are made for, mm: the narrowest bore that a job may
/// have.
const NARROWEST: f64 = 8.0;

/// A cavity, and the handle as a part in it finds it.
pub(super) type InCavity = (Cavity, Handle);

/// Whether a table asks for a stretch of the job's chassis: it has one of the rows of [`CAVITY`].
pub(super) fn is_stretch(value: &Spanned<DeValue<'_>>) -> bool {
    let DeValue::Table(table) = value.get_ref() else { return false };
    CAVITY.iter().any(|row| table.contains_key(row.key))
}

/// A stretch shorter than this has room for no part, mm.
const SHORTEST: f64 = 3.0;
/// How closely the end of a clear stretch is found, mm.
const FOUND: f64 = 0.005;

/// The end of a stretch to move, and where to, so that a part has room: as long a
/// stretch as there is from the other end, by halving.
fn shorter(chassis: &Chassis, from: f64, to: f64) -> Option<(&'static str, f64)> {
    let room = |from: f64, to: f64| {
        chassis.clear_bore(from, to).is_some_and(|clear| clear.diameter >= NARROWEST)
    };
    let furthest = |end: f64, roomy: &dyn Fn(f64) -> bool, near: f64| {
        let (mut good, mut bad) = (near, end);
        if !roomy(good) {
            return None;
        }
        while (bad - good).abs() > FOUND {
            let middle = 0.5 * (good + bad);
            if roomy(middle) { good = middle } else { bad = middle }
        }
        // Rounded away from what is in the way.
        Some(if near < end { down(good) } else { up(good) })
    };
    if to - from <= SHORTEST {
        return None;
    }
    let low = furthest(to, &|z| room(from, z), from + SHORTEST).map(|z| ("to_z", z, z - from));
    let high = furthest(from, &|z| room(z, to), to - SHORTEST).map(|z| ("from_z", z, to - z));
    let longest = low.into_iter().chain(high).max_by(|a, b| a.2.total_cmp(&b.2))?;
    Some((longest.0, longest.1))
}

/// Reads the table of a part, and surveys what it asks for.
pub(super) fn read(
    reader: &mut Reader<'_>,
    value: &Spanned<DeValue<'_>>,
    path: &str,
    (chassis, handle): (Option<&Chassis>, Option<&Handle>),
) -> Option<InCavity> {
    let place = reader.place(value);
    let path = format!("{path}.cavity");
    let fail = |reader: &mut Reader<'_>, key: &str, place: Option<Place>, what, hint: String| {
        let field = if key.is_empty() { path.clone() } else { format!("{path}.{key}") };
        reader.faults.push(Fault::new(what, field).at(place).hint(hint));
        None
    };
    let DeValue::Table(table) = value.get_ref() else {
        let what = What::Missing { expected: "a table of a cavity".to_owned() };
        let hint = "write cavity = { from_z = 20, to_z = 60 }, in millimetres".to_owned();
        return fail(reader, "", Some(place), what, hint);
    };
    let values = reader.table(table, place.clone(), CAVITY, &path, &[])?;
    let conflict = |reason: String| What::Conflict { reason };
    let Some(chassis) = chassis else {
        // A chassis that is named and wrong was told already.
        if !reader.faults.is_empty() {
            return None;
        }
        let what = conflict("the job has no chassis for a cavity".to_owned());
        let hint = "write [chassis] with mesh = \"chassis.stl\", above the parts".to_owned();
        return fail(reader, "", Some(place), what, hint);
    };
    if let Some(from) = values.maybe_text("from").filter(|from| *from != chassis.name()) {
        let what = conflict(format!("{from} is not the job's chassis, {}", chassis.name()));
        let hint = "name the same file, or leave `from` out".to_owned();
        return fail(reader, "from", values.place("from"), what, hint);
    }
    let (from, to) = (values.number("from_z"), values.number("to_z"));
    if from >= to {
        let what = conflict(format!("the stretch ends at z = {to} mm, not above its begin {from}"));
        return fail(reader, "to_z", values.place("to_z"), what, "exchange the two".to_owned());
    }
    let handle = handle?;
    let Some(clear) = chassis.clear_bore(from, to) else {
        let (low, high) = chassis.bounds();
        let what = conflict(format!(
            "nothing of {} bounds the stretch from z = {from} to {to} mm",
            chassis.name()
        ));
        let hint = format!("it is from z = {:.2} to {:.2} mm", low.z, high.z);
        return fail(reader, "from_z", values.place("from_z"), what, hint);
    };
    let reach = 0.5 * handle.bore().sure();
    // What is as wide as the handle is round.
    let asked = follows(&values) && clear.diameter < 2.0 * reach;
    let outline = asked.then(|| chassis.clear_outline(&clear, (from, to), reach)).flatten();
    let rough = asked && outline.is_none() && clear.diameter > 0.0;
    let cavity = Cavity { chassis: chassis.name().to_owned(), clear, outline, rough, values };
    if clear.diameter < NARROWEST {
        let what = conflict(format!("{}; a part needs {NARROWEST} mm", cavity.told()));
        let (key, shorter) = match shorter(chassis, from, to) {
            Some((key, z)) => (key, format!("{key} = {z:.2} would have a clear bore; ")),
            None => ("from_z", String::new()),
        };
        let hint = format!(
            "{shorter}`borewright survey` lists the cavities; shift or turn the chassis so that \
             the cavity lies about the bore's axis, or take a shorter stretch"
        );
        return fail(reader, key, cavity.values.place(key), what, hint);
    }
    // A bore that is narrower than the cavity decides, as it was read.
    let inside = if clear.diameter < handle.bore().sure() {
        handle.with_bore(Bore::new([clear.diameter], 0.0)?)
    } else {
        handle.clone()
    };
    Some((cavity, inside))
}
