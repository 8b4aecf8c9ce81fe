//! Words for processes and supports, with their concepts in the Art & Architecture Thesaurus (AAT).

use serde::{Deserialize, Serialize};

/// A concept of the Art & Architecture Thesaurus (AAT).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Aat {
    /// Its number, such as 300053271.
    pub id: String,
    /// Its label.
    pub label: String,
    /// True where the concept is broader than the term used.
    pub broader: bool,
}

/// A word for a process or support, with its concept where one is known.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Term {
    /// The word as given.
    pub term: String,
    /// The concept; none where no id was checked.
    pub aat: Option<Aat>,
}

/// Terms, with the AAT concept that stands for them: term, id, label, whether broader. The ids were
/// read in public data and on Linked Art's vocabulary pages (July 2026); where the narrower
/// concept's id was not checked, the broader one stands, and says so.
const TERMS: &[(&str, &str, &str, bool)] = &[
    (
        "engraving",
        "300053225",
        "engraving (printing process)",
        false,
    ),
    (
        "line engraving",
        "300053225",
        "engraving (printing process)",
        true,
    ),
    (
        "stipple engraving",
        "300053225",
        "engraving (printing process)",
        true,
    ),
    ("etching", "300053241", "etching (printing process)", false),
    (
        "drypoint",
        "300053228",
        "drypoint (printing process)",
        false,
    ),
    ("woodcut", "300053296", "woodcut (process)", false),
    ("lithography", "300053271", "lithography", false),
    ("lithograph", "300053271", "lithography", false),
    ("tinted lithograph", "300053271", "lithography", true),
    ("chromolithograph", "300053271", "lithography", true),
    ("mezzotint", "300053319", "printing (process)", true),
    ("aquatint", "300053319", "printing (process)", true),
    ("halftone", "300053319", "printing (process)", true),
    (
        "halftone reproduction",
        "300053319",
        "printing (process)",
        true,
    ),
    ("paper", "300014109", "paper", false),
    ("wove paper", "300014109", "paper", true),
    ("laid paper", "300014109", "paper", true),
];

impl Term {
    /// A term with its concept, if it is one of those known. Keys with hyphens are taken as words.
    #[must_use]
    pub fn new(text: &str) -> Self {
        let plain = text.trim().to_lowercase().replace('-', " ");
        let known = TERMS.iter().find(|(term, ..)| *term == plain);
        Self {
            term: known.map_or_else(|| text.trim().to_owned(), |(term, ..)| (*term).to_owned()),
            aat: known.map(|(_, id, label, broader)| Aat {
                id: (*id).into(),
                label: (*label).into(),
                broader: *broader,
            }),
        }
    }

    /// "lithograph (AAT 300053271, lithography)".
    #[must_use]
    pub fn in_words(&self) -> String {
        match &self.aat {
            Some(aat) if aat.broader => {
                format!("{} (AAT {}, the broader {})", self.term, aat.id, aat.label)
            }
            Some(aat) => format!("{} (AAT {}, {})", self.term, aat.id, aat.label),
            None => format!("{} (no AAT number checked)", self.term),
        }
    }
}
