//! A stroke of a pen, needle or burin, and how it is laid on a plane.

use crate::plane::Plane;

/// A line through places on the sheet with a width at each.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Places in mm.
    pub places_mm: Vec<[f32; 2]>,
    /// Full width at each place, mm; as long as `places_mm`.
    pub widths_mm: Vec<f32>,
}

/// How the edge of a stroke prints.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// Resolution, px per mm.
    pub px_per_mm: f32,
    /// Width over which cover falls from full to none, px; at least one pixel.
    pub soft_px: f32,
}

impl Edge {
    /// An edge that is `soft_um` wide, never sharper than the raster allows.
    #[must_use]
    pub fn new(px_per_mm: f64, soft_um: f64) -> Self {
        Self {
            px_per_mm: px_per_mm as f32,
            soft_px: (soft_um / 1000.0 * px_per_mm).max(1.0) as f32,
        }
    }

    /// Cover at a signed distance inside the edge, mm.
    #[must_use]
    pub fn cover(&self, inside_mm: f32) -> f32 {
        (0.5 + inside_mm * self.px_per_mm / self.soft_px).clamp(0.0, 1.0)
    }
}

impl Stroke {
    /// A stroke of even width.
    #[must_use]
    pub fn even(places_mm: Vec<[f32; 2]>, width_mm: f32) -> Self {
        let widths_mm = vec![width_mm; places_mm.len()];
        Self {
            places_mm,
            widths_mm,
        }
    }

    /// A stroke that swells to its full width in the middle and tapers to a third at both ends.
    #[must_use]
    pub fn swelling(places_mm: Vec<[f32; 2]>, width_mm: f32) -> Self {
        let last = places_mm.len().saturating_sub(1).max(1) as f32;
        let widths_mm = (0..places_mm.len())
            .map(|i| width_mm * (0.33 + 0.67 * (std::f32::consts::PI * i as f32 / last).sin()))
            .collect();
        Self {
            places_mm,
            widths_mm,
        }
    }

    /// Length in mm.
    #[must_use]
    pub fn length_mm(&self) -> f32 {
        self.places_mm
            .windows(2)
            .map(|w| distance(w[0], w[1]))
            .sum()
    }

    /// Places every `pitch_mm` along the stroke, with the width there.
    #[must_use]
    pub fn dotted(&self, pitch_mm: f32) -> Vec<([f32; 2], f32)> {
        let mut dots = Vec::new();
        let mut due = 0.0;
        for i in 1..self.places_mm.len() {
            let (a, b) = (self.places_mm[i - 1], self.places_mm[i]);
            let length = distance(a, b);
            while due < length {
                let f = due / length;
                let place = [a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1])];
                dots.push((place, self.widths_mm[i]));
                due += pitch_mm.max(1e-3);
            }
            due -= length;
        }
        dots
    }

    /// Splits the stroke into the parts whose places pass `seen`.
    #[must_use]
    pub fn visible(&self, seen: impl Fn([f32; 2]) -> bool) -> Vec<Self> {
        let mut parts = Vec::new();
        let mut part = Self {
            places_mm: Vec::new(),
            widths_mm: Vec::new(),
        };
        for (&place, &width) in self.places_mm.iter().zip(&self.widths_mm) {
            if seen(place) {
                part.places_mm.push(place);
                part.widths_mm.push(width);
            } else if !part.places_mm.is_empty() {
                let done = Self {
                    places_mm: Vec::new(),
                    widths_mm: Vec::new(),
                };
                parts.push(std::mem::replace(&mut part, done));
            }
        }
        parts.push(part);
        parts.retain(|p| p.places_mm.len() > 1);
        parts
    }

    /// Lays the stroke on `cover`, keeping the greater of old and new; `strength` is the cover of
    /// its middle, 0–1, and `waver` an offset of its edge in mm that depends on the place.
    pub fn lay(
        &self,
        cover: &mut Plane,
        edge: Edge,
        strength: f32,
        waver: impl Fn(f32, f32) -> f32,
    ) {
        for i in 1..self.places_mm.len() {
            let ends = [self.places_mm[i - 1], self.places_mm[i]];
            let widths = [self.widths_mm[i - 1], self.widths_mm[i]];
            lay_segment(ends, widths, cover, edge, strength, &waver);
        }
    }
}

fn lay_segment(
    [a, b]: [[f32; 2]; 2],
    widths: [f32; 2],
    cover: &mut Plane,
    edge: Edge,
    strength: f32,
    waver: &impl Fn(f32, f32) -> f32,
) {
    let (h, w) = cover.dim();
    let reach = 0.75 * widths[0].max(widths[1]) + (edge.soft_px + 1.0) / edge.px_per_mm;
    let xs = pixel_span(
        a[0].min(b[0]) - reach,
        a[0].max(b[0]) + reach,
        edge.px_per_mm,
        w,
    );
    let ys = pixel_span(
        a[1].min(b[1]) - reach,
        a[1].max(b[1]) + reach,
        edge.px_per_mm,
        h,
    );
    let along = [b[0] - a[0], b[1] - a[1]];
    let length2 = (along[0] * along[0] + along[1] * along[1]).max(1e-12);
    for y in ys {
        let py = (y as f32 + 0.5) / edge.px_per_mm;
        for x in xs.clone() {
            let px = (x as f32 + 0.5) / edge.px_per_mm;
            let f = ((px - a[0]) * along[0] + (py - a[1]) * along[1]) / length2;
            let f = f.clamp(0.0, 1.0);
            let off = distance([px, py], [a[0] + f * along[0], a[1] + f * along[1]]);
            let half = 0.5 * (widths[0] + f * (widths[1] - widths[0]));
            if off > half + reach {
                continue;
            }
            let inside = half - off + waver(px, py);
            let new = strength * edge.cover(inside);
            let old = &mut cover[[y, x]];
            *old = old.max(new);
        }
    }
}

/// Pixels whose extent meets `lo..hi` mm, cut to `0..count`; empty off the sheet.
#[must_use]
pub fn pixel_span(lo_mm: f32, hi_mm: f32, px_per_mm: f32, count: usize) -> std::ops::Range<usize> {
    let lo = (lo_mm * px_per_mm).floor().clamp(0.0, count as f32) as usize;
    let hi = (hi_mm * px_per_mm).ceil().clamp(0.0, count as f32) as usize;
    lo..hi.max(lo)
}

fn distance(a: [f32; 2], b: [f32; 2]) -> f32 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}
