//! `inktell dossier`: the evidence on one sheet, kept so that others can check it.

mod add;
mod amend;
mod begin;
mod conclude;
mod countersign;
mod export;
mod key;
mod observe;
mod show;
mod signing;
mod target;
mod verify;

use super::{Outcome, output};
use clap::Subcommand;
use inktell::dossier::contents::{self, Contents};
use inktell::dossier::line::Log;
use inktell::dossier::store::{Patience, Receipt};
use inktell::dossier::{LOG, plain};
use inktell::report::words::counted;
use std::path::Path;
use std::time::Duration;

const EXAMPLES: &str = "\
Examples:
  inktell dossier key ~/inktell.key --name \"A. Bidder\"
      make a key once, to sign with
  inktell dossier begin heron --title \"The Heron\" --sheet 495x305 --format \"royal folio\" --key ~/inktell.key
  inktell dossier add heron head.jpg border.jpg --px-per-mm 56.2 --key ~/inktell.key
  inktell dossier observe heron --by touch \"Plate mark on three sides, trimmed at the foot.\" --key ~/inktell.key
  inktell dossier conclude heron --process stipple-engraving \"Stipple, coloured by hand.\" --key ~/inktell.key
  inktell dossier verify heron
  inktell dossier export heron --pdf heron.pdf --bag heron.zip

A dossier is a folder that can be read and checked without this program (see its
README.txt). Nothing in it is ever erased.

Exit codes:
  0  done; \"verify\" found that everything holds
  1  something in the dossier does not hold
  2  trouble: an argument is wrong, a file cannot be read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES, arg_required_else_help = true)]
pub struct Options {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Begin a dossier with the particulars of the sheet
    Begin(Box<begin::Options>),
    /// Add photographs; they are examined on the way in
    Add(add::Options),
    /// Record an observation that no photograph shows
    Observe(observe::Options),
    /// Conclude in your own words, beside the measured reading
    Conclude(conclude::Options),
    /// Correct or withdraw an earlier entry; both stay in the log
    Amend(amend::Options),
    /// Put your name to everything that stands so far
    Countersign(countersign::Options),
    /// Show a dossier on the terminal
    Show(show::Options),
    /// Check hashes, signatures and the chain, and measure the photographs again
    Verify(verify::Options),
    /// Write a PDF, an HTML page, Linked Art JSON-LD or a BagIt ZIP file
    Export(export::Options),
    /// Make a key to sign with
    Key(key::Options),
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    match &options.verb {
        Verb::Begin(options) => begin::run(options),
        Verb::Add(options) => add::run(options),
        Verb::Observe(options) => observe::run(options),
        Verb::Conclude(options) => conclude::run(options),
        Verb::Amend(options) => amend::run(options),
        Verb::Countersign(options) => countersign::run(options),
        Verb::Show(options) => show::run(options),
        Verb::Verify(options) => verify::run(options),
        Verb::Export(options) => export::run(options),
        Verb::Key(options) => key::run(options),
    }
}

/// Longest wait for another program that is adding to the dossier.
const LONGEST_WAIT: Duration = Duration::from_secs(30);

fn patience() -> Patience<'static> {
    Patience {
        limit: LONGEST_WAIT,
        waiting: &|| {
            eprintln!("inktell: another program is adding to this dossier; waiting for it")
        },
    }
}

fn open(path: &Path) -> anyhow::Result<Box<dyn Contents>> {
    contents::open(path).map_err(anyhow::Error::msg)
}

/// The log of a dossier.
fn log(contents: &dyn Contents, dossier: &Path) -> anyhow::Result<Log> {
    let bytes = contents.read(LOG);
    let bytes = bytes.map_err(|error| unreadable_log(dossier, &error))?;
    Ok(Log::parse(&bytes))
}

fn unreadable_log(dossier: &Path, error: &std::io::Error) -> anyhow::Error {
    anyhow::anyhow!(
        "{}: {LOG} cannot be read ({error}); check the permissions, and where the file is damaged ask for the dossier anew",
        dossier.display()
    )
}

/// Says that an entry is on disk, and its hash.
fn acknowledge(receipt: &Receipt, what: &str, signed: bool) -> anyhow::Result<()> {
    if receipt.set_aside > 0 {
        eprintln!(
            "inktell: an earlier writing was interrupted; {} of it set aside in the dossier",
            counted(receipt.set_aside, "unfinished piece")
        );
    }
    let signed = if signed { "signed" } else { "unsigned" };
    output::print(&format!(
        "entry {}, {what}, {signed}\nSHA-256 {}\n",
        receipt.n, receipt.digest.sha256
    ))
}

/// Text given as an argument, or read from standard input for "-".
fn text_given(text: &str) -> anyhow::Result<String> {
    let text = if text == "-" {
        std::io::read_to_string(std::io::stdin())?
    } else {
        text.to_owned()
    };
    let text = text.trim();
    if text.is_empty() {
        anyhow::bail!("the text is empty; say in a sentence what you saw or conclude");
    }
    plain::lines("the text", text).map_err(anyhow::Error::msg)?;
    Ok(text.to_owned())
}
