//! `inktell dossier` as a user meets it, from the key to the verification.

use super::desk::{begun, desk, dossier, inktell, one_line, text};
use super::exports::unpacked;
use std::path::Path;

#[test]
fn a_dossier_from_key_to_verification() {
    let desk = desk();
    let said = one_line(&dossier(&["verify", &desk.heron], 0));
    assert!(
        said.starts_with("Everything holds: 5 entries, 5 files checked, 2 readings measured"),
        "{said}"
    );
    assert!(said.contains("Signed by A. Bidder (key SHA256:"), "{said}");
    assert!(said.contains("What this cannot show"), "{said}");
    let shown = dossier(&["show", &desk.heron], 0);
    for word in [
        "THE HERON",
        "494 × 304 mm",
        "allows the format claimed",
        "A line engraving.",
        "In process: The lines are plain to the eye.",
        "Corrected by entry 5",
        "51 deg 30 min",
        "goggles",
        "not an appraisal",
        "C. Nobody, 1931",
    ] {
        assert!(one_line(&shown).contains(word), "{word} in {shown}");
    }
    let private = dossier(&["show", &desk.heron, "--without-location"], 0);
    assert!(
        !private.contains("51 deg") && private.contains("left out"),
        "{private}"
    );
    // A second signer, and the list of keys that someone knows.
    let second = desk.path("second");
    dossier(&["key", &second, "--name", "D. Second"], 0);
    dossier(
        &[
            "countersign",
            &desk.heron,
            "I had the sheet in hand.",
            "--key",
            &second,
        ],
        0,
    );
    let public = std::fs::read_to_string(format!("{}.pub", desk.key)).unwrap();
    let signers = desk.path("signers");
    std::fs::write(&signers, format!("\"A. Bidder\" {public}")).unwrap();
    let said = dossier(
        &["verify", &desk.heron, "--no-measure", "--signers", &signers],
        1,
    );
    assert!(
        one_line(&said).contains("(D. Second) is not among the known signers"),
        "{said}"
    );
}

#[test]
fn what_makes_no_sense_is_refused_with_what_to_do() {
    let (folder, _) = begun();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (none, key, heron) = (path("none"), path("key"), path("heron"));
    let other = path("other");
    std::fs::create_dir(&other).unwrap();
    std::fs::write(path("other/README.txt"), "Someone's own.").unwrap();
    dossier(&["key", &key, "--name", "A. Bidder"], 0);
    for (arguments, said) in [
        (vec!["verify", &none], "name a dossier's folder or ZIP file"),
        (
            vec!["begin", &heron, "--title", "x", "--author", "A"],
            "holds a dossier already",
        ),
        (vec!["begin", &none, "--title", "x"], "--author"),
        (
            vec![
                "begin", &none, "--title", "x", "--author", "A", "--sheet", "3",
            ],
            "352x254",
        ),
        (
            vec!["observe", &none, "--by", "eye", "x", "--author", "A"],
            "inktell dossier begin",
        ),
        (
            vec!["observe", &heron, "--by", "nose", "x", "--author", "A"],
            "raking-light",
        ),
        (
            vec!["observe", &heron, "--by", "eye", " ", "--author", "A"],
            "the text is empty",
        ),
        (
            vec!["amend", &heron, "7", "x", "--author", "A"],
            "there is no entry 7",
        ),
        (
            vec!["conclude", &heron, "x", "--because", " ", "--author", "A"],
            "--because is blank",
        ),
        (
            vec!["begin", &other, "--title", "x", "--author", "A"],
            "another README.txt",
        ),
        (
            vec![
                "amend",
                &heron,
                "1",
                "x",
                "--set",
                "colour=red",
                "--author",
                "A",
            ],
            "plate-mark",
        ),
        (
            vec![
                "amend",
                &heron,
                "1",
                "x",
                "--set",
                "inscriptions-and-markings=A stamp",
                "--set",
                "inscriptions_and_markings=A number",
                "--author",
                "A",
            ],
            "given twice, and only one text can stand; give each field once, and inscriptions in one text, separated by \" | \"",
        ),
        (
            vec!["amend", &heron, "1", "x", "--withdraw", "--author", "A"],
            "cannot be withdrawn",
        ),
        (
            vec!["countersign", &heron, "x", "--author", "A"],
            "--key FILE",
        ),
        (
            vec!["add", &heron, &none, "--author", "A"],
            "name a photograph of the sheet",
        ),
        (vec!["add", &heron, &key, "--author", "A"], "key:"),
        (vec!["export", &heron], "say what to write"),
        (vec!["key", &key, "--name", "B"], "never overwritten"),
        (
            vec!["observe", &heron, "--by", "eye", "x", "--key", &none],
            "the key cannot be read",
        ),
    ] {
        let error = dossier(&arguments, 2);
        assert!(error.contains(said), "{arguments:?}: {error}");
        assert!(!error.contains("panicked"), "{error}");
    }
    let wrong = inktell()
        .args([
            "dossier", "observe", &heron, "--by", "eye", "x", "--key", &key,
        ])
        .env("INKTELL_PASSPHRASE", "another")
        .output()
        .unwrap();
    assert!(text(&wrong.stderr).contains("the passphrase does not open this key"));
    assert!(dossier(&["verify", &heron], 0).contains("1 entry"));
    let kept = std::fs::read_to_string(path("other/README.txt")).unwrap();
    assert_eq!(kept, "Someone's own.");
}

#[test]
fn that_inscriptions_are_replaced_together_is_told() {
    let help = one_line(&dossier(&["amend", "--help"], 0));
    assert!(
        help.contains(
            "Inscriptions are replaced all together: write every one, separated by \" | \""
        ),
        "{help}"
    );
    let (_folder, root) = begun();
    let heron = root.display().to_string();
    let set = "inscriptions-and-markings=lower left: 3/50 | verso: a stamp";
    let amend = ["amend", &heron, "1", "Seen again.", "--set", set];
    dossier(&[&amend[..], &["--author", "A. Bidder"]].concat(), 0);
    let shown = one_line(&dossier(&["show", &heron], 0));
    assert!(shown.contains("lower left: 3/50 verso: a stamp"), "{shown}");
}

#[test]
fn an_interrupted_beginning_holds_in_a_bag_too_unless_the_bag_lost_head() {
    let (folder, root) = begun();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let heron = root.display().to_string();
    let [with_head, without] = ["with.zip", "without.zip"].map(path);
    dossier(&["export", &heron, "--bag", &with_head], 0);
    std::fs::remove_file(root.join("head")).unwrap();
    let said = one_line(&dossier(&["verify", &heron], 0));
    assert!(
        said.contains("Entry 1 is whole, but the program was stopped"),
        "{said}"
    );
    dossier(&["export", &heron, "--bag", &without], 0);
    dossier(&["verify", &without], 0);
    let bag = folder.path().join("unpacked");
    for (name, bytes) in unpacked(&with_head) {
        let file = bag.join(name);
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(file, bytes).unwrap();
    }
    let bag = bag.join("with");
    dossier(&["verify", &bag.display().to_string()], 0);
    std::fs::remove_file(bag.join("data/dossier/head")).unwrap();
    let said = one_line(&dossier(&["verify", &bag.display().to_string()], 1));
    assert!(said.contains("The file head is missing."), "{said}");
    // The next entry puts it right.
    let observe = [
        "observe",
        &heron,
        "--by",
        "eye",
        "Wove.",
        "--author",
        "A. Bidder",
    ];
    dossier(&observe, 0);
    let said = one_line(&dossier(&["verify", &heron], 0));
    assert!(!said.contains("was stopped"), "{said}");
}

#[test]
fn nothing_is_concluded_on_photographs_that_changed_since() {
    let desk = desk();
    let conclude = ["conclude", &desk.heron, "So.", "--key", &desk.key];
    let folder = Path::new(&desk.heron).join("photographs");
    let file = std::fs::read_dir(folder).unwrap().next().unwrap();
    let file = file.unwrap().path();
    let original = std::fs::read(&file).unwrap();
    let mut changed = original.clone();
    changed[4321] ^= 0x10;
    std::fs::write(&file, changed).unwrap();
    let said = dossier(&conclude, 2);
    assert!(
        said.contains("was changed since entry 2 measured it"),
        "{said}"
    );
    assert!(
        said.contains("byte 4321") && said.contains("inktell dossier verify"),
        "{said}"
    );
    std::fs::remove_file(&file).unwrap();
    assert!(dossier(&conclude, 2).contains("cannot be read"));
    std::fs::write(&file, original).unwrap();
    assert!(dossier(&conclude, 0).contains("entry 6, a conclusion"));
}
