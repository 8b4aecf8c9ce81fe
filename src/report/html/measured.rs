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

fn table(title: &str, gloss: &str, group: &Group) -> Markup {
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
                    tbody { @for row in &group.rows { (figure_row(row)) } }
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
