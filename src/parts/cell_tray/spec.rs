//! What a tray is to be: entered values, checked against the printer.

use super::super::fit::BoreFit;
use super::super::module::keel_depth;
use super::super::{PartContext, Refusal};
use crate::measure::Values;
use crate::section::snap;

/// Least length of one lip piece pair's sum worth printing, mm: two pieces of
/// two millimetres. Common practice, no source.
pub(super) const LIP_LENGTH_MIN: f64 = 4.0;
/// Thickest lip that is chosen, mm; thicker ones hardly bend.
const LIP_THICKEST: f64 = 2.4;
/// Distance of lips from the ends of the cell's body, mm, so that they stand
/// free of the end walls. Common practice, no source.
pub(super) const LIP_RELIEF: f64 = 3.0;

/// The cell.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub name: String,
    pub diameter: (f64, f64),
    pub length: (f64, f64),
    pub button: f64,
    pub button_diameter: f64,
    pub chemistry: &'static str,
    pub protected: bool,
}

impl Cell {
    /// From values of the family `cells`.
    pub(super) fn new(values: &Values) -> Cell {
        let chemistry = match values.choice("chemistry") {
            "li-ion" => "li-ion",
            "nimh" => "nimh",
            "alkaline" => "alkaline",
            _ => "lithium-primary",
        };
        let diameter = (values.number("diameter_min"), values.number("diameter_max"));
        let button = values.number("button_height");
        Cell {
            name: values.profile().unwrap_or("cell").to_owned(),
            diameter,
            length: (values.number("length_min"), values.number("length_max")),
            button,
            button_diameter: values
                .maybe_number("button_diameter")
                .unwrap_or(BUTTON_SHARE * diameter.1),
            chemistry,
            protected: values.flag("protected"),
        }
    }

    /// Radius of the thickest cell, mm.
    pub(super) fn radius(&self) -> f64 {
        0.5 * self.diameter.1
    }

    /// Whether it is a lithium-ion cell.
    pub(super) fn li_ion(&self) -> bool {
        self.chemistry == "li-ion"
    }
}

/// Diameter of a button that was not given, over that of the cell: R6 has 5.5
/// of 14.5 (IEC 60086-2), 18650 cells about 6 of 18.5.
const BUTTON_SHARE: f64 = 0.38;

/// The wires that pass the cell.
#[derive(Clone, Debug)]
pub(super) struct Wires {
    pub count: i64,
    pub name: String,
    /// Largest diameter of one wire, mm.
    pub outer: f64,
    pub conductor: f64,
    pub slack: f64,
    pub closed: bool,
}

/// What a cover leaves open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Opening {
    Nothing,
    Fingers,
    Mouth,
}

/// The cover's wall, mm, and its gap to the tray, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct CoverSpec {
    pub opening: Opening,
    pub wall: f64,
    pub gap: f64,
}

/// Everything that was entered, typed; alternatives are tried on copies.
#[derive(Clone, Debug)]
pub(super) struct Spec {
    /// Outside radius of the print in the bore, mm.
    pub outside: f64,
    /// Depth of the keel's flat from the outside, mm; zero for none.
    pub keel: f64,
    pub cell: Cell,
    pub clearance: f64,
    pub cell_y: Option<f64>,
    pub base: Option<f64>,
    pub lying: bool,
    /// Strain that the lips may take again and again, percent.
    pub allowed: f64,
    pub modulus: f64,
    pub friction: f64,
    pub wrap: Option<f64>,
    pub lip_thickness: Option<f64>,
    /// Thickest lip that is tried, mm.
    pub lip_thickest: f64,
    pub lip_length: Option<f64>,
    pub root: Option<f64>,
    pub finger: f64,
    pub push_max: f64,
    pub pull_max: f64,
    pub hold_min: f64,
    pub end_wall: f64,
    pub contact_force: f64,
    pub tail: f64,
    pub tab_thickness: f64,
    pub tab_width: Option<f64>,
    pub plate_width: Option<f64>,
    pub vent_gap: f64,
    pub wires: Wires,
    pub mark: f64,
    pub layer: f64,
    pub cover: Option<CoverSpec>,
    pub wall_supported: f64,
    pub wall_free: f64,
    pub gap_min: f64,
    pub hole_shrink: f64,
    pub hole_min: f64,
    pub engrave: f64,
    /// Deviation of a printed length, either way, mm.
    pub accuracy: f64,
}

impl Spec {
    /// Checked against the printer's least walls.
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &Values,
        fit: &BoreFit,
    ) -> Result<Spec, Refusal> {
        let (printer, material) = (context.printer, context.material);
        let wall_supported = printer.number("wall_supported");
        let wall_free = printer.number("wall_free");
        let at_least = |key: &str, least: f64, what: &str| match values.maybe_number(key) {
            Some(value) if value < least => Err(Refusal::new(format!(
                "{key} of {value:.2} mm is less than this printer's {what} of {least:.2} mm"
            ))
            .at(values, key)
            .hint(format!("give {key} {least:.2} mm or more, or use a printer with finer walls"))),
            _ => Ok(()),
        };
        at_least("lip_thickness", wall_free, "least free wall")?;
        at_least("cover_wall", wall_free, "least free wall")?;
        let mark = values.number("mark_depth");
        let under = if mark > 0.0 { "least wall with a mark in it" } else { "least wall" };
        at_least("base", wall_supported, "least wall")?;
        at_least("end_wall", wall_supported + mark, under)?;
        let layer = printer.number("layer");
        if mark > 0.0 && mark < layer {
            return Err(Refusal::new(format!(
                "marks {mark:.3} mm deep do not show: a layer of this printer is {layer:.2} mm high"
            ))
            .at(values, "mark_depth")
            .hint(format!("give mark_depth {layer:.2} or more, or 0 for no marks")));
        }
        let tail = values.number("tail");
        let gap_min = printer.number("gap_min");
        if tail > 0.0 && tail < gap_min {
            return Err(Refusal::new(format!(
                "a slit of {tail:.2} mm for the tails would close: this printer keeps gaps of \
                 {gap_min:.2} mm open"
            ))
            .at(values, "tail")
            .hint(format!("give tail {gap_min:.2} or more, or 0 for no slit")));
        }
        let wire = values.component("wire");
        let lying = values.choice("layers") == "lying";
        let across = if lying { material.number("across_layers") } else { 1.0 };
        let opening = match values.choice("cover") {
            "closed" => Some(Opening::Nothing),
            "fingers" => Some(Opening::Fingers),
            "mouth" => Some(Opening::Mouth),
            _ => None,
        };
        let cover = opening.map(|opening| CoverSpec {
            opening,
            wall: snap(values.maybe_number("cover_wall").unwrap_or(wall_free)),
            // Half of a sliding fit on the diameter, as for a part in the bore.
            gap: snap(0.5 * printer.number("fit_slide")),
        });
        Ok(Spec {
            outside: fit.radius,
            keel: keel_depth(fit.radius, values)?,
            cell: Cell::new(values.component("cell")),
            clearance: values.number("clearance"),
            cell_y: values.maybe_number("cell_y").map(snap),
            base: values.maybe_number("base"),
            lying,
            allowed: material.number("strain_repeated") * across,
            modulus: material.number("modulus"),
            friction: material.number("friction"),
            wrap: values.maybe_number("wrap"),
            lip_thickness: values.maybe_number("lip_thickness"),
            lip_thickest: LIP_THICKEST.max(wall_free),
            lip_length: values.maybe_number("lip_length"),
            root: values.maybe_number("root"),
            finger: values.number("finger"),
            push_max: values.number("push_max"),
            pull_max: values.number("pull_max"),
            hold_min: values.number("hold_min"),
            end_wall: snap(values.number("end_wall")),
            contact_force: values.number("contact_force"),
            tail: snap(tail),
            tab_thickness: values.number("tab_thickness"),
            tab_width: values.maybe_number("tab_width"),
            plate_width: values.maybe_number("plate_width"),
            vent_gap: values.number("vent_gap"),
            wires: Wires {
                count: values.integer("wires"),
                name: wire.profile().unwrap_or("wire").to_owned(),
                outer: wire.number("outer") + wire.number("outer_tolerance"),
                conductor: wire.number("conductor"),
                slack: values.number("slack"),
                closed: values.choice("duct") == "closed",
            },
            mark: snap(mark),
            layer,
            cover,
            wall_supported,
            wall_free,
            gap_min,
            hole_shrink: printer.number("hole_shrink"),
            hole_min: printer.number("hole_min"),
            engrave: printer.number("engrave_width"),
            accuracy: printer.number("accuracy"),
        })
    }

    /// Inside radius of the trough, mm.
    pub(super) fn trough(&self) -> f64 {
        snap(self.cell.radius() + self.clearance)
    }

    /// Radius within which the tray stays where a cover lies over it, mm.
    pub(super) fn covered(&self) -> f64 {
        match self.cover {
            Some(cover) => snap(self.outside - cover.wall - cover.gap),
            None => self.outside,
        }
    }

    /// Length along which lips can stand, mm: the body of the shortest cell
    /// without its ends and the finger cut-out.
    pub(super) fn lip_room(&self) -> f64 {
        self.cell.length.0 - self.cell.button - 2.0 * LIP_RELIEF - self.finger
    }
}
