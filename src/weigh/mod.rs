//! Measurements → likelihood ratios → a reading, and what to photograph next.
//!
//! - [`reading`]: the types that travel on: findings, the reading, its words.

pub mod reading;

pub use reading::{Colouring, Finding, Process, Reading};
