//! Where photographs come from: folders, lists of files, object stores.

mod fetch;
mod folder;
mod list;
mod location;
mod store;

pub use fetch::{Fetcher, NotFetched};
pub use location::{legible, location_of, path_of};

use super::natural;
use super::spelling::composed;
use std::collections::HashSet;
use std::path::PathBuf;

/// A file found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Its name in the lot, with `/` between folders.
    pub name: String,
    /// Where it is read: a path as [`location_of`] writes it, an address, or [`NOWHERE`].
    pub location: String,
    /// What tells one state of the file from another.
    pub stamp: String,
}

/// The location of a file that the user's list of sheets names and that is not among the photographs. No path is
/// like it, so nothing can be read there.
pub const NOWHERE: &str = "";

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
    /// The file names nothing to be read.
    #[error("{place}: {why}")]
    NoList {
        /// As it was given.
        place: String,
        /// What was wrong, and what to do.
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
    "jpg", "jpeg", "jpe", "jfif", "png", "tif", "tiff", "webp", "heic", "heif", "avif", "gif",
    "bmp", "jp2", "dng", "cr2", "cr3", "nef", "arw", "orf", "rw2", "raf", "psd",
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

/// Lists the photographs in all places given, each an address or a path as [`location_of`] writes it. With
/// several places, each name begins with its place's; photographs named one by one and those of all lists are one
/// place together, so that they can make sheets with each other. Two files never have one name.
///
/// # Errors
/// [`SourceError`] for the first place that cannot be listed.
pub fn list(places: &[String], fetcher: &Fetcher) -> Result<Listing, SourceError> {
    let mut labels = Labels::default();
    let (mut parts, mut paths, mut addresses) = (Vec::new(), Vec::new(), Vec::new());
    for place in places {
        match kind_of(place)? {
            Place::Folder(path) => parts.push((labels.of(place), folder::list(&path)?)),
            Place::Store(address) => {
                parts.push((labels.of(place), store::list(&address, fetcher)?));
            }
            Place::List(path) => {
                let lines = list::read(&path)?;
                paths.extend(lines.paths);
                addresses.extend(lines.addresses);
            }
            Place::Photo(path) => paths.push(path),
        }
    }
    // Last, so that a photograph that lies in a folder given as well keeps its place in there.
    if !paths.is_empty() {
        parts.push((String::new(), list::of_paths(&paths)?));
    }
    if !addresses.is_empty() {
        parts.push((String::new(), list::of_addresses(&addresses, fetcher)?));
    }
    let several = parts.len() > 1;
    let (mut whole, mut known) = (Listing::default(), HashSet::new());
    let mut tops = HashSet::new();
    for (label, mut part) in parts {
        if several {
            part.put_under(&label);
        }
        part.photos
            .retain(|photo| known.insert(identity(&photo.location)));
        // A folder in a list may be called as one that was given: their sheets are others.
        while !part.tops().is_disjoint(&tops) {
            part.put_under(&labels.of("listed"));
        }
        tops.extend(part.tops());
        whole.photos.append(&mut part.photos);
        whole.left_alone.append(&mut part.left_alone);
    }
    whole
        .photos
        .sort_by(|a, b| natural::compare(&a.name, &b.name));
    whole.left_alone.sort();
    whole.left_alone.dedup();
    Ok(whole)
}

/// One file on disk by its [location](location_of), under the last part of its path.
#[must_use]
pub fn named(location: &str) -> Found {
    folder::found(&path_of(location), last_part(location))
}

/// The same for one file however its path is written: absolute, its folder without links. The last part
/// stands as it is: a link beside a file has a name of its own.
pub fn identity(location: &str) -> PathBuf {
    if is_address(location) {
        return location.into();
    }
    let path = path_of(location);
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.canonicalize(),
        _ => PathBuf::from(".").canonicalize(),
    };
    match (folder, path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path,
    }
}

impl Listing {
    /// The folders at the top, composed, and the photographs that lie in none.
    fn tops(&self) -> HashSet<String> {
        let names = self.photos.iter().map(|photo| &photo.name);
        let first = |name: &String| name.split('/').next().map(composed);
        names.filter_map(first).collect()
    }

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

fn kind_of(place: &str) -> Result<Place, SourceError> {
    if is_address(place) {
        return Ok(Place::Store(place.to_owned()));
    }
    let path = path_of(place);
    let found = std::fs::metadata(&path).map_err(|error| SourceError::Unreadable {
        place: path.display().to_string(),
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

/// Names for folders and stores: the last part of each, numbered where two are the same. What lists name and
/// single photographs need none, unless they lie in folders called so.
#[derive(Default)]
struct Labels {
    given: HashSet<String>,
}

impl Labels {
    fn of(&mut self, place: &str) -> String {
        // Folders that look the same hold sheets of their own.
        let own = composed(&last_part(place));
        let mut label = own.clone();
        let mut number = 2;
        while !self.given.insert(label.clone()) {
            label = format!("{own} ({number})");
            number += 1;
        }
        label
    }
}

/// Last part of a path or address, for a title.
#[must_use]
pub fn last_part(place: &str) -> String {
    let trimmed = location::shown(place).trim_end_matches(['/', '\\']);
    let last = trimmed.rsplit(['/', '\\']).next().unwrap_or_default();
    if last.is_empty() || last == "." || last == ".." || last.ends_with(':') {
        let absolute = std::path::absolute(path_of(place)).and_then(std::fs::canonicalize);
        return absolute
            .ok()
            .and_then(|p| Some(legible(p.file_name()?)))
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
        let mut labels = Labels::default();
        let given = ["s3://a/box", "s3://b/box/", "s3://c/tin"].map(|place| labels.of(place));
        assert_eq!(given, ["box", "box (2)", "tin"]);
        let given = ["ka\u{308}fer", "k\u{e4}fer"].map(|place| labels.of(place));
        assert_eq!(given, ["k\u{e4}fer", "k\u{e4}fer (2)"]);
    }

    fn names(root: &std::path::Path, places: &[&str]) -> Vec<String> {
        let places: Vec<String> = places
            .iter()
            .map(|place| root.join(place).to_string_lossy().into_owned())
            .collect();
        let listing = list(&places, &Fetcher::default()).unwrap();
        listing.photos.into_iter().map(|photo| photo.name).collect()
    }

    #[test]
    fn photographs_named_one_by_one_are_one_source_and_folders_are_kept_apart() {
        let root = tempfile::tempdir().unwrap();
        for file in ["box/rose/1.jpg", "tin/rose/1.jpg", "top/a.jpg", "top/b.jpg"] {
            let path = root.path().join(file);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, file).unwrap();
        }
        let names = |places: &[&str]| names(root.path(), places);
        assert_eq!(names(&["top/b.jpg", "top/a.jpg"]), ["a.jpg", "b.jpg"]);
        assert_eq!(
            names(&["tin/rose/1.jpg", "box/rose/1.jpg"]),
            ["box/rose/1.jpg", "tin/rose/1.jpg"],
            "one name for two files"
        );
        assert_eq!(
            names(&["top/a.jpg", "box", "tin/rose", "top/b.jpg"]),
            ["a.jpg", "b.jpg", "box/rose/1.jpg", "rose/1.jpg"]
        );
    }

    #[test]
    fn two_lists_are_one_source_in_which_every_file_has_its_own_name() {
        let root = tempfile::tempdir().unwrap();
        for (file, text) in [
            ("box/1.jpg", "a rose"),
            ("tin/1.jpg", "a lily"),
            ("far/box/1.jpg", "a heron"),
            ("far/2.jpg", "an iris"),
            ("box/list.txt", "1.jpg\n"),
            ("tin/list.txt", "1.jpg\n"),
            ("tin/back.txt", "../box/1.jpg\n"),
            ("far.txt", "far/box/1.jpg\nfar/2.jpg\n"),
        ] {
            let path = root.path().join(file);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
        let names = |places: &[&str]| names(root.path(), places);
        assert_eq!(names(&["box/list.txt"]), ["1.jpg"]);
        let both = ["box/1.jpg", "tin/1.jpg"];
        assert_eq!(names(&["box/list.txt", "tin/list.txt"]), both);
        assert_eq!(names(&["tin/back.txt", "tin/list.txt"]), both);
        assert_eq!(names(&["box/list.txt", "tin/1.jpg"]), both);
        assert_eq!(
            names(&["box", "far.txt"]),
            ["box/1.jpg", "listed/2.jpg", "listed/box/1.jpg"]
        );
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn names_that_are_no_text_are_found_kept_apart_and_read() {
        use std::ffi::OsStr;
        use std::os::unix::ffi::OsStrExt;
        let root = tempfile::tempdir().unwrap();
        let files = [&b"box \xFF/a.jpg"[..], b"caf\xE8.jpg", b"caf\xE9.jpg"];
        for file in files {
            let path = root.path().join(OsStr::from_bytes(file));
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, file).unwrap();
        }
        let named = ["box %FF/a.jpg", "caf%E8.jpg", "caf%E9.jpg"];
        let fetcher = Fetcher::default();
        let whole = list(&[location_of(root.path())], &fetcher).unwrap();
        assert!(whole.photos.iter().map(|p| &p.name).eq(&named));
        for (photo, bytes) in whole.photos.iter().zip(files) {
            assert_eq!(fetcher.fetch(&photo.location, 1.0).unwrap(), bytes);
        }
        // Such a folder or photograph can be given as well.
        let given = [files[2], b"box \xFF"]
            .map(|file| location_of(&root.path().join(OsStr::from_bytes(file))));
        let listing = list(&given, &fetcher).unwrap();
        let names: Vec<&str> = listing.photos.iter().map(|p| p.name.as_str()).collect();
        assert_eq!(names, ["box %FF/a.jpg", "caf%E9.jpg"]);
    }

    #[test]
    fn a_file_given_twice_is_one_file() {
        let root = tempfile::tempdir().unwrap();
        std::fs::create_dir_all(root.path().join("box/rose")).unwrap();
        std::fs::write(root.path().join("box/rose/1.jpg"), "x").unwrap();
        std::fs::write(root.path().join("list.txt"), "box/rose/1.jpg\n").unwrap();
        let names = |places: &[&str]| names(root.path(), places);
        let photo = "box/rose/1.jpg";
        assert_eq!(names(&[photo, photo]), ["1.jpg"]);
        // However its path is written, it stays in the folder that holds it.
        assert_eq!(
            names(&[photo, "box/../box/rose/1.jpg", "box", "list.txt"]),
            ["box/rose/1.jpg"]
        );
        assert_eq!(names(&["box", "box"]), ["box/rose/1.jpg"]);
    }
}
