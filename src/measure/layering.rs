//! Where the colour lies: in the ink, or washed over black.

use super::segment::Segments;
use crate::ink::Inked;
use schemars::JsonSchema;
use serde::Serialize;

/// Where the colour lies: in the ink, or washed over black.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Layering {}

/// Measures it.
#[must_use]
pub fn measure(_inked: &Inked, _segments: &Segments) -> Layering {
    Layering {}
}
