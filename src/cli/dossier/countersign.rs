//! `inktell dossier countersign`: put your name to what stands so far.

use super::signing::Signing;
use crate::cli::Outcome;
use anyhow::bail;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::store::Store;
use inktell::dossier::{verify, work};
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Example:
  inktell dossier countersign heron --key ~/second.key \\
      \"I have had the sheet in hand and saw what entries 2 to 5 describe.\"

Verify the dossier first: here only its hashes and signatures are looked at, and one that does not
hold is not signed. What you sign covers every entry that stands before it.

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
    holds(&options.dossier)?;
    let hand = options.signing.ready()?;
    let store = Store::new(&options.dossier, &RealDisk);
    let receipt = work::countersignature(&store, &hand.author(), &super::patience(), text)?;
    super::acknowledge(&receipt, "a countersignature", hand.signs())?;
    Ok(Outcome::Done)
}

/// Nobody should put their name to files that are gone or changed. The photographs are not measured again.
fn holds(dossier: &Path) -> anyhow::Result<()> {
    let contents = super::open(dossier)?;
    let asked = verify::Asked {
        measure: false,
        ..verify::Asked::default()
    };
    let verdict = verify::verify(contents.as_ref(), &asked);
    if let Some(shortfall) = verify::words::shortfall(&verdict) {
        bail!(
            "{}: this dossier {}, so nothing was signed; see: inktell dossier verify",
            dossier.display(),
            shortfall.in_words()
        );
    }
    Ok(())
}
