//! A folder with all folders in it.

use super::{Found, Listing, SourceError, is_picture_name, legible, location_of};
use crate::lot::names::{LEDGER_NAME, REPORTS, is_report, is_result};
use image::ImageFormat;
use std::fs::{self, Metadata};
use std::io::Read;
use std::path::Path;
use std::time::UNIX_EPOCH;

/// Photographs in a folder and below. Hidden files, links to folders and the results of a lot that lie
/// beside photographs are passed over; a folder that cannot be read is listed as a file that cannot, but one that
/// breaks off while it is read ends the listing: nobody knows what is missing.
pub fn list(folder: &Path) -> Result<Listing, SourceError> {
    let mut listing = Listing::default();
    let mut open = vec![(folder.to_owned(), String::new())];
    while let Some((path, name)) = open.pop() {
        let entries = match entries(&path) {
            Err(_) if !name.is_empty() => {
                // Read as a file, it gives the system's reason in a row of its own.
                let row = found(&path, format!("{name}/(this folder)"));
                listing.photos.push(row);
                continue;
            }
            other => other?,
        };
        let is_the_lots_own = own_files(&path);
        for entry in entries {
            let entry = entry.map_err(|error| unreadable(&path, &error))?;
            let own = legible(&entry.file_name());
            let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
            if own.starts_with('.') || !is_folder && is_the_lots_own(&own) {
                continue;
            }
            let inner = if name.is_empty() {
                own
            } else {
                format!("{name}/{own}")
            };
            let path = entry.path();
            // Where the system cannot say what it is, it is listed, and says why it cannot be read.
            if is_folder {
                open.push((path, inner));
            } else if path.is_dir() {
                listing.left_alone.push(format!(
                    "{inner} (a link to a folder; name that folder itself)"
                ));
            } else if is_no_file(&path) {
                listing
                    .left_alone
                    .push(format!("{inner} (a pipe, a socket or a device)"));
            } else {
                listing.add(&path, inner);
            }
        }
    }
    Ok(listing)
}

/// Which files in a folder a lot has written, by their names. Only files: a folder may be called as results are
/// and hold photographs.
fn own_files(folder: &Path) -> fn(&str) -> bool {
    let holds_ledger = |folder: &Path| folder.join(LEDGER_NAME).exists();
    let is_of_reports = folder.file_name().is_some_and(|name| name == REPORTS);
    if holds_ledger(folder) {
        is_result
    } else if is_of_reports && folder.parent().is_some_and(holds_ledger) {
        is_report
    } else {
        |_| false
    }
}

/// Whether something is there that is neither a file nor a folder: a pipe keeps whoever opens it waiting, and
/// a device may never end.
pub(super) fn is_no_file(path: &Path) -> bool {
    fs::metadata(path).is_ok_and(|found| !found.is_file() && !found.is_dir())
}

fn entries(path: &Path) -> Result<fs::ReadDir, SourceError> {
    fs::read_dir(path).map_err(|error| unreadable(path, &error))
}

fn unreadable(path: &Path, error: &std::io::Error) -> SourceError {
    SourceError::Unreadable {
        place: path.display().to_string(),
        why: error.to_string(),
    }
}

impl Listing {
    /// Adds a file on disk under a name.
    fn add(&mut self, path: &Path, name: String) {
        if !is_picture_name(&name) && !begins_as_picture(path) {
            self.left_alone.push(name);
            return;
        }
        self.photos.push(found(path, name));
    }
}

/// Whether a file of another name begins as a JPEG, PNG, TIFF or WebP file does.
fn begins_as_picture(path: &Path) -> bool {
    let mut head = [0; 12];
    let read = fs::File::open(path).and_then(|mut file| file.read_exact(&mut head));
    read.is_ok()
        && (image::guess_format(&head).is_ok_and(|format| {
            matches!(
                format,
                ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::Tiff | ImageFormat::WebP
            )
        }))
}

/// A file on disk under a name, whether it is there or not.
pub(super) fn found(path: &Path, name: String) -> Found {
    Found {
        location: location_of(path),
        stamp: fs::metadata(path).map_or_else(|_| "missing".into(), |m| stamp(&m)),
        name,
    }
}

/// Size and time of the last change.
fn stamp(metadata: &Metadata) -> String {
    let changed = metadata
        .modified()
        .ok()
        .and_then(|t| t.duration_since(UNIX_EPOCH).ok())
        .map_or(0, |d| d.as_nanos());
    format!("{}-{changed}", metadata.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_searched_and_what_is_no_photograph_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path();
        for file in [
            "box 1/a.JPG",
            "box 1/notes.txt",
            ".hidden/x.jpg",
            "top.png",
            "old/ledger.jsonl",
            "old/x.jpg",
            "old/reports/x.jpg",
            "old/reports/rose-0123abcd.html",
            "old/reports/rose-0123abcd.json",
            "old/reports/deeper/lily-0123abcd.json",
            "old/lot.json/y.jpg",
        ] {
            let path = root.join(file);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, "x").unwrap();
        }
        fs::write(root.join("no ending"), b"\xFF\xD8\xFF\xE0\0\x10JFIF\0\x01").unwrap();
        #[cfg(unix)]
        std::os::unix::fs::symlink(root, root.join("box 1/round")).unwrap();
        #[cfg(unix)]
        let _socket = std::os::unix::net::UnixListener::bind(root.join("box 1/s.jpg")).unwrap();
        let listing = list(root).unwrap();
        let mut names: Vec<_> = listing.photos.iter().map(|f| f.name.as_str()).collect();
        names.sort_unstable();
        // Results beside photographs hide none of them.
        assert_eq!(
            names,
            [
                "box 1/a.JPG",
                "no ending",
                "old/lot.json/y.jpg",
                "old/reports/x.jpg",
                "old/x.jpg",
                "top.png"
            ]
        );
        // Nor does it hide what the program did not write, and its own reports are not told as left alone.
        let reports: Vec<_> = listing
            .left_alone
            .iter()
            .filter(|n| n.contains("reports"))
            .collect();
        assert_eq!(reports, ["old/reports/deeper/lily-0123abcd.json"]);
        let linked = listing.left_alone.iter().filter(|n| n.contains("a link"));
        assert_eq!(linked.count(), usize::from(cfg!(unix)));
        let no_file = listing.left_alone.iter().filter(|n| n.contains("a pipe"));
        assert_eq!(no_file.count(), usize::from(cfg!(unix)));
        assert!(listing.left_alone.contains(&"box 1/notes.txt".to_owned()));
        assert!(list(&root.join("none")).is_err());
    }
}
