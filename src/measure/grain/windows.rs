//! The windows in which tone is made of broken texture.

use crate::ink::Inked;
use crate::measure::segment::Segments;
use crate::measured::{Figure, Measured, NotMeasured};

/// Side of a window, px: a power of two for the spectrum, wide against grains of 2–12 px.
pub const SIDE_PX: usize = 128;
/// Most windows whose texture is measured; they are taken evenly over the field.
const MAX_WINDOWS: usize = 40;
/// Inked share between which a window has texture to measure.
const LEAST_COVER: f64 = 0.03;
const MOST_COVER: f64 = 0.95;
/// Fewest patches or holes in a window: fewer is an outline or a solid, not texture.
const MIN_PIECES: usize = 12;
/// Share of a window that must be usable.
const MIN_USABLE: f64 = 0.98;

/// One square window of [`SIDE_PX`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Left edge, px.
    pub left: usize,
    /// Top edge, px.
    pub top: usize,
    /// Inked share of its pixels, 0–1.
    pub cover: f64,
    /// Marks whose centre lies in it.
    pub marks: usize,
    /// Holes in those marks.
    pub holes: usize,
}

/// All windows of the field.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Windows {
    /// Windows with broken texture.
    pub textured: Vec<Window>,
    /// Windows that are usable.
    pub usable: usize,
}

impl Windows {
    /// Share of the usable windows that hold broken texture.
    #[must_use]
    pub fn textured_share(&self) -> Measured {
        if self.usable == 0 {
            return NotMeasured::too_few("whole windows", 0, 1).into();
        }
        let n = self.usable as f64;
        let share = Measured::with_share(self.textured.len() as f64 / n, n, self.usable);
        let Measured::Figure(figure) = share else {
            return share;
        };
        // The border of the texture cuts windows; their share is known to the next window.
        let next = 0.5 / n;
        Measured::Figure(Figure {
            lo: (figure.lo - next).max(0.0),
            hi: (figure.hi + next).min(1.0),
            ..figure
        })
    }
}

/// Looks at every window of a grid over the field.
#[must_use]
pub fn find(inked: &Inked, segments: &Segments) -> Windows {
    let (height, width) = segments.labels.dim();
    let (rows, columns) = (height / SIDE_PX, width / SIDE_PX);
    let mut pieces = vec![(0_usize, 0_usize); rows * columns];
    for mark in &segments.marks {
        let (x, y) = (mark.cx as usize / SIDE_PX, mark.cy as usize / SIDE_PX);
        if x < columns && y < rows {
            pieces[y * columns + x].0 += 1;
            pieces[y * columns + x].1 += mark.holes;
        }
    }
    let mut found = Windows::default();
    for (i, &(marks, holes)) in pieces.iter().enumerate() {
        let (left, top) = (i % columns * SIDE_PX, i / columns * SIDE_PX);
        let Some(cover) = cover_of(inked, segments, left, top) else {
            continue;
        };
        found.usable += 1;
        if (LEAST_COVER..=MOST_COVER).contains(&cover) && marks + holes >= MIN_PIECES {
            found.textured.push(Window {
                left,
                top,
                cover,
                marks,
                holes,
            });
        }
    }
    found
}

/// Inked share of a window; none where too little of it is usable.
fn cover_of(inked: &Inked, segments: &Segments, left: usize, top: usize) -> Option<f64> {
    let area = ndarray::s![top..top + SIDE_PX, left..left + SIDE_PX];
    let all = (SIDE_PX * SIDE_PX) as f64;
    let usable = inked.usable.slice(area).iter().filter(|&&u| u).count() as f64;
    if usable < MIN_USABLE * all {
        return None;
    }
    let ink = segments
        .labels
        .slice(area)
        .iter()
        .filter(|&&l| l > 0)
        .count() as f64;
    Some(ink / usable)
}

/// At most [`MAX_WINDOWS`] of the textured windows, evenly over their list.
#[must_use]
pub fn chosen(windows: &Windows) -> Vec<Window> {
    let step = windows.textured.len().div_ceil(MAX_WINDOWS).max(1);
    windows.textured.iter().copied().step_by(step).collect()
}
