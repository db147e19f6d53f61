//! What went into a job's results, as one short text.

use sha2::{Digest, Sha256};

use super::Job;

/// A fingerprint of all that a job's files depend on: this program's version,
/// the job's text, the files that it names, and a person's own profiles. Equal fingerprints, equal
/// files, but for their time stamp.
///
/// It is the SHA-256 (FIPS 180-4) of the parts, each after its length, in hex.
pub fn fingerprint(job: &Job) -> String {
    let mut hash = Sha256::new();
    let mut add = |text: &str| {
        hash.update((text.len() as u64).to_le_bytes());
        hash.update(text);
    };
    add(concat!("borewright ", env!("CARGO_PKG_VERSION")));
    add(job.source().text());
    for file in job.parts().iter().flat_map(|part| part.values().files()) {
        add(file.name());
        add(file.text());
    }
    for (family, own) in job.library().own() {
        add(family);
        add(own.text());
    }
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}
