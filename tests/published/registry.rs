//! The registry tests itself: names, units, defaults, suggestions.

use std::collections::BTreeSet;

use borewright::measure::{Default, Kind, Unit};
use borewright::trade::{CALCULATORS, TradeError, calculator, read_inputs};

use crate::support::{EXAMPLES, run, try_run};

/// The unit that a key's ending promises; `One` promises nothing.
fn promised(key: &str) -> Option<Unit> {
    const ENDINGS: [(&str, Unit); 24] = [
        ("n_per_mm", Unit::NewtonPerMm),
        ("_n_mm", Unit::NewtonMm),
        ("mohm_per_m", Unit::MilliohmPerMetre),
        ("mm_per_s", Unit::MmPerSecond),
        ("g_per_cm3", Unit::GramPerCm3),
        ("expansion_per_k", Unit::MicroPerKelvin),
        ("_mm3", Unit::Mm3),
        ("_mm2", Unit::Mm2),
        ("_mm", Unit::Mm),
        ("_deg", Unit::Degrees),
        ("_percent", Unit::Percent),
        ("_mpa", Unit::Megapascal),
        ("_um", Unit::Micrometre),
        ("_nm", Unit::Nanometre),
        ("_mv", Unit::Millivolt),
        ("_mw", Unit::Milliwatt),
        ("_min", Unit::Minute),
        ("_degc", Unit::Celsius),
        ("_n", Unit::Newton),
        ("_a", Unit::Ampere),
        ("_m", Unit::Metre),
        ("_g", Unit::Gram),
        ("_k", Unit::Kelvin),
        ("_s", Unit::Second),
    ];
    ENDINGS.iter().find(|(ending, _)| key.ends_with(ending)).map(|(_, unit)| *unit)
}

#[test]
fn names_are_unique_and_every_calculator_has_an_example() {
    let names: BTreeSet<&str> = CALCULATORS.iter().map(|c| c.name).collect();
    assert_eq!(names.len(), CALCULATORS.len());
    let examples: BTreeSet<&str> = EXAMPLES.iter().map(|(name, _)| *name).collect();
    assert_eq!(names, examples);
}

#[test]
fn every_input_has_doc_range_and_a_default_inside_it() {
    for c in CALCULATORS {
        let keys: BTreeSet<&str> = c.inputs.iter().map(|p| p.key).collect();
        assert_eq!(keys.len(), c.inputs.len(), "{}", c.name);
        for p in c.inputs {
            assert!(p.doc.ends_with('.') && p.doc.len() > 5, "{} {}", c.name, p.key);
            match p.kind {
                Kind::Number { unit, min, max, default } => {
                    assert!(min < max, "{} {}", c.name, p.key);
                    if let Default::Value(v) = default {
                        assert!(v >= min && v <= max, "{} {}", c.name, p.key);
                    }
                    assert_eq!(promised(p.key).unwrap_or(Unit::One), unit, "{} {}", c.name, p.key);
                }
                Kind::Choice { options, default: Default::Value(v) } => {
                    assert!(options.contains(&v))
                }
                _ => {}
            }
        }
    }
}

#[test]
fn results_carry_the_unit_that_their_name_says() {
    for (name, inputs) in EXAMPLES {
        let worked = run(name, inputs);
        assert!(!worked.results.is_empty() && !worked.source.is_empty(), "{name}");
        for q in &worked.results {
            assert_eq!(promised(q.key).unwrap_or(Unit::One), q.unit, "{name} {}", q.key);
        }
    }
}

#[test]
fn unknown_names_suggest_the_nearest() {
    let err = try_run("wire", "guage=24 current_a=1").unwrap_err();
    assert!(matches!(&err, TradeError::UnknownInput { input, .. } if input == "guage"));
    assert_eq!(err.hint(), "did you mean `gauge`?");
    assert_eq!(calculator("stackup").unwrap_err().hint(), "did you mean `stack-up`?");
    let far = calculator("zzzzzzzz").unwrap_err();
    assert!(far.hint().starts_with("known names: stack-up"), "{}", far.hint());
    let word = try_run("clearance-hole", "size=M3 series=medum").unwrap_err();
    assert_eq!(word.hint(), "did you mean `medium`?");
}

#[test]
fn errors_name_input_value_and_range() {
    let err = try_run("wire", "gauge=24 current_a=-1").unwrap_err();
    assert_eq!(err.to_string(), "current_a = -1 A is outside 0 to 100 A");
    for bad in ["nan", "inf", "-inf", "1e400", "3mm", ""] {
        let err = try_run("wire", &format!("gauge=24 current_a={bad}")).unwrap_err();
        assert!(err.to_string().starts_with("current_a = "), "{err}");
    }
    assert!(matches!(
        try_run("wire", "gauge=24 gauge=25 current_a=1").unwrap_err(),
        TradeError::Repeated { input: "gauge", .. }
    ));
    assert!(matches!(
        try_run("wire", "gauge=24").unwrap_err(),
        TradeError::Missing { input: "current_a", .. }
    ));
    assert!(matches!(
        try_run("wire", "gauge=2.5 current_a=1").unwrap_err(),
        TradeError::Unreadable { input: "gauge", .. }
    ));
}

/// Every number of every calculator refuses NaN, infinity and both sides of its
/// range, and says which input it was.
#[test]
fn every_number_refuses_what_lies_outside_its_range() {
    let mut seen = BTreeSet::new();
    for (name, inputs) in EXAMPLES {
        if !seen.insert(name) {
            continue;
        }
        for param in calculator(name).unwrap().inputs {
            let Kind::Number { min, max, .. } = param.kind else { continue };
            let others: Vec<&str> = inputs
                .split_whitespace()
                .filter(|pair| pair.split_once('=').is_none_or(|(key, _)| key != param.key))
                .collect();
            let below = min - 1e-3 * (1.0 + min.abs());
            let above = max + 1e-3 * (1.0 + max.abs());
            for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, below, above] {
                let err = try_run(name, &format!("{} {}={bad}", others.join(" "), param.key));
                match err {
                    Err(TradeError::OutOfRange { input, hint, .. }) => {
                        assert_eq!(input, param.key, "{name}");
                        assert!(hint.starts_with(param.key));
                    }
                    other => panic!("{name} {} = {bad}: {other:?}", param.key),
                }
            }
        }
    }
}

/// Inputs read for one calculator and handed to another are refused or worked,
/// but never panic.
#[test]
fn inputs_of_another_calculator_do_not_panic() {
    for (name, inputs) in EXAMPLES {
        let pairs: Vec<(String, String)> = inputs
            .split_whitespace()
            .filter_map(|pair| pair.split_once('='))
            .map(|(k, v)| (k.to_owned(), v.to_owned()))
            .collect();
        let read = read_inputs(calculator(name).unwrap(), &pairs).unwrap();
        for other in CALCULATORS.iter().filter(|c| c.name != *name) {
            if let Err(err) = (other.run)(&read) {
                assert!(!err.to_string().is_empty() && !err.hint().is_empty());
            }
        }
    }
}
