//! Printers and the materials that they print.

use super::super::param::{Param, Unit};
use super::super::values::Values;
use super::{Conflict, Family, NOTE, SOURCE, in_order};

pub(super) const PRINTERS: Family = Family {
    name: "printers",
    summary: "what a printer holds: accuracy, least walls and holes, fits",
    rows: &[
        Param::choice(
            "process",
            &["fdm", "resin", "sls"],
            "Filament, resin bath, or sintered powder.",
        ),
        Param::number("accuracy", Unit::Mm, (0.0, 1.0), "Deviation of a printed size, either way."),
        Param::number(
            "size_sd",
            Unit::Mm,
            (0.0, 0.5),
            "Standard deviation of sizes that you measured on test prints; it replaces accuracy in fits.",
        )
        .optional(),
        Param::number(
            "size_offset",
            Unit::Mm,
            (-0.5, 0.5),
            "How much larger than drawn those sizes came out on average; with growth and scales, what \
             is left when the files make up for these.",
        )
        .or(0.0),
        Param::number(
            "growth",
            Unit::Mm,
            (-0.5, 0.5),
            "How far upright surfaces come out; print files are drawn in by it, so that prints come \
             out as drawn.",
        )
        .or(0.0),
        Param::number("scale_x", Unit::One, (0.9, 1.1), "Printed over drawn along x; print files make up for it.")
            .or(1.0),
        Param::number("scale_y", Unit::One, (0.9, 1.1), "Printed over drawn along y; print files make up for it.")
            .or(1.0),
        Param::number("scale_z", Unit::One, (0.9, 1.1), "Printed over drawn, upright; print files make up for it.")
            .or(1.0),
        Param::number(
            "hole_shrink",
            Unit::Mm,
            (0.0, 1.0),
            "How much smaller than drawn the diameter of a small upright hole comes out.",
        )
        .or(0.0),
        Param::number(
            "wall_supported",
            Unit::Mm,
            (0.1, 5.0),
            "Least wall that is held on two sides or more.",
        ),
        Param::number("wall_free", Unit::Mm, (0.1, 5.0), "Least wall that stands free."),
        Param::number("gap_min", Unit::Mm, (0.02, 3.0), "Least gap that stays open."),
        Param::number("hole_min", Unit::Mm, (0.1, 5.0), "Least hole that comes out round."),
        Param::number("pin_min", Unit::Mm, (0.1, 10.0), "Least pin that holds."),
        Param::number("emboss_width", Unit::Mm, (0.05, 5.0), "Least width of raised marks."),
        Param::number("engrave_width", Unit::Mm, (0.05, 5.0), "Least width of sunk marks."),
        Param::number("layer", Unit::Mm, (0.01, 1.0), "Height of a layer."),
        Param::number("nozzle", Unit::Mm, (0.1, 1.5), "Width of a filament's track.").optional(),
        Param::number("bed_x", Unit::Mm, (20.0, 2000.0), "Size of the build space along x."),
        Param::number("bed_y", Unit::Mm, (20.0, 2000.0), "Size of the build space along y."),
        Param::number("bed_z", Unit::Mm, (20.0, 2000.0), "Height of the build space."),
        Param::number(
            "fit_press",
            Unit::Mm,
            (-0.5, 0.5),
            "Clearance on the diameter of a press fit; negative is interference.",
        ),
        Param::number(
            "fit_slide",
            Unit::Mm,
            (0.0, 2.0),
            "Clearance on the diameter of a fit that slides without play.",
        ),
        Param::number(
            "fit_loose",
            Unit::Mm,
            (0.0, 3.0),
            "Clearance on the diameter of a fit that always goes in.",
        ),
        Param::number(
            "first_layer_flare",
            Unit::Mm,
            (0.0, 1.0),
            "How far the first layer bulges outwards, on each side.",
        )
        .or(0.0),
        Param::number(
            "overhang",
            Unit::Degrees,
            (0.0, 90.0),
            "Steepest overhang without support, from upright; 90 needs none.",
        )
        .or(45.0),
        Param::number("bridge", Unit::Mm, (0.0, 100.0), "Longest bridge without support.")
            .optional(),
        Param::number(
            "speed",
            Unit::MmPerSecond,
            (1.0, 1000.0),
            "Mean speed along walls, for a first estimate of time.",
        )
        .optional(),
        NOTE,
        SOURCE,
    ],
    check: check_printer,
    shipped: include_str!("../../../profiles/printers.toml"),
};

fn check_printer(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "wall_supported", "wall_free", &mut conflicts);
    in_order(values, "fit_press", "fit_slide", &mut conflicts);
    in_order(values, "fit_slide", "fit_loose", &mut conflicts);
    in_order(values, "layer", "nozzle", &mut conflicts);
    conflicts
}

pub(super) const MATERIALS: Family = Family {
    name: "materials",
    summary: "printed plastics: stiffness, strain, heat",
    rows: &[
        Param::number("density", Unit::GramPerCm3, (0.5, 3.0), "Density of the printed solid."),
        Param::number(
            "modulus",
            Unit::Megapascal,
            (10.0, 20_000.0),
            "Modulus of elasticity in bending, in the layers' plane.",
        ),
        Param::number(
            "strain_once",
            Unit::Percent,
            (0.1, 50.0),
            "Strain allowed once, as when a clip is fitted for good.",
        ),
        Param::number(
            "strain_repeated",
            Unit::Percent,
            (0.1, 50.0),
            "Strain allowed again and again.",
        ),
        Param::number(
            "across_layers",
            Unit::One,
            (0.05, 1.0),
            "Share of strength and strain that is left across layers.",
        ),
        Param::number(
            "friction",
            Unit::One,
            (0.05, 1.5),
            "Coefficient of friction, plastic on plastic or wrap.",
        ),
        Param::number(
            "softens_at",
            Unit::Celsius,
            (30.0, 300.0),
            "Temperature at which it loses its shape under small loads.",
        ),
        Param::number("expansion", Unit::MicroPerKelvin, (1.0, 300.0), "Linear thermal expansion."),
        Param::number(
            "shrink",
            Unit::Percent,
            (0.0, 5.0),
            "Linear shrinkage of a print, if the machine does not make up for it.",
        ),
        NOTE,
        SOURCE,
    ],
    check: check_material,
    shipped: include_str!("../../../profiles/materials.toml"),
};

fn check_material(values: &Values) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    in_order(values, "strain_repeated", "strain_once", &mut conflicts);
    conflicts
}
