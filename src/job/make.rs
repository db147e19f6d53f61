//! Makes the parts of a job.

use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use nalgebra::Matrix3;

use super::estimates::estimates;
use super::{Checked, Job, upright};
use crate::correct::{CompensateError, Compensation};
use crate::measure::{Fault, Faults, Values, Vec3, What};
use crate::mesh::{ChordTolerance, Mesh, MeshError, tessellate};
use crate::parallel::each;
use crate::parts::{
    Body, Calculation, Cavity, Component, Message, Neighbour, PartContext, PartKind, Refusal,
    Severity, fill,
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

/// Makes all parts, several at a time; those that join others last, whatever
/// their order in the job.
///
/// # Errors
/// All refusals; then nothing is made.
pub fn make(job: &Job) -> Result<Vec<Made>, MakeError> {
    made(job, None)
}

/// The same, but parts whose values and surroundings are as they were when they were `kept` are
/// taken from there. What is made is kept, what the job no longer asks for is not.
///
/// # Errors
/// All refusals; then nothing is made.
pub fn make_again(job: &Job, kept: &mut Kept) -> Result<Vec<Made>, MakeError> {
    made(job, Some(kept))
}

/// Made parts of a job by name, each with all that it was made from. Profiles do not count: a
/// program that keeps parts reads them once.
#[derive(Clone, Debug, Default)]
pub struct Kept {
    parts: BTreeMap<String, (String, Vec<MadeBody>)>,
    /// How long each part took: what took longest is begun first.
    took: BTreeMap<String, Duration>,
}

impl Kept {
    /// All that a part is made from, its neighbours left out; none if it names files, whose
    /// bytes would have to count, or if the job names a chassis.
    fn origin(job: &Job, i: usize) -> Option<String> {
        let part = &job.parts()[i];
        if !part.values().files().is_empty() || job.chassis.is_some() {
            return None;
        }
        let (name, kind, values) = (part.name(), part.kind().name, part.values());
        Some(format!("{name} {kind} {values:?} {:?} {:?}", job.handle(), job.print()))
    }

    /// The bodies of a part that was made from the same.
    fn found(&self, name: &str, origin: Option<&String>) -> Option<Tried> {
        let (known, bodies) = self.parts.get(name)?;
        let same = origin.is_some_and(|origin| origin == known);
        let named = |body: &MadeBody| (body.body.name.clone(), Ok(body.clone()));
        same.then(|| Ok(bodies.iter().map(named).collect()))
    }
}

fn made(job: &Job, mut kept: Option<&mut Kept>) -> Result<Vec<Made>, MakeError> {
    let old = kept.as_deref_mut().map(std::mem::take).unwrap_or_default();
    let origins: Vec<Option<String>> =
        (0..job.parts().len()).map(|i| kept.as_ref().and_then(|_| Kept::origin(job, i))).collect();
    let mut faults = Faults::default();
    let mut made: Vec<(usize, Made)> = Vec::new();
    let mut names: BTreeMap<String, String> = BTreeMap::new();
    let mut order: Vec<usize> = (0..job.parts().len()).collect();
    order.sort_by_key(|&i| job.parts()[i].kind().joins());
    let name = |i: usize| job.parts()[i].name();
    let mut alone: Vec<usize> =
        order.iter().copied().filter(|&i| !job.parts()[i].kind().joins()).collect();
    alone.sort_by_key(|&i| Reverse(old.took.get(name(i))));
    let mut early: BTreeMap<usize, (Tried, Duration)> = each(alone, |i| {
        let start = Instant::now();
        match old.found(name(i), origins[i].as_ref()) {
            Some(found) => (i, (found, old.took.get(name(i)).copied().unwrap_or_default())),
            None => (i, (tried(job, i, &[]), start.elapsed())),
        }
    })
    .into_iter()
    .collect();
    for i in order {
        let part = &job.parts()[i];
        let joins = part.kind().joins();
        if joins && !faults.is_empty() {
            // What it would join is not there.
            continue;
        }
        let tried = match early.remove(&i) {
            Some((tried, took)) => {
                if let Some(kept) = kept.as_deref_mut() {
                    kept.took.insert(part.name().to_owned(), took);
                }
                tried
            }
            None => tried(job, i, &neighbours(job, &made)),
        };
        let values = part.values();
        let refused = |reason: String| Fault::new(What::Refused { reason }, values.path());
        match tried {
            Ok(bodies) => {
                let mut done = Vec::with_capacity(bodies.len());
                for (name, body) in bodies {
                    if let Some(other) = names.insert(name.clone(), part.name().to_owned()) {
                        let reason = format!("its body {name} has the name of one of part {other}");
                        let hint = "give one of the two parts another name";
                        faults.push(refused(reason).at(values.own_place()).hint(hint));
                    }
                    match body {
                        Ok(body) => done.push(body),
                        Err(error) => {
                            let fault = refused(error.to_string()).at(values.own_place());
                            faults.push(fault.hint(error.hint()));
                        }
                    }
                }
                let name = part.name().to_owned();
                if let (Some(kept), Some(origin)) = (kept.as_deref_mut(), &origins[i])
                    && !joins
                {
                    kept.parts.insert(name.clone(), (origin.clone(), done.clone()));
                }
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

/// The bodies of a part by name, each meshed or not, or why there are none.
type Tried = Result<Vec<(String, Result<MadeBody, NotMade>)>, Refusal>;

/// Makes one part, which knows of `neighbours`.
fn tried(job: &Job, i: usize, neighbours: &[Neighbour<'_>]) -> Tried {
    let part = &job.parts()[i];
    let context = PartContext { made: neighbours, ..job.context(part) };
    let mut bodies = (part.kind().make)(&context, part.values())?;
    if let Some(cavity) = part.cavity() {
        beyond(cavity, &bodies).map_or(Ok(()), Err)?;
        let text = cavity.told();
        let note = Message { severity: Severity::Note, text, hint: None };
        bodies.iter_mut().for_each(|body| body.messages.push(note.clone()));
        let values = part.values();
        let painted = values.rows().iter().any(|row| row.key == "coat");
        let coat = if painted { values.number("coat") } else { 0.0 };
        let filled = bodies.into_iter().map(|body| fill(&context, cavity, coat, body));
        bodies = filled.collect();
    }
    let meshed = |body: Body| {
        let name = body.name.clone();
        (name, MadeBody::new(body, job.chord(), context.printer, context.material))
    };
    Ok(each(bodies, meshed))
}

/// The first body that does not lie within the stretch of its cavity.
fn beyond(cavity: &Cavity, bodies: &[Body]) -> Option<Refusal> {
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
        let key = if over > under { "to_z" } else { "from_z" };
        Some(Refusal::new(reason).at(values, key).hint(hint))
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

/// A chassis reaches past the bore from this far on, mm: less is what a coarse mesh
/// and two decimals of a caliper leave.
const PAST_BORE: f64 = 0.05;

/// What is odd about the job's chassis as such: how its file was read, and whether it
/// goes into the bore.
fn chassis_messages(job: &Job) -> Vec<Message> {
    let Some(chassis) = job.chassis() else { return Vec::new() };
    let name = chassis.name();
    let note = |remark: &String| Message {
        severity: Severity::Note,
        text: format!("the chassis {name}: {remark}"),
        hint: None,
    };
    let mut out: Vec<Message> = chassis.remarks().iter().map(note).collect();
    let handle = job.handle();
    let radius = handle.bore().smallest() / 2.0;
    let past = chassis.furthest(0.0, handle.length());
    if let Some(at) = past.filter(|at| at.xy().norm() > radius + PAST_BORE) {
        let (low, high) = chassis.bounds();
        let middle = (low.xy() + high.xy()) / 2.0;
        let hint = if middle.norm() > PAST_BORE {
            format!(
                "shift_x, shift_y, turn and axis of [chassis] say where it lies: its middle is \
                 ({:.2}, {:.2}) mm off the bore's axis",
                middle.x + 0.0,
                middle.y + 0.0
            )
        } else {
            "look at unit and axis of [chassis] and at the readings of the bore; else it must be \
             made thinner"
                .to_owned()
        };
        let text = format!(
            "the chassis {name} reaches {:.2} mm from the bore's axis at z = {:.2}, and the bore's \
             least radius is {radius:.2}: it does not slide in",
            at.xy().norm(),
            at.z
        );
        out.push(Message { severity: Severity::Warning, text, hint: Some(hint) });
    }
    out
}

/// Tells each body which bodies of parts before its own reach into its room, and
/// the chassis that it goes into, so that the checks see whether they overlap.
fn meet(job: &Job, made: &mut [Made]) {
    for body in made.iter_mut().flat_map(|part| &mut part.bodies) {
        body.body.declared.chassis = job.chassis().cloned();
    }
    // Said once, by the first.
    if let Some(body) = made.iter_mut().find_map(|part| part.bodies.first_mut()) {
        body.body.messages.extend(chassis_messages(job));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::files;
    use crate::measure::{Library, Source};
    use crate::parts::PART_KINDS;

    #[test]
    fn what_is_made_again_is_as_if_it_were_made_anew() {
        let text = include_str!("../../examples/ember-wand.toml");
        let ring =
            "\n[[part]]\nkind = \"adapter_ring\"\nname = \"ring\"\nlength = 20\ninner = 18\n";
        let text = format!("{text}{ring}");
        let read = |text: &str| {
            let source = Source::new("wand.toml", text).expect("UTF-8");
            Job::read(&source, Library::shipped(), PART_KINDS).unwrap_or_else(|f| panic!("{f}"))
        };
        let bytes =
            |job: &Job, made: &[Made]| files(job, made, "1970-01-01T00:00:00").expect("small");
        let mut kept = Kept::default();
        let edits = [
            text.clone(),
            text.replace("wires = 4", "wires = 2"),
            text.replace("inner = 18", "inner = 17"),
            text.replace("length = 150", "length = 160"),
            text.replace("bore = [23.78", "bore = [23.79"),
            format!("# one line more\n{text}"),
            text.replace(ring, ""),
            text.clone(),
        ];
        for (i, text) in edits.iter().enumerate() {
            let job = read(text);
            let again = make_again(&job, &mut kept).unwrap_or_else(|e| panic!("{e}"));
            let anew = make(&job).unwrap_or_else(|e| panic!("{e}"));
            assert!(bytes(&job, &again) == bytes(&job, &anew), "edit {i}");
            let known = (kept.parts.len(), kept.took.len());
            assert_eq!(known, (job.parts().len(), job.parts().len()), "edit {i}");
        }
        // The other part is not made again.
        let job = read(&text.replace("inner = 18", "inner = 17"));
        let tray = Kept::origin(&job, 0);
        assert!(tray.is_some() && kept.found("tray", tray.as_ref()).is_some());
        assert!(kept.found("ring", Kept::origin(&job, 1).as_ref()).is_none());
    }
}
