//! Finished sheets of which no photograph is there: the disk that holds them may not be mounted. They stand in no table and
//! wait in a file beside the ledger, of the same form, so that they need not be measured again.

use super::{Ledger, LedgerError, Place, sync_folder};
use crate::lot::names::ABSENT_NAME;
use crate::lot::task::report_link;
use crate::whole_file;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::Path;

impl Ledger {
    /// The absent sheets of a folder; none where it has no file of them.
    fn absent(folder: &Path) -> Result<Option<Self>, LedgerError> {
        let path = folder.join(ABSENT_NAME);
        path.exists().then(|| Self::open_file(path)).transpose()
    }

    /// Takes in again what was absent and is asked for, by the name of the sheet and the fingerprint of its task.
    ///
    /// # Errors
    /// [`LedgerError`].
    pub fn take_back(&mut self, is_asked: impl Fn(&str, &str) -> bool) -> Result<(), LedgerError> {
        let Some(absent) = Self::absent(&self.folder())? else {
            return Ok(());
        };
        for (sheet, place) in &absent.sheets {
            // Where the sheet was begun anew since, its report is no longer the absent one's.
            if !self.contains(sheet) && is_asked(sheet, &place.fingerprint) {
                let entry = absent.entry(sheet).map_err(absent.disk())?;
                self.append(&entry).map_err(self.disk())?;
            }
        }
        Ok(())
    }

    /// Puts all sheets but these with the absent ones, and lets go of absent ones that the ledger has. Removes the reports
    /// that no sheet of either has any longer; no other file is touched, for what no line names was not written by this lot.
    pub(super) fn set_absent(&self, sheets: &[&str]) -> Result<(), LedgerError> {
        let folder = self.folder();
        let before = Self::absent(&folder)?;
        let there: BTreeSet<&str> = sheets.iter().copied().collect();
        let mut absent: BTreeMap<&str, (&Self, &Place)> = BTreeMap::new();
        for (ledger, sheet, place) in before.iter().flat_map(Self::lines).chain(self.lines()) {
            if !(self.contains(sheet) && there.contains(sheet)) {
                absent.insert(sheet, (ledger, place));
            }
        }
        let path = folder.join(ABSENT_NAME);
        let written = match absent.is_empty() {
            true if before.is_some() => fs::remove_file(&path),
            true => Ok(()),
            false => whole_file::write_by(&path, |out| {
                let mut lines = absent.values();
                lines.try_for_each(|(ledger, place)| out.write_all(&ledger.line(place)?))
            }),
        };
        sync_folder(&folder);
        let reported = before.iter().chain([self]).flat_map(|l| &l.reported);
        let has_report = |sheet: &str| {
            let gone = absent.get(sheet).map(|(_, place)| *place);
            let place = self.sheets.get(sheet).or(gone);
            place.is_some_and(|place| place.has_report)
        };
        let old = reported.filter(|sheet| !has_report(sheet));
        let removed = written.and_then(|()| remove_reports(&folder, old));
        removed.map_err(self.disk())
    }

    fn lines(&self) -> impl Iterator<Item = (&Self, &str, &Place)> {
        let sheets = self.sheets.iter();
        sheets.map(move |(sheet, place)| (self, sheet.as_str(), place))
    }
}

fn remove_reports<'a>(folder: &Path, sheets: impl Iterator<Item = &'a String>) -> io::Result<()> {
    for sheet in sheets {
        let page = folder.join(report_link(sheet));
        for report in [page.with_extension("json"), page] {
            match fs::remove_file(report) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
                _ => {}
            }
        }
    }
    Ok(())
}
