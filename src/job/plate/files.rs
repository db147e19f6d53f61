//! A plate as files: one 3MF package, one STL, one picture.

use nalgebra::Matrix3;

use super::super::files::{FormatError, NamedBytes};
use super::{OnPlate, Piece, Plate};
use crate::export::{
    BODY_COLOURS, Package, PackageItem, PackageMesh, PictureBody, View, picture, stl, threemf,
};
use crate::measure::{Vec2, Vec3};
use crate::mesh::{ChordTolerance, Mesh, tessellate};
use crate::section::Region;
use crate::solid::Stack;

/// Thickness of the bed in pictures, mm, and its gap to what lies on it, so
/// that undersides do not mix with it.
const BED_THICKNESS: f64 = 1.0;
const BED_GAP: f64 = 0.05;

const BED_COLOUR: [u8; 3] = [214, 217, 219];

/// Longer side of a plate's picture and of the one inside the package, pixels.
const PICTURE_SIDE: u32 = 900;
const THUMBNAIL_SIDE: u32 = 320;

/// The files of a plate: `NAME.3mf`, `NAME.stl` and `NAME.png`. `metadata` goes
/// into the package, see [`Package::metadata`]; `bed` is in mm.
///
/// # Errors
/// A mesh that one of the formats cannot hold.
pub fn plate_files(
    pieces: &[Piece<'_>],
    plate: &Plate,
    bed: Vec2,
    name: &str,
    metadata: Vec<(&str, String)>,
) -> Result<Vec<NamedBytes>, FormatError> {
    let meshes: Vec<Mesh> = plate
        .bodies
        .iter()
        .map(|body| pieces[body.piece].mesh.moved(&body.turn, body.shift))
        .collect();
    let bytes = package(pieces, plate, metadata, render(plate, &meshes, bed, THUMBNAIL_SIDE))?;
    Ok(vec![
        (format!("{name}.3mf"), bytes),
        (format!("{name}.stl"), together(&meshes, name)?),
        (format!("{name}.png"), render(plate, &meshes, bed, PICTURE_SIDE)),
    ])
}

fn package(
    pieces: &[Piece<'_>],
    plate: &Plate,
    metadata: Vec<(&str, String)>,
    thumbnail: Vec<u8>,
) -> Result<Vec<u8>, FormatError> {
    // Only what lies on this plate.
    let used: Vec<usize> =
        (0..pieces.len()).filter(|i| plate.bodies.iter().any(|b| b.piece == *i)).collect();
    let meshes = used.iter().map(|i| PackageMesh {
        name: pieces[*i].name,
        vertices: pieces[*i].mesh.vertices(),
        triangles: pieces[*i].mesh.triangles(),
        colour: Some(colour(*i)),
    });
    let item = |body: &OnPlate| PackageItem {
        mesh: used.binary_search(&body.piece).expect("what lies here is used"),
        name: label(pieces, body),
        turn: body.turn,
        shift: body.shift,
    };
    let package = Package {
        metadata,
        meshes: meshes.collect(),
        items: plate.bodies.iter().map(item).collect(),
        thumbnail: Some(thumbnail),
    };
    Ok(threemf(&package)?)
}

/// The name of one copy.
fn label(pieces: &[Piece<'_>], body: &OnPlate) -> String {
    let piece = &pieces[body.piece];
    match piece.copies {
        0 | 1 => piece.name.to_owned(),
        _ => format!("{} {}", piece.name, body.copy + 1),
    }
}

fn colour(piece: usize) -> [u8; 3] {
    BODY_COLOURS[piece % BODY_COLOURS.len()]
}

/// All bodies as one STL.
fn together(meshes: &[Mesh], name: &str) -> Result<Vec<u8>, FormatError> {
    let (mut vertices, mut triangles) = (Vec::new(), Vec::new());
    for mesh in meshes {
        let base = u32::try_from(vertices.len()).expect("a plate holds far fewer");
        vertices.extend_from_slice(mesh.vertices());
        triangles.extend(mesh.triangles().iter().map(|t| t.map(|v| v + base)));
    }
    Ok(stl(&vertices, &triangles, &format!("borewright: {name}, mm"))?)
}

/// The plate as seen from its front, from above.
fn render(plate: &Plate, meshes: &[Mesh], bed: Vec2, side: u32) -> Vec<u8> {
    let slab = slab(bed);
    let mut bodies: Vec<PictureBody<'_>> = Vec::with_capacity(meshes.len() + 1);
    bodies.extend(slab.iter().map(|slab| PictureBody::new(slab, BED_COLOUR)));
    let coloured = plate.bodies.iter().zip(meshes);
    bodies.extend(coloured.map(|(body, mesh)| PictureBody::new(mesh, colour(body.piece))));
    let view = View {
        direction: Vec3::new(0.0, 0.5, -0.87),
        up: Vec3::y(),
        width: side,
        height: side * 3 / 4,
        ..View::default()
    };
    picture(&bodies, &view)
}

/// The bed; none if it cannot be drawn.
fn slab(bed: Vec2) -> Option<Mesh> {
    let mut stack = Stack::default();
    stack.prism(0.0, BED_THICKNESS, &Region::rectangle(Vec2::zeros(), bed));
    let mesh = tessellate(&stack.solid().ok()?, &ChordTolerance::default()).ok()?;
    Some(mesh.moved(&Matrix3::identity(), -Vec3::z() * (BED_THICKNESS + BED_GAP)))
}
