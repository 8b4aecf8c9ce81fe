//! The reading, and how far it is supported.

use super::Circumstances;
use crate::examine::Examination;
use crate::report::chart::weights;
use crate::report::figures;
use crate::report::words::{self, page, standing};
use crate::weigh::{Process, Reading};
use maud::{Markup, html};

/// Name of the program, of the document, and its date.
pub fn head(examination: &Examination, circumstances: &Circumstances<'_>) -> Markup {
    html! {
        header class="masthead" {
            p class="kind" { (page::KIND) }
            p class="files" {
                (words::counted(examination.photos.len(), "photograph")) ": "
                (super::photographs_named(examination))
            }
            @if !circumstances.not_read.is_empty() {
                p class="files" {
                    (words::counted(circumstances.not_read.len(), "photograph")) " could not be read: "
                    (words::list(&circumstances.not_read.iter().map(|it| it.file.clone()).collect::<Vec<_>>()))
                }
            }
            @if let Some(again) = words::repeated(&examination.photos) { p class="files" { (again) } }
            p class="date" { (circumstances.made) }
            @if let Some(lot) = circumstances.lot { p class="files" { a href=(lot) { "Back to the lot sheet" } } }
        }
    }
}

/// The reading in a sentence, then its numbers.
pub fn reading(examination: &Examination) -> Markup {
    let reading = &examination.reading;
    let sentences = [
        words::screens_sentence(&examination.photos),
        words::unusual_sentence(reading),
        words::reproduction_sentence(reading),
    ];
    html! {
        section class="reading" {
            h1 { (words::headline(reading)) }
            p class="lead" { (words::support_sentence(reading)) }
            @for sentence in sentences.iter().flatten() {
                p class="lead" { (sentence) }
            }
            @if !words::priors_are_equal(&reading.prior) { p class="notice" { (words::priors_sentence(&reading.prior)) } }
            @for caution in &reading.cautions { p class="notice" { (words::sentence(caution)) } }
            p class="colour" { (words::colouring_sentence(reading)) }
            @if !reading.undetermined_because.is_empty() {
                h3 { (page::UNSETTLED) }
                ul { @for reason in &reading.undetermined_because { li { (words::sentence(reason)) } } }
                @if let Some(first) = reading.next_photographs.first() {
                    p { (page::NEXT_FIRST) (words::sentence(first)) " " a href={ "#" (page::NEXT_PLACE) } { (page::NEXT_ALL) } }
                }
            }
            (support(reading))
        }
    }
}

/// A probability; a small one of a reproduction says little where a fine screen would not show.
fn probability(reading: &Reading, process: Process, p: f64) -> String {
    let beforehand = reading.prior.get(&process).copied().unwrap_or(0.0);
    let untold = process == Process::Halftone && !reading.shows_screens && p < beforehand;
    let of_what = if untold {
        page::COARSE_SCREENS_ONLY
    } else {
        ""
    };
    format!("{}{of_what}", figures::per_cent(p))
}

fn support(reading: &Reading) -> Markup {
    let Some(chart) = weights::processes(reading) else {
        return html! {};
    };
    html! {
        div class="support" {
            figure class="chart" {
                figcaption { (page::SUPPORT) }
                (chart)
            }
            div {
                table class="posterior" {
                    thead { tr { th { "Process" } th class="figure" { (page::IF_ONE_OF_THE_FIVE) } } }
                    tbody {
                        @for process in Process::ALL {
                            @if let Some(p) = reading.posterior.get(&process) {
                                tr class=[(reading.process == Some(process)).then_some("read")] {
                                    td { (words::capital(process.name())) }
                                    td class="figure" { (probability(reading, process, *p)) }
                                }
                            }
                        }
                    }
                }
                @if words::priors_are_equal(&reading.prior) { p class="aid" { (words::priors_sentence(&reading.prior)) } }
                @if !reading.shows_screens { p class="aid" { (page::COARSE) } }
                @if let (Some(fit), Some(best)) = (reading.fit, reading.best()) {
                    p class="aid" { (page::fit_sentence(fit, best.name())) }
                }
                p class="aid" { (standing::STRENGTH_SOURCE) }
            }
        }
    }
}
