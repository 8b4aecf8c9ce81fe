//! The lines of a log against one another and against `head`.
//!
//! The walk goes backwards, from what `head` says of the last line to what each line says of the
//! one before. A line with one changed byte is read as it was before it is believed, so that a
//! change in one place is reported in one place.

mod order;
mod start;
mod walk;

use super::{Finding, Kind};
use crate::dossier::digest::{Digest, is_sha256};
use crate::dossier::entry::{Entry, SCHEMA};
use crate::dossier::line::Log;
use std::collections::BTreeSet;
use walk::Walk;

/// What `head` says.
#[derive(Clone, Debug)]
pub struct Head {
    /// Number of entries.
    pub n: u64,
    /// Digest of the last line.
    pub digest: Digest,
}

/// That an entry is whole, and `head` does not name it yet.
pub fn not_noted(n: u64) -> Finding {
    let text = format!(
        "Entry {n} is whole, but the program was stopped before it noted it in the file head; the next entry will put that right."
    );
    Finding::remark(Kind::Interrupted, text).entry(n)
}

/// Shortest beginning of a SHA-256 that is looked for: 64 bits, beyond any chance hit.
const SHORTEST_EXPECTATION: usize = 16;

/// Checks the chain. Gives the indices of lines whose bytes are known to have changed.
pub fn check(log: &Log, head: Option<&Head>, findings: &mut Vec<Finding>) -> BTreeSet<usize> {
    if log.lines.is_empty() {
        let text = "The log holds no whole entry.";
        findings.push(Finding::problem(Kind::NoLog, text));
        torn_end(log, head, findings);
        return BTreeSet::new();
    }
    let mut walk = Walk::new(log, findings);
    walk.backwards(head);
    walk.report_order();
    walk.report_strays();
    let damaged = walk.damaged;
    torn_end(log, head, findings);
    forms(log, &damaged, findings);
    clocks(log, findings);
    damaged
}

/// Bytes after the last whole line.
fn torn_end(log: &Log, head: Option<&Head>, findings: &mut Vec<Finding>) {
    if log.torn.is_empty() {
        return;
    }
    let (bytes, from) = (log.torn.len(), log.whole_bytes());
    let complete = head.is_some_and(|head| {
        log.lines
            .last()
            .is_some_and(|line| line.digest == head.digest)
    });
    findings.push(if complete {
        Finding::remark(
            Kind::Interrupted,
            format!("The log ends in {bytes} bytes of an entry that was never finished (from byte {from} on). Every entry that was acknowledged is there; the next one will set these bytes aside."),
        )
    } else {
        Finding::problem(
            Kind::CutOff,
            format!("The log breaks off in the middle of a line: its last {bytes} bytes (from byte {from} on) are no whole entry."),
        )
    });
}

/// Lines in another form than this program writes.
fn forms(log: &Log, damaged: &BTreeSet<usize>, findings: &mut Vec<Finding>) {
    for (index, line) in log.lines.iter().enumerate() {
        let Ok(entry) = &line.entry else { continue };
        if damaged.contains(&index) {
            continue;
        }
        let text = if entry.schema != SCHEMA {
            format!(
                "Entry {} has the form {}, which this version may not show in full.",
                entry.n, entry.schema
            )
        } else if !line.is_as_written() {
            format!(
                "Entry {} holds something that this version does not show, or was written by another program: read its line in the log itself.",
                entry.n
            )
        } else {
            continue;
        };
        findings.push(Finding::remark(Kind::OtherForm, text).entry(entry.n));
    }
}

/// Times that run backwards.
fn clocks(log: &Log, findings: &mut Vec<Finding>) {
    let entries: Vec<&Entry> = log.entries().collect();
    for pair in entries.windows(2) {
        // RFC 3339 in UTC with whole seconds sorts as text.
        if pair[1].time < pair[0].time {
            let text = format!(
                "Entry {} is dated {}, before entry {} ({}): one of the two clocks was wrong, or two were adding at once.",
                pair[1].n, pair[1].time, pair[0].n, pair[0].time
            );
            findings.push(Finding::remark(Kind::Clock, text).entry(pair[1].n));
        }
    }
}

/// The beginning of a hash in the form of the log; none where the text is none, or too short.
pub fn wanted(text: &str) -> Option<String> {
    let wanted = text.trim().to_lowercase();
    let missing = 64usize.checked_sub(wanted.len())?;
    let whole = format!("{wanted}{}", "0".repeat(missing));
    (wanted.len() >= SHORTEST_EXPECTATION && is_sha256(&whole)).then_some(wanted)
}

/// Looks for a hash noted elsewhere, such as in the foot of an export. Gives the answer in words.
pub fn expectation(log: &Log, expect: &str, findings: &mut Vec<Finding>) -> String {
    let Some(wanted) = wanted(expect) else {
        let text = format!(
            "\"{expect}\" is no SHA-256: give at least {SHORTEST_EXPECTATION} of its 64 hex digits."
        );
        findings.push(Finding::problem(Kind::Expectation, text.clone()));
        return text;
    };
    let found = log
        .lines
        .iter()
        .position(|l| l.digest.sha256.starts_with(&wanted));
    let Some(index) = found else {
        let text = format!(
            "No entry has the SHA-256 {wanted} that you noted: the log was cut off before that entry, or written again."
        );
        findings.push(Finding::problem(Kind::Expectation, text.clone()));
        return text;
    };
    let later = log.lines.len() - index - 1;
    let since = match later {
        0 => "it is the last".to_owned(),
        1 => "one entry was added since".to_owned(),
        many => format!("{many} entries were added since"),
    };
    // Lines may be missing, so the entry's own number is told.
    let line = &log.lines[index];
    let n = line.entry.as_ref().map_or(index as u64 + 1, |e| e.n);
    format!("Entry {n} has the SHA-256 that you noted; {since}.")
}
