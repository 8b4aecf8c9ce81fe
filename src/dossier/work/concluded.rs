//! The conclusions that belong at the front of an account.

use super::{withdrawn, withdrawn_with};
use crate::dossier::entry::{Conclusion, Deed, Entry};
use crate::dossier::line::Log;
use std::collections::BTreeSet;

/// How far a conclusion holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hold {
    /// It stands.
    Stands,
    /// It is signed, and was withdrawn without its key.
    Disputed,
    /// It was withdrawn: with its key where it is signed.
    Withdrawn,
}

/// A conclusion at the front.
#[derive(Clone, Copy, Debug)]
pub struct Concluded<'a> {
    /// Its entry.
    pub entry: &'a Entry,
    /// What the entry concludes.
    pub conclusion: &'a Conclusion,
    /// How far it holds.
    pub hold: Hold,
}

impl Concluded<'_> {
    /// What stands behind its author where it was withdrawn.
    #[must_use]
    pub fn mark(&self) -> &'static str {
        match self.hold {
            Hold::Stands => "",
            Hold::Disputed | Hold::Withdrawn => "; withdrawn",
        }
    }
}

/// Of each author and key the last conclusion that was not withdrawn with that key, and any withdrawn
/// after it. Signed ones come first, withdrawn ones last, else in the order of the log: whoever adds an
/// entry without a key displaces none that is signed.
#[must_use]
pub fn concluded(log: &Log) -> Vec<Concluded<'_>> {
    let withdrawn = withdrawn(log, u64::MAX);
    let hold = |entry: &Entry| match &entry.key {
        // What was withdrawn with its key nobody else brings back.
        Some(key) if withdrawn_with(log, key).contains(&entry.n) => Hold::Withdrawn,
        _ if !withdrawn.contains(&entry.n) => Hold::Stands,
        Some(_) => Hold::Disputed,
        None => Hold::Withdrawn,
    };
    let mut entries: Vec<&Entry> = log.entries().collect();
    entries.reverse();
    let mut superseded = BTreeSet::new();
    let mut all = Vec::new();
    for entry in entries {
        let Deed::Conclusion(conclusion) = &entry.deed else {
            continue;
        };
        let hand = (&entry.author, &entry.key);
        if superseded.contains(&hand) {
            continue;
        }
        let hold = hold(entry);
        if hold != Hold::Withdrawn {
            superseded.insert(hand);
        }
        all.push(Concluded {
            entry,
            conclusion,
            hold,
        });
    }
    all.reverse();
    all.sort_by_key(|c| (c.hold == Hold::Withdrawn, c.entry.key.is_none()));
    all
}
