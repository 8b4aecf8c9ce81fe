//! The photographs as what shows the sheet, each with the SHA-256 of the very file that it names.

use super::concept;
use crate::dossier::account::{Account, Copy};
use crate::dossier::entry::{FileRef, Role};
use crate::dossier::line::Log;
use crate::dossier::work;
use serde_json::{Value, json};

pub(super) fn representations(log: &Log, account: &Account) -> Vec<Value> {
    work::standing(log, u64::MAX)
        .flat_map(|entry| &entry.files)
        .filter(|file| file.role == Role::Photograph)
        .map(|file| representation(file, account.absent.get(&file.digest.sha256)))
        .collect()
}

/// A photograph. Of one that is not in this export the copy and the original are two files, each with its
/// own hash: whoever takes that of the copy must not find it called the photograph's.
fn representation(file: &FileRef, absent: Option<&Option<Copy>>) -> Value {
    let (name, sha256) = (&file.name, &file.digest.sha256);
    let shown = match absent {
        None => vec![digital(file, name, "SHA-256", sha256)],
        Some(copy) => {
            let copy = copy.iter().map(|Copy { sha256, what }| {
                let label = format!("{name}, {what} without the place where it was taken");
                digital(file, &label, "SHA-256 of the copy", sha256)
            });
            let left = "the original, which this export leaves out";
            let original = digital(
                file,
                &format!("{name}, {left}"),
                &format!("SHA-256 of {left}"),
                sha256,
            );
            copy.chain([original]).collect()
        }
    };
    json!({
        "type": "VisualItem",
        "_label": format!("Photograph {name}"),
        "digitally_shown_by": shown,
    })
}

fn digital(file: &FileRef, label: &str, hash_label: &str, sha256: &str) -> Value {
    let mut object = json!({
        "type": "DigitalObject",
        "_label": label,
        "classified_as": [concept("300215302", "Digital Image")],
        "identified_by": [{
            "type": "Identifier",
            "_label": hash_label,
            "content": sha256,
        }],
    });
    if let Some(format) = media_type(&file.path) {
        object["format"] = format.into();
    }
    object
}

fn media_type(path: &str) -> Option<&'static str> {
    Some(match path.rsplit_once('.')?.1 {
        "jpg" | "jpeg" => "image/jpeg",
        "png" => "image/png",
        "tif" | "tiff" => "image/tiff",
        "webp" => "image/webp",
        _ => return None,
    })
}
