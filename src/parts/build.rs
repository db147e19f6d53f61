//! From sections to a body's solid, with chamfered ends and cross bores.

use super::Refusal;
use crate::measure::{Param, Unit, Values};
use crate::section::{Region, snap};
use crate::solid::{
    CrossBore, RuleError, RuledSection, Solid, Stack, StackError, StepKeeps, Sweep,
};

/// The chamfer that leads a part into the bore, for the tables of parts.
pub(super) const LEAD_IN: Param = Param::number(
    "lead_in",
    Unit::Mm,
    (0.0, 2.0),
    "Chamfer around the front end that leads the part into the bore; 0 for none.",
)
.or(0.4);

/// The chamfer against a bulging first layer, for the tables of parts.
pub(super) const FIRST_LAYER: Param = Param::number(
    "first_layer",
    Unit::Mm,
    (0.0, 2.0),
    "Chamfer around the end that lies on the print bed, so that a bulging first layer still fits; 0 for none.",
)
.or(0.3);

/// Chamfers (45 degrees) around the ends of a body, mm: at its low and its
/// high end. They go around all boundaries of the end section, holes included.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Ends {
    pub low: f64,
    pub high: f64,
}

impl Ends {
    /// The chamfers that rows [`FIRST_LAYER`] and [`LEAD_IN`] ask for.
    pub(super) fn new(values: &Values) -> Ends {
        Ends { low: snap(values.number("first_layer")), high: snap(values.number("lead_in")) }
    }
}

/// Slabs with straight walls, from `bottom` to `top` mm, in order.
#[derive(Clone, Debug)]
pub(super) struct Slab {
    pub bottom: f64,
    pub top: f64,
    pub section: Region,
}

/// The stack of slabs with chamfered ends. A chamfer that the end section
/// cannot take (it would swallow a detail) is made smaller by halves and left
/// out below a tenth of a millimetre; the chamfers made are returned.
pub(super) fn chamfered(slabs: &[Slab], ends: Ends) -> (Stack, Ends) {
    let mut stack = Stack::default();
    let mut made = Ends::default();
    let last = slabs.len().saturating_sub(1);
    for (i, slab) in slabs.iter().enumerate() {
        let (mut low, mut high) = (slab.bottom, slab.top);
        // Never more than a third of the slab, so that a straight wall stays.
        let room = (high - low) / 3.0;
        let mut top = None;
        if i == 0
            && let Some((size, ruled)) = chamfer(&slab.section, ends.low.min(room), true)
        {
            stack.ruled(low, low + size, ruled);
            low += size;
            made.low = size;
        }
        if i == last
            && let Some((size, ruled)) = chamfer(&slab.section, ends.high.min(room), false)
        {
            high -= size;
            made.high = size;
            top = Some(ruled);
        }
        stack.prism(low, high, &slab.section);
        if let Some(ruled) = top {
            stack.ruled(high, slab.top, ruled);
        }
    }
    (stack, made)
}

/// Smallest chamfer worth making, mm.
const LEAST_CHAMFER: f64 = 0.1;

/// A chamfer of at most `size` mm at the low or the high end of a slab, and its
/// height; none where the section takes none.
pub(super) fn chamfer(section: &Region, size: f64, low: bool) -> Option<(f64, RuledSection)> {
    let mut size = snap(size);
    while size >= LEAST_CHAMFER {
        let ruled: Result<RuledSection, RuleError> = if low {
            RuledSection::chamfer(section, -size, 0.0)
        } else {
            RuledSection::chamfer(section, 0.0, -size)
        };
        match ruled {
            Ok(ruled) => return Some((size, ruled)),
            Err(_) => size = snap(0.5 * size),
        }
    }
    None
}

/// Steps that stand for a changing section keep its cavities clear and are no
/// higher than half a layer of the printer.
pub(super) fn cavity_sweep(layer: f64) -> Sweep {
    Sweep { step: 0.5 * layer, keeps: StepKeeps::LessMaterial }
}

/// The solid of a stack with cross bores, or a refusal that names the place.
/// `what` names the body for the person.
pub(super) fn solid(stack: &Stack, bores: &[CrossBore], what: &str) -> Result<Solid, Refusal> {
    stack.bored(bores).map_err(|e| refusal(&e, what))
}

fn refusal(error: &StackError, what: &str) -> Refusal {
    let refusal = Refusal::new(format!("{what} cannot be made: {error}"));
    match error {
        StackError::Sliver { .. } => refusal.hint(
            "two of its measures nearly coincide there: change one by a tenth of a millimetre",
        ),
        StackError::Pinch { .. } => refusal.hint(
            "two walls meet in a line or point there: make the wall between them thicker or take it away",
        ),
        StackError::Boundary(_) => {
            refusal.hint("a cut goes all the way through: make the part longer or the cut smaller")
        }
        StackError::Bore(_) => refusal.hint("move the hole, or make it narrower"),
        _ => refusal,
    }
}
