//! `inktell dossier key`: make a key.

use super::signing::Passphrase;
use crate::cli::{Outcome, output};
use anyhow::bail;
use inktell::dossier::{keys, plain};
use std::io::IsTerminal;
use std::path::PathBuf;

const EXAMPLES: &str = "\
Example:
  inktell dossier key ~/inktell.key --name \"A. Bidder\"

The key is of the kind ed25519 in OpenSSH's format, encrypted with your passphrase;
`ssh-keygen -t ed25519` makes keys that do as well. Keep the file and the passphrase:
nobody can make them again. Give the fingerprint to those who will check your
signatures, by a way they trust.

Exit codes:
  0  done
  2  trouble, and no key was made: an argument is wrong, the file is there already or cannot
     be written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Where the private key goes; the public key goes beside it, with .pub added
    file: PathBuf,
    /// Your name, written into the key
    #[arg(long, value_name = "NAME")]
    name: String,
    #[command(flatten)]
    passphrase: Passphrase,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let name = options.name.trim();
    if name.is_empty() {
        bail!("--name is blank; give the name that your entries are to carry");
    }
    plain::one_line("the name", name).map_err(anyhow::Error::msg)?;
    let passphrase = match options.passphrase.given()? {
        Some(given) => given,
        None => asked_twice(options)?,
    };
    let signer = keys::make(&options.file, name, &passphrase)?;
    output::print(&format!(
        "private key  {}\npublic key   {}\nfingerprint  {}\n",
        options.file.display(),
        keys::public_file(&options.file).display(),
        signer.fingerprint()
    ))?;
    Ok(Outcome::Done)
}

fn asked_twice(options: &Options) -> anyhow::Result<String> {
    if !std::io::stdin().is_terminal() {
        return options.passphrase.given_or_asked("");
    }
    let first = options
        .passphrase
        .given_or_asked("Passphrase for the new key: ")?;
    let second = options.passphrase.given_or_asked("The same again: ")?;
    if first != second {
        bail!("the two passphrases differ; no key was made, do it again");
    }
    Ok(first)
}
