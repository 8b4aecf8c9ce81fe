//! Why nothing was added.

use crate::dossier::line::LineError;
use std::io;
use std::path::PathBuf;

/// Why nothing was added; every text says what to do next.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The disk is full.
    #[error("{}: the disk is full, so nothing was added; make room and do it again", .0.display())]
    Full(PathBuf),
    /// A file could not be read or written.
    #[error("{}: {doing} failed ({source}), so nothing was added", file.display())]
    Disk {
        /// The file.
        file: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What the system said.
        source: io::Error,
    },
    /// The entry is written, but `head` is not.
    #[error("entry {n} is written and safe, but {} could not be brought up to date ({source}); the next entry will do it", file.display())]
    HeadBehind {
        /// The entry's number.
        n: u64,
        /// The head file.
        file: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Another program is adding to it.
    #[error("{}: another program is adding to this dossier and has not finished; try again when it has", .0.display())]
    InUse(PathBuf),
    /// There is no dossier.
    #[error("{}: is no dossier (it holds no dossier.jsonl); begin one with: inktell dossier begin", .0.display())]
    NotADossier(PathBuf),
    /// The folder is taken.
    #[error("{}: {what}; choose a folder that does not exist yet", folder.display())]
    Taken {
        /// The folder.
        folder: PathBuf,
        /// What is in it.
        what: String,
    },
    /// The log does not hold together, so nothing is built on it.
    #[error("{}: nothing was added, because {what}; see: inktell dossier verify", folder.display())]
    Broken {
        /// The dossier.
        folder: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// The line could not be made.
    #[error(transparent)]
    Line(#[from] LineError),
    /// What was asked for makes no sense with what stands in the log.
    #[error("{0}")]
    Asked(String),
}
