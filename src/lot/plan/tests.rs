use super::*;
use crate::weigh::read::equal_priors;
use std::path::Path;

pub(crate) fn request(place: &Path) -> Request {
    Request {
        places: vec![place.to_string_lossy().into_owned()],
        grouping: Grouping::Usual,
        scales: StatedScales::default(),
        px_per_mm: None,
        rule: None,
        loupe_field_mm: None,
        max_megapixels: 200.0,
        prior: equal_priors(),
    }
}

fn lot(names: &[&str]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for name in names {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, name).unwrap();
    }
    folder
}

#[test]
fn rules_go_with_the_sheets_round_them() {
    let folder = lot(&[
        "rule.jpg",
        "rose/a.jpg",
        "lily/a.jpg",
        "lily/scale.jpg",
        "notes.txt",
    ]);
    let mut wanted = request(folder.path());
    wanted.scales.state("lily", 40.0).unwrap();
    let plan = plan(&wanted, &Fetcher::default()).unwrap();
    let sheets: Vec<(&str, usize)> = plan
        .tasks
        .iter()
        .map(|t| (t.sheet.as_str(), t.rules.len()))
        .collect();
    // A stated scale needs no rule from elsewhere; one among the sheet's own files is kept.
    assert_eq!(sheets, [("lily", 1), ("rose", 1), ("rule", 1)]);
    assert!(plan.notices[0].contains("notes.txt"));
}

#[test]
fn a_rule_named_for_the_lot_holds_for_every_folder() {
    let folder = lot(&["box/rule.jpg", "rose/a.jpg", "rose/b.jpg"]);
    let mut wanted = request(folder.path());
    let rule = folder.path().join("box/rule.jpg");
    wanted.rule = Some(rule.to_string_lossy().into_owned());
    let tasks = plan(&wanted, &Fetcher::default()).unwrap().tasks;
    let rose = tasks.iter().find(|t| t.sheet == "rose").unwrap();
    let [rule] = &rose.rules[..] else {
        panic!("{:?}", rose.rules)
    };
    assert!(rule.is_named_rule && rule.folder().is_empty());
    // Another photograph under its name is other work.
    let before = rose.fingerprint();
    std::fs::write(folder.path().join("box/rule.jpg"), "taken again").unwrap();
    let tasks = plan(&wanted, &Fetcher::default()).unwrap().tasks;
    let rose = tasks.iter().find(|t| t.sheet == "rose").unwrap();
    assert_ne!(rose.fingerprint(), before);
}

#[test]
fn a_rule_named_for_the_lot_is_no_print_however_its_path_is_written() {
    let folder = lot(&["box/IMG_0009.jpg", "rose/a.jpg", "rose/b.jpg"]);
    let tasks = |rule: &str| {
        let mut wanted = request(folder.path());
        let rule = folder.path().join(rule);
        wanted.rule = Some(rule.to_string_lossy().into_owned());
        plan(&wanted, &Fetcher::default()).unwrap().tasks
    };
    let plain = tasks("box/IMG_0009.jpg");
    let of_rules: Vec<bool> = plain.iter().map(Task::is_of_rules).collect();
    assert_eq!(of_rules, [true, false]);
    for spelt in ["./box/IMG_0009.jpg", "rose/../box/IMG_0009.jpg"] {
        assert_eq!(tasks(spelt), plain, "{spelt}");
    }
}

#[test]
fn a_rule_holds_for_its_folder_however_that_is_spelt() {
    // A disk may make one folder of the two.
    let folder = lot(&["Ka\u{308}fer/rule.jpg", "K\u{e4}fer/1.jpg", "rose/1.jpg"]);
    let plan = plan(&request(folder.path()), &Fetcher::default()).unwrap();
    let sheets: Vec<(&str, usize, usize)> = plan
        .tasks
        .iter()
        .map(|t| (t.sheet.as_str(), t.photos.len(), t.rules.len()))
        .collect();
    assert_eq!(sheets, [("K\u{e4}fer", 2, 1), ("rose", 1, 0)]);
}

#[cfg(unix)]
#[test]
fn the_grouping_written_and_given_back_has_the_same_files() {
    use crate::lot::grouping::SheetList;
    let folder = lot(&[
        " a.jpg",
        "a.jpg",
        "\tb.jpg",
        "=c.jpg",
        "-box/ d.jpg",
        "'=c.jpg",
    ]);
    let first = plan(&request(folder.path()), &Fetcher::default()).unwrap();
    let csv = first.csv().unwrap();
    let text = String::from_utf8(csv.clone()).unwrap();
    assert!(text.contains("\n'=c,'=c.jpg,,\n"), "{text}");
    let list = folder.path().join("sheets.csv");
    std::fs::write(&list, csv).unwrap();
    let mut wanted = request(folder.path());
    wanted.grouping = Grouping::Sheets(SheetList::read(&list).unwrap());
    let again = plan(&wanted, &Fetcher::default()).unwrap();
    let files = |plan: &Plan| {
        let photos = plan.tasks.iter().flat_map(|task| &task.photos);
        let mut names: Vec<String> = photos.map(|photo| photo.location.clone()).collect();
        names.sort();
        names
    };
    assert_eq!(files(&again), files(&first));
    let sheets = |plan: &Plan| -> Vec<String> {
        let tasks = plan.tasks.iter();
        tasks.map(|task| task.sheet.clone()).collect()
    };
    assert_eq!(sheets(&again), sheets(&first));
}

#[test]
fn shares_are_apart_stable_and_complete() {
    let names: Vec<String> = (0..60).map(|n| format!("plate-{n}.jpg")).collect();
    let folder = lot(&names.iter().map(String::as_str).collect::<Vec<_>>());
    let whole = plan(&request(folder.path()), &Fetcher::default()).unwrap();
    let mut joined: Vec<Task> = Vec::new();
    for number in 1..=3 {
        let mut part = whole.clone();
        part.keep_part(number, 3);
        assert!(part.tasks.len() > 8, "{}", part.tasks.len());
        joined.extend(part.tasks);
    }
    joined.sort_by(|a, b| super::super::natural::compare(&a.sheet, &b.sheet));
    assert_eq!(joined, whole.tasks);
}
