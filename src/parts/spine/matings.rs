//! What a spine states of its bodies for the checker.

use super::super::around::{CLEAR, bore};
use super::super::mating::in_bore;
use super::super::{Component, Declared, Mating, PartContext, Screw, Term, Way};
use super::plan::{Plan, Standing};
use super::shape::Piece;
use crate::measure::{Vec2, Vec3};
use crate::solid::Solid;

impl Plan<'_> {
    /// Of a piece of the keel, with the solid of the piece before it.
    pub(super) fn of_piece(
        &self,
        context: &PartContext<'_>,
        piece: &Piece,
        before: Option<&Solid>,
    ) -> Declared {
        let at = Vec3::new(0.0, -self.fit.radius, 0.5 * (piece.z.0 + piece.z.1));
        let mut declared = Declared {
            matings: in_bore(context, self.values, &self.fit, at),
            screws: self.screws_of(piece),
            // It lies on its flat.
            up: Some(-Vec3::y()),
            ..Declared::default()
        };
        bore(&mut declared, context, self.values, &self.fit, piece.z.1);
        if let Some(solid) = before {
            let joints = &self.joints;
            let at = Vec3::new(0.0, self.top, piece.z.0 + 1.5 * joints.long);
            let printed = |what: &str, value| Term::printed(context.printer, what, value);
            let mating = Mating::new("key in its slot, across", at, self.values.path_of("split"))
                .term(printed("slot, printed", 2.0 * (joints.head + joints.gap)))
                .term(printed("key's head, printed", -2.0 * joints.head))
                .limits(-context.printer.number("accuracy"), None);
            declared.matings.push(mating);
            declared.add("key", Ok(solid.clone()), |name, solid| Component {
                name,
                what: "the piece before it, with its key".into(),
                solid,
                way: Some(self.down(self.thickness())),
                press: 0.0,
                field: self.values.path_of("split"),
            });
        }
        declared
    }

    /// Down onto the keel, from so far above.
    fn down(&self, travel: f64) -> Way {
        Way::Across { along: Vec2::new(0.0, -1.0), travel: travel + CLEAR, aside: 0.0 }
    }

    /// A ring or chair that is set down into its notch.
    pub(super) fn set_down(&self, declared: &mut Declared, name: String, solid: &Solid, row: &str) {
        let field = self.values.path_of(row);
        declared.add(name, Ok(solid.clone()), |name, solid| Component {
            what: format!("{} of the spine", name.replace('_', " ")),
            name,
            solid,
            way: Some(self.down(2.0 * self.fit.radius)),
            press: 0.0,
            field,
        });
    }

    /// Of a ring or chair.
    pub(super) fn of_standing(&self, context: &PartContext<'_>, standing: &Standing) -> Declared {
        let middle = 0.5 * (standing.z.0 + standing.z.1);
        let mut declared = Declared::default();
        if standing.top.is_none() {
            let at = Vec3::new(0.0, self.fit.radius, middle);
            declared.matings = in_bore(context, self.values, &self.fit, at);
        }
        bore(&mut declared, context, self.values, &self.fit, standing.z.1);
        declared
    }

    fn screws_of(&self, piece: &Piece) -> Vec<Screw> {
        let Some((hole, places)) = &self.screws else { return Vec::new() };
        let here = places.iter().enumerate().filter(|(_, z)| (piece.z.0..piece.z.1).contains(*z));
        here.map(|(i, &z)| Screw {
            what: format!("screw {}", i + 1),
            at: Vec3::new(0.0, self.top - 0.5 * (self.thickness() - hole.recess_depth), z),
            axis: Vec3::y(),
            thread: hole.thread,
            hole: hole.hole,
            field: self.values.path_of("screw"),
        })
        .collect()
    }
}
