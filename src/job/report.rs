//! What was entered and computed, as JSON.

use serde_json::{Map, Value as Json, json};

use super::{Job, Made};
use crate::measure::{Kind, Values};

/// The report of a job and its made parts: every value that was entered, with
/// its unit and where it is from, then what was computed. `stamp` is the time
/// stamp of all files.
pub fn report(job: &Job, made: &[Made], stamp: &str) -> Json {
    let bore = job.handle().bore();
    let parts = made.iter().zip(job.parts()).map(|(made, part)| {
        json!({
            "kind": made.kind.name,
            "name": made.name,
            "inputs": inputs(part.values()),
            "bodies": made.bodies.iter().map(|body| json!({
                "name": body.name,
                "computed": body.computed.iter().map(|c| json!({
                    "key": c.key, "what": c.what, "value": c.value, "unit": c.unit.symbol(),
                })).collect::<Vec<_>>(),
                "messages": body.messages,
            })).collect::<Vec<_>>(),
        })
    });
    json!({
        "format": super::FORMAT,
        "time": stamp,
        "handle": {
            "inputs": inputs(job.handle().values()),
            "bore": {
                "unit": "mm",
                "mean": bore.mean(),
                "standard_uncertainty": bore.uncertainty(),
                "smallest": bore.smallest(),
                "largest": bore.largest(),
                "ovality": bore.ovality(),
                "sure": bore.sure(),
            },
        },
        "print": inputs(job.print()),
        "parts": parts.collect::<Vec<_>>(),
    })
}

/// Each value with unit and origin; tables and lists as they are nested.
fn inputs(values: &Values) -> Json {
    let mut out = Map::new();
    if let Some(profile) = values.profile() {
        out.insert("profile".into(), profile.into());
    }
    for row in values.rows().iter().filter(|row| values.has(row.key)) {
        let key = row.key;
        let json = match row.kind {
            Kind::Table { .. } | Kind::Component { .. } => inputs(values.table(key)),
            Kind::List { .. } => values.list(key).iter().map(inputs).collect(),
            kind => {
                let from = values.origin(key).describe();
                let unit = match kind {
                    Kind::Number { unit, .. } | Kind::Numbers { unit, .. } => unit.symbol(),
                    Kind::Points { .. } => "mm",
                    _ => "",
                };
                json!({ "value": plain(values, key, kind), "unit": unit, "from": from })
            }
        };
        out.insert(key.into(), json);
    }
    Json::Object(out)
}

fn plain(values: &Values, key: &str, kind: Kind) -> Json {
    match kind {
        Kind::Number { .. } => json!(values.number(key)),
        Kind::Integer { .. } => json!(values.integer(key)),
        Kind::Flag { .. } => json!(values.flag(key)),
        Kind::Choice { .. } => json!(values.choice(key)),
        Kind::Text { .. } => json!(values.text(key)),
        Kind::Numbers { .. } => json!(values.numbers(key)),
        Kind::Points { .. } => values.points(key).iter().map(|p| json!([p.x, p.y])).collect(),
        _ => Json::Null,
    }
}
