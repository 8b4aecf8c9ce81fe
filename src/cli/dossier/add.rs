//! `inktell dossier add`: photographs, examined on the way in.

use super::signing::Signing;
use crate::cli::capture::Capture;
use crate::cli::{Outcome, output};
use anyhow::Context;
use inktell::dossier::contents;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::examining::Named;
use inktell::dossier::store::Store;
use inktell::dossier::{privacy, work};
use inktell::report::terminal;
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell dossier add heron head.jpg border.jpg --px-per-mm 56.2
  inktell dossier add heron head.jpg --scale-from rule.jpg

The photographs are kept untouched, with the parameters, the reading and its report.
Add together what was taken with the same loupe and setting; a photograph of a rule
named with --scale-from is kept beside them.

Exit codes:
  0  done; \"undetermined\" is a result too
  2  trouble: an argument is wrong, a file cannot be read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder of the dossier
    dossier: PathBuf,
    /// Photographs of the sheet (JPEG, PNG, TIFF or WebP)
    #[arg(required = true, value_name = "PHOTO")]
    photos: Vec<PathBuf>,
    #[command(flatten)]
    capture: Capture,
    #[command(flatten)]
    signing: Signing,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    // Anything wrong is said before the photographs are measured and a passphrase is asked for.
    contents::open(&options.dossier).map_err(anyhow::Error::msg)?;
    let photos = options
        .photos
        .iter()
        .map(|file| named(file))
        .collect::<anyhow::Result<Vec<_>>>()?;
    let rule = options
        .capture
        .scale_from
        .as_deref()
        .map(named)
        .transpose()?;
    let hand = options.signing.ready()?;
    say_places(photos.iter().chain(&rule));
    let store = Store::new(&options.dossier, &RealDisk);
    let (receipt, examination) = work::photographs(
        &store,
        &hand.author(),
        &super::patience(),
        photos,
        rule,
        options.capture.parameters()?,
    )?;
    super::acknowledge(&receipt, "photographs", hand.signs())?;
    let summary = terminal::summary(&examination, &[], output::terminal_width());
    output::print(&format!("\n{summary}"))?;
    Ok(Outcome::Done)
}

fn named(file: &Path) -> anyhow::Result<Named> {
    let bytes = std::fs::read(file).with_context(|| {
        format!(
            "{}: cannot be read; name a photograph of the sheet",
            file.display()
        )
    })?;
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    Ok(Named {
        name: name.into_owned(),
        bytes,
    })
}

/// Tells of places in the photographs before they are kept for good.
fn say_places<'a>(photos: impl Iterator<Item = &'a Named>) {
    for photo in photos {
        if privacy::traces(&photo.bytes).location.is_some() {
            eprintln!(
                "inktell: {} holds the place where it was taken; exports leave it out with --without-location",
                photo.name
            );
        }
    }
}
