//! `inktell dossier add`: photographs, examined on the way in.

use super::signing::Signing;
use crate::cli::capture::Capture;
use crate::cli::{Outcome, output};
use anyhow::Context;
use inktell::dossier::contents::{self, Contents};
use inktell::dossier::disk::RealDisk;
use inktell::dossier::entry::Role;
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
    let contents = contents::open(&options.dossier).map_err(anyhow::Error::msg)?;
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
    say_repeats(contents.as_ref(), &photos);
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

/// Tells of photographs that are kept already: twice the same says nothing more.
fn say_repeats(contents: &dyn Contents, photos: &[Named]) {
    let folder = format!("{}/", Role::Photograph.folder().unwrap_or_default());
    let paths = contents.paths().unwrap_or_default();
    let kept = paths.iter().filter(|path| path.starts_with(&folder));
    for (path, bytes) in kept.filter_map(|path| Some((path, contents.read(path).ok()?))) {
        for photo in photos.iter().filter(|photo| photo.bytes == bytes) {
            eprintln!(
                "inktell: {} is the same file as {path}, which is kept already; it does not count twice",
                photo.name
            );
        }
    }
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
