//! The photographs measured again with the recorded parameters, figure by figure.

use super::{Finding, Kind};
use crate::dossier::contents::Contents;
use crate::dossier::entry::{Deed, Entry, FileRef, Program, Role, Summary};
use crate::dossier::examining;
use crate::dossier::left_out::WithCopies;
use crate::dossier::line::Log;
use crate::dossier::work;
use crate::examine::Examination;
use crate::report::json;
use crate::report::words::counted;
use serde::Serialize;
use serde_json::{Map, Value};

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
    /// Readings that came out the same to within 0.1 %, as on another processor.
    pub nearly: usize,
    /// Readings that came out differently under another version of the program.
    pub other_program: usize,
    /// Readings that could not be made because photographs were left out of this export.
    pub left_out: usize,
    /// Readings that were not made because a photograph was changed.
    pub changed: usize,
    /// Readings that came out differently, or could not be made.
    pub differ: usize,
}

/// Measures every reading again.
pub fn check(contents: &dyn Contents, log: &Log, findings: &mut Vec<Finding>) -> Outcome {
    let mut outcome = Outcome {
        asked: true,
        ..Outcome::default()
    };
    let again = WithCopies::over(contents, log);
    for entry in log.entries() {
        let readings: Vec<_> = entry
            .files
            .iter()
            .filter(|f| f.role == Role::Reading)
            .collect();
        // Every figure of a changed photograph may differ, and says nothing of the figures recorded: the
        // change itself is a problem of its own, told by the check of the files.
        let changed = measured_on(log, entry).find(|(_, file)| again.was_changed(file));
        if let Some((from, file)) = changed
            && !readings.is_empty()
        {
            let text = format!(
                "Entry {} was not measured again: the {} {} of entry {from} was changed.",
                entry.n,
                file.role.name(),
                file.name
            );
            findings.push(Finding::remark(Kind::NotMeasured, text).entry(entry.n));
            outcome.changed += readings.len();
            continue;
        }
        for recorded in &readings {
            one(&again, log, entry, recorded, &mut outcome, findings);
        }
        if readings.is_empty() && promises_reading(log, entry) {
            let text = format!(
                "Entry {} rests on photographs, but keeps no reading of them.",
                entry.n
            );
            findings.push(Finding::problem(Kind::Figure, text).entry(entry.n));
            outcome.differ += 1;
        }
    }
    outcome
}

/// Whether an entry must keep a reading: it states one, or it concludes on photographs, which are
/// always measured for a conclusion.
fn promises_reading(log: &Log, entry: &Entry) -> bool {
    match &entry.deed {
        Deed::Photographs(_) => true,
        Deed::Conclusion(conclusion) => {
            conclusion.measured.is_some()
                || work::photographs_upto(log, conclusion.considers.n)
                    .next()
                    .is_some()
        }
        _ => false,
    }
}

/// The photographs, and those of rules, that the reading of an entry rests on, each with the number of
/// the entry that keeps it.
fn measured_on<'a>(log: &'a Log, entry: &'a Entry) -> impl Iterator<Item = (u64, &'a FileRef)> {
    let entries: Vec<&Entry> = match &entry.deed {
        Deed::Photographs(_) => vec![entry],
        Deed::Conclusion(conclusion) => work::photographs_upto(log, conclusion.considers.n)
            .map(|(entry, _)| entry)
            .collect(),
        _ => Vec::new(),
    };
    entries
        .into_iter()
        .flat_map(|entry| entry.files.iter().map(move |file| (entry.n, file)))
        .filter(|(_, file)| file.role.is_photograph())
}

fn one(
    again: &WithCopies<'_>,
    log: &Log,
    entry: &Entry,
    recorded: &FileRef,
    outcome: &mut Outcome,
    findings: &mut Vec<Finding>,
) {
    let n = entry.n;
    let pair = again_for(again, log, entry).and_then(|examination| {
        let before = again
            .read(&recorded.path)
            .map_err(|e| format!("{} cannot be read ({e})", recorded.path))?;
        let now = json::text(&examination, &[]).map_err(|e| e.to_string())?;
        Ok((before, now, examination))
    });
    let (before, now, examination) = match pair {
        Ok(pair) => pair,
        Err(_) if again.lacks_a_copy() => {
            let text = format!(
                "The photographs of entry {n} could not be measured again: not all of them are in this export, and no copy stands in for what was left out. The whole dossier settles it."
            );
            findings.push(Finding::remark(Kind::NotMeasured, text).entry(n));
            outcome.left_out += 1;
            return;
        }
        Err(why) => {
            let text = format!("The photographs of entry {n} could not be measured again: {why}.");
            findings.push(Finding::problem(Kind::NotMeasured, text).entry(n));
            outcome.differ += 1;
            return;
        }
    };
    let same_program = entry.program.measuring == Program::this().measuring;
    let original = |sha256: &str| Some(again.original_of(sha256)?.digest.sha256.clone());
    let compared = Comparison::of(&before, now.as_bytes(), &original);
    let exact = compared.found.is_empty() && !compared.rounded;
    let mut differences = stated_differently(entry, &Summary::of(&examination), exact);
    differences.extend(compared.found);
    if differences.is_empty() {
        if exact {
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
            "This program ({}) measures entry {n} differently from the one that wrote it ({}): {told}. That is no sign of tampering, but neither does it rule it out{}; the same version settles it.",
            Program::this().in_words(),
            entry.program.in_words(),
            match entry.key {
                Some(_) => "",
                None => ", and as nobody signed the entry, whoever held the folder could have written its figures and named that version",
            }
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
        Deed::Conclusion(conclusion) => work::combined(contents, log, conclusion.considers.n)?
            .ok_or_else(|| "it rests on no photograph".into()),
        _ => Err("it is no entry of the kind that keeps a reading".into()),
    }
}

/// What the entry itself says of the reading, against the reading made again.
fn stated_differently(entry: &Entry, now: &Summary, exact: bool) -> Vec<String> {
    let stated = match &entry.deed {
        Deed::Photographs(photographs) => Some(&photographs.reading),
        Deed::Conclusion(conclusion) => conclusion.measured.as_ref(),
        _ => return Vec::new(),
    };
    let Some(stated) = stated else {
        return vec!["the entry says that nothing was measured, and keeps a reading".into()];
    };
    let mut differences = Vec::new();
    if stated.process != now.process || stated.colouring != now.colouring {
        differences.push(format!(
            "the entry says {} (colour: {}), measured again {} (colour: {})",
            stated.process_name(),
            stated.colouring_names(),
            now.process_name(),
            now.colouring_names()
        ));
    }
    if stated.photographs != now.photographs {
        differences.push(format!(
            "the entry says that it rests on {}, and it rests on {}",
            counted(stated.photographs, "photograph"),
            counted(now.photographs, "photograph")
        ));
    }
    if !same_sentence(&stated.sentence, &now.sentence, exact) {
        differences.push(format!(
            "the entry says \"{}\", measured again \"{}\"",
            stated.sentence, now.sentence
        ));
    }
    differences
}

/// Whether two sentences say the same. Where every figure came out exactly, they must agree to the
/// letter; else rounding may have tipped a figure that is written to one digit, such as 1 to 2.
fn same_sentence(stated: &str, now: &str, exact: bool) -> bool {
    if stated == now || exact {
        return stated == now;
    }
    let of_figure = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '\u{202f}');
    let words = |text: &str| text.replace(of_figure, "");
    let figures = |text: &str| -> Vec<f64> {
        text.split(|c| !of_figure(c))
            .map(|figure| figure.replace([',', '\u{202f}'], ""))
            .filter_map(|figure| figure.trim_end_matches('.').parse().ok())
            .collect()
    };
    let (a, b) = (figures(stated), figures(now));
    let one_step = |(a, b): (&f64, &f64)| a.max(*b) <= 2.0 * a.min(*b);
    words(stated) == words(now) && a.len() == b.len() && a.iter().zip(&b).all(one_step)
}

/// Gives the SHA-256 of the original that a copy, known by its own, stands in for.
type OriginalOf<'a> = &'a dyn Fn(&str) -> Option<String>;

/// A reading kept against the reading made again.
struct Comparison<'a> {
    original: OriginalOf<'a>,
    /// Figures that differ, each in words.
    found: Vec<String>,
    /// Whether a figure came out the same but for rounding.
    rounded: bool,
}

impl<'a> Comparison<'a> {
    fn of(before: &[u8], now: &[u8], original: OriginalOf<'a>) -> Self {
        let mut comparison = Self {
            original,
            found: Vec::new(),
            rounded: false,
        };
        match (serde_json::from_slice(before), serde_json::from_slice(now)) {
            (Ok(before), Ok(now)) => comparison.compare("", &before, &now),
            _ => comparison
                .found
                .push("the reading kept is no JSON document".into()),
        }
        comparison
    }

    fn compare(&mut self, path: &str, before: &Value, now: &Value) {
        match (before, now) {
            (Value::Object(a), Value::Object(b)) => self.members(path, a, b),
            (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
                for (index, (a, b)) in a.iter().zip(b).enumerate() {
                    self.compare(&join(path, &index.to_string()), a, b);
                }
            }
            (a, b) if a == b => {}
            (Value::Number(a), Value::Number(b)) if near(a.as_f64(), b.as_f64()) => {
                self.rounded = true;
            }
            (a, b) => self.found.push(format!(
                "{path}: recorded {}, measured again {}",
                short(a),
                short(b)
            )),
        }
    }

    fn members(&mut self, path: &str, a: &Map<String, Value>, b: &Map<String, Value>) {
        // A copy without its location has another hash and says less of how it was taken.
        let original = b.get("sha256").and_then(|v| (self.original)(v.as_str()?));
        for (key, value) in a {
            let inner = join(path, key);
            // Versions are told elsewhere; a program named deeper down is none of ours.
            if path.is_empty() && key == "program" {
                continue;
            }
            match (b.get(key), key.as_str(), &original) {
                (Some(_), "capture", Some(_)) => {}
                (Some(_), "sha256", Some(original)) => {
                    self.compare(&inner, value, &Value::String(original.clone()));
                }
                (Some(other), ..) => self.compare(&inner, value, other),
                (None, ..) => self
                    .found
                    .push(format!("{inner} was recorded and is not measured now")),
            }
        }
        for key in b.keys().filter(|key| !a.contains_key(*key)) {
            self.found.push(format!(
                "{} is measured now and was not recorded",
                join(path, key)
            ));
        }
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

/// A value as JSON, cut where it is long; a text that is cut still ends in its quotation mark.
fn short(value: &Value) -> String {
    // Longer values are lists and sentences; their beginning tells which.
    const LONGEST: usize = 60;
    let text = value.to_string();
    if text.chars().count() <= LONGEST {
        return text;
    }
    let mut kept = String::new();
    let (mut quoted, mut escaped) = (false, false);
    for letter in text.chars().take(LONGEST) {
        quoted ^= letter == '"' && !escaped;
        escaped = letter == '\\' && !escaped;
        kept.push(letter);
    }
    if escaped {
        kept.pop();
    }
    kept.push('…');
    if quoted {
        kept.push('"');
    }
    kept
}

fn told(differences: &[String]) -> String {
    let mut told = differences[..differences.len().min(NAMED)].join("; ");
    if differences.len() > NAMED {
        told.push_str(&format!("; and {} more", differences.len() - NAMED));
    }
    told
}

#[cfg(test)]
mod tests;
