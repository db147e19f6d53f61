//! What a hint asks for, as changes that a page can make with one click.

use serde::Serialize;
use toml_edit::DocumentMut;

use super::forms::{parts, row_of};
use crate::measure::{Fault, Kind, Param, What, number};

/// One value for one field, as typed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct NewValue {
    pub field: String,
    pub value: String,
}

/// Most suggestions for one fault: more would not be read.
const MOST: usize = 6;

/// Changes that cure a fault, each a list: values in range, and what its hints
/// say in so many words. None where they say no value.
pub(super) fn for_fault(fault: &Fault, document: &DocumentMut) -> Vec<Vec<NewValue>> {
    let mut out: Vec<Vec<NewValue>> = Vec::new();
    let own = |value: String| vec![NewValue { field: fault.field.clone(), value }];
    for hint in &fault.hints {
        for value in meant(hint) {
            out.push(own(value));
        }
        out.extend(in_hint(hint, &fault.field, document));
    }
    if let What::OutOfRange { value, min, max, .. } = fault.what {
        out.push(own(number(value.clamp(min, max))));
    }
    if matches!(fault.what, What::NotFilledIn { .. })
        && row_of(&fault.field, document).is_some_and(|row| !row.required())
    {
        // Most measure it, but it may be left out.
        out.push(own(String::new()));
    }
    let mut once: Vec<Vec<NewValue>> = Vec::new();
    out.into_iter().for_each(|change| {
        if !once.contains(&change) {
            once.push(change);
        }
    });
    once.truncate(MOST);
    once
}

/// Values that a hint offers in place of what was written: those of a slip of
/// the unit, or near names.
fn meant(hint: &str) -> Vec<String> {
    let near = hint.strip_prefix("did you mean ").and_then(|rest| rest.strip_suffix('?'));
    if let Some(names) = near {
        return names.split(", ").flat_map(|some| some.split(" or ")).map(str::to_owned).collect();
    }
    let slip = hint.split_once(" was probably meant").map(|(values, _)| values);
    let slip = slip.or_else(|| hint.strip_suffix(" without the minus sign?"));
    let words = slip.into_iter().flat_map(str::split_whitespace);
    words.filter(|word| word.parse::<f64>().is_ok()).map(str::to_owned).collect()
}

/// `key = value` in a hint, or `key name, name or name would fit`, of a row that
/// the field's table or one around it has.
pub(super) fn in_hint(hint: &str, field: &str, document: &DocumentMut) -> Vec<Vec<NewValue>> {
    let ways = hint.split(" or ").map(|way| assigned(way, field, document));
    let ways: Vec<Vec<NewValue>> = ways.filter(|values| !values.is_empty()).collect();
    if ways.is_empty() { named(hint, field, document) } else { ways }
}

/// All of `key = value, key = value`, as one change.
fn assigned(hint: &str, field: &str, document: &DocumentMut) -> Vec<NewValue> {
    let words: Vec<&str> = hint.split_whitespace().collect();
    let mut out: Vec<NewValue> = Vec::new();
    for three in words.windows(3) {
        let [key, "=", value] = three else { continue };
        let value = value.trim_end_matches([',', ';', ':', ')']).trim_matches('"');
        let key = key.trim_start_matches('(');
        let Some((field, row)) = nearest(key, field, document) else { continue };
        if fits(row, value) && out.iter().all(|known| known.field != field) {
            out.push(NewValue { field, value: value.to_owned() });
        }
    }
    out
}

/// Names of profiles or words that would fit, each a change of its own.
fn named(hint: &str, field: &str, document: &DocumentMut) -> Vec<Vec<NewValue>> {
    let plain = hint.strip_prefix("a ").unwrap_or(hint);
    let end =
        [" would fit", " would do", " works", " ("].iter().filter_map(|end| plain.find(end)).min();
    let Some((key, names)) = end.and_then(|end| plain[..end].split_once(' ')) else {
        return Vec::new();
    };
    let Some((field, row)) = nearest(key, field, document) else { return Vec::new() };
    let names = names.split(", ").flat_map(|some| some.split(" or "));
    let names: Vec<&str> = names.map(|name| name.trim_matches('"')).collect();
    if !names.iter().all(|name| is_name(name) && fits(row, name)) {
        return Vec::new();
    }
    let change = |name: &&str| vec![NewValue { field: field.clone(), value: (*name).to_owned() }];
    names.iter().map(change).collect()
}

fn is_name(text: &str) -> bool {
    !text.is_empty() && crate::measure::bad_name(text).is_none()
}

/// The field that a hint calls `key`: in the table of `field`, or in the nearest
/// around it that has such a row; else in the only part that has one.
pub(super) fn nearest(
    key: &str,
    field: &str,
    document: &DocumentMut,
) -> Option<(String, &'static Param)> {
    let known = |path: String| row_of(&path, document).map(|row| (path, row));
    if key.contains('.') {
        return known(key.to_owned());
    }
    let mut table = field;
    loop {
        if let Some(found) = known(format!("{table}.{key}")) {
            return Some(found);
        }
        match table.rsplit_once('.') {
            Some((outer, _)) => table = outer,
            None => break,
        }
    }
    let all = (1..=parts(document)).filter_map(|n| known(format!("part[{n}].{key}")));
    let all: Vec<(String, &'static Param)> = all.collect();
    match <[_; 1]>::try_from(all) {
        Ok([one]) => Some(one),
        Err(_) => known(format!("print.{key}")).or_else(|| known(format!("handle.{key}"))),
    }
}

/// Whether a row takes a value, as far as its kind goes.
fn fits(row: &Param, value: &str) -> bool {
    match row.kind {
        Kind::Number { min, max, .. } => {
            value.parse::<f64>().is_ok_and(|value| (min..=max).contains(&value))
        }
        Kind::Integer { min, max, .. } => {
            value.parse::<i64>().is_ok_and(|value| (min..=max).contains(&value))
        }
        Kind::Flag { .. } => value.parse::<bool>().is_ok(),
        Kind::Choice { options, .. } => options.contains(&value),
        Kind::Component { .. } => is_name(value),
        _ => false,
    }
}

/// The first field that a text names: `part[1].cover_wall` or the like.
pub(super) fn field_in(text: &str, document: &DocumentMut) -> Option<String> {
    let word = |c: char| c.is_whitespace() || [',', ';', ':', '(', ')'].contains(&c);
    let path = |word: &&str| word.contains('.') && row_of(word, document).is_some();
    text.split(word).find(path).map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Unit;

    const JOB: &str = "[[part]]\nkind = \"cell_tray\"\nname = \"a\"\n[[part]]\n\
                       kind = \"switch_plate\"\nname = \"b\"\n[[part.plunger]]\nz = 58.0\n";

    fn job() -> DocumentMut {
        JOB.parse().expect("it is TOML")
    }

    fn shown(hint: &str, field: &str) -> String {
        let changes = in_hint(hint, field, &job());
        let one = |c: &Vec<NewValue>| {
            c.iter().map(|v| format!("{}={}", v.field, v.value)).collect::<Vec<_>>().join("+")
        };
        changes.iter().map(one).collect::<Vec<_>>().join(" | ")
    }

    #[test]
    fn hints_that_say_a_value_become_changes() {
        for (hint, field, wanted) in [
            ("from_z = 12.50 would do", "part[1].wall", "part[1].from_z=12.50"),
            ("keel = 3, or left out, would do", "part[2].plunger[1].z", "part[2].keel=3"),
            ("a cell 14500 (at most 14.5 mm thick) would fit", "handle.bore", "part[1].cell=14500"),
            (
                "switch 6x6-h4.3 or 6x6-h5.0 would fit",
                "part[2].plunger[1].z",
                "part[2].plunger[1].switch=6x6-h4.3 | part[2].plunger[1].switch=6x6-h5.0",
            ),
            (
                "part[2].fit: less gap does: print.printer.fit_slide = 0.16 in place of 0.2 for \
                 \"slide\", or part[2].fit = \"press\"; tape does too",
                "part[2].name",
                "print.printer.fit_slide=0.16 | part[2].fit=press",
            ),
            ("from_z = 1, ends = 2 would fit", "part[2].name", "part[2].from_z=1+part[2].ends=2"),
            ("from_z = 9000 would do", "part[1].wall", ""),
            ("it would fit without a cover and without wires", "handle.bore", ""),
            ("a stone that lies 2.00 mm lower would do", "part[1].wall", ""),
            ("measure the board and write width = ...", "part[1].width", ""),
        ] {
            assert_eq!(shown(hint, field), wanted, "{hint}");
        }
    }

    #[test]
    fn faults_of_range_and_slips_offer_the_nearest_value() {
        let what = What::OutOfRange { value: 3142.0, min: 8.0, max: 120.0, unit: Unit::Mm };
        let fault = Fault::new(what, "handle.bore")
            .hint("31.42 mm was probably meant; lengths are in millimetres");
        let values: Vec<String> =
            for_fault(&fault, &job()).into_iter().map(|c| c[0].value.clone()).collect();
        assert_eq!(values, ["31.42", "120"]);
        let what = What::NotFilledIn { expected: String::new() };
        let left_out = |field: &str| for_fault(&Fault::new(what.clone(), field), &job());
        assert_eq!(left_out("part[2].plunger[1].tip")[0][0].value, "");
        assert!(left_out("part[2].plunger[1].z").is_empty());
        let what = What::NotAnOption { written: "slid".into(), options: Vec::new() };
        let fault = Fault::new(what, "part[1].fit").hint("did you mean slide or slip?");
        assert_eq!(for_fault(&fault, &job()).len(), 2);
    }

    #[test]
    fn fields_are_found_in_texts() {
        let text = "part[1].cover_wall: 0.08 mm more gap brings binding below 5 of 100";
        assert_eq!(field_in(text, &job()).as_deref(), Some("part[1].cover_wall"));
        assert_eq!(field_in("change part[9].cell, or nothing. at all", &job()), None);
    }
}
