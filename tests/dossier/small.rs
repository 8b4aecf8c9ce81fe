//! A small dossier to be tampered with, and ways of doing so.

use inktell::dossier::contents::{Folder, InMemory, in_memory};
use inktell::dossier::digest::Digest;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::entry::{Deed, Entry, Means, Observation, Role};
use inktell::dossier::keys::Signer;
use inktell::dossier::line::{self, Log};
use inktell::dossier::particulars::Particulars;
use inktell::dossier::store::{Draft, NewFile, Patience, Store, head_text};
use inktell::dossier::verify::{Asked, Verdict, verify};
use inktell::dossier::work::{self, Author};
use inktell::dossier::{HEAD, LOG};

pub struct Small {
    pub files: InMemory,
    pub signer: Signer,
}

/// A dossier of six entries, four of them signed, with three small files.
pub fn small() -> Small {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("heron");
    let store = Store::new(&root, &RealDisk);
    let signer = Signer::passing("A. Bidder").unwrap();
    let time = "2026-01-02T10:00:00Z".parse().unwrap();
    let author = |signer| Author {
        name: "A. Bidder".into(),
        signer,
        time,
    };
    let signed = author(Some(&signer));
    let particulars = Particulars {
        title: "The Heron".into(),
        ..Particulars::default()
    };
    work::begin(&store, &signed, particulars).unwrap();
    for (text, signer) in [("plate mark felt", Some(&signer)), ("watermark seen", None)] {
        store
            .add(signer, &Patience::NONE, |_| Ok(draft(text)))
            .unwrap();
    }
    let correction = work::Correction {
        n: 3,
        text: "No watermark after all.".into(),
        ..work::Correction::default()
    };
    work::amendment(&store, &signed, &Patience::NONE, correction).unwrap();
    work::countersignature(&store, &signed, &Patience::NONE, "Seen.".into()).unwrap();
    let last = author(None);
    work::observation(
        &store,
        &last,
        &Patience::NONE,
        Means::Eye,
        "Laid paper.".into(),
    )
    .unwrap();
    let mut files = in_memory(&Folder(root)).unwrap();
    files.remove(".lock");
    Small { files, signer }
}

pub fn check(files: &InMemory) -> Verdict {
    verify(files, &Asked::default())
}

pub fn told(verdict: &Verdict) -> String {
    verdict
        .problems()
        .map(|f| f.text.as_str())
        .collect::<Vec<_>>()
        .join("\n")
}

pub fn with(files: &InMemory, path: &str, bytes: Vec<u8>) -> InMemory {
    let mut changed = files.clone();
    changed.insert(path.into(), bytes);
    changed
}

pub fn with_lines(files: &InMemory, change: impl FnOnce(&mut Vec<Vec<u8>>)) -> InMemory {
    let log = Log::parse(&files[LOG]);
    let mut lines = log.lines.into_iter().map(|l| l.bytes).collect();
    change(&mut lines);
    with(files, LOG, lines.concat())
}

/// Writes the whole log again after a change, unsigned, with every link and head as they should be.
pub fn written_again(
    files: &InMemory,
    change: impl Fn(&mut Entry),
    signer: Option<&Signer>,
) -> InMemory {
    let mut bytes = Vec::new();
    let mut before: Option<Digest> = None;
    let entries = Log::parse(&files[LOG]);
    let count = entries.lines.len() as u64;
    for line in entries.lines {
        let mut entry = line.entry.unwrap();
        change(&mut entry);
        entry.prev = before;
        let line = line::compose(entry, signer).unwrap();
        before = Some(Digest::of(&line));
        bytes.extend(line);
    }
    let head = head_text(count, &before.unwrap());
    with(&with(files, LOG, bytes), HEAD, head.into_bytes())
}

/// An observation with a small file.
pub fn draft(text: &str) -> Draft {
    Draft {
        author: "A. Bidder".into(),
        time: "2026-01-02T10:00:00Z".into(),
        deed: Deed::Observation(Observation {
            means: Means::Touch,
            text: text.into(),
        }),
        files: vec![NewFile {
            role: Role::Photograph,
            name: "head.jpg".into(),
            bytes: format!("picture of {text}").into_bytes(),
        }],
    }
}
