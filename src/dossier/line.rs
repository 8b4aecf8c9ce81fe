//! An entry as the exact bytes of a line, and a log as its lines.
//!
//! A line is one JSON object and a line feed. Where it is signed, the signature is its last field,
//! and what was signed is the line without that field and without the line feed, so that common
//! tools can take it apart:
//!
//! ```text
//! sed -n 3p dossier.jsonl | sed 's/,"signature":"[^"]*"}$/}/' | tr -d '\n'
//! ```

use super::digest::Digest;
use super::entry::Entry;
use super::keys::{KeyError, Signer};

/// What stands before the signature. No text of an entry can hold it: quotes in texts are escaped.
const BEFORE_SIGNATURE: &[u8] = b",\"signature\":\"";
const AFTER_SIGNATURE: &[u8] = b"\"}\n";

/// Why a line could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LineError {
    /// The key could not sign.
    #[error(transparent)]
    Key(#[from] KeyError),
    /// The entry cannot be written as JSON.
    #[error("the entry cannot be written as JSON ({0})")]
    Json(#[from] serde_json::Error),
}

/// One line of a log.
#[derive(Clone, Debug)]
pub struct Line {
    /// Where it begins in the log, bytes.
    pub offset: u64,
    /// Its bytes, line feed included.
    pub bytes: Vec<u8>,
    /// Their digest.
    pub digest: Digest,
    /// The entry, or why it cannot be read.
    pub entry: Result<Entry, String>,
}

impl Line {
    /// The bytes that were signed and the signature; `None` where the line carries none.
    #[must_use]
    pub fn signed_part(&self) -> Option<(Vec<u8>, String)> {
        let body = self.bytes.strip_suffix(AFTER_SIGNATURE)?;
        let place = body
            .windows(BEFORE_SIGNATURE.len())
            .rposition(|window| window == BEFORE_SIGNATURE)?;
        let signature = String::from_utf8(body[place + BEFORE_SIGNATURE.len()..].to_vec()).ok()?;
        let mut signed = body[..place].to_vec();
        signed.push(b'}');
        Some((signed, signature))
    }

    /// The bytes without signature and line feed.
    #[must_use]
    pub fn unsigned_bytes(&self) -> Vec<u8> {
        self.signed_part().map_or_else(
            || {
                self.bytes
                    .strip_suffix(b"\n")
                    .unwrap_or(&self.bytes)
                    .to_vec()
            },
            |(signed, _)| signed,
        )
    }

    /// Whether this program would write the entry in just these bytes, the signature aside.
    #[must_use]
    pub fn is_as_written(&self) -> bool {
        let Ok(entry) = &self.entry else { return false };
        serde_json::to_vec(entry).is_ok_and(|bytes| bytes == self.unsigned_bytes())
    }
}

/// A log taken apart.
#[derive(Clone, Debug, Default)]
pub struct Log {
    /// Its whole lines.
    pub lines: Vec<Line>,
    /// Bytes after the last line feed: a line that was not finished.
    pub torn: Vec<u8>,
}

impl Log {
    /// Takes a log apart. Any bytes do; what cannot be read says why.
    #[must_use]
    pub fn parse(bytes: &[u8]) -> Self {
        let whole = bytes.iter().rposition(|&b| b == b'\n').map_or(0, |p| p + 1);
        let mut offset = 0;
        let lines = bytes[..whole]
            .split_inclusive(|&b| b == b'\n')
            .map(|line| {
                let start = offset;
                offset += line.len() as u64;
                Line {
                    offset: start,
                    bytes: line.to_vec(),
                    digest: Digest::of(line),
                    entry: serde_json::from_slice(line).map_err(|e| why_unreadable(line, &e)),
                }
            })
            .collect();
        Self {
            lines,
            torn: bytes[whole..].to_vec(),
        }
    }

    /// Bytes of all whole lines.
    #[must_use]
    pub fn whole_bytes(&self) -> u64 {
        self.lines
            .last()
            .map_or(0, |l| l.offset + l.bytes.len() as u64)
    }

    /// The entries that can be read, in the order of their lines.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.lines
            .iter()
            .filter_map(|line| line.entry.as_ref().ok())
    }
}

fn why_unreadable(line: &[u8], error: &serde_json::Error) -> String {
    if line.iter().all(|b| matches!(b, 0 | b'\n')) {
        return "it holds nothing but zero bytes, as a disk leaves them after a power cut".into();
    }
    if error.is_syntax() || error.is_eof() {
        return format!(
            "it is no JSON from its byte {} on",
            error.column().saturating_sub(1)
        );
    }
    format!("it is no entry that this version knows ({error})")
}

/// The line of an entry, signed where there is a signer. The entry's `key` is set to match.
///
/// # Errors
/// [`LineError`] when it cannot be signed or written.
pub fn compose(mut entry: Entry, signer: Option<&Signer>) -> Result<Vec<u8>, LineError> {
    entry.key = signer.map(Signer::public).transpose()?;
    let mut bytes = serde_json::to_vec(&entry)?;
    if let Some(signer) = signer {
        let signature = signer.sign(&bytes)?;
        bytes.pop();
        bytes.extend(BEFORE_SIGNATURE);
        bytes.extend(signature.as_bytes());
        bytes.extend(AFTER_SIGNATURE);
    } else {
        bytes.push(b'\n');
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::super::entry::{Deed, Means, Observation, Program, SCHEMA};
    use super::super::keys;
    use super::*;

    fn entry(text: &str) -> Entry {
        Entry {
            schema: SCHEMA.into(),
            n: 1,
            prev: None,
            time: "2026-01-02T10:00:00Z".into(),
            author: "A. Bidder".into(),
            program: Program::this(),
            deed: Deed::Observation(Observation {
                means: Means::Touch,
                text: text.into(),
            }),
            files: vec![],
            set_aside: vec![],
            without_location: Default::default(),
            key: None,
        }
    }

    #[test]
    fn a_signed_line_comes_apart_into_what_was_signed() {
        let signer = Signer::passing("A. Bidder").unwrap();
        let hostile = "ends in \",\"signature\":\"AAAA\"}\n and on";
        let bytes = compose(entry(hostile), Some(&signer)).unwrap();
        let log = Log::parse(&bytes);
        assert_eq!(
            log.lines.len(),
            1,
            "a line feed in a text does not break the line"
        );
        let line = &log.lines[0];
        let (signed, signature) = line.signed_part().unwrap();
        let public = line.entry.as_ref().unwrap().key.clone().unwrap();
        assert_eq!(keys::check(&public, &signature, &signed), Ok(()));
        assert!(line.is_as_written());
    }

    #[test]
    fn an_unsigned_line_carries_no_signature_whatever_its_text() {
        let bytes = compose(entry(",\"signature\":\"AAAA\"}"), None).unwrap();
        let line = &Log::parse(&bytes).lines[0];
        assert!(line.signed_part().is_none());
        assert!(line.is_as_written());
    }

    #[test]
    fn any_bytes_are_a_log_of_sorts() {
        let log = Log::parse(b"\0\0\n{\"a\":1}\nnot finished");
        assert_eq!(log.lines.len(), 2);
        assert_eq!(log.torn, b"not finished");
        assert!(
            log.lines[0]
                .entry
                .as_ref()
                .unwrap_err()
                .contains("zero bytes")
        );
        assert!(log.lines[1].entry.is_err());
        assert_eq!(Log::parse(b"").lines.len(), 0);
    }
}
