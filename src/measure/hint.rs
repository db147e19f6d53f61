//! Guesses at what a person meant.

use super::Unit;
use super::shown::{number, unit_after};

/// Longest name that is compared, in characters.
const MAX_COMPARED: usize = 64;

/// The known names nearest to `name`, best first, at most three: those within
/// a third of its length in edits (Damerau-Levenshtein, optimal string
/// alignment), then those that contain it or are contained in it.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let name: String = name.chars().take(MAX_COMPARED).flat_map(char::to_lowercase).collect();
    let limit = (name.chars().count() / 3).max(1);
    let mut found: Vec<(usize, &str)> = known
        .into_iter()
        .filter_map(|candidate| {
            let distance = edits(&name, candidate);
            let part_of = name.len() > 2
                && (candidate.contains(name.as_str())
                    || (candidate.len() > 2 && name.contains(candidate)));
            (distance <= limit)
                .then_some(distance)
                .or(part_of.then_some(limit + 1))
                .map(|rank| (rank, candidate))
        })
        .collect();
    found.sort();
    found.dedup();
    found.into_iter().take(3).map(|(_, candidate)| candidate).collect()
}

/// Number of single-character edits and swaps of neighbours between two names.
fn edits(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().take(MAX_COMPARED).collect();
    let mut before_last = vec![0; b.len() + 1];
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let change = usize::from(a[i - 1] != b[j - 1]);
            row[j] = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before_last[j - 2] + 1);
            }
        }
        before_last = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

/// "did you mean a, b or c?" for names near to `name`; none if nothing is near.
pub fn did_you_mean<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let near = nearest(name, known);
    (!near.is_empty()).then(|| format!("did you mean {}?", or_list(&near)))
}

/// "a, b or c".
pub fn or_list<T: AsRef<str>>(items: &[T]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [rest @ .., last] => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} or {}", rest.join(", "), last.as_ref())
        }
    }
}

/// Factors of the usual slips for lengths: a lost decimal point, micrometres,
/// centimetres, metres, inches (25.4 mm exactly, ISO 31-1).
const LENGTH_SLIPS: [f64; 7] = [0.01, 0.1, 10.0, 25.4, 0.001, 100.0, 1000.0];
/// Millimetres where inches stand: rare, so tried when nothing else explains it.
const INCHES: [f64; 1] = [1.0 / 25.4];
/// Factors for other units: a lost decimal point, or a wrong prefix.
const OTHER_SLIPS: [f64; 6] = [0.01, 0.1, 10.0, 0.001, 100.0, 1000.0];

/// What was probably meant by a number outside `[min, max]`, if a usual slip
/// of unit, decimal point or sign explains it: one sentence.
pub fn slip(value: f64, min: f64, max: f64, unit: Unit) -> Option<String> {
    let inside = |v: f64| v >= min && v <= max;
    if value == 0.0 || inside(value) {
        return None;
    }
    if value < 0.0 && inside(-value) {
        return Some(format!("{}{} without the minus sign?", number(-value), unit_after(unit)));
    }
    let factors: &[f64] = match unit {
        Unit::Mm => &LENGTH_SLIPS,
        // A count has no unit to slip in, and an angle has no prefix.
        Unit::One | Unit::Degrees | Unit::Celsius => return None,
        _ => &OTHER_SLIPS,
    };
    let explain = |factors: &[f64]| -> Vec<String> {
        factors.iter().map(|f| f * value).filter(|v| inside(*v)).map(number).take(2).collect()
    };
    let mut meant = explain(factors);
    if meant.is_empty() && unit == Unit::Mm {
        meant = explain(&INCHES);
    }
    meant.dedup();
    if meant.is_empty() {
        return None;
    }
    let units = match unit {
        Unit::Mm => "lengths are in millimetres".to_owned(),
        unit => format!("the unit here is {}", unit.symbol()),
    };
    Some(format!("{}{} was probably meant; {units}", or_list(&meant), unit_after(unit)))
}

/// A number with a unit written as text ("31.4 mm", "1 1/4 in" is not read):
/// the value in millimetres.
pub fn length_in_text(text: &str) -> Option<f64> {
    let text = text.trim();
    let digits = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    let value: f64 = text[..digits].replace(',', ".").parse().ok()?;
    let factor = match text[digits..].trim() {
        "" | "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "um" | "µm" => 0.001,
        "in" | "inch" | "\"" => 25.4,
        _ => return None,
    };
    Some(value * factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_names_are_found() {
        let known = ["wall", "diameter_max", "diameter_min", "length"];
        assert_eq!(nearest("wal", known), ["wall"]);
        assert_eq!(nearest("lenght", known), ["length"]);
        assert_eq!(nearest("diameter", known), ["diameter_max", "diameter_min"]);
        assert_eq!(nearest("WALL", known), ["wall"]);
        assert!(nearest("colour", known).is_empty());
        assert!(nearest("", known).is_empty());
    }

    #[test]
    fn slips_of_unit_are_recognised() {
        let bore = |v| slip(v, 8.0, 120.0, Unit::Mm);
        let text = "31.42 mm was probably meant; lengths are in millimetres";
        assert_eq!(bore(3142.0).as_deref(), Some(text));
        let text = "12.5 or 31.75 mm was probably meant; lengths are in millimetres";
        assert_eq!(bore(1.25).as_deref(), Some(text));
        assert_eq!(bore(-22.0).as_deref(), Some("22 mm without the minus sign?"));
        assert_eq!(bore(0.0), None);
        assert_eq!(bore(1e9), None);
        assert_eq!(bore(f64::NAN), None);
        assert_eq!(slip(7.0, 0.0, 5.0, Unit::One), None);
    }

    #[test]
    fn lengths_in_words_become_millimetres() {
        assert_eq!(length_in_text("31,4 mm"), Some(31.4));
        assert_eq!(length_in_text("1.25\""), Some(31.75));
        assert_eq!(length_in_text("thick"), None);
    }
}
