//! Nothing acknowledged is lost and nothing half-written is taken as whole, wherever the program,
//! the power or the disk gives out.

use super::model::{Model, ModelDisk};
use super::small::draft;
use inktell::dossier::contents::InMemory;
use inktell::dossier::entry::{Deed, Entry, Role};
use inktell::dossier::line::Log;
use inktell::dossier::store::{Draft, NewFile, Patience, Receipt, Store, StoreError};
use inktell::dossier::verify::{Asked, Verdict, verify};
use inktell::dossier::{LOCK, LOG, SET_ASIDE};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use std::path::Path;

const ROOT: &str = "/heron";

fn beginning() -> Draft {
    Draft {
        deed: Deed::Begin(Box::new(inktell::dossier::particulars::Particulars {
            title: "The Heron".into(),
            ..Default::default()
        })),
        files: vec![NewFile {
            role: Role::Readme,
            name: "README.txt".into(),
            bytes: b"What this is.".to_vec(),
        }],
        ..draft("")
    }
}

fn add(disk: &ModelDisk, text: &str) -> Result<Receipt, StoreError> {
    Store::new(Path::new(ROOT), disk).add(None, &Patience::NONE, |_| Ok(draft(text)))
}

/// A dossier of a few entries, all of them synced.
fn model_of(entries: usize) -> Model {
    let disk = ModelDisk::new();
    Store::new(Path::new(ROOT), &disk)
        .begin(beginning(), None)
        .unwrap();
    for n in 1..entries {
        add(&disk, &format!("entry {n}")).unwrap();
    }
    disk.model.into_inner()
}

fn files(model: &Model) -> InMemory {
    model
        .names
        .iter()
        .filter_map(|(path, number)| {
            let inside = path.strip_prefix(ROOT).ok()?;
            Some((
                inside.to_string_lossy().into_owned(),
                model.bytes[number].0.clone(),
            ))
        })
        .collect()
}

fn texts(files: &InMemory) -> Vec<String> {
    let log = Log::parse(&files.get(LOG).cloned().unwrap_or_default());
    let text = |entry: &Entry| match &entry.deed {
        Deed::Observation(observation) => observation.text.clone(),
        _ => "beginning".into(),
    };
    log.entries().map(text).collect()
}

/// What verification says, once it is plain that it looked: it counted the entries and files that
/// the test counts itself.
fn looked_at(files: &InMemory) -> Verdict {
    let verdict = verify(files, &Asked::default());
    assert_eq!(verdict.entries, texts(files).len() as u64);
    let log = Log::parse(&files[LOG]);
    let named: std::collections::BTreeSet<&str> = log
        .entries()
        .flat_map(|entry| entry.files.iter().chain(&entry.set_aside))
        .map(|file| file.path.as_str())
        .collect();
    assert_eq!(verdict.files_checked, named.len());
    verdict
}

/// After any end: what was acknowledged stands, everything that stands holds, and the next entry
/// goes in and leaves a dossier without fault.
fn survives(left: &Model, acknowledged: &[String], why: &str) {
    let found = files(left);
    let standing = texts(&found);
    assert!(standing.starts_with(acknowledged), "{why}: {standing:?}");
    let allowed = acknowledged.len()..=acknowledged.len() + 1;
    assert!(allowed.contains(&standing.len()), "{why}: {standing:?}");
    if !standing.is_empty() {
        let verdict = looked_at(&found);
        assert!(verdict.holds(), "{why}: {:?}", verdict.findings);
    }
    let torn = Log::parse(&found.get(LOG).cloned().unwrap_or_default()).torn;
    let disk = ModelDisk::after(left.clone(), u64::MAX);
    if standing.is_empty() {
        let store = Store::new(Path::new(ROOT), &disk);
        store
            .begin(beginning(), None)
            .unwrap_or_else(|e| panic!("{why}: {e}"));
    } else {
        add(&disk, "afterwards").unwrap_or_else(|e| panic!("{why}: {e}"));
    }
    let after = files(&disk.model.borrow());
    let verdict = looked_at(&after);
    assert!(verdict.holds(), "{why}: {:?}", verdict.findings);
    assert_eq!(texts(&after).len(), standing.len() + 1, "{why}");
    if !torn.is_empty() {
        let kept = after
            .iter()
            .any(|(path, bytes)| path.starts_with(SET_ASIDE) && *bytes == torn);
        assert!(kept, "{why}: torn bytes are kept aside");
    }
}

/// Steps that adding an entry takes.
fn steps_of(work: impl Fn(&ModelDisk)) -> u64 {
    const MANY: u64 = 1 << 40;
    let disk = ModelDisk::after(model_of(3), MANY);
    work(&disk);
    MANY - disk.steps_left.get()
}

#[test]
fn stopped_at_every_single_step_nothing_is_lost() {
    let base = model_of(3);
    let acknowledged = texts(&files(&base));
    let steps = steps_of(|disk| drop(add(disk, "one more").unwrap()));
    assert!(steps > 500, "{steps}");
    for stop in 0..=steps {
        let disk = ModelDisk::after(base.clone(), stop);
        let mut all = acknowledged.clone();
        if add(&disk, "one more").is_ok() {
            all.push("one more".into());
        }
        // kill -9: the machine goes on, nothing in its memory is lost.
        survives(
            &disk.model.borrow(),
            &all,
            &format!("stopped at step {stop}"),
        );
    }
}

#[test]
fn in_thousands_of_power_cuts_nothing_acknowledged_is_lost() {
    let mut random = StdRng::seed_from_u64(20_260_102);
    let begun = model_of(1);
    let steps = 3 * steps_of(|disk| drop(add(disk, "one more").unwrap()));
    for cut in 0..6_000 {
        let from_nothing = cut % 8 == 0;
        let base = if from_nothing {
            ModelDisk::new().model.into_inner()
        } else {
            begun.clone()
        };
        let mut all = texts(&files(&base));
        let disk = ModelDisk::after(base, random.random_range(0..steps));
        if from_nothing {
            let store = Store::new(Path::new(ROOT), &disk);
            if store.begin(beginning(), None).is_ok() {
                all.push("beginning".into());
            }
        }
        if !all.is_empty() {
            for n in 0..3 {
                let text = format!("entry {n} of {cut}");
                if add(&disk, &text).is_ok() {
                    all.push(text);
                }
            }
        }
        let mut left = disk.power_cut(&mut random);
        // A folder that was not safe may be gone with all that was in it.
        if all.is_empty() && files(&left).is_empty() {
            left.folders.remove(Path::new(ROOT));
        }
        survives(&left, &all, &format!("power cut {cut}"));
    }
}

#[test]
fn a_full_disk_takes_nothing_and_says_so() {
    let base = model_of(2);
    let before = files(&base);
    let acknowledged = texts(&before);
    let need = 2_500;
    let (mut refused, mut taken) = (0, 0);
    for space in 0..need {
        let disk = ModelDisk::after(base.clone(), u64::MAX);
        disk.space_left.set(space);
        let mut all = acknowledged.clone();
        match add(&disk, "one more") {
            Ok(_) => {
                all.push("one more".into());
                taken += 1;
            }
            Err(StoreError::Full(_)) => {
                refused += 1;
                let left = files(&disk.model.borrow());
                let new: Vec<&String> = left
                    .keys()
                    .filter(|name| !before.contains_key(*name) && *name != LOCK)
                    .collect();
                assert!(new.is_empty(), "{space}: {new:?} keeps the disk full");
            }
            Err(StoreError::HeadBehind { .. }) => all.push("one more".into()),
            Err(other) => panic!("{space}: {other}"),
        }
        survives(&disk.model.borrow(), &all, &format!("{space} bytes left"));
    }
    assert!(
        refused > 500 && taken > 100,
        "{refused} refused, {taken} taken"
    );
}

#[test]
fn a_syncless_store_would_be_caught() {
    // The model must be able to fail: the same entry without its syncs is lost in some power cuts.
    let mut random = StdRng::seed_from_u64(7);
    let base = model_of(2);
    let disk = ModelDisk::after(base.clone(), u64::MAX);
    add(&disk, "one more").unwrap();
    let unsynced = Model {
        safe_names: base.safe_names.clone(),
        bytes: disk
            .model
            .borrow()
            .bytes
            .iter()
            .map(|(number, (now, _))| {
                let safe = base.bytes.get(number).map_or(Vec::new(), |b| b.1.clone());
                (*number, (now.clone(), safe))
            })
            .collect(),
        ..disk.model.borrow().clone()
    };
    let lost = (0..200).filter(|_| {
        let left = ModelDisk::after(unsynced.clone(), 0).power_cut(&mut random);
        texts(&files(&left)).len() < 3
    });
    assert!(lost.count() > 20);
}
