//! Wanted ink areas on any grid, and bitmaps brought back to the sheet's raster.

use super::Frame;
use crate::plane::Plane;
use rayon::prelude::*;

/// Tone of one ink, 0–1, at the resolution of the original.
#[derive(Clone, Debug)]
pub struct Tone {
    /// Wanted ink area.
    pub plane: Plane,
    /// Resolution, px per mm of the reproduction.
    pub px_per_mm: f64,
    /// Where the middle lies on the sheet, mm from the sheet's middle, y down.
    pub shift_mm: [f64; 2],
}

impl Tone {
    /// Wanted area at each pixel of the frame (bilinear).
    #[must_use]
    pub fn at_frame(&self, frame: Frame) -> Plane {
        self.at_grid([frame.px_per_mm; 2], frame.size_px)
    }

    /// Wanted area at each point of a grid with the given points per mm along x and y, centred on
    /// the sheet.
    #[must_use]
    pub fn at_grid(&self, points_per_mm: [f64; 2], size: [usize; 2]) -> Plane {
        let (h, w) = self.plane.dim();
        let mut out = Plane::zeros((size[1], size[0]));
        let (Some(from), Some(to), true) = (
            self.plane.as_slice(),
            out.as_slice_mut(),
            w > 0 && h > 0 && size[0] > 0,
        ) else {
            return out;
        };
        let columns = self.places(size[0], points_per_mm[0], w, self.shift_mm[0]);
        let rows = self.places(size[1], points_per_mm[1], h, self.shift_mm[1]);
        to.par_chunks_mut(size[0]).zip(&rows).for_each(|(row, at)| {
            let upper = &from[at.low * w..(at.low + 1) * w];
            let lower = &from[at.high * w..(at.high + 1) * w];
            for (cell, at_x) in row.iter_mut().zip(&columns) {
                let up = at_x.between(upper);
                *cell = up + at.share * (at_x.between(lower) - up);
            }
        });
        out
    }

    fn places(&self, count: usize, points_per_mm: f64, length: usize, shift_mm: f64) -> Vec<Place> {
        let (middle, last) = ((count as f64 - 1.0) / 2.0, length as f64 - 1.0);
        (0..count)
            .map(|i| {
                let mm = (i as f64 - middle) / points_per_mm - shift_mm;
                let at = (last / 2.0 + mm * self.px_per_mm).clamp(0.0, last);
                let low = at.floor() as usize;
                Place {
                    low,
                    high: (low + 1).min(length - 1),
                    share: (at - low as f64) as f32,
                }
            })
            .collect()
    }
}

/// A place between two samples.
struct Place {
    low: usize,
    high: usize,
    share: f32,
}

impl Place {
    fn between(&self, line: &[f32]) -> f32 {
        let low = line[self.low];
        low + self.share * (line[self.high] - low)
    }
}

/// Area mean of a bitmap with its own px per mm over each pixel of the frame; both are centred on
/// the sheet. The bitmap must cover the frame; outside it is continued by its edge.
#[must_use]
pub fn area_mean(bitmap: &Plane, bitmap_px_per_mm: [f64; 2], frame: Frame) -> Plane {
    let along = resampled_rows(
        bitmap,
        frame.size_px[0],
        bitmap_px_per_mm[0] / frame.px_per_mm,
    );
    let turned = along.t().as_standard_layout().into_owned();
    let both = resampled_rows(
        &turned,
        frame.size_px[1],
        bitmap_px_per_mm[1] / frame.px_per_mm,
    );
    both.t().as_standard_layout().into_owned()
}

/// `ratio` bitmap px to one output px, along x.
fn resampled_rows(bitmap: &Plane, count: usize, ratio: f64) -> Plane {
    let (h, w) = bitmap.dim();
    let mut out = Plane::zeros((h, count));
    let (Some(from), Some(to), true) = (bitmap.as_slice(), out.as_slice_mut(), w > 0 && count > 0)
    else {
        return out;
    };
    let middle = (w as f64 - 1.0) / 2.0 - ratio * (count as f64 - 1.0) / 2.0;
    // Pixel i covers [i − ½, i + ½] in either grid.
    let spans: Vec<Span> = (0..count)
        .map(|i| Span::of(middle + ratio * i as f64 + 0.5, ratio, w))
        .collect();
    to.par_chunks_mut(count)
        .zip(from.par_chunks(w))
        .for_each(|(to, from)| {
            for (cell, span) in to.iter_mut().zip(&spans) {
                *cell = span.mean(from);
            }
        });
    out
}

struct Span {
    first: usize,
    first_share: f32,
    last: usize,
    last_share: f32,
    norm: f32,
}

impl Span {
    fn of(centre: f64, width: f64, length: usize) -> Self {
        let clip = |v: f64| v.clamp(0.0, length as f64);
        let (from, to) = (clip(centre - width / 2.0), clip(centre + width / 2.0));
        let first = (from.floor() as usize).min(length - 1);
        let last = ((to.ceil() as usize).max(1) - 1).max(first);
        let (first_share, last_share) = if first == last {
            ((to - from) as f32, 0.0)
        } else {
            (
                (first as f64 + 1.0 - from) as f32,
                (to - last as f64) as f32,
            )
        };
        let sum = (to - from) as f32;
        if sum <= 1e-6 {
            return Self {
                first,
                first_share: 1.0,
                last: first,
                last_share: 0.0,
                norm: 1.0,
            };
        }
        Self {
            first,
            first_share,
            last,
            last_share,
            norm: 1.0 / sum,
        }
    }

    fn mean(&self, row: &[f32]) -> f32 {
        if self.first == self.last {
            return row[self.first] * self.first_share * self.norm;
        }
        let whole: f32 = row[self.first + 1..self.last].iter().sum();
        let ends = row[self.first] * self.first_share + row[self.last] * self.last_share;
        (whole + ends) * self.norm
    }
}
