//! Whatever is changed, taken away, moved or forged in a dossier is found, and told in words.

use inktell::dossier::contents::{Folder, InMemory, in_memory};
use inktell::dossier::digest::Digest;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::entry::{Deed, Entry, Means, Observation, Role};
use inktell::dossier::keys::{KnownSigners, Signer};
use inktell::dossier::line::{self, Log};
use inktell::dossier::particulars::Particulars;
use inktell::dossier::store::{Draft, NewFile, Patience, Store, head_text};
use inktell::dossier::verify::{Asked, Kind, Verdict, verify};
use inktell::dossier::work::{self, Author};
use inktell::dossier::{HEAD, LOG};
use rayon::prelude::*;

struct Small {
    files: InMemory,
    signer: Signer,
}

/// A dossier of six entries, four of them signed, with three small files.
fn small() -> Small {
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
        let draft = Draft {
            author: "A. Bidder".into(),
            time: "2026-01-02T10:00:00Z".into(),
            deed: Deed::Observation(Observation {
                means: Means::Touch,
                text: text.into(),
            }),
            files: vec![NewFile {
                role: Role::Photograph,
                name: "head.jpg".into(),
                bytes: format!("a picture of {text}").into_bytes(),
            }],
        };
        store.add(signer, &Patience::NONE, |_| Ok(draft)).unwrap();
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

fn check(files: &InMemory) -> Verdict {
    verify(files, &Asked::default())
}

fn told(verdict: &Verdict) -> String {
    verdict
        .problems()
        .map(|f| f.text.as_str())
        .collect::<Vec<_>>()
        .join("\n")
}

fn with(files: &InMemory, path: &str, bytes: Vec<u8>) -> InMemory {
    let mut changed = files.clone();
    changed.insert(path.into(), bytes);
    changed
}

fn with_lines(files: &InMemory, change: impl FnOnce(&mut Vec<Vec<u8>>)) -> InMemory {
    let log = Log::parse(&files[LOG]);
    let mut lines = log.lines.into_iter().map(|l| l.bytes).collect();
    change(&mut lines);
    with(files, LOG, lines.concat())
}

#[test]
fn an_untouched_dossier_holds() {
    let small = small();
    let verdict = check(&small.files);
    assert!(verdict.holds(), "{}", told(&verdict));
    assert_eq!(verdict.remarks().count(), 0, "{:?}", verdict.findings);
    assert_eq!((verdict.entries, verdict.files_checked), (6, 3));
    assert_eq!(verdict.signers[0].entries, [1, 2, 4, 5]);
    assert_eq!(verdict.unsigned, [3, 6]);
    assert_eq!(verdict.signers[0].fingerprint, small.signer.fingerprint());
}

#[test]
fn every_flipped_byte_is_found_and_named() {
    let files = small().files;
    let places: Vec<(&String, usize)> = files
        .iter()
        .flat_map(|(path, bytes)| (0..bytes.len()).map(move |offset| (path, offset)))
        .collect();
    assert!(places.len() > 5_000, "{}", places.len());
    let missed: Vec<String> = places
        .par_iter()
        .flat_map_iter(|&(path, offset)| {
            // The last of them makes a line feed of the byte.
            let to_line_feed = files[path][offset] ^ b'\n';
            [0x01u8, 0x04, 0x80, to_line_feed].map(|flip| {
                let mut bytes = files[path].clone();
                bytes[offset] ^= flip;
                let verdict = check(&with(&files, path, bytes));
                let said = told(&verdict);
                // The digest of head is in no other file; everywhere else the very byte is named.
                let exact =
                    path == HEAD || said.contains(&format!("byte {offset} (counted from 0)"));
                (flip != 0 && (verdict.holds() || !exact))
                    .then(|| format!("{path} byte {offset} flipped by {flip:#x}: {said}"))
            })
        })
        .flatten()
        .collect();
    assert!(
        missed.is_empty(),
        "{} missed, such as:\n{}",
        missed.len(),
        missed[0]
    );
}

#[test]
fn every_truncation_is_found() {
    let files = small().files;
    let cuts: Vec<(&String, usize)> = files
        .iter()
        .flat_map(|(path, bytes)| (0..bytes.len()).map(move |length| (path, length)))
        .collect();
    let missed: Vec<_> = cuts
        .par_iter()
        .filter(|(path, length)| {
            let cut = files[*path][..*length].to_vec();
            check(&with(&files, path, cut)).holds()
        })
        .collect();
    assert!(
        missed.is_empty(),
        "{} missed, such as {:?}",
        missed.len(),
        missed[0]
    );
    for path in files.keys() {
        let mut fewer = files.clone();
        fewer.remove(path);
        let verdict = check(&fewer);
        assert!(
            !verdict.holds() && told(&verdict).contains(path.as_str()),
            "{path}"
        );
    }
}

#[test]
fn a_missing_entry_is_named() {
    let files = small().files;
    for gone in 1..=6usize {
        let verdict = check(&with_lines(&files, |lines| drop(lines.remove(gone - 1))));
        let said = told(&verdict);
        assert!(!verdict.holds(), "{gone}");
        let expected = if gone == 6 {
            "cut off: it holds 5 of 6 entries; missing at the end: entry 6".to_owned()
        } else {
            format!(
                "Entry {gone} is missing from the log: entry {} was written after it",
                gone + 1
            )
        };
        assert!(said.contains(&expected), "{gone}: {said}");
    }
    let verdict = check(&with_lines(&files, |lines| drop(lines.drain(1..4))));
    assert!(
        told(&verdict).contains("Entries 2 to 4 are missing"),
        "{}",
        told(&verdict)
    );
}

#[test]
fn entries_in_another_order_are_told() {
    let files = small().files;
    for first in 0..5 {
        for second in first + 1..6 {
            let verdict = check(&with_lines(&files, |lines| lines.swap(first, second)));
            let said = told(&verdict);
            assert!(said.contains("another order"), "{first}, {second}: {said}");
            let place = format!("line {} belongs in line {}", first + 1, second + 1);
            assert!(said.contains(&place), "{first}, {second}: {said}");
        }
    }
}

#[test]
fn an_entry_put_in_or_repeated_is_told() {
    let Small { files, signer } = small();
    let log = Log::parse(&files[LOG]);
    let mut entry = log.lines[2].entry.clone().unwrap();
    entry.author = "C. Forger".into();
    let forged = line::compose(entry, Some(&signer)).unwrap();
    for place in 0..=5 {
        let put_in = check(&with_lines(&files, |lines| {
            lines.insert(place, forged.clone())
        }));
        let said = told(&put_in);
        assert!(
            said.contains("belongs to no place in the chain"),
            "{place}: {said}"
        );
        let repeated = check(&with_lines(&files, |lines| {
            lines.insert(place, lines[place].clone())
        }));
        let said = told(&repeated);
        assert!(said.contains("repeats line"), "{place}: {said}");
    }
    let appended = check(&with_lines(&files, |lines| lines.push(forged)));
    assert!(!appended.holds());
}

#[test]
fn an_entry_replaced_by_its_own_signer_is_told() {
    let Small { files, signer } = small();
    let log = Log::parse(&files[LOG]);
    let mut entry = log.lines[1].entry.clone().unwrap();
    if let Deed::Observation(observation) = &mut entry.deed {
        observation.text = "no plate mark felt at all".into();
    }
    let other = line::compose(entry, Some(&signer)).unwrap();
    let verdict = check(&with_lines(&files, |lines| lines[1] = other));
    assert!(
        told(&verdict).contains("Entry 2 was changed or replaced"),
        "{}",
        told(&verdict)
    );
}

/// Writes the whole log again after a change, unsigned, with every link and head as they should be.
fn written_again(
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

#[test]
fn a_forged_signature_is_told() {
    let Small { files, .. } = small();
    let log = Log::parse(&files[LOG]);
    let (_, signature) = log.lines[1].signed_part().unwrap();
    let (_, other) = log.lines[3].signed_part().unwrap();
    let text = String::from_utf8(files[LOG].clone()).unwrap();
    let swapped = text.replace(&signature, &other);
    let verdict = check(&with(&files, LOG, swapped.into_bytes()));
    assert!(!verdict.holds());
    // With every link mended the signature is all that is left to tell it.
    let lines = Log::parse(text.replace(&signature, &other).as_bytes());
    let mut before: Option<Digest> = None;
    let mut bytes = Vec::new();
    for line in lines.lines {
        let old = line.entry.as_ref().unwrap().prev.clone();
        let mut text = String::from_utf8(line.bytes).unwrap();
        if let (Some(old), Some(new)) = (old, &before) {
            let json = |digest: &Digest| serde_json::to_string(digest).unwrap();
            text = text.replace(&json(&old), &json(new));
        }
        before = Some(Digest::of(text.as_bytes()));
        bytes.extend(text.into_bytes());
    }
    let head = head_text(6, &before.unwrap());
    let verdict = check(&with(&with(&files, LOG, bytes), HEAD, head.into_bytes()));
    let forged: Vec<_> = verdict
        .problems()
        .filter(|f| f.kind == Kind::Forged)
        .collect();
    assert!(
        forged.iter().any(|f| f.entry == Some(2)),
        "{}",
        told(&verdict)
    );
    assert!(forged[0].text.contains("not made over these bytes"));
}

#[test]
fn a_log_written_again_is_told_by_what_was_noted_elsewhere() {
    let Small { files, signer } = small();
    let noted = check(&files).head.unwrap();
    let forged = written_again(&files, |entry| entry.author = "C. Forger".into(), None);
    // Nothing inside contradicts itself but references by hash; those a forger would mend too.
    let asked = Asked {
        expect: Some(noted.clone()),
        ..Asked::default()
    };
    let said = told(&verify(&forged, &asked));
    assert!(said.contains("No entry has the SHA-256"), "{said}");
    let kept = verify(&files, &asked);
    assert!(kept.holds());
    assert_eq!(
        kept.expectation.as_deref(),
        Some("Entry 6 has the SHA-256 that you noted; it is the last.")
    );
    // Another key under the same name is told by the list of known signers.
    let public = signer.public().unwrap();
    let known = KnownSigners::parse(&format!("bidder {public}\n"));
    let stranger = Signer::passing("A. Bidder").unwrap();
    let forged = written_again(&files, |_| {}, Some(&stranger));
    let asked = Asked {
        known,
        ..Asked::default()
    };
    assert!(told(&verify(&forged, &asked)).contains("not among the known signers"));
    assert!(verify(&files, &asked).holds());
}

#[test]
fn a_shortened_log_with_a_rewritten_head_is_told_by_what_was_noted_elsewhere_only() {
    let files = small().files;
    let log = Log::parse(&files[LOG]);
    let short = with_lines(&files, |lines| lines.truncate(4));
    let head = head_text(4, &log.lines[3].digest);
    let short = with(&short, HEAD, head.into_bytes());
    // The honest limit, which every verification states.
    assert!(check(&short).holds());
    let asked = Asked {
        expect: Some(log.lines[5].digest.sha256[..16].to_owned()),
        ..Asked::default()
    };
    assert!(told(&verify(&short, &asked)).contains("cut off before that entry"));
    let asked = Asked {
        expect: Some(log.lines[2].digest.sha256.clone()),
        ..Asked::default()
    };
    let kept = verify(&short, &asked);
    assert_eq!(
        kept.expectation.as_deref(),
        Some("Entry 3 has the SHA-256 that you noted; one entry was added since.")
    );
}

#[test]
fn what_no_entry_names_is_told_apart_and_is_no_fault() {
    let files = small().files;
    let more = with(&files, "photographs/other.jpg", b"x".to_vec());
    let verdict = check(&more);
    assert!(verdict.holds());
    let remark = verdict.remarks().next().unwrap();
    assert_eq!(remark.kind, Kind::LeftOver);
    assert!(remark.text.contains("photographs/other.jpg"));
}

#[test]
fn any_bytes_at_all_are_survived() {
    use rand::{RngExt, SeedableRng};
    let mut random = rand::rngs::StdRng::seed_from_u64(3);
    let files = small().files;
    for _ in 0..400 {
        let mut log = files[LOG].clone();
        for _ in 0..random.random_range(1..40) {
            let at = random.random_range(0..log.len());
            match random.random_range(0..3) {
                0 => log[at] = random.random(),
                1 => drop(log.remove(at)),
                _ => log.insert(at, random.random()),
            }
        }
        assert!(!check(&with(&files, LOG, log)).holds());
    }
    assert!(!check(&InMemory::new()).holds());
}
