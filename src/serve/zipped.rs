//! Several files as one, to be downloaded at once.

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use crate::job::NamedBytes;

/// The files as a ZIP archive (ISO/IEC 21320-1), without time stamps.
///
/// # Errors
/// A name twice, or more than the format takes.
pub(super) fn zipped(files: &[NamedBytes]) -> Result<Vec<u8>, String> {
    let failed = |error: zip::result::ZipError| format!("cannot pack the files: {error}");
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(zip::DateTime::default());
    for (name, bytes) in files {
        zip.start_file(name.as_str(), options).map_err(failed)?;
        zip.write_all(bytes).map_err(|error| format!("cannot pack {name}: {error}"))?;
    }
    Ok(zip.finish().map_err(failed)?.into_inner())
}
