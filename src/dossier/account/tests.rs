//! What an account and its exports say of what was withdrawn, corrected or set beside by others.

use super::{Account, Telling, account};
use crate::dossier::contents::InMemory;
use crate::dossier::digest::Digest;
use crate::dossier::entry::{
    Amendment, Conclusion, Deed, Entry, FileRef, Means, Observation, Parameters, Photographs,
    Program, Referred, Role, SCHEMA, Summary,
};
use crate::dossier::line::Log;
use crate::dossier::verify::{self, Asked};
use crate::examine::Examination;
use crate::report::{example, json as document};
use crate::{dossier::export, weigh::Process};

/// A hand: an author, with a key or without.
type Hand = (&'static str, Option<&'static str>);
const BIDDER: Hand = ("A. Bidder", Some("ssh-ed25519 AAAA"));
const EXPERT: Hand = ("B. Expert", Some("ssh-ed25519 BBBB"));
const FORGER: Hand = ("A. Bidder", None);
const ANON: Hand = ("Anon", None);

struct Desk {
    examination: Examination,
    contents: InMemory,
    lines: Vec<u8>,
    entries: u64,
}

impl Desk {
    fn new() -> Self {
        let mut desk = Self {
            examination: Examination {
                photos: vec![],
                reading: example::reading(),
            },
            contents: InMemory::new(),
            lines: Vec::new(),
            entries: 0,
        };
        desk.add(BIDDER, Deed::Begin(Box::default()), vec![]);
        desk
    }

    fn add(&mut self, (author, key): Hand, deed: Deed, files: Vec<FileRef>) {
        self.entries += 1;
        let entry = Entry {
            schema: SCHEMA.into(),
            n: self.entries,
            prev: None,
            time: "2026-01-02T10:00:00Z".into(),
            author: author.into(),
            program: Program::this(),
            deed,
            files,
            set_aside: vec![],
            without_location: Default::default(),
            key: key.map(str::to_owned),
        };
        serde_json::to_writer(&mut self.lines, &entry).unwrap();
        self.lines.push(b'\n');
    }

    fn file(&mut self, role: Role, name: &str, bytes: Vec<u8>) -> FileRef {
        let file = FileRef {
            role,
            path: format!("{}-{name}", self.entries),
            name: name.into(),
            digest: Digest::of(&bytes),
        };
        self.contents.insert(file.path.clone(), bytes);
        file
    }

    /// The reading of all photographs, of which each adding makes another.
    fn reading(&mut self) -> FileRef {
        self.examination.reading.limit_log10_lr += 0.01;
        let text = document::text(&self.examination, &[]).unwrap();
        self.file(Role::Reading, "reading.json", text.into_bytes())
    }

    fn summary(&self) -> Summary {
        Summary {
            photographs: 1,
            ..Summary::of(&self.examination)
        }
    }

    fn photograph(&mut self, hand: Hand) {
        let files = vec![
            self.file(Role::Photograph, "head.jpg", vec![1]),
            self.reading(),
        ];
        let deed = Deed::Photographs(Photographs {
            parameters: Parameters::default(),
            reading: self.summary(),
        });
        self.add(hand, deed, files);
    }

    fn observe(&mut self, hand: Hand, text: &str) {
        let seen = Observation {
            means: Means::Touch,
            text: text.into(),
        };
        self.add(hand, Deed::Observation(seen), vec![]);
    }

    fn conclude(&mut self, hand: Hand, text: &str, process: Option<Process>, measured: bool) {
        let files = match measured {
            true => vec![self.reading()],
            false => vec![],
        };
        let deed = Deed::Conclusion(Conclusion {
            text: text.into(),
            process: process.map(|process| process.key().into()),
            colouring: vec![],
            considers: Referred {
                n: self.entries,
                sha256: String::new(),
            },
            measured: measured.then(|| self.summary()),
            differs_in: vec![],
            because: None,
        });
        self.add(hand, deed, files);
    }

    fn amend(&mut self, hand: Hand, n: u64, text: &str, withdraws: bool) {
        let deed = Deed::Amendment(Amendment {
            amends: Referred {
                n,
                sha256: String::new(),
            },
            text: text.into(),
            particulars: [].into(),
            withdraws,
        });
        self.add(hand, deed, vec![]);
    }

    fn account(&self) -> (Log, Account) {
        let log = Log::parse(&self.lines);
        let told = account(&Telling {
            contents: &self.contents,
            log: &log,
            verdict: &verify::verify(&self.contents, &Asked::default()),
            made: "2 January 2026",
            tell_places: true,
        });
        (log, told)
    }

    /// What stands under a heading, on one line; nothing where there is no such part.
    fn part(&self, heading: &str) -> String {
        let (_, mut told) = self.account();
        told.parts.retain(|part| part.heading == heading);
        let text = export::text::text(&told, 100);
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn linked_art(&self) -> serde_json::Value {
        let (log, told) = self.account();
        serde_json::from_str(&export::linked_art::text(&log, &told).unwrap()).unwrap()
    }

    /// Contents of the statements under a label.
    fn statements(&self, label: &str) -> Vec<String> {
        let document = self.linked_art();
        let all = document["referred_to_by"].as_array().unwrap();
        all.iter()
            .filter(|statement| statement["_label"] == label)
            .map(|statement| statement["content"].as_str().unwrap().to_owned())
            .collect()
    }
}

/// The texts stand in a text, one after the other.
#[track_caller]
fn in_order(text: &str, texts: &[&str]) {
    let mut rest = text;
    for wanted in texts {
        let found = rest.split_once(wanted);
        rest = found.unwrap_or_else(|| panic!("{wanted} in {text}")).1;
    }
}

#[test]
fn a_conclusion_says_what_it_rests_on_that_was_withdrawn_since() {
    let mut desk = Desk::new();
    desk.photograph(BIDDER);
    desk.observe(BIDDER, "Felt.");
    desk.conclude(BIDDER, "A stipple engraving.", None, true);
    assert!(!desk.part("Conclusion").contains("rests on"));
    assert!(desk.part("What was measured").contains("of entry 4;"));
    desk.amend(ANON, 2, "Other sheet.", true);
    desk.amend(EXPERT, 3, "Faintly.", false);
    let rests = "The conclusion of entry 4 rests on entry 2, withdrawn since by entry 5 (Anon, 2 January 2026, 10:00 UTC, unsigned).";
    let considers = "The conclusion of entry 4 considers entry 3, corrected since by entry 6 (B. Expert, 2 January 2026, 10:00 UTC, signed with another key).";
    in_order(
        &desk.part("Conclusion"),
        &["A stipple engraving.", rests, considers],
    );
    for label in ["Production Statement", "Technical Report"] {
        in_order(&desk.statements(label)[0], &[rests, considers]);
    }
    assert!(!desk.part("What was measured").contains("weigh"));
    assert!(desk.part("Photographs").contains(
        "Entry 2 was withdrawn by entry 5 (Anon, 2 January 2026, 10:00 UTC, unsigned): Other sheet."
    ));
    desk.conclude(BIDDER, "Left open.", None, false);
    let conclusion = desk.part("Conclusion");
    assert!(conclusion.contains("no photograph was measured"));
    assert!(!conclusion.contains("rests on"), "{conclusion}");
    assert!(!desk.part("What was measured").contains("weigh"));
    // A withdrawal withdrawn takes nothing away.
    desk.amend(BIDDER, 5, "It is this sheet.", true);
    assert!(desk.part("What was measured").contains("of entry 4;"));
}

#[test]
fn signed_conclusions_come_first_and_no_other_hand_hides_them() {
    let mut desk = Desk::new();
    desk.conclude(BIDDER, "Undecided.", None, false);
    desk.conclude(BIDDER, "A line.", Some(Process::LineEngraving), false);
    desk.conclude(FORGER, "A halftone.", Some(Process::Halftone), false);
    desk.conclude(EXPERT, "Line, I agree.", None, false);
    let by = "A. Bidder, 2 January 2026, 10:00 UTC, entry";
    let (signed, unsigned) = (format!("{by} 3, signed."), format!("{by} 4, unsigned."));
    let told = [
        "A line.",
        &signed,
        "Line, I agree.",
        "A halftone.",
        &unsigned,
    ];
    in_order(&desk.part("Conclusion"), &told);
    assert!(!desk.part("Conclusion").contains("Undecided"));
    let stated = desk.statements("Production Statement").join(" ");
    in_order(
        &stated,
        &["A line.", "entry 3, signed", "A halftone.", "unsigned"],
    );
    let technique =
        |desk: &Desk| desk.linked_art()["produced_by"]["technique"][0]["_label"].to_string();
    assert!(technique(&desk).contains("engraving"));

    desk.amend(FORGER, 3, "Mistaken.", true);
    let withdrawal = "Entry 3 was withdrawn by entry 6 (A. Bidder, 2 January 2026, 10:00 UTC, unsigned): Mistaken.";
    let disputed = format!("{by} 3, signed; withdrawn.");
    in_order(
        &desk.part("Conclusion"),
        &["A line.", &disputed, withdrawal, "A halftone."],
    );
    let stated = desk.statements("Production Statement").join(" ");
    in_order(&stated, &["A line.", "signed; withdrawn)", "A halftone."]);
    assert!(desk.statements("Note").iter().any(|n| n == withdrawal));
    assert_eq!(technique(&desk), "null", "none is left that is signed");

    desk.amend(BIDDER, 3, "Indeed.", true);
    let told = [
        "A halftone.",
        "A line.",
        &disputed,
        withdrawal,
        "signed with the same key): Indeed.",
    ];
    in_order(&desk.part("Conclusion"), &told);
    let notes = desk.statements("Note").join(" ");
    in_order(&notes, &["A line.", "; withdrawn)", withdrawal, "Indeed."]);
    assert!(desk.part("Conclusion").contains("Undecided."));
}

#[test]
fn where_every_conclusion_was_withdrawn_that_is_said() {
    let mut desk = Desk::new();
    assert!(desk.part("Conclusion").contains("Nobody has concluded"));
    desk.conclude(BIDDER, "A line.", None, false);
    desk.amend(BIDDER, 2, "Mistaken.", true);
    let told = ["No conclusion stands", "A line.", "Entry 2 was withdrawn"];
    in_order(&desk.part("Conclusion"), &told);
}

#[test]
fn an_observation_withdrawn_stays_in_its_place_and_is_marked() {
    let mut desk = Desk::new();
    desk.observe(BIDDER, "Felt on three sides.");
    desk.amend(ANON, 2, "No.", true);
    let withdrawal =
        "Entry 2 was withdrawn by entry 3 (Anon, 2 January 2026, 10:00 UTC, unsigned): No.";
    let told = [
        "Felt on three sides.",
        "entry 2, signed; withdrawn)",
        withdrawal,
    ];
    in_order(&desk.part("Seen and felt"), &told);
    in_order(&desk.statements("Note").join(" "), &told);
    assert!(desk.statements("Description").is_empty());
}

#[test]
fn a_correction_does_not_stand_without_its_own() {
    let mut desk = Desk::new();
    desk.observe(BIDDER, "Felt on two sides.");
    desk.conclude(BIDDER, "A line.", None, false);
    for (amended, text) in [(2, "Four sides."), (4, "Three sides."), (5, "Not so.")] {
        desk.amend(BIDDER, amended, text, text == "Not so.");
    }
    let chain = [
        "Entry 2 was corrected by entry 4",
        "Four sides.",
        "Entry 4 was corrected by entry 5",
        "Three sides.",
        "Entry 5 was withdrawn by entry 6",
        "Not so.",
    ];
    in_order(&desk.part("Seen and felt"), &chain);
    in_order(&desk.statements("Note").join(" "), &chain);
}

#[test]
fn the_sheet_says_who_corrected_its_particulars() {
    let mut desk = Desk::new();
    desk.amend(ANON, 1, "Another title.", false);
    let correction = "Entry 1 was corrected by entry 2 (Anon, 2 January 2026, 10:00 UTC, unsigned): Another title.";
    assert!(desk.part("The sheet").contains(correction));
    assert!(desk.statements("Note").iter().any(|n| n == correction));
}

#[test]
fn weights_do_not_stand_without_what_the_reading_says_as_a_whole() {
    let mut desk = Desk::new();
    let reading = &mut desk.examination.reading;
    reading.process = None;
    reading.undetermined_because = vec!["a screen of dots was found".into()];
    desk.photograph(BIDDER);
    let whole = [
        "The reading of 1 photograph (A. Bidder, 2 January 2026, 10:00 UTC, entry 2, signed).",
        "Process, measured",
        "undetermined",
        "Colour, measured",
        "hand",
        "Strength",
        "A screen of dots was found.",
        "weigh most in the reading of entry 2;",
    ];
    in_order(&desk.part("What was measured"), &whole);
    desk.conclude(BIDDER, "Left open.", None, true);
    let measured = desk.part("What was measured");
    assert!(measured.contains("of entry 3;"), "{measured}");
    assert!(!measured.contains("Process, measured"), "{measured}");
    // Photographs added after a conclusion have a reading that it does not show.
    desk.photograph(BIDDER);
    desk.amend(BIDDER, 4, "The scale is a guess.", false);
    let measured = desk.part("What was measured");
    in_order(&measured, &["Process, measured", "The scale is a guess."]);
}
