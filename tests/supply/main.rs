//! What the program is built from: licences, duplicates, sources and features
//! of all packages, as cargo itself reports them for Linux.
//!
//! cargo-deny would take minutes to install for the same answers; its check of
//! advisories needs a database from the network (see DEVELOPERS.md).

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

/// Licences that let the program be given away under its own; a package needs
/// one of a choice, and all that are joined by AND.
const ALLOWED: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Packages that the program itself holds in several versions, and why.
const ACCEPTED: &[(&str, &str)] = &[
    ("approx", "the B-rep library's algebra is older than ours"),
    ("getrandom", "the B-rep library's random numbers are older than those of the hash map"),
    ("glam", "named by nalgebra for conversions; not built"),
    ("hashbrown", "two hash maps behind toml and spade"),
    ("miniz_oxide", "png and flate2 have not met yet"),
    ("syn", "derive macros, at build time"),
    ("thiserror", "the B-rep library has version 1"),
    ("thiserror-impl", "the B-rep library has version 1"),
];

/// Features that must not come back: each brings packages that nothing needs.
const UNWANTED: &[&str] = &["vtkio", "nom", "xz2", "openssl-sys", "bzip2", "zstd"];

struct Tree {
    packages: BTreeMap<String, Value>,
    links: BTreeMap<String, Vec<Value>>,
    root: String,
}

impl Tree {
    fn read() -> Tree {
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let output = Command::new(cargo)
            .args(["metadata", "--format-version", "1", "--locked", "--filter-platform"])
            .args(["x86_64-unknown-linux-gnu", "--manifest-path"])
            .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml"))
            .output()
            .expect("cargo runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let all: Value = serde_json::from_slice(&output.stdout).expect("cargo prints JSON");
        let id = |v: &Value| v["id"].as_str().expect("an id").to_owned();
        let list = |v: &Value| v.as_array().expect("a list").clone();
        Tree {
            packages: list(&all["packages"]).into_iter().map(|p| (id(&p), p)).collect(),
            links: list(&all["resolve"]["nodes"])
                .into_iter()
                .map(|n| (id(&n), list(&n["deps"])))
                .collect(),
            root: all["resolve"]["root"].as_str().expect("a root").to_owned(),
        }
    }

    /// The packages that are built, with those for tests or without.
    fn reached(&self, with_tests: bool) -> BTreeSet<&str> {
        let mut seen = BTreeSet::new();
        let mut open = vec![self.root.as_str()];
        while let Some(id) = open.pop() {
            if !seen.insert(id) {
                continue;
            }
            for link in &self.links[id] {
                let kinds = link["dep_kinds"].as_array().expect("kinds");
                let used =
                    kinds.iter().any(|k| k["kind"] != "dev" || (with_tests && id == self.root));
                if used {
                    open.push(link["pkg"].as_str().expect("an id"));
                }
            }
        }
        seen
    }

    fn text(&self, id: &str, key: &str) -> &str {
        self.packages[id][key].as_str().unwrap_or_default()
    }
}

/// Whether an expression of SPDX can be met with [`ALLOWED`] licences. Old
/// packages write a slash for OR.
fn allowed(expression: &str) -> bool {
    let text = expression.replace('/', " OR ");
    let mut rest = text.as_str();
    let met = either(&mut rest);
    met && rest.trim().is_empty()
}

fn either(rest: &mut &str) -> bool {
    let mut met = both(rest);
    while eat(rest, "OR ") {
        met |= both(rest);
    }
    met
}

fn both(rest: &mut &str) -> bool {
    let mut met = one(rest);
    while eat(rest, "AND ") {
        met &= one(rest);
    }
    met
}

fn one(rest: &mut &str) -> bool {
    if eat(rest, "(") {
        let met = either(rest);
        return met && eat(rest, ")");
    }
    let end = [" OR ", " AND ", ")"].iter().filter_map(|w| rest.find(w)).min();
    let (name, after) = rest.split_at(end.unwrap_or(rest.len()));
    let met = ALLOWED.contains(&name.trim());
    *rest = after;
    met
}

fn eat(rest: &mut &str, word: &str) -> bool {
    let trimmed = rest.trim_start();
    match trimmed.strip_prefix(word) {
        Some(after) => {
            *rest = after;
            true
        }
        None => false,
    }
}

#[test]
fn licence_expressions() {
    for good in [
        "MIT",
        "MIT OR GPL-3.0",
        "GPL-3.0/MIT",
        "(MIT OR Apache-2.0) AND Unicode-3.0",
        "Apache-2.0 WITH LLVM-exception OR GPL-2.0",
    ] {
        assert!(allowed(good), "{good}");
    }
    for bad in ["", "GPL-3.0", "MIT AND GPL-3.0", "(MIT OR Zlib) AND MPL-2.0", "MIT OR", "MIT)"] {
        assert!(!allowed(bad), "{bad}");
    }
}

#[test]
fn every_package_may_be_used() {
    let tree = Tree::read();
    let all = tree.reached(true);
    assert!(all.len() > 50, "{}", all.len());
    for id in &all {
        let licence = tree.text(id, "license");
        assert!(allowed(licence), "{}: licence `{licence}`", tree.text(id, "name"));
        let source = tree.text(id, "source");
        let registry = source == "registry+https://github.com/rust-lang/crates.io-index";
        assert!(registry || *id == tree.root, "{} comes from `{source}`", tree.text(id, "name"));
    }
    println!("{} packages, {} of them in the program", all.len(), tree.reached(false).len());
}

#[test]
fn duplicates_are_known() {
    let tree = Tree::read();
    let mut versions: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for id in tree.reached(false) {
        versions.entry(tree.text(id, "name")).or_default().insert(tree.text(id, "version"));
    }
    for (name, several) in versions.iter().filter(|(_, v)| v.len() > 1) {
        println!("{name}: {several:?}");
        let known = ACCEPTED.iter().any(|(accepted, _)| accepted == name);
        assert!(known, "{name} is built in versions {several:?}; accept it with a reason");
    }
    for (name, why) in ACCEPTED {
        let still = versions.get(name).is_some_and(|v| v.len() > 1);
        assert!(still, "{name} is accepted ({why}) but no longer there twice: take it out");
    }
}

#[test]
fn no_package_comes_by_a_feature_that_nothing_needs() {
    let tree = Tree::read();
    for id in tree.reached(true) {
        let name = tree.text(id, "name");
        assert!(!UNWANTED.contains(&name), "{name} is back");
    }
}
