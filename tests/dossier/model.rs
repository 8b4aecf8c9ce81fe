//! A model of a disk that can stop at any step and lose power.
//!
//! What is not synced may be lost, torn or kept when the power fails, in any mixture, as the rules
//! of POSIX allow.

use inktell::dossier::disk::Disk;
use rand::RngExt;
use rand::rngs::StdRng;
use std::any::Any;
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

/// A file: what is on the disk, and what the machine holds in memory.
#[derive(Clone, Debug, Default)]
pub struct Model {
    /// Bytes by file number, as programs see them and as a power cut leaves them at least.
    pub bytes: BTreeMap<usize, (Vec<u8>, Vec<u8>)>,
    /// Names, as programs see them.
    pub names: BTreeMap<PathBuf, usize>,
    /// Names that would outlast a power cut.
    pub safe_names: BTreeMap<PathBuf, usize>,
    pub folders: BTreeSet<PathBuf>,
    pub next: usize,
}

/// A disk that stops after some steps. A step is an operation or a byte written.
pub struct ModelDisk {
    pub model: RefCell<Model>,
    pub steps_left: Cell<u64>,
    pub space_left: Cell<u64>,
}

impl ModelDisk {
    pub fn new() -> Self {
        let model = Model {
            folders: [PathBuf::from("/")].into(),
            ..Model::default()
        };
        Self::after(model, u64::MAX)
    }

    pub fn after(model: Model, steps: u64) -> Self {
        Self {
            model: RefCell::new(model),
            steps_left: Cell::new(steps),
            space_left: Cell::new(u64::MAX),
        }
    }

    fn step(&self) -> io::Result<()> {
        match self.steps_left.get().checked_sub(1) {
            Some(left) => {
                self.steps_left.set(left);
                Ok(())
            }
            None => Err(io::Error::other("killed")),
        }
    }

    fn put(&self, file: &Path, bytes: &[u8], from_start: bool) -> io::Result<()> {
        self.step()?;
        let mut model = self.model.borrow_mut();
        let number = match model.names.get(file) {
            Some(&number) => number,
            None => {
                let number = model.next;
                model.next += 1;
                model.names.insert(file.to_owned(), number);
                number
            }
        };
        let (now, _) = model.bytes.entry(number).or_default();
        if from_start {
            now.clear();
        }
        for &byte in bytes {
            if self.space_left.get() == 0 {
                return Err(ErrorKind::StorageFull.into());
            }
            self.step()?;
            self.space_left.set(self.space_left.get() - 1);
            now.push(byte);
        }
        Ok(())
    }

    /// What a power cut leaves: of everything not synced, any part.
    pub fn power_cut(&self, random: &mut StdRng) -> Model {
        let mut model = self.model.borrow().clone();
        for (now, safe) in model.bytes.values_mut() {
            *now = left_of(now, safe, random);
            *safe = now.clone();
        }
        let changed: BTreeSet<PathBuf> = model
            .names
            .keys()
            .chain(model.safe_names.keys())
            .cloned()
            .collect();
        for name in changed {
            if random.random_bool(0.5) {
                match model.safe_names.get(&name) {
                    Some(&number) => model.names.insert(name, number),
                    None => model.names.remove(&name),
                };
            }
        }
        model.safe_names = model.names.clone();
        model
    }
}

/// Bytes of a file after a power cut: as last synced, as last written, or something in between.
fn left_of(now: &[u8], safe: &[u8], random: &mut StdRng) -> Vec<u8> {
    if now == safe {
        return now.to_vec();
    }
    match random.random_range(0..3) {
        0 => safe.to_vec(),
        1 => now.to_vec(),
        _ if now.starts_with(safe) => now[..random.random_range(safe.len()..=now.len())].to_vec(),
        _ if safe.starts_with(now) => safe[..random.random_range(now.len()..=safe.len())].to_vec(),
        _ => now[..random.random_range(0..=now.len())].to_vec(),
    }
}

impl Disk for ModelDisk {
    fn read(&self, file: &Path) -> io::Result<Vec<u8>> {
        let model = self.model.borrow();
        let number = model.names.get(file).ok_or(ErrorKind::NotFound)?;
        Ok(model.bytes[number].0.clone())
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        let model = self.model.borrow();
        if !model.folders.contains(folder) {
            return Err(ErrorKind::NotFound.into());
        }
        let inside = model.names.keys().chain(&model.folders);
        Ok(inside
            .filter(|path| path.parent() == Some(folder))
            .filter_map(|path| Some(path.file_name()?.to_string_lossy().into_owned()))
            .collect())
    }

    fn create_folder(&self, folder: &Path) -> io::Result<()> {
        self.step()?;
        self.model.borrow_mut().folders.insert(folder.to_owned());
        Ok(())
    }

    fn write(&self, file: &Path, bytes: &[u8]) -> io::Result<()> {
        self.put(file, bytes, true)
    }

    fn append(&self, file: &Path, bytes: &[u8]) -> io::Result<()> {
        self.put(file, bytes, false)
    }

    fn cut(&self, file: &Path, length: u64) -> io::Result<()> {
        self.step()?;
        let mut model = self.model.borrow_mut();
        let number = *model.names.get(file).ok_or(ErrorKind::NotFound)?;
        if let Some((now, _)) = model.bytes.get_mut(&number) {
            now.truncate(length as usize);
        }
        Ok(())
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.step()?;
        let mut model = self.model.borrow_mut();
        let number = model.names.remove(from).ok_or(ErrorKind::NotFound)?;
        model.names.insert(to.to_owned(), number);
        Ok(())
    }

    fn remove(&self, file: &Path) -> io::Result<()> {
        self.step()?;
        let removed = self.model.borrow_mut().names.remove(file);
        removed
            .map(|_| ())
            .ok_or_else(|| ErrorKind::NotFound.into())
    }

    fn sync(&self, file: &Path) -> io::Result<()> {
        self.step()?;
        let mut model = self.model.borrow_mut();
        let number = *model.names.get(file).ok_or(ErrorKind::NotFound)?;
        if let Some((now, safe)) = model.bytes.get_mut(&number) {
            *safe = now.clone();
        }
        Ok(())
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        self.step()?;
        let mut model = self.model.borrow_mut();
        let inside = |path: &Path| path.parent() == Some(folder);
        model.safe_names.retain(|path, _| !inside(path));
        let now: Vec<_> = model
            .names
            .iter()
            .filter(|(path, _)| inside(path))
            .map(|(path, number)| (path.clone(), *number))
            .collect();
        model.safe_names.extend(now);
        Ok(())
    }

    fn try_lock(&self, _file: &Path) -> io::Result<Box<dyn Any>> {
        self.step()?;
        Ok(Box::new(()))
    }
}
