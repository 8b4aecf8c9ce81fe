//! Tests of adding entries.

use super::*;
use crate::dossier::disk::RealDisk;
use crate::dossier::entry::{Means, Observation};

fn draft(text: &str) -> Draft {
    Draft {
        author: "A. Bidder".into(),
        time: "2026-01-02T10:00:00Z".into(),
        deed: Deed::Observation(Observation {
            means: Means::Touch,
            text: text.into(),
        }),
        files: vec![NewFile {
            role: Role::Photograph,
            name: "Head.JPG".into(),
            bytes: text.as_bytes().to_vec(),
        }],
    }
}

#[test]
fn entries_are_chained_and_files_named_by_their_hash() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("heron");
    let store = Store::new(&root, &RealDisk);
    let first = store.begin(draft("one"), None).unwrap();
    let second = store
        .add(None, &Patience::NONE, |_| Ok(draft("two")))
        .unwrap();
    let log = Log::parse(&std::fs::read(root.join(LOG)).unwrap());
    assert_eq!(chain_holds(&log), Ok(()));
    assert_eq!((first.n, second.n), (1, 2));
    let head = parse_head(&std::fs::read(root.join(HEAD)).unwrap()).unwrap();
    assert_eq!(head, (2, second.digest));
    let photo = &log.lines[1].entry.as_ref().unwrap().files[0];
    assert_eq!(
        photo.path,
        format!("photographs/{}.jpg", photo.digest.sha256)
    );
    assert_eq!(std::fs::read(root.join(&photo.path)).unwrap(), b"two");
}

#[test]
fn an_unfinished_line_is_moved_aside_and_named() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("heron");
    let store = Store::new(&root, &RealDisk);
    store.begin(draft("one"), None).unwrap();
    RealDisk
        .append(&root.join(LOG), b"{\"schema\":\"ink")
        .unwrap();
    let receipt = store
        .add(None, &Patience::NONE, |_| Ok(draft("two")))
        .unwrap();
    assert_eq!((receipt.n, receipt.set_aside), (2, 1));
    let log = Log::parse(&std::fs::read(root.join(LOG)).unwrap());
    let aside = &log.lines[1].entry.as_ref().unwrap().set_aside[0];
    assert_eq!(
        std::fs::read(root.join(&aside.path)).unwrap(),
        b"{\"schema\":\"ink"
    );
}

#[test]
fn nothing_is_built_on_a_broken_log_or_in_a_taken_folder() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("heron");
    let store = Store::new(&root, &RealDisk);
    assert!(matches!(
        store.add(None, &Patience::NONE, |_| Ok(draft("x"))),
        Err(StoreError::NotADossier(_))
    ));
    store.begin(draft("one"), None).unwrap();
    assert!(matches!(
        store.begin(draft("one"), None),
        Err(StoreError::Taken { .. })
    ));
    let mut log = std::fs::read(root.join(LOG)).unwrap();
    log[40] ^= 1;
    std::fs::write(root.join(LOG), log).unwrap();
    let refused = store.add(None, &Patience::NONE, |_| Ok(draft("x")));
    assert!(
        matches!(refused, Err(StoreError::Broken { .. })),
        "{refused:?}"
    );
    let other = folder.path().join("other");
    std::fs::create_dir(&other).unwrap();
    std::fs::write(other.join("letter.txt"), "x").unwrap();
    let refused = Store::new(&other, &RealDisk).begin(draft("one"), None);
    assert!(refused.unwrap_err().to_string().contains("letter.txt"));
}

#[test]
fn the_second_writer_waits_or_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("heron");
    let store = Store::new(&root, &RealDisk);
    store.begin(draft("one"), None).unwrap();
    let held = RealDisk.try_lock(&root.join(LOCK)).unwrap();
    let told = store.add(None, &Patience::NONE, |_| Ok(draft("two")));
    assert!(matches!(told, Err(StoreError::InUse(_))));
    let asked = std::cell::Cell::new(0);
    std::thread::scope(|scope| {
        let root = &root;
        let (begun, begin) = std::sync::mpsc::channel();
        scope.spawn(move || {
            let store = Store::new(root, &RealDisk);
            let waiting = move || begun.send(()).unwrap();
            let patience = Patience {
                limit: Duration::from_secs(20),
                waiting: &waiting,
            };
            store.add(None, &patience, |_| Ok(draft("two"))).unwrap();
        });
        begin.recv().unwrap();
        asked.set(1);
        drop(held);
    });
    assert_eq!(asked.get(), 1);
    let log = Log::parse(&std::fs::read(root.join(LOG)).unwrap());
    assert_eq!(log.lines.len(), 2);
}
