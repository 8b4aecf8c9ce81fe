//! Files written whole or not at all.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes a file whole or not at all.
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
    let mut aside = path.as_os_str().to_owned();
    aside.push(".new");
    let aside = PathBuf::from(aside);
    let written = written_aside(&aside, contents).and_then(|()| fs::rename(&aside, path));
    if written.is_err() {
        let _ = fs::remove_file(&aside);
    }
    written
}

fn written_aside(
    aside: &Path,
    contents: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let mut out = BufWriter::new(File::create(aside)?);
    contents(&mut out)?;
    out.into_inner()?.sync_all()
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
}
