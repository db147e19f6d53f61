//! `borewright work`: one calculation of the trade, as a worked example.

use super::table::write_columns;
use super::{Environment, Stop, unknown};
use crate::measure::{Default as Given, Kind};
use crate::trade::{self, Calculator};

#[derive(Debug, clap::Args)]
pub(super) struct Work {
    /// The calculation; without one, all are listed
    name: Option<String>,
    /// Its inputs; without any, they are explained
    #[arg(value_name = "KEY=VALUE")]
    inputs: Vec<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Work {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let Some(name) = &self.name else {
            let rows: Vec<Vec<String>> = trade::CALCULATORS
                .iter()
                .map(|c| vec![c.name.to_owned(), c.summary.to_owned()])
                .collect();
            write_columns(env.out, &rows)?;
            return Ok(());
        };
        let Some(calculator) = trade::CALCULATORS.iter().find(|c| c.name == name) else {
            let known: Vec<&str> = trade::CALCULATORS.iter().map(|c| c.name).collect();
            return Err(unknown("calculation", name, &known));
        };
        if self.inputs.is_empty() {
            return Ok(explain(calculator, env)?);
        }
        let mut pairs = Vec::new();
        for input in &self.inputs {
            let Some((key, value)) = input.split_once('=') else {
                let what = format!("{input} is no input: write KEY=VALUE");
                let hint = format!("`borewright work {name}` lists the keys");
                return Err(Stop::bad_input(what, [hint]));
            };
            pairs.push((key.to_owned(), value.to_owned()));
        }
        let worked = calculator.work(&pairs).map_err(|error| {
            let hint = format!("`borewright work {name}` lists the keys with their ranges");
            let own = error.hint().to_owned();
            Stop::bad_input(error.to_string(), [own, hint])
        })?;
        if self.json {
            let text = serde_json::to_string_pretty(&worked)
                .map_err(|error| Stop::Output(error.into()))?;
            writeln!(env.out, "{text}")?;
        } else {
            write!(env.out, "{worked}")?;
        }
        Ok(())
    }
}

fn explain(calculator: &Calculator, env: &mut Environment<'_>) -> std::io::Result<()> {
    writeln!(env.out, "{}: {}\n", calculator.name, calculator.summary)?;
    let mut rows = Vec::new();
    for param in calculator.inputs {
        let unit = match param.kind {
            Kind::Number { unit, .. } | Kind::Numbers { unit, .. } => unit.symbol(),
            _ => "",
        };
        let range = match param.kind {
            Kind::Number { min, max, .. } | Kind::Numbers { min, max, .. } => {
                format!("{} to {}", trade::num(min), trade::num(max))
            }
            Kind::Integer { min, max, .. } => format!("{min} to {max}"),
            Kind::Choice { options, .. } => options.join(" | "),
            Kind::Flag { .. } => "true | false".to_owned(),
            _ => String::new(),
        };
        let default = match param.kind {
            Kind::Number { default: Given::Absent, .. } => "may be left out".to_owned(),
            _ => param.default_text().map_or(String::new(), |d| format!("default {d}")),
        };
        rows.push(vec![
            param.key.to_owned(),
            range,
            unit.to_owned(),
            default,
            param.doc.to_owned(),
        ]);
    }
    write_columns(env.out, &rows)?;
    writeln!(env.out, "\nborewright work {} {}", calculator.name, example(calculator))
}

/// The inputs that must be given, to copy and fill in.
fn example(calculator: &Calculator) -> String {
    let required = calculator.inputs.iter().filter(|p| p.required());
    let words: Vec<String> = required.map(|p| format!("{}=?", p.key)).collect();
    if words.is_empty() { "KEY=VALUE ...".to_owned() } else { words.join(" ") }
}
