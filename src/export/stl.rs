//! Binary STL.

use stl_io::{Normal, Triangle, Vertex};

use crate::measure::Vec3;

/// Bytes of the header of a binary STL.
const HEADER_BYTES: usize = 80;

/// Why triangles cannot be written as STL.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StlError {
    /// A triangle has no area in single precision, which is all an STL holds.
    #[error(
        "triangle {triangle} at ({:.3}, {:.3}, {:.3}) has no area in single precision",
        at.x, at.y, at.z
    )]
    Degenerate {
        /// Index of the triangle.
        triangle: usize,
        /// Its first corner, mm.
        at: Vec3,
    },
    /// A triangle names a vertex that does not exist.
    #[error("triangle {triangle} names vertex {vertex} of {vertices}")]
    NoSuchVertex {
        /// Index of the triangle.
        triangle: usize,
        /// The vertex it names.
        vertex: u32,
        /// Number of vertices.
        vertices: usize,
    },
    /// A coordinate is not finite in single precision.
    #[error("triangle {triangle} has a coordinate that is not a finite number")]
    NotFinite {
        /// Index of the triangle.
        triangle: usize,
    },
    /// More triangles than the format can count.
    #[error("{triangles} triangles are more than an STL can hold")]
    TooMany {
        /// Number of triangles.
        triangles: usize,
    },
}

/// The bytes of a binary STL of triangles whose corners, counter-clockwise
/// from outside, index `vertices` (mm). The format has no unit; millimetres
/// are what slicers assume.
///
/// `header` is a remark for people, cut at 80 bytes. Readers take a file for
/// text if it begins with `solid`, so such a header is set off by a space.
///
/// # Errors
/// See [`StlError`]. A triangle is refused if two corners fall together or all
/// three into one line once rounded to single precision.
pub fn stl(vertices: &[Vec3], triangles: &[[u32; 3]], header: &str) -> Result<Vec<u8>, StlError> {
    if u32::try_from(triangles.len()).is_err() {
        return Err(StlError::TooMany { triangles: triangles.len() });
    }
    let mut out = Vec::with_capacity(triangles.len());
    for (i, corners) in triangles.iter().enumerate() {
        out.push(triangle(vertices, i, corners)?);
    }
    let mut bytes = Vec::with_capacity(HEADER_BYTES + 4 + 50 * out.len());
    stl_io::write_stl(&mut bytes, out.iter()).expect("writing to memory does not fail");
    // The crate leaves the header blank.
    let mut text = header.as_bytes().to_vec();
    if text.get(..5).is_some_and(|start| start.eq_ignore_ascii_case(b"solid")) {
        text.insert(0, b' ');
    }
    let mut end = text.len().min(HEADER_BYTES);
    // No half of a multi-byte character.
    while end < text.len() && text[end] & 0xC0 == 0x80 {
        end -= 1;
    }
    bytes[..end].copy_from_slice(&text[..end]);
    Ok(bytes)
}

fn triangle(vertices: &[Vec3], index: usize, corners: &[u32; 3]) -> Result<Triangle, StlError> {
    let mut single = [[0f32; 3]; 3];
    for (slot, &vertex) in single.iter_mut().zip(corners) {
        let p = vertices.get(vertex as usize).ok_or(StlError::NoSuchVertex {
            triangle: index,
            vertex,
            vertices: vertices.len(),
        })?;
        // Adding zero turns a negative zero into zero: readers that match
        // corners by their bytes would see two different points.
        *slot = [p.x as f32 + 0.0, p.y as f32 + 0.0, p.z as f32 + 0.0];
        if slot.iter().any(|c| !c.is_finite()) {
            return Err(StlError::NotFinite { triangle: index });
        }
    }
    // The normal belongs to the corners as written, not as they were.
    let [a, b, c] = single.map(|p| Vec3::new(p[0].into(), p[1].into(), p[2].into()));
    let normal = (b - a).cross(&(c - a));
    // Differences and products of single-precision numbers of like size are
    // all but exact in double precision, so three corners in one line give a
    // zero or rounding noise far below the product of two sides.
    if normal.norm() <= f64::EPSILON * 4.0 * (b - a).norm() * (c - a).norm() {
        return Err(StlError::Degenerate { triangle: index, at: vertices[corners[0] as usize] });
    }
    let n = normal.normalize();
    Ok(Triangle {
        normal: Normal::new([n.x as f32 + 0.0, n.y as f32 + 0.0, n.z as f32 + 0.0]),
        vertices: single.map(Vertex::new),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tetrahedron() -> (Vec<Vec3>, Vec<[u32; 3]>) {
        let vertices = vec![Vec3::zeros(), Vec3::x() * 3.0, Vec3::y() * 2.0, Vec3::z()];
        (vertices, vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    }

    #[test]
    fn size_header_and_normals_are_as_the_format_says() {
        let (vertices, triangles) = tetrahedron();
        let bytes = stl(&vertices, &triangles, "ember wand").unwrap();
        assert_eq!(bytes.len(), 84 + 50 * 4);
        assert_eq!(&bytes[..11], b"ember wand\0");
        assert_eq!(bytes[80..84], 4u32.to_le_bytes());
        let mesh = stl_io::read_stl(&mut std::io::Cursor::new(&bytes)).unwrap();
        assert_eq!((mesh.vertices.len(), mesh.faces.len()), (4, 4));
        mesh.validate().unwrap();
        assert_eq!(mesh.faces[0].normal, Normal::new([0.0, 0.0, -1.0]));
        assert_eq!(bytes[84..88], 0f32.to_le_bytes(), "no negative zero");
    }

    #[test]
    fn header_never_looks_like_a_text_file_and_is_cut_between_characters() {
        let (vertices, triangles) = tetrahedron();
        for header in ["solid rod", "SOLID", "Solid\u{e9}"] {
            let bytes = stl(&vertices, &triangles, header).unwrap();
            assert_eq!(bytes[0], b' ');
        }
        let bytes = stl(&vertices, &triangles, &"\u{e9}".repeat(60)).unwrap();
        assert!(std::str::from_utf8(&bytes[..80]).is_ok());
        let odd = format!("a{}", "\u{e9}".repeat(60));
        let bytes = stl(&vertices, &triangles, &odd).unwrap();
        assert!(std::str::from_utf8(&bytes[..79]).is_ok());
        assert_eq!(bytes[79], 0);
    }

    #[test]
    fn triangles_that_vanish_in_single_precision_are_refused_with_the_place() {
        let far = Vec3::new(100.0, 0.0, 0.0);
        let vertices = vec![far, far + Vec3::x() * 1e-6, far + Vec3::y()];
        let error = stl(&vertices, &[[0, 1, 2]], "").unwrap_err();
        assert_eq!(error, StlError::Degenerate { triangle: 0, at: far });
        assert_eq!(
            error.to_string(),
            "triangle 0 at (100.000, 0.000, 0.000) has no area in single precision"
        );
        let line = [Vec3::zeros(), Vec3::new(0.1, 0.1, 0.1), Vec3::new(0.2, 0.2, 0.2)];
        assert!(matches!(stl(&line, &[[0, 1, 2]], ""), Err(StlError::Degenerate { .. })));
        let needle = [Vec3::zeros(), Vec3::x() * 40.0, Vec3::new(20.0, 1e-5, 0.0)];
        assert!(stl(&needle, &[[0, 1, 2]], "").is_ok(), "thin is not degenerate");
    }

    #[test]
    fn wrong_input_is_an_error() {
        let (vertices, _) = tetrahedron();
        assert!(matches!(
            stl(&vertices, &[[0, 1, 4]], ""),
            Err(StlError::NoSuchVertex { vertex: 4, vertices: 4, .. })
        ));
        let wild = [Vec3::zeros(), Vec3::x() * 1e39, Vec3::y()];
        assert_eq!(stl(&wild, &[[0, 1, 2]], ""), Err(StlError::NotFinite { triangle: 0 }));
        assert_eq!(stl(&vertices, &[], "").unwrap().len(), 84);
    }
}
