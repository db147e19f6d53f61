//! Every kind of fault, with its line and what it advises.

use borewright::measure::{Library, Source, read_values, render};

use super::support::{BLOCK_PARAMS, GOOD, read, source, spoilt};

#[test]
fn the_good_job_is_good() {
    let job = read(GOOD).expect("good");
    assert_eq!(job.handle().name(), "Lamplighter's rod");
    assert!((job.handle().bore().sure() - 25.36).abs() < 1e-12);
    assert_eq!(job.chord(), 0.01);
    let material = job.print().component("material");
    assert_eq!((material.number("density"), material.number("modulus")), (1.25, 1700.0));
    assert_eq!(material.written().collect::<Vec<_>>(), ["density"]);
    let values = job.parts()[0].values();
    assert_eq!(values.component("cell").profile(), Some("18650"));
    assert_eq!(values.component("cell").number("diameter_max"), 18.6);
    assert_eq!(values.integer("ribs"), 2);
    assert_eq!(values.maybe_text("label"), None);
    assert_eq!(values.points("outline").len(), 3);
    let plungers = values.list("plunger");
    assert_eq!(plungers[0].component("switch").profile(), Some("6x6-h5.0"));
    assert_eq!(plungers[1].component("switch").number("stroke"), 0.3);
    assert_eq!(plungers[1].path_of("travel"), "part[1].plunger[2].travel");
    assert_eq!(format!("{:?}", plungers[1].place("travel").expect("there")), "job.toml:29:10");
}

#[test]
fn a_number_out_of_range_says_line_value_range_and_slip() {
    let text = spoilt("travel = 0.8", "travel = 80");
    let wanted = "\
error: part[1].plunger[1].travel: 80 mm is outside the allowed 0.1 to 5 mm
  --> job.toml:26:10
   |
26 | travel = 80
   |          ^^

hint: 0.8 mm was probably meant; lengths are in millimetres
";
    assert_eq!(text, wanted);
}

#[test]
fn a_bore_without_its_decimal_point_is_recognised() {
    let text = spoilt("25.42", "3142");
    assert!(text.contains("handle.bore[1]: 3142 mm is outside the allowed 8 to 120 mm"), "{text}");
    assert!(text.contains(" --> job.toml:5:9\n"), "{text}");
    let hint = "hint: 31.42 mm was probably meant; lengths are in millimetres\n";
    assert!(text.ends_with(hint), "{text}");
}

#[test]
fn impossible_numbers_are_refused() {
    for (number, part) in [
        ("nan", "nan is not a finite number"),
        ("-inf", "-inf is not a finite number"),
        ("1e999", "1e999 is not a finite number"),
        ("0", "0 mm is outside the allowed 0.4 to 5 mm"),
        ("-1.5", "hint: 1.5 mm without the minus sign?"),
        ("99999999999999999999999", "outside the allowed 0.4 to 5 mm"),
    ] {
        let text = spoilt("wall = 1.5", &format!("wall = {number}"));
        assert!(text.contains(part), "{number}: {text}");
        assert!(text.contains("--> job.toml:17:8"), "{number}: {text}");
    }
}

#[test]
fn wrong_types_are_named() {
    for (key, value, part) in [
        ("wall", "\"1.5 mm\"", "hint: write 1.5, without quotes or unit"),
        ("wall", "[1.5]", "hint: write the number without the brackets"),
        ("wall", "true", "true is true or false, but a number from 0.4 to 5 mm is needed"),
        ("ribs", "2.0", "hint: write 2, without a decimal point"),
        ("ribs", "9", "9 is outside the allowed 0 to 8"),
        ("mirrored", "\"yes\"", "\"yes\" is a text, but true or false is needed"),
        ("ends", "\"point\"", "point is none of blunt, pointed"),
        ("ends", "\"point\"", "hint: did you mean pointed?"),
        ("ends", "3", "3 is a whole number, but \"blunt\" or \"pointed\" is needed"),
        ("label", "\"\"", "\"\" is no text of 1 to 12 characters on one line"),
        ("label", "\"a\\nb\"", "is no text of 1 to 12 characters on one line"),
        ("label", "\"one that is too long\"", "is no text of 1 to 12 characters"),
        ("label", "1979-05-27", "hint: put it in quotes"),
        ("stations", "4", "hint: write [4]"),
        ("stations", "\"4,5 mm\"", "hint: write [4.5], without quotes or unit"),
        ("stations", "[4]", "1 given, but 2 to 4 are needed"),
        ("stations", "[4, 95]", "stations[2]: 95 mm is outside the allowed 0 to 90 mm"),
        ("outline", "[[0, 0], [1, 0], 3]", "hint: write each point as [x, y]"),
        ("outline", "[[0, 0], [1, 0], [3]]", "outline[3]: 1 given, but 2 are needed"),
        ("outline", "[[0, 0], [1, 0], [0, 400]]", "outline[3][2]: 400 mm is outside"),
        ("seat", "3", "3 is a whole number, but a table is needed"),
        ("seat", "{}", "seat.depth: missing: a number from 0.5 to 20 mm"),
        ("plunger", "[3]", "plunger[1]: 3 is a whole number"),
        ("plunger", "{}", "is a table, but a list of 0 to 3 tables is needed"),
        ("plunger", "{}", "hint: start each plunger in two brackets, [[...]]"),
        ("cell", "18650", "18650 is a whole number, but the name of a profile of cells in quotes"),
        ("cell", "{ profile = 3 }", "cell.profile: 3 is a whole number"),
    ] {
        let base = if key == "cell" { String::new() } else { "cell = \"18650\"\n".to_owned() };
        let text = format!("{base}{key} = {value}\n");
        let faults = read_values(&source(&text), BLOCK_PARAMS, &Library::shipped());
        let text = render(&faults.expect_err("faulty"), false);
        assert!(text.contains(part), "{key} = {value}: {text}");
        let line = if key == "cell" { 1 } else { 2 };
        assert!(text.contains(&format!("own.toml:{line}:")), "{key} = {value}: {text}");
    }
}

#[test]
fn unknown_and_missing_keys_are_named_once() {
    let text = spoilt("length = 210", "lenght = 210");
    let wanted = "\
error: handle: unknown key lenght
 --> job.toml:7:1
  |
7 | lenght = 210
  | ^^^^^^

hint: did you mean length?
";
    assert_eq!(text, wanted);
    let text = spoilt("length = 210\n", "");
    assert!(
        text.starts_with("error: handle.length: missing: a number from 10 to 1500 mm"),
        "{text}"
    );
    assert!(text.contains("--> job.toml:3:1"), "{text}");
    let text = spoilt("wall = 1.5", "colour = 3");
    assert!(text.contains("hint: known here: wall, clocking, ribs,"), "{text}");
    let text = spoilt("wall = 1.5", "depth = 3");
    let hint = "hint: depth belongs under [part.seat]: put that line above it";
    assert!(text.contains(hint), "{text}");
    let text = spoilt("wall = 1.5", "travel = 3");
    assert!(text.contains("hint: travel belongs under [[part.plunger]]"), "{text}");
    let text = spoilt("[handle]", "[hanlde]");
    assert!(text.contains("unknown key hanlde"), "{text}");
    assert!(text.contains("hint: did you mean handle?"), "{text}");
}

#[test]
fn duplicate_keys_point_at_the_second() {
    let text = spoilt("caliper = 0.02", "caliper = 0.02\ncaliper = 0.03");
    assert!(text.contains("not valid TOML: duplicate key"), "{text}");
    assert!(text.contains("--> job.toml:7:1"), "{text}");
    assert!(text.contains("hint: a key may be given once in a table"), "{text}");
}

#[test]
fn broken_syntax_points_at_its_line() {
    let text = spoilt("travel = 0.8", "travel 0.8");
    assert!(text.starts_with("error: not valid TOML: "), "{text}");
    assert!(text.contains("--> job.toml:26:"), "{text}");
}

#[test]
fn unknown_names_suggest_known_ones() {
    let text = spoilt("\"fdm-thin\"", "\"fdm-thick\"");
    assert!(text.contains("print.printer: unknown profile of printers fdm-thick"), "{text}");
    assert!(text.contains("--> job.toml:11:11"), "{text}");
    assert!(text.contains("hint: did you mean fdm-thin?"), "{text}");
    let text = spoilt("\"18650\"", "\"1865\"");
    assert!(text.contains("part[1].cell.profile: unknown profile of cells 1865"), "{text}");
    assert!(text.contains("hint: `borewright profiles cells` lists what is known"), "{text}");
    let text = spoilt("\"block\"", "\"blok\"");
    assert!(text.contains("part[1].kind: unknown part kind blok"), "{text}");
    assert!(text.contains("hint: did you mean block?"), "{text}");
    assert!(text.contains("hint: known kinds: block, bridge_plate"), "{text}");
}

#[test]
fn a_component_of_measured_fields_needs_all_of_them() {
    let text = spoilt("{ profile = \"18650\", diameter_max = 18.6 }", "{ diameter_max = 18.6 }");
    for key in ["diameter_min", "length_min", "length_max", "chemistry"] {
        assert!(text.contains(&format!("part[1].cell.{key}: missing")), "{key}: {text}");
    }
    let whole = "{ diameter_min = 18, diameter_max = 18.6, length_min = 64, length_max = 65, \
                 chemistry = \"li-ion\" }";
    let job = read(&GOOD.replace("{ profile = \"18650\", diameter_max = 18.6 }", whole));
    let job = job.expect("all fields are there");
    assert_eq!(job.parts()[0].values().component("cell").profile(), None);
}

#[test]
fn values_that_do_not_go_together_are_refused() {
    let text = spoilt("diameter_max = 18.6", "diameter_max = 16");
    assert!(text.contains("cell.diameter_max: diameter_min = 17.8 is more than diameter_max = 16"));
    assert!(text.contains("--> job.toml:20:44"), "{text}");
    let text = spoilt("outside = 32", "outside = 25");
    let part = "handle.outside: outside 25 mm is not more than the bore's largest 25.45 mm";
    assert!(text.contains(part), "{text}");
    let text = spoilt("25.42", "52.42");
    assert!(text.contains("a typing slip, or not of one bore"), "{text}");
    assert!(text.contains("--> job.toml:5:8"), "{text}");
}

#[test]
fn names_of_parts_are_file_names_and_unique() {
    for name in ["Lamp", "a b", "../a", "a.b", "", "-a", "nul", "report", &"x".repeat(41), "µ"] {
        let text = spoilt("\"lamp-block\"", &format!("\"{name}\""));
        assert!(text.contains("part[1].name: name "), "{name}: {text}");
        assert!(text.contains("--> job.toml:16:8"), "{name}: {text}");
    }
    let again = "\n[[part]]\nkind = \"bridge_plate\"\nname = \"lamp-block\"\ndepth = 1\n";
    let faults = read(&format!("{GOOD}{again}")).expect_err("twice");
    assert_eq!(faults.to_string(), "part[2].name: name lamp-block is used on line 16 already");
}

#[test]
fn what_every_job_has_is_asked_for() {
    let text = render(&read("").expect_err("empty"), false);
    for part in [
        "format: missing: the format of the file",
        "hint: write `format = 1` as the first line",
        "handle: missing: a table [handle]",
        "hint: [handle] needs name, bore, length",
        "print: missing: a table [print]",
        "part: missing: a part to make",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let text = spoilt("format = 1", "format = 2");
    assert!(text.contains("format: format 2 is not known here"), "{text}");
    let text = spoilt("[[part]]", "[part]");
    assert!(text.contains("hint: start each part with [[part]], in two brackets"), "{text}");
    let text = spoilt("kind = \"block\"\n", "");
    assert!(text.contains("part[1].kind: missing"), "{text}");
    let text = spoilt("[print]", "[print]\ntime = \"2026-02-30T00:00:00\"");
    assert!(text.contains("print.time: 2026-02-30T00:00:00 is no time stamp"), "{text}");
}

#[test]
fn all_faults_of_a_file_are_told_in_its_order() {
    let text = GOOD
        .replace("length = 210", "length = -210")
        .replace("\"fdm-thin\"", "\"fdm\"")
        .replace("wall = 1.5", "wal = 1.5")
        .replace("travel = 1\n", "travel = \"?\"\n");
    let faults = read(&text).expect_err("four faults");
    let lines: Vec<usize> =
        faults.iter().map(|f| f.place.as_ref().expect("a place").line_column().0).collect();
    assert_eq!(lines, [7, 11, 17, 29]);
    let last = "part[1].plunger[2].travel: not filled in yet: a number from 0.1 to 5 mm";
    assert_eq!(faults.iter().last().expect("some").to_string(), last);
}

#[test]
fn faults_are_data_for_a_page() {
    let faults = read(&GOOD.replace("travel = 0.8", "travel = 80")).expect_err("out of range");
    let json = serde_json::to_value(&faults).expect("data");
    assert_eq!(json[0]["what"]["code"], "out_of_range");
    assert_eq!(json[0]["what"]["max"], 5.0);
    assert_eq!(json[0]["what"]["unit"], "mm");
    assert_eq!(json[0]["field"], "part[1].plunger[1].travel");
    assert_eq!((&json[0]["line"], &json[0]["column"]), (&26.into(), &10.into()));
    assert!(json[0]["hints"][0].as_str().expect("a hint").contains("0.8"));
}

#[test]
fn messages_cannot_steer_a_terminal() {
    let text = spoilt("wall = 1.5", "\"w\\u001b[31mall\" = 1.5");
    assert!(!text.contains('\u{1b}'), "{text:?}");
    let colour = render(&read("").expect_err("empty"), true);
    assert!(colour.contains('\u{1b}'), "colour is there when asked for");
}

#[test]
fn lines_that_end_in_cr_lf_and_a_byte_order_mark_are_read() {
    let text = format!("\u{feff}{}", GOOD.replace('\n', "\r\n"));
    read(&text).expect("good");
    let faults = read(&text.replace("travel = 0.8", "travel = 80")).expect_err("out of range");
    let text = render(&faults, false);
    assert!(text.contains("--> job.toml:26:10"), "{text}");
    assert!(!text.contains('\r'), "{text:?}");
}

#[test]
fn what_is_no_text_is_refused_before_it_is_read() {
    let error = Source::new("job.toml", vec![0xff, 0xfe, 0x00]).expect_err("UTF-16");
    assert!(error.to_string().starts_with("job.toml, line 1: byte 0xff"));
    assert!(Source::new("job.toml", vec![b'a'; 10 << 20]).is_err());
}
