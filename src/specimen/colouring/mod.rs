//! Colour by hand and colour in the ink.

pub mod inks;
pub mod poupee;
pub mod wash;
