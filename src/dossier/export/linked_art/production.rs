//! How the sheet was printed, as a machine reads it: nothing that nobody concluded.

use super::concept;
use crate::dossier::line::Log;
use crate::dossier::particulars::{Particulars, Term};
use crate::dossier::work::{self, Concluded, Hold};
use crate::report::words;
use serde_json::{Value, json};

/// The process as concluded; as described at the beginning only where nobody concluded anything. Where
/// conclusions leave it open, contradict one another or are disputed, no process is stated.
pub(super) fn of(sheet: &Particulars, log: &Log) -> Option<Value> {
    let mut concluded = work::concluded(log);
    concluded.retain(|concluded| concluded.hold != Hold::Withdrawn);
    let term = if concluded.is_empty() {
        sheet.process.clone()?
    } else {
        Term::new(agreed(&concluded)?)
    };
    let technique = match &term.aat {
        Some(aat) => concept(&aat.id, &aat.label),
        None => json!({ "type": "Type", "_label": term.term }),
    };
    Some(json!({
        "type": "Production",
        "_label": format!("Printing, by {}", term.term),
        "technique": [technique],
    }))
}

/// The one process that the conclusions agree on: the signed ones where any is signed, else all. What
/// is disputed counts as no agreement: else whoever has no key could take a contradiction away.
fn agreed<'a>(concluded: &[Concluded<'a>]) -> Option<&'a str> {
    let any_signed = concluded.iter().any(|c| c.entry.key.is_some());
    let counting = concluded
        .iter()
        .filter(|c| c.entry.key.is_some() == any_signed);
    let mut first = None;
    for conclusion in counting {
        let Some(process) = conclusion.conclusion.process.as_deref() else {
            continue;
        };
        let differs = first.is_some_and(|first| first != process);
        if conclusion.hold == Hold::Disputed || differs {
            return None;
        }
        first = Some(process);
    }
    first.filter(|process| *process != words::UNDETERMINED_KEY)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dossier::entry::{Amendment, Conclusion, Deed, Entry, Program, Referred, SCHEMA};

    const BIDDER: Option<&str> = Some("ssh-ed25519 AAAA");
    const EXPERT: Option<&str> = Some("ssh-ed25519 BBBB");
    const NOBODY: Option<&str> = None;

    fn referred(n: u64) -> Referred {
        Referred {
            n,
            sha256: String::new(),
        }
    }

    fn concludes(process: &str) -> Deed {
        Deed::Conclusion(Conclusion {
            text: "So.".into(),
            process: Some(process.into()),
            colouring: vec![],
            considers: referred(1),
            measured: None,
            differs_in: vec![],
            because: None,
        })
    }

    fn amends(n: u64, set: Option<(&str, &str)>) -> Deed {
        Deed::Amendment(Amendment {
            amends: referred(n),
            text: "Rather so.".into(),
            particulars: set
                .map(|(key, text)| (key.to_owned(), text.to_owned()))
                .into_iter()
                .collect(),
            withdraws: set.is_none(),
        })
    }

    /// A dossier begun with a key and the process "stipple engraving", and what follows.
    fn log(after: Vec<(Option<&str>, Deed)>) -> Log {
        let mut sheet = Particulars::default();
        for (key, text) in [("title", "The Heron"), ("process", "stipple-engraving")] {
            sheet.set(key, text).unwrap();
        }
        let begins = (BIDDER, Deed::Begin(Box::new(sheet)));
        let all = [begins].into_iter().chain(after);
        let lines = (1..).zip(all).map(|(n, (key, deed))| {
            let entry = Entry {
                schema: SCHEMA.into(),
                n,
                prev: None,
                time: "2026-01-02T10:00:00Z".into(),
                author: key.unwrap_or("Anon").into(),
                program: Program::this(),
                deed,
                files: vec![],
                set_aside: vec![],
                without_location: Default::default(),
                key: key.map(str::to_owned),
            };
            [serde_json::to_vec(&entry).unwrap(), b"\n".to_vec()].concat()
        });
        Log::parse(&lines.collect::<Vec<_>>().concat())
    }

    fn printed(after: Vec<(Option<&str>, Deed)>) -> Option<String> {
        let log = log(after);
        let sheet = work::particulars_vouched_for(&log).unwrap();
        let production = of(&sheet, &log)?;
        Some(production["_label"].as_str().unwrap().to_owned())
    }

    #[test]
    fn no_process_is_stated_that_nobody_concluded() {
        let halftone = || (BIDDER, concludes("halftone"));
        let stipple = Some("Printing, by stipple engraving".to_owned());
        let printed_halftone = Some("Printing, by halftone".to_owned());
        assert_eq!(printed(vec![]), stipple);
        assert_eq!(printed(vec![(BIDDER, concludes("undetermined"))]), None);
        assert_eq!(printed(vec![halftone()]), printed_halftone);
        let other = (EXPERT, concludes("lithograph"));
        assert_eq!(printed(vec![halftone(), other]), None);
        let left_open = (EXPERT, concludes("undetermined"));
        assert_eq!(printed(vec![halftone(), left_open]), None);
        // Only its own key takes a signed conclusion away.
        let by_own_key = (BIDDER, amends(2, None));
        assert_eq!(printed(vec![halftone(), by_own_key]), stipple);
        let by_nobody = || (NOBODY, amends(2, None));
        assert_eq!(printed(vec![halftone(), by_nobody()]), None);
        let other = (EXPERT, concludes("stipple-engraving"));
        assert_eq!(printed(vec![halftone(), by_nobody(), other]), None);
        // Nor does anyone else bring back what was withdrawn with it.
        let withdrawn = || (BIDDER, amends(2, None));
        let brought_back = (NOBODY, amends(3, None));
        assert_eq!(
            printed(vec![halftone(), withdrawn(), brought_back]),
            stipple
        );
    }

    #[test]
    fn what_a_machine_reads_of_a_signed_beginning_is_corrected_with_its_key_only() {
        let set = |hand, key, text| (hand, amends(1, Some((key, text))));
        let corrected = Some("Printing, by etching".to_owned());
        let stipple = Some("Printing, by stipple engraving".to_owned());
        assert_eq!(printed(vec![set(BIDDER, "process", "etching")]), corrected);
        for hand in [NOBODY, EXPERT] {
            assert_eq!(printed(vec![set(hand, "process", "etching")]), stipple);
            let log = log(vec![
                set(hand, "title", "The Egret"),
                set(hand, "sheet", "1x1"),
            ]);
            let vouched = work::particulars_vouched_for(&log).unwrap();
            assert_eq!((&*vouched.title, vouched.sheet), ("The Heron", None));
            let amended = work::particulars_as_amended(&log).unwrap();
            assert_eq!(amended.title, "The Egret");
        }
        // Nor is a correction with its key withdrawn without it.
        let withdrawn = (NOBODY, amends(2, None));
        let signed = set(BIDDER, "process", "etching");
        assert_eq!(printed(vec![signed, withdrawn]), corrected);
    }
}
