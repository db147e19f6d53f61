//! Every worked example must be true: the numbers it prints give its values.

use borewright::trade::{CALCULATORS, Worked};

use crate::arithmetic::evaluate;
use crate::support::{EXAMPLES, run, try_run};

/// Printed inputs have six digits; differences of them lose a few.
const RELATIVE: f64 = 1e-3;
const ABSOLUTE: f64 = 1e-5;

fn assert_steps_true(name: &str, worked: &Worked) {
    for step in &worked.steps {
        assert!(!step.formula.contains('{') && !step.numbers.contains('{'), "{name}: {step:?}");
        if step.numbers.is_empty() {
            continue;
        }
        let value = evaluate(&step.numbers).unwrap_or_else(|e| panic!("{name}: {step:?}: {e}"));
        let off = (value - step.value).abs();
        assert!(off <= RELATIVE * step.value.abs() + ABSOLUTE, "{name}: {value} in {step:?}");
    }
}

#[test]
fn numbers_in_the_steps_give_the_values() {
    let mut checked = 0;
    for (name, inputs) in EXAMPLES {
        let worked = run(name, inputs);
        assert_steps_true(name, &worked);
        checked += worked.steps.iter().filter(|s| !s.numbers.is_empty()).count();
    }
    assert!(checked > 60, "{checked}");
}

/// Random values over each input's whole range: no panic, no NaN, true steps.
#[test]
fn random_inputs_never_panic() {
    use borewright::measure::Kind;
    let mut rng = fastrand::Rng::with_seed(2026);
    for calculator in CALCULATORS {
        let (mut worked, mut refused) = (0, 0);
        let rounds = if calculator.name == "choose-lip" { 30 } else { 400 };
        for _ in 0..rounds {
            let mut pairs = Vec::new();
            for param in calculator.inputs {
                let text = match param.kind {
                    Kind::Number { min, max, .. } => match rng.u8(0..6) {
                        0 => min.to_string(),
                        1 => max.to_string(),
                        _ => (min + (max - min) * rng.f64().powi(3)).to_string(),
                    },
                    Kind::Integer { min, max, .. } => rng.i64(min..=max).to_string(),
                    Kind::Flag { .. } => rng.bool().to_string(),
                    Kind::Choice { options, .. } => options[rng.usize(..options.len())].to_owned(),
                    Kind::Text { .. } => {
                        ["H7/g6", "H8/f7", "JS9/h5", "/", "H7/"][rng.usize(..5)].to_owned()
                    }
                    Kind::Numbers { min, max, .. } => {
                        let n = 1 + rng.usize(..3);
                        let list: Vec<String> =
                            (0..n).map(|_| (min + (max - min) * rng.f64()).to_string()).collect();
                        list.join(",")
                    }
                    _ => panic!("{}: a kind that has no text", param.key),
                };
                pairs.push((param.key.to_owned(), text));
            }
            match calculator.work(&pairs) {
                Ok(out) => {
                    worked += 1;
                    for q in &out.results {
                        assert!(q.value.is_finite(), "{} {pairs:?}: {q:?}", calculator.name);
                    }
                    assert!(!out.to_string().is_empty());
                }
                Err(err) => {
                    refused += 1;
                    assert!(!err.hint().is_empty(), "{}: {err}", calculator.name);
                    assert!(!err.to_string().contains("NaN"), "{}: {err}", calculator.name);
                }
            }
        }
        println!("{:<16} worked {worked:>4}, refused {refused:>4}", calculator.name);
    }
}

#[test]
fn worked_example_reads_like_one() {
    let text = run("iso-fit", "size_mm=30 fit=H7/g6").to_string();
    for part in ["Given", "Steps", "max = ES - ei", "21 - (-20) = 41 um", "Results", "Source:"] {
        assert!(text.contains(part), "{part} missing in\n{text}");
    }
    let json = serde_json::to_value(run("iso-fit", "size_mm=30 fit=H7/g6")).unwrap();
    assert_eq!(json["results"][1]["value"], 41.0);
    assert_eq!(json["results"][1]["unit"], "um");
    assert!(try_run("iso-fit", "size_mm=30").is_err());
}
