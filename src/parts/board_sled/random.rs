//! Random jobs with one board sled, for tests here and in `tests/reference`.

use std::fmt::Write;

use crate::measure::Library;
use crate::random_rows::{one_part, pick, print};

/// A job with one sled: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    one_part(("board_sled", "sled"), bore, "length = 260", print, part)
}

/// A job whose board is anything from a chip to what the bore just takes.
pub fn random_job(rng: &mut fastrand::Rng, library: &Library) -> String {
    let within = |rng: &mut fastrand::Rng, low: f64, high: f64| {
        (100.0 * (low + (high - low) * rng.f64())).round() / 100.0
    };
    let bore = within(rng, 19.0, 42.0);
    let width = (100.0 * bore * (0.3 + 0.5 * rng.f64())).round() / 100.0;
    let length = within(rng, 8.0, 110.0);
    let mut part = String::new();
    match rng.u8(0..5) {
        0 => {
            let (w, l) = (0.15 * width, 0.1 * length);
            let side = if rng.bool() { 0.5 } else { -0.5 };
            writeln!(
                part,
                "outline = \"notched\"\nwidth = {width}\nlength = {length}\nnotch = [{{ x = {:.2}, z = {:.2}, \
                 width = {:.2}, length = {:.2} }}]",
                side * width,
                length * rng.f64(),
                2.0 * w,
                2.0 * l
            )
            .expect("text");
        }
        1 => {
            let (w, l, cut) = (0.5 * width, length, 0.2 * width * rng.f64());
            writeln!(
                part,
                "outline = \"polygon\"\ncorners = [[{:.2}, 0], [{:.2}, 0], [{w:.2}, {cut:.2}], [{w:.2}, {l:.2}], \
                 [{:.2}, {l:.2}], [{:.2}, {cut:.2}]]",
                cut - w,
                w - cut,
                -w,
                -w
            )
            .expect("text");
        }
        _ => writeln!(part, "width = {width}\nlength = {length}").expect("text"),
    }
    let mut often = |chance: f64| rng.f64() < chance;
    let asked =
        [often(0.5), often(0.3), often(0.15), often(0.3), often(0.2), often(0.2), often(0.3)];
    let [keel, wires, height, posts, down, tie, under] = asked;
    let mut set = |yes: bool, line: String| {
        if yes {
            writeln!(part, "{line}").expect("text");
        }
    };
    set(keel, format!("keel = {}", within(rng, 1.0, 6.0)));
    set(wires, format!("wires = {}\ngroove_at = {}", rng.i64(1..6), within(rng, 0.0, 360.0)));
    set(height, format!("height = {}", within(rng, -0.4 * bore, 0.4 * bore)));
    set(down, "face = \"down\"".into());
    set(tie, "strain_relief = \"tie\"".into());
    set(!tie && !posts && rng.u8(0..4) == 0, "strain_relief = \"comb\"".into());
    set(under, format!("under = {}", within(rng, 0.3, 6.0)));
    set(rng.u8(0..4) == 0, format!("rail = {}", within(rng, 0.8, 3.5)));
    set(rng.u8(0..4) == 0, format!("thickness = {}", within(rng, 0.6, 3.0)));
    set(rng.u8(0..5) == 0, "lock = \"none\"".into());
    set(rng.u8(0..4) == 0, format!("wall = {}", within(rng, 0.8, 3.0)));
    set(rng.u8(0..4) == 0, format!("lead_in = {}", within(rng, 0.0, 1.5)));
    set(rng.u8(0..4) == 0, format!("from_z = {}", within(rng, 0.0, 140.0)));
    let around = |rng: &mut fastrand::Rng, span: f64| within(rng, -0.5 * span, 0.5 * span);
    if posts {
        part.push_str("hold = \"posts\"\n");
        if rng.u8(0..3) == 0 {
            part.push_str("fixing = \"glue\"\n");
        }
        for _ in 0..rng.u8(1..4) {
            let (x, z) = (around(rng, 0.7 * width), within(rng, 0.05 * length, 0.95 * length));
            writeln!(part, "[[part.hole]]\nx = {x}\nz = {z}\ndiameter = 2.7").expect("text");
        }
    }
    for _ in 0..rng.u8(0..3) {
        let (x, z) = (around(rng, 0.5 * width), within(rng, 0.0, length));
        let (w, l) = (within(rng, 1.0, 0.5 * width), within(rng, 1.0, 0.5 * length));
        let side = if rng.u8(0..3) > 0 { "top" } else { "bottom" };
        let height = if side == "top" { within(rng, 1.0, 9.0) } else { within(rng, 0.4, 4.0) };
        writeln!(
            part,
            "[[part.keep_out]]\nx = {x}\nz = {z}\nwidth = {w}\nlength = {l}\nheight = {height}\n\
             side = \"{side}\""
        )
        .expect("text");
    }
    for _ in 0..rng.u8(0..3) {
        let edge = ["cap", "front", "left", "right"][rng.usize(..4)];
        let offset = match edge {
            "cap" | "front" => around(rng, 0.4 * width),
            _ => within(rng, 0.2 * length, 0.9 * length),
        };
        writeln!(
            part,
            "[[part.port]]\nedge = \"{edge}\"\noffset = {offset}\nwidth = {}\nheight = {}",
            within(rng, 2.0, 10.0),
            within(rng, 1.0, 4.0)
        )
        .expect("text");
        if rng.bool() {
            writeln!(part, "plug = \"{}\"", pick(rng, library, "plugs")).expect("text");
        }
    }
    let print = print(rng, library);
    job(&format!("[{bore}]"), &print, &part)
}
