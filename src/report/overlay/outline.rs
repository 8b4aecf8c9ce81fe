//! Marks outlined, and the pixels that were left out.

use super::{Layer, View};
use crate::measure::segment::Segments;
use crate::photo::{Field, Photo};
use crate::report::chart::axis::at;
use crate::report::picture::{self, OVERVIEW_SIDE_PX, Window};
use crate::report::words::standing::layers_aid;
use maud::{Markup, html};
use rayon::prelude::*;

/// Outline of marks: a red that is seen on black ink, on paper and on most tints.
const OUTLINE: [u8; 4] = [200, 30, 30, 255];
/// Cover over pixels left out.
const LEFT_OUT: [u8; 4] = [70, 80, 90, 150];
const CLEAR: [u8; 4] = [0; 4];
/// Points of the outline per pixel of the photograph in the detail.
const DETAIL_POINTS: usize = 3;

/// The marks that were found, outlined.
#[must_use]
pub fn marks(segments: &Segments, window: Window, view: View) -> Option<Layer> {
    if segments.marks.is_empty() || !fits(segments.labels.dim(), window) {
        return None;
    }
    let (width, height) = points(window, view);
    let inside = match view {
        View::Whole => sampled(width, height, |x, y| {
            let (col, row) = nearest(window, width, height, x, y);
            segments.labels[[row, col]] != 0
        }),
        View::Detail => sampled(width, height, |x, y| {
            inside_contour(segments, window, width, height, x, y)
        }),
    };
    let pixels = edge(&inside, width, height, view);
    Some(Layer {
        key: "marks",
        title: "marks outlined",
        aid: layers_aid::MARKS,
        svg: placed(&picture::png(&pixels, width, height)?, window),
    })
}

/// Pixels that were not measured: outside the loupe's field, glare, clipped.
#[must_use]
pub fn left_out(photo: &Photo, window: Window, view: View) -> Option<Layer> {
    let whole = photo.usable.iter().all(|u| *u);
    if whole || !fits(photo.usable.dim(), window) {
        return None;
    }
    let (width, height) = window.reduced(OVERVIEW_SIDE_PX / 2);
    let pixels: Vec<_> = sampled(width, height, |x, y| {
        let (col, row) = nearest(window, width, height, x, y);
        !photo.usable[[row, col]]
    })
    .into_iter()
    .map(|out| if out { LEFT_OUT } else { CLEAR })
    .collect();
    let cover = placed(&picture::png(&pixels, width, height)?, window);
    Some(Layer {
        key: "field",
        title: "parts left out",
        aid: layers_aid::LEFT_OUT,
        svg: html! {
            (cover)
            @if let (Field::Round { cx, cy, radius }, View::Whole) = (photo.field, view) {
                circle class="rim" cx=(at(cx)) cy=(at(cy)) r=(at(radius)) {}
            }
        },
    })
}

fn fits(shape: (usize, usize), window: Window) -> bool {
    window.top + window.height <= shape.0 && window.left + window.width <= shape.1
}

fn points(window: Window, view: View) -> (usize, usize) {
    match view {
        View::Whole => window.reduced(OVERVIEW_SIDE_PX),
        View::Detail => (window.width * DETAIL_POINTS, window.height * DETAIL_POINTS),
    }
}

fn sampled(width: usize, height: usize, inside: impl Fn(usize, usize) -> bool + Sync) -> Vec<bool> {
    (0..width * height)
        .into_par_iter()
        .map(|i| inside(i % width, i / width))
        .collect()
}

/// Column and row of the photograph under a point of the drawing.
fn nearest(window: Window, width: usize, height: usize, x: usize, y: usize) -> (usize, usize) {
    (
        window.left + (2 * x + 1) * window.width / (2 * width),
        window.top + (2 * y + 1) * window.height / (2 * height),
    )
}

/// Whether a point between pixel centres belongs to a mark: more than half of it, when the
/// marks' pixels are interpolated.
fn inside_contour(
    segments: &Segments,
    window: Window,
    width: usize,
    height: usize,
    x: usize,
    y: usize,
) -> bool {
    const HALF: f64 = 0.5;
    let (rows, cols) = segments.labels.dim();
    // Pixel centres are at whole numbers, so the drawing's first third lies at −1/3.
    let place = |i: usize, points: usize, span: usize, start: usize, last: usize| {
        let px = (i as f64 + 0.5) * span as f64 / points as f64 - 0.5 + start as f64;
        px.clamp(0.0, last as f64)
    };
    let fx = place(x, width, window.width, window.left, cols - 1);
    let fy = place(y, height, window.height, window.top, rows - 1);
    let (x0, y0) = (fx as usize, fy as usize);
    let (x1, y1) = ((x0 + 1).min(cols - 1), (y0 + 1).min(rows - 1));
    let (u, v) = (fx - x0 as f64, fy - y0 as f64);
    let mark = |y: usize, x: usize| f64::from(u8::from(segments.labels[[y, x]] != 0));
    let upper = mark(y0, x0) * (1.0 - u) + mark(y0, x1) * u;
    let lower = mark(y1, x0) * (1.0 - u) + mark(y1, x1) * u;
    upper * (1.0 - v) + lower * v > HALF
}

/// Points inside that touch the outside; in the detail also those outside that touch the inside.
fn edge(inside: &[bool], width: usize, height: usize, view: View) -> Vec<[u8; 4]> {
    let value = |x: isize, y: isize, own: bool| {
        let within = (0..width as isize).contains(&x) && (0..height as isize).contains(&y);
        if within {
            inside[y as usize * width + x as usize]
        } else {
            own
        }
    };
    (0..width * height)
        .into_par_iter()
        .map(|i| {
            let (x, y) = ((i % width) as isize, (i / width) as isize);
            let own = inside[i];
            let differs = [(1, 0), (-1, 0), (0, 1), (0, -1)]
                .into_iter()
                .any(|(dx, dy)| value(x + dx, y + dy, own) != own);
            if differs && (own || view == View::Detail) {
                OUTLINE
            } else {
                CLEAR
            }
        })
        .collect()
}

/// A picture laid over a window of the photograph.
pub(super) fn placed(address: &str, window: Window) -> Markup {
    html! {
        image x=(window.left) y=(window.top) width=(window.width) height=(window.height)
            preserveAspectRatio="none" href=(address) {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outline_runs_along_the_border_only() {
        // A 3 × 3 patch in a 6 × 5 picture.
        let inside: Vec<_> = (0..30)
            .map(|i| (1..4).contains(&(i % 6)) && (1..4).contains(&(i / 6)))
            .collect();
        let drawn = |view| {
            edge(&inside, 6, 5, view)
                .iter()
                .filter(|p| **p == OUTLINE)
                .count()
        };
        assert_eq!(drawn(View::Whole), 8);
        assert_eq!(drawn(View::Detail), 8 + 12);
    }

    #[test]
    fn drawing_points_fall_on_their_pixels() {
        let window = Window {
            left: 10,
            top: 20,
            width: 7,
            height: 5,
        };
        assert_eq!(nearest(window, 7, 5, 0, 0), (10, 20));
        assert_eq!(nearest(window, 7, 5, 6, 4), (16, 24));
        assert_eq!(nearest(window, 21, 15, 20, 14), (16, 24));
        assert_eq!(nearest(window, 3, 2, 1, 1), (13, 23));
    }
}
