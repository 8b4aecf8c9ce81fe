//! Concluding: the author's own words beside the measured reading.

use super::{Author, combined, photographs_upto, reading_file, reading_text};
use crate::dossier::LOG;
use crate::dossier::contents::Contents;
use crate::dossier::entry::{Conclusion, Deed, Referred, Summary};
use crate::dossier::line::Log;
use crate::dossier::store::{Patience, Receipt, Store, StoreError};
use crate::examine::Examination;
use crate::report::words;
use crate::weigh::{Colouring, Process};

/// What the author concludes.
#[derive(Clone, Debug, Default)]
pub struct Opinion {
    /// Their own words.
    pub text: String,
    /// Process concluded: a key or other words.
    pub process: Option<String>,
    /// Where the colour lies; empty where nothing is said of it.
    pub colouring: Vec<Colouring>,
    /// Why it differs from what was measured.
    pub because: Option<String>,
}

/// Adds a conclusion beside the reading of all photographs so far, and returns that.
///
/// # Errors
/// [`StoreError`]; also when a photograph is not as it was measured, when a reason is blank, and
/// when the conclusion differs from the reading and no reason is given.
pub fn conclusion(
    store: &Store<'_>,
    contents: &dyn Contents,
    author: &Author<'_>,
    patience: &Patience<'_>,
    opinion: Opinion,
) -> Result<(Receipt, Option<Examination>), StoreError> {
    let asked = StoreError::Asked;
    let opinion = tidy(opinion).map_err(asked)?;
    let bytes = contents
        .read(LOG)
        .map_err(|e| asked(format!("{LOG} cannot be read ({e})")))?;
    let log = Log::parse(&bytes);
    let last = log
        .lines
        .last()
        .ok_or_else(|| asked("the dossier holds no entry yet".into()))?;
    let considers = Referred {
        n: log.lines.len() as u64,
        sha256: last.digest.sha256.clone(),
    };
    unchanged(contents, &log).map_err(asked)?;
    let examination = combined(contents, &log, considers.n).map_err(asked)?;
    let measured = examination.as_ref().map(Summary::of);
    let differs_in = differences(&opinion, measured.as_ref());
    if !differs_in.is_empty() && opinion.because.is_none() {
        return Err(asked(why_wanted(&differs_in, measured.as_ref())));
    }
    let files = match &examination {
        Some(examination) => vec![reading_file(reading_text(examination)?)],
        None => vec![],
    };
    let deed = Deed::Conclusion(Conclusion {
        text: opinion.text,
        process: opinion.process,
        colouring: opinion.colouring,
        considers,
        measured,
        differs_in,
        because: opinion.because,
    });
    let draft = author.draft(deed, files);
    let receipt = store.add(author.signer, patience, |_| Ok(draft))?;
    Ok((receipt, examination))
}

/// A process that is one of ours by its key, however it was typed; a reason with words in it.
fn tidy(mut opinion: Opinion) -> Result<Opinion, String> {
    opinion.process = opinion.process.map(|process| {
        let key = process.trim().to_lowercase().replace(' ', "-");
        match Process::from_key(&key) {
            Some(known) => known.key().to_owned(),
            None if key == words::UNDETERMINED_KEY => key,
            None => process.trim().to_owned(),
        }
    });
    opinion.because = opinion.because.map(|because| because.trim().to_owned());
    if opinion.because.as_deref() == Some("") {
        return Err("--because is blank; say in a sentence why your conclusion differs from the reading, or leave it out".into());
    }
    Ok(opinion)
}

/// Photographs that are not as they were measured are no ground for a conclusion: their reading
/// would stand beside entries that were made on others.
fn unchanged(contents: &dyn Contents, log: &Log) -> Result<(), String> {
    for (entry, _) in photographs_upto(log, u64::MAX) {
        for file in entry.files.iter().filter(|f| f.role.is_photograph()) {
            let bytes = contents.read(&file.path).map_err(|e| {
                format!(
                    "{} ({}) cannot be read ({e}); see: inktell dossier verify",
                    file.path, file.name
                )
            })?;
            if let Some(damage) = file.digest.damage(&bytes) {
                return Err(format!(
                    "{} ({}) was changed since entry {} measured it: {}; nothing was concluded, see: inktell dossier verify",
                    file.path,
                    file.name,
                    entry.n,
                    damage.in_words(0)
                ));
            }
        }
    }
    Ok(())
}

/// In what a conclusion and the reading differ. A conclusion that names nothing differs in nothing.
fn differences(opinion: &Opinion, measured: Option<&Summary>) -> Vec<String> {
    let Some(measured) = measured else {
        return Vec::new();
    };
    let mut differs = Vec::new();
    if opinion
        .process
        .as_ref()
        .is_some_and(|p| *p != measured.process)
    {
        differs.push("process".to_owned());
    }
    if !opinion.colouring.is_empty() && colouring_differs(&opinion.colouring, &measured.colouring) {
        differs.push("colouring".to_owned());
    }
    differs
}

/// A reading that leaves the colouring open, wholly or beside what it found, is not contradicted by
/// whoever says more.
fn colouring_differs(concluded: &[Colouring], measured: &[Colouring]) -> bool {
    let open = measured.contains(&Colouring::Undetermined);
    let found = |kind: &&Colouring| **kind != Colouring::Undetermined;
    let missed = measured
        .iter()
        .filter(found)
        .any(|kind| !concluded.contains(kind));
    let added = concluded.iter().any(|kind| !measured.contains(kind));
    missed || (added && !open)
}

fn why_wanted(differs: &[String], measured: Option<&Summary>) -> String {
    let reading = measured.map_or_else(String::new, |m| {
        format!(
            " (all photographs together: {}; colour: {}. {})",
            m.process_name(),
            m.colouring_names(),
            m.sentence.trim_end_matches('.')
        )
    });
    format!(
        "your conclusion differs from the reading in {}{reading}; say why with --because \"…\"",
        words::list(differs)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use Colouring::{ColouredInk, HandWash, None as Black, Undetermined};

    #[test]
    fn a_reading_that_leaves_the_colouring_open_is_not_contradicted() {
        for (concluded, measured, differs) in [
            (&[HandWash][..], &[Undetermined][..], false),
            (&[Black], &[Undetermined], false),
            (&[Undetermined], &[Undetermined], false),
            (&[HandWash, ColouredInk], &[HandWash, Undetermined], false),
            (&[ColouredInk], &[HandWash, Undetermined], true),
            (&[HandWash, ColouredInk], &[ColouredInk, HandWash], false),
            (&[HandWash], &[Black], true),
            (&[Undetermined], &[HandWash], true),
        ] {
            assert_eq!(
                colouring_differs(concluded, measured),
                differs,
                "{concluded:?} {measured:?}"
            );
        }
    }

    #[test]
    fn a_process_is_known_however_it_is_typed_and_a_reason_has_words() {
        let opinion = |process: &str, because: Option<&str>| {
            tidy(Opinion {
                process: Some(process.into()),
                because: because.map(str::to_owned),
                ..Opinion::default()
            })
        };
        let process = |text| opinion(text, None).unwrap().process.unwrap();
        assert_eq!(process(" Stipple engraving"), "stipple-engraving");
        assert_eq!(process("Undetermined"), "undetermined");
        assert_eq!(process("Potato print "), "Potato print");
        assert!(opinion("x", Some(" \t")).unwrap_err().contains("blank"));
        let why = opinion("x", Some(" plain "));
        assert_eq!(why.unwrap().because.unwrap(), "plain");
    }
}
