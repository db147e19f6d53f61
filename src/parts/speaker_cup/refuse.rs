//! What cannot be made, with what would work: every hint was tried.

use super::super::hollow::{down, groove_turned, turns};
use super::super::{PartContext, Refusal};
use super::plan::{Misfit, Plan};
use super::spec::{Speaker, Spec};
use crate::measure::{Values, number};
use crate::section::snap;

/// Step that values of hints are rounded to, mm.
const STEP: f64 = 0.1;
/// The same where a tenth is much, mm.
const FINE: f64 = 0.01;
/// Step that shares of hints are rounded to, percent.
const SHARE_STEP: f64 = 0.1;

/// What was asked for.
pub(super) struct Asked<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub spec: &'a Spec,
}

impl Asked<'_> {
    /// Whether a cup can be planned after a change.
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

    /// The refusal for a misfit.
    pub(super) fn refusal(&self, misfit: &Misfit) -> Refusal {
        let (spec, values) = (self.spec, self.values);
        let at = |what: String, key: &str| Refusal::new(what).at(values, key);
        match misfit {
            Misfit::Bore { radius } => self.no_room(*radius),
            Misfit::Off { asked, low, high } => {
                let beyond = (low - asked).max(asked - high);
                let what = format!(
                    "with its middle {asked:.2} mm above the axis the seat comes nearer than \
                     {:.2} mm to the outside: {beyond:.2} mm off",
                    spec.wall
                );
                let refusal = at(what, "speaker_y");
                let (low, high) = (-down(-low, FINE), down(*high, FINE));
                let hint = format!("give speaker_y between {low:.2} and {high:.2}");
                self.hinted(refusal, hint, |s| s.speaker_y = Some(high))
            }
            Misfit::Groove { wall } => self.no_groove(*wall),
            Misfit::Land { land, most } => {
                let what = format!(
                    "a shoulder {land:.2} mm wide below the rim covers the cone: {most:.2} is free \
                     beside it, {:.2} too little",
                    land - most
                );
                let best = down(*most, STEP);
                let hint = format!("give land {best:.2} or less");
                self.hinted(at(what, "land"), hint, |s| s.land = Some(best))
            }
            Misfit::Gasket { most } => {
                let what = format!(
                    "a gasket {:.2} mm thick takes up the air before the cone: {most:.2} mm at most \
                     leaves the shoulder above the ports' wall",
                    spec.gasket
                );
                let gap = -down(most - spec.front_gap - spec.gasket, FINE);
                let hint = format!("give front_gap {gap:.2} or more");
                let refusal = self.hinted(at(what, "gasket"), hint, |s| s.front_gap = gap);
                let thin = down(most.max(0.0), STEP);
                let hint = format!("give gasket {thin:.2} or less");
                self.hinted(refusal, hint, |s| s.gasket = thin)
            }
            Misfit::Ports { most } => self.no_ports(*most),
            Misfit::Channel { inner, outer, width } => {
                let what = format!(
                    "a channel {width:.2} mm wide past the rim leaves walls of {:.2} and {:.2} mm \
                     to the opening before the cone and to the outside; {:.2} is needed: short by \
                     {:.2}",
                    inner.max(0.0),
                    outer.max(0.0),
                    spec.wall,
                    spec.wall - inner.min(*outer)
                );
                self.elsewhere(at(what, "exit_at"))
            }
            Misfit::Pinched { room, needed } => {
                let what = format!(
                    "past the rim the speaker's wires have {room:.2} mm beside the seat; \
                     {needed:.2} is needed: short by {:.2}",
                    needed - room
                );
                self.elsewhere(at(what, "exit_at"))
            }
            Misfit::Bundle { why } => {
                at(format!("the speaker's 2 wires cannot be laid: {why}"), "speaker_wire")
                    .hint("take thinner wires")
            }
            Misfit::Ring { wide } => {
                let what = format!(
                    "a ring behind a rim {} mm wide would be {:.2} mm wide; this printer's least \
                     free wall is {:.2}: short by {:.2}",
                    number(spec.speaker.rim.0),
                    wide.max(0.0),
                    spec.wall_free,
                    spec.wall_free - wide
                );
                let refusal = at(what, "retention");
                let refusal = self.hinted(refusal, "give retention = \"glue\"", |s| s.ring = None);
                self.other_speaker(refusal)
            }
        }
    }

    fn no_room(&self, radius: f64) -> Refusal {
        let (spec, fit) = (self.spec, &self.spec.outside.fit);
        let mut refusal = fit.too_small(self.context, radius);
        if let Some((depth, _)) = spec.outside.keel {
            // As deep as leaves room; found by halves.
            let with = |depth: f64| {
                let keel = (depth > 0.0).then(|| (depth, snap(depth - fit.radius)));
                self.works(|s| s.outside.keel = keel)
            };
            let steps = (depth / STEP).ceil() as i32;
            let best = (0..steps).rev().map(|i| snap(f64::from(i) * STEP)).find(|d| with(*d));
            if let Some(best) = best {
                refusal = refusal.hint(format!("give keel {best:.2} or less"));
            }
        }
        self.other_speaker(refusal)
    }

    /// The largest speaker of the profiles that works.
    fn other_speaker(&self, refusal: Refusal) -> Refusal {
        let known = self.context.library.profiles("speakers").iter().map(Speaker::new);
        let works = known.filter(|speaker| self.works(|s| s.speaker = speaker.clone()));
        let area = |s: &Speaker| s.cone * (s.cone + s.straight);
        match works.max_by(|a, b| area(a).total_cmp(&area(b))) {
            Some(best) => refusal
                .hint(format!("the largest speaker of the profiles that works: {}", best.name)),
            None => refusal,
        }
    }

    fn no_groove(&self, wall: f64) -> Refusal {
        let spec = self.spec;
        let what = format!(
            "between the groove for passing wires and the seat is a wall of {:.2} mm; {:.2} is \
             needed: short by {:.2}",
            wall.max(0.0),
            spec.wall,
            spec.wall - wall
        );
        let refusal = Refusal::new(what).at(self.values, "groove_at");
        let asked = self.values.number("groove_at");
        let turned = groove_turned(&spec.outside, asked, spec.wall, |middle| {
            self.works(|s| {
                if let Some(groove) = &mut s.outside.groove {
                    groove.middle = middle;
                }
            })
        });
        let refusal = match turned {
            Some(angle) => refusal.hint(format!("give groove_at {angle}")),
            None => refusal,
        };
        self.other_speaker(refusal)
    }

    fn no_ports(&self, most: Option<(f64, f64)>) -> Refusal {
        let spec = self.spec;
        let Some((share, port)) = most else {
            let what = format!(
                "no sound port fits before the cone: its opening takes none of {:.2} mm or more",
                spec.port.unwrap_or(spec.hole_min)
            );
            return self.other_speaker(Refusal::new(what).at(self.values, "speaker"));
        };
        let what = format!(
            "sound ports with walls of {:.2} mm between them reach {share:.1} % of the cone's area \
             at most, with holes of {} mm; {} % is asked for: short by {:.1}",
            spec.web,
            number(port),
            number(spec.open_share),
            spec.open_share - share
        );
        let mut refusal = Refusal::new(what).at(self.values, "open_share");
        if spec.port.is_some() {
            let mut free = spec.clone();
            free.port = None;
            if let Ok(plan) = Plan::new(&free) {
                refusal = refusal.hint(format!("give port {}", number(plan.ports.input.port_mm)));
            }
        }
        let best = down(share - SHARE_STEP, SHARE_STEP);
        let hint = format!("give open_share {} or less", number(best));
        refusal = self.hinted(refusal, hint, |s| s.open_share = best);
        let thin = spec.wall;
        self.hinted(refusal, format!("give web {thin:.2}"), |s| s.web = thin)
    }

    /// Another place for the channel, or none.
    fn elsewhere(&self, refusal: Refusal) -> Refusal {
        let turned = |angle: f64| {
            self.works(|s| {
                if let Some(leads) = &mut s.leads {
                    leads.at = angle;
                }
            })
        };
        let refusal = match turns(self.values.number("exit_at")).find(|angle| turned(*angle)) {
            Some(angle) => refusal.hint(format!("give exit_at {angle}")),
            None => refusal,
        };
        self.hinted(refusal, "give exit = \"behind\"", |s| s.leads = None)
    }
}
