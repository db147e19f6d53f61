//! `borewright plate`: copies, groups, refusals, files.

use borewright::cli::Exit;
use borewright::mesh::read_mesh;

use super::support::{Folder, GOOD, ran};

#[test]
fn copies_of_two_jobs_lie_on_one_plate_under_their_names() {
    let folder = Folder::new("plate");
    let rod = folder.write("rod.toml", GOOD);
    let wand = folder.write("wand.toml", GOOD.replace("lamp-block", "ember-block"));
    let out = folder.path("out");
    let lay_out = || {
        ran(&[
            &"plate",
            &rod,
            &wand,
            &"--out",
            &out,
            &"--copies",
            &"ALL=2",
            &"--copies",
            &"lamp-block=3",
            &"--copies",
            &"ember-block-second=0",
        ])
    };
    let run = lay_out();
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    assert_eq!(folder.names("out"), ["plate-1.3mf", "plate-1.png", "plate-1.stl", "plates.json"]);
    let lines: Vec<Vec<&str>> = run.out.lines().map(|l| l.split_whitespace().collect()).collect();
    assert_eq!(lines[1][..4], ["plate-1", "fdm-thin", "petg", "7"], "{}", run.out);
    let bytes = std::fs::read(out.join("plate-1.3mf")).expect("written");
    let read = read_mesh(&bytes, None).expect("a package");
    let mut names: Vec<&str> = read.bodies.iter().map(|b| b.name.as_str()).collect();
    names.sort_unstable();
    let wanted = [
        "ember-block 1",
        "ember-block 2",
        "lamp-block 1",
        "lamp-block 2",
        "lamp-block 3",
        "lamp-block-second 1",
        "lamp-block-second 2",
    ];
    assert_eq!(names, wanted);
    let json = std::fs::read(out.join("plates.json")).expect("written");
    let json: serde_json::Value = serde_json::from_slice(&json).expect("JSON");
    assert_eq!(json["plates"][0]["bodies"].as_array().expect("a list").len(), 7);

    let files = |name: &str| std::fs::read(folder.path(name)).expect("written");
    let before = ["out/plate-1.3mf", "out/plate-1.stl", "out/plate-1.png"].map(files);
    let again = lay_out();
    assert_eq!(again.out, run.out);
    assert_eq!(["out/plate-1.3mf", "out/plate-1.stl", "out/plate-1.png"].map(files), before);
}

#[test]
fn other_materials_and_printers_get_plates_of_their_own() {
    let folder = Folder::new("plate-groups");
    let rod = folder.write("rod.toml", GOOD);
    let wand = GOOD.replace("lamp-block", "ember-block").replace("\"fdm-thin\"", "\"resin-fine\"");
    let wand = folder.write("wand.toml", wand);
    let out = folder.path("out");
    let run = ran(&[&"plate", &rod, &wand, &"--out", &out]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    let printers: Vec<&str> =
        run.out.lines().skip(1).filter_map(|l| l.split_whitespace().nth(1)).collect();
    assert_eq!(printers, ["fdm-thin", "resin-fine"]);
}

#[test]
fn what_cannot_be_laid_out_is_refused_and_leaves_nothing() {
    let folder = Folder::new("plate-refused");
    let rod = folder.write("rod.toml", GOOD);
    let out = folder.path("out");
    let refused = |more: &[&dyn AsRef<std::ffi::OsStr>], exit: Exit, wanted: &str| {
        let mut arguments: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"plate", &rod, &"--out", &out];
        arguments.extend_from_slice(more);
        let run = ran(&arguments);
        assert_eq!(run.exit, exit, "{}", run.err);
        assert!(run.err.contains(wanted) && run.err.contains("hint: "), "{}", run.err);
        assert_eq!(run.out, "");
        assert!(!out.exists() || folder.names("out").is_empty());
    };
    refused(&[&"--copies", &"lamp-bloc=2"], Exit::BadInput, "lamp-block");
    refused(&[&"--copies", &"lamp-block"], Exit::BadInput, "is no BODY=N");
    refused(&[&"--copies", &"lamp-block=-1"], Exit::BadInput, "is no BODY=N");
    refused(&[&"--copies", &"ALL=0"], Exit::BadInput, "no body is left");
    refused(&[&"--gap", &"NaN"], Exit::BadInput, "--gap NaN mm is not between 0 and 100 mm");
    refused(&[&"--margin", &"100"], Exit::CannotBeMade, "inside its margin");
    refused(&[&"--copies", &"ALL=600"], Exit::CannotBeMade, "1200 copies are more than");
    refused(&[&rod], Exit::BadInput, "has a body lamp-block as another job has");
}

#[test]
fn printers_of_one_name_with_other_beds_share_no_plate() {
    let folder = Folder::new("plate-beds");
    let rod = folder.write("rod.toml", GOOD);
    let bed = "printer = { profile = \"fdm-thin\", bed_x = 120, bed_y = 120 }";
    let small = GOOD.replace("printer = \"fdm-thin\"", bed);
    let wand = folder.write("wand.toml", small.replace("lamp-block", "ember-block"));
    let run = ran(&[&"plate", &rod, &wand, &"--out", &folder.path("out")]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    assert!(folder.names("out").contains(&"plate-2.3mf".to_owned()), "{}", run.out);
}

#[test]
fn absurd_copies_are_refused() {
    let folder = Folder::new("plate-copies");
    let rod = folder.write("rod.toml", GOOD);
    let (most, out) = (format!("lamp-block={}", u64::MAX), folder.path("out"));
    let run = ran(&[&"plate", &rod, &"--copies", &most, &"--out", &out]);
    assert_eq!(run.exit, Exit::CannotBeMade, "{}", run.err);
    assert!(run.err.contains("more than the 1000 that can be laid out"), "{}", run.err);
}
