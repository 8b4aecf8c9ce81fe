use super::*;
use crate::dossier::entry::{Photographs, SCHEMA};
use crate::weigh::Colouring;

fn differences(before: &[u8], now: &[u8]) -> Vec<String> {
    Comparison::of(before, now, &|_| None).found
}

#[test]
fn differing_figures_are_named_and_rounding_is_not() {
    let before = br#"{"marks":{"density":12.3456,"n":17,"why":"x"},"list":[1,2]}"#;
    let rounding = br#"{"marks":{"density":12.3457,"n":17,"why":"x"},"list":[1,2]}"#;
    let rounded = Comparison::of(before, rounding, &|_| None);
    assert!(rounded.found.is_empty() && rounded.rounded);
    let forged = br#"{"marks":{"density":13.3457,"n":17,"why":"y"},"list":[1],"new":0}"#;
    let found = differences(before, forged).join("\n");
    for said in [
        "marks.density: recorded 12.3456, measured again 13.3457",
        "marks.why: recorded \"x\"",
        "list: recorded [1,2]",
        "new is measured now",
    ] {
        assert!(found.contains(said), "{said} in {found}");
    }
    assert_eq!(differences(b"no json", before).len(), 1);
    assert!(told(&vec!["a".to_owned(); 9]).ends_with("and 4 more"));
}

#[test]
fn what_is_cut_short_keeps_its_quotation_marks() {
    let long = "x".repeat(99);
    let said = |value: Value| short(&value);
    let cut = said(Value::from(long.as_str()));
    assert!(cut.starts_with("\"xxx") && cut.ends_with("x…\""), "{cut}");
    // A quotation mark inside, and one that the cut would part from its backslash.
    for inside in ["a \"b\" ".repeat(20), format!("{}\"{long}", "y".repeat(58))] {
        let cut = said(Value::from(inside));
        assert!(cut.ends_with("…\"") && !cut.contains("\\…"), "{cut}");
    }
    let list = said(Value::from(vec!["ab"; 40]));
    assert_eq!(list.matches('"').count() % 2, 0, "{list}");
    assert_eq!(said(Value::from(vec![1, 2])), "[1,2]");
    let figures = said(Value::from(vec![7; 40]));
    assert!(figures.starts_with("[7,7") && figures.ends_with('…'));
}

#[test]
fn a_photograph_is_compared_but_where_a_copy_stands_in() {
    let before = br#"{"program":{"version":"1"},"photos":[{"sha256":"aa","capture":["place"]}]}"#;
    let now = br#"{"program":{"version":"2"},"photos":[{"sha256":"cc","capture":[]}]}"#;
    let found = differences(before, now).join("\n");
    assert!(
        found.contains("photos.0.sha256: recorded \"aa\""),
        "{found}"
    );
    assert!(found.contains("photos.0.capture"), "{found}");
    assert!(!found.contains("program"), "{found}");
    let original = |of: &'static str| move |sha256: &str| (sha256 == "cc").then(|| of.to_owned());
    let (here, elsewhere) = (original("aa"), original("bb"));
    let compared = Comparison::of(before, now, &here);
    assert!(compared.found.is_empty() && !compared.rounded);
    // A copy of another photograph is no excuse.
    let compared = Comparison::of(before, now, &elsewhere);
    assert_eq!(compared.found.len(), 1);
    let deeper = differences(br#"{"a":{"program":1}}"#, br#"{"a":{"program":2}}"#);
    assert_eq!(deeper.len(), 1);
}

#[test]
fn what_an_entry_states_of_its_reading_is_compared() {
    let summary = Summary {
        process: "lithograph".into(),
        colouring: vec![Colouring::None],
        sentence: "It is 12 times as probable.".into(),
        photographs: 2,
    };
    let entry = |reading: Summary| Entry {
        schema: SCHEMA.into(),
        n: 2,
        prev: None,
        time: "2026-01-02T10:00:00Z".into(),
        author: "A. Bidder".into(),
        program: Program::this(),
        deed: Deed::Photographs(Photographs {
            parameters: Default::default(),
            reading,
        }),
        files: vec![],
        set_aside: vec![],
        without_location: Default::default(),
        key: None,
    };
    let told = |change: fn(&mut Summary), exact| {
        let mut stated = summary.clone();
        change(&mut stated);
        stated_differently(&entry(stated), &summary, exact).join("\n")
    };
    assert_eq!(told(|_| {}, true), "");
    assert!(told(|s| s.process = "halftone".into(), false).contains("the entry says halftone"));
    assert!(told(|s| s.photographs = 3, false).contains("rests on 3 photographs"));
    let stronger = |s: &mut Summary| s.sentence = "It is 9000 times as probable.".into();
    assert!(told(stronger, false).contains("9000"));
    let tipped = |s: &mut Summary| s.sentence = "It is 20 times as probable.".into();
    assert!(told(tipped, true).contains("20"));
    assert_eq!(
        told(tipped, false),
        "",
        "a figure may tip where others moved"
    );
    let other = |s: &mut Summary| s.sentence = "It is certain.".into();
    assert!(told(other, false).contains("certain"));
}
