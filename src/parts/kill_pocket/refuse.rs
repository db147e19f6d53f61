//! What cannot be made, with what would work: every hint was tried.

use super::super::hollow::{down, groove_turned};
use super::super::{PartContext, Refusal};
use super::mark::legible;
use super::plan::{Misfit, Plan};
use super::spec::{Spec, Switch};
use crate::measure::{Values, number};
use crate::section::snap;

/// Step that values of hints are rounded to, mm.
const STEP: f64 = 0.1;

/// What was asked for.
pub(super) struct Asked<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub spec: &'a Spec,
}

impl Asked<'_> {
    /// Whether a pocket can be planned after a change.
    fn works(&self, change: impl FnOnce(&mut Spec)) -> bool {
        let mut spec = self.spec.clone();
        change(&mut spec);
        Plan::new(&spec).is_ok()
    }

    /// A hint where a change works.
    fn hinted(
        &self,
        refusal: Refusal,
        hint: impl Into<String>,
        change: impl FnOnce(&mut Spec),
    ) -> Refusal {
        if self.works(change) { refusal.hint(hint) } else { refusal }
    }

    /// Whether a switch carries current and voltage.
    fn carries(&self, switch: &Switch) -> bool {
        switch.current >= self.values.number("current")
            && switch.voltage >= self.values.number("voltage")
    }

    /// Refuses a switch whose ratings are below what it has to cut.
    pub(super) fn rated(&self) -> Result<(), Refusal> {
        let switch = &self.spec.switch;
        if self.carries(switch) {
            return Ok(());
        }
        let short = |key: &str, rated: f64, unit: &str| {
            let asked = self.values.number(key);
            let what = format!(
                "the switch is rated {} {unit}; {} {unit} are to be cut: {} {unit} too much",
                number(rated),
                number(asked),
                number(snap(asked - rated))
            );
            Refusal::new(what).at(self.values, key)
        };
        let refusal = if switch.current < self.values.number("current") {
            short("current", switch.current, "A")
        } else {
            short("voltage", switch.voltage, "V")
        };
        Err(self.other_switch(refusal).hint(
            "or let it switch an electronic switch that is made for the current: then the cell's \
             current does not pass it",
        ))
    }

    /// The smallest switch of the profiles that carries the current and fits.
    fn other_switch(&self, refusal: Refusal) -> Refusal {
        let known = self.context.library.profiles("kill_switches").iter().map(Switch::new);
        let works = known.filter(|switch| {
            // The pilots of its own ears are not known here.
            let with = |s: &mut Spec| {
                s.switch = switch.clone();
                s.pilot = None;
            };
            self.carries(switch) && self.works(with)
        });
        let area = |s: &Switch| s.half.0 * s.half.1;
        match works.min_by(|a, b| area(a).total_cmp(&area(b))) {
            Some(best) => refusal
                .hint(format!("a switch of the profiles that works, glued in: {}", best.name)),
            None => refusal,
        }
    }

    /// The refusal for a misfit.
    pub(super) fn refusal(&self, misfit: &Misfit) -> Refusal {
        let (spec, values) = (self.spec, self.values);
        let at = |what: String, key: &str| Refusal::new(what).at(values, key);
        let wall = |have: f64, to: &str| {
            format!(
                "from the sink around the switch to {to} is a wall of {:.2} mm; {:.2} is needed: \
                 short by {:.2}",
                have.max(0.0),
                spec.wall,
                spec.wall - have
            )
        };
        match misfit {
            Misfit::Bore { wall } => {
                let fit = &spec.outside.fit;
                let refusal = fit.too_small(self.context, fit.radius + spec.wall - wall);
                let refusal = self.hinted(refusal, "leave out switch_y", |s| s.switch_y = None);
                self.other_switch(self.tighter(refusal))
            }
            Misfit::Keel { wall: have } => {
                let refusal = at(wall(*have, "the keel's flat"), "keel");
                let refusal = self.hinted(refusal, "leave out switch_y", |s| s.switch_y = None);
                let depth = spec.outside.keel.map_or(0.0, |(depth, _)| depth);
                let best = down((depth - (spec.wall - have)).max(0.0), STEP);
                let radius = spec.outside.fit.radius;
                self.hinted(refusal, format!("give keel {best:.2} or less"), |s| {
                    s.outside.keel = (best > 0.0).then(|| (best, snap(best - radius)));
                })
            }
            Misfit::Groove { wall: have } => {
                let asked = values.number("groove_at");
                let turned = groove_turned(&spec.outside, asked, spec.wall, |middle| {
                    self.works(|s| {
                        if let Some(groove) = &mut s.outside.groove {
                            groove.middle = middle;
                        }
                    })
                });
                let refusal = at(wall(*have, "the groove for passing wires"), "groove_at");
                let refusal = match turned {
                    Some(angle) => refusal.hint(format!("give groove_at {angle}")),
                    None => refusal,
                };
                self.tighter(refusal)
            }
            Misfit::Ledge { most } => {
                let what = format!(
                    "ledges {:.2} mm wide leave no room for the terminals: {most:.2} mm at most",
                    spec.ledge
                );
                let best = down(most.max(0.0), STEP);
                let hint = format!("give ledge {best:.2} or less");
                self.hinted(at(what, "ledge"), hint, |s| s.ledge = best)
            }
            Misfit::Pilot { wall, needed } => {
                let what = format!(
                    "beside a pilot hole for the ears' screws is a wall of {:.2} mm; {needed:.2} is \
                     needed: short by {:.2}",
                    wall.max(0.0),
                    needed - wall
                );
                let refusal = at(what, "retention");
                self.hinted(refusal, "give retention = \"glue\"", |s| s.pilot = None)
            }
            Misfit::Narrow { hole } => {
                let what = format!(
                    "the ears' screws need pilot holes of {hole:.2} mm; this printer's smallest \
                     hole is {:.2}: {:.2} too small",
                    spec.hole_min,
                    spec.hole_min - hole
                );
                let refusal = at(what, "retention");
                self.hinted(refusal, "give retention = \"glue\"", |s| s.pilot = None)
            }
            Misfit::Mark { height } => self.no_mark(*height),
        }
    }

    /// With less room around the lever.
    fn tighter(&self, refusal: Refusal) -> Refusal {
        let steps = (self.spec.finger / STEP).ceil() as i32;
        let least = self.context_least("finger");
        let mut tried = (0..steps).rev().map(|i| snap(f64::from(i) * STEP)).filter(|f| *f >= least);
        match tried.find(|finger| self.works(|s| s.finger = *finger)) {
            Some(finger) => refusal.hint(format!("give finger {finger:.2} or less")),
            None => refusal,
        }
    }

    /// The least that may be entered for a row.
    fn context_least(&self, key: &str) -> f64 {
        let row = self.values.rows().iter().find(|row| row.key == key);
        match row.map(|row| row.kind) {
            Some(crate::measure::Kind::Number { min, .. }) => min,
            _ => 0.0,
        }
    }

    fn no_mark(&self, height: f64) -> Refusal {
        let spec = self.spec;
        let least = legible(spec);
        let what = if height < least {
            format!(
                "marks {height:.2} mm high are not legible with this printer: {least:.2} at least, \
                 {:.2} more",
                least - height
            )
        } else {
            format!(
                "the face has no room beside the sink for marks {height:.2} mm high with walls of \
                 {:.2} around them",
                spec.wall
            )
        };
        let mut refusal = Refusal::new(what).at(self.values, "mark");
        let mut free = spec.clone();
        free.mark = None;
        if let Ok(plan) = Plan::new(&free)
            && let Some(marks) = plan.marks
        {
            refusal = refusal.hint(format!("give mark {:.2}", marks.height));
        }
        refusal = self.tighter(refusal);
        self.hinted(refusal, "give mark_depth 0 and mark the cap instead", |s| s.mark_depth = 0.0)
    }
}
