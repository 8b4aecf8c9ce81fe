//! Files that cannot be read: told by name, and where they are no evidence no hindrance.

use super::desk::{begun, dossier, inktell, one_line, text};
use super::exports::unpacked;
use inktell::dossier::LOG;
use std::io::Write;

/// What `inktell dossier` says on standard error where it succeeds.
#[cfg(unix)]
fn remarks(arguments: &[&str]) -> String {
    let output = inktell().arg("dossier").args(arguments).output().unwrap();
    let said = text(&output.stderr);
    assert!(output.status.success(), "{said}");
    one_line(&said)
}

#[cfg(unix)]
#[test]
fn strays_that_cannot_be_read_are_passed_over_and_said_to_be() {
    use std::os::unix::ffi::OsStrExt;
    let (folder, root) = begun();
    let heron = root.display().to_string();
    // As an editor leaves a link to nothing, and a name in an old encoding.
    std::os::unix::fs::symlink("a.bidder@desk", root.join(".#dossier.jsonl")).unwrap();
    let old = std::ffi::OsStr::from_bytes(b"caf\xe9.txt");
    std::fs::write(root.join(old), "A bill.").unwrap();
    dossier(&["verify", &heron], 0);
    let bag = folder.path().join("heron.zip").display().to_string();
    let said = remarks(&["export", &heron, "--bag", &bag]);
    for name in [".#dossier.jsonl", "caf\u{fffd}.txt"] {
        let told = format!("{name} lies in the dossier's folder and cannot be read (");
        assert!(said.contains(&told), "{name}: {said}");
    }
    let mut packed = unpacked(&bag).into_iter();
    assert!(packed.all(|(name, _)| !name.contains(".#") && !name.contains("caf")));
    dossier(&["verify", &bag], 0);
}

#[cfg(unix)]
#[test]
fn a_file_of_the_dossier_that_keeps_a_bag_from_being_made_is_named() {
    let (folder, root) = begun();
    let heron = root.display().to_string();
    std::fs::remove_file(root.join("README.txt")).unwrap();
    std::os::unix::fs::symlink("nowhere", root.join("README.txt")).unwrap();
    let bag = folder.path().join("heron.zip");
    let bag_name = bag.display().to_string();
    let said = one_line(&dossier(&["export", &heron, "--bag", &bag_name], 2));
    assert!(
        said.contains(&format!("{heron}: no bag was made")),
        "{said}"
    );
    assert!(said.contains("cannot be read: README.txt ("), "{said}");
    assert!(!bag.exists());
}

#[test]
fn a_log_that_cannot_be_unpacked_is_named_with_its_file() {
    let (folder, root) = begun();
    let log = std::fs::read(root.join(LOG)).unwrap();
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let stored =
        zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    writer.start_file(LOG, stored).unwrap();
    writer.write_all(&log).unwrap();
    let mut bytes = writer.finish().unwrap().into_inner();
    let at = bytes.windows(log.len()).position(|part| part == log);
    bytes[at.unwrap() + 40] ^= 1;
    let file = folder.path().join("damaged.zip").display().to_string();
    std::fs::write(&file, bytes).unwrap();
    let page = folder.path().join("page.html").display().to_string();
    for command in [
        &["show", &file][..],
        &["verify", &file],
        &["export", &file, "--html", &page],
    ] {
        let said = one_line(&dossier(command, 2));
        let told = format!("{file}: {LOG} cannot be read (Invalid checksum); check");
        assert!(said.contains(&told), "{command:?}: {said}");
    }
}
