//! The entries that a user makes.

mod concluded;
mod conclusion;
mod standing;

pub use concluded::{Concluded, Hold, concluded};
pub use conclusion::{Opinion, conclusion};
pub use standing::{
    amendments, changed_since, last_reading, particulars_as_amended, particulars_vouched_for,
    photographs_upto, standing, withdrawn, withdrawn_with,
};

use super::README;
use super::contents::Contents;
use super::entry::{
    Amendment, Countersignature, Deed, Entry, Means, Observation, Parameters, Photographs,
    Referred, Role, Summary,
};
use super::examining::{self, Named};
use super::keys::Signer;
use super::line::Log;
use super::particulars::Particulars;
use super::store::{Draft, NewFile, Patience, Receipt, Store, StoreError};
use crate::examine::{self, Examination};
use crate::report::html::{self, Circumstances};
use crate::report::json;
use jiff::Timestamp;
use std::collections::BTreeMap;

/// The page for readers without this program.
const README_TEXT: &str = include_str!("../README.txt");

/// Who makes an entry, and when.
pub struct Author<'a> {
    /// Their name.
    pub name: String,
    /// Their key; none for unsigned entries.
    pub signer: Option<&'a Signer>,
    /// The moment.
    pub time: Timestamp,
}

impl Author<'_> {
    fn draft(&self, deed: Deed, files: Vec<NewFile>) -> Draft {
        Draft {
            author: self.name.clone(),
            time: moment(self.time),
            deed,
            files,
        }
    }
}

/// A moment as entries have it: UTC, whole seconds.
#[must_use]
pub fn moment(time: Timestamp) -> String {
    time.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
}

/// A moment of an entry as it is printed; the text itself where it is none.
#[must_use]
pub fn moment_in_words(time: &str) -> String {
    time.parse::<Timestamp>().map_or_else(
        |_| time.to_owned(),
        |time| time.strftime("%-d %B %Y, %H:%M UTC").to_string(),
    )
}

/// Begins a dossier.
///
/// # Errors
/// [`StoreError`].
pub fn begin(
    store: &Store<'_>,
    author: &Author<'_>,
    particulars: Particulars,
) -> Result<Receipt, StoreError> {
    let readme = NewFile {
        role: Role::Readme,
        name: README.into(),
        bytes: README_TEXT.into(),
    };
    let draft = author.draft(Deed::Begin(Box::new(particulars)), vec![readme]);
    store.begin(draft, author.signer)
}

/// Examines photographs and adds them with their reading and report.
///
/// # Errors
/// [`StoreError`]; where a photograph cannot be read, nothing is added.
pub fn photographs(
    store: &Store<'_>,
    author: &Author<'_>,
    patience: &Patience<'_>,
    photos: Vec<Named>,
    rule: Option<Named>,
    parameters: Parameters,
) -> Result<(Receipt, Examination), StoreError> {
    let examination =
        examining::together(&photos, rule.as_ref(), &parameters).map_err(StoreError::Asked)?;
    let reading = reading_text(&examination)?;
    let made = moment_in_words(&moment(author.time));
    let report = html::page(
        &examination,
        &Circumstances {
            made: &made,
            parameters: &[("Examined with".to_owned(), parameters.in_words())],
            not_read: &[],
            lot: None,
        },
    );
    let kept = |role| {
        move |named: Named| NewFile {
            role,
            name: named.name,
            bytes: named.bytes,
        }
    };
    let mut files: Vec<NewFile> = photos.into_iter().map(kept(Role::Photograph)).collect();
    files.extend(rule.map(kept(Role::Rule)));
    files.push(reading_file(reading));
    files.push(NewFile {
        role: Role::Report,
        name: "report.html".into(),
        bytes: report.into_bytes(),
    });
    let deed = Deed::Photographs(Photographs {
        parameters,
        reading: Summary::of(&examination),
    });
    let draft = author.draft(deed, files);
    let receipt = store.add(author.signer, patience, |_| Ok(draft))?;
    Ok((receipt, examination))
}

fn reading_text(examination: &Examination) -> Result<String, StoreError> {
    json::text(examination, &[])
        .map_err(|e| StoreError::Asked(format!("the reading cannot be written as JSON ({e})")))
}

fn reading_file(text: String) -> NewFile {
    NewFile {
        role: Role::Reading,
        name: "reading.json".into(),
        bytes: text.into_bytes(),
    }
}

/// Adds an observation.
///
/// # Errors
/// [`StoreError`].
pub fn observation(
    store: &Store<'_>,
    author: &Author<'_>,
    patience: &Patience<'_>,
    means: Means,
    text: String,
) -> Result<Receipt, StoreError> {
    let draft = author.draft(Deed::Observation(Observation { means, text }), vec![]);
    store.add(author.signer, patience, |_| Ok(draft))
}

/// The reading of all photographs of a dossier taken together, each examined with the parameters
/// recorded for it, as the dossier stood after entry `upto`; `None` where it held none then.
/// Entries withdrawn by then are left out.
///
/// # Errors
/// A sentence that names the photograph.
pub fn combined(
    contents: &dyn Contents,
    log: &Log,
    upto: u64,
) -> Result<Option<Examination>, String> {
    let mut examined = Vec::new();
    for (entry, photographs) in photographs_upto(log, upto) {
        let (photos, rule) = kept_photographs(contents, entry)?;
        examined.extend(examining::each(
            &photos,
            rule.as_ref(),
            &photographs.parameters,
        )?);
    }
    Ok((!examined.is_empty()).then(|| examine::together(examined, None)))
}

/// The photographs of an entry, and the rule, read from the dossier.
///
/// # Errors
/// A sentence that names the file.
pub fn kept_photographs(
    contents: &dyn Contents,
    entry: &Entry,
) -> Result<(Vec<Named>, Option<Named>), String> {
    let mut photos = Vec::new();
    let mut rule = None;
    for file in &entry.files {
        if !file.role.is_photograph() {
            continue;
        }
        let bytes = contents
            .read(&file.path)
            .map_err(|e| format!("{} ({}) cannot be read ({e})", file.path, file.name))?;
        let named = Named {
            name: file.name.clone(),
            bytes,
        };
        match file.role {
            Role::Rule => rule = Some(named),
            _ => photos.push(named),
        }
    }
    Ok((photos, rule))
}

/// A correction before it is written.
#[derive(Clone, Debug, Default)]
pub struct Correction {
    /// Number of the entry corrected.
    pub n: u64,
    /// The correction in words.
    pub text: String,
    /// Fields of the sheet's particulars as they should read.
    pub particulars: BTreeMap<String, String>,
    /// Whether the entry is withdrawn as a whole.
    pub withdraws: bool,
}

/// Adds a correction to an earlier entry.
///
/// # Errors
/// [`StoreError`]; also when there is no such entry, or fields are set for one that has none.
pub fn amendment(
    store: &Store<'_>,
    author: &Author<'_>,
    patience: &Patience<'_>,
    correction: Correction,
) -> Result<Receipt, StoreError> {
    // A field that does not fit is refused before it stands in the log for good.
    let mut scratch = Particulars::default();
    for (key, value) in &correction.particulars {
        scratch.set(key, value).map_err(StoreError::Asked)?;
    }
    store.add(author.signer, patience, |log| {
        let amends = referred(log, correction.n)?;
        let begins = log.lines[correction.n as usize - 1]
            .entry
            .as_ref()
            .is_ok_and(|e| matches!(e.deed, Deed::Begin(_)));
        if begins && correction.withdraws {
            return Err(StoreError::Asked(
                "entry 1 begins the dossier and cannot be withdrawn; correct its fields with --set"
                    .into(),
            ));
        }
        if !correction.particulars.is_empty() && !begins {
            return Err(StoreError::Asked(format!(
                "entry {} holds no particulars; --set corrects entry 1",
                correction.n
            )));
        }
        let deed = Deed::Amendment(Amendment {
            amends,
            text: correction.text,
            particulars: correction.particulars,
            withdraws: correction.withdraws,
        });
        Ok(author.draft(deed, vec![]))
    })
}

/// Adds a signer's name to what stands so far.
///
/// # Errors
/// [`StoreError`]; also without a key: a countersignature that is none would mislead.
pub fn countersignature(
    store: &Store<'_>,
    author: &Author<'_>,
    patience: &Patience<'_>,
    text: String,
) -> Result<Receipt, StoreError> {
    if author.signer.is_none() {
        return Err(StoreError::Asked(
            "a countersignature needs a key; name it with --key FILE".into(),
        ));
    }
    store.add(author.signer, patience, |log| {
        let covers = referred(log, log.lines.len() as u64)?;
        Ok(author.draft(
            Deed::Countersignature(Countersignature { covers, text }),
            vec![],
        ))
    })
}

fn referred(log: &Log, n: u64) -> Result<Referred, StoreError> {
    let line = n
        .checked_sub(1)
        .and_then(|index| log.lines.get(usize::try_from(index).ok()?));
    match line {
        Some(line) => Ok(Referred {
            n,
            sha256: line.digest.sha256.clone(),
        }),
        None => Err(StoreError::Asked(format!(
            "there is no entry {n}; the dossier holds {}",
            match log.lines.len() {
                1 => "one entry".to_owned(),
                many => format!("entries 1 to {many}"),
            }
        ))),
    }
}
