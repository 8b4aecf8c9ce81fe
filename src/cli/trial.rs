//! `inktell trial`: how well the readings do where the truth is known.

use super::Outcome;
use super::output;
use super::specimen::Size;
use anyhow::Context;
use clap::{Args, Subcommand};
use inktell::specimen::series::{SeedFamily, SeriesRequest};
use inktell::trial::specimens::{self, ScaleTold};
use inktell::trial::{self, figures, photos, sheets, tally};
use inktell::weigh::{Colouring, Process};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  inktell trial specimens --count 60 --others
      sixty drawn photographs, ten of them outside the five processes
  inktell trial photos my-photographs --list
      your own photographs, with every wrong or undetermined reading named

A folder of photographs needs a manifest.csv with the columns file, process,
colouring, scale_px_per_mm and group, or a .json of truth beside each.

Exit codes:
  0  done, every photograph was read
  2  trouble: an argument is wrong, or the folder or some file could not be read (the rest is tried)";

/// Try the readings on things whose truth is known
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    #[command(subcommand)]
    over: Over,
    /// Name every wrong or undetermined reading
    #[arg(long, global = true)]
    list: bool,
}

#[derive(Debug, Subcommand)]
enum Over {
    /// Drawn specimens of the scoring series, which no reference was fitted to
    Specimens {
        /// How many
        #[arg(long, default_value_t = 1000)]
        count: u64,
        /// With look-alikes outside the five processes as every sixth
        #[arg(long)]
        others: bool,
        #[command(flatten)]
        size: Size,
        /// Tell the scale of none of them
        #[arg(long)]
        without_scale: bool,
    },
    /// Drawn sheets in three places each, read from one, two and three photographs
    Sheets {
        /// How many sheets
        #[arg(long, default_value_t = 100)]
        count: u64,
    },
    /// Photographs in a folder with a manifest.csv, or with a .json of truth beside each
    Photos {
        /// The folder
        folder: PathBuf,
    },
}

/// Runs it and prints the figures on standard output.
///
/// # Errors
/// When the folder cannot be read or holds no photograph with known truth.
pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let mut outcome = Outcome::Done;
    let outcomes = match &options.over {
        Over::Specimens {
            count,
            others,
            size,
            without_scale,
        } => {
            let progress = output::progress(*count as usize, false);
            let request = SeriesRequest {
                with_others: *others,
                ..size.request()
            };
            let told = if *without_scale {
                ScaleTold::No
            } else {
                ScaleTold::Yes
            };
            let done = || progress.inc(1);
            let (outcomes, checks) =
                specimens::read_series(SeedFamily::Scoring, *count, &request, told, &done);
            progress.finish_and_clear();
            output::print(&format!(
                "{}\n",
                tally::describe_figures(&figures::summarise(&checks))
            ))?;
            output::print(&format!("{}\n", tally::describe_groups(&outcomes)))?;
            outcomes
        }
        Over::Sheets { count } => {
            let progress = output::progress(*count as usize, false);
            let [first, two, all] =
                sheets::read_sheets(SeedFamily::Scoring, *count, &|| progress.inc(1));
            progress.finish_and_clear();
            output::print(&format!(
                "From one photograph a sheet:\n{}\nFrom two:\n{}\nFrom three:\n",
                tally::describe(&first),
                tally::describe(&two)
            ))?;
            all
        }
        Over::Photos { folder } => {
            let known = photos::known(folder).with_context(|| {
                format!(
                    "{}: cannot be read as a folder of photographs",
                    folder.display()
                )
            })?;
            anyhow::ensure!(
                !known.is_empty(),
                "{}: no photograph with known truth; a manifest.csv with the columns file, process, colouring, scale_px_per_mm, group, or a .json of truth beside each photograph, is needed",
                folder.display()
            );
            for (said, photographs) in photos::outside_the_five(&known) {
                eprintln!("inktell: taken as outside the five: {photographs} × \"{said}\"");
            }
            let progress = output::progress(known.len(), false);
            let (outcomes, unread) = photos::read_all(&known, &|| progress.inc(1));
            progress.finish_and_clear();
            for error in unread {
                eprintln!("inktell: {error}");
                outcome = Outcome::Partly;
            }
            outcomes
        }
    };
    output::print(&tally::describe(&outcomes))?;
    if options.list {
        output::print(&list(&outcomes))?;
    }
    Ok(outcome)
}

/// A line for each that is not read just as it is.
fn list(outcomes: &[trial::Outcome]) -> String {
    outcomes
        .iter()
        .flat_map(|o| [colouring_line(o), process_line(o)])
        .flatten()
        .map(|line| line + "\n")
        .collect()
}

/// What is said of a process that is not read as it is.
fn process_line(o: &trial::Outcome) -> Option<String> {
    if o.right() == Some(true) || (o.process.is_none() && o.reading.process.is_none()) {
        return None;
    }
    let expected = o.process.map_or("outside the five", Process::key);
    let read = o.reading.process.map_or("undetermined", Process::key);
    let fit = o.reading.fit;
    let fit = fit.map_or_else(|| "–".to_owned(), |p| format!("{p:.3}"));
    let chances = o.reading.posterior.iter();
    let chances: Vec<String> = chances
        .map(|(p, x)| format!("{} {x:.3}", p.key()))
        .collect();
    Some(format!(
        "{}: {expected} read as {read} (fit {fit}; {})",
        o.name,
        chances.join(", ")
    ))
}

/// What is said of a colouring that is not read just as it is.
fn colouring_line(o: &trial::Outcome) -> Option<String> {
    if o.colouring.is_empty() || o.colouring_is_exact() {
        return None;
    }
    let names = |kinds: &[Colouring]| {
        kinds
            .iter()
            .map(|k| k.key())
            .collect::<Vec<_>>()
            .join(" + ")
    };
    let chances: Vec<String> = o
        .reading
        .colouring_posterior
        .iter()
        .map(|(kind, p)| format!("{} {p:.3}", kind.key()))
        .collect();
    Some(format!(
        "{}: colouring {} read as {} ({})",
        o.name,
        names(&o.colouring),
        names(&o.reading.colouring),
        chances.join(", ")
    ))
}
