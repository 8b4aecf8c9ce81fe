//! Who makes an entry, and the key they sign with.

use anyhow::{Context, bail};
use inktell::dossier::keys::{KeyFile, Signer};
use inktell::dossier::plain;
use inktell::dossier::work::Author;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

/// Environment variables that stand in for options.
const KEY: &str = "INKTELL_KEY";
const AUTHOR: &str = "INKTELL_AUTHOR";
const PASSPHRASE: &str = "INKTELL_PASSPHRASE";

#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Author and key")]
pub struct Signing {
    /// Your name; else the name in the key, or $INKTELL_AUTHOR
    #[arg(long, value_name = "NAME")]
    author: Option<String>,
    /// Sign with this key (ed25519, OpenSSH's format); else $INKTELL_KEY
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
    /// Do not sign, even where $INKTELL_KEY names a key
    #[arg(long, conflicts_with = "key")]
    unsigned: bool,
    #[command(flatten)]
    passphrase: Passphrase,
}

#[derive(Debug, clap::Args)]
pub struct Passphrase {
    /// Read the key's passphrase from the first line of a file; else $INKTELL_PASSPHRASE, else it is asked for
    #[arg(long, value_name = "FILE")]
    passphrase_file: Option<PathBuf>,
}

impl Passphrase {
    /// The passphrase from a file or the environment; none where it must be asked for.
    pub fn given(&self) -> anyhow::Result<Option<String>> {
        if let Some(file) = &self.passphrase_file {
            let text = std::fs::read_to_string(file).with_context(|| {
                format!("{}: the passphrase cannot be read from it", file.display())
            })?;
            return Ok(Some(text.lines().next().unwrap_or_default().to_owned()));
        }
        Ok(std::env::var(PASSPHRASE).ok())
    }

    /// The passphrase, asked for on the terminal where it is not given.
    pub fn given_or_asked(&self, prompt: &str) -> anyhow::Result<String> {
        if let Some(given) = self.given()? {
            return Ok(given);
        }
        if !std::io::stdin().is_terminal() {
            bail!(
                "the key needs its passphrase: run this in a terminal, or give it with --passphrase-file FILE or ${PASSPHRASE}"
            );
        }
        rpassword::prompt_password(prompt).context("the passphrase could not be read")
    }
}

/// The author's name and key, ready.
pub struct Hand {
    name: String,
    signer: Option<Signer>,
}

impl Signing {
    /// Opens the key and settles the name.
    pub fn ready(&self) -> anyhow::Result<Hand> {
        let key = self
            .key
            .clone()
            .or_else(|| std::env::var_os(KEY).map(PathBuf::from))
            .filter(|_| !self.unsigned);
        let signer = key.map(|file| self.opened(&file)).transpose()?;
        let name = self
            .author
            .clone()
            .or_else(|| std::env::var(AUTHOR).ok())
            .or_else(|| signer.as_ref().map(|s| s.name().to_owned()))
            .map(|name| name.trim().to_owned())
            .filter(|name| !name.is_empty());
        let Some(name) = name else {
            bail!("whose entry is it? Give your name with --author \"…\", or sign with --key FILE");
        };
        plain::one_line("the author's name", &name).map_err(anyhow::Error::msg)?;
        if signer.is_none() {
            eprintln!("inktell: this entry is unsigned; nobody can tell later that it is yours");
        }
        Ok(Hand { name, signer })
    }

    fn opened(&self, file: &Path) -> anyhow::Result<Signer> {
        let key = KeyFile::read(file)?;
        if !key.is_encrypted() {
            eprintln!(
                "inktell: the key {} is not encrypted; protect it with: ssh-keygen -p -f {}",
                file.display(),
                file.display()
            );
            return Ok(key.open("")?);
        }
        let prompt = format!("Passphrase of {}: ", file.display());
        Ok(key.open(&self.passphrase.given_or_asked(&prompt)?)?)
    }
}

impl Hand {
    /// The author, now.
    pub fn author(&self) -> Author<'_> {
        Author {
            name: self.name.clone(),
            signer: self.signer.as_ref(),
            time: jiff::Timestamp::now(),
        }
    }

    /// Whether entries are signed.
    pub fn signs(&self) -> bool {
        self.signer.is_some()
    }
}
