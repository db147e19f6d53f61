//! The page in a browser, driven by playwright-core: see `browser.mjs`.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::{Server, example};

/// Where `tests/page/install.sh` puts playwright-core.
fn modules() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/page/node_modules");
    assert!(
        folder.join("playwright-core").exists(),
        "these tests need what tests/page/package-lock.json names; get it with\n\
         \n    bash tests/page/install.sh\n"
    );
    folder
}

/// Runs one of the scenes of `browser.mjs`; what it prints is shown.
fn played(scene: &str) {
    let server = Server::start(&format!("browser-{scene}"), &["--build-seconds", "300"]);
    for name in ["lamplighters-rod.toml", "storm-lantern-staff.toml"] {
        std::fs::write(server.folder.join(name), example(name)).expect("written");
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let pictures = root.join("target/serve");
    std::fs::create_dir_all(&pictures).expect("made");
    let status = Command::new("node")
        .arg(root.join("tests/serve/browser.mjs"))
        .args([scene, &server.address()])
        .arg(&server.folder)
        .arg(&pictures)
        .arg(modules())
        .stdin(Stdio::null())
        .status()
        .expect("node is installed: apt-get install nodejs chromium");
    assert!(status.success(), "{scene}: {status}");
}

#[test]
fn a_new_user_makes_a_cradle() {
    played("cradle");
}

#[test]
fn a_new_user_makes_a_plate() {
    played("plate");
}

#[test]
fn a_new_user_makes_a_tray() {
    played("tray");
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
