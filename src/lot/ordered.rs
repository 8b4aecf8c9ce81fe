//! A lot with its sheets in the order in which to look at them: what all results are written from.

use super::duplicates;
use super::natural;
use super::order::{Inspection, Ranked, Standing, rank};
use super::record::{Record, RuleSeen};
use super::settings::Settings;
use super::task::report_link;
use crate::report::words;
use crate::weigh::caution::told_without_scale;
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
    /// What is told of every sheet alike, once for all: that none was photographed with a scale.
    pub of_all: Option<String>,
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
            // A line may come from anyone: only the lot's own report is one.
            let own = report_link(&record.sheet);
            record.report = record.report.take().filter(|link| *link == own);
        }
        let of_all = without_any_scale(&records);
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
            of_all,
            compared_across_sheets,
        }
    }

    /// What else to know of a sheet that is not told of all.
    pub fn notices<'a>(&'a self, record: &'a Record) -> impl Iterator<Item = &'a String> {
        let notices = record.notices.iter();
        notices.filter(|notice| self.of_all.as_ref() != Some(notice))
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
        let records = self.ranked.iter().map(|r| &r.record);
        records.filter(|record| has_no_scale(record)).count()
    }

    /// Files that could not be read.
    #[must_use]
    pub fn not_read(&self) -> usize {
        self.ranked.iter().map(|r| r.record.not_read.len()).sum()
    }
}

fn has_no_scale(record: &Record) -> bool {
    !record.photos.is_empty() && record.photos.iter().all(|p| p.px_per_mm.is_none())
}

/// The caution of sheets without a scale, where that holds for all that were measured and stands beside one at least.
fn without_any_scale(records: &[Record]) -> Option<String> {
    let told = words::sentence(&told_without_scale());
    let mut measured = records.iter().filter(|record| !record.photos.is_empty());
    let is_told = records.iter().any(|record| record.notices.contains(&told));
    (is_told && measured.all(has_no_scale)).then_some(told)
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

    #[test]
    fn what_holds_for_every_sheet_is_told_of_all_and_stays_in_the_records() {
        let prior = crate::weigh::read::equal_priors();
        let settings = Settings::new("x".into(), "now".into(), prior, Default::default(), 0.05);
        let caution = words::sentence(&told_without_scale());
        let mut sheets = ["a", "b"].map(|name| record(name, None, 0.2)).to_vec();
        for sheet in &mut sheets {
            sheet.notices = vec![caution.clone(), "Another.".into()];
        }
        // A reproduction has no such caution, and a sheet that was not read has no scale to miss.
        sheets.push(record("c", Some(crate::weigh::Process::Halftone), 0.99));
        sheets.push(Record::blank("d", None));
        let lot = Lot::new(sheets.clone(), &settings);
        assert_eq!(lot.of_all.as_ref(), Some(&caution));
        let own = |lot: &Lot| -> Vec<usize> {
            let ranked = lot.ranked.iter();
            ranked.map(|r| lot.notices(&r.record).count()).collect()
        };
        assert_eq!(own(&lot).iter().sum::<usize>(), 2);
        let kept = lot
            .ranked
            .iter()
            .filter(|r| r.record.notices.contains(&caution));
        assert_eq!(kept.count(), 2);
        sheets[2].photos[0].px_per_mm = Some([30.0; 3]);
        let lot = Lot::new(sheets, &settings);
        assert_eq!(lot.of_all, None);
        assert_eq!(own(&lot).iter().sum::<usize>(), 4);
    }
}
