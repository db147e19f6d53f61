//! Cradles made from jobs: volumes by hand, clearance by sections, random
//! jobs over the whole range.

use std::time::{Duration, Instant};

use fastrand::Rng;

use super::super::{Body, PART_KINDS, PartContext};
use super::plan::{Plan, Retention};
use super::random::{head, random};
use super::veil::Veil;
use crate::checks::{Analysis, CHECKS, CheckContext, Finding, Known, Severity};
use crate::job::{Job, make};
use crate::measure::frame::direction;
use crate::measure::{Library, Source, Vec2, check_rows};
use crate::mesh::{Soup, Welder};
use crate::sight::Counts;

fn job(text: &str) -> Job {
    let source = Source::new("t.toml", text).expect("UTF-8");
    Job::read(&source, Library::shipped(), PART_KINDS).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn made(text: &str) -> Vec<Body> {
    let made = make(&job(text)).unwrap_or_else(|e| panic!("{e}\n{text}"));
    made.into_iter().flat_map(|part| part.bodies).map(|made| made.body).collect()
}

fn refused(text: &str) -> (String, Vec<String>) {
    let faults = make(&job(text)).expect_err("cannot be made").0;
    let hints = faults.iter().flat_map(|f| f.hints.clone()).collect();
    (faults.to_string(), hints)
}

/// Calls `check` with the plan of the job's only part.
fn with_plan<T>(job: &Job, check: impl FnOnce(&Plan<'_>) -> T) -> T {
    let part = &job.parts()[0];
    let context = PartContext {
        name: part.name(),
        handle: job.handle(),
        printer: job.print().component("printer"),
        material: job.print().component("material"),
        chord: job.chord(),
        library: job.library(),
        cavity: None,
        chassis: None,
        made: &[],
    };
    check(&Plan::new(&context, part.values(), Veil::default(), 0).unwrap_or_else(|e| panic!("{e}")))
}

/// The part keeps the clearance from the stone: points of the stone's outline
/// moved outwards by it lie in no material, there and all the way up to +y
/// (under lips, only there).
fn assert_clear(plan: &Plan<'_>, rng: &mut Rng) {
    let length = plan.stone.length();
    let away = match &plan.retention {
        Retention::Lips(lips, _) if plan.pixel_low => lips.slide,
        Retention::Lips(lips, _) => -lips.slide,
        _ => 0.0,
    };
    for k in 0..6 {
        let at = rng.f64() * length;
        let slid = if k < 3 { 0.0 } else { away };
        let section = plan.section(plan.stone_low + at + slid);
        for k in 0..72 {
            let n = direction(5.0 * f64::from(k));
            // A corner of the stone's section in two near directions.
            let m = direction(5.0 * f64::from(k) + 0.01);
            let (h, g) = (plan.stone.support(at, n), plan.stone.support(at, m));
            let det = n.x * m.y - n.y * m.x;
            let p = Vec2::new(h * m.y - g * n.y, n.x * g - m.x * h) / det;
            if (p - plan.stone.end_middle(false)).norm() > 80.0 {
                continue;
            }
            let p = p + n * (0.98 * plan.keep.clearance);
            let ups: &[f64] = match plan.retention {
                Retention::Glue | Retention::Cap(_) => &[0.0, 0.5, 2.0, 7.0, 30.0],
                Retention::Lips(..) => &[0.0],
            };
            for up in ups {
                let q = p + Vec2::new(0.0, *up);
                assert!(!section.contains(q), "{q:?} at {at} of {length}");
            }
        }
    }
}

/// The stone comes to rest on places at the seat's walls that carry all of it.
pub(super) fn assert_rests(plan: &Plan<'_>, text: &str) {
    /// How far a place may be off its wall, mm.
    const ON_WALL: f64 = 0.01;
    let rest = plan.rest().unwrap_or_else(|| panic!("nothing holds the stone\n{text}"));
    let all: f64 = rest.touches.iter().map(|t| t.share).sum();
    assert!((all - 1.0).abs() < 1e-3, "{rest:?}\n{text}");
    assert!(rest.down >= 0.0, "{rest:?}\n{text}");
    for touch in &rest.touches {
        let mut least = f64::INFINITY;
        plan.seat.walls(touch.at, &mut |wall| least = least.min(wall.gap));
        assert!(least.abs() < ON_WALL, "{least} mm from its wall: {touch:?}\n{text}");
    }
}

const SIMPLE: &str = "pixel = \"bare-5050\"\nlight_shape = \"square\"\nlight_bore = 4\n\
                      lead_in = 0\nfirst_layer = 0\nwindow_angle = 180\n";

fn stations(sections: &[&str]) -> String {
    sections.iter().map(|s| format!("[[part.station]]\n{s}\n")).collect()
}

#[test]
fn a_square_stone_in_a_block_has_the_volume_worked_out_by_hand() {
    let text = head(60.0, "fdm-thin")
        + SIMPLE
        + "cavity = { width = 20.3, length = 60, depth = 18 }\n"
        + &stations(&[
            "at = 0\nsection = \"rectangle\"\nwidth = 10\nheight = 8",
            "at = 30\nsection = \"rectangle\"\nwidth = 10\nheight = 8",
        ]);
    let bodies = made(&text);
    let value = |key: &str| {
        let found = bodies[0].computed.iter().find(|c| c.key == key);
        found.unwrap_or_else(|| panic!("{key}")).value
    };
    // The block is 20 x 18, its axis in the middle; the seat is 10.4 wide with
    // its floor at -4.2; walls end at 0.3, past the axis, as the window of 180
    // degrees is the seat's length, 30.4.
    let seat = 30.4 * (10.4 * 4.5);
    let walls = 30.4 * 20.0 * 9.3;
    let (back, package, web) = (value("wire_exit_depth"), 1.7, 3.0 - 0.1 - 0.2);
    let pocket = 5.0 + 0.1 + 0.3;
    let exit = value("wire_exit");
    assert!(exit < pocket);
    let cuts = back * (pocket * pocket + exit * (9.0 - pocket / 2.0)) + package * pocket * pocket;
    let ends = 20.0 * 18.0 * (back + package + web + 2.0) - cuts - web * 16.0;
    let volume = bodies[0].solid.properties().volume;
    assert!(
        (volume - (ends + walls - seat)).abs() < 1e-6 * volume,
        "{volume} {} {ends} {walls} {seat} {back} {exit}",
        ends + walls - seat
    );
    assert!((value("wall_under") - 4.8).abs() < 1e-9);
    assert!((value("land_area") - 30.0 * (10.4 + 2.0 * 4.5)).abs() < 1e-6);
}

#[test]
fn a_turned_round_stone_gives_cylinders_and_cones() {
    let text = head(31.4, "fdm-thin")
        + SIMPLE
        + &stations(&["at = 0\nwidth = 16\nheight = 16", "at = 20\nwidth = 16\nheight = 16"])
        + "[part.tip_high]\nlength = 9\n";
    let bodies = made(&text);
    let counts = bodies[0].solid.face_counts();
    assert_eq!(counts.cones, 1, "{counts:?}");
    // Two halves of the bore around the ends, the outside below, the seat.
    assert!(counts.cylinders <= 6, "{counts:?}");
    assert!(counts.planes <= 40, "{counts:?}");
}

#[test]
fn more_clearance_takes_material_and_a_larger_bore_adds_some() {
    let text = |bore: f64, clearance: f64| {
        head(bore, "fdm-thin")
            + SIMPLE
            + &format!("clearance = {clearance}\n")
            + &stations(&[
                "at = 0\nsection = \"hexagon\"\nwidth = 16\nheight = 14\nturn = 3",
                "at = 20\nsection = \"facets\"\nwidth = 12\nheight = 12\nx = 1\ny = 0.5",
            ])
    };
    let volume = |bore: f64, clearance: f64| -> f64 {
        made(&text(bore, clearance))[0].solid.properties().volume
    };
    assert!(volume(31.4, 0.2) > volume(31.4, 0.3));
    assert!(volume(32.0, 0.2) > volume(31.4, 0.2));
}

#[test]
fn a_stone_too_large_is_refused_with_hints_that_work() {
    let text = |bore: f64, clearance: f64, y: f64| {
        head(bore, "fdm-stout")
            + SIMPLE
            + &format!("clearance = {clearance:.2}\nproud = true\n")
            + &stations(&[
                &format!("at = 0\nwidth = 20\nheight = 16\ny = {y:.2}"),
                &format!("at = 20\nwidth = 19\nheight = 15\ny = {y:.2}"),
            ])
    };
    let (what, hints) = refused(&text(24.3, 0.3, -3.0));
    assert!(what.contains("needs a bore of at least"), "{what}");
    let needed = |what: &str, before: &str| -> f64 {
        let rest = &what[what.find(before).expect(before) + before.len()..];
        rest.split_whitespace().next().expect("a number").parse().expect("a number")
    };
    let bore = needed(&what, "at least ");
    made(&text(bore, 0.3, -3.0));
    let hint = hints.iter().find(|h| h.contains("along y")).expect("a move that fits");
    made(&text(24.3, 0.3, -3.0 + needed(hint, "x and ")));
}

/// A straight line from the package's face to the window meets material unless
/// it goes through the light bore; none that starts backwards gets there.
#[test]
fn the_wire_exit_opens_no_line_of_sight() {
    let mut rng = Rng::with_seed(9);
    let text = head(31.4, "fdm-thin")
        + "pixel = \"round-10\"\nlight_bore = 3\ngap = 5\nwire_groove = 1.6\nlead_in = 0\n\
           first_layer = 0\n"
        + &stations(&["at = 0\nwidth = 16\nheight = 16", "at = 30\nwidth = 12\nheight = 14"]);
    with_plan(&job(&text), |plan| {
        let p = &plan.pixel;
        let face = plan.ends.0 + p.web - p.to_web;
        assert!(p.back < p.web - p.to_web, "the exit lies behind the package's face");
        let mouth = plan.ends.0 + p.web + p.web_thickness;
        let mut through = 0;
        for _ in 0..4000 {
            let from = p.at + Vec2::new(rng.f64() - 0.5, rng.f64() - 0.5) * 5.0;
            let z = plan.window_z.0 + rng.f64() * (plan.window_z.1 - plan.window_z.0);
            let to = direction(120.0 * (rng.f64() - 0.5)) * 15.6;
            let web = [p.web + 1e-6, p.web + p.web_thickness - 1e-6].map(|d| plan.ends.0 + d);
            let steps = (1..400).map(|k| face + (z - face) * f64::from(k) / 400.0);
            let blocked = steps.chain(web).any(|here| {
                let t = (here - face) / (z - face);
                plan.section(here).contains(from + (to - from) * t)
            });
            if !blocked {
                through += 1;
                let t = (mouth - face) / (z - face);
                let at = from + (to - from) * t;
                assert!((at - p.at).norm() < p.bore / 2.0 + 1e-9, "past the light bore");
            }
        }
        assert!(through > 0, "some lines do reach the window");
    });
}

/// Makes random jobs: each is a closed solid that meshes and keeps clear of the
/// stone, or is refused in numbers; none takes a second, or ten where it is
/// looked for a bore that hides the pixel.
fn endure(seed: u64, jobs: usize, mild: bool, at_least: usize) {
    let mut rng = Rng::with_seed(seed);
    let mut good = 0;
    let mut failures = Vec::new();
    for _ in 0..jobs {
        let text = random(&mut rng, mild);
        let Ok(source) = Source::new("t.toml", text.as_str()) else { continue };
        let job = match Job::read(&source, Library::shipped(), PART_KINDS) {
            Ok(job) => job,
            Err(faults) => panic!("{faults}\n{}", text),
        };
        let start = Instant::now();
        let made = make(&job);
        let took = start.elapsed();
        let most = if text.contains("hide = true") { 10 } else { 1 };
        assert!(took < Duration::from_secs(most), "{took:?}\n{}", text);
        match made {
            Ok(parts) => {
                good += 1;
                for body in parts.iter().flat_map(|p| &p.bodies) {
                    assert!(body.properties.volume > 0.0);
                    let bad = body.body.computed.iter().find(|c| !c.value.is_finite());
                    assert!(bad.is_none(), "{bad:?}\n{text}");
                    assert_eq!(body.body.solid.shells().len(), 1, "{text}");
                }
                with_plan(&job, |plan| {
                    assert_clear(plan, &mut rng);
                    assert_rests(plan, &text);
                });
            }
            Err(error) => {
                let what = error.to_string();
                assert!(what.chars().any(|c| c.is_ascii_digit()), "{what}");
                if what.contains("cannot be made") || what.contains("cannot be meshed") {
                    failures.push(format!("{what}\n{text}"));
                }
            }
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n\n"));
    assert!(good >= at_least, "only {good} of {jobs} were made");
}

#[test]
fn tables_keep_the_rules() {
    check_rows(super::params::PARAMS).expect("rows are right");
}

const PLAIN: &str = "pixel = \"bare-5050\"\n";

fn prism(length: f64) -> String {
    stations(&[
        "at = 0\nsection = \"hexagon\"\nwidth = 17\nheight = 15\ny = -2",
        &format!("at = {length}\nsection = \"hexagon\"\nwidth = 17\nheight = 15\ny = -2"),
    ])
}

#[test]
fn lips_leave_less_than_the_stone_between_them_and_it_gets_in_all_the_same() {
    let text = head(31.4, "fdm-medium") + PLAIN + "retention = \"lips\"\n" + &prism(41.0);
    with_plan(&job(&text), |plan| {
        let Retention::Lips(lips, _) = &plan.retention else { panic!("no lips") };
        let (low, high) = plan.window_room();
        assert!((high - low - (41.0 - 2.0)).abs() < 0.01, "one millimetre over each end");
        // A block of these sizes turns on its lower edge: its upper corner
        // swings back by the diagonal less the length.
        assert!(lips.slide - 1.0 >= 41f64.hypot(15.0) - 41.0 - 0.5, "{lips:?}");
        assert!(lips.tip > 5.0);
    });
}

#[test]
fn a_cap_is_a_body_of_its_own_with_a_window_shorter_than_the_stone() {
    let text = |extra: &str| {
        head(31.4, "fdm-medium")
            + PLAIN
            + "retention = \"cap\"\nfar_wall = 3\n"
            + extra
            + &prism(30.0)
    };
    let bodies = made(&text(""));
    assert_eq!(bodies.iter().map(|b| b.name.as_str()).collect::<Vec<_>>(), ["c", "c-cap"]);
    let (low, high) = bodies[1].solid.bounds();
    let (lower, upper) = bodies[0].solid.bounds();
    assert!(low.z > lower.z && high.z < upper.z && high.y <= upper.y);
    let length = bodies[1].computed.iter().find(|c| c.key == "window_length").expect("a row");
    assert!((length.value - 28.0).abs() < 1e-9);
    let (what, hints) = refused(&text("window_length = 30\n"));
    assert!(what.contains("too long by 2.00"), "{what}");
    assert!(hints[0].contains("window_length = 28.00"), "{hints:?}");
}

#[test]
fn what_does_not_fit_is_refused_with_the_number_that_would() {
    let stone = prism(30.0);
    let with = |extra: &str| head(31.4, "fdm-medium") + PLAIN + extra + &stone;
    for (bad, what, hint) in [
        ("gap = 1\n", "short by 0.30", "gap = 1.30"),
        ("far_wall = 0.5\n", "short by 0.50", "far_wall = 1.00"),
        ("wall = 0.5\n", "short by 0.50", "\"resin-fine\""),
        ("window_length = 33\n", "too long by 2.60", "window_length = 30.40"),
        ("light_bore = 5.5\n", "slip into it", "light_bore = 4.00"),
        ("pixel_x = 9.5\n", "outside the stone's end", "pixel_x = 0.00, pixel_y = -2.00"),
        ("from_z = 1480\n", "short by ", "from_z = "),
    ] {
        let (text, hints) = refused(&with(bad));
        assert!(text.contains(what), "{text}");
        assert!(hints.iter().any(|h| h.contains(hint)), "{text}: {hints:?}");
    }
    let strip = with("").replace("bare-5050", "strip-10").replace("31.40", "22.00");
    let (text, hints) = refused(&strip);
    assert!(text.contains("the pixel's board needs a bore of at least"), "{text}");
    assert!(hints.iter().any(|h| h.contains("\"bare-5050\"")), "{hints:?}");
}

#[test]
fn random_jobs_that_may_fit() {
    endure(1, 1000, true, 330);
}

/// A stone as thin as the light bore would slip to the pixel; as the hint says, it lies
/// before it.
#[test]
fn a_stone_thinner_than_its_light_bore_is_refused_with_a_bore_that_holds_it() {
    let thin = |extra: &str| {
        let sections = ["at = 0\nwidth = 3\nheight = 3", "at = 20\nwidth = 3.4\nheight = 3.4"];
        let text = head(31.4, "resin-fine") + "pixel = \"bare-5050\"\n" + extra;
        crate::parts::trying::told(&(text + &stations(&sections)))
    };
    let why = thin("").unwrap_err();
    assert!(why.contains("lets the stone slip into it"), "{why}");
    let (_, cure) = why.split_once("light_bore = ").expect("a cure");
    let bore = cure.split_whitespace().next().expect("a number");
    let made = thin(&format!("light_bore = {bore}\n"));
    assert!(made.is_ok(), "light_bore = {bore}: {}", made.unwrap_err());
}

#[test]
fn random_jobs_over_the_whole_range() {
    endure(2, 400, false, 2);
}

/// A stone with a point towards the pixel, which throws its light aside.
pub(super) fn pointed(extra: &str) -> String {
    let sections = ["at = 0\nwidth = 16\nheight = 15", "at = 20\nwidth = 18\nheight = 17"];
    let tips = "[part.tip_high]\nlength = 14\n[part.tip_low]\nlength = 8\n";
    head(36.0, "fdm-medium") + "pixel = \"round-10\"\n" + extra + &stations(&sections) + tips
}

pub(super) fn computed(body: &Body, key: &str) -> f64 {
    body.computed.iter().find(|c| c.key == key).expect("a row").value
}

fn showing(text: &str) -> Vec<Finding> {
    found("pixel_shows", text)
}

/// What a check finds of the job's first body.
fn found(name: &str, text: &str) -> Vec<Finding> {
    found_in(name, &job(text))
}

/// The same of a job that was read.
pub(super) fn found_in(name: &str, job: &Job) -> Vec<Finding> {
    let made = make(job).expect("can be made").remove(0).bodies.remove(0);
    let analysis = Analysis::new(Soup::from(&made.mesh));
    let context = CheckContext {
        printer: job.print().component("printer"),
        material: job.print().component("material"),
        analysis: &analysis,
        remarks: &[],
        known: Some(Known {
            solid: &made.body.solid,
            face_of: made.mesh.face_of(),
            declared: &made.body.declared,
        }),
    };
    let check = CHECKS.iter().find(|c| c.name == name).expect("a row");
    (check.run)(&context)
}

#[test]
fn a_pixel_that_shows_is_hidden_by_a_narrower_bore_or_found_with_a_hint_that_works() {
    let hidden = made(&pointed("")).remove(0);
    let bore = computed(&hidden, "light_bore");
    let note = hidden.messages.iter().find(|m| m.text.contains("does not show"));
    assert!(note.is_some() && bore < 4.0, "{bore}");
    assert!(showing(&pointed("")).is_empty());
    // As entered it stays, and the check says which width would do.
    let own = "hide = false\n";
    assert_eq!(computed(&made(&pointed(own))[0], "light_bore"), 4.15);
    let found = showing(&pointed(own));
    assert!(!found.is_empty() && found.iter().all(|f| f.measured > Some(0.0)));
    let hint = found[0].hint.as_deref().expect("a hint");
    let width = hint.strip_prefix("part[1].light_bore = ").expect(hint).split(' ').next();
    let width: f64 = width.and_then(|w| w.parse().ok()).expect(hint);
    assert!(showing(&pointed(&format!("light_bore = {width}\n"))).is_empty());
    let wider = width + 0.1;
    assert!(!showing(&pointed(&format!("light_bore = {wider}\n"))).is_empty());
}

#[test]
fn a_missing_wall_is_found_where_it_is_missing() {
    let text = head(36.0, "fdm-medium") + PLAIN + &prism(30.0);
    let job = job(&text);
    let body = make(&job).expect("can be made").remove(0).bodies.remove(0);
    let sight = body.body.declared.sight.as_ref().expect("stated");
    let counts = Counts { groups: 4, ..Counts::default() };
    assert!(sight.see(&Soup::from(&body.mesh), counts).expect("meshed").lines.is_empty());
    // The same without the web between pixel and stone: some lines pass over
    // the stone, through where it was.
    let (low, high) = sight.hole.ends;
    let without = {
        let soup = Soup::from(&body.mesh);
        let mut kept = Welder::default();
        for i in 0..soup.triangles().len() {
            let t = soup.corners(i);
            if !t.iter().all(|p| p.z > low - 0.01 && p.z < high + 0.01) {
                kept.push(t).expect("few");
            }
        }
        kept.finish()
    };
    let shown = sight.see(&without, counts).expect("meshed");
    assert!(shown.past_stone.percent > 0.0, "{shown:?}");
    assert!(shown.lines.iter().any(|l| sight.hole.needed(l).is_none()));
}

#[test]
fn lips_and_a_cap_hold_a_prism_by_their_overlap_less_its_play() {
    for (retention, clearance) in [("lips", 0.2), ("cap", 0.2), ("cap", 0.5)] {
        let rows = format!("retention = \"{retention}\"\nfar_wall = 3\nclearance = {clearance}\n");
        let found = found("retention", &(head(31.4, "fdm-medium") + PLAIN + &rows + &prism(30.0)));
        let bars = found.iter().find(|f| f.unit == "mm").expect("bars");
        // One millimetre over each end, of which it shifts by its clearance.
        let margin = bars.measured.expect("a margin");
        assert!((margin - (1.0 - clearance)).abs() < 0.02, "{found:?}");
        assert!(found.iter().all(|f| f.severity == Severity::Note), "{found:?}");
        // The cap hangs on its glue with the stone.
        assert_eq!(found.len(), if retention == "cap" { 2 } else { 1 }, "{found:?}");
    }
    // Where it can shift by nearly all of the overlap, it is hardly held.
    let rows = "retention = \"cap\"\nfar_wall = 3\nclearance = 0.9\n";
    let found = found("retention", &(head(33.4, "fdm-medium") + PLAIN + rows + &prism(30.0)));
    let bars = found.iter().find(|f| f.unit == "mm").expect("bars");
    assert_eq!(bars.severity, Severity::Warning, "{found:?}");
    assert!(bars.hint.as_deref().is_some_and(|h| h.starts_with("part[1].overlap")));
}

/// Far under a cap, the seat's own slopes keep a thin stone from going aside past the
/// cap's frame: it comes out upwards only, where the frame is.
#[test]
fn a_thin_stone_is_held_by_its_cap_between_the_slopes_of_its_opening() {
    let thin = stations(&[
        "at = 0\nsection = \"hexagon\"\nwidth = 11\nheight = 9.5",
        "at = 28\nsection = \"hexagon\"\nwidth = 11\nheight = 9.5",
    ]);
    let rows = "retention = \"cap\"\nfar_wall = 3\n";
    let found = found("retention", &(head(31.4, "fdm-medium") + PLAIN + rows + &thin));
    let bars = found.iter().find(|f| f.unit == "mm").expect("bars");
    assert_eq!(bars.severity, Severity::Note, "{found:?}");
    assert!(bars.measured.is_some_and(|margin| margin > 0.5), "{found:?}");
}

/// A cap's frame lies far over the points of a stone: there is room to tip. The
/// prism in the test before has none.
#[test]
fn a_pointed_stone_may_tip_out_from_under_a_short_frame() {
    let rows = "hide = false\nretention = \"cap\"\nfar_wall = 3\noverlap = 0.5\n";
    let found = found("retention", &pointed(rows));
    let tips = found.iter().find(|f| f.text.contains("may come out when it tips"));
    let tips = tips.unwrap_or_else(|| panic!("{found:?}"));
    assert_eq!(tips.severity, Severity::Warning);
    assert!(tips.hint.as_deref().is_some_and(|h| h.contains("foam")));
}

#[test]
fn glue_is_held_against_the_weight_of_the_stone_in_a_fall() {
    let with = |density: f64| format!("hide = false\nstone_density = {density}\n");
    let light = found("retention", &pointed(&with(0.8)));
    assert_eq!((light.len(), light[0].severity), (1, Severity::Note), "{light:?}");
    // A large one has more weight for its seat.
    let sections = ["at = 0\nwidth = 60\nheight = 60", "at = 20\nwidth = 60\nheight = 60"];
    let rows = "hide = false\nstone_density = 10\n";
    let large = head(90.0, "fdm-medium") + PLAIN + rows + &stations(&sections);
    let heavy = found("retention", &large);
    assert_eq!(heavy[0].severity, Severity::Warning, "{heavy:?}");
    let body = made(&large).remove(0);
    assert!(computed(&body, "land_area") < computed(&body, "glue_needed"));
    let body = made(&pointed(&with(10.0))).remove(0);
    // Two cones with a stretch of oval between, by hand: g.
    let oval = |w: f64, h: f64| std::f64::consts::PI * w * h / 4.0;
    let middle = 20.0 / 6.0 * (oval(16.0, 15.0) + 4.0 * oval(17.0, 16.0) + oval(18.0, 17.0));
    let volume = middle + (oval(16.0, 15.0) * 8.0 + oval(18.0, 17.0) * 14.0) / 3.0;
    let weight = computed(&body, "stone_weight");
    assert!((weight / (0.01 * volume) - 1.0).abs() < 4e-3, "{weight}");
}
