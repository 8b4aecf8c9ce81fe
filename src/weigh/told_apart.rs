//! Some of the five told from what is outside them and like them, by specimens of both.

use super::fuse;
use super::outside::{ODDS, Outside};
use super::reading::Process;
use super::table::{Subject, Table};
use super::together::{ALIKE, bound, joined, totals};
use super::weigher::{Hypothesis, Weigher};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Tells something outside the five from some of them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ToldApart {
    /// What is told.
    pub outside: Outside,
    /// The processes that it is told from.
    pub from: Vec<Process>,
    /// Whether it is one of the processes (0) or what is outside them (1).
    pub weigher: Weigher,
}

impl ToldApart {
    /// All of them, fitted to a table that holds specimens of everything.
    #[must_use]
    pub fn fit_all(table: &Table) -> Vec<Self> {
        let groups = |outside: Outside| {
            outside
                .mistaken_for()
                .iter()
                .map(move |from| (outside, *from))
        };
        Outside::ALL
            .into_iter()
            .flat_map(groups)
            .map(|(outside, from)| Self::fit(table, outside, from))
            .collect()
    }

    fn fit(table: &Table, outside: Outside, from: &[Process]) -> Self {
        let mut both = table.clone();
        both.rows.retain(|row| match row.subject {
            Subject::Process(process) => from.contains(&process),
            Subject::Outside(other) => other == outside,
        });
        let is_outside = |subject| usize::from(subject == Subject::Outside(outside));
        let hypothesis: Vec<usize> = both
            .rows
            .iter()
            .map(|row| is_outside(row.subject))
            .collect();
        Self {
            outside,
            from: from.to_vec(),
            weigher: Weigher::fit(&both, &hypothesis, &Hypothesis::two()),
        }
    }

    /// Chance that a sheet is what is outside, by its photographs and [`ODDS`] beforehand.
    fn chance(&self, photos: &[Vec<Option<f64>>]) -> f64 {
        let sums = totals(&joined(&self.weigher, photos, ALIKE), 2);
        fuse::posterior(&bound(&sums, self.weigher.bound_ln()), &[1.0, ODDS])[1]
    }
}

/// Chances that a sheet is something outside the five and not the process that it is likest to.
#[must_use]
pub fn chances_outside(
    told: &[ToldApart],
    photos: &[Vec<Option<f64>>],
    likeliest: Process,
) -> BTreeMap<Outside, f64> {
    told.iter()
        .filter(|told| told.from.contains(&likeliest))
        .map(|told| (told.outside, told.chance(photos)))
        .collect()
}
