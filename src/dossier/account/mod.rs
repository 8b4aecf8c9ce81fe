//! The dossier as headings, rows and paragraphs, the same for every way of showing it.

mod conclusions;
pub(super) mod corrections;
mod entries;
mod findings;
mod readings;
mod stand_ins;
#[cfg(test)]
mod tests;

use super::contents::Contents;
use super::entry::{Deed, Entry, FileRef, Means, Parameters, Role};
use super::line::Log;
use super::particulars::Particulars;
use super::verify::Verdict;
use super::verify::words::{self as verdict_words, Shortfall};
use super::{papersize, privacy, work};
use crate::report::words::{self, standing};
use stand_ins::StandIns;
use std::collections::BTreeMap;

pub use readings::caveats_of;
pub use stand_ins::Copy;

/// Number of the entry that begins a dossier.
pub(super) const BEGINNING: u64 = 1;

/// A dossier told.
pub struct Account {
    /// Title of the sheet.
    pub title: String,
    /// When this account was made, in words.
    pub made: String,
    /// How the dossier falls short; none where everything holds.
    pub shortfall: Option<Shortfall>,
    /// That places were left out on request, as a sentence, where there were any.
    pub places_left_out: Option<&'static str>,
    /// The photographs that are not in this export, by their SHA-256, each with its copy where there is one.
    pub absent: BTreeMap<String, Option<Copy>>,
    /// What the readings beside the conclusions at the front say against relying on them, each with
    /// its label, by the number of the conclusion.
    pub caveats: BTreeMap<u64, Vec<(&'static str, String)>>,
    /// What is told, part by part.
    pub parts: Vec<Part>,
    /// What stands in the foot of every page.
    pub foot: Foot,
}

/// A part under a heading.
pub struct Part {
    /// The heading.
    pub heading: &'static str,
    /// What stands under it.
    pub blocks: Vec<Block>,
}

/// A piece of a part.
pub enum Block {
    /// A sentence that leads.
    Lead(String),
    /// A paragraph.
    Text(String),
    /// A paragraph that must not be overlooked.
    Notice(String),
    /// Small print.
    Small(String),
    /// Label and value, row by row; values may hold line breaks.
    Rows(Vec<(String, String)>),
    /// A table of findings.
    Findings(Vec<FindingRow>),
    /// Head of an entry: what, and by whom and when.
    Entry {
        /// "3 · Observation".
        title: String,
        /// Author, time, signature.
        meta: String,
    },
    /// A photograph, whole and in detail.
    Photograph(Box<Shown>),
}

/// A finding as a row.
pub struct FindingRow {
    /// What was measured.
    pub title: String,
    /// The figure with its interval.
    pub value: String,
    /// Its weight for the process best supported.
    pub weight: String,
    /// The reason in trade language.
    pub because: String,
}

/// A photograph to be shown.
#[derive(Clone)]
pub struct Shown {
    /// The file.
    pub file: FileRef,
    /// How it was examined.
    pub parameters: Parameters,
    /// The rule photographed with it.
    pub rule: Option<FileRef>,
    /// Caption.
    pub caption: String,
}

/// What stands in the foot of every page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Foot {
    /// Number of entries.
    pub entries: u64,
    /// SHA-256 of the last line.
    pub sha256: String,
    /// Who signed, in few words.
    pub signed: String,
}

/// How a dossier is to be told.
pub struct Telling<'a> {
    /// The dossier.
    pub contents: &'a dyn Contents,
    /// Its log.
    pub log: &'a Log,
    /// What its verification gave.
    pub verdict: &'a Verdict,
    /// The moment, in words.
    pub made: &'a str,
    /// Whether coordinates in photographs are spelt out.
    pub tell_places: bool,
}

/// Tells a dossier.
#[must_use]
pub fn account(telling: &Telling<'_>) -> Account {
    let log = telling.log;
    let particulars = work::particulars_as_amended(log).unwrap_or_default();
    let parts = [
        ("Conclusion", conclusions::told(telling)),
        ("Seen and felt", observed(log)),
        ("The sheet", sheet(log, &particulars)),
        ("What was measured", findings::measured(telling)),
        ("Photographs", photographs(telling)),
        ("The log, entry by entry", entries::entries(telling)),
        ("Does it hold?", verification(telling.verdict)),
        ("Personal data", personal(telling)),
        ("Cautions", cautions(log)),
    ];
    Account {
        title: particulars.title,
        made: telling.made.to_owned(),
        shortfall: verdict_words::shortfall(telling.verdict),
        places_left_out: places_left_out(telling),
        absent: stand_ins::absent(telling),
        caveats: conclusions::caveats(telling),
        parts: parts
            .into_iter()
            .filter(|(_, blocks)| !blocks.is_empty())
            .map(|(heading, blocks)| Part { heading, blocks })
            .collect(),
        foot: foot(log, telling.verdict),
    }
}

fn foot(log: &Log, verdict: &Verdict) -> Foot {
    let signers: Vec<String> = verdict
        .signers
        .iter()
        .map(|s| format!("{} {}", s.authors.join(", "), s.fingerprint))
        .collect();
    let signed = match (signers.is_empty(), verdict.unsigned.len()) {
        (true, _) => "unsigned".to_owned(),
        (false, 0) => format!("signed by {}", signers.join("; ")),
        (false, n) => format!(
            "signed by {}; {} unsigned",
            signers.join("; "),
            words::counted(n, "entry")
        ),
    };
    Foot {
        entries: log.lines.len() as u64,
        sha256: verdict.head.clone().unwrap_or_default(),
        signed,
    }
}

fn rows(pairs: impl IntoIterator<Item = (&'static str, String)>) -> Block {
    Block::Rows(
        pairs
            .into_iter()
            .map(|(label, value)| (label.to_owned(), value))
            .collect(),
    )
}

/// What was observed by hand and eye, with its corrections; what was withdrawn is marked as such.
fn observed(log: &Log) -> Vec<Block> {
    let withdrawn = work::withdrawn(log, u64::MAX);
    let mut blocks = Vec::new();
    for entry in log.entries() {
        let Deed::Observation(o) = &entry.deed else {
            continue;
        };
        blocks.push(Block::Text(format!(
            "{}: {} ({}{})",
            words::capital(o.means.name()),
            o.text,
            corrections::by(entry),
            if withdrawn.contains(&entry.n) {
                "; withdrawn"
            } else {
                ""
            }
        )));
        blocks.extend(corrected(log, entry.n));
    }
    blocks
}

/// The corrections of an entry as notices.
fn corrected(log: &Log, n: u64) -> impl Iterator<Item = Block> {
    corrections::of(log, n).into_iter().map(Block::Notice)
}

/// The sheet's particulars as they read now, and who corrected those of the beginning.
fn sheet(log: &Log, particulars: &Particulars) -> Vec<Block> {
    let mut blocks = vec![rows(particulars.rows())];
    blocks.extend(corrected(log, BEGINNING));
    if let Some(size) = &particulars.sheet {
        let said = papersize::in_words(size, particulars.format.as_deref());
        let last = said.len() - 1;
        for (index, sentence) in said.into_iter().enumerate() {
            blocks.push(if index < last {
                Block::Text(sentence)
            } else {
                Block::Small(sentence)
            });
        }
        blocks.extend(odd_sizes(particulars).map(Block::Notice));
    }
    blocks.push(Block::Small(
        "Field names follow ICOM's Object ID, CDWA and DCRMR; AAT is the Getty Art & Architecture Thesaurus. Sizes are height × width.".into(),
    ));
    blocks
}

/// A plate mark or image that does not fit on its sheet is a slip of the pen, or a made-up sheet.
#[must_use]
pub fn odd_sizes(particulars: &Particulars) -> Option<String> {
    let sheet = particulars.sheet?;
    let odd: Vec<String> = [
        ("image", particulars.image),
        ("plate mark", particulars.plate_mark),
    ]
    .into_iter()
    .filter_map(|(name, size)| Some((name, size?)))
    .filter(|(_, size)| size.height_mm > sheet.height_mm || size.width_mm > sheet.width_mm)
    .map(|(name, _)| format!("the {name} is given as larger than the sheet"))
    .collect();
    (!odd.is_empty()).then(|| words::sentence(&format!("{}; check the sizes", words::list(&odd))))
}

/// The photographs that stand, and what was said of any since.
fn photographs(telling: &Telling<'_>) -> Vec<Block> {
    let log = telling.log;
    let stand_ins = StandIns::of(telling);
    let withdrawn = work::withdrawn(log, u64::MAX);
    let mut blocks = Vec::new();
    for entry in log.entries() {
        let Deed::Photographs(photographs) = &entry.deed else {
            continue;
        };
        if !withdrawn.contains(&entry.n) {
            blocks.extend(shown(entry, &photographs.parameters, &stand_ins));
        }
        blocks.extend(corrected(log, entry.n));
    }
    blocks
}

fn shown<'a>(
    entry: &'a Entry,
    parameters: &'a Parameters,
    stand_ins: &'a StandIns<'_>,
) -> impl Iterator<Item = Block> + 'a {
    let rule = entry.files.iter().find(|f| f.role == Role::Rule);
    let photographs = entry.files.iter().filter(|f| f.role == Role::Photograph);
    photographs.map(move |file| {
        Block::Photograph(Box::new(Shown {
            file: file.clone(),
            parameters: parameters.clone(),
            rule: rule.cloned(),
            caption: format!(
                "{}, entry {}; {}. {}",
                file.name,
                entry.n,
                parameters.in_words(),
                stand_ins.hash_in_words(file)
            ),
        }))
    })
}

fn verification(verdict: &Verdict) -> Vec<Block> {
    let mut blocks = vec![Block::Text(verdict_words::headline(verdict))];
    blocks.extend(verdict.problems().map(|f| Block::Notice(f.text.clone())));
    blocks.extend(verdict.remarks().map(|f| Block::Text(f.text.clone())));
    blocks.extend(verdict_words::signers(verdict).into_iter().map(Block::Text));
    blocks.extend(verdict.expectation.clone().map(Block::Text));
    blocks.push(Block::Small(verdict_words::LIMITS.into()));
    blocks
}

fn personal(telling: &Telling<'_>) -> Vec<Block> {
    let held = privacy::held(telling.contents, telling.log, telling.tell_places);
    let mut blocks: Vec<Block> = held.into_iter().map(Block::Text).collect();
    blocks.extend(places_left_out(telling).map(|said| Block::Notice(said.into())));
    blocks
}

fn places_left_out(telling: &Telling<'_>) -> Option<&'static str> {
    let any = || !privacy::located(telling.contents, telling.log).is_empty();
    (!telling.tell_places && any()).then_some(
        "Places were left out of this account on request. The originals hold them; their SHA-256 is named beside each photograph.",
    )
}

/// The standing cautions; that on ultraviolet light comes to the front where such a look is recorded.
fn cautions(log: &Log) -> Vec<Block> {
    let ultraviolet = log
        .entries()
        .any(|entry| matches!(&entry.deed, Deed::Observation(o) if o.means == Means::Ultraviolet));
    let mut all: Vec<_> = standing::CAUTIONS
        .iter()
        .map(|(title, text)| ((*title).to_owned(), (*text).to_owned()))
        .collect();
    if ultraviolet {
        all.sort_by_key(|(title, _)| !title.starts_with("Ultraviolet"));
    }
    vec![Block::Rows(all)]
}
