//! `inktell schema`: a JSON Schema on standard output.

use super::{Outcome, output};
use clap::ValueEnum;
use inktell::lot::lines;
use inktell::report::json;

const EXAMPLES: &str = "\
Examples:
  inktell schema > reading.schema.json
      of the document that `inktell examine --json` writes
  inktell schema lot > lot-sheet.schema.json
      of a line of the sheets.jsonl that `inktell lot` writes

Exit codes:
  0  done
  2  trouble: an argument is wrong, or the schema cannot be written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
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
