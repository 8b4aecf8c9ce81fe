use super::*;
use crate::lot::task::TASK_SCHEMA;
use crate::specimen::periodic::Periodic;
use crate::specimen::series::{SeedFamily, SeriesRequest, specimen};
use crate::weigh::Process;
use crate::weigh::read::equal_priors;
use std::fs;
use std::path::PathBuf;

fn photo_ref(folder: &Path, name: &str) -> PhotoRef {
    PhotoRef {
        name: name.into(),
        location: folder.join(name).to_string_lossy().into_owned(),
        stamp: String::new(),
        px_per_mm: None,
        is_named_rule: false,
    }
}

fn task(folder: &Path, names: &[&str]) -> Task {
    Task {
        schema: TASK_SCHEMA.into(),
        sheet: "plate 7".into(),
        note: Some("torn".into()),
        photos: names.iter().map(|n| photo_ref(folder, n)).collect(),
        rules: Vec::new(),
        px_per_mm: None,
        loupe_field_mm: None,
        max_megapixels: 200.0,
        prior: equal_priors(),
    }
}

fn drawn(folder: &Path, name: &str, seed: u64) -> PathBuf {
    let request = SeriesRequest {
        size_px: Some([330, 240]),
        px_per_mm: Some([40.0, 40.0]),
        ..SeriesRequest::default()
    };
    let file = folder.join(name);
    specimen(SeedFamily::Scoring.seed(seed), &request)
        .photo
        .save(&file)
        .unwrap();
    file
}

fn examined(task: &Task, reports_in: Option<&Path>) -> Record {
    let (fetcher, gate) = (Fetcher::default(), Gate::new(1000));
    let bench = Bench::new(&fetcher, &gate, reports_in, "today");
    examine(task, &bench).unwrap()
}

#[test]
fn a_sheet_reads_as_the_single_command_reads_it() {
    let folder = tempfile::tempdir().unwrap();
    let files = [
        drawn(folder.path(), "a.png", 3),
        drawn(folder.path(), "b.png", 8),
    ];
    let out = folder.path().join("out");
    let record = examined(&task(folder.path(), &["a.png", "b.png"]), Some(&out));
    let whole = examine::sheet(&files, &ReadOptions::default(), None).unwrap();
    let reading = record.reading.as_ref().unwrap();
    assert_eq!(reading.posterior, whole.reading.posterior);
    assert_eq!(reading.process, whole.reading.process);
    assert_eq!(reading.prior[&Process::Halftone], 0.2);
    // The report is the one that `examine` writes, though the pixels were let go one photo at a time.
    let link = record.report.as_ref().unwrap();
    let document = fs::read_to_string(out.join(link).with_extension("json")).unwrap();
    assert_eq!(document, json::text(&whole, &[]).unwrap());
    let page = fs::read_to_string(out.join(link)).unwrap();
    let parameters = [("Sheet", "plate 7"), ("Note", "torn")];
    let parameters = parameters.map(|(a, b)| (a.to_owned(), b.to_owned()));
    let circumstances = Circumstances {
        made: "today",
        parameters: &parameters,
        not_read: &[],
        lot: Some("../lot.html"),
    };
    assert!(
        page == html::page(&whole, &circumstances),
        "the pages differ"
    );
    assert!(record.pictures.detail.is_some_and(|d| d.len() < 25_000));
}

#[test]
fn the_number_of_threads_makes_no_difference() {
    let folder = tempfile::tempdir().unwrap();
    drawn(folder.path(), "a.png", 4);
    let task = task(folder.path(), &["a.png"]);
    let record = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        let record = pool.install(|| examined(&task, None));
        serde_json::to_string(&record).unwrap()
    };
    assert_eq!(record(1), record(3));
}

#[test]
fn what_cannot_be_read_is_named_and_the_rest_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    drawn(folder.path(), "a.png", 3);
    let whole = fs::read(folder.path().join("a.png")).unwrap();
    fs::write(folder.path().join("cut.png"), &whole[..whole.len() / 3]).unwrap();
    fs::write(folder.path().join("letter.jpg"), "Dear cousin").unwrap();
    let record = examined(
        &task(
            folder.path(),
            &["a.png", "cut.png", "letter.jpg", "missing.jpg"],
        ),
        None,
    );
    assert_eq!(record.photos.len(), 1);
    let unread: Vec<&str> = record.not_read.iter().map(|u| u.file.as_str()).collect();
    assert_eq!(unread, ["cut.png", "letter.jpg", "missing.jpg"]);
    for unread in &record.not_read {
        assert!(unread.why.starts_with(&unread.file), "{}", unread.why);
        assert!(
            !unread.why.contains(&*folder.path().to_string_lossy()),
            "{}",
            unread.why
        );
    }
    let nothing = examined(&task(folder.path(), &["letter.jpg"]), None);
    assert!(nothing.reading.is_none() && nothing.report.is_none());
}

fn drawn_rule(folder: &Path, name: &str, px_per_mm: f64) {
    let request = SeriesRequest {
        periodic: Some(Periodic::Rule),
        size_px: Some([900, 640]),
        px_per_mm: Some([px_per_mm, px_per_mm]),
        hardness: Some(crate::specimen::camera::Hardness::Easy),
        ..SeriesRequest::default()
    };
    let rule = specimen(SeedFamily::Scoring.seed(1), &request);
    rule.photo.save(folder.join(name)).unwrap();
}

#[test]
fn rules_that_disagree_give_way_to_the_scale_stated() {
    let folder = tempfile::tempdir().unwrap();
    drawn(folder.path(), "a.png", 3);
    drawn_rule(folder.path(), "rule 1.png", 40.0);
    drawn_rule(folder.path(), "rule 2.png", 48.0);
    let mut task = task(folder.path(), &["a.png"]);
    task.rules = ["rule 1.png", "rule 2.png"]
        .map(|name| photo_ref(folder.path(), name))
        .to_vec();
    let record = examined(&task, None);
    assert_eq!(record.photos[0].px_per_mm, None);
    assert!(record.notices[0].contains("no scale was taken"));
    task.px_per_mm = Some(41.5);
    let record = examined(&task, None);
    assert_eq!(record.photos[0].px_per_mm, Some([41.5; 3]));
    let notice = &record.notices[0];
    for said in ["rule 1.png", "rule 2.png", "disagree", "41.5 px/mm"] {
        assert!(notice.contains(said), "{said} in {notice}");
    }
}

#[test]
fn what_cannot_be_fetched_now_is_to_be_tried_again() {
    let folder = tempfile::tempdir().unwrap();
    drawn(folder.path(), "a.png", 3);
    let mut task = task(folder.path(), &["a.png", "b.png"]);
    // A store that no program can open stands for one that cannot be reached.
    task.photos[1].location = "unreachable://museum/b.png".into();
    let record = examined(&task, None);
    assert_eq!(record.photos.len(), 1);
    assert!(record.is_to_be_tried_again());
    // Without its rule a photograph would be measured with no scale, or with a wrong one.
    let mut rule = photo_ref(folder.path(), "rule.png");
    rule.location = "unreachable://museum/rule.png".into();
    task.photos.truncate(1);
    task.rules = vec![rule];
    task.px_per_mm = Some(30.0);
    let record = examined(&task, None);
    assert!(record.photos.is_empty() && record.is_to_be_tried_again());
    let why = &record.not_read[0].why;
    assert!(
        why.starts_with("a.png") && why.contains("rule.png"),
        "{why}"
    );
    // A rule that is not there is none, and one that is broken is none either.
    fs::write(folder.path().join("rule.png"), "Dear cousin").unwrap();
    task.rules = vec![
        photo_ref(folder.path(), "missing.png"),
        photo_ref(folder.path(), "rule.png"),
    ];
    let record = examined(&task, None);
    assert_eq!(record.photos[0].px_per_mm, Some([30.0; 3]));
    assert!(!record.is_to_be_tried_again());
    let [missing, broken] = &record.notices[..] else {
        panic!("{:?}", record.notices)
    };
    assert!(missing.starts_with("missing.png is taken for a rule"));
    assert!(broken.starts_with("rule.png is named as a rule"));
    assert!(broken.contains("30 px/mm) was used instead"), "{broken}");
}

#[test]
fn a_rule_without_graduations_is_told_and_none_from_farther_out_takes_its_place() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir_all(folder.path().join("usb/rose")).unwrap();
    drawn_rule(folder.path(), "rule.png", 44.0);
    drawn(folder.path(), "usb/rose/a.png", 3);
    drawn(folder.path(), "usb/rule.png", 8);
    let mut task = task(folder.path(), &["usb/rose/a.png", "usb/rule.png"]);
    task.rules = ["rule.png", "usb/rule.png"]
        .map(|name| photo_ref(folder.path(), name))
        .to_vec();
    let record = examined(&task, None);
    assert_eq!(record.photos.len(), 1, "the rule was weighed as a print");
    assert_eq!(record.photos[0].px_per_mm, None);
    let [notice, caution] = &record.notices[..] else {
        panic!("{:?}", record.notices)
    };
    assert!(caution.starts_with("No scale was given"), "{caution}");
    assert!(
        notice.starts_with("usb/rule.png is named as a rule but shows no graduations"),
        "{notice}"
    );
    let [unread] = &record.not_read[..] else {
        panic!("{:?}", record.not_read)
    };
    // A print of that name is told how to be weighed.
    for said in [
        "graduations",
        "named as a rule",
        "another name if it shows a print",
    ] {
        assert!(unread.why.contains(said), "{said} in {}", unread.why);
    }
    assert!(!unread.try_again);
    // Beside one that gives a scale it is told all the same.
    drawn_rule(folder.path(), "usb/rule 2.png", 40.0);
    task.rules.push(photo_ref(folder.path(), "usb/rule 2.png"));
    let record = examined(&task, None);
    assert!((record.photos[0].px_per_mm.unwrap()[0] / 40.0 - 1.0).abs() < 0.02);
    assert_eq!(record.notices.len(), 1);
}

#[test]
fn a_rule_that_the_user_named_and_that_gives_no_scale_is_told_of() {
    let folder = tempfile::tempdir().unwrap();
    for (name, seed) in [("a.png", 3), ("b.png", 4), ("no rule.png", 8)] {
        drawn(folder.path(), name, seed);
    }
    drawn_rule(folder.path(), "rule.png", 40.0);
    let mut task = task(folder.path(), &["a.png", "b.png"]);
    for (rule, said) in [
        ("no rule.png", "graduations"),
        ("missing.png", "cannot be read"),
    ] {
        let mut named = photo_ref(folder.path(), rule);
        named.is_named_rule = true;
        task.rules = vec![named];
        let record = examined(&task, None);
        assert_eq!(record.photos[1].px_per_mm, None);
        // What is told of the reading stands beside what is told of the scale.
        let of_scale = |notices: Vec<String>| -> Vec<String> {
            let of_scale = |notice: &String| notice.contains("--scale-from");
            notices.into_iter().filter(of_scale).collect()
        };
        let told = of_scale(record.notices);
        let [notice] = &told[..] else {
            panic!("{told:?}")
        };
        assert!(notice.starts_with(rule), "{notice}");
        assert!(
            notice.contains(said) && notice.contains("--scale-from"),
            "{notice}"
        );
        // Another rule may be there to give it; that the one named did not is told all the same.
        task.rules.push(photo_ref(folder.path(), "rule.png"));
        let record = examined(&task, None);
        assert!(record.photos[0].px_per_mm.is_some());
        assert_eq!(of_scale(record.notices).len(), 1);
    }
}

#[test]
fn a_rule_is_set_aside_and_gives_its_neighbours_their_scale() {
    let folder = tempfile::tempdir().unwrap();
    drawn(folder.path(), "a.png", 3);
    drawn_rule(folder.path(), "rule.png", 40.0);
    let mut task = task(folder.path(), &["a.png", "rule.png"]);
    task.rules = vec![photo_ref(folder.path(), "rule.png")];
    let record = examined(&task, None);
    assert_eq!((record.photos.len(), record.rules.len()), (1, 1));
    for photo in &record.photos {
        let [value, lo, hi] = photo.px_per_mm.unwrap();
        assert!(
            (value / 40.0 - 1.0).abs() < 0.02 && lo < value && value < hi,
            "{value}"
        );
    }
}

#[test]
fn a_rule_that_nothing_names_is_told() {
    let folder = tempfile::tempdir().unwrap();
    drawn(folder.path(), "IMG_1.png", 3);
    // The rule of an invented estate: enough graduations in the field to read as a screen.
    let request = SeriesRequest {
        periodic: Some(Periodic::Rule),
        size_px: Some([480, 480]),
        px_per_mm: Some([30.0, 30.0]),
        hardness: Some(crate::specimen::camera::Hardness::Easy),
        ..SeriesRequest::default()
    };
    let rule = specimen(SeedFamily::Scoring.seed(1_000_000), &request);
    rule.photo.save(folder.path().join("IMG_2.png")).unwrap();
    let mut task = task(folder.path(), &["IMG_1.png", "IMG_2.png"]);
    let told = |task: &Task| {
        let record = examined(task, None);
        assert_eq!((record.photos.len(), record.not_read.len()), (2, 0));
        let like = "IMG_2.png looks like a photograph of a rule";
        let mut notices = record.notices.iter().filter(|n| n.starts_with(like));
        notices.next().expect("it is told").clone()
    };
    assert!(told(&task).contains("run again with --find-rules, or call it rule.jpg."));
    // Where a scale is stated no search would look at it.
    task.px_per_mm = Some(30.0);
    let said = told(&task);
    assert!(
        said.ends_with("does show a rule, call it rule.jpg."),
        "{said}"
    );
}

#[test]
fn a_screen_of_dots_that_passes_for_graduations_is_weighed_as_a_print() {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/foreign_screens");
    let record = examined(&task(&fixtures, &["k_round_85_15.png"]), None);
    assert!(record.not_read.is_empty(), "{:?}", record.not_read);
    assert_eq!(record.photos.len(), 1);
}

#[test]
fn headers_tell_the_memory_that_decoding_takes() {
    let folder = tempfile::tempdir().unwrap();
    let file = drawn(folder.path(), "a.png", 3);
    let bytes = fs::read(file).unwrap();
    assert_eq!(pixels(&bytes, 200.0), 330 * 240);
    assert_eq!(pixels(&bytes, 0.01), 0);
    assert_eq!(pixels(b"text", 200.0), 0);
}
