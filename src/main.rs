//! `inktell` on the command line: arguments → the library → a summary, a report or JSON.

mod cli;

use clap::Parser;
use std::process::ExitCode;

/// The system's allocator keeps what each thread frees for that thread alone, so that a lot on many threads
/// held the pixels of photographs it had let go; this one gives them back.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

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
