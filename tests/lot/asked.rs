//! What is asked for, and what is refused.

use super::*;

#[test]
fn the_grouping_is_shown_and_can_be_given_back() {
    let root = tempfile::tempdir().unwrap();
    let plan = inktell()
        .args(["lot", "--plan"])
        .arg(photos())
        .output()
        .unwrap();
    assert_eq!(plan.status.code(), Some(0));
    let said = text(&plan.stderr);
    for part in [
        "notes.txt",
        "grouped into 10 sheets (by sub-folder",
        "box 2 (",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    let csv = text(&plan.stdout);
    assert!(csv.starts_with("sheet,file,note,px_per_mm\n"));
    assert!(
        csv.contains("box 2/lily-02,box 2/lily-02a.jpg,,\n"),
        "{csv}"
    );
    assert!(csv.contains("box 1/rose 1,box 1/rose 1/2.jpg,,\n"), "{csv}");
    let edited = root.path().join("sheets.csv");
    std::fs::write(
        &edited,
        "sheet,file,note,px_per_mm\nThe lily,lily-02a.jpg,foxed,31\nThe lily,box 2/nothing.jpg,,\n",
    )
    .unwrap();
    let out = root.path().join("out");
    let output = inktell()
        .args(["lot", "--no-reports", "--quiet", "--sheets"])
        .arg(&edited)
        .arg(photos())
        .arg("--out")
        .arg(&out)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("not in the list of sheets"));
    let rows = table(&out);
    assert_eq!(rows.len(), 1);
    assert_eq!(rows[0]["note"], "foxed");
    assert_eq!(rows[0]["px_per_mm"], "31");
    assert!(
        rows[0]["not_read_because"].contains("nothing.jpg: is in the list of sheets and not among")
    );
}

/// A list that was edited by hand, or lines that were measured, are not to be had again.
#[test]
fn results_take_the_place_of_no_file_of_the_users() {
    let root = tempfile::tempdir().unwrap();
    let estate = photos().display().to_string();
    let lily = "sheet,file\nThe lily,lily-02a.jpg\n";
    let lists = [
        ("sheets.csv", lily),
        ("sheets.jsonl", "{}\n"),
        ("sheets.parquet", "notes\n"),
        ("lot.html", &estate),
    ];
    for (name, text) in lists {
        std::fs::write(root.path().join(name), text).unwrap();
    }
    for (arguments, said) in [
        (vec!["lot", &estate, "--sheets", "sheets.csv"], "sheets.csv"),
        (vec!["lot", &estate, "--scales", "sheets.csv"], "sheets.csv"),
        (vec!["lot", "lot.html"], "lot.html"),
        (vec!["lot", "merge", "sheets.jsonl"], "sheets.jsonl"),
        (vec!["lot", &estate], "no ledger"),
    ] {
        let output = inktell()
            .args(&arguments)
            .args(["--out", "."])
            .current_dir(root.path())
            .output()
            .unwrap();
        let error = text(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {error}");
        for word in [said, "take its place", "--out"] {
            assert!(error.contains(word), "{word} in {error}");
        }
    }
    let tasks = ["lot", &estate, "--sheets", "sheets.csv", "--tasks"];
    let output = inktell()
        .args(tasks)
        .arg("./sheets.csv")
        .current_dir(root.path())
        .output()
        .unwrap();
    assert!(text(&output.stderr).contains("--tasks would write over it"));
    let kept = files(root.path());
    assert_eq!(kept.len(), lists.len(), "something was begun");
    for (name, text) in lists {
        assert_eq!(kept[name], text.as_bytes(), "{name}");
    }
}

/// A reproduction, a tinted lithograph, a letter that claims to be a photograph, and the rule; in
/// photographs large enough for a period process to be read.
fn three_sheets() -> tempfile::TempDir {
    let (estate, folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let drawn = ["lot", "demo", "--sheets", "4", "--width", "400"];
    inktell()
        .args([&drawn[..], &["--px-per-mm", "30"]].concat())
        .arg(estate.path())
        .assert()
        .success();
    let copy = |from: &Path, to: &str| {
        std::fs::copy(from, folder.path().join(to)).unwrap();
    };
    for letter in ["a", "b", "c"] {
        for sheet in ["beetle-04", "lily-02"] {
            let file = format!("{sheet}{letter}.jpg");
            copy(&estate.path().join("photos/box 2").join(&file), &file);
        }
    }
    copy(&estate.path().join("photos/rule.jpg"), "rule.jpg");
    copy(&photos().join("box 1/rose 9/1.jpg"), "letter.jpg");
    folder
}

/// Sheets with their standing, in the order in which to look at them, under other odds or costs.
fn order(photos: &Path, out: &Path, extra: &[&str]) -> Vec<(String, String)> {
    let output = inktell()
        .args(["lot", "--no-reports", "--quiet"])
        .args(extra)
        .arg(photos)
        .arg("--out")
        .arg(out)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2), "{}", text(&output.stderr));
    let rows = table(out).into_iter();
    rows.map(|r| (r["sheet"].clone(), r["standing"].clone()))
        .collect()
}

fn stands(order: &[(String, String)]) -> Vec<(&str, &str)> {
    let order = order.iter();
    order.map(|(sheet, s)| (&sheet[..], &s[..])).collect()
}

#[test]
fn odds_and_costs_change_the_order() {
    let (photos, out) = (three_sheets(), tempfile::tempdir().unwrap());
    let order = |extra: &[&str]| order(photos.path(), out.path(), extra);
    let usual = order(&[]);
    assert_eq!(
        stands(&usual),
        [
            ("beetle-04", "likely-reproduction"),
            ("letter", "photograph-again"),
            ("lily-02", "period"),
        ]
    );
    // Where a missed reproduction costs very much, nothing reads as period, and what is read comes first.
    let strict = order(&["--cost-missed", "1e9"]);
    assert_eq!(
        stands(&strict),
        [
            ("beetle-04", "likely-reproduction"),
            ("lily-02", "doubtful"),
            ("letter", "photograph-again"),
        ]
    );
    let wary = order(&["--cost-set-aside", "1e9"]);
    assert_eq!(stands(&wary)[0], ("beetle-04", "doubtful"));
    // Nine in ten leave the tinted sheet's evidence standing, 99 in a hundred do not.
    let reproductions = order(&["--reproductions", "0.99"]);
    assert_eq!(stands(&reproductions)[1], ("lily-02", "doubtful"));
    let hardly_any = order(&["--reproductions", "0.001"]);
    assert_eq!(stands(&hardly_any)[0], ("beetle-04", "doubtful"));
}

#[test]
fn a_folder_with_other_results_is_left_as_it_is() {
    let root = tempfile::tempdir().unwrap();
    let (one, other) = (root.path().join("one"), root.path().join("other"));
    for (folder, file) in [(&one, "rose.jpg"), (&other, "heron.jpg")] {
        std::fs::create_dir(folder).unwrap();
        std::fs::copy(photos().join("box 2/lily-02a.jpg"), folder.join(file)).unwrap();
    }
    let out = root.path().join("out");
    let run = |photos: &Path, extra: &[&str]| {
        let output = inktell()
            .args(["lot", "--no-reports"])
            .args(extra)
            .arg(photos)
            .arg("--out")
            .arg(&out)
            .output()
            .unwrap();
        (output.status.code(), text(&output.stderr))
    };
    assert_eq!(run(&one, &[]).0, Some(0));
    let before = files(&out);
    for (photos, extra) in [(&other, &[][..]), (&one, &["--part", "1/2"][..])] {
        let (code, said) = run(photos, extra);
        assert_eq!(code, Some(2), "{said}");
        assert!(said.contains("choose another --out"), "{said}");
        assert_eq!(before, files(&out));
    }
}

#[cfg(target_os = "linux")]
#[test]
fn photographs_whose_names_are_no_text_are_measured_each_for_itself() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let root = tempfile::tempdir().unwrap();
    let folder = root.path().join(OsStr::from_bytes(b"nachla\xDF"));
    std::fs::create_dir(&folder).unwrap();
    // As an old program wrote é and è; both would be one name if what is no text were only replaced.
    for (from, to) in [("a", &b"caf\xE9.jpg"[..]), ("b", b"caf\xE8.jpg")] {
        let from = photos().join(format!("box 2/lily-02{from}.jpg"));
        std::fs::copy(from, folder.join(OsStr::from_bytes(to))).unwrap();
    }
    let run = |sources: &Path, out: &str, extra: &[&str]| {
        let out = root.path().join(out);
        let output = inktell()
            .args(["lot", "--no-reports"])
            .args(extra)
            .arg(sources)
            .arg("--out")
            .arg(&out)
            .output()
            .unwrap();
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{said}");
        (table(&out), said)
    };
    let (rows, _) = run(&folder, "each", &[]);
    let mut sheets: Vec<&str> = rows.iter().map(|r| r["sheet"].as_str()).collect();
    sheets.sort_unstable();
    assert_eq!(sheets, ["caf%E8", "caf%E9"]);
    assert!(rows.iter().all(|r| r["photographs"] == "1"), "{rows:?}");
    let (rows, said) = run(root.path(), "box", &["--group", "folder"]);
    assert_eq!(rows[0]["sheet"], "nachla%DF");
    assert_eq!(
        rows[0]["files"],
        "nachla%DF/caf%E8.jpg; nachla%DF/caf%E9.jpg"
    );
    assert!(!said.contains("earlier run"), "{said}");
    let (_, said) = run(root.path(), "box", &["--group", "folder"]);
    assert!(
        said.contains("Finished in an earlier run: 1 of 1."),
        "{said}"
    );
}

#[test]
fn a_photograph_named_for_the_scale_that_shows_no_graduations_is_refused() {
    let root = tempfile::tempdir().unwrap();
    let no_rule = photos().join("box 2/lily-02a.jpg");
    let rule = photos().join("rule.jpg");
    let out = root.path().join("out");
    for (file, extra, said) in [
        (&no_rule, &[][..], "graduations"),
        // A rule that no sheet will be able to read is no better.
        (&rule, &["--max-megapixels", "0.001"][..], "megapixels"),
    ] {
        let output = inktell()
            .args(["lot", "--scale-from"])
            .arg(file)
            .args(extra)
            .arg(photos())
            .arg("--out")
            .arg(&out)
            .output()
            .unwrap();
        let error = text(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{error}");
        let name = file.display().to_string();
        for word in [
            &name,
            said,
            "--px-per-mm",
            "--scale-from",
            "Nothing was measured",
        ] {
            assert!(error.contains(word), "{word} in {error}");
        }
        assert!(!out.exists(), "something was begun");
    }
}

#[test]
fn what_makes_no_sense_is_refused_with_a_word() {
    let root = tempfile::tempdir().unwrap();
    let empty = root.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let empty = empty.display().to_string();
    for (arguments, said) in [
        (vec!["lot"], "SOURCE"),
        (
            vec!["lot", "no-such-folder", "--out", "x"],
            "no-such-folder",
        ),
        (
            vec!["lot", &empty, "--out", "x"],
            "no photographs were found",
        ),
        (vec!["lot", &empty, "--plan"], "no photographs were found"),
        (vec!["lot", &empty], "--out"),
        (vec!["lot", &empty, "--out", "x", "--part", "4/3"], "3/20"),
        (
            vec!["lot", &empty, "--out", "x", "--name-pattern", "plate"],
            "{sheet}",
        ),
        (
            vec!["lot", &empty, "--out", "x", "--missed-chance", "2"],
            "between 0 and 1",
        ),
        (
            vec!["lot", &empty, "--out", "x", "--sheets", "no.csv"],
            "no.csv",
        ),
        (vec!["lot", "nowhere://a/b", "--out", "x"], "no such store"),
    ] {
        let output = inktell()
            .args(&arguments)
            .current_dir(root.path())
            .output()
            .unwrap();
        let error = text(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {error}");
        assert!(error.contains(said), "{said} in {error}");
        assert!(!error.contains("panicked"), "{error}");
    }
}

#[test]
fn help_and_readme_name_every_column_in_its_order() {
    let help = text(&inktell().args(["lot", "--help"]).output().unwrap().stdout);
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = std::fs::read_to_string(readme).unwrap();
    let columns = readme.split("Columns, in order").nth(1).unwrap();
    let (mut in_readme, mut in_help) = (0, help.find("Columns of sheets.csv").unwrap());
    for (name, _, meaning) in inktell::lot::table::COLUMNS {
        let named = columns[in_readme..].find(&format!("`{name}`"));
        in_readme += named.unwrap_or_else(|| panic!("{name} is missing or out of order"));
        let helped = help[in_help..].find(&format!("  {name} "));
        in_help += helped.unwrap_or_else(|| panic!("{name} is missing in the help"));
        assert!(!meaning.is_empty());
    }
}
