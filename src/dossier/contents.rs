//! Reading a dossier from a folder, from a ZIP file of it, or from memory.

use super::LOG;
use crate::report::words;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// Folder of a bag in which everything that it carries lies.
const PAYLOAD: &str = "data/";
/// File that makes a folder a bag.
pub const BAG_DECLARATION: &str = "bagit.txt";
/// How the names of a bag's manifests begin (RFC 8493, 2.1.3 and 2.2.1).
const MANIFESTS: [&str; 2] = ["manifest-", "tagmanifest-"];
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

    /// Paths of files that came along outside the dossier and the bag that it lies in.
    fn outside(&self) -> Vec<String> {
        Vec::new()
    }
}

/// Whether these are the files of a bag: one without its declaration is a bag too, and a damaged one.
fn is_bag(files: &dyn Contents) -> bool {
    let of_bag = |path: &String| {
        let manifest = MANIFESTS.iter().any(|begin| path.starts_with(begin));
        path == BAG_DECLARATION || manifest && path.ends_with(".txt") && !path.contains('/')
    };
    files.paths().is_ok_and(|paths| paths.iter().any(of_bag))
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
        is_bag(&bag).then(|| {
            let bag: Box<dyn Contents> = Box::new(bag);
            (bag, self.root[at..].to_owned())
        })
    }

    fn outside(&self) -> Vec<String> {
        let dossier = self.bag().map_or(0, |(_, dossier)| dossier.len());
        let root = &self.root[..self.root.len() - dossier];
        let Ok(archive) = self.archive.lock() else {
            return Vec::new();
        };
        let mut paths: Vec<String> = archive
            .file_names()
            .filter_map(|name| Some(name.ok()?.to_string()))
            .filter(|name| !name.starts_with(root) && !name.ends_with('/'))
            .collect();
        paths.sort();
        paths
    }
}

/// Opens a dossier: its folder, a BagIt bag that holds it, or a ZIP file of either.
///
/// # Errors
/// A sentence that names the file and says what to do next.
pub fn open(path: &Path) -> Result<Box<dyn Contents>, String> {
    if path.is_dir() {
        return open_folder(path);
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
    if archive.has_duplicate_names() {
        return Err(format!(
            "{}: holds two files of one name, so that it does not say which of them counts; ask for the dossier anew",
            path.display()
        ));
    }
    let roots: Vec<String> = archive
        .file_names()
        .filter_map(|name| Some(name.ok()?.strip_suffix(LOG)?.to_owned()))
        .filter(|root| root.is_empty() || root.ends_with('/'))
        .collect();
    match <[String; 1]>::try_from(roots) {
        Ok([root]) => Ok(Box::new(Zipped {
            archive: Arc::new(Mutex::new(archive)),
            root,
        })),
        Err(roots) if roots.is_empty() => {
            Err(format!("{}: holds no dossier (no {LOG})", path.display()))
        }
        Err(roots) => Err(several(path, &roots)),
    }
}

fn open_folder(path: &Path) -> Result<Box<dyn Contents>, String> {
    if path.join(LOG).is_file() {
        return Ok(Box::new(Folder(path.to_owned())));
    }
    let mut dossiers = dossiers_in(&path.join(PAYLOAD));
    let Some(dossier) = dossiers.pop() else {
        return Err(format!(
            "{}: is no dossier (it holds no {LOG}); begin one with: inktell dossier begin",
            path.display()
        ));
    };
    if !dossiers.is_empty() {
        dossiers.push(dossier);
        let inside = dossiers.iter().filter_map(|d| d.strip_prefix(path).ok());
        let roots: Vec<_> = inside.map(|d| d.display().to_string()).collect();
        return Err(several(path, &roots));
    }
    let (dossier, bag) = (Folder(dossier), Folder(path.to_owned()));
    Ok(if is_bag(&bag) {
        Box::new(Bagged { dossier, bag })
    } else {
        Box::new(dossier)
    })
}

/// Folders that hold a log: the payload of a bag, and those in it.
fn dossiers_in(payload: &Path) -> Vec<PathBuf> {
    let inside = std::fs::read_dir(payload).into_iter().flatten();
    let mut all: Vec<_> = inside
        .filter_map(|entry| Some(entry.ok()?.path()))
        .chain([payload.to_owned()])
        .filter(|path| path.join(LOG).is_file())
        .collect();
    all.sort();
    all
}

/// What is said of a file or folder with more than one dossier: to choose would be to guess.
fn several(path: &Path, roots: &[String]) -> String {
    let mut named: Vec<String> = roots
        .iter()
        .map(|root| match root.trim_end_matches('/') {
            "" => "the top".to_owned(),
            folder => folder.to_owned(),
        })
        .collect();
    named.sort();
    format!(
        "{}: holds {} dossiers (in {}); unpack it, and name the folder of the one that you mean",
        path.display(),
        roots.len(),
        words::list(&named)
    )
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
    fn a_zip_file_that_can_be_read_in_two_ways_is_refused() {
        use std::io::Write;
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("heron.zip");
        let zipped = |names: &[&str]| {
            let mut writer = zip::ZipWriter::new(File::create(&file).unwrap());
            for name in names {
                // Its writer refuses a name twice, so a letter is put right afterwards.
                let plain = zip::write::SimpleFileOptions::default();
                writer.start_file(*name, plain).unwrap();
                writer.write_all(b"log").unwrap();
            }
            writer.finish().unwrap();
            let bytes = std::fs::read(&file).unwrap();
            let text: String = bytes.iter().map(|&b| char::from(b)).collect();
            let twice = text.replace("dossier.jsonX", LOG);
            let bytes: Vec<u8> = twice.chars().map(|c| c as u8).collect();
            std::fs::write(&file, bytes).unwrap();
            open(&file).err().unwrap_or_default()
        };
        assert_eq!(zipped(&["x/dossier.jsonl", "x/head"]), "");
        let two = zipped(&["heron/dossier.jsonl", "a/dossier.jsonl"]);
        assert!(two.contains("2 dossiers (in a and heron)"), "{two}");
        let beside = zipped(&["x/dossier.jsonl", "x/./dossier.jsonl"]);
        assert!(beside.contains("2 dossiers"), "{beside}");
        let twice = zipped(&["x/dossier.jsonX", "x/dossier.jsonl"]);
        assert!(twice.contains("two files of one name"), "{twice}");
    }

    #[test]
    fn a_bag_with_two_dossiers_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["a", "b"] {
            let dossier = folder.path().join(PAYLOAD).join(name);
            std::fs::create_dir_all(&dossier).unwrap();
            std::fs::write(dossier.join(LOG), "").unwrap();
        }
        let said = open(folder.path()).err().unwrap();
        assert!(said.contains("2 dossiers"), "{said}");
    }

    #[test]
    fn a_bag_without_its_declaration_is_a_bag_still() {
        let folder = tempfile::tempdir().unwrap();
        let dossier = folder.path().join("data/dossier");
        std::fs::create_dir_all(&dossier).unwrap();
        std::fs::write(dossier.join(LOG), "").unwrap();
        assert!(open(folder.path()).unwrap().bag().is_none());
        std::fs::write(folder.path().join("manifest-sha256.txt"), "").unwrap();
        assert!(open(folder.path()).unwrap().bag().is_some());
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
