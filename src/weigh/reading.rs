//! The reading and the findings it rests on.

use super::doubt::LIKELIER_THAN_NOT;
use super::outside::{self, Outside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A photograph that fits worse than this share of the reference specimens of its best process is
/// taken as something else: one true print in a hundred is then sent back for another photograph.
pub const FITS: f64 = 0.01;
/// A period process is named only when the chance of a reproduction is below this: calling a
/// reproduction a period print is taken as a hundred times as bad as no call.
pub const REPRODUCTION_EXCLUDED: f64 = 0.01;

/// A process that the tool can read.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Process {
    /// Dots and flicks cut or etched into a plate.
    StippleEngraving,
    /// Lines cut or etched into a plate.
    LineEngraving,
    /// Crayon or pen on stone, one ink.
    Lithograph,
    /// A lithograph with a flat tint from a second stone.
    TintedLithograph,
    /// A reproduction by any screen: crossline, laser, stochastic, inkjet.
    Halftone,
}

impl Process {
    /// All of them, in the order used everywhere.
    pub const ALL: [Self; 5] = [
        Self::StippleEngraving,
        Self::LineEngraving,
        Self::Lithograph,
        Self::TintedLithograph,
        Self::Halftone,
    ];

    /// Name in the trade's words, lower case.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::StippleEngraving => "stipple engraving",
            Self::LineEngraving => "line engraving",
            Self::Lithograph => "lithograph",
            Self::TintedLithograph => "tinted lithograph",
            Self::Halftone => "halftone reproduction",
        }
    }

    /// Key in JSON and in tables, as the design's contract has it.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::StippleEngraving => "stipple-engraving",
            Self::LineEngraving => "line-engraving",
            Self::Lithograph => "lithograph",
            Self::TintedLithograph => "tinted-lithograph",
            Self::Halftone => "halftone",
        }
    }

    /// The process with a key.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|process| process.key() == key)
    }
}

/// Where the colour lies, as read.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Colouring {
    /// Black, or one near-black ink, on bare paper.
    None,
    /// Brushed wash over printed marks.
    HandWash,
    /// The plate was inked in colour.
    ColouredInk,
    /// A flat tint from its own stone.
    PrintedTint,
    /// Three or four process inks.
    ProcessColour,
    /// Cannot be told from these photographs.
    Undetermined,
}

impl Colouring {
    /// All that can be read, without "undetermined".
    pub const ALL: [Self; 5] = [
        Self::None,
        Self::HandWash,
        Self::ColouredInk,
        Self::PrintedTint,
        Self::ProcessColour,
    ];

    /// Key in JSON and in tables.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::HandWash => "hand-wash",
            Self::ColouredInk => "coloured-ink",
            Self::PrintedTint => "printed-tint",
            Self::ProcessColour => "process-colour",
            Self::Undetermined => "undetermined",
        }
    }

    /// The colouring with a key.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .chain([Self::Undetermined])
            .find(|colouring| colouring.key() == key)
    }

    /// Name in the trade's words, lower case.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::None => "no colour",
            Self::HandWash => "hand wash over the printed marks",
            Self::ColouredInk => "colour in the ink",
            Self::PrintedTint => "a flat tint printed from its own stone",
            Self::ProcessColour => "process colour",
            Self::Undetermined => "undetermined",
        }
    }
}

/// What one measurement says.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Finding {
    /// Key of the measurement, e.g. `marks.clark_evans`.
    pub measurement: String,
    /// Its name in plain words ("Evenness of spacing of the marks").
    pub title: String,
    /// The value as weighed.
    pub value: f64,
    /// Unit as in [`crate::measured::Figure::unit`].
    pub unit: String,
    /// 95 % interval of the value where known.
    pub interval: Option<[f64; 2]>,
    /// Whether nothing of its kind was seen, be it that none is there or that it cannot be seen; the value, 0,
    /// stands for that.
    pub nothing_there: bool,
    /// Central 80 % of the reference sample of each process: what such prints usually show.
    pub reference: BTreeMap<Process, [f64; 2]>,
    /// Weight per process: log10 of its likelihood over the geometric mean of all five, after fusion.
    /// The rows of all findings add up to the whole, but for how common the variety of the process is that they speak
    /// for (at most one power of ten), before bounds on the sum and before a screen on one of several photographs
    /// raises the chance of a reproduction. Of what photographs too coarse or too poor to show a screen say a fifth
    /// counts between the four period processes, and beside others they exclude no reproduction.
    pub log10_lr: BTreeMap<Process, f64>,
    /// Reason in plain trade language.
    pub because: String,
}

impl Finding {
    /// Greatest less least weight over the processes: how much it parts any of them, log10.
    #[must_use]
    pub fn spread(&self) -> f64 {
        let weights = || self.log10_lr.values().copied();
        weights().fold(f64::NEG_INFINITY, f64::max) - weights().fold(f64::INFINITY, f64::min)
    }
}

/// The reading as a whole.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Reading {
    /// The process, or none when undetermined.
    pub process: Option<Process>,
    /// Probability of each process under the priors, given that it is one of the five.
    pub posterior: BTreeMap<Process, f64>,
    /// Prior probabilities used (equal unless the user gave others).
    pub prior: BTreeMap<Process, f64>,
    /// log10 likelihood ratio of each process against the mean of the other four.
    pub log10_lr: BTreeMap<Process, f64>,
    /// The largest of these that the number of reference specimens supports, log10.
    pub limit_log10_lr: f64,
    /// Strength of the evidence for the process read, in the words of the ENFSI guideline
    /// (2015); for an undetermined reading, of the best-supported process.
    pub strength: String,
    /// Share of reference specimens of the best-supported process that fit it as badly as this
    /// photograph or worse, 0–1: a test of whether it is any of the five at all.
    pub fit: Option<f64>,
    /// Where the colour lies; never empty.
    pub colouring: Vec<Colouring>,
    /// Probability that each kind of colouring is present: of its own signs with equal priors, times that of a period
    /// print (of process colour: that of a reproduction); a printed tint has that of a tinted lithograph.
    pub colouring_posterior: BTreeMap<Colouring, f64>,
    /// What must be told beside the reading, gravest first: photographs that contradict each other or show no print, a
    /// screen that the reading does not rest on. Clauses without a full stop.
    pub cautions: Vec<String>,
    /// Whether a screen could have been seen on a photograph on which something was weighed; where not, a reproduction is
    /// never excluded.
    pub shows_screens: bool,
    /// Whether any of the photographs holds colour; where none does, nothing is told of the colouring.
    pub shows_colour: bool,
    /// Whether the light of a photograph is of two colours, so that no colour of the print can be told in it.
    pub lit_in_two_colours: bool,
    /// The two processes of which it is one, likelier first, where the evidence excludes the other
    /// three, and what is outside the five as far as it is told from either, but does not part these; empty when a process is read, more than two are left, or a
    /// screen could not have been seen.
    pub narrowed_to: Vec<Process>,
    /// Of everything outside the five that the likeliest process is told from: chance that it is that instead, with
    /// [`outside::ODDS`] beforehand, 0–1; empty where nothing was weighed.
    pub outside: BTreeMap<Outside, f64>,
    /// Why it is undetermined; empty when it is not.
    pub undetermined_because: Vec<String>,
    /// What to photograph next, most useful first.
    pub next_photographs: Vec<String>,
    /// All findings that were weighed, heaviest first.
    pub findings: Vec<Finding>,
}

impl Reading {
    /// Findings that speak for the best-supported process, heaviest first, and those against it.
    #[must_use]
    pub fn for_and_against(&self) -> (Vec<&Finding>, Vec<&Finding>) {
        let Some(best) = self.best() else {
            return (Vec::new(), Vec::new());
        };
        let weight = |f: &&Finding| f.log10_lr.get(&best).copied().unwrap_or(0.0);
        let (mut speaks_for, mut against): (Vec<&Finding>, Vec<&Finding>) =
            self.findings.iter().partition(|f| weight(f) >= 0.0);
        speaks_for.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
        against.sort_by(|a, b| weight(a).total_cmp(&weight(b)));
        (speaks_for, against)
    }

    /// Whether the evidence for the best-supported process was cut at what the reference supports.
    #[must_use]
    pub fn is_at_limit(&self) -> bool {
        const WITHIN: f64 = 0.05;
        self.best()
            .and_then(|best| self.log10_lr.get(&best))
            .is_some_and(|lr| *lr > self.limit_log10_lr - WITHIN)
    }

    /// What outside the five is likelier by far than the process that it is told from. Where a screen would not show, or
    /// that process is itself unlikely or so by the odds given alone, this says nothing: of 75 real scans two seemed so, and
    /// both were neither.
    #[must_use]
    pub fn likest_outside(&self) -> Option<Outside> {
        let (outside, chance) = outside::not_excluded(&self.outside)?;
        let best = self.best()?;
        let (posterior, log10_lr) = (self.posterior.get(&best)?, self.log10_lr.get(&best)?);
        let bears_it = self.shows_screens && *posterior >= LIKELIER_THAN_NOT && *log10_lr >= 0.0;
        (self.process.is_none() && bears_it && chance > 1.0 - outside::EXCLUDED).then_some(outside)
    }

    /// Chance of a halftone reproduction under the priors, given that it is one of the five; none
    /// where nothing was weighed, where it is like none of the five or where no screen could be seen.
    #[must_use]
    pub fn chance_of_reproduction(&self) -> Option<f64> {
        // A reproduction that is named is like one, if only by its rosette.
        let like_one =
            self.process == Some(Process::Halftone) || self.fit.is_some_and(|fit| fit >= FITS);
        self.posterior
            .get(&Process::Halftone)
            .copied()
            .filter(|_| like_one && self.shows_screens)
    }

    /// The process with the highest posterior, read or not.
    #[must_use]
    pub fn best(&self) -> Option<Process> {
        // Of equals the first, as in weighing.
        self.posterior
            .iter()
            .max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(a.0)))
            .map(|(process, _)| *process)
    }
}

/// Words of the ENFSI Guideline for Evaluative Reporting (2015) for a likelihood ratio.
#[must_use]
pub fn enfsi_words(log10_lr: f64) -> &'static str {
    match log10_lr {
        x if x < 2f64.log10() => "no support",
        x if x < 1.0 => "weak support",
        x if x < 2.0 => "moderate support",
        x if x < 3.0 => "moderately strong support",
        x if x < 4.0 => "strong support",
        x if x < 6.0 => "very strong support",
        _ => "extremely strong support",
    }
}

#[cfg(test)]
mod tests {
    use super::enfsi_words;

    /// The limits of the ENFSI Guideline for Evaluative Reporting (2015), as ratios.
    #[test]
    fn words_change_where_the_guideline_has_it() {
        for (least, words, below) in [
            (2.0, "weak support", "no support"),
            (10.0, "moderate support", "weak support"),
            (100.0, "moderately strong support", "moderate support"),
            (1e3, "strong support", "moderately strong support"),
            (1e4, "very strong support", "strong support"),
            (1e6, "extremely strong support", "very strong support"),
        ] {
            let at = |ratio: f64| enfsi_words(ratio.log10());
            assert_eq!(at(1.0001 * least), words);
            assert_eq!(at(0.9999 * least), below);
        }
    }
}
