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
            p class="date" { (circumstances.made) }
            @if let Some(lot) = circumstances.lot { p class="files" { a href=(lot) { "Back to the lot sheet" } } }
        }
    }
}

/// The reading in a sentence, then its numbers.
pub fn reading(reading: &Reading) -> Markup {
    html! {
        section class="reading" {
            h1 { (words::headline(reading)) }
            p class="lead" { (words::support_sentence(reading)) }
            @for sentence in [words::unusual_sentence(reading), words::reproduction_sentence(reading)].iter().flatten() {
                p class="lead" { (sentence) }
            }
            p class="colour" { (words::colouring_sentence(reading)) }
            @if !reading.undetermined_because.is_empty() {
                h3 { (page::UNSETTLED) }
                ul { @for reason in &reading.undetermined_because { li { (words::sentence(reason)) } } }
            }
            (support(reading))
        }
    }
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
                    thead { tr { th { "Process" } th class="figure" { "Probability" } } }
                    tbody {
                        @for process in Process::ALL {
                            @if let Some(p) = reading.posterior.get(&process) {
                                tr class=[(reading.process == Some(process)).then_some("read")] {
                                    td { (words::capital(process.name())) }
                                    td class="figure" { (figures::per_cent(*p)) }
                                }
                            }
                        }
                    }
                }
                p class="aid" { (words::priors_sentence(&reading.prior)) }
                @if !reading.shows_screens { p class="aid" { (page::COARSE) } }
                @if let (Some(fit), Some(best)) = (reading.fit, reading.best()) {
                    p class="aid" { (page::fit_sentence(fit, best.name())) }
                }
                p class="aid" { (standing::STRENGTH_SOURCE) }
            }
        }
    }
}
