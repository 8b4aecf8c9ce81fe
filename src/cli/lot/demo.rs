//! `inktell lot demo`: an invented estate.

use crate::cli::examine::above_zero;
use crate::cli::{Outcome, output};
use anyhow::Context;
use inktell::lot::demo::{Estate, TRUTH_NAME};
use inktell::report::words;
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  inktell lot demo estate
  inktell lot estate/photos --out estate/results
      then open estate/results/lot.html; the truth is in estate/truth.csv

Exit codes:
  0  done
  2  trouble: an argument is wrong, a file cannot be read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder to write into; made where it does not exist
    folder: PathBuf,
    /// Number of sheets
    #[arg(long, value_name = "NUMBER", default_value_t = 40, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    sheets: u64,
    /// Width of the photographs, pixels; they are three quarters as high
    #[arg(long, value_name = "PIXELS", default_value_t = 1200, value_parser = clap::value_parser!(u32).range(160..=2400))]
    width: u32,
    /// Scale of the photographs, pixels per millimetre
    #[arg(long, value_name = "NUMBER", default_value = "60", value_parser = above_zero)]
    px_per_mm: f64,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let holds_files = std::fs::read_dir(&options.folder).is_ok_and(|mut it| it.next().is_some());
    if holds_files {
        anyhow::bail!(
            "{}: already holds files, and none is written over; name a new folder",
            options.folder.display()
        );
    }
    let width = options.width as usize;
    let estate = Estate {
        sheets: options.sheets,
        size_px: [width, width * 3 / 4],
        px_per_mm: options.px_per_mm,
    };
    let progress = output::progress(options.sheets as usize, false);
    let photographs = estate
        .draw(&options.folder, &|| progress.inc(1))
        .with_context(|| format!("{}: cannot be written to", options.folder.display()))?;
    progress.finish_and_clear();
    output::print(&format!(
        "{} in {}, the truth in {}\n",
        words::counted(photographs, "photograph"),
        options.folder.join("photos").display(),
        options.folder.join(TRUTH_NAME).display()
    ))?;
    Ok(Outcome::Done)
}
