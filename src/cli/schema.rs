//! `inktell schema`: a JSON Schema on standard output.

use super::{Outcome, output};
use clap::ValueEnum;
use inktell::lot::lines;
use inktell::report::json;

#[derive(Debug, clap::Args)]
pub struct Options {
    /// Of what
    #[arg(value_enum, default_value = "reading", value_name = "DOCUMENT")]
    document: Document,
}

/// Documents with a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Document {
    /// The document that `examine --json` writes, also those in a lot's reports
    Reading,
    /// A line of `sheets.jsonl` that `lot` writes: one sheet
    Lot,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let text = match options.document {
        Document::Reading => json::schema_text()?,
        Document::Lot => lines::schema_text()?,
    };
    output::print(&text)?;
    Ok(Outcome::Done)
}
