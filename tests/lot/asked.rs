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
    assert!(text(&plan.stderr).contains("notes.txt"));
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
        .args(["lot", "--no-reports", "--sheets"])
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
    assert!(rows[0]["not_read_because"].contains("nothing.jpg: cannot be read"));
}

#[test]
fn odds_and_costs_change_the_standing() {
    let root = tempfile::tempdir().unwrap();
    let chance = |extra: &[&str]| {
        let out = root.path().join(extra.join("_").replace('.', "-"));
        inktell()
            .args(["lot", "--no-reports", "--quiet"])
            .args(extra)
            .arg(photos().join("box 2/trout-06a.jpg"))
            .arg("--out")
            .arg(&out)
            .output()
            .unwrap();
        table(&out)[0]["chance_of_reproduction"]
            .parse::<f64>()
            .unwrap()
    };
    assert!(chance(&["--reproductions", "0.6"]) > chance(&["--reproductions", "0.05"]));
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
