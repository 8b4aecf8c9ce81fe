//! A reading → words, figures, HTML, JSON, terminal.
//!
//! - [`words`]: every sentence and label that a person reads, in the trade's language.
//! - [`figures`]: numbers with units and intervals, rounded to what the interval supports.
//! - [`listing`]: measurements flattened to rows, figures and missing figures alike.
//! - [`json`]: the document of `--json` and its JSON Schema.
//! - [`terminal`]: the short summary in plain text.

pub mod figures;
pub mod json;
pub mod listing;
pub mod terminal;
pub mod words;

#[cfg(test)]
pub(crate) mod example;
