//! What was left out of an export on request, and says so in the export.

use super::contents::Contents;
use super::digest::Digest;
use super::entry::{Entry, FileRef, Role};
use super::line::Log;
use super::privacy;
use super::verify::{Finding, Kind, Weight};
use super::{HEAD, LOG};
use crate::photo::sha256_hex;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, ErrorKind};

/// Name of the file that tells it.
pub const FILE: &str = "left-out.json";
/// Folder of the copies that stand in.
pub const COPIES: &str = "photographs-without-location";
/// What a reading calls a location among the facts of how a photograph was taken (`photo::capture`).
const LOCATION_LABEL: &str = "location";
/// Name and version of the form of the file.
pub const SCHEMA: &str = "inktell/left-out/1";

/// What was left out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// Name and version of this form.
    pub schema: String,
    /// Why, in words.
    pub why: String,
    /// The photographs.
    pub photographs: Vec<Photograph>,
}

/// A photograph left out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photograph {
    /// The original as the log names it.
    pub original: FileRef,
    /// The copy without a location that stands in for it; none where none could be made.
    pub copy: Option<Copy>,
}

/// A copy without a location.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Copy {
    /// Its path in the export.
    pub path: String,
    /// What pins down its bytes.
    pub digest: Digest,
}

/// Reads what an export left out, as far as it is to be believed; none where it left out nothing or
/// does not say so readably. Only exports leave something out, and they are bags: in a dossier's own
/// folder anyone could write this file to cover up that a photograph was taken away.
#[must_use]
pub fn read(contents: &dyn Contents, log: &Log) -> Option<LeftOut> {
    let mut told = told_in_bag(contents)?;
    // Of two copies named for one photograph, one would be measured and the other looked at.
    let mut seen = BTreeSet::new();
    told.photographs.retain(|photo| {
        photo.is_founded(contents, log) && seen.insert(photo.original.path.clone())
    });
    Some(told)
}

fn told_in_bag(contents: &dyn Contents) -> Option<LeftOut> {
    contents.bag()?;
    told(contents)
}

/// What is said to be left out, believed or not.
#[must_use]
pub fn told(contents: &dyn Contents) -> Option<LeftOut> {
    serde_json::from_slice(&contents.read(FILE).ok()?).ok()
}

/// The first entry that names a photograph. Of its copy none but this one is believed: whoever put
/// another picture in the copy's place could have added a later entry that bears the picture out.
fn first_naming<'a>(log: &'a Log, photo: &FileRef) -> Option<&'a Entry> {
    let same = |f: &FileRef| f.path == photo.path || f.digest.sha256 == photo.digest.sha256;
    log.entries().find(|entry| entry.files.iter().any(same))
}

/// SHA-256 of the copy of a photograph without its location, as the log names it; none where it names
/// none, as logs of older versions do.
#[must_use]
pub fn pinned<'a>(log: &'a Log, original: &FileRef) -> Option<&'a str> {
    let entry = first_naming(log, original)?;
    let pin = entry.without_location.get(&original.digest.sha256);
    pin.map(String::as_str)
}

/// The copy of a photograph without its location that an export may put in: none where none can be
/// made, or the one made is not the one that the log names, and so would be taken for a forgery.
#[must_use]
pub fn copy_of(log: &Log, original: &FileRef, bytes: &[u8]) -> Option<Vec<u8>> {
    let copy = privacy::without_location(bytes)?;
    let fits = pinned(log, original).is_none_or(|pin| sha256_hex(&copy) == pin);
    fits.then_some(copy)
}

/// Something that is said to stand in for a photograph and is not the copy that the log names.
pub struct Swapped {
    photo: Photograph,
    copy: Copy,
    pinned: String,
}

/// All such in a bag.
#[must_use]
pub fn swapped(contents: &dyn Contents, log: &Log) -> Vec<Swapped> {
    let told = told_in_bag(contents).into_iter();
    told.flat_map(|left_out| left_out.photographs)
        .filter_map(|photo| {
            let pinned = pinned(log, &photo.original)?.to_owned();
            let copy = photo.copy.clone()?;
            (copy.digest.sha256 != pinned).then_some(Swapped {
                photo,
                copy,
                pinned,
            })
        })
        .collect()
}

impl Swapped {
    /// Whether it is said to stand in for this very file.
    #[must_use]
    pub fn stands_for(&self, file: &FileRef) -> bool {
        self.photo.excuses(file)
    }

    /// What a verification says of it.
    #[must_use]
    pub fn finding(&self, n: u64) -> Finding {
        let original = &self.photo.original;
        Finding {
            weight: Weight::Problem,
            kind: Kind::FileChanged,
            entry: Some(n),
            file: None,
            text: format!(
                "The {} {} of entry {n} was left out of this export, and what stands in for it ({}) is not its copy: the log names the copy by the SHA-256 {}, and this is {}. Another picture was put in its place; ask for the export anew, or for the whole dossier.",
                original.role.name(),
                original.name,
                self.copy.path,
                self.pinned,
                self.copy.digest.sha256
            ),
        }
    }
}

impl LeftOut {
    /// What excuses that a file is missing: a photograph, of the sheet or of a rule, named here
    /// exactly as the log names it. Nothing else holds a location, so nothing else is excused.
    #[must_use]
    pub fn excuse(&self, file: &FileRef) -> Option<&Photograph> {
        self.photographs.iter().find(|photo| photo.excuses(file))
    }
}

/// Paths of the files that belong to a dossier: its own, those that entries name, and the copies
/// that stand in for what was left out.
#[must_use]
pub fn belonging(log: &Log, left_out: Option<&LeftOut>) -> BTreeSet<String> {
    let of_entries = log
        .entries()
        .flat_map(|entry| entry.files.iter().chain(&entry.set_aside))
        .map(|file| file.path.clone());
    let copies = left_out
        .iter()
        .flat_map(|l| &l.photographs)
        .filter_map(Photograph::copy_path);
    let own = [LOG, HEAD].map(str::to_owned);
    let told = left_out.map(|_| FILE.to_owned());
    of_entries.chain(copies).chain(own).chain(told).collect()
}

impl Photograph {
    fn excuses(&self, file: &FileRef) -> bool {
        file.role.is_photograph() && self.original == *file
    }

    /// Whether the log names it and bears out that it was left out. Where the log names its copy, it
    /// holds a location, and nothing but that copy may stand in. Else the reading kept with it must say
    /// that it holds a location, or a copy stands in and is measured in its stead
    /// (`verify::copies`). Readings tell of places in EXIF alone, not in XMP or in photographs of rules.
    fn is_founded(&self, contents: &dyn Contents, log: &Log) -> bool {
        let Some(entry) = first_naming(log, &self.original) else {
            return false;
        };
        if !entry.files.iter().any(|file| self.excuses(file)) {
            return false;
        }
        match (pinned(log, &self.original), &self.copy) {
            (Some(pin), Some(copy)) => copy.digest.sha256 == pin,
            (Some(_), None) => true,
            (None, copy) => {
                let mut readings = entry.files.iter().filter(|f| f.role == Role::Reading);
                let says = |reading: &FileRef| says_located(contents, reading, &self.original);
                readings.any(|reading| copy.is_some() || says(reading))
            }
        }
    }

    /// Number of the entry whose figures alone can show that the copy is of this photograph, as the log
    /// does not name it; none where no copy stands in or the log names it.
    #[must_use]
    pub fn rests_on_figures_of(&self, log: &Log) -> Option<u64> {
        self.copy.as_ref()?;
        match pinned(log, &self.original) {
            Some(_) => None,
            None => first_naming(log, &self.original).map(|entry| entry.n),
        }
    }

    /// Path of the copy.
    #[must_use]
    pub fn copy_path(&self) -> Option<String> {
        self.copy.as_ref().map(|copy| copy.path.clone())
    }

    /// What a verification says of it.
    #[must_use]
    pub fn finding(&self, contents: &dyn Contents, log: &Log, n: u64) -> Finding {
        let (name, sha256) = (&self.original.name, &self.original.digest.sha256);
        let say = |weight, kind, text| Finding {
            weight,
            kind,
            entry: Some(n),
            file: None,
            text,
        };
        let left = format!(
            "The {} {name} of entry {n} was left out of this export because it holds a location; the original has the SHA-256 {sha256}.",
            self.original.role.name()
        );
        let Some(copy) = &self.copy else {
            return say(Weight::Remark, Kind::LeftOut, left);
        };
        match contents.read(&copy.path).map(|b| copy.digest.damage(&b)) {
            Ok(None) => say(
                Weight::Remark,
                Kind::LeftOut,
                format!(
                    "{left} A copy without the location stands in for it ({}), {}.",
                    copy.path,
                    match pinned(log, &self.original) {
                        Some(_) => "the one that the log names by its SHA-256",
                        None => "of which the log says nothing",
                    }
                ),
            ),
            Ok(Some(damage)) => say(
                Weight::Problem,
                Kind::FileChanged,
                format!(
                    "{left} The copy that stands in for it was changed ({}): {}.",
                    copy.path,
                    damage.in_words(0)
                ),
            ),
            Err(_) => say(
                Weight::Problem,
                Kind::FileMissing,
                format!(
                    "{left} The copy that should stand in for it is missing ({}).",
                    copy.path
                ),
            ),
        }
    }
}

/// Whether a reading, as the log has it, says that a photograph holds a location.
fn says_located(contents: &dyn Contents, reading: &FileRef, photo: &FileRef) -> bool {
    let bytes = contents.read(&reading.path).unwrap_or_default();
    if !reading.digest.fits(&bytes) {
        return false;
    }
    let document: Value = serde_json::from_slice(&bytes).unwrap_or_default();
    let mut photos = document["photos"].as_array().into_iter().flatten();
    let located = |photo: &Value| {
        let mut facts = photo["capture"].as_array().into_iter().flatten();
        facts.any(|fact| fact[0] == LOCATION_LABEL)
    };
    photos.any(|p| p["sha256"] == *photo.digest.sha256 && located(p))
}

/// A dossier in which copies stand in for photographs that were left out.
pub struct WithCopies<'a> {
    contents: &'a dyn Contents,
    /// What stands in, by the path of the original.
    copies: BTreeMap<String, Photograph>,
    /// What is said to stand in and does not.
    swapped: Vec<Swapped>,
}

impl<'a> WithCopies<'a> {
    /// Looks at a dossier through what it left out.
    #[must_use]
    pub fn over(contents: &'a dyn Contents, log: &Log) -> Self {
        let left_out = read(contents, log).into_iter();
        Self {
            contents,
            copies: left_out
                .flat_map(|l| l.photographs)
                .map(|photo| (photo.original.path.clone(), photo))
                .collect(),
            swapped: swapped(contents, log),
        }
    }

    /// Whether a photograph was left out and nothing stands in for it.
    #[must_use]
    pub fn lacks_a_copy(&self) -> bool {
        self.copies.values().any(|photo| photo.copy.is_none())
    }

    /// Whether what stands for a file was changed: the original against the log, a copy against what
    /// the log and the export say of it. A file that cannot be read is missing, not changed.
    #[must_use]
    pub fn was_changed(&self, file: &FileRef) -> bool {
        let photo = match self.contents.read(&file.path) {
            Ok(bytes) => return !file.digest.fits(&bytes),
            Err(error) if error.kind() == ErrorKind::NotFound => {
                if self.swapped.iter().any(|swapped| swapped.stands_for(file)) {
                    return true;
                }
                self.copies.get(&file.path)
            }
            Err(_) => None,
        };
        let copy = photo.and_then(|photo| photo.copy.as_ref());
        copy.is_some_and(|copy| {
            let bytes = self.contents.read(&copy.path);
            bytes.is_ok_and(|bytes| !copy.digest.fits(&bytes))
        })
    }

    /// The original that a copy, known by its SHA-256, stands in for.
    #[must_use]
    pub fn original_of(&self, sha256: &str) -> Option<&FileRef> {
        let stands_in = |photo: &&Photograph| {
            photo
                .copy
                .as_ref()
                .is_some_and(|copy| copy.digest.sha256 == sha256)
        };
        self.copies
            .values()
            .find(stands_in)
            .map(|photo| &photo.original)
    }
}

impl Contents for WithCopies<'_> {
    fn paths(&self) -> io::Result<Vec<String>> {
        self.contents.paths()
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        match self.contents.read(path) {
            Err(error) if error.kind() == ErrorKind::NotFound => {
                match self.copies.get(path).and_then(Photograph::copy_path) {
                    Some(copy) => self.contents.read(&copy),
                    None => Err(error),
                }
            }
            result => result,
        }
    }
}
