//! What speaks against it, next photographs, cautions, provenance.

use super::Circumstances;
use crate::examine::Examination;
use crate::measure::Examined;
use crate::report::figures;
use crate::report::words::{self, page, standing};
use crate::weigh::{Reading, outside};
use maud::{Markup, html};

/// Findings against the best-supported process.
pub fn against(reading: &Reading) -> Markup {
    let (_, mut against) = reading.for_and_against();
    let Some(best) = reading.best().filter(|_| !reading.findings.is_empty()) else {
        return html! {};
    };
    against.retain(|finding| !words::is_slight_for(finding, best));
    let weight = |f: &crate::weigh::Finding| f.log10_lr.get(&best).copied().unwrap_or(0.0);
    html! {
        section class="against" {
            h2 { (page::against(&words::weighed_for(reading, best))) }
            @if against.is_empty() {
                p { (page::NOTHING_AGAINST) }
            } @else {
                ul {
                    @for finding in against {
                        li {
                            (finding.title) " (" (words::finding_value(finding))
                            ", weight " (figures::weight(weight(finding))) "). "
                            (words::reference_sentence(finding))
                        }
                    }
                }
            }
            @if reading.process.is_none() && outside::not_excluded(&reading.outside).is_some() {
                p class="aid" { (page::WEIGHED_APART) }
            }
        }
    }
}

/// What to photograph next.
pub fn next(reading: &Reading) -> Markup {
    html! {
        section class="next" id=(page::NEXT_PLACE) {
            h2 { (page::NEXT) }
            @if reading.next_photographs.is_empty() {
                p { (page::NOTHING_NEXT) }
            } @else {
                ol { @for item in &reading.next_photographs { li { (words::sentence(item)) } } }
            }
        }
    }
}

/// The standing cautions.
pub fn cautions() -> Markup {
    html! {
        section class="cautions" {
            h2 { (page::CAUTIONS) }
            dl { @for (title, text) in standing::CAUTIONS { dt { (title) } dd { (text) } } }
        }
    }
}

/// Files, program, parameters, date.
pub fn provenance(examination: &Examination, circumstances: &Circumstances<'_>) -> Markup {
    html! {
        section class="provenance" {
            h2 { (page::PROVENANCE) }
            table class="facts" {
                tbody {
                    (fact("Made", circumstances.made))
                    (fact("Program", concat!("inktell ", env!("CARGO_PKG_VERSION"))))
                    @for (label, value) in circumstances.parameters { (fact(label, value)) }
                    @for examined in &examination.photos { (file_facts(examined)) }
                    @for lost in circumstances.not_read {
                        (fact(page::NOT_READ, &lost.why))
                    }
                }
            }
        }
    }
}

fn file_facts(examined: &Examined) -> Markup {
    let file = &examined.photo.provenance;
    let kind = format!(
        "{}, {} bits per channel, colour as {}",
        file.format, file.bits_per_sample, file.colour_space
    );
    html! {
        (fact("Photograph", &file.file))
        (fact("SHA-256 of the file", &file.sha256))
        (fact("File", &kind))
        @for (label, value) in &file.capture { (fact(&words::capital(label), value)) }
    }
}

fn fact(label: &str, value: &str) -> Markup {
    html! { tr { th scope="row" { (label) } td { (value) } } }
}
