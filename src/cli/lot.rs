//! `inktell lot`: photographs of many sheets → a lot sheet.

mod demo;
mod merge;
mod options;
mod progress;
mod screen;
mod told;
mod work;

use super::Outcome;
use clap::Subcommand;

const EXAMPLES: &str = "\
Examples:
  inktell lot photos --out estate
      every sub-folder of photos is a sheet; results in estate/lot.html
  inktell lot photos --plan > plan.csv
      show which photographs go to which sheet; edit it, then give it back:
  inktell lot photos --sheets plan.csv --out estate
  inktell lot photos --name-pattern \"{sheet}_*\" --px-per-mm 56.2 --out estate
      plate-7_head.jpg and plate-7_edge.jpg are one sheet
  inktell lot photos --reproductions 0.4 --missed-chance 0.01 --out estate
      two in five are taken to be reproductions beforehand
  inktell lot s3://museum/prints --part 3/20 --no-reports --out part-3
  inktell lot merge part-* --out museum

Interrupt it whenever you like; the same command goes on where it stopped.
Results in the --out folder: lot.html, sheets.csv, sheets.parquet, sheets.jsonl,
reports/ (a full report and a JSON document a sheet), ledger.jsonl (what is finished),
absent.jsonl (what is finished and of which no photograph is there now).

Exit codes:
  0    done, every photograph was read
  2    trouble: an argument is wrong, or some file could not be read (the rest is done)
  130  interrupted; what was finished is kept";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES, after_long_help = with_columns(), args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct Options {
    #[command(subcommand)]
    job: Option<Job>,
    #[command(flatten)]
    screen: options::Screen,
}

#[derive(Debug, Subcommand)]
enum Job {
    /// Put the parts of a lot together, as if it had been one run
    Merge(merge::Options),
    /// Examine sheets given as JSON lines, for engines that spread the work over machines
    Work(work::Options),
    /// Draw an invented estate to try a lot on
    Demo(demo::Options),
}

/// Examples, and what each column of the table means.
fn with_columns() -> String {
    format!(
        "{EXAMPLES}\n\nColumns of sheets.csv and sheets.parquet:\n{}",
        inktell::lot::table::explained()
    )
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    match &options.job {
        Some(Job::Merge(options)) => merge::run(options),
        Some(Job::Work(options)) => work::run(options),
        Some(Job::Demo(options)) => demo::run(options),
        None => screen::run(&options.screen),
    }
}
