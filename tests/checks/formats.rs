//! Readers: the same cube in every format, with units, components, transforms.

use std::io::{Cursor, Write};

use borewright::mesh::{FileUnit, MeshFormat, ReadError, Soup, read_mesh};
use zip::write::SimpleFileOptions;

use crate::shapes::*;

fn box_of(x: f64, y: f64, z: f64) -> Soup {
    slabs(&[(0.0, z, rect(0.0, 0.0, x, y))])
}

pub fn obj(soup: &Soup) -> String {
    let mut out = String::from("# a comment\no cube\n");
    soup.vertices().iter().for_each(|p| out.push_str(&format!("v {} {} {}\n", p.x, p.y, p.z)));
    for t in soup.triangles() {
        out.push_str(&format!("f {}/1/1 {}//2 {}\n", t[0] + 1, t[1] + 1, t[2] + 1));
    }
    out
}

fn mesh_xml(soup: &Soup) -> String {
    let mut out = String::from("<mesh><vertices>");
    for p in soup.vertices() {
        out.push_str(&format!("<vertex x=\"{}\" y=\"{}\" z=\"{}\"/>", p.x, p.y, p.z));
    }
    out.push_str("</vertices><triangles>");
    for [a, b, c] in soup.triangles() {
        out.push_str(&format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>"));
    }
    out + "</triangles></mesh>"
}

fn model_of(unit: &str, resources: &str, build: &str) -> String {
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <model unit=\"{unit}\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\" \
         xmlns:p=\"http://schemas.microsoft.com/3dmanufacturing/production/2015/06\">\
         <resources>{resources}</resources><build>{build}</build></model>"
    )
}

pub fn model(soup: &Soup) -> String {
    let object =
        format!("<object id=\"1\" name=\"cube\" type=\"model\">{}</object>", mesh_xml(soup));
    model_of("millimeter", &object, "<item objectid=\"1\"/>")
}

fn package(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        zip.start_file(*name, SimpleFileOptions::default()).expect("a new part");
        zip.write_all(content.as_bytes()).expect("memory");
    }
    zip.finish().expect("memory").into_inner()
}

const RELATIONS: &str = "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\
    <Relationship Target=\"/3D/cube.model\" Id=\"rel0\" \
    Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>";

pub fn three_mf(model: &str) -> Vec<u8> {
    package(&[("_rels/.rels", RELATIONS), ("3D/cube.model", model)])
}

fn bounds(soup: &Soup) -> [f64; 6] {
    let (low, high) = soup.bounds();
    [low.x, low.y, low.z, high.x, high.y, high.z]
}

fn close(got: [f64; 6], wanted: [f64; 6]) {
    let near = got.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-9);
    assert!(near, "{got:?} is not {wanted:?}");
}

#[test]
fn obj_and_units() {
    let text = obj(&box_of(2.0, 3.0, 4.0));
    let read = read_mesh(text.as_bytes(), Some(FileUnit::Inch)).expect("reads");
    assert_eq!(read.format, MeshFormat::Obj);
    assert_eq!(read.bodies[0].soup.triangles().len(), 12);
    close(bounds(&read.bodies[0].soup), [0.0, 0.0, 0.0, 50.8, 76.2, 101.6]);
    // Faces of more corners, counted from the end, before and after more points.
    let text = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf -4 -3 -2 -1\nv 9 9 9\nf 1 2 9\n";
    let read = read_mesh(text.as_bytes(), None).expect("reads");
    assert_eq!(read.bodies[0].soup.triangles().len(), 2);
    assert!(read.remarks[0].grave, "{:?}", read.remarks);
}

#[test]
fn three_mf_with_units_components_and_transforms() {
    let cube = box_of(1.0, 2.0, 3.0);
    let mesh = mesh_xml(&cube);
    let resources = format!(
        "<object id=\"1\" name=\"brick\">{mesh}</object>\
         <object id=\"2\" name=\"pair\"><components><component objectid=\"1\"/>\
         <component objectid=\"1\" transform=\"0 1 0 -1 0 0 0 0 1 10 0 0\"/></components></object>\
         <object id=\"3\" type=\"support\">{mesh}</object>"
    );
    let build = "<item objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 0 0 5\"/>\
                 <item objectid=\"2\"/><item objectid=\"3\"/>";
    let read =
        read_mesh(&three_mf(&model_of("centimeter", &resources, build)), None).expect("reads");
    assert_eq!(read.format, MeshFormat::ThreeMf);
    let names: Vec<&str> = read.bodies.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(names, ["brick", "pair"]);
    let [brick, pair] = [0, 1].map(|i| &read.bodies[i].soup);
    close(bounds(brick), [-10.0, 0.0, 50.0, 0.0, 20.0, 80.0]);
    close(bounds(pair), [0.0, 0.0, 0.0, 100.0, 20.0, 30.0]);
    // A mirrored placement keeps the outside outside.
    let volume =
        |s: &Soup| triangles(s).iter().map(|[a, b, c]| a.dot(&b.cross(c)) / 6.0).sum::<f64>();
    assert!((volume(brick) - 6000.0).abs() < 1e-6, "{}", volume(brick));
    assert!((volume(pair) - 12000.0).abs() < 1e-6, "{}", volume(pair));
}

#[test]
fn three_mf_of_several_parts() {
    let object = format!("<object id=\"7\">{}</object>", mesh_xml(&box_of(1.0, 1.0, 1.0)));
    let other = model_of("millimeter", &object, "");
    let root = model_of(
        "millimeter",
        "<object id=\"1\" name=\"far\"><components>\
         <component p:path=\"/3D/other.model\" objectid=\"7\"/></components></object>",
        "<item objectid=\"1\"/>",
    );
    let bytes = package(&[
        ("_rels/.rels", RELATIONS),
        ("3D/cube.model", &root),
        ("3D/other.model", &other),
    ]);
    let read = read_mesh(&bytes, None).expect("reads");
    assert_eq!(read.bodies[0].soup.triangles().len(), 12);
}

fn fails(model: &str, words: &str) {
    match read_mesh(&three_mf(model), None) {
        Err(ReadError::Broken { what }) => assert!(what.contains(words), "{what}"),
        other => panic!("{words}: {other:?}"),
    }
}

#[test]
fn three_mf_that_would_never_end_or_misses_parts() {
    let cube = box_of(1.0, 1.0, 1.0);
    let build = "<item objectid=\"1\"/>";
    let own = "<object id=\"1\"><components><component objectid=\"1\"/></components></object>";
    fails(&model_of("millimeter", own, build), "nested without end");
    // Each level names the one below twice.
    let mut bomb = format!("<object id=\"40\">{}</object>", mesh_xml(&cube));
    for id in (1..40).rev() {
        let part = format!("<component objectid=\"{}\"/>", id + 1);
        bomb.push_str(&format!(
            "<object id=\"{id}\"><components>{part}{part}</components></object>"
        ));
    }
    fails(&model_of("millimeter", &bomb, build), "nested without end");
    fails(&model_of("millimeter", "", build), "named but not there");
    fails(&model_of("cubit", "", build), "unit is none");
    let good = model(&cube);
    fails(&good.replace("v1=\"0\"", "v1=\"99\""), "missing vertex");
    fails(&good[..good.len() / 2], "of the 3MF package");
    let empty = read_mesh(&package(&[("readme.txt", "nothing")]), None);
    assert!(matches!(empty, Err(ReadError::Broken { .. })));
}

/// A few lines place an object any number of times: what counts is the number
/// of triangles placed, in all items together.
#[test]
fn three_mf_that_places_too_many_triangles_is_refused() {
    let cubes: Vec<Soup> = (0..50).map(|_| box_of(1.0, 1.0, 1.0)).collect();
    let object = format!("<object id=\"1\">{}</object>", mesh_xml(&together(&cubes)));
    let build = "<item objectid=\"1\"/>".repeat(6_000);
    let bytes = three_mf(&model_of("millimeter", &object, &build));
    match read_mesh(&bytes, None) {
        Err(ReadError::TooMany { triangles }) => assert_eq!(triangles, 3_000_600),
        other => panic!("{:?}", other.map(|read| read.bodies.len())),
    }
}

/// The limit on what is unpacked holds for all models of a package together.
#[test]
fn many_models_that_unpack_to_more_than_memory_together_are_refused() {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let blanks = vec![b' '; 1 << 20];
    for part in 0..5 {
        let name = if part == 0 { "3D/3dmodel.model".to_owned() } else { format!("{part}.model") };
        zip.start_file(name, SimpleFileOptions::default()).expect("a new part");
        let next = part + 1;
        let head = format!(
            "<model xmlns:p=\"p\"><resources><object id=\"1\"><components><component \
             p:path=\"/{next}.model\" objectid=\"1\"/></components></object></resources>"
        );
        zip.write_all(head.as_bytes()).expect("memory");
        for _ in 0..60 {
            zip.write_all(&blanks).expect("memory");
            zip.write_all(b"<metadata/>").expect("memory");
        }
        zip.write_all(b"</model>").expect("memory");
    }
    let bytes = zip.finish().expect("memory").into_inner();
    let error = read_mesh(&bytes, None).expect_err("too long");
    assert!(
        error.to_string().contains("4.model of the 3MF package unpacks to more than"),
        "{error}"
    );
}

#[test]
fn a_small_package_that_unpacks_to_more_than_memory_is_refused() {
    // 300 MB of blanks pack to a few hundred kilobytes.
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    zip.start_file("3D/3dmodel.model", SimpleFileOptions::default()).expect("a new part");
    let blanks = vec![b' '; 1 << 20];
    zip.write_all(b"<model unit=\"millimeter\">").expect("memory");
    for _ in 0..300 {
        zip.write_all(&blanks).expect("memory");
        zip.write_all(b"<metadata/>").expect("memory");
    }
    let bytes = zip.finish().expect("memory").into_inner();
    assert!(bytes.len() < 2 << 20, "{}", bytes.len());
    let error = read_mesh(&bytes, None).expect_err("too long");
    assert!(error.to_string().contains("unpacks to more than"), "{error}");
}
