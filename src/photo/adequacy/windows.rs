//! Square windows in the usable field on which quality is measured.

use crate::plane::{Mask, Plane};
use ndarray::Array2;
use rayon::prelude::*;

/// Side of a window, px: a power of two for the Fourier transform, long enough that its
/// lowest frequencies lie well under those of marks.
pub(super) const SIDE_PX: usize = 256;
/// Windows of each kind; 24 of 256² px are 1.6 megapixels, enough for every statistic here.
const MOST: usize = 24;
/// Share of a window that must be usable.
const USABLE_SHARE: f64 = 0.6;
/// Every so many rows are looked at to judge how much is in a window.
const ROW_STEP: usize = 8;
/// Smallest side of a window, px.
const LEAST_SIDE_PX: usize = 16;

/// A piece of the picture: green light, which is the least interpolated channel of a camera
/// and sees every printing ink but yellow.
#[derive(Clone, Debug)]
pub(super) struct Window {
    /// Left column in the photo.
    pub x0: usize,
    /// Top row in the photo.
    pub y0: usize,
    /// Linear light.
    pub light: Plane,
    /// Usable pixels.
    pub usable: Mask,
    /// Mean absolute difference of neighbours.
    activity: f32,
}

/// Windows for the several measurements.
#[derive(Debug)]
pub(super) struct Windows {
    /// Those with the most in them, busiest first.
    pub busy: Vec<Window>,
    /// Spread evenly over the field.
    pub even: Vec<Window>,
}

impl Windows {
    /// Chooses windows; both lists are empty where the usable field is too small.
    pub fn choose(green: &Plane, usable: &Mask) -> Self {
        let mut places = candidates(green, usable);
        let step = places.len().div_ceil(MOST).max(1);
        let cut =
            |(x0, y0, activity): &(usize, usize, f32)| cut(green, usable, *x0, *y0, *activity);
        let even: Vec<Window> = places.iter().step_by(step).map(cut).collect();
        // Equal activities keep their order in the frame: the sort is stable.
        places.sort_by(|a, b| b.2.total_cmp(&a.2));
        Self {
            busy: places.iter().take(MOST).map(cut).collect(),
            even,
        }
    }
}

fn cut(green: &Plane, usable: &Mask, x0: usize, y0: usize, activity: f32) -> Window {
    let (height, width) = green.dim();
    let size = (SIDE_PX.min(height - y0), SIDE_PX.min(width - x0));
    Window {
        x0,
        y0,
        light: Array2::from_shape_fn(size, |(y, x)| green[[y0 + y, x0 + x]]),
        usable: Array2::from_shape_fn(size, |(y, x)| usable[[y0 + y, x0 + x]]),
        activity,
    }
}

impl Window {
    /// The same window with rows and columns exchanged.
    pub fn transposed(&self) -> Self {
        let turn = |a: &Plane| Array2::from_shape_fn((a.ncols(), a.nrows()), |(y, x)| a[[x, y]]);
        Self {
            x0: self.y0,
            y0: self.x0,
            light: turn(&self.light),
            usable: Array2::from_shape_fn((self.usable.ncols(), self.usable.nrows()), |(y, x)| {
                self.usable[[x, y]]
            }),
            activity: self.activity,
        }
    }

    /// True when every pixel is usable and the window is a full square.
    pub fn is_whole(&self) -> bool {
        self.light.dim() == (SIDE_PX, SIDE_PX) && self.usable.iter().all(|v| *v)
    }
}

/// Left, top and activity of all windows on a grid that are usable enough.
fn candidates(green: &Plane, usable: &Mask) -> Vec<(usize, usize, f32)> {
    let (height, width) = green.dim();
    if height.min(width) < LEAST_SIDE_PX {
        return Vec::new();
    }
    let starts = |length: usize| -> Vec<usize> {
        if length <= SIDE_PX {
            return vec![0];
        }
        // Centred, so that a sliver is left out on both sides rather than one.
        let count = length / SIDE_PX;
        let first = (length - count * SIDE_PX) / 2;
        (0..count).map(|i| first + i * SIDE_PX).collect()
    };
    let places: Vec<(usize, usize)> = starts(height)
        .into_iter()
        .flat_map(|y| starts(width).into_iter().map(move |x| (x, y)))
        .collect();
    places
        .into_par_iter()
        .filter_map(|(x0, y0)| {
            let (share, activity) = survey(green, usable, x0, y0);
            (share >= USABLE_SHARE).then_some((x0, y0, activity))
        })
        .collect()
}

/// Usable share and mean absolute difference, from every eighth row.
fn survey(green: &Plane, usable: &Mask, x0: usize, y0: usize) -> (f64, f32) {
    let (height, width) = green.dim();
    let (mut all, mut kept, mut sum) = (0_usize, 0_usize, 0.0_f32);
    for y in (y0..(y0 + SIDE_PX).min(height)).step_by(ROW_STEP) {
        for x in x0..(x0 + SIDE_PX).min(width) {
            all += 1;
            if usable[[y, x]] {
                kept += 1;
                if x + 1 < width && usable[[y, x + 1]] {
                    sum += (green[[y, x + 1]] - green[[y, x]]).abs();
                }
            }
        }
    }
    (kept as f64 / all.max(1) as f64, sum / kept.max(1) as f32)
}
