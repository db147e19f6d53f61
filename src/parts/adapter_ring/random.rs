//! Random jobs with one adapter ring, for tests here and in `tests/reference`.

use std::fmt::Write;

/// A job with one ring: bores, lines of `[print]`, lines of the part.
pub fn job(bore: &str, print: &str, part: &str) -> String {
    format!(
        "format = 1\n[handle]\nname = \"test rod\"\nbore = {bore}\nlength = 200\n[print]\n{print}\n\
         [[part]]\nkind = \"adapter_ring\"\nname = \"ring\"\n{part}\n"
    )
}

/// A random job: mostly plausible, sometimes anything that may be written.
pub fn random(rng: &mut fastrand::Rng) -> String {
    let wild = rng.u8(0..6) == 0;
    let bore = 20.0 + 20.0 * rng.f64();
    let wall = 1.3 + 5.0 * rng.f64();
    let mut part = format!("inner = {:.2}\n", (bore - 2.0 * wall).max(5.0));
    let mut number = |rng: &mut fastrand::Rng, key: &str, near: (f64, f64), far: (f64, f64)| {
        if rng.u8(0..5) < 2 {
            let (a, b) = if wild && rng.bool() { far } else { near };
            let raw = a + (b - a) * rng.f64();
            let value = if rng.bool() { (raw * 2.0).round() / 2.0 } else { raw };
            writeln!(part, "{key} = {:.3}", value.clamp(far.0, far.1)).expect("text");
        }
    };
    let flange = rng.u8(0..3) > 0;
    for (key, near, far) in [
        ("gap_angle", (14.0, 40.0), (2.0, 120.0)),
        ("gap_at", (0.0, 360.0), (-360.0, 360.0)),
        ("spring", (0.1, 0.7), (0.0, 3.0)),
        ("length", (12.0, 30.0), (3.0, 300.0)),
        (if flange { "flange" } else { "from_z" }, (1.0, 3.0), (0.0, 10.0)),
        ("shim_step", (0.1, 0.3), (0.02, 1.0)),
        ("mark_depth", (0.0, 1.0), (0.0, 2.0)),
        ("coat", (0.0, 0.1), (0.0, 0.5)),
        ("keel", (0.0, 0.8), (0.0, 12.0)),
        ("groove_at", (60.0, 300.0), (-360.0, 360.0)),
        ("first_layer", (0.0, 0.5), (0.0, 2.0)),
        ("lead_in", (0.0, 0.8), (0.0, 2.0)),
    ] {
        number(rng, key, near, far);
    }
    if rng.bool() {
        writeln!(part, "form = \"split\"").expect("text");
    }
    for (key, words) in [
        ("shim_count", &["0", "0", "1", "3"]),
        ("wires", &["0", "0", "0", "1"]),
        ("inner_fit", &["\"press\"", "\"slide\"", "\"slide\"", "\"loose\""]),
        ("fit", &["\"press\"", "\"slide\"", "\"slide\"", "\"loose\""]),
    ] {
        writeln!(part, "{key} = {}", rng.choice(words).expect("some")).expect("text");
    }
    for _ in 0..rng.usize(0..3) {
        let (z, clocking) = (5.0 + 3.0 * rng.f64(), 360.0 * rng.f64());
        let slot = if rng.bool() { 1.5 } else { 0.0 };
        let diameter = 2.0 + 3.0 * rng.f64();
        write!(
            part,
            "[[part.hole]]\nz = {z:.2}\nclocking = {clocking:.1}\ndiameter = {diameter:.2}\nslot = {slot}\n"
        )
        .expect("text");
    }
    let printers = ["fdm-thin", "fdm-medium", "fdm-stout", "resin-fine", "sls-service"];
    let print =
        format!("printer = \"{}\"\nmaterial = \"petg\"", rng.choice(&printers).expect("some"));
    job(&format!("[{bore:.2}]"), &print, &part)
}
