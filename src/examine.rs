//! The main job: photo files of one sheet → measurements → one reading.

use crate::ink;
use crate::measure;
pub use crate::measure::Examined;
use crate::photo::{self, PhotoError, ReadOptions};
use crate::weigh::{Process, Reading};
use std::collections::BTreeMap;
use std::path::PathBuf;

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
pub fn photograph(file: &std::path::Path, options: &ReadOptions) -> Result<Examined, PhotoError> {
    let photo = photo::read(file, options)?;
    let inked = ink::ink_on_paper(&photo);
    let measurements = measure::measure(&inked);
    Ok(Examined {
        photo,
        inked,
        measurements,
    })
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

/// Combines what several photographs of one sheet say. `prior`: probability of each process
/// before the photographs are looked at; equal where none is given.
#[must_use]
pub fn together(photos: Vec<Examined>, _prior: Option<BTreeMap<Process, f64>>) -> Examination {
    let reading = Reading {
        process: None,
        posterior: BTreeMap::new(),
        prior: BTreeMap::new(),
        log10_lr: BTreeMap::new(),
        strength: String::new(),
        fit: None,
        colouring: vec![crate::weigh::Colouring::Undetermined],
        colouring_posterior: BTreeMap::new(),
        undetermined_because: vec!["the weighing is not built yet".into()],
        next_photographs: Vec::new(),
        findings: Vec::new(),
    };
    Examination { photos, reading }
}
