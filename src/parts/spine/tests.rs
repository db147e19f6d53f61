use std::collections::BTreeMap;

use super::super::{PART_KINDS, trying};
use super::random::{Text, head, module, random};
use super::runs::bend;
use crate::job::{Job, MadeBody, make};
use crate::measure::{Library, Source, check_rows};

type Made = Result<Vec<MadeBody>, (String, Vec<String>)>;

fn made(text: &str) -> Made {
    let source = Source::new("t.toml", text.to_owned()).expect("UTF-8");
    let job = Job::read(&source, Library::shipped(), PART_KINDS)
        .unwrap_or_else(|e| panic!("{e}\n{text}"));
    match make(&job) {
        Ok(parts) => {
            let spine = parts.into_iter().filter(|part| part.kind.joins());
            Ok(spine.flat_map(|part| part.bodies).collect())
        }
        Err(refused) => {
            let hints = refused.0.iter().flat_map(|f| f.hints.clone()).collect();
            Err((refused.0.to_string(), hints))
        }
    }
}

/// A tray, a plate and a cradle in a bore of 36 mm, 6 mm apart.
fn three(keel: f64) -> Text {
    let mut z = 12.0;
    let mut modules = Vec::new();
    for (kind, name) in
        [("cell_tray", "tray"), ("switch_plate", "plate"), ("crystal_cradle", "cradle")]
    {
        let (text, length) = module(kind, name, z, keel, 18.0);
        z += length + 6.0;
        modules.push(text);
    }
    let head = head(36.0, 300.0, "fdm-medium");
    Text { head, modules, spine: String::new(), runs: Vec::new() }
}

fn value(made: &MadeBody, key: &str) -> f64 {
    trying::value(&made.body, key)
}

#[test]
fn tables_keep_the_rules() {
    check_rows(super::rows::ROWS).expect("the rows keep the rules");
}

#[test]
fn a_bare_keel_has_the_volume_of_its_section() {
    let mut text = three(4.0);
    text.spine = "rings = \"none\"\nchair = 0\nlead_in = 0\nfirst_layer = 0\n".into();
    let bodies = made(&text.toml()).expect("it can be made");
    assert_eq!(bodies.len(), 1);
    let keel = &bodies[0];
    let (r, top) = (0.5 * value(keel, "outside"), value(keel, "keel_top"));
    let half = 0.5 * value(keel, "keel_width");
    // Below the flat between two upright sides, down to the circle.
    let chord = (r * r - half * half).sqrt();
    let area = 2.0 * half * top + half * chord + r * r * (half / r).asin();
    let volume = area * value(keel, "length");
    assert!((keel.properties.volume / volume - 1.0).abs() < 1e-9);
    // The modules leave 4 mm less the glue, their own outside being as wide.
    assert!((value(keel, "keel_height") - 3.9).abs() < 0.02);
}

#[test]
fn pieces_with_keys_are_as_much_as_one_keel_less_the_gaps() {
    let mut text = three(4.0);
    text.spine = "rings = \"none\"\nchair = 0\nlead_in = 0\nfirst_layer = 0\n".into();
    let whole = made(&text.toml()).expect("it can be made");
    text.spine.push_str("pieces = 3\n");
    let pieces = made(&text.toml()).expect("it can be made");
    assert_eq!(pieces.len(), 3);
    let volume: f64 = pieces.iter().map(|p| p.properties.volume).sum();
    let lost = whole[0].properties.volume - volume;
    let (gap, long) = (value(&pieces[0], "key_gap"), value(&pieces[0], "key_long"));
    let (neck, head) = (value(&pieces[0], "key_neck"), value(&pieces[0], "key_head"));
    let (r, top) = (0.5 * value(&pieces[0], "outside"), value(&pieces[0], "keel_top"));
    // Volume below the flat of a strip of a half width and a length.
    let strip = |half: f64, length: f64| {
        let chord = (r * r - half * half).sqrt();
        length * (2.0 * half * top + half * chord + r * r * (half / r).asin())
    };
    let (n, h) = (0.5 * neck, 0.5 * head);
    let slot = strip(n + gap, long - 2.0 * gap) + strip(h + gap, long + 2.0 * gap);
    let key = strip(n, long) + strip(h, long);
    let face = strip(0.5 * value(&pieces[0], "keel_width"), gap);
    assert!((lost - 2.0 * (face + slot - key)).abs() < 1e-6, "{lost}");
}

#[test]
fn rings_stand_where_there_is_room() {
    let rings = |spine: &str| {
        let mut text = three(4.0);
        text.spine = spine.into();
        let bodies = made(&text.toml()).expect("it can be made");
        bodies.iter().filter(|b| b.body.name.contains("-ring-")).count()
    };
    assert_eq!(rings("rings = \"none\"\n"), 0);
    assert_eq!(rings(""), 2);
    assert_eq!(rings("rings = \"between\"\n"), 4);
    // 6 mm apart, no ring of 7 mm goes between.
    assert_eq!(rings("rings = \"between\"\nring_length = 7\n"), 2);
}

#[test]
fn a_plate_gets_chairs_up_to_its_back() {
    let bodies = made(&three(4.0).toml()).expect("it can be made");
    let chairs: Vec<&MadeBody> =
        bodies.iter().filter(|b| b.body.name.contains("-chair-")).collect();
    assert_eq!(chairs.len(), 2);
    for chair in chairs {
        let high = value(chair, "top") - value(chair, "foot");
        assert!(high > 5.0 && (chair.bounds.1.y - chair.bounds.0.y - high).abs() < 1e-9);
    }
}

#[test]
fn wires_bend_as_worked_out_by_hand() {
    // Two quarters of radius 5: 10 along, pi times 5 long.
    let (along, more) = bend(10.0, 5.0);
    assert!(
        (along - 10.0).abs() < 1e-12 && (more + 10.0 - 5.0 * std::f64::consts::PI).abs() < 1e-9
    );
    let (along, more) = bend(-14.0, 5.0);
    assert!((along - 10.0).abs() < 1e-12);
    assert!((more + 10.0 - 5.0 * std::f64::consts::PI - 4.0).abs() < 1e-9);
    // Two arcs of 60 degrees go down by the radius.
    let (along, more) = bend(5.0, 5.0);
    let line = 2.0 * 5.0 * std::f64::consts::FRAC_PI_3;
    assert!((along - 5.0 * 3f64.sqrt()).abs() < 1e-9 && (along + more - line).abs() < 1e-9);
    assert_eq!(bend(0.0, 5.0), (0.0, 0.0));
}

#[test]
fn a_run_has_its_duct_its_length_and_its_group() {
    let mut text = three(4.0);
    text.runs.push("from = \"cradle\"\nto = \"tray\"\nwires = 2\n".into());
    text.runs.push("from = \"plate\"\nto = \"tray\"\nplug = true\n".into());
    let bodies = made(&text.toml()).expect("it can be made");
    let keel = &bodies[0];
    let (low, high) = (value(keel, "run1_duct_low"), value(keel, "run1_duct_high"));
    assert_eq!((low, high), (value(keel, "module1_high"), value(keel, "module3_low")));
    let length = value(keel, "run1_length");
    assert!(length > high - low + 20.0 && length < high - low + 30.0);
    // Neighbours need no duct.
    assert!(!keel.body.computed.iter().any(|c| c.key == "run2_duct_low"));
    let told: Vec<&str> = keel.body.messages.iter().map(|m| m.text.as_str()).collect();
    assert!(told.iter().any(|t| t.starts_with("tray, cradle come out together")), "{told:?}");
    assert!(told.iter().any(|t| t.starts_with("plate comes out without")), "{told:?}");
}

#[test]
fn short_bends_are_told_with_what_is_missing() {
    let mut text = three(4.0);
    text.runs.push("from = \"cradle\"\nto = \"tray\"\nleaves_y = 0\n".into());
    let bodies = made(&text.toml()).expect("it can be made");
    let keel = &bodies[0];
    let room = value(keel, "run1_bend_room_low").min(value(keel, "run1_bend_room_high"));
    let missing = value(keel, "run1_bend_needs") - room;
    assert!(missing > 3.0);
    let text = format!("{missing:.2} mm more between the modules");
    let mut hints = keel.body.messages.iter().filter_map(|m| m.hint.as_deref());
    assert!(hints.any(|hint| hint.starts_with(&text)), "{text}");
}

#[test]
fn the_order_of_the_job_does_not_matter() {
    let text = three(4.0);
    let last = text.toml();
    let modules: String = text.modules.concat();
    let first = last.replace(&modules, "") + &modules;
    let (a, b) = (made(&first).expect("made"), made(&last).expect("made"));
    assert_eq!(a.len(), b.len());
    for (a, b) in a.iter().zip(&b) {
        assert_eq!(a.body.computed, b.body.computed);
    }
}

#[test]
fn what_cannot_be_is_refused_with_numbers_and_what_would_do() {
    let refused = |change: &dyn Fn(&mut Text)| {
        let mut text = three(4.0);
        change(&mut text);
        made(&text.toml()).expect_err("it cannot be made")
    };
    let (what, hints) = refused(&|t| t.modules.clear());
    assert!(what.contains("0 modules") && hints[0].contains("[[part]]"), "{what}");
    let (what, hints) = refused(&|t| t.spine = "keel = 9\n".into());
    assert!(what.contains("9.00") && hints.iter().any(|h| h.contains("of the spine")), "{hints:?}");
    let (what, hints) = refused(&|t| t.runs.push("from = \"try\"\nto = \"cradle\"\n".into()));
    assert!(what.contains("try is none"), "{what}");
    assert!(hints.iter().any(|h| h.contains("tray")), "{hints:?}");
    let (what, hints) =
        refused(&|t| t.spine = "fixing = \"screws\"\nscrew = \"m3-socket\"\n".into());
    assert!(what.contains("short by"), "{what}");
    assert!(hints.iter().any(|h| h.contains("would fit")), "{hints:?}");
    // Without a keel the modules fill the bore; what the hint says does.
    let (what, hints) = made(&three(0.0).toml()).expect_err("no room");
    assert!(what.contains("short by"), "{what}");
    let keel = hints.iter().find_map(|h| h.split("keel = ").nth(1)).expect("a value");
    let keel: f64 = keel.split(' ').next().expect("a word").parse().expect("a number");
    made(&three(keel).toml()).unwrap_or_else(|(what, _)| panic!("keel = {keel}: {what}"));
}

#[test]
fn random_spines_are_made_or_refused_with_numbers() {
    let asked = std::env::var("BOREWRIGHT_SPINES").ok().and_then(|n| n.parse().ok());
    let count: u64 = asked.unwrap_or(60);
    let (mut good, mut whys) = (0, BTreeMap::<String, usize>::new());
    for seed in 0..count {
        let text = random(&mut fastrand::Rng::with_seed(seed)).toml();
        match made(&text) {
            Ok(bodies) => {
                good += 1;
                for made in &bodies {
                    let (exact, meshed) = (made.properties.volume, made.mesh.volume());
                    assert!((exact - meshed).abs() < 0.01 * exact, "seed {seed}");
                    let finite = made.body.computed.iter().all(|c| c.value.is_finite());
                    assert!(finite, "seed {seed}");
                }
            }
            Err((what, _)) => {
                assert!(what.contains(|c: char| c.is_ascii_digit()), "seed {seed}: {what}");
                let kind = what.chars().filter(|c| !c.is_ascii_digit()).take(90).collect();
                *whys.entry(kind).or_default() += 1;
            }
        }
    }
    println!("made {good} of {count}: {whys:#?}");
    assert!(3 * good > count, "{good} of {count}");
}
