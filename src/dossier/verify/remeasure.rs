//! The photographs measured again with the recorded parameters, figure by figure.

use super::{Finding, Kind};
use crate::dossier::contents::Contents;
use crate::dossier::entry::{Deed, Entry, FileRef, Program, Role, Summary};
use crate::dossier::examining;
use crate::dossier::left_out;
use crate::dossier::line::Log;
use crate::dossier::work;
use crate::examine::Examination;
use crate::report::json;
use serde::Serialize;
use serde_json::Value;

/// Figures closer than this, as a share, count as the same: another processor adds in another
/// order, which moves the last of the six digits written, and those differences add up on the way
/// to a figure. The narrowest intervals measured are wider.
const SAME_FIGURE: f64 = 1e-3;
/// Differences named one by one.
const NAMED: usize = 5;

/// What measuring again gave.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Outcome {
    /// Whether it was asked for.
    pub asked: bool,
    /// Readings that came out the same to the last digit.
    pub same: usize,
    /// Readings that came out the same but for rounding on another processor.
    pub nearly: usize,
    /// Readings that came out differently under another version of the program.
    pub other_program: usize,
    /// Readings that came out differently, or could not be made.
    pub differ: usize,
}

/// Measures every reading again.
pub fn check(contents: &dyn Contents, log: &Log, findings: &mut Vec<Finding>) -> Outcome {
    let mut outcome = Outcome {
        asked: true,
        ..Outcome::default()
    };
    for entry in log.entries() {
        let Some(recorded) = entry.files.iter().find(|f| f.role == Role::Reading) else {
            if promises_reading(entry) {
                let text = format!("Entry {} states a reading, but keeps none.", entry.n);
                findings.push(Finding::problem(Kind::Figure, text).entry(entry.n));
                outcome.differ += 1;
            }
            continue;
        };
        one(contents, log, entry, recorded, &mut outcome, findings);
    }
    outcome
}

fn promises_reading(entry: &Entry) -> bool {
    match &entry.deed {
        Deed::Photographs(_) => true,
        Deed::Conclusion(conclusion) => conclusion.measured.is_some(),
        _ => false,
    }
}

fn one(
    contents: &dyn Contents,
    log: &Log,
    entry: &Entry,
    recorded: &FileRef,
    outcome: &mut Outcome,
    findings: &mut Vec<Finding>,
) {
    let n = entry.n;
    let again = left_out::WithCopies::over(contents);
    let pair = again_for(&again, log, entry).and_then(|examination| {
        let before = contents
            .read(&recorded.path)
            .map_err(|e| format!("{} cannot be read ({e})", recorded.path))?;
        let now = json::text(&examination, &[]).map_err(|e| e.to_string())?;
        Ok((before, now, examination))
    });
    let (before, now, examination) = match pair {
        Ok(pair) => pair,
        Err(why) => {
            let text = format!("The photographs of entry {n} could not be measured again: {why}.");
            findings.push(Finding::problem(Kind::NotMeasured, text).entry(n));
            outcome.differ += 1;
            return;
        }
    };
    let same_program = entry.program.measuring == Program::this().measuring;
    let differences = stated_differently(entry, &examination)
        .into_iter()
        .chain(differences(&before, now.as_bytes()))
        .collect::<Vec<_>>();
    if differences.is_empty() {
        if before == now.as_bytes() {
            outcome.same += 1;
        } else {
            outcome.nearly += 1;
        }
        return;
    }
    let told = told(&differences);
    findings.push(if same_program {
        outcome.differ += 1;
        let text = format!("Entry {n} does not measure the same again, by the same program: {told}.");
        Finding::problem(Kind::Figure, text).entry(n)
    } else {
        outcome.other_program += 1;
        let text = format!(
            "This program ({}) measures entry {n} differently from the one that wrote it ({}): {told}. That is no sign of tampering, but neither does it rule it out; the same version settles it.",
            Program::this().in_words(),
            entry.program.in_words()
        );
        Finding::remark(Kind::OtherProgram, text).entry(n)
    });
}

fn again_for(contents: &dyn Contents, log: &Log, entry: &Entry) -> Result<Examination, String> {
    match &entry.deed {
        Deed::Photographs(photographs) => {
            let (photos, rule) = work::kept_photographs(contents, entry)?;
            examining::together(&photos, rule.as_ref(), &photographs.parameters)
        }
        Deed::Conclusion(conclusion) => work::combined_upto(contents, log, conclusion.considers.n)?
            .ok_or_else(|| "it rests on no photograph".into()),
        _ => Err("it is no entry of the kind that keeps a reading".into()),
    }
}

/// What the entry itself says of the reading, against the reading.
fn stated_differently(entry: &Entry, examination: &Examination) -> Option<String> {
    let stated = match &entry.deed {
        Deed::Photographs(photographs) => &photographs.reading,
        Deed::Conclusion(conclusion) => conclusion.measured.as_ref()?,
        _ => return None,
    };
    let now = Summary::of(examination);
    (stated.process != now.process || stated.colouring != now.colouring).then(|| {
        format!(
            "the entry says {} (colour: {}), measured again {} (colour: {})",
            stated.process_name(),
            stated.colouring_names(),
            now.process_name(),
            now.colouring_names()
        )
    })
}

/// Figures that differ, each in words.
fn differences(before: &[u8], now: &[u8]) -> Vec<String> {
    if before == now {
        return Vec::new();
    }
    let (Ok(before), Ok(now)) = (serde_json::from_slice(before), serde_json::from_slice(now))
    else {
        return vec!["the reading kept is no JSON document".into()];
    };
    let mut found = Vec::new();
    compare("", &before, &now, &mut found);
    found
}

fn compare(path: &str, before: &Value, now: &Value, found: &mut Vec<String>) {
    match (before, now) {
        (Value::Object(a), Value::Object(b)) => {
            for (key, value) in a {
                let inner = join(path, key);
                // The identity of the photograph is checked against its digest, and a copy without
                // its location has another; versions are told elsewhere.
                if matches!(key.as_str(), "sha256" | "capture" | "program") {
                    continue;
                }
                match b.get(key) {
                    Some(other) => compare(&inner, value, other, found),
                    None => found.push(format!("{inner} was recorded and is not measured now")),
                }
            }
            for key in b.keys().filter(|key| !a.contains_key(*key)) {
                found.push(format!(
                    "{} is measured now and was not recorded",
                    join(path, key)
                ));
            }
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            for (index, (a, b)) in a.iter().zip(b).enumerate() {
                compare(&join(path, &index.to_string()), a, b, found);
            }
        }
        (Value::Number(a), Value::Number(b)) if near(a.as_f64(), b.as_f64()) => {}
        (a, b) if a == b => {}
        (a, b) => found.push(format!(
            "{path}: recorded {}, measured again {}",
            short(a),
            short(b)
        )),
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

fn near(a: Option<f64>, b: Option<f64>) -> bool {
    let (Some(a), Some(b)) = (a, b) else {
        return false;
    };
    a == b || (a - b).abs() <= SAME_FIGURE * a.abs().max(b.abs())
}

fn short(value: &Value) -> String {
    // Longer values are lists and sentences; their beginning tells which.
    const LONGEST: usize = 60;
    let text = value.to_string();
    if text.chars().count() <= LONGEST {
        return text;
    }
    text.chars().take(LONGEST).chain(['…']).collect()
}

fn told(differences: &[String]) -> String {
    let mut told = differences[..differences.len().min(NAMED)].join("; ");
    if differences.len() > NAMED {
        told.push_str(&format!("; and {} more", differences.len() - NAMED));
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differing_figures_are_named_and_rounding_is_not() {
        let before = br#"{"marks":{"density":12.3456,"n":17,"why":"x"},"list":[1,2]}"#;
        let rounding = br#"{"marks":{"density":12.3457,"n":17,"why":"x"},"list":[1,2]}"#;
        assert!(differences(before, rounding).is_empty());
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
}
