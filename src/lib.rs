//! `inktell` measures a loupe photograph of a print and weighs how it was printed.
//!
//! Data flows one way; a module imports only what stands above it in this list.
//!
//! - [`plane`]: the raster types that travel (`Plane`, `Mask`, `Rgb`) and the coordinate frame.
//! - [`measured`]: a measured figure: value, 95 % interval, unit, sample count, or the reason why not.
//! - [`rank`]: quantiles of plain numbers.
//! - [`photo`]: a file → linear light, usable field, scale, adequacy.
//! - [`ink`]: linear light → optical density over the local paper, and ink separations.
//! - [`measure`]: densities → marks, lines, lattice, grain, film, layering.
//! - [`weigh`]: measurements → likelihood ratios → a reading, and what to photograph next.
//! - [`report`]: a reading → words, figures, HTML, JSON, terminal.
//! - [`specimen`]: the forward model that draws photographs with exact truth (uses `plane` and `ink` colours only).
//! - [`examine`]: the main job, from files to a reading.
//! - [`lot`]: many sheets at once, in the order in which to look at them.
//! - [`dossier`]: the evidence on one sheet, kept so that others can check it.
//! - [`trial`]: readings against known truth: fitting the reference, scoring, field trials.

pub mod dossier;
pub mod examine;
pub mod ink;
pub mod lot;
pub mod measure;
pub mod measured;
pub mod photo;
pub mod plane;
pub mod rank;
pub mod report;
pub mod specimen;
pub mod trial;
pub mod weigh;
pub mod whole_file;
