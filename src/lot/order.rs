//! Which sheet to look at first, and how many to look at.
//!
//! The rule. A sheet can be set aside as a reproduction, passed as a period print, or looked at by
//! hand, which costs 1. With the chance p of a reproduction, passing it costs p × the cost of a
//! missed reproduction, setting it aside (1 − p) × the cost of a period print set aside. Where one
//! of these is less than 1 and the reading itself says so, the sheet stands there; else it is
//! doubtful. Inside each standing, sheets follow by the cost of passing them, highest first.

use super::natural;
use super::record::Record;
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
    /// The same file or the same spot elsewhere, as sentences.
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
/// reproduction where nothing could be read.
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
    (ranked, inspection)
}

/// Where a sheet stands. What is undetermined or unread never counts as a period print, and photographs
/// that contradict each other may be of two sheets.
fn standing(record: &Record, chance: f64, costs: Costs) -> Standing {
    let Some(reading) = &record.reading else {
        return Standing::PhotographAgain;
    };
    match reading.process {
        Some(_) if reading.to_check().is_some() => Standing::Doubtful,
        Some(Process::Halftone) if (1.0 - chance) * costs.set_aside < 1.0 => {
            Standing::LikelyReproduction
        }
        Some(process) if process != Process::Halftone && chance * costs.missed < 1.0 => {
            Standing::Period
        }
        Some(_) => Standing::Doubtful,
        None if reading.findings == 0 || record.photos.iter().all(|p| p.unusable) => {
            Standing::PhotographAgain
        }
        None => Standing::Doubtful,
    }
}

/// Whether the chances of a sheet may be relied on: it was read, its photographs carry something and do not
/// contradict each other, and it resembles the prints that the reading is set against, as [`FITS`] has it for a single reading.
fn is_reliable(ranked: &Ranked) -> bool {
    let fits = |fit: Option<f64>| fit.is_some_and(|share| share >= FITS);
    ranked.standing != Standing::PhotographAgain
        && ranked
            .record
            .reading
            .as_ref()
            .is_some_and(|r| fits(r.fit) && r.to_check().is_none())
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
/// read, carry nothing, contradict themselves or resemble nothing known are always to be inspected.
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
pub(crate) mod tests {
    use super::*;
    use crate::lot::record::{Seen, SheetReading};
    use crate::weigh::advice::TO_CHECK;
    use std::collections::BTreeMap;

    /// A record that reads as a process with a chance of a reproduction.
    pub(crate) fn record(sheet: &str, process: Option<Process>, chance: f64) -> Record {
        let mut record = Record::blank(sheet, None);
        let rest = (1.0 - chance) / 4.0;
        let posterior: BTreeMap<Process, f64> = Process::ALL
            .into_iter()
            .map(|p| (p, if p == Process::Halftone { chance } else { rest }))
            .collect();
        record.photos.push(Seen {
            file: format!("{sheet}.jpg"),
            sha256: sheet.into(),
            width_px: 30,
            height_px: 20,
            px_per_mm: None,
            scale_source: None,
            verdict: "good for measuring".into(),
            unusable: false,
            likeness: None,
        });
        record.reading = Some(SheetReading {
            process,
            prior: posterior.clone(),
            log10_lr: posterior.clone(),
            posterior,
            strength: "strong support".into(),
            fit: Some(0.4),
            colouring: Vec::new(),
            findings: 9,
            screens: Vec::new(),
            why: "Because.".into(),
            undetermined_because: Vec::new(),
            next_photographs: Vec::new(),
        });
        record
    }

    fn standings(ranked: &[Ranked]) -> Vec<(&str, Standing)> {
        ranked
            .iter()
            .map(|r| (r.record.sheet.as_str(), r.standing))
            .collect()
    }

    #[test]
    fn sheets_stand_where_the_costs_put_them() {
        let stipple = Some(Process::StippleEngraving);
        let records = vec![
            record("sure period", stipple, 0.004),
            record("open", None, 0.3),
            record("weak period", stipple, 0.012),
            record("sure copy", Some(Process::Halftone), 0.98),
            record("weak copy", Some(Process::Halftone), 0.94),
            record("undetermined, hardly a copy", None, 0.0001),
            Record::blank("unread", None),
        ];
        let (ranked, _) = rank(records.clone(), Costs::default(), 0.2, 0.05);
        assert_eq!(
            standings(&ranked),
            [
                ("sure copy", Standing::LikelyReproduction),
                ("weak copy", Standing::Doubtful),
                ("open", Standing::Doubtful),
                ("weak period", Standing::Doubtful),
                ("undetermined, hardly a copy", Standing::Doubtful),
                ("unread", Standing::PhotographAgain),
                ("sure period", Standing::Period),
            ]
        );
        let lenient = Costs {
            missed: 50.0,
            set_aside: 10.0,
        };
        let (ranked, _) = rank(records, lenient, 0.2, 0.05);
        assert_eq!(ranked[1].standing, Standing::LikelyReproduction);
        assert_eq!(ranked[6].record.sheet, "sure period");
        assert_eq!(ranked[5].record.sheet, "weak period");
    }

    #[test]
    fn poor_photographs_are_to_be_taken_again() {
        let mut poor = record("poor", None, 0.2);
        poor.photos[0].unusable = true;
        let mut empty = record("empty", None, 0.2);
        if let Some(reading) = &mut empty.reading {
            reading.findings = 0;
        }
        let (ranked, _) = rank(vec![poor, empty], Costs::default(), 0.2, 0.05);
        assert!(
            ranked
                .iter()
                .all(|r| r.standing == Standing::PhotographAgain)
        );
    }

    #[test]
    fn as_few_are_inspected_as_the_chance_allows() {
        let chances = [0.9, 0.3, 0.04, 0.02, 0.01, 0.005];
        let records: Vec<Record> = chances
            .iter()
            .enumerate()
            .map(|(i, p)| record(&format!("s{i}"), None, *p))
            .collect();
        let (ranked, inspection) = rank(records, Costs::default(), 0.2, 0.05);
        // 1 − 0.995 · 0.99 · 0.98 = 0.0347; with the next it would be 0.0733.
        assert_eq!((inspection.inspect, inspection.passed), (3, 3));
        assert!((inspection.chance_missed - 0.034_651).abs() < 1e-6);
        let marked: Vec<bool> = ranked.iter().map(|r| r.inspect).collect();
        assert_eq!(marked, [true, true, true, false, false, false]);
        assert_eq!(super::inspection(&ranked, 0.99).inspect, 0);
        assert_eq!(super::inspection(&ranked, 0.0).inspect, 6);
    }

    #[test]
    fn what_resembles_nothing_known_is_always_inspected() {
        let mut strange = record("strange", None, 0.0001);
        if let Some(reading) = &mut strange.reading {
            reading.fit = Some(0.004);
        }
        let known = record("known", None, 0.0001);
        let unread = Record::blank("unread", None);
        let (ranked, inspection) = rank(vec![strange, known, unread], Costs::default(), 0.2, 0.9);
        assert_eq!((inspection.inspect, inspection.passed), (2, 1));
        let passed = ranked.iter().find(|r| !r.inspect).unwrap();
        assert_eq!(passed.record.sheet, "known");
    }

    #[test]
    fn a_sheet_whose_photographs_contradict_each_other_is_neither_passed_nor_set_aside() {
        for (process, chance) in [(Process::Lithograph, 0.0001), (Process::Halftone, 0.9999)] {
            let mut mixed = record("mixed", Some(process), chance);
            let settled = mixed.clone();
            if let Some(reading) = &mut mixed.reading {
                reading.next_photographs = vec![format!("{TO_CHECK} that all are of one sheet.")];
            }
            let (ranked, inspection) = rank(vec![mixed], Costs::default(), 0.2, 0.9);
            assert_eq!(ranked[0].standing, Standing::Doubtful);
            assert!(ranked[0].inspect && inspection.inspect == 1);
            let (ranked, _) = rank(vec![settled], Costs::default(), 0.2, 0.9);
            assert!(ranked[0].standing != Standing::Doubtful && !ranked[0].inspect);
        }
    }

    /// With chances that are right, the share of lots with a missed reproduction stays below the figure.
    #[test]
    fn the_stated_chance_holds_where_the_readings_are_calibrated() {
        use rand::{RngExt, SeedableRng};
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(5);
        let (mut missed, mut stated) = (0, 0.0);
        const LOTS: usize = 2000;
        for _ in 0..LOTS {
            let records: Vec<Record> = (0..40)
                .map(|i| {
                    let chance = 10f64.powf(-rng.random_range(0.1..4.0));
                    record(&format!("s{i}"), None, chance)
                })
                .collect();
            let (ranked, inspection) = rank(records, Costs::default(), 0.2, 0.1);
            stated += inspection.chance_missed;
            let a_miss = ranked
                .iter()
                .filter(|r| !r.inspect)
                .any(|r| rng.random_bool(r.chance));
            missed += usize::from(a_miss);
        }
        let (seen, stated) = (missed as f64 / LOTS as f64, stated / LOTS as f64);
        // Three standard errors of a share of 0.1 in 2000 lots.
        assert!((seen - stated).abs() < 0.02, "{seen} against {stated}");
        assert!(stated <= 0.1 && stated > 0.05);
    }
}
