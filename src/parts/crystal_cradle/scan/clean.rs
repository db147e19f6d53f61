//! Reading and cleaning a scan.

use super::super::super::Refusal;
use crate::measure::{GivenFile, Values};
use crate::mesh::{FileUnit, Soup, admit, read_mesh};

/// Corners nearer to each other than this, mm, become one.
const WELD: f64 = 5e-4;

/// Shortest and longest stone, mm: as the sections of one that was measured.
const LENGTHS: (f64, f64) = (2.0, 200.0);

/// Least volume over that of the stone's box: less is a scan of a surface.
/// Common practice, no source.
const LEAST_FILL: f64 = 0.05;

/// The stone of a scan.
pub(super) struct Clean {
    pub soup: Soup,
    pub left_out: usize,
    pub turned_over: bool,
}

/// The largest closed shell of a scan, facing outwards.
pub(super) fn clean(file: &GivenFile, values: &Values) -> Result<Clean, Refusal> {
    let refuse = |what: String| Refusal::new(format!("{}: {what}", file.name())).at(values, "scan");
    let unit = FileUnit::named(values.choice("scan_unit"));
    let read = admit(file.bytes(), file.bytes().len() as u64)
        .and_then(|()| read_mesh(file.bytes(), unit))
        .map_err(|e| refuse(e.to_string()).hint(e.hint()))?;
    let all = Soup::joined(read.bodies.into_iter().map(|body| body.soup));
    let given = all.triangles().len();
    let welded = (0..given).map(|i| all.corners(i).map(|p| p.map(|c| (c / WELD).round() * WELD)));
    let welded = Soup::welded(welded.filter(|[a, b, c]| a != b && b != c && c != a));
    let mut largest: Option<Soup> = None;
    for shell in welded.shells() {
        let size = |s: &Soup| s.signed_volume().abs();
        if largest.as_ref().is_none_or(|l| size(&shell) > size(l)) {
            largest = Some(shell);
        }
    }
    let Some(shell) = largest else {
        return Err(refuse("no triangle has an area of any size".into())
            .hint("scan_unit says in what unit the file counts"));
    };
    let open = shell.unpaired_edges();
    if open > 0 {
        return Err(refuse(format!(
            "the stone's surface is open or folded at {open} edges, so it has no inside"
        ))
        .hint("fill its holes in the program of the scanner, and export it again"));
    }
    let (low, high) = shell.bounds();
    let size = high - low;
    let longest = size.max();
    if !(LENGTHS.0..=LENGTHS.1).contains(&longest) {
        let units = FileUnit::ALL.into_iter().filter(|u| {
            let scale = u.millimetres() / unit.map_or(1.0, FileUnit::millimetres);
            (LENGTHS.0..=LENGTHS.1).contains(&(longest * scale))
        });
        let names: Vec<String> = units.map(|u| format!("\"{}\"", u.name())).collect();
        return Err(refuse(format!(
            "the stone is {longest:.4} mm long; one of {} to {} mm is held",
            LENGTHS.0, LENGTHS.1
        ))
        .hint(format!("scan_unit = {} would make it one", names.join(" or "))));
    }
    let volume = shell.signed_volume();
    let fill = volume.abs() / (size.x * size.y * size.z);
    if fill.is_nan() || fill < LEAST_FILL {
        return Err(refuse(format!(
            "it encloses {:.1} mm3, {:.1} % of its box: that is a sheet, not a stone",
            volume.abs(),
            100.0 * fill
        ))
        .hint("a scan must go all around the stone"));
    }
    let left_out = given - shell.triangles().len();
    let turned_over = volume < 0.0;
    let soup = if turned_over { shell.reversed() } else { shell };
    Ok(Clean { soup, left_out, turned_over })
}
