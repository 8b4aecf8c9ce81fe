//! The few operations on files that a dossier needs, behind a trait so that tests can stop them
//! at any point.

use std::any::Any;
use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::Path;

/// Operations on files. None of them promises to last until [`Disk::sync`] and
/// [`Disk::sync_folder`] have returned.
pub trait Disk {
    /// All bytes of a file.
    ///
    /// # Errors
    /// As [`std::fs::read`].
    fn read(&self, file: &Path) -> io::Result<Vec<u8>>;

    /// Names in a folder, in any order.
    ///
    /// # Errors
    /// As [`std::fs::read_dir`].
    fn list(&self, folder: &Path) -> io::Result<Vec<String>>;

    /// Makes a folder; one that is there already is no error.
    ///
    /// # Errors
    /// As [`std::fs::create_dir`].
    fn create_folder(&self, folder: &Path) -> io::Result<()>;

    /// Writes a file, in place of one that may be there.
    ///
    /// # Errors
    /// As [`std::fs::write`].
    fn write(&self, file: &Path, bytes: &[u8]) -> io::Result<()>;

    /// Adds bytes to the end of a file, which is made if need be.
    ///
    /// # Errors
    /// As [`std::io::Write::write_all`]; a part may have been added.
    fn append(&self, file: &Path, bytes: &[u8]) -> io::Result<()>;

    /// Cuts a file to a length.
    ///
    /// # Errors
    /// As [`std::fs::File::set_len`].
    fn cut(&self, file: &Path, length: u64) -> io::Result<()>;

    /// Moves a file in place of another, in one step.
    ///
    /// # Errors
    /// As [`std::fs::rename`].
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Takes a file away.
    ///
    /// # Errors
    /// As [`std::fs::remove_file`].
    fn remove(&self, file: &Path) -> io::Result<()>;

    /// Returns once a file's bytes will outlast a power cut.
    ///
    /// # Errors
    /// As [`std::fs::File::sync_all`].
    fn sync(&self, file: &Path) -> io::Result<()>;

    /// Returns once the names in a folder will outlast a power cut.
    ///
    /// # Errors
    /// As [`std::fs::File::sync_all`].
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;

    /// Locks a file, which is made if need be, against other programs until the result is dropped.
    ///
    /// # Errors
    /// [`ErrorKind::WouldBlock`] where another program holds it.
    fn try_lock(&self, file: &Path) -> io::Result<Box<dyn Any>>;
}

/// The machine's own disk.
#[derive(Clone, Copy, Debug, Default)]
pub struct RealDisk;

/// A file held to be written by one program at a time, until this is dropped.
struct Locked(File);

impl Drop for Locked {
    fn drop(&mut self) {
        // Closing the file is not enough: a program that another thread is just starting has the file open too
        // until its first instruction, and with it the lock.
        let _ = self.0.unlock();
    }
}

impl Disk for RealDisk {
    fn read(&self, file: &Path) -> io::Result<Vec<u8>> {
        std::fs::read(file)
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<String>> {
        std::fs::read_dir(folder)?
            .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
            .collect()
    }

    fn create_folder(&self, folder: &Path) -> io::Result<()> {
        match std::fs::create_dir(folder) {
            Err(error) if error.kind() == ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
            result => result,
        }
    }

    fn write(&self, file: &Path, bytes: &[u8]) -> io::Result<()> {
        std::fs::write(file, bytes)
    }

    fn append(&self, file: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut open = OpenOptions::new().append(true).create(true).open(file)?;
        open.write_all(bytes)
    }

    fn cut(&self, file: &Path, length: u64) -> io::Result<()> {
        OpenOptions::new().write(true).open(file)?.set_len(length)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)
    }

    fn remove(&self, file: &Path) -> io::Result<()> {
        std::fs::remove_file(file)
    }

    fn sync(&self, file: &Path) -> io::Result<()> {
        OpenOptions::new().write(true).open(file)?.sync_all()
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        // Windows has no such call and keeps names in its journal.
        if cfg!(windows) {
            return Ok(());
        }
        File::open(folder)?.sync_all()
    }

    fn try_lock(&self, file: &Path) -> io::Result<Box<dyn Any>> {
        let open = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(file)?;
        match open.try_lock() {
            Ok(()) => Ok(Box::new(Locked(open))),
            Err(std::fs::TryLockError::WouldBlock) => Err(ErrorKind::WouldBlock.into()),
            Err(std::fs::TryLockError::Error(error)) => Err(error),
        }
    }
}
