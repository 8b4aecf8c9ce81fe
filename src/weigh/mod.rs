//! Measurements → likelihood ratios → a reading, and what to photograph next.
//!
//! - [`reading`]: the types that travel on: findings, the reading, its words.

pub mod fuse;
pub mod likelihood;
pub mod reading;
pub mod score;
pub mod typical;

pub use reading::{Colouring, Finding, Process, Reading};
