//! Fitted reference distributions: data made by `inktell calibrate`, kept under version control.

use super::reading::{Colouring, Process};
use super::table::Table;
use super::told_apart::ToldApart;
use super::typical::{Cloud, Scale};
use super::usual;
use super::variety::Variety;
use super::weigher::{Hypothesis, Weigher, supported_ln};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// All that the weighing knows of reference specimens.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reference {
    /// Which program version and series of specimens it was fitted from.
    pub made_from: String,
    /// Keys of the findings, in the order used by everything below.
    pub findings: Vec<String>,
    /// Between the varieties of the five processes, in the order of [`Variety::ALL`].
    pub process: Weigher,
    /// Central 80 % of each finding on prints of each process, in the order of [`Process::ALL`]; none where it was
    /// too seldom measured.
    pub usual: Vec<Vec<Option<[f64; 2]>>>,
    /// Whether each kind of colouring is absent (0) or present (1); a printed tint is weighed with
    /// the processes.
    pub colouring: BTreeMap<Colouring, Weigher>,
    /// Whether it is one of some processes (0) or something outside the five (1).
    pub outside: Vec<ToldApart>,
    /// Normal scores of the findings; none where too seldom measured.
    pub scales: Vec<Option<Scale>>,
    /// Where the specimens of each process lie, in the order of [`Process::ALL`].
    pub clouds: Vec<Cloud>,
}

/// The reference fitted for this version of the program.
///
/// # Panics
/// Never in a released program: a test reads the file that is compiled in.
pub static REFERENCE: LazyLock<Reference> = LazyLock::new(|| {
    serde_json::from_str(include_str!("reference.json"))
        .expect("reference.json is checked by a test")
});

impl Reference {
    /// Fits everything to a table of measured specimens.
    #[must_use]
    pub fn fit(table: &Table, made_from: String) -> Self {
        let outside = ToldApart::fit_all(table);
        let (table, varieties) = table.of_the_five();
        let table = &table;
        let variety: Vec<usize> = varieties.iter().map(|&v| v as usize).collect();
        // Every variety counts alike in the fit, however common it is: by its own share a rare one, such as
        // reproductions in scattered black spots, would be told from the others by almost nothing but the ridge. In
        // cross-validation that decides 77.9 % instead of 75.3 % at the same cost of readings (0.163 and 0.161).
        let told = Variety::ALL.map(|variety| Hypothesis {
            share: 1.0 / Variety::ALL.len() as f64,
            group: variety.process() as usize,
            part: variety.share(),
        });
        let scales: Vec<Option<Scale>> = (0..table.findings.len())
            .map(|f| Scale::fit(table.rows.iter().filter_map(|row| row.values[f]).collect()))
            .collect();
        let clouds = Process::ALL
            .iter()
            .map(|p| {
                let scores = |odd: bool| -> Vec<Vec<Option<f64>>> {
                    table
                        .rows
                        .iter()
                        .zip(&varieties)
                        .filter(|(row, of)| of.process() == *p && (row.seed % 2 == 1) == odd)
                        .map(|(row, _)| scores(&scales, &row.values))
                        .collect()
                };
                Cloud::fit(&scores(false), &scores(true))
            })
            .collect();
        let colouring = [
            Colouring::HandWash,
            Colouring::ColouredInk,
            Colouring::ProcessColour,
        ]
        .into_iter()
        .map(|kind| {
            let present: Vec<usize> = table
                .rows
                .iter()
                .map(|row| usize::from(row.colouring.contains(&kind)))
                .collect();
            (kind, Weigher::fit(table, &present, &Hypothesis::two()))
        })
        .collect();
        Self {
            made_from,
            findings: table.findings.clone(),
            process: Weigher::fit(table, &variety, &told),
            usual: (0..table.findings.len())
                .map(|f| usual::ranges(table, &varieties, f))
                .collect(),
            colouring,
            outside,
            scales,
            clouds,
        }
    }

    /// The same with every number at seven significant digits: ample for weights that rest on a few
    /// thousand specimens, and the file then compares line by line between machines.
    #[must_use]
    pub fn rounded(&self) -> serde_json::Value {
        fn round(value: &mut serde_json::Value) {
            match value {
                serde_json::Value::Number(n) => {
                    if let Some(x) = n.as_f64().filter(|_| !n.is_u64()) {
                        let short = format!("{x:.6e}").parse().unwrap_or(x);
                        *value = serde_json::json!(short);
                    }
                }
                serde_json::Value::Array(items) => items.iter_mut().for_each(round),
                serde_json::Value::Object(map) => map.values_mut().for_each(round),
                _ => {}
            }
        }
        let mut value = serde_json::to_value(self).unwrap_or_default();
        round(&mut value);
        value
    }

    /// Largest ln likelihood ratio between the processes that the reference sample supports.
    #[must_use]
    pub fn bound_ln(&self) -> f64 {
        let mut n = [0; Process::ALL.len()];
        for (variety, specimens) in Variety::ALL.into_iter().zip(&self.process.n) {
            n[variety.process() as usize] += specimens;
        }
        supported_ln(&n)
    }

    /// Normal scores of some values.
    #[must_use]
    pub fn scores(&self, values: &[Option<f64>]) -> Vec<Option<f64>> {
        scores(&self.scales, values)
    }
}

fn scores(scales: &[Option<Scale>], values: &[Option<f64>]) -> Vec<Option<f64>> {
    scales
        .iter()
        .zip(values)
        .map(|(scale, value)| Some(scale.as_ref()?.score((*value)?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weigh::features::FEATURES;
    use crate::weigh::outside::Outside;
    use serde_json::Value;

    #[test]
    fn the_compiled_in_reference_answers_for_every_finding() {
        let keys: Vec<&str> = FEATURES.iter().map(|f| f.key).collect();
        assert_eq!(
            REFERENCE.findings, keys,
            "a finding changed: calibrate again"
        );
        assert_eq!(REFERENCE.process.n.len(), Variety::ALL.len());
        assert_eq!(REFERENCE.clouds.len(), Process::ALL.len());
        let told = |outside: &ToldApart| outside.weigher.n.iter().all(|&n| n >= 40);
        assert!(REFERENCE.outside.iter().all(told));
        let groups = Outside::ALL.map(|outside| outside.mistaken_for().len());
        assert_eq!(REFERENCE.outside.len(), groups.iter().sum::<usize>());
        assert!(
            REFERENCE.process.n.iter().all(|&n| n >= 40),
            "{:?}",
            REFERENCE.process.n
        );
        let unmeasured = vec![None; keys.len()];
        let rows = REFERENCE.process.weigh(&unmeasured);
        assert!(
            rows.iter().flatten().all(|&l| l == 0.0),
            "what was not measured must say nothing"
        );
    }

    #[test]
    fn the_reference_is_what_its_table_gives() {
        let file = concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/fixtures/calibration/training.csv"
        );
        let table = Table::read(std::path::Path::new(file)).unwrap();
        let fitted = Reference::fit(&table, REFERENCE.made_from.clone()).rounded();
        let kept = serde_json::to_value(&*REFERENCE).expect("as it is written");
        assert_eq!(first_difference(&fitted, &kept), None);
    }

    /// Where two documents differ by more than the last of the digits that are kept.
    fn first_difference(a: &Value, b: &Value) -> Option<String> {
        const WITHIN: f64 = 1e-4;
        let at = |key: &dyn std::fmt::Display, found: Option<String>| {
            found.map(|deeper| format!("{key}/{deeper}"))
        };
        match (a, b) {
            (Value::Object(a), Value::Object(b)) if a.keys().eq(b.keys()) => a
                .iter()
                .zip(b.values())
                .find_map(|((key, a), b)| at(key, first_difference(a, b))),
            (Value::Array(a), Value::Array(b)) if a.len() == b.len() => (a.iter().zip(b))
                .enumerate()
                .find_map(|(i, (a, b))| at(&i, first_difference(a, b))),
            (Value::Number(a), Value::Number(b)) => {
                let [a, b] = [a, b].map(|n| n.as_f64().unwrap_or(f64::NAN));
                let alike = (a - b).abs() <= WITHIN * a.abs().max(b.abs()).max(1.0);
                (!alike).then(|| format!("{a} and {b}"))
            }
            (a, b) => (a != b).then(|| format!("{a} and {b}")),
        }
    }
}
