//! The other commands, and the program as a process.

use std::fs;
use std::process::{Command, Stdio};

use borewright::cli::Exit;
use borewright::job::{AFTER_PRINT, CHASSIS, PART, PRINT, READINGS};
use borewright::measure::{FAMILIES, HANDLE, Param, check_rows};
use borewright::parts::{PART_KINDS, TEST_PIECES};

use super::support::{BLOCK_PARAMS, Folder, GOOD, KINDS, ran, ran_with, read};

#[test]
fn every_table_keeps_the_rules() {
    let check = |name: &str, rows: &[Param]| {
        check_rows(rows).unwrap_or_else(|e| panic!("{name}: {e}"));
    };
    check("handle", HANDLE);
    check("print", PRINT);
    check("part", PART);
    check("block", BLOCK_PARAMS);
    check("readings", READINGS);
    check("measured", AFTER_PRINT);
    TEST_PIECES.iter().for_each(|kind| check(kind.name, kind.params));
    for (i, kind) in PART_KINDS.iter().enumerate() {
        check(kind.name, kind.params);
        assert!(kind.summary.len() > 10, "{} has no summary", kind.name);
        let taken = |key| ["kind", "name"].contains(&key);
        assert!(!kind.params.iter().any(|row| taken(row.key)), "{}", kind.name);
        assert!(PART_KINDS[..i].iter().all(|other| other.name != kind.name), "{}", kind.name);
    }
}

#[test]
fn rules_of_tables_are_checked() {
    use borewright::measure::Unit;
    let row = Param::number("wall", Unit::Mm, (0.4, 5.0), "Wall thickness.");
    let bad = [
        [row, row],
        [row, Param { key: "Wall", ..row }],
        [row, Param { doc: "no sentence", key: "b", ..row }],
        [row, Param { key: "b", ..row.or(9.0) }],
        [row, Param::number("b", Unit::Mm, (5.0, 5.0), "Wall thickness.")],
        [row, Param::number("b", Unit::Mm, (0.0, f64::INFINITY), "Wall thickness.")],
    ];
    for (i, rows) in bad.iter().enumerate() {
        assert!(check_rows(rows).is_err(), "rows {i}");
    }
}

#[test]
fn a_new_job_is_refused_until_it_is_filled_in_and_then_right() {
    let folder = Folder::new("new");
    let path = folder.path("job.toml");
    let printed = ran(&[&"new", &"--part", &"block", &"-"]);
    assert!(printed.exit == Exit::Made && printed.out.contains("kind = \"block\""));
    assert!(!std::path::Path::new("-").exists(), "it is no file's name");
    let run = ran(&[&"new", &"--part", &"block", &"--part", &"block", &path]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    assert_eq!(run.out, "");
    let text = std::fs::read_to_string(&path).expect("written");
    let faults = read(&text).expect_err("not filled in");
    let open = text.lines().filter(|line| !line.starts_with('#') && line.ends_with("\"?\""));
    assert_eq!(faults.iter().count(), open.count(), "{faults}");
    let code = |fault| serde_json::to_value(fault).expect("data")["what"]["code"].clone();
    assert!(faults.iter().all(|fault| code(fault) == "not_filled_in"), "{faults}");

    let filled = text
        .replace("\nname = \"?\"", "\nname = \"ember wand\"")
        .replace("\nbore = \"?\"", "\nbore = [24.1, 24.0]")
        .replace("\nlength = \"?\"", "\nlength = 180")
        .replace("\nprinter = \"?\"", "\nprinter = \"resin-fine\"")
        .replace("\nmaterial = \"?\"", "\nmaterial = \"resin-standard\"")
        .replace("\ncell = \"?\"", "\ncell = \"14500\"");
    let job = read(&filled).expect("filled in");
    let names: Vec<&str> = job.parts().iter().map(|part| part.name()).collect();
    assert_eq!(names, ["block", "block-2"]);
    let longest = text.lines().map(|line| line.chars().count()).max();
    assert!(longest <= Some(92), "lines of at most 92 characters, not {longest:?}");

    let run = ran(&[&"new", &path]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("is there already and is not overwritten"), "{}", run.err);
    assert_eq!(std::fs::read_to_string(&path).expect("there"), text);
}

/// Every line that the template comments out is a line that may be used.
#[test]
fn commented_lines_of_a_new_job_are_right_too() {
    let folder = Folder::new("uncommented");
    let path = folder.path("job.toml");
    assert_eq!(ran(&[&"new", &"--part", &"block", &path]).exit, Exit::Made);
    let text = std::fs::read_to_string(&path).expect("written");
    let rows = BLOCK_PARAMS.iter().chain(HANDLE).chain(PRINT).chain(CHASSIS);
    let keys: Vec<&str> = rows.map(|p| p.key).collect();
    let is_code = |line: &str| {
        line.starts_with('[')
            || line.split_once(" = ").is_some_and(|(key, _)| {
                keys.contains(&key)
                    || ["travel", "switch", "depth", "check", "body", "reason"].contains(&key)
            })
    };
    let uncommented: String = text
        .lines()
        .map(|line| line.strip_prefix("# ").filter(|rest| is_code(rest)).unwrap_or(line))
        .flat_map(|line| [line, "\n"])
        .collect();
    assert_ne!(uncommented, text);
    let faults = read(&uncommented).expect_err("placeholders");
    for fault in faults.iter() {
        assert!(fault.to_string().contains("not filled in yet"), "{fault}");
    }
}

#[test]
fn an_unknown_part_for_a_new_job_is_named() {
    let folder = Folder::new("unknown");
    let run = ran(&[&"new", &"--part", &"bridge-plate", &folder.path("a.toml")]);
    assert_eq!(run.exit, Exit::BadInput);
    let wanted = "error: unknown part kind bridge-plate\n\nhint: did you mean bridge_plate?\n";
    assert_eq!(run.err, wanted);
    assert!(!folder.path("a.toml").exists());
}

#[test]
fn profiles_are_listed_and_shown_with_their_source() {
    let run = ran(&[&"profiles"]);
    assert_eq!(run.out.lines().count(), FAMILIES.len());
    let run = ran(&[&"profiles", &"cells"]);
    assert!(run.out.lines().any(|line| line.starts_with("18650 ")), "{}", run.out);
    let run = ran(&[&"profiles", &"screws", &"m3-socket"]);
    assert!(run.out.contains("clearance_medium  3.4 mm"), "{}", run.out);
    assert!(run.out.contains("ISO 273"), "{}", run.out);
    let run = ran(&[&"profiles", &"cells", &"18650", &"--json"]);
    let json: serde_json::Value = serde_json::from_str(&run.out).expect("JSON");
    assert_eq!(json["diameter_max"], 18.5);
    let run = ran(&[&"profiles", &"--json"]);
    let json: serde_json::Value = serde_json::from_str(&run.out).expect("JSON");
    assert_eq!(json.as_object().expect("an object").len(), FAMILIES.len());
    let run = ran(&[&"profiles", &"cell"]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("hint: did you mean cells?"), "{}", run.err);
    let run = ran(&[&"profiles", &"cells", &"1865"]);
    assert!(run.err.contains("unknown profile of cells 1865"), "{}", run.err);
}

#[test]
fn every_topic_is_explained() {
    let run = ran(&[&"explain"]);
    for line in run.out.lines() {
        let topic = line.split_whitespace().next().expect("a topic");
        let run = ran(&[&"explain", &topic]);
        assert_eq!(run.exit, Exit::Made, "{topic}: {}", run.err);
        assert!(run.out.len() > 60, "{topic}: {}", run.out);
    }
    let run = ran(&[&"explain", &"block"]);
    assert!(run.out.contains("wall: a number from 0.4 to 5 mm; default 1.2\n    Wall thickness."));
    assert!(run.out.contains("  travel: a number from 0.1 to 5 mm; required"), "{}", run.out);
    let run = ran(&[&"explain", &"handel"]);
    assert!(run.err.contains("hint: did you mean handle?"), "{}", run.err);
}

#[test]
fn help_and_completions_are_results() {
    let run = ran(&[&"--help"]);
    assert_eq!((run.exit, run.err.as_str()), (Exit::Made, ""));
    for part in ["First steps:", "Exit codes:", "3  cannot be made as asked", "Li-ion"] {
        assert!(run.out.contains(part), "{part}: {}", run.out);
    }
    let run = ran(&[&"completions", &"bash"]);
    assert!(run.out.contains("complete -F"), "{}", run.out);
    let run = ran(&[&"bake"]);
    assert_eq!((run.exit, run.out.as_str()), (Exit::BadInput, ""));
}

fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_borewright"));
    command.env_remove("BOREWRIGHT_PROFILES").env_remove("SOURCE_DATE_EPOCH");
    command
}

#[test]
fn the_program_ends_with_the_codes_of_its_help() {
    let output = program().arg("profiles").output().expect("runs");
    assert_eq!(output.status.code(), Some(0));
    let output = program().args(["make", "no-such-job.toml"]).output().expect("runs");
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty(), "nothing but results on stdout");
    let text = String::from_utf8(output.stderr).expect("UTF-8");
    assert!(text.starts_with("error: cannot read no-such-job.toml: "), "{text}");
}

/// A pipe whose reader has gone away.
struct Gone;

impl std::io::Write for Gone {
    fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
        Err(std::io::ErrorKind::BrokenPipe.into())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Err(std::io::ErrorKind::BrokenPipe.into())
    }
}

#[test]
fn a_reader_that_has_gone_away_changes_no_exit_code() {
    let folder = Folder::new("unheard");
    let good = folder.write("good.toml", GOOD);
    let bad = folder.write("bad.toml", "format = 1\n");
    let run = |job: &std::path::Path| {
        let arguments = ["borewright".as_ref(), "make".as_ref(), job.as_os_str()];
        let out = folder.path("out");
        let arguments = arguments.into_iter().chain(["--out".as_ref(), out.as_os_str()]);
        borewright::cli::run(
            arguments.map(ToOwned::to_owned),
            &mut borewright::cli::Environment {
                kinds: KINDS,
                out: &mut Gone,
                err: &mut Gone,
                colour: false,
                profiles: None,
                epoch: None,
            },
        )
    };
    assert_eq!(run(&bad), Exit::BadInput);
    assert_eq!(run(&good), Exit::Made);
    assert!(folder.path("out").join("report.json").exists(), "all is written unheard");
}

#[test]
fn the_environment_names_a_folder_of_profiles() {
    let folder = Folder::new("environment");
    folder.write("own/wires.toml", "[my-wire]\nlike = \"awg28\"\nouter = 1.3\n");
    let mut command = program();
    command.env("BOREWRIGHT_PROFILES", folder.path("own"));
    let output = command.args(["profiles", "wires"]).output().expect("runs");
    assert!(String::from_utf8_lossy(&output.stdout).contains("my-wire"));
}

#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let mut command = program();
    command.args(["profiles", "--json"]).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("runs");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("ends");
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn anything_with_a_name_is_explained() {
    let told = |topic: &str| {
        let run = ran(&[&"explain", &topic]);
        assert_eq!(run.exit, Exit::Made, "{topic}: {}", run.err);
        run.out
    };
    assert!(told("stations").starts_with("in block\n"), "{}", told("stations"));
    assert!(told("travel").contains("in block.plunger\n"), "{}", told("travel"));
    assert!(told("part[1].plunger[2].travel").contains("in block.plunger\n"));
    assert!(told("18650").contains("borewright profiles cells 18650"));
    assert!(told("bridge").contains("bridge is a check: "));
    assert!(told("iso-fit").contains("borewright work iso-fit"));
    let run = ran(&[&"explain", &"nothing-of-that-name"]);
    assert_eq!(run.exit, Exit::BadInput);
    let run = ran(&[&"profiles", &"18650"]);
    assert_eq!((run.exit, run.out.lines().next()), (Exit::Made, Some("cells 18650")));
}

#[test]
fn what_is_no_mesh_is_told_what_it_is() {
    let folder = Folder::new("no-mesh");
    let job = folder.write("job.toml", "format = 1\n");
    let solid = folder.write("part.step", "ISO-10303-21;\n");
    let place = folder.path("");
    let check = |what: &dyn AsRef<std::ffi::OsStr>| {
        let run = ran(&[&"check", what, &"--printer", &"fdm-thin", &"--material", &"pla"]);
        assert_eq!(run.exit, Exit::BadInput, "{}", run.out);
        run.err
    };
    assert!(check(&job).contains("hint: to check the parts of a job: borewright make"));
    assert!(check(&solid).contains("hint: a STEP file is an exact solid"));
    assert!(check(&place).contains("hint: name the meshes in it"));
    let run = ran(&[&"check", &solid, &"--printer", &"fdm-thin"]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("--material NAME is missing"), "{}", run.err);
    assert!(run.err.contains("hint: one of: ") && run.err.contains("petg"), "{}", run.err);
    let run = ran(&[&"picture", &solid]);
    assert!(run.err.contains("is no job file"), "{}", run.err);
}

#[test]
fn a_worksheet_is_printed_or_written() {
    let folder = Folder::new("worksheet");
    let kinds = borewright::parts::PART_KINDS;
    let run = ran_with(kinds, &[&"worksheet", &"crystal_cradle", &"cell_tray"]);
    assert_eq!((run.exit, run.err.as_str()), (Exit::Made, ""));
    for key in ["handle.bore *", "part[1].pixel *", "part[2].cell *", "caution: Li-ion"] {
        assert!(run.out.contains(key), "{key}: {}", run.out);
    }
    let again = ran_with(kinds, &[&"worksheet", &"crystal_cradle", &"cell_tray"]);
    assert_eq!(run.out, again.out);
    let page = folder.path("sheet.html");
    let run = ran_with(kinds, &[&"worksheet", &"switch_plate", &"--out", &page]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    assert!(fs::read_to_string(&page).expect("written").contains("<svg"));
    let job = folder.write("lacking.toml", GOOD.replace("length = 210", "length = \"?\""));
    let run = ran(&[&"worksheet", &job]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    assert!(run.out.contains("handle.length *") && !run.out.contains("handle.bore"), "{}", run.out);
}

#[test]
fn worksheets_tell_what_is_wrong() {
    let folder = Folder::new("worksheet-wrong");
    let broken = folder.write("broken.toml", GOOD.replace("length = 210", "length = -1"));
    let cases: [(&[&dyn AsRef<std::ffi::OsStr>], &str); 5] = [
        (&[&"blocc"], "did you mean block"),
        (&[&"block", &"job.toml"], "give one job file alone"),
        (&[&"block", &"--out", &"sheet.pdf"], "as measure.html"),
        (&[&"block", &"--printer", &"none"], "fdm-medium"),
        (&[&broken], "handle.length"),
    ];
    for (arguments, wanted) in cases {
        let all: Vec<&dyn AsRef<std::ffi::OsStr>> =
            std::iter::once(&"worksheet" as &dyn AsRef<std::ffi::OsStr>)
                .chain(arguments.iter().copied())
                .collect();
        let run = ran(&all);
        assert_eq!((run.exit, run.out.as_str()), (Exit::BadInput, ""), "{wanted}");
        assert!(run.err.contains(wanted), "{wanted}: {}", run.err);
    }
}

#[test]
fn pictures_tell_what_is_wrong() {
    let folder = Folder::new("picture-wrong");
    let job = folder.write("job.toml", GOOD);
    let out = folder.path("out.png");
    let cases = [
        ("q=3", "oblique", "the axis is x, y or z"),
        ("z", "oblique", "as z=120"),
        ("z=wide", "oblique", "a number in mm"),
        ("z=500", "oblique", "cuts none of the bodies"),
        ("z=1", "side", "from its edge"),
    ];
    for (section, from, wanted) in cases {
        let run =
            ran(&[&"picture", &job, &"--section", &section, &"--from", &from, &"--out", &out]);
        assert_eq!(run.exit, Exit::BadInput, "{wanted}");
        assert!(run.err.contains(wanted), "{wanted}: {}", run.err);
    }
    assert!(!out.exists());
    let run = ran(&[&"picture", &job, &"--section", &"z=1", &"--inline=letters"]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    assert!(run.out.lines().count() > 5 && run.out.contains('@'), "{}", run.out);
}
