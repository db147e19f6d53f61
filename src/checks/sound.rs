//! Is the mesh the boundary of a body at all.

use super::finding::{point, short};
use super::{Analysis, Check, CheckContext, Finding, Limit, Place, Severity};
use crate::measure::{Unit, Vec3};

pub(super) const CHECK: Check = Check {
    name: "sound_mesh",
    summary: "open, flipped, crossing or doubled facets; several shells; wrong unit",
    upright: false,
    run,
};

/// Triangles up to which crossings are searched: beyond, the search takes
/// seconds.
const CROSSINGS_LOOKED_FOR: usize = 500_000;

/// Crossings after which the search ends.
const MOST_CROSSINGS: usize = 1000;

/// Facets cross if an edge passes a plane by more than this on both sides, mm:
/// float noise of touching facets stays below.
const CROSSING: f64 = 1e-4;

/// A part smaller than this on all sides is probably drawn in another unit,
/// mm; one larger, too. Chassis inserts measure 5 to 300 mm. Common practice,
/// no source.
const SMALL: f64 = 3.0;
const LARGE: f64 = 1500.0;

fn run(context: &CheckContext<'_>) -> Vec<Finding> {
    let analysis = context.analysis;
    let (soup, topology) = (analysis.soup(), analysis.topology());
    let mut findings = Vec::new();
    for remark in context.remarks {
        let severity = if remark.grave { Severity::Error } else { Severity::Note };
        findings.push(finding(severity, remark.text.clone()));
    }
    let edge_at = |&(i, k): &(u32, u8)| {
        let t = soup.triangles()[i as usize];
        let [a, b] = [t[k as usize], t[(k as usize + 1) % 3]];
        (soup.vertices()[a as usize] + soup.vertices()[b as usize]) * 0.5
    };
    let mut edges = |list: &[(u32, u8)], severity, what: &str, hint: &str| {
        let Some(first) = list.first() else { return };
        let at = edge_at(first);
        let text = format!("{} {what}, the first at {}", list.len(), point(at));
        let triangles = list.iter().map(|e| e.0).collect();
        findings.push(counted(severity, text, list.len(), at, triangles).hint(hint));
    };
    edges(
        &topology.open,
        Severity::Error,
        "edges are open: the surface has holes there",
        "close the surface in the program that made it",
    );
    edges(
        &topology.crowded,
        Severity::Error,
        "edges are shared by three facets or more",
        "bodies that touch along an edge must be joined or moved apart",
    );
    edges(
        &topology.turned,
        Severity::Error,
        "edges lie between facets that face opposite ways",
        "flip the facets that face inwards",
    );
    let mut facets = |list: &[u32], severity, what: &str, hint: &str| {
        let Some(first) = list.first() else { return };
        let at = analysis.centre(*first);
        let text = format!("{} {what}, the first at {}", list.len(), point(at));
        findings.push(counted(severity, text, list.len(), at, list.to_vec()).hint(hint));
    };
    facets(
        &topology.duplicates,
        Severity::Error,
        "facets are there twice",
        "remove the second of each",
    );
    facets(
        &topology.degenerate,
        Severity::Note,
        "facets have no area",
        "slicers pass over them; a coarser export has fewer",
    );
    if analysis.turned_over() {
        let text = "the mesh is inside out: its volume is negative".to_owned();
        findings.push(
            finding(Severity::Error, text).hint("flip all facets; the other checks took it so"),
        );
    }
    let (volume, _) = analysis.mass();
    if topology.is_closed() && volume <= f64::EPSILON * extent(analysis).powi(3) {
        let text = "the mesh encloses no volume".to_owned();
        findings.push(finding(Severity::Error, text).hint("it is a surface; give it a thickness"));
    }
    findings.extend(crossings(analysis));
    findings.extend(shells(analysis));
    findings.extend(unit(analysis));
    findings
}

fn finding(severity: Severity, text: String) -> Finding {
    Finding::new(CHECK.name, severity, text)
}

fn counted(
    severity: Severity,
    text: String,
    count: usize,
    at: Vec3,
    triangles: Vec<u32>,
) -> Finding {
    finding(severity, text)
        .at(Place::triangles(at, triangles))
        .measured(count as f64, Unit::One)
        .limit(&Limit::own(0.0, "the boundary of a body has none"))
}

fn extent(analysis: &Analysis) -> f64 {
    let (low, high) = analysis.bounds();
    (high - low).max()
}

/// Facets that cross others. Facets that share a corner are not looked at, nor
/// such as overlap in one plane: doubled ones are found by their corners.
fn crossings(analysis: &Analysis) -> Option<Finding> {
    let soup = analysis.soup();
    let count = soup.triangles().len();
    if count > CROSSINGS_LOOKED_FOR {
        let text = format!(
            "crossing facets are looked for in meshes of up to {CROSSINGS_LOOKED_FOR} triangles; \
             this has {count}"
        );
        return Some(finding(Severity::Note, text));
    }
    let mut found: Vec<u32> = Vec::new();
    let mut pairs = 0usize;
    analysis.bvh().pairs(|i, j| {
        let (s, t) = (soup.triangles()[i as usize], soup.triangles()[j as usize]);
        if !s.iter().any(|v| t.contains(v)) {
            let facet = |i: u32| Facet {
                corners: soup.corners(i as usize),
                normal: analysis.topology().normals[i as usize],
            };
            if cross(&facet(i), &facet(j)) {
                found.extend([i, j]);
                pairs += 1;
            }
        }
        pairs < MOST_CROSSINGS
    });
    let first = *found.first()?;
    let more = if pairs == MOST_CROSSINGS { " or more" } else { "" };
    let at = analysis.centre(first);
    let text = format!("{pairs}{more} pairs of facets cross, the first at {}", point(at));
    let hint = "join the bodies that overlap; slicers guess which side is inside";
    Some(counted(Severity::Warning, text, pairs, at, found).hint(hint))
}

/// A triangle with its unit normal.
struct Facet {
    corners: [Vec3; 3],
    normal: Vec3,
}

/// Whether an edge of one passes clearly through the other.
fn cross(s: &Facet, t: &Facet) -> bool {
    let heights =
        |f: &Facet, over: &Facet| f.corners.map(|p| (p - over.corners[0]).dot(&over.normal));
    let straddles =
        |h: &[f64; 3]| h.iter().any(|x| *x > CROSSING) && h.iter().any(|x| *x < -CROSSING);
    let over_t = heights(s, t);
    if !straddles(&over_t) {
        return false;
    }
    let over_s = heights(t, s);
    straddles(&over_s) && (pierces(s, t, &over_t) || pierces(t, s, &over_s))
}

fn pierces(s: &Facet, t: &Facet, heights: &[f64; 3]) -> bool {
    (0..3).any(|k| {
        let l = (k + 1) % 3;
        let (from, to) = (heights[k], heights[l]);
        if !(from > CROSSING && to < -CROSSING || from < -CROSSING && to > CROSSING) {
            return false;
        }
        let p = s.corners[k] + (s.corners[l] - s.corners[k]) * (from / (from - to));
        (0..3).all(|i| {
            let (u, v) = (t.corners[i], t.corners[(i + 1) % 3]);
            (v - u).cross(&(p - u)).dot(&t.normal) > CROSSING * (v - u).norm()
        })
    })
}

fn shells(analysis: &Analysis) -> Option<Finding> {
    let volumes = &analysis.topology().volumes;
    let outer = volumes.iter().filter(|v| **v > 0.0).count();
    if outer < 2 || !analysis.topology().is_closed() {
        return None;
    }
    let smallest = (0..volumes.len()).filter(|&i| volumes[i] > 0.0);
    let smallest = smallest.min_by(|&a, &b| volumes[a].total_cmp(&volumes[b]))?;
    let shell = &analysis.topology().shell;
    let triangles: Vec<u32> =
        (0..shell.len() as u32).filter(|&i| shell[i as usize] == smallest as u32).collect();
    let at = analysis.centre(*triangles.first()?);
    let text = format!(
        "{outer} separate shells, the smallest of {} mm3 at {}",
        short(volumes[smallest]),
        point(at)
    );
    let severity = if outer > 2 { Severity::Warning } else { Severity::Note };
    Some(
        finding(severity, text)
            .at(Place::triangles(at, triangles))
            .measured(outer as f64, Unit::One)
            .limit(&Limit::own(1.0, "one body has one outer shell"))
            .hint("join them, or export each body into a file of its own"),
    )
}

fn unit(analysis: &Analysis) -> Option<Finding> {
    let size = extent(analysis);
    let guess = if size < 0.5 {
        "metres: try --unit m"
    } else if size < SMALL {
        "inches: try --unit inch"
    } else if size > LARGE {
        "micrometres, or too large a scale: try --unit um"
    } else {
        return None;
    };
    let text = format!("it measures {} mm at most; it is probably drawn in {guess}", short(size));
    let (limit, severity) = if size > LARGE {
        (Limit::own(LARGE, "largest sensible part; common practice"), Severity::Error)
    } else {
        (Limit::own(SMALL, "smallest sensible part; common practice"), Severity::Warning)
    };
    let found = finding(severity, text).measured(size, Unit::Mm).limit(&limit);
    Some(found.hint("give the unit of the file with --unit"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::Welder;

    /// So many facets across x, each of which so many across y cross.
    fn lattice(across_x: u32, across_y: u32) -> Analysis {
        let mut welder = Welder::default();
        let mut sheet = |corners: [Vec3; 3]| welder.push(corners).expect("few triangles");
        let (wide, high) = (f64::from(across_x + 2), f64::from(across_y + 2));
        for i in 0..across_x {
            let x = f64::from(i);
            let at = |y: f64, z: f64| Vec3::new(x, y, z);
            sheet([at(-2.0, -9.0), at(high, -9.0), at(0.5 * high, 9.0)]);
        }
        for i in 0..across_y {
            let y = f64::from(i) + 0.5 * f64::from(u8::from(across_y == 1));
            let at = |x: f64, z: f64| Vec3::new(x, y, z);
            sheet([at(-2.0, -8.0), at(wide, -8.0), at(0.5 * wide, 8.0)]);
        }
        Analysis::new(welder.finish())
    }

    #[test]
    fn a_facet_crosses_where_its_edges_pass_through_another_only() {
        let facet = |corners: [[f64; 3]; 3]| {
            let corners = corners.map(Vec3::from);
            let normal = (corners[1] - corners[0]).cross(&(corners[2] - corners[0])).normalize();
            Facet { corners, normal }
        };
        let plate = facet([[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [0.0, 4.0, 0.0]]);
        // Two of its edges pass through the plate's plane, at (2, 1) and (1, 2) beside `x`, `y`.
        let tip = |x: f64, y: f64| {
            facet([[x - 1.0, y - 1.0, 1.0], [x + 11.0, y + 7.0, -3.0], [x + 7.0, y + 11.0, -3.0]])
        };
        for (x, y, crosses) in [(0.0, 0.0, true), (2.0, 2.0, false), (-3.0, -3.0, false)] {
            assert_eq!(cross(&tip(x, y), &plate), crosses, "{x} {y}");
            assert_eq!(cross(&plate, &tip(x, y)), crosses, "{x} {y}");
        }
    }

    #[test]
    fn crossing_facets_are_counted_up_to_a_limit() {
        let few = crossings(&lattice(3, 1)).expect("they cross");
        assert!(few.text.starts_with("3 pairs of facets cross"), "{}", few.text);
        let many = crossings(&lattice(40, 40)).expect("they cross");
        let wanted = format!("{MOST_CROSSINGS} or more pairs of facets cross");
        assert!(many.text.starts_with(&wanted), "{}", many.text);
        assert!(crossings(&lattice(3, 0)).is_none());
    }
}
