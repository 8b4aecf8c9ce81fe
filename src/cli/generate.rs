//! `inktell generate`: shell completions and the man pages, for packagers.

use super::{Arguments, Outcome};
use anyhow::Context;
use clap::CommandFactory;
use clap_complete::{Shell, generate_to};
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell generate completions
      inktell.bash, _inktell, inktell.fish, _inktell.ps1 and a man page a command

Have your shell read its file, for instance in ~/.bashrc:
  source ~/completions/inktell.bash

Exit codes:
  0  done
  2  trouble: the folder cannot be written into";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder to write into; made where it does not exist
    folder: PathBuf,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let folder = &options.folder;
    let what = || format!("{}: cannot be written into", folder.display());
    std::fs::create_dir_all(folder).with_context(what)?;
    completions(folder).with_context(what)?;
    clap_mangen::generate_to(Arguments::command(), folder).with_context(what)?;
    Ok(Outcome::Done)
}

fn completions(folder: &Path) -> std::io::Result<()> {
    for shell in [Shell::Bash, Shell::Zsh, Shell::Fish, Shell::PowerShell] {
        generate_to(shell, &mut Arguments::command(), "inktell", folder)?;
    }
    Ok(())
}
