//! The program killed while it writes, and many of it at once.

use super::desk::{begun, dossier};
use inktell::dossier::LOG;
use inktell::dossier::contents::{Folder, in_memory};
use inktell::dossier::verify::{Asked, Kind, verify};
use std::process::Stdio;
use std::time::Duration;

fn adding(heron: &str, text: &str) -> std::process::Child {
    std::process::Command::new(assert_cmd::cargo::cargo_bin("inktell"))
        .args([
            "dossier",
            "observe",
            heron,
            "--by",
            "eye",
            text,
            "--author",
            "A. Bidder",
        ])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn killed_again_and_again_a_dossier_keeps_what_was_acknowledged() {
    let (_folder, root) = begun();
    let heron = root.display().to_string();
    let mut acknowledged = Vec::new();
    let mut killed = 0;
    for round in 0..60u64 {
        let text = format!("seen in round {round}");
        let mut child = adding(&heron, &text);
        // From before the first file is touched to after the last: 0 to 12 ms.
        std::thread::sleep(Duration::from_micros(200 * round));
        // kill -9 on Unix.
        child.kill().unwrap();
        let output = child.wait_with_output().unwrap();
        killed += usize::from(!output.status.success());
        if String::from_utf8_lossy(&output.stdout).contains("SHA-256") {
            acknowledged.push(text);
        }
    }
    dossier(
        &[
            "observe",
            &heron,
            "--by",
            "eye",
            "at last",
            "--author",
            "A. Bidder",
        ],
        0,
    );
    let files = in_memory(&Folder(root)).unwrap();
    let verdict = verify(&files, &Asked::default());
    assert!(verdict.holds(), "{:?}", verdict.findings);
    let standing = String::from_utf8(files[LOG].clone()).unwrap();
    for text in &acknowledged {
        assert!(
            standing.contains(&format!("\"{text}\"")),
            "{text} was acknowledged"
        );
    }
    assert!(killed > 0, "no run was killed in time");
}

#[test]
fn many_programs_adding_at_once_all_get_their_turn() {
    let (_folder, root) = begun();
    let heron = root.display().to_string();
    let writers: Vec<_> = (0..12)
        .map(|n| adding(&heron, &format!("writer {n}")))
        .collect();
    for writer in writers {
        assert!(writer.wait_with_output().unwrap().status.success());
    }
    let verdict = verify(&Folder(root), &Asked::default());
    assert!(verdict.holds(), "{:?}", verdict.findings);
    assert_eq!(verdict.entries, 13);
    let meant = |kind| matches!(kind, Kind::Clock | Kind::Unvouched);
    assert!(verdict.findings.iter().all(|f| meant(f.kind)));
}
