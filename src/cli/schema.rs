//! `inktell schema`: the JSON Schema on standard output.

use super::{Outcome, output};
use inktell::report::json;

pub fn run() -> anyhow::Result<Outcome> {
    output::print(&json::schema_text()?)?;
    Ok(Outcome::Done)
}
