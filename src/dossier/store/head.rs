//! The file `head`: number of entries and digest of the last line.

use crate::dossier::digest::{Digest, is_sha256};

/// The text of `head`: number of entries and digest of the last line.
#[must_use]
pub fn head_text(n: u64, digest: &Digest) -> String {
    let [a, b, c] = digest.sums;
    format!("{n} {} {} {a} {b} {c}\n", digest.sha256, digest.bytes)
}

/// Reads the text of `head`; `None` where it is not exactly as [`head_text`] writes it.
#[must_use]
pub fn parse_head(bytes: &[u8]) -> Option<(u64, Digest)> {
    let text = std::str::from_utf8(bytes).ok()?;
    let parts: Vec<&str> = text.trim_end().split(' ').collect();
    let [n, sha256, bytes_, a, b, c] = parts[..] else {
        return None;
    };
    let digest = Digest {
        sha256: sha256.to_owned(),
        bytes: bytes_.parse().ok()?,
        sums: [a.parse().ok()?, b.parse().ok()?, c.parse().ok()?],
    };
    let n = n.parse().ok()?;
    (head_text(n, &digest) == text && is_sha256(sha256)).then_some((n, digest))
}
