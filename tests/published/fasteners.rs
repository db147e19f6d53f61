//! Screws, nuts and what is cut for them.

use borewright::trade::screws::ROWS;

use crate::support::{Table, run, value};

#[expect(clippy::approx_constant, reason = "3.14 mm is a knurled head, not pi")]
pub fn threads_screws_and_inserts(t: &mut Table) {
    let threads = [
        ("M1.6", [1.37267, 1.22111, 1.17060, 1.270, 1.25]),
        ("M2", [1.74019, 1.56699, 1.50925, 2.073, 1.60]),
        ("M2.5", [2.20772, 2.01286, 1.94791, 3.391, 2.05]),
        ("M3", [2.67524, 2.45873, 2.38657, 5.031, 2.50]),
        ("M4", [3.54534, 3.24223, 3.14119, 8.779, 3.30]),
    ];
    let keys = ["pitch_diameter_mm", "minor_mm", "core_mm", "stress_mm2", "tap_drill_mm"];
    for (size, wants) in threads {
        let w = run("thread", &format!("size={size}"));
        for (key, want) in keys.into_iter().zip(wants) {
            let tolerance = if key == "stress_mm2" { 6e-4 } else { 6e-6 };
            t.check(
                format!("{size} {key}"),
                "ISO 724, ISO 261",
                w.value(key).unwrap(),
                want,
                tolerance,
            );
        }
    }
    let holes = [
        ("fine", [1.7, 2.2, 2.7, 3.2, 4.3]),
        ("medium", [1.8, 2.4, 2.9, 3.4, 4.5]),
        ("coarse", [2.0, 2.6, 3.1, 3.6, 4.8]),
    ];
    let sizes = ["M1.6", "M2", "M2.5", "M3", "M4"];
    for (series, wants) in holes {
        for (size, want) in sizes.into_iter().zip(wants) {
            let have = value("clearance-hole", &format!("size={size} series={series}"), "hole_mm");
            t.check(format!("{size} hole {series}"), "ISO 273, copies", have, want, 0.0);
        }
    }
    let heads = [
        (
            "cap",
            "ISO 4762 knurled",
            [3.14, 3.98, 4.68, 5.68, 7.22],
            Some([1.6, 2.0, 2.5, 3.0, 4.0]),
        ),
        ("pan", "ISO 7045", [3.2, 4.0, 5.0, 5.6, 8.0], Some([1.3, 1.6, 2.1, 2.4, 3.1])),
        ("countersunk", "ISO 7046 (M1.6 from memory)", [3.0, 3.8, 4.7, 5.5, 8.4], None),
    ];
    for (head, source, diameters, heights) in heads {
        for (i, size) in sizes.into_iter().enumerate() {
            let w = run("clearance-hole", &format!("size={size} head={head} clearance_mm=0"));
            t.check(
                format!("{size} {head} dk"),
                source,
                w.value("recess_mm").unwrap(),
                diameters[i],
                0.0,
            );
            if let Some(heights) = heights {
                let have = w.value("recess_depth_mm").unwrap();
                t.check(format!("{size} {head} k"), source, have, heights[i], 0.0);
            }
        }
    }
    for (size, s, m) in [
        ("M1.6", 3.2, 1.3),
        ("M2", 4.0, 1.6),
        ("M2.5", 5.0, 2.0),
        ("M3", 5.5, 2.4),
        ("M4", 7.0, 3.2),
    ] {
        let w = run("nut-trap", &format!("size={size} clearance_mm=0"));
        t.check(format!("{size} nut s"), "ISO 4032", w.value("flats_mm").unwrap(), s, 0.0);
        t.check(format!("{size} nut m"), "ISO 4032", w.value("depth_mm").unwrap(), m, 0.0);
    }
    let nut = run("nut-trap", "size=M3 clearance_mm=0");
    t.check("hexagon s=5.5 corners", "computed", nut.value("corners_mm").unwrap(), 6.35085, 5e-6);
    t.check("hexagon s=5.5 area", "computed", nut.value("area_mm2").unwrap(), 26.19727, 5e-6);
    for (screw, plastic, pilot, boss) in [
        (3.0, "abs", 2.40, 6.00),
        (2.2, "abs", 1.76, 4.40),
        (3.0, "asa", 2.34, 6.0),
        (4.0, "pa6", 3.0, 7.4),
    ] {
        let w = run("self-tap", &format!("screw_mm={screw} plastic={plastic}"));
        let source = "a screw maker's table";
        t.check(
            format!("{screw} in {plastic} pilot"),
            source,
            w.value("pilot_mm").unwrap(),
            pilot,
            1e-9,
        );
        t.check(
            format!("{screw} in {plastic} boss"),
            source,
            w.value("boss_mm").unwrap(),
            boss,
            1e-9,
        );
    }
    let insert = run("heat-set", "insert_mm=4.4 length_mm=5 hole_mm=4.0");
    t.check(
        "M3 insert depth",
        "makers' data: length + 0.5",
        insert.value("depth_mm").unwrap(),
        5.5,
        1e-12,
    );
    t.check(
        "M3 insert boss",
        "tutorial: twice the insert",
        insert.value("boss_mm").unwrap(),
        8.8,
        1e-12,
    );
}

/// What the tables hold besides what the calculators print.
pub fn rest_of_the_tables(t: &mut Table) {
    let sizes = ["M1.6", "M2", "M2.5", "M3", "M4"];
    let pitches = [0.35, 0.40, 0.45, 0.50, 0.70];
    let plain = [3.0, 3.8, 4.5, 5.5, 7.0];
    let keys = [1.5, 1.5, 2.0, 2.5, 3.0];
    let countersunk = [1.0, 1.2, 1.5, 1.65, 2.7];
    let nuts = [
        (3.02, 3.41, 1.05),
        (3.82, 4.32, 1.35),
        (4.82, 5.45, 1.75),
        (5.32, 6.01, 2.15),
        (6.78, 7.66, 2.9),
    ];
    for (i, size) in sizes.into_iter().enumerate() {
        let row = &ROWS[i];
        let mut exact = |what: &str, source: &'static str, have: f64, want: f64| {
            t.check(format!("{size} {what}"), source, have, want, 0.0);
        };
        exact("pitch", "ISO 261", row.pitch_mm, pitches[i]);
        exact("cap head dk, plain", "ISO 4762, copies", row.cap_mm[0], plain[i]);
        exact("cap head key", "ISO 4762, copies", row.cap_mm[2], keys[i]);
        let source = "ISO 7046 (M1.6 from memory)";
        exact("countersunk k", source, row.countersunk_mm[1], countersunk[i]);
        let (s, e, m) = nuts[i];
        exact("nut s min", "ISO 4032, copy", row.nut_mm[1], s);
        exact("nut e min", "ISO 4032, copy", row.nut_mm[2], e);
        exact("nut m min", "ISO 4032, copy", row.nut_mm[4], m);
    }
    let stress = value("thread", "size=M4", "stress_mm2");
    t.check("M4 stress area", "engineeringtoolbox", stress, 8.78, 0.005);
    let minor = |size: &str| value("thread", &format!("size={size}"), "minor_mm");
    t.check("M3 minor", "tameson", minor("M3"), 2.459, 5e-4);
    t.check("M4 minor", "tameson", minor("M4"), 3.242, 5e-4);
    let source = "a screw maker's table";
    for (plastic, [hole, boss, engagement]) in [
        ("abs-pc", [0.80, 2.0, 2.0]),
        ("pa6", [0.75, 1.85, 1.70]),
        ("pa6-gf30", [0.80, 2.0, 1.90]),
        ("pbt", [0.75, 2.0, 2.0]),
    ] {
        let w = run("self-tap", &format!("screw_mm=1 plastic={plastic}"));
        for (key, want) in [("pilot_mm", hole), ("boss_mm", boss), ("engagement_mm", engagement)] {
            let have = w.value(key).unwrap();
            t.check(format!("{plastic}: {key} by d"), source, have, want, 1e-12);
        }
    }
    let w = run("self-tap", "screw_mm=1 plastic=abs");
    t.check("pilot depth by d", "another screw maker", w.value("depth_mm").unwrap(), 2.7, 1e-12);
    // More than the nut's own corners: a hexagon of the largest flats.
    let corners = value("nut-trap", "size=M3 clearance_mm=0", "corners_mm");
    t.trap("hexagon for an M3 nut", "ISO 4032 e min taken for the pocket", corners, 6.01);
}
