//! What was asked for → the tasks of a lot.

use super::grouping::{self, Grouping};
use super::run::RunError;
use super::scales::{StatedScales, is_rule_name};
use super::source::{self, Fetcher, Found, SourceError};
use super::spreadsheet::guarded;
use super::task::{PhotoRef, TASK_SCHEMA, Task, holds};
use super::unnamed::Search;
use crate::weigh::Process;
use std::collections::BTreeMap;
use std::io;

/// What the user asks for.
#[derive(Clone, Debug)]
pub struct Request {
    /// Folders, lists, photographs, addresses.
    pub places: Vec<String>,
    /// How photographs are put together to sheets.
    pub grouping: Grouping,
    /// Scales stated by file, sheet or folder.
    pub scales: StatedScales,
    /// Scale of photographs of which nothing better is known, px/mm.
    pub px_per_mm: Option<f64>,
    /// Photograph of a rule for the whole lot, already known to show one.
    pub rule: Option<String>,
    /// Diameter of the loupe's field, mm.
    pub loupe_field_mm: Option<f64>,
    /// Largest picture accepted, 10⁶ px.
    pub max_megapixels: f64,
    /// Probability of each process beforehand.
    pub prior: BTreeMap<Process, f64>,
}

/// The work of a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// One task a sheet, in natural order.
    pub tasks: Vec<Task>,
    /// How sheets were put together, as a clause.
    pub how: String,
    /// What the user should know, as sentences.
    pub notices: Vec<String>,
    /// What was asked for and is not so, as sentences: it concerns even those who want no notices.
    pub amiss: Vec<String>,
}

impl Plan {
    /// Photographs in all tasks.
    #[must_use]
    pub fn photographs(&self) -> usize {
        self.tasks.iter().map(|t| t.photos.len()).sum()
    }

    /// Photographs taken for rules that lie with no sheet.
    #[must_use]
    pub fn rules_apart(&self) -> usize {
        let apart = self.tasks.iter().filter(|t| t.is_of_rules());
        apart.map(|t| t.photos.len()).sum()
    }

    /// Tasks that are no rules' alone.
    #[must_use]
    pub fn sheets(&self) -> usize {
        self.tasks.iter().filter(|t| !t.is_of_rules()).count()
    }

    /// The grouping as CSV, in the form that a list of sheets has; no spreadsheet takes a name in it for a formula.
    ///
    /// # Errors
    /// None that a table in memory can cause.
    pub fn csv(&self) -> io::Result<Vec<u8>> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(["sheet", "file", "note", "px_per_mm"])?;
        for task in &self.tasks {
            for photo in &task.photos {
                let scale = photo.px_per_mm.map_or_else(String::new, |v| v.to_string());
                let note = task.note.as_deref().unwrap_or_default();
                let [sheet, file, note] = [&task.sheet, &photo.name, note].map(guarded);
                writer.write_record([sheet, file, note, scale])?;
            }
        }
        writer
            .into_inner()
            .map_err(|e| io::Error::other(e.to_string()))
    }

    /// Keeps one of `of` shares, `number` counted from 1. The shares of one lot never meet and
    /// together are the whole.
    pub fn keep_part(&mut self, number: u64, of: u64) {
        self.tasks.retain(|task| task.share(of) + 1 == number);
    }
}

/// Names of files left alone that are given as examples.
const EXAMPLES: usize = 3;

/// Lists, groups and looks up scales.
///
/// # Errors
/// As [`source::list`].
pub fn plan(request: &Request, fetcher: &Fetcher) -> Result<Plan, SourceError> {
    let listing = source::list(&request.places, fetcher)?;
    let rules = named_rules(&listing.photos, request.rule.as_deref());
    Ok(of_listing(listing, rules, request))
}

/// The same, with rules whose names do not say so looked for among the photographs of which no scale
/// is known.
///
/// # Errors
/// As [`plan`], and when no thread can be started.
pub fn plan_with_search(request: &Request, search: &Search) -> Result<Plan, PlanError> {
    let listing = source::list(&request.places, search.fetcher)?;
    let mut rules = named_rules(&listing.photos, request.rule.as_deref());
    // A name is no proof: "scale of a fish" must not keep a rule beside it from being found.
    let without: Vec<Found> = listing
        .photos
        .iter()
        .filter(|photo| !has_scale(photo, request))
        .cloned()
        .collect();
    for found in search.among(&without, request.max_megapixels)? {
        if rules.iter().all(|rule| rule.location != found.location) {
            rules.push(photo(found, None));
        }
    }
    Ok(of_listing(listing, rules, request))
}

/// Why a lot could not be planned.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// A source could not be listed.
    #[error(transparent)]
    Source(#[from] SourceError),
    /// The photographs could not be looked at.
    #[error(transparent)]
    Run(#[from] RunError),
}

/// Whether something states the scale of a photograph before it is looked at.
fn has_scale(photo: &Found, request: &Request) -> bool {
    let folder = super::task::folder_of(&photo.name);
    request.px_per_mm.is_some()
        || request.rule.is_some()
        || request.scales.of(&photo.name, folder).is_some()
}

fn of_listing(listing: source::Listing, rules: Vec<PhotoRef>, request: &Request) -> Plan {
    let grouped = grouping::group(listing.photos, &request.grouping);
    let tasks: Vec<Task> = grouped
        .sheets
        .into_iter()
        .map(|sheet| task(sheet, &rules, request))
        .collect();
    let (mut notices, mut amiss) = (grouped.notices, grouped.amiss);
    notices.extend(left_alone(&listing.left_alone));
    let names: Vec<(&str, &str)> = tasks
        .iter()
        .flat_map(|t| t.photos.iter().map(|p| (p.name.as_str(), t.sheet.as_str())))
        .collect();
    for place in request.scales.unknown_places(&names) {
        amiss.push(format!(
            "A scale is stated for \u{201c}{place}\u{201d}, but no file, sheet or folder has that name."
        ));
    }
    Plan {
        tasks,
        how: grouped.how,
        notices,
        amiss,
    }
}

fn task(sheet: grouping::Sheet, rules: &[PhotoRef], request: &Request) -> Task {
    let photos: Vec<PhotoRef> = sheet
        .files
        .into_iter()
        .map(|(found, stated)| {
            let scale = stated.or_else(|| request.scales.of(&found.name, &sheet.name));
            photo(found, scale)
        })
        .collect();
    let serves = |rule: &&PhotoRef| {
        photos.iter().any(|p| {
            // A rule among the sheet's own files must be known as one, whatever is stated.
            let unscaled = p.px_per_mm.is_none() && holds(&rule.folder(), &p.folder());
            unscaled || p.location == rule.location
        })
    };
    Task {
        schema: TASK_SCHEMA.to_owned(),
        rules: rules.iter().filter(serves).cloned().collect(),
        sheet: sheet.name,
        note: sheet.note,
        photos,
        px_per_mm: request.px_per_mm,
        loupe_field_mm: request.loupe_field_mm,
        max_megapixels: request.max_megapixels,
        prior: request.prior.clone(),
    }
}

fn photo(found: Found, px_per_mm: Option<f64>) -> PhotoRef {
    PhotoRef {
        name: found.name,
        location: found.location,
        stamp: found.stamp,
        px_per_mm,
        is_named_rule: false,
    }
}

/// Photographs whose name says that they show a rule, and the one for the whole lot.
fn named_rules(photos: &[Found], of_the_lot: Option<&str>) -> Vec<PhotoRef> {
    let mut rules: Vec<PhotoRef> = photos
        .iter()
        .filter(|found| is_rule_name(&found.name))
        .map(|found| photo(found.clone(), None))
        .collect();
    if let Some(location) = of_the_lot {
        let location = as_listed(photos, location);
        // Below its plain name it lies at the top, and so holds for every folder.
        let mut named = photo(source::named(location), None);
        named.is_named_rule = true;
        rules.retain(|rule| rule.location != location || !rule.folder().is_empty());
        rules.push(named);
    }
    rules
}

/// The location of a file as it is among the photographs, however the user writes its path: within a lot locations
/// are compared as they stand.
fn as_listed<'a>(photos: &'a [Found], location: &'a str) -> &'a str {
    let file = source::identity(location);
    let mut listed = photos.iter().map(|photo| &photo.location[..]);
    let same = listed.find(|listed| source::identity(listed) == file);
    same.unwrap_or(location)
}

fn left_alone(names: &[String]) -> Option<String> {
    let examples: Vec<&str> = names.iter().take(EXAMPLES).map(String::as_str).collect();
    match names.len() {
        0 => None,
        1 => Some(format!("Left alone as no photograph: {}.", examples[0])),
        n if n <= EXAMPLES => Some(format!(
            "Left alone as no photographs: {}.",
            examples.join(", ")
        )),
        n => Some(format!(
            "Left alone as no photographs: {n} entries, such as {}.",
            examples.join(", ")
        )),
    }
}

#[cfg(test)]
pub(crate) mod tests;
