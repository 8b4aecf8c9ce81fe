//! Statistics of point patterns: how evenly, closely and in what order points lie.
//!
//! - [`region`]: the area in which points could lie, its border and its overlap with itself moved.
//! - [`neighbours`]: nearest neighbours by buckets.
//! - [`clark_evans`]: one number for even, random or bunched spacing.
//! - [`pairs`]: Ripley's K and the pair correlation function.

pub mod clark_evans;
pub mod neighbours;
pub mod pairs;
pub mod region;

pub use clark_evans::{ClarkEvans, LocalEvenness};
pub use neighbours::Neighbours;
pub use region::Region;

/// A point, `[x, y]`, in any unit that its [`Region`] shares.
pub type Point = [f64; 2];
