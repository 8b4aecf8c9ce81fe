//! The forward model: drawing → plate, stone or screen → ink on paper → loupe photo, with exact truth.
//!
//! - [`sheet`]: the types that travel: ink layers, a printed sheet, its truth.
//! - [`drawing`]: an invented natural-history subject as tone, form direction and outlines.
//! - [`plate`]: intaglio marks: stipple, burin and etched line.
//! - [`stone`]: crayon grain and tint stone.
//! - [`block`]: look-alikes outside the five processes: wood engraving, aquatint, mezzotint, collotype, letterpress, blank paper.
//! - [`colouring`]: inks in colour, hand wash.
//! - [`screen`]: clustered, stochastic and inkjet screening of any original.
//! - [`paper`]: wove and laid paper, foxing, ink spread.
//! - [`camera`]: optics, loupe field, light, noise, JPEG.
//! - [`series`]: seeded series of photographs over the nuisances of real ones.

pub mod drawing;
pub mod noise;
pub mod patches;
pub mod sheet;
