//! Photographs kept in a dossier, examined with recorded parameters: the first time and again.

use super::entry::Parameters;
use crate::examine::{self, Examination, Examined};
use crate::photo::{self, ReadOptions, Scale, measure_rule};
use std::path::Path;

/// A file in memory with the name it came with.
#[derive(Clone, Debug)]
pub struct Named {
    /// Its name, without a folder.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Examines photographs one by one.
///
/// # Errors
/// A sentence that names the photograph and says what to do next.
pub fn each(
    photos: &[Named],
    rule: Option<&Named>,
    parameters: &Parameters,
) -> Result<Vec<Examined>, String> {
    let scale = rule.map(|rule| scale_of(rule, parameters)).transpose()?;
    let options = parameters.read_options(scale);
    photos
        .iter()
        .map(|photo| {
            examine::bytes(&photo.bytes, Path::new(&photo.name), &options)
                .map_err(|error| error.to_string())
        })
        .collect()
}

/// Examines photographs and combines them.
///
/// # Errors
/// As [`each`].
pub fn together(
    photos: &[Named],
    rule: Option<&Named>,
    parameters: &Parameters,
) -> Result<Examination, String> {
    let examined = each(photos, rule, parameters)?;
    Ok(examine::together(examined, parameters.prior.clone()))
}

fn scale_of(rule: &Named, parameters: &Parameters) -> Result<Scale, String> {
    let graduation_mm = parameters.rule_graduation_mm.ok_or_else(|| {
        format!(
            "{}: the entry does not say how far apart the graduations of this rule are",
            rule.name
        )
    })?;
    let photo = photo::from_bytes(&rule.bytes, Path::new(&rule.name), &ReadOptions::default())
        .map_err(|error| error.to_string())?;
    let reading = measure_rule(&photo, graduation_mm).map_err(|e| format!("{}: {e}", rule.name))?;
    Ok(reading.scale)
}
