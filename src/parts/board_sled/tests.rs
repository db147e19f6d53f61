//! Tests of board sleds.

use super::super::PART_KINDS;
use super::random::{job, random_job};
use super::rows::PARAMS;
use crate::job::{Job, fingerprint, make};
use crate::measure::{Library, Source, check_rows};
use crate::parts::trying::{Tally, told, value};

const PRINT: &str = "printer = \"fdm-medium\"\nmaterial = \"petg\"";

#[test]
fn rows_keep_the_rules() {
    check_rows(PARAMS).unwrap();
}

/// Jobs of the random test, and the share of them that must be made.
const JOBS: usize = 1000;
const SHARE: f64 = 0.3;

/// `BOREWRIGHT_TRIALS` sets how many are tried.
#[test]
fn random_sleds_are_made_or_refused_with_numbers() {
    let asked = std::env::var("BOREWRIGHT_TRIALS").ok().and_then(|n| n.parse().ok());
    let jobs: usize = asked.unwrap_or(JOBS);
    let library = Library::shipped();
    let texts =
        (0..jobs).map(|seed| random_job(&mut fastrand::Rng::with_seed(seed as u64), &library));
    let tally = Tally::of(texts);
    assert!(tally.made as f64 > SHARE * jobs as f64, "{}", tally.made);
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 2e-6 * b.abs().max(1.0), "{a} is not {b}");
}

/// Area of a circle's segment above a chord at this height.
fn above(radius: f64, y: f64) -> f64 {
    radius * radius * (y / radius).acos() - y * (radius * radius - y * y).sqrt()
}

/// A sled without chamfer or gate, so that its volume can be reckoned by hand.
const PLAIN: &str = "width = 20\nlength = 40\nthickness = 1.6\nheight = -6\nunder = 2\nlock = \"none\"\n\
                     lead_in = 0\nfirst_layer = 0\nwall = 1.2\nclearance = 0.1\nrail = 1.5\nstop = 2";

#[test]
fn a_plain_sled_has_the_volume_reckoned_by_hand() {
    let text = job("[36.03]", PRINT, PLAIN);
    let body = told(&text).unwrap().remove(0);
    // Bore 36.03 less 0.03 less 0.2.
    let radius = 17.9;
    let (half, well) = (0.5 * 20.1 + 0.1, 0.5 * 20.1 + 0.1 - 1.5);
    let (groove, room) = (1.6 + 0.16 + 0.2, 40.0 + 0.1 + 0.2);
    let top = value(&body, "top");
    let disc = std::f64::consts::PI * radius * radius - above(radius, top);
    let open = 2.0 * well * (top + 8.0) + 2.0 * 1.5 * groove;
    let stop = 2.0 * well * (top - value(&body, "bar"));
    close(value(&body, "room_half"), half);
    close(value(&body, "room_z_high"), room);
    close(body.solid.properties().volume, (disc - open) * room + (disc - stop) * 2.0);
    assert!((value(&body, "held_plus_x") - 40.0).abs() < 1e-9);
}

#[test]
fn a_keep_out_near_the_tube_is_refused_with_a_height_that_works() {
    let out = "keep_out = [{ x = 0, z = 20, width = 16, length = 10, height = 17 }]";
    let high = PLAIN.replace("height = -6", "height = 4");
    let why = told(&job("[36.03]", PRINT, &format!("{high}\n{out}"))).unwrap_err();
    assert!(why.contains("keep_out[1]") && why.contains("short by"), "{why}");
    let hint = why.split("height = ").nth(1).expect("a height is hinted");
    let hinted = hint.split(' ').next().expect("a number");
    let lower = PLAIN.replace("height = -6", &format!("height = {hinted}"));
    told(&job("[36.03]", PRINT, &format!("{lower}\n{out}"))).unwrap();
}

#[test]
fn what_stands_over_the_front_edge_is_refused_with_a_place_that_works() {
    let at = |z: &str| {
        let out = format!("keep_out = [{{ x = 0, z = {z}, width = 8, length = 10, height = 3 }}]");
        told(&job("[36.03]", PRINT, &format!("{PLAIN}\n{out}")))
    };
    let why = at("38").unwrap_err();
    assert!(why.contains("keep_out[1].z") && why.contains("3.00 mm beyond"), "{why}");
    let z = why.split("hint: z = ").nth(1).and_then(|hint| hint.split(' ').next());
    at(z.expect("a place is hinted")).unwrap();
}

#[test]
fn a_board_that_is_too_wide_is_told_what_would_fit() {
    let wide = "width = 34\nlength = 40";
    let why = told(&job("[36.03]", PRINT, wide)).unwrap_err();
    let hint = why.split("a board ").nth(1).expect("a width is hinted");
    let width = hint.split(' ').next().expect("a number");
    told(&job("[36.03]", PRINT, &format!("width = {width}\nlength = 40"))).unwrap();
}

#[test]
fn rails_need_straight_edges() {
    let round =
        "outline = \"polygon\"\ncorners = [[0, 0], [20, 0], [26, 20], [20, 40], [0, 40], [-6, 20]]";
    let why = told(&job("[42]", PRINT, round)).unwrap_err();
    assert!(why.contains("rail") && why.contains("hold = \"posts\""), "{why}");
    let posts = format!("{round}\nhold = \"posts\"\nhole = [{{ x = 0, z = 8, diameter = 2.8 }}]");
    told(&job("[42]", PRINT, &posts)).unwrap();
}

#[test]
fn a_plug_that_leaves_no_stop_is_refused() {
    let port = "[[part.port]]\nedge = \"front\"\noffset = 0\nwidth = 19\nheight = 4";
    let why = told(&job("[36.03]", PRINT, &format!("{PLAIN}\n{port}"))).unwrap_err();
    assert!(why.contains("port[1]") && why.contains("short by"), "{why}");
}

/// A square board of 20 mm as a drawing.
const DRAWING: &str = "0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n10\n0\n20\n0\n10\n\
                       20\n20\n0\n10\n20\n20\n20\n10\n0\n20\n20\n0\nENDSEC\n0\nEOF\n";

#[test]
fn a_drawing_counts_as_what_is_written_in_the_job() {
    let text = job("[36.03]", PRINT, "outline = \"dxf\"\ndxf = \"b.dxf\"\ndxf_unit = \"mm\"");
    let source = Source::new("test.toml", text.clone()).expect("UTF-8");
    let read = |drawing: &str| {
        let files = |name: &str| {
            assert_eq!(name, "b.dxf");
            Ok(drawing.as_bytes().to_vec())
        };
        Job::read_beside(&source, Library::shipped(), PART_KINDS, &files).expect("right")
    };
    let job = read(DRAWING);
    let body = make(&job).expect("made").remove(0).bodies.remove(0).body;
    assert_eq!((value(&body, "board_width"), value(&body, "board_length")), (20.0, 20.0));
    let longer = DRAWING.replace("20\n20\n", "20\n21\n");
    assert_ne!(fingerprint(&job), fingerprint(&read(&longer)));
    let why = Job::read(&source, Library::shipped(), PART_KINDS).unwrap_err().to_string();
    assert!(why.contains("part[1].dxf"), "{why}");
}
