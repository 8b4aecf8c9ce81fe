//! Finished sheets on disk, safe at any moment.
//!
//! One line a sheet, each behind a checksum of its text, appended and made sure of on the disk
//! before the next thing is done. A line cut short by a crash is cut off when the ledger is opened
//! again; a damaged one counts as not written. The last line of a sheet counts. Sheets that are not in a run are kept in
//! `absent`.

mod absent;

use super::names::LEDGER_NAME;
use super::record::Record;
use super::task::report_link;
use crate::photo::sha256_hex;
use crate::whole_file;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Hex digits of SHA-256 before each line: 64 bits tell any accident from the line itself.
const CHECKSUM_DIGITS: usize = 16;

/// A finished sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Fingerprint of the task that it was made from.
    pub fingerprint: String,
    /// What became of it.
    pub record: Record,
}

/// The part of an entry that is looked at on opening.
#[derive(Deserialize)]
struct Head {
    fingerprint: String,
    record: HeadRecord,
}

#[derive(Deserialize)]
struct HeadRecord {
    sheet: String,
    report: Option<String>,
}

#[derive(Clone, Debug)]
struct Place {
    start: u64,
    length: u64,
    fingerprint: String,
    has_report: bool,
}

/// Why a ledger cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LedgerError {
    /// Another run writes into the same folder.
    #[error("{}: another run is working in this folder; wait for it, or choose another --out", .0.display())]
    InUse(PathBuf),
    /// The disk failed, is full, or may not be written to.
    #[error("{}: cannot be read or written; check the path and the permissions", path.display())]
    Disk {
        /// The ledger.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// The finished sheets of a lot.
#[derive(Debug)]
pub struct Ledger {
    path: PathBuf,
    file: File,
    end: u64,
    sheets: BTreeMap<String, Place>,
    /// Sheets of which any line, superseded or not, has a report.
    reported: BTreeSet<String>,
    damaged_lines: usize,
    /// Where it stands until it is tidied into its place; nothing is synced before.
    aside: Option<Aside>,
}

/// A file that is gone when it is let go.
#[derive(Debug)]
struct Aside(PathBuf);

impl Drop for Aside {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.0);
    }
}

impl Drop for Ledger {
    fn drop(&mut self) {
        // A program that another thread is just starting has the file open too, until its first instruction,
        // and with it the lock: closing the file alone would not let it go.
        let _ = self.file.unlock();
    }
}

impl Ledger {
    /// Opens the ledger in a folder, or begins one. It is locked against other runs until dropped.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn open(folder: &Path) -> Result<Self, LedgerError> {
        let ledger = Self::open_file(folder.join(LEDGER_NAME))?;
        sync_folder(folder);
        Ok(ledger)
    }

    fn open_file(path: PathBuf) -> Result<Self, LedgerError> {
        let disk = |source| LedgerError::Disk {
            path: path.clone(),
            source,
        };
        let file = OpenOptions::new()
            .read(true)
            .append(true)
            .create(true)
            .open(&path)
            .map_err(disk)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(LedgerError::InUse(folder_of(&path))),
            // Some network disks know no locks; two runs at once are then the user's care.
            Err(TryLockError::Error(_)) => {}
        }
        let mut ledger = Self {
            path,
            file,
            end: 0,
            sheets: BTreeMap::new(),
            reported: BTreeSet::new(),
            damaged_lines: 0,
            aside: None,
        };
        ledger.take_stock().map_err(ledger.disk())?;
        Ok(ledger)
    }

    /// Begins a ledger that takes the place of the folder's own once it is [tidied](Self::tidy), and is
    /// gone if it is dropped before. Nothing is made sure of on the disk until then.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn aside(folder: &Path) -> Result<Self, LedgerError> {
        let aside = Aside(folder.join("ledger.jsonl.aside"));
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(true)
            .open(&aside.0)
            .map_err(|source| LedgerError::Disk {
                path: aside.0.clone(),
                source,
            })?;
        Ok(Self {
            path: folder.join(LEDGER_NAME),
            file,
            end: 0,
            sheets: BTreeMap::new(),
            reported: BTreeSet::new(),
            damaged_lines: 0,
            aside: Some(aside),
        })
    }

    /// Reads all lines and cuts off one that was not finished.
    fn take_stock(&mut self) -> io::Result<()> {
        let mut reader = BufReader::new(self.file.try_clone()?);
        reader.seek(SeekFrom::Start(0))?;
        let mut line = Vec::new();
        loop {
            line.clear();
            let length = reader.read_until(b'\n', &mut line)? as u64;
            if length == 0 {
                return Ok(());
            }
            if line.last() != Some(&b'\n') {
                self.file.set_len(self.end)?;
                return self.file.sync_all();
            }
            match head(&line) {
                Some(head) => {
                    let HeadRecord { sheet, report } = head.record;
                    let place = Place {
                        start: self.end,
                        length,
                        fingerprint: head.fingerprint,
                        has_report: has_report(&sheet, report.as_deref()),
                    };
                    self.note(sheet, place);
                }
                None => self.damaged_lines += 1,
            }
            self.end += length;
        }
    }

    fn note(&mut self, sheet: String, place: Place) {
        if place.has_report {
            self.reported.insert(sheet.clone());
        }
        self.sheets.insert(sheet, place);
    }

    /// Lines that were damaged on the disk and are passed over.
    #[must_use]
    pub fn damaged_lines(&self) -> usize {
        self.damaged_lines
    }

    /// Whether a sheet is finished for the task with this fingerprint.
    #[must_use]
    pub fn holds(&self, sheet: &str, fingerprint: &str) -> bool {
        self.sheets
            .get(sheet)
            .is_some_and(|place| place.fingerprint == fingerprint)
    }

    /// Whether a sheet has a line, whatever task it was made from.
    #[must_use]
    pub fn contains(&self, sheet: &str) -> bool {
        self.sheets.contains_key(sheet)
    }

    /// Names of finished sheets.
    pub fn sheets(&self) -> impl Iterator<Item = &str> {
        self.sheets.keys().map(String::as_str)
    }

    /// Adds a finished sheet; on return it is safe.
    ///
    /// # Errors
    /// What the disk says; the ledger is then as it was, or ends in a line that is cut off before the next.
    pub fn append(&mut self, entry: &Entry) -> io::Result<()> {
        let line = line_of(entry)?;
        // A line that did not get whole onto a full disk would run into this one.
        if self.file.metadata()?.len() > self.end {
            self.file.set_len(self.end)?;
        }
        // Reading moves the place in a file that is not opened for appending only.
        self.file.seek(SeekFrom::Start(self.end))?;
        self.file.write_all(line.as_bytes())?;
        if self.aside.is_none() {
            self.file.sync_data()?;
        }
        let place = Place {
            start: self.end,
            length: line.len() as u64,
            fingerprint: entry.fingerprint.clone(),
            has_report: has_report(&entry.record.sheet, entry.record.report.as_deref()),
        };
        self.end += place.length;
        self.note(entry.record.sheet.clone(), place);
        Ok(())
    }

    /// The record of a finished sheet.
    ///
    /// # Errors
    /// As [`Self::entry`].
    pub fn record(&self, sheet: &str) -> io::Result<Record> {
        Ok(self.entry(sheet)?.record)
    }

    /// The record of a finished sheet with its fingerprint.
    ///
    /// # Errors
    /// What the disk says, or that the line was damaged since it was opened.
    pub fn entry(&self, sheet: &str) -> io::Result<Entry> {
        let damaged = || {
            io::Error::new(
                io::ErrorKind::InvalidData,
                format!("the line of sheet {sheet} is damaged or missing; run again"),
            )
        };
        let line = self.line(self.sheets.get(sheet).ok_or_else(damaged)?)?;
        checked(&line)
            .and_then(|text| serde_json::from_slice(text).ok())
            .ok_or_else(damaged)
    }

    fn line(&self, place: &Place) -> io::Result<Vec<u8>> {
        let mut file = &self.file;
        file.seek(SeekFrom::Start(place.start))?;
        let mut line = vec![0; place.length as usize];
        file.read_exact(&mut line)?;
        Ok(line)
    }

    /// Writes the ledger anew with these sheets in this order, and nothing else: what was superseded
    /// or damaged is gone afterwards, and the reports of sheets that have none now before. Other sheets wait among the
    /// absent ones. The old ledger stays until the new one is safe.
    ///
    /// # Errors
    /// [`LedgerError`]; the old ledger is then untouched.
    pub fn tidy(self, sheets: &[&str]) -> Result<Self, LedgerError> {
        self.set_absent(sheets)?;
        let folder = self.folder();
        let written = whole_file::write_by(&self.path, |out| {
            let mut places = sheets.iter().filter_map(|sheet| self.sheets.get(*sheet));
            places.try_for_each(|place| out.write_all(&self.line(place)?))
        });
        written.map_err(self.disk())?;
        sync_folder(&folder);
        drop(self);
        Self::open(&folder)
    }

    fn folder(&self) -> PathBuf {
        folder_of(&self.path)
    }

    fn disk(&self) -> impl Fn(io::Error) -> LedgerError + use<> {
        let path = self.path.clone();
        move |source| LedgerError::Disk {
            path: path.clone(),
            source,
        }
    }
}

fn folder_of(path: &Path) -> PathBuf {
    path.parent().unwrap_or(Path::new("")).to_owned()
}

/// Whether a record's report is the one that a lot writes for its sheet; a line may come from anyone.
fn has_report(sheet: &str, report: Option<&str>) -> bool {
    report.is_some_and(|report| report == report_link(sheet))
}

fn line_of(entry: &Entry) -> io::Result<String> {
    let text = serde_json::to_string(entry).map_err(io::Error::other)?;
    let checksum = &sha256_hex(text.as_bytes())[..CHECKSUM_DIGITS];
    Ok(format!("{checksum} {text}\n"))
}

/// The text of a line where its checksum holds.
fn checked(line: &[u8]) -> Option<&[u8]> {
    let line = line.strip_suffix(b"\n")?;
    let (checksum, rest) = line.split_at_checked(CHECKSUM_DIGITS)?;
    let text = rest.strip_prefix(b" ")?;
    (sha256_hex(text).as_bytes().get(..CHECKSUM_DIGITS)? == checksum).then_some(text)
}

fn head(line: &[u8]) -> Option<Head> {
    serde_json::from_slice(checked(line)?).ok()
}

/// Whether a file holds a line of a ledger, whatever else.
#[must_use]
pub fn holds_a_line(file: &Path) -> bool {
    let lines = File::open(file).map(|file| BufReader::new(file).split(b'\n'));
    lines.is_ok_and(|lines| {
        let mut whole = lines.map_while(|line| Some([&line.ok()?[..], b"\n"].concat()));
        whole.any(|line| head(&line).is_some())
    })
}

/// Makes names in a folder safe, where the system can.
pub fn sync_folder(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

#[cfg(test)]
mod tests;
