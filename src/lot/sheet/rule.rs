//! Photographs of rules, each measured once a run.

use super::{Bench, fetch, pixels};
use crate::lot::record::Unread;
use crate::lot::scales::is_rule_name;
use crate::lot::task::{PhotoRef, Task, folder_of};
use crate::photo::{self, ReadOptions, Scale, measure_common_rule};
use crate::report::figures;
use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Rules in one folder that differ by more than this share belong to different settings of the
/// loupe: three times what a rule read well differs by.
const SAME_SETTING: f64 = 0.03;

/// What is known of a photograph's scale.
pub(super) enum ScaleFound {
    /// It shows a rule itself.
    IsRule(Scale),
    /// It is taken for one of a rule and gives no scale.
    NoRule(Unread),
    /// How to read it, and what the user should know, as sentences.
    Options(ReadOptions, Vec<String>),
}

/// What a photograph taken for one of a rule turned out to be.
#[derive(Clone)]
enum Shown {
    Rule(Scale),
    /// No rule, and why, as a clause that begins with the file's name.
    None(String),
}

/// Not fetched where it is not known what it shows.
type Outcome = Arc<OnceLock<Result<Shown, Unread>>>;

/// Rules measured so far, by location and by name, which stands in the reasons. Which sheet asks first makes no
/// difference.
#[derive(Default)]
pub(super) struct Rules {
    measured: Mutex<HashMap<(String, String), Outcome>>,
}

impl Rules {
    /// The scale for a photograph: stated for it, from the nearest rule, for the lot.
    ///
    /// # Errors
    /// Where a rule that may bear on it cannot be fetched now: another scale might be a wrong one.
    pub fn scale_for(
        &self,
        photo: &PhotoRef,
        task: &Task,
        bench: &Bench<'_>,
    ) -> Result<ScaleFound, Unread> {
        if task.rules.iter().any(|r| r.location == photo.location) {
            return Ok(match self.measure(photo, task, bench)? {
                Shown::Rule(scale) => ScaleFound::IsRule(scale),
                Shown::None(why) => ScaleFound::NoRule(no_rule(photo, &why)),
            });
        }
        let mut options = ReadOptions {
            max_megapixels: task.max_megapixels,
            px_per_mm: photo.px_per_mm,
            loupe_field_mm: task.loupe_field_mm,
            measured_scale: None,
        };
        let mut notices = Vec::new();
        if options.px_per_mm.is_none() {
            let nearest = self.nearest(photo, task, bench, &mut notices);
            match nearest.map_err(|rule| without_its_rule(photo, &rule))? {
                Nearest::Scale(scale) => options.measured_scale = Some(scale),
                Nearest::Disagree(rules) => {
                    options.px_per_mm = task.px_per_mm;
                    notices.push(disagree(&rules, task.px_per_mm));
                }
                Nearest::None => options.px_per_mm = task.px_per_mm,
            }
        }
        Ok(ScaleFound::Options(options, notices))
    }

    /// The rule in the photograph's folder, or in the nearest folder round it. Where those of a folder give no
    /// scale, none is taken from farther out: a rule of its own says that the folder has a setting of its own.
    /// Notices take in each rule that is asked and gives no scale.
    fn nearest(
        &self,
        photo: &PhotoRef,
        task: &Task,
        bench: &Bench<'_>,
        notices: &mut Vec<String>,
    ) -> Result<Nearest, Unread> {
        let folder = photo.folder();
        let mut folder = folder.as_str();
        loop {
            let (mut found, mut without) = (Vec::new(), Vec::new());
            for rule in task.rules.iter().filter(|rule| rule.folder() == folder) {
                match self.measure(rule, task, bench)? {
                    Shown::Rule(scale) => found.push((rule, scale)),
                    Shown::None(why) if rule.is_named_rule => notices.push(no_scale_from(&why)),
                    Shown::None(_) => without.push(rule),
                }
            }
            let instead = task.px_per_mm.filter(|_| found.is_empty());
            notices.extend(without.iter().map(|rule| no_graduations(rule, instead)));
            if let Some(nearest) = agreed(&found) {
                return Ok(nearest);
            }
            if folder.is_empty() || !without.is_empty() {
                return Ok(Nearest::None);
            }
            folder = folder_of(folder);
        }
    }

    fn measure(&self, rule: &PhotoRef, task: &Task, bench: &Bench<'_>) -> Result<Shown, Unread> {
        let outcome = {
            let mut measured = self.measured.lock().unwrap_or_else(PoisonError::into_inner);
            let key = (rule.location.clone(), rule.name.clone());
            Arc::clone(measured.entry(key).or_default())
        };
        outcome
            .get_or_init(|| measure_one(rule, task.max_megapixels, bench))
            .clone()
    }
}

enum Nearest {
    Scale(Scale),
    /// The rules of the nearest folder with any, as a clause.
    Disagree(String),
    None,
}

/// What the rules of one folder say together.
fn agreed(found: &[(&PhotoRef, Scale)]) -> Option<Nearest> {
    let (first, scale) = found.first()?;
    let other = found
        .iter()
        .find(|(_, s)| (s.value / scale.value - 1.0).abs() > SAME_SETTING);
    Some(match other {
        None => Nearest::Scale(scale.clone()),
        Some((other, s)) => Nearest::Disagree(format!(
            "{} ({} px/mm) and {} ({} px/mm)",
            first.name,
            figures::plain(scale.value),
            other.name,
            figures::plain(s.value)
        )),
    })
}

/// Says what became of the scale where the rules of a folder disagree.
fn disagree(rules: &str, stated: Option<f64>) -> String {
    let instead = stated.map_or_else(|| "no scale was taken from them".to_owned(), used_instead);
    format!(
        "The rules {rules} disagree, so {instead}; put each into the folder of its own photographs, or state the scale of each folder."
    )
}

fn used_instead(stated: f64) -> String {
    let stated = figures::plain(stated);
    format!("the scale stated for the lot ({stated} px/mm) was used instead")
}

/// Says that a photograph taken for one of a rule gives its neighbours no scale, and what was used instead.
fn no_graduations(rule: &PhotoRef, stated: Option<f64>) -> String {
    let instead = stated.map_or_else(String::new, |v| format!("; {}", used_instead(v)));
    format!(
        "{} {} but shows no graduations that can be measured, so no scale is taken from it{instead}; photograph it again.",
        rule.name,
        taken_for_a_rule(rule),
    )
}

/// Such a photograph in its own row: it is no print to be weighed, unless its name misleads.
fn no_rule(photo: &PhotoRef, why: &str) -> Unread {
    Unread {
        file: photo.name.clone(),
        why: format!(
            "{why}. It {}, so no scale is taken from it and it is not weighed as a print; photograph the rule again, or give the file another name if it shows a print",
            taken_for_a_rule(photo)
        ),
        try_again: false,
    }
}

/// Why a photograph is taken for one of a rule.
fn taken_for_a_rule(photo: &PhotoRef) -> &'static str {
    if is_rule_name(&photo.name) {
        "is named as a rule"
    } else {
        "is taken for a rule"
    }
}

/// Says that a photograph which nothing names as one of a rule shows one. A search looks only among those of
/// which no scale is known.
pub(super) fn unnamed_rule(photo: &PhotoRef, options: &ReadOptions) -> String {
    let search = match (options.px_per_mm, &options.measured_scale) {
        (None, None) => "run again with --find-rules, or ",
        _ => "",
    };
    format!(
        "{} looks like a photograph of a rule, and was weighed as a print: if it does show a rule, {search}call it rule.jpg.",
        photo.name
    )
}

/// Says that the rule which the user named gives no scale.
fn no_scale_from(why: &str) -> String {
    format!(
        "{why}. It was named for the scale of the lot, and gives none: name another photograph of a rule with --scale-from, or state the scale with --px-per-mm."
    )
}

/// A photograph whose rule cannot be fetched.
fn without_its_rule(photo: &PhotoRef, rule: &Unread) -> Unread {
    Unread {
        file: photo.name.clone(),
        why: format!(
            "{}: was not measured, for the rule that gives its scale, {}",
            photo.name, rule.why
        ),
        try_again: rule.try_again,
    }
}

/// What a photograph of a rule gives; no rule where it shows none or cannot be read at all.
///
/// # Errors
/// Where it may be had another time.
fn measure_one(rule: &PhotoRef, max_megapixels: f64, bench: &Bench<'_>) -> Result<Shown, Unread> {
    let bytes = match fetch(rule, bench.fetcher, max_megapixels) {
        Ok(bytes) => bytes,
        Err(unread) if unread.try_again => return Err(unread),
        Err(unread) => return Ok(Shown::None(unread.why)),
    };
    let _permit = bench.gate.enter(pixels(&bytes, max_megapixels));
    let options = ReadOptions {
        max_megapixels,
        ..ReadOptions::default()
    };
    let measured = catch_unwind(AssertUnwindSafe(|| {
        let photo = photo::from_bytes(&bytes, Path::new(&rule.name), &options)
            .map_err(|error| error.to_string())?;
        let reading =
            measure_common_rule(&photo).map_err(|error| format!("{}: {error}", rule.name))?;
        Ok(reading.scale)
    }));
    Ok(match measured {
        Ok(Ok(scale)) => Shown::Rule(scale),
        Ok(Err(why)) => Shown::None(why),
        Err(_) => Shown::None(format!("{}: the measuring failed on it", rule.name)),
    })
}
