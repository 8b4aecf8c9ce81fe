//! Where photographs come from: folders, lists of files, object stores.

mod fetch;
mod folder;
mod list;
mod store;

pub use fetch::Fetcher;

use super::natural;
use std::path::{Path, PathBuf};

/// A file found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Its name in the lot, with `/` between folders.
    pub name: String,
    /// Where it is read: a path or an address.
    pub location: String,
    /// What tells one state of the file from another.
    pub stamp: String,
}

/// All that was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Listing {
    /// Photographs, and files that claim to be some, in natural order of their names.
    pub photos: Vec<Found>,
    /// Names of other files, which are left alone.
    pub left_alone: Vec<String>,
}

/// Why nothing could be listed.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SourceError {
    /// The path does not exist or may not be read.
    #[error("{place}: cannot be read ({why}); check the path and permissions")]
    Unreadable {
        /// As it was given.
        place: String,
        /// What the system said.
        why: String,
    },
    /// The address leads to no store.
    #[error(
        "{place}: no such store can be reached ({why}); addresses are s3://bucket/folder, file:///folder; an S3 endpoint and its keys are taken from the variables AWS_ENDPOINT, AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY"
    )]
    NoStore {
        /// As it was given.
        place: String,
        /// What was wrong.
        why: String,
    },
}

/// One place given by the user.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Place {
    Folder(PathBuf),
    Photo(PathBuf),
    List(PathBuf),
    Store(String),
}

/// Endings of photographs that can be read, and of those that can only be named with a reason.
const PICTURE_ENDINGS: &[&str] = &[
    "jpg", "jpeg", "jpe", "png", "tif", "tiff", "webp", "heic", "heif", "avif", "gif", "bmp",
    "jp2", "dng", "cr2", "cr3", "nef", "arw", "orf", "rw2", "raf", "psd",
];

/// Whether a name claims to be a picture.
#[must_use]
pub fn is_picture_name(name: &str) -> bool {
    let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
    PICTURE_ENDINGS.contains(&ending.to_ascii_lowercase().as_str())
}

/// Whether text is an address of an object store.
#[must_use]
pub fn is_address(text: &str) -> bool {
    text.contains("://")
}

/// Lists the photographs in all places given. With several places, each name begins with its place's.
///
/// # Errors
/// [`SourceError`] for the first place that cannot be listed.
pub fn list(places: &[String], fetcher: &Fetcher) -> Result<Listing, SourceError> {
    let mut whole = Listing::default();
    let labels = labels(places);
    for (place, label) in places.iter().zip(labels) {
        let mut part = list_one(place, fetcher)?;
        if places.len() > 1 {
            part.put_under(&label);
        }
        whole.photos.append(&mut part.photos);
        whole.left_alone.append(&mut part.left_alone);
    }
    whole
        .photos
        .sort_by(|a, b| natural::compare(&a.name, &b.name));
    // The same file named twice is one file.
    whole.photos.dedup_by(|a, b| a.location == b.location);
    whole.left_alone.sort();
    Ok(whole)
}

impl Listing {
    fn put_under(&mut self, label: &str) {
        if label.is_empty() {
            return;
        }
        for photo in &mut self.photos {
            photo.name = format!("{label}/{}", photo.name);
        }
        for name in &mut self.left_alone {
            *name = format!("{label}/{name}");
        }
    }
}

fn list_one(place: &str, fetcher: &Fetcher) -> Result<Listing, SourceError> {
    match kind_of(place)? {
        Place::Folder(path) => folder::list(&path),
        Place::Photo(path) => Ok(list::of_files(&[path])),
        Place::List(path) => list::read(&path),
        Place::Store(address) => store::list(&address, fetcher),
    }
}

fn kind_of(place: &str) -> Result<Place, SourceError> {
    if is_address(place) {
        return Ok(Place::Store(place.to_owned()));
    }
    let path = PathBuf::from(place);
    let found = std::fs::metadata(&path).map_err(|error| SourceError::Unreadable {
        place: place.to_owned(),
        why: error.to_string(),
    })?;
    Ok(if found.is_dir() {
        Place::Folder(path)
    } else if is_picture_name(place) {
        Place::Photo(path)
    } else {
        Place::List(path)
    })
}

/// A name for each of several places: its last part, numbered where two are the same; lists and
/// single photographs need none.
fn labels(places: &[String]) -> Vec<String> {
    let mut labels: Vec<String> = Vec::new();
    for place in places {
        let is_file = !is_address(place) && Path::new(place).is_file();
        let own = if is_file {
            String::new()
        } else {
            last_part(place)
        };
        let mut label = own.clone();
        let mut number = 2;
        while !label.is_empty() && labels.contains(&label) {
            label = format!("{own} ({number})");
            number += 1;
        }
        labels.push(label);
    }
    labels
}

/// Last part of a path or address, for a title.
#[must_use]
pub fn last_part(place: &str) -> String {
    let trimmed = place.trim_end_matches(['/', '\\']);
    let last = trimmed.rsplit(['/', '\\']).next().unwrap_or_default();
    if last.is_empty() || last == "." || last == ".." || last.ends_with(':') {
        let absolute = std::path::absolute(place).and_then(std::fs::canonicalize);
        return absolute
            .ok()
            .and_then(|p| Some(p.file_name()?.to_string_lossy().into_owned()))
            .unwrap_or_else(|| "lot".into());
    }
    last.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_tell_pictures_from_other_files() {
        assert!(is_picture_name("a/b.JPG") && is_picture_name("x.heic"));
        assert!(!is_picture_name("notes.txt") && !is_picture_name("jpg"));
    }

    #[test]
    fn places_of_one_name_are_numbered() {
        let places = ["s3://a/box".to_owned(), "s3://b/box/".to_owned()];
        assert_eq!(labels(&places), ["box", "box (2)"]);
    }
}
