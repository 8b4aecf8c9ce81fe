//! Weights of the findings, and of the processes, as bars.

use super::Chart;
use super::axis::{Axis, at, below};
use crate::report::words::{page, standing};
use crate::report::{figures, words};
use crate::weigh::{Process, Reading};
use maud::{Markup, html};

const TITLE: &str = "What carries the reading";
/// After the title where there are several photographs.
const OF_SEVERAL: &str = ": averages over the photographs";
/// Findings shown; the table has all.
const MOST_BARS: usize = 12;
/// Letters on a line of a name: at the size of a phone they end short of the middle, so that no name
/// crosses the line that bars start from.
const LINE_LETTERS: usize = 32;
/// Height of a line of a name, drawing units.
const LINE: f64 = 18.0;
/// From the top of a row to the first line's foot, drawing units.
const FIRST_LINE: f64 = 12.0;
/// From the last line's foot to the bar: tails of letters hang into it.
const OVER_BAR: f64 = 7.0;
/// Height of a bar, and room under it.
const BAR: [f64; 2] = [9.0, 8.0];
/// Half the width of the axis at least, log10: keeps tiny weights from looking large.
const LEAST_REACH: f64 = 1.0;

/// Bars of weight for the best-supported process, heaviest first; of so many photographs.
#[must_use]
pub fn draw(reading: &Reading, photographs: usize) -> Chart {
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
    let title = match reading.process {
        Some(_) => TITLE.to_owned(),
        None => page::for_and_against(&words::weighed_for(reading, best)),
    };
    let (title, aid) = match photographs {
        0 | 1 => (title, standing::WEIGHTS_AID),
        _ => (title + OF_SEVERAL, standing::WEIGHTS_AID_OF_SEVERAL),
    };
    Chart::Drawn {
        aid,
        svg: diverging(&rows, &label, &title),
        title,
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

/// A row: its name in lines, its weight, its upper edge and that of its bar.
struct Row {
    lines: Vec<String>,
    weight: f64,
    top: f64,
    bar: f64,
}

/// Rows under each other from `top`, and the lower edge of the last.
fn laid_out(rows: &[(String, f64)], top: f64) -> (Vec<Row>, f64) {
    let mut next = top;
    let rows = rows
        .iter()
        .map(|(name, weight)| {
            let lines = wrapped(name);
            let further = LINE * lines.len().saturating_sub(1) as f64;
            let (top, bar) = (next, next + FIRST_LINE + further + OVER_BAR);
            next = bar + BAR[0] + BAR[1];
            Row {
                lines,
                weight: *weight,
                top,
                bar,
            }
        })
        .collect();
    (rows, next)
}

/// A name in lines of at most [`LINE_LETTERS`]; a longer word has a line of its own.
fn wrapped(name: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in name.split(' ') {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= LINE_LETTERS => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn diverging(rows: &[(String, f64)], label: &str, title: &str) -> Markup {
    let reach = rows.iter().fold(LEAST_REACH, |m, r| m.max(r.1.abs()));
    let axis = Axis::new(-reach, reach, 24.0, 536.0);
    let (rows, bottom) = laid_out(rows, 8.0);
    let zero = axis.place(0.0);
    let spoken = rows.iter().map(|row| {
        let name = row.lines.join(" ");
        format!("{name} {}", figures::weight(row.weight))
    });
    let spoken = format!("{title}: {}", spoken.collect::<Vec<_>>().join("; "));
    html! {
        svg viewBox={ "0 0 560 " (at(bottom + 44.0)) } role="img" aria-label=(spoken) {
            @for row in &rows {
                @let end = axis.place(row.weight);
                @let class = if row.weight < 0.0 { "bar against" } else { "bar" };
                @for (i, line) in row.lines.iter().enumerate() {
                    text class="row" x="24" y=(at(row.top + FIRST_LINE + LINE * i as f64)) { (line) }
                }
                text class="row number" x="536" y=(at(row.top + FIRST_LINE)) text-anchor="end" {
                    (figures::weight(row.weight))
                }
                line class="zero" x1=(at(zero)) x2=(at(zero)) y1=(at(row.bar - 2.0))
                    y2=(at(row.bar + BAR[0] + 2.0)) {}
                rect class=(class) x=(at(zero.min(end))) y=(at(row.bar))
                    width=(at((end - zero).abs().max(1.0))) height=(at(BAR[0])) {}
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
            svg.contains(r#"<rect class="bar" x="280" y="27" width="256""#),
            "{svg}"
        );
        assert!(
            svg.contains(r#"<rect class="bar against" x="152" y="63" width="128""#),
            "{svg}"
        );
    }

    #[test]
    fn long_names_are_broken_and_their_bars_stand_below() {
        let name = "How far a printing device's grid stands out in the edges";
        let lines = wrapped(name);
        assert_eq!(lines.join(" "), name);
        assert!(lines.len() == 2 && lines.iter().all(|l| l.chars().count() <= LINE_LETTERS));
        let (rows, bottom) = laid_out(&[(name.to_owned(), 1.0), ("a".to_owned(), 1.0)], 8.0);
        let foot = |row: &Row| row.top + FIRST_LINE + LINE * (row.lines.len() - 1) as f64;
        assert!(rows.iter().all(|row| row.bar > foot(row)));
        assert!(rows[1].top > rows[0].bar && bottom > rows[1].bar);
    }

    #[test]
    fn bars_of_several_photographs_are_said_to_be_averages() {
        let captions = |photographs: usize| match draw(&example::reading(), photographs) {
            Chart::Drawn { title, aid, .. } => [title, aid.to_owned()],
            Chart::Missing { why, .. } => panic!("{why}"),
        };
        assert!(captions(1).iter().all(|said| !said.contains("average")));
        assert!(captions(2).iter().all(|said| said.contains("average")));
    }

    #[test]
    fn an_empty_reading_says_why_there_is_no_chart() {
        let mut reading = example::stipple().reading;
        reading.posterior.clear();
        reading.log10_lr.clear();
        assert!(matches!(draw(&reading, 1), Chart::Missing { .. }));
        assert!(processes(&reading).is_none());
    }
}
