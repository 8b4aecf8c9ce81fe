//! An even printed tint under the marks.

use super::segment::Segments;
use crate::ink::Inked;
use schemars::JsonSchema;
use serde::Serialize;

/// An even printed tint under the marks.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Film {}

/// Measures it.
#[must_use]
pub fn measure(_inked: &Inked, _segments: &Segments) -> Film {
    Film {}
}
