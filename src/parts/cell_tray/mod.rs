//! Cell tray: a trough that one round cell snaps into, with its contacts, its
//! vent, ducts for wires below it, and a cover on request.
//!
//! Across the bore, the cell lies as low as the wires below it allow; two
//! curved lips grow out of the base and stand free of the bore, so that they
//! can open while the tray is out of the handle. Along the bore, the space
//! between the contacts follows from the leaf spring's limits, and the
//! positive end keeps its vent free.

mod across;
mod axial;
mod components;
mod cover;
mod lips;
mod matings;
#[cfg(test)]
mod random;
mod refuse;
mod report;
mod rows;
mod shape;
mod spec;

#[cfg(test)]
mod tests;

use super::build::Ends;
use super::fit::BoreFit;
use super::{Body, Calculation, PartContext, PartKind, Refusal};
use crate::measure::Values;
use axial::{Axial, Contacts, NoContact, NoSpring, Spring, Sprung};
use cover::Cover;
use refuse::Asked;
use shape::Shape;
use spec::{LIP_LENGTH_MIN, Spec};

/// The kind's row in the table of parts.
pub(super) const CELL_TRAY: PartKind = PartKind {
    name: "cell_tray",
    summary: "a trough that one round cell snaps into, with contacts, vent, wire ducts and cover",
    params: rows::ROWS,
    make,
};

fn make(context: &PartContext<'_>, values: &Values) -> Result<Vec<Body>, Refusal> {
    let fit = BoreFit::new(context, values);
    let spec = Spec::new(context, values, &fit)?;
    let asked = Asked { context, values, fit: &fit, spec: &spec };
    let room = spec.lip_room();
    if room < spec.lip_length.unwrap_or(LIP_LENGTH_MIN) {
        return Err(asked.no_lip_room(room));
    }
    let across = spec.across().map_err(|misfit| asked.no_room(misfit))?;
    let (sprung, contacts) = contacts(&asked, across.cell_y)?;
    let axial = Axial::new(&spec, &sprung);
    let from_z = values.number("from_z");
    if from_z + axial.total > context.handle.length() {
        return Err(asked.too_long(&axial, &sprung.spring));
    }
    let lips = spec.lips(&across).map_err(|error| asked.no_lips(&across, &error))?;
    let piece = 0.5 * lips.length;
    let finger = (axial.lips.0 + piece, axial.lips.1 - piece);
    let cover = match spec.cover {
        None => None,
        Some(cover) => Some(
            Cover::new(&spec, cover, &across, &axial, finger).map_err(|no| asked.no_cover(&no))?,
        ),
    };
    let shape = Shape::new(&spec, &across, &axial, &contacts, &lips, cover.as_ref());
    let flip = values.choice("positive") == "back";
    let tray = shape.tray(from_z, flip, Ends::new(values))?;
    let covering = match &cover {
        None => None,
        Some(cover) => Some(cover.solid(&shape, from_z, flip)?),
    };
    let made = report::Made {
        asked: &asked,
        across: &across,
        sprung: &sprung,
        contacts: &contacts,
        axial: &axial,
        lips: &lips,
        cover: cover.as_ref(),
        shape: &shape,
        chamfers: tray.chamfers,
    };
    let mut bodies = vec![Body {
        name: context.name.to_owned(),
        solid: tray.solid,
        computed: made.tray_values()?,
        messages: made.tray_messages(),
        worked: made.tray_worked(),
        declared: made.tray_declared().joined(made.with_tray(covering.as_ref())),
    }];
    if let (Some(solid), Some(cover)) = (covering, &cover) {
        bodies.push(Body {
            name: format!("{}-cover", context.name),
            solid,
            computed: made.cover_values(cover),
            messages: made.cover_messages(cover),
            worked: Calculation::list([("the cover's edges", cover.input.worked())]),
            declared: made.cover_declared().joined(made.with_cover(cover)),
        });
    }
    Ok(bodies)
}

/// The spring that was given, or the one of the profiles that suits best, and
/// the contacts in the end walls.
fn contacts(asked: &Asked<'_>, cell_y: f64) -> Result<(Sprung, Contacts), Refusal> {
    let spec = asked.spec;
    if let Some(values) = asked.values.maybe_component("spring") {
        let spring = Spring::new(values);
        let sprung = spec.sprung(&spring).map_err(|no| asked.no_spring(Some(&spring), &no))?;
        let contacts = Contacts::new(spec, &spring, cell_y).map_err(|no| asked.no_contact(&no))?;
        return Ok((sprung, contacts));
    }
    let mut best: Option<(f64, Sprung, Contacts)> = None;
    let mut spring_refused: Option<NoSpring> = None;
    let mut contact_refused: Option<NoContact> = None;
    for spring in Spring::known(asked.context.library) {
        let sprung = match spec.sprung(&spring) {
            Ok(sprung) => sprung,
            Err(no) => {
                if spring_refused.as_ref().is_none_or(|other| no.gives > other.gives) {
                    spring_refused = Some(no);
                }
                continue;
            }
        };
        match Contacts::new(spec, &spring, cell_y) {
            Ok(contacts) => {
                let contact = &sprung.contact;
                let force = contact.force_low_n / spec.contact_force;
                let room = force.min(spring.stress / contact.stress_mpa);
                if best.as_ref().is_none_or(|(most, ..)| room > *most) {
                    best = Some((room, sprung, contacts));
                }
            }
            Err(no) => contact_refused = Some(no),
        }
    }
    match (best, contact_refused, spring_refused) {
        (Some((_, sprung, contacts)), ..) => Ok((sprung, contacts)),
        (None, Some(no), _) => Err(asked.no_contact(&no)),
        (None, None, Some(no)) => Err(asked.no_spring(None, &no)),
        (None, None, None) => Err(Refusal::new("0 springs are known: give one")
            .at(asked.values, "spring")
            .hint("write spring = { thickness = ..., ... } with all fields of a spring")),
    }
}
