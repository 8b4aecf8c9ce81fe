//! An invented natural-history subject: what the engraver or lithographer has before him.
//!
//! A drawing is a set of planes over the sheet. Lengths are mm on the sheet, y down, origin at
//! the corner of the first pixel.

pub mod compose;
pub mod form;
pub mod lettering;
pub mod stroke;

use crate::plane::Plane;
use form::Form;
use ndarray::Array2;
use stroke::Stroke;

/// The subject, at the resolution of the sheet.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// Resolution of the planes, px per mm.
    pub px_per_mm: f64,
    /// Wanted darkness, 0 = paper white, 1 = black.
    pub tone: Plane,
    /// Coordinate across the form, mm: its level lines are the lines that follow the form.
    pub across: Plane,
    /// Coordinate along the form, mm.
    pub along: Plane,
    /// Distance inside the outline, mm (roughly, at sharp tips); 0 on bare paper.
    pub edge: Plane,
    /// Which form is seen, 1 + its index in `forms`; 0 = bare paper.
    pub region: Array2<u8>,
    /// The forms, those in front last.
    pub forms: Vec<Form>,
    /// Outlines and inner lines, parts hidden by forms in front already taken away.
    pub outlines: Vec<Stroke>,
    /// Letters, empty on most sheets.
    pub lettering: Vec<Stroke>,
}

impl Drawing {
    /// Rows and columns of every plane.
    #[must_use]
    pub fn shape(&self) -> (usize, usize) {
        self.tone.dim()
    }

    /// Whether a pixel lies in the round middle of the sheet, which every photograph of it shows,
    /// through a loupe or not.
    #[must_use]
    pub fn in_middle(&self, [y, x]: [usize; 2]) -> bool {
        /// Radius as a share of the shorter side; round fields are drawn from about this size.
        const RADIUS: f64 = 0.35;
        let (h, w) = self.shape();
        let (dy, dx) = (y as f64 - 0.5 * h as f64, x as f64 - 0.5 * w as f64);
        dy.hypot(dx) <= RADIUS * h.min(w) as f64
    }

    /// Share of the round middle where `holds` is true, 0–1.
    #[must_use]
    pub fn share_of_middle(&self, holds: impl Fn([usize; 2]) -> bool) -> f64 {
        let (h, w) = self.shape();
        let middle = (0..h * w)
            .map(|i| [i / w, i % w])
            .filter(|&p| self.in_middle(p));
        let (mut n, mut held) = (0_usize, 0_usize);
        for p in middle {
            n += 1;
            held += usize::from(holds(p));
        }
        held as f64 / n.max(1) as f64
    }

    /// The pixel that holds a place on the sheet, `[y, x]`, or nothing off the sheet.
    #[must_use]
    pub fn pixel_at(&self, [x_mm, y_mm]: [f32; 2]) -> Option<[usize; 2]> {
        let scale = self.px_per_mm as f32;
        let (x, y) = (x_mm * scale, y_mm * scale);
        let (h, w) = self.shape();
        let inside = x >= 0.0 && y >= 0.0 && x < w as f32 && y < h as f32;
        inside.then(|| [(y as usize).min(h - 1), (x as usize).min(w - 1)])
    }

    /// Gradient per mm (x, y) of `plane` (either coordinate of the form) at a pixel, taken within
    /// the form that is seen there. Zero where the form is a single pixel wide.
    #[must_use]
    pub fn gradient(&self, plane: &Plane, [y, x]: [usize; 2]) -> [f32; 2] {
        let scale = self.px_per_mm as f32;
        let (h, w) = self.shape();
        let here = self.region[[y, x]];
        let slope = |ahead: [usize; 2], behind: [usize; 2], there: bool, back: bool| {
            if there && self.region[ahead] == here {
                (plane[ahead] - plane[[y, x]]) * scale
            } else if back && self.region[behind] == here {
                (plane[[y, x]] - plane[behind]) * scale
            } else {
                0.0
            }
        };
        let dx = slope(
            [y, (x + 1).min(w - 1)],
            [y, x.saturating_sub(1)],
            x + 1 < w,
            x > 0,
        );
        let dy = slope(
            [(y + 1).min(h - 1), x],
            [y.saturating_sub(1), x],
            y + 1 < h,
            y > 0,
        );
        [dx, dy]
    }

    /// Share of the sheet that any form covers, 0–1.
    #[must_use]
    pub fn drawn_share(&self) -> f64 {
        let drawn = self.region.iter().filter(|&&r| r > 0).count();
        drawn as f64 / self.region.len().max(1) as f64
    }
}
