//! The entries of the log.

mod summary;

use super::digest::Digest;
use super::particulars::Particulars;
use super::plain;
use crate::photo::{ReadOptions, Scale};
use crate::weigh::{Colouring, Process};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub use summary::{Summary, process_name};

/// Name and version of the form of an entry.
pub const SCHEMA: &str = "inktell/dossier/1";

/// One entry; its fields stand in the line in this order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Name and version of this form.
    pub schema: String,
    /// Number, from 1.
    pub n: u64,
    /// Digest of the line before, its line feed included; null in the first.
    pub prev: Option<Digest>,
    /// When it was made, by the author's own clock, RFC 3339 in UTC.
    pub time: String,
    /// Who made it, as they call themselves.
    #[serde(deserialize_with = "shown")]
    pub author: String,
    /// The program that wrote it.
    pub program: Program,
    /// What was done: `kind` and `content`.
    #[serde(flatten)]
    pub deed: Deed,
    /// Files that belong to it.
    pub files: Vec<FileRef>,
    /// Unfinished bytes at the end of the log, from a writing that was interrupted, kept aside.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub set_aside: Vec<FileRef>,
    /// Of photographs that tell a location, the SHA-256 of the copy without it that an export puts in
    /// their stead, by the SHA-256 of the original; none in entries from before this was kept.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub without_location: BTreeMap<String, String>,
    /// The author's public key where the entry is signed: `ssh-ed25519 AAAA…`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
}

/// A name read from a log, which anybody may have written.
fn shown<'de, D: serde::Deserializer<'de>>(name: D) -> Result<String, D::Error> {
    String::deserialize(name).map(|name| plain::shown(&name))
}

/// A program, down to how it measures.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Program {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Identity of the code and tables that measure: the same identity means the same figures.
    pub measuring: String,
}

impl Program {
    /// This program.
    #[must_use]
    pub fn this() -> Self {
        Self {
            name: env!("CARGO_PKG_NAME").into(),
            version: env!("CARGO_PKG_VERSION").into(),
            measuring: env!("INKTELL_MEASURING").into(),
        }
    }

    /// "inktell 0.1.0 (measuring code 3f2a…)".
    #[must_use]
    pub fn in_words(&self) -> String {
        format!(
            "{} {} (measuring code {})",
            self.name, self.version, self.measuring
        )
    }
}

/// What a file is in a dossier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The page for readers without this program.
    Readme,
    /// A photograph of the sheet, untouched.
    Photograph,
    /// A photograph of the rule that a scale was measured on.
    Rule,
    /// What was measured, the document of `examine --json`.
    Reading,
    /// The report, one HTML page.
    Report,
    /// Unfinished bytes set aside.
    Torn,
}

impl Role {
    /// Folder that files of this kind lie in; none for those at the top.
    #[must_use]
    pub fn folder(self) -> Option<&'static str> {
        match self {
            Self::Readme => None,
            Self::Photograph | Self::Rule => Some("photographs"),
            Self::Reading => Some("readings"),
            Self::Report => Some("reports"),
            Self::Torn => Some(super::SET_ASIDE),
        }
    }

    /// Whether it came out of a camera, and so may tell where it was taken.
    #[must_use]
    pub fn is_photograph(self) -> bool {
        matches!(self, Self::Photograph | Self::Rule)
    }

    /// What it is called in a sentence.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Readme => "page for readers",
            Self::Photograph => "photograph",
            Self::Rule => "photograph of a rule",
            Self::Reading => "reading",
            Self::Report => "report",
            Self::Torn => "unfinished end of the log",
        }
    }
}

/// A file that an entry refers to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileRef {
    /// What it is.
    pub role: Role,
    /// Its path inside the dossier, with `/`; its name is its SHA-256.
    pub path: String,
    /// The name it came with.
    pub name: String,
    /// What pins down its bytes.
    pub digest: Digest,
}

/// What an entry is about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "content", rename_all = "kebab-case")]
pub enum Deed {
    /// The dossier is begun.
    Begin(Box<Particulars>),
    /// Photographs are added and examined.
    Photographs(Photographs),
    /// Something was seen or felt that no photograph shows.
    Observation(Observation),
    /// The author concludes.
    Conclusion(Conclusion),
    /// An earlier entry is corrected.
    Amendment(Amendment),
    /// Someone puts their name to what stands so far.
    Countersignature(Countersignature),
}

impl Deed {
    /// What the entry is called on a page.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::Begin(_) => "Beginning",
            Self::Photographs(_) => "Photographs",
            Self::Observation(_) => "Observation",
            Self::Conclusion(_) => "Conclusion",
            Self::Amendment(_) => "Amendment",
            Self::Countersignature(_) => "Countersignature",
        }
    }
}

/// How photographs were examined.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photographs {
    /// What the user asked for.
    pub parameters: Parameters,
    /// How they read together.
    pub reading: Summary,
}

/// Parameters of an examination: with these and the files it can be done again.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parameters {
    /// Pixels per millimetre given by the user.
    pub px_per_mm: Option<f64>,
    /// Diameter of the loupe's field, mm.
    pub loupe_field_mm: Option<f64>,
    /// Largest picture accepted, 10⁶ px.
    pub max_megapixels: f64,
    /// Distance of the graduations of the photographed rule, mm; the rule is among the files.
    pub rule_graduation_mm: Option<f64>,
    /// Prior probabilities; null for equal ones.
    pub prior: Option<BTreeMap<Process, f64>>,
}

/// Largest picture measured whatever a dossier asks for, 10⁶ px: five times the usual limit.
const MOST_MEGAPIXELS: f64 = 1_000.0;

impl Parameters {
    /// Options for reading a photograph; `measured` is the scale measured on the rule.
    #[must_use]
    pub fn read_options(&self, measured: Option<Scale>) -> ReadOptions {
        ReadOptions {
            // A dossier may come from anyone: what it asks for must not fill the memory.
            max_megapixels: self.max_megapixels.min(MOST_MEGAPIXELS),
            px_per_mm: self.px_per_mm,
            loupe_field_mm: self.loupe_field_mm,
            measured_scale: measured,
        }
    }

    /// The scale and the rest in words.
    #[must_use]
    pub fn in_words(&self) -> String {
        let scale = match (self.px_per_mm, self.rule_graduation_mm, self.loupe_field_mm) {
            (Some(value), ..) => format!("scale given, {value} px/mm"),
            (_, Some(mm), _) => format!("scale measured on a rule with graduations of {mm} mm"),
            (_, _, Some(mm)) => format!("loupe field given, {mm} mm"),
            _ => "no scale given".into(),
        };
        let prior = match &self.prior {
            None => "equal priors".to_owned(),
            Some(prior) => {
                let each = prior.iter().map(|(p, v)| format!("{} {v}", p.name()));
                format!("priors given: {}", each.collect::<Vec<_>>().join(", "))
            }
        };
        format!("{scale}; {prior}")
    }
}

/// How an observation was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Means {
    /// By touch: a plate mark, relief of the ink.
    Touch,
    /// By light from the side.
    RakingLight,
    /// By light through the sheet.
    TransmittedLight,
    /// By long-wave ultraviolet light.
    Ultraviolet,
    /// By eye or loupe, without a photograph.
    Eye,
    /// Some other way, told in the text.
    Other,
}

impl Means {
    /// All of them, in the order shown.
    pub const ALL: [Self; 6] = [
        Self::Touch,
        Self::RakingLight,
        Self::TransmittedLight,
        Self::Ultraviolet,
        Self::Eye,
        Self::Other,
    ];

    /// Key on the command line and in the log.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Touch => "touch",
            Self::RakingLight => "raking-light",
            Self::TransmittedLight => "transmitted-light",
            Self::Ultraviolet => "ultraviolet",
            Self::Eye => "eye",
            Self::Other => "other",
        }
    }

    /// In words, after "Seen" or "Felt".
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Touch => "by touch",
            Self::RakingLight => "by raking light",
            Self::TransmittedLight => "by transmitted light",
            Self::Ultraviolet => "by ultraviolet light",
            Self::Eye => "by eye",
            Self::Other => "otherwise",
        }
    }
}

/// Something seen or felt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observation {
    /// How.
    pub means: Means,
    /// What, in the author's words.
    pub text: String,
}

/// An entry that another refers to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Referred {
    /// Its number.
    pub n: u64,
    /// SHA-256 of its line.
    pub sha256: String,
}

/// What the author concludes, beside what was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Conclusion {
    /// The author's own words.
    pub text: String,
    /// Process that the author concludes: one of our keys, or other words.
    pub process: Option<String>,
    /// Where the author says the colour lies; empty where nothing is said of it.
    pub colouring: Vec<Colouring>,
    /// The last entry that was considered.
    pub considers: Referred,
    /// The reading of all photographs so far, taken together; none without photographs.
    pub measured: Option<Summary>,
    /// In what the two differ: "process", "colouring".
    pub differs_in: Vec<String>,
    /// Why they differ, in the author's words.
    pub because: Option<String>,
}

/// A correction. Nothing is erased: both stay in the log.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Amendment {
    /// The entry that is corrected.
    pub amends: Referred,
    /// The correction, in the author's words.
    pub text: String,
    /// Fields of the sheet's particulars as they should read; empty text clears a field.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub particulars: BTreeMap<String, String>,
    /// True where the entry is withdrawn as a whole.
    #[serde(default)]
    pub withdraws: bool,
}

/// Someone puts their name to everything up to an entry.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Countersignature {
    /// The last entry that it covers.
    pub covers: Referred,
    /// In what sense, in their words.
    pub text: String,
}
