//! Parts, JSON lines, and what becomes of them.

use super::*;

#[test]
fn parts_merge_into_the_same_lot() {
    let root = tempfile::tempdir().unwrap();
    let mut parts = Vec::new();
    for number in 1..=3 {
        let part = root.path().join(format!("part-{number}"));
        lot(&part)
            .arg("--part")
            .arg(format!("{number}/3"))
            .output()
            .unwrap();
        parts.push(part);
    }
    let incomplete = inktell()
        .args(["lot", "merge"])
        .args(&parts[..2])
        .arg("--out")
        .arg(root.path().join("incomplete"))
        .output()
        .unwrap();
    assert_eq!(incomplete.status.code(), Some(2));
    assert!(
        text(&incomplete.stderr).contains("3/3"),
        "{}",
        text(&incomplete.stderr)
    );
    let out = root.path().join("merged");
    inktell()
        .args(["lot", "merge"])
        // In another order than they were made.
        .args(parts.iter().rev())
        .arg("--out")
        .arg(&out)
        .output()
        .unwrap();
    assert_same(&out, ONE_RUN.path());
}

#[test]
fn a_merge_without_some_parts_says_what_is_missing() {
    let root = tempfile::tempdir().unwrap();
    let (sources, part) = (root.path().join("photos"), root.path().join("part-1"));
    std::fs::create_dir(&sources).unwrap();
    std::fs::copy(photos().join("rule.jpg"), sources.join("rule.jpg")).unwrap();
    for sheet in ["rose", "lily", "heron"] {
        let file = sources.join(format!("{sheet}.jpg"));
        std::fs::copy(photos().join("box 2/lily-02a.jpg"), file).unwrap();
    }
    let run = |arguments: &[&str], out: &Path| {
        let output = inktell()
            .arg("lot")
            .args(arguments)
            .arg("--out")
            .arg(out)
            .output()
            .unwrap();
        (output.status.code(), text(&output.stderr))
    };
    let (sources, first) = (sources.display().to_string(), part.display().to_string());
    let (code, said) = run(&[&sources, "--no-reports", "--part", "1/2"], &part);
    assert_eq!(code, Some(0), "{said}");
    let out = root.path().join("merged");
    let (code, said) = run(&["merge", "--quiet", "--incomplete", &first], &out);
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("part 2/2 is missing"), "{said}");
    // The rule is no sheet, wherever it was worked on.
    let missing = 3 - table(&out).len();
    let verb = if missing == 1 { "is" } else { "are" };
    let sentence = format!("This lot is not complete: {missing} of its 3 sheets {verb} missing.");
    assert!(said.contains(&sentence), "{said}");
    let page = std::fs::read_to_string(out.join("lot.html")).unwrap();
    assert!(page.contains(&sentence));
}

#[test]
fn json_lines_done_anywhere_merge_into_the_same_lot() {
    let root = tempfile::tempdir().unwrap();
    let tasks = inktell()
        .args(["lot", "--tasks", "-"])
        .arg(photos())
        .output()
        .unwrap();
    let tasks = text(&tasks.stdout);
    let (mut first, mut second) = (String::new(), String::new());
    for (index, line) in tasks.lines().rev().enumerate() {
        let target = if index % 3 == 0 {
            &mut first
        } else {
            &mut second
        };
        target.push_str(line);
        target.push('\n');
    }
    let mut finished = String::new();
    for lines in [&second, &first, &first] {
        let output = inktell()
            .args(["lot", "work", "--time", MOMENT, "--reports-in"])
            .arg(root.path())
            .write_stdin(lines.as_str())
            .output()
            .unwrap();
        finished.push_str(&text(&output.stdout));
    }
    let file = root.path().join("finished.jsonl");
    std::fs::write(&file, finished).unwrap();
    let out = root.path().join("merged");
    inktell()
        .args(["lot", "merge", "--title", "Estate", "--time", MOMENT])
        .arg(&file)
        .arg("--out")
        .arg(&out)
        .output()
        .unwrap();
    assert_same(&out, ONE_RUN.path());
}

#[test]
fn lines_that_are_no_tasks_are_refused() {
    for line in ["{}", "rose", "[1]"] {
        let output = inktell()
            .args(["lot", "work"])
            .write_stdin(line)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2), "{line}");
        assert!(
            text(&output.stderr).contains("line 1 is no task"),
            "{}",
            text(&output.stderr)
        );
        assert!(output.stdout.is_empty());
    }
}
