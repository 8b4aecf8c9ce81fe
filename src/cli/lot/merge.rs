//! `inktell lot merge`: parts → one lot.

use super::options::Errors;
use super::{screen, told};
use crate::cli::{Outcome, moment, output};
use anyhow::Context;
use inktell::lot::merge::{Merged, merge};
use inktell::lot::overwriting;
use inktell::lot::page::not_complete;
use inktell::lot::results;
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell lot merge part-1 part-2 part-3 --out estate
      folders of runs with --part; odds, costs and title are theirs
  inktell lot merge finished.jsonl --tasks tasks.jsonl --title Estate --out estate
      lines written by `inktell lot work`; odds beforehand are those of the tasks

Exit codes:
  0  done, every photograph was read
  2  trouble: parts do not fit together, sheets are missing, or some file could not be read";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folders of parts, or files of lines that `inktell lot work` wrote
    #[arg(required = true, value_name = "PART")]
    parts: Vec<PathBuf>,
    /// Folder for the results; made where it does not exist
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// Merge what there is, even where parts are missing, unfinished or damaged
    #[arg(long)]
    incomplete: bool,
    /// Tasks that the lines were made from: each of their sheets must be there, as lines alone cannot tell
    #[arg(long, value_name = "FILE", conflicts_with = "incomplete")]
    tasks: Option<PathBuf>,
    /// Name of the lot; by default that of the first part
    #[arg(long, value_name = "NAME")]
    title: Option<String>,
    #[command(flatten)]
    errors: Errors,
    /// Moment printed in pages, such as 2026-01-02T10:00:00Z; by default the first part's
    #[arg(long, value_name = "MOMENT", value_parser = moment::parse)]
    time: Option<jiff::Timestamp>,
    /// No summary; errors are still reported
    #[arg(long, short)]
    quiet: bool,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let read = options.parts.iter().chain(&options.tasks);
    let read: Vec<&Path> = read.map(PathBuf::as_path).collect();
    overwriting::refuse(&options.out, &read).map_err(anyhow::Error::msg)?;
    let Merged {
        ledger,
        mut settings,
        notices,
    } = merge(
        &options.parts,
        &options.out,
        !options.incomplete,
        options.tasks.as_deref(),
    )?;
    for notice in notices {
        eprintln!("inktell: {notice}");
    }
    options.errors.apply(&mut settings);
    if let Some(title) = &options.title {
        settings.title.clone_from(title);
    }
    if options.time.is_some() || settings.made.is_empty() {
        settings.made = moment::in_words(options.time);
    }
    let unwritten = || format!("{}: cannot be written to", options.out.display());
    settings.write(&options.out).with_context(unwritten)?;
    let lot = results::write(&options.out, &ledger, &settings).with_context(unwritten)?;
    if let Some(sentence) = not_complete(&lot, &settings) {
        eprintln!("inktell: {sentence}");
    }
    if !options.quiet {
        output::print(&told::summary(&lot, &settings, &options.out))?;
    }
    Ok(screen::outcome(&lot))
}
