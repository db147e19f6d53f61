//! `borewright drawing`: the sheets of all examples read back as programs read them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use borewright::cli::Exit;
use borewright::mesh::{ReadMesh, read_mesh};
use borewright::parts::PART_KINDS;
use quick_xml::Reader;
use quick_xml::events::Event;

use super::support::{Folder, Ran, ran, ran_with};

/// A text of a sheet, with the box that it fills: left, top, right, bottom, mm.
#[derive(Debug)]
pub struct Words {
    pub text: String,
    pub extent: [f64; 4],
    pub data: BTreeMap<String, String>,
}

/// All texts of a sheet, by an XML parser.
pub fn texts(svg: &str) -> Vec<Words> {
    let mut reader = Reader::from_str(svg);
    let mut out: Vec<Words> = Vec::new();
    let mut open = false;
    loop {
        match reader.read_event().expect("well-formed XML") {
            Event::Start(tag) if tag.name().as_ref() == "text" => {
                let attributes: BTreeMap<String, String> = tag
                    .attributes()
                    .map(|a| {
                        let a = a.expect("an attribute");
                        (a.key.as_ref().to_owned(), a.value.into_owned())
                    })
                    .collect();
                let data = attributes
                    .iter()
                    .filter_map(|(k, v)| Some((k.strip_prefix("data-")?.to_owned(), v.clone())))
                    .collect();
                out.push(Words { text: String::new(), extent: extent(&attributes), data });
                open = true;
            }
            Event::Text(text) if open => {
                let words = out.last_mut().expect("a text is open");
                words.text.push_str(&text);
            }
            Event::End(tag) if tag.name().as_ref() == "text" => open = false,
            Event::Eof => return out,
            _ => {}
        }
    }
}

/// The box of a text: its length as the file has it, capitals and what hangs below.
fn extent(attributes: &BTreeMap<String, String>) -> [f64; 4] {
    let number = |key: &str| attributes[key].parse::<f64>().expect("a number");
    let (x, y, size, length) =
        (number("x"), number("y"), number("font-size"), number("textLength"));
    let back = match attributes["text-anchor"].as_str() {
        "start" => 0.0,
        "middle" => 0.5 * length,
        _ => length,
    };
    let (up, down) = (0.718 * size, 0.207 * size);
    match attributes.get("transform") {
        None => [x - back, y - up, x - back + length, y + down],
        Some(turn) => {
            assert!(turn.starts_with("rotate(-90 "), "{turn}");
            [x - up, y + back - length, x + down, y + back]
        }
    }
}

/// No two texts share room, and all are on the paper.
#[track_caller]
pub fn apart(name: &str, all: &[Words], paper: (f64, f64)) {
    for (i, one) in all.iter().enumerate() {
        let [left, top, right, bottom] = one.extent;
        assert!(
            left >= 0.0 && top >= 0.0 && right <= paper.0 && bottom <= paper.1,
            "{name}: {one:?}"
        );
        for other in &all[..i] {
            let o = other.extent;
            let apart = right <= o[0] || o[2] <= left || bottom <= o[1] || o[3] <= top;
            assert!(apart, "{name}: {one:?} lies on {other:?}");
        }
    }
}

pub fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let entries = std::fs::read_dir(folder).expect("the examples are there");
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("readable").path()).collect();
    paths.retain(|p| p.extension().is_some_and(|e| e == "toml"));
    paths.sort();
    paths
}

fn drawn(job: &Path, out: &Path, more: &[&str]) -> Ran {
    let mut arguments: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"drawing", &job, &"--out", &out];
    arguments.extend(more.iter().map(|word| word as &dyn AsRef<std::ffi::OsStr>));
    ran_with(PART_KINDS, &arguments)
}

fn read_json(path: &Path) -> serde_json::Value {
    serde_json::from_slice(&std::fs::read(path).expect("written")).expect("JSON")
}

/// How far a mesh file reaches along an axis, mm.
fn reach(mesh: &ReadMesh, axis: usize) -> f64 {
    let vertices = mesh.bodies.iter().flat_map(|body| body.soup.vertices());
    let (low, high) = vertices.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
        (low.min(v[axis]), high.max(v[axis]))
    });
    high - low
}

#[test]
fn sheets_of_all_examples_say_what_the_print_files_have() {
    let folder = Folder::new("drawing");
    for job in examples() {
        let name = job.file_stem().expect("a name").to_string_lossy().into_owned();
        let out = folder.path(&name);
        let run = drawn(&job, &out, &[]);
        assert_eq!(run.exit, Exit::Made, "{}", run.err);
        ran_with(PART_KINDS, &[&"make", &job, &"--out", &out]);
        let report = read_json(&out.join("report.json"));
        let parts = report["parts"].as_array().expect("parts").iter();
        for body in parts.flat_map(|part| part["bodies"].as_array().expect("bodies")) {
            let body_name = body["name"].as_str().expect("a name");
            let svg = std::fs::read_to_string(out.join(format!("{body_name}-drawing.svg")));
            let all = texts(&svg.expect("a sheet of each body"));
            apart(body_name, &all, (297.0, 210.0));
            let value = |w: &Words| w.data["value"].parse::<f64>().expect("a number");
            let sizes: Vec<(&str, f64, &Words)> = all
                .iter()
                .filter_map(|w| Some((w.data.get("key")?.as_str(), w, value(w))))
                .map(|(key, w, value)| (key, value, w))
                .collect();
            assert!(sizes.len() >= 3, "{body_name}: {sizes:?}");
            let keys: BTreeSet<&str> = sizes.iter().map(|s| s.0).collect();
            assert_eq!(keys.len(), sizes.len(), "{body_name}: each size once");
            let stl = std::fs::read(out.join(format!("{body_name}.stl"))).expect("a mesh");
            let mesh = read_mesh(&stl, None).expect("a mesh");
            let rows = body["computed"].as_array().expect("rows");
            for (key, value, words) in sizes {
                let row = rows.iter().find(|row| row["key"] == key);
                let wanted = match (key, row) {
                    (_, Some(row)) => row["value"].as_f64().expect("a number"),
                    ("over_all_length", None) => reach(&mesh, 2),
                    // A plate that faces elsewhere has its own up.
                    (_, None) if body["printed_up"][0].as_f64() != Some(0.0) => continue,
                    ("over_all_height", None) => reach(&mesh, 1),
                    (_, None) => reach(&mesh, 0),
                };
                assert!((value - wanted).abs() < 0.011, "{body_name} {key}: {value}, not {wanted}");
                let figures =
                    words.text.trim_start_matches('Ø').split(' ').next().expect("a number");
                let written: f64 = figures.parse().expect("a number");
                assert!((written - value).abs() < 0.005 + 1e-9, "{body_name} {key}: {words:?}");
            }
        }
    }
}

#[test]
fn an_actual_size_sheet_has_its_bar_and_its_scale() {
    let folder = Folder::new("drawing-size");
    let job = examples().into_iter().find(|p| p.ends_with("ember-wand.toml")).expect("there");
    for paper in ["a4", "letter"] {
        for projection in ["first", "third"] {
            let out = folder.path(&format!("{paper}-{projection}"));
            let more = ["--actual-size", "--sheet", paper, "--projection", projection];
            let run = drawn(&job, &out, &more);
            assert_eq!(run.exit, Exit::Made, "{}", run.err);
            assert_eq!(
                folder.names(&format!("{paper}-{projection}")),
                ["drawings.pdf", "tray-cover-drawing.svg", "tray-drawing.svg"]
            );
            let svg = std::fs::read_to_string(out.join("tray-drawing.svg")).expect("written");
            let all = texts(&svg);
            let size = if paper == "a4" { (297.0, 210.0) } else { (279.4, 215.9) };
            apart("tray", &all, size);
            let wanted = format!("width=\"{}mm\" height=\"{}mm\"", size.0, size.1);
            assert!(svg.contains(&wanted), "{wanted}");
            let scale = all.iter().find(|w| w.data.get("title").is_some_and(|t| t == "scale"));
            assert_eq!(scale.map(|w| w.text.as_str()), Some("1:1"));
            let bar = all.iter().find(|w| w.data.contains_key("check-bar")).expect("a bar");
            assert_eq!(bar.data["check-bar"], "50");
            // The dimension line of the length is as long as the tray on paper.
            let long =
                all.iter().find(|w| w.data.get("key").is_some_and(|k| k == "over_all_length"));
            let long: f64 = long.expect("its length").data["value"].parse().expect("a number");
            assert!(longest_level(&svg).iter().any(|l| (l - long).abs() < 0.002), "{long}");
        }
    }
    let again = folder.path("again");
    drawn(&job, &again, &["--actual-size", "--sheet", "letter", "--projection", "third"]);
    let pdf = |name: &str| std::fs::read(folder.path(name)).expect("written");
    assert_eq!(pdf("again/drawings.pdf"), pdf("letter-third/drawings.pdf"), "the same bytes");
}

/// Lengths of the level thin lines of a sheet, mm.
fn longest_level(svg: &str) -> Vec<f64> {
    let lines = svg.lines().filter_map(|line| line.strip_prefix("<path class=\"thin\" d=\"M"));
    lines
        .filter_map(|line| {
            let numbers = line.split('"').next()?.replace('L', " ");
            let numbers: Vec<f64> =
                numbers.split(' ').map(|n| n.parse().expect("a number")).collect();
            match numbers[..] {
                [a, y, b, z] if y == z => Some((b - a).abs()),
                _ => None,
            }
        })
        .collect()
}

#[test]
fn drawings_tell_what_is_wrong() {
    let folder = Folder::new("drawing-wrong");
    let job = examples().into_iter().find(|p| p.ends_with("storm-lantern-staff.toml"));
    let job = job.expect("there");
    let run = drawn(&job, &folder.path("out"), &["--only", "spin"]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("did you mean") || run.err.contains("spine"), "{}", run.err);
    let run = ran(&[&"drawing", &job, &"--sheet", &"a9"]);
    assert!(run.exit == Exit::BadInput && run.err.contains("a4, a3, letter"), "{}", run.err);
    let long = std::fs::read_to_string(&job).expect("a text").replace("bed_x = 190", "bed_x = 400");
    let long = folder.write("long.toml", long);
    let run = drawn(&long, &folder.path("out"), &["--only", "spine", "--actual-size"]);
    assert_eq!(run.exit, Exit::CannotBeMade, "{}", run.err);
    assert!(run.err.contains("hint: --sheet a3 has room"), "{}", run.err);
    assert!(!folder.path("out").join("drawings.pdf").exists(), "nothing half-written");
    let run =
        drawn(&long, &folder.path("out"), &["--only", "spine", "--actual-size", "--sheet", "a3"]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    let named = std::fs::read_to_string(examples().remove(0)).expect("a text");
    let named = named.lines().map(|l| match l.starts_with("name = ") {
        true if l.contains("mber wand") => "name = \"жезл\"".to_owned(),
        _ => l.to_owned(),
    });
    let named = folder.write("named.toml", named.collect::<Vec<_>>().join("\n"));
    let run = drawn(&named, &folder.path("named"), &[]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    assert!(run.err.contains("question marks"), "{}", run.err);
    let svg = std::fs::read_to_string(folder.path("named/tray-drawing.svg")).expect("written");
    assert!(texts(&svg).iter().any(|w| w.text == "жезл"));
}
