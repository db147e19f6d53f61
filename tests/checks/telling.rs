//! The command: terminal and JSON tell the same, the exit code and `--allow`.

use std::path::PathBuf;

use borewright::cli::{Environment, Exit, run};
use borewright::export::stl;
use borewright::parts::PART_KINDS;

use crate::shapes::*;

fn folder(name: &str) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&path).expect("target is writable");
    path
}

fn command(words: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut env = Environment {
        kinds: PART_KINDS,
        out: &mut out,
        err: &mut err,
        colour: false,
        profiles: None,
        epoch: None,
    };
    let words = ["borewright", "check"].iter().chain(words).map(Into::into);
    let exit = run(words, &mut env);
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    (exit, text(out), text(err))
}

#[test]
fn the_command_prints_a_table_or_json_and_its_exit_code_tells() {
    let path = folder("check").join("tube.stl");
    let soup = crate::verdicts::tube(0.9);
    std::fs::write(&path, stl(soup.vertices(), soup.triangles(), "tube").expect("good"))
        .expect("writable");
    let file = path.to_str().expect("UTF-8");
    let base = [file, "--material", "petg", "--printer"];
    let with = |more: &[&str]| command(&[&base[..], more].concat());

    let (exit, out, _) = with(&["fdm-thin"]);
    assert_eq!(exit, Exit::Made, "{out}");
    let (exit, out, _) = with(&["fdm-stout"]);
    assert_eq!(exit, Exit::CannotBeMade, "{out}");
    assert!(out.contains("limit: wall_supported of fdm-stout"), "{out}");
    assert!(out.contains("will not print as drawn"), "{out}");

    let (exit, out, _) = with(&["fdm-stout", "--allow", "wall=a test print held"]);
    assert_eq!(exit, Exit::Made, "{out}");
    assert!(out.contains("allowed: a test print held"), "{out}");
    let (exit, _, err) = with(&["fdm-stout", "--allow", "wall"]);
    assert_eq!(exit, Exit::BadInput);
    assert!(err.contains("--allow wall gives no reason"), "{err}");
    let (exit, _, err) = with(&["fdm-stout", "--allow", "wal=x"]);
    assert_eq!(exit, Exit::BadInput);
    assert!(err.contains("did you mean"), "{err}");

    let (exit, out, _) = with(&["fdm-stout", "--json"]);
    assert_eq!(exit, Exit::CannotBeMade);
    let json: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(json["printable"], false);
    let body = &json["files"][0]["bodies"][0];
    let wall = body["findings"].as_array().expect("a list").iter().find(|f| f["check"] == "wall");
    let wall = wall.expect("a thin wall");
    assert_eq!(wall["severity"], "error");
    assert_eq!(wall["unit"], "mm");
    assert!(wall["place"]["region"]["triangles"].as_array().expect("triangles").len() > 10);

    let (exit, _, err) = command(&["nowhere.stl", "--printer", "fdm-thin", "--material", "petg"]);
    assert_eq!(exit, Exit::BadInput);
    assert!(err.contains("cannot read nowhere.stl"), "{err}");
    let (exit, _, err) = with(&["fdm-stout", "--unit", "furlong"]);
    assert_eq!(exit, Exit::BadInput);
    assert!(err.contains("unknown unit"), "{err}");
}

/// Words as they come, however the terminal breaks lines.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn terminal_and_json_tell_the_same() {
    let gallows = drawn_out(
        &[(0.0, 0.0), (6.0, 0.0), (6.0, 30.0), (40.0, 30.0), (40.0, 30.9), (0.0, 30.9)],
        6.0,
    );
    let path = folder("telling").join("gallows.stl");
    std::fs::write(&path, stl(gallows.vertices(), gallows.triangles(), "g").expect("good"))
        .expect("writable");
    let file = path.to_str().expect("UTF-8");
    let base =
        [file, "--material", "petg", "--printer", "fdm-thin", "--allow", "wall=held by hand"];
    let (exit, text, _) = command(&base);
    let (same, json, _) = command(&[&base[..], &["--json"]].concat());
    assert_eq!(exit, same);
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let found = json["files"][0]["bodies"][0]["findings"].as_array().expect("a list");
    let text = flat(&text);
    for word in ["error", "warning", "note"] {
        let rows = found.iter().filter(|f| f["severity"] == word);
        let names: Vec<&str> = rows.map(|f| f["check"].as_str().expect("a name")).collect();
        assert!(!names.is_empty(), "no {word} to compare: {json:#}");
        for name in &names {
            let told = text.matches(&format!("{word} {name}:")).count();
            assert_eq!(told, names.iter().filter(|n| *n == name).count(), "{word} {name}: {text}");
        }
    }
    for f in found {
        for key in ["text", "hint", "limit_from", "limit_source", "allowed"] {
            if let Some(words) = f[key].as_str() {
                assert!(text.contains(&flat(words)), "{words} is not in {text}");
            }
        }
    }
    assert!(found.iter().any(|f| f["allowed"] == "held by hand"), "{json:#}");
}
