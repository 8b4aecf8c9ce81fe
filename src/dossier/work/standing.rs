//! What stands in a log once its corrections are taken into account.

use crate::dossier::entry::{Amendment, Conclusion, Deed, Entry, Photographs, Role};
use crate::dossier::line::Log;
use crate::dossier::particulars::Particulars;
use std::collections::{BTreeMap, BTreeSet};

/// Numbers of the entries withdrawn by entry `upto`.
#[must_use]
pub fn withdrawn(log: &Log, upto: u64) -> BTreeSet<u64> {
    withdrawn_among(log.entries().filter(|entry| entry.n <= upto))
}

/// Numbers of the entries withdrawn with a key, as if nothing stood in the log but what it signed.
#[must_use]
pub fn withdrawn_with(log: &Log, key: &str) -> BTreeSet<u64> {
    withdrawn_among(log.entries().filter(|e| e.key.as_deref() == Some(key)))
}

fn withdrawn_among<'a>(entries: impl Iterator<Item = &'a Entry>) -> BTreeSet<u64> {
    let mut withdrawn = BTreeSet::new();
    let mut entries: Vec<&Entry> = entries.collect();
    // From the last to the first: a withdrawal that was itself withdrawn withdraws nothing.
    entries.sort_by_key(|entry| std::cmp::Reverse(entry.n));
    for entry in entries {
        if let Deed::Amendment(amendment) = &entry.deed
            && amendment.withdraws
            && !withdrawn.contains(&entry.n)
        {
            withdrawn.insert(amendment.amends.n);
        }
    }
    withdrawn
}

/// The entries up to entry `upto` that were not withdrawn by then.
pub fn standing(log: &Log, upto: u64) -> impl Iterator<Item = &Entry> {
    let withdrawn = withdrawn(log, upto);
    log.entries()
        .filter(move |entry| entry.n <= upto && !withdrawn.contains(&entry.n))
}

/// The entries of photographs that stood after entry `upto`.
pub fn photographs_upto(log: &Log, upto: u64) -> impl Iterator<Item = (&Entry, &Photographs)> {
    standing(log, upto).filter_map(|entry| match &entry.deed {
        Deed::Photographs(photographs) => Some((entry, photographs)),
        _ => None,
    })
}

/// The amendments of entry `n`, and theirs in turn, withdrawn or not, in the order of the log.
#[must_use]
pub fn amendments(log: &Log, n: u64) -> Vec<(&Entry, &Amendment)> {
    let mut amended = BTreeSet::from([n]);
    let mut all = Vec::new();
    for entry in log.entries() {
        if let Deed::Amendment(amendment) = &entry.deed
            && amended.contains(&amendment.amends.n)
        {
            amended.insert(entry.n);
            all.push((entry, amendment));
        }
    }
    all
}

/// What a conclusion considered that was corrected or withdrawn since, each with the entry that did so.
pub fn changed_since<'a>(
    log: &'a Log,
    conclusion: &Conclusion,
) -> impl Iterator<Item = (&'a Entry, &'a Entry, &'a Amendment)> {
    let upto = conclusion.considers.n;
    let considered: BTreeMap<u64, &Entry> =
        standing(log, upto).map(|entry| (entry.n, entry)).collect();
    standing(log, u64::MAX)
        .filter(move |entry| entry.n > upto)
        .filter_map(move |entry| match &entry.deed {
            Deed::Amendment(amendment) => {
                let changed = considered.get(&amendment.amends.n)?;
                Some((*changed, entry, amendment))
            }
            _ => None,
        })
}

/// The last reading kept whose photographs all stand: the entry that keeps it.
#[must_use]
pub fn last_reading(log: &Log) -> Option<&Entry> {
    let keeps = |entry: &&Entry| entry.files.iter().any(|file| file.role == Role::Reading);
    let rests_on_what_stands = |entry: &&Entry| match &entry.deed {
        Deed::Conclusion(conclusion) => {
            !changed_since(log, conclusion).any(|(of, _, amendment)| {
                amendment.withdraws && matches!(of.deed, Deed::Photographs(_))
            })
        }
        _ => true,
    };
    let mut readings = standing(log, u64::MAX).filter(keeps).collect::<Vec<_>>();
    readings.reverse();
    readings.into_iter().find(rests_on_what_stands)
}

/// The sheet's particulars with all corrections that stand applied; `None` where the dossier has no
/// beginning.
#[must_use]
pub fn particulars_as_amended(log: &Log) -> Option<Particulars> {
    let (_, begun) = beginning(log)?;
    Some(corrected(begun.clone(), standing(log, u64::MAX)))
}

/// The sheet's particulars as the key that signed the beginning vouches for them: corrected by what the
/// same key signed and did not withdraw. Where nobody signed the beginning, as amended by anyone.
#[must_use]
pub fn particulars_vouched_for(log: &Log) -> Option<Particulars> {
    let (entry, begun) = beginning(log)?;
    let Some(key) = entry.key.as_deref() else {
        return particulars_as_amended(log);
    };
    let withdrawn = withdrawn_with(log, key);
    let own = log
        .entries()
        .filter(|entry| entry.key.as_deref() == Some(key) && !withdrawn.contains(&entry.n));
    Some(corrected(begun.clone(), own))
}

fn beginning(log: &Log) -> Option<(&Entry, &Particulars)> {
    log.entries().find_map(|entry| match &entry.deed {
        Deed::Begin(particulars) => Some((entry, &**particulars)),
        _ => None,
    })
}

fn corrected<'a>(
    mut particulars: Particulars,
    entries: impl Iterator<Item = &'a Entry>,
) -> Particulars {
    for entry in entries {
        if let Deed::Amendment(amendment) = &entry.deed {
            for (key, value) in &amendment.particulars {
                // A field that a newer version knows is left as it was.
                let _ = particulars.set(key, value);
            }
        }
    }
    particulars
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dossier::entry::{Means, Observation, Program, Referred, SCHEMA};
    use crate::dossier::line;

    fn log(deeds: Vec<Deed>) -> Log {
        let lines = (1..).zip(deeds).map(|(n, deed)| {
            let entry = Entry {
                schema: SCHEMA.into(),
                n,
                prev: None,
                time: "2026-01-02T10:00:00Z".into(),
                author: "A. Bidder".into(),
                program: Program::this(),
                deed,
                files: vec![],
                set_aside: vec![],
                without_location: Default::default(),
                key: None,
            };
            line::compose(entry, None).unwrap()
        });
        Log::parse(&lines.collect::<Vec<_>>().concat())
    }

    fn amendment(n: u64, sheet: Option<&str>) -> Deed {
        Deed::Amendment(Amendment {
            amends: Referred {
                n,
                sha256: String::new(),
            },
            text: "So.".into(),
            particulars: sheet
                .map(|text| ("sheet".to_owned(), text.to_owned()))
                .into_iter()
                .collect(),
            withdraws: sheet.is_none(),
        })
    }

    #[test]
    fn what_was_withdrawn_counts_no_more_until_that_is_withdrawn_too() {
        let mut deeds = vec![
            Deed::Begin(Box::default()),
            Deed::Observation(Observation {
                means: Means::Eye,
                text: "Seen.".into(),
            }),
            amendment(1, Some("30x20")),
            amendment(1, Some("31x20")),
            amendment(4, None),
            amendment(2, None),
        ];
        let sheet = |log: &Log| {
            particulars_as_amended(log)
                .unwrap()
                .sheet
                .unwrap()
                .in_words()
        };
        let before = log(deeds.clone());
        assert_eq!(withdrawn(&before, u64::MAX), [2, 4].into());
        assert_eq!(sheet(&before), "30 × 20 mm");
        assert_eq!(withdrawn(&before, 4), [].into(), "as it stood then");
        deeds.push(amendment(5, None));
        let after = log(deeds);
        assert_eq!(withdrawn(&after, u64::MAX), [2, 5].into());
        assert_eq!(sheet(&after), "31 × 20 mm");
        let standing: Vec<u64> = standing(&after, u64::MAX).map(|e| e.n).collect();
        assert_eq!(standing, [1, 3, 4, 6, 7]);
    }
}
