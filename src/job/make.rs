//! Makes the parts of a job.

use std::collections::BTreeMap;

use nalgebra::Matrix3;

use super::estimates::estimates;
use super::{Checked, Job, upright};
use crate::correct::{CompensateError, Compensation};
use crate::measure::{Fault, Faults, Values, Vec3, What};
use crate::mesh::{ChordTolerance, Mesh, MeshError, tessellate};
use crate::parts::{
    Body, Calculation, Cavity, Component, Message, Neighbour, PartContext, PartKind, Severity,
};
use crate::solid::MassProperties;

/// A made part.
#[derive(Clone, Debug)]
pub struct Made {
    /// Its kind.
    pub kind: &'static PartKind,
    /// Its name in the job.
    pub name: String,
    /// Its bodies; names are unique in the job.
    pub bodies: Vec<MadeBody>,
}

/// A body with its mesh and measures.
#[derive(Clone, Debug)]
pub struct MadeBody {
    /// The body.
    pub body: Body,
    /// Its triangles within the job's chord tolerance.
    pub mesh: Mesh,
    /// What the printer's files make up for, and the triangles drawn in by its
    /// growth; none if it needs nothing.
    pub made_up: Option<(Compensation, Mesh)>,
    /// Volume, area, centroid and inertia of the exact solid.
    pub properties: MassProperties,
    /// Lower and upper corner of the exact solid, mm.
    pub bounds: (Vec3, Vec3),
    /// Mass in the job's material, printed solid, g.
    pub mass: f64,
    /// Growth with heat, and what a print takes.
    pub estimates: Vec<Calculation>,
    /// What the checks say, once [`super::check_made`] has run.
    pub checked: Option<Checked>,
}

impl MadeBody {
    fn new(
        body: Body,
        chord: f64,
        printer: &Values,
        material: &Values,
    ) -> Result<MadeBody, NotMade> {
        let tolerance = ChordTolerance { chord, ..ChordTolerance::default() };
        let mesh = tessellate(&body.solid, &tolerance)
            .map_err(|error| NotMade::Mesh { name: body.name.clone(), error })?;
        let up = body.declared.up.unwrap_or(Vec3::z());
        let made_up = Compensation::of(printer).map(|compensation| {
            let drawn_in = compensation.drawn_in(&body.solid, &mesh, up);
            drawn_in
                .map(|mesh| (compensation, mesh))
                .map_err(|error| NotMade::MadeUp { name: body.name.clone(), error })
        });
        let made_up = made_up.transpose()?;
        let properties = body.solid.properties();
        let bounds = body.solid.bounds();
        // Cubic millimetres times grams per cubic centimetre.
        let mass = properties.volume * 1e-3 * material.number("density");
        let estimates = estimates(&properties, &bounds, printer, material);
        Ok(MadeBody { body, mesh, made_up, properties, bounds, mass, estimates, checked: None })
    }

    /// The way that is up while it is printed.
    pub fn up(&self) -> Vec3 {
        self.body.declared.up.unwrap_or(Vec3::z())
    }

    /// Stretch along the axes of the bed that makes up for the printer's scales.
    pub fn stretch(&self) -> Matrix3<f64> {
        self.made_up.as_ref().map_or_else(Matrix3::identity, |(made_up, _)| made_up.stretch())
    }

    /// The triangles to print, and the turn from there to the bed: upright, and
    /// stretched where the printer shortens.
    pub fn to_print(&self) -> (&Mesh, Matrix3<f64>) {
        let mesh = self.made_up.as_ref().map_or(&self.mesh, |(_, drawn_in)| drawn_in);
        (mesh, self.stretch() * upright(self.up()))
    }
}

/// Why a body that its part has made cannot be printed.
#[derive(Clone, Debug, thiserror::Error)]
enum NotMade {
    #[error("its body {name} cannot be meshed: {error}")]
    Mesh { name: String, error: MeshError },
    #[error("print files of its body {name} cannot make up for the printer's growth: {error}")]
    MadeUp { name: String, error: CompensateError },
}

impl NotMade {
    fn hint(&self) -> &'static str {
        match self {
            NotMade::Mesh { .. } => {
                "two of its measures nearly coincide there: change one by a tenth of a millimetre"
            }
            NotMade::MadeUp { .. } => {
                "give the printer growth = 0 here, and make up for it in the slicer"
            }
        }
    }
}

/// Why parts could not be made: refusals, each of which points at its field.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{0}")]
pub struct MakeError(pub Faults);

/// Makes all parts; those that join others last, whatever their order in the
/// job.
///
/// # Errors
/// All refusals; then nothing is made.
pub fn make(job: &Job) -> Result<Vec<Made>, MakeError> {
    let mut faults = Faults::default();
    let mut made: Vec<(usize, Made)> = Vec::new();
    let mut names: BTreeMap<String, String> = BTreeMap::new();
    let mut order: Vec<usize> = (0..job.parts().len()).collect();
    order.sort_by_key(|&i| job.parts()[i].kind().joins());
    for i in order {
        let part = &job.parts()[i];
        let joins = part.kind().joins();
        if joins && !faults.is_empty() {
            // What it would join is not there.
            continue;
        }
        let neighbours = if joins { neighbours(job, &made) } else { Vec::new() };
        let context = PartContext { made: &neighbours, ..job.context(part) };
        let values = part.values();
        let refused = |reason: String| Fault::new(What::Refused { reason }, values.path());
        match (part.kind().make)(&context, values) {
            Ok(mut bodies) => {
                if let Some(cavity) = part.cavity() {
                    beyond(cavity, &bodies).into_iter().for_each(|fault| faults.push(fault));
                    let text = cavity.told();
                    let note = Message { severity: Severity::Note, text, hint: None };
                    bodies.iter_mut().for_each(|body| body.messages.push(note.clone()));
                }
                let mut done = Vec::with_capacity(bodies.len());
                for body in bodies {
                    if let Some(other) = names.insert(body.name.clone(), part.name().to_owned()) {
                        let name = &body.name;
                        let reason = format!("its body {name} has the name of one of part {other}");
                        let hint = "give one of the two parts another name";
                        faults.push(refused(reason).at(values.own_place()).hint(hint));
                    }
                    match MadeBody::new(body, job.chord(), context.printer, context.material) {
                        Ok(body) => done.push(body),
                        Err(error) => {
                            let fault = refused(error.to_string()).at(values.own_place());
                            faults.push(fault.hint(error.hint()));
                        }
                    }
                }
                let name = part.name().to_owned();
                made.push((i, Made { kind: part.kind(), name, bodies: done }));
            }
            Err(refusal) => {
                let mut fault = refused(refusal.what);
                fault.place = refusal.place.or(values.own_place());
                fault.field = refusal.field.unwrap_or(fault.field);
                fault.hints = refusal.hints;
                fault.hints.extend(part.cavity().map(Cavity::told));
                faults.push(fault);
            }
        }
    }
    let mut made = faults.or_value(Some(made)).map_err(MakeError)?;
    made.sort_by_key(|(i, _)| *i);
    let mut made: Vec<Made> = made.into_iter().map(|(_, made)| made).collect();
    meet(job, &mut made);
    Ok(made)
}

/// The first body that does not lie within the stretch of its cavity.
fn beyond(cavity: &Cavity, bodies: &[Body]) -> Option<Fault> {
    let (from, to) = cavity.stretch();
    let values = &cavity.values;
    bodies.iter().find_map(|body| {
        let (low, high) = body.solid.bounds();
        let (under, over) = (from - low.z, high.z - to);
        if under.max(over) <= OUTSIDE {
            return None;
        }
        let reason = format!(
            "{} is from z = {:.2} to {:.2} mm, its cavity from {from} to {to}: {:.2} mm too far at \
             the {}",
            body.name,
            low.z,
            high.z,
            under.max(over),
            if over > under { "high end" } else { "low end" }
        );
        let hint = if high.z - low.z <= to - from {
            format!("let it begin at z = {from} to {:.2} mm", to - (high.z - low.z))
        } else {
            format!("it needs a stretch of {:.2} mm", high.z - low.z)
        };
        let fault = Fault::new(What::Refused { reason }, values.path());
        Some(fault.at(values.own_place()).hint(hint))
    })
}

/// How far a body may reach beyond its stretch, mm: float noise.
const OUTSIDE: f64 = 1e-6;

/// What a part that joins others knows of those that are made.
fn neighbours<'a>(job: &'a Job, made: &'a [(usize, Made)]) -> Vec<Neighbour<'a>> {
    let known = |(i, made): &'a (usize, Made)| {
        let part = &job.parts()[*i];
        let bodies = made.bodies.iter().map(|body| &body.body).collect();
        Neighbour { name: part.name(), kind: part.kind(), values: part.values(), bodies }
    };
    made.iter().map(known).collect()
}

/// Tells each body which bodies of parts before its own reach into its room, and
/// the chassis that it goes into, so that the checks see whether they overlap.
fn meet(job: &Job, made: &mut [Made]) {
    for body in made.iter_mut().flat_map(|part| &mut part.bodies) {
        body.body.declared.chassis = job.chassis().cloned();
    }
    for later in 1..made.len() {
        let values = job.parts()[later].values();
        let has_place = values.rows().iter().any(|row| row.key == "from_z");
        let field = if has_place { values.path_of("from_z") } else { values.path().to_owned() };
        let (before, rest) = made.split_at_mut(later);
        for body in &mut rest[0].bodies {
            let (low, high) = body.bounds;
            for other in before.iter().flat_map(|part| &part.bodies) {
                let (other_low, other_high) = other.bounds;
                let room = high.inf(&other_high) - low.sup(&other_low);
                if room.min() <= 0.0 {
                    continue;
                }
                body.body.declared.components.push(Component {
                    name: other.body.name.clone(),
                    what: format!("{} of the same job", other.body.name),
                    solid: other.body.solid.clone(),
                    way: None,
                    press: 0.0,
                    field: field.clone(),
                });
            }
        }
    }
}
