//! The outcome of a verification as text.

use super::{Finding, Kind, Verdict};
use crate::report::words::counted;
use std::fmt::Write as _;

/// What no verification can show; said with every outcome.
pub const LIMITS: &str = "What this cannot show: times are those of the authors' own clocks. A key shows that its holder signed, not who that is: compare its fingerprint with one you have from the signer. Entries that nobody signed could have been written again by whoever holds the folder; entries at the end could have been taken away together with a rewritten head file; and a whole dossier could have been made anew from scratch, under the same names and with other keys. Against all three, compare with the SHA-256 in the foot of an earlier export (inktell dossier verify --expect), and name the keys that you know (--signers). Nor can it show that the photographs are of the sheet before you.";

/// How a dossier falls short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shortfall {
    /// Something in it is wrong.
    Fails,
    /// Nothing in it is shown to be wrong, but a copy is not shown to be of its photograph either.
    Unconfirmed,
}

impl Shortfall {
    /// It as the end of a sentence about the dossier.
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Fails => "does not hold",
            Self::Unconfirmed => "could NOT be confirmed",
        }
    }

    /// Why, in few words.
    #[must_use]
    pub fn because(self) -> &'static str {
        match self {
            Self::Fails => "something in it was changed, is missing or was forged",
            Self::Unconfirmed => {
                "nothing shows that what stands in for a photograph is a copy of it"
            }
        }
    }
}

/// How a dossier falls short; none where everything in it holds.
#[must_use]
pub fn shortfall(verdict: &Verdict) -> Option<Shortfall> {
    let mut kinds = verdict.problems().map(|f| f.kind).peekable();
    kinds.peek()?;
    // What nothing confirms is not shown to be wrong.
    Some(if kinds.all(|kind| kind == Kind::CopyUnconfirmed) {
        Shortfall::Unconfirmed
    } else {
        Shortfall::Fails
    })
}

/// The outcome in one sentence.
#[must_use]
pub fn headline(verdict: &Verdict) -> String {
    let Some(shortfall) = shortfall(verdict) else {
        let unconfirmed = unconfirmed(verdict);
        return format!(
            "{}Everything {}{}holds: {}, {} checked{}{}.",
            unconfirmed.as_deref().unwrap_or_default(),
            if unconfirmed.is_some() { "else " } else { "" },
            match left_out(verdict) {
                0 => "",
                _ => "that is here ",
            },
            counted(verdict.entries as usize, "entry"),
            counted(verdict.files_checked, "file"),
            measured(verdict),
            match left_out(verdict) {
                0 => String::new(),
                n => format!("; {} left out of this export", counted(n, "photograph")),
            }
        );
    };
    format!(
        "This dossier {}: {} found.",
        shortfall.in_words(),
        counted(verdict.problems().count(), "problem")
    )
}

/// Entries whose figures nothing bears out, as another version measured them and this one measures
/// differently: a forger can claim that of any figures. None where there are none.
fn unconfirmed(verdict: &Verdict) -> Option<String> {
    let differing = verdict.remarks().filter(|f| f.kind == Kind::OtherProgram);
    let mut entries: Vec<u64> = differing.filter_map(|f| f.entry).collect();
    entries.dedup();
    if entries.is_empty() {
        return None;
    }
    let of_nobody = |n: &u64| verdict.unsigned.contains(n);
    let unsigned: Vec<u64> = entries.iter().copied().filter(of_nobody).collect();
    Some(format!(
        "The figures of {} could NOT be confirmed: by what the log says, another version measured them{}. ",
        numbers(&entries),
        match unsigned.len() {
            0 => String::new(),
            1 if entries.len() == 1 => ", and nobody signed that entry".into(),
            _ => format!(", and nobody signed {}", numbers(&unsigned)),
        }
    ))
}

/// Photographs that are not here, as the export says.
fn left_out(verdict: &Verdict) -> usize {
    let kinds = verdict.findings.iter().map(|f| f.kind);
    kinds.filter(|kind| *kind == Kind::LeftOut).count()
}

fn measured(verdict: &Verdict) -> String {
    let outcome = &verdict.measured;
    if !outcome.asked {
        return ", nothing measured again".into();
    }
    let mut parts = Vec::new();
    for (count, what) in [
        (outcome.same, "measured again to the same figures"),
        (
            outcome.nearly,
            "measured again to within 0.1 % of the same figures",
        ),
        (
            outcome.other_program,
            "measured differently by this version of the program",
        ),
        (
            outcome.left_out,
            "not measured again for want of photographs",
        ),
        (
            outcome.changed,
            "not measured again because a photograph was changed",
        ),
    ] {
        if count > 0 {
            parts.push(format!("{} {what}", counted(count, "reading")));
        }
    }
    if parts.is_empty() {
        ", no readings to measure again".into()
    } else {
        format!(", {}", parts.join(", "))
    }
}

/// The whole outcome, a paragraph a line.
#[must_use]
pub fn paragraphs(verdict: &Verdict) -> Vec<String> {
    let mut all = vec![headline(verdict)];
    all.extend(verdict.problems().map(|f| bullet("✗", f)));
    all.extend(verdict.remarks().map(|f| bullet("·", f)));
    all.extend(signers(verdict));
    if let Some(head) = &verdict.head {
        let last = match verdict.last {
            Some(n) => format!("Last entry: {n}"),
            None => format!("Last line: {}", verdict.entries),
        };
        all.push(format!("{last}, SHA-256 {head}"));
    }
    all.extend(verdict.expectation.clone());
    all.push(LIMITS.to_owned());
    all
}

fn bullet(sign: &str, finding: &Finding) -> String {
    format!("{sign} {}", finding.text)
}

/// Who signed what, a sentence a key.
#[must_use]
pub fn signers(verdict: &Verdict) -> Vec<String> {
    let mut all = Vec::new();
    for signer in &verdict.signers {
        let mut text = format!(
            "Signed by {} (key {}): {}.",
            signer.authors.join(", "),
            signer.fingerprint,
            numbers(&signer.entries)
        );
        if let Some(name) = &signer.known_as {
            let _ = write!(text, " By your list of signers the key is {name}'s");
            let refused: Vec<u64> = signer.refused.iter().map(|r| r.entry).collect();
            if !refused.is_empty() {
                let _ = write!(text, ", but not accepted for {}", numbers(&refused));
            }
            text.push('.');
        }
        all.push(text);
    }
    if !verdict.unsigned.is_empty() {
        all.push(format!("Signed by nobody: {}.", numbers(&verdict.unsigned)));
    }
    all
}

/// "entry 3", "entries 3 and 6", "entries 4 to 9".
pub(super) fn numbers(entries: &[u64]) -> String {
    let word = if entries.len() == 1 {
        "entry"
    } else {
        "entries"
    };
    format!("{word} {}", crate::report::words::list(&runs(entries)))
}

/// Numbers in order, three or more in a row as "4 to 9".
fn runs(numbers: &[u64]) -> Vec<String> {
    let mut sorted = numbers.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    sorted
        .chunk_by(|a, b| a + 1 == *b)
        .flat_map(|run| match run {
            [first, _, .., last] => vec![format!("{first} to {last}")],
            few => few.iter().map(u64::to_string).collect(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dossier::contents::InMemory;
    use crate::dossier::verify::{Asked, verify};

    #[test]
    fn figures_that_another_version_measured_are_said_to_be_unconfirmed() {
        let mut verdict = verify(&InMemory::new(), &Asked::default());
        let said = |verdict: &Verdict| headline(verdict);
        verdict.findings.clear();
        assert!(said(&verdict).starts_with("Everything holds: 0 entries"));
        for n in [2, 4] {
            let remark = Finding::remark(Kind::OtherProgram, "It differs.");
            verdict.findings.push(remark.entry(n));
        }
        let begin = "The figures of entries 2 and 4 could NOT be confirmed: by what the log says, another version measured them";
        assert!(said(&verdict).starts_with(&format!("{begin}. Everything else holds: 0 entries")));
        verdict.unsigned = vec![1, 4];
        let unsigned = format!("{begin}, and nobody signed entry 4. Everything else holds");
        assert!(said(&verdict).starts_with(&unsigned), "{}", said(&verdict));
        verdict.findings.remove(0);
        let one = said(&verdict);
        assert!(
            one.contains("and nobody signed that entry. Everything"),
            "{one}"
        );
        verdict
            .findings
            .push(Finding::problem(Kind::Forged, "Forged."));
        assert!(said(&verdict).starts_with("This dossier does not hold: 1 problem"));
    }

    #[test]
    fn entries_in_a_row_are_a_range_and_none_is_named_twice() {
        assert_eq!(numbers(&[3, 5, 9, 10, 3]), "entries 3, 5, 9 and 10");
        assert_eq!(numbers(&[1, 2, 3, 4, 7]), "entries 1 to 4 and 7");
        assert_eq!(numbers(&[6]), "entry 6");
    }
}
