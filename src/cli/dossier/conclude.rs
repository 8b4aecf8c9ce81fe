//! `inktell dossier conclude`: the author's own words beside the measured reading.

use super::signing::Signing;
use crate::cli::{Outcome, output};
use inktell::dossier::disk::RealDisk;
use inktell::dossier::entry::Summary;
use inktell::dossier::store::Store;
use inktell::dossier::work::{self, Opinion};
use inktell::dossier::{account, export};
use inktell::examine::Examination;
use inktell::weigh::Colouring;
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  inktell dossier conclude heron --process stipple-engraving --colouring hand-wash \\
      \"Stipple engraving, coloured by hand.\"
  inktell dossier conclude heron --process lithograph \"Crayon lithograph.\" \\
      --because \"The grain is plain under the loupe; the photographs are too soft to measure it.\"

All photographs of the dossier are measured again and read together; where your
conclusion differs from that reading, --because says why. That is no fault: an honest
reading is often \"undetermined\" where a practised eye is sure.

Processes: stipple-engraving, line-engraving, lithograph, tinted-lithograph, halftone,
undetermined, or other words. Colouring: none, hand-wash, coloured-ink, printed-tint,
process-colour, undetermined.

Exit codes:
  0  done
  2  trouble: an argument is wrong, --because is missing where it is needed, a file cannot
     be read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder of the dossier
    dossier: PathBuf,
    /// Your conclusion in your own words; "-" reads it from standard input
    text: String,
    /// The process that you conclude
    #[arg(long)]
    process: Option<String>,
    /// Where the colour lies; give as many as apply
    #[arg(long, value_name = "KIND", value_parser = colouring)]
    colouring: Vec<Colouring>,
    /// Why your conclusion differs from the reading
    #[arg(long, value_name = "TEXT")]
    because: Option<String>,
    #[command(flatten)]
    signing: Signing,
}

fn colouring(text: &str) -> Result<Colouring, String> {
    Colouring::from_key(text).ok_or_else(|| {
        let keys = Colouring::ALL.map(Colouring::key).join(", ");
        format!("choose from {keys}, undetermined")
    })
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let contents = super::open(&options.dossier)?;
    let opinion = Opinion {
        text: super::text_given(&options.text)?,
        process: options.process.clone(),
        colouring: options.colouring.clone(),
        because: options.because.clone(),
    };
    let hand = options.signing.ready()?;
    let store = Store::new(&options.dossier, &RealDisk);
    let (receipt, examination) = work::conclusion(
        &store,
        contents.as_ref(),
        &hand.author(),
        &super::patience(),
        opinion,
    )?;
    super::acknowledge(&receipt, "a conclusion", hand.signs())?;
    let beside = match &examination {
        Some(examination) => measured_beside(examination),
        None => vec!["There are no photographs, so nothing measured stands beside it.".into()],
    };
    let width = output::terminal_width();
    output::print(&export::text::wrapped(&beside, width))?;
    Ok(Outcome::Done)
}

/// The reading in short, and what it says against relying on it.
fn measured_beside(examination: &Examination) -> Vec<String> {
    let measured = Summary::of(examination);
    let mut said = vec![format!(
        "Measured beside it: {}; colour: {}. {}",
        measured.process_name(),
        measured.colouring_names(),
        measured.sentence
    )];
    for (label, caveat) in account::caveats_of(&examination.reading) {
        said.push(format!("{label}: {caveat}"));
    }
    said
}
