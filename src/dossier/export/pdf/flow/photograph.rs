//! A photograph with its detail and caption.

use super::{Column, Flow, GUTTER, LEADING, MARGIN};
use crate::dossier::export::figure::{Figure, Pair};
use crate::dossier::export::pdf::page::{Colour, Mark};
use crate::dossier::export::pdf::typeset::Cut;

/// Room for a caption that is longer than its picture is tall, points.
const CAPTION_HEIGHT: f32 = 70.0;
/// Gaps above a photograph, and between it and its detail or caption, points.
const PICTURE_GAP: f32 = 6.0;
/// What adding up heights may lose, points.
const ROUNDING: f32 = 0.1;
/// Tallest a whole photograph is set, points: two thirds of a page.
const TALLEST: f32 = 420.0;
/// Shortest that it is set to fit under what stands on a page.
const SHORTEST: f32 = 200.0;
/// Width at which the detail is set, points: 480 px at 200 px per inch.
const DETAIL_WIDTH: f32 = 172.8;
/// Size of captions, points.
const CAPTION_SIZE: f32 = 8.2;
/// Lengths of a bar beside a photograph, mm.
const BARS_MM: [f64; 9] = [50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1];
/// Longest share of the picture's width that the bar takes.
const LONGEST_BAR: f64 = 0.3;

impl Flow<'_> {
    /// Width and height of the whole photograph and of its detail: as large as the rest of the page
    /// holds, or on the next page where that is too little.
    fn sizes(&mut self, pair: &Pair) -> [(f32, f32); 2] {
        // A tall thin picture is set no taller than a photograph, and narrower instead.
        let fit = |width: f32, tallest: f32, shape: f32| {
            let width = width.min(tallest / shape);
            (width, width * shape)
        };
        let detail = pair.detail.as_ref().map_or((0.0, 0.0), |figure| {
            fit(DETAIL_WIDTH, TALLEST, shape(figure))
        });
        let below = PICTURE_GAP + detail.1.max(CAPTION_HEIGHT);
        let room = self.pieces.room() - below - ROUNDING;
        let tallest = if room < SHORTEST {
            TALLEST
        } else {
            room.min(TALLEST)
        };
        [fit(self.width(), tallest, shape(&pair.whole)), detail]
    }

    /// A photograph: the whole at up to 300 px per inch, under it the detail and the caption.
    pub fn photograph(&mut self, pair: Pair, caption: &str) {
        self.gap(PICTURE_GAP);
        let [whole, detail] = self.sizes(&pair);
        let (left, caption) = match &pair.detail {
            Some(Figure { from_px, .. }) => (
                DETAIL_WIDTH + GUTTER,
                format!(
                    "{caption}\nOn the left, a detail that begins {} px from the left and {} px from the top, every pixel as measured.",
                    from_px.0, from_px.1
                ),
            ),
            None => (0.0, format!("{caption}\nEvery pixel as measured is shown.")),
        };
        let place = (left, self.width() - left);
        let mut caption = self.column(Cut::Regular, CAPTION_SIZE, Colour::Soft, place, &caption);
        let under = whole.1 + PICTURE_GAP;
        let mut marks = self.picture(pair.whole, 0.0, whole.0);
        if let Some(figure) = pair.detail {
            marks.extend(self.picture(figure, under, detail.0));
        }
        // Of a long caption, what has no room beside the detail goes on below.
        let leading = CAPTION_SIZE * LEADING;
        let beside = (detail.1.max(CAPTION_HEIGHT) / leading) as usize;
        let further = caption.lines.split_off(beside.min(caption.lines.len()));
        let mut end = under;
        for line in 0..caption.lines.len() {
            end += leading;
            marks.extend(caption.mark(line, end - 0.3 * CAPTION_SIZE));
        }
        self.pieces.add(end.max(under + detail.1), marks);
        caption.lines = further;
        self.set(&[caption], 0, None);
        self.gap(10.0);
    }

    /// A picture, so far below the top of its piece, with a bar of known length.
    fn picture(&self, figure: Figure, top: f32, width: f32) -> Vec<Mark> {
        let foot = top + width * shape(&figure) - 6.0;
        let bar = bar(&figure, width);
        let mut marks = vec![Mark::Picture {
            figure,
            x: MARGIN,
            y: top,
            width,
        }];
        let Some((length, text)) = bar else {
            return marks;
        };
        let words = self.faces.width(Cut::Semibold, 7.0, &text);
        let mut mark = |x: f32, y: f32, w: f32, h: f32, colour: Colour| {
            marks.push(Mark::Box {
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
        let label = Column {
            cut: Cut::Semibold,
            size: 7.0,
            colour: Colour::Ink,
            indent: 8.0,
            lines: vec![text],
        };
        marks.extend(label.mark(0, foot - 3.5));
        marks
    }
}

/// Height of a picture as a share of its width.
fn shape(figure: &Figure) -> f32 {
    figure.height_px as f32 / figure.width_px.max(1) as f32
}

/// Length in points and text of a bar for a picture set at a width.
fn bar(figure: &Figure, width: f32) -> Option<(f32, String)> {
    let mm = figure.width_px as f64 / figure.px_per_mm.filter(|s| *s > 0.0)?;
    let length = BARS_MM.into_iter().find(|b| *b <= LONGEST_BAR * mm)?;
    Some((width * (length / mm) as f32, format!("{length} mm")))
}
