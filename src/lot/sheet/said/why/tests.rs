//! What is said of sheets, against their readings.

use super::*;
use crate::measured::Measured;
use crate::report::example;
use crate::weigh::outside::Outside;
use std::sync::LazyLock;

static STIPPLE: LazyLock<Examination> = LazyLock::new(example::stipple);

/// What is said of an undetermined stipple engraving with these chances, in the order of [`Process::ALL`].
fn said(chances: [f64; 5], screens: &[ScreenSeen], change: impl Fn(&mut Reading)) -> String {
    let mut reading = STIPPLE.reading.clone();
    reading.process = None;
    reading.posterior = Process::ALL.into_iter().zip(chances).collect();
    change(&mut reading);
    let said = words::sentence(&of_reading(&reading, screen_seen(screens)));
    let inner = said.trim_end_matches('.');
    assert!(inner.len() + 1 == said.len(), "{said}");
    assert!(!inner.contains(". ") && !inner.contains(';'), "{said}");
    said.replace('\u{a0}', " ")
}

fn relief(reading: &mut Reading, chance: f64) {
    reading.outside.insert(Outside::Relief, chance);
}

fn screen(ruling_lpi: Option<f64>) -> [ScreenSeen; 1] {
    [ScreenSeen {
        ink: "black".into(),
        ruling_lpi,
        angle_deg: Some(128.3),
    }]
}

#[test]
fn a_process_that_is_named_has_its_support_and_its_heaviest_finding() {
    assert_eq!(
        sentence(&STIPPLE, &[]),
        "Strong support for a stipple engraving, most of all by \u{201c}evenness of spacing of the marks\u{201d} (1.42; usual 1.25–1.60)."
    );
    let with_lines = sentence(&STIPPLE, &screen(Some(102.2)));
    assert!(
        with_lines.ends_with("though a printing screen of 102 lines per inch shows."),
        "{with_lines}"
    );
    let mut unsupported = STIPPLE.reading.clone();
    unsupported.strength = enfsi_words(0.0).into();
    let unsupported = of_reading(&unsupported, None);
    assert!(unsupported.contains("odds beforehand"), "{unsupported}");
}

#[test]
fn colours_out_of_register_are_told_like_a_screen() {
    let mut examination = example::stipple();
    let apart = |px| Measured::with_interval(px, px - 0.05, px + 0.05, "px", 40);
    let mut with = |px| {
        examination.photos[0]
            .measurements
            .layering
            .out_of_register_px = apart(px);
        sentence(&examination, &[])
    };
    assert!(!with(0.05).contains("register"));
    assert!(
        with(1.4)
            .ends_with("though the colours of the marks lie beside one another, out of register."),
        "{}",
        with(1.4)
    );
}

#[test]
fn a_screen_is_told_with_the_chance_of_a_reproduction() {
    let lines = screen(Some(64.7));
    assert_eq!(
        said([0.0, 0.44, 0.0, 0.0, 0.56], &lines, |_| ()),
        "A printing screen of 65 lines per inch shows, which speaks for a reproduction (56 %), not enough to say so."
    );
    let slight = said([0.0, 0.984, 0.0, 0.0, 0.016], &screen(None), |_| ());
    assert!(
        slight.starts_with("A printing screen shows, but with all"),
        "{slight}"
    );
    assert!(slight.contains("1.6 %, too much to exclude"), "{slight}");
    let odd = said([0.0, 0.44, 0.0, 0.0, 0.56], &lines, |r| r.fit = Some(0.002));
    assert!(
        odd.ends_with("but the print resembles none of the five processes."),
        "{odd}"
    );
    let mut named = STIPPLE.reading.clone();
    named.process = Some(Process::Halftone);
    assert_eq!(
        of_reading(&named, screen_seen(&lines)),
        "a printing screen of 65 lines per inch shows"
    );
}

#[test]
fn a_considerable_chance_of_a_reproduction_comes_first() {
    assert_eq!(
        said([0.0, 0.54, 0.0, 0.0, 0.46], &[], |r| relief(r, 0.3)),
        "The chance of a reproduction is 46 %, beside 54 % for a line engraving, and a woodcut or wood engraving is not excluded either."
    );
    assert_eq!(
        said([0.0, 0.0, 0.23, 0.0, 0.77], &[], |_| ()),
        "The chance of a reproduction is 77 %, not enough to say so."
    );
    assert_eq!(
        said([0.0, 0.0, 0.07, 0.0, 0.93], &[], |_| ()),
        "The chance of a reproduction is 93 %, but only by colours that lie out of register, as those of a chromolithograph do too."
    );
    let coarse = said([0.0, 0.0, 0.8, 0.0, 0.2], &[], |r| r.shows_screens = false);
    assert!(
        coarse.starts_with("The chance of a reproduction is 20 %"),
        "{coarse}"
    );
    assert!(coarse.contains("would not show"), "{coarse}");
}

#[test]
fn what_else_leaves_it_open_is_told_where_a_reproduction_is_improbable() {
    let lines = [0.12, 0.78, 0.06, 0.0, 0.04];
    assert_eq!(
        said(lines, &[], |_| ()),
        "A line engraving is likeliest (78 %, then a stipple engraving with 12 %), not enough to name it."
    );
    let block = said(lines, &[], |r| relief(r, 0.15));
    assert!(block.contains("is not excluded (15 %"), "{block}");
    let stone = [0.0, 0.0, 0.96, 0.039, 0.001];
    let tonal = said(stone, &[], |r| {
        r.outside.insert(Outside::Tonal, 0.15);
    });
    assert!(
        tonal.contains("collotype") && tonal.contains("(15 %"),
        "{tonal}"
    );
    let two = said(lines, &[], |r| {
        r.narrowed_to = vec![Process::LineEngraving, Process::StippleEngraving];
    });
    assert!(two.contains("leaves two of the five"), "{two}");
    let sure = said([0.95, 0.0, 0.0, 0.0, 0.05], &[], |_| ());
    assert!(
        sure.contains("but a reproduction is not excluded (5.0 %)"),
        "{sure}"
    );
    let unlike = said(lines, &[], |r| r.fit = Some(0.004));
    assert!(
        unlike.contains("resembles none of the five processes: only 0.4 %"),
        "{unlike}"
    );
}

#[test]
fn photographs_that_carry_nothing_are_told_of_and_nothing_else() {
    let mut examination = example::stipple();
    examination.reading.process = None;
    examination.reading.findings.clear();
    let nothing = sentence(&examination, &screen(None));
    assert_eq!(nothing, "Nothing printed stands out enough to be measured.");
    examination.photos[0].photo.adequacy.verdict = Verdict::Unusable;
    let poor = sentence(&examination, &[]);
    assert_eq!(poor, "The photograph is too poor to be measured.");
}
