//! 3MF packages: meshes with unit, names and places, for printers and slicers.
//!
//! 3MF Core Specification 1.3 (3MF Consortium), colours by its Materials and
//! Properties Extension 1.2, packed by the Open Packaging Conventions
//! (ISO/IEC 29500-2).

use std::io::{Cursor, Write};

use nalgebra::Matrix3;
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use crate::measure::Vec3;

const CORE: &str = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";
const MATERIAL: &str = "http://schemas.microsoft.com/3dmanufacturing/material/2015/02";
const MODEL_RELATION: &str = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";
const THUMBNAIL_RELATION: &str =
    "http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail";
const RELATIONS: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
const CONTENT_TYPES: &str = "http://schemas.openxmlformats.org/package/2006/content-types";

/// Names of metadata that the core specification knows; others belong to a
/// namespace of their own, see [`OWN_NAMES`].
const KNOWN_NAMES: [&str; 9] = [
    "Title",
    "Designer",
    "Description",
    "Copyright",
    "LicenseTerms",
    "Rating",
    "CreationDate",
    "ModificationDate",
    "Application",
];

/// Namespace of metadata beyond those of the core specification.
const OWN_NAMES: &str = "urn:borewright:metadata";

/// Decimals of a coordinate, mm: a nanometre.
const DECIMALS: usize = 6;

/// A mesh of a package.
#[derive(Clone, Copy, Debug)]
pub struct PackageMesh<'a> {
    /// Name for people.
    pub name: &'a str,
    /// Corners, mm.
    pub vertices: &'a [Vec3],
    /// Corners of each triangle, counter-clockwise from outside.
    pub triangles: &'a [[u32; 3]],
    /// Display colour, sRGB.
    pub colour: Option<[u8; 3]>,
}

/// A copy of a mesh on the plate.
#[derive(Clone, Debug, PartialEq)]
pub struct PackageItem {
    /// Index of the mesh.
    pub mesh: usize,
    /// Name of the copy; must differ from the mesh's where there are several.
    pub name: String,
    /// Turn about the origin, which may stretch, then shift in mm. All of the copy must have
    /// positive coordinates.
    pub turn: Matrix3<f64>,
    /// Shift after the turn, mm.
    pub shift: Vec3,
}

/// What a package says and holds.
#[derive(Clone, Debug, Default)]
pub struct Package<'a> {
    /// Names and texts of metadata, each name once. Names beyond those of the
    /// core specification are written in a namespace of our own.
    pub metadata: Vec<(&'a str, String)>,
    /// The meshes, each written once.
    pub meshes: Vec<PackageMesh<'a>>,
    /// The copies, in the order of the build.
    pub items: Vec<PackageItem>,
    /// A PNG picture of the whole.
    pub thumbnail: Option<Vec<u8>>,
}

/// Why a package cannot be written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PackageError {
    /// A triangle names two corners that are one point once rounded.
    #[error("triangle {triangle} of {mesh} has no area at {DECIMALS} decimals of a millimetre")]
    Degenerate {
        /// Name of the mesh.
        mesh: String,
        /// Index of the triangle.
        triangle: usize,
    },
    /// A triangle names a corner that is not there or not finite.
    #[error("triangle {triangle} of {mesh} has a corner that is no point")]
    NoPoint {
        /// Name of the mesh.
        mesh: String,
        /// Index of the triangle.
        triangle: usize,
    },
    /// An item names a mesh that is not there.
    #[error("item {item} names mesh {mesh} of {meshes}")]
    NoMesh {
        /// Index of the item.
        item: usize,
        /// The mesh it names.
        mesh: usize,
        /// Number of meshes.
        meshes: usize,
    },
}

/// The bytes of a package. The same input gives the same bytes: the archive's
/// own time stamps are those of 1980.
///
/// A mesh with one copy is an object of the build; of one with several, each
/// copy is an object with the mesh as its component.
///
/// # Errors
/// See [`PackageError`].
pub fn threemf(package: &Package<'_>) -> Result<Vec<u8>, PackageError> {
    check(package)?;
    let model = model(package);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(zip::DateTime::default());
    let mut add = |name: &str, bytes: &[u8]| {
        zip.start_file(name, options).expect("names are few and plain");
        zip.write_all(bytes).expect("memory takes all bytes");
    };
    let picture = package.thumbnail.as_deref();
    add("[Content_Types].xml", content_types(picture.is_some()).as_bytes());
    add("_rels/.rels", relations(picture.is_some()).as_bytes());
    add("3D/3dmodel.model", &model);
    if let Some(png) = picture {
        add("Metadata/thumbnail.png", png);
    }
    Ok(zip.finish().expect("memory takes all bytes").into_inner())
}

fn check(package: &Package<'_>) -> Result<(), PackageError> {
    let meshes = package.meshes.len();
    for (item, placed) in package.items.iter().enumerate() {
        if placed.mesh >= meshes {
            return Err(PackageError::NoMesh { item, mesh: placed.mesh, meshes });
        }
    }
    for mesh in &package.meshes {
        let rounded = |p: &Vec3| p.iter().map(|c| decimal(*c)).collect::<Vec<_>>();
        for (triangle, corners) in mesh.triangles.iter().enumerate() {
            let name = || mesh.name.to_owned();
            let at = |k: usize| mesh.vertices.get(corners[k] as usize);
            let (Some(a), Some(b), Some(c)) = (at(0), at(1), at(2)) else {
                return Err(PackageError::NoPoint { mesh: name(), triangle });
            };
            if [a, b, c].iter().any(|p| !p.iter().all(|x| x.is_finite())) {
                return Err(PackageError::NoPoint { mesh: name(), triangle });
            }
            let near = |p: &Vec3, q: &Vec3| (p - q).amax() < 1e-3 && rounded(p) == rounded(q);
            if near(a, b) || near(b, c) || near(c, a) {
                return Err(PackageError::Degenerate { mesh: name(), triangle });
            }
        }
    }
    Ok(())
}

fn content_types(picture: bool) -> String {
    let png = "<Default Extension=\"png\" ContentType=\"image/png\"/>";
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Types xmlns=\"{CONTENT_TYPES}\">\
         <Default Extension=\"rels\" \
         ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>\
         <Default Extension=\"model\" \
         ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/>{}</Types>\n",
        if picture { png } else { "" }
    )
}

fn relations(picture: bool) -> String {
    let relation = |target: &str, id: &str, kind: &str| {
        format!("<Relationship Target=\"{target}\" Id=\"{id}\" Type=\"{kind}\"/>")
    };
    let mut all = relation("/3D/3dmodel.model", "model", MODEL_RELATION);
    if picture {
        all.push_str(&relation("/Metadata/thumbnail.png", "thumbnail", THUMBNAIL_RELATION));
    }
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <Relationships xmlns=\"{RELATIONS}\">{all}</Relationships>\n"
    )
}

/// A number as short as it can be written.
fn decimal(value: f64) -> String {
    let text = format!("{value:.DECIMALS$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Twelve numbers, row by row for row vectors.
fn transform(item: &PackageItem) -> String {
    let turned = item.turn.transpose();
    let rows = turned.row_iter().flat_map(|row| row.iter().copied().collect::<Vec<_>>());
    // A turn needs more digits than a length: it is multiplied by one.
    let turns = rows.map(|v| {
        let text = format!("{v:.12}");
        let text = text.trim_end_matches('0').trim_end_matches('.').to_owned();
        if text == "-0" { "0".to_owned() } else { text }
    });
    turns.chain(item.shift.iter().map(|v| decimal(*v))).collect::<Vec<_>>().join(" ")
}

fn model(package: &Package<'_>) -> Vec<u8> {
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 1);
    write_model(&mut writer, package).expect("memory takes all bytes");
    let mut bytes = writer.into_inner();
    bytes.push(b'\n');
    bytes
}

fn write_model(w: &mut Writer<Vec<u8>>, package: &Package<'_>) -> std::io::Result<()> {
    w.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let coloured = package.meshes.iter().any(|mesh| mesh.colour.is_some());
    let own = package.metadata.iter().any(|(name, _)| !KNOWN_NAMES.contains(name));
    let mut model = w.create_element("model").with_attributes([
        ("unit", "millimeter"),
        ("xml:lang", "en"),
        ("xmlns", CORE),
    ]);
    if coloured {
        model = model.with_attribute(("xmlns:m", MATERIAL));
    }
    if own {
        model = model.with_attribute(("xmlns:own", OWN_NAMES));
    }
    model.write_inner_content(|w| {
        for (name, text) in &package.metadata {
            let known = KNOWN_NAMES.contains(name);
            let name = if known { (*name).to_owned() } else { format!("own:{name}") };
            w.create_element("metadata")
                .with_attribute(("name", name.as_str()))
                .write_text_content(BytesText::new(text))?;
        }
        // Copies of meshes with several: object ids by item.
        let mut ids = Vec::with_capacity(package.items.len());
        w.create_element("resources").write_inner_content(|w| {
            let colours = package.meshes.len();
            for (i, mesh) in package.meshes.iter().enumerate() {
                write_mesh(w, mesh, mesh_id(i), colours + mesh_id(i))?;
            }
            let mut next = 2 * package.meshes.len() + 1;
            for item in &package.items {
                if package.items.iter().filter(|other| other.mesh == item.mesh).count() < 2 {
                    ids.push(mesh_id(item.mesh));
                    continue;
                }
                write_copy(w, item, next)?;
                ids.push(next);
                next += 1;
            }
            Ok(())
        })?;
        w.create_element("build").write_inner_content(|w| {
            for (item, id) in package.items.iter().zip(&ids) {
                let place = [("objectid", id.to_string()), ("transform", transform(item))];
                empty(w, "item", &place)?;
            }
            Ok(())
        })?;
        Ok(())
    })?;
    Ok(())
}

/// Ids begin at 1.
fn mesh_id(index: usize) -> usize {
    index + 1
}

/// An element without content.
fn empty(
    w: &mut Writer<Vec<u8>>,
    name: &str,
    attributes: &[(&str, String)],
) -> std::io::Result<()> {
    let attributes = attributes.iter().map(|(key, value)| (*key, value.as_str()));
    w.create_element(name).with_attributes(attributes).write_empty()?;
    Ok(())
}

fn write_mesh(
    w: &mut Writer<Vec<u8>>,
    mesh: &PackageMesh<'_>,
    id: usize,
    colour_id: usize,
) -> std::io::Result<()> {
    if let Some([r, g, b]) = mesh.colour {
        w.create_element("m:colorgroup")
            .with_attribute(("id", colour_id.to_string().as_str()))
            .write_inner_content(|w| {
                empty(w, "m:color", &[("color", format!("#{r:02X}{g:02X}{b:02X}FF"))])
            })?;
    }
    let id = id.to_string();
    let colour_id = colour_id.to_string();
    let mut object = w.create_element("object").with_attributes([
        ("id", id.as_str()),
        ("type", "model"),
        ("name", mesh.name),
    ]);
    if mesh.colour.is_some() {
        object = object.with_attributes([("pid", colour_id.as_str()), ("pindex", "0")]);
    }
    object.write_inner_content(|w| {
        w.create_element("mesh").write_inner_content(|w| {
            w.create_element("vertices").write_inner_content(|w| {
                for p in mesh.vertices {
                    let [x, y, z] = [p.x, p.y, p.z].map(decimal);
                    empty(w, "vertex", &[("x", x), ("y", y), ("z", z)])?;
                }
                Ok(())
            })?;
            w.create_element("triangles").write_inner_content(|w| {
                for corners in mesh.triangles {
                    let [a, b, c] = corners.map(|v| v.to_string());
                    empty(w, "triangle", &[("v1", a), ("v2", b), ("v3", c)])?;
                }
                Ok(())
            })?;
            Ok(())
        })?;
        Ok(())
    })?;
    Ok(())
}

fn write_copy(w: &mut Writer<Vec<u8>>, item: &PackageItem, id: usize) -> std::io::Result<()> {
    w.create_element("object")
        .with_attributes([
            ("id", id.to_string().as_str()),
            ("type", "model"),
            ("name", item.name.as_str()),
        ])
        .write_inner_content(|w| {
            w.create_element("components").write_inner_content(|w| {
                empty(w, "component", &[("objectid", mesh_id(item.mesh).to_string())])
            })?;
            Ok(())
        })?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::read_mesh;

    fn tetrahedron() -> (Vec<Vec3>, Vec<[u32; 3]>) {
        let vertices = vec![Vec3::zeros(), Vec3::x() * 3.0, Vec3::y() * 2.0, Vec3::z()];
        (vertices, vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    }

    fn item(mesh: usize, name: &str, shift: Vec3) -> PackageItem {
        // A quarter turn about z.
        let turn = Matrix3::new(0.0, -1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0);
        PackageItem { mesh, name: name.to_owned(), turn, shift }
    }

    #[test]
    fn what_is_written_is_read_back_with_places_and_names() {
        let (vertices, triangles) = tetrahedron();
        let mesh =
            |name, colour| PackageMesh { name, vertices: &vertices, triangles: &triangles, colour };
        let package = Package {
            metadata: vec![
                ("Title", "a rod & <its> \"stone\"".to_owned()),
                ("Fingerprint", "0123".to_owned()),
            ],
            meshes: vec![mesh("ember wand", Some([200, 120, 7])), mesh("tide & caller", None)],
            items: vec![
                item(0, "ember wand 1", Vec3::new(10.0, 0.0, 0.0)),
                item(0, "ember wand 2", Vec3::new(20.0, 5.0, 0.0)),
                item(1, "tide & caller", Vec3::new(30.0, 0.0, 1.25)),
            ],
            thumbnail: Some(vec![1, 2, 3]),
        };
        let bytes = threemf(&package).unwrap();
        assert_eq!(bytes, threemf(&package).unwrap(), "the same bytes each time");
        let read = read_mesh(&bytes, None).unwrap();
        assert!(read.remarks.is_empty(), "{:?}", read.remarks);
        let names: Vec<&str> = read.bodies.iter().map(|b| b.name.as_str()).collect();
        assert_eq!(names, ["ember wand 1", "ember wand 2", "tide & caller"]);
        let bounds = read.bodies[2].soup.bounds();
        // x 0..3 turns to y, y 0..2 to -x.
        assert!((bounds.0 - Vec3::new(28.0, 0.0, 1.25)).norm() < 1e-12, "{bounds:?}");
        assert!((bounds.1 - Vec3::new(30.0, 3.0, 2.25)).norm() < 1e-12, "{bounds:?}");
        for body in &read.bodies {
            assert_eq!(body.soup.triangles().len(), 4);
        }
    }

    #[test]
    fn what_no_reader_could_use_is_refused() {
        let (mut vertices, triangles) = tetrahedron();
        let package = |vertices: &[Vec3], mesh: usize| {
            let object = PackageMesh { name: "rod", vertices, triangles: &triangles, colour: None };
            threemf(&Package {
                meshes: vec![object],
                items: vec![item(mesh, "rod", Vec3::zeros())],
                ..Package::default()
            })
        };
        assert!(package(&vertices, 0).is_ok());
        assert_eq!(
            package(&vertices, 1),
            Err(PackageError::NoMesh { item: 0, mesh: 1, meshes: 1 })
        );
        assert!(matches!(package(&vertices[..3], 0), Err(PackageError::NoPoint { .. })));
        vertices[1] = Vec3::new(1e-8, 0.0, 0.0);
        assert!(matches!(
            package(&vertices, 0),
            Err(PackageError::Degenerate { triangle: 0 | 1, .. })
        ));
        vertices[1].x = f64::NAN;
        assert!(matches!(package(&vertices, 0), Err(PackageError::NoPoint { .. })));
    }

    #[test]
    fn numbers_are_short_and_never_minus_zero() {
        assert_eq!(
            [0.0, -1e-9, 1.5, -20.0, 0.123_456_7].map(decimal),
            ["0", "0", "1.5", "-20", "0.123457"]
        );
    }
}
