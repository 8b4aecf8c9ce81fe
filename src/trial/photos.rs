//! A folder of photographs with known truth: `manifest.csv`, or a `.json` beside each photograph.

use super::Outcome;
use crate::examine;
use crate::photo::ReadOptions;
use crate::weigh::read::{equal_priors, read};
use crate::weigh::reference::REFERENCE;
use crate::weigh::{Colouring, Process};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A photograph and what is known of it.
#[derive(Clone, Debug)]
pub struct Known {
    /// The file.
    pub file: PathBuf,
    /// Group that must not be split.
    pub group: String,
    /// True process; none outside the five.
    pub process: Option<Process>,
    /// The process in the words that came with the photograph.
    pub said: String,
    /// True colouring; empty where unknown.
    pub colouring: Vec<Colouring>,
    /// Scale where known, px per mm.
    pub px_per_mm: Option<f64>,
}

/// Finds the photographs below a folder that come with truth.
///
/// # Errors
/// When the folder, a manifest or what lies beside a photograph cannot be read.
pub fn known(folder: &Path) -> std::io::Result<Vec<Known>> {
    let manifest = folder.join("manifest.csv");
    let mut found = if manifest.is_file() {
        from_manifest(folder, &manifest)?
    } else {
        Vec::new()
    };
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() && !manifest.is_file() {
            found.extend(known(&path)?);
        } else if path.extension().is_some_and(|e| e == "json") {
            // Of a photograph in the manifest that row counts, whatever lies beside it.
            let listed = |photo: &Known| photo.file.with_extension("json") == path;
            if !found.iter().any(listed) {
                found.extend(beside(&path)?);
            }
        }
    }
    found.sort_by(|a, b| a.file.cmp(&b.file));
    found.dedup_by(|later, first| later.file == first.file);
    Ok(found)
}

/// What was said of the photographs that are taken as outside the five, and of how many each: a process that is
/// misspelt shows here.
#[must_use]
pub fn outside_the_five(known: &[Known]) -> BTreeMap<&str, usize> {
    let mut said = BTreeMap::new();
    for photo in known.iter().filter(|photo| photo.process.is_none()) {
        *said.entry(photo.said.as_str()).or_default() += 1;
    }
    said
}

/// Reads each of them; files that cannot be read are left out and named.
#[must_use]
pub fn read_all(known: &[Known], done: &(dyn Fn() + Sync)) -> (Vec<Outcome>, Vec<String>) {
    let results: Vec<Result<Outcome, String>> = known
        .par_iter()
        .map(|photo| {
            let options = ReadOptions {
                px_per_mm: photo.px_per_mm,
                ..ReadOptions::default()
            };
            let examined = examine::photograph(&photo.file, &options).map_err(|e| e.to_string())?;
            done();
            Ok(Outcome {
                name: photo
                    .file
                    .file_name()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned(),
                group: photo.group.clone(),
                process: photo.process,
                colouring: photo.colouring.clone(),
                reading: read(&[examined], &equal_priors(), &REFERENCE),
            })
        })
        .collect();
    let mut outcomes = Vec::new();
    let mut unread = Vec::new();
    for result in results {
        match result {
            Ok(outcome) => outcomes.push(outcome),
            Err(error) => unread.push(error),
        }
    }
    (outcomes, unread)
}

fn from_manifest(folder: &Path, manifest: &Path) -> std::io::Result<Vec<Known>> {
    let mut input = csv::Reader::from_path(manifest)?;
    let headers = input.headers()?.clone();
    let column = |name: &str| headers.iter().position(|h| h == name);
    let columns = ["file", "process", "colouring", "scale_px_per_mm", "group"].map(column);
    let mut found = Vec::new();
    for record in input.records() {
        let record = record?;
        let field = |i: usize| columns[i].and_then(|c| record.get(c)).unwrap_or_default();
        found.push(Known {
            file: folder.join(field(0)),
            group: field(4).to_owned(),
            process: process_named(field(1)),
            said: field(1).to_owned(),
            colouring: colouring_named(field(2)),
            px_per_mm: field(3).parse().ok(),
        });
    }
    Ok(found)
}

/// Truth beside a photograph of the same name, in any of the forms that simulators and `inktell specimen` write; none where
/// no photograph has that name.
fn beside(json: &Path) -> std::io::Result<Option<Known>> {
    let mut files = ["jpg", "png"].iter().map(|e| json.with_extension(e));
    let Some(file) = files.find(|f| f.is_file()) else {
        return Ok(None);
    };
    let refused = |why: String| {
        let next =
            "mend it, name the photograph in a manifest.csv, or move the file out of the folder";
        std::io::Error::other(format!("{}: {why}; {next}", json.display()))
    };
    let truth: serde_json::Value = serde_json::from_slice(&std::fs::read(json)?)
        .map_err(|e| refused(format!("is not JSON ({e})")))?;
    let (said, process, colouring) = if truth["screening"].is_string() {
        let said = text(&truth, "process");
        (said, Some(Process::Halftone), screened_colouring(&truth))
    } else if truth["origin"].is_string() {
        of_specimen(&truth)
    } else if truth["process"].is_string() {
        let said = text(&truth, "process");
        let process = process_named(&said);
        (
            said,
            process,
            colouring_named(&text(&truth, "colour_layering")),
        )
    } else {
        return Err(refused(
            "says nothing of how the print was made, in none of the keys origin, process and screening".to_owned(),
        ));
    };
    Ok(Some(Known {
        group: file
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned(),
        process,
        said,
        colouring,
        px_per_mm: truth["px_per_mm"].as_f64(),
        file,
    }))
}

fn text(truth: &serde_json::Value, key: &str) -> String {
    truth[key].as_str().unwrap_or_default().to_owned()
}

fn screened_colouring(truth: &serde_json::Value) -> Vec<Colouring> {
    match text(truth, "kind").as_str() {
        "am_cmyk" | "fm" | "inkjet" => vec![Colouring::ProcessColour],
        "am_black" | "ordered" => vec![Colouring::None],
        _ => Vec::new(),
    }
}

/// What a drawn specimen is, in words, its process, and its colouring. What a reproduction is besides is said in words
/// too, so its process counts first.
fn of_specimen(truth: &serde_json::Value) -> (String, Option<Process>, Vec<Colouring>) {
    let origin = text(truth, "origin");
    let process = process_named(&origin);
    let said = if process.is_none() && truth["other"].is_string() {
        text(truth, "other")
    } else {
        origin
    };
    let kinds = truth["colouring"].as_array().into_iter().flatten();
    let kinds = kinds.filter_map(serde_json::Value::as_str);
    (said, process, kinds.flat_map(colouring_named).collect())
}

fn process_named(name: &str) -> Option<Process> {
    match name {
        "halftone_letterpress" | "mechanical_tint_colour_print" => Some(Process::Halftone),
        other => Process::from_key(&other.replace('_', "-")),
    }
}

fn colouring_named(name: &str) -> Vec<Colouring> {
    name.split('+')
        .filter_map(|part| match part.replace('_', "-").as_str() {
            "in-ink" | "colour-ink" => Some(Colouring::ColouredInk),
            other => Colouring::from_key(other),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_manifest_counts_before_what_lies_beside_and_a_misspelt_process_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let write =
            |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        write(
            "manifest.csv",
            "file,process,group\na.png,lithograph,one\nb.png,litograph,two\n",
        );
        write("a.png", "");
        write("a.json", r#"{"process": "stipple_engraving"}"#);
        let known = known(folder.path()).unwrap();
        assert_eq!(known.len(), 2);
        assert_eq!(known[0].process, Some(Process::Lithograph));
        assert_eq!(outside_the_five(&known), BTreeMap::from([("litograph", 1)]));
    }
    #[test]
    fn what_was_drawn_is_read_and_what_says_nothing_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let write =
            |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        let drawn = |name: &str, truth: &str| {
            write(&format!("{name}.jpg"), "");
            write(&format!("{name}.json"), truth);
        };
        drawn(
            "a",
            r#"{"origin": "halftone", "other": "an offset print", "colouring": ["process-colour"], "px_per_mm": 32.0}"#,
        );
        drawn(
            "b",
            r#"{"origin": "other", "other": "aquatint", "colouring": ["none"]}"#,
        );
        drawn(
            "c",
            r#"{"origin": "tinted-lithograph", "other": null, "colouring": ["printed-tint", "hand-wash"]}"#,
        );
        // Beside no photograph it is none of ours.
        write("notes.json", "{}");
        let all = known(folder.path()).unwrap();
        let read: Vec<_> = all
            .iter()
            .map(|k| (k.process, k.colouring.clone()))
            .collect();
        let tinted = vec![Colouring::PrintedTint, Colouring::HandWash];
        assert_eq!(
            read,
            [
                (Some(Process::Halftone), vec![Colouring::ProcessColour]),
                (None, vec![Colouring::None]),
                (Some(Process::TintedLithograph), tinted),
            ]
        );
        assert_eq!(all[0].px_per_mm, Some(32.0));
        assert_eq!(outside_the_five(&all), BTreeMap::from([("aquatint", 1)]));
        drawn("d", r#"{"title": "a leaf"}"#);
        let error = known(folder.path()).unwrap_err().to_string();
        assert!(
            error.contains("d.json") && error.contains("origin"),
            "{error}"
        );
    }
}
