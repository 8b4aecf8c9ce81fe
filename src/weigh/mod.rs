//! Measurements → likelihood ratios → a reading, and what to photograph next.
//!
//! - [`reading`]: the types that travel on: findings, the reading, its words.

pub mod advice;
mod colour;
pub mod doubt;
pub mod features;
pub mod fuse;
pub mod likelihood;
pub mod read;
pub mod reading;
pub mod reference;
pub mod score;
pub mod table;
mod together;
pub mod typical;
mod usual;
pub mod variety;

pub use reading::{Colouring, Finding, Process, Reading};
