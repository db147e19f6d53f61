//! Refusals of a tray, with what would work instead, found by trying.

use super::super::fit::BoreFit;
use super::super::module::keels_below;
use super::super::{PartContext, Refusal};
use super::across::{Across, Misfit};
use super::axial::{Axial, Contacts, NoContact, NoSpring, Spring, length_range};
use super::cover::NoCover;
use super::spec::{Cell, CoverSpec, LIP_LENGTH_MIN, LIP_RELIEF, Opening, Spec};
use crate::measure::rounding::{down, up};
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
/// Least hold that a hint offers, N: the weight of an 18650 cell, some 48 g.
const LEAST_HOLD: f64 = 0.5;
/// Shortest finger cut-out that a hint offers, mm: the least of its row.
const LEAST_FINGER: f64 = 8.0;
/// Deepest base that is tried for hints, mm.
const DEEPEST_BASE: f64 = 20.0;
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
        let works = |spec: &Spec| spec.across().is_ok();
        let mut refusal = match self.radius_needed(spec) {
            Some(radius) => self.fit.too_small(self.context, radius),
            None if spec.base.is_some() && works(&self.with(|s| s.base = None)) => {
                Refusal::new(format!(
                    "a base of {} mm has no room for {} wires of {:.2} mm below a cell of {:.2} \
                     mm, however wide the bore",
                    number(spec.base.unwrap_or_default()),
                    spec.wires.count,
                    spec.wires.outer,
                    spec.cell.diameter.1
                ))
                .at(self.values, "base")
            }
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
        if let Some(base) = spec.base {
            let steps = ((DEEPEST_BASE - base) / TENTH) as i64;
            let mut deeper = (1..=steps).map(|i| up(base + i as f64 * TENTH));
            let found = deeper.find(|&base| works(&self.with(|s| s.base = Some(base))));
            offer(found.map(|base| format!("base = {} would fit", number(base))));
        }
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
        refusal.hints.extend(self.weaker_contact(spring));
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
        let mut refusal =
            Refusal::new(no.what.clone()).at(self.values, no.key).hint(no.hint.clone());
        if no.key != "spring" {
            return refusal;
        }
        let found = self.leaf_that_works(None).or_else(|| self.measured_cells());
        refusal.hints.extend(found.into_iter().chain(self.weaker_contact(None)));
        refusal
    }

    /// Whether a spring suits cell and end wall.
    fn suits(&self, spec: &Spec, spring: &Spring) -> bool {
        let cell_y = spec.across().map_or(0.0, |a| a.cell_y);
        spec.sprung(spring).is_ok() && Contacts::new(spec, spring, cell_y).is_ok()
    }

    /// A spring of the profiles that suits.
    fn suited(&self, spec: &Spec) -> Option<Spring> {
        Spring::known(self.context.library).find(|spring| self.suits(spec, spring))
    }

    /// A weaker contact for which the spring, or one of the profiles, suits.
    fn weaker_contact(&self, spring: Option<&Spring>) -> Option<String> {
        let asked = self.spec.contact_force;
        (1..20).map(|i| down(asked * (1.0 - 0.05 * f64::from(i)))).find_map(|force| {
            let weaker = self.with(|s| s.contact_force = force);
            let name = match spring {
                Some(spring) => self.suits(&weaker, spring).then(String::new),
                None => self.suited(&weaker).map(|s| format!(" with spring = \"{}\"", s.name)),
            };
            Some(format!("contact_force = {force:.2}{} would do, but flickers sooner", name?))
        })
    }

    /// A narrower range of cells for which a spring of the profiles suits.
    fn measured_cells(&self) -> Option<String> {
        let (short, long) = self.spec.cell.length;
        let narrowed = |short: f64| self.suited(&self.with(|s| s.cell.length.0 = short));
        let steps = ((long - short - CELL_SPREAD) / TENTH) as i64;
        let mut shorts = (1..=steps).map(|i| up(short + i as f64 * TENTH));
        let (short, spring) = shorts.find_map(|short| Some((short, narrowed(short)?)))?;
        Some(format!(
            "measure your cells: with lengths from {} to {} mm a spring {} would do",
            number(short),
            number(long),
            spring.name
        ))
    }

    /// A spring of the profiles that suits cell and end wall, as it is or with
    /// another length of leaf; of `first` other lengths are tried first.
    fn leaf_that_works(&self, first: Option<&Spring>) -> Option<String> {
        let works = |spring: &Spring| self.suits(self.spec, spring);
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
        let (key, why) = self.why_no_lips(error);
        let mut refusal = Refusal::new(format!("no lips can be made that hold this cell: {why}"))
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
        // What the choice itself found, and else half of what was asked.
        let limit = |row: &str| match error {
            TradeError::Refused { min, max, .. } if key == row => Some((*min, *max)),
            _ => None,
        };
        let held = |hold: f64| self.with(|s| s.hold_min = hold).lips(across).is_ok();
        let weaker = limit("hold_min").map(|(_, most)| down(most)).into_iter();
        let mut weaker =
            weaker.chain([down(0.5 * spec.hold_min)]).filter(|hold| *hold >= LEAST_HOLD);
        offer(weaker.find(|hold| held(*hold)).map(|hold| format!("hold_min = {hold:.2} would do")));
        for (row, set) in [
            ("push_max", (|s, force| s.push_max = force) as fn(&mut Spec, f64)),
            ("pull_max", |s, force| s.pull_max = force),
        ] {
            let firm = limit(row).map(|(least, _)| up(least));
            offer(
                firm.filter(|&force| self.with(|s| set(s, force)).lips(across).is_ok())
                    .map(|force| format!("{row} = {force:.2} would do, if you can push so hard")),
            );
        }
        let free = spec.lip_length.is_none();
        let mut fingers = (1..)
            .map(|i| spec.finger - f64::from(i))
            .take_while(|finger| free && *finger >= LEAST_FINGER);
        let found = fingers.find(|&finger| works(&self.with(|s| s.finger = finger)));
        offer(
            found.map(|finger| format!("finger = {finger:.0} leaves longer lips, which would do")),
        );
        let gap = self.with(|s| s.clearance *= 0.5);
        offer(
            (spec.clearance > 0.0 && works(&gap))
                .then(|| format!("a clearance of {:.3} mm would do", gap.clearance)),
        );
        if refusal.hints.is_empty() {
            // Those of a given wrap are in the tray's words; of the search they are not.
            let own = spec.wrap.is_some().then(|| error.hint().to_owned());
            let other = "another cell, material, print direction (layers) or less clearance may do";
            refusal.hints.push(own.unwrap_or_else(|| other.to_owned()));
        }
        refusal
    }

    /// The row that a refusal of the lips belongs to, and its reason in the words of
    /// the tray's rows: those of the calculation are not in the job.
    fn why_no_lips(&self, error: &TradeError) -> (&'static str, String) {
        let TradeError::Refused { input, value, min, max, reason, .. } = error else {
            return ("cell", error.to_string());
        };
        let (key, more) = match *input {
            "hold_min" | "pull_out_min_n" => (
                "hold_min",
                format!("hold_min is {} N, and they hold {:.2}", number(*value), down(*max)),
            ),
            "push_max" | "insertion_max_n" => (
                "push_max",
                format!("push_max is {} N, and it takes {:.2}", number(*value), up(*min)),
            ),
            "pull_max" | "pull_out_max_n" => (
                "pull_max",
                format!("pull_max is {} N, and it takes {:.2}", number(*value), up(*min)),
            ),
            "allowed_percent" => (
                if self.spec.wrap.is_some() { "wrap" } else { "cell" },
                format!(
                    "they would stretch by {:.2} %, and {} printed {} may by {:.2} %",
                    up(*min),
                    self.context.material.profile().unwrap_or("the material"),
                    if self.spec.lying { "lying" } else { "upright" },
                    value
                ),
            ),
            "cell_min_mm" => (
                "cell",
                format!("the thinnest is {value:.2} mm, and they hold one from {:.2} mm", up(*min)),
            ),
            "wrap" if min < max && value != max => (
                "wrap",
                format!("wrap is {} deg, and {:.1} to {max:.0} would do", number(*value), up(*min)),
            ),
            "lip_thickness" | "thickness_mm" => (
                "lip_thickness",
                format!("they are {:.2} mm thick, and there is room for {:.2}", value, down(*max)),
            ),
            _ => ("cell", String::new()),
        };
        let more = if more.is_empty() { more } else { format!(": {more}") };
        (key, format!("{reason}{more}"))
    }

    /// A cover that does not hold or would crack.
    pub(super) fn no_cover(&self, no: &NoCover) -> Refusal {
        Refusal::new(no.what.clone())
            .at(self.values, "cover")
            .hint(no.hint.clone())
            .hint("leave the cover out: the bore keeps cell and wires in place")
    }
}
