//! Random jobs with one cradle, for tests here and in `tests/reference`.

use std::fmt::Write;

use fastrand::Rng;

use crate::measure::frame::direction;

const HEAD: &str = "format = 1\n[handle]\nname = \"t\"\nbore = [BORE]\ncaliper = 0\nlength = 1500\n\
                    [print]\nprinter = \"PRINTER\"\nmaterial = \"pla\"\n\
                    [[part]]\nkind = \"crystal_cradle\"\nname = \"c\"\n";

pub fn head(bore: f64, printer: &str) -> String {
    HEAD.replace("BORE", &format!("{bore:.2}")).replace("PRINTER", printer)
}

/// A job somewhere in the documented ranges; `mild` keeps to what may fit.
pub fn random(rng: &mut Rng, mild: bool) -> String {
    let printers =
        ["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine", "resin-wide", "sls-service"];
    let bore = if mild { 24.0 + 24.0 * rng.f64() } else { 8.0 + 112.0 * rng.f64() };
    let mut t = head(bore, printers[rng.usize(..printers.len())]);
    let put = |t: &mut String, key: &str, value: String| {
        writeln!(t, "{key} = {value}").expect("a String takes all");
    };
    let within = |rng: &mut Rng, lo: f64, hi: f64| -> String {
        // Ends and round values are more likely than chance has them.
        let v = match rng.u32(..12) {
            0 => lo,
            1 => hi,
            2 | 3 => (lo + (hi - lo) * rng.f64()).round().clamp(lo, hi),
            _ => lo + (hi - lo) * rng.f64(),
        };
        format!("{:.3}", v)
    };
    let some = |rng: &mut Rng| rng.u32(..3) == 0;
    let quoted = |word: &str| format!("\"{word}\"");
    let pixels = ["bare-5050", "round-10", "strip-10"];
    put(&mut t, "pixel", quoted(pixels[rng.usize(..3)]));
    put(&mut t, "pixel_end", quoted(["low", "high"][rng.usize(..2)]));
    put(&mut t, "retention", quoted(["glue", "lips", "cap"][rng.usize(..3)]));
    put(&mut t, "light_shape", quoted(["round", "square"][rng.usize(..2)]));
    put(&mut t, "fit", quoted(["press", "slide", "loose"][rng.usize(..3)]));
    let mut number = |rng: &mut Rng, key: &str, all: (f64, f64), usual: (f64, f64)| {
        if some(rng) {
            let (lo, hi) = if mild { usual } else { all };
            let value = within(rng, lo, hi);
            put(&mut t, key, value);
        }
    };
    number(rng, "coat", (0.0, 0.5), (0.0, 0.2));
    number(rng, "from_z", (0.0, 1500.0), (0.0, 300.0));
    number(rng, "clearance", (0.05, 1.5), (0.05, 0.5));
    number(rng, "wall", (0.3, 10.0), (1.0, 2.0));
    number(rng, "pixel_x", (-40.0, 40.0), (-2.0, 2.0));
    number(rng, "pixel_y", (-40.0, 40.0), (-2.0, 2.0));
    number(rng, "pixel_turn", (-180.0, 180.0), (-180.0, 180.0));
    number(rng, "pixel_clearance", (0.05, 1.0), (0.05, 0.4));
    number(rng, "gap", (0.5, 40.0), (2.0, 8.0));
    number(rng, "light_bore", (0.3, 40.0), (2.0, 4.5));
    number(rng, "back_room", (0.3, 20.0), (1.6, 4.0));
    number(rng, "wire_groove", (0.0, 10.0), (1.5, 2.5));
    number(rng, "far_wall", (0.3, 40.0), (1.5, 5.0));
    number(rng, "window_angle", (10.0, 180.0), (10.0, 180.0));
    number(rng, "window_length", (1.0, 200.0), (3.0, 20.0));
    number(rng, "window_shift", (-100.0, 100.0), (-4.0, 4.0));
    number(rng, "overlap", (0.3, 8.0), (0.3, 2.0));
    number(rng, "cap_thickness", (0.3, 6.0), (1.2, 2.0));
    number(rng, "glue_gap", (0.02, 0.5), (0.02, 0.3));
    number(rng, "stone_index", (1.01, 4.0), (1.4, 1.7));
    number(rng, "lead_in", (0.0, 2.0), (0.0, 1.0));
    number(rng, "first_layer", (0.0, 2.0), (0.0, 1.0));
    let keel = within(rng, 0.0, if mild { 5.0 } else { 12.0 });
    if some(rng) {
        put(&mut t, "keel", keel);
    }
    // Looking for what shows takes longer than all the rest.
    put(&mut t, "hide", ((100.0 * bore) as u32).is_multiple_of(8).to_string());
    if rng.bool() {
        put(&mut t, "proud", rng.bool().to_string());
    }
    if rng.u32(..3) == 0 {
        let (w, l, d) = if mild {
            (within(rng, 18.0, 34.0), within(rng, 40.0, 200.0), within(rng, 14.0, 30.0))
        } else {
            (within(rng, 4.0, 100.0), within(rng, 4.0, 300.0), within(rng, 3.0, 80.0))
        };
        let arc = if rng.bool() {
            format!(", floor = \"arc\", floor_radius = {}", within(rng, 16.0, 60.0))
        } else {
            String::new()
        };
        put(&mut t, "cavity", format!("{{ width = {w}, length = {l}, depth = {d}{arc} }}"));
    }
    let count = if mild { 2 + rng.usize(..4) } else { 2 + rng.usize(..23) };
    let size = if mild { bore * (0.2 + 0.4 * rng.f64()) } else { 0.5 + 79.5 * rng.f64() };
    let same = rng.u32(..4) == 0;
    let mut at = if rng.bool() { 0.0 } else { 3.0 };
    let kinds = ["round", "hexagon", "facets", "rectangle", "points"];
    let favourite = kinds[rng.usize(..5)];
    let turn = rng.i32(-180..180);
    for _ in 0..count {
        writeln!(t, "[[part.station]]\nat = {at:.3}").expect("a String takes all");
        at += if mild {
            2.0 + 12.0 * rng.f64()
        } else {
            0.02 + 200.0 / count as f64 * rng.f64() * 0.98
        };
        let kind = if rng.u32(..4) == 0 { kinds[rng.usize(..5)] } else { favourite };
        let vary = |rng: &mut Rng| if same { 1.0 } else { 0.6 + 0.4 * rng.f64() };
        let (w, h) = ((size * vary(rng)).max(0.5), (size * vary(rng)).max(0.5));
        if kind == "points" {
            let corners = 3 + rng.usize(..8);
            let points: Vec<String> = (0..corners)
                .map(|k| {
                    direction(360.0 * k as f64 / corners as f64)
                        * (w / 2.0 * (0.5 + 0.5 * rng.f64()))
                })
                .map(|p| format!("[{:.2}, {:.2}]", p.x, p.y))
                .collect();
            writeln!(t, "section = \"points\"\npoints = [{}]", points.join(", "))
                .expect("a String");
        } else {
            let h = if same { w } else { h };
            writeln!(t, "section = \"{kind}\"\nwidth = {w:.2}\nheight = {h:.2}").expect("a String");
            if kind == "facets" {
                writeln!(t, "facets = {}", 3 + rng.u32(..22)).expect("a String");
            }
        }
        let twist = [0, 0, 1, 5, 30][rng.usize(..5)];
        if !same {
            writeln!(t, "turn = {}", (turn + rng.i32(0..=twist)).clamp(-180, 180))
                .expect("a String");
            let off = if mild { 0.06 * bore } else { 40.0 };
            writeln!(
                t,
                "x = {:.2}\ny = {:.2}",
                off * (2.0 * rng.f64() - 1.0),
                off * (2.0 * rng.f64() - 1.0)
            )
            .expect("a String");
        }
    }
    for tip in ["tip_low", "tip_high"] {
        if rng.u32(..3) == 0 {
            let length = if mild { within(rng, 0.2, 12.0) } else { within(rng, 0.2, 60.0) };
            writeln!(t, "[part.{tip}]\nlength = {length}").expect("a String takes all");
            if some(rng) {
                writeln!(t, "x = {:.2}", 4.0 * rng.f64() - 2.0).expect("a String takes all");
            }
        }
    }
    t
}
