//! Whether everything in a dossier still holds, in words.
//!
//! - [`chain`]: the lines of the log against one another and against `head`.
//! - [`bag`]: the bag that it came in against the bag's manifests.
//! - [`converted`]: a log that an editor wrote anew, as it was before.
//! - [`signatures`]: signatures, and whose keys made them. [`references`](mod@references): entries
//!   that refer to entries. [`files`]: photographs, readings and reports against their digests.
//! - [`remeasure`]: the photographs measured again with the recorded parameters. [`copies`]: copies
//!   that only their figures tie to a photograph.
//! - [`words`](mod@words): the outcome as text.

pub mod bag;
pub mod chain;
pub mod converted;
pub mod copies;
pub mod files;
pub mod references;
pub mod remeasure;
pub mod signatures;
pub mod words;

use super::account::BEGINNING;
use super::contents::Contents;
use super::keys::KnownSigners;
use super::line::Log;
use super::store::parse_head;
use super::{HEAD, LOG};
use serde::Serialize;
use std::collections::BTreeSet;
use std::io::ErrorKind;

/// What kind of thing was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The dossier holds no log or no entry.
    NoLog,
    /// A line cannot be read.
    Unreadable,
    /// Bytes of the log or of `head` changed.
    Changed,
    /// An entry is missing.
    Missing,
    /// Entries at the end are missing.
    CutOff,
    /// Entries stand in another order than they were written in.
    Reordered,
    /// A line belongs to no place in the chain.
    OutOfChain,
    /// A signature does not hold, or is missing where a key is named.
    Forged,
    /// An entry refers to another that is not as it was.
    Reference,
    /// A file is missing.
    FileMissing,
    /// A file's bytes changed.
    FileChanged,
    /// A figure comes out differently when measured again.
    Figure,
    /// The photographs could not be measured again.
    NotMeasured,
    /// A hash noted elsewhere does not stand in the log.
    Expectation,
    /// A signer's key is not among the known ones.
    UnknownSigner,
    /// Entries that nobody, or nobody known, vouches for with a signature.
    Unvouched,
    /// The last writing was interrupted; nothing acknowledged is lost.
    Interrupted,
    /// A file that no entry names.
    LeftOver,
    /// A file left out of an export, which says so.
    LeftOut,
    /// Nothing shows that a copy is of the photograph that it stands in for.
    CopyUnconfirmed,
    /// The dossier lies in a bag.
    Bag,
    /// A newer or older program measures differently.
    OtherProgram,
    /// The author's clock ran backwards.
    Clock,
    /// A line holds more than this version shows, or is written in another form.
    OtherForm,
}

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// Something does not hold.
    Problem,
    /// Worth knowing; everything recorded still holds.
    Remark,
}

/// One thing found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// How much it matters.
    pub weight: Weight,
    /// What kind it is.
    pub kind: Kind,
    /// The entry it is about, where it is about one.
    pub entry: Option<u64>,
    /// The file it is about, where it is about one.
    pub file: Option<String>,
    /// It in words.
    pub text: String,
}

impl Finding {
    fn problem(kind: Kind, text: impl Into<String>) -> Self {
        Self {
            weight: Weight::Problem,
            kind,
            entry: None,
            file: None,
            text: text.into(),
        }
    }

    fn remark(kind: Kind, text: impl Into<String>) -> Self {
        Self {
            weight: Weight::Remark,
            ..Self::problem(kind, text)
        }
    }

    fn entry(mut self, n: u64) -> Self {
        self.entry = Some(n);
        self
    }

    fn file(mut self, path: &str) -> Self {
        self.file = Some(path.to_owned());
        self
    }
}

/// What is to be checked besides the dossier itself.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Whether photographs are measured again.
    pub measure: bool,
    /// SHA-256 of an entry noted elsewhere, or its beginning.
    pub expect: Option<String>,
    /// Keys that are known; empty where none are.
    pub known: KnownSigners,
}

/// The outcome.
#[derive(Clone, Debug, Serialize)]
pub struct Verdict {
    /// Whole lines in the log.
    pub entries: u64,
    /// Number of the entry in the last line, which is greater than that of lines where some are
    /// missing; none where it cannot be read.
    pub last: Option<u64>,
    /// SHA-256 of the last line.
    pub head: Option<String>,
    /// All that was found, problems first.
    pub findings: Vec<Finding>,
    /// Who signed what.
    pub signers: Vec<signatures::Signed>,
    /// Numbers of entries that nobody signed.
    pub unsigned: Vec<u64>,
    /// Files checked against their digests.
    pub files_checked: usize,
    /// What measuring again gave.
    pub measured: remeasure::Outcome,
    /// What the hash noted elsewhere says, in words; none where none was given.
    pub expectation: Option<String>,
}

impl Verdict {
    /// Whether nothing was found that does not hold.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.findings.iter().all(|f| f.weight == Weight::Remark)
    }

    /// The problems.
    pub fn problems(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|f| f.weight == Weight::Problem)
    }

    /// The remarks.
    pub fn remarks(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|f| f.weight == Weight::Remark)
    }
}

/// Whether a text can be looked for as the hash of an entry: 16 to 64 hex digits.
#[must_use]
pub fn is_expectation(text: &str) -> bool {
    chain::wanted(text).is_some()
}

/// Checks a dossier.
#[must_use]
pub fn verify(contents: &dyn Contents, asked: &Asked) -> Verdict {
    let mut findings = Vec::new();
    let log_bytes = read_or_say(contents, LOG, &mut findings).unwrap_or_default();
    let head = head(contents, &log_bytes, &mut findings);
    let log = converted::undone(&log_bytes, head.as_ref(), &mut findings);
    let damaged = chain::check(&log, head.as_ref(), &mut findings);
    let signed = signatures::check(&log, &damaged, &asked.known, &mut findings);
    references::check(&log, &mut findings);
    let mut files_checked = files::check(contents, &log, &mut findings);
    let pinned: BTreeSet<String> = files::named_by_entries(&log)
        .chain([LOG, HEAD].map(str::to_owned))
        .collect();
    files_checked +=
        bag::check(contents, &|path| pinned.contains(path), &mut findings).unwrap_or(0);
    bag::outside(contents, &mut findings);
    let measured = if asked.measure {
        remeasure::check(contents, &log, &mut findings)
    } else {
        remeasure::Outcome::default()
    };
    copies::check(contents, &log, asked.measure, &mut findings);
    let expectation = asked
        .expect
        .as_deref()
        .map(|expect| chain::expectation(&log, expect, &mut findings));
    findings.sort_by_key(|f| f.weight);
    Verdict {
        entries: log.lines.len() as u64,
        last: log
            .lines
            .last()
            .and_then(|line| Some(line.entry.as_ref().ok()?.n)),
        head: log.lines.last().map(|line| line.digest.sha256.clone()),
        findings,
        signers: signed.signers,
        unsigned: signed.unsigned,
        files_checked,
        measured,
        expectation,
    }
}

fn read_or_say(
    contents: &dyn Contents,
    path: &str,
    findings: &mut Vec<Finding>,
) -> Option<Vec<u8>> {
    match contents.read(path) {
        Ok(bytes) => Some(bytes),
        Err(error) => {
            let why = if error.kind() == ErrorKind::NotFound {
                "is missing".to_owned()
            } else {
                format!("cannot be read ({error})")
            };
            let finding = Finding::problem(Kind::FileMissing, format!("The file {path} {why}."));
            findings.push(finding.file(path));
            None
        }
    }
}

/// What `head` says.
fn head(contents: &dyn Contents, log: &[u8], findings: &mut Vec<Finding>) -> Option<chain::Head> {
    if is_interrupted_beginning(contents, log) {
        findings.push(chain::not_noted(BEGINNING));
        return None;
    }
    let bytes = read_or_say(contents, HEAD, findings)?;
    let parsed = parse_head(&bytes);
    if parsed.is_none() {
        let text = "The file head is not in the form in which it was written: its bytes changed.";
        findings.push(Finding::problem(Kind::Changed, text).file(HEAD));
    }
    parsed.map(|(n, digest)| chain::Head { n, digest })
}

/// Whether the first entry stands alone and whole, and `head` was not written yet. Whoever takes all later
/// entries away together with `head` gains nothing by it: nobody signs `head`, so that it could as well be
/// written anew. A bag whose manifest names it has lost it.
fn is_interrupted_beginning(contents: &dyn Contents, log: &[u8]) -> bool {
    let Log { lines, torn } = Log::parse(log);
    let [only] = &lines[..] else {
        return false;
    };
    let first = only.entry.as_ref().is_ok_and(|entry| entry.n == BEGINNING);
    let missing = || {
        let head = contents.read(HEAD);
        head.is_err_and(|error| error.kind() == ErrorKind::NotFound)
    };
    first && torn.is_empty() && missing() && !bag::names(contents, HEAD)
}
