//! A slice of a tray's snap lips and a rod that snaps into it.

use super::super::around::bar;
use super::super::build::Slab;
use super::super::{Body, Calculation, Computed, PartContext, Refusal};
use super::{ABOVE, TestPiece, Told, body};
use crate::measure::{Axis, Measured, Unit, Values, Vec2};
use crate::section::{Region, snap};
use crate::trade::lip::{LipInput, curved_lip};
use crate::trade::lip_choice::{LipChoiceInput, choose_lip};

pub(super) const LIP: TestPiece = TestPiece {
    name: "lip",
    summary: "two snap lips as a cell tray has them, and a rod to snap into them",
    look: "press the rod in from the open side and pull it out ten times: the lips must hold it by \
           themselves, let it go by hand, and show no white line or crack at their roots",
    for_bore: false,
    beyond: &[],
    make,
};

/// Rod, mm: the diameter of a 14500 cell.
const ROD: f64 = 14.0;
/// Height of the lips and of the rod, mm.
const HIGH: f64 = 15.0;
const ROD_HIGH: f64 = 25.0;
/// Angle below the middle at which the floor begins, degrees; floor below the rod, mm.
const ROOT: f64 = 60.0;
const FLOOR: f64 = 4.0;
/// Thickest lips, mm, and what the trade's tray takes for push, hold and pull, N.
/// Common practice, no source.
const THICKEST: f64 = 2.4;
const PUSH: f64 = 40.0;
const HOLD: f64 = 2.0;
/// Least grip of each lip, mm. Common practice, no source.
const GRIP: f64 = 0.15;

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let (printer, material) = (context.printer, context.material);
    let wall = printer.number("wall_free");
    let limits = LipChoiceInput {
        cell_min_mm: ROD,
        cell_max_mm: ROD,
        clearance_mm: 0.5 * printer.number("fit_slide"),
        length_mm: HIGH,
        length_min_mm: HIGH,
        wall_min_mm: wall,
        wall_max_mm: wall.max(THICKEST),
        root_deg: ROOT,
        modulus_mpa: material.number("modulus"),
        allowed_percent: material.number("strain_repeated"),
        friction: material.number("friction"),
        grip_min_mm: GRIP,
        insertion_max_n: PUSH,
        pull_out_min_n: HOLD,
        pull_out_max_n: PUSH,
    };
    let chosen = choose_lip(&limits).map_err(|error| {
        Refusal::new(format!("lips over a rod of {ROD} mm cannot be made: {error}"))
            .at(values, "piece")
            .hint(error.hint())
            .hint("leave this piece out: name the others with --piece")
    })?;
    let thick = snap(chosen.thickness_mm);
    let inner = snap(0.5 * chosen.trough_mm);
    let input = LipInput {
        cylinder_mm: ROD,
        trough_mm: 2.0 * inner,
        thickness_mm: thick,
        length_mm: HIGH,
        wrap_deg: chosen.wrap_deg,
        root_deg: ROOT,
        modulus_mpa: limits.modulus_mpa,
        friction: limits.friction,
        allowed_percent: limits.allowed_percent,
    };
    let lips = [Slab { bottom: 0.0, top: HIGH, section: section(inner, thick, chosen.wrap_deg) }];
    let rod = Region::disc(Vec2::zeros(), 0.5 * ROD);
    let rod = [Slab { bottom: 0.0, top: ROD_HIGH, section: rod }];
    let told = Told {
        computed: computed(&input),
        worked: Calculation::list([("the lips over the rod", input.worked())]),
        ..Told::default()
    };
    let of_rod = Computed::new("rod", "diameter of the rod", ROD, Unit::Mm);
    let of_rod =
        of_rod.read(Measured::Outside, Some(Axis::X), format!("over the rod, turned, {ABOVE}"));
    Ok(vec![
        body(context, values, "", &lips, told)?,
        body(context, values, "-rod", &rod, Told { computed: vec![of_rod], ..Told::default() })?,
    ])
}

/// Height of the lips' tips over the middle, mm.
fn tips(inner: f64, wrap: f64) -> f64 {
    snap(inner * wrap.to_radians().sin())
}

/// Lips of a ring that is open at the top, on a floor.
fn section(inner: f64, thick: f64, wrap: f64) -> Region {
    let outer = inner + thick;
    let tips = tips(inner, wrap);
    let (sin, cos) = ROOT.to_radians().sin_cos();
    let ring = Region::disc(Vec2::zeros(), outer)
        .intersection(&bar((-outer - 1.0, outer + 1.0), (-outer - 1.0, tips)));
    let floor = bar((-outer * cos, outer * cos), (-outer - FLOOR, -inner * sin));
    ring.union(&floor).difference(&Region::disc(Vec2::zeros(), inner))
}

fn computed(input: &LipInput) -> Vec<Computed> {
    let Ok(lip) = curved_lip(input) else { return Vec::new() };
    let row = Computed::new;
    let at = format!("inner jaws between the lips' tips, without pressing, {ABOVE}");
    // As drawn, whose tips are on the grid.
    let (inner, tips) = (0.5 * input.trough_mm, tips(0.5 * input.trough_mm, input.wrap_deg));
    let mouth = 2.0 * (inner * inner - tips * tips).sqrt();
    let mut rows = vec![
        row("mouth", "gap between the lips' tips", mouth, Unit::Mm).read(
            Measured::Gap,
            Some(Axis::X),
            at,
        ),
        row("lip", "thickness of a lip", input.thickness_mm, Unit::Mm),
        row("trough", "diameter inside the lips", input.trough_mm, Unit::Mm),
        row("strain", "largest strain as the rod passes", lip.strain_percent, Unit::Percent),
    ];
    let forces = [
        ("push", "largest push to snap it in", lip.insertion_n),
        ("pull", "largest pull to take it out", lip.pull_out_n),
    ];
    for (key, what, force) in forces {
        rows.extend(force.map(|force| row(key, what, force, Unit::Newton)));
    }
    rows
}
