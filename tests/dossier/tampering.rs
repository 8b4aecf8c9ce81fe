//! Whatever is changed or forged in a dossier is found, and told in words.

use super::small::{Small, check, draft, small, told, with, with_lines, written_again};
use inktell::dossier::contents::{Folder, InMemory};
use inktell::dossier::digest::Digest;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::entry::Entry;
use inktell::dossier::keys::{KnownSigners, Signer};
use inktell::dossier::line::Log;
use inktell::dossier::particulars::Particulars;
use inktell::dossier::store::{Patience, Store, head_text};
use inktell::dossier::verify::{Asked, Kind, verify};
use inktell::dossier::work::{self, Author};
use inktell::dossier::{HEAD, LOG};
use jiff::tz::TimeZone;
use rayon::prelude::*;

#[test]
fn an_untouched_dossier_holds() {
    let small = small();
    let verdict = check(&small.files);
    assert!(verdict.holds(), "{}", told(&verdict));
    // Of the entries that nobody signed it says that much, and no more.
    let remarks: Vec<_> = verdict
        .remarks()
        .map(|f| (f.kind, f.text.as_str()))
        .collect();
    let unsigned = "Entries 3 and 6 stand under the name of A. Bidder, who signed others, but nobody signed them: whoever held the folder could have written them.";
    assert_eq!(remarks, [(Kind::Unvouched, unsigned)]);
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
    let known = KnownSigners::parse(&format!("bidder {public}\n"), &TimeZone::UTC);
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
fn who_vouches_for_a_dossier_is_told() {
    let Small { files, signer } = small();
    let unsigned = written_again(&files, |_| {}, None);
    let remark = |verdict: &inktell::dossier::verify::Verdict| {
        let mut remarks = verdict.remarks().filter(|f| f.kind == Kind::Unvouched);
        remarks.next().map(|f| (f.entry, f.text.clone()))
    };
    let verdict = check(&unsigned);
    assert!(remark(&verdict).unwrap().1.contains("Nobody signed"));
    let public = signer.public().unwrap();
    let asked = Asked {
        known: KnownSigners::parse(&format!("bidder {public}\n"), &TimeZone::UTC),
        ..Asked::default()
    };
    let said = told(&verify(&unsigned, &asked));
    assert!(said.contains("None of the known signers signed"), "{said}");
    // Entry 6 is unsigned: what follows the last signature is nobody's.
    let verdict = verify(&files, &asked);
    let (entry, said) = remark(&verdict).unwrap();
    assert_eq!(entry, Some(6));
    assert!(said.contains("entry 5"), "{said}");
    assert!(verdict.holds());
    let all = written_again(&files, |_| {}, Some(&signer));
    assert_eq!(remark(&verify(&all, &asked)), None);
}

#[test]
fn a_key_that_the_list_does_not_accept_for_an_entry_does_not_vouch_for_it() {
    let Small { files, signer } = small();
    let public = signer.public().unwrap();
    let asked = |options: &str| Asked {
        known: KnownSigners::parse(&format!("bidder {options} {public}\n"), &TimeZone::UTC),
        ..Asked::default()
    };
    for (options, why) in [
        ("cert-authority", "certificate authority"),
        ("namespaces=\"file\"", "other kinds of signatures"),
        ("valid-before=\"20260101Z\"", "up to 2026-01-01T00:00:00Z"),
        ("valid-after=\"20260103Z\"", "from 2026-01-03T00:00:00Z on"),
    ] {
        let verdict = verify(&files, &asked(options));
        let said = told(&verdict);
        assert!(
            said.contains("not for entries 1, 2, 4 and 5: line 1"),
            "{said}"
        );
        assert!(said.contains(why), "{said}");
        assert!(said.contains("None of the known signers signed"), "{said}");
        assert_eq!(verdict.signers[0].known_as, None);
    }
    assert!(verify(&files, &asked("namespaces=\"ink*\"")).holds());
    // Entry 5 is of after the key's time; up to entry 4 it is known.
    let later = |entry: &mut Entry| {
        if entry.n == 5 {
            entry.time = "2026-02-01T00:00:00Z".into();
        }
    };
    let files = written_again(&files, later, Some(&signer));
    let verdict = verify(&files, &asked("valid-before=\"20260131Z\""));
    let of_key = verdict.problems().filter(|f| f.kind == Kind::UnknownSigner);
    let of_key: Vec<&str> = of_key.map(|f| f.text.as_str()).collect();
    assert_eq!(of_key.len(), 1);
    assert!(of_key[0].contains("not for entry 5: line 1 accepts it up to"));
    assert_eq!(verdict.signers[0].known_as.as_deref(), Some("bidder"));
}

#[test]
fn two_entries_that_say_different_things_of_one_file_are_both_checked() {
    let files = small().files;
    let log = Log::parse(&files[LOG]);
    let path = log.lines[1].entry.as_ref().unwrap().files[0].path.clone();
    let both = written_again(
        &files,
        |entry| {
            if entry.n == 3 {
                entry.files[0].path = path.clone();
            }
        },
        None,
    );
    let verdict = check(&both);
    let changed: Vec<_> = verdict
        .problems()
        .filter(|f| f.kind == Kind::FileChanged)
        .map(|f| f.entry)
        .collect();
    assert_eq!(changed, [Some(3)], "{}", told(&verdict));
    assert_eq!(verdict.files_checked, 3);
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
    let mut remarks = verdict.remarks();
    let remark = remarks.find(|f| f.kind == Kind::LeftOver).unwrap();
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

#[test]
fn a_correction_of_what_another_signed_is_told() {
    let signer = Signer::passing("A. Bidder").unwrap();
    let other = Signer::passing("C. Other").unwrap();
    let remarks = |corrector: Option<&Signer>, withdraws| {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("heron");
        let store = Store::new(&root, &RealDisk);
        let author = |name: &str, signer| Author {
            name: name.into(),
            signer,
            time: "2026-01-02T10:00:00Z".parse().unwrap(),
        };
        let particulars = Particulars {
            title: "The Heron".into(),
            ..Particulars::default()
        };
        work::begin(&store, &author("A. Bidder", Some(&signer)), particulars).unwrap();
        let add = |_: &_| Ok(draft("plate mark felt"));
        store.add(Some(&signer), &Patience::NONE, add).unwrap();
        let correction = work::Correction {
            n: 2,
            text: "None felt.".into(),
            withdraws,
            ..work::Correction::default()
        };
        let corrector = author("C. Other", corrector);
        work::amendment(&store, &corrector, &Patience::NONE, correction).unwrap();
        let verdict = verify(&Folder(root.clone()), &Asked::default());
        assert!(verdict.holds(), "{}", told(&verdict));
        let remarks = verdict.remarks().filter(|f| f.kind == Kind::Unvouched);
        remarks.map(|f| f.text.clone()).collect::<Vec<_>>()
    };
    let says = |verb: &str, but: &str| {
        [format!(
            "Entry 3 {verb} entry 2, which A. Bidder signed, but {but}: ask A. Bidder whether that is right."
        )]
    };
    assert_eq!(remarks(None, true), says("withdraws", "nobody signed it"));
    let another = says("corrects", "is signed with another key");
    assert_eq!(remarks(Some(&other), false), another);
    assert!(remarks(Some(&signer), true).is_empty());
}
