//! Refusals of a tray, with what would work instead, found by trying.

use super::super::fit::BoreFit;
use super::super::module::keels_below;
use super::super::{PartContext, Refusal};
use super::across::{Across, Misfit};
use super::axial::{Axial, Contacts, NoContact, NoSpring, Spring, length_range};
use super::cover::NoCover;
use super::spec::{Cell, CoverSpec, LIP_LENGTH_MIN, LIP_RELIEF, Opening, Spec};
use crate::measure::{Values, number};
use crate::trade::TradeError;

/// Step in which alternatives are tried, mm.
const TENTH: f64 = 0.1;
/// How much larger a bore is tried, mm on the radius.
const WIDEST: f64 = 60.0;
/// Precision to which the bore needed is found, mm on the radius.
const FOUND: f64 = 0.002;
/// Most materials that a hint names.
const NAMED: usize = 2;
/// How much thicker than the printer's least wall lips are tried for hints, mm.
const HINT_THICKNESS: f64 = 0.3;
/// Least range of a cell's diameter that one measures, mm: wrap and caliper.
const CELL_SPREAD: f64 = 0.1;
/// Step and number of the leaf lengths tried.
const LEAVES: (f64, u32) = (0.5, 60);

/// What was asked for and where.
pub(super) struct Asked<'a> {
    pub context: &'a PartContext<'a>,
    pub values: &'a Values,
    pub fit: &'a BoreFit,
    pub spec: &'a Spec,
}

impl Asked<'_> {
    /// A copy of what was asked, changed.
    fn with(&self, change: impl FnOnce(&mut Spec)) -> Spec {
        let mut spec = self.spec.clone();
        change(&mut spec);
        spec
    }

    /// Outside radius from which the tray fits across the bore, mm.
    pub(super) fn radius_needed(&self, spec: &Spec) -> Option<f64> {
        let fits = |outside: f64| Spec { outside, ..spec.clone() }.across().is_ok();
        let (mut low, mut high) = (spec.trough(), spec.outside + 1.0);
        while !fits(high) {
            low = high;
            high += 2.0;
            if high > spec.outside + WIDEST {
                return None;
            }
        }
        while high - low > FOUND {
            let middle = 0.5 * (low + high);
            if fits(middle) { high = middle } else { low = middle }
        }
        Some(high)
    }

    /// Cells of the profiles with the same chemistry that `fits`, thickest and
    /// longest first.
    fn other_cells(&self, fits: impl Fn(&Cell) -> bool) -> Vec<Cell> {
        let all = self.context.library.profiles("cells").iter().map(Cell::new);
        let mut cells: Vec<Cell> = all
            .filter(|c| c.chemistry == self.spec.cell.chemistry && c.name != self.spec.cell.name)
            .filter(|c| fits(c))
            .collect();
        cells.sort_by(|a, b| {
            b.diameter.1.total_cmp(&a.diameter.1).then(b.length.1.total_cmp(&a.length.1))
        });
        cells
    }

    /// Neither cell nor wires fit across the bore.
    pub(super) fn no_room(&self, misfit: Misfit) -> Refusal {
        let spec = self.spec;
        let mut refusal = match self.radius_needed(spec) {
            Some(radius) => self.fit.too_small(self.context, radius),
            None => Refusal::new(format!(
                "no bore up to {:.0} mm takes {} wires of {:.2} mm below a cell of {:.2} mm as \
                 asked",
                2.0 * (spec.outside + WIDEST),
                spec.wires.count,
                spec.wires.outer,
                spec.cell.diameter.1
            ))
            .at(self.values, "cell"),
        };
        let mut offer = |text: Option<String>| {
            if let Some(text) = text {
                refusal.hints.push(text);
            }
        };
        let works = |spec: &Spec| spec.across().is_ok();
        if misfit == Misfit::Wires {
            offer((0..spec.wires.count).rev().find_map(|count| {
                works(&self.with(|s| s.wires.count = count)).then(|| match count {
                    0 => "without wires it would fit".to_owned(),
                    1 => "1 wire would fit".to_owned(),
                    n => format!("{n} wires would fit"),
                })
            }));
            let mut wires: Vec<(f64, &str)> = self
                .context
                .library
                .profiles("wires")
                .iter()
                .map(|w| (w.number("outer") + w.number("outer_tolerance"), w))
                .map(|(outer, w)| (outer, w.profile().unwrap_or("wire")))
                .filter(|(outer, _)| *outer < spec.wires.outer)
                .collect();
            wires.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
            offer(wires.iter().find_map(|(outer, name)| {
                works(&self.with(|s| s.wires.outer = *outer))
                    .then(|| format!("wires {name} (at most {outer:.2} mm) would fit"))
            }));
            let open = self.with(|s| s.wires.closed = false);
            offer((spec.wires.closed && works(&open)).then(|| "open ducts would fit".to_owned()));
        }
        for (key, given) in [
            ("cell_y", spec.cell_y.is_some()),
            ("root", spec.root.is_some()),
            ("base", spec.base.is_some()),
        ] {
            let freed = self.with(|s| match key {
                "cell_y" => s.cell_y = None,
                "root" => s.root = None,
                _ => s.base = None,
            });
            offer((given && works(&freed)).then(|| format!("it would fit with {key} left out")));
        }
        offer(
            keels_below(spec.keel)
                .find(|&keel| works(&self.with(|s| s.keel = keel)))
                .map(|keel| format!("keel = {} would fit", number(keel))),
        );
        if let Some(thickness) = spec.lip_thickness {
            let steps = ((thickness - spec.wall_free) / TENTH + 1e-9) as i64;
            offer((0..=steps).rev().map(|i| spec.wall_free + i as f64 * TENTH).find_map(|t| {
                works(&self.with(|s| s.lip_thickness = Some(t)))
                    .then(|| format!("lips of {t:.1} mm would fit"))
            }));
        }
        if let Some(cover) = spec.cover {
            let closed = self.with(|s| {
                s.cover = Some(CoverSpec { opening: Opening::Nothing, ..cover });
            });
            let mouth = cover.opening == Opening::Mouth;
            offer((mouth && works(&closed)).then(|| "cover = \"closed\" would fit".to_owned()));
            let bare = self.with(|s| s.cover = None);
            offer(works(&bare).then(|| "it would fit without a cover".to_owned()));
        }
        // What gives most room together, if nothing else does.
        let fewer = (0..spec.wires.count).rev().find(|&count| {
            works(&self.with(|s| {
                s.cover = None;
                s.wires.count = count;
            }))
        });
        let alone = spec.cover.is_none() || works(&self.with(|s| s.cover = None));
        offer(fewer.filter(|_| !alone).map(|count| match count {
            0 => "it would fit without a cover and without wires".to_owned(),
            n => format!("it would fit without a cover and with {n} wire(s)"),
        }));
        let coat = self.values.number("coat");
        let bare = self.with(|s| s.outside += coat);
        offer((coat > 0.0 && works(&bare)).then(|| "it would fit without a coat".to_owned()));
        let cell = |c: &Cell| works(&self.with(|s| s.cell = c.clone()));
        let other = self.other_cells(cell).into_iter().next();
        if other.is_none() {
            let thinner = |d: f64| self.with(|s| s.cell.diameter.1 = d);
            let steps = (spec.cell.diameter.1 / TENTH) as i64;
            let tried = (1..steps).map(|i| spec.cell.diameter.1 - i as f64 * TENTH);
            offer(
                tried
                    .filter(|&d| d > TENTH)
                    .find(|&d| works(&thinner(d)))
                    .map(|d| format!("a cell of at most {d:.1} mm would fit")),
            );
        }
        offer(other.map(|c| {
            format!("a cell {} (at most {} mm thick) would fit", c.name, number(c.diameter.1))
        }));
        let finer = self.context.library.profiles("printers").iter().find(|p| {
            let own = self.with(|s| {
                s.wall_free = s.wall_free.min(p.number("wall_free"));
                s.wall_supported = s.wall_supported.min(p.number("wall_supported"));
            });
            works(&own)
        });
        offer(finer.map(|p| {
            format!(
                "a printer as {} with walls of {} mm would do",
                p.profile().unwrap_or("printer"),
                number(p.number("wall_free"))
            )
        }));
        refusal
    }

    /// The cell is too short for lips and fingers.
    pub(super) fn no_lip_room(&self, room: f64) -> Refusal {
        let spec = self.spec;
        let body = spec.cell.length.0 - spec.cell.button;
        let wanted = spec.lip_length.unwrap_or(LIP_LENGTH_MIN);
        let text = format!(
            "the cell's body of {body:.2} mm, less {LIP_RELIEF} mm at each end and {:.2} mm for \
             fingers, leaves {:.2} mm for lips; {wanted:.2} mm is needed",
            spec.finger,
            room.max(0.0)
        );
        let refusal = Refusal::new(text);
        let finger = body - 2.0 * LIP_RELIEF - wanted;
        match (spec.lip_length, finger >= 8.0) {
            (Some(_), _) if room >= LIP_LENGTH_MIN => refusal
                .at(self.values, "lip_length")
                .hint(format!("give lip_length {room:.1} or less, or leave it out")),
            (_, true) => {
                refusal.at(self.values, "finger").hint(format!("give finger {finger:.1} or less"))
            }
            _ => refusal.at(self.values, "cell").hint(format!(
                "use a cell of at least {:.1} mm",
                spec.cell.length.0 - room + wanted
            )),
        }
    }

    /// The tray sticks out of the handle.
    pub(super) fn too_long(&self, axial: &Axial, spring: &Spring) -> Refusal {
        let from_z = self.values.number("from_z");
        let length = self.context.handle.length();
        let over = from_z + axial.total - length;
        let mut refusal = Refusal::new(format!(
            "the tray is {:.2} mm long and begins at z = {:.2}; the bore ends at {:.2}: short by \
             {over:.2} mm",
            axial.total, from_z, length
        ))
        .at(self.context.handle.values(), "length");
        if axial.total <= length {
            refusal = refusal.hint(format!("give from_z {:.2} or less", length - axial.total));
        }
        let shorter = self.other_cells(|cell| {
            let spec = self.with(|s| s.cell = cell.clone());
            cell.diameter.1 <= self.spec.cell.diameter.1
                && spec.lip_room() >= LIP_LENGTH_MIN
                && spec.sprung(spring).is_ok_and(|s| {
                    from_z + Axial::new(&spec, &s).total <= length && spec.across().is_ok()
                })
        });
        if let Some(cell) = shorter.first() {
            let most = number(cell.length.1);
            refusal =
                refusal.hint(format!("a cell {} (at most {most} mm long) would fit", cell.name));
        }
        let spare = 2.0 * (self.spec.end_wall - self.spec.wall_supported.max(1.0));
        if spare >= over {
            let wall = self.spec.end_wall - 0.5 * over;
            refusal = refusal.hint(format!("end walls of {:.2} mm would do", wall - 0.005));
        }
        refusal
    }

    /// No spring follows the cells.
    pub(super) fn no_spring(&self, spring: Option<&Spring>, no: &NoSpring) -> Refusal {
        let spec = self.spec;
        let (short, long) = spec.cell.length;
        let name = spring.map_or("the best spring of the profiles", |s| &s.name);
        let mut refusal = Refusal::new(format!(
            "cells from {} to {} mm and a print good to {} mm move the spring by {:.2} mm; {name} \
             gives {:.2} mm between {} N and its limit: {}",
            number(short),
            number(long),
            number(spec.accuracy),
            no.travel,
            no.gives.max(0.0),
            number(spec.contact_force),
            no.why
        ))
        .at(self.values, if spring.is_some() { "spring" } else { "cell" });
        let cell_y = spec.across().map_or(0.0, |a| a.cell_y);
        let works = |spec: &Spec, spring: &Spring| {
            spec.sprung(spring).is_ok() && Contacts::new(spec, spring, cell_y).is_ok()
        };
        if let Some(text) = self.leaf_that_works(spring) {
            refusal = refusal.hint(text);
        }
        let range = no.gives - 2.0 * spec.accuracy;
        if range > 0.0 && range < length_range(&spec.cell) {
            refusal = refusal.hint(format!(
                "measure your cells: a range of {range:.2} mm between the shortest and the longest \
                 would do"
            ));
        }
        let half = (1..20).map(|i| spec.contact_force * (1.0 - 0.05 * f64::from(i))).find(|f| {
            let weaker = self.with(|s| s.contact_force = *f);
            match spring {
                Some(spring) => works(&weaker, spring),
                None => Spring::known(self.context.library).any(|s| works(&weaker, &s)),
            }
        });
        if let Some(force) = half {
            refusal = refusal
                .hint(format!("a contact_force of {force:.2} N would do, but flickers sooner"));
        }
        if refusal.hints.is_empty() {
            let most = number(spec.cell.length.1);
            refusal = refusal.hint(format!(
                "describe a spring that gives {:.2} mm, or measure your cells: at most {most} mm",
                no.travel
            ));
        }
        refusal
    }

    /// A contact that does not fit its end wall.
    pub(super) fn no_contact(&self, no: &NoContact) -> Refusal {
        let refusal = Refusal::new(no.what.clone()).at(self.values, no.key).hint(no.hint.clone());
        match self.leaf_that_works(None) {
            Some(text) if no.key == "spring" => refusal.hint(text),
            _ => refusal,
        }
    }

    /// A spring of the profiles that suits cell and end wall, as it is or with
    /// another length of leaf; of `first` other lengths are tried first.
    fn leaf_that_works(&self, first: Option<&Spring>) -> Option<String> {
        let spec = self.spec;
        let cell_y = spec.across().map_or(0.0, |a| a.cell_y);
        let works = |s: &Spring| spec.sprung(s).is_ok() && Contacts::new(spec, s, cell_y).is_ok();
        let known: Vec<Spring> = Spring::known(self.context.library).collect();
        if let Some(spring) = known.iter().find(|s| works(s)) {
            return Some(format!("a spring {} would do", spring.name));
        }
        first.into_iter().chain(&known).find_map(|spring| {
            let leaf = |i| Spring { beam: LEAVES.0 * f64::from(i), ..spring.clone() };
            let found = (4..LEAVES.1).map(leaf).find(works)?;
            Some(format!("a leaf as {}, but {:.1} mm long, would do", spring.name, found.beam))
        })
    }

    /// Lips that do not hold or would crack.
    pub(super) fn no_lips(&self, across: &Across, error: &TradeError) -> Refusal {
        let spec = self.spec;
        let key = match error {
            TradeError::Refused { input, .. } | TradeError::OutOfRange { input, .. } => *input,
            _ => "",
        };
        let key = match key {
            "wrap" | "wrap_deg" => "wrap",
            "lip_thickness" | "thickness_mm" | "wall_max_mm" => "lip_thickness",
            "hold_min" | "pull_out_min_n" => "hold_min",
            "push_max" | "insertion_max_n" => "push_max",
            "pull_out_max_n" => "pull_max",
            _ => "cell",
        };
        let mut refusal = Refusal::new(format!("no lips can be made that hold this cell: {error}"))
            .at(self.values, key);
        // Thin lips are enough for a hint, and sooner tried.
        let thin = spec.wall_free + HINT_THICKNESS;
        let works = |spec: &Spec| {
            let mut spec = spec.clone();
            spec.lip_thickest = spec.lip_thickest.min(thin);
            spec.lips(across).is_ok()
        };
        let mut offer = |text: Option<String>| {
            if let Some(text) = text {
                refusal.hints.push(text);
            }
        };
        let material = self.context.material;
        let repeated = material.number("strain_repeated");
        let upright = self.with(|s| s.allowed = repeated);
        offer((spec.lying && works(&upright)).then(|| {
            format!(
                "printed upright (layers = \"upright\") the lips may take {} % and would hold",
                number(repeated)
            )
        }));
        let others: Vec<&str> = self
            .context
            .library
            .profiles("materials")
            .iter()
            .filter(|m| m.profile() != material.profile())
            .filter(|m| {
                let across = if spec.lying { m.number("across_layers") } else { 1.0 };
                works(&self.with(|s| {
                    s.allowed = m.number("strain_repeated") * across;
                    s.modulus = m.number("modulus");
                    s.friction = m.number("friction");
                }))
            })
            .filter_map(|m| m.profile())
            .take(NAMED)
            .collect();
        offer(
            (!others.is_empty())
                .then(|| format!("these materials would do: {}", others.join(", "))),
        );
        let (least, thick) = spec.cell.diameter;
        let narrowed = |least: f64| works(&self.with(|s| s.cell.diameter.0 = least));
        // Lips for a narrower range of cells are easier: halve towards the widest.
        let (mut low, mut high) = (least, thick - CELL_SPREAD);
        if low < high && narrowed(high) {
            while high - low > TENTH {
                let middle = 0.5 * (low + high);
                if narrowed(middle) { high = middle } else { low = middle }
            }
            offer(Some(format!(
                "measure your cell: lips for cells from {high:.2} to {} mm would do",
                number(thick)
            )));
        }
        for (given, text, change) in [
            (spec.wrap.is_some(), "wrap", (|s| s.wrap = None) as fn(&mut Spec)),
            (spec.lip_thickness.is_some(), "lip_thickness", |s| s.lip_thickness = None),
            (spec.lip_length.is_some(), "lip_length", |s| s.lip_length = None),
        ] {
            offer(
                (given && works(&self.with(change)))
                    .then(|| format!("with {text} left out it would do")),
            );
        }
        let weaker = self.with(|s| s.hold_min *= 0.5);
        offer(works(&weaker).then(|| format!("hold_min of {:.2} N would do", weaker.hold_min)));
        let gap = self.with(|s| s.clearance *= 0.5);
        offer(
            (spec.clearance > 0.0 && works(&gap))
                .then(|| format!("a clearance of {:.3} mm would do", gap.clearance)),
        );
        if refusal.hints.is_empty() {
            refusal.hints.push(error.hint().to_owned());
        }
        refusal
    }

    /// A cover that does not hold or would crack.
    pub(super) fn no_cover(&self, no: &NoCover) -> Refusal {
        Refusal::new(no.what.clone())
            .at(self.values, "cover")
            .hint(no.hint.clone())
            .hint("leave the cover out: the bore keeps cell and wires in place")
    }
}
