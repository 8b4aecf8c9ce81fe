//! `inktell calibrate`: fits the reference distributions that readings rest on.

use super::Outcome;
use super::output;
use super::specimen::{self, Size};
use clap::{Args, Subcommand};
use inktell::report::words::counted;
use inktell::specimen::screen::Family;
use inktell::specimen::series::{SeedFamily, SeriesRequest};
use inktell::trial::specimens::{Wanted, check_series, table as measure_table};
use inktell::trial::{figures, held_out, sheets, tally};
use inktell::weigh::reference::Reference;
use inktell::weigh::table::{Subject, Table};
use std::ops::Range;
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell calibrate measure --count 500 --table five.csv
      the first five hundred specimens of the training series
  inktell calibrate cross-validate --table fixtures/calibration/training.csv
      how readings do on specimens that the fit did not see
  inktell calibrate fit --table five.csv relief.csv --reference reference.json

DEVELOPERS.md tells how the reference of a release is made.

Exit codes:
  0  done
  2  trouble: an argument is wrong, a file cannot be read or written";

/// Fit the reference distributions that readings rest on
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    #[command(subcommand)]
    step: Step,
}

#[derive(Debug, Subcommand)]
enum Step {
    /// Draw specimens, measure them and keep the figures as a table
    Measure {
        /// How many specimens
        #[arg(long, default_value_t = 4800)]
        count: u64,
        /// First specimen of the training series
        #[arg(long, default_value_t = 0)]
        from: u64,
        /// Only the specimens of this process, say after its forward model changed; or of what is outside the five and
        /// told from them: `relief` for woodcuts and wood engravings, `tonal` for aquatints, mezzotints, collotypes,
        /// photogravures and plain photographs, `chromolithograph`, `cloth`
        #[arg(long, value_parser = subject)]
        process: Option<Subject>,
        /// Only reproductions by this screen, besides those among the five in turn: stochastic-black, inkjet, …
        #[arg(long, value_parser = screen, conflicts_with = "process")]
        screen: Option<Family>,
        #[command(flatten)]
        size: Size,
        /// The table to write (CSV)
        #[arg(long, value_name = "FILE")]
        table: PathBuf,
    },
    /// Set figures against the truth of training specimens: what the intervals must hold besides scatter
    Uncertainty {
        /// How many specimens
        #[arg(long, default_value_t = 400)]
        count: u64,
        /// Only specimens of this process; by default the five take turns
        #[arg(long, value_enum)]
        process: Option<specimen::Process>,
    },
    /// Find how far photographs of one sheet are alike, which says what a second one is worth
    Sheets {
        /// How many sheets, of three photographs each
        #[arg(long, default_value_t = 200)]
        count: u64,
    },
    /// Weigh the specimens of a table by references fitted to the other four fifths of it
    CrossValidate {
        /// The tables to read (CSV); of a specimen in several, the last counts
        #[arg(long, value_name = "FILE", required = true, num_args = 1..)]
        table: Vec<PathBuf>,
        /// Findings to leave out, to see what they are worth
        #[arg(long, value_name = "KEY", num_args = 1..)]
        without: Vec<String>,
        /// Also write the chances of every specimen (CSV)
        #[arg(long, value_name = "FILE")]
        chances: Option<PathBuf>,
    },
    /// Fit the reference to a table
    Fit {
        /// The tables to read (CSV); of a specimen in several, the last counts
        #[arg(long, value_name = "FILE", required = true, num_args = 1..)]
        table: Vec<PathBuf>,
        /// Also write the tables as one
        #[arg(long, value_name = "FILE")]
        joined: Option<PathBuf>,
        /// The reference to write (JSON); the one compiled in is src/weigh/reference.json
        #[arg(long, value_name = "FILE")]
        reference: PathBuf,
    },
}

/// Runs it.
///
/// # Errors
/// When a file cannot be read or written.
pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    match &options.step {
        Step::Measure {
            count,
            from,
            process,
            screen,
            size,
            table,
        } => {
            let wanted = screen.map_or_else(
                || process.map_or(Wanted::TheFive, Wanted::Only),
                Wanted::Screened,
            );
            measure(*from..from + count, wanted, &size.request(), table)?;
        }
        Step::Uncertainty { count, process } => {
            let progress = output::progress(*count as usize, false);
            let request = SeriesRequest {
                origin: process.map(Into::into),
                ..SeriesRequest::default()
            };
            let done = || progress.inc(1);
            let checks = check_series(SeedFamily::Training, 0..*count, &request, &done);
            progress.finish_and_clear();
            output::print(&tally::describe_off_by(&figures::off_by(&checks)))?;
        }
        Step::Sheets { count } => {
            let progress = output::progress(*count as usize, false);
            let measured = sheets::findings(SeedFamily::Training, *count, &|| progress.inc(1));
            progress.finish_and_clear();
            output::print(&costs_by_likeness(&measured))?;
        }
        Step::CrossValidate {
            table,
            without,
            chances,
        } => cross_validate(table, without, chances.as_deref())?,
        Step::Fit {
            table,
            joined,
            reference,
        } => fit(table, joined.as_deref(), reference)?,
    }
    Ok(Outcome::Done)
}

fn measure(
    stretch: Range<u64>,
    wanted: Wanted,
    request: &SeriesRequest,
    table: &Path,
) -> anyhow::Result<()> {
    let progress = output::progress((stretch.end - stretch.start) as usize, false);
    let done = || progress.inc(1);
    let measured = measure_table(SeedFamily::Training, stretch, wanted, request, &done);
    progress.finish_and_clear();
    measured.write(table)?;
    eprintln!(
        "{}: {}, {} each",
        table.display(),
        counted(measured.rows.len(), "specimen"),
        counted(measured.findings.len(), "finding")
    );
    Ok(())
}

fn fit(tables: &[PathBuf], joined: Option<&Path>, reference: &Path) -> anyhow::Result<()> {
    let measured = join(tables)?;
    if let Some(file) = joined {
        measured.write(file)?;
    }
    let made_from = format!(
        "inktell {}: {} of the training series",
        env!("CARGO_PKG_VERSION"),
        counted(measured.rows.len(), "specimen")
    );
    let fitted = Reference::fit(&measured, made_from);
    let text = serde_json::to_string(&fitted.rounded())?;
    output::write(reference, &(text + "\n"))?;
    eprintln!(
        "{}: fitted to {}; build the program again to use it",
        reference.display(),
        counted(measured.rows.len(), "specimen")
    );
    Ok(())
}

fn cross_validate(
    tables: &[PathBuf],
    without: &[String],
    chances: Option<&Path>,
) -> anyhow::Result<()> {
    let measured = held_out::without(join(tables)?, without).map_err(anyhow::Error::msg)?;
    let progress = output::progress(held_out::FOLDS as usize, false);
    let weighed = held_out::cross_validated(&measured, &|| progress.inc(1));
    progress.finish_and_clear();
    if let Some(file) = chances {
        output::write(file, &held_out::as_csv(&weighed))?;
    }
    output::print(&held_out::describe(&weighed))
}

/// Cost of readings from two and from three photographs by how far they are taken to be alike.
fn costs_by_likeness(measured: &[sheets::Findings]) -> String {
    let one = sheets::cost(measured, 1, 1.0);
    let mut text = format!(
        "multi-class cost over {} sheets: {one:.4} from one photograph\n{:>8}{:>12}{:>12}\n",
        measured.len(),
        "alike",
        "from two",
        "from three"
    );
    for tenth in 0..=20 {
        let alike = f64::from(tenth) / 20.0;
        text.push_str(&format!(
            "{alike:>8.2}{:>12.4}{:>12.4}\n",
            sheets::cost(measured, 2, alike),
            sheets::cost(measured, sheets::PLACES, alike)
        ));
    }
    text
}

fn join(files: &[PathBuf]) -> anyhow::Result<Table> {
    let mut joined = Table::read(&files[0])?;
    for file in &files[1..] {
        joined.take_in(Table::read(file)?, file)?;
    }
    Ok(joined)
}

fn screen(key: &str) -> Result<Family, String> {
    let name = |family: Family| {
        let quoted = serde_json::to_string(&family).unwrap_or_default();
        quoted.trim_matches('"').to_owned()
    };
    let named = Family::ALL.into_iter().find(|&family| name(family) == key);
    named.ok_or_else(|| {
        format!(
            "no such screen; one of {}",
            Family::ALL.map(name).join(", ")
        )
    })
}

fn subject(key: &str) -> Result<Subject, String> {
    Subject::from_key(key).ok_or_else(|| {
        let keys = Subject::ALL.map(Subject::key);
        format!("no such process; one of {}", keys.join(", "))
    })
}
