//! Growth with heat, and what a print takes, for every body alike.

use crate::measure::{Values, Vec3};
use crate::parts::Calculation;
use crate::solid::MassProperties;
use crate::trade::cost::{FilamentInput, ResinInput};
use crate::trade::growth::GrowthInput;

/// Rise from the bench to a handle that lay in the sun, K. Common practice, no
/// source.
const RISE: f64 = 40.0;
/// Thermal expansion of an aluminium handle, 1e-6/K (from memory of handbook
/// tables).
const HANDLE: f64 = 23.0;
/// Widths of a track by the nozzle's: slicers' usual line. Common practice, no
/// source.
const LINE: f64 = 1.125;
/// Speed where the printer's profile has none, mm/s. Common practice, no source.
const SPEED: f64 = 50.0;
/// Time of a resin layer, s. Common practice, no source.
const RESIN_LAYER: f64 = 9.0;

/// First estimates for a body of the given measures, printed upright.
pub(super) fn estimates(
    properties: &MassProperties,
    bounds: &(Vec3, Vec3),
    printer: &Values,
    material: &Values,
) -> Vec<Calculation> {
    let size = bounds.1 - bounds.0;
    let density_g_per_cm3 = material.number("density");
    let layer_mm = printer.number("layer");
    let growth = GrowthInput {
        size_mm: size.z,
        expansion_per_k: material.number("expansion"),
        handle_expansion_per_k: HANDLE,
        rise_k: RISE,
        shrinkage_percent: material.number("shrink"),
    };
    let print = match printer.choice("process") {
        "resin" => ResinInput {
            volume_mm3: properties.volume,
            height_mm: size.z,
            layer_mm,
            layer_s: RESIN_LAYER,
            extra_percent: 20.0,
            density_g_per_cm3,
        }
        .worked(),
        _ => FilamentInput {
            volume_mm3: properties.volume,
            area_mm2: properties.area,
            height_mm: size.z,
            layer_mm,
            line_mm: LINE * printer.maybe_number("nozzle").unwrap_or(0.4),
            walls: 3,
            infill_percent: 100.0,
            speed_mm_per_s: printer.maybe_number("speed").unwrap_or(SPEED),
            flow_percent: 70.0,
            density_g_per_cm3,
            filament_mm: 1.75,
        }
        .worked(),
    };
    let mut out = Calculation::list([("growth along the handle", growth.worked())]);
    // Powder is shared by a whole build: an estimate for one body says nothing.
    if printer.choice("process") != "sls" {
        out.extend(Calculation::list([("printing it solid, an estimate", print)]));
    }
    out
}
