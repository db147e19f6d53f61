//! Meshes from files: STL (binary and text), OBJ and 3MF.
//!
//! A reader never trusts a count in a file: it takes what the bytes hold, up to
//! [`MAX_TRIANGLES`], and says in [`Remark`]s what did not agree.

mod obj;
mod soup;
mod stl;
mod threemf;

pub use soup::{Soup, Welder};

/// Most bytes of a file that are read: what a text STL of two million triangles
/// needs. Keeps memory bounded; common practice, no source.
pub const MAX_FILE_BYTES: u64 = 512 << 20;

/// Most triangles that are read: a scanned chassis has two million. Keeps memory
/// bounded; common practice, no source.
pub const MAX_TRIANGLES: usize = 3_000_000;

/// Whether a file is refused by its length and its first bytes (84 tell most),
/// before the rest is read.
///
/// # Errors
/// [`ReadError::TooLong`] past [`MAX_FILE_BYTES`]; [`ReadError::TooMany`] for a
/// binary STL whose header and length agree on more than [`MAX_TRIANGLES`].
pub fn admit(head: &[u8], length: u64) -> Result<(), ReadError> {
    if length > MAX_FILE_BYTES {
        return Err(ReadError::TooLong { bytes: length });
    }
    let count = head.get(80..84).and_then(|b| b.try_into().ok()).map(u32::from_le_bytes);
    let triangles = u64::from(count.unwrap_or(0));
    if triangles > MAX_TRIANGLES as u64
        && stl::START as u64 + stl::TRIANGLE as u64 * triangles == length
    {
        return Err(ReadError::TooMany { triangles });
    }
    Ok(())
}

/// Largest coordinate that is taken for a number, mm: ten kilometres. Products
/// of three such lengths are still exact enough to compare.
pub const MAX_COORDINATE: f64 = 1e7;

/// A format of mesh files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum MeshFormat {
    /// STL with 50 bytes per triangle.
    StlBinary,
    /// STL as text.
    StlText,
    /// Wavefront OBJ.
    Obj,
    /// 3MF core specification.
    ThreeMf,
}

/// Unit of the coordinates in a file that does not state it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileUnit {
    /// Micrometres.
    Micrometre,
    /// Millimetres.
    Millimetre,
    /// Centimetres.
    Centimetre,
    /// Metres.
    Metre,
    /// International inches.
    Inch,
    /// International feet.
    Foot,
}

impl FileUnit {
    /// All units, in the order of lists.
    pub const ALL: [FileUnit; 6] = [
        FileUnit::Micrometre,
        FileUnit::Millimetre,
        FileUnit::Centimetre,
        FileUnit::Metre,
        FileUnit::Inch,
        FileUnit::Foot,
    ];

    /// Their words, in order, as written after `--unit` and in jobs.
    pub const WORDS: [&str; 6] = ["um", "mm", "cm", "m", "inch", "foot"];

    /// Its word.
    pub fn name(self) -> &'static str {
        Self::WORDS[self as usize]
    }

    /// The unit of a word.
    pub fn named(word: &str) -> Option<FileUnit> {
        Self::ALL.into_iter().find(|unit| unit.name() == word)
    }

    /// Millimetres in one. The inch is 25.4 mm by the international yard and
    /// pound agreement of 1959.
    pub fn millimetres(self) -> f64 {
        match self {
            FileUnit::Micrometre => 1e-3,
            FileUnit::Millimetre => 1.0,
            FileUnit::Centimetre => 10.0,
            FileUnit::Metre => 1000.0,
            FileUnit::Inch => 25.4,
            FileUnit::Foot => 304.8,
        }
    }
}

/// Something about a file that does not agree, though its triangles could be
/// read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// Whether triangles are missing or made up because of it.
    pub grave: bool,
    /// What, with numbers.
    pub text: String,
}

/// One body of a file.
#[derive(Clone, Debug)]
pub struct ReadBody {
    /// Its name in the file; empty if it has none.
    pub name: String,
    /// Its triangles, mm.
    pub soup: Soup,
}

/// A file that was read.
#[derive(Clone, Debug)]
pub struct ReadMesh {
    /// What the bytes are, whatever the name says.
    pub format: MeshFormat,
    /// The bodies, in the order of the file: one for STL and OBJ.
    pub bodies: Vec<ReadBody>,
    /// What did not agree.
    pub remarks: Vec<Remark>,
}

/// Why a file gives no triangles.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// No bytes.
    #[error("the file is empty")]
    NoBytes,
    /// More bytes than are read.
    #[error("the file has {bytes} bytes; at most {MAX_FILE_BYTES} are read")]
    TooLong {
        /// Length of the file.
        bytes: u64,
    },
    /// More triangles than are checked.
    #[error("the file has {triangles} triangles or more; at most {MAX_TRIANGLES} are checked")]
    TooMany {
        /// Number of triangles known so far.
        triangles: u64,
    },
    /// None of the known formats.
    #[error("this is no STL, OBJ or 3MF file: {reason}")]
    Unknown {
        /// What was looked for.
        reason: String,
    },
    /// Well-formed, but without a usable triangle.
    #[error("the file holds no usable triangle{}", left_out(*unusable))]
    NoTriangles {
        /// Triangles left out because a coordinate is no usable number.
        unusable: usize,
    },
    /// Broken inside.
    #[error("{what}")]
    Broken {
        /// What and where.
        what: String,
    },
}

fn left_out(unusable: usize) -> String {
    match unusable {
        0 => String::new(),
        n => format!(": {n} have a coordinate that is no number, infinite or beyond 10 km"),
    }
}

impl ReadError {
    fn broken(what: impl Into<String>) -> Self {
        Self::Broken { what: what.into() }
    }

    /// What a person can do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            ReadError::NoBytes => "export it again; the first try was cut short",
            ReadError::TooLong { .. } | ReadError::TooMany { .. } => {
                "reduce it first, or export it with a coarser chord: 0.01 mm is finer than any print"
            }
            ReadError::Unknown { .. } => "export the part as STL, OBJ or 3MF",
            ReadError::NoTriangles { .. } | ReadError::Broken { .. } => {
                "export it again from the program that made it"
            }
        }
    }
}

/// Reads the triangles of a file from its bytes; the format is told by the
/// bytes alone. `unit` is that of STL and OBJ, millimetres if not given; a 3MF
/// states its own.
///
/// # Errors
/// See [`ReadError`]. Time and memory grow with the number of bytes only.
pub fn read_mesh(bytes: &[u8], unit: Option<FileUnit>) -> Result<ReadMesh, ReadError> {
    let length = bytes.len() as u64;
    if length == 0 {
        return Err(ReadError::NoBytes);
    }
    if length > MAX_FILE_BYTES {
        return Err(ReadError::TooLong { bytes: length });
    }
    if bytes.starts_with(b"PK") {
        let mut read = threemf::read(bytes)?;
        if unit.is_some() {
            let text = "a 3MF states its unit; the one given for the file is not used".to_owned();
            read.remarks.push(Remark { grave: false, text });
        }
        return Ok(read);
    }
    let scale = unit.unwrap_or(FileUnit::Millimetre).millimetres();
    if stl::is_binary_by_length(bytes) {
        return stl::read_binary(bytes, scale);
    }
    if stl::looks_like_text(bytes) {
        return stl::read_text(bytes, scale);
    }
    if obj::looks_like(bytes) {
        return obj::read(bytes, scale);
    }
    stl::read_binary(bytes, scale)
}

/// Ends a reader that collected into one body.
fn one_body(
    format: MeshFormat,
    name: String,
    welder: Welder,
    mut remarks: Vec<Remark>,
) -> Result<ReadMesh, ReadError> {
    let unusable = welder.unusable();
    let soup = welder.finish();
    if soup.triangles().is_empty() {
        return Err(ReadError::NoTriangles { unusable });
    }
    remarks.extend(unusable_remark(unusable));
    Ok(ReadMesh { format, bodies: vec![ReadBody { name, soup }], remarks })
}

fn unusable_remark(unusable: usize) -> Option<Remark> {
    (unusable > 0).then(|| {
        let text = format!(
            "{unusable} triangles are left out{}",
            left_out(unusable).replacen(&format!("{unusable} "), "they ", 1)
        );
        Remark { grave: true, text }
    })
}

/// A text as far as it is UTF-8, cut to a length fit for a table.
fn short_name(bytes: &[u8]) -> String {
    /// Longest name kept, characters.
    const LONGEST: usize = 60;
    let text = String::from_utf8_lossy(bytes);
    text.chars().filter(|c| !c.is_control()).take(LONGEST).collect::<String>().trim().to_owned()
}
