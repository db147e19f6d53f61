//! What a cradle and its cap state for the checker.

use super::super::PartContext;
use super::super::declared::{Declared, Mating, Term};
use super::super::mating::in_bore;
use super::holder::Outside;
use super::plan::{Plan, Retention};
use crate::measure::{Vec2, Vec3};

/// How far the outline of a routed board may be off, either way, mm. Common
/// practice, no source.
const BOARD: f64 = 0.1;

impl Plan<'_> {
    /// The matings of the cradle.
    pub fn declared(&self, context: &PartContext<'_>) -> Declared {
        let mut matings = self.outside_matings(context);
        matings.extend(self.stone_matings(context));
        matings.extend(self.pixel_matings(context));
        Declared { matings, ..Declared::default() }
    }

    fn outside_matings(&self, context: &PartContext<'_>) -> Vec<Mating> {
        let middle = 0.5 * (self.ends.0 + self.ends.1);
        let at = Vec3::new(0.0, self.holder.outside.bottom(), middle);
        if let Some(fit) = &self.holder.fit {
            return in_bore(context, self.values, fit, at);
        }
        let (Some(cavity), Outside::Block { half, .. }) = (self.holder.cavity, self.holder.outside)
        else {
            return Vec::new();
        };
        let caliper = context.handle.values().number("caliper");
        let what = "block in its cavity, across";
        vec![
            Mating::new(what, at, cavity.path_of("clearance"))
                .term(
                    Term::even("cavity, caliper", cavity.number("width"), caliper)
                        .by(cavity.path_of("width")),
                )
                .term(Term::printed(context.printer, "block, printed", -2.0 * half)),
        ]
    }

    fn stone_matings(&self, context: &PartContext<'_>) -> Vec<Mating> {
        let (stone, printer) = (&self.stone, context.printer);
        let caliper = context.handle.values().number("caliper");
        let (right, left) = (Vec2::x(), -Vec2::x());
        let width = |at: f64| stone.support(at, right) + stone.support(at, left);
        let ats = stone.sections.iter().map(|s| s.at);
        let widest = ats.max_by(|p, q| width(*p).total_cmp(&width(*q))).unwrap_or(0.0);
        let room = 2.0 * self.keep.clearance;
        let field = self.values.path_of("clearance");
        let place = |at: f64| Vec3::new(stone.support(at, right), 0.0, self.stone_low + at);
        let across = Mating::new("stone in its seat, across", place(widest), field.clone())
            .term(Term::printed(printer, "seat, printed", width(widest) + room))
            .term(
                Term::even("stone, caliper", -width(widest), caliper)
                    .by(self.values.path_of("station")),
            );
        let (low, high) = self.seat.ends();
        let along = Mating::new("stone in its seat, along", place(0.0), field)
            .term(Term::printed(printer, "seat, printed", high - low))
            .term(
                Term::even("stone, caliper", -stone.length(), caliper)
                    .by(self.values.path_of("station")),
            );
        vec![across, along]
    }

    fn pixel_matings(&self, context: &PartContext<'_>) -> Vec<Mating> {
        let (pixel, printer) = (self.pixel.values, context.printer);
        let z = if self.pixel_low {
            self.ends.0 + self.pixel.ledge
        } else {
            self.ends.1 - self.pixel.ledge
        };
        let at = Vec3::new(self.pixel.at.x, self.pixel.at.y, z);
        let field = self.values.path_of("pixel_clearance");
        let tolerance = pixel.number("package_tolerance");
        let width = pixel.number("package_width").min(pixel.number("package_length"));
        let clearance = 2.0 * self.values.number("pixel_clearance");
        let pocket = width + tolerance + clearance;
        let mut matings = vec![
            Mating::new("pixel's package in its pocket", at, field.clone())
                .term(Term::printed(printer, "pocket, printed", pocket))
                .term(
                    Term::even("package", -width, tolerance).by(pixel.path_of("package_tolerance")),
                ),
        ];
        let board = pixel.maybe_number("board_width").filter(|_| pixel.choice("board") != "none");
        if let Some(board) = board {
            matings.push(
                Mating::new("pixel's board in its pocket", at, field)
                    .term(Term::printed(printer, "pocket, printed", board + clearance))
                    .term(Term::even("board, routed", -board, BOARD)),
            );
        }
        matings
    }

    /// The matings of the cap, if there is one.
    pub fn cap_declared(&self, context: &PartContext<'_>) -> Declared {
        let Retention::Cap(cap) = &self.retention else { return Declared::default() };
        let (low, high) = cap.ends;
        let (own_low, own_high) = cap.own_ends();
        let at = Vec3::new(0.0, self.holder.outside.top(), 0.5 * (low + high));
        let along = Mating::new("cap in its recess, along", at, self.values.path_of("glue_gap"))
            .term(Term::printed(context.printer, "recess, printed", high - low))
            .term(Term::printed(context.printer, "cap, printed", own_low - own_high));
        Declared { matings: vec![along], ..Declared::default() }
    }
}
