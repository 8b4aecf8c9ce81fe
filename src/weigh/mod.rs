//! Measurements → likelihood ratios → a reading, and what to photograph next.
//!
//! - [`reading`]: the types that travel on: findings, the reading, its words.
//! - [`features`]: one number per finding, from the measurements; [`table`]: those of many specimens.
//! - [`likelihood`], [`typical`], [`variety`], [`usual`]: what specimens of each process show.
//! - [`fuse`]: findings that are not independent weighed together; [`trees`]: what they say in each other's company;
//!   [`weigher`]: both; [`together`]: those of several photographs.
//! - [`outside`]: what is so like one of the five that it is told from it apart; [`told_apart`]: by what.
//! - [`reference`]: all that was learned from specimens; [`score`]: how well it does.
//! - [`evidence`]: what was found on one sheet, and what each finding says; [`bearing`]: which photographs a reading
//!   rests on; [`several_inks`]: what shows screens or several inks; [`chances`]: how likely each process is; [`read`]: from that to a reading; [`doubt`]: what chances are drawn
//!   together or raised before a process is named, and why none is; [`last_two`]: which two are left; [`colour`]: where the colour lies; [`advice`]: what to photograph next.

pub mod advice;
mod bearing;
pub mod caution;
mod chances;
mod colour;
pub mod doubt;
pub mod evidence;
pub mod features;
pub mod fuse;
mod last_two;
pub mod likelihood;
pub mod outside;
pub mod read;
pub mod reading;
pub mod reference;
pub mod score;
pub mod several_inks;
pub mod table;
mod together;
pub mod told_apart;
pub mod trees;
pub mod typical;
mod usual;
pub mod variety;
pub mod weigher;

pub use reading::{Colouring, Finding, Process, Reading};
