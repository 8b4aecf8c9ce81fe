//! What corrects or withdraws an entry, in sentences: what was corrected must not be read without them.

use crate::dossier::entry::{Amendment, Conclusion, Deed, Entry};
use crate::dossier::line::Log;
use crate::dossier::work;

/// "A. Bidder, 2 January 2026, 10:00 UTC, entry 7, signed".
pub fn by(entry: &Entry) -> String {
    format!(
        "{}, {}, entry {}, {}",
        entry.author,
        work::moment_in_words(&entry.time),
        entry.n,
        signed_or_not(entry)
    )
}

/// Whether an entry is signed, in a word.
pub fn signed_or_not(entry: &Entry) -> &'static str {
    match entry.key {
        Some(_) => "signed",
        None => "unsigned",
    }
}

/// The corrections of entry `n`, and theirs in turn, a sentence each.
pub fn of(log: &Log, n: u64) -> Vec<String> {
    let sentence = |(entry, amendment): (&Entry, &Amendment)| {
        let amended = log.entries().find(|other| other.n == amendment.amends.n);
        format!(
            "Entry {} was {} by {}: {}",
            amendment.amends.n,
            done(amendment),
            amender(entry, amended),
            amendment.text
        )
    };
    work::amendments(log, n).into_iter().map(sentence).collect()
}

/// What a conclusion considered that was withdrawn or corrected since, a sentence each.
pub fn changed_since(log: &Log, concluding: &Entry, conclusion: &Conclusion) -> Vec<String> {
    let sentence = |(considered, entry, amendment): (&Entry, &Entry, &Amendment)| {
        format!(
            "The conclusion of entry {} {} entry {}, {} since by {}.",
            concluding.n,
            match considered.deed {
                Deed::Photographs(_) => "rests on",
                _ => "considers",
            },
            considered.n,
            done(amendment),
            amender(entry, Some(considered))
        )
    };
    work::changed_since(log, conclusion).map(sentence).collect()
}

fn done(amendment: &Amendment) -> &'static str {
    if amendment.withdraws {
        "withdrawn"
    } else {
        "corrected"
    }
}

/// "entry 9 (Anon, 2 January 2026, 10:00 UTC, unsigned)".
fn amender(entry: &Entry, amended: Option<&Entry>) -> String {
    let key_amended = amended.and_then(|amended| amended.key.as_ref());
    let signed = match (&entry.key, key_amended) {
        (Some(key), Some(other)) if key == other => "signed with the same key",
        (Some(_), Some(_)) => "signed with another key",
        _ => signed_or_not(entry),
    };
    format!(
        "entry {} ({}, {}, {signed})",
        entry.n,
        entry.author,
        work::moment_in_words(&entry.time)
    )
}
