//! Tests of cell trays.

use std::time::{Duration, Instant};

use super::super::{Body, Severity};
use super::random::{job, random_job};
use super::rows::ROWS;
use crate::measure::{Library, check_rows};
use crate::mesh::{ChordTolerance, tessellate};
use crate::parts::trying::{told, value, volume};

const PRINT: &str = "printer = \"fdm-thin\"\nmaterial = \"petg\"";

#[test]
fn rows_keep_the_rules() {
    check_rows(ROWS).unwrap();
}

/// Jobs of the random test; each is meshed at the default chord.
const JOBS: usize = 1000;

#[test]
fn random_trays_are_made_or_refused_with_numbers() {
    let mut rng = fastrand::Rng::with_seed(18650);
    let library = Library::shipped();
    let (mut count, mut slowest) = (0, Duration::ZERO);
    let mut whys = std::collections::BTreeMap::<String, usize>::new();
    for _ in 0..JOBS {
        let text = random_job(&mut rng, &library, 0.08);
        let start = Instant::now();
        match told(&text) {
            Ok(bodies) => {
                count += 1;
                for body in &bodies {
                    let mesh = tessellate(&body.solid, &ChordTolerance::default());
                    let mesh = mesh.unwrap_or_else(|e| panic!("{}: {e}\n{text}", body.name));
                    let volume = body.solid.properties().volume;
                    assert!((mesh.volume() / volume - 1.0).abs() < 0.01, "{text}");
                }
            }
            Err(why) => {
                assert!(why.chars().any(|c| c.is_ascii_digit()), "{why}\n{text}");
                assert!(INNER.iter().all(|name| !why.contains(name)), "{why}\n{text}");
                let kind: String = why.chars().filter(|c| !c.is_ascii_digit()).take(60).collect();
                *whys.entry(kind).or_default() += 1;
            }
        }
        slowest = slowest.max(start.elapsed());
    }
    println!("{count} made, slowest {slowest:?}");
    for (why, n) in &whys {
        println!("{n} {why}");
    }
    assert!(count > JOBS / 5, "{count}");
    assert!(
        whys.keys().all(|w| !w.contains("cannot be made") && !w.contains("meshed")),
        "{whys:?}"
    );
}

/// Inputs of the calculations behind a tray that are no rows of it: nobody can change
/// them in a job.
const INNER: [&str; 9] = [
    "root_deg",
    "wrap_deg",
    "pull_out_",
    "insertion_max",
    "length_min_mm",
    "wall_max_mm",
    "wall_min_mm",
    "allowed_percent",
    "cell_min_mm",
];

/// What a hint says, written into the job, makes the tray.
#[test]
fn hints_of_lips_base_and_spring_hold_what_they_promise() {
    let cases = [
        ("cell = \"18650\"", "hold_min = 60", "hold_min is 60 N, and they hold", "hold_min = "),
        ("cell = \"18650\"", "push_max = 1", "push_max is 1 N, and it takes", "push_max = "),
        ("cell = \"18650\"", "base = 2.01", "however wide the bore", "base = "),
        ("cell = \"14500\"\nlayers = \"upright\"", "", "would touch", "contact_force = "),
    ];
    for (cell, row, reason, hint) in cases {
        let why = told(&job("[31.4]", PRINT, &format!("{cell}\n{row}"))).unwrap_err();
        assert!(why.contains(reason), "{why}");
        let Some((_, cure)) = why.split_once(hint) else { panic!("no {hint} in {why}") };
        let number = cure.split_whitespace().next().expect("a number");
        let cured = told(&job("[31.4]", PRINT, &format!("{cell}\n{hint}{number}")));
        assert!(cured.is_ok(), "{hint}{number}: {}", cured.unwrap_err());
    }
}

#[test]
fn cautions_are_there() {
    let bodies = told(&job("[28]", PRINT, "cell = \"18650\"")).unwrap();
    let cautions = bodies[0].messages.iter().filter(|m| m.severity == Severity::Caution);
    assert!(cautions.count() >= 5);
    assert!(value(&bodies[0], "vent") >= 2.0);
}

/// A tray without wires, marks, tails and chamfers, concentric with the bore,
/// so that its volume can be reckoned by hand.
const PLAIN: &str = "wires = 0\nmark_depth = 0\ntail = 0\nlead_in = 0\nfirst_layer = 0\n\
                     layers = \"upright\"\ncell_y = 0\nroot = 60\nwrap = 20\nlip_thickness = 1.2";

fn plain(cell: &str, more: &str) -> Body {
    told(&job("[26.03]", PRINT, &format!("cell = {{ {cell} }}\n{PLAIN}\n{more}")))
        .unwrap()
        .remove(0)
}

const CELL: &str = "profile = \"18650-button\", diameter_min = 18.2, diameter_max = 18.4, \
                    length_min = 66.4, length_max = 66.8";

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 2e-6 * b.abs().max(1.0), "{a} is not {b}");
}

#[test]
fn walls_lips_and_base_have_the_volume_reckoned_by_hand() {
    use std::f64::consts::PI;
    // Bore 26.03 less 0.03 less 0.2; trough 18.4 + 2 * 0.15.
    let (outside, trough, thickness) = (12.9_f64, 9.35_f64, 1.2_f64);
    let thin = plain(CELL, "lip_length = 20\nend_wall = 2");
    let thick = plain(CELL, "lip_length = 20\nend_wall = 3");
    close(volume(&thick) - volume(&thin), 2.0 * PI * outside.powi(2));
    let longer = plain(CELL, "lip_length = 22\nend_wall = 2");
    // Both lips: ring from root to the round tip, and the tip's half disc. The
    // tip ends where the mouth is that of a sharp one at 20 degrees.
    let half_mouth = trough * 20_f64.to_radians().cos();
    let tip = ((half_mouth + 0.5 * thickness) / (trough + 0.5 * thickness)).acos();
    let ring = 0.5 * (tip + PI / 3.0) * ((trough + thickness).powi(2) - trough.powi(2));
    let lips = 2.0 * (ring + PI * thickness.powi(2) / 8.0);
    // Rays to the lips' roots end on the grid, 200 mm away.
    close(volume(&longer) - volume(&thin), 2.0 * lips);
    let long_cell = CELL.replace("66.4", "67.4").replace("66.8", "67.8");
    let long = plain(&long_cell, "lip_length = 20\nend_wall = 2");
    close(volume(&long) - volume(&thin), PI / 6.0 * (outside.powi(2) - trough.powi(2)));
}

/// Whether all vertices of the mesh keep out of the cell and inside the bore.
fn assert_clear(body: &Body, cell: (f64, f64), button: f64, front: bool) {
    let mesh = tessellate(&body.solid, &ChordTolerance::default()).unwrap();
    let (touch, y) = (value(body, "contact_z"), value(body, "cell_y"));
    let trough = 0.5 * value(body, "trough");
    let outside = 0.5 * value(body, "outside");
    let (low, high) =
        if front { (touch - cell.1, touch - button) } else { (touch + button, touch + cell.1) };
    let mut inside = 0;
    let mut widest = 0.0_f64;
    for t in mesh.triangles() {
        for k in 0..3 {
            let p = mesh.vertices()[t[k] as usize];
            let q = mesh.vertices()[t[(k + 1) % 3] as usize];
            for s in [0.0, 0.25, 0.5, 0.75] {
                let m = p + (q - p) * s;
                widest = widest.max(m.x.hypot(m.y));
                if low < m.z && m.z < high {
                    inside += 1;
                    let gap = m.x.hypot(m.y - y) - trough;
                    assert!(gap > -0.011, "{m:?} is {gap} in the trough");
                    assert!(gap > 0.011 + cell.0 - trough, "{m:?} is in the cell");
                }
            }
        }
    }
    assert!(inside > 100);
    assert!((widest - outside).abs() < 1e-6, "{widest} {outside}");
}

#[test]
fn the_cell_does_not_touch_the_tray_and_the_tray_not_the_bore() {
    for (positive, front) in [("front", true), ("back", false)] {
        for more in ["wires = 3", "wires = 0", "wires = 6\nduct = \"closed\"", "mark_depth = 0"] {
            let part = format!("cell = {{ {CELL} }}\npositive = \"{positive}\"\n{more}");
            let bodies = told(&job("[27.5, 27.4]", PRINT, &part)).unwrap();
            assert_clear(&bodies[0], (9.2, 66.8), 1.5, front);
        }
    }
}

#[test]
fn turning_the_cell_round_mirrors_the_tray() {
    let part = |positive: &str| {
        let part = format!(
            "cell = {{ {CELL} }}\npositive = \"{positive}\"\nfrom_z = 7\nlead_in = 0.3\nwires = 2"
        );
        told(&job("[26]", PRINT, &part)).unwrap().remove(0)
    };
    let (front, back) = (part("front"), part("back"));
    close(volume(&front), volume(&back));
    let ((a, b), (c, d)) = (front.solid.bounds(), back.solid.bounds());
    assert!((a - c).norm() < 1e-9 && (b - d).norm() < 1e-9);
    assert!((a.z - 7.0).abs() < 1e-9);
    let middle = 7.0 + 0.5 * value(&front, "length");
    close(value(&front, "contact_z") - middle, middle - value(&back, "contact_z"));
}

#[test]
fn larger_bores_and_thicker_walls_make_larger_trays() {
    let of = |bore: &str, more: &str| {
        let part = format!("cell = {{ {CELL} }}\n{more}");
        told(&job(bore, PRINT, &part)).unwrap().remove(0)
    };
    let small = of("[25]", "");
    assert!(volume(&of("[27]", "")) > volume(&small));
    assert!(volume(&of("[25]", "end_wall = 3")) > volume(&small));
    // A mark lifts the cell by its depth, so that the wall below it is whole.
    let plain = format!("mark_depth = 0\ncell_y = {}", value(&small, "cell_y"));
    assert!(volume(&of("[25]", &plain)) > volume(&small));
    assert!(value(&small, "floor") >= 0.8 + 0.4 - 1e-3);
    let longer = of("[25]", "vent_gap = 4");
    close(value(&longer, "length") - value(&small, "length"), 2.0);
}

#[test]
fn the_choice_is_within_its_limits() {
    for cell in ["18650", "18650-protected", "21700", "16340"] {
        let part = format!("cell = \"{cell}\"\nlayers = \"upright\"");
        let bodies = told(&job("[30]", PRINT, &part)).unwrap_or_else(|e| panic!("{cell}: {e}"));
        let v = |key: &str| value(&bodies[0], key);
        assert!(v("strain") <= v("strain_allowed"), "{cell}");
        assert!(v("push") <= 40.0 && v("hold") >= 1.0, "{cell}");
        assert!(v("spring_force_low") >= 1.0 && v("spring_left") > 0.0, "{cell}");
        assert!(v("spring_stress") < v("spring_stress_max"), "{cell}");
        assert!(v("finger_made") >= 18.0 && v("vent") >= 2.0, "{cell}");
    }
}

#[test]
fn a_tight_bore_is_refused_with_the_bore_that_would_do() {
    let part = format!("cell = {{ {CELL} }}\nwires = 4");
    let why = told(&job("[22]", PRINT, &part)).unwrap_err();
    let needed = why.split("at least ").nth(1).and_then(|t| t.split(' ').next());
    let needed: f64 = needed.and_then(|t| t.parse().ok()).expect("a number");
    assert!(why.contains("yours is 22.00") && why.contains("would fit"), "{why}");
    // The text is rounded, and the bore is the caliper's error larger.
    assert!(told(&job(&format!("[{:.2}]", needed + 0.04), PRINT, &part)).is_ok(), "{why}");
    assert!(told(&job(&format!("[{:.2}]", needed - 0.01), PRINT, &part)).is_err());
}

#[test]
fn brittle_lips_are_refused_and_the_hint_cures() {
    let print = "printer = \"fdm-thin\"\nmaterial = \"pla\"";
    let why = told(&job("[28]", print, "cell = \"18650\"")).unwrap_err();
    assert!(why.contains("no lips") && why.contains("layers = \"upright\""), "{why}");
    let cured = told(&job("[28]", print, "cell = \"18650\"\nlayers = \"upright\"")).unwrap();
    // Pla softens too early beside the cell, which the heat check says.
    let heats = &cured[0].declared.heats;
    assert_eq!(heats.iter().map(|h| h.celsius).collect::<Vec<_>>(), [60.0]);
    assert!(!cured[0].messages.iter().any(|m| m.text.contains("softens")), "said once");
}

#[test]
fn a_stiff_spring_is_refused_and_a_longer_leaf_does() {
    let why = told(&job("[28]", PRINT, "cell = \"18650\"\nspring = \"leaf-bronze\"")).unwrap_err();
    assert!(why.contains("move the spring by 1.40 mm"), "{why}");
    assert!(why.contains("a spring leaf-long would do"), "{why}");
    assert!(told(&job("[28]", PRINT, "cell = \"18650\"\nspring = \"leaf-long\"")).is_ok());
}

#[test]
fn flat_cells_get_a_bump_and_buttons_a_guard() {
    let of = |cell: &str| told(&job("[28]", PRINT, &format!("cell = \"{cell}\""))).unwrap();
    let (flat, button) = (of("18650"), of("18650-button"));
    assert!(value(&flat[0], "tab_bump") > 1.0 && value(&flat[0], "contact_recess") < 0.0);
    assert!(value(&button[0], "contact_recess") >= 0.2);
    let guarded = |b: &Body| b.messages.iter().any(|m| m.text.contains("behind its guard"));
    assert!(guarded(&button[0]) && !guarded(&flat[0]));
}

#[test]
fn a_tray_longer_than_the_handle_is_refused() {
    let text = job("[28]", PRINT, "cell = \"18650\"").replace("length = 220", "length = 60");
    let why = told(&text).unwrap_err();
    assert!(why.contains("short by") && why.contains("a cell 18500"), "{why}");
}

#[test]
fn covers_clear_the_tray() {
    for opening in ["closed", "fingers", "mouth"] {
        let part = format!("cell = {{ {CELL} }}\nwires = 2\ncover = \"{opening}\"");
        let bodies = told(&job("[26]", PRINT, &part)).unwrap_or_else(|e| panic!("{opening}: {e}"));
        assert_eq!(bodies[1].name, "tray-cover");
        assert!(value(&bodies[1], "cover_strain") <= value(&bodies[0], "strain_allowed"));
        let wrap = value(&bodies[1], "cover_wrap");
        let inner = 0.5 * value(&bodies[0], "outside") - value(&bodies[1], "cover_wall_made");
        let (low, high) = bodies[1].solid.bounds();
        let mesh = tessellate(&bodies[0].solid, &ChordTolerance::default()).unwrap();
        let mut under = 0;
        for p in mesh.vertices() {
            let dip = (-p.y).atan2(p.x.abs()).to_degrees();
            if low.z - 0.01 < p.z && p.z < high.z + 0.01 && dip < wrap {
                under += 1;
                assert!(p.x.hypot(p.y) < inner, "{opening}: {p:?} is in the cover");
            }
        }
        assert!(under > 50, "{opening}");
        assert!(low.y > bodies[0].solid.bounds().0.y);
    }
}

#[test]
fn the_ember_wand_is_made() {
    let bodies = told(include_str!("../../../examples/ember-wand.toml")).unwrap();
    assert_eq!(bodies.len(), 2);
    assert_eq!(value(&bodies[0], "ducts"), 4.0);
    assert!(value(&bodies[0], "bore_needed") > value(&bodies[0], "bore_sure") - 0.2);
}
