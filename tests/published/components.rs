//! The shipped profiles of components, printers and materials against the
//! sheets and guides that they were taken from.

use std::sync::OnceLock;

use borewright::measure::{Library, Values};

use crate::support::Table;

fn profile(family: &str, name: &str) -> &'static Values {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    let library = LIBRARY.get_or_init(Library::shipped);
    library.profile(family, name).unwrap_or_else(|| panic!("no {name} among {family}"))
}

/// Numbers of one profile, exactly as published.
fn exact(t: &mut Table, family: &str, name: &str, source: &'static str, wants: &[(&str, f64)]) {
    for (key, want) in wants {
        let have = profile(family, name).number(key);
        t.check(format!("{name} {key}"), source, have, *want, 0.0);
    }
}

pub fn cells(t: &mut Table) {
    let sizes = |t: &mut Table, name: &str, source: &'static str, [d0, d1, l0, l1]: [f64; 4]| {
        let wants =
            [("diameter_min", d0), ("diameter_max", d1), ("length_min", l0), ("length_max", l1)];
        exact(t, "cells", name, source, &wants);
    };
    let iec = "IEC 60086-2, in Linden's handbook, table 4.9a";
    sizes(t, "aa", iec, [13.5, 14.5, 49.2, 50.5]);
    sizes(t, "aaa", iec, [9.5, 10.5, 43.3, 44.5]);
    sizes(t, "n", iec, [10.9, 12.0, 29.1, 30.2]);
    sizes(t, "c", iec, [24.9, 26.2, 48.6, 50.0]);
    sizes(t, "16340", "MPD, batteryholders.org", [16.0, 17.0, 33.5, 34.5]);
    sizes(t, "18650", "worst of two cell sheets", [17.8, 18.5, 64.5, 65.5]);
    sizes(t, "14500", "AA envelope, practice", [13.5, 14.5, 49.2, 50.5]);
    exact(t, "cells", "aa", "LR6 sheet: at most", &[("button_diameter", 5.5)]);
    exact(t, "cells", "aa", "LR6 sheet: at least", &[("button_height", 1.0)]);
    for (name, wants) in [
        ("18350", [18.5, 35.5]),
        ("18500", [18.5, 50.0]),
        ("20700", [20.7, 70.6]),
        ("21700", [21.7, 70.9]),
    ] {
        let wants = [("diameter_max", wants[0]), ("length_max", wants[1])];
        exact(t, "cells", name, "common practice", &wants);
    }
    let protected = |key| profile("cells", "18650-protected").number(key);
    let bare = |key| profile("cells", "18650").number(key);
    let source = "batteries18650.com: up to 0.5 thicker";
    let thicker = protected("diameter_max") - bare("diameter_max");
    t.check("18650 protected, thicker", source, thicker, 0.5, 1e-12);
    let source = "batteries18650.com: 2.5 to 3 longer (and button)";
    t.check(
        "18650 protected, longer",
        source,
        protected("length_min") - bare("length_max"),
        2.5,
        1e-9,
    );
    let long = profile("cells", "21700-protected");
    for (end, key) in [(-0.3, "length_min"), (0.3, "length_max")] {
        let source = "rfillumination: 21.49 x 74.8 +- 0.3";
        t.check(format!("21700 protected {key}"), source, long.number(key), 74.8 + end, 1e-9);
    }
    t.trap("18650 diameter_max", "the name read as a largest size", bare("diameter_max"), 18.0);
    t.trap("18650 length_max", "the name read as a largest size", bare("length_max"), 65.0);
}

pub fn switches_and_pixels(t: &mut Table) {
    let sheet = "6 x 6 switch data sheet, dtsheet 1478545";
    for (height, stem) in [(4.3, 3.5), (5.0, 3.5), (7.0, 3.0), (8.0, 3.0), (9.5, 3.0), (13.0, 3.0)]
    {
        let wants = [
            ("overall_height", height),
            ("stem_diameter", stem),
            ("stroke", 0.25),
            ("stroke_tolerance", 0.15),
            ("body_width", 6.2),
            ("body_tolerance", 0.15),
            ("body_height", 3.4),
        ];
        exact(t, "switches", &format!("6x6-h{height:.1}"), sheet, &wants);
    }
    let flat = [("leg_span", 9.0), ("leg_pitch", 4.5)];
    exact(t, "switches", "6x6-surface-h5.0", sheet, &flat);
    let force = profile("switches", "6x6-h5.0").number("force");
    t.check("160 gf in N", "computed", force, 1.569, 0.005);
    let sheet = "12 x 12 switch, TS1273";
    for height in ["4.3", "5.0", "7.3", "9.5"] {
        let wants = [("overall_height", height.parse().unwrap()), ("stroke", 0.3)];
        exact(t, "switches", &format!("12x12-h{height}"), sheet, &wants);
    }
    let force = profile("switches", "12x12-h5.0").number("force");
    t.check("260 gf in N", "computed", force, 0.26 * 9.806_65, 0.005);
    let wants = [
        ("package_width", 5.0),
        ("package_length", 5.0),
        ("package_height", 1.6),
        ("half_angle", 60.0),
    ];
    exact(t, "pixels", "bare-5050", "data sheet LLH-RGBW-5050", &wants);
}

pub fn screws_and_inserts(t: &mut Table) {
    for (name, holes, tap, head) in [
        ("m1.6", [1.7, 1.8, 2.0], 1.25, [3.0, 1.6]),
        ("m2", [2.2, 2.4, 2.6], 1.60, [3.8, 2.0]),
        ("m2.5", [2.7, 2.9, 3.1], 2.05, [4.5, 2.5]),
        ("m3", [3.2, 3.4, 3.6], 2.50, [5.5, 3.0]),
        ("m4", [4.3, 4.5, 4.8], 3.30, [7.0, 4.0]),
    ] {
        let wants = [
            ("clearance_fine", holes[0]),
            ("clearance_medium", holes[1]),
            ("clearance_coarse", holes[2]),
            ("tap_hole", tap),
            ("head_diameter", head[0]),
            ("head_height", head[1]),
        ];
        let source = "ISO 273, tap drills, ISO 4762, copies";
        exact(t, "screws", &format!("{name}-socket"), source, &wants);
    }
    for (name, countersunk, pan, nut) in [
        ("m1.6", [3.0, 1.0], [3.2, 1.3], [3.2, 1.3]),
        ("m2", [3.8, 1.2], [4.0, 1.6], [4.0, 1.6]),
        ("m2.5", [4.7, 1.5], [5.0, 2.1], [5.0, 2.0]),
        ("m3", [5.5, 1.65], [5.6, 2.4], [5.5, 2.4]),
        ("m4", [8.4, 2.7], [8.0, 3.1], [7.0, 3.2]),
    ] {
        for (head, [diameter, height], source) in [
            ("countersunk", countersunk, "ISO 7046 (M1.6 from memory)"),
            ("pan", pan, "ISO 7045, copy"),
        ] {
            let wants = [("head_diameter", diameter), ("head_height", height)];
            exact(t, "screws", &format!("{name}-{head}"), source, &wants);
        }
        let wants = [("nut_flats", nut[0]), ("nut_height", nut[1])];
        exact(t, "screws", &format!("{name}-socket"), "ISO 4032, copy", &wants);
    }
    for (name, hole) in [("m2", 3.2), ("m2.5", 3.6)] {
        exact(t, "inserts", name, "creative3dp", &[("hole", hole)]);
    }
    for (name, hole, outer) in [("m3", 4.0, 4.4), ("m4", 5.6, 6.1)] {
        exact(t, "inserts", name, "accu.co.uk", &[("hole", hole), ("outer", outer)]);
    }
}

pub fn wires(t: &mut Table) {
    for (gauge, ohms, amps, soft, ul) in [
        (20, 33.3, 11.0, 1.8, 2.45),
        (22, 53.0, 7.0, 1.7, 2.28),
        (24, 84.2, 3.5, 1.6, 2.13),
        (26, 134.0, 2.2, 1.5, 2.01),
        (28, 213.0, 1.4, 1.2, 1.95),
        (30, 339.0, 0.86, 0.8, 1.83),
    ] {
        let wants = [("resistance", ohms), ("current", amps), ("outer", soft)];
        exact(t, "wires", &format!("awg{gauge}"), "wire tables; hyperphysics; ba7lnn", &wants);
        let name = format!("awg{gauge}-ul3132");
        exact(t, "wires", &name, "UL 3132 silicone wire table", &[("outer", ul)]);
        let have = profile("wires", &format!("awg{gauge}")).number("conductor");
        let want = borewright::trade::wire::gauge_mm(f64::from(gauge));
        t.check(format!("awg{gauge} conductor"), "ASTM B258", have, want, 6e-5);
    }
}

pub fn printers(t: &mut Table) {
    let guide = "my3dpm 'FDM/FFF Design Table'";
    let wants = [
        ("wall_supported", 0.8),
        ("wall_free", 1.0),
        ("hole_min", 2.0),
        ("gap_min", 0.5),
        ("pin_min", 3.0),
        ("bridge", 10.0),
        ("accuracy", 0.2),
        ("overhang", 45.0),
    ];
    exact(t, "printers", "fdm-thin", guide, &wants);
    let guide = "arti90 'Design clues for 3D printing'";
    let wants = [("wall_supported", 1.0), ("emboss_width", 0.6), ("engrave_width", 0.6)];
    exact(t, "printers", "fdm-medium", guide, &wants);
    let guide = "colorpop 'FDM 3D Printing Design Guidelines'";
    exact(t, "printers", "fdm-medium", guide, &[("bridge", 5.0)]);
    exact(t, "printers", "fdm-stout", "jakemakes", &[("wall_supported", 1.2), ("fit_press", -0.1)]);
    let guide = "addema 'Recommendations - SLA', layerx3d";
    let wants = [
        ("wall_supported", 0.4),
        ("wall_free", 0.6),
        ("hole_min", 0.5),
        ("gap_min", 0.5),
        ("pin_min", 0.5),
        ("engrave_width", 0.4),
        ("bridge", 21.0),
    ];
    exact(t, "printers", "resin-fine", guide, &wants);
    let guide = "forgelabs 'SLA Design Guidelines'";
    exact(t, "printers", "resin-wide", guide, &[("accuracy", 0.25)]);
    let wants = [
        ("wall_supported", 0.7),
        ("wall_free", 0.7),
        ("hole_min", 1.5),
        ("gap_min", 0.5),
        ("pin_min", 1.0),
        ("engrave_width", 0.5),
        ("accuracy", 0.2),
    ];
    exact(t, "printers", "sls-service", "guides for sintered parts", &wants);
}

pub fn materials(t: &mut Table) {
    /// Middle of a published range, and half its width.
    fn between(t: &mut Table, name: &str, key: &str, source: &'static str, low: f64, high: f64) {
        let have = profile("materials", name).number(key);
        let what = format!("{name} {key}, {low} to {high}");
        t.check(what, source, have, (low + high) / 2.0, (high - low) / 2.0 + 1e-9);
    }
    between(t, "pla", "density", "additive.tools", 1.22, 1.26);
    between(t, "petg", "density", "additive.tools", 1.25, 1.29);
    between(t, "pa12-sls", "density", "additive.tools", 0.88, 0.96);
    between(t, "abs", "density", "moulded ABS", 1.04, 1.04);
    between(t, "pla", "softens_at", "additive.tools, Tg", 55.0, 65.0);
    between(t, "petg", "softens_at", "jlc3dp, at 0.45 MPa", 65.0, 75.0);
    between(t, "pa12-sls", "softens_at", "renato", 95.0, 95.0);
    between(t, "resin-durable", "softens_at", "Formlabs Durable sheet", 43.3, 43.3);
    between(t, "resin-durable", "modulus", "Formlabs Durable sheet", 1260.0, 1260.0);
    between(t, "pla", "modulus", "filament data sheet", 3000.0, 3200.0);
    between(t, "petg", "modulus", "filament data sheet", 1700.0, 1700.0);
    between(t, "asa", "modulus", "filament data sheet", 2000.0, 2000.0);
    between(t, "pa12-sls", "modulus", "HP MJF snap handbook", 1800.0, 1800.0);
    between(t, "abs", "modulus", "moulded ABS, 346 ksi", 2385.0, 2395.0);
    between(t, "petg", "across_layers", "hook tests", 0.46, 0.46);
    between(t, "asa", "across_layers", "hook tests", 0.29, 0.29);
    for (name, once, repeated) in
        [("pla", 1.0, 0.6), ("petg", 1.7, 1.0), ("asa", 1.1, 0.7), ("pa12-sls", 3.3, 2.0)]
    {
        let wants = [("strain_once", once), ("strain_repeated", repeated)];
        exact(t, "materials", name, "filament data sheets, snap guide's rule", &wants);
    }
    for (name, low, high) in
        [("pla", 0.2, 0.5), ("petg", 0.2, 0.6), ("abs", 0.4, 0.8), ("asa", 0.4, 0.7)]
    {
        between(t, name, "shrink", "common practice", low, high);
    }
}
