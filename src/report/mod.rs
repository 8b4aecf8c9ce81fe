//! A reading → words, figures, HTML, JSON, terminal.
//!
//! - [`words`]: every sentence and label that a person reads, in the trade's language.
//! - [`figures`]: numbers with units and intervals, rounded to what the interval supports.
//! - [`listing`]: measurements flattened to rows, figures and missing figures alike.
//! - [`json`]: the document of `--json` and its JSON Schema.
//! - [`terminal`]: the short summary in plain text.
//! - [`picture`]: the photograph as it is shown. [`overlay`]: what was measured, drawn over it.
//! - [`chart`]: small charts.
//! - [`html`]: the report as one page that needs nothing else.

pub mod chart;
pub mod figures;
pub mod html;
pub mod json;
pub mod listing;
pub mod overlay;
pub mod picture;
pub mod terminal;
pub mod words;

#[cfg(test)]
pub(crate) mod example;
