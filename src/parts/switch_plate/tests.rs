use std::fmt::Write;

use super::random::{PLUNGER, Text, random};
use super::*;
use crate::job::Job;
use crate::measure::{Library, Source};
use crate::mesh::{ChordTolerance, tessellate};
use crate::parts::trying::{made, value, volume};
use crate::parts::{Body, PART_KINDS};

impl Text {
    fn part(rows: &str) -> Text {
        Text { part: rows.into(), ..Text::default() }
    }

    fn plungers(rows: &[&str]) -> Text {
        let plungers = rows.iter().map(|r| (*r).to_owned()).collect();
        Text { plungers, ..Text::default() }
    }

    /// The body, or the refusal and its hints.
    fn made(&self) -> Result<Body, (String, Vec<String>)> {
        made(&self.toml()).map(|mut bodies| bodies.remove(0))
    }

    fn body(&self) -> Body {
        self.made().unwrap_or_else(|(what, hints)| panic!("{what}\n{hints:?}"))
    }

    fn refusal(&self) -> (String, String) {
        let (what, hints) = self.made().expect_err("refused");
        (what, hints.join("; "))
    }
}

/// The refusal without its numbers, to count kinds.
fn kind_of(what: &str) -> String {
    what.chars().filter(|c| !c.is_ascii_digit() && !".-".contains(*c)).take(70).collect()
}

/// Any job gives a solid that meshes, or a refusal with numbers and a hint.
/// `BOREWRIGHT_PLATES` sets how many are tried.
#[test]
fn random_plates_are_solid_or_refused_with_numbers() {
    let asked = std::env::var("BOREWRIGHT_PLATES").ok().and_then(|n| n.parse().ok());
    let count: u64 = asked.unwrap_or(1500);
    let mut made = 0;
    let mut unmade = Vec::new();
    for seed in 0..count {
        let text = random(&mut fastrand::Rng::with_seed(seed));
        let start = std::time::Instant::now();
        match text.made() {
            Ok(body) => {
                made += 1;
                let mesh = tessellate(&body.solid, &ChordTolerance::default())
                    .unwrap_or_else(|e| panic!("seed {seed}: {e}\n{}", text.toml()));
                let (exact, meshed) = (volume(&body), mesh.volume());
                assert!(exact > 0.0 && (exact - meshed).abs() < 0.01 * exact, "seed {seed}");
                assert_eq!(body.solid.shells().len(), 1, "seed {seed}");
                assert!(body.computed.iter().all(|c| c.value.is_finite()), "seed {seed}");
            }
            Err((what, hints)) => {
                assert!(what.contains(|c: char| c.is_ascii_digit()), "seed {seed}: {what}");
                assert!(!hints.is_empty(), "seed {seed}: no hint: {what}");
                if what.contains("cannot be m") {
                    unmade.push((seed, what));
                }
            }
        }
        let took = start.elapsed().as_secs_f64();
        assert!(took < 1.0, "seed {seed} took {took} s");
    }
    println!("made {made} of {count}; no solid of {unmade:?}");
    assert!(made * 3 > count, "made {made} of {count}");
    assert!(unmade.len() as u64 * 1000 <= count, "{unmade:?}");
}

/// A hint that names a value for a row of the part cures that refusal.
#[test]
fn hints_with_values_cure_their_refusal() {
    let mut cured = 0;
    for seed in 5000..6200 {
        let text = random(&mut fastrand::Rng::with_seed(seed));
        let Err((what, hints)) = text.made() else { continue };
        for hint in &hints {
            let mut words = hint.split(' ');
            let (Some(key), Some("="), Some(value)) = (words.next(), words.next(), words.next())
            else {
                continue;
            };
            if !rows::PARAMS.iter().any(|row| row.key == key) {
                continue;
            }
            let others = text.part.lines().filter(|l| l.split(' ').next() != Some(key));
            let mut part: String = others.map(|l| format!("{l}\n")).collect();
            writeln!(part, "{key} = {value}").expect("text");
            let changed = Text { part, ..text.clone() };
            if let Err((again, _)) = changed.made() {
                // The same field for the same reason is the same refusal.
                let kind = |w: &str| {
                    let field = w.split(": ").next().unwrap_or_default().to_owned();
                    (field, kind_of(w.split(": ").last().unwrap_or_default()))
                };
                let (before, after) = (kind(&what), kind(&again));
                // Cutting less may still not be enough, and then says so.
                let partial = hint.contains("cuts ") || hint.contains("left out");
                assert!(
                    partial || before != after,
                    "seed {seed}: {what}\nhint: {hint}\nstill: {again}"
                );
            }
            cured += 1;
        }
    }
    assert!(cured > 100, "only {cured} hints were tried");
}

/// Area between the circle of radius `r` and the chord at `v` from its middle,
/// on the far side.
fn segment(r: f64, v: f64) -> f64 {
    r * r * (v / r).acos() - v * ((r - v) * (r + v)).sqrt()
}

const BARE: &str = "wires = \"none\"\nlead_in = 0\nfirst_layer = 0\nplungers = \"out\"\nback = 2";

#[test]
fn a_plain_plate_has_the_volume_of_its_slabs() {
    let mut text = Text::part(BARE);
    text.plungers = vec![format!("{PLUNGER}\ngap = 1\n")];
    let body = text.body();
    let (r, back, seat) = (15.385, 2.0, 13.0 - 1.0 - 5.0);
    assert_eq!(value(&body, "outside"), 2.0 * r);
    assert_eq!(value(&body, "plunger1_seat"), seat);
    // Body 6.2 +- 0.15 and 0.1 of room on each side; legs span 7.2.
    let pocket = 6.56;
    assert_eq!(value(&body, "plunger1_pocket_width"), pocket);
    let zone = pocket + 2.0 * 1.2;
    let whole = segment(r, back) * (zone + 8.0);
    let facet = segment(r, seat + 1.5) * zone;
    let floor = pocket * pocket * 1.5;
    // Rooms: from 0.5 * (4.5 - 0.7) - 0.1 on to the pocket's end, beside the body.
    let along = 0.5 * pocket - 1.8;
    let rooms = 4.0 * along * (0.5 * (7.4 - pocket)) * 1.5;
    let slots = 4.0 * along * (WIRE + 0.2) * (seat - back);
    let wanted = whole - facet - floor - rooms - slots;
    let found = volume(&body);
    assert!((found - wanted).abs() < 1e-6 * wanted, "{found} is not {wanted}");
}

/// Outside diameter of the default wire, mm.
const WIRE: f64 = 1.2;

#[test]
fn the_floor_leaves_the_gap_asked_for_or_the_one_in_the_middle() {
    let plunger =
        |rows: &str| Text { plungers: vec![format!("{PLUNGER}\n{rows}")], ..Text::default() };
    let body = plunger("gap = 1.1\npad = 0.4").body();
    assert!((value(&body, "plunger1_seat") - (13.0 - 1.1 - 0.4 - 5.0)).abs() < 1e-9);
    assert!((value(&body, "plunger1_gap") - 1.1).abs() < 1e-9);
    let body = plunger("").body();
    let (least, left) =
        (value(&body, "plunger1_gap_worst_least"), value(&body, "plunger1_left_worst"));
    // In the middle, both ends have the same room but for the least gap and the step.
    assert!((least - 0.05 - left).abs() < 0.011, "{least} {left}");
    let by_depth =
        Text { plungers: vec![PLUNGER.replace("tip = 13.0", "depth = 6.0")], ..Text::default() };
    assert_eq!(value(&by_depth.body(), "plunger1_seat"), value(&body, "plunger1_seat"));
}

#[test]
fn volumes_follow_bore_thickness_coat_and_ledge() {
    let of = |text: &Text| volume(&text.body());
    let plain = of(&Text::default());
    assert!(of(&Text { bore: "[32.0]".into(), ..Text::default() }) > plain);
    assert!(of(&Text::part("thickness = 3")) > plain);
    assert!(of(&Text::part("coat = 0.2")) < plain);
    assert!(of(&Text::part("ledge = 2.5")) > plain);
    assert!(of(&Text::part("ends = 8")) > plain);
    assert!(of(&Text::part("facet = \"trough\"")) > plain);
    assert!(of(&Text::part("land_top = 8")) < plain);
}

#[test]
fn a_turned_handle_gives_the_same_plate_turned() {
    let pair = |turn: f64, shift: f64| {
        let one = format!(
            "z = {}\nclocking = {}\ntip = 13.0\ntravel = 2.5\nswitch = \"6x6-h5.0\"",
            50.0 + shift,
            turn - 12.0
        );
        let two = format!(
            "z = {}\nclocking = {}\ntip = 12.0\ntravel = 3\nswitch = \"12x12-h4.3\"",
            70.0 + shift,
            turn + 20.0
        );
        let mut text = Text::plungers(&[&one, &two]);
        // A chamfer grows smaller where the circle's own vertices are near.
        text.part = "lead_in = 0\nfirst_layer = 0".into();
        text.body()
    };
    let plain = volume(&pair(0.0, 0.0));
    for turn in [90.0, 180.0, 37.0, -60.0] {
        let turned = volume(&pair(turn, 13.5));
        assert!((turned - plain).abs() < 1e-6 * plain, "{turn}: {turned} is not {plain}");
    }
}

/// The switches and pressed plungers of many plates lie in free space.
#[test]
fn switches_and_plungers_do_not_meet_the_plate() {
    let mut checked = 0;
    for seed in 0..150 {
        let text = random(&mut fastrand::Rng::with_seed(seed));
        if text.made().is_err() {
            continue;
        }
        let source = Source::new("job.toml", text.toml()).expect("UTF-8");
        let job = Job::read(&source, Library::shipped(), PART_KINDS).expect("right");
        let part = &job.parts()[0];
        let context = job.context(part);
        let fit = BoreFit::new(&context, part.values());
        let plan = Plan::new(&context, part.values(), &fit, 0.0).expect("made above");
        let slabs = slabs(&plan);
        for p in &plan.plungers {
            let number = |key| p.switch.number(key);
            let floor = p.seat + p.pad;
            let tolerance = number("body_tolerance");
            let (across, along) = if p.values.flag("turned") {
                (number("body_length"), number("body_width"))
            } else {
                (number("body_width"), number("body_length"))
            };
            let body = (0.5 * (across + tolerance), 0.5 * (along + tolerance));
            let stem = 0.5 * number("stem_diameter");
            let round = 0.5 * p.diameter;
            let pressed = p.tip - number("stroke") - p.stack.gap.nominal_mm;
            let free = [
                (body.0, body.1, floor, floor + number("body_height")),
                (stem, stem, floor, p.stem_top()),
                (round, round, pressed, p.tip),
            ];
            for (wide, long, from, to) in free {
                let (wide, long) = (wide - 1e-6, long - 1e-6);
                let room = p.axes.quad((-wide, wide), (from + 1e-6, to));
                let meets = slabs
                    .iter()
                    .filter(|s| s.bottom < p.z + long && s.top > p.z - long)
                    .map(|s| s.section.intersection(&room).area())
                    .fold(0.0, f64::max);
                assert!(meets < 1e-6, "seed {seed}, {}: {meets} mm2", p.name());
                checked += 1;
            }
            wire_passes(&plan, &slabs, p, seed);
        }
    }
    assert!(checked > 150, "only {checked}");
}

/// A wire passes from each slot through the floor into a channel, and along it
/// out of the plate.
fn wire_passes(plan: &Plan<'_>, slabs: &[build::Slab], p: &plunger::Plunger<'_>, seed: u64) {
    let free = |z: f64, at: crate::measure::Vec2| {
        let slab = slabs.iter().find(|s| s.bottom < z && z < s.top);
        assert!(
            slab.is_none_or(|s| !s.section.contains(at)),
            "seed {seed}, {}: no way at z = {z}, {at:?}",
            p.name()
        );
    };
    for slot in &p.foot.slots {
        let z = p.z + 0.5 * (slot.z.0 + slot.z.1) + 0.003;
        let (a, b) = section::slot_exit(plan, p, slot.u);
        let out = plan.facing.point(0.5 * (a + b), plan.back + 0.01);
        let floor = p.axes.point(0.5 * (slot.u.0 + slot.u.1), p.seat - 0.01);
        for k in 0..=20 {
            free(z, floor + (out - floor) * (f64::from(k) / 20.0));
        }
        let end = match plan.wires {
            "cap" => plan.low,
            "front" => plan.high,
            _ => continue,
        };
        // With screws, wires may cross over before the flange.
        let flange = plan.flanges.as_ref().map_or(0.0, |f| f.length);
        let end = if plan.wires == "cap" { end + flange } else { end - flange };
        for k in 0..40 {
            free(z + (end - z) * (f64::from(k) + 0.5) / 40.0, out);
        }
    }
}

#[test]
fn a_tall_switch_sits_below_the_axis_of_a_small_bore() {
    let mut text = Text::part("fixing = \"screws\"\nscrews = 4\nwire = \"awg30\"");
    text.bore = "[22.0]".into();
    text.plungers =
        vec!["z = 60\ntip = 9.5\ntravel = 2.8\ndiameter = 4\nswitch = \"6x6-h13.0\"".into()];
    let body = text.body();
    assert!(value(&body, "plunger1_seat") < -4.0);
    // Hole and recess of each screw are two cylinders, the flanks one.
    assert!(body.solid.face_counts().cylinders >= 9);
    assert_eq!(value(&body, "screw_hole"), 2.4 + 0.15);
    assert!(value(&body, "screw4_z") > value(&body, "screw1_z"));
    let (what, _) = Text { bore: "[20.4]".into(), ..text }.refusal();
    assert!(what.contains("no place for two screws"), "{what}");
}

#[test]
fn what_cannot_be_is_refused_with_the_number_that_cures_it() {
    let one = |rows: &str| Text::plungers(&[rows]).refusal();
    let (what, _) = one("z = 60\ntravel = 2.5\nswitch = \"6x6-h5.0\"");
    assert_eq!(
        what,
        "part[1].plunger[1].z: plunger 1: neither tip nor depth is given (0 of 1 needed)"
    );
    let (what, _) = one("z = 60\ntip = 13\ndepth = 6\ntravel = 2.5\nswitch = \"6x6-h5.0\"");
    assert!(what.contains("both tip = 13 and depth = 6 are given"), "{what}");
    let (what, hint) = one("z = 60\ntip = 13\ntravel = 1.8\nswitch = \"6x6-h5.0\"");
    assert!(what.contains("no seat height works (worst case)"), "{what}");
    assert!(hint.contains("shrink") && hint.contains("basis = \"rss\" works"), "{hint}");
    let (what, hint) = Text::plungers(&[
        "z = 60\ntip = 13\ntravel = 2.5\nswitch = \"6x6-h5.0\"",
        "z = 66.8\ntip = 13\ntravel = 2.5\nswitch = \"6x6-h5.0\"",
    ])
    .refusal();
    assert!(what.contains("leave a wall of 0.24 mm between them; the printer needs 0.8"), "{what}");
    assert!(hint.contains("move plunger 2 by 0.56 mm towards the front, to z = 67.36"), "{hint}");
    Text::plungers(&[
        "z = 60\ntip = 13\ntravel = 2.5\nswitch = \"6x6-h5.0\"",
        "z = 67.36\ntip = 13\ntravel = 2.5\nswitch = \"6x6-h5.0\"",
    ])
    .body();
    let mut narrow = Text::plungers(&["z = 60\ntip = 7\ntravel = 2.5\nswitch = \"12x12-h4.3\""]);
    narrow.bore = "[15.0]".into();
    let (what, hint) = narrow.refusal();
    assert!(what.contains("needs a bore of at least 16.51 mm"), "{what}");
    assert!(hint.contains("4.5x4.5-h3.8"), "{hint}");
}

#[test]
fn plungers_that_stay_in_get_lanes_and_others_are_drawn_out() {
    let drawn = |rows: &str| {
        let body = Text::part(rows).body();
        let found = body.messages.iter().find(|m| m.text.contains("slides in"));
        found.expect("said").text.clone()
    };
    assert!(drawn("").contains("with the plungers at rest"));
    let out = drawn("plungers = \"out\"");
    // The land reaches to 15.385, the plunger to 13.
    assert!(out.contains("plunger 1 by 2.38 mm") || out.contains("plunger 1 by 2.39 mm"), "{out}");
}

/// Facets that take the outer arc on one side are refused, or the lands guide.
#[test]
fn a_plate_without_arcs_is_refused() {
    let mut text = Text::part("ends = 0\nwires = \"none\"\nfacing = 50");
    text.plungers = vec!["z = 60\ntip = 12\ntravel = 2.5\nswitch = \"6x6-h5.0\"".into()];
    let (what, hint) = text.refusal();
    assert!(what.contains("are needed to guide the plate"), "{what}");
    assert!(hint.contains("ends = 4"), "{hint}");
    text.part = text.part.replace("ends = 0", "ends = 4");
    text.body();
}
