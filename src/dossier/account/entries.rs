//! The log, entry by entry.

use super::{Block, Telling, readings, rows};
use crate::dossier::contents::Contents;
use crate::dossier::digest::Digest;
use crate::dossier::entry::{Amendment, Deed, Entry, FileRef, Photographs};
use crate::dossier::line::{Line, Log};
use crate::dossier::particulars::Particulars;
use crate::dossier::{keys, particulars, work};
use crate::report::words;

/// All entries, in the order of their lines.
pub fn entries(telling: &Telling<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    for line in &telling.log.lines {
        match &line.entry {
            Ok(entry) => blocks.extend(entry_blocks(telling, line, entry)),
            Err(why) => blocks.push(Block::Notice(format!(
                "A line at byte {} of the log cannot be shown: {why}.",
                line.offset
            ))),
        }
    }
    blocks
}

fn entry_blocks(telling: &Telling<'_>, line: &Line, entry: &Entry) -> Vec<Block> {
    let signed = entry.key.as_deref().map_or_else(
        || "unsigned".to_owned(),
        |key| match keys::fingerprint(key) {
            Some(fingerprint) => format!("signed with {fingerprint}"),
            None => "names a key that cannot be read".into(),
        },
    );
    let mut blocks = vec![Block::Entry {
        title: format!("{} · {}", entry.n, entry.deed.name()),
        meta: format!(
            "{}, {}; {signed}",
            entry.author,
            work::moment_in_words(&entry.time)
        ),
    }];
    let corrections = corrections(telling.log, entry.n);
    blocks.extend(corrections.into_iter().map(Block::Notice));
    blocks.extend(deed_blocks(telling.contents, entry));
    let mut small = vec![(
        "SHA-256 of the entry".to_owned(),
        line.digest.sha256.clone(),
    )];
    small.extend(entry.files.iter().chain(&entry.set_aside).map(file_row));
    small.push(("Written by".to_owned(), entry.program.in_words()));
    blocks.push(Block::Small(
        small
            .into_iter()
            .map(|(label, value)| format!("{label}: {value}"))
            .collect::<Vec<_>>()
            .join("\n"),
    ));
    blocks
}

fn file_row(file: &FileRef) -> (String, String) {
    let Digest { sha256, bytes, .. } = &file.digest;
    (
        words::capital(file.role.name()),
        format!("{}, {bytes} bytes, SHA-256 {sha256}", file.name),
    )
}

fn corrections(log: &Log, n: u64) -> Vec<String> {
    let corrects = |entry: &Entry| match &entry.deed {
        Deed::Amendment(Amendment {
            amends, withdraws, ..
        }) if amends.n == n => {
            let how = if *withdraws { "Withdrawn" } else { "Corrected" };
            Some(format!("{how} by entry {}.", entry.n))
        }
        _ => None,
    };
    work::standing(log, u64::MAX).filter_map(corrects).collect()
}

fn deed_blocks(contents: &dyn Contents, entry: &Entry) -> Vec<Block> {
    match &entry.deed {
        Deed::Begin(particulars) => vec![rows(particulars.rows())],
        Deed::Photographs(Photographs {
            parameters,
            reading,
        }) => {
            let mut all = vec![("Examined with", words::capital(&parameters.in_words()))];
            all.extend(readings::reading_rows(contents, entry, reading));
            vec![rows(all)]
        }
        Deed::Observation(observation) => vec![Block::Text(format!(
            "{}: {}",
            words::capital(observation.means.name()),
            observation.text
        ))],
        Deed::Conclusion(conclusion) => vec![
            Block::Text(conclusion.text.clone()),
            rows(readings::beside(contents, entry, conclusion)),
            Block::Small(format!(
                "Considers the entries up to {}.",
                conclusion.considers.n
            )),
        ],
        Deed::Amendment(amendment) => amendment_blocks(amendment),
        Deed::Countersignature(counter) => vec![
            Block::Text(counter.text.clone()),
            Block::Small(format!(
                "Covers the entries up to {}, SHA-256 {}.",
                counter.covers.n, counter.covers.sha256
            )),
        ],
    }
}

/// A corrected field as the sheet's particulars show it, sizes with their unit.
fn as_particulars_have_it(key: &str, text: &str) -> String {
    let mut corrected = Particulars::default();
    // A field that a newer version knows is shown as it was typed.
    let known = corrected.set(key, text).is_ok();
    let shown = known
        .then(|| corrected.value(&key.replace('-', "_")))
        .flatten();
    let typed = || match text {
        "" => "(nothing)".to_owned(),
        _ => text.to_owned(),
    };
    shown.unwrap_or_else(typed)
}

fn amendment_blocks(amendment: &Amendment) -> Vec<Block> {
    let does = if amendment.withdraws {
        "Withdraws"
    } else {
        "Corrects"
    };
    let mut blocks = vec![Block::Text(format!(
        "{does} entry {}: {}",
        amendment.amends.n, amendment.text
    ))];
    if !amendment.particulars.is_empty() {
        let label = |key: &str| {
            let key = key.replace('-', "_");
            let field = particulars::FIELDS.iter().find(|f| f.key == key);
            field.map_or(key.clone(), |f| f.label.to_owned())
        };
        blocks.push(Block::Rows(
            amendment
                .particulars
                .iter()
                .map(|(k, v)| (format!("{}, now", label(k)), as_particulars_have_it(k, v)))
                .collect(),
        ));
    }
    blocks
}
