//! `inktell dossier countersign`: put your name to what stands so far.

use super::signing::Signing;
use crate::cli::Outcome;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::store::Store;
use inktell::dossier::work;
use std::path::PathBuf;

const EXAMPLES: &str = "\
Example:
  inktell dossier countersign heron --key ~/second.key \\
      \"I have had the sheet in hand and saw what entries 2 to 5 describe.\"

Verify the dossier first. What you sign covers every entry that stands before it.

Exit codes:
  0  done
  2  trouble: an argument is wrong, a file cannot be read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder of the dossier
    dossier: PathBuf,
    /// In what sense you sign, in your own words; "-" reads it from standard input
    text: String,
    #[command(flatten)]
    signing: Signing,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let text = super::text_given(&options.text)?;
    let hand = options.signing.ready()?;
    let store = Store::new(&options.dossier, &RealDisk);
    let receipt = work::countersignature(&store, &hand.author(), &super::patience(), text)?;
    super::acknowledge(&receipt, "a countersignature", hand.signs())?;
    Ok(Outcome::Done)
}
