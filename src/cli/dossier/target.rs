//! Where exports may be written: never over the dossier, or over a file of another kind.

use anyhow::bail;
use inktell::dossier::contents;
use inktell::dossier::export::linked_art;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// A file to be written.
pub struct Target<'a> {
    /// Its path.
    pub file: &'a Path,
    /// What will be in it.
    pub form: Form,
}

/// What a dossier is exported as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    Pdf,
    Page,
    LinkedArt,
    Bag,
}

/// Bytes of a file that are looked through, far more than any export but a bag has.
const LOOKED_THROUGH: u64 = 256_000_000;

impl Form {
    fn name(self) -> &'static str {
        match self {
            Self::Pdf => "PDF file",
            Self::Page => "HTML page",
            Self::LinkedArt => "Linked Art document",
            Self::Bag => "bag",
        }
    }

    /// Whether a file is an earlier export in this form. That it is a PDF file, JSON or ZIP file is not
    /// enough: so are letters, other documents and sheets of a spreadsheet.
    fn is_in(self, file: &Path) -> bool {
        if self == Self::Bag {
            return contents::open(file).is_ok_and(|dossier| dossier.bag().is_some());
        }
        let Ok(bytes) = read(file) else {
            return false;
        };
        match self {
            Self::Pdf => bytes.starts_with(b"%PDF-") && holds(&bytes, "CreatorTool>inktell "),
            Self::Page => {
                bytes.starts_with(b"<!DOCTYPE html>")
                    && holds(&bytes, "content=\"inktell ")
                    && holds(&bytes, "<title>Dossier: ")
            }
            Self::LinkedArt => linked_art::is_one(&bytes),
            Self::Bag => false,
        }
    }
}

fn read(file: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(file)?
        .take(LOOKED_THROUGH)
        .read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn holds(bytes: &[u8], text: &str) -> bool {
    bytes
        .windows(text.len())
        .any(|part| part == text.as_bytes())
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
                "{file}: there is a file of that name already, and it is no earlier {} of a dossier; name another",
                target.form.name()
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

/// Whether there is no such file, an empty one, or an earlier export in the same form.
fn may_be_replaced(target: &Target<'_>) -> bool {
    // A pipe or a device holds nothing to lose, and reading it might wait for ever.
    match std::fs::metadata(target.file) {
        Ok(there) if there.is_file() => there.len() == 0 || target.form.is_in(target.file),
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    fn pdf(file: &Path) -> Target<'_> {
        Target {
            file,
            form: Form::Pdf,
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
        fs::write(&outside, b"").unwrap();
        assert!(check(&dossier, &[pdf(&outside)]).is_ok());
        // A dossier that is a ZIP file is not written over either.
        let zip = folder.path().join("heron.zip");
        fs::write(&zip, b"PK").unwrap();
        let bag = Target {
            file: &zip,
            form: Form::Bag,
        };
        assert!(check(&zip, &[bag]).is_err());
    }
}
