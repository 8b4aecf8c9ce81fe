//! Systems of hatching.

use super::segment::Segments;
use crate::ink::Inked;
use schemars::JsonSchema;
use serde::Serialize;

/// Systems of hatching.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Lines {}

/// Measures it.
#[must_use]
pub fn measure(_inked: &Inked, _segments: &Segments) -> Lines {
    Lines {}
}
