//! Text and pictures from page to page.

use super::super::figure::{Figure, Pair};
use super::page::{Colour, Mark, POINTS_PER_MM, Page, Pages, Paper};
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
/// What must follow a heading on the same page, points.
const KEEP_WITH_HEADING: f32 = 70.0;
/// What the head of an entry asks for with its gap, points.
pub const ENTRY_HEIGHT: f32 = KEEP_WITH_HEADING + 8.0;
/// Height of a heading with its gaps, points.
const HEADING_HEIGHT: f32 = 34.0;
/// Tallest a whole photograph is set, points: two thirds of a page.
const TALLEST: f32 = 420.0;
/// Shortest that it is set to fit under what stands on a page.
const SHORTEST: f32 = 200.0;
/// Width at which the detail is set, points: 480 px at 200 px per inch.
const DETAIL_WIDTH: f32 = 172.8;
/// Widths of the columns of findings, as shares of the line: what, figure; the rest is the weight.
const FINDING_COLUMNS: [f32; 2] = [0.52, 0.24];
/// Lengths of a bar beside a photograph, mm.
const BARS_MM: [f64; 9] = [50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1];
/// Longest share of the picture's width that the bar takes.
const LONGEST_BAR: f64 = 0.3;

/// A place on the last page, growing downwards.
pub struct Flow<'a> {
    faces: &'a Faces,
    pages: Pages,
    y: f32,
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
            pages: Pages {
                size,
                margin: MARGIN,
                foot: lines,
                foot_top,
                pages: vec![Page::default()],
            },
            y: TOP,
        }
    }

    /// All pages.
    pub fn finish(self) -> Pages {
        self.pages
    }

    fn width(&self) -> f32 {
        self.pages.size.0 - 2.0 * MARGIN
    }

    fn bottom(&self) -> f32 {
        self.pages.foot_top - ABOVE_FOOT
    }

    fn mark(&mut self, mark: Mark) {
        if let Some(page) = self.pages.pages.last_mut() {
            page.marks.push(mark);
        }
    }

    /// Begins a page unless so much is left on this one.
    fn need(&mut self, height: f32) {
        if self.y + height > self.bottom() && self.y > TOP {
            self.pages.pages.push(Page::default());
            self.y = TOP;
        }
    }

    /// Leaves a gap; none at the top of a page.
    pub fn gap(&mut self, height: f32) {
        if self.y > TOP {
            self.y += height;
        }
    }

    /// One line as wide as it is.
    pub fn line(&mut self, cut: Cut, size: f32, colour: Colour, text: &str) {
        self.set(cut, size, colour, 0.0, &[text.to_owned()]);
    }

    /// A paragraph over the whole width.
    pub fn paragraph(&mut self, cut: Cut, size: f32, colour: Colour, text: &str) {
        let lines = self.faces.lines(cut, size, self.width(), text);
        self.set(cut, size, colour, 0.0, &lines);
    }

    /// Sets lines one under another, `indent` from the left margin.
    fn set(&mut self, cut: Cut, size: f32, colour: Colour, indent: f32, lines: &[String]) {
        for text in lines {
            self.need(size * LEADING);
            self.y += size * LEADING;
            self.text(cut, size, colour, indent, self.y - 0.3 * size, text);
        }
    }

    fn text(&mut self, cut: Cut, size: f32, colour: Colour, indent: f32, y: f32, text: &str) {
        self.mark(Mark::Text {
            cut,
            size,
            colour,
            x: MARGIN + indent,
            y,
            text: text.to_owned(),
        });
    }

    fn rule(&mut self, colour: Colour, height: f32) {
        let (y, width) = (self.y, self.width());
        self.mark(Mark::Box {
            colour,
            x: MARGIN,
            y,
            width,
            height,
        });
    }

    /// Heading of a part, kept with so much of what follows.
    pub fn heading(&mut self, text: &str, following: f32) {
        self.gap(16.0);
        self.need(KEEP_WITH_HEADING.max(following + HEADING_HEIGHT));
        self.rule(Colour::Ink, 0.8);
        self.gap(2.0);
        self.line(Cut::Semibold, 14.0, Colour::Ink, text);
        self.gap(4.0);
    }

    /// Head of an entry.
    pub fn entry(&mut self, title: &str, meta: &str) {
        self.gap(7.0);
        self.need(KEEP_WITH_HEADING);
        self.rule(Colour::Hair, 0.5);
        self.gap(2.0);
        self.line(Cut::Semibold, 10.5, Colour::Ink, title);
        self.paragraph(Cut::Regular, 8.2, Colour::Soft, meta);
        self.gap(2.0);
    }

    /// A paragraph with a bar beside it.
    pub fn notice(&mut self, text: &str) {
        let indent = 8.0;
        let lines = self
            .faces
            .lines(Cut::Regular, 9.6, self.width() - indent, text);
        self.gap(2.0);
        for line in &lines {
            self.need(9.6 * LEADING);
            let y = self.y + 1.5;
            self.mark(Mark::Box {
                colour: Colour::Alarm,
                x: MARGIN,
                y,
                width: 2.0,
                height: 9.6 * LEADING,
            });
            self.set(
                Cut::Regular,
                9.6,
                Colour::Ink,
                indent,
                std::slice::from_ref(line),
            );
        }
        self.gap(5.0);
    }

    /// Columns of lines that begin at the same height and break over pages together.
    fn columns(&mut self, columns: &[Column]) {
        let rows = columns.iter().map(|c| c.lines.len()).max().unwrap_or(0);
        let size = columns.iter().map(|c| c.size).fold(0.0, f32::max);
        for row in 0..rows {
            self.need(size * LEADING);
            self.y += size * LEADING;
            let y = self.y - 0.3 * size;
            for column in columns {
                if let Some(text) = column.lines.get(row) {
                    self.text(
                        column.cut,
                        column.size,
                        column.colour,
                        column.indent,
                        y,
                        text,
                    );
                }
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

    /// A label and its value.
    pub fn row(&mut self, label: &str, value: &str) {
        let left = LABELS + GUTTER;
        let label = self.column(Cut::Semibold, 8.0, Colour::Soft, (0.0, LABELS), label);
        let value = self.column(
            Cut::Regular,
            9.2,
            Colour::Ink,
            (left, self.width() - left),
            value,
        );
        self.columns(&[label, value]);
        self.gap(1.5);
    }

    /// Heads of the columns of findings.
    pub fn finding_head(&mut self) {
        self.need(KEEP_WITH_HEADING);
        let [first, second, third] = self.finding_places();
        let head = |place, text| self.column(Cut::Semibold, 8.0, Colour::Soft, place, text);
        let columns = [
            head(first, "Finding"),
            head(second, "Measured"),
            head(third, "Weight"),
        ];
        self.columns(&columns);
        self.gap(2.0);
        self.rule(Colour::Ink, 0.5);
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

    /// A finding, its reason under it.
    pub fn finding(&mut self, row: &FindingRow) {
        let [first, second, third] = self.finding_places();
        let columns = [
            self.column(Cut::Regular, 9.2, Colour::Ink, first, &row.title),
            self.column(Cut::Regular, 9.2, Colour::Ink, second, &row.value),
            self.column(Cut::Regular, 9.2, Colour::Ink, third, &row.weight),
        ];
        let reason = self.column(
            Cut::Italic,
            8.0,
            Colour::Soft,
            (0.0, self.width()),
            &row.because,
        );
        let lines = columns.iter().map(|c| c.lines.len()).max().unwrap_or(0) + reason.lines.len();
        self.need(lines as f32 * 9.2 * LEADING);
        self.columns(&columns);
        self.columns(&[reason]);
        self.gap(2.0);
        self.rule(Colour::Hair, 0.4);
        self.gap(1.5);
    }

    /// Width and height of the whole photograph and of its detail, as they are set once `before` has
    /// been set: as large as the rest of the page holds, or on the next page where that is too little.
    fn sizes(&self, pair: &Pair, before: f32) -> [(f32, f32); 2] {
        let shape = |figure: &Figure| figure.height_px as f32 / figure.width_px.max(1) as f32;
        // A tall thin picture is set no taller than a photograph, and narrower instead.
        let fit = |width: f32, tallest: f32, shape: f32| {
            let width = width.min(tallest / shape);
            (width, width * shape)
        };
        let detail = fit(DETAIL_WIDTH, TALLEST, shape(&pair.detail));
        let room = self.bottom() - self.y - before - Self::beside_the_whole(detail);
        let tallest = if room < SHORTEST {
            TALLEST
        } else {
            room.min(TALLEST)
        };
        [fit(self.width(), tallest, shape(&pair.whole)), detail]
    }

    /// Height of the detail with the caption and the gaps, points.
    fn beside_the_whole(detail: (f32, f32)) -> f32 {
        detail.1.max(KEEP_WITH_HEADING) + 12.0
    }

    /// Height that a photograph under a heading takes with its detail and caption, points.
    pub fn height_under_heading(&self, pair: &Pair) -> f32 {
        let [whole, detail] = self.sizes(pair, HEADING_HEIGHT + KEEP_WITH_HEADING);
        whole.1 + Self::beside_the_whole(detail)
    }

    /// A photograph: the whole at up to 300 px per inch, under it the detail and the caption.
    pub fn photograph(&mut self, pair: Pair, caption: &str) {
        self.gap(6.0);
        let [whole, detail] = self.sizes(&pair, 0.0);
        self.need(whole.1 + Self::beside_the_whole(detail));
        let (left_px, top_px) = pair.detail.from_px;
        let caption = format!(
            "{caption}\nOn the left, a detail that begins {left_px} px from the left and {top_px} px from the top; every pixel is shown."
        );
        self.picture(pair.whole, whole.0);
        self.y += whole.1 + 6.0;
        let top = self.y;
        self.picture(pair.detail, detail.0);
        let left = DETAIL_WIDTH + GUTTER;
        let text = self
            .faces
            .lines(Cut::Regular, 8.2, self.width() - left, &caption);
        self.set(Cut::Regular, 8.2, Colour::Soft, left, &text);
        self.y = self.y.max(top + detail.1);
        self.gap(10.0);
    }

    /// A picture at this height with a bar of known length.
    fn picture(&mut self, figure: Figure, width: f32) {
        let shape = figure.height_px as f32 / figure.width_px.max(1) as f32;
        let bar = bar(&figure, width);
        let y = self.y;
        self.mark(Mark::Picture {
            figure,
            x: MARGIN,
            y,
            width,
        });
        let Some((length, text)) = bar else { return };
        let foot = y + width * shape - 6.0;
        let words = self.faces.width(Cut::Semibold, 7.0, &text);
        let mut mark = |x: f32, y: f32, w: f32, h: f32, colour: Colour| {
            self.mark(Mark::Box {
                colour,
                x: MARGIN + x,
                y,
                width: w,
                height: h,
            });
        };
        mark(
            5.0,
            foot - 12.0,
            length.max(words) + 6.0,
            16.0,
            Colour::Hair,
        );
        mark(8.0, foot, length, 1.6, Colour::Ink);
        self.text(Cut::Semibold, 7.0, Colour::Ink, 8.0, foot - 3.5, &text);
    }
}

/// Length in points and text of a bar for a picture set at a width.
fn bar(figure: &Figure, width: f32) -> Option<(f32, String)> {
    let mm = figure.width_px as f64 / figure.px_per_mm.filter(|s| *s > 0.0)?;
    let length = BARS_MM.into_iter().find(|b| *b <= LONGEST_BAR * mm)?;
    Some((width * (length / mm) as f32, format!("{length} mm")))
}

struct Column {
    cut: Cut,
    size: f32,
    colour: Colour,
    indent: f32,
    lines: Vec<String>,
}
