//! What was changed by hand in a dossier, as `inktell dossier verify` tells it.

use super::desk::{desk, dossier, one_line};
use inktell::dossier::digest::Digest;
use inktell::dossier::entry::{Deed, Entry, Role};
use inktell::dossier::line::{self, Log};
use inktell::dossier::store::head_text;
use inktell::dossier::{HEAD, LOG};
use std::path::{Path, PathBuf};

#[test]
fn a_changed_photograph_is_told_to_the_byte_and_the_exit_code_says_so() {
    let desk = desk();
    let folder = Path::new(&desk.heron).join("photographs");
    let file = std::fs::read_dir(folder)
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    let mut bytes = std::fs::read(&file).unwrap();
    bytes[4321] ^= 0x10;
    std::fs::write(&file, &bytes).unwrap();
    let said = one_line(&dossier(&["verify", &desk.heron], 1));
    assert!(said.starts_with("This dossier does not hold"), "{said}");
    assert!(said.contains("byte 4321 (counted from 0)"), "{said}");
    // One change is one problem: what was measured on the photograph is not called different.
    assert!(said.contains(": 1 problem found."), "{said}");
    for n in [2, 4] {
        let told = format!("Entry {n} was not measured again: the photograph ");
        assert!(said.contains(&told), "{said}");
    }
    assert!(!said.contains("does not measure the same"), "{said}");
    let json = dossier(&["verify", &desk.heron, "--no-measure", "--json"], 1);
    let verdict: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(verdict["findings"][0]["kind"], "file-changed");
}

/// Writes the log again after a change, with every link, hash and reference as it should be.
pub fn forge(root: &Path, change: &dyn Fn(&mut Entry)) {
    let log = Log::parse(&std::fs::read(root.join(LOG)).unwrap());
    let count = log.lines.len() as u64;
    let mut digests: Vec<Digest> = Vec::new();
    let mut bytes = Vec::new();
    for line in log.lines {
        let mut entry = line.entry.unwrap();
        change(&mut entry);
        entry.prev = digests.last().cloned();
        match &mut entry.deed {
            Deed::Conclusion(c) => {
                c.considers.sha256 = digests[c.considers.n as usize - 1].sha256.clone()
            }
            Deed::Amendment(a) => a.amends.sha256 = digests[a.amends.n as usize - 1].sha256.clone(),
            _ => {}
        }
        let line = line::compose(entry, None).unwrap();
        digests.push(Digest::of(&line));
        bytes.extend(line);
    }
    std::fs::write(root.join(LOG), bytes).unwrap();
    std::fs::write(root.join(HEAD), head_text(count, digests.last().unwrap())).unwrap();
}

#[test]
fn a_forged_figure_is_told_by_measuring_again_and_another_version_is_told_apart() {
    let desk = desk();
    let root = PathBuf::from(&desk.heron);
    // A forger who mends every hash still cannot make the photograph agree.
    let log = Log::parse(&std::fs::read(root.join(LOG)).unwrap());
    let entry = log.lines[1].entry.as_ref().unwrap();
    let reading = entry
        .files
        .iter()
        .find(|f| f.role == Role::Reading)
        .unwrap();
    let kept = std::fs::read_to_string(root.join(&reading.path)).unwrap();
    let mut document: serde_json::Value = serde_json::from_str(&kept).unwrap();
    let figure = &mut document["photos"][0]["measurements"]["marks"]["coverage"]["value"];
    *figure = serde_json::json!(figure.as_f64().unwrap() * 1.2);
    let forged = serde_json::to_vec_pretty(&document).unwrap();
    let digest = Digest::of(&forged);
    let path = format!("readings/{}.json", digest.sha256);
    std::fs::write(root.join(&path), forged).unwrap();
    let swap = |entry: &mut Entry| {
        for file in entry
            .files
            .iter_mut()
            .filter(|f| f.role == Role::Reading && entry.n == 2)
        {
            file.path = path.clone();
            file.digest = digest.clone();
        }
    };
    forge(&root, &swap);
    let quick = dossier(&["verify", &desk.heron, "--no-measure"], 0);
    assert!(quick.contains("Signed by nobody"), "{quick}");
    let said = one_line(&dossier(&["verify", &desk.heron], 1));
    assert!(
        said.contains("Entry 2 does not measure the same again, by the same program"),
        "{said}"
    );
    assert!(
        said.contains("photos.0.measurements.marks.coverage.value: recorded"),
        "{said}"
    );
    // The same difference under another version is no proof of tampering, and is said to be none.
    forge(&root, &|entry| {
        entry.program.measuring = "0123456789abcdef".into()
    });
    let said = one_line(&dossier(&["verify", &desk.heron], 0));
    assert!(said.contains("measures entry 2 differently"), "{said}");
    assert!(said.contains("no sign of tampering"), "{said}");
    let headline = "The figures of entry 2 could NOT be confirmed: by what the log says, another version measured them, and nobody signed that entry. Everything else holds: 5 entries";
    assert!(said.starts_with(headline), "{said}");
}

#[test]
fn a_reading_taken_away_and_a_sentence_made_stronger_are_told() {
    let desk = desk();
    let root = PathBuf::from(&desk.heron);
    let log = std::fs::read(root.join(LOG)).unwrap();
    let head = std::fs::read(root.join(HEAD)).unwrap();
    let told_after = |change: &dyn Fn(&mut Entry)| {
        forge(&root, change);
        let said = one_line(&dossier(&["verify", &desk.heron], 1));
        std::fs::write(root.join(LOG), &log).unwrap();
        std::fs::write(root.join(HEAD), &head).unwrap();
        said
    };
    // Without its reading a photograph could not be measured against anything.
    let said = told_after(&|entry| entry.files.retain(|f| f.role != Role::Reading));
    for n in [2, 4] {
        let why = format!("Entry {n} rests on photographs, but keeps no reading");
        assert!(said.contains(&why), "{said}");
    }
    // A conclusion that says nothing was measured promises a reading none the less.
    let said = told_after(&|entry| {
        if let Deed::Conclusion(conclusion) = &mut entry.deed {
            conclusion.measured = None;
            entry.files.clear();
        }
    });
    assert!(said.contains("Entry 4 rests on photographs"), "{said}");
    let said = told_after(&|entry| {
        if let Deed::Photographs(photographs) = &mut entry.deed {
            photographs.reading.sentence = "It is certain.".into();
            photographs.reading.photographs = 7;
        }
    });
    assert!(said.contains("the entry says \"It is certain.\""), "{said}");
    assert!(
        said.contains("it rests on 7 photographs, and it rests on 2"),
        "{said}"
    );
}
