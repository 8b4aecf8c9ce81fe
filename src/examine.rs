//! The main job: photo files of one sheet → measurements → one reading.

use crate::ink;
use crate::measure;
pub use crate::measure::Examined;
use crate::photo::{self, Photo, PhotoError, ReadOptions};
use crate::weigh::reference::REFERENCE;
use crate::weigh::{self, Process, Reading};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The result for one sheet.
pub struct Examination {
    /// Each photograph, in the order given.
    pub photos: Vec<Examined>,
    /// The combined reading.
    pub reading: Reading,
}

/// Examines one photograph.
///
/// # Errors
/// As [`photo::read`].
pub fn photograph(file: &Path, options: &ReadOptions) -> Result<Examined, PhotoError> {
    Ok(measured(photo::read(file, options)?))
}

/// Examines a photograph whose file is already in memory; `name` is kept as its name.
///
/// # Errors
/// As [`photo::read`].
pub fn bytes(bytes: &[u8], name: &Path, options: &ReadOptions) -> Result<Examined, PhotoError> {
    Ok(measured(photo::from_bytes(bytes, name, options)?))
}

fn measured(photo: Photo) -> Examined {
    let inked = ink::ink_on_paper(&photo);
    let measurements = measure::measure(&inked);
    Examined {
        photo,
        inked,
        measurements,
    }
}

/// Combines photographs already measured, all of one sheet into one reading; equal priors unless others are given.
#[must_use]
pub fn together(photos: Vec<Examined>, prior: Option<BTreeMap<Process, f64>>) -> Examination {
    let prior = prior.unwrap_or_else(weigh::read::equal_priors);
    let reading = weigh::read::read(&photos, &prior, &REFERENCE);
    Examination { photos, reading }
}

/// Examines several photographs of one sheet and combines what they say.
///
/// # Errors
/// As [`photo::read`], for the first file that cannot be read.
pub fn sheet(
    files: &[PathBuf],
    options: &ReadOptions,
    prior: Option<BTreeMap<Process, f64>>,
) -> Result<Examination, PhotoError> {
    let photos = files
        .iter()
        .map(|file| photograph(file, options))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(together(photos, prior))
}
