//! The table `[chassis]` of a job: a mesh of somebody else that its parts go into.

use std::sync::Arc;

use toml::de::{DeTable, DeValue};

use crate::measure::{Fault, Kind, Param, Reader, Unit, Values, Vec3, What};
use crate::mesh::FileUnit;
use crate::survey::{Chassis, ChassisPlace, Entry, FileAxis};

/// What a file of a mesh may be called.
const MESHES: &[&str] = &["stl", "3mf", "obj"];

/// The words for [`Entry`].
const ENTRIES: [&str; 3] = ["either", "cap", "window"];

/// Rows of `[chassis]`.
pub const CHASSIS: &[Param] = &[
    Param {
        key: "mesh",
        kind: Kind::File { endings: MESHES },
        doc: "The chassis that somebody else made, as a closed mesh; every part of the job is \
              checked against it.",
    },
    Param::choice("unit", &FileUnit::WORDS, "Unit of an STL or OBJ file, which does not state it.")
        .or_word("mm"),
    Param::choice(
        "axis",
        &FileAxis::WORDS,
        "The file's axis that runs along the bore to the front: y becomes x and z becomes y for x, \
         z becomes x and x becomes y for y.",
    )
    .or_word("z"),
    Param::number(
        "turn",
        Unit::Degrees,
        (-360.0, 360.0),
        "Turn about the bore's axis, counter-clockwise seen from the front; 0 leaves the file's y \
         (after `axis`) at the switches.",
    )
    .or(0.0),
    Param::number(
        "shift_x",
        Unit::Mm,
        (-500.0, 500.0),
        "Shift along x after the turn, to bring its axis onto the bore's.",
    )
    .or(0.0),
    Param::number(
        "shift_y",
        Unit::Mm,
        (-500.0, 500.0),
        "Shift along y after the turn, to bring its axis onto the bore's.",
    )
    .or(0.0),
    Param::number(
        "shift_z",
        Unit::Mm,
        (-2000.0, 2000.0),
        "Shift along the bore: where the file's z = 0 (after `axis`) sits, from the end cap.",
    )
    .or(0.0),
    Param::choice(
        "entry",
        &ENTRIES,
        "How parts get into it: along z from the end cap, from +y through its window, or by \
         whichever is open.",
    )
    .or_word("either"),
];

/// Reads the table, if the job has one, and the mesh that it names.
pub(super) fn read(reader: &mut Reader<'_>, top: &DeTable<'_>) -> Option<(Values, Arc<Chassis>)> {
    let value = top.get("chassis")?;
    let place = reader.place(value);
    let missing = |reader: &mut Reader<'_>, what: &str| {
        let what = What::Missing { expected: what.to_owned() };
        let hint = "write [chassis] and below it mesh = \"chassis.stl\", or leave both out";
        let fault = Fault::new(what, "chassis").at(place.clone()).hint(hint);
        reader.faults.push(fault);
    };
    let DeValue::Table(table) = value.get_ref() else {
        missing(reader, "a table [chassis]");
        return None;
    };
    let values = reader.table(table, place.clone(), CHASSIS, "chassis", &[])?;
    let Some(file) = values.maybe_file("mesh") else {
        missing(reader, "the mesh of the chassis");
        return None;
    };
    let place = ChassisPlace {
        axis: FileAxis::named(values.choice("axis")),
        turn: values.number("turn"),
        shift: Vec3::from(["shift_x", "shift_y", "shift_z"].map(|key| values.number(key))),
    };
    let unit = FileUnit::named(values.choice("unit"));
    // A 3MF states its own unit; the row's default is no wish.
    let unit = unit.filter(|_| values.written().any(|key| key == "unit"));
    let entry = match values.choice("entry") {
        "cap" => Entry::Cap,
        "window" => Entry::Window,
        _ => Entry::Either,
    };
    match Chassis::read(file.name(), file.bytes(), unit, &place, entry) {
        Ok(chassis) => Some((values, Arc::new(chassis))),
        Err(error) => {
            let reason = format!("{} cannot be held against parts: {error}", file.name());
            let fault = Fault::new(What::Unreadable { reason }, values.path_of("mesh"));
            reader.faults.push(fault.at(values.place("mesh")).hint(error.hint()));
            None
        }
    }
}
