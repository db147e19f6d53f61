//! The page in browsers: Chromium, driven by playwright-core (`browser.mjs`), and Firefox, by
//! puppeteer-core over WebDriver BiDi (`firefox.mjs`).

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::{Value, json};

use super::described::python;
use super::{Server, example};

/// Where `tests/page/install.sh` puts playwright-core.
fn modules() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/page/node_modules");
    assert!(
        ["playwright-core", "puppeteer-core"].iter().all(|name| folder.join(name).exists()),
        "these tests need what tests/page/package-lock.json names; get it with\n\
         \n    bash tests/page/install.sh\n"
    );
    folder
}

/// Runs a script of this folder over a fresh server; what it prints is shown. Gives the
/// server, whose folder holds what was written. `arguments` makes the script's own from the
/// page's address, the server's folder and the one for pictures.
fn run(
    script: &str,
    name: &str,
    arguments: impl Fn(&str, &Path, &Path) -> Vec<OsString>,
) -> Server {
    let server = Server::start(&format!("browser-{name}"), &["--build-seconds", "300"]);
    for name in [
        "lamplighters-rod.toml",
        "two-plungers.toml",
        "ember-wand.toml",
        "storm-lantern-trim.toml",
        "storm-lantern-staff.toml",
    ] {
        std::fs::write(server.folder.join(name), example(name)).expect("written");
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let pictures = root.join("target/serve");
    std::fs::create_dir_all(&pictures).expect("made");
    let status = Command::new("node")
        .arg(root.join("tests/serve").join(script))
        .args(arguments(&server.address(), &server.folder, &pictures))
        .arg(modules())
        .stdin(Stdio::null())
        .status()
        .expect("node is installed: apt-get install nodejs chromium firefox-esr");
    assert!(status.success(), "{name}: {status}");
    server
}

/// Plays one of the scenes of `browser.mjs` in Chromium.
fn played(scene: &str) -> Server {
    run("browser.mjs", scene, |address, folder, pictures| {
        vec![scene.into(), address.into(), folder.into(), pictures.into()]
    })
}

/// The files that a scene has downloaded, judged by programs that share no code
/// with borewright (`tests/reference/referee.py`).
fn accepted(server: &Server, stem: &str) {
    let downloads = server.folder.join("downloads");
    let report = server.folder.join("prints").join(stem).join("report.json");
    let report: Value =
        serde_json::from_slice(&std::fs::read(report).expect("written")).expect("JSON");
    let bodies = report["parts"].as_array().expect("parts").iter();
    let bodies = bodies.flat_map(|part| part["bodies"].as_array().expect("bodies"));
    let entries: Vec<Value> = bodies
        .map(|body| {
            let name = body["name"].as_str().expect("a name");
            json!({
                "name": name,
                "step": format!("{name}.step"),
                "stl": format!("{name}.stl"),
                "package": format!("{name}.3mf"),
                "volume": body["volume"]["value"],
                "mesh_volume": body["mesh_volume"]["value"],
                "area": body["area"]["value"],
                "centroid": body["centroid"]["at"],
                "bbox": [body["bounds"]["low"], body["bounds"]["high"]],
                "faces": body["faces"],
                // The usual chord of a job, mm.
                "chord": 0.01,
            })
        })
        .collect();
    let manifest = downloads.join("manifest.json");
    std::fs::write(&manifest, Value::Array(entries).to_string()).expect("written");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let output = Command::new(python())
        .arg(root.join("tests/reference/referee.py"))
        .arg(&manifest)
        .output()
        .expect("Python with the packages of tests/reference/requirements.txt");
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{told}{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn a_new_user_makes_a_cradle() {
    accepted(&played("cradle"), "crystal-cradle");
}

#[test]
fn a_new_user_makes_a_plate() {
    accepted(&played("plate"), "switch-plate");
}

#[test]
fn a_new_user_makes_a_tray() {
    accepted(&played("tray"), "cell-tray");
}

#[test]
fn nonsense_in_every_field_harms_nothing() {
    played("nonsense");
}

#[test]
fn two_tabs_and_a_reload_lose_nothing() {
    played("tabs");
}

#[test]
fn the_keyboard_is_enough() {
    played("keyboard");
}

#[test]
fn the_view_stays_while_a_job_is_edited() {
    played("view");
}

#[test]
fn edits_are_seen_at_once() {
    played("latency");
}

#[test]
fn firefox_shows_cures_and_saves_a_job() {
    let server =
        run("firefox.mjs", "firefox", |address, _, pictures| vec![address.into(), pictures.into()]);
    assert!(server.folder.join("versions/lamplighters-rod/0001.toml").exists());
}
