//! What a sled and its gate state for the checker.

use super::super::declared::{Declared, Mating, Screw, Term};
use super::gate::Gate;
use super::report::Facts;
use super::shape::middle;
use super::spec::{Hold, Hole};
use crate::measure::Vec3;

impl Facts<'_> {
    /// What the sled states.
    pub(super) fn declared(&self) -> Declared {
        let (spec, plan, values) = (self.spec, self.plan, self.values);
        let printer = self.context.printer;
        let (along, h) = (&plan.along, &plan.heights);
        let middle = 0.5 * (along.room.0 + along.room.1);
        let outside = Vec3::new(spec.outside.fit.radius, 0.0, middle);
        let mut declared = spec.outside.declared(self.context, values, outside, along.high);
        let edge = Vec3::new(plan.half, h.board, middle);
        let half = 0.5 * spec.tolerance;
        let field = values.path_of("clearance");
        declared.matings.push(
            Mating::new("board in its room, across", edge, field.clone())
                .term(Term::printed(printer, "room, printed", 2.0 * plan.half))
                .term(
                    Term::even("board's width", -spec.board.width, half)
                        .by(values.path_of("board_tolerance")),
                ),
        );
        declared.matings.push(
            Mating::new(
                "board in its room, along",
                Vec3::new(0.0, h.board, along.room.1),
                field.clone(),
            )
            .term(Term::printed(printer, "room, printed", along.room.1 - along.room.0))
            .term(
                Term::even("board's length", -spec.board.length, half)
                    .by(values.path_of("board_tolerance")),
            ),
        );
        if spec.rails() {
            let off = spec.thickest - spec.thickness;
            declared.matings.push(
                Mating::new("board's edge in its groove", edge, field)
                    .term(Term::printed(printer, "groove, printed", h.room.1 - h.room.0))
                    .term(
                        Term::even("board's thickness", -spec.thickness, off)
                            .by(values.path_of("thickness_tolerance")),
                    ),
            );
        }
        declared.screws = self.screws();
        // On its front end.
        declared.up = Some(-Vec3::z());
        declared
    }

    fn screws(&self) -> Vec<Screw> {
        let Hold::Posts { pilot: Some(pilot) } = &self.spec.hold else { return Vec::new() };
        let h = &self.plan.heights;
        let thread = self.values.component("screw").number("thread");
        let one = |hole: &Hole| {
            let (x, z) = middle(self.plan, hole);
            Screw {
                what: format!("screw {}", hole.index + 1),
                at: Vec3::new(x, h.board - 0.5 * pilot.depth, z),
                axis: Vec3::y(),
                thread,
                hole: pilot.hole,
                field: self.values.list("hole")[hole.index].path_of("x"),
            }
        };
        self.spec.holes.iter().map(one).collect()
    }

    /// What the gate states.
    pub(super) fn gate_declared(&self, gate: &Gate) -> Declared {
        let printer = self.context.printer;
        let slot = self.plan.slot().unwrap_or(gate.half);
        let at = Vec3::new(gate.half, gate.y.0, gate.z.gate.1);
        let field = self.values.path_of("clearance");
        Declared {
            matings: vec![
                Mating::new("gate in its slot, across", at, field)
                    .term(Term::printed(printer, "slot, printed", 2.0 * slot))
                    .term(Term::printed(printer, "gate, printed", -2.0 * gate.half)),
            ],
            // On the flat side that the board meets.
            up: Some(-Vec3::z()),
            ..Declared::default()
        }
    }
}
