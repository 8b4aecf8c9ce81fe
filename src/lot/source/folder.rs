//! A folder with all folders in it.

use super::{Found, Listing, SourceError, is_picture_name};
use crate::lot::ledger::LEDGER_NAME;
use std::fs::{self, Metadata};
use std::path::Path;
use std::time::UNIX_EPOCH;

/// Photographs in a folder and below. Hidden files, links to folders and the results of earlier
/// lots are passed over.
pub fn list(folder: &Path) -> Result<Listing, SourceError> {
    let mut listing = Listing::default();
    let mut open = vec![(folder.to_owned(), String::new())];
    while let Some((path, name)) = open.pop() {
        let entries = match entries(&path) {
            Err(_) if !name.is_empty() => {
                listing
                    .left_alone
                    .push(format!("{name} (this folder cannot be read)"));
                continue;
            }
            other => other?,
        };
        for entry in entries {
            let Ok(entry) = entry else { continue };
            let own = entry.file_name().to_string_lossy().into_owned();
            if own.starts_with('.') {
                continue;
            }
            let inner = if name.is_empty() {
                own
            } else {
                format!("{name}/{own}")
            };
            let Ok(kind) = entry.file_type() else {
                continue;
            };
            let path = entry.path();
            if kind.is_dir() {
                if !path.join(LEDGER_NAME).exists() {
                    open.push((path, inner));
                }
            } else if path.is_dir() {
                listing.left_alone.push(inner);
            } else {
                listing.add(&path, inner);
            }
        }
    }
    Ok(listing)
}

fn entries(path: &Path) -> Result<fs::ReadDir, SourceError> {
    fs::read_dir(path).map_err(|error| SourceError::Unreadable {
        place: path.display().to_string(),
        why: error.to_string(),
    })
}

impl Listing {
    /// Adds a file on disk under a name.
    fn add(&mut self, path: &Path, name: String) {
        if !is_picture_name(&name) {
            self.left_alone.push(name);
            return;
        }
        self.photos.push(found(path, name));
    }
}

/// A file on disk under a name, whether it is there or not.
pub(super) fn found(path: &Path, name: String) -> Found {
    Found {
        location: path.to_string_lossy().into_owned(),
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
        ] {
            let path = root.join(file);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, "x").unwrap();
        }
        #[cfg(unix)]
        std::os::unix::fs::symlink(root, root.join("box 1/round")).unwrap();
        let listing = list(root).unwrap();
        let mut names: Vec<_> = listing.photos.iter().map(|f| f.name.as_str()).collect();
        names.sort_unstable();
        assert_eq!(names, ["box 1/a.JPG", "top.png"]);
        assert!(listing.left_alone.contains(&"box 1/notes.txt".to_owned()));
        assert!(list(&root.join("none")).is_err());
    }
}
