//! A list of files, one a line.

use super::folder::{self, found};
use super::{
    Fetcher, Found, Listing, SourceError, identity, is_address, legible, location_of, store,
};
use crate::lot::spreadsheet;
use std::path::{Component, Path, PathBuf};

/// What the lines of a list name.
#[derive(Debug)]
pub struct Lines {
    pub paths: Vec<PathBuf>,
    pub addresses: Vec<String>,
}

/// Reads a list: one path or address a line; empty lines are passed over, and those that begin with `#` unless a file or
/// folder is called so. In quotation marks it always belongs to the name. Paths are reckoned from the list's own folder; a folder stands for all photographs in it and below.
pub fn read(list: &Path) -> Result<Lines, SourceError> {
    let unreadable = |why: String| SourceError::Unreadable {
        place: list.display().to_string(),
        why,
    };
    let bytes = std::fs::read(list).map_err(|e| unreadable(e.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|_| {
        unreadable("it is neither a photograph nor a list of files, one path a line".into())
    })?;
    if is_list_of_sheets(&text) {
        return Err(no_list(
            list,
            "is a table of sheets and their files; give it with --sheets, beside the folder that holds the photographs",
        ));
    }
    let base = list.parent().unwrap_or(Path::new(""));
    let lines = text
        .lines()
        .map(|line| line.trim().trim_start_matches('\u{feff}'))
        .filter(|line| !line.starts_with('#') || base.join(line).exists())
        .map(unquoted)
        .filter(|line| !line.is_empty());
    let (addresses, paths): (Vec<&str>, Vec<&str>) = lines.partition(|line| is_address(line));
    let paths: Vec<PathBuf> = paths.into_iter().map(|line| base.join(line)).collect();
    if addresses.is_empty() && paths.is_empty() {
        return Err(no_list(
            list,
            "names no photographs; write one path or address a line, or name the folder that holds them",
        ));
    }
    Ok(Lines {
        paths,
        addresses: addresses.into_iter().map(str::to_owned).collect(),
    })
}

/// Files in stores, by their addresses; their names begin behind the folder that holds them all.
///
/// # Errors
/// As [`store::stamps`].
pub fn of_addresses(addresses: &[String], fetcher: &Fetcher) -> Result<Listing, SourceError> {
    let parts: Vec<Vec<&str>> = addresses.iter().map(|a| parts(a)).collect();
    let shared = shared_parts(&parts);
    let found = |((address, parts), stamp): ((&String, &Vec<&str>), String)| Found {
        name: parts[shared..].join("/"),
        location: address.to_owned(),
        stamp,
    };
    let stamps = store::stamps(addresses, fetcher)?;
    let each = addresses.iter().zip(&parts).zip(stamps);
    Ok(Listing {
        photos: each.map(found).collect(),
        left_alone: Vec::new(),
    })
}

/// Scheme, bucket, folders and name of an address.
fn parts(address: &str) -> Vec<&str> {
    address.split('/').filter(|part| !part.is_empty()).collect()
}

/// How many parts all addresses begin with alike, the name of the file never counted.
fn shared_parts(addresses: &[Vec<&str>]) -> usize {
    let Some((first, others)) = addresses.split_first() else {
        return 0;
    };
    others.iter().fold(first.len() - 1, |shared, other| {
        let alike = first.iter().zip(&other[..other.len() - 1]);
        alike.take(shared).take_while(|(a, b)| a == b).count()
    })
}

fn is_list_of_sheets(text: &str) -> bool {
    let headings = spreadsheet::headings(text);
    ["sheet", "file"]
        .iter()
        .all(|needed| headings.iter().any(|h| h == needed))
}

fn no_list(list: &Path, why: &str) -> SourceError {
    SourceError::NoList {
        place: list.display().to_string(),
        why: why.into(),
    }
}

/// A line without the quotation marks in which file managers copy paths.
fn unquoted(line: &str) -> &str {
    ['"', '\'']
        .into_iter()
        .find_map(|mark| line.strip_prefix(mark)?.strip_suffix(mark))
        .unwrap_or(line)
}

/// Files, and those in folders, by their paths; their names begin behind the folder that holds them all.
///
/// # Errors
/// As [`folder::list`].
pub fn of_paths(paths: &[PathBuf]) -> Result<Listing, SourceError> {
    let mut listing = Listing::default();
    let plain: Vec<PathBuf> = paths.iter().map(|path| plain(path)).collect();
    let shared = shared_folder(&plain);
    for (path, plain) in paths.iter().zip(&plain) {
        let name = name_behind(&shared, plain);
        if path.is_dir() {
            let mut inner = folder::list(path)?;
            inner.put_under(&name);
            listing.photos.append(&mut inner.photos);
            listing.left_alone.append(&mut inner.left_alone);
        } else {
            // The user has named each file: it is a photograph, or a row that says why not.
            listing.photos.push(found(path, name));
        }
    }
    Ok(listing)
}

/// A path as its name is taken from it: absolute and without `..`, so that no two files have one, else as it is written.
fn plain(path: &Path) -> PathBuf {
    let absolute = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let leads_back = absolute.components().any(|c| c == Component::ParentDir);
    match leads_back {
        false => absolute,
        true if absolute.is_dir() => absolute.canonicalize().unwrap_or(absolute),
        true => identity(&location_of(&absolute)),
    }
}

/// The part of a path that is not shared; empty where all of it is.
fn name_behind(shared: &Path, path: &Path) -> String {
    let inner = path.strip_prefix(shared).unwrap_or(path);
    let name: Vec<_> = inner
        .components()
        .map(|c| legible(c.as_os_str()))
        .filter(|part| part != "." && part != "/")
        .collect();
    name.join("/")
}

fn shared_folder(paths: &[PathBuf]) -> PathBuf {
    let folder_of = |path: &'_ PathBuf| {
        if path.is_dir() {
            Some(path.clone())
        } else {
            path.parent().map(Path::to_owned)
        }
    };
    let mut folders = paths.iter().filter_map(folder_of);
    let Some(first) = folders.next() else {
        return PathBuf::new();
    };
    folders.fold(first, |shared, folder| {
        shared
            .components()
            .zip(folder.components())
            .take_while(|(a, b)| a == b)
            .map(|(a, _)| a)
            .collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_names_files_from_its_own_folder() {
        let folder = tempfile::tempdir().unwrap();
        let list = folder.path().join("lot.txt");
        std::fs::write(
            &list,
            "\u{feff}# the estate\n\"box/a.jpg\"\n\nbox/b/c.png\r\ns3://bucket/d.jpg\n",
        )
        .unwrap();
        let lines = read(&list).unwrap();
        let listing = of_paths(&lines.paths).unwrap();
        let names: Vec<_> = listing.photos.iter().map(|f| f.name.as_str()).collect();
        assert_eq!(names, ["a.jpg", "b/c.png"]);
        assert_eq!(listing.photos[0].stamp, "missing");
        assert_eq!(lines.addresses, ["s3://bucket/d.jpg"]);
        std::fs::write(&list, [0xFF, 0xD8, 0xFF]).unwrap();
        assert!(read(&list).unwrap_err().to_string().contains("neither"));
    }

    #[test]
    fn a_file_whose_name_begins_as_a_remark_does_is_read() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("#12 rose.jpg"), "a rose").unwrap();
        let list = folder.path().join("lot.txt");
        let text = "\u{feff}# the estate\n#12 rose.jpg\n#13 lily.jpg\n\"#14 iris.jpg\"\n";
        std::fs::write(&list, text).unwrap();
        let paths = read(&list).unwrap().paths;
        // One in quotation marks that is not there is a row that says so.
        let named = ["#12 rose.jpg", "#14 iris.jpg"].map(|name| folder.path().join(name));
        assert_eq!(paths, named);
    }

    #[test]
    fn a_folder_in_a_list_stands_for_its_photographs() {
        let root = tempfile::tempdir().unwrap();
        for file in [
            "box/rose/1.jpg",
            "box/top.jpg",
            "box/notes.txt",
            "tin/2.jpg",
        ] {
            let path = root.path().join(file);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, file).unwrap();
        }
        let list = root.path().join("lot.txt");
        let names = |text: &str| {
            std::fs::write(&list, text).unwrap();
            let listing = of_paths(&read(&list).unwrap().paths).unwrap();
            let mut names: Vec<String> = listing.photos.into_iter().map(|f| f.name).collect();
            names.sort_unstable();
            (names, listing.left_alone)
        };
        // As the folder itself would be named on the command line.
        let (photos, left_alone) = names("box/\n");
        assert_eq!(photos, ["rose/1.jpg", "top.jpg"]);
        assert_eq!(left_alone, ["notes.txt"]);
        let (photos, left_alone) = names("box\ntin/2.jpg\n");
        assert_eq!(photos, ["box/rose/1.jpg", "box/top.jpg", "tin/2.jpg"]);
        assert_eq!(left_alone, ["box/notes.txt"]);
    }

    #[test]
    fn addresses_are_named_behind_the_folder_that_holds_them_all() {
        let names = |addresses: &[&str]| {
            let parts: Vec<_> = addresses.iter().map(|a| parts(a)).collect();
            let shared = shared_parts(&parts);
            let names = parts.iter().map(|parts| parts[shared..].join("/"));
            names.collect::<Vec<_>>()
        };
        let one = "s3://museum/prints/rose 1.jpg";
        assert_eq!(names(&[one]), ["rose 1.jpg"]);
        assert_eq!(
            names(&[one, "s3://museum/prints/heron.jpg"]),
            ["rose 1.jpg", "heron.jpg"]
        );
        assert_eq!(
            names(&[one, "s3://museum/maps/rose 1.jpg"]),
            ["prints/rose 1.jpg", "maps/rose 1.jpg"]
        );
        // A folder may be called as a file.
        assert_eq!(
            names(&["s3://museum/a.jpg", "s3://museum/a.jpg/b.jpg"]),
            ["a.jpg", "a.jpg/b.jpg"]
        );
        assert_eq!(
            names(&["s3://b/1.jpg", "gs://b/1.jpg"]),
            ["s3:/b/1.jpg", "gs:/b/1.jpg"]
        );
    }

    #[test]
    fn what_is_no_list_is_told_from_one() {
        let root = tempfile::tempdir().unwrap();
        let list = root.path().join("lot.csv");
        for (text, said) in [
            ("", "names no photographs"),
            ("# nothing yet\n\n", "names no photographs"),
            ("\u{feff}Sheet;File\r\nRose;1.jpg\r\n", "--sheets"),
        ] {
            std::fs::write(&list, text).unwrap();
            let error = read(&list).unwrap_err().to_string();
            assert!(error.contains("lot.csv") && error.contains(said), "{error}");
        }
        std::fs::write(&list, "sheet file.jpg\n").unwrap();
        assert_eq!(read(&list).unwrap().paths.len(), 1);
    }
}
