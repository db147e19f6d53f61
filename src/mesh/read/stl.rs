//! STL, binary and text.

use super::{MAX_TRIANGLES, MeshFormat, ReadError, ReadMesh, Remark, Welder, one_body, short_name};
use crate::measure::Vec3;

/// Bytes before the first triangle: a header of 80 and the count.
pub(super) const START: usize = 84;
/// Bytes of a triangle: normal, three corners, two spare bytes.
pub(super) const TRIANGLE: usize = 50;

/// How far into a file the words of a text STL are looked for, bytes.
const PROBE: usize = 2048;

fn declared(bytes: &[u8]) -> Option<u64> {
    let count = bytes.get(80..START)?;
    Some(u64::from(u32::from_le_bytes(count.try_into().expect("four bytes"))))
}

/// Whether the length is just that of a binary STL with its count. A text
/// file has that length only by a chance of one in four thousand million.
pub(super) fn is_binary_by_length(bytes: &[u8]) -> bool {
    declared(bytes)
        .is_some_and(|count| bytes.len() as u64 == START as u64 + count * TRIANGLE as u64)
}

/// Whether it begins like a text STL: `solid`, and then nothing but text.
pub(super) fn looks_like_text(bytes: &[u8]) -> bool {
    let start = bytes.trim_ascii_start();
    let probe = &start[..start.len().min(PROBE)];
    let solid = probe.get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"solid"));
    // A header of a binary file may say `solid`; it is padded with zeros and
    // followed by numbers, which hold bytes that no text has.
    solid && !probe.iter().any(|b| *b < 9 || (14..32).contains(b))
}

pub(super) fn read_binary(bytes: &[u8], scale: f64) -> Result<ReadMesh, ReadError> {
    let Some(declared) = declared(bytes) else {
        let reason = format!(
            "{} bytes are too few for a binary STL, and no text of the others",
            bytes.len()
        );
        return Err(ReadError::Unknown { reason });
    };
    let body = &bytes[START..];
    let held = (body.len() / TRIANGLE) as u64;
    let spare = body.len() % TRIANGLE;
    let mut remarks = Vec::new();
    let count = if declared == held && spare == 0 {
        held
    } else {
        // Any bytes can be taken for a binary STL; only a count near the truth
        // or numbers of a sensible size make it likely.
        if !plausible(body) {
            let reason = format!(
                "as a binary STL it would hold {held} triangles and {spare} odd bytes, its header \
                 says {declared}, and the numbers are no coordinates"
            );
            return Err(ReadError::Unknown { reason });
        }
        let cut = if declared > held { "; the file is cut short" } else { "" };
        let text = format!(
            "the header says {declared} triangles, the file holds {held}{cut}; {held} are read"
        );
        remarks.push(Remark { grave: declared > held, text });
        held
    };
    if count > MAX_TRIANGLES as u64 {
        return Err(ReadError::TooMany { triangles: count });
    }
    let mut welder = Welder::default();
    for triangle in body.chunks_exact(TRIANGLE).take(count as usize) {
        let corner = |i: usize| {
            let number = |j: usize| {
                let at = 12 + 12 * i + 4 * j;
                let four = triangle[at..at + 4].try_into().expect("four bytes");
                f64::from(f32::from_le_bytes(four)) * scale
            };
            Vec3::new(number(0), number(1), number(2))
        };
        welder.push([corner(0), corner(1), corner(2)])?;
    }
    one_body(MeshFormat::StlBinary, String::new(), welder, remarks)
}

/// Whether the first triangles have coordinates that are zero or between a
/// millionth and a million.
fn plausible(body: &[u8]) -> bool {
    /// How many triangles are looked at.
    const LOOKED_AT: usize = 16;
    let mut seen = false;
    for triangle in body.chunks_exact(TRIANGLE).take(LOOKED_AT) {
        seen = true;
        for four in triangle[12..48].chunks_exact(4) {
            let x = f32::from_le_bytes(four.try_into().expect("four bytes")).abs();
            if !(x == 0.0 || (1e-6..1e6).contains(&x)) {
                return false;
            }
        }
    }
    seen
}

pub(super) fn read_text(bytes: &[u8], scale: f64) -> Result<ReadMesh, ReadError> {
    let first = bytes.trim_ascii_start();
    let line = first.split(|b| *b == b'\n').next().unwrap_or_default();
    let name = short_name(line.get(5..).unwrap_or_default());
    let mut welder = Welder::default();
    let mut corners: Vec<Vec3> = Vec::with_capacity(4);
    let mut odd = 0usize;
    let mut solids = 0usize;
    let mut ended = true;
    for (i, line) in bytes.split(|b| *b == b'\n' || *b == b'\r').enumerate() {
        let mut words = line.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty());
        let Some(word) = words.next() else { continue };
        match word.to_ascii_lowercase().as_slice() {
            b"vertex" => {
                let mut number = || -> Option<f64> {
                    // A word that is no number makes the triangle unusable.
                    let word = std::str::from_utf8(words.next()?).ok()?;
                    Some(word.parse::<f64>().unwrap_or(f64::NAN) * scale)
                };
                let Some((x, y, z)) =
                    number().zip(number()).zip(number()).map(|((x, y), z)| (x, y, z))
                else {
                    // The last line of a file that was cut.
                    odd += 1;
                    continue;
                };
                corners.push(Vec3::new(x, y, z));
            }
            b"endloop" | b"endfacet" if !corners.is_empty() => {
                match <[Vec3; 3]>::try_from(corners.as_slice()) {
                    Ok(triangle) => welder.push(triangle)?,
                    Err(_) => odd += 1,
                }
                corners.clear();
            }
            b"solid" => {
                solids += 1;
                ended = false;
            }
            b"endsolid" => ended = true,
            b"facet" | b"outer" | b"endloop" | b"endfacet" => {}
            _ if solids == 0 => {
                return Err(ReadError::broken(format!("line {} is no part of a text STL", i + 1)));
            }
            _ => odd += 1,
        }
    }
    odd += usize::from(!corners.is_empty());
    let mut remarks = Vec::new();
    if odd > 0 || !ended {
        let cut = if ended { "" } else { "; it ends without `endsolid`, so it is cut short" };
        let text = format!("{odd} places of the text are not as the format wants them{cut}");
        remarks.push(Remark { grave: true, text });
    }
    one_body(MeshFormat::StlText, name, welder, remarks)
}
