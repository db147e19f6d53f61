//! The server against its own description: schemathesis, a property-based
//! tester of OpenAPI descriptions, makes requests from it, well-formed and not,
//! and checks every answer against what is described.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::{Server, example};

/// The interpreter with the packages of `tests/reference/requirements.txt`.
pub fn python() -> PathBuf {
    let own = || Path::new(env!("CARGO_MANIFEST_DIR")).join(".venv/bin/python");
    std::env::var_os("BOREWRIGHT_PYTHON").map_or_else(own, PathBuf::from)
}

/// Requests that are made for each route, at most.
fn requests() -> String {
    std::env::var("BOREWRIGHT_REQUESTS").unwrap_or_else(|_| "20".to_owned())
}

#[test]
fn every_answer_is_as_described() {
    let server = Server::start("as-described", &[]);
    std::fs::write(server.folder.join("wand.toml"), example("ember-wand.toml")).expect("written");
    let address = server.address();
    let output = Command::new(python())
        .args(["-m", "schemathesis.cli"])
        .arg("--config-file")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/serve/schemathesis.toml"))
        .arg("run")
        .arg(format!("{address}openapi.json"))
        .args(["--url", address.trim_end_matches('/')])
        .args(["--max-examples", &requests(), "--seed", "1", "--no-color"])
        .current_dir(&server.folder)
        .stdin(Stdio::null())
        .output()
        .expect("Python with the packages of tests/reference/requirements.txt");
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{told}{}", String::from_utf8_lossy(&output.stderr));
    let described = server.get("openapi.json").json();
    let paths = described["paths"].as_object().expect("paths").values();
    let routes: usize = paths.filter_map(|path| path.as_object()).map(|path| path.len()).sum();
    // The description itself is read and not tried.
    assert!(told.contains(&format!("Tested: {}", routes - 1)), "{routes} routes: {told}");
    assert_eq!(server.get("api/files").status, 200, "it still answers");
}
