//! The document of `--json`, its JSON Schema, and how its numbers are written.
//!
//! Decisions where the contract leaves room:
//! - `measurements` at the top is that of the most telling photograph, the one with the most
//!   figures measured (`measurements_of` gives its index). With several photographs each entry
//!   of `photos` also carries its own `measurements`; with one it would only be said twice.
//! - `findings[].reference` is a sentence; `findings[].reference_ranges` the same as numbers.
//! - No time stamp: the same photographs and the same version give the same bytes.

mod document;
mod rounded;

pub use document::{Document, NotRead, SCHEMA_NAME};
pub use rounded::round;

use super::listing;
use crate::examine::Examination;

/// The document for one sheet. `not_read` are photographs that were asked for but could not be read.
#[must_use]
pub fn document<'a>(examination: &'a Examination, not_read: &'a [NotRead]) -> Document<'a> {
    Document::new(
        examination,
        not_read,
        listing::most_telling(&examination.photos),
    )
}

/// The document as text: indented, keys in a fixed order, numbers to six significant digits,
/// a line feed at the end.
///
/// # Errors
/// When a value cannot be written as JSON, which the types rule out.
pub fn text(examination: &Examination, not_read: &[NotRead]) -> serde_json::Result<String> {
    rounded::to_string(&document(examination, not_read))
}

/// The JSON Schema of the document, indented, with a line feed at the end.
///
/// # Errors
/// When the schema cannot be written as JSON, which its type rules out.
pub fn schema_text() -> serde_json::Result<String> {
    let schema = schemars::schema_for!(Document<'static>);
    let mut text = serde_json::to_string_pretty(&schema)?;
    text.push('\n');
    Ok(text)
}
