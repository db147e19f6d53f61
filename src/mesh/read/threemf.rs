//! 3MF (core specification 1.3): units, meshes, components with transforms,
//! several build items; models in other parts of the package by `p:path` of
//! the production extension.

use std::collections::HashMap;
use std::io::{BufRead, BufReader, Cursor, Read};

use nalgebra::{Matrix3, Vector3};
use quick_xml::Reader;
use quick_xml::XmlVersion;
use quick_xml::events::{BytesStart, Event};
use zip::ZipArchive;

use super::{
    FileUnit, MAX_TRIANGLES, MeshFormat, ReadBody, ReadError, ReadMesh, Remark, Welder, short_name,
    unusable_remark,
};
use crate::measure::Vec3;

/// Most bytes of the models of a package together, once unpacked: a small file
/// may unpack to any size. Common practice, no source.
const MAX_UNPACKED: u64 = 256 << 20;

/// Deepest nesting of components; the specification names no limit.
const MAX_DEPTH: u32 = 16;

/// Most components and build items together: references cost nothing to write.
const MAX_PLACED: usize = 100_000;

const ROOT_RELATIONS: &str = "_rels/.rels";
const FALLBACK_MODEL: &str = "3D/3dmodel.model";

/// Row vectors times a matrix, then a shift, as the specification writes it.
#[derive(Clone, Copy)]
struct Transform {
    turn: Matrix3<f64>,
    shift: Vector3<f64>,
}

impl Transform {
    const IDENTITY: Transform = Transform {
        turn: Matrix3::new(1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0),
        shift: Vector3::new(0.0, 0.0, 0.0),
    };

    fn point(&self, p: Vec3) -> Vec3 {
        self.turn * p + self.shift
    }

    /// First `self`, then `outer`.
    fn then(&self, outer: &Transform) -> Transform {
        Transform { turn: outer.turn * self.turn, shift: outer.point(self.shift) }
    }

    /// Twelve numbers, row by row for row vectors.
    fn parse(text: &str) -> Option<Transform> {
        let m: Vec<f64> = text.split_whitespace().map(|w| w.parse().ok()).collect::<Option<_>>()?;
        let m: [f64; 12] = m.try_into().ok()?;
        if !m.iter().all(|x| x.is_finite()) {
            return None;
        }
        let turn = Matrix3::new(m[0], m[3], m[6], m[1], m[4], m[7], m[2], m[5], m[8]);
        Some(Transform { turn, shift: Vector3::new(m[9], m[10], m[11]) })
    }
}

/// An object named from elsewhere: part of the package and id.
type Key = (String, u64);

struct Placed {
    object: Key,
    transform: Transform,
    name: String,
}

#[derive(Default)]
struct Object {
    name: String,
    points: Vec<Vec3>,
    triangles: Vec<[u32; 3]>,
    components: Vec<Placed>,
    /// Support structures and the like are not part of the body.
    is_model: bool,
}

#[derive(Default)]
struct Package {
    objects: HashMap<Key, Object>,
    items: Vec<Placed>,
    /// Models that are named but not read yet.
    wanted: Vec<String>,
    triangles: usize,
    points: usize,
    placed: usize,
    /// Bytes of models unpacked so far.
    unpacked: u64,
    remarks: Vec<Remark>,
}

pub(super) fn read(bytes: &[u8]) -> Result<ReadMesh, ReadError> {
    let mut archive = ZipArchive::new(Cursor::new(bytes))
        .map_err(|e| ReadError::broken(format!("the 3MF package cannot be opened: {e}")))?;
    let root = root_model(&mut archive)?;
    let mut package = Package { wanted: vec![root.clone()], ..Package::default() };
    let mut done: Vec<String> = Vec::new();
    let mut root_scale = 1.0;
    while let Some(path) = package.wanted.pop() {
        if done.contains(&path) {
            continue;
        }
        let scale = read_model(&mut archive, &path, path == root, &mut package)?;
        if path == root {
            root_scale = scale;
        } else if scale != root_scale {
            let text = format!("{path} states another unit than {root}; that of {root} counts");
            package.remarks.push(Remark { grave: true, text });
        }
        done.push(path);
    }
    let mut bodies = Vec::new();
    let mut unusable = 0;
    let (mut count, mut triangles) = (0, 0);
    for item in &package.items {
        let mut welder = Welder::default();
        let mut place = Placing {
            package: &package,
            welder: &mut welder,
            count: &mut count,
            triangles: &mut triangles,
        };
        place.object(&item.object, &item.transform, root_scale, 0)?;
        unusable += welder.unusable();
        let soup = welder.finish();
        if !soup.triangles().is_empty() {
            bodies.push(ReadBody { name: item.name.clone(), soup });
        }
    }
    if bodies.is_empty() {
        return Err(ReadError::NoTriangles { unusable });
    }
    let mut remarks = package.remarks;
    remarks.extend(unusable_remark(unusable));
    Ok(ReadMesh { format: MeshFormat::ThreeMf, bodies, remarks })
}

/// Puts objects and their components in place.
struct Placing<'a> {
    package: &'a Package,
    welder: &'a mut Welder,
    /// Objects placed so far, in all items: components that name components
    /// double with each level.
    count: &'a mut usize,
    /// Triangles placed so far, in all items: a few lines of a file place an
    /// object any number of times.
    triangles: &'a mut usize,
}

impl Placing<'_> {
    fn object(
        &mut self,
        key: &Key,
        by: &Transform,
        scale: f64,
        depth: u32,
    ) -> Result<(), ReadError> {
        let (path, id) = key;
        let Some(object) = self.package.objects.get(key) else {
            return Err(ReadError::broken(format!("object {id} of {path} is named but not there")));
        };
        *self.count += 1;
        if depth > MAX_DEPTH || *self.count > MAX_PLACED {
            let what = format!("object {id} of {path}: components are nested without end");
            return Err(ReadError::broken(what));
        }
        if !object.is_model {
            return Ok(());
        }
        *self.triangles += object.triangles.len();
        if *self.triangles > MAX_TRIANGLES {
            return Err(ReadError::TooMany { triangles: *self.triangles as u64 });
        }
        let mirrored = by.turn.determinant() < 0.0;
        for &[a, b, c] in &object.triangles {
            let mut corners = [0; 3];
            for (slot, v) in corners.iter_mut().zip(if mirrored { [a, c, b] } else { [a, b, c] }) {
                *slot = v as usize;
            }
            if corners.iter().any(|v| *v >= object.points.len()) {
                let what = format!("object {id} of {path}: a triangle names a missing vertex");
                return Err(ReadError::broken(what));
            }
            self.welder.push(corners.map(|v| by.point(object.points[v]) * scale))?;
        }
        for part in &object.components {
            self.object(&part.object, &part.transform.then(by), scale, depth + 1)?;
        }
        Ok(())
    }
}

type Archive<'a> = ZipArchive<Cursor<&'a [u8]>>;

/// The model that the package starts from.
fn root_model(archive: &mut Archive<'_>) -> Result<String, ReadError> {
    let mut target = None;
    if let Ok(part) = archive.by_name(ROOT_RELATIONS) {
        let mut reader = Reader::from_reader(BufReader::new(part.take(MAX_UNPACKED)));
        let mut buffer = Vec::new();
        while target.is_none() {
            buffer.clear();
            match reader.read_event_into(&mut buffer) {
                Ok(Event::Start(e) | Event::Empty(e)) => {
                    let kind = attribute(&e, "Type").unwrap_or_default();
                    if kind.ends_with("/3dmodel") {
                        target = attribute(&e, "Target");
                    }
                }
                Ok(Event::Eof) | Err(_) => break,
                Ok(_) => {}
            }
        }
    }
    let path = target.unwrap_or_else(|| FALLBACK_MODEL.to_owned());
    let path = path.trim_start_matches('/').to_owned();
    if archive.by_name(&path).is_ok() {
        return Ok(path);
    }
    let any = archive.file_names().filter_map(Result::ok).find(|n| n.ends_with(".model"));
    any.map(|name| name.into_owned())
        .ok_or_else(|| ReadError::broken("the zip package holds no 3MF model"))
}

/// Reads one model part into the package; gives millimetres per unit.
fn read_model(
    archive: &mut Archive<'_>,
    path: &str,
    is_root: bool,
    package: &mut Package,
) -> Result<f64, ReadError> {
    let part = archive
        .by_name(path)
        .map_err(|e| ReadError::broken(format!("{path} of the 3MF package: {e}")))?;
    // One byte more than allowed, to tell the end from the limit.
    let allowed = MAX_UNPACKED - package.unpacked + 1;
    let mut model = Model { path, is_root, package, object: None, scale: 1.0 };
    let mut limited = BufReader::new(part.take(allowed));
    model.read(&mut limited)?;
    let scale = model.scale;
    let left = limited.into_inner().limit();
    if left == 0 {
        let what = format!("{path} of the 3MF package unpacks to more than {MAX_UNPACKED} bytes");
        return Err(ReadError::broken(what));
    }
    package.unpacked += allowed - left;
    Ok(scale)
}

struct Model<'a> {
    path: &'a str,
    is_root: bool,
    package: &'a mut Package,
    object: Option<(u64, Object)>,
    scale: f64,
}

impl Model<'_> {
    fn read(&mut self, input: &mut dyn BufRead) -> Result<(), ReadError> {
        let mut reader = Reader::from_reader(input);
        let mut buffer = Vec::new();
        loop {
            buffer.clear();
            let event = reader.read_event_into(&mut buffer);
            let at = reader.buffer_position();
            match event {
                Ok(Event::Start(e)) => self.start(&e, at)?,
                Ok(Event::Empty(e)) => {
                    self.start(&e, at)?;
                    if e.local_name().as_ref() == "object" {
                        self.end_object();
                    }
                }
                Ok(Event::End(e)) if e.local_name().as_ref() == "object" => self.end_object(),
                Ok(Event::Eof) => break,
                Ok(_) => {}
                Err(e) => {
                    let what = format!("{} of the 3MF package, byte {at}: {e}", self.path);
                    return Err(ReadError::broken(what));
                }
            }
        }
        if self.object.is_some() {
            return Err(ReadError::broken(format!(
                "{} of the 3MF package is cut short",
                self.path
            )));
        }
        Ok(())
    }

    fn end_object(&mut self) {
        if let Some((id, object)) = self.object.take() {
            self.package.objects.insert((self.path.to_owned(), id), object);
        }
    }

    fn start(&mut self, e: &BytesStart<'_>, at: u64) -> Result<(), ReadError> {
        let wrong = |what: &str| {
            ReadError::broken(format!("{} of the 3MF package, byte {at}: {what}", self.path))
        };
        match e.local_name().as_ref() {
            "model" => {
                let unit = attribute(e, "unit").unwrap_or_else(|| "millimeter".to_owned());
                let unit = match unit.as_str() {
                    "micron" => FileUnit::Micrometre,
                    "millimeter" => FileUnit::Millimetre,
                    "centimeter" => FileUnit::Centimetre,
                    "meter" => FileUnit::Metre,
                    "inch" => FileUnit::Inch,
                    "foot" => FileUnit::Foot,
                    _ => return Err(wrong("the unit is none that 3MF knows")),
                };
                self.scale = unit.millimetres();
            }
            "object" => {
                let id = number(e, "id").ok_or_else(|| wrong("an object has no id"))?;
                let kind = attribute(e, "type").unwrap_or_else(|| "model".to_owned());
                let name = attribute(e, "name").unwrap_or_default();
                let name = short_name(name.as_bytes());
                let is_model = kind == "model" || kind == "solidsupport";
                self.object = Some((id, Object { name, is_model, ..Object::default() }));
            }
            "vertex" => {
                let Some((_, object)) = &mut self.object else { return Ok(()) };
                self.package.points += 1;
                if self.package.points > 3 * MAX_TRIANGLES {
                    return Err(ReadError::TooMany { triangles: self.package.points as u64 / 3 });
                }
                let c = |key| coordinate(e, key);
                object.points.push(Vec3::new(c("x"), c("y"), c("z")));
            }
            "triangle" => {
                let Some((_, object)) = &mut self.object else { return Ok(()) };
                self.package.triangles += 1;
                if self.package.triangles > MAX_TRIANGLES {
                    return Err(ReadError::TooMany { triangles: self.package.triangles as u64 });
                }
                // An index that is no number names no vertex, found when placed.
                let v =
                    |key| number(e, key).and_then(|v| u32::try_from(v).ok()).unwrap_or(u32::MAX);
                object.triangles.push([v("v1"), v("v2"), v("v3")]);
            }
            "component" | "item" => {
                self.package.placed += 1;
                if self.package.placed > MAX_PLACED {
                    return Err(wrong("there are too many components"));
                }
                let id =
                    number(e, "objectid").ok_or_else(|| wrong("a component names no object"))?;
                let transform = match attribute(e, "transform") {
                    None => Transform::IDENTITY,
                    Some(text) => Transform::parse(&text)
                        .ok_or_else(|| wrong("a transform is not twelve numbers"))?,
                };
                let path = attribute(e, "p:path").or_else(|| attribute(e, "path"));
                let path = path.map(|p| p.trim_start_matches('/').to_owned());
                if let Some(path) = &path {
                    self.package.wanted.push(path.clone());
                }
                let object = (path.unwrap_or_else(|| self.path.to_owned()), id);
                let placed = |name| Placed { object: object.clone(), transform, name };
                if let Some((_, within)) = &mut self.object {
                    within.components.push(placed(String::new()));
                } else if self.is_root {
                    let known = self.package.objects.get(&object).map(|o| o.name.clone());
                    self.package.items.push(placed(known.unwrap_or_default()));
                }
            }
            _ => {}
        }
        Ok(())
    }
}

fn attribute(e: &BytesStart<'_>, key: &str) -> Option<String> {
    let found = e.try_get_attribute(key).ok()??;
    Some(found.normalized_value(XmlVersion::Implicit1_0).ok()?.into_owned())
}

fn number(e: &BytesStart<'_>, key: &str) -> Option<u64> {
    e.try_get_attribute(key).ok()??.value.trim().parse().ok()
}

/// A coordinate; what is no number makes the triangles that use it unusable.
fn coordinate(e: &BytesStart<'_>, key: &str) -> f64 {
    let found = e.try_get_attribute(key).ok().flatten();
    found.and_then(|a| a.value.trim().parse().ok()).unwrap_or(f64::NAN)
}
