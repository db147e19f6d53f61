//! The sizes of a body that a drawing shows: those that its part says a caliper reads, its
//! outside where it is round, and how large it is over all. All are measured on the solid.

use crate::job::MadeBody;
use crate::measure::{Measured, Unit, Vec3};
use crate::mesh::Mesh;
use crate::parts::{Caliper, Computed, Jaws};
use crate::solid::Solid;

/// Sizes that differ by less than this between the same places are one, mm: float noise.
const SAME: f64 = 1e-6;

/// How far the report's number of a size may be from what its caliper finds on the solid, mm:
/// the grid that sections are snapped to, at both ends.
pub(super) const AGREES: f64 = 2e-3;

/// Places on one line that are nearer than this are one, mm: below the least gap of a solid.
const ONE_PLACE: f64 = 1e-3;

/// Levels at which a round outside is looked for, as shares of the body's length: the middle
/// first, where ends have no chamfers.
const LEVELS: [f64; 7] = [0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92];

/// A size of a body.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    /// Its key: that of the report's row, or `over_all_length`, `over_all_width`,
    /// `over_all_height`.
    pub key: String,
    /// What it is, for people.
    pub what: String,
    /// The size, mm.
    pub value: f64,
    /// The unit direction that it is measured along.
    pub along: Vec3,
    /// The two places of the solid's surface, mm.
    pub ends: [Vec3; 2],
    /// Whether it is a diameter.
    pub round: bool,
    /// Whether there is air between the two places.
    pub open: bool,
    /// Lower and upper deviation of a print, mm, where a fit counts on it.
    pub tolerance: Option<(f64, f64)>,
}

impl Size {
    /// Whether another is the same size between the same levels.
    fn repeats(&self, other: &Size) -> bool {
        let (own, others) = (self.levels(self.along), other.levels(self.along));
        self.along.cross(&other.along).norm() < SAME
            && (own.0 - others.0).abs() < SAME
            && (own.1 - others.1).abs() < SAME
    }

    fn levels(&self, along: Vec3) -> (f64, f64) {
        let [a, b] = self.ends.map(|p| p.dot(&along));
        (a.min(b), a.max(b))
    }
}

/// The sizes of a body, each once; `mesh` is of its solid, and `up` the direction of its views
/// that is up, square to the bore's axis. A row whose caliper does not find on the solid what
/// the report says, since another cut of the part crosses its line, is left to the report.
pub fn sizes(made: &MadeBody, mesh: &Mesh, up: Vec3) -> Vec<Size> {
    let aside = Vec3::z().cross(&up);
    let solid = &made.body.solid;
    let mut all: Vec<Size> = Vec::new();
    let mut add = |size: Size| {
        if !all.iter().any(|known| known.repeats(&size)) {
            all.push(size);
        }
    };
    for row in made.body.computed.iter().filter(|row| row.unit == Unit::Mm) {
        let found = match row.caliper {
            Some(caliper) => read(solid, mesh, &caliper, row.value).map(|found| (caliper, found)),
            None => felt(row, made, mesh, [aside, up]),
        };
        if let Some((caliper, found)) = found {
            add(Size {
                key: row.key.clone(),
                what: row.what.clone(),
                value: found.value,
                along: caliper.along,
                ends: found.ends,
                round: caliper.round,
                open: found.open,
                tolerance: tolerance(made, row.value),
            });
        }
    }
    let whole = [
        ("over_all_length", "length over all, along the bore", Vec3::z()),
        ("over_all_height", "height over all", up),
        ("over_all_width", "width over all", aside),
    ];
    for (key, what, along) in whole {
        let ends = [solid.furthest(-along), solid.furthest(along)];
        let value = (ends[1] - ends[0]).dot(&along);
        add(Size {
            key: key.to_owned(),
            what: what.to_owned(),
            value,
            along,
            ends,
            round: false,
            open: false,
            tolerance: tolerance(made, value),
        });
    }
    without_diameters(all)
}

/// Sizes over all that a diameter says already are left out.
fn without_diameters(all: Vec<Size>) -> Vec<Size> {
    let round: Vec<f64> = all.iter().filter(|s| s.round && !s.open).map(|s| s.value).collect();
    let said = |size: &Size| {
        size.key.starts_with("over_all") && round.iter().any(|d| (d - size.value).abs() < SAME)
    };
    all.into_iter().filter(|size| !said(size)).collect()
}

/// What a caliper finds on a solid.
struct Found {
    ends: [Vec3; 2],
    value: f64,
    open: bool,
}

/// What a caliper finds, if it is what the report says.
fn read(solid: &Solid, mesh: &Mesh, caliper: &Caliper, said: f64) -> Option<Found> {
    let hits = crossings(solid, mesh, caliper);
    let place = |t: f64| caliper.through + caliper.along * t;
    let before = hits.iter().rev().find(|t| **t < 0.0);
    let inside = hits.iter().filter(|t| **t < 0.0).count() % 2 == 1;
    let (ends, open) = match caliper.jaws {
        Jaws::Over => ([place(*hits.first()?), place(*hits.last()?)], false),
        Jaws::Between => {
            let after = hits.iter().find(|t| **t >= 0.0)?;
            ([place(*before?), place(*after)], !inside)
        }
        Jaws::Depth => ([place(*before?), solid.furthest(caliper.along)], !inside),
    };
    let value = (ends[1] - ends[0]).dot(&caliper.along);
    ((value - said).abs() <= AGREES).then_some(Found { ends, value, open })
}

/// Where a line meets the surface of a solid, in rising order along it: found on its mesh,
/// then moved onto the exact face.
fn crossings(solid: &Solid, mesh: &Mesh, caliper: &Caliper) -> Vec<f64> {
    let (p, d) = (caliper.through, caliper.along);
    let mut hits: Vec<f64> = Vec::new();
    for i in 0..mesh.triangles().len() {
        let [a, b, c] = mesh.corners(i);
        let normal = (b - a).cross(&(c - a));
        let lean = normal.dot(&d);
        if lean.abs() <= SAME * normal.norm() {
            continue;
        }
        let t = normal.dot(&(a - p)) / lean;
        let at = p + d * t;
        let within = [(a, b), (b, c), (c, a)].into_iter().all(|(from, to)| {
            (to - from).cross(&(at - from)).dot(&normal) >= -SAME * normal.norm()
        });
        if within {
            hits.push(onto(solid, mesh.face_of()[i] as usize, p, d, t));
        }
    }
    hits.sort_by(f64::total_cmp);
    // Triangles that share an edge on the line both have it.
    hits.dedup_by(|t, before| *t - *before < ONE_PLACE);
    hits
}

/// The place of a line that lies on a face's surface, near one that lies on its mesh: by
/// Newton's method.
fn onto(solid: &Solid, face: usize, p: Vec3, d: Vec3, near: f64) -> f64 {
    const STEPS: usize = 8;
    let surface = &solid.faces()[face].surface;
    let mut t = near;
    for _ in 0..STEPS {
        let at = p + d * t;
        let lean = surface.normal(at).dot(&d);
        if lean.abs() < SAME {
            return near;
        }
        t -= surface.distance(at) / lean;
    }
    if (t - near).abs() < 1.0 { t } else { near }
}

/// Where a round outside, which its row says is turned in the jaws, is on the body.
fn felt(row: &Computed, made: &MadeBody, mesh: &Mesh, ways: [Vec3; 2]) -> Option<(Caliper, Found)> {
    let reading = row.reading.as_ref()?;
    if reading.what != Measured::Outside || reading.axis.is_some() {
        return None;
    }
    let (low, high) = (made.bounds.0.z, made.bounds.1.z);
    let tries = ways.into_iter().flat_map(|way| LEVELS.map(|share| (way, share)));
    let mut found = tries.filter_map(|(along, share)| {
        let through = Vec3::z() * (low + (high - low) * share);
        let caliper = Caliper { through, along, jaws: Jaws::Over, round: true };
        let found = read(&made.body.solid, mesh, &caliper, row.value)?;
        let [a, b] = found.ends.map(|p| (p - through).dot(&along));
        ((a + b).abs() < AGREES).then_some((caliper, found))
    });
    found.next()
}

/// How far a print may be from a size by what its fits count on: the reach of the term that
/// stands for that printed size in a chain.
fn tolerance(made: &MadeBody, value: f64) -> Option<(f64, f64)> {
    let terms = made.body.declared.matings.iter().flat_map(|mating| &mating.terms);
    let term = terms
        .filter(|term| term.what.ends_with("printed"))
        .find(|term| (term.value.abs() - value).abs() < SAME)?;
    // A size that closes the gap has its deviations the other way round there.
    let (low, high) = term.reach;
    Some(if term.value < 0.0 { (-high, -low) } else { (low, high) })
}
