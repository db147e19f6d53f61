//! `borewright make` with test kinds: refusals, files, the report.

use borewright::cli::{Exit, guarded};

use super::support::{Folder, GOOD, ran};

/// What the good job leaves in its folder.
const FILES: [&str; 9] = [
    "lamp-block-second.3mf",
    "lamp-block-second.step",
    "lamp-block-second.stl",
    "lamp-block.3mf",
    "lamp-block.step",
    "lamp-block.stl",
    "report.html",
    "report.json",
    "report.txt",
];

#[test]
fn a_made_job_leaves_a_report_of_what_was_measured() {
    let folder = Folder::new("report");
    let job = folder.write("job.toml", GOOD);
    let out = folder.path("out");
    let run = ran(&[&"make", &job, &"--out", &out]);
    assert_eq!((run.exit, run.exit.code()), (Exit::Made, 0), "{}", run.err);
    let table: Vec<Vec<&str>> = run.out.lines().map(|l| l.split_whitespace().collect()).collect();
    assert_eq!(table[0][..2], ["body", "kind"]);
    assert_eq!(table[1][..2], ["lamp-block", "block"]);
    assert_eq!(table[2][..2], ["lamp-block-second", "block"]);
    assert!(run.out.contains("lamp-block.{stl,step,3mf}"), "{}", run.out);
    assert!(run.err.contains(
        "caution: lamp-block, lamp-block-second: a cell can burn when shorted\n  hint: cover"
    ));
    assert_eq!(folder.names("out"), FILES);
    let report = std::fs::read(out.join("report.json")).expect("written");
    let json: serde_json::Value = serde_json::from_slice(&report).expect("JSON");
    let cell = &json["parts"][0]["inputs"]["cell"];
    assert_eq!(cell["profile"], "18650");
    assert_eq!(cell["diameter_max"]["from"], "job");
    assert_eq!(cell["length_max"]["from"], "profile 18650");
    assert_eq!(cell["length_max"]["unit"], "mm");
    assert_eq!(json["parts"][0]["inputs"]["ribs"]["from"], "default");
    assert_eq!(json["parts"][0]["bodies"][1]["computed"][0]["value"], 1.5);
    assert_eq!(json["time"], "1970-01-01T00:00:00");

    let again = ran(&[&"make", &job, &"--out", &out]);
    assert_eq!(again.out, run.out);
    assert_eq!(std::fs::read(out.join("report.json")).expect("written"), report, "same bytes");
}

#[test]
fn a_refusal_points_at_its_line_and_leaves_earlier_results() {
    let folder = Folder::new("refusal");
    let job = folder.write("job.toml", GOOD);
    let out = folder.path("out");
    assert_eq!(ran(&[&"make", &job, &"--out", &out]).exit, Exit::Made);
    let before = std::fs::read(out.join("report.json")).expect("written");

    let job = folder.write("job.toml", GOOD.replace("wall = 1.5", "wall = 3.5"));
    let run = ran(&[&"make", &job, &"--out", &out]);
    assert_eq!((run.exit, run.exit.code()), (Exit::CannotBeMade, 3));
    assert_eq!(run.out, "");
    let wanted = "error: part[1].wall: a wall of 3.5 mm leaves too little of 25.36 mm\n  --> ";
    assert!(run.err.starts_with(wanted), "{}", run.err);
    assert!(run.err.contains("job.toml:17:8\n"), "{}", run.err);
    assert!(run.err.ends_with("hint: a wall of 3 mm would fit\n"), "{}", run.err);
    assert_eq!(std::fs::read(out.join("report.json")).expect("there"), before);
    assert_eq!(folder.names("out"), FILES);

    let job = folder.write("job.toml", GOOD.replace("travel = 1\n", "travel = 0.2\n"));
    let run = ran(&[&"make", &job, &"--out", &out]);
    assert!(run.err.contains("part[1].plunger[2].travel: travel 0.2 mm is under"), "{}", run.err);
}

#[test]
fn files_of_a_body_that_has_another_name_now_are_told() {
    let folder = Folder::new("renamed");
    let out = folder.path("out");
    let make = |text: &str| {
        let job = folder.write("job.toml", text);
        let run = ran(&[&"make", &job, &"--out", &out]);
        assert_eq!(run.exit, Exit::Made, "{}", run.err);
        run.err.replace("\n    ", " ")
    };
    let holds = "holds files of bodies that the run before made";
    for _ in 0..2 {
        let said = make(GOOD);
        assert!(!said.contains(holds), "{said}");
    }
    let renamed = GOOD.replace("\"lamp-block\"", "\"lantern-block\"");
    assert_ne!(renamed, GOOD);
    let said = make(&renamed);
    let told = "lamp-block.stl, lamp-block.step, lamp-block.3mf, lamp-block-second.stl";
    assert!(said.contains(holds) && said.contains(told), "{said}");
    assert!(said.contains("move them away"), "{said}");
    // Once they are gone, or the report does not tell, there is nothing to say.
    for file in FILES.iter().filter(|file| file.starts_with("lamp-block")) {
        std::fs::remove_file(out.join(file)).expect("there");
    }
    std::fs::write(out.join("lamp-block.stl"), "a scan of one's own").expect("written");
    assert!(!make(&renamed).contains(holds));
    std::fs::write(out.join("report.json"), "no report").expect("written");
    assert!(!make(GOOD).contains(holds));
}

#[test]
fn bodies_of_two_parts_cannot_share_a_name() {
    let folder = Folder::new("shared");
    let second = "\n[[part]]\nkind = \"block\"\nname = \"lamp-block-second\"\ncell = \"18650\"\n";
    let job = folder.write("job.toml", format!("{GOOD}{second}"));
    let run = ran(&[&"make", &job, &"--out", &folder.path("out")]);
    assert_eq!(run.exit, Exit::CannotBeMade);
    let part = "part[2]: its body lamp-block-second has the name of one of part lamp-block";
    assert!(run.err.contains(part), "{}", run.err);
}

#[test]
fn bad_input_is_exit_2() {
    let folder = Folder::new("bad");
    let job = folder.write("job.toml", "format = 1\n");
    let out = folder.path("out");
    let run = ran(&[&"make", &job, &"--out", &out]);
    assert_eq!((run.exit, run.exit.code()), (Exit::BadInput, 2));
    assert!(!out.exists(), "a bad job makes no folder");
    assert_eq!(ran(&[&"make", &folder.path("none.toml")]).exit, Exit::BadInput);
    assert_eq!(ran(&[&"make", &folder.path("")]).exit, Exit::BadInput);
    let bytes = folder.write("bytes.toml", [0xff, 0xd8, 0xff]);
    let run = ran(&[&"make", &bytes]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("is not part of a UTF-8 text"), "{}", run.err);
    let long = folder.write("long.toml", vec![b'#'; 10 << 20]);
    assert_eq!(ran(&[&"make", &long]).exit, Exit::BadInput);
    let good = folder.write("good.toml", GOOD);
    let run = ran(&[&"make", &good, &"--out", &good]);
    assert_eq!(run.exit, Exit::BadInput, "a file is no folder");
    assert!(run.err.contains("hint: --out names a folder to write to"), "{}", run.err);
}

#[test]
fn own_profiles_add_and_override() {
    let folder = Folder::new("own");
    let job = folder.write("job.toml", GOOD.replace("\"18650\"", "\"rod-cell\""));
    folder.write("own/cells.toml", "[rod-cell]\nlike = \"18650\"\nlength_max = 66\n");
    let own = folder.path("own");
    let run = ran(&[&"make", &job, &"--out", &folder.path("out"), &"--profiles", &own]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    let report = std::fs::read(folder.path("out/report.json")).expect("written");
    let json: serde_json::Value = serde_json::from_slice(&report).expect("JSON");
    let cell = &json["parts"][0]["inputs"]["cell"];
    assert_eq!(cell["length_max"]["from"], "profile rod-cell of cells.toml");
    assert_eq!(cell["length_min"]["from"], "profile 18650");

    folder.write("own/cells.toml", "[rod-cell]\nlike = \"18650\"\nlength_max = 6.6\n");
    let run = ran(&[&"make", &job, &"--out", &folder.path("out"), &"--profiles", &own]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("cells.toml:3:14"), "{}", run.err);
    assert!(run.err.contains("hint: 66 mm was probably meant"), "{}", run.err);

    folder.write("own/cels.toml", "");
    let run = ran(&[&"profiles", &"--profiles", &own]);
    assert!(run.err.contains("hint: did you mean cells?"), "{}", run.err);
}

#[test]
fn a_fault_of_the_program_is_exit_1() {
    let folder = Folder::new("fault");
    let job = folder.write("job.toml", GOOD.replace("wall = 1.5", "wall = 2.5"));
    let out = folder.path("out");
    let exit = guarded(|| ran(&[&"make", &job, &"--out", &out]).exit);
    assert_eq!((exit, exit.code()), (Exit::Internal, 1));
    assert!(folder.names("out").is_empty(), "nothing half-made stays");
}

/// The block of the other tests with walls that are thinner than the printer
/// holds is a cube of as many millimetres.
fn thin_job() -> String {
    GOOD.replace("wall = 1.5", "wall = 0.5")
}

#[test]
fn an_error_of_a_check_is_exit_3_with_all_files_written() {
    let folder = Folder::new("blocked");
    let job = folder.write("job.toml", thin_job());
    let out = folder.path("out");
    let run = ran(&[&"make", &job, &"--out", &out]);
    assert_eq!((run.exit, run.exit.code()), (Exit::CannotBeMade, 3), "{}", run.out);
    assert_eq!(folder.names("out"), FILES, "the files are there");
    let last = run.out.lines().last().expect("lines");
    assert!(last.starts_with("will not print as drawn on"), "{last}");
    assert!(last.contains("all files are written"), "{last}");
    let json: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("report.json")).expect("written"))
            .expect("JSON");
    assert_eq!(json["printable"], false);
    let findings = json["parts"][0]["bodies"][0]["findings"].as_array().expect("a list");
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let report = || flat(&std::fs::read_to_string(out.join("report.txt")).expect("it was written"));
    let text = report();
    for f in findings {
        let of = |key: &str| f[key].as_str().expect("a text");
        let check = format!("{} {}:", of("severity"), of("check"));
        assert!(text.contains(&check) && text.contains(of("text")), "{f} is not in report.txt");
        if f["severity"] == "error" {
            let line = format!("{check} {}", of("text"));
            assert!(flat(&run.out).contains(&line), "{line} is not in {}", run.out);
        }
    }
    let checks: Vec<&str> = findings
        .iter()
        .filter(|f| f["severity"] == "error")
        .map(|f| f["check"].as_str().expect("a word"))
        .collect();
    assert!(!checks.is_empty());

    // Every check that blocks is allowed, on the command line and in the job.
    let mut names = checks.clone();
    names.sort_unstable();
    names.dedup();
    let mut words: Vec<Box<dyn AsRef<std::ffi::OsStr>>> =
        vec![Box::new("make"), Box::new(job.clone()), Box::new("--out"), Box::new(out.clone())];
    for name in &names {
        words.push(Box::new("--allow"));
        words.push(Box::new(format!("{name}=held on a test print")));
    }
    let words: Vec<&dyn AsRef<std::ffi::OsStr>> = words.iter().map(|w| &**w).collect();
    let run = ran(&words);
    assert_eq!(run.exit, Exit::Made, "{}", run.out);
    assert!(run.out.contains("allowed: held on a test print"), "{}", run.out);
    assert!(report().contains(" allowed: held on a test print"), "{}", report());

    let in_job: String = names
        .iter()
        .map(|name| format!("[[print.allow]]\ncheck = \"{name}\"\nreason = \"seen\"\n\n"))
        .collect();
    let text = thin_job().replacen("[[part]]", &format!("{in_job}[[part]]"), 1);
    let job = folder.write("allowed.toml", &text);
    let run = ran(&[&"make", &job, &"--out", &out]);
    assert_eq!(run.exit, Exit::Made, "{}{}", run.out, run.err);
    assert!(run.out.contains("allowed: seen"), "{}", run.out);
}

#[test]
fn allowances_must_name_a_check_and_a_reason() {
    let folder = Folder::new("allowances");
    let job = folder.write("job.toml", GOOD);
    let out = folder.path("out");
    let run = ran(&[&"make", &job, &"--out", &out, &"--allow", &"wal=x"]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("did you mean wall"), "{}", run.err);
    let run = ran(&[&"make", &job, &"--out", &out, &"--allow", &"wall"]);
    assert!(run.err.contains("--allow wall gives no reason"), "{}", run.err);
    let bad = "[[print.allow]]\ncheck = \"wal\"\nreason = \"x\"\n\n[[part]]";
    let job = folder.write("bad.toml", GOOD.replacen("[[part]]", bad, 1));
    let run = ran(&[&"make", &job, &"--out", &out]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("print.allow[1].check: there is no check"), "{}", run.err);
    assert!(run.err.contains("did you mean wall"), "{}", run.err);
}

#[test]
fn a_tolerance_class_stands_for_readings() {
    let folder = Folder::new("class");
    let with = |bore: &str| {
        let lines = GOOD.lines().map(|line| match line.starts_with("bore =") {
            true => bore.to_owned(),
            false => line.to_owned(),
        });
        lines.collect::<Vec<_>>().join("\n")
    };
    let job = folder.write("job.toml", with("bore = [25]\nbore_class = \"H7\""));
    let run = ran(&[&"make", &job, &"--out", &folder.path("out")]);
    assert_eq!(run.exit, Exit::Made, "{}{}", run.out, run.err);
    let report = std::fs::read(folder.path("out/report.json")).expect("written");
    let json: serde_json::Value = serde_json::from_slice(&report).expect("JSON");
    // ISO 286: H7 at 25 mm is 0 to +21 um.
    assert_eq!(json["handle"]["bore"]["sure"], 25.0);
    assert_eq!(json["handle"]["bore"]["largest"], 25.021);
    for (bore, wanted) in [
        ("bore = [25, 25.1]\nbore_class = \"H7\"", "the nominal size alone"),
        ("bore = [25]\nbore_class = \"h7\"", "is a class of shafts"),
        ("bore = [25]\nbore_class = \"H77\"", "a letter and a grade from 5 to 14"),
    ] {
        let job = folder.write("job.toml", with(bore));
        let run = ran(&[&"make", &job, &"--out", &folder.path("out")]);
        assert_eq!(run.exit, Exit::BadInput, "{bore}");
        assert!(run.err.contains(wanted), "{}", run.err);
    }
}

/// The text between two marks.
fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let (_, rest) = text.split_once(from).unwrap_or_else(|| panic!("no {from}"));
    rest.split_once(to).unwrap_or_else(|| panic!("no {to} after {from}")).0
}

#[test]
fn the_page_holds_the_shapes_and_all_of_the_report() {
    use base64::Engine;
    let folder = Folder::new("page");
    let job = folder.write("job.toml", thin_job().replace("\"lamp\"", "\"lamp <&> post\""));
    let out = folder.path("out");
    ran(&[&"make", &job, &"--out", &out]);
    let read = |name: &str| std::fs::read_to_string(out.join(name)).expect("it was written");
    let (page, report) = (read("report.html"), read("report.json"));
    assert!(page.len() < 2_000_000, "{} bytes", page.len());
    for address in ["http:", "https:", "src=\"/", "@import", "url("] {
        assert!(!page.contains(address), "the page must not fetch: {address}");
    }
    let report: serde_json::Value = serde_json::from_str(&report).expect("JSON");
    let scene = between(&page, "id=\"scene\">", "</script>");
    let scene: serde_json::Value = serde_json::from_str(scene).expect("JSON");
    let escaped = |text: &str| {
        text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
    };
    let bodies = report["parts"].as_array().expect("a list").iter();
    let bodies: Vec<_> =
        bodies.flat_map(|part| part["bodies"].as_array().expect("a list")).collect();
    assert_eq!(scene["bodies"].as_array().expect("a list").len(), bodies.len());
    let mut pins = 0;
    for (i, body) in bodies.iter().enumerate() {
        for f in body["findings"].as_array().expect("a list") {
            let text = escaped(f["text"].as_str().expect("a text"));
            assert!(page.contains(&text), "{text} is not on the page");
            pins += usize::from(f["severity"] != "note" && !f["place"]["point"].is_null());
        }
        for c in body["computed"].as_array().expect("a list") {
            assert!(page.contains(&escaped(c["what"].as_str().expect("a text"))), "{c}");
        }
        let shape = &scene["bodies"][i]["shape"];
        let bytes = |key: &str| {
            let text = shape[key].as_str().expect("packed");
            base64::engine::general_purpose::STANDARD.decode(text).expect("base64").len()
        };
        let triangles = body["triangles"].as_u64().expect("a count") as usize;
        // Numbers of corners in sixteen bits each.
        assert_eq!(bytes("triangles"), 6 * triangles);
        // A closed surface of one piece without holes through it: Euler's formula.
        assert_eq!(bytes("corners"), 12 * (triangles / 2 + 2));
        assert_eq!(bytes("edges"), 4 * 12, "the twelve edges of a block");
    }
    assert_eq!(scene["pins"].as_array().expect("a list").len(), pins);
    assert!(pins > 0, "{report:#}");
}

#[test]
fn an_allowance_for_a_body_that_is_not_made_is_told() {
    let folder = Folder::new("strangers");
    let allow = "[[print.allow]]\ncheck = \"wall\"\nbody = \"lamp-blok\"\nreason = \"seen\"\n";
    let job = folder.write("job.toml", GOOD.replace("\n[[part]]", &format!("\n{allow}\n[[part]]")));
    let run = ran(&[&"make", &job, &"--out", &folder.path("out")]);
    assert!(run.err.contains("errors of lamp-blok are allowed"), "{}", run.err);
    assert!(run.err.contains("did you mean lamp-block"), "{}", run.err);
}
