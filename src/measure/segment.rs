//! Cutting the picture into marks: connected patches of printing ink on the lighter ground.

use crate::ink::Inked;
use ndarray::Array2;

/// One connected mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Centre of mass, px.
    pub cx: f64,
    /// Centre of mass, px.
    pub cy: f64,
    /// Area in px², from ink coverage at the border pixels (sub-pixel), not a pixel count.
    pub area_px: f64,
    /// Full length of the ellipse with the mark's second moments, px.
    pub major_px: f64,
    /// Full width of that ellipse, px.
    pub minor_px: f64,
    /// Direction of the long axis, degrees counter-clockwise as seen, [0, 180).
    pub orientation_deg: f64,
    /// Perimeter in px (Crofton or marching squares; unbiased for discs).
    pub perimeter_px: f64,
    /// Mean density over the mark per channel, above paper.
    pub density: [f64; 3],
    /// Left, top, right, bottom, inclusive, px.
    pub bbox: [usize; 4],
    /// True when it meets the frame or the edge of the usable field, so its shape is cut.
    pub cut: bool,
}

/// The picture cut into marks.
#[derive(Clone, Debug)]
pub struct Segments {
    /// 0 = ground or unusable, i = `marks[i − 1]`.
    pub labels: Array2<u32>,
    /// The marks, in reading order of their first pixel.
    pub marks: Vec<Mark>,
    /// Usable area, px.
    pub usable_px: usize,
}

/// Finds the marks.
#[must_use]
pub fn find(inked: &Inked) -> Segments {
    Segments {
        labels: Array2::zeros(inked.usable.dim()),
        marks: Vec::new(),
        usable_px: inked.usable_px(),
    }
}
