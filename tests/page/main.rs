//! The report pages of the examples in a browser: Chromium, driven through Node.
//!
//! The pictures that the documents show are compared here too.
//!
//! `drive.mjs` opens each page and says what it saw; the tests here judge that. The
//! screenshots are left in `target/page` to look at.

mod examples;
mod pictures;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use borewright::export::stl;
use borewright::measure::Vec2;
use borewright::mesh::{ChordTolerance, tessellate};
use borewright::section::Region;
use borewright::solid::Stack;
use serde_json::Value;

/// Largest page, bytes: it goes by mail.
const LARGEST: u64 = 2_000_000;

/// Median time to the first paint, ms, that a quiet machine keeps below.
const PAINT_QUIET: f64 = 300.0;

/// The same where other work may run: only a page that blocks fails.
const PAINT_BUSY: f64 = 3000.0;

/// What the view must answer to.
const KEYS: [&str; 8] = ["ArrowLeft", "ArrowUp", "+", "c", "]", "[", "h", "x"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Where the screenshots are.
fn shots() -> PathBuf {
    root().join("target/page/shots")
}

/// A program by its environment variable, or where Debian has it.
fn program(variable: &str, usual: &str) -> PathBuf {
    std::env::var_os(variable).map_or_else(|| usual.into(), PathBuf::from)
}

/// A cradle in the trough of somebody else's chassis: a job without a page of the examples.
const CHASSIS: &str = "format = 1
[handle]
name = \"Tide-caller's sceptre\"
bore = [30.4, 30.42]
length = 150
[print]
printer = \"fdm-thin\"
material = \"petg\"
[chassis]
mesh = \"trough.stl\"
[[part]]
kind = \"crystal_cradle\"
name = \"cradle\"
pixel = \"round-10\"
cavity = { from_z = 40, to_z = 110 }
station = [{ at = 0, section = \"hexagon\", width = 9, height = 9 },
    { at = 20, section = \"hexagon\", width = 9, height = 9 }]
";

/// That job, and its chassis beside it: a tube whose side towards +y is open in its middle.
fn in_a_chassis() -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("chassis");
    std::fs::create_dir_all(&folder).expect("made");
    let disc = |r: f64| Region::disc(Vec2::zeros(), r);
    let ring = disc(15.0).difference(&disc(12.5));
    let window = Region::rectangle(Vec2::new(-12.0, 0.0), Vec2::new(12.0, 40.0));
    let mut stack = Stack::default();
    stack.prism(0.0, 30.0, &ring);
    stack.prism(30.0, 120.0, &ring.difference(&window));
    stack.prism(120.0, 140.0, &ring);
    let mesh = tessellate(&stack.solid().expect("sound"), &ChordTolerance::default());
    let mesh = mesh.expect("meshes");
    let bytes = stl(mesh.vertices(), mesh.triangles(), "a trough").expect("fits in STL");
    std::fs::write(folder.join("trough.stl"), bytes).expect("written");
    let job = folder.join("in-a-chassis.toml");
    std::fs::write(&job, CHASSIS).expect("written");
    job
}

/// The examples and a part in a chassis, each with its page, made now.
fn pages() -> Vec<(String, PathBuf)> {
    let mut jobs: Vec<PathBuf> = std::fs::read_dir(root().join("examples"))
        .expect("the examples are there")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    jobs.sort();
    assert!(jobs.len() >= 5, "the examples are there");
    jobs.push(in_a_chassis());
    let name = |job: &Path| job.file_stem().expect("a name").to_string_lossy().into_owned();
    jobs.iter()
        .map(|job| {
            let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join("page").join(name(job));
            let done = Command::new(env!("CARGO_BIN_EXE_borewright"))
                .arg("make")
                .arg(job)
                .arg("--out")
                .arg(&out)
                .output()
                .expect("it starts");
            assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
            (name(job), out.join("report.html"))
        })
        .collect()
}

/// What the browser saw of every page; looked at once for all tests.
fn seen() -> &'static [Value] {
    static SEEN: OnceLock<Vec<Value>> = OnceLock::new();
    SEEN.get_or_init(|| {
        let modules = root().join("target/page");
        assert!(
            modules.join("node_modules/playwright-core").exists(),
            "these tests need what tests/page/package-lock.json names; get it with\n\
             \n    bash tests/page/install.sh\n"
        );
        let pages = pages();
        let _ = std::fs::remove_dir_all(shots());
        std::fs::create_dir_all(shots()).expect("made");
        let done = Command::new(program("BOREWRIGHT_NODE", "node"))
            .arg(root().join("tests/page/drive.mjs"))
            .arg(&modules)
            .arg(program("BOREWRIGHT_CHROMIUM", "/usr/bin/chromium"))
            .arg(shots())
            .args(pages.iter().map(|(name, page)| format!("{name}={}", page.display())))
            .output()
            .expect("node is installed");
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        let all: Value = serde_json::from_slice(&done.stdout).expect("JSON");
        println!("Chromium {}", text(&all["version"]));
        let reports = all["reports"].as_array().expect("a list").clone();
        assert_eq!(reports.len(), pages.len());
        reports
    })
}

fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

fn count(value: &Value) -> u64 {
    value.as_u64().expect("a count")
}

fn flag(value: &Value) -> bool {
    value.as_bool().expect("yes or no")
}

fn list(value: &Value) -> &[Value] {
    value.as_array().expect("a list")
}

/// A state of a page, by its name.
fn state<'a>(page: &'a Value, name: &str) -> &'a Value {
    let found = list(&page["states"]).iter().find(|s| s["state"] == name);
    found.unwrap_or_else(|| panic!("{} was seen {name}", page["name"]))
}

#[test]
fn pages_stand_alone_and_run_without_a_fault() {
    for page in seen() {
        let name = text(&page["name"]);
        assert_eq!(page["faults"], Value::Array(Vec::new()), "{name}");
        assert_eq!(page["fetched"], Value::Array(Vec::new()), "{name}");
        let bytes = count(&page["bytes"]);
        println!("{name}: {bytes} bytes");
        assert!(bytes < LARGEST, "{name}: {bytes} bytes of {LARGEST}");
    }
}

#[test]
fn pages_show_something_soon() {
    for page in seen() {
        let mut times: Vec<f64> =
            list(&page["paint"]).iter().map(|t| t.as_f64().expect("a time")).collect();
        times.sort_by(f64::total_cmp);
        let median = times[times.len() / 2];
        let word = if median < PAINT_QUIET { "in time" } else { "late, or a busy machine" };
        println!("{}: first paint {median} ms, median of {times:?}: {word}", page["name"]);
        assert!(median < PAINT_BUSY, "{}: {median} ms", page["name"]);
    }
}

#[test]
fn all_can_be_read_and_reached() {
    for page in seen() {
        let name = text(&page["name"]);
        let serious: Vec<&Value> = list(&page["axe"])
            .iter()
            .filter(|fault| matches!(text(&fault["impact"]), "serious" | "critical"))
            .collect();
        assert!(serious.is_empty(), "{name}: {serious:#?}");
        for state in list(&page["states"]) {
            assert_eq!(count(&state["overflow"]), 0, "{name} scrolls sideways: {state}");
        }
    }
}

#[test]
fn the_view_is_worked_by_keys() {
    for page in seen() {
        let (name, keys) = (text(&page["name"]), &page["keyboard"]);
        assert!(count(&keys["tabs"]) <= 3, "{name}: {keys}");
        for key in KEYS {
            assert!(flag(&keys["steps"][key]), "{name}: {key} changes nothing: {keys}");
        }
        assert!(flag(&keys["cut"]) && flag(&keys["heat"]), "{name}: {keys}");
        assert_eq!(keys["apart"], 1, "{name}: {keys}");
        assert!(flag(&keys["back"]), "{name}: 0 does not bring the first view back");
    }
}

#[test]
fn a_chassis_is_shown_around_its_parts() {
    let with: Vec<_> = seen().iter().filter(|page| !page["chassis"].is_null()).collect();
    let [page] = with[..] else { panic!("{} pages with a chassis", with.len()) };
    for what in ["shown", "hidden_changes", "stays_without_its_part"] {
        assert!(flag(&page["chassis"][what]), "{what}: {}", page["chassis"]);
    }
}

#[test]
fn findings_are_pinned_where_they_are() {
    let mut with_pins = 0;
    for page in seen() {
        let (name, light) = (text(&page["name"]), state(page, "light"));
        let Some(pins) = page["pins"].as_object() else {
            assert_eq!(count(&light["pins"]), 0, "{name}");
            continue;
        };
        with_pins += 1;
        assert_eq!(pins["count"], light["pins"], "{name}: all are in view");
        assert_eq!(pins["listed"], "1", "{name}: a pin leads to its finding");
        let section = count(&state(page, "section")["pins"]);
        assert!(section <= count(&light["pins"]), "{name}: what is cut off has no pin");
    }
    assert!(with_pins >= 3, "{with_pins} examples have findings");
}

#[test]
fn a_picture_stands_in_where_nothing_can_be_drawn() {
    for page in seen() {
        let name = text(&page["name"]);
        for drawn in ["light", "dark", "phone", "section", "heat", "apart"] {
            let state = state(page, drawn);
            let right =
                flag(&state["canvas"]) && flag(&state["controls"]) && !flag(&state["still"]);
            assert!(right && flag(&state["keys"]), "{name}: {state}");
        }
        for plain in ["no-webgl", "no-script"] {
            let state = state(page, plain);
            let right =
                !flag(&state["canvas"]) && !flag(&state["controls"]) && flag(&state["still"]);
            // Nothing says how to turn what cannot be turned.
            assert!(right && !flag(&state["keys"]), "{name}: {state}");
        }
    }
}

#[test]
fn paper_has_the_picture_and_all_that_was_folded_away() {
    for page in seen() {
        let (name, paper) = (text(&page["name"]), &page["paper"]);
        let right = flag(&paper["still"]) && !flag(&paper["canvas"]) && !flag(&paper["controls"]);
        assert!(right, "{name}: {paper}");
        assert_eq!(count(&paper["overflow"]), 0, "{name}: {paper}");
        let (printed, folded) = (count(&paper["pages"]), count(&paper["folded_pages"]));
        assert!(printed > folded, "{name}: {printed} sheets, {folded} with all folded away");
        assert!(flag(&paper["closed"]), "{name}: all is folded again after printing");
    }
}

#[test]
fn views_look_as_they_did() {
    let mut faults = Vec::new();
    for page in seen() {
        for state in ["light", "dark", "phone", "section", "heat", "apart"] {
            let name = format!("{}-{state}", text(&page["name"]));
            let seen = pictures::small(&shots().join(format!("{name}-stage.png")));
            let kept = root().join("tests/page/reference").join(format!("{name}.png"));
            if std::env::var_os("BOREWRIGHT_WRITE").is_some() {
                pictures::write(&kept, &seen);
            }
            match pictures::difference(&seen, &pictures::read(&kept)) {
                Ok(difference) => println!("{name}: {difference}"),
                Err(why) => faults.push(format!("{name}: {why}")),
            }
        }
    }
    assert!(
        faults.is_empty(),
        "{}\nlook at target/page/shots; BOREWRIGHT_WRITE=1 keeps what is there now",
        faults.join("\n")
    );
}
