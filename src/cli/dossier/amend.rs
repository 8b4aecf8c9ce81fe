//! `inktell dossier amend`: correct or withdraw an earlier entry.

use super::signing::Signing;
use crate::cli::Outcome;
use anyhow::bail;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::store::Store;
use inktell::dossier::work::{self, Correction};
use std::collections::BTreeMap;
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  inktell dossier amend heron 1 --set sheet=494x305 \"Measured again with a steel rule.\"
  inktell dossier amend heron 1 --set \"inscriptions-and-markings=lower left: 3/50 | verso: a stamp\" \"I had overlooked the stamp.\"
  inktell dossier amend heron 3 \"The plate mark is felt on all four sides.\"
  inktell dossier amend heron 4 --withdraw \"These photographs are of another sheet.\"

Nothing is erased: the entry and its correction both stay in the log. Photographs of a
withdrawn entry no longer count for a conclusion.

Exit codes:
  0  done
  2  trouble: an argument is wrong, a file cannot be read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder of the dossier
    dossier: PathBuf,
    /// Number of the entry that is corrected
    #[arg(value_name = "ENTRY")]
    entry: u64,
    /// The correction in your own words; "-" reads it from standard input
    text: String,
    /// A field of the sheet's particulars as it should read (entry 1 only), each field once; empty clears
    /// it. Inscriptions are replaced all together: write every one, separated by " | "
    #[arg(long = "set", value_name = "FIELD=TEXT", value_parser = pair)]
    set: Vec<(String, String)>,
    /// Withdraw the entry as a whole
    #[arg(long, conflicts_with = "set")]
    withdraw: bool,
    #[command(flatten)]
    signing: Signing,
}

fn pair(text: &str) -> Result<(String, String), String> {
    let (key, value) = text
        .split_once('=')
        .ok_or("write FIELD=TEXT, such as sheet=494x305")?;
    Ok((key.trim().replace('-', "_"), value.trim().to_owned()))
}

/// The fields to be set, each of them given once: of two texts for one field, one would be lost.
fn fields(set: &[(String, String)]) -> anyhow::Result<BTreeMap<String, String>> {
    let mut fields = BTreeMap::new();
    for (field, text) in set {
        if fields.insert(field.clone(), text.clone()).is_some() {
            bail!(
                "--set {} is given twice, and only one text can stand; give each field once, and inscriptions in one text, separated by \" | \"",
                field.replace('_', "-")
            );
        }
    }
    Ok(fields)
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let correction = Correction {
        n: options.entry,
        text: super::text_given(&options.text)?,
        particulars: fields(&options.set)?,
        withdraws: options.withdraw,
    };
    let hand = options.signing.ready()?;
    let store = Store::new(&options.dossier, &RealDisk);
    let receipt = work::amendment(&store, &hand.author(), &super::patience(), correction)?;
    let what = format!("an amendment of entry {}", options.entry);
    super::acknowledge(&receipt, &what, hand.signs())?;
    Ok(Outcome::Done)
}
