//! Which sheet to look at first, and how many to look at.
//!
//! The rule. A sheet can be set aside as a reproduction, passed as a period print, or looked at by
//! hand, which costs 1. With the chance p of a reproduction, passing it costs p × the cost of a
//! missed reproduction, setting it aside (1 − p) × the cost of a period print set aside. Where one
//! of these is less than 1 and the reading itself says so, the sheet stands there; else it is
//! doubtful. Inside each standing those to inspect come first, and then sheets follow by the cost of passing them,
//! highest first.
//!
//! A sheet is left without inspection by its chance alone only where that chance may be relied on: not where it
//! or one of its files was not read, carries nothing, resembles nothing known, contradicts itself, or shows a printing screen without
//! being read as a reproduction.

use super::natural;
use super::record::{Record, SheetReading};
use crate::weigh::Process;
use crate::weigh::reading::FITS;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What errors cost, in inspections by hand.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Costs {
    /// A reproduction passed as a period print.
    pub missed: f64,
    /// A period print set aside as a reproduction.
    pub set_aside: f64,
}

/// Chance of a missed reproduction that may remain where the user names none: one lot in twenty.
pub const MISSED_CHANCE: f64 = 0.05;

impl Default for Costs {
    /// As a single reading has them: a reproduction called period is a hundred times as bad as no
    /// call, any other wrong call twenty times.
    fn default() -> Self {
        Self {
            missed: 100.0,
            set_aside: 20.0,
        }
    }
}

/// Where a sheet stands.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// A reproduction by its reading, and setting it aside costs less than looking.
    LikelyReproduction,
    /// It deserves a closer look.
    Doubtful,
    /// Its photographs could not be read or carry nothing.
    PhotographAgain,
    /// A period process by its reading, and passing it costs less than looking.
    Period,
}

impl Standing {
    /// All of them, in the order in which to look at them.
    pub const ALL: [Self; 4] = [
        Self::LikelyReproduction,
        Self::Doubtful,
        Self::PhotographAgain,
        Self::Period,
    ];

    /// Key in tables.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::LikelyReproduction => "likely-reproduction",
            Self::Doubtful => "doubtful",
            Self::PhotographAgain => "photograph-again",
            Self::Period => "period",
        }
    }

    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::LikelyReproduction => "Likely reproduction",
            Self::Doubtful => "Look closer",
            Self::PhotographAgain => "Photograph again",
            Self::Period => "Reads as period",
        }
    }
}

/// One sheet in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    /// Its record.
    pub record: Record,
    /// Where it stands.
    pub standing: Standing,
    /// Chance of a reproduction, 0–1.
    pub chance: f64,
    /// Expected cost of passing it as a period print, in inspections.
    pub cost_of_passing: f64,
    /// Whether it is among those to inspect by hand.
    pub inspect: bool,
    /// The same file elsewhere, or what may be the same spot, as sentences.
    pub twice: Vec<String>,
}

/// How many sheets to inspect by hand, and what remains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inspection {
    /// Sheets set aside as reproductions, which are not passed and need no inspection for this.
    pub set_aside: usize,
    /// Sheets to inspect.
    pub inspect: usize,
    /// Sheets left without inspection: nothing speaks for a reproduction beyond the chance asked for.
    pub passed: usize,
    /// Chance that at least one of those passed is a reproduction, 0–1.
    pub chance_missed: f64,
}

/// Puts the sheets in the order in which to look at them and marks those to inspect, so that the
/// chance of a missed reproduction is at most `missed_chance`. `beforehand` is the chance of a
/// reproduction where nothing could be read or the photographs carry nothing.
#[must_use]
pub fn rank(
    records: Vec<Record>,
    costs: Costs,
    beforehand: f64,
    missed_chance: f64,
) -> (Vec<Ranked>, Inspection) {
    let mut ranked: Vec<Ranked> = records
        .into_iter()
        .map(|record| {
            let chance = record.chance_of_reproduction(beforehand);
            Ranked {
                standing: standing(&record, chance, costs),
                chance,
                cost_of_passing: chance * costs.missed,
                inspect: false,
                twice: Vec::new(),
                record,
            }
        })
        .collect();
    ranked.sort_by(|a, b| {
        (a.standing.cmp(&b.standing))
            .then(b.chance.total_cmp(&a.chance))
            .then_with(|| natural::compare(&a.record.sheet, &b.record.sheet))
    });
    let inspection = inspection(&ranked, missed_chance);
    for index in by_chance(&ranked).into_iter().take(inspection.inspect) {
        ranked[index].inspect = true;
    }
    // Stable: else as before.
    ranked.sort_by_key(|sheet| (sheet.standing, !sheet.inspect));
    (ranked, inspection)
}

/// Where a sheet stands. What is undetermined or unread, be it in part, never counts as a period print: the file
/// that was not read may show the screen. Photographs that contradict each other may be of two sheets.
fn standing(record: &Record, chance: f64, costs: Costs) -> Standing {
    let Some(reading) = &record.reading else {
        return Standing::PhotographAgain;
    };
    match reading.process {
        Some(_) if reading.to_check().is_some() => Standing::Doubtful,
        Some(Process::Halftone) if (1.0 - chance) * costs.set_aside < 1.0 => {
            Standing::LikelyReproduction
        }
        Some(process)
            if process != Process::Halftone
                && chance * costs.missed < 1.0
                && record.not_read.is_empty() =>
        {
            Standing::Period
        }
        Some(_) => Standing::Doubtful,
        None if record.reading_that_counts().is_none() => Standing::PhotographAgain,
        None => Standing::Doubtful,
    }
}

/// Whether the chances of a sheet may be relied on: all its files were read, its photographs carry something and do not
/// contradict each other, it resembles the prints that the reading is set against, as [`FITS`] has it for a single reading,
/// and shows no printing screen that its reading does not heed.
fn is_reliable(ranked: &Ranked) -> bool {
    let fits = |fit: Option<f64>| fit.is_some_and(|share| share >= FITS);
    let reliable =
        |r: &SheetReading| fits(r.fit) && r.to_check().is_none() && !r.shows_screen_unread();
    ranked.standing != Standing::PhotographAgain
        && ranked.record.not_read.is_empty()
        && ranked.record.reading.as_ref().is_some_and(reliable)
}

/// The chance reckoned with for passing a sheet unseen; what cannot be relied on is never passed.
fn chance_unseen(ranked: &Ranked) -> f64 {
    if is_reliable(ranked) {
        ranked.chance
    } else {
        1.0
    }
}

/// Sheets that are not set aside, by their chance, highest first; ties as they stand.
fn by_chance(ranked: &[Ranked]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..ranked.len())
        .filter(|i| ranked[*i].standing != Standing::LikelyReproduction)
        .collect();
    order.sort_by(|a, b| chance_unseen(&ranked[*b]).total_cmp(&chance_unseen(&ranked[*a])));
    order
}

/// The fewest sheets to inspect so that the chance of at least one reproduction among those passed
/// is at most `missed_chance` (below 1), the sheets' chances taken as independent. Sheets that were not
/// read whole, carry nothing, contradict themselves, resemble nothing known or show a printing screen without being
/// read as a reproduction are always to be inspected.
#[must_use]
pub fn inspection(ranked: &[Ranked], missed_chance: f64) -> Inspection {
    let order = by_chance(ranked);
    let (mut passed, mut none_missed) = (0, 1.0);
    // From the least doubtful on, sheets are passed while the chance stays low enough.
    for index in order.iter().rev() {
        let chance = chance_unseen(&ranked[*index]);
        let next = none_missed * (1.0 - chance);
        if 1.0 - next > missed_chance {
            break;
        }
        none_missed = next;
        passed += 1;
    }
    Inspection {
        set_aside: ranked.len() - order.len(),
        inspect: order.len() - passed,
        passed,
        chance_missed: 1.0 - none_missed,
    }
}

#[cfg(test)]
pub(crate) mod tests;
