//! `inktell` on the command line: arguments → the library → a summary, a report or JSON.

mod cli;

use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments = cli::Arguments::parse();
    match cli::run(arguments) {
        Ok(outcome) => outcome.into(),
        Err(error) => {
            eprintln!("inktell: {error:#}");
            ExitCode::from(cli::TROUBLE)
        }
    }
}
