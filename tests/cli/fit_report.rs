//! `fit-report`: a test print of a job's parts changes the job's printer.

use std::path::Path;

use borewright::cli::Exit;
use borewright::job::Job;
use borewright::measure::{Library, Source};
use borewright::parts::PART_KINDS;

use super::support::{Folder, Ran, ran_with};

/// Two parts in the bore and one on another fit; comments that must stay.
const JOB: &str = r#"# the tide-caller's sceptre
format = 1

[handle]
name = "tide-caller's sceptre"
bore = [31.4]
length = 160

[print]
printer = "fdm-medium" # the one in the corner
material = "petg"

[[part]]
kind = "adapter_ring"
name = "ring"
inner = 24 # as read
length = 14

[[part]]
kind = "adapter_ring"
name = "loose-ring"
inner = 24
length = 14
from_z = 20
fit = "loose"
"#;

fn report(job: &Path, more: &[&dyn AsRef<std::ffi::OsStr>]) -> Ran {
    let mut all: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"fit-report", &job];
    all.extend(more);
    ran_with(PART_KINDS, &all)
}

/// A number of the printer in a job's text.
fn printer(text: &str, key: &str) -> f64 {
    let source = Source::new("job.toml", text).expect("a text");
    let job = Job::read(&source, Library::shipped(), PART_KINDS).unwrap_or_else(|e| panic!("{e}"));
    job.print().component("printer").number(key)
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn a_test_print_changes_the_printer_and_what_depends_on_it() {
    let folder = Folder::new("fit-report");
    let job = folder.write("staff.toml", JOB);
    let first = report(&job, &[]);
    assert_eq!(first.exit, Exit::Made, "{}", first.err);
    let measured = folder.path("staff-measured.toml");
    let text = read(&measured);
    assert!(text.contains("body = \"ring\"\nkey = \"outside\"\nreadings = \"?\""), "{text}");
    assert!(text.contains("body = \"loose-ring\"\nhow = \"?\"  # binds, right or loose"), "{text}");
    let open = report(&job, &[]);
    assert_eq!(open.exit, Exit::BadInput);
    assert!(open.err.contains("not filled in yet"), "{}", open.err);

    // A ring that binds, as drawn: a step more for sliding fits, which the other ring has not.
    let binds = "format = 1\n[[sat]]\nbody = \"ring\"\nhow = \"binds\"\n";
    folder.write("staff-measured.toml", binds);
    let said = report(&job, &[]);
    assert_eq!(said.exit, Exit::Made, "{}", said.err);
    assert!(said.out.contains("fit_slide  0.2      0.3"), "{}", said.out);
    assert_eq!(read(&job), JOB, "nothing is changed without --out");
    assert!(!folder.path("staff-history.json").exists());
    let prints = folder.path("prints");
    let done = report(&job, &[&"--out", &prints]);
    assert_eq!(done.exit, Exit::Made, "{}", done.err);
    let changed = read(&job);
    assert!((printer(&changed, "fit_slide") - 0.3).abs() < 1e-9, "{changed}");
    for kept in ["# the tide-caller's sceptre", "# the one in the corner", "# as read"] {
        assert!(changed.contains(kept), "{changed}");
    }
    // Both rings slide on the chassis, so both change.
    assert!(done.out.contains("to print anew: ring, loose-ring"), "{}", done.out);
    let wanted = ["loose-ring.3mf", "loose-ring.step", "loose-ring.stl", "ring.3mf", "ring.step"];
    let names = folder.names("prints");
    assert!(wanted.iter().all(|name| names.iter().any(|n| n == name)), "{names:?}");

    // The same readings count once.
    let again = report(&job, &[&"--out", &prints]);
    assert_eq!(again.exit, Exit::BadInput);
    assert!(again.err.contains("it counts once"), "{}", again.err);
    assert_eq!(read(&job), changed);

    // The next print is loose: half way. The loose ring says nothing of sliding fits.
    let loose = "format = 1\n[[sat]]\nbody = \"ring\"\nhow = \"loose\"\n\
                 [[sat]]\nbody = \"loose-ring\"\nhow = \"right\"\n";
    folder.write("staff-measured.toml", loose);
    let done = report(&job, &[&"--out", &prints]);
    assert_eq!(done.exit, Exit::Made, "{}", done.err);
    let changed = read(&job);
    assert!((printer(&changed, "fit_slide") - 0.25).abs() < 1e-9, "{changed}");
    assert!((printer(&changed, "fit_loose") - 0.4).abs() < 1e-9, "{changed}");
}

#[test]
fn sizes_that_were_read_change_growth_and_print_files_only() {
    let folder = Folder::new("fit-report-sizes");
    let job = folder.write("staff.toml", JOB);
    let run = report(&job, &[]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    let text = read(&folder.path("staff-measured.toml"));
    // Outsides 0.12 mm out, insides 0.12 in: surfaces out by 0.06.
    let (mut out, mut inside, mut sat) = (String::new(), false, false);
    for line in text.lines() {
        sat |= line == "[[sat]]";
        if let Some(nominal) = line.strip_prefix("readings = \"?\"  # one or more, as [") {
            let nominal: f64 = nominal.trim_end_matches(']').parse().expect("a number");
            let off = if inside { -0.12 } else { 0.12 };
            out.push_str(&format!("readings = [{:.3}]\n", nominal + off));
            continue;
        }
        if let Some(key) = line.strip_prefix("key = ") {
            inside = key == "\"ring_inside\"";
        }
        if !sat && !line.starts_with('#') {
            out.push_str(&format!("{line}\n"));
        }
    }
    folder.write("staff-measured.toml", &out);
    let prints = folder.path("prints");
    let step_before = {
        let before = folder.path("before");
        let made = ran_with(PART_KINDS, &[&"make", &job, &"--out", &before]);
        // Whatever the checks say of its fit, the files are there.
        assert_ne!(made.exit, Exit::BadInput, "{}{}", made.out, made.err);
        [before.join("ring.step"), before.join("ring.stl")].map(|path| read_bytes(&path))
    };
    let done = report(&job, &[&"--out", &prints]);
    assert_eq!(done.exit, Exit::Made, "{}", done.err);
    let growth = printer(&read(&job), "growth");
    // Between what was before and what the sizes say, nearer to these.
    assert!(growth > 0.045 && growth < 0.06, "{growth}\n{}", done.out);
    assert!(read_bytes(&prints.join("ring.step")) == step_before[0]);
    assert!(read_bytes(&prints.join("ring.stl")) != step_before[1]);
}

#[test]
fn where_a_detail_is_too_small_to_be_drawn_in_fits_make_up_for_growth() {
    let folder = Folder::new("fit-report-detail");
    // Growth that no wall of these rings can take on both sides.
    let text = JOB.replace("inner = 24", "inner = 29.8").replace(
        "\"fdm-medium\" #",
        "{ profile = \"fdm-medium\", wall_supported = 0.3, wall_free = 0.4, accuracy = 1.0 } #",
    );
    let job = folder.write("staff.toml", &text);
    let measured = "format = 1\n[[size]]\nbody = \"ring\"\nkey = \"outside\"\nreadings = [32.57]\n\
                    [[sat]]\nbody = \"ring\"\nhow = \"binds\"\n";
    folder.write("staff-measured.toml", measured);
    let done = report(&job, &[&"--out", &folder.path("prints")]);
    assert_eq!(done.exit, Exit::Made, "{}{}", done.out, done.err);
    assert!(done.err.contains("cannot make up for all growth here"), "{}", done.err);
    let changed = read(&job);
    assert!(printer(&changed, "growth") == 0.0, "{changed}");
    assert!(printer(&changed, "size_offset") > 0.4, "{changed}");
    assert!(printer(&changed, "fit_slide") > 0.2, "{changed}");
}

/// What drawings measure can be read of a print, too: a cut-out that came out narrow and a lip
/// that came out thick say the same of the printer, and a wall across two axes says nothing.
#[test]
fn pockets_and_walls_of_a_print_are_read_along_the_printers_axes() {
    let folder = Folder::new("fit-report-pockets");
    let staff = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/storm-lantern-staff.toml");
    let job = folder.write("staff.toml", read(Path::new(staff)));
    assert_eq!(report(&job, &[]).exit, Exit::Made);
    let asked = read(&folder.path("staff-measured.toml"));
    for (key, jaws) in [("finger_made", "inside jaws along y"), ("floor", "jaws along z")] {
        let at = asked.find(&format!("key = \"{key}\"")).unwrap_or_else(|| panic!("{asked}"));
        let comment = asked[..at].rfind("\n\n").map_or(0, |n| n);
        let comment = asked[comment..at].replace("\n#", "");
        assert!(comment.contains(jaws), "{key}: {comment}");
    }
    let offset = |sizes: &[(&str, f64)]| {
        let sizes = sizes.iter().map(|(key, reading)| {
            format!("[[size]]\nbody = \"tray\"\nkey = \"{key}\"\nreadings = [{reading}]\n")
        });
        folder.write("staff-measured.toml", format!("format = 1\n{}", sizes.collect::<String>()));
        let run = report(&job, &[]);
        assert_eq!(run.exit, Exit::Made, "{}", run.err);
        // Where print files cannot make up for growth, fits do.
        let row = run
            .out
            .lines()
            .find(|line| line.starts_with("size_offset ") || line.starts_with("growth "));
        let row = row.unwrap_or_else(|| panic!("{}", run.out)).to_owned();
        row.split_whitespace().nth(2).and_then(|to| to.parse::<f64>().ok()).expect("a number")
    };
    let narrow = offset(&[("finger_made", 36.4)]);
    let thick = offset(&[("lip_thickness_made", 1.4)]);
    assert!(narrow > 0.05 && (narrow - thick).abs() < 0.02, "{narrow} {thick}");
    assert!(offset(&[("finger_made", 36.8)]) < 0.0);
}

fn read_bytes(path: &Path) -> Vec<u8> {
    std::fs::read(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn what_does_not_go_with_the_job_is_refused_and_nothing_is_written() {
    let folder = Folder::new("fit-report-faults");
    let job = folder.write("staff.toml", JOB);
    let size = |key: &str, reading: &str| {
        format!("format = 1\n[[size]]\nbody = \"ring\"\nkey = \"{key}\"\nreadings = [{reading}]\n")
    };
    for (text, wanted) in [
        ("format = 1\n".to_owned(), "neither a [[size]] nor a [[sat]]"),
        (size("split", "3"), "ring has no size split to be read"),
        (size("outside", "13.14"), "a slip of the pen?"),
        (size("outside", "31.2").replace("\"ring\"", "\"rng\""), "no size of a body rng"),
        (
            "format = 1\n[[sat]]\nbody = \"rng\"\nhow = \"binds\"\n".into(),
            "rng is not tried in the bore",
        ),
        ("format = 1\n[[sat]]\nbody = \"ring\"\nhow = \"stuck\"\n".into(), "binds"),
        ("[[sat]]\nbody = \"ring\"\nhow = \"binds\"\n".into(), "write `format = 1`"),
    ] {
        folder.write("staff-measured.toml", &text);
        let run = report(&job, &[&"--out", &folder.path("prints")]);
        assert_eq!(run.exit, Exit::BadInput, "{text}\n{}", run.out);
        assert!(run.err.contains(wanted), "{text}\n{}", run.err);
        assert!(!folder.path("prints").exists() && read(&job) == JOB, "{text}");
    }
    folder.write("staff-measured.toml", "format = 1\n[[sat]]\nbody = \"ring\"\nhow = \"right\"\n");
    folder.write("staff-history.json", "{\"format\": 1}");
    let run = report(&job, &[]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("is no history of test prints"), "{}", run.err);
}
