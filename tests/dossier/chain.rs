//! Lines taken away, moved, put in and replaced: found, and told by the numbers of their entries.

use super::small::{Small, check, small, told, with, with_lines, written_again};
use inktell::dossier::contents::InMemory;
use inktell::dossier::digest::Digest;
use inktell::dossier::entry::Deed;
use inktell::dossier::line::{self, Log};
use inktell::dossier::store::head_text;
use inktell::dossier::verify::{Asked, Kind, Verdict, verify, words};
use inktell::dossier::{HEAD, LOG};

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

/// Numbers of the entries that a verification says are missing.
fn said_missing(verdict: &Verdict) -> Vec<u64> {
    let mut all = Vec::new();
    for finding in verdict.problems() {
        let text = match finding.kind {
            Kind::Missing => finding.text.split(" missing from the log").next(),
            Kind::CutOff => finding.text.split("missing at the end: ").nth(1),
            _ => continue,
        };
        let numbers: Vec<u64> = text
            .unwrap()
            .split(|c: char| !c.is_ascii_digit())
            .filter_map(|word| word.parse().ok())
            .collect();
        assert_eq!(finding.entry, numbers.first().copied(), "{}", finding.text);
        all.extend(numbers[0]..=*numbers.last().unwrap());
    }
    all.sort_unstable();
    all
}

#[test]
fn whatever_is_taken_away_and_moved_the_right_numbers_are_told() {
    let files = small().files;
    for gone in 1..0b111_111u32 {
        let is_gone = |n: u64| (gone >> (n - 1)) & 1 == 1;
        let missing: Vec<u64> = (1..=6).filter(|&n| is_gone(n)).collect();
        let left = 6 - missing.len();
        for (first, second) in (0..left).flat_map(|a| (a..left).map(move |b| (a, b))) {
            let verdict = check(&with_lines(&files, |lines| {
                let mut n = 0;
                lines.retain(|_| {
                    n += 1;
                    !is_gone(n)
                });
                lines.swap(first, second);
            }));
            let said = told(&verdict);
            let case = format!("{missing:?} gone, {first} and {second} swapped: {said}");
            assert_eq!(said_missing(&verdict), missing, "{case}");
            assert_eq!(said.contains("another order"), first != second, "{case}");
            assert!(!said.contains("no place in the chain"), "{case}");
            assert!(!said.contains("was changed"), "{case}");
        }
    }
}

#[test]
fn a_changed_entry_is_told_by_its_own_number_after_a_gap() {
    let files = small().files;
    for gone in 1..=4usize {
        for changed in gone + 1..=6 {
            for several in [false, true] {
                let verdict = check(&with_lines(&files, |lines| {
                    let line = &mut lines[changed - 1];
                    line[60] ^= 1;
                    line[70] ^= u8::from(several);
                    lines.remove(gone - 1);
                }));
                let said = told(&verdict);
                let about: Vec<_> = verdict
                    .problems()
                    .filter(|f| f.kind == Kind::Changed)
                    .map(|f| f.entry)
                    .collect();
                let case = format!("{gone} gone, {changed} changed ({several}): {said}");
                assert_eq!(about, [Some(changed as u64)], "{case}");
                assert_eq!(said_missing(&verdict), [gone as u64], "{case}");
            }
        }
    }
}

#[test]
fn an_entry_that_was_stopped_before_head_is_told_by_its_number_after_a_gap() {
    let files = small().files;
    let log = Log::parse(&files[LOG]);
    let head = head_text(5, &log.lines[4].digest);
    let behind = with(&files, HEAD, head.into_bytes());
    let verdict = check(&with_lines(&behind, |lines| drop(lines.remove(1))));
    assert_eq!(said_missing(&verdict), [2]);
    let remark = verdict.remarks().find(|f| f.kind == Kind::Interrupted);
    let remark = remark.unwrap();
    assert_eq!(remark.entry, Some(6));
    assert!(
        remark.text.starts_with("Entry 6 is whole"),
        "{}",
        remark.text
    );
}

#[test]
fn entries_numbered_anew_and_a_beginning_that_follows_on_something_are_told() {
    let files = small().files;
    let renumbered = written_again(&files, |entry| entry.n += u64::from(entry.n == 3) * 4, None);
    let said = told(&check(&renumbered));
    assert!(
        said.contains("What stands as entry 3 calls itself entry 7"),
        "{said}"
    );
    let mut entry = Log::parse(&files[LOG]).lines[1].entry.clone().unwrap();
    entry.n = 1;
    let line = line::compose(entry, None).unwrap();
    let head = head_text(1, &Digest::of(&line));
    let alone = with(&with(&files, LOG, line), HEAD, head.into_bytes());
    let said = told(&check(&alone));
    assert!(said.contains("Entry 1 names an entry before it"), "{said}");
}

#[test]
fn the_hash_of_the_last_line_is_told_with_the_number_of_its_entry() {
    let files = small().files;
    let verdict = check(&with_lines(&files, |lines| drop(lines.remove(2))));
    assert_eq!((verdict.entries, verdict.last), (5, Some(6)));
    let last = format!("Last entry: 6, SHA-256 {}", verdict.head.clone().unwrap());
    assert!(words::paragraphs(&verdict).contains(&last));
}

#[test]
fn what_an_editor_did_to_the_log_is_told_for_what_it_is() {
    let files = small().files;
    let text = String::from_utf8(files[LOG].clone()).unwrap();
    let mark = format!("\u{feff}{text}");
    let converted = text.replace('\n', "\r\n");
    for (log, problems) in [
        (
            mark,
            vec!["a byte-order mark (bytes 0 to 2: 0xef 0xbb 0xbf)"],
        ),
        (
            converted.clone(),
            vec!["A carriage return stands before the line feed in 6 of 6 lines"],
        ),
        (
            format!("\u{feff}{converted}"),
            vec!["a byte-order mark", "in 6 of 6 lines"],
        ),
        (text.replacen('\n', "\r\n", 1), vec!["in 1 of 6 lines"]),
    ] {
        let verdict = check(&with(&files, LOG, log.into_bytes()));
        let said = told(&verdict);
        assert_eq!(said.lines().count(), problems.len(), "{said}");
        assert!(
            problems.iter().all(|problem| said.contains(problem)),
            "{said}"
        );
        // Every signature holds, and the hash of the end is that of an earlier export.
        assert_eq!(verdict.signers[0].entries, [1, 2, 4, 5]);
        assert_eq!(verdict.head, check(&files).head);
        assert!(verdict.remarks().all(|f| f.kind == Kind::Unvouched));
    }
}

#[test]
fn bytes_before_the_first_entry_are_no_entry() {
    let files = small().files;
    let more = [b"xyz", &files[LOG][..]].concat();
    let said = told(&check(&with(&files, LOG, more)));
    assert!(
        !said.contains("Entry 0") && !said.contains("put back"),
        "{said}"
    );
    assert!(said.contains("What stands as entry 1"), "{said}");
    assert!(said.contains("3 bytes longer"), "{said}");
}

#[test]
fn a_repeated_entry_is_not_said_to_be_replaced() {
    let files = small().files;
    let verdict = check(&with_lines(&files, |lines| {
        lines.insert(2, lines[1].clone())
    }));
    assert_eq!(told(&verdict), "Line 3 of the log repeats line 2.");
    assert!(verdict.remarks().all(|f| f.kind == Kind::Unvouched));
}

#[test]
fn a_log_that_lost_its_last_line_feed_only_is_told_so() {
    let files = small().files;
    let mut bytes = files[LOG].clone();
    bytes.pop();
    let byte = format!("(byte {}, counted from 0)", bytes.len());
    let verdict = check(&with(&files, LOG, bytes));
    let said = told(&verdict);
    assert_eq!(verdict.problems().count(), 1, "{said}");
    assert!(said.contains("the line feed that ends entry 6"), "{said}");
    assert!(said.contains(&byte), "{said}");
    assert_eq!(verdict.entries, 6);
}

/// The dossier as a beginning leaves it that was stopped before `head` was written.
fn first_entry_alone(files: &InMemory) -> InMemory {
    let mut files = with_lines(files, |lines| lines.truncate(1));
    files.remove(HEAD);
    files
}

#[test]
fn an_interrupted_beginning_holds_and_is_remarked() {
    let files = small().files;
    let verdict = check(&first_entry_alone(&files));
    assert!(verdict.holds(), "{}", told(&verdict));
    let remark = verdict.remarks().find(|f| f.kind == Kind::Interrupted);
    assert!(remark.unwrap().text.starts_with("Entry 1 is whole, but"));
    // What was noted of a later entry tells it from entries taken away.
    let expect = check(&files).head;
    let asked = Asked {
        expect,
        ..Asked::default()
    };
    assert!(!verify(&first_entry_alone(&files), &asked).holds());
}

#[test]
fn a_head_missing_from_anything_but_a_beginning_is_a_problem() {
    let files = small().files;
    let changed = |change: fn(&mut Vec<Vec<u8>>)| {
        let mut files = with_lines(&files, change);
        files.remove(HEAD);
        check(&files)
    };
    let missing = "The file head is missing.";
    for (what, verdict) in [
        ("two entries", changed(|lines| lines.truncate(2))),
        (
            "the second alone",
            changed(|lines| *lines = vec![lines[1].clone()]),
        ),
        (
            "half an entry more",
            changed(|lines| {
                lines.truncate(2);
                lines[1].pop();
            }),
        ),
    ] {
        assert!(told(&verdict).contains(missing), "{what}");
    }
}
