//! `inktell dossier verify`: whether everything still holds.

use crate::cli::{Outcome, output};
use anyhow::Context;
use inktell::dossier::LOG;
use inktell::dossier::export;
use inktell::dossier::keys::KnownSigners;
use inktell::dossier::verify::{self, Asked, words};
use jiff::tz::TimeZone;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell dossier verify heron
  inktell dossier verify heron.zip --expect 3f29ab04c1d7e855 --signers allowed_signers

--expect takes the SHA-256 in the foot of an earlier export (its first 16 digits do) and
finds entries taken away since, which nothing inside a dossier can show. --signers takes
a file in OpenSSH's form \"name ssh-ed25519 AAAA…\", one key a line. Its options are heeded:
namespaces must let \"inktell-dossier\" in; valid-after and valid-before are held against
the time that a signed entry gives, which is its signer's own clock: take a lost key off the
list altogether. Certificates are not checked, so that a cert-authority vouches for nobody.

Exit codes:
  0  everything holds
  1  something does not hold; it is told which entry, byte or figure
  2  trouble: the dossier cannot be read";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder or ZIP file of the dossier
    dossier: PathBuf,
    /// A SHA-256 noted from an earlier export or acknowledgement
    #[arg(long, value_name = "SHA256", value_parser = beginning_of_sha256)]
    expect: Option<String>,
    /// Keys that you know, in the form of OpenSSH's allowed_signers
    #[arg(long, value_name = "FILE")]
    signers: Option<PathBuf>,
    /// Do not measure the photographs again
    #[arg(long)]
    no_measure: bool,
    /// The outcome as JSON
    #[arg(long)]
    json: bool,
}

fn beginning_of_sha256(text: &str) -> Result<String, String> {
    verify::is_expectation(text)
        .then(|| text.to_owned())
        .ok_or_else(|| "is no SHA-256: give at least 16 of its 64 hex digits".into())
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let contents = super::open(&options.dossier)?;
    // A log that is gone does not hold; one that may not be read says nothing.
    if let Err(error) = contents.read(LOG)
        && error.kind() != ErrorKind::NotFound
    {
        return Err(super::unreadable_log(&options.dossier, &error));
    }
    let known = match &options.signers {
        None => KnownSigners::default(),
        Some(file) => known_signers(file)?,
    };
    let verdict = verify::verify(
        contents.as_ref(),
        &Asked {
            measure: !options.no_measure,
            expect: options.expect.clone(),
            known,
        },
    );
    if options.json {
        output::print(&format!("{}\n", serde_json::to_string_pretty(&verdict)?))?;
    } else {
        let paragraphs = words::paragraphs(&verdict);
        output::print(&export::text::wrapped(
            &paragraphs,
            output::terminal_width(),
        ))?;
    }
    Ok(Outcome::held(verdict.holds()))
}

fn known_signers(file: &Path) -> anyhow::Result<KnownSigners> {
    let text = std::fs::read_to_string(file).with_context(|| {
        format!(
            "{}: cannot be read; name a text file with one key a line: name ssh-ed25519 AAAA…",
            file.display()
        )
    })?;
    let known = KnownSigners::parse(&text, &TimeZone::system());
    for line in known.passed_over() {
        eprintln!(
            "inktell: {}, line {}: {}; the line vouches for nobody",
            file.display(),
            line.line,
            line.why
        );
    }
    if known.is_empty() {
        anyhow::bail!(
            "{}: holds no ed25519 key; write one a line: name ssh-ed25519 AAAA…",
            file.display()
        );
    }
    Ok(known)
}
