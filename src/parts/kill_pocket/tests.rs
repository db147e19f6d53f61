use std::f64::consts::PI;

use super::random::{job, random};
use crate::parts::trying::{CHORDS, Trial, made, value, volume};
use crate::parts::{Body, Severity};

const PRINT: &str = "printer = \"fdm-thin\"\nmaterial = \"petg\"";
const BARE: &str = "mark_depth = 0\nlead_in = 0\nfirst_layer = 0\n";

fn text(part: &str) -> String {
    job("[31.0]", PRINT, &format!("current = 0.3\nswitch = \"slide-small\"\n{part}"))
}

fn body(part: &str) -> Body {
    made(&text(part)).unwrap_or_else(|(what, hints)| panic!("{what}\n{hints:?}")).remove(0)
}

#[test]
fn random_pockets_are_solid_or_refused_with_numbers() {
    let trial = Trial {
        random,
        count: 300,
        items: "",
        chords: CHORDS,
        unmade_percent: 2,
        made_percent: 50,
    };
    trial.run();
}

#[test]
fn a_pocket_towards_the_cap_has_the_volume_of_its_boxes() {
    let pocket = body(BARE);
    let r = 0.5 * value(&pocket, "outside");
    let opening =
        (2.0 * value(&pocket, "opening_half_width"), 2.0 * value(&pocket, "opening_half_length"));
    // Lever 1.6 x 1.6 with 2 mm of travel, 1 mm of reach all round.
    assert_eq!(opening, (3.6, 5.6));
    let room = (3.8 + 0.2, 8.7 + 0.2);
    let plate = value(&pocket, "plate");
    assert_eq!(plate, 5.0, "4 mm of lever and 1 mm of recess");
    let length = value(&pocket, "length");
    let wanted =
        PI * r * r * length - opening.0 * opening.1 * plate - room.0 * room.1 * (length - plate);
    let found = volume(&pocket);
    assert!((found - wanted).abs() < 1e-6 * wanted, "{found} is not {wanted}");
}

#[test]
fn a_sideways_lever_stays_below_the_outside() {
    let pocket = body("face = \"side\"\nrecess = 1.3");
    let outside = 0.5 * value(&pocket, "outside");
    assert!((value(&pocket, "face") + 4.0 + 1.3 - outside).abs() < 0.001);
    let switch = pocket.declared.components.iter().find(|c| c.name == "kill_switch");
    let top = switch.expect("drawn").solid.bounds().1.y;
    assert!((top - (outside - 1.3)).abs() < 0.001, "{top}");
}

#[test]
fn a_switch_that_is_too_weak_is_told_with_one_that_is_not() {
    let strong = made(&text("").replace("current = 0.3", "current = 3"));
    let messages = strong.expect("it can be made").remove(0).messages;
    let caution = messages.iter().find(|m| m.text.contains("rated for 0.5 A"));
    let caution = caution.expect("it is told");
    assert_eq!(caution.severity, Severity::Caution);
    assert!(caution.hint.as_deref().expect("a hint").contains("as slide-strong"));
    assert!(!body("").messages.iter().any(|m| m.text.contains("rated for")));
}

#[test]
fn what_cannot_be_is_refused_with_what_works() {
    let refused = |part: &str| made(&text(part)).expect_err("refused");
    let (what, hints) = refused("reach = 4");
    assert!(what.contains("bears on"), "{what}");
    assert!(hints.iter().any(|h| h.starts_with("reach = ")), "{hints:?}");
    let (what, hints) = refused("length = 6");
    assert!(what.contains("at least"), "{what}");
    assert!(hints.iter().any(|h| h.starts_with("length = ")), "{hints:?}");
    let (what, hints) = refused("fixing = \"screws\"");
    assert!(what.contains("no holes"), "{what}");
    assert_eq!(hints, ["fixing = \"glue\""]);
}
