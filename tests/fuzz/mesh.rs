//! Mesh files: read, or refused with a reason; what is read is what a soup
//! promises, and our own STL of it reads back as the same triangles.

use std::io::{Cursor, Write};

use borewright::checks::Topology;
use borewright::export::stl;
use borewright::mesh::{FileUnit, MAX_COORDINATE, MAX_TRIANGLES, MeshFormat, ReadError, read_mesh};
use zip::write::SimpleFileOptions;

use super::bytes::size;
use super::harness::hash;

/// What mesh files are made of.
pub const WORDS: &[&str] = &[
    "solid a\n",
    "facet normal 0 0 1\n",
    "outer loop\n",
    "vertex 0 0 0\n",
    "vertex 1 0 0\n",
    "vertex 0 1e1 0\n",
    "endloop\n",
    "endfacet\n",
    "endsolid\n",
    "v 0 0 0\n",
    "v 1 0 0\n",
    "v 0 1 0\n",
    "f 1 2 3\n",
    "f -1 -2 -3\n",
    "f 1/1/1 2//2 3/3\n",
    "<?xml version=\"1.0\"?>",
    "<model unit=\"inch\">",
    "<resources>",
    "<object id=\"1\">",
    "<object id=\"2\" type=\"support\">",
    "<mesh><vertices>",
    "<vertex x=\"0\" y=\"0\" z=\"0\"/>",
    "<vertex x=\"5\" y=\"0\" z=\"0\"/>",
    "<vertex x=\"0\" y=\"5\" z=\"0\"/>",
    "<triangle v1=\"0\" v2=\"1\" v3=\"2\"/>",
    "</vertices><triangles>",
    "</triangles></mesh></object>",
    "<components>",
    "<component objectid=\"1\"/>",
    "<component objectid=\"2\"/>",
    "<component p:path=\"/3D/a.model\" objectid=\"1\"/>",
    "</components></object>",
    "</resources><build>",
    "<item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 0 0 9\"/>",
    "<item objectid=\"2\"/>",
    "</build></model>",
    "<Relationship Target=\"/3D/3dmodel.model\" Type=\"/3dmodel\"/>",
    "<!DOCTYPE a [<!ENTITY b \"c\">]>",
    "<![CDATA[",
    "<!--",
    "&#x0;",
    "\0",
    "nan",
    "inf",
    "1e999",
    "-1e-320",
    "18446744073709551616",
    "\u{feff}",
    "PK\u{3}\u{4}",
];

/// The parts of a package that an input beginning with `z` holds, separated by
/// zeros: so mutations reach the reader and not only the checksums of a zip.
const PARTS: [&str; 3] = ["3D/3dmodel.model", "3D/a.model", "_rels/.rels"];

fn package(text: &[u8]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, part) in PARTS.iter().zip(text.splitn(PARTS.len(), |b| *b == 0)) {
        zip.start_file(*name, stored).expect("a new part");
        zip.write_all(part).expect("memory");
    }
    zip.finish().expect("memory").into_inner()
}

pub fn run(input: &[u8]) -> u64 {
    let Some((&how, rest)) = input.split_first() else { return 0 };
    let packed;
    let (file, unit) = if how == b'z' {
        packed = package(rest);
        (packed.as_slice(), None)
    } else {
        (rest, FileUnit::ALL.get(usize::from(how % 8)).copied())
    };
    let read = match read_mesh(file, unit) {
        Err(error) => return refused(&error),
        Ok(read) => read,
    };
    let mut kind = 2 + read.format as u64;
    let mut mix = |n: u64| kind = kind.wrapping_mul(131).wrapping_add(n);
    assert!(!read.bodies.is_empty(), "no bodies");
    mix(size(read.bodies.len()));
    for body in &read.bodies {
        let (vertices, triangles) = (body.soup.vertices(), body.soup.triangles());
        assert!(!triangles.is_empty() && triangles.len() <= MAX_TRIANGLES, "{}", triangles.len());
        assert!(triangles.iter().flatten().all(|&v| (v as usize) < vertices.len()), "no vertex");
        let usable = |p: &borewright::measure::Vec3| p.iter().all(|c| c.abs() <= MAX_COORDINATE);
        assert!(vertices.iter().all(usable), "{vertices:?}");
        assert!(!body.name.contains(char::is_control), "{:?}", body.name);
        if let Ok(bytes) = stl(vertices, triangles, "") {
            let again = read_mesh(&bytes, None).expect("our own file");
            assert_eq!(again.format, MeshFormat::StlBinary);
            assert_eq!(again.bodies[0].soup.triangles().len(), triangles.len());
            mix(1);
        }
        let topology = Topology::new(&body.soup);
        assert!(topology.volumes.iter().all(|v| v.is_finite()), "{:?}", topology.volumes);
        mix(size(triangles.len()));
    }
    for remark in &read.remarks {
        assert!(!remark.text.is_empty());
        mix(shape_of(&remark.text));
    }
    kind
}

fn refused(error: &ReadError) -> u64 {
    assert!(!error.hint().is_empty());
    1 << 40 | shape_of(&error.to_string())
}

/// A message without its numbers and without what it quotes from the file.
fn shape_of(text: &str) -> u64 {
    let text = text.split(['`', '\'', '"', '<', '&']).next().unwrap_or_default();
    let letters: Vec<u8> = text.bytes().filter(u8::is_ascii_alphabetic).take(40).collect();
    hash(&letters) % (1 << 32)
}
