//! Concluding: the author's own words beside the measured reading.

use super::{Author, combined, reading_file, reading_text};
use crate::dossier::LOG;
use crate::dossier::contents::Contents;
use crate::dossier::entry::{Conclusion, Deed, Referred, Summary};
use crate::dossier::line::Log;
use crate::dossier::store::{Patience, Receipt, Store, StoreError};
use crate::report::words;
use crate::weigh::Colouring;

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

/// Adds a conclusion beside the reading of all photographs so far.
///
/// # Errors
/// [`StoreError`]; also when the conclusion differs from the reading and no reason is given.
pub fn conclusion(
    store: &Store<'_>,
    contents: &dyn Contents,
    author: &Author<'_>,
    patience: &Patience<'_>,
    opinion: Opinion,
) -> Result<(Receipt, Option<Summary>), StoreError> {
    let asked = StoreError::Asked;
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
    let examination = combined(contents, &log).map_err(asked)?;
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
        measured: measured.clone(),
        differs_in,
        because: opinion.because,
    });
    let draft = author.draft(deed, files);
    let receipt = store.add(author.signer, patience, |_| Ok(draft))?;
    Ok((receipt, measured))
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
    let sorted = |colouring: &[Colouring]| {
        let mut all = colouring.to_vec();
        all.sort();
        all
    };
    if !opinion.colouring.is_empty() && sorted(&opinion.colouring) != sorted(&measured.colouring) {
        differs.push("colouring".to_owned());
    }
    differs
}

fn why_wanted(differs: &[String], measured: Option<&Summary>) -> String {
    let reading = measured.map_or_else(String::new, |m| {
        format!(
            " (measured: {}; colour: {})",
            m.process_name(),
            m.colouring_names()
        )
    });
    format!(
        "your conclusion differs from the reading in {}{reading}; say why with --because \"…\"",
        words::list(differs)
    )
}
