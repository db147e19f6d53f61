//! What a pocket is to be: entered values, checked against the printer.

use super::super::fixing::{Axes, PilotHole};
use super::super::module::Outside;
use super::super::{PartContext, Refusal};
use crate::measure::Values;
use crate::measure::frame::direction;
use crate::section::snap;

/// The switch at its largest.
#[derive(Clone, Debug)]
pub(super) struct Switch {
    pub name: String,
    pub push: bool,
    /// Half its length and width, largest, mm.
    pub half: (f64, f64),
    pub height: f64,
    pub tolerance: f64,
    /// Length, width, height, travel of its lever, mm.
    pub lever: (f64, f64, f64, f64),
    pub terminals: f64,
    /// Length and thickness of its ears, mm, if it has any.
    pub ears: Option<(f64, f64)>,
    /// Distance of the ears' holes and thread of their screws, mm.
    pub holes: Option<(f64, f64)>,
    pub current: f64,
    pub voltage: f64,
}

impl Switch {
    /// From values of the family `kill_switches`.
    pub(super) fn new(values: &Values) -> Switch {
        let n = |key: &str| values.number(key);
        let more = n("body_tolerance");
        let ears = values.maybe_number("ears_length").map(|length| (length, n("ear_thickness")));
        Switch {
            name: values.profile().unwrap_or("own").to_owned(),
            push: values.choice("action") == "push",
            half: (0.5 * (n("body_length") + more), 0.5 * (n("body_width") + more)),
            height: n("body_height"),
            tolerance: more,
            lever: (n("lever_length"), n("lever_width"), n("lever_height"), n("travel")),
            terminals: n("terminals"),
            ears,
            holes: ears.and(values.maybe_number("ear_pitch")).map(|pitch| (pitch, n("ear_screw"))),
            current: n("current"),
            voltage: n("voltage"),
        }
    }

    /// Half of what the lever covers, along the switch and across, mm.
    pub(super) fn swept(&self) -> (f64, f64) {
        let (length, width, _, travel) = self.lever;
        let along = if self.push { 0.0 } else { travel };
        (0.5 * (length + along), 0.5 * width)
    }

    /// Thickness of its ears, mm; 0 without.
    pub(super) fn ear(&self) -> f64 {
        self.ears.map_or(0.0, |(_, thickness)| thickness)
    }
}

/// Everything that was entered, typed; alternatives are tried on copies.
#[derive(Clone, Debug)]
pub(super) struct Spec {
    pub outside: Outside,
    pub switch: Switch,
    pub switch_y: Option<f64>,
    /// Along the switch's length, towards on.
    pub axes: Axes,
    pub recess: f64,
    pub finger: f64,
    pub clearance: f64,
    pub pilot: Option<PilotHole>,
    pub ledge: f64,
    pub rear: f64,
    pub mark: Option<f64>,
    pub mark_depth: f64,
    pub wall: f64,
    pub engrave: f64,
    pub hole_min: f64,
}

impl Spec {
    /// Checked against the printer's layers.
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &Values,
        outside: Outside,
    ) -> Result<Spec, Refusal> {
        let printer = context.printer;
        let switch = Switch::new(values.component("switch"));
        let (depth, layer) = (values.number("mark_depth"), printer.number("layer"));
        if depth > 0.0 && depth < layer {
            return Err(Refusal::new(format!(
                "marks {depth:.3} mm deep do not show: a layer of this printer is {layer:.2} mm high"
            ))
            .at(values, "mark_depth")
            .hint(format!("give mark_depth {layer:.2} or more, or 0 for no marks")));
        }
        let wanted = switch.holes.filter(|_| values.choice("retention") == "screws");
        let pilot = match wanted {
            None => None,
            Some((_, thread)) => {
                let pilot = PilotHole::new(thread, context.material, printer);
                Some(pilot.map_err(|e| Refusal::new(e.to_string()).at(values, "switch"))?)
            }
        };
        Ok(Spec {
            outside,
            switch,
            switch_y: values.maybe_number("switch_y"),
            axes: Axes::new(direction(values.number("on_at"))),
            recess: values.number("recess"),
            finger: values.number("finger"),
            clearance: values
                .maybe_number("clearance")
                .unwrap_or_else(|| printer.number("fit_slide")),
            pilot,
            ledge: values.number("ledge"),
            rear: values.number("rear"),
            mark: values.maybe_number("mark"),
            mark_depth: snap(depth),
            wall: printer.number("wall_supported"),
            engrave: printer.number("engrave_width"),
            hole_min: printer.number("hole_min"),
        })
    }
}
