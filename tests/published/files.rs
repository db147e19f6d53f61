//! What the formats of files prescribe.

use borewright::export::{StepHeader, StepProduct, step as step_text, stl as stl_bytes};
use borewright::measure::{Vec2, Vec3};
use borewright::mesh::{FileUnit, read_mesh};
use borewright::section::Region;
use borewright::solid::Stack;

use crate::support::Table;

/// Whether something holds, as a number for the table.
fn holds(condition: bool) -> f64 {
    f64::from(u8::from(condition))
}

pub fn stl(t: &mut Table) {
    let corners = [Vec3::zeros(), Vec3::x(), Vec3::y()];
    let source = "STL: 84 + 50 n bytes";
    for (n, bytes) in [(12, 684.0), (1000, 50_084.0)] {
        let file = stl_bytes(&corners, &vec![[0, 1, 2]; n], "solid words").expect("a triangle");
        t.check(format!("STL of {n} triangles, bytes"), source, file.len() as f64, bytes, 0.0);
        let count = u32::from_le_bytes(file[80..84].try_into().expect("four bytes"));
        t.check(
            format!("STL of {n} triangles, its count"),
            source,
            f64::from(count),
            n as f64,
            0.0,
        );
        let source = "STL: unit normal, outwards";
        let normal = f32::from_le_bytes(file[92..96].try_into().expect("four bytes"));
        t.check("STL normal z", source, f64::from(normal), 1.0, 0.0);
        let spare = u16::from_le_bytes([file[132], file[133]]);
        t.check("STL attribute", "STL: normally 0", f64::from(spare), 0.0, 0.0);
        let source = "liquisearch: a binary header must not begin so";
        t.trap("STL header begins with `solid`", source, holds(file.starts_with(b"solid")), 1.0);
    }
}

pub fn step(t: &mut Table) {
    let mut stack = Stack::default();
    stack.prism(0.0, 1.0, &Region::disc(Vec2::zeros(), 1.0));
    let solid = stack.solid().expect("a rod");
    let header = StepHeader {
        file_name: "o'clock.step",
        time_stamp: "2000-01-01T00:00:00",
        description: "µ",
    };
    let text = step_text(&[StepProduct { name: "rod", solid: &solid }], &header);
    let at = |word: &str| text.find(word);
    let order = [at("HEADER;"), at("FILE_DESCRIPTION("), at("FILE_NAME("), at("FILE_SCHEMA(")];
    let part = "ISO 10303-21, from real files";
    let mut says = |what: &str, source: &'static str, condition: bool| {
        t.check(what, source, holds(condition), 1.0, 0.0);
    };
    says("STEP begins with its token", part, text.starts_with("ISO-10303-21;"));
    says("STEP ends with its token", part, text.trim_end().ends_with("END-ISO-10303-21;"));
    says("STEP header in order", part, order.iter().all(Option::is_some) && order.is_sorted());
    let once = ["FILE_DESCRIPTION(", "FILE_NAME(", "FILE_SCHEMA("];
    says("STEP header entities once", part, once.iter().all(|w| text.matches(w).count() == 1));
    says("STEP implementation level 2;1", part, text.contains(",'2;1');"));
    says(
        "STEP schema",
        "ISO 10303-214, IS edition",
        text.contains("FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));"),
    );
    says("STEP millimetre", part, text.contains("SI_UNIT(.MILLI.,.METRE.)"));
    says("STEP radian", part, text.contains(".RADIAN."));
    says("STEP apostrophe doubled", "Part 21, 6.4.3, from memory", text.contains("o''clock"));
    says(
        "STEP letters beyond ASCII",
        "Part 21, 6.4.3, from memory",
        text.contains("\\X2\\00B5\\X0\\"),
    );
    let schema = text.lines().find(|l| l.starts_with("FILE_SCHEMA")).unwrap_or_default();
    let source = "a schema name in circulation: `..._LF. {1 0 ...}`";
    t.trap("STEP schema with a stray dot", source, holds(schema.contains('.')), 1.0);
    let source = "a schema number in circulation: 10303 242 1 1 1 1";
    t.trap("STEP schema of another standard", source, holds(schema.contains("10303 242")), 1.0);
}

pub fn units(t: &mut Table) {
    for (name, millimetres) in [
        ("micron", 1e-3),
        ("millimeter", 1.0),
        ("centimeter", 10.0),
        ("inch", 25.4),
        ("foot", 304.8),
        ("meter", 1000.0),
    ] {
        let text = "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 1 4 3\n";
        let unit = FileUnit::ALL.into_iter().find(|u| u.millimetres() == millimetres);
        let read = read_mesh(text.as_bytes(), unit).expect("a tetrahedron");
        let size = read.bodies[0].soup.bounds().1.x;
        t.check(
            format!("one {name}, mm"),
            "3MF core 1.4.0; 1959 agreement",
            size,
            millimetres,
            0.0,
        );
    }
}
