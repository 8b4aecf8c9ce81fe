//! Signatures, and whose keys made them.

use super::words::numbers;
use super::{Finding, Kind};
use crate::dossier::entry::Entry;
use crate::dossier::keys::{self, KnownSigners, Made, Standing};
use crate::dossier::line::Log;
use crate::report::words::capital;
use jiff::Timestamp;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What one key signed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Signed {
    /// The key's fingerprint, `SHA256:…`.
    pub fingerprint: String,
    /// Names of the authors of the entries it signed.
    pub authors: Vec<String>,
    /// Who it belongs to by the list of known signers; none without one, and where that accepts the key
    /// for none of the entries.
    pub known_as: Option<String>,
    /// Numbers of the entries.
    pub entries: Vec<u64>,
    /// Those of them for which the list names the key and does not accept it.
    pub refused: Vec<Refused>,
}

impl Signed {
    /// Numbers of the entries that a known signer vouches for.
    fn vouched(&self) -> impl Iterator<Item = u64> {
        let refused = |n: &u64| self.refused.iter().any(|r| r.entry == *n);
        let known = self.known_as.iter().flat_map(|_| &self.entries);
        known.copied().filter(move |n| !refused(n))
    }
}

/// An entry for which the list of known signers does not accept the key that signed it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Refused {
    /// Its number.
    pub entry: u64,
    /// Why, line by line of the list.
    pub why: String,
}

/// What was signed and what was not.
pub struct Signatures {
    /// By key, in the order in which they first signed.
    pub signers: Vec<Signed>,
    /// Numbers of entries that nobody signed.
    pub unsigned: Vec<u64>,
}

/// Checks every signature. Lines known to be damaged are passed over: what happened to them is
/// said already.
pub fn check(
    log: &Log,
    damaged: &BTreeSet<usize>,
    known: &KnownSigners,
    findings: &mut Vec<Finding>,
) -> Signatures {
    let mut result = Signatures {
        signers: Vec::new(),
        unsigned: Vec::new(),
    };
    let mut latest_known = None;
    for (index, line) in log.lines.iter().enumerate() {
        let Ok(entry) = &line.entry else { continue };
        let n = entry.n;
        let signed = line.signed_part();
        let (key, held) = match (&entry.key, signed) {
            (None, None) => {
                result.unsigned.push(n);
                continue;
            }
            (Some(key), Some((bytes, signature))) => {
                (key.as_str(), keys::check(key, &signature, &bytes))
            }
            (Some(key), None) => (key.as_str(), Err("its signature is missing")),
            (None, Some(_)) => ("", Err("it carries a signature and names no key")),
        };
        match held {
            Ok(()) => {
                note(&mut result.signers, key, entry, known, &mut latest_known);
                if damaged.contains(&index) {
                    let text = format!(
                        "Entry {n} as it stands was signed so: its own signature fits it. Then it was replaced by its signer, or what was written after it is not what stood there."
                    );
                    findings.push(Finding::remark(Kind::Changed, text).entry(n));
                }
            }
            Err(_) if damaged.contains(&index) => {
                let text = format!(
                    "The signature of entry {n} does not fit it either: it is entry {n} that was changed."
                );
                findings.push(Finding::remark(Kind::Changed, text).entry(n));
            }
            Err(why) => {
                let text = format!(
                    "Entry {n} is not what its signer signed: {why}. It was forged, or changed after it was signed."
                );
                findings.push(Finding::problem(Kind::Forged, text).entry(n));
            }
        }
    }
    names(&result.signers, known, findings);
    vouched(log, &result.signers, known, findings);
    under_names_of_signers(log, &result, findings);
    result
}

/// Notes a signature that holds. `latest_known` is the latest time that a known signer gave so far.
fn note(
    signers: &mut Vec<Signed>,
    key: &str,
    entry: &Entry,
    known: &KnownSigners,
    latest_known: &mut Option<Timestamp>,
) {
    let fingerprint = keys::fingerprint(key).unwrap_or_default();
    let place = signers.iter().position(|s| s.fingerprint == fingerprint);
    let signer = match place {
        Some(place) => &mut signers[place],
        None => {
            signers.push(Signed {
                fingerprint,
                authors: Vec::new(),
                known_as: None,
                entries: Vec::new(),
                refused: Vec::new(),
            });
            let last = signers.len() - 1;
            &mut signers[last]
        }
    };
    signer.entries.push(entry.n);
    if !signer.authors.contains(&entry.author) {
        signer.authors.push(entry.author.clone());
    }
    let made = Made {
        by: &entry.author,
        at: entry.time.parse().ok(),
        after: *latest_known,
    };
    match known.standing(key, made) {
        Standing::Known(name) => {
            signer.known_as.get_or_insert_with(|| name.to_owned());
            *latest_known = made.at.max(made.after);
        }
        Standing::Refused(why) => signer.refused.push(Refused {
            entry: entry.n,
            why,
        }),
        Standing::Unlisted => {}
    }
}

/// Whether signatures vouch for the entries: each covers all that stands before it. Without a list
/// of known signers any signature will do, as nobody can say whose they should be.
fn vouched(log: &Log, signers: &[Signed], known: &KnownSigners, findings: &mut Vec<Finding>) {
    let Some(last) = log.entries().map(|entry| entry.n).max() else {
        return;
    };
    if known.is_empty() {
        if signers.is_empty() {
            let text = "Nobody signed this dossier: whoever holds the folder could have written all of it again.";
            findings.push(Finding::remark(Kind::Unvouched, text));
        }
        return;
    }
    let vouched = signers.iter().flat_map(Signed::vouched).max();
    findings.push(match vouched {
        None => Finding::problem(
            Kind::Unvouched,
            "None of the known signers signed anything in this dossier that your list accepts, so nobody you know vouches for it.",
        ),
        Some(vouched) if vouched < last => Finding::remark(
            Kind::Unvouched,
            format!("The last signature by a known signer is that of entry {vouched}; what follows it, nobody you know vouches for."),
        )
        .entry(vouched + 1),
        Some(_) => return,
    });
}

/// Entries that nobody signed, under the name of somebody who signs.
fn under_names_of_signers(log: &Log, result: &Signatures, findings: &mut Vec<Finding>) {
    let names: BTreeSet<&String> = result.signers.iter().flat_map(|s| &s.authors).collect();
    for name in names {
        let unsigned = log
            .entries()
            .filter(|entry| entry.author == *name && result.unsigned.contains(&entry.n));
        let entries: Vec<u64> = unsigned.map(|entry| entry.n).collect();
        let Some(&first) = entries.first() else {
            continue;
        };
        let (verb, them) = match entries[..] {
            [_] => ("stands", "it"),
            _ => ("stand", "them"),
        };
        let text = format!(
            "{} {verb} under the name of {name}, who signed others, but nobody signed {them}: whoever held the folder could have written {them}.",
            capital(&numbers(&entries))
        );
        findings.push(Finding::remark(Kind::Unvouched, text).entry(first));
    }
}

/// Entries for which the list names the key that signed them and does not accept it, reason by reason.
fn refused(signer: &Signed, findings: &mut Vec<Finding>) {
    let mut by_reason: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
    for refused in &signer.refused {
        by_reason
            .entry(&refused.why)
            .or_default()
            .push(refused.entry);
    }
    for (why, entries) in by_reason {
        let text = format!(
            "The key {} ({}) is among the known signers, but not for {}: {why}.",
            signer.fingerprint,
            signer.authors.join(", "),
            numbers(&entries)
        );
        findings.push(Finding::problem(Kind::UnknownSigner, text).entry(entries[0]));
    }
}

/// Keys that nobody vouches for, and one name with several keys.
fn names(signers: &[Signed], known: &KnownSigners, findings: &mut Vec<Finding>) {
    if !known.is_empty() {
        let unlisted = |s: &&Signed| s.known_as.is_none() && s.refused.is_empty();
        for signer in signers.iter().filter(unlisted) {
            let text = format!(
                "The key {} ({}) is not among the known signers.",
                signer.fingerprint,
                signer.authors.join(", ")
            );
            findings.push(Finding::problem(Kind::UnknownSigner, text));
        }
        for signer in signers {
            refused(signer, findings);
        }
    }
    let mut keys_of: BTreeMap<&str, usize> = BTreeMap::new();
    for author in signers.iter().flat_map(|s| &s.authors) {
        *keys_of.entry(author).or_default() += 1;
    }
    for (author, count) in keys_of.into_iter().filter(|(_, count)| *count > 1) {
        let text = format!(
            "{count} different keys signed under the name {author}: ask them whether all are theirs."
        );
        findings.push(Finding::remark(Kind::UnknownSigner, text));
    }
}
