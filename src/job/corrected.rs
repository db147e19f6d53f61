//! A printer's profile from readings, as text for a person's own folder.

use std::sync::Arc;

use super::Readings;
use crate::correct::{Effect, Fitted};
use crate::measure::{
    Axis, FAMILIES, Family, Faults, Kind, Library, Param, Source, Values, bad_name, number, quoted,
    toml_string,
};

/// Name of the file that a folder of profiles keeps printers in.
pub const PRINTERS_FILE: &str = "printers.toml";

/// Decimals of values: a hundredth of a micrometre, a micrometre on 100 mm.
const DECIMALS: i32 = 5;

/// A profile made from readings.
#[derive(Clone, Debug)]
pub struct MeasuredProfile {
    /// Its name.
    pub name: String,
    /// The whole file: what was there, then the new profile.
    pub text: String,
    /// What was left out or cut to its range, and why.
    pub remarks: Vec<String>,
}

/// Why no profile can be written.
#[derive(Clone, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ProfileError {
    /// The file has a profile of that name.
    #[error("a profile {name} is there already and is not overwritten")]
    Taken {
        /// The name.
        name: String,
    },
    /// The name cannot be used.
    #[error("{} cannot name the profile: it {reason}", quoted(name))]
    BadName {
        /// The name.
        name: String,
        /// Why not.
        reason: &'static str,
    },
    /// The file, or what would be added to it, is faulty.
    #[error("{0}")]
    Faulty(Faults),
}

/// The text of a file of printers with one more profile, from `fitted`: `like` the
/// readings' printer where the file's readers know it, with its other values
/// where not. `there` is the file as it is, `file` the name of the readings, and
/// `day` when they were taken.
///
/// # Errors
/// The name is taken or bad, or the file faulty.
pub fn measured_profile(
    readings: &Readings,
    fitted: &Fitted,
    there: Option<&Arc<Source>>,
    file: &str,
    day: Option<&str>,
) -> Result<MeasuredProfile, ProfileError> {
    let name = readings.name();
    if let Some(reason) = bad_name(&name) {
        return Err(ProfileError::BadName { name, reason });
    }
    let family = printers();
    let mut known = Library::shipped();
    if let Some(there) = there {
        known.add(family, there).map_err(ProfileError::Faulty)?;
    }
    if there.is_some_and(|there| names_of(there).contains(&name)) {
        return Err(ProfileError::Taken { name });
    }
    let mut remarks = Vec::new();
    let mut own = own_rows(fitted, family, &mut remarks);
    own.extend(readings.seen());
    let before = there.map_or("", |there| there.text());
    let gap = match before {
        "" => "",
        text if text.ends_with('\n') => "\n",
        _ => "\n\n",
    };
    let table = table(readings, &known, &own, &name, &source_text(readings, file, day));
    let text = format!("{before}{gap}{table}");
    let source = Source::new(PRINTERS_FILE, text.as_str())
        .map_err(|error| ProfileError::Faulty(Faults::from(crate::measure::Fault::from(error))))?;
    Library::shipped().add(family, &source).map_err(ProfileError::Faulty)?;
    Ok(MeasuredProfile { name, text, remarks })
}

fn printers() -> &'static Family {
    let family = FAMILIES.iter().find(|family| family.name == "printers");
    family.expect("printers are a family")
}

/// Names of the profiles that a file gives.
fn names_of(source: &Source) -> Vec<String> {
    let document = source.text().parse::<toml_edit::DocumentMut>();
    document.map_or_else(|_| Vec::new(), |d| d.iter().map(|(key, _)| key.to_owned()).collect())
}

/// Values of rows that the readings give.
fn own_rows(
    fitted: &Fitted,
    family: &Family,
    remarks: &mut Vec<String>,
) -> Vec<(&'static str, f64)> {
    let value = |effect| fitted.correction(effect).map(|c| c.value);
    let rows = [
        ("size_sd", Some(fitted.scatter)),
        // The files make up for the growth, so nothing is left on average.
        ("size_offset", value(Effect::Growth).map(|_| 0.0)),
        ("growth", value(Effect::Growth)),
        ("scale_x", value(Effect::Scale(Axis::X))),
        ("scale_y", value(Effect::Scale(Axis::Y))),
        ("scale_z", value(Effect::Scale(Axis::Z))),
        ("hole_shrink", value(Effect::HoleShrink)),
        ("first_layer_flare", value(Effect::Flare)),
    ];
    let mut own = Vec::new();
    for (key, value) in rows {
        let Some(value) = value else { continue };
        let row = family.rows.iter().find(|row| row.key == key).expect("a row of printers");
        own.push((row.key, within_range(row, value, remarks)));
    }
    own
}

/// The value, cut to what its row allows.
fn within_range(row: &Param, value: f64, remarks: &mut Vec<String>) -> f64 {
    let Kind::Number { min, max, .. } = row.kind else { return value };
    let cut = value.clamp(min, max);
    if cut != value {
        let value = number(rounded(value));
        remarks.push(format!("{} came out as {value}: written as {}", row.key, number(cut)));
    }
    rounded(cut)
}

fn rounded(value: f64) -> f64 {
    let shift = 10_f64.powi(DECIMALS);
    (value * shift).round() / shift
}

fn source_text(readings: &Readings, file: &str, day: Option<&str>) -> String {
    let file = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let of = readings.printer().profile().unwrap_or("its readings");
    let day = day.map_or_else(String::new, |day| format!(" {day}"));
    format!("measured{day}: {}; the rest as {of}", quoted(file))
}

/// The profile as a table of TOML.
fn table(
    readings: &Readings,
    known: &Library,
    own: &[(&'static str, f64)],
    name: &str,
    source: &str,
) -> String {
    let printer = readings.printer();
    let base = printer.profile().and_then(|name| known.profile("printers", name));
    let mut out = format!("[{}]\n", key(name));
    if let Some(like) = base.and_then(Values::profile) {
        out.push_str(&format!("like = {}\n", toml_string(like)));
    }
    for row in printer.rows() {
        let value = match own.iter().find(|(key, _)| *key == row.key) {
            Some((_, value)) => number(*value),
            None if ["note", "source"].contains(&row.key) => continue,
            None if base.is_some_and(|b| b.shown(row.key) == printer.shown(row.key)) => continue,
            None => match (printer.shown(row.key), row.kind) {
                (Some(text), Kind::Text { .. } | Kind::Choice { .. }) => toml_string(&text),
                (Some(text), _) => text,
                (None, _) => continue,
            },
        };
        out.push_str(&format!("{} = {value}\n", row.key));
    }
    let sizes = readings.sizes().len();
    let material = readings.material().map_or_else(String::new, |m| format!(", printed with {m}"));
    let note = format!("from {sizes} sizes of test prints{material}");
    out.push_str(&format!("note = {}\nsource = {}\n", toml_string(&note), toml_string(source)));
    out
}

/// A name as a key of TOML.
fn key(name: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || "-_".contains(c);
    if name.chars().all(bare) { name.to_owned() } else { toml_string(name) }
}
