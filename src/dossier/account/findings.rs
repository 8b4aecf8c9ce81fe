//! What was measured, from the last reading kept.

use super::{Block, FindingRow, Telling, conclusions, corrected, corrections, readings, rows};
use crate::dossier::entry::{Deed, Entry, process_name};
use crate::dossier::work;
use crate::report::figures;
use crate::report::words::{self, standing};
use serde_json::Value;

/// Findings shown in the table of what was measured, heaviest first; the reading has them all.
const FINDINGS_SHOWN: usize = 10;
/// Smallest weight, log10, that is shown: smaller ones are written 0.0.
const SLIGHT: f64 = 0.05;
/// How to read a weight where only some of the findings stand and no figure that they add up to.
const WEIGHT_AID: &str = "A weight is a power of ten, for or against the process named: +1 counts as ten times as probable on a print by that process as on the average of the five (their geometric mean), +0.3 as twice, −1 as a tenth. What several findings say alike is counted once. Only the findings that weigh most are shown; the reading rests on all of them together, so that these do not add up to its strength.";

/// The findings of the last reading kept, below what it says where no conclusion shows that.
pub fn measured(telling: &Telling<'_>) -> Vec<Block> {
    let Some(entry) = work::last_reading(telling.log) else {
        return Vec::new();
    };
    let reading = match readings::kept(telling.contents, entry) {
        Ok(reading) => reading,
        Err(why) => {
            return vec![Block::Notice(format!(
                "The reading of entry {} cannot be shown: {why}.",
                entry.n
            ))];
        }
    };
    let mut blocks = verdict(telling, entry);
    blocks.push(Block::Text(format!(
        "The findings that weigh most in the reading of entry {}; the whole reading and its report lie in the dossier.",
        entry.n
    )));
    let rows = finding_rows(&reading);
    if rows.is_empty() {
        blocks.push(Block::Text(
            "No finding weighs more than next to nothing.".into(),
        ));
    } else {
        blocks.push(Block::Findings(rows));
        blocks.push(Block::Small(format!(
            "{WEIGHT_AID} {}",
            standing::INTERVAL_AID
        )));
    }
    blocks
}

/// What the reading of an entry says as a whole: weights alone would pass for a verdict.
fn verdict(telling: &Telling<'_>, entry: &Entry) -> Vec<Block> {
    let summary = match &entry.deed {
        Deed::Photographs(photographs) => Some(&photographs.reading),
        Deed::Conclusion(conclusion) => conclusion.measured.as_ref(),
        _ => None,
    };
    let Some(summary) = summary.filter(|_| !conclusions::shows_reading(telling.log, entry)) else {
        return Vec::new();
    };
    let mut blocks = vec![
        Block::Text(format!(
            "The reading of {} ({}).",
            words::counted(summary.photographs, "photograph"),
            corrections::by(entry)
        )),
        rows(readings::reading_rows(telling.contents, entry, summary)),
    ];
    blocks.extend(corrected(telling.log, entry.n));
    blocks
}

fn finding_rows(reading: &Value) -> Vec<FindingRow> {
    let best = reading["reading"]["posterior"].as_object().and_then(|all| {
        let by_value = |a: &(&String, &Value), b: &(&String, &Value)| {
            a.1.as_f64()
                .unwrap_or(0.0)
                .total_cmp(&b.1.as_f64().unwrap_or(0.0))
        };
        all.iter()
            .max_by(by_value)
            .map(|(process, _)| process.clone())
    });
    let (Some(best), Some(findings)) = (best, reading["findings"].as_array()) else {
        return Vec::new();
    };
    let weight = |finding: &&Value| finding["log10_lr"][&best].as_f64().unwrap_or(0.0).abs();
    let mut heaviest: Vec<&Value> = findings.iter().collect();
    heaviest.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
    heaviest
        .into_iter()
        .filter_map(|finding| finding_row(finding, &best))
        .take(FINDINGS_SHOWN)
        .collect()
}

fn finding_row(finding: &Value, best: &str) -> Option<FindingRow> {
    let weight = finding["log10_lr"][best].as_f64()?;
    if weight.abs() < SLIGHT {
        return None;
    }
    let end = |index: usize| finding["interval"][index].as_f64();
    let interval = end(0).zip(end(1)).map(|(lo, hi)| [lo, hi]);
    let unit = finding["unit"].as_str().unwrap_or("1");
    Some(FindingRow {
        title: finding["title"].as_str()?.to_owned(),
        value: if finding["nothing_there"].as_bool() == Some(true) {
            words::NONE_FOUND.into()
        } else {
            figures::value_with_interval(finding["value"].as_f64()?, interval, unit)
        },
        weight: format!(
            "{} {} {}",
            figures::weight(weight),
            if weight < 0.0 { "against" } else { "for" },
            process_name(best)
        ),
        because: words::sentence(finding["because"].as_str().unwrap_or_default()),
    })
}
