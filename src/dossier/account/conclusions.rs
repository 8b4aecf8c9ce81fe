//! What was concluded: by whom, beside which reading, and what became of it since.

use super::{Block, Telling, corrected, corrections, readings, rows};
use crate::dossier::digest::Digest;
use crate::dossier::entry::{Entry, Role};
use crate::dossier::line::Log;
use crate::dossier::verify::words as verdict_words;
use crate::dossier::work::{self, Concluded, Hold};
use crate::report::words;
use std::collections::BTreeMap;

/// Every conclusion that belongs at the front, or the state of things without one.
pub fn told(telling: &Telling<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    if !telling.verdict.holds() {
        blocks.push(Block::Notice(format!(
            "{} See \"Does it hold?\" before relying on anything here.",
            verdict_words::headline(telling.verdict)
        )));
    }
    let all = work::concluded(telling.log);
    if all.is_empty() {
        blocks.push(Block::Text(
            "Nobody has concluded anything yet; what follows is what was seen and measured.".into(),
        ));
    } else if !all.iter().any(holds) {
        blocks.push(Block::Text(
            "No conclusion stands: what was concluded was withdrawn.".into(),
        ));
    }
    for concluded in &all {
        blocks.extend(one(telling, concluded));
    }
    blocks
}

/// What speaks against relying on the readings beside the conclusions, by their numbers.
pub fn caveats(telling: &Telling<'_>) -> BTreeMap<u64, Vec<readings::Row>> {
    work::concluded(telling.log)
        .iter()
        .filter(|concluded| holds(concluded) && concluded.conclusion.measured.is_some())
        .map(|concluded| {
            let caveats = readings::caveats(telling.contents, concluded.entry);
            (concluded.entry.n, caveats)
        })
        .collect()
}

/// Whether a conclusion at the front shows the very reading that an entry keeps.
pub fn shows_reading(log: &Log, entry: &Entry) -> bool {
    let kept = reading_kept(entry);
    work::concluded(log)
        .iter()
        .filter(|concluded| holds(concluded))
        .any(|concluded| reading_kept(concluded.entry) == kept)
}

fn reading_kept(entry: &Entry) -> Option<&Digest> {
    let mut files = entry.files.iter();
    let file = files.find(|file| file.role == Role::Reading)?;
    Some(&file.digest)
}

/// Whoever has no key for a signed conclusion takes nothing from it.
fn holds(concluded: &Concluded<'_>) -> bool {
    concluded.hold != Hold::Withdrawn
}

fn one(telling: &Telling<'_>, concluded: &Concluded<'_>) -> Vec<Block> {
    let Concluded {
        entry, conclusion, ..
    } = concluded;
    let who = Block::Small(format!(
        "{}{}.",
        words::capital(&corrections::by(entry)),
        concluded.mark()
    ));
    let text = conclusion.text.clone();
    if !holds(concluded) {
        let mut blocks = vec![Block::Text(text), who];
        blocks.extend(corrected(telling.log, entry.n));
        return blocks;
    }
    let mut blocks = vec![Block::Lead(text), who];
    blocks.extend(corrected(telling.log, entry.n));
    let changed = corrections::changed_since(telling.log, entry, conclusion);
    blocks.extend(changed.into_iter().map(Block::Notice));
    blocks.push(rows(readings::beside(telling.contents, entry, conclusion)));
    blocks
}
