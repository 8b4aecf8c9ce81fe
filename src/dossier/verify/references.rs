//! Entries that refer to entries.

use super::{Finding, Kind};
use crate::dossier::entry::{Deed, Referred};
use crate::dossier::line::Log;

/// Checks that what an entry refers to stands before it, as it was.
pub fn check(log: &Log, findings: &mut Vec<Finding>) {
    for entry in log.entries() {
        let (referred, does) = match &entry.deed {
            Deed::Amendment(amendment) => (&amendment.amends, "corrects"),
            Deed::Conclusion(conclusion) => (&conclusion.considers, "considers all up to"),
            Deed::Countersignature(counter) => (&counter.covers, "covers all up to"),
            Deed::Begin(_) if entry.n > 1 => {
                let text = format!("Entry {} begins a dossier inside another.", entry.n);
                findings.push(Finding::problem(Kind::OutOfChain, text).entry(entry.n));
                continue;
            }
            _ => continue,
        };
        if referred.n >= entry.n || !stands(log, referred) {
            let text = format!(
                "Entry {} {does} entry {}, which does not stand in the log as it did then.",
                entry.n, referred.n
            );
            findings.push(Finding::problem(Kind::Reference, text).entry(entry.n));
        }
    }
}

fn stands(log: &Log, referred: &Referred) -> bool {
    log.lines.iter().any(|line| {
        line.digest.sha256 == referred.sha256
            && line.entry.as_ref().is_ok_and(|entry| entry.n == referred.n)
    })
}
