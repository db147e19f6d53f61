//! The gate: a flat frame that drops in across the board's edge and is kept by
//! the bore.

use super::super::Refusal;
use super::super::build::solid;
use super::super::module::level;
use super::plan::{GateZ, Plan};
use super::shape::{FAR, ports};
use super::spec::{Edge, Relief, Span, Spec};
use crate::measure::Vec2;
use crate::section::Region;
use crate::solid::{RuledSection, Solid, Stack};

/// Least width of the gate's ears and of its bar over a plug, mm. Common
/// practice, no source.
const EAR: f64 = 2.0;
/// Narrowest opening for wires, mm. Common practice, no source.
const OPENING: f64 = 2.0;

/// The gate's measures, mm.
#[derive(Clone, Debug)]
pub(super) struct Gate {
    pub z: GateZ,
    /// Half its width where it is widest.
    pub half: f64,
    /// What it stands on, and the top of its ears.
    pub y: Span,
    /// Half the opening between its ears, and where that begins; none if the
    /// ears are one.
    pub opening: Option<(f64, f64)>,
    /// Windows of ports: x and y.
    pub windows: Vec<(Span, Span)>,
    /// Slots of a comb: x of each, and their bottom.
    pub slots: Vec<Span>,
    pub slot_bottom: f64,
}

impl Gate {
    /// The gate of a plan, if it has one.
    ///
    /// # Errors
    /// Ears that end below the bar, windows that leave it in pieces.
    pub(super) fn new(
        spec: &Spec,
        plan: &Plan,
        pin_min: f64,
    ) -> Result<Option<Gate>, (Refusal, &'static str)> {
        let (Some(z), Some(slot)) = (plan.along.gate, plan.slot()) else { return Ok(None) };
        let half = level(slot - spec.gate_room);
        let radius = spec.outside.fit.radius;
        let ears = ((radius - half) * (radius + half)).max(0.0).sqrt();
        // Not above the circle.
        let ears = (ears * 100.0).floor() / 100.0;
        let stout = pin_min.max(EAR);
        let comb = if let Relief::Comb { depth, .. } = spec.relief { depth } else { 0.0 };
        let mut windows: Vec<(Span, Span)> = spec
            .ports
            .iter()
            .zip(ports(spec, plan))
            .filter(|(p, _)| p.edge == Edge::Cap)
            .map(|(_, cut)| (cut.low.x, cut.low.y))
            .collect();
        let floor = plan.heights.floor;
        for (_, y) in &mut windows {
            if y.1 + stout + comb <= ears {
                continue;
            }
            // No bar above: then one below must join the gate's sides.
            let has = y.0 - floor;
            if has < stout || comb > 0.0 {
                let what = format!(
                    "the gate around a plug needs a bar of {stout:.2} mm; above it there are \
                     {:.2}, below it {:.2}",
                    (ears - y.1 - comb).max(0.0),
                    has.max(0.0)
                );
                let refusal = Refusal::new(what)
                    .hint("put the plug at the front, or take lock = \"none\"")
                    .hint("a gate with a comb needs the bar above the plug");
                return Err((refusal, "port"));
            }
            y.1 = FAR;
        }
        let roofs = windows.iter().map(|(_, y)| y.1 + stout + comb);
        let bar = level(roofs.filter(|y| *y < ears).fold(plan.heights.bar, f64::max));
        let inner = level(half - z.held - stout);
        let opening = (2.0 * inner >= OPENING && bar + spec.wall < ears).then_some((inner, bar));
        let least = plan.heights.bar + spec.wall;
        if ears < least {
            let what = format!(
                "the gate's ears end at y {ears:.2}, where they are to reach {least:.2}: short by \
                 {:.2}",
                least - ears
            );
            return Err((Refusal::new(what).hint("lock = \"none\" needs no gate"), "lock"));
        }
        let mut gate = Gate {
            z,
            half,
            y: (plan.heights.floor, ears),
            opening,
            windows,
            slots: Vec::new(),
            slot_bottom: bar,
        };
        if let Relief::Comb { count, width, depth } = spec.relief {
            let (inner, bar) = opening.unwrap_or((0.0, ears));
            let pitch = level(width + spec.wall);
            let all = pitch * count as f64 - spec.wall;
            if all > 2.0 * inner {
                let what = format!(
                    "{count} slots of {width:.2} mm with walls between need {all:.2} mm; the \
                     gate's opening has {:.2}: short by {:.2}",
                    2.0 * inner,
                    all - 2.0 * inner
                );
                let fewer = ((2.0 * inner + spec.wall) / pitch).floor();
                return Err((Refusal::new(what).hint(format!("{fewer:.0} would fit")), "leads"));
            }
            let first = level(-0.5 * all);
            let one = |i: i64| {
                let at = level(first + pitch * i as f64);
                (at, level(at + width))
            };
            gate.slots = (0..count).map(one).collect();
            gate.slot_bottom = level(bar - depth);
        }
        Ok(Some(gate))
    }

    fn section(&self, half: f64) -> Region {
        let rect = |x: Span, y: Span| Region::rectangle(Vec2::new(x.0, y.0), Vec2::new(x.1, y.1));
        let above = 2.0 * self.y.1.abs() + half;
        let mut out = rect((-half, half), self.y);
        if let Some((inner, bar)) = self.opening {
            out = out.difference(&rect((-inner, inner), (bar, above)));
        }
        for &x in &self.slots {
            out = out.difference(&rect(x, (self.slot_bottom, above)));
        }
        for &(x, y) in &self.windows {
            out = out.difference(&rect(x, y));
        }
        out
    }

    /// Its solid, where it sits.
    ///
    /// # Errors
    /// Sections that make none.
    pub(super) fn solid(&self) -> Result<Solid, Refusal> {
        let (low, high) = self.z.gate;
        let straight = level(low + self.z.held);
        let narrow = self.section(level(self.half - self.z.held));
        let full = self.section(self.half);
        let slanted = RuledSection::between(&narrow, &full).map_err(|e| {
            Refusal::new(format!("the gate's slanted ends cannot be made: {e}"))
                .hint("lock = \"none\" needs no gate")
        })?;
        let mut stack = Stack::default();
        stack.ruled(low, straight, slanted);
        stack.prism(straight, high, &full);
        solid(&stack, &[], "the gate")
    }
}
