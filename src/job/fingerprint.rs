//! What went into a job's results, as one short text.

use sha2::{Digest, Sha256};

use super::Job;
use crate::measure::Values;

/// A fingerprint of all that a job's files depend on: this program's version,
/// the job's text, a person's own profiles, and the files that the job names. Equal fingerprints, equal
/// files, but for their time stamp.
///
/// It is the SHA-256 (FIPS 180-4) of the parts, each after its length, in hex.
pub fn fingerprint(job: &Job) -> String {
    let mut hash = Sha256::new();
    let mut add = |part: &[u8]| {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    };
    add(concat!("borewright ", env!("CARGO_PKG_VERSION")).as_bytes());
    add(job.source().text().as_bytes());
    for (family, own) in job.library().own() {
        add(family.as_bytes());
        add(own.text().as_bytes());
    }
    let parts = job.parts().iter().flat_map(|part| part.values().files());
    for file in job.chassis_values().into_iter().flat_map(Values::files).chain(parts) {
        add(file.name().as_bytes());
        add(file.bytes());
    }
    hex(&hash.finalize())
}

/// The SHA-256 of bytes, in hex.
pub(crate) fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
