//! `borewright layout`: proposals, what does not fit, files.

use std::ffi::OsStr;
use std::fs;

use borewright::cli::Exit;
use borewright::parts::PART_KINDS;

use super::support::{Folder, Ran, ran_with};

/// A cradle that lies anywhere, a plate under a plunger at z = 130, and a spine.
const JOB: &str = r#"format = 1

[handle]
name = "storm-lantern staff"
bore = [36.0]
length = 200.0

[print]
printer = "fdm-medium"
material = "petg"

[[part]]
kind = "crystal_cradle"
name = "cradle"
from_z = 0.0 # to be found
keel = 4
pixel = "round-10"
[[part.station]]
at = 0
section = "hexagon"
width = 12
height = 12
[[part.station]]
at = 40
section = "hexagon"
width = 12
height = 12

[[part]]
kind = "switch_plate"
name = "plate"
keel = 4
[[part.plunger]]
z = 130.0
tip = 14.0
travel = 2.5
switch = "6x6-h5.0"

[[part]]
kind = "spine"
name = "spine"
rings = "none"
[[part.run]]
from = "plate"
to = "cradle"
"#;

fn layout(arguments: &[&dyn AsRef<OsStr>]) -> Ran {
    let all: Vec<&dyn AsRef<OsStr>> =
        std::iter::once(&"layout" as &dyn AsRef<OsStr>).chain(arguments.iter().copied()).collect();
    ran_with(PART_KINDS, &all)
}

/// The row of a module: from, to.
fn place(run: &Ran, name: &str) -> (f64, f64) {
    let rows = run.out.lines().map(|l| l.split_whitespace().collect::<Vec<_>>());
    let row = rows.into_iter().find(|r| r.get(1) == Some(&name));
    let row = row.unwrap_or_else(|| panic!("no {name} in\n{}\n{}", run.out, run.err));
    (row[2].parse().expect("a number"), row[3].parse().expect("a number"))
}

#[test]
fn a_module_goes_beside_the_one_it_is_wired_to_and_the_rest_of_the_job_stays() {
    let folder = Folder::new("layout");
    let job = folder.write("job.toml", JOB);
    let (new, picture) = (folder.path("new.toml"), folder.path("side.png"));
    let run = layout(&[&job, &"--out", &new, &"--picture", &picture]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    let (cradle, plate) = (place(&run, "cradle"), place(&run, "plate"));
    assert!(plate.0 < 130.0 && 130.0 < plate.1);
    assert!((plate.0 - cradle.1 - 3.0).abs() < 0.011, "{}", run.out);
    assert!(run.out.contains("fixed: plunger 1 z"), "{}", run.out);
    assert!(run.out.contains("tried: all parts can be made"), "{}", run.out);
    let text = fs::read_to_string(&new).expect("written");
    let wanted = JOB.replace("from_z = 0.0 #", &format!("from_z = {:?} #", cradle.0));
    assert_eq!(text, wanted);
    assert!(fs::read(&picture).expect("written").starts_with(b"\x89PNG"));
    // The job that was written is a layout of its own: nothing moves.
    let again = layout(&[&new]);
    assert_eq!(place(&again, "cradle"), cradle);
    assert!(again.out.contains("same"), "{}", again.out);
}

#[test]
fn files_beside_the_job_are_found() {
    let folder = Folder::new("layout-files");
    let corners = [(0, 0), (20, 0), (20, 30), (0, 30)].map(|(x, y)| format!("10\n{x}\n20\n{y}\n"));
    let line = format!("0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n{}", corners.concat());
    folder.write("board.dxf", format!("0\nSECTION\n2\nENTITIES\n{line}0\nENDSEC\n0\nEOF\n"));
    let sled = "[[part]]\nkind = \"board_sled\"\nname = \"sled\"\noutline = \"dxf\"\n\
                dxf = \"board.dxf\"\ndxf_unit = \"mm\"\nkeel = 4\n\n";
    let spine = "[[part]]\nkind = \"spine\"";
    let job = folder.write("job.toml", JOB.replace(spine, &format!("{sled}{spine}")));
    let run = layout(&[&job]);
    assert_eq!(run.exit, Exit::Made, "{}\n{}", run.out, run.err);
    assert!(run.out.contains("tried: all parts can be made"), "{}", run.out);
}

#[test]
fn nothing_is_overwritten() {
    let folder = Folder::new("layout-there");
    let job = folder.write("job.toml", JOB);
    let there = folder.write("new.toml", "mine");
    let run = layout(&[&job, &"--out", &there]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("not overwritten"), "{}", run.err);
    assert_eq!(fs::read_to_string(&there).expect("there"), "mine");
}

#[test]
fn wishes_are_kept() {
    let folder = Folder::new("layout-wishes");
    let job = folder.write("job.toml", JOB);
    let run = layout(&[&job, &"--at", &"cradle=12.5"]);
    assert_eq!(place(&run, "cradle").0, 12.5);
    let run = layout(&[&job, &"--hold", &"cradle"]);
    assert_eq!(place(&run, "cradle").0, 0.0);
    let run = layout(&[&job, &"--last", &"cradle", &"--gap", &"1.5"]);
    let (cradle, plate) = (place(&run, "cradle"), place(&run, "plate"));
    assert!((cradle.0 - plate.1 - 1.5).abs() < 0.011, "{}", run.out);
    let run = layout(&[&job, &"--window", &"cradle=40"]);
    let (low, high) = place(&run, "cradle");
    assert!(low < 40.0 && 40.0 < high, "{}", run.out);
}

#[test]
fn what_does_not_fit_says_what_is_short_and_what_would_do() {
    let folder = Folder::new("layout-short");
    let job = folder.write("job.toml", JOB);
    let run = layout(&[&job, &"--last", &"cradle", &"--gap", &"40"]);
    assert_eq!(run.exit, Exit::CannotBeMade, "{}", run.out);
    assert!(run.err.contains("between plate and the front"), "{}", run.err);
    assert!(run.err.contains("short by"), "{}", run.err);
    let gap = run.err.split("--gap ").nth(1).expect("a hint").split(' ').next().expect("a word");
    let run = layout(&[&job, &"--last", &"cradle", &"--gap", &gap]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
}

#[test]
fn bad_input_is_said_with_what_is_known() {
    let folder = Folder::new("layout-bad");
    let job = folder.write("job.toml", JOB);
    let bad: [(&[&dyn AsRef<OsStr>], &str); 6] = [
        (&[&job, &"--at", &"cradel=3"], "cradel is no module"),
        (&[&job, &"--at", &"cradle"], "no NAME=Z"),
        (&[&job, &"--at", &"plate=3"], "plunger 1 z of the handle holds it"),
        (&[&job, &"--window", &"plate=3"], "cannot be placed"),
        (&[&job, &"--gap", &"NaN"], "is not between"),
        (&[&job, &"--picture", &"side.txt"], "no name for a picture"),
    ];
    for (arguments, wanted) in bad {
        let run = layout(arguments);
        assert_eq!(run.exit, Exit::BadInput, "{wanted}: {}{}", run.out, run.err);
        assert!(run.err.contains(wanted), "{wanted}: {}", run.err);
    }
}

#[test]
fn more_ways_than_can_be_tried_are_refused_at_once() {
    let folder = Folder::new("layout-many");
    let sled = |i: usize, held: bool| {
        let place = if held { format!("from_z = {}\n", 20 * i) } else { String::new() };
        format!(
            "[[part]]\nkind = \"board_sled\"\nname = \"sled-{i}\"\nwidth = 20\nlength = 10\n\
             stop = 2\nkeel = 4\n{place}\n"
        )
    };
    let sleds: String = (0..18).map(|i| sled(i, i < 10)).collect();
    let head = JOB.split("[[part]]").next().expect("a head").replace("200.0", "1400.0");
    let job = folder.write("job.toml", format!("{head}{sleds}"));
    let holds: Vec<String> = (0..10).map(|i| format!("sled-{i}")).collect();
    let mut arguments: Vec<&dyn AsRef<OsStr>> = vec![&job];
    for name in &holds {
        arguments.extend([&"--hold" as &dyn AsRef<OsStr>, name]);
    }
    let run = layout(&arguments);
    assert_eq!(run.exit, Exit::BadInput, "{}", run.out);
    assert!(run.err.contains("ways to share them"), "{}", run.err);
}
