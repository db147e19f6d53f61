//! What a tray and its cover state for the checker.

use super::super::declared::{Bend, Declared, Heat, Mating, Term};
use super::super::handed::{Handed, Topic};
use super::super::mating::in_bore;
use super::report::Made;
use super::spec::Opening;
use crate::measure::Vec3;

/// Temperature that a lithium-ion cell may reach while discharging, degrees
/// Celsius: cell sheets commonly say 60. Other chemistries: 50 (alkaline and
/// nickel sheets, from memory).
const HOT: (f64, f64) = (60.0, 50.0);

impl Made<'_> {
    /// A height of the tray's own in the handle's frame, mm.
    pub(super) fn place(&self, z: f64) -> f64 {
        let from_z = self.asked.values.number("from_z");
        let back = self.asked.values.choice("positive") == "back";
        from_z + if back { self.axial.total - z } else { z }
    }

    /// What the tray states.
    pub(super) fn tray_declared(&self) -> Declared {
        let (spec, across, axial) = (self.asked.spec, self.across, self.axial);
        let (values, printer) = (self.asked.values, self.asked.context.printer);
        let cell = &spec.cell;
        let middle = self.place(0.5 * axial.total);
        let axis = Vec3::new(0.0, across.cell_y, middle);
        let bore = Vec3::new(0.0, -spec.outside, middle);
        let mut matings = in_bore(self.asked.context, values, self.asked.fit, bore);
        let (thin, thick) = cell.diameter;
        let half = 0.5 * (thick - thin);
        let cell_across = |sign: f64| {
            Term::even("cell, diameter", sign * 0.5 * (thin + thick), half)
                .by(values.path_of("cell"))
        };
        let floor = Vec3::new(0.0, across.cell_y - spec.trough(), middle);
        let clearance = values.path_of("clearance");
        matings.push(
            Mating::new("cell in its trough, across", floor, clearance)
                .term(Term::printed(printer, "trough, printed", 2.0 * spec.trough()))
                .term(cell_across(-1.0)),
        );
        // The lips must open for every cell without harm, and grip every cell.
        let lips = self.lips;
        let harm = lips.largest.deflection_mm * spec.allowed / lips.largest.strain_percent;
        matings.push(
            Mating::new("cell past its lips", axis, values.path_of("wrap"))
                .term(Term::printed(printer, "mouth, printed", lips.largest.mouth_mm))
                .term(cell_across(-1.0))
                .limits(-2.0 * harm, Some(0.0)),
        );
        // The space less the cell: what is left for the spring.
        let (short, long) = cell.length;
        let (spring, contact) = (&self.sprung.spring, &self.sprung.contact);
        let flat = spec.pressed_flat(spring);
        let set = contact.deflection_high_mm * spring.stress / contact.stress_mpa;
        let weakest = spec.contact_force / contact.stiffness_n_per_mm;
        let end = Vec3::new(0.0, across.cell_y, self.place(axial.spring_slot.1));
        matings.push(
            Mating::new("room for the contact spring", end, values.path_of("spring"))
                .term(Term::printed(
                    printer,
                    "space between the contacts, printed",
                    self.sprung.space,
                ))
                .term(
                    Term::even("cell, length", -0.5 * (short + long), 0.5 * (long - short))
                        .by(values.path_of("cell")),
                )
                .limits(flat.max(spring.free - set), Some(spring.free - weakest)),
        );
        let bends = [-1.0, 1.0].map(|side| Bend {
            what: if side < 0.0 { "left lip".into() } else { "right lip".into() },
            at: Vec3::new(side * (spec.trough() + 0.5 * lips.thickness), across.cell_y, middle),
            along: Vec3::y(),
            strain: 0.01 * lips.largest.strain_percent,
            // Lips stand free of the bore.
            outside: false,
            field: values.path_of("wrap"),
        });
        Declared {
            matings,
            bends: bends.into(),
            heats: vec![self.cell_heat(axis, "the lips can let go")],
            up: spec.lying.then(Vec3::y),
            handed: self.handed(middle),
            ..Declared::default()
        }
    }

    /// How the owner changes the cell, and what to mind.
    fn handed(&self, middle: f64) -> Vec<Handed> {
        let spec = self.asked.spec;
        let cell = &spec.cell;
        let back = self.asked.values.choice("positive") == "back";
        let (negative, positive) = if back { ("front", "end cap") } else { ("end cap", "front") };
        let (a, b) = (self.place(0.0), self.place(self.axial.total));
        let place = format!(
            "{} cell, {:.0} to {:.0} mm from the end cap: its negative end is towards the \
             {negative}, its positive end towards the {positive}",
            cell.name,
            a.min(b),
            a.max(b)
        );
        let largest = &self.lips.largest;
        let force =
            largest.pull_out_n.map_or_else(String::new, |n| format!(", with about {n:.0} N"));
        // Through an open mouth it comes out with the cover on.
        let uncover = match spec.cover.map(|cover| cover.opening) {
            Some(Opening::Nothing | Opening::Fingers) => ", unsnap its cover",
            Some(Opening::Mouth) | None => "",
        };
        let out = format!(
            "to change it, take the tray out of the handle{uncover} and lift the cell out past its \
             lips, towards the switches' side{force}"
        );
        let caution = match cell.li_ion() {
            true => {
                "a Li-ion cell can burn or burst when it is shorted, crushed, pierced, heated or \
                 charged wrongly; the cell maker's data sheet and local rules decide how it is \
                 charged, carried, stored and thrown away; never use one that is dented or whose \
                 wrap is torn; take it out before the prop is stored or sent"
            }
            false => {
                "take the cell out when it is flat or the prop is stored, for it can leak; the cell \
                 maker's data sheet and local rules decide how it is used and thrown away"
            }
        };
        vec![
            Handed::new(Topic::Cell, middle, place),
            Handed::new(Topic::Cell, middle, out),
            Handed::new(Topic::Caution, middle, caution),
        ]
    }

    fn cell_heat(&self, at: Vec3, risk: &str) -> Heat {
        let cell = &self.asked.spec.cell;
        let (celsius, source) = if cell.li_ion() {
            (HOT.0, "cell sheets commonly allow 60 degC while discharging")
        } else {
            (HOT.1, "alkaline and nickel sheets, from memory")
        };
        Heat {
            what: format!("{} cell", cell.name),
            at,
            celsius,
            risk: risk.into(),
            source: source.into(),
        }
    }

    /// What the cover states, if there is one.
    pub(super) fn cover_declared(&self) -> Declared {
        let Some(cover) = self.cover else { return Declared::default() };
        let (spec, values) = (self.asked.spec, self.asked.values);
        let printer = self.asked.context.printer;
        let middle = self.place(0.5 * self.axial.total);
        let crown = Vec3::new(0.0, spec.outside - 0.5 * cover.spec.wall, middle);
        let mut matings = in_bore(self.asked.context, values, self.asked.fit, crown);
        let inner = 2.0 * (spec.outside - cover.spec.wall);
        matings.push(
            Mating::new("cover over the tray, across", crown, printer.path_of("fit_slide"))
                .term(Term::printed(printer, "cover's inside, printed", inner))
                .term(Term::printed(printer, "tray under it, printed", -2.0 * spec.covered())),
        );
        let (flanges, length) = cover.along(self.axial.total);
        matings.push(
            Mating::new("cover between the flanges, along", crown, values.path_of("end_wall"))
                .term(Term::printed(printer, "between the flanges, printed", flanges))
                .term(Term::printed(printer, "cover's length, printed", -length)),
        );
        Declared {
            matings,
            bends: vec![Bend {
                what: "crown of the cover".into(),
                at: crown,
                along: Vec3::x(),
                strain: 0.01 * cover.lip.strain_percent,
                outside: true,
                field: values.path_of("cover_wall"),
            }],
            heats: vec![self.cell_heat(crown, "the cover can lose its grip")],
            ..Declared::default()
        }
    }
}
