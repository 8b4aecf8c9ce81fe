//! Reading a dossier from a folder, from a ZIP file of it, or from memory.

use super::LOG;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// Folder of a bag in which everything that it carries lies.
const PAYLOAD: &str = "data/";
/// File that makes a folder a bag.
const BAG_DECLARATION: &str = "bagit.txt";
/// Largest file read, bytes: far above any photograph, and an end to files that unpack for ever.
const LARGEST_FILE: u64 = 2_000_000_000;
/// Folders below one another that are looked into; a dossier has one level.
const DEEPEST: usize = 4;

/// The files of a dossier.
pub trait Contents {
    /// Paths of all files, with `/`, sorted.
    ///
    /// # Errors
    /// When they cannot be listed.
    fn paths(&self) -> io::Result<Vec<String>>;

    /// All bytes of a file.
    ///
    /// # Errors
    /// [`ErrorKind::NotFound`] where there is none; others as the source has them.
    fn read(&self, path: &str) -> io::Result<Vec<u8>>;

    /// The bag (BagIt, RFC 8493) that the dossier lies in, and the dossier's folder in it with a slash
    /// at its end; none where it lies in none.
    fn bag(&self) -> Option<(Box<dyn Contents>, String)> {
        None
    }
}

/// A dossier in memory.
pub type InMemory = BTreeMap<String, Vec<u8>>;

impl Contents for InMemory {
    fn paths(&self) -> io::Result<Vec<String>> {
        Ok(self.keys().cloned().collect())
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        self.get(path)
            .cloned()
            .ok_or_else(|| ErrorKind::NotFound.into())
    }
}

/// A dossier as a folder.
#[derive(Clone, Debug)]
pub struct Folder(pub PathBuf);

impl Contents for Folder {
    fn paths(&self) -> io::Result<Vec<String>> {
        let mut paths = Vec::new();
        walk(&self.0, "", DEEPEST, &mut paths)?;
        paths.sort();
        Ok(paths)
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        if !is_inside(path) {
            return Err(ErrorKind::NotFound.into());
        }
        read_limited(File::open(self.0.join(path))?)
    }
}

/// A dossier as a folder of an unpacked bag.
struct Bagged {
    dossier: Folder,
    bag: Folder,
}

impl Contents for Bagged {
    fn paths(&self) -> io::Result<Vec<String>> {
        self.dossier.paths()
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        self.dossier.read(path)
    }

    fn bag(&self) -> Option<(Box<dyn Contents>, String)> {
        let inside = self.dossier.0.strip_prefix(&self.bag.0).ok()?;
        let parts: Vec<_> = inside.iter().map(|part| part.to_string_lossy()).collect();
        Some((Box::new(self.bag.clone()), format!("{}/", parts.join("/"))))
    }
}

fn walk(folder: &Path, before: &str, depth: usize, paths: &mut Vec<String>) -> io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let path = format!("{before}{}", entry.file_name().to_string_lossy());
        let kind = entry.file_type()?;
        if kind.is_dir() && depth > 0 {
            walk(&entry.path(), &format!("{path}/"), depth - 1, paths)?;
        } else if !kind.is_dir() {
            paths.push(path);
        }
    }
    Ok(())
}

/// Whether a path from a log stays inside the dossier: a log may come from anyone.
fn is_inside(path: &str) -> bool {
    let odd = |part: &str| part.is_empty() || part == "." || part == "..";
    !path.contains(['\\', ':', '\0']) && !path.split('/').any(odd)
}

fn read_limited(source: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(LARGEST_FILE + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(io::Error::new(ErrorKind::FileTooLarge, "over 2 GB"));
    }
    Ok(bytes)
}

/// A dossier in a ZIP file, at the top or in any folder of it.
pub struct Zipped {
    archive: Arc<Mutex<zip::ZipArchive<File>>>,
    root: String,
}

impl Contents for Zipped {
    fn paths(&self) -> io::Result<Vec<String>> {
        let archive = self.archive.lock().map_err(|_| ErrorKind::Other)?;
        let mut paths: Vec<_> = archive
            .file_names()
            .filter_map(|name| Some(name.ok()?.strip_prefix(&self.root)?.to_owned()))
            .filter(|name| !name.is_empty() && !name.ends_with('/'))
            .collect();
        paths.sort();
        Ok(paths)
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        let mut archive = self.archive.lock().map_err(|_| ErrorKind::Other)?;
        let file = archive
            .by_name(&format!("{}{path}", self.root))
            .map_err(io::Error::from)?;
        read_limited(file)
    }

    fn bag(&self) -> Option<(Box<dyn Contents>, String)> {
        let at = self.root.rfind(PAYLOAD).filter(|at| {
            let before = &self.root[..*at];
            before.is_empty() || before.ends_with('/')
        })?;
        let bag = Self {
            archive: Arc::clone(&self.archive),
            root: self.root[..at].to_owned(),
        };
        bag.read(BAG_DECLARATION).ok()?;
        Some((Box::new(bag), self.root[at..].to_owned()))
    }
}

/// Opens a dossier: its folder, a BagIt bag that holds it, or a ZIP file of either.
///
/// # Errors
/// A sentence that names the file and says what to do next.
pub fn open(path: &Path) -> Result<Box<dyn Contents>, String> {
    if path.is_dir() {
        return match dossier_in(path) {
            Some(dossier) if dossier != path && path.join(BAG_DECLARATION).is_file() => {
                Ok(Box::new(Bagged {
                    dossier: Folder(dossier),
                    bag: Folder(path.to_owned()),
                }))
            }
            Some(folder) => Ok(Box::new(Folder(folder))),
            None => Err(format!(
                "{}: is no dossier (it holds no {LOG}); begin one with: inktell dossier begin",
                path.display()
            )),
        };
    }
    let file = File::open(path).map_err(|e| {
        format!(
            "{}: cannot be read ({e}); name a dossier's folder or ZIP file",
            path.display()
        )
    })?;
    let archive = zip::ZipArchive::new(file).map_err(|e| {
        format!(
            "{}: is neither a folder nor a ZIP file that can be read ({e})",
            path.display()
        )
    })?;
    let root = archive
        .file_names()
        .filter_map(|name| Some(name.ok()?.strip_suffix(LOG)?.to_owned()))
        .filter(|root| root.is_empty() || root.ends_with('/'))
        .min_by_key(String::len);
    match root {
        Some(root) => Ok(Box::new(Zipped {
            archive: Arc::new(Mutex::new(archive)),
            root,
        })),
        None => Err(format!("{}: holds no dossier (no {LOG})", path.display())),
    }
}

/// The folder itself, or the one inside a bag's `data` that holds a log.
fn dossier_in(folder: &Path) -> Option<PathBuf> {
    if folder.join(LOG).is_file() {
        return Some(folder.to_owned());
    }
    let data = folder.join("data");
    let mut inside: Vec<_> = std::fs::read_dir(&data)
        .ok()?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .chain([data.clone()])
        .filter(|path| path.join(LOG).is_file())
        .collect();
    inside.sort();
    inside.into_iter().next()
}

/// All files of a dossier in memory.
///
/// # Errors
/// As the source has them.
pub fn in_memory(contents: &dyn Contents) -> io::Result<InMemory> {
    let paths = contents.paths()?;
    paths
        .into_iter()
        .map(|path| Ok((path.clone(), contents.read(&path)?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_from_a_log_cannot_leave_the_dossier() {
        for path in ["../x", "a/../../x", "/etc/passwd", "a//b", "", "c:\\x", "."] {
            assert!(!is_inside(path), "{path}");
        }
        assert!(is_inside("photographs/ab.jpg"));
    }

    #[test]
    fn what_is_no_dossier_is_told_with_what_to_do() {
        let folder = tempfile::tempdir().unwrap();
        let say = |path: &Path| open(path).err().unwrap();
        assert!(say(folder.path()).contains("inktell dossier begin"));
        assert!(say(&folder.path().join("none")).contains("cannot be read"));
        let text = folder.path().join("letter.txt");
        std::fs::write(&text, "no zip").unwrap();
        assert!(say(&text).contains("neither a folder nor a ZIP file"));
    }
}
