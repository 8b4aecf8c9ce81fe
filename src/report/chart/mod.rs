//! Small charts as SVG: labelled axes with units, readable in print and without colour.
//!
//! - [`sizes`]: histogram of mark sizes.
//! - [`spectrum`]: spacings and directions of what repeats, peaks named.
//! - [`colours`]: scatter of mark and ground colours.
//! - [`weights`]: weights of the findings as bars.

pub mod axis;
pub mod colours;
pub mod sizes;
pub mod spectrum;
pub mod transform;
pub mod weights;

use maud::Markup;

/// A chart, or why there is none.
pub enum Chart {
    /// The drawing with its title and reading aid.
    Drawn {
        /// What it shows, in words.
        title: String,
        /// How to read it, one or two sentences.
        aid: &'static str,
        /// The drawing.
        svg: Markup,
    },
    /// Nothing to draw.
    Missing {
        /// What it would show.
        title: &'static str,
        /// Why not, as a clause.
        why: String,
    },
}
