//! Kinds of parts that exist for tests only, and ways to run the program.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use borewright::cli::{Environment, Exit, run};
use borewright::job::Job;
use borewright::measure::{
    Default, Faults, Kind, Library, Param, Source, Unit, Values, Vec3, render,
};
use borewright::parts::{Body, Computed, Message, PartContext, PartKind, Refusal, Severity};
use borewright::solid::{Brep, Curve, Edge, EdgeUse, Face, Solid, Surface};

const PLUNGER: &[Param] = &[
    Param::number("travel", Unit::Mm, (0.1, 5.0), "How far the plunger goes in."),
    Param {
        key: "switch",
        kind: Kind::Component { family: "switches", default: Default::Value("6x6-h5.0") },
        doc: "The switch below it.",
    },
];

const SEAT: &[Param] = &[Param::number("depth", Unit::Mm, (0.5, 20.0), "Depth of the seat.")];

/// One row of each kind.
pub const BLOCK_PARAMS: &[Param] = &[
    Param::number("wall", Unit::Mm, (0.4, 5.0), "Wall thickness.").or(1.2),
    Param::number("clocking", Unit::Degrees, (-360.0, 360.0), "Clocking angle.").or(0.0),
    Param {
        key: "ribs",
        kind: Kind::Integer { min: 0, max: 8, default: Default::Value(2) },
        doc: "Number of ribs.",
    },
    Param::flag("mirrored", "Whether it is mirrored."),
    Param {
        key: "ends",
        kind: Kind::Choice { options: &["blunt", "pointed"], default: Default::Value("blunt") },
        doc: "Form of the ends.",
    },
    Param::note("label", 12, "A mark on it."),
    Param {
        key: "stations",
        kind: Kind::Numbers { unit: Unit::Mm, min: 0.0, max: 90.0, count: (2, 4), optional: true },
        doc: "Where the stone was measured.",
    },
    Param {
        key: "outline",
        kind: Kind::Points { min: -40.0, max: 40.0, count: (3, 16), optional: true },
        doc: "Outline of the stone.",
    },
    Param::component("cell", "cells", "The cell in it."),
    Param { key: "seat", kind: Kind::Table { rows: SEAT, optional: true }, doc: "A seat for it." },
    Param {
        key: "plunger",
        kind: Kind::List { rows: PLUNGER, count: (0, 3), starts: 0 },
        doc: "A plunger through the wall.",
    },
];

/// A kind that makes a block, refuses walls above 3 mm and breaks at 2.5 mm.
pub static KINDS: &[PartKind] = &[
    PartKind { name: "block", summary: "a block", params: BLOCK_PARAMS, make: make_block },
    PartKind {
        name: "bridge_plate",
        summary: "nothing",
        params: SEAT,
        make: |_, _| Ok(Vec::new()),
    },
];

fn make_block(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let wall = values.number("wall");
    assert!(wall != 2.5, "a fault for tests");
    if wall > 3.0 {
        let bore = context.handle.bore().sure();
        return Err(Refusal::new(format!("a wall of {wall} mm leaves too little of {bore:.2} mm"))
            .at(values, "wall")
            .hint("a wall of 3 mm would fit"));
    }
    for plunger in values.list("plunger") {
        let (travel, stroke) =
            (plunger.number("travel"), plunger.component("switch").number("stroke"));
        if travel < stroke {
            return Err(Refusal::new(format!(
                "travel {travel} mm is under the stroke {stroke} mm"
            ))
            .at(plunger, "travel"));
        }
    }
    let second = if values.flag("mirrored") { "-cap" } else { "-second" };
    let body = |suffix: &str| Body {
        name: format!("{}{suffix}", context.name),
        solid: block(wall),
        computed: vec![Computed::new("wall", "wall", wall, Unit::Mm)],
        messages: vec![Message {
            severity: Severity::Caution,
            text: "a cell can burn when shorted".into(),
            hint: Some("cover the contacts".into()),
        }],
        worked: Vec::new(),
        declared: borewright::parts::Declared::default(),
    };
    Ok(vec![body(""), body(second)])
}

/// A cube by hand: the section engine is not under test here.
fn block(size: f64) -> Solid {
    let corner = |i: usize| {
        let on = |bit: usize| if i & bit > 0 { size } else { 0.0 };
        Vec3::new(on(1), on(2), on(4))
    };
    let vertices: Vec<Vec3> = (0..8).map(corner).collect();
    // Loops counter-clockwise from outside, with outward normals.
    let faces = [
        ([0, 2, 3, 1], -Vec3::z()),
        ([4, 5, 7, 6], Vec3::z()),
        ([0, 1, 5, 4], -Vec3::y()),
        ([2, 6, 7, 3], Vec3::y()),
        ([0, 4, 6, 2], -Vec3::x()),
        ([1, 3, 7, 5], Vec3::x()),
    ];
    let mut brep = Brep { vertices: vertices.clone(), ..Brep::default() };
    for (corners, normal) in faces {
        let mut uses = Vec::new();
        for (i, from) in corners.into_iter().enumerate() {
            let (from, to) = (from as u32, corners[(i + 1) % 4] as u32);
            let known = brep.edges.iter().position(|e| (e.from, e.to) == (to, from));
            let edge = known.unwrap_or_else(|| {
                let curve =
                    Curve::Line { from: vertices[from as usize], to: vertices[to as usize] };
                brep.edges.push(Edge { from, to, curve });
                brep.edges.len() - 1
            });
            uses.push(EdgeUse { edge: edge as u32, forward: known.is_none() });
        }
        let origin = vertices[corners[0]];
        let x = (vertices[corners[1]] - origin).normalize();
        let surface = Surface::Plane { origin, normal, x };
        brep.faces.push(Face { surface, flipped: false, loops: vec![uses] });
    }
    Solid::new(brep).expect("a cube is closed")
}

/// A job that is right; tests spoil it.
pub const GOOD: &str = r#"format = 1

[handle]
name = "Lamplighter's rod"
bore = [25.42, 25.38, 25.45]
caliper = 0.02
length = 210
outside = 32

[print]
printer = "fdm-thin"
material = { profile = "petg", density = 1.25 }

[[part]]
kind = "block"
name = "lamp-block"
wall = 1.5
stations = [0, 12.5]
outline = [[0, 0], [10, 0], [0, 10]]
cell = { profile = "18650", diameter_max = 18.6 }

[part.seat]
depth = 2

[[part.plunger]]
travel = 0.8

[[part.plunger]]
travel = 1
switch = "12x12-h4.3"
"#;

/// Reads a job text against the test kinds.
pub fn read(text: &str) -> Result<Job, Faults> {
    let source = Source::new("job.toml", text).expect("a text");
    Job::read(&source, Library::shipped(), KINDS)
}

/// The message for [`GOOD`] with one text replaced by another.
pub fn spoilt(from: &str, to: &str) -> String {
    assert_eq!(GOOD.matches(from).count(), 1, "{from} is there once");
    let faults = read(&GOOD.replace(from, to)).expect_err("spoilt");
    render(&faults, false)
}

/// A fresh folder for one test.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new(name: &str) -> Self {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("cli-{name}"));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).expect("made");
        Self(path)
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("inside")).expect("made");
        fs::write(&path, bytes).expect("written");
        path
    }

    /// Names of what is in a folder, sorted.
    pub fn names(&self, name: &str) -> Vec<String> {
        let entries = fs::read_dir(self.path(name)).expect("a folder");
        let mut names: Vec<String> = entries
            .map(|entry| entry.expect("readable").file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

/// What a run printed, and how it ended.
pub struct Ran {
    pub exit: Exit,
    pub out: String,
    pub err: String,
}

/// Runs a command line with the test kinds, in this process.
pub fn ran(arguments: &[&dyn AsRef<std::ffi::OsStr>]) -> Ran {
    ran_with(KINDS, arguments)
}

/// The same with other kinds.
pub fn ran_with(kinds: &'static [PartKind], arguments: &[&dyn AsRef<std::ffi::OsStr>]) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let name: [OsString; 1] = ["borewright".into()];
    let arguments = arguments.iter().map(|argument| argument.as_ref().to_owned());
    let exit = run(
        name.into_iter().chain(arguments),
        &mut Environment {
            kinds,
            out: &mut out,
            err: &mut err,
            colour: false,
            profiles: None,
            epoch: None,
        },
    );
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    Ran { exit, out: text(out), err: text(err) }
}

/// A source of bytes under a name.
pub fn source(text: &str) -> Arc<Source> {
    Source::new("own.toml", text).expect("a text")
}
