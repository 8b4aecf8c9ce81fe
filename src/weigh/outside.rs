//! What lies outside the five and is so like one of them that it is told from it apart.

use super::reading::Process;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Prints outside the five, and cloth, that would be taken for one of them.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Outside {
    /// A woodcut or wood engraving: lines in black ink, as line engravings are.
    Relief,
    /// A picture in tone: aquatint, mezzotint, collotype, grain photogravure, a plain photograph.
    Tonal,
    /// A chromolithograph: crayon grain and stipple from stones in several colours.
    Chromolithograph,
    /// Woven cloth, whose threads repeat as a screen does.
    Cloth,
}

/// One of the five is named only where the chance of each of the prints that it is told from is below this.
pub const EXCLUDED: f64 = 0.1;
/// So many of each are taken beforehand for one of the process that it is told from: a guess at what comes up for
/// reading.
pub const ODDS: f64 = 0.25;

impl Outside {
    /// All of them, in the order of tables and documents.
    pub const ALL: [Self; 4] = [
        Self::Relief,
        Self::Tonal,
        Self::Chromolithograph,
        Self::Cloth,
    ];

    /// Key in tables and documents.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Relief => "relief",
            Self::Tonal => "tonal",
            Self::Chromolithograph => "chromolithograph",
            Self::Cloth => "cloth",
        }
    }

    /// What it is, in the trade's words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Relief => "a woodcut or wood engraving",
            Self::Tonal => "an aquatint, mezzotint, collotype or photogravure",
            Self::Chromolithograph => "a chromolithograph",
            Self::Cloth => "woven cloth",
        }
    }

    /// The processes that it is told from; those that share a weigher together.
    #[must_use]
    pub fn mistaken_for(self) -> &'static [&'static [Process]] {
        const LINES: &[Process] = &[Process::LineEngraving];
        const DOTS: &[Process] = &[Process::StippleEngraving];
        const STONES: &[Process] = &[Process::Lithograph, Process::TintedLithograph];
        const SCREENS: &[Process] = &[Process::Halftone];
        match self {
            Self::Relief => &[LINES, SCREENS],
            Self::Tonal => &[STONES, SCREENS],
            Self::Chromolithograph => &[DOTS, STONES, SCREENS],
            Self::Cloth => &[LINES, SCREENS],
        }
    }
}

/// What stands in the way of naming the process that it is told from, with its chance; of several the likeliest.
#[must_use]
pub fn not_excluded(chances: &BTreeMap<Outside, f64>) -> Option<(Outside, f64)> {
    chances
        .iter()
        .map(|(outside, chance)| (*outside, *chance))
        .filter(|(_, chance)| *chance >= EXCLUDED)
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_likeliest_of_those_not_excluded_stands_in_the_way() {
        let chances =
            |relief, cloth| BTreeMap::from([(Outside::Relief, relief), (Outside::Cloth, cloth)]);
        assert_eq!(not_excluded(&chances(0.09, 0.02)), None);
        assert_eq!(
            not_excluded(&chances(0.2, 0.3)),
            Some((Outside::Cloth, 0.3))
        );
        assert_eq!(not_excluded(&BTreeMap::new()), None);
    }

    #[test]
    fn no_process_is_told_twice_from_the_same() {
        for outside in Outside::ALL {
            let mut told: Vec<Process> = outside.mistaken_for().concat();
            let n = told.len();
            told.sort_unstable();
            told.dedup();
            assert_eq!(told.len(), n, "{outside:?}");
        }
    }
}
