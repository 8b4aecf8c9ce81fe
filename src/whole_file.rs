//! Files written whole or not at all.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Writes a file whole or not at all; one that it takes the place of passes on who may read it.
///
/// # Errors
/// What the disk says; the file is then as it was before.
pub fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    write_by(path, |out| out.write_all(bytes))
}

/// The same for what is too large to be held in memory: `contents` writes it bit by bit.
///
/// # Errors
/// What the disk or `contents` says; the file is then as it was before.
pub fn write_by(
    path: &Path,
    contents: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let (aside, file) = new_beside(path)?;
    let written = written_aside(file, path, contents).and_then(|()| fs::rename(&aside, path));
    if written.is_err() {
        let _ = fs::remove_file(&aside);
    }
    written
}

/// A file that was not there before, beside the one to be written: whatever bears such a name already is
/// the user's own, or another program's that is writing now.
fn new_beside(path: &Path) -> io::Result<(PathBuf, File)> {
    let mut number = 0_u32;
    loop {
        let mut name = OsString::from(path.as_os_str());
        name.push(match number {
            0 => ".new".to_owned(),
            more => format!(".new{more}"),
        });
        match File::create_new(&name) {
            Ok(file) => return Ok((name.into(), file)),
            Err(error) if error.kind() == ErrorKind::AlreadyExists && number < u32::MAX => {
                number += 1;
            }
            Err(error) => return Err(error),
        }
    }
}

fn written_aside(
    file: File,
    path: &Path,
    contents: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    keep_permissions(&file, path)?;
    let mut out = BufWriter::new(file);
    contents(&mut out)?;
    out.into_inner()?.sync_all()
}

/// Gives a file the permissions of the one that it will take the place of, before it holds anything.
fn keep_permissions(file: &File, path: &Path) -> io::Result<()> {
    let Ok(before) = fs::metadata(path) else {
        return Ok(());
    };
    // Some disks know no permissions, and refuse to set even those that they show.
    if !before.is_file() || file.metadata()?.permissions() == before.permissions() {
        return Ok(());
    }
    file.set_permissions(before.permissions())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_fails_half_way_leaves_the_file_as_it_was_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.pdf");
        write(&file, b"whole").unwrap();
        let fails = write_by(&file, |out| {
            out.write_all(b"half")?;
            Err(io::ErrorKind::StorageFull.into())
        });
        assert!(fails.is_err());
        assert_eq!(fs::read(&file).unwrap(), b"whole");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_file_of_the_user_is_never_written_aside_into() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.html");
        let own = ["a.html.new", "a.html.new1"].map(|name| folder.path().join(name));
        for own in &own {
            fs::write(own, b"my own").unwrap();
        }
        write(&file, b"whole").unwrap();
        assert!(write_by(&file, |_| Err(io::ErrorKind::StorageFull.into())).is_err());
        assert_eq!(fs::read(&file).unwrap(), b"whole");
        assert!(own.iter().all(|own| fs::read(own).unwrap() == b"my own"));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3);
    }

    #[cfg(unix)]
    #[test]
    fn who_may_read_a_file_stays_as_it_was() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.html");
        for mode in [0o600, 0o640, 0o444] {
            fs::write(&file, b"earlier").unwrap();
            fs::set_permissions(&file, fs::Permissions::from_mode(mode)).unwrap();
            write(&file, b"whole").unwrap();
            assert_eq!(fs::read(&file).unwrap(), b"whole");
            let now = fs::metadata(&file).unwrap().permissions().mode();
            assert_eq!(now & 0o777, mode);
            fs::remove_file(&file).unwrap();
        }
    }
}
