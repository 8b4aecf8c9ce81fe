//! Writing one entry and what belongs to it, in the order that [`super`] tells.

use super::{Draft, NewFile, Receipt, Store, StoreError};
use crate::dossier::digest::Digest;
use crate::dossier::entry::{Entry, FileRef, Program, Role, SCHEMA};
use crate::dossier::keys::Signer;
use crate::dossier::line::{self, Log};
use crate::dossier::{HEAD, LOG, SET_ASIDE, UNFINISHED, privacy};
use crate::photo::sha256_hex;
use std::collections::BTreeMap;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

/// Longest ending of a file name that is kept.
const LONGEST_ENDING: usize = 5;

impl Store<'_> {
    pub(super) fn append(
        &self,
        log: &Log,
        draft: Draft,
        signer: Option<&Signer>,
    ) -> Result<Receipt, StoreError> {
        self.set_torn_end_aside(log)?;
        let set_aside = self.unnamed_torn_ends(log)?;
        let fresh = self.not_there_yet(&draft.files);
        let written = self.write_entry(log, draft, set_aside, signer);
        let refused = written
            .as_ref()
            .is_err_and(|error| !matches!(error, StoreError::HeadBehind { .. }));
        // What no entry names is taken away again: on a full disk it would keep the disk full.
        if refused && self.is_without(log) {
            for file in fresh {
                let _ = self.disk.remove(&file);
            }
        }
        written
    }

    /// Makes sure that nothing stands in the log beyond what stood there before, and says whether that
    /// will outlast a power cut: else a line might come back whose files are gone.
    fn is_without(&self, log: &Log) -> bool {
        let file = self.root.join(LOG);
        match self.disk.cut(&file, log.whole_bytes()) {
            Ok(()) => self.disk.sync(&file).is_ok(),
            Err(error) => error.kind() == ErrorKind::NotFound,
        }
    }

    /// Places of files that are not in the dossier now.
    fn not_there_yet(&self, files: &[NewFile]) -> Vec<PathBuf> {
        let place = |file: &NewFile| {
            let (folder, name) = self.placing(file, &Digest::of(&file.bytes));
            folder.join(name)
        };
        let missing = |place: &PathBuf| {
            let read = self.disk.read(place);
            read.is_err_and(|e| e.kind() == ErrorKind::NotFound)
        };
        files.iter().map(place).filter(missing).collect()
    }

    fn write_entry(
        &self,
        log: &Log,
        draft: Draft,
        set_aside: Vec<FileRef>,
        signer: Option<&Signer>,
    ) -> Result<Receipt, StoreError> {
        let files = draft
            .files
            .iter()
            .map(|file| self.place(file))
            .collect::<Result<Vec<_>, _>>()?;
        let n = log.lines.len() as u64 + 1;
        let receipt_set_aside = set_aside.len();
        let entry = Entry {
            schema: SCHEMA.into(),
            n,
            prev: log.lines.last().map(|line| line.digest.clone()),
            time: draft.time,
            author: draft.author,
            program: Program::this(),
            deed: draft.deed,
            files,
            set_aside,
            without_location: copies_without_location(&draft.files),
            key: None,
        };
        let bytes = line::compose(entry, signer)?;
        self.append_bytes(log, &bytes)?;
        let digest = Digest::of(&bytes);
        self.place_head(n, &digest)
            .map_err(|source| StoreError::HeadBehind {
                n,
                file: self.root.join(HEAD),
                source,
            })?;
        Ok(Receipt {
            n,
            digest,
            set_aside: receipt_set_aside,
        })
    }

    fn append_bytes(&self, log: &Log, bytes: &[u8]) -> Result<(), StoreError> {
        let file = self.root.join(LOG);
        let written = self
            .disk
            .append(&file, bytes)
            .and_then(|()| self.disk.sync(&file))
            .and_then(|()| {
                if log.lines.is_empty() {
                    self.disk.sync_folder(&self.root)
                } else {
                    Ok(())
                }
            });
        written.map_err(|error| {
            // What was not acknowledged is taken back; where that fails too, the next writer finds
            // an unfinished line and moves it aside.
            let _ = self.disk.cut(&file, log.whole_bytes());
            self.failed(&file, "writing the entry", error)
        })
    }

    /// Moves an unfinished line out of the log, without losing a byte of it.
    fn set_torn_end_aside(&self, log: &Log) -> Result<(), StoreError> {
        if log.torn.is_empty() {
            return Ok(());
        }
        self.place(&NewFile {
            role: Role::Torn,
            name: "unfinished-end.bytes".into(),
            bytes: log.torn.clone(),
        })?;
        let file = self.root.join(LOG);
        self.disk
            .cut(&file, log.whole_bytes())
            .and_then(|()| self.disk.sync(&file))
            .map_err(|e| self.failed(&file, "moving an unfinished line aside", e))
    }

    /// Unfinished ends set aside that no entry names yet.
    fn unnamed_torn_ends(&self, log: &Log) -> Result<Vec<FileRef>, StoreError> {
        let folder = self.root.join(SET_ASIDE);
        let mut names = match self.disk.list(&folder) {
            Ok(names) => names,
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(self.failed(&folder, "listing", error)),
        };
        names.retain(|name| !name.ends_with(UNFINISHED));
        names.sort();
        let named = |path: &str| {
            log.entries()
                .any(|entry| entry.set_aside.iter().any(|file| file.path == path))
        };
        names
            .into_iter()
            .filter(|name| !named(&format!("{SET_ASIDE}/{name}")))
            .map(|name| {
                let file = folder.join(&name);
                let bytes = self
                    .disk
                    .read(&file)
                    .map_err(|e| self.failed(&file, "reading", e))?;
                Ok(FileRef {
                    role: Role::Torn,
                    path: format!("{SET_ASIDE}/{name}"),
                    name,
                    digest: Digest::of(&bytes),
                })
            })
            .collect()
    }

    /// Puts a file in its place, named by its SHA-256; one that is there already is used.
    fn place(&self, file: &NewFile) -> Result<FileRef, StoreError> {
        let digest = Digest::of(&file.bytes);
        let (folder, name) = self.placing(file, &digest);
        let place = folder.join(&name);
        let placed = self.folder_ready(&folder).and_then(|()| {
            match self.disk.read(&place) {
                // It may be from a writer that was stopped before it was safe on disk.
                Ok(there) if digest.fits(&there) => {
                    self.disk.sync(&place)?;
                    self.disk.sync_folder(&folder)
                }
                _ => self.place_bytes(&folder, &name, &file.bytes),
            }
        });
        placed.map_err(|e| self.failed(&place, "writing", e))?;
        let path = match file.role.folder() {
            None => name,
            Some(folder) => format!("{folder}/{name}"),
        };
        Ok(FileRef {
            role: file.role,
            path,
            name: file.name.clone(),
            digest,
        })
    }

    /// Folder and name of a file.
    fn placing(&self, file: &NewFile, digest: &Digest) -> (PathBuf, String) {
        match file.role.folder() {
            None => (self.root.clone(), file.name.clone()),
            Some(folder) => (
                self.root.join(folder),
                format!("{}{}", digest.sha256, ending(&file.name)),
            ),
        }
    }

    fn folder_ready(&self, folder: &Path) -> io::Result<()> {
        if folder == self.root {
            return Ok(());
        }
        self.disk.create_folder(folder)?;
        self.disk.sync_folder(&self.root)
    }
}

/// SHA-256 of the copies without location of the photographs that tell one. Making such a copy asks
/// for nothing but the original, so the log can name it long before an export puts it in: only then
/// can a reader who has the copy alone tell it from another picture.
fn copies_without_location(files: &[NewFile]) -> BTreeMap<String, String> {
    files
        .iter()
        .filter(|file| file.role.is_photograph())
        .filter(|file| privacy::traces(&file.bytes).location.is_some())
        .filter_map(|file| {
            let copy = privacy::without_location(&file.bytes)?;
            Some((sha256_hex(&file.bytes), sha256_hex(&copy)))
        })
        .collect()
}

/// The ending of a file name with its dot, small letters and digits only; empty where odd.
fn ending(name: &str) -> String {
    let ending = name.rsplit_once('.').map_or("", |(_, e)| e).to_lowercase();
    let plain = ending.chars().all(|c| c.is_ascii_alphanumeric());
    if plain && !ending.is_empty() && ending.len() <= LONGEST_ENDING {
        format!(".{ending}")
    } else {
        String::new()
    }
}

#[cfg(test)]
mod tests {
    use super::ending;

    #[test]
    fn endings_are_kept_only_where_they_are_plain() {
        assert_eq!(ending("a.JPG"), ".jpg");
        assert_eq!(ending("a.tar/../x"), "");
        assert_eq!(ending("none"), "");
    }
}
