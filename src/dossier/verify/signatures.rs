//! Signatures, and whose keys made them.

use super::words::numbers;
use super::{Finding, Kind};
use crate::dossier::keys::{self, KnownSigners};
use crate::dossier::line::Log;
use crate::report::words::capital;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What one key signed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Signed {
    /// The key's fingerprint, `SHA256:…`.
    pub fingerprint: String,
    /// Names of the authors of the entries it signed.
    pub authors: Vec<String>,
    /// Who it belongs to by the list of known signers; none without one.
    pub known_as: Option<String>,
    /// Numbers of the entries.
    pub entries: Vec<u64>,
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
                note(&mut result.signers, key, &entry.author, n, known);
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

fn note(signers: &mut Vec<Signed>, key: &str, author: &str, n: u64, known: &KnownSigners) {
    let fingerprint = keys::fingerprint(key).unwrap_or_default();
    let place = signers.iter().position(|s| s.fingerprint == fingerprint);
    let signer = match place {
        Some(place) => &mut signers[place],
        None => {
            signers.push(Signed {
                fingerprint,
                authors: Vec::new(),
                known_as: known.name_of(key).map(str::to_owned),
                entries: Vec::new(),
            });
            let last = signers.len() - 1;
            &mut signers[last]
        }
    };
    signer.entries.push(n);
    if !signer.authors.iter().any(|a| a == author) {
        signer.authors.push(author.to_owned());
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
    let of_known = signers.iter().filter(|s| s.known_as.is_some());
    let vouched = of_known.flat_map(|s| &s.entries).max().copied();
    findings.push(match vouched {
        None => Finding::problem(
            Kind::Unvouched,
            "None of the known signers signed anything in this dossier, so nobody you know vouches for it.",
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

/// Keys that nobody vouches for, and one name with several keys.
fn names(signers: &[Signed], known: &KnownSigners, findings: &mut Vec<Finding>) {
    if !known.is_empty() {
        for signer in signers.iter().filter(|s| s.known_as.is_none()) {
            let text = format!(
                "The key {} ({}) is not among the known signers.",
                signer.fingerprint,
                signer.authors.join(", ")
            );
            findings.push(Finding::problem(Kind::UnknownSigner, text));
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
