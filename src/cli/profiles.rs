//! `borewright profiles`.

use std::path::PathBuf;

use serde_json::{Map, Value as Json, json};

use super::table::{write_columns, write_wrapped};
use super::{Environment, Stop, library, unknown};
use crate::measure::{FAMILIES, Family, Kind, Library, Param, Unit, Values, unit_after};

/// Width of lines of text.
const WIDTH: usize = 88;

#[derive(Debug, clap::Args)]
pub(super) struct Profiles {
    /// A family of components, or a profile of any; without it, all families are listed
    family: Option<String>,
    /// A profile of that family, to see all of it with its source
    name: Option<String>,
    /// Folder of your own profiles: DIR/cells.toml and so on
    #[arg(long, value_name = "DIR")]
    profiles: Option<PathBuf>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

impl Profiles {
    pub(super) fn run(&self, env: &mut Environment<'_>) -> Result<(), Stop> {
        let library = library(self.profiles.as_deref(), env)?;
        if let (Some(name), None) = (&self.family, &self.name) {
            let has = |family: &&Family| library.profile(family.name, name).is_some();
            let families: Vec<&Family> = FAMILIES.iter().filter(has).collect();
            if !families.is_empty() {
                return families.into_iter().try_for_each(|f| self.tell(&library, f, name, env));
            }
        }
        let family = self.family.as_deref().map(family_named).transpose()?;
        let Some(family) = family else {
            if self.json {
                let all: Map<String, Json> = FAMILIES
                    .iter()
                    .map(|family| (family.name.to_owned(), all_json(&library, family)))
                    .collect();
                return print_json(env, &Json::Object(all));
            }
            let rows: Vec<Vec<String>> = FAMILIES
                .iter()
                .map(|family| {
                    let count = library.profiles(family.name).len();
                    vec![family.name.into(), format!("{count}"), family.summary.into()]
                })
                .collect();
            write_columns(env.out, &rows)?;
            return Ok(());
        };
        let Some(name) = &self.name else {
            if self.json {
                return print_json(env, &all_json(&library, family));
            }
            let rows: Vec<Vec<String>> = library
                .profiles(family.name)
                .iter()
                .map(|values| vec![values.profile().unwrap_or_default().into(), brief(values)])
                .collect();
            write_columns(env.out, &rows)?;
            return Ok(());
        };
        self.tell(&library, family, name, env)
    }

    /// All of one profile.
    fn tell(
        &self,
        library: &Library,
        family: &Family,
        name: &str,
        env: &mut Environment<'_>,
    ) -> Result<(), Stop> {
        let Some(values) = library.profile(family.name, name) else {
            let names: Vec<&str> = library.names(family.name).collect();
            return Err(unknown(&format!("profile of {}", family.name), name, &names));
        };
        if self.json {
            return print_json(env, &profile_json(values));
        }
        writeln!(env.out, "{} {name}", family.name)?;
        let unit_of = |kind| match kind {
            Kind::Number { unit, .. } | Kind::Numbers { unit, .. } => unit,
            _ => Unit::One,
        };
        let (texts, plain): (Vec<&Param>, Vec<&Param>) =
            family.rows.iter().partition(|row| matches!(row.kind, Kind::Text { .. }));
        let rows: Vec<Vec<String>> = plain
            .iter()
            .filter_map(|row| {
                let value = values.shown(row.key)?;
                let value = format!("{value}{}", unit_after(unit_of(row.kind)));
                Some(vec![format!("  {}", row.key), value, row.doc.into()])
            })
            .collect();
        write_columns(env.out, &rows)?;
        for row in texts {
            if let Some(text) = values.maybe_text(row.key) {
                writeln!(env.out, "  {}:", row.key)?;
                write_wrapped(env.out, text, "    ", WIDTH)?;
            }
        }
        Ok(())
    }
}

/// The family that a person names.
pub(super) fn family_named(name: &str) -> Result<&'static Family, Stop> {
    let names: Vec<&str> = FAMILIES.iter().map(|family| family.name).collect();
    let family = FAMILIES.iter().find(|family| family.name == name);
    family.ok_or_else(|| unknown("family of profiles", name, &names))
}

fn print_json(env: &mut Environment<'_>, json: &Json) -> Result<(), Stop> {
    writeln!(env.out, "{json:#}")?;
    Ok(())
}

fn all_json(library: &Library, family: &Family) -> Json {
    let all = library.profiles(family.name).iter();
    let all = all.map(|values| (values.profile().unwrap_or_default().into(), profile_json(values)));
    Json::Object(all.collect())
}

fn profile_json(values: &Values) -> Json {
    let mut out = Map::new();
    for row in values.rows().iter().filter(|row| values.has(row.key)) {
        let value = match row.kind {
            Kind::Number { .. } => json!(values.number(row.key)),
            Kind::Integer { .. } => json!(values.integer(row.key)),
            Kind::Flag { .. } => json!(values.flag(row.key)),
            Kind::Choice { .. } => json!(values.choice(row.key)),
            _ => json!(values.shown(row.key)),
        };
        out.insert(row.key.to_owned(), value);
    }
    Json::Object(out)
}

/// The first required numbers, in short.
fn brief(values: &Values) -> String {
    let numbers = values.rows().iter().filter(|row| row.required());
    let numbers = numbers.filter_map(|row| {
        let value = values.shown(row.key)?;
        Some(match row.kind {
            Kind::Number { unit, .. } => format!("{} {value}{}", row.key, unit_after(unit)),
            _ => format!("{} {value}", row.key),
        })
    });
    numbers.take(4).collect::<Vec<_>>().join(", ")
}
