//! What the page asks for, and that one build harms no other.

use std::collections::BTreeMap;
use std::fs;
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::{Server, edit_of, example};

#[test]
fn shapes_that_the_page_holds_are_not_sent_again() {
    let server = Server::start("held", &[]);
    let text = example("ember-wand.toml");
    let ring = "\n[[part]]\nkind = \"adapter_ring\"\nname = \"ring\"\nlength = 20\ninner = 18\n";
    let text = format!("{text}{ring}");
    let edit = |inner: &str, holds: &Value| {
        let changes = json!([{ "set": { "field": "part[2].inner", "value": inner } }]);
        let job = json!({ "name": "w", "text": text, "changes": changes, "holds": holds });
        let answer = server.post("api/edit", &job);
        assert_eq!(answer.status, 200);
        (answer.body.len(), answer.json()["scene"].clone())
    };
    let shapes = |scene: &Value| -> Vec<(String, bool)> {
        let all =
            ["bodies", "components"].iter().flat_map(|k| scene[k].as_array().expect("a list"));
        all.map(|item| {
            let key = item["shape"]["key"].as_str().expect("a key").to_owned();
            (key, item["shape"]["corners"].is_string())
        })
        .collect()
    };
    let (whole, first) = edit("18", &json!([]));
    assert!(shapes(&first).iter().all(|(_, sent)| *sent));
    let keys: Vec<String> = shapes(&first).into_iter().map(|(key, _)| key).collect();
    let (same, again) = edit("18", &json!(keys));
    assert!(shapes(&again).iter().all(|(_, sent)| !sent) && 4 * same < whole, "{same} of {whole}");
    // Another ring is sent, and its bodies alone.
    let (_, other) = edit("17.5", &json!(keys));
    let ring = |scene: &Value| {
        let bodies = scene["bodies"].as_array().expect("bodies");
        bodies.iter().position(|b| b["name"] == "ring").expect("the ring")
    };
    for (i, (key, sent)) in shapes(&other).iter().enumerate() {
        assert_eq!(*sent, !keys.contains(key), "shape {i}");
    }
    assert!(shapes(&other)[ring(&other)].1 && shapes(&other).iter().any(|(_, sent)| !sent));
    let found = json!({ "name": "w", "text": text, "holds": keys });
    let found = server.post("api/findings", &found).json();
    assert!(shapes(&found["scene"]).iter().all(|(_, sent)| !sent));
    assert!(found["scene"]["bodies"][0]["heat"]["at"].as_str().is_some_and(|at| !at.is_empty()));
}

#[test]
fn a_job_is_edited_made_checked_and_kept() {
    let server = Server::start("whole", &["--build-seconds", "300"]);
    let text = example("ember-wand.toml");
    let changes = json!([{ "set": { "field": "handle.length", "value": "15,2 cm" } }]);
    let made = server.post("api/edit", &edit_of(&text, changes)).json();
    let new = made["text"].as_str().expect("a text");
    assert_eq!(new, text.replace("length = 150", "length = 152.0"), "comments stay");
    assert_eq!(made["faults"], json!([]));
    assert_eq!(made["written"]["handle"]["length"], "152.0");
    let scene = made["scene"]["bodies"].as_array().expect("bodies");
    assert!(
        scene.len() >= 2 && scene[0]["shape"]["corners"].as_str().is_some_and(|c| c.len() > 100)
    );

    let job = json!({ "name": "wand.toml", "text": new });
    let found = server.post("api/findings", &job).json();
    assert!(found["verdict"].as_str().is_some_and(|v| v.contains("printer fdm-thin")), "{found}");
    let outputs: Vec<&str> = found["outputs"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|o| o["name"].as_str())
        .collect();
    for output in &outputs {
        let asked = json!({ "name": "wand.toml", "text": new, "output": output });
        let answer = server.post("api/output", &asked);
        assert_eq!(answer.status, 200, "{output}");
        assert!(answer.body.len() > 200, "{output}");
        let again = server.post("api/output", &asked);
        assert!(again.body == answer.body, "{output} differs from one time to the next");
    }
    assert!(outputs.contains(&"tray.stl") && outputs.contains(&"report.html"), "{outputs:?}");
    let stl = server.post("api/output", &json!({ "name": "w", "text": new, "output": "tray.stl" }));
    let triangles = u32::from_le_bytes(stl.body[80..84].try_into().expect("four bytes"));
    assert_eq!(stl.body.len(), 84 + 50 * triangles as usize);
    let none = server.post("api/output", &json!({ "name": "w", "text": new, "output": "../x" }));
    assert_eq!((none.status, none.code().as_str()), (422, "cannot_be_made"));

    let saved = server.post("api/save", &json!({ "name": "wand.toml", "text": new })).json();
    assert_eq!(fs::read_to_string(server.folder.join("wand.toml")).expect("there"), new);
    assert_eq!(server.post("api/save", &json!({ "name": "wand.toml", "text": text })).status, 409);
    let again = json!({ "name": "wand.toml", "text": text, "was": saved["digest"] });
    assert_eq!(server.post("api/save", &again).json()["version"], 2);
    let first = server.post("api/version", &json!({ "name": "wand.toml", "number": 1 })).json();
    assert_eq!(first["text"], *new);
    assert_eq!(server.post("api/open", &json!({ "name": "wand.toml" })).json()["text"], text);
}

#[test]
fn faults_are_told_at_their_fields_with_what_cures_them() {
    let server = Server::start("faults", &[]);
    let text = example("ember-wand.toml");
    let told = |field: &str, value: &str| {
        let changes = json!([{ "set": { "field": field, "value": value } }]);
        server.post("api/edit", &edit_of(&text, changes)).json()
    };
    for (field, value, code, cure) in [
        ("handle.length", "15000", "out_of_range", Some("1500")),
        ("handle.length", "long", "wrong_type", None),
        ("handle.bore", "", "missing", None),
        ("part[1].wire", "awg27", "unknown_name", Some("awg22")),
        ("part[1].positive", "frnt", "not_an_option", Some("front")),
        ("part[1].wires", "2.5", "wrong_type", None),
    ] {
        let answer = told(field, value);
        let fault = &answer["faults"][0];
        assert_eq!(
            (fault["field"].as_str(), fault["code"].as_str()),
            (Some(field), Some(code)),
            "{value}: {fault}"
        );
        let cures: Vec<&str> = fault["cures"]
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(|c| c[0]["value"].as_str())
            .collect();
        if let Some(cure) = cure {
            assert!(cures.contains(&cure), "{field} = {value}: {cures:?}");
            let changes = json!([{ "set": { "field": field, "value": cure } }]);
            let after = server
                .post("api/edit", &edit_of(answer["text"].as_str().expect("a text"), changes));
            let left = after.json()["faults"].to_string();
            assert!(!left.contains(code), "{left}");
        }
        assert!(answer["scene"].is_null());
    }
    // A part that cannot be made says what would fit, and applying it makes it fit.
    let answer = told("handle.bore", "22.0, 22.03");
    let fault = &answer["faults"][0];
    assert_eq!(fault["code"], "refused", "{fault}");
    let cure =
        fault["cures"].as_array().expect("a list").iter().find(|c| c[0]["field"] == "part[1].cell");
    let cure = cure.unwrap_or_else(|| panic!("no cell is offered: {fault}"))[0].clone();
    let changes = json!([{ "set": cure }]);
    let after =
        server.post("api/edit", &edit_of(answer["text"].as_str().expect("a text"), changes)).json();
    assert!(
        after["text"].as_str().is_some_and(|t| t.contains("profile = \"14500\"")),
        "{}",
        after["text"]
    );
}

#[test]
fn a_chassis_and_a_card_come_from_the_tables_too() {
    let server = Server::start("optional", &[]);
    let tables = server.get("api/tables").json();
    let optional = tables["optional"].as_array().expect("tables");
    let keys: Vec<&str> = optional.iter().filter_map(|row| row["key"].as_str()).collect();
    assert_eq!(keys, ["chassis", "card"]);
    let text = example("ember-wand.toml");
    let changes = json!([
        { "add": "card" }, { "set": { "field": "card.owner", "value": "The ember witch" } },
        { "add": "card.control" },
        { "set": { "field": "card.control[1].does", "value": "short: wakes the ember" } },
        { "add": "part[1].cavity" }, { "set": { "field": "part[1].cavity.from_z", "value": "3" } },
    ]);
    let answer = server.post("api/edit", &edit_of(&text, changes)).json();
    let written = &answer["written"];
    assert_eq!(written["card"]["owner"], "The ember witch");
    assert_eq!(written["card"]["control"].as_array().map(Vec::len), Some(1), "{written}");
    assert!(written["part"][0]["cavity"].is_object(), "{written}");
    // A number stays one, so that the reader asks for what is missing and for nothing else.
    let faults = answer["faults"].as_array().expect("faults");
    assert!(faults.iter().all(|f| f["code"] != "wrong_type"), "{faults:?}");
    let removed = server
        .post(
            "api/edit",
            &edit_of(answer["text"].as_str().expect("a text"), json!([{ "remove": "card" }])),
        )
        .json();
    assert!(removed["written"]["card"].is_null());
}

#[test]
fn parts_and_tables_come_and_go_from_the_tables_alone() {
    let server = Server::start("kinds", &[]);
    let tables = server.get("api/tables").json();
    let kinds = tables["kinds"].as_array().expect("kinds");
    assert!(kinds.len() >= 12);
    for kind in kinds {
        let name = kind["name"].as_str().expect("a name");
        let new = server.post("api/new", &json!({ "kinds": [name] })).json();
        let text = new["text"].as_str().expect("a text");
        let answer = server.post("api/edit", &edit_of(text, json!([{ "part": name }]))).json();
        let faults = answer["faults"].as_array().expect("faults");
        assert!(faults.iter().all(|f| f["code"] == "not_filled_in"), "{name}: {faults:?}");
        assert_eq!(answer["written"]["part"].as_array().map(Vec::len), Some(2), "{name}");
        for row in kind["rows"].as_array().expect("rows") {
            if !["table", "list"].contains(&row["type"].as_str().expect("a type")) {
                continue;
            }
            let field = format!("part[2].{}", row["key"].as_str().expect("a key"));
            let has = answer["written"]["part"][1].get(row["key"].as_str().expect("a key"));
            if row["type"] == "table" && has.is_some() {
                continue;
            }
            let more = server
                .post("api/edit", &edit_of(text, json!([{ "part": name }, { "add": field }])))
                .json();
            assert!(more["text"].is_string(), "{name} {field}: {more}");
            assert!(
                !more["written"]["part"][1][row["key"].as_str().expect("a key")].is_null(),
                "{field}"
            );
        }
    }
    assert_eq!(server.post("api/new", &json!({ "kinds": ["lathe"] })).status, 422);
}

#[test]
fn two_hundred_builds_wait_and_the_page_still_answers() {
    let server = Server::start("queued", &[]);
    // A ring is made in no time, even by a program that is built for tests.
    let text = "format = 1\n[handle]\nname = \"t\"\nbore = [31.4]\nlength = 150\n[print]\n\
                printer = \"fdm-medium\"\nmaterial = \"pla\"\n[[part]]\nkind = \"adapter_ring\"\n\
                name = \"ring\"\nlength = 20\ninner = 24\n";
    let begun = Instant::now();
    thread::scope(|scope| {
        let server = &server;
        let jobs: Vec<_> = (0..200)
            .map(|i| {
                let changes = json!([{ "set": { "field": "handle.length", "value": format!("{}", 150 + i % 7) } }]);
                let job = edit_of(text, changes);
                scope.spawn(move || {
                    let answer = server.post_for("api/edit", &format!("page-{i}"), 1, &job);
                    assert_eq!(answer.status, 200, "{i}");
                    assert!(answer.json()["scene"].is_object(), "{i}");
                })
            })
            .collect();
        let mut slowest = Duration::ZERO;
        for _ in 0..20 {
            let asked = Instant::now();
            assert_eq!(server.get("").status, 200);
            assert_eq!(server.get("api/files").status, 200);
            slowest = slowest.max(asked.elapsed());
        }
        println!("slowest page while 200 builds wait: {slowest:?}");
        assert!(slowest < Duration::from_secs(2), "{slowest:?}");
        jobs.into_iter().for_each(|job| job.join().expect("joined"));
    });
    println!("200 builds: {:?}", begun.elapsed());
}

#[test]
fn later_edits_of_a_page_overtake_its_earlier_ones() {
    let server = Server::start("overtaken", &[]);
    let text = example("storm-lantern-staff.toml");
    let statuses = thread::scope(|scope| {
        let server = &server;
        let jobs: Vec<_> = (1..=40)
            .map(|edit| {
                let job = edit_of(&text, json!([]));
                let job =
                    scope.spawn(move || (edit, server.post_for("api/edit", "one", edit, &job)));
                thread::sleep(Duration::from_millis(5));
                job
            })
            .collect();
        jobs.into_iter().map(|job| job.join().expect("joined")).collect::<Vec<_>>()
    });
    let mut count: BTreeMap<u16, usize> = BTreeMap::new();
    for (edit, answer) in &statuses {
        *count.entry(answer.status).or_default() += 1;
        match answer.status {
            200 => {}
            409 => assert_eq!(answer.code(), "overtaken"),
            other => panic!("edit {edit}: {other}"),
        }
    }
    println!("{count:?}");
    assert_eq!(statuses[39].1.status, 200, "the last edit is made");
    assert!(count.get(&409).is_some_and(|n| *n >= 20), "{count:?}");
    let late = server.post_for("api/edit", "one", 3, &edit_of(&text, json!([])));
    assert_eq!((late.status, late.code().as_str()), (409, "overtaken"));
    assert_eq!(server.post_for("api/edit", "two", 1, &edit_of(&text, json!([]))).status, 200);
}

/// Processes that build for a server, by the system's table of processes.
#[cfg(target_os = "linux")]
fn builders(server: &Server) -> Vec<u32> {
    let of = |entry: fs::DirEntry| {
        let id: u32 = entry.file_name().to_str()?.parse().ok()?;
        let about = fs::read_to_string(entry.path().join("stat")).ok()?;
        let parent: u32 = about.rsplit_once(") ")?.1.split(' ').nth(1)?.parse().ok()?;
        (parent == server.child.id()).then_some(id)
    };
    fs::read_dir("/proc").expect("there").flatten().filter_map(of).collect()
}

#[cfg(target_os = "linux")]
#[test]
fn a_build_that_dies_harms_no_other() {
    let server = Server::start("dies", &[]);
    let text = example("ember-wand.toml");
    let job = edit_of(&text, json!([]));
    assert_eq!(server.post("api/edit", &job).status, 200);
    for _ in 0..3 {
        let ids = builders(&server);
        assert!(ids.len() >= 2, "{ids:?}");
        for id in ids {
            let done = std::process::Command::new("kill").args(["-9", &id.to_string()]).status();
            assert!(done.is_ok_and(|status| status.success()));
        }
        // The task that meets a dead process is told so; the next one is done.
        let first = server.post("api/edit", &job);
        assert!(first.status == 200 || first.code() == "ended", "{}", first.status);
        assert_eq!(server.post("api/edit", &job).status, 200);
    }
}

#[test]
fn a_build_ends_at_its_limit_of_time() {
    let server = Server::start("time", &["--build-seconds", "0.002"]);
    let job = json!({ "name": "a", "text": example("storm-lantern-staff.toml") });
    let begun = Instant::now();
    let answer = server.post("api/findings", &job);
    assert_eq!((answer.status, answer.code().as_str()), (422, "took_too_long"));
    assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
    assert_eq!(server.get("").status, 200);
}

/// Triangles of a scan that is too large for a build's memory.
const SCANNED: u32 = 700_000;

#[cfg(unix)]
#[test]
fn a_build_ends_at_its_limit_of_memory() {
    let server = Server::start("memory", &["--build-memory", "128", "--build-seconds", "120"]);
    // A scan of 700,000 triangles, none of which meet, needs more.
    let mut scan = vec![0; 80];
    scan.extend(SCANNED.to_le_bytes());
    for i in 0..SCANNED {
        let at = i as f32 * 1e-3;
        scan.extend(
            [0.0, 0.0, 1.0, at, 0.0, 0.0, at, 9.0, 0.0, 0.0, 9.0, at]
                .iter()
                .flat_map(|v: &f32| v.to_le_bytes()),
        );
        scan.extend([0, 0]);
    }
    fs::write(server.folder.join("scan.stl"), scan).expect("written");
    let text = "format = 1\n[handle]\nname = \"t\"\nbore = [36]\nlength = 300\n[print]\n\
                printer = \"fdm-medium\"\nmaterial = \"pla\"\n[[part]]\nkind = \"crystal_cradle\"\n\
                name = \"c\"\npixel = \"bare-5050\"\nscan = \"scan.stl\"\n";
    let answer = server.post("api/edit", &edit_of(text, json!([])));
    assert_eq!(
        (answer.status, answer.code().as_str()),
        (422, "ended"),
        "{}",
        String::from_utf8_lossy(&answer.body)
    );
    let small = server.post("api/edit", &edit_of(&example("ember-wand.toml"), json!([])));
    assert_eq!(small.status, 200);
}

#[test]
fn nonsense_in_every_field_is_an_answer() {
    let server = Server::start("nonsense", &[]);
    let text = example("ember-wand.toml");
    let fields = [
        "handle.bore",
        "part[1].cell",
        "part[1].cell.length_max",
        "print.printer",
        "part[1].wires",
    ];
    let values = [
        "x",
        "-1",
        "1e999",
        "NaN",
        "\"",
        "[[",
        "{ a = 1 }",
        "\u{202e}",
        "😀",
        "1/0",
        "'''",
        "= =",
        "#",
    ];
    for field in fields {
        for value in values {
            let changes = json!([{ "set": { "field": field, "value": value } }]);
            let answer = server.post("api/edit", &edit_of(&text, changes));
            assert_eq!(answer.status, 200, "{field} = {value}");
            let told = answer.json();
            assert!(told["faults"].as_array().is_some_and(|f| !f.is_empty()), "{field} = {value}");
        }
    }
    for field in [
        "",
        ".",
        "part",
        "part[0].a",
        "part[99].a",
        "handle..a",
        "x.y.z",
        "part[1].[",
        "handle.a\nb",
    ] {
        for change in [
            json!({ "set": { "field": field, "value": "1" } }),
            json!({ "add": field }),
            json!({ "remove": field }),
        ] {
            let answer = server.post("api/edit", &edit_of(&text, json!([change])));
            assert!([200, 422].contains(&answer.status), "{field}: {}", answer.status);
        }
    }
    let broken = server.post("api/edit", &edit_of("[handle", json!([]))).json();
    assert_eq!(broken["faults"][0]["code"], "syntax");
    assert_eq!(broken["faults"][0]["line"], 1);
}

#[test]
fn every_route_is_described() {
    let server = Server::start("described", &[]);
    let described = server.get("openapi.json").json();
    assert_eq!(described["openapi"], "3.1.0");
    let paths = described["paths"].as_object().expect("paths");
    assert!(paths.len() >= 14);
    for (path, methods) in paths {
        for (method, operation) in methods.as_object().expect("methods") {
            assert!(operation["summary"].as_str().is_some_and(|s| s.len() > 10), "{path}");
            let path = path.trim_start_matches('/');
            match method.as_str() {
                "get" => assert_eq!(server.get(path).status, 200, "{path}"),
                "post" => {
                    assert!(operation["requestBody"]["required"] == Value::Bool(true), "{path}");
                    let status = server.post(path, &json!({ "no such key": 1 })).status;
                    assert_eq!(status, 400, "{path}");
                    assert!(operation["responses"].get("400").is_some(), "{path}");
                }
                other => panic!("{path}: {other}"),
            }
        }
    }
}

#[test]
fn jobs_of_the_folder_are_made_plated_and_batched() {
    let server = Server::start("commands", &[]);
    for name in ["ember-wand.toml", "two-plungers.toml"] {
        fs::write(server.folder.join(name), example(name)).expect("written");
    }
    let made = server.post("api/make", &json!({ "name": "ember-wand.toml" })).json();
    assert_eq!(made["exit"], 0, "{made}");
    assert!(server.folder.join("prints/ember-wand/tray.stl").is_file());
    let names = json!({ "names": ["ember-wand.toml", "two-plungers.toml"], "copies": 2 });
    let plated = server.post("api/plate", &names).json();
    assert_eq!(plated["exit"], 0, "{plated}");
    assert!(server.folder.join("plates/plate-1.3mf").is_file());
    let batch = server.post("api/batch", &json!({ "names": ["ember-wand.toml"] })).json();
    assert_eq!(batch["exit"], 0, "{batch}");
    assert!(server.folder.join("batch/summary.csv").is_file());
    variants_are_made(&server);
    let mesh = fs::read(server.folder.join("prints/ember-wand/tray.stl")).expect("there");
    let head = [("Content-Type", "application/octet-stream")];
    assert_eq!(server.ask("POST", "api/mesh?name=tray%20(1).stl", &head, &mesh).status, 200);
    assert_eq!(server.ask("POST", "api/mesh?name=tray%20(1).stl", &head, &mesh).status, 409);
    assert_eq!(fs::read(server.folder.join("tray (1).stl")).expect("there"), mesh);
    let survey = server.post("api/survey", &json!({ "name": "tray (1).stl" })).json();
    assert_eq!(survey["exit"], 0, "{survey}");
    assert!(survey["out"].as_str().is_some_and(|out| out.contains("fits a circle of")), "{survey}");
}

/// A table of variants is written from typed values, listed as such, and made.
fn variants_are_made(server: &Server) {
    let name = "ember-wand.toml";
    let text = example(name);
    let asked = |field: &str, values: &str| {
        let fields = json!([{ "field": field, "values": values }]);
        server.post("api/vary", &json!({ "base": name, "text": text, "fields": fields }))
    };
    let table = asked("part[1].from_z", "12 to 13 in 3").json();
    assert_eq!(table["count"], 3, "{table}");
    assert_eq!(asked("part[1].from", "12").code(), "cannot_be_made");
    let save = json!({ "name": "wands.toml", "text": table["text"] });
    assert_eq!(server.post("api/save", &save).status, 200);
    fs::write(server.folder.join("more-wands.csv"), "base,part[1].from_z\nember-wand.toml,12.25\n")
        .expect("written");
    fs::write(server.folder.join("notes.csv"), "a,b\n").expect("written");
    let files = server.get("api/files").json();
    let kind = |name: &str| {
        let all = files["files"].as_array().expect("a list");
        all.iter().find(|file| file["name"] == name).map(|file| file["kind"].clone())
    };
    assert_eq!(kind("wands.toml"), Some(json!("variants")), "{files}");
    assert_eq!(kind("more-wands.csv"), Some(json!("variants")), "{files}");
    assert_eq!((kind(name), kind("notes.csv")), (Some(json!("job")), None), "{files}");
    let made =
        server.post("api/batch", &json!({ "names": ["wands.toml", "more-wands.csv"] })).json();
    assert_eq!(made["exit"], 0, "{made}");
    let summary = fs::read_to_string(server.folder.join("batch/summary.csv")).expect("written");
    assert_eq!(summary.lines().filter(|line| line.contains("wands")).count(), 4, "{summary}");
}
