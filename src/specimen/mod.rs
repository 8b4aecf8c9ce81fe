//! The forward model: drawing → plate, stone or screen → ink on paper → loupe photo, with exact truth.
//!
//! - [`sheet`]: the types that travel: ink layers, a printed sheet, its truth.
//! - [`drawing`]: an invented natural-history subject as tone, form direction and outlines.
//! - [`plate`]: intaglio marks: stipple, burin and etched line.
//! - [`stone`]: crayon grain and tint stone.
//! - [`block`]: look-alikes outside the five processes: wood engraving, aquatint, mezzotint, collotype, letterpress, blank paper.
//! - [`colouring`]: inks in colour, hand wash.
//! - [`texture`]: random fields of a given grain.
//! - [`blur`]: every blur between plate and sensor.
//! - [`screen`]: clustered, stochastic and inkjet screening of any original.
//! - [`paper`]: wove and laid paper, foxing, ink spread.
//! - [`light`]: light off the printed sheet.
//! - [`camera`]: optics, loupe field, light, noise, JPEG.
//! - [`periodic`]: pictures that repeat but are no screen, and a rule.
//! - `reproduction`: old prints and modern pictures through a screen.
//! - [`truth`]: the truth of a sheet carried through the camera.
//! - [`series`]: seeded series of photographs over the nuisances of real ones.
//! - [`views`]: several photographs of one sheet.

pub mod block;
pub mod blur;
pub mod camera;
pub mod colouring;
pub mod draw;
pub mod drawing;
pub mod light;
pub mod noise;
pub mod paper;
pub mod patches;
pub mod periodic;
pub mod plate;
mod reproduction;
pub mod screen;
pub mod series;
pub mod sheet;
#[cfg(test)]
mod spectrum;
pub mod stone;
pub mod texture;
pub mod truth;
pub mod views;
