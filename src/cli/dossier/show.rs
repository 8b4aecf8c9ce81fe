//! `inktell dossier show`: a dossier on the terminal.

use crate::cli::{Outcome, moment, output};
use inktell::dossier::account::{self, Telling};
use inktell::dossier::{export, verify};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Example:
  inktell dossier show heron | less

Hashes, signatures and the chain are checked on the way; photographs are not measured
again (inktell dossier verify does that).

Exit codes:
  0  done
  1  something in the dossier does not hold
  2  trouble: an argument is wrong, a file cannot be read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder or ZIP file of the dossier
    dossier: PathBuf,
    /// Do not spell out the places where photographs were taken
    #[arg(long)]
    without_location: bool,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let contents = super::open(&options.dossier)?;
    let log = super::log(contents.as_ref(), &options.dossier)?;
    let verdict = verify::verify(contents.as_ref(), &verify::Asked::default());
    let account = account::account(&Telling {
        contents: contents.as_ref(),
        log: &log,
        verdict: &verdict,
        made: &moment::in_words(None),
        tell_places: !options.without_location,
    });
    output::print(&export::text::text(&account, output::terminal_width()))?;
    Ok(Outcome::held(verdict.holds()))
}
