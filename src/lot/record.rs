//! What is kept of one sheet: small, whole, and enough for everything that is written at the end.

use crate::report::json::NotRead;
use crate::weigh::advice::TO_CHECK;
use crate::weigh::{Colouring, Process};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What became of one sheet. It depends on the sheet's files and its task alone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// Name of the sheet.
    pub sheet: String,
    /// The user's note.
    pub note: Option<String>,
    /// Photographs that were measured, in order.
    pub photos: Vec<Seen>,
    /// Files that could not be read, and why.
    pub not_read: Vec<Unread>,
    /// Photographs that turned out to show a rule.
    pub rules: Vec<RuleSeen>,
    /// What else the user should know, as sentences.
    pub notices: Vec<String>,
    /// How the sheet reads; none where no photograph was measured.
    pub reading: Option<SheetReading>,
    /// The full report, as a link from the lot's own folder.
    pub report: Option<String>,
    /// Small pictures for the lot sheet. Not in tables or lines.
    #[schemars(skip)]
    pub pictures: Pictures,
}

/// A photograph that was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Seen {
    /// Its name in the lot.
    pub file: String,
    /// SHA-256 of its bytes, lower-case hex.
    pub sha256: String,
    /// Width, px.
    pub width_px: usize,
    /// Height, px.
    pub height_px: usize,
    /// Pixels per millimetre: value and 95 % interval.
    pub px_per_mm: Option<[f64; 3]>,
    /// Where the scale comes from, in words.
    pub scale_source: Option<String>,
    /// What it can bear, in words.
    pub verdict: String,
    /// Whether it is too poor to measure.
    pub unusable: bool,
    /// What is compared to find two photographs of one spot; none in lines, and where the field is too even.
    #[schemars(with = "()")]
    pub likeness: Option<String>,
}

/// A file that could not be read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Unread {
    /// Its name in the lot.
    pub file: String,
    /// What was wrong and what to do.
    pub why: String,
    /// Whether the next run fetches it again: not the file failed but the way to it. Not shown in tables.
    #[schemars(skip)]
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub try_again: bool,
}

impl Unread {
    /// Why, as a sentence. It begins with the file's name, which keeps its letters.
    #[must_use]
    pub fn sentence(&self) -> String {
        format!("{}.", self.why.trim_end_matches('.'))
    }
}

impl From<&Unread> for NotRead {
    fn from(unread: &Unread) -> Self {
        Self {
            file: unread.file.clone(),
            why: unread.why.clone(),
        }
    }
}

/// A photograph of a rule.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RuleSeen {
    /// Its name in the lot.
    pub file: String,
    /// Pixels per millimetre: value and 95 % interval.
    pub px_per_mm: [f64; 3],
}

/// How a sheet reads.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetReading {
    /// The process, or none when undetermined.
    pub process: Option<Process>,
    /// Probability of each process.
    pub posterior: BTreeMap<Process, f64>,
    /// Probability of each process beforehand.
    pub prior: BTreeMap<Process, f64>,
    /// log10 likelihood ratio of each process against the mean of the others.
    pub log10_lr: BTreeMap<Process, f64>,
    /// Strength of the evidence in the words of the ENFSI guideline (2015).
    pub strength: String,
    /// Share of reference specimens that fit as badly or worse, 0–1.
    pub fit: Option<f64>,
    /// Where the colour lies.
    pub colouring: Vec<Colouring>,
    /// Number of findings that were weighed.
    pub findings: usize,
    /// Printing screens found: ink in words, lines per inch where the scale is known, angle in degrees.
    pub screens: Vec<ScreenSeen>,
    /// One sentence: why it reads so.
    pub why: String,
    /// Why it is undetermined; empty when it is not.
    pub undetermined_because: Vec<String>,
    /// What to photograph next, most useful first.
    pub next_photographs: Vec<String>,
}

/// A printing screen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ScreenSeen {
    /// Its ink, in words.
    pub ink: String,
    /// Lines per inch where the scale is known.
    pub ruling_lpi: Option<f64>,
    /// Degrees counter-clockwise from the picture's horizontal.
    pub angle_deg: Option<f64>,
}

/// Small pictures, as data addresses.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pictures {
    /// The telling detail.
    pub detail: Option<String>,
    /// What it shows and how wide it is on the sheet, as a sentence.
    pub detail_caption: Option<String>,
    /// The whole photograph that the detail is from.
    pub whole: Option<String>,
}

impl SheetReading {
    /// The advice to check that all photographs are of one sheet, where they contradict each other.
    #[must_use]
    pub fn to_check(&self) -> Option<&str> {
        let mut advice = self.next_photographs.iter().map(String::as_str);
        advice.find(|next| next.starts_with(TO_CHECK))
    }

    /// Whether a printing screen was found, but it is not read as a reproduction.
    #[must_use]
    pub fn shows_screen_unread(&self) -> bool {
        !self.screens.is_empty() && self.process != Some(Process::Halftone)
    }
}

impl Record {
    /// A record of a sheet of which nothing is known yet.
    #[must_use]
    pub fn blank(sheet: &str, note: Option<&str>) -> Self {
        Self {
            sheet: sheet.to_owned(),
            note: note.map(str::to_owned),
            photos: Vec::new(),
            not_read: Vec::new(),
            rules: Vec::new(),
            notices: Vec::new(),
            reading: None,
            report: None,
            pictures: Pictures::default(),
        }
    }

    /// Whether a file could not be fetched that may be had another time: then the sheet is not finished.
    #[must_use]
    pub fn is_to_be_tried_again(&self) -> bool {
        self.not_read.iter().any(|unread| unread.try_again)
    }

    /// Whether nothing but rules was photographed: then it is no sheet.
    #[must_use]
    pub fn is_only_rules(&self) -> bool {
        self.photos.is_empty() && self.not_read.is_empty() && !self.rules.is_empty()
    }

    /// Files of the sheet, read or not, without rules.
    #[must_use]
    pub fn files(&self) -> usize {
        self.photos.len() + self.not_read.len()
    }

    /// The reading where it rests on something: nothing can be said of a sheet on which nothing was weighed, or
    /// of which every photograph is too poor to measure.
    #[must_use]
    pub fn reading_that_counts(&self) -> Option<&SheetReading> {
        let poor = self.photos.iter().all(|photo| photo.unusable);
        self.reading.as_ref().filter(|r| r.findings > 0 && !poor)
    }

    /// Probability that the sheet is a reproduction; the one beforehand where no reading counts.
    #[must_use]
    pub fn chance_of_reproduction(&self, beforehand: f64) -> f64 {
        let read = self.reading_that_counts();
        read.and_then(|r| r.posterior.get(&Process::Halftone).copied())
            .unwrap_or(beforehand)
    }

    /// The record without its pictures, for tables.
    #[must_use]
    pub fn without_pictures(mut self) -> Self {
        self.pictures = Pictures::default();
        self
    }
}
