//! The shapes of the page, as JSON with packed numbers, and the still picture.

use std::collections::BTreeSet;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value as Json, json};

use super::{Pins, bodies};
use crate::export::{BODY_COLOURS, CREASE_COS, PictureBody, View, arrange};
use crate::job::{Job, Made, MadeBody, digest_of};
use crate::measure::Vec3;
use crate::mesh::{ChordTolerance, Mesh, Soup, edges, tessellate};
use crate::parallel::each;
use crate::parts::{BORE, Component, Way};
use crate::solid::FaceId;
use crate::survey::Chassis;

/// Components are for the eye only: chord of their meshes, mm.
const GLASS_CHORD: f64 = 0.05;

/// Gap between bodies in the still picture, mm.
const GAP: f64 = 8.0;

/// Size of the still picture, pixels.
const STILL: (u32, u32) = (560, 245);

/// Most corners whose numbers are packed in sixteen bits, as the page's script has it.
const NARROW: usize = 1 << 16;

/// Digests of the shapes that a page holds from scenes before; none for a page
/// that is given one scene only.
pub(crate) type Held<'a> = Option<&'a BTreeSet<String>>;

/// Numbers as their bytes, little-endian.
fn raw<const N: usize>(numbers: impl Iterator<Item = [u8; N]>) -> Vec<u8> {
    numbers.flatten().collect()
}

/// Numbers as base64 of their bytes.
fn packed<const N: usize>(numbers: impl Iterator<Item = [u8; N]>) -> String {
    STANDARD.encode(raw(numbers))
}

/// A share from 0 to 1 in sixteen bits: a body of 100 mm to 2 micrometres.
fn share(value: f64) -> [u8; 2] {
    ((value.clamp(0.0, 1.0) * f64::from(u16::MAX)).round() as u16).to_le_bytes()
}

/// Triangles to be drawn.
#[derive(Clone, Copy)]
struct Surface<'a> {
    vertices: &'a [Vec3],
    triangles: &'a [[u32; 3]],
    /// The face of each triangle; of somebody else's mesh, none is known.
    face_of: &'a [FaceId],
}

impl<'a> From<&'a Mesh> for Surface<'a> {
    fn from(mesh: &'a Mesh) -> Surface<'a> {
        let (vertices, triangles) = (mesh.vertices(), mesh.triangles());
        Surface { vertices, triangles, face_of: mesh.face_of() }
    }
}

impl<'a> From<&'a Soup> for Surface<'a> {
    fn from(soup: &'a Soup) -> Surface<'a> {
        Surface { vertices: soup.vertices(), triangles: soup.triangles(), face_of: &[] }
    }
}

/// Corners, triangles and sharp edges of a surface; of one that is held, its digest
/// alone.
fn shape(surface: Surface<'_>, held: Held<'_>) -> Json {
    let places = surface.vertices.iter().flat_map(|p| [p.x, p.y, p.z]);
    let corners = raw(places.map(|v| (v as f32).to_le_bytes()));
    let triangles = raw(surface.triangles.iter().flatten().map(|v| v.to_le_bytes()));
    let key = held.map(|_| {
        let faces = raw(surface.face_of.iter().map(|face| face.to_le_bytes()));
        digest_of(&[&corners[..], &triangles, &faces].concat())
    });
    if let (Some(held), Some(key)) = (held, &key)
        && held.contains(key)
    {
        return json!({ "key": key });
    }
    let numbers = |all: &mut dyn Iterator<Item = u32>| {
        if surface.vertices.len() <= NARROW {
            packed(all.map(|v| (v as u16).to_le_bytes()))
        } else {
            packed(all.map(u32::to_le_bytes))
        }
    };
    let mut shape = json!({
        "corners": STANDARD.encode(corners),
        "triangles": numbers(&mut surface.triangles.iter().flatten().copied()),
        "edges": numbers(&mut surface.sharp().into_iter().flatten()),
    });
    if let Some(key) = key {
        shape["key"] = json!(key);
    }
    shape
}

impl Surface<'_> {
    /// The edges between faces that meet at an angle.
    fn sharp(self) -> Vec<[u32; 2]> {
        let normal = |i: usize| {
            let [a, b, c] = self.triangles[i].map(|v| self.vertices[v as usize]);
            (b - a).cross(&(c - a)).try_normalize(0.0).unwrap_or_default()
        };
        let one_face = |i: usize, j: usize| match (self.face_of.get(i), self.face_of.get(j)) {
            (Some(own), Some(other)) => own == other,
            _ => false,
        };
        let all = edges(self.triangles).into_iter();
        all.filter(|(_, [i, j])| !one_face(*i, *j) && normal(*i).dot(&normal(*j)) < CREASE_COS)
            .map(|(ends, _)| ends)
            .collect()
    }
}

/// All that the page's script draws.
pub(super) fn json(job: &Job, made: &[Made], pins: &Pins<'_>, held: Held<'_>) -> Json {
    let names: Vec<&str> = bodies(made).map(|b| b.body.name.as_str()).collect();
    let pins = pins.0.iter().map(|(body, f)| {
        json!({
            "body": names.iter().position(|name| name == body),
            "at": f.place.point,
            "kind": f.severity.word(),
            "text": f.text,
        })
    });
    let mut components = components(made, &names, held);
    components.extend(job.chassis().map(|chassis| around(chassis, held)));
    let coloured = bodies(made).zip(BODY_COLOURS.iter().cycle());
    json!({
        "bodies": each(coloured.collect(), |(b, c)| body(b, *c, held)),
        "components": components,
        "pins": pins.collect::<Vec<_>>(),
    })
}

/// The chassis, which belongs to no body and stays where it is.
fn around(chassis: &Chassis, held: Held<'_>) -> Json {
    json!({
        "name": "chassis",
        "what": format!("the chassis {}", chassis.name()),
        "body": null,
        "shown": true,
        "way": Vec3::zeros().as_slice(),
        "shape": shape(chassis.shown().into(), held),
    })
}

fn body(made: &MadeBody, colour: [u8; 3], held: Held<'_>) -> Json {
    let checked = made.checked.as_ref();
    let heat = || checked.iter().flat_map(|c| &c.heat);
    let walls = checked.and_then(|c| c.walls.as_ref());
    let cap = walls.map(|w| w.cap);
    json!({
        "name": made.body.name,
        "colour": colour,
        "shape": shape((&made.mesh).into(), held),
        "heat": {
            // Places as shares of the body's box, thickness as one of the cap.
            "at": packed(heat().flat_map(|w| [0, 1, 2].map(|k| {
                let (low, high) = (made.bounds.0[k], made.bounds.1[k]);
                share((f64::from(w.at[k]) - low) / (high - low))
            }))),
            "thickness": packed(heat().map(|w| share(f64::from(w.thickness) / cap.unwrap_or(1.0)))),
            "low": made.bounds.0.as_slice(),
            "high": made.bounds.1.as_slice(),
            "cap": cap,
            "limit": walls.map(|w| w.limit),
            "spacing": spacing(made),
        },
    })
}

/// About how far its points of thickness are apart, mm.
fn spacing(made: &MadeBody) -> f64 {
    let points = made.checked.as_ref().map_or(0, |c| c.heat.len());
    (made.properties.area / points.max(1) as f64).sqrt()
}

/// What is put into the bodies or around them; other bodies of the job are there
/// already, and what two bodies share is shown once.
fn components(made: &[Made], names: &[&str], held: Held<'_>) -> Vec<Json> {
    let mut shown: Vec<(usize, &Component, bool)> = Vec::new();
    let mut known: Vec<(&str, (Vec3, Vec3))> = Vec::new();
    for (i, body) in bodies(made).enumerate() {
        for component in &body.body.declared.components {
            let name = component.name.as_str();
            let around = name == BORE;
            let bounds = component.solid.bounds();
            let same = |other: &(&str, (Vec3, Vec3))| {
                other.0 == name && (around || close(other.1, bounds))
            };
            let is_body = |n: &&str| {
                *n == name || **n == format!("{}-{}", body.body.name, name.replace('_', "-"))
            };
            if names.iter().any(is_body) || known.iter().any(same) {
                continue;
            }
            known.push((name, bounds));
            let at_rest = !around && !another_state(name, &body.body.declared.components);
            shown.push((i, component, at_rest));
        }
    }
    let chord = ChordTolerance { chord: GLASS_CHORD, ..ChordTolerance::default() };
    let drawn = |(i, component, at_rest): (usize, &Component, bool)| {
        // One that cannot be meshed is told by the checks.
        let mesh = tessellate(&component.solid, &chord).ok()?;
        Some(json!({
            "name": component.name,
            "what": component.what,
            "body": i,
            "shown": at_rest,
            "way": component.way.as_ref().map_or(Vec3::zeros(), Way::direction).as_slice(),
            "shape": shape((&mesh).into(), held),
        }))
    };
    each(shown, drawn).into_iter().flatten().collect()
}

/// Whether it is one of the others in another state, as `plunger_1_pressed` is.
fn another_state(name: &str, all: &[Component]) -> bool {
    let begins =
        |c: &Component| name.strip_prefix(&c.name).is_some_and(|rest| rest.starts_with('_'));
    all.iter().any(begins)
}

/// Whether two boxes are one to the eye.
fn close(a: (Vec3, Vec3), b: (Vec3, Vec3)) -> bool {
    (a.0 - b.0).amax().max((a.1 - b.1).amax()) < GLASS_CHORD
}

/// All bodies side by side, as the address of an image.
pub(super) fn picture(made: &[Made]) -> String {
    let colours = BODY_COLOURS.iter().cycle();
    let mut shown: Vec<PictureBody<'_>> =
        bodies(made).zip(colours).map(|(b, c)| PictureBody::new(&b.mesh, *c)).collect();
    let view = View { width: STILL.0, height: STILL.1, ..View::default() };
    arrange(&mut shown, &view, GAP);
    let bytes = crate::export::picture(&shown, &view);
    format!("data:image/png;base64,{}", STANDARD.encode(bytes))
}
