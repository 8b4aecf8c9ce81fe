//! A whole lot: photographs of many sheets → one reading a sheet, in the order to look at them.
//!
//! - [`names`]: what stands in a lot's folder. [`task`]: the work on one sheet, as it travels to whoever does it.
//! - [`source`]: where photographs come from: folders, lists, object stores.
//! - [`natural`]: names in the order a person puts them in. [`pattern`]: sheet names inside file names.
//! - [`spelling`]: one spelling of names that look the same.
//! - [`grouping`]: photographs → sheets. [`scales`]: what is known of their scale. [`unnamed`]: rules
//!   whose names do not say so. [`spreadsheet`]: the user's own tables of either.
//! - [`plan`]: all of that → the tasks of a lot, or of one share of it.
//! - [`sheet`]: the pure function: the files of one sheet → a [`record`].
//! - [`detail`]: the telling detail of a photograph. [`likeness`]: what two photographs of one spot share.
//! - [`gate`]: memory kept within bounds. [`run`]: many sheets at once.
//! - [`ledger`]: finished sheets on disk, safe at any moment.
//! - [`order`]: which sheet to look at first, and how many to look at. [`ordered`]: the lot in that order.
//! - [`duplicates`]: the same file, or the same spot, twice.
//! - [`settings`]: what was asked for. [`resume`]: going on with it. [`merge`]: parts → one lot.
//!   [`overwriting`]: files that results must not take the place of.
//! - [`table`], [`columnar`], [`lines`], [`page`], [`results`]: what is written at the end.
//! - [`demo`]: an invented estate to try it on.

pub mod columnar;
pub mod demo;
pub mod detail;
pub mod duplicates;
pub mod gate;
pub mod grouping;
pub mod ledger;
pub mod likeness;
pub mod lines;
pub mod merge;
pub mod names;
pub mod natural;
pub mod order;
pub mod ordered;
pub mod overwriting;
pub mod page;
pub mod pattern;
pub mod plan;
pub mod record;
pub mod results;
pub mod resume;
pub mod run;
pub mod scales;
pub mod settings;
pub mod sheet;
pub mod source;
pub mod spelling;
pub mod spreadsheet;
pub mod table;
pub mod task;
pub mod unnamed;
