//! Where exports may be written: never over the dossier, or over a file of another kind.

use anyhow::bail;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// A file to be written.
pub struct Target<'a> {
    /// Its path.
    pub file: &'a Path,
    /// What will be in it, in words.
    pub kind: &'static str,
    /// How a file of that kind begins.
    pub begins: &'static [u8],
}

/// Refuses targets that would write over the dossier, over one another, or over something else.
pub fn check(dossier: &Path, targets: &[Target<'_>]) -> anyhow::Result<()> {
    let source = dossier
        .canonicalize()
        .unwrap_or_else(|_| dossier.to_owned());
    let mut taken: Vec<PathBuf> = Vec::new();
    for target in targets {
        let file = target.file.display();
        let place = settled(target.file);
        if place.starts_with(&source) {
            bail!(
                "{file}: it lies in the dossier itself, which an export must not write into; name a file outside it"
            );
        }
        if taken.contains(&place) {
            bail!("{file}: two exports would be written into this one file; name one for each");
        }
        if !may_be_replaced(target) {
            bail!(
                "{file}: there is a file of that name already, and it is no {}; name another",
                target.kind
            );
        }
        taken.push(place);
    }
    Ok(())
}

/// The path without links and detours, as far as it exists.
fn settled(file: &Path) -> PathBuf {
    if let Ok(settled) = file.canonicalize() {
        return settled;
    }
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    folder.join(file.file_name().unwrap_or_default())
}

/// Whether there is no such file, an empty one, or an earlier one of its kind.
fn may_be_replaced(target: &Target<'_>) -> bool {
    // A pipe or a device holds nothing to lose, and reading it might wait for ever.
    if !target.file.is_file() {
        return true;
    }
    let Ok(file) = File::open(target.file) else {
        return true;
    };
    let mut start = Vec::new();
    let read = file
        .take(target.begins.len() as u64)
        .read_to_end(&mut start);
    read.is_ok() && (start.is_empty() || start == target.begins)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    fn pdf(file: &Path) -> Target<'_> {
        Target {
            file,
            kind: "PDF file",
            begins: b"%PDF-",
        }
    }

    #[test]
    fn nothing_is_written_over_the_dossier_or_a_file_of_another_kind() {
        let folder = tempfile::tempdir().unwrap();
        let dossier = folder.path().join("heron");
        fs::create_dir_all(dossier.join("photographs")).unwrap();
        fs::write(dossier.join("photographs/a.jpg"), b"picture").unwrap();
        let outside = folder.path().join("a.pdf");
        assert!(check(&dossier, &[pdf(&outside)]).is_ok());
        for inside in ["photographs/a.jpg", "head", "../heron/new.pdf"] {
            let inside = dossier.join(inside);
            let error = check(&dossier, &[pdf(&inside)]).unwrap_err();
            assert!(error.to_string().contains("lies in the dossier"), "{error}");
        }
        let twice = check(&dossier, &[pdf(&outside), pdf(&outside)]).unwrap_err();
        assert!(twice.to_string().contains("two exports"), "{twice}");
        fs::write(&outside, b"%PDF-1.7 an earlier export").unwrap();
        assert!(check(&dossier, &[pdf(&outside)]).is_ok());
        fs::write(&outside, b"a letter").unwrap();
        let other = check(&dossier, &[pdf(&outside)]).unwrap_err();
        assert!(other.to_string().contains("no PDF file"), "{other}");
        // A dossier that is a ZIP file is not written over either.
        let zip = folder.path().join("heron.zip");
        fs::write(&zip, b"PK").unwrap();
        let bag = Target {
            file: &zip,
            kind: "ZIP file",
            begins: b"PK",
        };
        assert!(check(&zip, &[bag]).is_err());
    }
}
