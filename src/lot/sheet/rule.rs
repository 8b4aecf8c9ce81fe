//! Photographs of rules, each measured once a run.

use super::{Bench, fetch, pixels};
use crate::lot::task::{PhotoRef, Task, folder_of};
use crate::photo::{self, ReadOptions, RuleError, Scale, measure_rule};
use crate::report::figures;
use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Distances of the shortest graduations that are tried, mm: the pattern of long and short ones
/// tells a wrong one.
const GRADUATIONS_MM: [f64; 2] = [1.0, 0.5];
/// Rules in one folder that differ by more than this share belong to different settings of the
/// loupe: three times what a rule read well differs by.
const SAME_SETTING: f64 = 0.03;

/// What is known of a photograph's scale.
pub(super) enum ScaleFound {
    /// It shows a rule itself.
    IsRule(Scale),
    /// How to read it, and what the user should know.
    Options(ReadOptions, Option<String>),
}

type Outcome = Arc<OnceLock<Option<Scale>>>;

/// Rules measured so far, by location. Which sheet asks first makes no difference.
#[derive(Default)]
pub(super) struct Rules {
    measured: Mutex<HashMap<String, Outcome>>,
}

impl Rules {
    /// The scale for a photograph: stated for it, from the nearest rule, for the lot.
    pub fn scale_for(&self, photo: &PhotoRef, task: &Task, bench: &Bench<'_>) -> ScaleFound {
        if task.rules.iter().any(|r| r.location == photo.location)
            && let Some(scale) = self.measure(photo, task, bench)
        {
            return ScaleFound::IsRule(scale);
        }
        let mut options = ReadOptions {
            max_megapixels: task.max_megapixels,
            px_per_mm: photo.px_per_mm,
            loupe_field_mm: task.loupe_field_mm,
            measured_scale: None,
        };
        let mut notice = None;
        if options.px_per_mm.is_none() {
            match self.nearest(photo, task, bench) {
                Nearest::Scale(scale) => options.measured_scale = Some(scale),
                Nearest::Disagree(sentence) => notice = Some(sentence),
                Nearest::None => options.px_per_mm = task.px_per_mm,
            }
        }
        ScaleFound::Options(options, notice)
    }

    /// The rule in the photograph's folder, or in the nearest folder round it.
    fn nearest(&self, photo: &PhotoRef, task: &Task, bench: &Bench<'_>) -> Nearest {
        let mut folder = photo.folder();
        loop {
            let found: Vec<(&PhotoRef, Scale)> = task
                .rules
                .iter()
                .filter(|rule| rule.folder() == folder)
                .filter_map(|rule| Some((rule, self.measure(rule, task, bench)?)))
                .collect();
            if let Some(nearest) = agreed(&found) {
                return nearest;
            }
            if folder.is_empty() {
                return Nearest::None;
            }
            folder = folder_of(folder);
        }
    }

    fn measure(&self, rule: &PhotoRef, task: &Task, bench: &Bench<'_>) -> Option<Scale> {
        let outcome = {
            let mut measured = self.measured.lock().unwrap_or_else(PoisonError::into_inner);
            Arc::clone(measured.entry(rule.location.clone()).or_default())
        };
        outcome
            .get_or_init(|| measure_one(rule, task.max_megapixels, bench))
            .clone()
    }
}

enum Nearest {
    Scale(Scale),
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
            "The rules {} ({} px/mm) and {} ({} px/mm) disagree, so no scale was taken from them; put each into the folder of its own photographs, or state the scale.",
            first.name,
            figures::plain(scale.value),
            other.name,
            figures::plain(s.value)
        )),
    })
}

fn measure_one(rule: &PhotoRef, max_megapixels: f64, bench: &Bench<'_>) -> Option<Scale> {
    let bytes = fetch(rule, bench.fetcher, max_megapixels).ok()?;
    let _permit = bench.gate.enter(pixels(&bytes, max_megapixels));
    let options = ReadOptions {
        max_megapixels,
        ..ReadOptions::default()
    };
    catch_unwind(AssertUnwindSafe(|| {
        let photo = photo::from_bytes(&bytes, Path::new(&rule.name), &options).ok()?;
        for graduation_mm in GRADUATIONS_MM {
            match measure_rule(&photo, graduation_mm) {
                Ok(reading) => return Some(reading.scale),
                Err(RuleError::Contradiction(_)) => {}
                Err(_) => return None,
            }
        }
        None
    }))
    .unwrap_or(None)
}
