//! Entries that refer to entries.

use super::{Finding, Kind};
use crate::dossier::entry::{Amendment, Deed, Entry, Referred};
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
        if referred.n >= entry.n || find(log, referred).is_none() {
            let text = format!(
                "Entry {} {does} entry {}, which does not stand in the log as it did then.",
                entry.n, referred.n
            );
            findings.push(Finding::problem(Kind::Reference, text).entry(entry.n));
        }
        if let Deed::Amendment(amendment) = &entry.deed {
            findings.extend(by_another(log, entry, amendment));
        }
    }
}

/// A correction of what somebody signed, made without their key.
fn by_another(log: &Log, entry: &Entry, amendment: &Amendment) -> Option<Finding> {
    let amended = find(log, &amendment.amends)?;
    if amended.key.is_none() || entry.key == amended.key {
        return None;
    }
    let (n, author) = (entry.n, &amended.author);
    let text = format!(
        "Entry {n} {} entry {}, which {author} signed, but {}: ask {author} whether that is right.",
        if amendment.withdraws {
            "withdraws"
        } else {
            "corrects"
        },
        amended.n,
        match entry.key {
            Some(_) => "is signed with another key",
            None => "nobody signed it",
        }
    );
    Some(Finding::remark(Kind::Unvouched, text).entry(n))
}

/// The entry referred to, where it stands as it was.
fn find<'a>(log: &'a Log, referred: &Referred) -> Option<&'a Entry> {
    let lines = log.lines.iter();
    let mut named = lines.filter(|line| line.digest.sha256 == referred.sha256);
    named.find_map(|line| {
        line.entry
            .as_ref()
            .ok()
            .filter(|entry| entry.n == referred.n)
    })
}
