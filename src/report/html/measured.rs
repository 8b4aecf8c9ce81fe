//! Charts and tables of everything measured on one photograph.

use super::heading;
use super::weighing::drawn;
use crate::measure::Examined;
use crate::measure::segment;
use crate::measured::Measured;
use crate::report::chart::{Chart, colours, sizes, spectrum};
use crate::report::figures;
use crate::report::listing::{self, Entry, Group, Row};
use crate::report::words::{self, page, standing};
use maud::{Markup, html};

/// Charts, then a table for each kind of measurement.
pub fn everything(examined: &Examined, index: usize, count: usize) -> Markup {
    html! {
        section class="everything" {
            (heading(page::MEASURED, &examined.photo.provenance.file, index, count))
            p class="aid" { (standing::INTERVAL_AID) }
            div class="charts" { @for chart in charts(examined) { (drawn(&chart)) } }
            (table(page::ADEQUACY, "", &listing::adequacy(examined)))
            @for group in listing::groups(&examined.measurements) {
                (table(words::group_title(group.key), words::group_gloss(group.key), &group))
            }
        }
    }
}

fn charts(examined: &Examined) -> [Chart; 3] {
    let (inked, measurements) = (&examined.inked, &examined.measurements);
    let mut peaks = spectrum::peaks_of_screens(&measurements.lattice);
    if peaks.is_empty() {
        // The rows of a screen pass for hatching too and would be named twice.
        peaks = spectrum::peaks_of_hatching(&measurements.lines);
    }
    [
        spectrum::draw(inked, &peaks),
        sizes::draw(&segment::find(inked).marks, inked.px_per_mm()),
        colours::draw(&measurements.layering),
    ]
}

/// Rows missing for one reason that are told together; fewer stand where they belong.
const TOLD_TOGETHER: usize = 3;

/// Why a row was not measured.
fn missing(row: &Row) -> Option<&str> {
    match &row.entry {
        Entry::Measured(Measured::Missing(why)) => Some(&why.not_measured),
        _ => None,
    }
}

/// The rows that stand by themselves, and those missing for one reason, the reason first met first.
fn gathered(rows: &[Row]) -> (Vec<&Row>, Vec<(&str, Vec<&Row>)>) {
    let mut reasons: Vec<(&str, Vec<&Row>)> = Vec::new();
    for row in rows {
        let Some(why) = missing(row) else { continue };
        match reasons.iter_mut().find(|(reason, _)| *reason == why) {
            Some((_, rows)) => rows.push(row),
            None => reasons.push((why, vec![row])),
        }
    }
    reasons.retain(|(_, rows)| rows.len() >= TOLD_TOGETHER);
    let together = |row: &&Row| {
        missing(row).is_some_and(|why| reasons.iter().any(|(reason, _)| *reason == why))
    };
    let alone = rows.iter().filter(|row| !together(row)).collect();
    (alone, reasons)
}

fn gathered_row(why: &str, rows: &[&Row]) -> Markup {
    let titles: Vec<String> = rows.iter().map(|row| row.title.clone()).collect();
    html! {
        tr {
            td { (titles.join("; ")) }
            td colspan="2" class="missing" { "not measured: " (why) }
        }
    }
}

fn table(title: &str, gloss: &str, group: &Group) -> Markup {
    let (alone, together) = gathered(&group.rows);
    let [measurement, measured, samples] = page::FIGURE_COLUMNS;
    html! {
        div class="group" {
            h3 { (title) }
            @if !gloss.is_empty() { p class="aid" { (gloss) } }
            @if group.rows.is_empty() {
                p class="missing" { (page::NOTHING_MEASURED) }
            } @else {
                table class="figures" {
                    thead { tr { th { (measurement) } th { (measured) } th class="figure" { (samples) } } }
                    tbody {
                        @for row in alone { (figure_row(row)) }
                        @for (why, rows) in &together { (gathered_row(why, rows)) }
                    }
                }
            }
        }
    }
}

fn figure_row(row: &Row) -> Markup {
    html! {
        tr {
            td {
                (row.title)
                @if !row.gloss.is_empty() { small { (row.gloss) } }
            }
            @match &row.entry {
                Entry::Measured(Measured::Figure(figure)) => {
                    td { (figures::figure(figure)) }
                    td class="figure" { (figures::number(figure.n as f64, 0)) }
                }
                Entry::Measured(Measured::Missing(why)) => {
                    td colspan="2" class="missing" { "not measured: " (why.not_measured) }
                }
                Entry::Stated(text) => { td colspan="2" { (text) } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_missing_for_one_reason_are_told_together() {
        let row = |title: &str, entry: Measured| Row {
            key: title.into(),
            title: title.into(),
            gloss: "",
            entry: Entry::Measured(entry),
        };
        let none = |why: &str| Measured::missing(why);
        let rows = [
            row("a", none("too dark")),
            row("b", none("too few dots")),
            row("c", Measured::with_interval(1.0, 0.9, 1.1, "1", 9)),
            row("d", none("too dark")),
            row("e", none("too dark")),
        ];
        let titles = |rows: &[&Row]| rows.iter().map(|r| r.title.as_str()).collect::<String>();
        let (alone, together) = gathered(&rows);
        assert_eq!(titles(&alone), "bc");
        assert_eq!(together.len(), 1);
        assert_eq!(
            (together[0].0, titles(&together[0].1).as_str()),
            ("too dark", "ade")
        );
        // Two for one reason stay where they belong.
        let (alone, together) = gathered(&rows[..4]);
        assert_eq!((titles(&alone).as_str(), together.len()), ("abcd", 0));
    }
}
