//! What a lot says of itself: before the work, and after it.

use inktell::lot::ledger::Ledger;
use inktell::lot::names::{ABSENT_NAME, CSV_NAME, PAGE_NAME};
use inktell::lot::order::Standing;
use inktell::lot::ordered::Lot;
use inktell::lot::page::of_all;
use inktell::lot::plan::Plan;
use inktell::lot::settings::Settings;
use inktell::lot::task::Task;
use inktell::report::{figures, words};
use std::collections::HashSet;
use std::path::Path;

/// Sheets named as examples before work begins.
const EXAMPLES: usize = 5;

/// What the user should know of results from an earlier run.
pub fn tell_of_the_ledger(ledger: &Ledger, plan: &Plan) {
    match ledger.damaged_lines() {
        0 => {}
        1 => eprintln!(
            "inktell: one line of the ledger was damaged on the disk; its sheet is examined again"
        ),
        n => eprintln!(
            "inktell: {n} lines of the ledger were damaged on the disk; their sheets are examined again"
        ),
    }
    let planned: HashSet<&str> = plan.tasks.iter().map(|t| t.sheet.as_str()).collect();
    let gone = ledger.sheets().filter(|s| !planned.contains(s)).count();
    if gone > 0 {
        eprintln!(
            "inktell: {} of an earlier run {} not in this lot and will be left out of the results; what was measured is kept in {ABSENT_NAME} and comes back with the photographs. If a disk is missing, mount it and run again",
            words::counted(gone, "sheet"),
            if gone == 1 { "is" } else { "are" }
        );
    }
}

/// What was asked for and is not so: told even to whoever wants no summary.
pub fn tell_what_is_amiss(plan: &Plan) {
    for sentence in &plan.amiss {
        eprintln!("inktell: {sentence}");
    }
}

/// What will be done, on standard error, before it is done.
pub fn announce(plan: &Plan, left: &[Task]) {
    eprintln!("{}", grouped(plan));
    let examples = plan.tasks.iter().filter(|task| !task.is_of_rules());
    for task in examples.take(EXAMPLES) {
        eprintln!(
            "  {}: {}",
            task.sheet,
            words::counted(task.photos.len(), "photograph")
        );
    }
    if plan.sheets() > EXAMPLES {
        eprintln!("  … (--plan shows all)");
    }
    for notice in &plan.notices {
        eprintln!("{notice}");
    }
    let sheets = plan.sheets();
    let finished = sheets - left.iter().filter(|task| !task.is_of_rules()).count();
    if finished > 0 {
        eprintln!("Finished in an earlier run: {finished} of {sheets}.");
    }
}

/// How many photographs make how many sheets, and how.
pub fn grouped(plan: &Plan) -> String {
    let rules = plan.rules_apart();
    format!(
        "{}, grouped into {} ({}){}.",
        words::counted(plan.photographs() - rules, "photograph"),
        words::counted(plan.sheets(), "sheet"),
        plan.how,
        match rules {
            0 => String::new(),
            n => format!(", and {} of a rule", words::counted(n, "photograph")),
        }
    )
}

/// Counts, inspections, and where the results lie.
pub fn summary(lot: &Lot, settings: &Settings, folder: &Path) -> String {
    let mut text = format!(
        "{}, {} measured\n",
        words::counted(lot.ranked.len(), "sheet"),
        words::counted(lot.photographs(), "photograph")
    );
    for standing in Standing::ALL {
        text.push_str(&format!(
            "{:>6}  {}\n",
            lot.count(standing),
            standing.name()
        ));
    }
    if lot.not_read() > 0 {
        text.push_str(&format!(
            "{} could not be read; the reasons are in the table\n",
            words::counted(lot.not_read(), "file")
        ));
    }
    if lot.to_be_tried_again() > 0 {
        text.push_str(&format!(
            "files of {} could not be fetched; the same command tries them again\n",
            words::counted(lot.to_be_tried_again(), "sheet")
        ));
    }
    if let Some(sentence) = of_all(lot) {
        text.push_str(&format!("{sentence}\n"));
    } else if lot.without_scale() > 0 {
        text.push_str(&format!(
            "No scale is known for {}; a photograph of a rule called rule.jpg beside its photographs gives one\n",
            words::counted(lot.without_scale(), "sheet")
        ));
    }
    let plan = &lot.inspection;
    text.push_str(&format!(
        "To keep the chance of a missed reproduction at {} or less: inspect {} by hand{}{}\n",
        figures::per_cent(settings.missed_chance),
        words::counted(plan.inspect, "sheet"),
        passed(plan.passed),
        set_aside(plan.set_aside),
    ));
    text.push_str(&format!(
        "{}\n{}\n",
        folder.join(PAGE_NAME).display(),
        folder.join(CSV_NAME).display()
    ));
    text
}

fn passed(sheets: usize) -> String {
    match sheets {
        0 => String::new(),
        1 => "; 1 can go without, which does not make it a period print".into(),
        n => format!("; {n} can go without, which does not make them period prints"),
    }
}

fn set_aside(sheets: usize) -> String {
    match sheets {
        0 => String::new(),
        1 => "; 1 set aside as a likely reproduction".into(),
        n => format!("; {n} set aside as likely reproductions"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_sheet_is_not_spoken_of_as_several() {
        assert!(passed(1).contains("it a period print") && passed(2).contains("them"));
        assert!(set_aside(1).ends_with("a likely reproduction"));
        assert!(set_aside(2).ends_with("2 set aside as likely reproductions"));
        assert_eq!(passed(0) + &set_aside(0), "");
    }
}
