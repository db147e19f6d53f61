//! What a wire cover states for the checker.

use super::super::around::{CLEAR, bore, drawn};
use super::super::declared::{Bend, Component, Declared, Mating, Term, Way};
use super::super::fixing::Axes;
use super::super::mating::in_bore;
use super::clips::Clips;
use super::report::Made;
use super::spec::dip_to;
use crate::measure::frame::direction;
use crate::measure::{Vec2, Vec3};

impl Made<'_> {
    pub(super) fn declared(&self) -> Declared {
        let cover = self.cover;
        let axes = Axes::new(direction(cover.middle()));
        let (low, high) = self.ends();
        let lift = |p: Vec2| Vec3::new(p.x, p.y, 0.5 * (low + high));
        let crown = lift(axes.along * cover.fit.radius);
        let matings = in_bore(self.context, self.values, &cover.fit, crown);
        let mut declared = Declared { matings, ..Declared::default() };
        bore(&mut declared, self.context, self.values, &cover.fit, high);
        if let Some(clips) = &cover.clips {
            self.clipped(&mut declared, clips, &axes, &lift);
        }
        declared
    }

    fn clipped(
        &self,
        declared: &mut Declared,
        clips: &Clips,
        axes: &Axes,
        lift: &dyn Fn(Vec2) -> Vec3,
    ) {
        let (values, printer) = (self.values, self.context.printer);
        let caliper = self.context.handle.bore().caliper();
        let coat = values.number("coat");
        let (half, top, under) = clips.rail;
        let painted = |mating: Mating| {
            if coat > 0.0 { mating.term(Term::paint(coat)) } else { mating }
        };
        let at = lift(axes.point(half, under));
        let across = Mating::new("rail between the legs", at, values.path_of("rail_width"))
            .term(Term::printed(printer, "between the legs, printed", 2.0 * clips.leg.0))
            .term(
                Term::even("rail, caliper", -2.0 * half, caliper).by(values.path_of("rail_width")),
            );
        declared.matings.push(painted(across));
        if values.maybe_number("rail_top").is_none() {
            // Where the hooks' upper faces stand beside the rail's edge.
            let slope = (clips.tip.1 - clips.back) / (clips.tip.0 - clips.leg.1);
            let face = clips.tip.1 + slope * (half - clips.tip.0);
            let shell = dip_to(self.cover.inner, half);
            let along =
                Mating::new("rail between shell and hooks", at, values.path_of("rail_depth"))
                    .term(Term::printed(printer, "shell to hooks, printed", shell - face))
                    .term(
                        Term::even("rail, caliper", under - top, caliper)
                            .by(values.path_of("rail_depth")),
                    );
            declared.matings.push(painted(along));
        }
        for (side, what) in [(1.0, "left leg"), (-1.0, "right leg")] {
            declared.bends.push(Bend {
                what: what.into(),
                at: lift(axes.point(side * clips.leg.1, dip_to(self.cover.inner, clips.leg.1))),
                along: Vec3::new(axes.along.x, axes.along.y, 0.0),
                strain: 0.01 * clips.bent.strain_percent,
                outside: false,
                field: values.path_of("hook"),
            });
        }
        let (low, high) = self.ends();
        let rail = drawn(&[(low, high, axes.quad((-half, half), (under, top)))]);
        declared.add("rail", rail, |name, solid| Component {
            name,
            what: "the rail of the module below".into(),
            solid,
            way: Some(Way::Across {
                along: axes.along,
                travel: top - clips.end + CLEAR,
                aside: clips.hook,
            }),
            press: 0.0,
            field: values.path_of("rail_width"),
        });
    }
}
