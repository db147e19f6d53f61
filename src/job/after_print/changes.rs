//! What test prints change of a job's printer.

use toml_edit::{DocumentMut, InlineTable, Item, Value};

use super::super::Job;
use super::history::{History, Print, PrintSat, PrintSize};
use super::round;
use crate::correct::{AfterPrint, Clearance, Compensation, Growth, Sat, SizeRow, next_clearance};
use crate::measure::{Axis, Measured, Values, Vec3, number};

/// The words of fits with the printer's rows, the tightest first.
const FITS: [(&str, &str); 3] =
    [("press", "fit_press"), ("slide", "fit_slide"), ("loose", "fit_loose")];

/// A value of the printer that changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Row of the printer.
    pub key: &'static str,
    /// What the job has, and what it gets, mm.
    pub from: f64,
    /// The new value, mm.
    pub to: f64,
    /// One sentence.
    pub why: String,
}

/// What makes up for growth that was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MadeUpBy {
    /// Print files, which are drawn in by it: fits keep to clearances as printed.
    PrintFiles,
    /// Fits alone, where details of a body are too small to be drawn in: they keep to
    /// clearances as drawn, and `size_offset` tells the checks how sizes come out.
    Fits,
}

/// What all test prints on the job's printer with its material ask for.
pub fn changes(job: &Job, history: &History, by: MadeUpBy) -> Vec<Change> {
    let printer = job.print().component("printer");
    let [name, material] =
        ["printer", "material"].map(|key| job.print().component(key).profile().unwrap_or("own"));
    let own: Vec<&Print> =
        history.prints.iter().filter(|p| p.printer == name && p.material == material).collect();
    let mut changes: Vec<Change> = growth(printer, &own, by).into_iter().collect();
    let had = |sat: &PrintSat| match by {
        MadeUpBy::PrintFiles => sat.clearance,
        MadeUpBy::Fits => sat.drawn,
    };
    let mut clearances = FITS.map(|(_, key)| printer.number(key));
    for (i, (word, key)) in FITS.into_iter().enumerate() {
        let sat = own.iter().flat_map(|print| &print.sat).filter(|sat| sat.fit == word);
        let tried: Vec<(Sat, f64)> = sat.map(|sat| (sat.how, had(sat))).collect();
        if tried.is_empty() {
            continue;
        }
        let low = if i == 0 { PRESS_LEAST } else { clearances[i - 1] };
        let high = clearances.get(i + 1).copied().unwrap_or(LOOSE_MOST);
        let Clearance { value, why } = next_clearance(clearances[i], &tried, printer, (low, high));
        clearances[i] = round(value);
        changes.push(Change { key, from: printer.number(key), to: clearances[i], why });
    }
    changes.retain(|change| round(change.from) != change.to);
    changes
}

/// Tightest press fit and loosest loose fit that a printer may have, mm: those of its rows.
const PRESS_LEAST: f64 = -0.5;
const LOOSE_MOST: f64 = 3.0;
/// Largest growth, and offset of sizes, that a printer may have, mm: those of their rows.
const GROWTH_MOST: f64 = 0.5;

/// From what the printer had before the first of its prints.
fn growth(printer: &Values, prints: &[&Print], by: MadeUpBy) -> Option<Change> {
    let start = prints.first()?.growth;
    let of_print = |print: &&Print| print.sizes.iter().map(|size| of(print, size)).collect();
    let sizes: Vec<Vec<AfterPrint>> = prints.iter().map(of_print).collect();
    let sizes = sizes.concat();
    if sizes.is_empty() {
        return None;
    }
    let after = Growth::before(printer, start).after(printer, &sizes);
    let count = sizes.len();
    let of_sizes = if count == 1 { "size".to_owned() } else { "sizes".to_owned() };
    let why = format!(
        "{count} {of_sizes} read and {} mm before: surfaces come out by {:.3} mm, give or take {:.3}",
        number(start),
        after.value,
        2.0 * after.sd
    );
    // Sizes have a surface on either side.
    let left = 2.0 * (after.value - printer.number("growth"));
    let (key, to) = match by {
        MadeUpBy::PrintFiles => ("growth", after.value),
        MadeUpBy::Fits => ("size_offset", left),
    };
    let to = round(to.clamp(-GROWTH_MOST, GROWTH_MOST));
    Some(Change { key, from: printer.number(key), to, why })
}

fn of(print: &Print, size: &PrintSize) -> AfterPrint {
    let scales = Vec3::from(print.scales);
    let made_up = Compensation { growth: print.growth, scales, holes_drawn: print.holes_drawn };
    let none = print.growth == 0.0 && scales == Vec3::repeat(1.0);
    AfterPrint {
        row: SizeRow {
            name: format!("{} {}", size.body, size.key),
            what: Measured::of(&size.what).unwrap_or(Measured::Outside),
            axis: size.axis.as_deref().and_then(Axis::of),
            nominal: size.nominal,
            readings: size.readings.clone(),
        },
        made_up: (!none).then_some(made_up),
        caliper: print.caliper,
    }
}

/// The job's text with other values of its printer. Comments and all else stay.
///
/// # Errors
/// What is wrong with the text; none if it was read as a job before.
pub fn with_changes(text: &str, changes: &[Change]) -> Result<String, String> {
    if changes.is_empty() {
        return Ok(text.to_owned());
    }
    let mut document: DocumentMut =
        text.parse().map_err(|e: toml_edit::TomlError| e.to_string())?;
    let item = document.get_mut("print").and_then(|print| print.get_mut("printer"));
    let item = item.ok_or("the job has no printer")?;
    if let Item::Value(Value::String(name)) = item {
        let mut table = InlineTable::new();
        table.insert("profile", name.value().as_str().into());
        let decor = name.decor().clone();
        *item = Item::Value(Value::InlineTable(table));
        if let Some(value) = item.as_value_mut() {
            *value.decor_mut() = decor;
        }
    }
    let table =
        item.as_table_like_mut().ok_or("the job's printer is neither a name nor a table")?;
    for change in changes {
        table.insert(change.key, toml_edit::value(change.to));
    }
    Ok(document.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_printer_by_name_by_values_and_as_a_table_gets_new_values() {
        let changes = [Change { key: "growth", from: 0.0, to: 0.05, why: String::new() }];
        let new = |text: &str| with_changes(text, &changes).expect("it is TOML");
        assert_eq!(
            new("[print]\nprinter = \"a\" # mine\nchord = 0.02\n"),
            "[print]\nprinter = { profile = \"a\", growth = 0.05 } # mine\nchord = 0.02\n"
        );
        assert_eq!(
            new("[print]\nprinter = { profile = \"a\", growth = 0.1 }\n"),
            "[print]\nprinter = { profile = \"a\", growth = 0.05 }\n"
        );
        assert_eq!(
            new("[print.printer]\nprofile = \"a\"\n"),
            "[print.printer]\nprofile = \"a\"\ngrowth = 0.05\n"
        );
        assert_eq!(
            with_changes("[print]\nprinter = \"a\"\n", &[]).as_deref(),
            Ok("[print]\nprinter = \"a\"\n")
        );
        assert!(with_changes("[print]\nprinter = 3\n", &changes).is_err());
    }
}
