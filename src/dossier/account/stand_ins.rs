//! What stands in for photographs that an export leaves out.

use super::Telling;
use crate::dossier::entry::FileRef;
use crate::dossier::left_out::{self, LeftOut};
use crate::dossier::line::Log;
use crate::dossier::privacy;
use crate::photo::sha256_hex;
use std::collections::BTreeMap;

/// What is shown in the stead of photographs that an earlier export left out.
pub(super) struct StandIns<'a> {
    telling: &'a Telling<'a>,
    left_out: Option<LeftOut>,
}

impl<'a> StandIns<'a> {
    pub(super) fn of(telling: &'a Telling<'a>) -> Self {
        Self {
            telling,
            left_out: left_out::read(telling.contents, telling.log),
        }
    }

    /// The SHA-256 of what is shown: a reader who takes that of the file before them must find it here.
    pub(super) fn hash_in_words(&self, file: &FileRef) -> String {
        let Telling { contents, log, .. } = self.telling;
        let original = &file.digest.sha256;
        let excused = self.left_out.as_ref().and_then(|l| l.excuse(file));
        let copy = excused.and_then(|photo| photo.copy.as_ref());
        match copy.filter(|_| contents.read(&file.path).is_err()) {
            None => format!("SHA-256 {original}"),
            Some(copy) => format!(
                "SHA-256 {} of what is shown, {} of the original without its location; SHA-256 {original} of the original, which was left out",
                copy.digest.sha256,
                copy_or_said_to_be(log, file)
            ),
        }
    }
}

/// That something is a copy of a photograph, as far as the log bears it out.
fn copy_or_said_to_be(log: &Log, original: &FileRef) -> &'static str {
    match left_out::pinned(log, original) {
        Some(_) => "a copy",
        None => "said to be a copy",
    }
}

/// A copy without the place where its photograph was taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Copy {
    /// Its SHA-256.
    pub sha256: String,
    /// "a copy", or that it is said to be one.
    pub what: &'static str,
}

/// The photographs that are not in this export, by their SHA-256: those that an earlier one left out, and
/// where places are not told those that hold one. With each its copy, where there is one.
pub(super) fn absent(telling: &Telling<'_>) -> BTreeMap<String, Option<Copy>> {
    let Telling { contents, log, .. } = telling;
    let before = left_out::read(*contents, log).into_iter();
    let before = before.flat_map(|left_out| left_out.photographs);
    let gone = before.filter(|photo| contents.read(&photo.original.path).is_err());
    let mut all: BTreeMap<_, _> = gone
        .map(|photo| {
            let copy = photo.copy.map(|copy| Copy {
                sha256: copy.digest.sha256,
                what: copy_or_said_to_be(log, &photo.original),
            });
            (photo.original.digest.sha256, copy)
        })
        .collect();
    if telling.tell_places {
        return all;
    }
    for (original, _) in privacy::located(*contents, log) {
        let bytes = contents.read(&original.path).unwrap_or_default();
        // Made here from the photograph itself.
        let copy = left_out::copy_of(log, &original, &bytes).map(|copy| Copy {
            sha256: sha256_hex(&copy),
            what: "a copy",
        });
        all.insert(original.digest.sha256, copy);
    }
    all
}
