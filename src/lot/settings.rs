//! What was asked for, kept beside the results so that a run can go on and parts can be merged.

use super::ledger::Ledger;
use super::names::SETTINGS_NAME;
use super::natural;
use super::order::Costs;
use crate::weigh::Process;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::io;
use std::path::Path;

/// Name and version of its form.
const SCHEMA: &str = "inktell/lot/1";

/// What was said of the scale for the lot as a whole.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LotScale {
    /// Scale of photographs of which nothing better is known, px/mm.
    pub px_per_mm: Option<f64>,
    /// File name of the photograph of a rule that was named for it. Parts may have it in different folders.
    pub rule: Option<String>,
    /// Diameter of the loupe's field, mm.
    pub loupe_field_mm: Option<f64>,
}

/// What holds for the lot as a whole.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    schema: String,
    /// Name of the lot.
    pub title: String,
    /// When it was begun, as it is printed.
    pub made: String,
    /// Probability of each process beforehand.
    pub prior: BTreeMap<Process, f64>,
    /// What errors cost.
    pub costs: Costs,
    /// Chance of a missed reproduction that may remain, 0–1.
    pub missed_chance: f64,
    /// What was said of the scale; nothing where an older version wrote it or lines were merged.
    #[serde(default)]
    pub scale: LotScale,
    /// Tasks of the whole lot by its plan, whatever share of them was worked on.
    pub sheets: usize,
    /// Those of them that hold nothing but photographs of rules, by name; none where an older version wrote it.
    #[serde(default)]
    pub rules: Vec<String>,
    /// The share that was worked on: number from 1, and of how many.
    pub part: Option<[u64; 2]>,
}

impl Settings {
    /// Settings of a whole lot that has no sheets yet.
    #[must_use]
    pub fn new(
        title: String,
        made: String,
        prior: BTreeMap<Process, f64>,
        costs: Costs,
        missed_chance: f64,
    ) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            title,
            made,
            prior,
            costs,
            missed_chance,
            scale: LotScale::default(),
            sheets: 0,
            rules: Vec::new(),
            part: None,
        }
    }

    /// Probability of a reproduction beforehand.
    #[must_use]
    pub fn reproductions_beforehand(&self) -> f64 {
        self.prior.get(&Process::Halftone).copied().unwrap_or(0.0)
    }

    /// Sheets of the whole lot, without rules.
    #[must_use]
    pub fn sheets_without_rules(&self) -> usize {
        self.sheets.saturating_sub(self.rules.len())
    }

    /// Puts what the photographs showed for what their names said: what is finished counts as a rule only where
    /// nothing but rules was found, else as a sheet like any other.
    ///
    /// # Errors
    /// As [`Ledger::record`].
    pub fn settle_rules(&mut self, ledger: &Ledger) -> io::Result<()> {
        self.rules.retain(|name| !ledger.contains(name));
        for sheet in ledger.sheets() {
            if ledger.record(sheet)?.is_only_rules() {
                self.rules.push(sheet.to_owned());
            }
        }
        self.rules.sort_by(|a, b| natural::compare(a, b));
        Ok(())
    }

    /// Reads the settings of a lot; none where it has none yet.
    ///
    /// # Errors
    /// A sentence when they cannot be read or are of another version.
    pub fn read(folder: &Path) -> Result<Option<Self>, String> {
        let path = folder.join(SETTINGS_NAME);
        let bytes = match std::fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(format!("{}: cannot be read ({error})", path.display())),
        };
        let settings: Self = serde_json::from_slice(&bytes).map_err(|error| {
            format!(
                "{}: is damaged or of another version ({error}); remove this file alone and run again, which keeps the finished sheets, or choose another --out",
                path.display()
            )
        })?;
        Ok(Some(settings))
    }

    /// Writes the settings, whole or not at all.
    ///
    /// # Errors
    /// What the disk says.
    pub fn write(&self, folder: &Path) -> io::Result<()> {
        let text = serde_json::to_string_pretty(self)? + "\n";
        crate::whole_file::write(&folder.join(SETTINGS_NAME), text.as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::ledger::Entry;
    use crate::lot::order::tests::record;
    use crate::lot::record::{Record, RuleSeen};
    use crate::weigh::read::equal_priors;

    #[test]
    fn rules_are_what_shows_rules() {
        let folder = tempfile::tempdir().unwrap();
        let mut ledger = Ledger::open(folder.path()).unwrap();
        let mut rule = Record::blank("scale", None);
        rule.rules.push(RuleSeen {
            file: "scale.jpg".into(),
            px_per_mm: [40.0; 3],
        });
        for record in [record("rule of thumb", None, 0.2), rule] {
            let fingerprint = "f".into();
            ledger
                .append(&Entry {
                    fingerprint,
                    record,
                })
                .unwrap();
        }
        let (costs, prior) = (Costs::default(), equal_priors());
        let mut settings = Settings::new("Estate".into(), "today".into(), prior, costs, 0.05);
        settings.sheets = 5;
        settings.rules = vec!["rule of thumb".into(), "rule not done".into()];
        settings.settle_rules(&ledger).unwrap();
        assert_eq!(settings.rules, ["rule not done", "scale"]);
        assert_eq!(settings.sheets_without_rules(), 3);
    }

    #[test]
    fn settings_are_kept_as_they_were() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(Settings::read(folder.path()), Ok(None));
        let settings = Settings::new(
            "Estate".into(),
            "today".into(),
            equal_priors(),
            Costs::default(),
            0.05,
        );
        settings.write(folder.path()).unwrap();
        assert_eq!(Settings::read(folder.path()), Ok(Some(settings)));
        std::fs::write(folder.path().join(SETTINGS_NAME), "{}").unwrap();
        assert!(Settings::read(folder.path()).is_err());
    }
}
