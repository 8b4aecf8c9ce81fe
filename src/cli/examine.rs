//! `inktell examine`: photographs of one sheet → a reading.

use super::{Outcome, output, prior};
use anyhow::bail;
use inktell::examine::{self, Examination, Examined};
use inktell::photo::ReadOptions;
use inktell::report::json::NotRead;
use inktell::report::{json, terminal};
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell examine plate-7.jpg --px-per-mm 56.2
      a short summary on the terminal
  inktell examine plate-7.jpg --px-per-mm 56.2 --json - > plate-7.json
      one JSON document, and nothing else, on standard output
  inktell examine head.jpg border.jpg --loupe-field-mm 20 --report plate-7.html
      two places of one sheet through a loupe with a 20 mm field

Name photographs of one sheet only; examine each sheet on its own.
Without a scale, figures in millimetres are withheld; the rest is still weighed.

Exit codes:
  0  done; \"undetermined\" is a result too
  2  trouble: an argument is wrong, a file cannot be read or written
     (with several photographs the others are still examined)";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Photographs of one sheet (JPEG, PNG, TIFF or WebP)
    #[arg(required = true, value_name = "PHOTO")]
    photos: Vec<PathBuf>,
    /// Scale: pixels per millimetre on the sheet
    #[arg(long, value_name = "NUMBER", value_parser = above_zero)]
    px_per_mm: Option<f64>,
    /// Diameter of the loupe's field in millimetres, used where a round field is found
    #[arg(long, value_name = "MM", value_parser = above_zero)]
    loupe_field_mm: Option<f64>,
    /// Prior probabilities, as process=probability,…; processes not named share the rest
    #[arg(long, value_name = "LIST", value_parser = prior::parse)]
    prior: Option<prior::Prior>,
    /// Largest picture accepted, in megapixels
    #[arg(long, value_name = "NUMBER", default_value = "200", value_parser = above_zero)]
    max_megapixels: f64,
    /// Write the JSON document to a file, or to standard output with "-"
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    /// No summary and no progress; errors are still reported
    #[arg(long, short)]
    quiet: bool,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let (photos, not_read) = examine_each(options);
    if photos.is_empty() {
        bail!("no photograph could be read, so there is nothing to examine");
    }
    let examination = examine::together(photos, options.prior.clone().map(|prior| prior.0));
    write_results(options, &examination, &not_read)?;
    Ok(if not_read.is_empty() {
        Outcome::Done
    } else {
        Outcome::Partly
    })
}

/// Examines the photographs one after the other; a bad one is reported and the rest go on.
fn examine_each(options: &Options) -> (Vec<Examined>, Vec<NotRead>) {
    let read_options = read_options(options);
    let progress = output::progress(options.photos.len(), options.quiet);
    let (mut photos, mut not_read) = (Vec::new(), Vec::new());
    for file in &options.photos {
        progress.set_message(format!("measuring {}", file.display()));
        match examine_one(file, &read_options) {
            Ok(examined) => photos.push(examined),
            Err(why) => {
                progress.suspend(|| eprintln!("inktell: {why}"));
                not_read.push(NotRead {
                    file: file.display().to_string(),
                    why,
                });
            }
        }
        progress.inc(1);
    }
    progress.finish_and_clear();
    (photos, not_read)
}

fn examine_one(file: &Path, options: &ReadOptions) -> Result<Examined, String> {
    if file.is_dir() {
        return Err(folder_given(file));
    }
    examine::photograph(file, options).map_err(|error| error.to_string())
}

fn folder_given(folder: &Path) -> String {
    let empty = std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_none());
    let kind = if empty { "an empty folder" } else { "a folder" };
    format!(
        "{}: is {kind}, not a photograph; name the photographs of one sheet, such as {}",
        folder.display(),
        folder.join("head.jpg").display()
    )
}

fn read_options(options: &Options) -> ReadOptions {
    ReadOptions {
        max_megapixels: options.max_megapixels,
        px_per_mm: options.px_per_mm,
        loupe_field_mm: options.loupe_field_mm,
        ..ReadOptions::default()
    }
}

fn write_results(
    options: &Options,
    examination: &Examination,
    not_read: &[NotRead],
) -> anyhow::Result<()> {
    let mut summary = !options.quiet;
    if let Some(target) = &options.json {
        output::write(target, &json::text(examination, not_read)?)?;
        summary &= !output::is_standard_output(target);
    }
    if summary {
        output::print(&terminal::summary(
            examination,
            not_read,
            output::terminal_width(),
        ))?;
    }
    Ok(())
}

/// A number above 0.
pub fn above_zero(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 => Ok(value),
        _ => Err("must be a number above 0".into()),
    }
}
