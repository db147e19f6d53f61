//! What is told about a made spine.

use super::super::build::Ends;
use super::super::caliper::Caliper;
use super::super::{Calculation, Computed, Message, PartContext, Severity};
use super::plan::{Plan, Standing};
use super::runs::Run;
use super::shape::Piece;
use super::totals::{Masses, groups};
use crate::measure::{Unit, Values, Vec3};

/// From an edge of the keel to where a caliper reads it, mm.
const BELOW_EDGE: f64 = 0.2;

fn mm(key: impl Into<String>, what: impl Into<String>, value: f64) -> Computed {
    Computed::new(key, what, value, Unit::Mm)
}

/// Rows of one piece of the keel; `first` has those of the whole spine too.
pub(super) fn of_piece(plan: &Plan<'_>, piece: &Piece) -> Vec<Computed> {
    let mut rows = vec![
        mm("low", "low end", piece.z.0),
        mm("high", "high end", piece.z.1),
        mm("length", "length of the piece", piece.z.1 - piece.z.0),
        mm("chamfer_high", "chamfer at the front", piece.chamfer),
    ];
    rows.extend(plan.fit.computed());
    rows.extend([
        mm("keel_top", "height of the keel's flat", plan.top),
        mm("keel_height", "height of the keel, from the outside to its flat", plan.thickness()),
        mm("keel_width", "width of the keel", 2.0 * plan.half),
        mm("keel_edge", "chamfer along the flat's edges", plan.edge),
        mm("notch_depth", "depth of the notches", plan.seat),
    ]);
    for (i, notch) in plan.notches.iter().enumerate() {
        let n = i + 1;
        rows.push(mm(format!("notch{n}_low"), format!("notch {n} from"), notch.0));
        rows.push(mm(format!("notch{n}_high"), format!("notch {n} to"), notch.1));
    }
    if let Some((hole, places)) = &plan.screws {
        rows.push(mm("screw_hole", "diameter of the screw holes", hole.hole));
        rows.push(mm("screw_recess", "diameter of the heads' recesses", hole.recess));
        let what = "depth at which heads bear";
        rows.push(mm("screw_recess_depth", what, hole.recess_depth));
        if let Some(pilot) = plan.pilot {
            let what = "pilot to drill into the modules";
            rows.push(mm("screw_pilot", what, pilot));
        }
        for (i, z) in places.iter().enumerate() {
            let n = i + 1;
            rows.push(mm(format!("screw{n}_z"), format!("screw {n} at"), *z));
        }
    }
    let joints = &plan.joints;
    if !joints.at.is_empty() {
        rows.push(mm("key_neck", "width of a key's neck", 2.0 * joints.neck));
        rows.push(mm("key_head", "width of a key's head", 2.0 * joints.head));
        rows.push(mm("key_long", "length of a key's neck, and of its head", joints.long));
        rows.push(mm("key_gap", "gap all around a key", joints.gap));
    }
    for (i, z) in joints.at.iter().enumerate() {
        rows.push(mm(format!("joint{}_z", i + 1), format!("joint {} at", i + 1), *z));
    }
    for (i, run) in plan.runs.iter().enumerate() {
        if let (Some(duct), Some(z)) = (&run.duct, run.z) {
            let row = |end: &str, what: &str, value| {
                mm(format!("run{}_{end}", i + 1), format!("run {}: {what}", i + 1), value)
            };
            rows.extend([
                row("duct_left", "side of its duct, x", duct.x.0),
                row("duct_right", "other side of its duct, x", duct.x.1),
                row("duct_depth", "depth of its duct", duct.depth),
                Computed::new(
                    format!("run{}_duct_rows", i + 1),
                    format!("run {}: wires over one another", i + 1),
                    duct.rows as f64,
                    Unit::One,
                ),
                row("duct_low", "its duct from", z.0),
                row("duct_high", "its duct to", z.1),
            ]);
        }
    }
    // Below the flat's chamfers, in the first half before any key.
    let quarter = piece.z.0 + 0.25 * (piece.z.1 - piece.z.0);
    let side = Vec3::new(0.0, plan.top - plan.edge - BELOW_EDGE, quarter);
    let along = Vec3::new(plan.half - plan.edge - BELOW_EDGE, side.y, quarter);
    let gauges = [
        ("keel_width", Caliper::over(side, Vec3::x())),
        ("length", Caliper::over(along, Vec3::z())),
    ];
    Computed::gauged(rows, gauges)
}

/// Rows of the whole spine: lengths, gaps, masses, wires.
pub(super) fn of_all(context: &PartContext<'_>, plan: &Plan<'_>, masses: &Masses) -> Vec<Computed> {
    let (low, high) = plan.ends;
    let bore = context.handle.length();
    let mut rows = vec![
        mm("chassis_low", "low end of the chassis", low),
        mm("chassis_high", "front end of the chassis", high),
        mm("chassis_length", "length of the chassis", high - low),
        mm("bore_left", "bore left in front of the chassis", bore - high),
        Computed::new("modules", "modules joined", plan.modules.len() as f64, Unit::One),
    ];
    for (i, module) in plan.modules.iter().enumerate() {
        let name = module.part.name;
        let key = format!("module{}", i + 1);
        rows.push(mm(format!("{key}_low"), format!("{name} from"), module.low));
        rows.push(mm(format!("{key}_high"), format!("{name} to"), module.high));
        if let Some(gap) = plan.gap_after(i) {
            let next = plan.modules[i + 1].part.name;
            let what = format!("gap from {name} to {next}, negative where they overlap");
            rows.push(mm(format!("gap{}", i + 1), what, gap));
        }
    }
    let centre = masses.centre();
    rows.extend([
        Computed::new("mass_printed", "mass of all printed bodies", masses.printed, Unit::Gram),
        Computed::new("mass_known", "the same and known components", masses.total, Unit::Gram),
        mm("mass_z", "centre of that mass along the bore", centre.z),
        mm("mass_x", "the same, off the bore's axis along x", centre.x),
        mm("mass_y", "the same, off the bore's axis along y", centre.y),
    ]);
    for (i, run) in plan.runs.iter().enumerate() {
        let name = run.name(&plan.modules);
        let row = |end: &str, what: &str, value| {
            mm(format!("run{}_{end}", i + 1), format!("{name}: {what}"), value)
        };
        rows.push(row("length", "length to cut of each wire, with its loop", run.length()));
        rows.push(row("bend_radius", "least radius of its bends", run.radius));
        rows.push(row("bend_needs", "length along z that a bend needs", run.bend.0));
        rows.push(row("bend_room_low", "free behind the module it leaves", run.room[0]));
        rows.push(row("bend_room_high", "free before the module it enters", run.room[1]));
    }
    rows
}

/// Rows of a ring or chair.
pub(super) fn of_standing(plan: &Plan<'_>, standing: &Standing, made: Ends) -> Vec<Computed> {
    let mut rows = vec![
        mm("low", "low end", standing.z.0),
        mm("high", "high end", standing.z.1),
        mm("foot", "height of its foot", plan.foot()),
        mm("chamfer_low", "chamfer at the low end", made.low),
        mm("chamfer_high", "chamfer at the high end", made.high),
    ];
    let middle = Vec3::z() * (0.5 * (standing.z.0 + standing.z.1));
    match standing.top {
        Some(top) => {
            rows.push(mm("top", "height of its top", top));
            let row = mm("width", "width", 2.0 * plan.chair_half);
            rows.push(Computed { caliper: Some(Caliper::over(middle, Vec3::x())), ..row });
        }
        None => {
            let wall = Vec3::new(0.0, plan.fit.radius - 0.5 * plan.ring_wall, middle.z);
            let row = mm("ring_wall", "thickness from the bore inwards", plan.ring_wall);
            rows.push(Computed { caliper: Some(Caliper::between(wall, Vec3::y())), ..row });
            for (i, run) in plan.runs.iter().enumerate() {
                if let Some((middle, radius)) = run.notch {
                    let row = |end: &str, what: &str, value| {
                        mm(format!("run{}_{end}", i + 1), format!("run {}: {what}", i + 1), value)
                    };
                    rows.push(row("notch_x", "middle of its notch, x", middle.x));
                    rows.push(row("notch_y", "middle of its notch, y", middle.y));
                    rows.push(row("notch_radius", "radius of its notch", radius));
                }
            }
        }
    }
    rows.extend(plan.fit.computed());
    rows
}

/// The calculations behind the ducts.
pub(super) fn worked(plan: &Plan<'_>) -> Vec<Calculation> {
    let ducts = plan.runs.iter().enumerate();
    let ducts = ducts.filter_map(|(i, run)| Some((i, run, run.duct.as_ref()?)));
    Calculation::list(ducts.map(|(i, run, duct)| {
        let about = format!("run {}, {}: its duct", i + 1, run.name(&plan.modules));
        (about, duct.input.worked())
    }))
}

fn message(severity: Severity, text: String, hint: Option<String>) -> Message {
    Message { severity, text, hint }
}

/// What a person should know of the whole spine.
pub(super) fn messages(plan: &Plan<'_>, masses: &Masses) -> Vec<Message> {
    let mut out = Vec::new();
    for i in 0..plan.modules.len() {
        if let Some(gap) = plan.gap_after(i).filter(|gap| *gap < 0.0) {
            let (a, b) = (plan.modules[i].part, plan.modules[i + 1].part);
            out.push(message(
                Severity::Warning,
                format!("{} and {} overlap by {:.2} mm along the bore", a.name, b.name, -gap),
                has_place(b.values).then(|| {
                    format!(
                        "{} of {:.2} or more for {}",
                        b.values.path_of("from_z"),
                        plan.modules[i].high,
                        b.name
                    )
                }),
            ));
        }
    }
    for run in &plan.runs {
        if let Some(short) = run.short() {
            out.push(bend_message(plan, run, short));
        }
    }
    out.extend(
        plan.no_ring.iter().map(|why| message(Severity::Note, format!("no ring: {why}"), None)),
    );
    let names = |group: &[usize]| {
        group.iter().map(|&i| plan.modules[i].part.name).collect::<Vec<_>>().join(", ")
    };
    if !plan.runs.is_empty() {
        for group in groups(plan) {
            let text = match group.as_slice() {
                [one] => format!("{} comes out without unsoldering", names(&[*one])),
                many => {
                    format!("{} come out together: the runs between them have no plug", names(many))
                }
            };
            out.push(message(Severity::Note, text, None));
        }
    }
    if !plan.left.is_empty() {
        let text = format!("not on the spine: {}", plan.left.join(", "));
        out.push(message(Severity::Note, text, None));
    }
    if !masses.unknown.is_empty() {
        let text = format!("mass not known, not counted: {}", masses.unknown.join(", "));
        out.push(message(Severity::Note, text, None));
    }
    match &plan.screws {
        Some((_, places)) => {
            let text = format!(
                "{} screws hold the modules from below: drill the pilots into the modules through \
                 the keel's holes, the chassis lying in its order",
                places.len()
            );
            out.push(message(Severity::Note, text, None));
        }
        None => {
            out.extend(Message::glued("the modules are glued on the keel", "let it set on a flat"))
        }
    }
    out
}

fn has_place(values: &Values) -> bool {
    values.rows().iter().any(|row| row.key == "from_z")
}

fn bend_message(plan: &Plan<'_>, run: &Run<'_>, short: f64) -> Message {
    let at = if run.room[0] <= run.room[1] { run.ends.0 } else { run.ends.1 };
    let text = format!(
        "the run {} bends with a radius of {:.2} mm, which needs {:.2} mm along the bore beside {}; \
         {:.2} are free",
        run.name(&plan.modules),
        run.radius,
        run.bend.0,
        plan.modules[at].part.name,
        run.bend.0 - short
    );
    let hint = format!("{short:.2} mm more between the modules there, or thinner wire");
    message(Severity::Warning, text, Some(hint))
}
