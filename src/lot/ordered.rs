//! A lot with its sheets in the order in which to look at them: what all results are written from.

use super::duplicates;
use super::natural;
use super::order::{Inspection, Ranked, Standing, rank};
use super::record::{Record, RuleSeen};
use super::settings::Settings;
use std::collections::BTreeMap;

/// A lot with its sheets in order.
pub struct Lot {
    /// The sheets, in the order in which to look at them, without their pictures.
    pub ranked: Vec<Ranked>,
    /// How many to inspect.
    pub inspection: Inspection,
    /// Sheets of the plan that are not here, as parts were left out of a merge.
    pub missing: usize,
    /// Photographs of rules that were found.
    pub rules: Vec<RuleSeen>,
    /// Whether photographs of different sheets were compared to find one spot twice.
    pub compared_across_sheets: bool,
}

impl Lot {
    /// Puts finished sheets in order. The same records give the same lot, whatever their order.
    #[must_use]
    pub fn new(mut records: Vec<Record>, settings: &Settings) -> Self {
        records.sort_by(|a, b| natural::compare(&a.sheet, &b.sheet));
        let mut rules: Vec<_> = records.iter().flat_map(|r| r.rules.clone()).collect();
        rules.sort_by(|a, b| natural::compare(&a.file, &b.file));
        records.retain(|record| !record.is_only_rules());
        // A part is not the lot, and knows what it lacks.
        let planned = match settings.part {
            None => settings.sheets_without_rules(),
            Some(_) => 0,
        };
        let missing = planned.saturating_sub(records.len());
        let compared_across_sheets = duplicates::compared_across_sheets(&records);
        let twice = duplicates::find(&records);
        let by_sheet: BTreeMap<String, Vec<String>> =
            records.iter().map(|r| r.sheet.clone()).zip(twice).collect();
        for record in &mut records {
            for photo in &mut record.photos {
                photo.likeness = None;
            }
        }
        let (mut ranked, inspection) = rank(
            records,
            settings.costs,
            settings.reproductions_beforehand(),
            settings.missed_chance,
        );
        for sheet in &mut ranked {
            sheet.twice = by_sheet
                .get(&sheet.record.sheet)
                .cloned()
                .unwrap_or_default();
        }
        Self {
            ranked,
            inspection,
            missing,
            rules,
            compared_across_sheets,
        }
    }

    /// Sheets of one standing.
    #[must_use]
    pub fn count(&self, standing: Standing) -> usize {
        self.ranked
            .iter()
            .filter(|r| r.standing == standing)
            .count()
    }

    /// Photographs measured.
    #[must_use]
    pub fn photographs(&self) -> usize {
        self.ranked.iter().map(|r| r.record.photos.len()).sum()
    }

    /// Sheets with files that could not be fetched and may be had another time.
    #[must_use]
    pub fn to_be_tried_again(&self) -> usize {
        let records = self.ranked.iter().map(|r| &r.record);
        records.filter(|r| r.is_to_be_tried_again()).count()
    }

    /// Sheets that were measured without a scale: none of their photographs has one.
    #[must_use]
    pub fn without_scale(&self) -> usize {
        let measured = self.ranked.iter().map(|r| &r.record.photos);
        measured
            .filter(|photos| !photos.is_empty() && photos.iter().all(|p| p.px_per_mm.is_none()))
            .count()
    }

    /// Files that could not be read.
    #[must_use]
    pub fn not_read(&self) -> usize {
        self.ranked.iter().map(|r| r.record.not_read.len()).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::order::tests::record;

    #[test]
    fn sheets_without_a_scale_are_counted() {
        let prior = crate::weigh::read::equal_priors();
        let settings = Settings::new("x".into(), "now".into(), prior, Default::default(), 0.05);
        let mut scaled = record("a", None, 0.2);
        scaled.photos.push(scaled.photos[0].clone());
        scaled.photos[1].px_per_mm = Some([30.0; 3]);
        let unread = Record::blank("c", None);
        let lot = Lot::new(vec![scaled, record("b", None, 0.2), unread], &settings);
        assert_eq!(lot.without_scale(), 1);
    }
}
