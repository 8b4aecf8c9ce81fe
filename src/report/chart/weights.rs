//! Weights of the findings, and of the processes, as bars.

use super::Chart;
use super::axis::{Axis, at, below};
use crate::report::words::standing;
use crate::report::{figures, words};
use crate::weigh::{Process, Reading};
use maud::{Markup, html};

const TITLE: &str = "What carries the reading";
/// Findings shown; the table has all.
const MOST_BARS: usize = 12;
/// Height of one row, drawing units.
const ROW: f64 = 34.0;
/// Half the width of the axis at least, log10: keeps tiny weights from looking large.
const LEAST_REACH: f64 = 1.0;

/// Bars of weight for the best-supported process, heaviest first.
#[must_use]
pub fn draw(reading: &Reading) -> Chart {
    let Some(best) = reading
        .best()
        .filter(|_| !reading.findings.iter().all(words::is_slight))
    else {
        return Chart::Missing {
            title: TITLE,
            why: "no measurement carried weight".into(),
        };
    };
    let mut rows: Vec<(String, f64)> = reading
        .findings
        .iter()
        .filter(|f| !words::is_slight(f))
        .map(|f| {
            (
                f.title.clone(),
                f.log10_lr.get(&best).copied().unwrap_or(0.0),
            )
        })
        .collect();
    rows.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let rest: f64 = rows.iter().skip(MOST_BARS).map(|r| r.1).sum();
    let unnamed = rows.len().saturating_sub(MOST_BARS);
    rows.truncate(MOST_BARS);
    if unnamed > 0 {
        rows.push((format!("the other {unnamed} together"), rest));
    }
    let label = format!("← against · {}, powers of ten · for →", best.name());
    Chart::Drawn {
        title: TITLE,
        aid: standing::WEIGHTS_AID,
        svg: diverging(&rows, &label, TITLE),
    }
}

/// Bars of the five processes: likelihood ratio of each against the others.
#[must_use]
pub fn processes(reading: &Reading) -> Option<Markup> {
    let rows: Vec<_> = Process::ALL
        .iter()
        .filter_map(|p| Some((words::capital(p.name()), *reading.log10_lr.get(p)?)))
        .collect();
    (!rows.is_empty()).then(|| {
        diverging(
            &rows,
            "← against · powers of ten · for →",
            "Support for each process",
        )
    })
}

fn diverging(rows: &[(String, f64)], label: &str, title: &str) -> Markup {
    let reach = rows.iter().fold(LEAST_REACH, |m, r| m.max(r.1.abs()));
    let axis = Axis::new(-reach, reach, 24.0, 536.0);
    let bottom = 8.0 + ROW * rows.len() as f64;
    let zero = axis.place(0.0);
    html! {
        svg viewBox={ "0 0 560 " (at(bottom + 44.0)) } role="img" aria-label=(title) {
            @for (i, (name, weight)) in rows.iter().enumerate() {
                @let top = 8.0 + ROW * i as f64;
                @let end = axis.place(*weight);
                @let class = if *weight < 0.0 { "bar against" } else { "bar" };
                text class="row" x="24" y=(at(top + 12.0)) { (name) }
                text class="row number" x="536" y=(at(top + 12.0)) text-anchor="end" {
                    (figures::weight(*weight))
                }
                line class="zero" x1=(at(zero)) x2=(at(zero)) y1=(at(top + 15.0)) y2=(at(top + 28.0)) {}
                rect class=(class) x=(at(zero.min(end))) y=(at(top + 17.0))
                    width=(at((end - zero).abs().max(1.0))) height="9" {}
            }
            (below(&axis, bottom, label))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    #[test]
    fn bars_lie_on_their_side_of_zero() {
        let rows = [("a".to_owned(), 2.0), ("b".to_owned(), -1.0)];
        let svg = diverging(&rows, "weight", "t").into_string();
        assert!(
            svg.contains(r#"<rect class="bar" x="280" y="25" width="256""#),
            "{svg}"
        );
        assert!(
            svg.contains(r#"<rect class="bar against" x="152" y="59" width="128""#),
            "{svg}"
        );
    }

    #[test]
    fn an_empty_reading_says_why_there_is_no_chart() {
        let mut reading = example::stipple().reading;
        reading.posterior.clear();
        reading.log10_lr.clear();
        assert!(matches!(draw(&reading), Chart::Missing { .. }));
        assert!(processes(&reading).is_none());
    }
}
