//! The short summary in plain text.

use super::json::NotRead;
use super::{figures, listing, words};
use crate::examine::{Examination, Examined};
use crate::photo::adequacy::Verdict;

/// Most findings named on each side; the report has them all.
const FINDINGS_A_SIDE: usize = 3;
/// Most reasons or proposals named.
const MOST_REASONS: usize = 3;
/// Letters of a name that are kept however long the figure after it.
const LEAST_OF_A_NAME: usize = 8;
/// Most lines of the summary, so that it stays on one screen of the smallest terminals.
const MOST_LINES: usize = 25;
/// Narrowest and widest text set: below, words are torn apart; above, lines are hard to follow.
const WIDTHS: std::ops::RangeInclusive<usize> = 40..=100;

/// The summary, at most 25 lines of at most `width` characters (40–100).
#[must_use]
pub fn summary(examination: &Examination, not_read: &[NotRead], width: usize) -> String {
    // Where room is short the weights give way first: what to do next matters more at a terminal.
    (0..=FINDINGS_A_SIDE)
        .rev()
        .map(|findings_a_side| all(examination, not_read, width, findings_a_side))
        .find(|sheet| sheet.lines.len() <= MOST_LINES)
        .unwrap_or_else(|| all(examination, not_read, width, 0))
        .finish()
}

/// Everything, with so many findings on each side.
fn all(
    examination: &Examination,
    not_read: &[NotRead],
    width: usize,
    findings_a_side: usize,
) -> Lines {
    let mut sheet = Lines {
        width: width.clamp(*WIDTHS.start(), *WIDTHS.end()),
        lines: Vec::new(),
    };
    reading(&mut sheet, examination);
    findings(&mut sheet, examination, findings_a_side);
    reasons(
        &mut sheet,
        "Not settled because:",
        &examination.reading.undetermined_because,
    );
    photographs(&mut sheet, examination, not_read);
    reasons(
        &mut sheet,
        "Photograph next:",
        &examination.reading.next_photographs,
    );
    sheet
}

fn reading(sheet: &mut Lines, examination: &Examination) {
    let reading = &examination.reading;
    sheet.text("", &words::headline(reading).to_uppercase());
    sheet.text("", &words::support_sentence(reading));
    for sentence in [
        words::screens_sentence(&examination.photos),
        words::unusual_sentence(reading),
        words::reproduction_sentence(reading),
    ]
    .iter()
    .flatten()
    {
        sheet.text("", sentence);
    }
    for caution in &reading.cautions {
        sheet.text("", &format!("Caution: {}", words::sentence(caution)));
    }
    sheet.text("", &words::colouring_sentence(reading));
    if !words::priors_are_equal(&reading.prior) {
        sheet.text("", &words::priors_sentence(&reading.prior));
    }
}

fn findings(sheet: &mut Lines, examination: &Examination, a_side: usize) {
    let (speaks_for, against) = examination.reading.for_and_against();
    let Some(best) = examination.reading.best() else {
        return;
    };
    // What was weighed on photographs that carry nothing would only contradict that.
    let photos = &examination.photos;
    let too_poor = |p: &Examined| p.photo.adequacy.verdict == Verdict::Unusable;
    if examination.reading.process.is_none() && photos.iter().all(too_poor) {
        return;
    }
    for (heading, side) in [("For", speaks_for), ("Against", against)] {
        let named = side
            .iter()
            .filter(|finding| !words::is_slight_for(finding, best))
            .take(a_side);
        for (index, finding) in named.enumerate() {
            if index == 0 {
                sheet.text(
                    "",
                    &format!(
                        "{heading} {}, in powers of ten:",
                        words::weighed_for(&examination.reading, best)
                    ),
                );
            }
            let weight = finding.log10_lr.get(&best).copied().unwrap_or(0.0);
            sheet.cut(
                &format!("  {}  ", figures::weight(weight)),
                &finding.title,
                &format!(": {}", words::finding_value(finding)),
            );
        }
    }
}

fn reasons(sheet: &mut Lines, heading: &str, items: &[String]) {
    if items.is_empty() {
        return;
    }
    sheet.text("", heading);
    for item in items.iter().take(MOST_REASONS) {
        sheet.text("  ", &words::sentence(item));
    }
}

fn photographs(sheet: &mut Lines, examination: &Examination, not_read: &[NotRead]) {
    for examined in examination.photos.iter().take(MOST_REASONS) {
        sheet.text("", &photograph_line(examined));
        if let Some(doubt) = words::scale_caution(examined.photo.file_scale().as_ref()) {
            sheet.text("  ", &doubt);
        }
        for note in &examined.photo.adequacy.notes {
            sheet.text("  ", note);
        }
    }
    if let Some(again) = words::repeated(&examination.photos) {
        sheet.text("", &again);
    }
    let unnamed = examination.photos.len().saturating_sub(MOST_REASONS);
    if unnamed > 0 {
        sheet.text(
            "",
            &format!("and {}", words::counted(unnamed, "more photograph")),
        );
    }
    if !not_read.is_empty() {
        sheet.text(
            "",
            &format!(
                "{} could not be read.",
                words::counted(not_read.len(), "photograph")
            ),
        );
    }
}

/// One photograph in a line: size, scale, sharpness, verdict, number of figures.
fn photograph_line(examined: &Examined) -> String {
    let photo = &examined.photo;
    let scale = photo.file_scale().map_or_else(
        || "scale unknown".to_owned(),
        |s| format!("{} px/mm", figures::plain(s.value)),
    );
    let sharp = photo
        .adequacy
        .sharpness_lp_per_mm
        .figure()
        .map_or_else(String::new, |f| {
            format!(", sharp to {} line pairs/mm", figures::plain(f.value))
        });
    format!(
        "{}: {} × {} px, {scale}{sharp}, {}, {} measured",
        photo.provenance.file,
        photo.binning.file_size_px.0,
        photo.binning.file_size_px.1,
        words::verdict(photo.adequacy.verdict),
        words::counted(listing::figures_measured(examined), "figure"),
    )
}

struct Lines {
    width: usize,
    lines: Vec<String>,
}

impl Lines {
    /// Adds text, broken between words; `indent` stands before each line.
    fn text(&mut self, indent: &str, text: &str) {
        let mut line = indent.to_owned();
        for word in text.split([' ', '\n']) {
            let full = line.chars().count() + 1 + word.chars().count() > self.width;
            if full && line.trim().len() > indent.len() {
                self.lines
                    .push(std::mem::replace(&mut line, indent.to_owned()));
            }
            if line.len() > indent.len() {
                line.push(' ');
            }
            line.push_str(word);
        }
        self.lines.push(line);
    }

    /// Adds one line, its name cut so that the figure after it stands whole.
    fn cut(&mut self, before: &str, name: &str, figure: &str) {
        let taken = before.chars().count() + figure.chars().count();
        let room = self.width.saturating_sub(taken).max(LEAST_OF_A_NAME);
        let shown = if name.chars().count() <= room {
            name.to_owned()
        } else {
            let kept: String = name.chars().take(room - 1).collect();
            format!("{}…", kept.trim_end())
        };
        let line = format!("{before}{shown}{figure}");
        self.lines.push(line.chars().take(self.width).collect());
    }

    fn finish(mut self) -> String {
        if self.lines.len() > MOST_LINES {
            self.lines.truncate(MOST_LINES - 1);
            self.lines.push("… (--report FILE has all of it)".into());
        }
        let mut text = self.lines.join("\n");
        text.push('\n');
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    #[test]
    fn the_summary_fits_every_terminal() {
        let mut examination = example::stipple();
        let reasons = (0..9).map(|i| format!("reason {i} with many words to be broken over lines"));
        examination.reading.undetermined_because = reasons.clone().collect();
        examination.reading.next_photographs = reasons.collect();
        for width in [0, 40, 57, 80, 400] {
            let text = summary(&examination, &[], width);
            assert!(text.lines().count() <= MOST_LINES, "{text}");
            let allowed = width.clamp(40, 100);
            assert!(text.lines().all(|l| l.chars().count() <= allowed), "{text}");
            assert!(text.starts_with("STIPPLE ENGRAVING\n"));
        }
    }

    #[test]
    fn weights_stand_under_the_side_they_speak_for() {
        let text = summary(&example::stipple(), &[], 100);
        let place = |what: &str| {
            text.find(what)
                .unwrap_or_else(|| panic!("{what} in {text}"))
        };
        assert!(place("For a stipple engraving, in powers of ten:") < place("+0.6  Evenness"));
        assert!(
            place("Against a stipple engraving, in powers of ten:") < place("−0.3  Broken texture")
        );
    }

    #[test]
    fn what_to_photograph_next_stays_where_room_is_short() {
        let mut examination = example::stipple();
        let many = (0..3).map(|i| format!("reason {i} {}", "of many words ".repeat(9)));
        examination.reading.undetermined_because = many.collect();
        examination.reading.next_photographs = vec!["the margin in raking light".into()];
        let text = summary(&examination, &[], 60);
        assert!(text.contains("The margin in raking light."), "{text}");
        let short = "Too dark.";
        examination.reading.undetermined_because = vec![short.into()];
        assert!(
            summary(&examination, &[], 100).contains("For a stipple engraving, in powers of ten:")
        );
    }

    #[test]
    fn an_empty_examination_is_survived() {
        let mut examination = example::stipple();
        examination.photos.clear();
        examination.reading.process = None;
        examination.reading.posterior.clear();
        examination.reading.findings.clear();
        let lost = NotRead {
            file: "a.jpg".into(),
            why: "gone".into(),
        };
        let text = summary(&examination, &[lost], 80);
        assert!(text.starts_with("UNDETERMINED\n"));
        assert!(text.contains("1 photograph could not be read."));
    }
}
