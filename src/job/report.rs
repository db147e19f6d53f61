//! What was entered and computed, as JSON.

use serde_json::{Map, Value as Json, json};

use super::files::FORMATS;
use super::{Job, Made, MadeBody};
use crate::correct::LARGEST_DRAWN_HOLE;
use crate::measure::frame::FRAME;
use crate::measure::{Kind, Unit, Values, Vec3};
use crate::parts::Component;
use crate::survey::ClearOutline;

/// The outline that a part follows in its cavity.
fn outline(outline: &ClearOutline) -> Json {
    let (width, depth) = outline.size();
    let mm = |value: f64| json!({ "value": value, "unit": "mm" });
    json!({
        "width": mm(width),
        "depth": mm(depth),
        "area": { "value": outline.region.area(), "unit": "mm2" },
        "lacks": mm(outline.inset),
        "corners": outline.corners,
    })
}

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
            "cavity": part.cavity().map(|cavity| json!({
                "inputs": inputs(&cavity.values),
                "clear_diameter": { "value": cavity.clear.diameter, "unit": "mm" },
                "narrowest_at": { "unit": "mm", "at": <[f64; 3]>::from(cavity.clear.at) },
                "outline": cavity.outline.as_ref().map(outline),
            })),
            "bodies": made.bodies.iter().map(|body| self::body(body, made.kind.name)).collect::<Vec<_>>(),
        })
    });
    json!({
        "format": super::FORMAT,
        "time": stamp,
        "frame": FRAME,
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
        "chassis": job.chassis_values().zip(job.chassis()).map(|(values, chassis)| json!({
            "inputs": inputs(values),
            "triangles": chassis.soup().triangles().len(),
            "bounds": {
                "unit": "mm",
                "low": <[f64; 3]>::from(chassis.bounds().0),
                "high": <[f64; 3]>::from(chassis.bounds().1),
            },
        })),
        "printable": printable(made),
        "parts": parts.collect::<Vec<_>>(),
    })
}

/// Whether no error stands in the way; null if nothing was checked.
fn printable(made: &[Made]) -> Option<bool> {
    let mut checked = made.iter().flat_map(|part| &part.bodies).map(|b| b.checked.as_ref());
    checked.try_fold(true, |good, checked| Some(good && !checked?.blocks()))
}

/// Measures of the exact solid and its mesh, and what the part computed.
fn body(made: &MadeBody, kind: &str) -> Json {
    let MadeBody { body, mesh, made_up, properties, bounds, mass, estimates, checked } = made;
    let (low, high) = bounds;
    let faces = body.solid.face_counts();
    let point = |p: &Vec3| json!([p.x, p.y, p.z]);
    let quantity = |value: f64, unit: Unit| json!({ "value": value, "unit": unit.symbol() });
    json!({
        "name": body.name,
        "kind": kind,
        "files": FORMATS.iter().map(|(ext, _)| format!("{}.{ext}", body.name)).collect::<Vec<_>>(),
        "bounds": { "unit": "mm", "low": point(low), "high": point(high) },
        "volume": quantity(properties.volume, Unit::Mm3),
        "area": quantity(properties.area, Unit::Mm2),
        "centroid": { "unit": "mm", "at": point(&properties.centroid) },
        "mass": quantity(*mass, Unit::Gram),
        "faces": { "plane": faces.planes, "cylinder": faces.cylinders, "cone": faces.cones },
        "triangles": mesh.triangles().len(),
        "mesh_volume": quantity(mesh.volume(), Unit::Mm3),
        "computed": body.computed.iter().map(|c| json!({
            "key": c.key, "what": c.what, "value": c.value, "unit": c.unit.symbol(),
        })).collect::<Vec<_>>(),
        "calculations": body.worked.iter().chain(estimates).collect::<Vec<_>>(),
        "messages": body.messages,
        "printed_up": point(&body.declared.up.unwrap_or(Vec3::z())),
        "made_up_for": made_up.as_ref().map(|(made_up, printed)| json!({
            "growth": quantity(made_up.growth, Unit::Mm),
            "scale": point(&made_up.scales),
            "holes_left_up_to": made_up.holes_drawn.then(|| quantity(LARGEST_DRAWN_HOLE, Unit::Mm)),
            "print_volume": quantity(
                printed.volume() * made.stretch().determinant(),
                Unit::Mm3,
            ),
        })),
        "walls": checked.as_ref().and_then(|c| c.walls.as_ref()),
        "fits": checked.as_ref().map(|c| &c.fits),
        "sight": checked.as_ref().and_then(|c| c.sight.as_ref()),
        "findings": checked.as_ref().map(|c| &c.findings),
        "components": body.declared.components.iter().map(component).collect::<Vec<_>>(),
        "components_not_drawn": body.declared.undrawn.iter().map(|u| json!({
            "name": u.name, "reason": u.reason,
        })).collect::<Vec<_>>(),
    })
}

/// What is put into a body, or what it is put into.
fn component(component: &Component) -> Json {
    let (low, high) = component.solid.bounds();
    let point = |p: &Vec3| json!([p.x, p.y, p.z]);
    let way = component.way.map(
        |way| json!({ "unit": "mm", "direction": point(&way.direction()), "travel": way.travel() }),
    );
    json!({
        "name": component.name,
        "what": component.what,
        "way": way,
        "bounds": { "unit": "mm", "low": point(&low), "high": point(&high) },
        "volume": { "value": component.solid.properties().volume, "unit": Unit::Mm3.symbol() },
        "field": component.field,
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
        Kind::File { .. } => json!(values.maybe_file(key).map(|file| {
            json!({ "name": file.name(), "sha256": super::fingerprint::digest(file.bytes()) })
        })),
        Kind::Numbers { .. } => json!(values.numbers(key)),
        Kind::Points { .. } => values.points(key).iter().map(|p| json!([p.x, p.y])).collect(),
        _ => Json::Null,
    }
}
