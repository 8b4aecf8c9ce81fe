//! `inktell dossier add`: photographs, examined on the way in.

use super::signing::Signing;
use crate::cli::examine::above_zero;
use crate::cli::{Outcome, output, prior};
use anyhow::Context;
use inktell::dossier::contents;
use inktell::dossier::disk::RealDisk;
use inktell::dossier::entry::Parameters;
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
Add together what was taken with the same loupe and setting.";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder of the dossier
    dossier: PathBuf,
    /// Photographs of the sheet (JPEG, PNG, TIFF or WebP)
    #[arg(required = true, value_name = "PHOTO")]
    photos: Vec<PathBuf>,
    /// Scale: pixels per millimetre on the sheet
    #[arg(long, value_name = "NUMBER", value_parser = above_zero)]
    px_per_mm: Option<f64>,
    /// Take the scale from a photograph of a millimetre rule, which is kept too
    #[arg(long, value_name = "RULE_PHOTO", conflicts_with = "px_per_mm")]
    scale_from: Option<PathBuf>,
    /// Diameter of the loupe's field in millimetres
    #[arg(long, value_name = "MM", value_parser = above_zero)]
    loupe_field_mm: Option<f64>,
    /// Prior probabilities, as process=probability,…
    #[arg(long, value_name = "LIST", value_parser = prior::parse)]
    prior: Option<prior::Prior>,
    /// Largest picture accepted, in megapixels
    #[arg(long, value_name = "NUMBER", default_value = "200", value_parser = above_zero)]
    max_megapixels: f64,
    #[command(flatten)]
    signing: Signing,
}

/// Distance of the graduations of the rule in `--scale-from`, mm.
const RULE_GRADUATION_MM: f64 = 1.0;

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    // Anything wrong is said before the photographs are measured and a passphrase is asked for.
    contents::open(&options.dossier).map_err(anyhow::Error::msg)?;
    let photos = options
        .photos
        .iter()
        .map(|file| named(file))
        .collect::<anyhow::Result<Vec<_>>>()?;
    let rule = options.scale_from.as_deref().map(named).transpose()?;
    let hand = options.signing.ready()?;
    say_places(&photos);
    let store = Store::new(&options.dossier, &RealDisk);
    let (receipt, examination) = work::photographs(
        &store,
        &hand.author(),
        &super::patience(),
        photos,
        rule,
        parameters(options),
    )?;
    super::acknowledge(&receipt, "photographs", hand.signs())?;
    let summary = terminal::summary(&examination, &[], output::terminal_width());
    output::print(&format!("\n{summary}"))?;
    Ok(Outcome::Done)
}

fn parameters(options: &Options) -> Parameters {
    Parameters {
        px_per_mm: options.px_per_mm,
        loupe_field_mm: options.loupe_field_mm,
        max_megapixels: options.max_megapixels,
        rule_graduation_mm: options.scale_from.is_some().then_some(RULE_GRADUATION_MM),
        prior: options.prior.clone().map(|prior| prior.0),
    }
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
fn say_places(photos: &[Named]) {
    for photo in photos {
        if privacy::traces(&photo.bytes).location.is_some() {
            eprintln!(
                "inktell: {} holds the place where it was taken; exports leave it out with --without-location",
                photo.name
            );
        }
    }
}
