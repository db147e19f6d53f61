//! The description of the routes in OpenAPI 3.1, made from their table.

use serde_json::{Map, Value as Json, json};

use super::answer::{JSON, REFUSALS};
use super::folder::{EDGE, INSIDE, JOB as JOB_ENDING, MAX_FILE_NAME, MESHES, TABLE, endings};
use super::routes::{Does, MAX_WORD, ROUTES, Route};
use crate::mesh::FileUnit;
use crate::parts::PART_KINDS;
use crate::survey::FileAxis;

fn object(properties: Json, required: &[&str]) -> Json {
    json!({
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn text() -> Json {
    json!({ "type": "string" })
}

/// A file of the folder with one of the endings.
fn file_name(endings: &[&str]) -> Json {
    json!({
        "type": "string",
        "maxLength": MAX_FILE_NAME,
        "pattern": format!(r"^{EDGE}{INSIDE}*\.({})$", endings.join("|")),
        "description": "a plain name of a file in the folder",
    })
}

fn job_name() -> Json {
    file_name(&[JOB_ENDING])
}

pub(super) fn named() -> Json {
    object(json!({ "name": job_name() }), &["name"])
}

pub(super) fn save() -> Json {
    let was = json!({ "type": ["string", "null"], "description": "digest of what was opened; none for a new file" });
    object(json!({ "name": job_name(), "text": text(), "was": was }), &["name", "text"])
}

pub(super) fn version() -> Json {
    let number = json!({ "type": "integer", "minimum": 0, "maximum": u32::MAX });
    object(json!({ "name": job_name(), "number": number }), &["name", "number"])
}

pub(super) fn new() -> Json {
    let kinds: Vec<&str> = PART_KINDS.iter().map(|kind| kind.name).collect();
    let kinds = json!({ "type": "array", "items": { "enum": kinds } });
    object(json!({ "kinds": kinds }), &["kinds"])
}

pub(super) fn output() -> Json {
    object(json!({ "name": text(), "text": text(), "output": text() }), &["name", "text", "output"])
}

pub(super) fn jobs() -> Json {
    let names = json!({ "type": "array", "items": job_name(), "minItems": 1 });
    let copies = json!({ "type": ["integer", "null"], "minimum": 0, "maximum": u32::MAX });
    object(json!({ "names": names, "copies": copies }), &["names"])
}

pub(super) fn batch() -> Json {
    let name = file_name(&[JOB_ENDING, TABLE]);
    let names = json!({ "type": "array", "items": name, "minItems": 1 });
    object(json!({ "names": names }), &["names"])
}

pub(super) fn vary() -> Json {
    let field = object(json!({ "field": text(), "values": text() }), &["field", "values"]);
    let fields = json!({ "type": "array", "items": field, "minItems": 1 });
    object(
        json!({ "base": job_name(), "text": text(), "fields": fields }),
        &["base", "text", "fields"],
    )
}

pub(super) fn survey() -> Json {
    let one_of = |words: &[&str]| {
        let words = words.iter().map(|word| json!(word)).chain([Json::Null]);
        json!({ "enum": words.collect::<Vec<Json>>() })
    };
    let mesh = file_name(&MESHES);
    object(
        json!({ "name": mesh, "axis": one_of(&FileAxis::WORDS), "unit": one_of(&FileUnit::WORDS) }),
        &["name"],
    )
}

pub(super) fn edit() -> Json {
    let set = object(json!({ "field": text(), "value": text() }), &["field", "value"]);
    let one = |key: &str, value: Json| object(json!({ key: value }), &[key]);
    let change = json!({ "oneOf": [
        one("set", set), one("add", text()), one("remove", text()), one("part", text()),
    ] });
    let changes = json!({ "type": "array", "items": change });
    object(
        json!({ "name": text(), "text": text(), "changes": changes, "holds": keys() }),
        &["name", "text", "changes"],
    )
}

/// Keys of shapes.
fn keys() -> Json {
    json!({ "type": "array", "items": text() })
}

pub(super) fn findings() -> Json {
    object(json!({ "name": text(), "text": text(), "holds": keys() }), &["name", "text"])
}

/// The whole description.
pub(super) fn described() -> Json {
    let mut paths: Map<String, Json> = Map::new();
    for route in ROUTES {
        let entry = paths.entry(format!("/{}", route.path)).or_insert_with(|| json!({}));
        entry[route.method.to_ascii_lowercase()] = operation(route);
    }
    let error = object(
        json!({
            "code": { "type": "string", "enum": REFUSALS.iter().map(|r| r.0).collect::<Vec<_>>() },
            "text": text(),
            "hints": { "type": "array", "items": text() },
        }),
        &["code", "text", "hints"],
    );
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "borewright's bench page",
            "version": env!("CARGO_PKG_VERSION"),
            "description": "For the page that borewright serves on this machine. Paths count from \
                            the address that it prints, which ends with the token of the run.",
        },
        "servers": [{ "url": "." }],
        "paths": paths,
        "components": { "schemas": { "Refused": object(json!({ "error": error }), &["error"]) } },
    })
}

fn operation(route: &Route) -> Json {
    let mut out = json!({
        "summary": route.summary,
        "operationId": format!("{:?}", route.does),
        "responses": responses(route),
    });
    if let Some(body) = route.body {
        out["requestBody"] = json!({ "required": true, "content": { JSON: { "schema": body() } } });
    }
    if route.does == Does::TakeMesh {
        let bytes = json!({ "schema": { "type": "string", "format": "binary" } });
        out["requestBody"] =
            json!({ "required": true, "content": { "application/octet-stream": bytes } });
        out["parameters"] = json!([{ "name": "name", "in": "query", "required": true, "schema": file_name(&endings()) }]);
    }
    if [Does::Edit, Does::Findings].contains(&route.does) {
        let header = |name: &str, schema: Json, what: &str| json!({ "name": name, "in": "header", "schema": schema, "description": what });
        let page = json!({ "type": "string", "pattern": "^[A-Za-z0-9-]+$", "maxLength": MAX_WORD });
        let number = json!({ "type": "integer", "minimum": 0, "maximum": u32::MAX });
        out["parameters"] = json!([
            header(
                "bench-page",
                page,
                "the page's own name; its later edits overtake earlier ones"
            ),
            header("bench-edit", number, "the page's count of edits"),
        ]);
    }
    out
}

fn responses(route: &Route) -> Json {
    let schema = match route.gives {
        JSON => json!({ "type": "object" }),
        _ => json!({ "type": "string", "format": "binary" }),
    };
    let mut out = json!({ "200": { "description": "done", "content": { route.gives: { "schema": schema } } } });
    for (_, status, _) in REFUSALS {
        let codes: Vec<String> = REFUSALS
            .iter()
            .filter(|(_, other, _)| other == status)
            .map(|(code, _, what)| format!("{code}: {what}"))
            .collect();
        let refused = json!({ "schema": { "$ref": "#/components/schemas/Refused" } });
        out[status.as_str()] =
            json!({ "description": codes.join("; "), "content": { JSON: refused } });
    }
    out
}
