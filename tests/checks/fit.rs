//! Declared gaps, strain, heat and screws: verdicts against closed forms and
//! draws, and by profile.

use borewright::checks::{
    Analysis, BINDS, CheckContext, Finding, Known, Severity, check, fit_rows,
};
use borewright::measure::{Library, Values, Vec3};
use borewright::mesh::{ChordTolerance, Soup, tessellate};
use borewright::parts::{Bend, Declared, FitWords, Heat, Mating, Screw, Spread, Term};
use borewright::section::Region;
use borewright::solid::{Solid, Stack};

use crate::shapes::*;

fn term(value: f64, reach: (f64, f64), spread: Spread) -> Term {
    Term { what: format!("term {value}"), value, reach, spread, field: None }
}

fn mating(terms: Vec<Term>, binds_below: f64, rattles_above: Option<f64>) -> Declared {
    let mating = Mating {
        what: "peg in its hole".into(),
        at: Vec3::new(1.0, 2.0, 3.0),
        terms,
        binds_below,
        rattles_above,
        field: "part[1].fit".into(),
        words: None,
    };
    Declared { matings: vec![mating], ..Declared::default() }
}

fn block() -> Solid {
    let mut stack = Stack::default();
    stack.prism(0.0, 8.0, &rect(-15.0, -15.0, 15.0, 15.0));
    stack.solid().expect("a block")
}

fn found(solid: &Solid, declared: &Declared, material: &Values) -> Vec<Finding> {
    let mesh = tessellate(solid, &ChordTolerance::default()).expect("meshes");
    let library = Library::shipped();
    let analysis = Analysis::new(Soup::from(&mesh));
    check(&CheckContext {
        printer: library.profile("printers", "fdm-thin").expect("shipped"),
        material,
        analysis: &analysis,
        remarks: &[],
        known: Some(Known { solid, face_of: mesh.face_of(), declared }),
    })
}

fn material(name: &str) -> Values {
    Library::shipped().profile("materials", name).expect("shipped").clone()
}

fn only(found: Vec<Finding>, check: &str) -> Vec<Finding> {
    found.into_iter().filter(|f| f.check == check).collect()
}

/// Two even terms make a triangle: hole 10.2, peg 10, each 0.2 either way, bind
/// with (0.4 - 0.2)^2 / (2 * 0.4^2) = 1/8.
#[test]
fn a_gap_of_two_printed_sizes_has_its_closed_form() {
    let even = |v| term(v, (-0.2, 0.2), Spread::Even);
    let declared = mating(vec![even(10.2), even(-10.0)], 0.0, Some(0.5));
    let row = &fit_rows(&declared)[0];
    assert!((row.nominal - 0.2).abs() < 1e-12);
    assert!((row.binds - 0.125).abs() < 1e-6, "{row:?}");
    assert!((row.rattles - 0.01 / 0.32).abs() < 1e-6, "{row:?}");
    assert!((row.worst[0] + 0.2).abs() < 1e-6 && (row.worst[1] - 0.6).abs() < 1e-6);
    let fits = only(found(&block(), &declared, &material("petg")), "fit");
    assert_eq!(fits.len(), 1, "{fits:?}");
    assert_eq!(fits[0].severity, Severity::Warning);
    assert!((fits[0].measured.expect("odds") - 12.5).abs() < 1e-3);
    assert_eq!(fits[0].place.point, Some([1.0, 2.0, 3.0]));
    // The told change is enough, and a hundredth less is not.
    let hint = fits[0].hint.as_deref().expect("a hint");
    let more: f64 = hint.split([':', ' ']).find_map(|w| w.parse().ok()).expect("mm in the hint");
    assert!(hint.starts_with("part[1].fit: "), "{hint}");
    let with = |more: f64| fit_rows(&mating(vec![even(10.2 + more), even(-10.0)], 0.0, None));
    assert!(with(more)[0].binds < BINDS && with(more - 0.011)[0].binds > BINDS, "{hint}");
}

/// Where the field is a word, the hint says which, if the next one is enough,
/// and what to write in place of the clearance behind it.
#[test]
fn hints_of_words_say_what_to_write() {
    let even = |v| term(v, (-0.2, 0.2), Spread::Even);
    let hint_of = |gap: f64, rattles, loose: f64| {
        let mut declared = mating(vec![even(10.0 + gap), even(-10.0)], 0.0, rattles);
        let word = |word, mm| (word, mm, format!("print.printer.fit_{word}"));
        let words = vec![word("press", 0.0), word("slide", 0.2), word("loose", loose)];
        declared.matings[0].words = Some(FitWords { words, chosen: 1 });
        let fits = only(found(&block(), &declared, &material("petg")), "fit");
        fits[0].hint.clone().expect("a hint")
    };
    let hint = |loose| hint_of(0.2, None, loose);
    // 0.08 mm more: (0.4 - 0.28)^2 / 0.32 is 4.5 of 100.
    let wanted = "part[1].fit: 0.08 mm more gap brings binding below 5 of 100: \
                  print.printer.fit_slide = 0.28 in place of 0.2 for \"slide\"";
    assert_eq!(hint(0.25), wanted);
    assert_eq!(hint(0.5), format!("{wanted}, or part[1].fit = \"loose\""));
    // No value is offered where one fault is changed for the other.
    for (gap, other) in [(0.2, "but then it rattles"), (0.35, "but then it binds")] {
        let hint = hint_of(gap, Some(0.3), 0.5);
        assert!(hint.contains(other) && !hint.contains(" = "), "{hint}");
    }
    // Nor where it is changed for that of the same fit at another place.
    let fit = |tight: f64, wide: f64| {
        let mut declared = mating(vec![even(10.0 + tight), even(-10.0)], 0.0, None);
        let widest =
            mating(vec![even(10.0 + wide), even(-10.0)], -9.0, Some(0.6)).matings.remove(0);
        declared.matings.push(Mating { what: "peg in its mouth".into(), ..widest });
        let words = vec![("press", 0.0, "p".to_owned()), ("slide", 0.2, "s".to_owned())];
        for mating in &mut declared.matings {
            mating.words = Some(FitWords { words: words.clone(), chosen: 1 });
        }
        let fits = only(found(&block(), &declared, &material("petg")), "fit");
        fits.iter().map(|f| f.hint.clone().expect("a hint")).collect::<Vec<String>>()
    };
    let [tight, wide] = &fit(0.2, 0.56)[..] else { panic!("both are told") };
    assert!(tight.contains("but then peg in its mouth rattles"), "{tight}");
    assert!(wide.contains("but then peg in its hole binds: tape"), "{wide}");
    assert!(!tight.contains(" = ") && !wide.contains(" = "), "{tight}\n{wide}");
    let [tight] = &fit(0.2, 0.3)[..] else { panic!("one is told") };
    assert!(tight.contains("s = 0.28 in place of 0.2"), "{tight}");
}

/// An uneven reach moves the middle; draws agree within four standard errors.
#[test]
fn mixed_terms_agree_with_draws() {
    let terms = vec![
        term(10.3, (-0.1, 0.3), Spread::Even),
        term(-10.0, (-0.25, 0.05), Spread::Bell),
        term(0.0, (-0.06, 0.0), Spread::Even),
    ];
    let row = &fit_rows(&mating(terms.clone(), 0.1, Some(0.45)))[0];
    let mut rng = fastrand::Rng::with_seed(77);
    let draws = 400_000;
    let (mut binds, mut rattles) = (0, 0);
    for _ in 0..draws {
        let gap: f64 = terms
            .iter()
            .map(|t| {
                let (low, high) = t.reach;
                t.value
                    + match t.spread {
                        Spread::Even => low + (high - low) * rng.f64(),
                        Spread::Bell => {
                            let (u, v) = (1.0 - rng.f64(), rng.f64());
                            let normal = (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos();
                            0.5 * (low + high) + 0.25 * (high - low) * normal
                        }
                    }
            })
            .sum();
        binds += u32::from(gap < 0.1);
        rattles += u32::from(gap > 0.45);
    }
    for (count, p) in [(binds, row.binds), (rattles, row.rattles)] {
        let error = (p * (1.0 - p) / f64::from(draws)).sqrt();
        let seen = f64::from(count) / f64::from(draws);
        assert!((seen - p).abs() < 4.0 * error, "{seen} and {p}");
    }
}

#[test]
fn verdicts_follow_nominal_odds_and_limits() {
    let one = |gap: f64, half: f64, rattles| {
        let declared = mating(vec![term(gap, (-half, half), Spread::Even)], 0.0, rattles);
        only(found(&block(), &declared, &material("petg")), "fit")
    };
    assert_eq!(one(-0.01, 0.0, None)[0].severity, Severity::Error);
    assert!(one(0.2, 0.2, None).is_empty(), "at worst it just touches");
    assert_eq!(one(0.1, 0.2, None)[0].severity, Severity::Warning);
    let loose = one(0.4, 0.2, Some(0.45));
    assert!(loose[0].text.contains("rattles in 38 of 100"), "{}", loose[0].text);
    // A change that mends one and spoils the other is not praised.
    let hint = |gap, rattles| one(gap, 0.2, Some(rattles))[0].hint.clone().expect("a hint");
    assert!(hint(0.4, 0.45).ends_with("tape does too"), "{}", hint(0.4, 0.45));
    assert!(hint(0.4, 0.25).contains("but then it binds"), "{}", hint(0.4, 0.25));
    assert!(hint(0.1, 0.2).contains("but then it rattles"), "{}", hint(0.1, 0.2));
    assert!(!hint(0.1, 0.45).contains("but then"), "{}", hint(0.1, 0.45));
}

#[test]
fn strain_depends_on_material_and_layers() {
    let bent = |strain: f64, along: Vec3, up: Option<Vec3>, name: &str| {
        let bend = Bend {
            what: "left lip".into(),
            at: Vec3::zeros(),
            along,
            strain,
            outside: false,
            field: "part[1].wrap".into(),
        };
        let declared = Declared { bends: vec![bend], up, ..Declared::default() };
        only(found(&block(), &declared, &material(name)), "strain")[0].clone()
    };
    // Petg: 1.0 % again and again, 1.7 % once, 0.46 of it across layers.
    let flat = bent(0.009, Vec3::x(), None, "petg");
    assert_eq!((flat.severity, flat.limit), (Severity::Note, Some(1.0)));
    let across = bent(0.009, Vec3::z(), None, "petg");
    assert_eq!(across.severity, Severity::Error);
    assert!((across.limit.expect("a limit") - 1.7 * 0.46).abs() < 1e-9);
    assert!(across.limit_from.as_deref().expect("from").starts_with("46 % of strain_once of petg"));
    let turned = bent(0.009, Vec3::z(), Some(Vec3::y()), "petg");
    assert_eq!(turned.severity, Severity::Note, "laid down, it bends between its layers");
    assert_eq!(bent(0.012, Vec3::x(), None, "petg").severity, Severity::Warning);
    assert_eq!(bent(0.012, Vec3::x(), None, "pa12-sls").severity, Severity::Note);
}

#[test]
fn a_cell_warms_pla_and_not_abs() {
    let heat = Heat {
        what: "cell".into(),
        at: Vec3::zeros(),
        celsius: 60.0,
        risk: "the lips can let go".into(),
        source: "data sheets".into(),
    };
    let declared = Declared { heats: vec![heat], ..Declared::default() };
    let pla = only(found(&block(), &declared, &material("pla")), "heat");
    assert_eq!((pla.len(), pla[0].severity), (1, Severity::Warning));
    assert_eq!((pla[0].measured, pla[0].limit), (Some(55.0), Some(70.0)));
    assert!(only(found(&block(), &declared, &material("abs")), "heat").is_empty());
}

/// A hole for a thread of 3 mm needs 6 mm to the edge.
#[test]
fn screws_keep_from_edges() {
    for (x, near) in [(0.0, false), (8.9, false), (9.5, true)] {
        let mut stack = Stack::default();
        let hole = Region::disc(v2(x, 0.0), 1.7);
        stack.prism(0.0, 8.0, &rect(-15.0, -15.0, 15.0, 15.0).difference(&hole));
        let solid = stack.solid().expect("bored");
        let screw = Screw {
            what: "screw 1".into(),
            at: Vec3::new(x, 0.0, 4.0),
            axis: Vec3::z(),
            thread: 3.0,
            hole: 3.4,
            field: "part[1].screw".into(),
        };
        let declared = Declared { screws: vec![screw], ..Declared::default() };
        let edges = only(found(&solid, &declared, &material("petg")), "screw_edge");
        assert_eq!(!edges.is_empty(), near, "{x}: {edges:?}");
        if near {
            assert!((edges[0].measured.expect("mm") - 5.5).abs() < 1e-6, "{edges:?}");
        }
    }
}

/// A wall that is upright as drawn hangs when it is printed lying; the place
/// stays in the handle's frame.
#[test]
fn checks_look_at_the_part_as_it_is_printed() {
    let mut stack = Stack::default();
    stack.prism(0.0, 30.0, &rect(-10.0, 0.0, 10.0, 4.0));
    stack.prism(30.0, 40.0, &rect(-10.0, 0.0, 10.0, 20.0));
    let solid = stack.solid().expect("an angle");
    let at = |up: Option<Vec3>| {
        let declared = Declared { up, ..Declared::default() };
        only(found(&solid, &declared, &material("petg")), "overhang")
    };
    let standing = at(None);
    assert_eq!(standing.len(), 1, "{standing:?}");
    let [_, y, z] = standing[0].place.point.expect("a point");
    assert!((z - 30.0).abs() < 1e-9 && (4.0..=20.0).contains(&y), "{standing:?}");
    assert!(at(Some(Vec3::y())).is_empty(), "lying on its back nothing hangs");
    assert!(at(Some(-Vec3::z())).is_empty(), "nor on its head");
    let on_side = at(Some(-Vec3::y()));
    assert_eq!(on_side.len(), 1);
    let [_, y, z] = on_side[0].place.point.expect("a point");
    assert!((y - 4.0).abs() < 1e-9 && (0.0..=30.0).contains(&z), "{on_side:?}");
}
