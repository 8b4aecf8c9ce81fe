//! The table of what was weighed.

use crate::report::chart::Chart;
use crate::report::chart::axis::{Axis, at};
use crate::report::chart::weights;
use crate::report::figures;
use crate::report::words::{self, page, standing};
use crate::weigh::{Finding, Process, Reading};
use maud::{Markup, html};

/// Bars and table of all findings, of so many photographs.
pub fn table(reading: &Reading, photographs: usize) -> Markup {
    html! {
        section class="weighing" {
            h2 { (page::WEIGHING) }
            @if reading.findings.is_empty() {
                p { (page::NOTHING_WEIGHED) }
            } @else {
                (drawn(&weights::draw(reading, photographs)))
                @if !reading.findings.iter().all(|f| is_folded(f, reading.best())) {
                    (rows(reading))
                    p class="aid" { (page::STRIP_AID) " " (standing::WEIGHT_AID) }
                }
                (slight(reading))
                p class="aid" { (standing::UNITS_AID) }
            }
        }
    }
}

/// A chart with its reading aid, or why there is none.
pub fn drawn(chart: &Chart) -> Markup {
    match chart {
        Chart::Drawn { title, aid, svg } => html! {
            figure class="chart" {
                figcaption { (title) }
                (svg)
                p class="aid" { (aid) }
            }
        },
        Chart::Missing { title, why } => html! {
            p class="missing" { (title) ": not drawn, " (why) "." }
        },
    }
}

/// Whether a finding weighs next to nothing for the process named, or for any where there is none.
fn is_folded(finding: &Finding, best: Option<Process>) -> bool {
    best.map_or_else(
        || words::is_slight(finding),
        |best| words::is_slight_for(finding, best),
    )
}

/// The findings that weigh, those that weigh most for or against the process named first.
fn rows(reading: &Reading) -> Markup {
    let best = reading.best();
    let size = |f: &Finding| {
        best.and_then(|b| f.log10_lr.get(&b))
            .map_or(0.0, |w| w.abs())
    };
    let mut weighty: Vec<_> = reading
        .findings
        .iter()
        .filter(|f| !is_folded(f, best))
        .collect();
    weighty.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let [measurement, measured, usual, weight] = page::COLUMNS;
    html! {
        table class="findings" {
            thead {
                tr {
                    th { (measurement) }
                    th { (measured) }
                    th { (usual) }
                    th class="figure" { (weight) @if let Some(best) = best { br; small { (best.name()) } } }
                }
            }
            tbody {
                @for finding in weighty {
                    (row(finding, best))
                }
            }
        }
    }
}

/// Findings that weigh next to nothing, without their reasons.
fn slight(reading: &Reading) -> Markup {
    let slight: Vec<_> = reading
        .findings
        .iter()
        .filter(|f| is_folded(f, reading.best()))
        .collect();
    html! {
        @if !slight.is_empty() {
            h3 { (page::SLIGHT) }
            ul class="slight" {
                @for finding in slight {
                    li {
                        (finding.title) ": "
                        (words::finding_value(finding))
                    }
                }
            }
        }
    }
}

fn row(finding: &Finding, best: Option<Process>) -> Markup {
    let weight = best
        .and_then(|b| finding.log10_lr.get(&b))
        .copied()
        .unwrap_or(0.0);
    let [_, measured, usual, weight_column] = page::COLUMNS;
    html! {
        tr {
            td class="what" {
                strong { (finding.title) }
                p { (words::sentence(&finding.because)) }
            }
            td data-label=(measured) {
                (words::finding_value(finding))
            }
            td data-label=(usual) { (strip(finding)) }
            td class="figure" data-label=(weight_column) {
                span class=(if weight < 0.0 { "against" } else { "for" }) { (figures::weight(weight)) }
            }
        }
    }
}

/// Reference ranges of the processes as bars, this sheet as an upright line.
fn strip(finding: &Finding) -> Markup {
    const ROW: f64 = 13.0;
    let Some(axis) = strip_axis(finding) else {
        return html! { span class="missing" { (words::reference_sentence(finding)) } };
    };
    let bottom = ROW * Process::ALL.len() as f64;
    let ranges = Process::ALL.iter().enumerate();
    let x = axis.place(finding.value);
    html! {
        svg class="strip" viewBox={ "0 0 230 " (at(bottom + 15.0)) } role="img"
            aria-label=(words::reference_sentence(finding)) {
            @for (i, process) in ranges {
                @let y = ROW * i as f64;
                text x="0" y=(at(y + 10.0)) { (short_name(*process)) }
                @if let Some([lo, hi]) = finding.reference.get(process) {
                    @let (from, to) = (axis.place(*lo), axis.place(*hi));
                    rect x=(at(from)) y=(at(y + 3.0)) width=(at((to - from).max(1.5))) height="7" {}
                }
            }
            line x1=(at(x)) x2=(at(x)) y1="0" y2=(at(bottom)) {}
            @for (value, text) in strip_ends(&axis, &finding.unit) {
                text class="end" x=(at(axis.place(value))) y=(at(bottom + 11.0)) text-anchor="middle" { (text) }
            }
        }
    }
}

/// First and last round value on the axis, written as the values beside it are.
fn strip_ends(axis: &Axis, unit: &str) -> Vec<(f64, String)> {
    let ticks = axis
        .ticks()
        .into_iter()
        .map(|(value, _)| (value, figures::on_axis(value, unit)));
    let ticks: Vec<_> = ticks.collect();
    match (ticks.first(), ticks.last()) {
        (Some(first), Some(last)) if ticks.len() > 1 => vec![first.clone(), last.clone()],
        _ => ticks,
    }
}

fn strip_axis(finding: &Finding) -> Option<Axis> {
    if finding.reference.is_empty() || !finding.value.is_finite() {
        return None;
    }
    let ends = || finding.reference.values().flatten().chain([&finding.value]);
    let lo = ends().copied().fold(f64::INFINITY, f64::min);
    let hi = ends().copied().fold(f64::NEG_INFINITY, f64::max);
    // Where all is one value it stands in the middle.
    let room = 0.06 * if hi > lo { hi - lo } else { lo.abs().max(1.0) };
    Some(Axis::new(lo - room, hi + room, 62.0, 216.0))
}

fn short_name(process: Process) -> &'static str {
    match process {
        Process::StippleEngraving => "stipple",
        Process::LineEngraving => "line",
        Process::Lithograph => "lithograph",
        Process::TintedLithograph => "tinted lith.",
        Process::Halftone => "halftone",
    }
}
