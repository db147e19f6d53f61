//! `correct`: readings of test prints, the profile that they give, and what is
//! said of readings that do not go together.

use std::fmt::Write;

use borewright::cli::Exit;
use borewright::measure::{Library, Source};

use super::support::{Folder, ran};

/// Readings of an ideal caliper from a printer that makes x longer by 3 in 1,000
/// and y shorter by 2, z right, surfaces 0.04 mm out, holes 0.2 mm narrower and
/// the first layer 0.15 mm out. Sizes spread by 0.01 mm, as in a fixed list.
fn readings() -> String {
    let mut text = String::from("format = 1\nprinter = \"fdm-medium\"\ndate = \"2026-11-28\"\n");
    let spread = [0.009, -0.011, 0.004, -0.007, 0.012, -0.002, 0.006, -0.010];
    let mut count = 0;
    let mut add = |what: &str, axis: &str, nominal: f64, size: f64| {
        let size = size + spread[count % spread.len()];
        count += 1;
        let axis = if axis.is_empty() { String::new() } else { format!("axis = \"{axis}\"\n") };
        let _ = write!(
            text,
            "\n[[size]]\nwhat = \"{what}\"\n{axis}nominal = {nominal}\nreadings = [{:.3}, {:.3}]\n",
            size - 0.005,
            size + 0.005
        );
    };
    for (axis, scale) in [("x", 1.003), ("y", 0.998)] {
        for nominal in [12.0, 30.0, 60.0, 90.0] {
            add("outside", axis, nominal, scale * nominal + 0.08);
        }
        for nominal in [4.0, 10.0] {
            add("gap", axis, nominal, scale * nominal - 0.08);
        }
        add("first_layer", axis, 30.0, scale * 30.0 + 0.08 + 0.3);
    }
    for nominal in [10.0, 40.0] {
        add("outside", "z", nominal, nominal);
    }
    for nominal in [3.0, 6.0, 12.0] {
        add("hole", "", nominal, 1.0005 * nominal - 0.2);
    }
    text
}

#[test]
fn readings_become_a_profile_that_a_job_can_name() {
    let folder = Folder::new("correct");
    let file = folder.write("readings.toml", readings());
    let own = folder.path("own");
    let run = ran(&[&"correct", &file, &"--out", &own]);
    assert_eq!(run.exit, Exit::Made, "{}\n{}", run.out, run.err);
    for wanted in ["19 sizes, 38 readings, fdm-medium", "scale along x", "growth of a surface"] {
        assert!(run.out.contains(wanted), "{}", run.out);
    }
    let text = std::fs::read_to_string(own.join("printers.toml")).expect("written");
    assert!(
        text.contains("source = \"measured 2026-11-28: readings.toml; the rest as fdm-medium\"")
    );
    let shown = ran(&[&"profiles", &"printers", &"fdm-medium-measured", &"--profiles", &own]);
    assert_eq!(shown.exit, Exit::Made, "{}", shown.err);
    let mut library = Library::shipped();
    let family = borewright::measure::FAMILIES.iter().find(|f| f.name == "printers");
    let source = Source::new("printers.toml", text.as_str()).expect("a text");
    library.add(family.expect("known"), &source).expect("right");
    let profile = library.profile("printers", "fdm-medium-measured").expect("there");
    let near = |key: &str, wanted: f64, within: f64| {
        let found = profile.number(key);
        assert!((found - wanted).abs() <= within, "{key}: {found}, not {wanted}");
    };
    near("hole_shrink", 0.2, 0.015);
    near("first_layer_flare", 0.15, 0.01);
    near("size_sd", 0.009, 0.004);
    near("growth", 0.04, 0.008);
    near("scale_x", 1.003, 0.0003);
    near("scale_y", 0.998, 0.0003);
    near("scale_z", 1.0, 0.0008);
    near("size_offset", 0.0, 0.0);
    near("bridge", 5.0, 0.0);

    // A second run neither overwrites nor repeats it.
    let again = ran(&[&"correct", &file, &"--out", &own]);
    assert_eq!(again.exit, Exit::BadInput);
    assert!(again.err.contains("is there already and is not overwritten"), "{}", again.err);
    assert_eq!(std::fs::read_to_string(own.join("printers.toml")).expect("there"), text);

    // Another name goes beside it, and what was there stays byte for byte.
    let file = folder.write("second.toml", readings().replace("\ndate", "\nname = \"mine\"\ndate"));
    assert_eq!(ran(&[&"correct", &file, &"--out", &own]).exit, Exit::Made);
    let both = std::fs::read_to_string(own.join("printers.toml")).expect("there");
    assert!(both.starts_with(&text) && both.contains("\n[mine]\n"), "{both}");
    assert_eq!(folder.names("own"), ["printers.toml"]);
}

#[test]
fn a_spoilt_size_and_a_spoilt_reading_are_named_and_nothing_is_written() {
    let folder = Folder::new("correct-doubt");
    let good = readings();
    // The gap of 10 mm along x: a whole size off, then one reading only.
    let line = good.lines().find(|l| l.starts_with("readings = [9.9")).expect("there").to_owned();
    let at = 1 + good.lines().position(|l| l == line).expect("there");
    let (first, second) = line["readings = [".len()..line.len() - 1].split_once(", ").expect("two");
    let moved = |text: &str| format!("{:.3}", text.parse::<f64>().expect("a number") - 0.3);
    let whole = format!("readings = [{}, {}]", moved(first), moved(second));
    let one = format!("readings = [{first}, {}]", moved(second));
    for (spoilt, wanted) in [(whole, "where the other sizes say"), (one, "reading")] {
        let file = folder.write("readings.toml", good.replace(&line, &spoilt));
        let run = ran(&[&"correct", &file, &"--out", &folder.path("own")]);
        assert_eq!(run.exit, Exit::CannotBeMade, "{}", run.err);
        let named = format!("doubtful: size[6], gap x, line {at}: ");
        assert!(run.err.contains(&named) && run.err.contains(wanted), "{}", run.err);
        assert!(!folder.path("own").exists());
    }
    let stands =
        good.replace(&line, &format!("{}\nsure = true", line.replace(first, &moved(first))));
    let file = folder.write("readings.toml", stands);
    let run = ran(&[&"correct", &file, &"--out", &folder.path("own")]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
}

#[test]
fn faults_of_readings_point_at_their_lines() {
    let folder = Folder::new("correct-faults");
    let head = "format = 1\nprinter = \"fdm-medium\"\n";
    let size = "[[size]]\nwhat = \"outside\"\naxis = \"x\"\nnominal = 20\nreadings = [20.1]\n";
    for (text, exit, wanted) in [
        (format!("{head}{}", size.replace("20.1", "2.01")), Exit::BadInput, "a slip of the pen?"),
        (format!("{head}{}", size.replace("axis = \"x\"", "")), Exit::BadInput, "say along which"),
        (format!("{head}{}", size.replace("[20.1]", "\"?\"")), Exit::BadInput, "not filled in yet"),
        (format!("{head}date = \"today\"\n{size}"), Exit::BadInput, "is no day as 2026-03-31"),
        (format!("{head}name = \"A b\"\n{size}"), Exit::BadInput, "other characters than a-z"),
        (size.to_owned(), Exit::BadInput, "write `format = 1` as the first line"),
        (format!("{head}{size}"), Exit::CannotBeMade, "at least 1 more is needed"),
        (
            format!("{head}{}", size.replace("outside", "hole").replace("\"x\"", "\"z\"")),
            Exit::BadInput,
            "holes that lie are not fitted",
        ),
    ] {
        let file = folder.write("readings.toml", &text);
        let run = ran(&[&"correct", &file]);
        assert_eq!(run.exit, exit, "{text}\n{}", run.err);
        assert!(run.err.contains(wanted), "{text}\n{}", run.err);
    }
}

#[test]
fn what_cannot_be_told_is_said_with_what_to_read() {
    let folder = Folder::new("correct-rank");
    let mut text = String::from("format = 1\nprinter = \"fdm-medium\"\n");
    for reading in [20.11, 20.08, 20.10] {
        let _ = write!(
            text,
            "[[size]]\nwhat = \"outside\"\naxis = \"x\"\nnominal = 20\nreadings = [{reading}]\n"
        );
    }
    let file = folder.write("readings.toml", &text);
    let run = ran(&[&"correct", &file, &"--out", &folder.path("mine.toml")]);
    assert_eq!(run.exit, Exit::Made, "{}", run.err);
    let wanted = "cannot be told apart by these sizes: scale along x, growth of a surface";
    assert!(run.out.contains(wanted), "{}", run.out);
    assert!(run.out.contains("an outside of about 60 mm along x"), "{}", run.out);
    let profile = std::fs::read_to_string(folder.path("mine.toml")).expect("written");
    assert!(!profile.contains("hole_shrink") && profile.contains("size_sd"), "{profile}");
    let json = ran(&[&"correct", &file, &"--json"]);
    let json: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
    assert!(json["effects"]["growth"].is_null() && json["scatter"]["value"].is_number());
}
