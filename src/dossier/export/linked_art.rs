//! A dossier as Linked Art JSON-LD (linked.art, model 1.0), so that a museum's system can take it.
//!
//! Ids and labels of AAT concepts for statements, dimensions, units, names and works are those of
//! Linked Art's vocabulary as its reference library `cromulent` 1.0.1 has them in
//! `data/vocab_classes.json` and `data/vocab_instances.json`; `tests/dossier_exports.py` holds every
//! one in a document against these files. Processes and supports are in `particulars::term`.

mod photographs;
mod production;

use crate::dossier::account::{Account, BEGINNING, corrections};
use crate::dossier::entry::{Deed, Entry};
use crate::dossier::line::Log;
use crate::dossier::particulars::{Particulars, Size, Term};
use crate::dossier::work::{self, Concluded, Hold};
use crate::report::words::{self, standing};
use serde_json::{Value, json};

const CONTEXT: &str = "https://linked.art/ns/v1/linked-art.json";
const AAT: &str = "http://vocab.getty.edu/aat/";
/// What the hash of the last entry is called, its number between the two.
const HASH_OF_ENTRY: &str = "SHA-256 of entry ";
const OF_DOSSIER: &str = " of the dossier";

/// Statements: key of the field, AAT id, label.
const STATEMENTS: &[(&str, &str, &str)] = &[
    ("condition", "300435425", "Condition Statement"),
    ("provenance", "300435438", "Provenance Statement"),
    ("edition", "300435435", "Edition Statement"),
    ("state", "300435435", "Edition Statement"),
    ("paper", "300435429", "Material Statement"),
    ("maker", "300435436", "Production Statement"),
    ("date_or_period", "300435436", "Production Statement"),
    ("format", "300435452", "Physical Statement"),
    ("distinguishing_features", "300435416", "Description"),
    ("subject", "300435416", "Description"),
];

/// The document, indented, with a line feed at the end.
///
/// # Errors
/// When it cannot be written as JSON, which its making rules out.
pub fn text(log: &Log, account: &Account) -> serde_json::Result<String> {
    let mut text = serde_json::to_string_pretty(&document(log, account))?;
    text.push('\n');
    Ok(text)
}

/// Whether bytes are such a document, and not another one of Linked Art or any other JSON.
#[must_use]
pub fn is_one(bytes: &[u8]) -> bool {
    let document: Value = serde_json::from_slice(bytes).unwrap_or_default();
    let mut names = document["identified_by"].as_array().into_iter().flatten();
    let of_dossier = |name: &Value| {
        let label = name["_label"].as_str().unwrap_or_default();
        label.starts_with(HASH_OF_ENTRY) && label.ends_with(OF_DOSSIER)
    };
    document["@context"] == CONTEXT && names.any(of_dossier)
}

fn document(log: &Log, account: &Account) -> Value {
    let amended = work::particulars_as_amended(log).unwrap_or_default();
    // A statement has its corrections beside it; what a machine reads on its own does not.
    let sheet = work::particulars_vouched_for(log).unwrap_or_default();
    let mut document = json!({
        "@context": CONTEXT,
        "id": identity(log),
        "type": "HumanMadeObject",
        "_label": sheet.title,
        "classified_as": [
            {
                "id": format!("{AAT}300041273"), "type": "Type", "_label": "Print",
                "classified_as": [concept("300435443", "Type of Work")],
            },
            concept("300133025", "Artwork"),
        ],
        "identified_by": names(&sheet, log),
        "referred_to_by": statements(&amended, log, account),
    });
    for (key, value) in [
        ("dimension", dimensions(&sheet)),
        (
            "made_of",
            sheet.support.as_ref().map(material).into_iter().collect(),
        ),
        ("representation", photographs::representations(log, account)),
    ] {
        if !value.is_empty() {
            document[key] = value.into();
        }
    }
    if let Some(production) = production::of(&sheet, log) {
        document["produced_by"] = production;
    }
    document
}

/// A UUID of version 8 (RFC 9562) made of the first entry's SHA-256, as a URN.
fn identity(log: &Log) -> String {
    let hash = log
        .lines
        .first()
        .map_or_else(|| "0".repeat(64), |line| line.digest.sha256.clone());
    let part = |from: usize, to: usize| hash.get(from..to).unwrap_or("0").to_owned();
    format!(
        "urn:uuid:{}-{}-8{}-8{}-{}",
        part(0, 8),
        part(8, 12),
        part(13, 16),
        part(17, 20),
        part(20, 32)
    )
}

fn concept(id: &str, label: &str) -> Value {
    json!({ "id": format!("{AAT}{id}"), "type": "Type", "_label": label })
}

fn names(sheet: &Particulars, log: &Log) -> Vec<Value> {
    let mut names = vec![json!({
        "type": "Name",
        "content": sheet.title,
        "classified_as": [concept("300404670", "Primary Name")],
    })];
    if let Some(number) = &sheet.identifier {
        names.push(json!({
            "type": "Identifier",
            "content": number,
            "classified_as": [concept("300312355", "Accession Number")],
        }));
    }
    if let Some(last) = log.lines.last() {
        names.push(json!({
            "type": "Identifier",
            "_label": format!("{HASH_OF_ENTRY}{}{OF_DOSSIER}", log.lines.len()),
            "content": last.digest.sha256,
        }));
    }
    names
}

fn statement(id: &str, label: &str, content: &str) -> Value {
    json!({
        "type": "LinguisticObject",
        "_label": label,
        "content": content,
        "classified_as": [{
            "id": format!("{AAT}{id}"), "type": "Type", "_label": label,
            "classified_as": [concept("300418049", "Brief Text")],
        }],
    })
}

fn statements(sheet: &Particulars, log: &Log, account: &Account) -> Vec<Value> {
    let mut all: Vec<Value> = sheet
        .inscriptions_and_markings
        .iter()
        .map(|text| statement("300435414", "Inscription", text))
        .collect();
    for (key, id, label) in STATEMENTS {
        if let Some(text) = sheet.value(key) {
            all.push(statement(id, label, &text));
        }
    }
    let sizes: Vec<String> = [
        ("sheet", sheet.sheet),
        ("image", sheet.image),
        ("plate mark", sheet.plate_mark),
    ]
    .into_iter()
    .filter_map(|(name, size)| Some(format!("{name} {}", size?.in_words())))
    .collect();
    if !sizes.is_empty() {
        let text = format!("{} (height × width)", sizes.join("; "));
        all.push(statement("300435430", "Dimension Statement", &text));
    }
    all.extend(corrected(log, BEGINNING));
    all.extend(observations(log));
    for concluded in work::concluded(log) {
        all.extend(conclusion_statements(log, &concluded, account));
        all.extend(corrected(log, concluded.entry.n));
    }
    let photographs = |entry: &&Entry| matches!(entry.deed, Deed::Photographs(_));
    for entry in log.entries().filter(photographs) {
        all.extend(corrected(log, entry.n));
    }
    all.extend(notes(account).iter().map(|text| note(text)));
    all
}

fn note(text: &str) -> Value {
    statement("300027200", "Note", text)
}

/// What every export says of the dossier that it is made from, and the cautions.
fn notes(account: &Account) -> Vec<String> {
    let foot = &account.foot;
    let mut all = vec![format!(
        "Made from a dossier of {}, the last with the SHA-256 {}, {}.",
        words::counted(foot.entries as usize, "entry"),
        foot.sha256,
        foot.signed
    )];
    if let Some(shortfall) = account.shortfall {
        all.push(format!(
            "This dossier {}: {}. Verify it before relying on anything here.",
            shortfall.in_words(),
            shortfall.because()
        ));
    }
    all.extend(account.places_left_out.map(str::to_owned));
    all.extend(
        standing::CAUTIONS
            .iter()
            .map(|(_, text)| (*text).to_owned()),
    );
    all
}

/// What was seen and felt, with its corrections; what was withdrawn is a note that says so.
fn observations(log: &Log) -> Vec<Value> {
    let withdrawn = work::withdrawn(log, u64::MAX);
    let mut all = Vec::new();
    for entry in log.entries() {
        if let Deed::Observation(seen) = &entry.deed {
            let who = by(entry);
            let text = format!("{}: {}", words::capital(seen.means.name()), seen.text);
            all.push(if withdrawn.contains(&entry.n) {
                note(&format!("{text} ({who}; withdrawn)"))
            } else {
                statement("300435416", "Description", &format!("{text} ({who})"))
            });
            all.extend(corrected(log, entry.n));
        }
    }
    all
}

fn corrected(log: &Log, n: u64) -> impl Iterator<Item = Value> {
    let all = corrections::of(log, n).into_iter();
    all.map(|text| note(&text))
}

/// "A. Bidder, 2026-01-02T10:00:00Z, entry 7, signed".
fn by(entry: &Entry) -> String {
    format!(
        "{}, {}, entry {}, {}",
        entry.author,
        entry.time,
        entry.n,
        corrections::signed_or_not(entry)
    )
}

/// A conclusion beside its reading, and what was withdrawn or corrected since of what both rest on;
/// a conclusion that its author withdrew is a note that says so.
fn conclusion_statements(log: &Log, concluded: &Concluded<'_>, account: &Account) -> Vec<Value> {
    let Concluded {
        entry, conclusion, ..
    } = concluded;
    let said = format!("{} ({}{})", conclusion.text, by(entry), concluded.mark());
    if concluded.hold == Hold::Withdrawn {
        return vec![note(&said)];
    }
    let changed = corrections::changed_since(log, entry, conclusion).join(" ");
    let with_changes = |text: &str| format!("{text} {changed}").trim_end().to_owned();
    let mut all = vec![statement(
        "300435436",
        "Production Statement",
        &with_changes(&said),
    )];
    if let Some(measured) = &conclusion.measured {
        let mut text = format!(
            "Measured on {} (entry {}): {}; colour: {}. {}",
            words::counted(measured.photographs, "photograph"),
            entry.n,
            measured.process_name(),
            measured.colouring_names(),
            measured.sentence
        );
        // In the same statement: the reading must not be taken over without what speaks against it.
        for (label, said) in account.caveats.get(&entry.n).into_iter().flatten() {
            text.push_str(&format!(" {label}: {}", said.replace('\n', " ")));
        }
        all.push(statement(
            "300027323",
            "Technical Report",
            &with_changes(&text),
        ));
    }
    if let Some(because) = &conclusion.because {
        all.push(note(&format!(
            "Why the conclusion of entry {} differs from the reading: {because}",
            entry.n
        )));
    }
    all
}

fn dimensions(sheet: &Particulars) -> Vec<Value> {
    let sides = |name: &'static str, size: Size| {
        [
            ("300055644", "Height", size.height_mm),
            ("300055647", "Width", size.width_mm),
        ]
        .map(|(id, label, value)| {
            json!({
                "type": "Dimension",
                "_label": format!("{label} of the {name}"),
                "value": value,
                "unit": { "id": format!("{AAT}300379097"), "type": "MeasurementUnit", "_label": "mm" },
                "classified_as": [concept(id, label)],
                "identified_by": [{ "type": "Name", "content": format!("{label} of the {name}") }],
            })
        })
    };
    [
        ("sheet", sheet.sheet),
        ("image", sheet.image),
        ("plate mark", sheet.plate_mark),
    ]
    .into_iter()
    .filter_map(|(name, size)| Some(sides(name, size?)))
    .flatten()
    .collect()
}

fn material(term: &Term) -> Value {
    match &term.aat {
        Some(aat) => {
            json!({ "id": format!("{AAT}{}", aat.id), "type": "Material", "_label": term.term })
        }
        None => json!({ "type": "Material", "_label": term.term }),
    }
}
