//! The pixel of a cradle that sits in a chassis of somebody else.

use super::super::{Body, PART_KINDS};
use super::tests::{computed, found_in, pointed};
use crate::export::stl;
use crate::job::{Job, make};
use crate::measure::{Library, Source, Vec2};
use crate::mesh::{ChordTolerance, Soup, tessellate};
use crate::section::Region;
use crate::sight::Counts;
use crate::solid::Stack;

/// Slabs with their heights.
type Slabs = Vec<(f64, f64, Region)>;

fn rect(x: (f64, f64), y: (f64, f64)) -> Region {
    Region::rectangle(Vec2::new(x.0, y.0), Vec2::new(x.1, y.1))
}

/// A tube around the cradle, with a hole over its window between two heights.
fn tube(hole: Option<(f64, f64)>) -> Slabs {
    let disc = |r: f64| Region::disc(Vec2::zeros(), r);
    let ring = disc(20.0).difference(&disc(17.0));
    let open = ring.difference(&rect((-30.0, 30.0), (0.0, 40.0)));
    match hole {
        None => vec![(0.0, 150.0, ring)],
        Some((low, high)) => {
            vec![(0.0, low, ring.clone()), (low, high, open), (high, 150.0, ring)]
        }
    }
}

fn mesh(slabs: &Slabs) -> Vec<u8> {
    let mut stack = Stack::default();
    for (low, high, section) in slabs {
        stack.prism(*low, *high, section);
    }
    let mesh = tessellate(&stack.solid().expect("sound"), &ChordTolerance::default());
    let soup = Soup::from(&mesh.expect("meshes"));
    stl(soup.vertices(), soup.triangles(), "a tube").expect("it holds them")
}

/// A job with the pointed stone, in a chassis.
fn job(extra: &str, slabs: &Slabs) -> Job {
    let text = pointed(extra).replacen("[[part]]", "[chassis]\nmesh = \"tube.stl\"\n[[part]]", 1);
    let source = Source::new("t.toml", text.clone()).expect("UTF-8");
    let bytes = mesh(slabs);
    Job::read_beside(&source, Library::shipped(), PART_KINDS, &|_| Ok(bytes.clone()))
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn made(job: &Job) -> Body {
    make(job).unwrap_or_else(|e| panic!("{e}")).remove(0).bodies.remove(0).body
}

const OWN: &str = "hide = false\n";

#[test]
fn a_wall_of_the_chassis_before_the_window_hides_the_pixel() {
    // Without it, as the cradle's own tests have it, the pixel shows.
    assert!(found_in("pixel_shows", &job(OWN, &tube(None))).is_empty());
    let holed = found_in("pixel_shows", &job(OWN, &tube(Some((2.0, 148.0)))));
    assert!(!holed.is_empty(), "through the hole it shows");
    assert!(holed.iter().all(|f| f.measured > Some(0.0)), "{holed:?}");
}

/// What the finding says of the room around a line counts the chassis' walls.
#[test]
fn a_slot_in_the_chassis_is_the_narrowest_place_of_a_line_through_it() {
    const HALF: f64 = 0.4;
    let ring = tube(None)[0].2.clone();
    let slotted = ring.difference(&rect((-HALF, HALF), (0.0, 40.0)));
    let slabs = vec![(0.0, 2.0, ring.clone()), (2.0, 148.0, slotted), (148.0, 150.0, ring)];
    let found = found_in("pixel_shows", &job(OWN, &slabs));
    let past = found.iter().find(|f| f.text.contains("a wall is missing")).expect("a finding");
    let words: Vec<&str> = past.text.split(' ').collect();
    let room =
        words.iter().rposition(|w| *w == "mm").and_then(|i| words[i - 1].parse::<f64>().ok());
    assert!(room.is_some_and(|r| 0.0 < r && r <= HALF), "{}", past.text);
    let at = past.place.point.expect("a place");
    assert!((16.0..21.0).contains(&at[0].hypot(at[1])), "in the wall of the tube: {at:?}");
}

/// The cradle looks for a bore that hides the pixel where it is, not where no chassis
/// would be.
#[test]
fn the_light_bore_is_as_wide_as_the_chassis_allows() {
    let usual = computed(&made(&job(OWN, &tube(None))), "light_bore");
    let behind = made(&job("", &tube(None)));
    assert_eq!(computed(&behind, "light_bore"), usual);
    let told = |body: &Body, what: &str| body.messages.iter().any(|m| m.text.contains(what));
    assert!(told(&behind, "the chassis tube.stl hides the pixel: without it"));
    let open = made(&job("", &tube(Some((2.0, 148.0)))));
    assert!(computed(&open, "light_bore") < usual - 0.1);
    assert!(told(&open, "so that the pixel does not show") && !told(&open, "hides the pixel"));
}

#[test]
fn a_chassis_over_the_pixel_makes_no_good_verdict() {
    let body = made(&job(OWN, &tube(None)));
    let sight = body.declared.sight.as_ref().expect("stated");
    let (at, hole) = (sight.lamp.middle, sight.hole);
    let lit = |body: &Body| {
        let sight = body.declared.sight.as_ref().expect("stated");
        let tolerance = ChordTolerance::default();
        let mesh = tessellate(&body.solid, &tolerance).expect("meshes");
        sight.see(&Soup::from(&mesh), Counts::default()).expect("meshed").to_stone.percent
    };
    // All of the pixel in a block.
    let around = rect((at.x - 9.0, at.x + 9.0), (at.y - 9.0, at.y + 9.0));
    let whole = job(OWN, &vec![(at.z - 9.0, at.z + 0.1, around.clone())]);
    let found = found_in("pixel_shows", &whole);
    let [one] = &found[..] else { panic!("{found:?}") };
    assert!(one.text.contains("100.0 % of the pixel's surface"), "{}", one.text);
    assert!(one.text.contains("none of its light reaches the stone"), "{}", one.text);
    assert!(one.hint.as_ref().is_some_and(|h| h.contains("says nothing")), "{one:?}");
    // A plate in the light bore: the pixel is free and dark.
    let middle = 0.5 * (hole.ends.0 + hole.ends.1);
    let dark = job(OWN, &vec![(middle, middle + 0.2, around)]);
    let found = found_in("pixel_shows", &dark);
    let [one] = &found[..] else { panic!("{found:?}") };
    assert!(one.text.contains("is dark"), "{}", one.text);
    // Half of it: the stone gets less light, and that is no finding of its own.
    let half = rect((at.x, at.x + 9.0), (at.y - 9.0, at.y + 9.0));
    let shaded = job(OWN, &vec![(middle, middle + 0.2, half)]);
    let (bare, less) = (lit(&body), lit(&made(&shaded)));
    assert!(less > 0.0 && less < 0.8 * bare, "{less} of {bare}");
}
