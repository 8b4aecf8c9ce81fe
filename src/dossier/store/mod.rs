//! Adding entries so that nothing acknowledged is lost and nothing half-written is taken as whole.
//!
//! The order of writing: photographs and readings to a temporary name, synced, renamed, folder
//! synced; then the line appended to the log and synced; then `head` replaced in the same way. Only
//! then is the entry acknowledged. Whatever stops the program in between, the log holds whole lines
//! and at most one unfinished one, which the next writer moves aside.

mod append;
mod error;
mod head;

pub use error::StoreError;
pub use head::{head_text, parse_head};

use super::digest::Digest;
use super::disk::Disk;
use super::entry::{Deed, Role};
use super::keys::Signer;
use super::line::Log;
use super::{HEAD, LOCK, LOG, README, SET_ASIDE, UNFINISHED};
use std::any::Any;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Pause between two tries for the lock.
const BETWEEN_TRIES: Duration = Duration::from_millis(25);

/// A file to be kept.
#[derive(Clone, Debug)]
pub struct NewFile {
    /// What it is.
    pub role: Role,
    /// The name it came with.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// An entry before it is written.
#[derive(Clone, Debug)]
pub struct Draft {
    /// Who makes it.
    pub author: String,
    /// When, RFC 3339 in UTC.
    pub time: String,
    /// What was done.
    pub deed: Deed,
    /// Files that belong to it.
    pub files: Vec<NewFile>,
}

/// The acknowledgement of an entry: it is on disk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Receipt {
    /// Its number.
    pub n: u64,
    /// Digest of its line.
    pub digest: Digest,
    /// Number of unfinished ends of the log that were set aside on the way.
    pub set_aside: usize,
}

/// How long to wait for another writer, and what to do when waiting begins.
pub struct Patience<'a> {
    /// Longest wait.
    pub limit: Duration,
    /// Called once when waiting begins.
    pub waiting: &'a dyn Fn(),
}

impl Patience<'_> {
    /// No waiting.
    pub const NONE: Patience<'static> = Patience {
        limit: Duration::ZERO,
        waiting: &|| {},
    };
}

/// A dossier's folder, to be written to.
pub struct Store<'a> {
    root: PathBuf,
    disk: &'a dyn Disk,
}

impl<'a> Store<'a> {
    /// A dossier at a folder, which need not exist yet.
    #[must_use]
    pub fn new(root: &Path, disk: &'a dyn Disk) -> Self {
        Self {
            root: root.to_owned(),
            disk,
        }
    }

    /// Begins a dossier with its first entry. The folder must not exist, be empty, or hold only
    /// what an interrupted beginning left.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn begin(&self, draft: Draft, signer: Option<&Signer>) -> Result<Receipt, StoreError> {
        self.disk
            .create_folder(&self.root)
            .map_err(|e| self.failed(&self.root, "making the folder", e))?;
        if let Some(parent) = self.root.parent().filter(|p| !p.as_os_str().is_empty()) {
            self.disk
                .sync_folder(parent)
                .map_err(|e| self.failed(parent, "syncing the folder", e))?;
        }
        self.refuse_taken()?;
        let _lock = self.lock(&Patience::NONE)?;
        let log = self.log_if_any()?;
        if !log.lines.is_empty() {
            return Err(self.taken("holds a dossier already"));
        }
        self.refuse_overwriting(&draft)?;
        self.append(&log, draft, signer)
    }

    /// Adds an entry; the draft is made from the log as it stands, under the lock.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn add(
        &self,
        signer: Option<&Signer>,
        patience: &Patience<'_>,
        draft: impl FnOnce(&Log) -> Result<Draft, StoreError>,
    ) -> Result<Receipt, StoreError> {
        self.refuse_no_dossier()?;
        let _lock = self.lock(patience)?;
        let log = self.log_if_any()?;
        if log.lines.is_empty() {
            return Err(StoreError::NotADossier(self.root.clone()));
        }
        self.catch_up(&log)?;
        let draft = draft(&log)?;
        self.append(&log, draft, signer)
    }

    fn refuse_no_dossier(&self) -> Result<(), StoreError> {
        let names = self.disk.list(&self.root);
        if names
            .as_ref()
            .is_err_and(|e| e.kind() == ErrorKind::NotADirectory)
        {
            return Err(StoreError::Asked(format!(
                "{}: is a file; entries are added to the folder of a dossier, so unpack it first",
                self.root.display()
            )));
        }
        if names.is_ok_and(|names| names.iter().any(|name| name == LOG)) {
            Ok(())
        } else {
            Err(StoreError::NotADossier(self.root.clone()))
        }
    }

    /// A folder with anything else in it is no place for a dossier.
    fn refuse_taken(&self) -> Result<(), StoreError> {
        let names = self
            .disk
            .list(&self.root)
            .map_err(|e| self.failed(&self.root, "listing the folder", e))?;
        let ours = [LOG, HEAD, README, LOCK, SET_ASIDE];
        match names
            .iter()
            .find(|name| !ours.contains(&name.as_str()) && !name.ends_with(UNFINISHED))
        {
            Some(_) if names.iter().any(|name| name == LOG) => {
                Err(self.taken("holds a dossier already"))
            }
            Some(other) => {
                Err(self.taken(&format!("is a folder with other things in it ({other})")))
            }
            None => Ok(()),
        }
    }

    /// An interrupted beginning leaves the very page that is written again, and no `head`; anything
    /// else under these names is someone's.
    fn refuse_overwriting(&self, draft: &Draft) -> Result<(), StoreError> {
        let there = |name: &str| match self.disk.read(&self.root.join(name)) {
            Ok(bytes) => Ok(Some(bytes)),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(error) => Err(self.failed(&self.root.join(name), "reading", error)),
        };
        if there(HEAD)?.is_some() {
            return Err(
                self.taken("holds a file head and no entry, so a log was taken away from it")
            );
        }
        for file in draft.files.iter().filter(|f| f.role.folder().is_none()) {
            if there(&file.name)?.is_some_and(|bytes| bytes != file.bytes) {
                return Err(self.taken(&format!("is a folder with another {} in it", file.name)));
            }
        }
        Ok(())
    }

    fn taken(&self, what: &str) -> StoreError {
        StoreError::Taken {
            folder: self.root.clone(),
            what: what.into(),
        }
    }

    fn broken(&self, what: String) -> StoreError {
        StoreError::Broken {
            folder: self.root.clone(),
            what,
        }
    }

    fn failed(&self, file: &Path, doing: &'static str, source: io::Error) -> StoreError {
        if source.kind() == ErrorKind::StorageFull {
            return StoreError::Full(self.root.clone());
        }
        StoreError::Disk {
            file: file.to_owned(),
            doing,
            source,
        }
    }

    fn lock(&self, patience: &Patience<'_>) -> Result<Box<dyn Any>, StoreError> {
        let file = self.root.join(LOCK);
        let began = Instant::now();
        let mut told = false;
        loop {
            match self.disk.try_lock(&file) {
                Err(error) if error.kind() == ErrorKind::WouldBlock => {
                    if began.elapsed() >= patience.limit {
                        return Err(StoreError::InUse(self.root.clone()));
                    }
                    if !told {
                        (patience.waiting)();
                        told = true;
                    }
                    std::thread::sleep(BETWEEN_TRIES);
                }
                result => return result.map_err(|e| self.failed(&file, "locking", e)),
            }
        }
    }

    fn log_if_any(&self) -> Result<Log, StoreError> {
        let file = self.root.join(LOG);
        match self.disk.read(&file) {
            Ok(bytes) => Ok(Log::parse(&bytes)),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(Log::default()),
            Err(error) => Err(self.failed(&file, "reading", error)),
        }
    }

    /// Refuses a log that does not hold together; brings `head` up to date where the last writer
    /// was stopped just before that.
    fn catch_up(&self, log: &Log) -> Result<(), StoreError> {
        chain_holds(log).map_err(|what| self.broken(what))?;
        let file = self.root.join(HEAD);
        let head = match self.disk.read(&file) {
            Ok(bytes) => Some(
                parse_head(&bytes)
                    .ok_or_else(|| self.broken("the file head cannot be read".into()))?,
            ),
            Err(error) if error.kind() == ErrorKind::NotFound => None,
            Err(error) => return Err(self.failed(&file, "reading", error)),
        };
        let lines = log.lines.len() as u64;
        let noted = head.as_ref().map_or(0, |(n, _)| *n);
        if let Some((n, digest)) = &head {
            let line = (*n as usize).checked_sub(1).and_then(|i| log.lines.get(i));
            if line.is_none_or(|line| line.digest != *digest) {
                return Err(self.broken(format!(
                    "the log does not hold entry {n} as the file head notes it: it was cut off or changed"
                )));
            }
        }
        match lines - noted {
            0 => Ok(()),
            1 => {
                // The line may still be in the machine's memory only; head must not run ahead of it.
                let log_file = self.root.join(LOG);
                self.disk
                    .sync(&log_file)
                    .map_err(|e| self.failed(&log_file, "syncing", e))?;
                self.write_head(log)
                    .map_err(|e| self.failed(&file, "writing", e))
            }
            more => Err(self.broken(format!(
                "the log holds {more} entries that the file head does not note"
            ))),
        }
    }

    fn write_head(&self, log: &Log) -> io::Result<()> {
        match log.lines.last() {
            Some(last) => self.place_head(log.lines.len() as u64, &last.digest),
            None => Ok(()),
        }
    }

    fn place_head(&self, n: u64, digest: &Digest) -> io::Result<()> {
        self.place_bytes(&self.root, HEAD, head_text(n, digest).as_bytes())
    }

    /// Writes a file under a temporary name and moves it into place.
    fn place_bytes(&self, folder: &Path, name: &str, bytes: &[u8]) -> io::Result<()> {
        let unfinished = folder.join(format!("{name}{UNFINISHED}"));
        let written = self.disk.write(&unfinished, bytes);
        if let Err(error) = written.and_then(|()| self.disk.sync(&unfinished)) {
            let _ = self.disk.remove(&unfinished);
            return Err(error);
        }
        self.disk.rename(&unfinished, &folder.join(name))?;
        self.disk.sync_folder(folder)
    }
}

/// Whether every line can be read and names the one before.
fn chain_holds(log: &Log) -> Result<(), String> {
    for (index, line) in log.lines.iter().enumerate() {
        let number = index as u64 + 1;
        let entry = match &line.entry {
            Ok(entry) => entry,
            Err(why) => return Err(format!("line {number} of the log cannot be read: {why}")),
        };
        let before = index.checked_sub(1).map(|i| &log.lines[i].digest);
        if entry.n != number || entry.prev.as_ref() != before {
            return Err(format!(
                "entry {number} does not follow on what stands before it in the log"
            ));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
