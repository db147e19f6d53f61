use super::*;
use crate::measure::{Library, Source};
use crate::mesh::{Bvh, Soup};
use crate::parts::PART_KINDS;

fn examples() -> Vec<(String, Job, Vec<Made>)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/examples");
    let entries = std::fs::read_dir(folder).expect("the examples are there");
    let mut paths: Vec<_> = entries.map(|e| e.expect("readable").path()).collect();
    paths.retain(|p| p.extension().is_some_and(|e| e == "toml"));
    paths.sort();
    paths
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).expect("a text");
            let source = Source::new("job.toml", text).expect("a text");
            let job = Job::read(&source, Library::shipped(), PART_KINDS).expect("valid");
            let made = crate::job::make(&job).expect("made");
            (path.display().to_string(), job, made)
        })
        .collect()
}

/// The numbers of reports are computed from a part's plan; here they meet what lines through
/// the exact solid find.
#[test]
fn calipers_find_on_the_solid_what_the_report_says() {
    let (mut wanted, mut lost) = (0, Vec::new());
    let mut kinds = std::collections::BTreeSet::new();
    for (path, _, made) in examples() {
        for (part, body) in made.iter().flat_map(|p| p.bodies.iter().map(move |b| (p, b))) {
            let mesh = line_mesh(&body.body.solid).expect("it meshes");
            let all = sizes(body, &mesh, up_of(body));
            for row in body.body.computed.iter().filter(|row| row.caliper.is_some()) {
                wanted += 1;
                // One that is the same between the same levels stands for it.
                let found = all.iter().any(|s| (s.value - row.value).abs() <= sizes::AGREES);
                match found {
                    true => drop(kinds.insert(part.kind.name)),
                    false => {
                        lost.push(format!("{path} {} {} {}", body.body.name, row.key, row.value))
                    }
                }
            }
            for size in &all {
                let [a, b] = size.ends;
                let apart = (b - a).dot(&size.along);
                assert!((apart.abs() - size.value).abs() < 1e-9, "{}", size.key);
                for end in size.ends {
                    let surfaces = body.body.solid.faces().iter().map(|f| f.surface.distance(end));
                    let off = surfaces.map(f64::abs).fold(f64::INFINITY, f64::min);
                    assert!(off < 1e-6, "{} {}: {off} mm off the solid", body.body.name, size.key);
                }
            }
        }
    }
    assert!(wanted >= 60, "{wanted} rows say how they are read");
    // The wands' trays have ducts below the middle of the trough.
    assert!(lost.len() * 20 <= wanted, "{lost:#?}");
    assert_eq!(kinds.len(), PART_KINDS.len(), "a size of each kind: {kinds:?}");
}

/// The size that sits in the bore is on the sheet with what a print of it may be off, also
/// where the body's outside is cut and no caliper turns on it. A body that is less than half
/// round has no such size.
#[test]
fn what_sits_in_the_bore_has_a_tolerance() {
    let mut wanted = 0;
    for (path, _, made) in examples() {
        for body in made.iter().flat_map(|part| &part.bodies) {
            let terms = body.body.declared.matings.iter().flat_map(|mating| &mating.terms);
            let mut outside = terms.filter(|term| term.what == "outside, printed");
            let width = body.bounds.1.x - body.bounds.0.x;
            let Some(term) = outside.next().filter(|term| width > -term.value - 1e-3) else {
                continue;
            };
            wanted += 1;
            let mesh = line_mesh(&body.body.solid).expect("it meshes");
            let all = sizes(body, &mesh, up_of(body));
            let size = all.iter().find(|s| (s.value + term.value).abs() < 1e-6);
            let shown = size.and_then(|size| size.tolerance);
            assert_eq!(shown, Some((-term.reach.1, -term.reach.0)), "{path} {}", body.body.name);
        }
    }
    assert!(wanted >= 10, "{wanted}");
}

/// Seen and hidden lines by rays through a tree of the same triangles: other code, and no
/// splitting.
#[test]
fn rays_agree_on_what_is_hidden() {
    let (mut looked, mut wrong) = (0u32, Vec::new());
    for (path, _, made) in examples() {
        for body in made.iter().flat_map(|part| &part.bodies) {
            let mesh = line_mesh(&body.body.solid).expect("it meshes");
            let soup = Soup::from(&mesh);
            let tree = Bvh::new(&soup);
            let (views, _) = views(body, &mesh, &[]);
            for view in views.iter().filter(|view| view.cut.is_none()) {
                let eye = view.lines.eye();
                for (runs, hidden) in [(&view.lines.seen, false), (&view.lines.hidden, true)] {
                    for pair in runs.iter().flat_map(|run| run.windows(2)) {
                        if (pair[1] - pair[0]).norm() < 0.05 {
                            continue;
                        }
                        // Not in its middle, where rays meet edges of facets head on.
                        let p = pair[0] + (pair[1] - pair[0]) * 0.37;
                        let side = Vec2::new(pair[0].y - pair[1].y, pair[1].x - pair[0].x);
                        looked += 1;
                        if !agrees(&tree, eye, p, side.normalize(), hidden) {
                            let word = if hidden { "hidden" } else { "seen" };
                            wrong.push(format!(
                                "{path} {} {:?} {word} {p:?}",
                                body.body.name, view.place
                            ));
                        }
                    }
                }
            }
        }
    }
    assert!(looked > 5_000, "{looked}");
    let share = wrong.len() as f64 / f64::from(looked);
    assert!(share <= DOUBTFUL, "{} of {looked}: {:#?}", wrong.len(), &wrong[..wrong.len().min(8)]);
}

/// How far beside a line rays are sent, mm: less than any details, more than float noise.
const BESIDE: f64 = 0.002;

/// Share of lines at which rays may say something else: they take a facet that is seen nearly
/// from its edge for a line, and two surfaces less than [`BESIDE`] apart for one.
const DOUBTFUL: f64 = 0.01;

/// A line of the surface is seen where the first surface of the body changes across it: its
/// depth or its way to lean. Where it is hidden, the first surface goes on across it.
fn agrees(tree: &Bvh, eye: &Eye, p: Vec2, side: Vec2, hidden: bool) -> bool {
    const FAR: f64 = 1e3;
    let first = |q: Vec2| {
        let from = eye.right() * q.x + eye.up() * q.y + eye.toward() * FAR;
        tree.ray(from, -eye.toward(), 0.0).map(|touch| touch.reach)
    };
    let at = |k: f64| first(p + side * (k * BESIDE));
    let [a, b, c, d] = [at(-2.0), at(-1.0), at(1.0), at(2.0)];
    let smooth = match (a, b, c, d) {
        (Some(a), Some(b), Some(c), Some(d)) => {
            // Second differences of a surface that goes on as a plane or a gentle round.
            let bend = ((c - b) / 2.0 - (b - a)).abs().max(((c - b) / 2.0 - (d - c)).abs());
            bend < 0.1 * BESIDE
        }
        (None, None, None, None) => true,
        _ => false,
    };
    smooth == hidden
}
