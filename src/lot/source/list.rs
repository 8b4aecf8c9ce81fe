//! A list of files, one a line.

use super::folder::found;
use super::{Listing, SourceError, is_address, legible};
use crate::lot::source::Found;
use std::path::{Path, PathBuf};

/// Reads a list: one path or address a line; empty lines and lines that begin with `#` are passed
/// over. Paths are reckoned from the list's own folder.
pub fn read(list: &Path) -> Result<Listing, SourceError> {
    let unreadable = |why: String| SourceError::Unreadable {
        place: list.display().to_string(),
        why,
    };
    let bytes = std::fs::read(list).map_err(|e| unreadable(e.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|_| {
        unreadable("it is neither a photograph nor a list of files, one path a line".into())
    })?;
    let base = list.parent().unwrap_or(Path::new(""));
    let lines = text
        .lines()
        .map(|line| unquoted(line.trim().trim_start_matches('\u{feff}')))
        .filter(|line| !line.is_empty() && !line.starts_with('#'));
    let (addresses, paths): (Vec<&str>, Vec<&str>) = lines.partition(|line| is_address(line));
    let paths: Vec<PathBuf> = paths.into_iter().map(|line| base.join(line)).collect();
    let mut listing = of_files(&paths);
    for address in addresses {
        let name = address.split_once("://").map_or(address, |(_, rest)| rest);
        listing.photos.push(Found {
            name: name.trim_start_matches('/').to_owned(),
            location: address.to_owned(),
            stamp: "listed".into(),
        });
    }
    Ok(listing)
}

/// A line without the quotation marks in which file managers copy paths.
fn unquoted(line: &str) -> &str {
    ['"', '\'']
        .into_iter()
        .find_map(|mark| line.strip_prefix(mark)?.strip_suffix(mark))
        .unwrap_or(line)
}

/// Files by their paths; their names begin behind the folder that holds them all.
pub fn of_files(paths: &[PathBuf]) -> Listing {
    let mut listing = Listing::default();
    let shared = shared_folder(paths);
    for path in paths {
        let inner = path.strip_prefix(&shared).unwrap_or(path);
        let name: Vec<_> = inner
            .components()
            .map(|c| legible(c.as_os_str()))
            .filter(|part| part != "." && part != "/")
            .collect();
        let name = name.join("/");
        // The user has named each file: it is a photograph, or a row that says why not.
        listing.photos.push(found(path, name));
    }
    listing
}

fn shared_folder(paths: &[PathBuf]) -> PathBuf {
    let mut folders = paths.iter().filter_map(|p| p.parent());
    let Some(first) = folders.next() else {
        return PathBuf::new();
    };
    folders.fold(first.to_owned(), |shared, folder| {
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
        let listing = read(&list).unwrap();
        let names: Vec<_> = listing.photos.iter().map(|f| f.name.as_str()).collect();
        assert_eq!(names, ["a.jpg", "b/c.png", "bucket/d.jpg"]);
        assert_eq!(listing.photos[0].stamp, "missing");
        std::fs::write(&list, [0xFF, 0xD8, 0xFF]).unwrap();
        assert!(read(&list).unwrap_err().to_string().contains("neither"));
    }
}
