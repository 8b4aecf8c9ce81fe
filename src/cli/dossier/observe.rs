//! `inktell dossier observe`: what no photograph shows.

use super::signing::Signing;
use crate::cli::Outcome;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::entry::Means;
use inktell::dossier::store::Store;
use inktell::dossier::work;
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  inktell dossier observe heron --by touch \"Plate mark felt on three sides.\"
  inktell dossier observe heron --by transmitted-light \"Laid; chain lines 25 mm apart.\"
  inktell dossier observe heron --by ultraviolet \"No part of the paper glows blue-white.\"

Under ultraviolet light wear goggles made for it, use long-wave (UV-A) only, and keep
it short. Use no wet, solvent or destructive test.

Exit codes:
  0  done
  2  trouble: an argument is wrong, a file cannot be read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder of the dossier
    dossier: PathBuf,
    /// What you saw or felt, in your own words; "-" reads it from standard input
    text: String,
    /// How: touch, raking-light, transmitted-light, ultraviolet, eye, other
    #[arg(long, value_name = "MEANS", value_parser = means)]
    by: Means,
    #[command(flatten)]
    signing: Signing,
}

fn means(text: &str) -> Result<Means, String> {
    Means::ALL
        .into_iter()
        .find(|means| means.key() == text)
        .ok_or_else(|| format!("choose from {}", Means::ALL.map(Means::key).join(", ")))
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let text = super::text_given(&options.text)?;
    let hand = options.signing.ready()?;
    let store = Store::new(&options.dossier, &RealDisk);
    let receipt = work::observation(&store, &hand.author(), &super::patience(), options.by, text)?;
    super::acknowledge(&receipt, "an observation", hand.signs())?;
    Ok(Outcome::Done)
}
