//! `borewright make` with test kinds: refusals, files, the report.

use borewright::cli::{Exit, guarded};

use super::support::{Folder, GOOD, ran};

/// What the good job leaves in its folder.
const FILES: [&str; 8] = [
    "lamp-block-second.3mf",
    "lamp-block-second.step",
    "lamp-block-second.stl",
    "lamp-block.3mf",
    "lamp-block.step",
    "lamp-block.stl",
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
    assert!(run.err.contains("caution: lamp-block: a cell can burn when shorted\n  hint: cover"));
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
