use std::f64::consts::PI;

use super::random::{job, random};
use crate::job::{Job, make as make_job};
use crate::measure::{Library, Source};
use crate::mesh::{ChordTolerance, tessellate};
use crate::parts::{Body, PART_KINDS, Severity};

const PRINT: &str = "printer = \"fdm-thin\"\nmaterial = \"petg\"";
const BARE: &str = "mark_depth = 0\nlead_in = 0\nfirst_layer = 0\n";

/// The body, or the refusal and its hints.
fn made(text: &str) -> Result<Body, (String, Vec<String>)> {
    let source = Source::new("job.toml", text.to_owned()).expect("UTF-8");
    let job = Job::read(&source, Library::shipped(), PART_KINDS)
        .unwrap_or_else(|f| panic!("{f}\n{text}"));
    match make_job(&job) {
        Ok(mut made) => Ok(made.remove(0).bodies.remove(0).body),
        Err(error) => {
            let fault = error.0.iter().next().expect("a fault").clone();
            Err((fault.to_string(), fault.hints))
        }
    }
}

fn text(part: &str) -> String {
    job("[31.0]", PRINT, &format!("current = 0.3\nswitch = \"slide-small\"\n{part}"))
}

fn body(part: &str) -> Body {
    made(&text(part)).unwrap_or_else(|(what, hints)| panic!("{what}\n{hints:?}"))
}

fn value(body: &Body, key: &str) -> f64 {
    let found = body.computed.iter().find(|c| c.key == key);
    found.unwrap_or_else(|| panic!("no row {key}")).value
}

/// `BOREWRIGHT_POCKETS` sets how many are tried.
#[test]
fn random_pockets_are_solid_or_refused_with_numbers() {
    let asked = std::env::var("BOREWRIGHT_POCKETS").ok().and_then(|n| n.parse().ok());
    let count: u64 = asked.unwrap_or(300);
    let (mut good, mut cured) = (0, 0);
    let mut unmade = Vec::new();
    for seed in 0..count {
        let text = random(&mut fastrand::Rng::with_seed(seed));
        match made(&text) {
            Ok(body) => {
                good += 1;
                let mesh = tessellate(&body.solid, &ChordTolerance::default())
                    .unwrap_or_else(|e| panic!("seed {seed}: {e}\n{text}"));
                let exact = body.solid.properties().volume;
                assert!(exact > 0.0 && (exact - mesh.volume()).abs() < 0.01 * exact, "seed {seed}");
                assert_eq!(body.solid.shells().len(), 1, "seed {seed}");
                assert!(body.computed.iter().all(|c| c.value.is_finite()), "seed {seed}\n{text}");
                let undrawn = &body.declared.undrawn;
                assert!(undrawn.is_empty(), "seed {seed}: {undrawn:?}\n{text}");
            }
            Err((what, hints)) => {
                let holes = what.contains("no holes");
                assert!(
                    holes || what.contains(|c: char| c.is_ascii_digit()),
                    "seed {seed}: {what}"
                );
                if what.contains("cannot be m") {
                    unmade.push((seed, what.clone()));
                }
                for hint in hints.iter().filter_map(|h| h.strip_suffix(" works")) {
                    let (key, _) = hint.split_once(" = ").expect("a field");
                    let (head, rows) = text.split_once("[[part]]").expect("a part");
                    let others = rows.lines().filter(|l| l.split(' ').next() != Some(key));
                    let rows: String = others.map(|l| format!("{l}\n")).collect();
                    let again = made(&format!("{head}[[part]]{rows}{hint}\n"));
                    let short = |what: &str| what.split_once(": ").map(|w| w.1.to_owned());
                    let same = again.is_err_and(|(again, _)| short(&again) == short(&what));
                    assert!(!same, "seed {seed}: {what}\nhint: {hint}\n{text}");
                    cured += 1;
                }
            }
        }
    }
    println!("made {good} of {count}; {cured} hints tried; no solid of {unmade:?}");
    assert!(good * 2 > count, "made {good} of {count}");
    assert!(unmade.len() as u64 * 50 <= count, "{unmade:?}");
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
    let found = pocket.solid.properties().volume;
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
    let messages = strong.expect("it can be made").messages;
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
