//! One file a command; each translates arguments into calls of the library.

mod calibrate;
mod capture;
mod dossier;
mod examine;
mod generate;
mod lot;
mod moment;
mod output;
mod prior;
mod scale;
mod schema;
mod specimen;
mod trial;

use clap::{Parser, Subcommand};
use std::process::ExitCode;

/// Exit code when something asked for could not be done; clap uses the same for bad arguments.
pub const TROUBLE: u8 = 2;
/// Exit code after Ctrl-C, as shells have it: 128 + SIGINT.
const INTERRUPTED: u8 = 130;

/// Exit code when what was to be checked does not hold.
pub const DOES_NOT_HOLD: u8 = 1;

const EXIT_CODES: &str = "\
Exit codes:
  0  done; \"undetermined\" is a result too
  1  \"dossier verify\", \"show\" or \"export\" found something that does not hold
  2  trouble: an argument is wrong, a file cannot be read or written
     (with several photographs the others are still examined)
  130  a lot was interrupted; what was finished is kept";

/// Measures a loupe photograph of a print and weighs how it was printed.
#[derive(Debug, Parser)]
#[command(name = "inktell", version, after_help = EXIT_CODES, arg_required_else_help = true)]
pub struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Examine one or more photographs of one sheet
    Examine(examine::Options),
    /// Screen a whole lot of sheets for reproductions
    Lot(Box<lot::Options>),
    /// Keep the evidence on one sheet so that others can check it
    Dossier(dossier::Options),
    /// Measure the scale in a photograph of a rule
    Scale(scale::Options),
    /// Draw photographs of prints whose truth is known
    Specimen(specimen::Options),
    /// Try the readings on specimens or photographs whose truth is known
    Trial(trial::Options),
    /// Fit the reference distributions that readings rest on
    Calibrate(calibrate::Options),
    /// Print the JSON Schema of the document that `examine --json` writes, or of the lines of a lot
    Schema(schema::Options),
    /// Write shell completions and a man page into a folder
    Generate(generate::Options),
}

/// How a command that ran to its end went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Everything asked for was done.
    Done,
    /// Some of it; what was not has been reported on standard error.
    Partly,
    /// The user stopped it; what was finished is kept.
    Interrupted,
    /// Something that was to be checked does not hold.
    DoesNotHold,
}

impl Outcome {
    /// Done, or done with the outcome that something does not hold.
    pub fn held(holds: bool) -> Self {
        if holds { Self::Done } else { Self::DoesNotHold }
    }
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Done => Self::SUCCESS,
            Outcome::Partly => Self::from(TROUBLE),
            Outcome::Interrupted => Self::from(INTERRUPTED),
            Outcome::DoesNotHold => Self::from(DOES_NOT_HOLD),
        }
    }
}

/// Runs the command.
///
/// # Errors
/// What kept the command from doing anything, as a sentence for the user.
pub fn run(arguments: Arguments) -> anyhow::Result<Outcome> {
    match arguments.command {
        Command::Examine(options) => examine::run(&options),
        Command::Lot(options) => lot::run(&options),
        Command::Dossier(options) => dossier::run(&options),
        Command::Scale(options) => scale::run(&options),
        Command::Specimen(options) => specimen::run(&options),
        Command::Trial(options) => trial::run(&options),
        Command::Calibrate(options) => calibrate::run(&options),
        Command::Schema(options) => schema::run(&options),
        Command::Generate(options) => generate::run(&options),
    }
}
