//! `coupon`: test pieces, the file for their readings, and the way from there through
//! `correct` to a printer of one's own.

use std::fmt::Write;

use borewright::cli::Exit;

use super::support::{Folder, ran, ran_with};

/// A printer that makes x longer by 4 in 1,000 and y shorter by 3, surfaces 0.06 mm
/// out, holes 0.25 mm narrower and the first layer 0.12 mm out on each side.
fn printed(what: &str, axis: Option<&str>, nominal: f64) -> f64 {
    let scale = match axis {
        Some("x") => 1.004,
        Some("y") => 0.997,
        Some(_) => 1.0,
        None => 0.5 * (1.004 + 0.997),
    };
    let upright = axis != Some("z");
    scale * nominal
        + match what {
            "outside" if upright => 0.12,
            "first_layer" => 0.12 + 0.24,
            "gap" => -0.12,
            "hole" => -0.25,
            _ => 0.0,
        }
}

/// The file for readings, filled in as that printer prints and with a spread of a
/// hundredth of a millimetre.
fn filled_in(text: &str) -> String {
    let spread = [0.008, -0.010, 0.004, -0.007, 0.011, -0.003, 0.006, -0.009];
    let (mut what, mut axis, mut nominal, mut count) = (String::new(), None, 0.0, 0);
    let mut out = String::new();
    for line in text.lines() {
        let word = |line: &str| line.split('"').nth(1).expect("a word").to_owned();
        match line.split(' ').next().unwrap_or_default() {
            "[[size]]" => axis = None,
            "what" => what = word(line),
            "axis" => axis = Some(word(line)),
            "nominal" => nominal = line["nominal = ".len()..].parse().expect("a number"),
            "readings" => {
                let size = printed(&what, axis.as_deref(), nominal) + spread[count % spread.len()];
                count += 1;
                writeln!(out, "readings = [{:.3}, {:.3}]", size - 0.004, size + 0.004)
                    .expect("text");
                continue;
            }
            _ => {}
        }
        writeln!(out, "{line}").expect("text");
    }
    out
}

/// A number of the profile that was written.
fn value(profile: &str, key: &str) -> f64 {
    let prefix = format!("{key} = ");
    let line = profile.lines().find(|line| line.starts_with(&prefix));
    let line = line.unwrap_or_else(|| panic!("no {key}\n{profile}"));
    line[prefix.len()..].parse().expect("a number")
}

#[test]
fn from_test_pieces_to_a_printer_of_ones_own() {
    let folder = Folder::new("coupon");
    let pieces = folder.path("pieces");
    let run = ran(&[&"coupon", &"--printer", &"fdm-medium", &"--bore", &"31.4", &"--out", &pieces]);
    assert_eq!(run.exit, Exit::Made, "{}\n{}", run.out, run.err);
    let names = folder.names("pieces");
    for wanted in ["angle.step", "gauge-5.3mf", "comb-peg.stl", "plate-1.3mf", "coupon.txt"] {
        assert!(names.iter().any(|name| name == wanted), "{wanted}: {names:?}");
    }

    // Not filled in, it is refused with the line; it is not overwritten either.
    let file = pieces.join("readings.toml");
    let text = std::fs::read_to_string(&file).expect("written");
    let own = folder.path("own");
    let empty = ran(&[&"correct", &file, &"--out", &own]);
    assert_eq!(empty.exit, Exit::BadInput);
    assert!(empty.err.contains("not filled in yet"), "{}", empty.err);
    let again = ran(&[&"coupon", &"--printer", &"fdm-medium", &"--out", &pieces]);
    assert_eq!(again.exit, Exit::BadInput);
    assert!(again.err.contains("may hold readings"), "{}", again.err);
    assert_eq!(std::fs::read_to_string(&file).expect("there"), text);

    // Filled in, with what was tried and seen, it becomes a printer.
    let seen = |text: String, key: &str, value: &str| {
        let line = text.lines().find(|l| l.starts_with(&format!("# {key} = "))).expect("a row");
        text.replace(line, &format!("{key} = {value}"))
    };
    let full = seen(seen(filled_in(&text), "fit_slide", "0.24"), "overhang", "50");
    let full = seen(full, "wall_free", "0.6");
    std::fs::write(&file, &full).expect("writable");
    let run = ran(&[&"correct", &file, &"--out", &own]);
    assert_eq!(run.exit, Exit::Made, "{}\n{}", run.out, run.err);
    assert!(!run.out.contains("cannot be told") && !run.out.contains("not read"), "{}", run.out);
    let profile = std::fs::read_to_string(own.join("printers.toml")).expect("written");
    for (key, wanted, within) in [
        ("scale_x", 1.004, 0.0005),
        ("scale_y", 0.997, 0.0005),
        ("scale_z", 1.0, 0.001),
        ("growth", 0.06, 0.005),
        ("hole_shrink", 0.25, 0.015),
        ("first_layer_flare", 0.12, 0.015),
        ("fit_slide", 0.24, 0.0),
        ("overhang", 50.0, 0.0),
        ("wall_free", 0.6, 0.0),
        ("wall_supported", 0.6, 0.0),
    ] {
        let found = value(&profile, key);
        assert!((found - wanted).abs() <= within, "{key}: {found}, not {wanted}");
    }

    // Pieces for that printer are drawn in, the solids are not.
    let second = folder.path("second");
    let printer = "fdm-medium-measured";
    let asked: [&dyn AsRef<std::ffi::OsStr>; 7] =
        [&"coupon", &"--printer", &printer, &"--profiles", &own, &"--piece", &"angle"];
    let run = ran(&[&asked[..], &[&"--out", &second]].concat());
    assert_eq!(run.exit, Exit::Made, "{}\n{}", run.out, run.err);
    let bytes =
        |folder: &std::path::Path, name: &str| std::fs::read(folder.join(name)).expect("there");
    assert!(bytes(&pieces, "angle.step") == bytes(&second, "angle.step"));
    assert!(bytes(&pieces, "angle.stl") != bytes(&second, "angle.stl"));
    assert!(!folder.names("second").iter().any(|name| name.starts_with("bores")));
    let text = std::fs::read_to_string(second.join("readings.toml")).expect("written");
    assert!(text.contains("printer = \"fdm-medium-measured\""), "{text}");
}

#[test]
fn rings_are_for_the_handle_of_the_job_with_its_own_printer_and_keel() {
    let folder = Folder::new("coupon-job");
    let out = folder.path("pieces");
    let job = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/storm-lantern-staff.toml");
    let kinds = borewright::parts::PART_KINDS;
    let run = ran_with(kinds, &[&"coupon", &"--job", &job, &"--piece", &"gauge", &"--out", &out]);
    assert_eq!(run.exit, Exit::Made, "{}\n{}", run.out, run.err);
    let report = std::fs::read_to_string(out.join("report.json")).expect("written");
    let report: serde_json::Value = serde_json::from_str(&report).expect("JSON");
    let sure = report["handle"]["bore"]["sure"].as_f64().expect("a number");
    let bodies = report["parts"][0]["bodies"].as_array().expect("rings");
    assert_eq!(bodies.len(), 5);
    let of = |body: &serde_json::Value, key: &str| {
        let rows = body["computed"].as_array().expect("rows");
        let row = rows.iter().find(|row| row["key"] == key).expect("a row");
        row["value"].as_f64().expect("a number")
    };
    for body in bodies {
        let outside = of(body, "outside_x");
        assert!((sure - of(body, "clearance") - outside).abs() < 1e-9);
        assert!(of(body, "outside_y") < outside, "the staff's modules have a keel");
    }
    assert!(run.out.contains("2 sizes to read"), "{}", run.out);
}

#[test]
fn a_job_of_parts_without_a_keel_gives_round_rings() {
    let folder = Folder::new("coupon-keel");
    let out = folder.path("pieces");
    let job = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/storm-lantern-trim.toml");
    let kinds = borewright::parts::PART_KINDS;
    let run = ran_with(kinds, &[&"coupon", &"--job", &job, &"--piece", &"lip", &"--out", &out]);
    assert_eq!(run.exit, Exit::Made, "{}\n{}", run.out, run.err);
    assert!(out.join("lip.stl").exists(), "{}", run.out);
}

#[test]
fn what_cannot_be_asked_is_said_with_what_can() {
    let folder = Folder::new("coupon-faults");
    let out = folder.path("pieces");
    for (arguments, wanted) in [
        (&["--printer", "fdm-medum"][..], "did you mean fdm-medium"),
        (&["--printer", "fdm-medium", "--material", "peg"], "unknown material"),
        (&["--printer", "fdm-medium", "--piece", "gauge"], "give --job JOB, or --bore"),
        (&["--printer", "fdm-medium", "--piece", "lid"], "unknown test piece lid"),
        (&["--printer", "fdm-medium", "--bore", "300"], "8 to 120 mm"),
        (&["--bore", "30"], "--printer"),
    ] {
        let mut all: Vec<&dyn AsRef<std::ffi::OsStr>> = vec![&"coupon", &"--out", &out];
        all.extend(arguments.iter().map(|a| a as &dyn AsRef<std::ffi::OsStr>));
        let run = ran(&all);
        assert_eq!(run.exit, Exit::BadInput, "{arguments:?}");
        assert!(run.err.contains(wanted), "{arguments:?}\n{}", run.err);
        assert!(!out.exists(), "{arguments:?}");
    }
}

#[test]
fn what_was_seen_must_go_with_the_printer() {
    let folder = Folder::new("coupon-seen");
    let size = "[[size]]\nwhat = \"outside\"\naxis = \"x\"\nnominal = 20\nreadings = [20.1]\n";
    for (rows, wanted) in [
        (
            "fit_press = 0.3\nfit_slide = 0.2",
            "fit_press 0.3 mm would be more than fit_slide 0.2 mm",
        ),
        ("fit_slide = 0.6", "fit_slide 0.6 mm would be more than fit_loose 0.4 mm"),
    ] {
        let text = format!("format = 1\nprinter = \"fdm-medium\"\n{rows}\n{size}");
        let run = ran(&[&"correct", &folder.write("readings.toml", &text)]);
        assert_eq!(run.exit, Exit::BadInput, "{rows}");
        assert!(run.err.contains(wanted), "{rows}\n{}", run.err);
    }
}
