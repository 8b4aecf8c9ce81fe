//! The program as a user meets it: arguments, exit codes, what is written where.

use assert_cmd::Command;
use std::path::{Path, PathBuf};

fn inktell() -> Command {
    let mut command = Command::cargo_bin("inktell").expect("the program is built with the tests");
    command.env("COLUMNS", "80");
    command
}

/// A drawn photograph: dots of varied size on warm paper, neither square nor centred.
fn drawn_photo(folder: &Path, name: &str) -> PathBuf {
    let picture = image::RgbImage::from_fn(330, 240, |x, y| {
        let (dx, dy) = (f64::from(x % 19) - 8.0, f64::from(y % 17) - 9.0);
        let radius = 3.0 + f64::from((x / 19 * 5 + y / 17 * 3) % 4) * 0.7;
        let ink = (radius + 0.5 - dx.hypot(dy)).clamp(0.0, 1.0);
        image::Rgb([236.0, 228.0, 210.0].map(|paper| (paper - ink * (paper - 40.0)) as u8))
    });
    let file = folder.join(name);
    picture.save(&file).expect("the drawn photo is written");
    file
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn json_on_standard_output_is_one_document_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let photo = drawn_photo(folder.path(), "plate-7.png");
    let run = || {
        let output = inktell()
            .args(["examine", "--px-per-mm", "56.2", "--json", "-"])
            .arg(&photo)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        output.stdout
    };
    let first = run();
    let document: serde_json::Value = serde_json::from_slice(&first).unwrap();
    assert_eq!(document["schema"], "inktell/reading/1");
    assert_eq!(document["photos"][0]["width_px"], 330);
    assert_eq!(document["photos"][0]["px_per_mm"]["value"], 56.2);
    assert_eq!(first, run(), "the same photograph gives the same bytes");
}

#[test]
fn a_photograph_that_cannot_be_read_is_reported_and_the_others_go_on() {
    let folder = tempfile::tempdir().unwrap();
    let good = drawn_photo(folder.path(), "good.png");
    let bad = folder.path().join("bad.jpg");
    std::fs::write(&bad, "this is no picture").unwrap();
    let output = inktell()
        .args(["examine", "--json", "-"])
        .args([&bad, &good])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("bad.jpg"));
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(document["photos"].as_array().unwrap().len(), 1);
    assert!(
        document["not_read"][0]["file"]
            .as_str()
            .unwrap()
            .ends_with("bad.jpg")
    );
}

#[test]
fn a_trial_with_a_file_that_cannot_be_read_tries_the_others_and_ends_in_trouble() {
    let folder = tempfile::tempdir().unwrap();
    drawn_photo(folder.path(), "good.png");
    std::fs::write(folder.path().join("bad.jpg"), "this is no picture").unwrap();
    let manifest = |files: &[&str]| {
        let mut text = "file,process,colouring,scale_px_per_mm,group\n".to_owned();
        for file in files {
            text.push_str(&format!("{file},halftone,,56.2,\n"));
        }
        std::fs::write(folder.path().join("manifest.csv"), text).unwrap();
        let mut trial = inktell();
        trial.args(["trial", "photos"]).arg(folder.path());
        trial.output().unwrap()
    };
    let whole = manifest(&["good.png"]);
    assert_eq!(whole.status.code(), Some(0), "{}", text(&whole.stderr));
    let partly = manifest(&["bad.jpg", "good.png"]);
    assert_eq!(partly.status.code(), Some(2));
    assert!(text(&partly.stderr).contains("bad.jpg"));
    assert_eq!(partly.stdout, whole.stdout);
}

#[test]
fn what_cannot_be_examined_ends_in_trouble_and_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let empty = folder.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let words = folder.path().join("words.jpg");
    std::fs::write(&words, "A letter about a print.\n").unwrap();
    let holder = folder.path().to_owned();
    for (path, said) in [
        (folder.path().join("missing.jpg"), "missing.jpg"),
        (empty, "an empty folder"),
        (holder, "is a folder, not a photograph"),
        (words, "words.jpg"),
    ] {
        let output = inktell().arg("examine").arg(&path).output().unwrap();
        let error = text(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{error}");
        assert!(error.contains(said), "{said} in {error}");
        assert!(!error.contains("panicked"), "{error}");
        assert!(output.stdout.is_empty());
    }
}

#[test]
fn pictures_of_extreme_shape_are_undetermined_and_no_accident() {
    let folder = tempfile::tempdir().unwrap();
    for (width, height) in [(1, 1), (1, 3000), (2500, 2)] {
        let photo = folder.path().join(format!("{width}x{height}.png"));
        image::RgbImage::from_pixel(width, height, image::Rgb([200, 190, 170]))
            .save(&photo)
            .unwrap();
        let report = photo.with_extension("html");
        let output = inktell()
            .args(["examine", "--json", "-"])
            .arg(&photo)
            .arg("--report")
            .arg(&report)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        let document: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(document["reading"]["process"], "undetermined");
        assert!(report.exists());
    }
}

#[test]
fn a_report_with_a_given_moment_is_the_same_every_time() {
    let folder = tempfile::tempdir().unwrap();
    let photo = drawn_photo(folder.path(), "plate-7.png");
    let run = |name: &str| {
        let report = folder.path().join(name);
        inktell()
            .args([
                "examine",
                "--quiet",
                "--time",
                "2026-01-02T10:00:00Z",
                "--report",
            ])
            .args([&report, &photo])
            .assert()
            .success()
            .stdout("");
        std::fs::read_to_string(report).unwrap()
    };
    let page = run("a.html");
    assert!(page.contains("2 January 2026, 10:00 UTC"));
    assert_eq!(page, run("b.html"));
}

#[test]
fn a_file_that_cannot_be_written_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let photo = drawn_photo(folder.path(), "plate-7.png");
    let target = folder.path().join("no-such-folder").join("out.json");
    let output = inktell()
        .args(["examine", "--json"])
        .args([&target, &photo])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("out.json: cannot be written"));
}

/// The only photograph of a sheet is lost where a result takes its place.
#[test]
fn no_result_takes_the_place_of_a_photograph_or_of_another_result() {
    let folder = tempfile::tempdir().unwrap();
    let photo = drawn_photo(folder.path(), "plate-7.png");
    let before = std::fs::read(&photo).unwrap();
    let same = folder.path().join(".").join("plate-7.png");
    let new = folder.path().join("new.html");
    for results in [
        vec!["--report".as_ref(), same.as_os_str()],
        vec!["--json".as_ref(), photo.as_os_str()],
        vec![
            "--scale-from".as_ref(),
            new.as_os_str(),
            "--json".as_ref(),
            new.as_os_str(),
        ],
        vec![
            "--json".as_ref(),
            new.as_os_str(),
            "--report".as_ref(),
            new.as_os_str(),
        ],
    ] {
        let mut command = inktell();
        let output = command
            .arg("examine")
            .arg(&photo)
            .args(&results)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2), "{results:?}");
        let said = text(&output.stderr);
        assert!(said.contains("name another file"), "{said}");
        assert_eq!(std::fs::read(&photo).unwrap(), before);
        assert!(!new.exists());
    }
}

#[test]
fn what_was_asked_for_and_has_no_effect_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let photo = drawn_photo(folder.path(), "plate-7.png");
    let output = inktell()
        .args([
            "examine",
            "--loupe-field-mm",
            "20",
            "--prior",
            "halftone=0.9",
        ])
        .args([&photo, &photo])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0));
    let (said, noted) = (text(&output.stdout), text(&output.stderr));
    assert!(noted.contains("no whole round field is seen"), "{noted}");
    assert!(said.contains("odds given by the user"), "{said}");
    assert!(said.contains("the same file as another"), "{said}");
}

#[test]
fn one_specimen_is_not_spoken_of_as_several() {
    let folder = tempfile::tempdir().unwrap();
    let last = u64::MAX.to_string();
    let output = inktell()
        .args(["specimen", "--count", "1", "--first", &last])
        .arg(folder.path())
        .output()
        .unwrap();
    let error = text(&output.stderr);
    assert!(error.contains("no room for 1 specimen;"), "{error}");
}

#[test]
fn arguments_that_make_no_sense_are_refused() {
    for arguments in [
        vec!["examine"],
        vec!["examine", "a.jpg", "--px-per-mm", "0"],
        vec!["examine", "a.jpg", "--px-per-mm", "NaN"],
        vec!["examine", "a.jpg", "--px-per-mm", "1e-306"],
        vec!["examine", "a.jpg", "--px-per-mm", "56,2"],
        vec!["examine", "a.jpg", "--prior", "woodcut=0.5"],
        vec!["examine", "a.jpg", "--json", "-", "--report", "-"],
        vec!["examine", "a.jpg", "--time", "noon"],
        vec![
            "specimen",
            "nowhere",
            "--first",
            "18446744073709551615",
            "--count",
            "2",
        ],
        vec!["develop"],
    ] {
        let output = inktell().args(&arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(output.stdout.is_empty(), "{arguments:?}");
    }
}

#[test]
fn help_names_the_commands_the_exit_codes_and_examples() {
    let all = text(&inktell().arg("--help").output().unwrap().stdout);
    for word in ["examine", "scale", "specimen", "schema", "Exit codes"] {
        assert!(all.contains(word), "{word} in {all}");
    }
    let one = text(
        &inktell()
            .args(["examine", "--help"])
            .output()
            .unwrap()
            .stdout,
    );
    for word in [
        "Examples:",
        "--px-per-mm",
        "--report",
        "--json",
        "Exit codes",
    ] {
        assert!(one.contains(word), "{word} in {one}");
    }
}

#[test]
fn completions_and_man_pages_are_written() {
    let folder = tempfile::tempdir().unwrap();
    inktell()
        .arg("generate")
        .arg(folder.path())
        .assert()
        .success();
    for file in [
        "inktell.bash",
        "_inktell",
        "inktell.fish",
        "inktell.1",
        "inktell-examine.1",
    ] {
        let size = std::fs::metadata(folder.path().join(file)).map(|m| m.len());
        assert!(size.is_ok_and(|s| s > 200), "{file}");
    }
}
