//! A log that an editor, or a transfer as text, wrote anew: a byte-order mark before it, line ends
//! converted. It is read as it was before, so that one change is one problem.

use super::chain::Head;
use super::{Finding, Kind};
use crate::dossier::LOG;
use crate::dossier::line::Log;
use crate::report::words::counted;
use std::collections::BTreeSet;

/// The mark in UTF-8.
const BYTE_ORDER_MARK: &[u8] = &[0xef, 0xbb, 0xbf];
/// How a line ends, and how it ends after a conversion.
const END: &[u8] = b"}\n";
const CONVERTED_END: &[u8] = b"}\r\n";

/// Takes a log apart as it was before such a change, and says what was changed.
pub fn undone(bytes: &[u8], head: Option<&Head>, findings: &mut Vec<Finding>) -> Log {
    let without_mark = bytes.strip_prefix(BYTE_ORDER_MARK);
    if without_mark.is_some() {
        let text = "The log was changed: a byte-order mark (bytes 0 to 2: 0xef 0xbb 0xbf) stands before entry 1, as some editors put one there. Without it the log is read on.";
        findings.push(Finding::problem(Kind::Changed, text).file(LOG));
    }
    let bytes = without_mark.unwrap_or(bytes);
    let log = with_last_line_feed(bytes, head, findings).unwrap_or_else(|| Log::parse(bytes));
    let (before, converted) = with_ends_put_back(&log, head);
    if converted == 0 {
        return log;
    }
    let text = format!(
        "The log was changed: line ends were converted, as an editor or a transfer as text does it. A carriage return stands before the line feed in {converted} of {}. With the line ends put back the log is read on.",
        counted(log.lines.len(), "line")
    );
    findings.push(Finding::problem(Kind::Changed, text).file(LOG));
    Log::parse(&before)
}

/// The log with the line feed put back that its last line lost; none where that explains nothing.
fn with_last_line_feed(
    bytes: &[u8],
    head: Option<&Head>,
    findings: &mut Vec<Finding>,
) -> Option<Log> {
    let head = head?;
    let whole = Log::parse(&[bytes, b"\n"].concat());
    let last = whole.lines.last()?;
    if bytes.ends_with(b"\n") || last.digest != head.digest {
        return None;
    }
    let text = format!(
        "The log was changed: it lacks its last byte, the line feed that ends entry {} (byte {}, counted from 0), as some editors and transfers take it away. Nothing else of the entry is missing; with the line feed put back the log is read on.",
        head.n,
        bytes.len()
    );
    findings.push(Finding::problem(Kind::Changed, text).file(LOG));
    Some(whole)
}

/// The bytes of a log with its line ends put back, and how many were. A line stays as it is where a
/// later one, or `head`, names it just so: then it was written so.
fn with_ends_put_back(log: &Log, head: Option<&Head>) -> (Vec<u8>, usize) {
    let previous = log.entries().filter_map(|entry| entry.prev.as_ref());
    let named: BTreeSet<&str> = previous
        .chain(head.map(|head| &head.digest))
        .map(|digest| digest.sha256.as_str())
        .collect();
    let (mut bytes, mut converted) = (Vec::new(), 0);
    for line in &log.lines {
        match line.bytes.strip_suffix(CONVERTED_END) {
            Some(body) if !named.contains(line.digest.sha256.as_str()) => {
                bytes.extend([body, END].concat());
                converted += 1;
            }
            _ => bytes.extend(&line.bytes),
        }
    }
    bytes.extend(&log.torn);
    (bytes, converted)
}
