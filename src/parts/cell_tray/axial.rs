//! Where walls, contacts and cell lie along the tray.

use super::spec::{Cell, LIP_RELIEF, Spec};
use crate::measure::{Library, Values};
use crate::section::snap;
use crate::trade::contact::{Contact, ContactInput, leaf_contact};

/// How far a leaf stays from being flat, and the cell from the frame before
/// it, mm. Common practice, no source.
const NEVER_SOLID: f64 = 0.2;
/// Room of a metal sheet in its slot, mm.
const SLOT_PLAY: f64 = 0.2;
/// Least thickness of the frame before a contact's slot, mm.
const FRAME_MIN: f64 = 0.8;
/// How far the button reaches past the plane of the contact's guard, mm.
const REACH: f64 = 0.4;
/// Recess of the positive contact from which a cell put in the wrong way
/// round is sure not to touch it, mm.
const GUARD_MIN: f64 = 0.2;
/// Levels closer than this are made one or moved apart, mm.
const LEVEL: f64 = 0.1;

/// A leaf spring.
#[derive(Clone, Debug)]
pub(super) struct Spring {
    pub name: String,
    pub thickness: f64,
    pub width: f64,
    pub beam: f64,
    pub free: f64,
    pub solid: f64,
    pub modulus: f64,
    pub stress: f64,
}

impl Spring {
    /// From values of the family `springs`.
    pub(super) fn new(values: &Values) -> Spring {
        Spring {
            name: values.profile().unwrap_or("spring").to_owned(),
            thickness: values.number("thickness"),
            width: values.number("width"),
            beam: values.number("beam_length"),
            free: values.number("free_height"),
            solid: values.number("solid_height"),
            modulus: values.number("modulus"),
            stress: values.number("stress_max"),
        }
    }

    /// All springs of the profiles.
    pub(super) fn known(library: &Library) -> impl Iterator<Item = Spring> + '_ {
        library.profiles("springs").iter().map(Spring::new)
    }

    /// Stress per deflection and stiffness of the leaf, by the calculator.
    fn per_mm(&self) -> Option<(f64, f64)> {
        // One millimetre of deflection between cell and space.
        let out = leaf_contact(&ContactInput {
            space_mm: LONG,
            space_tol_mm: 0.0,
            cell_min_mm: LONG - self.free + 1.0,
            cell_max_mm: LONG - self.free + 1.0,
            ..self.input(0.0)
        });
        out.ok().map(|c| (c.stress_mpa, c.stiffness_n_per_mm))
    }

    fn input(&self, force_min_n: f64) -> ContactInput {
        ContactInput {
            length_mm: self.beam,
            width_mm: self.width,
            thickness_mm: self.thickness,
            modulus_mpa: self.modulus,
            yield_mpa: self.stress,
            space_mm: LONG,
            space_tol_mm: 0.0,
            free_height_mm: self.free,
            solid_height_mm: self.solid,
            cell_min_mm: LONG,
            cell_max_mm: LONG,
            force_min_n,
        }
    }
}

/// A length that the calculator allows for any spring, mm.
const LONG: f64 = 100.0;

/// The spring cannot follow the cells.
#[derive(Clone, Debug)]
pub(super) struct NoSpring {
    /// Travel between the shortest and the longest cell, both ways of the
    /// print's accuracy included, mm.
    pub travel: f64,
    /// Travel that the leaf gives between the least force and its set, mm.
    pub gives: f64,
    /// What binds, in words.
    pub why: &'static str,
}

/// The space that a spring needs, and what comes of it.
#[derive(Clone, Debug)]
pub(super) struct Sprung {
    pub spring: Spring,
    /// From the wall behind the leaf to the positive contact, mm.
    pub space: f64,
    pub input: ContactInput,
    pub contact: Contact,
}

impl Spec {
    /// Slot of a contact's sheet, mm.
    fn slot(&self, sheet: f64) -> f64 {
        snap((sheet + SLOT_PLAY).max(self.gap_min))
    }

    /// Frame before a slot, mm; beside its window it stands free.
    fn frame(&self) -> f64 {
        snap(self.wall_supported.max(self.wall_free).max(FRAME_MIN))
    }

    /// Height of the leaf pressed flat, or of the frame that stops the cell, mm.
    pub(super) fn pressed_flat(&self, spring: &Spring) -> f64 {
        spring.solid.max(self.slot(spring.thickness) + self.frame())
    }

    /// The space for a spring between its limits: force with the shortest
    /// cell, set, flat leaf and frame with the longest.
    pub(super) fn sprung(&self, spring: &Spring) -> Result<Sprung, NoSpring> {
        let tolerance = self.accuracy;
        let (short, long) = self.cell.length;
        let travel = long - short + 2.0 * tolerance;
        let Some((stress, stiffness)) = spring.per_mm().filter(|(s, k)| *s > 0.0 && *k > 0.0)
        else {
            return Err(NoSpring { travel, gives: 0.0, why: "it is no leaf" });
        };
        let least = self.contact_force / stiffness;
        let most = STRESS_SHARE * spring.stress / stress;
        let largest = short + spring.free - tolerance - least;
        let set = long + spring.free + tolerance - most;
        let closed = self.pressed_flat(spring) + NEVER_SOLID;
        let flat = long + tolerance + closed;
        let gives = most.min(spring.free - closed) - least;
        if set.max(flat) > largest {
            let why =
                if set > flat { "more would bend it for good" } else { "more would press it flat" };
            return Err(NoSpring { travel, gives, why });
        }
        let space = snap(0.5 * (set.max(flat) + largest));
        let input = ContactInput {
            space_mm: space,
            space_tol_mm: tolerance,
            cell_min_mm: short,
            cell_max_mm: long,
            ..spring.input(self.contact_force)
        };
        let contact = leaf_contact(&input);
        let bad = |_| NoSpring { travel, gives, why: "its values are out of range" };
        Ok(Sprung { spring: spring.clone(), space, contact: contact.map_err(bad)?, input })
    }
}

/// Share of the leaf's stress that is used, so that rounding does not reach
/// its set.
const STRESS_SHARE: f64 = 0.98;

/// Levels along the tray, mm from the outer face of the negative end.
#[derive(Clone, Debug)]
pub(super) struct Axial {
    /// Slot of the spring's plate, and its frame's inner face.
    pub spring_slot: (f64, f64),
    pub frame: f64,
    /// The plane where the positive contact touches.
    pub touch: f64,
    /// Front of the guard around the positive contact; slot of the tab.
    pub guard: f64,
    pub tab_slot: (f64, f64),
    /// Inner face of the positive end wall.
    pub wall: f64,
    pub total: f64,
    /// Height of the bump that the tab needs, mm.
    pub bump: f64,
    /// How far the contact lies behind its guard, mm; negative: before it.
    pub recess: f64,
    /// Free space before the rim of the positive end, mm.
    pub vent: f64,
    /// Where lips may stand: the body of the shortest cell less its ends.
    pub lips: (f64, f64),
}

impl Axial {
    /// The levels that follow from the space between the contacts.
    pub(super) fn new(spec: &Spec, sprung: &Sprung) -> Axial {
        let cell = &spec.cell;
        let slot = spec.slot(sprung.spring.thickness);
        let tab = spec.slot(spec.tab_thickness);
        let loose = tab - spec.tab_thickness;
        let start = spec.end_wall;
        let touch = start + sprung.space;
        let recess = (spec.frame() + loose).min(cell.button - REACH);
        let bump = spec.frame() + loose - recess;
        let guard = snap(touch - recess);
        let first = snap(guard + spec.frame());
        let tab_slot = (first, snap(first + tab));
        let mut wall = snap((touch - cell.button + spec.vent_gap).max(guard));
        for level in [guard, tab_slot.0, tab_slot.1] {
            if wall != level && (wall - level).abs() < LEVEL {
                wall = if wall < level { level } else { snap(level + LEVEL) };
            }
        }
        Axial {
            spring_slot: (start, snap(start + slot)),
            frame: snap(start + slot + spec.frame()),
            touch,
            guard,
            tab_slot,
            wall,
            total: snap(wall.max(tab_slot.1) + spec.end_wall),
            bump,
            recess,
            vent: wall - touch + cell.button,
            lips: (touch - cell.length.0 + LIP_RELIEF, touch - cell.button - LIP_RELIEF),
        }
    }

    /// Whether a cell put in the wrong way round cannot touch the positive
    /// contact.
    pub(super) fn guarded(&self) -> bool {
        self.recess >= GUARD_MIN
    }

    /// Length between the end walls, mm.
    pub(super) fn inside(&self) -> f64 {
        self.wall - self.frame
    }
}

/// Widths and heights of the contacts in the end walls, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contacts {
    /// Half width of the slot of the spring's plate and its lower edge.
    pub plate: (f64, f64),
    /// Half width of the window for the leaf.
    pub window: f64,
    /// Where the leaf touches, above the cell's axis.
    pub touches: f64,
    /// Half width of the tab's slot and its lower edge.
    pub tab: (f64, f64),
    /// Radius of the guard's window.
    pub button: f64,
}

/// A contact that does not fit its end wall.
#[derive(Clone, Debug)]
pub(super) struct NoContact {
    pub key: &'static str,
    pub what: String,
    pub hint: String,
}

/// Width by which a plate is held on each side, mm.
const HELD: f64 = 1.2;
/// Play beside a plate, mm.
pub(super) const PLAY: f64 = 0.2;
/// Room beside the leaf in its window, mm.
const LEAF_ROOM: f64 = 0.4;
/// Room around the button, mm.
const BUTTON_ROOM: f64 = 0.5;
/// How far inside the cell's rim the leaf must touch, mm.
const RIM: f64 = 0.5;
/// Width of a flat cell's tab, over the cell's radius.
const TAB_SHARE: f64 = 0.7;

impl Contacts {
    /// The contacts around a cell whose axis is at `cell_y`.
    pub(super) fn new(spec: &Spec, spring: &Spring, cell_y: f64) -> Result<Contacts, NoContact> {
        let trough = spec.trough();
        let plate_width = spec.plate_width.unwrap_or(spring.width + 2.0 * (LEAF_ROOM + HELD - 0.1));
        let window = snap(0.5 * spring.width + LEAF_ROOM);
        let half = snap(0.5 * plate_width + PLAY);
        if half < window + 0.5 * HELD {
            let needed = 2.0 * (window + 0.5 * HELD - PLAY);
            return Err(NoContact {
                key: "plate_width",
                what: format!(
                    "a plate of {plate_width:.2} mm is not held beside a leaf of {:.2} mm: it \
                     needs {needed:.2} mm",
                    spring.width
                ),
                hint: format!("give plate_width {needed:.2} or more, or leave it out"),
            });
        }
        let widest = 2.0 * (SLOT_SHARE * trough - PLAY);
        if half > SLOT_SHARE * trough {
            return Err(NoContact {
                key: "plate_width",
                what: format!(
                    "the spring's plate of {plate_width:.2} mm is wider than the {widest:.2} mm \
                     that the end wall of this cell has room for"
                ),
                hint: format!("use a leaf of at most {:.1} mm", widest - 3.0),
            });
        }
        // The slot's corners stay inside the trough's circle, away from wires.
        let depth = (trough * trough - half * half).sqrt();
        let touches = spring.beam - spring.beam.min(depth);
        let most = 0.5 * spec.cell.diameter.0 - RIM;
        if touches > most {
            return Err(NoContact {
                key: "spring",
                what: format!(
                    "the leaf of {}, {:.2} mm long, would touch {touches:.2} mm above the cell's \
                     axis, past its rim at {most:.2} mm",
                    spring.name, spring.beam
                ),
                hint: format!("use a leaf of at most {:.2} mm", depth + most),
            });
        }
        let flat = spec.cell.button <= REACH;
        let given = spec.tab_width;
        let button = if flat {
            0.5 * given.unwrap_or(TAB_SHARE * spec.cell.radius()) - HELD
        } else {
            0.5 * spec.cell.button_diameter + BUTTON_ROOM
        };
        let button = snap(button.max(spec.gap_min));
        let tab_width = given.unwrap_or(2.0 * (button + HELD));
        let needed = 2.0 * (button + 0.5 * HELD);
        let tab = snap(0.5 * tab_width + PLAY);
        if tab_width < needed || tab > SLOT_SHARE * trough {
            return Err(NoContact {
                key: "tab_width",
                what: format!(
                    "a tab of {tab_width:.2} mm does not fit: the contact's window of {:.2} mm \
                     needs {needed:.2} mm, and the end wall has room for {widest:.2} mm",
                    2.0 * button
                ),
                hint: format!("give tab_width between {needed:.2} and {widest:.2}"),
            });
        }
        let tab_depth = (trough * trough - tab * tab).sqrt().min((button + HELD).max(4.0));
        Ok(Contacts {
            plate: (half, snap(cell_y - spring.beam.min(depth))),
            window,
            touches,
            tab: (tab, snap(cell_y - tab_depth)),
            button,
        })
    }
}

/// Largest half width of a slot, over the trough's radius.
const SLOT_SHARE: f64 = 0.85;

/// Travel that a cell asks of a spring, mm, for hints.
pub(super) fn length_range(cell: &Cell) -> f64 {
    cell.length.1 - cell.length.0
}
