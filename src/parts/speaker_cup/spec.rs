//! What a cup is to be: entered values, checked against the printer.

use super::super::module::Outside;
use super::super::{PartContext, Refusal};
use crate::measure::Values;
use crate::section::snap;

/// The speaker at its largest.
#[derive(Clone, Debug)]
pub(super) struct Speaker {
    pub name: String,
    /// Half the frame's width, largest, mm.
    pub half: f64,
    /// Half of what the frame is longer than wide, mm; 0 for a round one.
    pub straight: f64,
    pub tolerance: f64,
    pub depth: f64,
    pub rim: (f64, f64),
    pub crest: f64,
    /// Diameter and depth of the magnet, mm.
    pub magnet: (f64, f64),
    pub cone: f64,
}

impl Speaker {
    /// From values of the family `speakers`.
    pub(super) fn new(values: &Values) -> Speaker {
        let (width, tolerance) = (values.number("width"), values.number("frame_tolerance"));
        let length = values.maybe_number("length").unwrap_or(width);
        Speaker {
            name: values.profile().unwrap_or("own").to_owned(),
            half: 0.5 * (width + tolerance),
            straight: snap(0.5 * (length - width)),
            tolerance,
            depth: values.number("depth"),
            rim: (values.number("rim_width"), values.number("rim_thickness")),
            crest: values.number("crest"),
            magnet: (values.number("magnet_diameter"), values.number("magnet_depth")),
            cone: values.number("cone_width"),
        }
    }

    /// Half the width of the basket behind the rim, largest, mm.
    pub(super) fn basket(&self) -> f64 {
        self.half - self.rim.0
    }
}

/// How the ring that holds the speaker sits, with its height, mm, and the
/// clearance on its diameter, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct RingSpec {
    pub height: f64,
    pub clearance: f64,
}

/// The speaker's own wires that pass its rim.
#[derive(Clone, Debug)]
pub(super) struct Leads {
    /// Clocking, degrees.
    pub at: f64,
    /// Diameter of one wire, mm.
    pub outer: f64,
    pub slack: f64,
}

/// Number of a speaker's wires.
pub(super) const LEADS: i64 = 2;

/// Everything that was entered, typed; alternatives are tried on copies.
#[derive(Clone, Debug)]
pub(super) struct Spec {
    pub outside: Outside,
    pub speaker: Speaker,
    pub speaker_y: Option<f64>,
    pub clearance: f64,
    pub grille: f64,
    pub front_gap: f64,
    pub land: Option<f64>,
    pub gasket: f64,
    pub open_share: f64,
    pub port: Option<f64>,
    pub web: f64,
    pub ring: Option<RingSpec>,
    pub rear: f64,
    pub leads: Option<Leads>,
    pub wall: f64,
    pub wall_free: f64,
    pub hole_min: f64,
    pub hole_shrink: f64,
    pub layer: f64,
}

impl Spec {
    /// Checked against the printer's least walls and holes.
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &Values,
        outside: Outside,
    ) -> Result<Spec, Refusal> {
        let printer = context.printer;
        let wall = printer.number("wall_supported");
        let hole_min = printer.number("hole_min");
        let at_least = |key: &str, least: f64, what: &str| {
            match values.maybe_number(key) {
            Some(value) if value < least => Err(Refusal::new(format!(
                "{key} of {value:.2} mm is {:.2} mm less than this printer's {what} of {least:.2} mm",
                least - value
            ))
            .at(values, key)
            .hint(format!("give {key} {least:.2} mm or more, or use a finer printer"))),
            _ => Ok(()),
        }
        };
        at_least("grille", wall, "least wall")?;
        at_least("web", wall, "least wall")?;
        at_least("port", hole_min, "smallest hole")?;
        let slide = printer.number("fit_slide");
        let ring = (values.choice("retention") == "ring").then(|| RingSpec {
            height: snap(values.number("ring_height")),
            clearance: match values.choice("ring_fit") {
                "press" => printer.number("fit_press"),
                _ => slide,
            },
        });
        let leads = (values.choice("exit") == "face").then(|| Leads {
            at: values.number("exit_at"),
            outer: values.component("speaker_wire").number("outer"),
            slack: values.number("slack"),
        });
        Ok(Spec {
            outside,
            speaker: Speaker::new(values.component("speaker")),
            speaker_y: values.maybe_number("speaker_y"),
            clearance: values.maybe_number("clearance").unwrap_or(slide),
            grille: snap(values.number("grille")),
            front_gap: values.number("front_gap"),
            land: values.maybe_number("land"),
            gasket: values.number("gasket"),
            open_share: values.number("open_share"),
            port: values.maybe_number("port"),
            web: values.maybe_number("web").unwrap_or(wall),
            ring,
            rear: values.number("rear"),
            leads,
            wall,
            wall_free: printer.number("wall_free"),
            hole_min,
            hole_shrink: printer.number("hole_shrink"),
            layer: printer.number("layer"),
        })
    }
}
