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
/// When the folder or a manifest cannot be read.
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
            found.extend(beside(&path));
        }
    }
    // Of a photograph in the manifest with a `.json` beside it the manifest's row counts; the sort keeps their order.
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

/// Truth beside a photograph of the same name, in either of the forms that simulators here write.
fn beside(json: &Path) -> Option<Known> {
    let file = ["jpg", "png"]
        .iter()
        .map(|e| json.with_extension(e))
        .find(|f| f.is_file())?;
    let truth: serde_json::Value = serde_json::from_slice(&std::fs::read(json).ok()?).ok()?;
    let text = |key: &str| truth[key].as_str().unwrap_or_default().to_owned();
    let screened = truth["screening"].is_string();
    let colouring = if screened {
        match text("kind").as_str() {
            "am_cmyk" | "fm" | "inkjet" => vec![Colouring::ProcessColour],
            "am_black" | "ordered" => vec![Colouring::None],
            _ => Vec::new(),
        }
    } else {
        colouring_named(&text("colour_layering"))
    };
    Some(Known {
        group: file.file_stem()?.to_string_lossy().into_owned(),
        process: if screened {
            Some(Process::Halftone)
        } else {
            process_named(&text("process"))
        },
        said: text("process"),
        colouring,
        px_per_mm: truth["px_per_mm"].as_f64(),
        file,
    })
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
}
