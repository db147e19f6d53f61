//! Wavefront OBJ: points and faces; all else is passed over.

use super::{MAX_TRIANGLES, MeshFormat, ReadError, ReadMesh, Remark, Welder, one_body};
use crate::measure::Vec3;

/// Most corners of a face that are read; more are cut off with a remark.
const MAX_CORNERS: usize = 10_000;

/// How far into a file the first point is looked for, bytes.
const PROBE: usize = 1 << 16;

/// Whether it is a text in which a line begins with `v ` and a number.
pub(super) fn looks_like(bytes: &[u8]) -> bool {
    let probe = &bytes[..bytes.len().min(PROBE)];
    !probe.contains(&0)
        && probe.split(|b| *b == b'\n').any(|line| {
            let mut words = line.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty());
            words.next() == Some(b"v")
                && words
                    .next()
                    .is_some_and(|w| std::str::from_utf8(w).is_ok_and(|w| w.parse::<f64>().is_ok()))
        })
}

pub(super) fn read(bytes: &[u8], scale: f64) -> Result<ReadMesh, ReadError> {
    let mut points: Vec<Vec3> = Vec::new();
    let mut welder = Welder::default();
    let mut wrong_faces = 0usize;
    let mut corners: Vec<Vec3> = Vec::new();
    for line in bytes.split(|b| *b == b'\n') {
        let mut words = line.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty());
        match words.next() {
            Some(b"v") => {
                let mut number = || {
                    let word = words.next().and_then(|w| std::str::from_utf8(w).ok());
                    word.and_then(|w| w.parse::<f64>().ok()).unwrap_or(f64::NAN) * scale
                };
                if points.len() >= 3 * MAX_TRIANGLES {
                    return Err(ReadError::TooMany { triangles: points.len() as u64 / 3 });
                }
                points.push(Vec3::new(number(), number(), number()));
            }
            Some(b"f") => {
                corners.clear();
                let mut wrong = false;
                for word in words {
                    match corner(word, &points) {
                        Some(p) if corners.len() < MAX_CORNERS => corners.push(p),
                        _ => wrong = true,
                    }
                }
                if wrong || corners.len() < 3 {
                    wrong_faces += 1;
                    continue;
                }
                for pair in corners[1..].windows(2) {
                    welder.push([corners[0], pair[0], pair[1]])?;
                }
            }
            _ => {}
        }
    }
    let mut remarks = Vec::new();
    if wrong_faces > 0 {
        let text =
            format!("{wrong_faces} faces name points that do not exist, or fewer than three");
        remarks.push(Remark { grave: true, text });
    }
    one_body(MeshFormat::Obj, String::new(), welder, remarks)
}

/// The point of `12/3/4`: counted from 1, or back from the last if negative.
fn corner(word: &[u8], points: &[Vec3]) -> Option<Vec3> {
    let index = word.split(|b| *b == b'/').next()?;
    let index: i64 = std::str::from_utf8(index).ok()?.parse().ok()?;
    let at = if index < 0 { points.len() as i64 + index } else { index - 1 };
    points.get(usize::try_from(at).ok()?).copied()
}
