//! Text and pictures as pieces, with what must stay together.

mod photograph;

use super::page::{Colour, Mark, POINTS_PER_MM, Pages, Paper};
use super::pieces::Pieces;
use super::typeset::{Cut, Faces};
use crate::dossier::account::{FindingRow, Foot};

/// Margins, points: left and right, top, below the foot.
const MARGIN: f32 = 20.0 * POINTS_PER_MM;
const TOP: f32 = 18.0 * POINTS_PER_MM;
const BELOW_FOOT: f32 = 10.0 * POINTS_PER_MM;
/// Size of the foot's text and of the gap above it, points.
pub const FOOT_SIZE: f32 = 5.8;
const ABOVE_FOOT: f32 = 16.0;
/// Distance of baselines as a share of the size.
const LEADING: f32 = 1.34;
/// Width of the column of labels, points.
const LABELS: f32 = 108.0;
/// Gap between columns, points.
const GUTTER: f32 = 12.0;
/// Widths of the columns of findings, as shares of the line: what, figure; the rest is the weight.
const FINDING_COLUMNS: [f32; 2] = [0.52, 0.24];
/// Size of small print, points, and the lines of it that are never torn: those that close an entry.
const SMALL_SIZE: f32 = 7.6;
const SMALL_LINES: usize = 8;

/// Text and pictures, set one under another.
pub struct Flow<'a> {
    faces: &'a Faces,
    size: (f32, f32),
    foot: Vec<String>,
    foot_top: f32,
    pieces: Pieces,
}

impl<'a> Flow<'a> {
    /// An empty first page.
    pub fn new(faces: &'a Faces, paper: Paper, foot: &Foot) -> Self {
        let size = paper.size();
        let width = size.0 - 2.0 * MARGIN;
        let number = format!("entry {} · SHA-256 {}", foot.entries, foot.sha256);
        // The page number stands to the right of the first line.
        let mut lines = faces.lines(Cut::Mono, FOOT_SIZE, width, &number);
        lines.extend(faces.lines(Cut::Mono, FOOT_SIZE, width, &foot.signed));
        lines.push("Evidence; no appraisal, no authentication opinion. Local law and licensed practice come first.".into());
        let foot_top = size.1 - BELOW_FOOT - lines.len() as f32 * FOOT_SIZE * LEADING;
        Self {
            faces,
            size,
            foot: lines,
            foot_top,
            pieces: Pieces::new(TOP, foot_top - ABOVE_FOOT),
        }
    }

    /// All pages.
    pub fn finish(self) -> Pages {
        Pages {
            size: self.size,
            margin: MARGIN,
            foot: self.foot,
            foot_top: self.foot_top,
            pages: self.pieces.finish(),
        }
    }

    fn width(&self) -> f32 {
        self.size.0 - 2.0 * MARGIN
    }

    /// Leaves a gap; none at the top of a page.
    pub fn gap(&mut self, height: f32) {
        self.pieces.gap(height);
    }

    /// Keeps what was set last on one page with the beginning of what follows.
    pub fn keep(&mut self) {
        self.pieces.keep();
    }

    /// One line as wide as it is.
    pub fn line(&mut self, cut: Cut, size: f32, colour: Colour, text: &str) {
        let line = Column {
            cut,
            size,
            colour,
            indent: 0.0,
            lines: vec![text.to_owned()],
        };
        self.set(&[line], 0, None);
    }

    /// A paragraph over the whole width.
    pub fn paragraph(&mut self, cut: Cut, size: f32, colour: Colour, text: &str) {
        let column = self.column(cut, size, colour, (0.0, self.width()), text);
        self.set(&[column], 0, None);
    }

    /// Small print.
    pub fn small(&mut self, text: &str) {
        let place = (0.0, self.width());
        let column = self.column(Cut::Regular, SMALL_SIZE, Colour::Soft, place, text);
        self.set(&[column], SMALL_LINES, None);
    }

    /// A rule in the gap that follows.
    fn rule(&mut self, colour: Colour, height: f32) {
        let mark = Mark::Box {
            colour,
            x: MARGIN,
            y: 0.0,
            width: self.width(),
            height,
        };
        self.pieces.add(0.0, vec![mark]);
    }

    /// Heading of a part, kept with what follows.
    pub fn heading(&mut self, text: &str) {
        self.gap(16.0);
        self.rule(Colour::Ink, 0.8);
        self.keep();
        self.gap(2.0);
        self.line(Cut::Semibold, 14.0, Colour::Ink, text);
        self.keep();
        self.gap(4.0);
    }

    /// Head of an entry, kept with what follows.
    pub fn entry(&mut self, title: &str, meta: &str) {
        self.gap(7.0);
        self.rule(Colour::Hair, 0.5);
        self.keep();
        self.gap(2.0);
        self.line(Cut::Semibold, 10.5, Colour::Ink, title);
        self.keep();
        self.paragraph(Cut::Regular, 8.2, Colour::Soft, meta);
        self.keep();
        self.gap(2.0);
    }

    /// A paragraph with a bar beside it.
    pub fn notice(&mut self, text: &str) {
        let indent = 8.0;
        let place = (indent, self.width() - indent);
        let column = self.column(Cut::Regular, 9.6, Colour::Ink, place, text);
        self.gap(2.0);
        self.set(&[column], 0, Some(Colour::Alarm));
        self.gap(5.0);
    }

    /// Sets columns of lines that begin at the same height and break over pages together, with a bar
    /// beside them where it has a colour. Columns of at most `whole` lines are never torn.
    fn set(&mut self, columns: &[Column], whole: usize, bar: Option<Colour>) {
        let lines = columns.iter().map(|c| c.lines.len()).max().unwrap_or(0);
        let size = columns.iter().map(|c| c.size).fold(0.0, f32::max);
        let height = size * LEADING;
        for line in 0..lines {
            let bar = bar.map(|colour| Mark::Box {
                colour,
                x: MARGIN,
                y: 1.5,
                width: 2.0,
                height,
            });
            let texts = columns
                .iter()
                .filter_map(|column| column.mark(line, height - 0.3 * size));
            self.pieces
                .add(height, bar.into_iter().chain(texts).collect());
            if is_kept(line, lines, whole) {
                self.keep();
            }
        }
    }

    fn column(&self, cut: Cut, size: f32, colour: Colour, place: (f32, f32), text: &str) -> Column {
        Column {
            cut,
            size,
            colour,
            indent: place.0,
            lines: self.faces.lines(cut, size, place.1, text),
        }
    }

    /// Labels and values, row by row.
    pub fn rows(&mut self, rows: &[(String, String)]) {
        let left = LABELS + GUTTER;
        let place = (left, self.width() - left);
        for (index, (label, value)) in rows.iter().enumerate() {
            let label = self.column(Cut::Semibold, 8.0, Colour::Soft, (0.0, LABELS), label);
            let value = self.column(Cut::Regular, 9.2, Colour::Ink, place, value);
            self.set(&[label, value], 0, None);
            if is_kept(index, rows.len(), 0) {
                self.keep();
            }
            self.gap(1.5);
        }
        self.gap(5.0);
    }

    /// A table of findings under its head.
    pub fn findings(&mut self, rows: &[FindingRow]) {
        self.finding_head();
        for (index, row) in rows.iter().enumerate() {
            self.finding(row);
            if is_kept(index, rows.len(), 0) {
                self.keep();
            }
        }
        self.gap(5.0);
    }

    /// Heads of the columns of findings.
    fn finding_head(&mut self) {
        let [first, second, third] = self.finding_places();
        let head = |place, text| self.column(Cut::Semibold, 8.0, Colour::Soft, place, text);
        let columns = [
            head(first, "Finding"),
            head(second, "Measured"),
            head(third, "Weight"),
        ];
        self.set(&columns, 0, None);
        self.keep();
        self.gap(2.0);
        self.rule(Colour::Ink, 0.5);
        self.keep();
        self.gap(2.0);
    }

    /// Indent and width of each column of findings.
    fn finding_places(&self) -> [(f32, f32); 3] {
        let width = self.width();
        let first = FINDING_COLUMNS[0] * width;
        let second = FINDING_COLUMNS[1] * width;
        [
            (0.0, first - GUTTER),
            (first, second - GUTTER),
            (first + second, width - first - second),
        ]
    }

    /// A finding, its reason under it; never torn.
    fn finding(&mut self, row: &FindingRow) {
        let [first, second, third] = self.finding_places();
        let columns = [
            self.column(Cut::Regular, 9.2, Colour::Ink, first, &row.title),
            self.column(Cut::Regular, 9.2, Colour::Ink, second, &row.value),
            self.column(Cut::Regular, 9.2, Colour::Ink, third, &row.weight),
        ];
        let place = (0.0, self.width());
        let reason = self.column(Cut::Italic, 8.0, Colour::Soft, place, &row.because);
        self.set(&columns, usize::MAX, None);
        self.keep();
        self.set(&[reason], usize::MAX, None);
        self.keep();
        self.gap(2.0);
        self.rule(Colour::Hair, 0.4);
        self.gap(1.5);
    }
}

/// Whether the piece with this index, of so many, is kept with the one after it: the first two and the
/// last two are, so that none stands alone, and all where there are at most `whole`.
fn is_kept(index: usize, count: usize, whole: usize) -> bool {
    index + 1 < count && (count <= whole || index == 0 || index + 2 == count)
}

struct Column {
    cut: Cut,
    size: f32,
    colour: Colour,
    indent: f32,
    lines: Vec<String>,
}

impl Column {
    /// One of its lines, the baseline so far below the top of the piece; none where it has fewer.
    fn mark(&self, line: usize, y: f32) -> Option<Mark> {
        Some(Mark::Text {
            cut: self.cut,
            size: self.size,
            colour: self.colour,
            x: MARGIN + self.indent,
            y,
            text: self.lines.get(line)?.clone(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The texts on each page.
    fn texts(flow: Flow<'_>) -> Vec<Vec<String>> {
        let text = |mark: Mark| match mark {
            Mark::Text { text, .. } => Some(text),
            _ => None,
        };
        let pages = flow.finish().pages;
        pages
            .into_iter()
            .map(|page| page.marks.into_iter().filter_map(text).collect())
            .collect()
    }

    #[test]
    fn no_heading_row_or_last_line_stands_alone_wherever_the_page_ends() {
        let faces = Faces::new().unwrap();
        let foot = Foot {
            entries: 1,
            sha256: "e3b0c442".into(),
            signed: "unsigned".into(),
        };
        let rows = vec![("Label".to_owned(), "Value".to_owned()); 7];
        let mut split = 0;
        for before in 30..60 {
            let mut flow = Flow::new(&faces, Paper::Letter, &foot);
            for _ in 0..before {
                flow.line(Cut::Regular, 9.6, Colour::Ink, "Before");
            }
            flow.heading("Heading");
            flow.paragraph(Cut::Regular, 9.6, Colour::Ink, "Leads.");
            flow.keep();
            flow.rows(&rows);
            flow.keep();
            flow.small("Considers.");
            flow.keep();
            flow.small("One\nTwo\nThree");
            let pages = texts(flow);
            let count = |page: &[String], what: &str| page.iter().filter(|t| *t == what).count();
            for page in &pages {
                let values = count(page, "Value");
                assert_ne!(values, 1, "{before}: {page:?}");
                if count(page, "Heading") + count(page, "Three") > 0 {
                    assert!(values > 1, "{before}: {page:?}");
                }
                let closing = ["Considers.", "One", "Two", "Three"].map(|t| count(page, t));
                assert!([[0; 4], [1; 4]].contains(&closing), "{before}: {page:?}");
                split += usize::from((2..7).contains(&values));
            }
        }
        assert!(
            split > 0,
            "no table was split: the pages tried end elsewhere"
        );
    }

    #[test]
    fn the_first_two_and_the_last_two_are_never_parted() {
        let kept = |count: usize, whole: usize| -> Vec<bool> {
            (0..count).map(|i| is_kept(i, count, whole)).collect()
        };
        assert_eq!(kept(5, 0), [true, false, false, true, false]);
        assert_eq!(kept(3, 0), [true, true, false]);
        assert_eq!(kept(1, 0), [false]);
        assert_eq!(kept(5, 5), [true, true, true, true, false]);
    }
}
