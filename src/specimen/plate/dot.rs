//! One bitten or cut dot: a roundish pit that prints a mark.

use crate::plane::Plane;
use crate::specimen::drawing::stroke::{Edge, pixel_span};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// A dot on the plate.
#[derive(Clone, Copy, Debug)]
pub struct Dot {
    /// Middle, mm on the sheet.
    pub centre_mm: [f32; 2],
    /// Radius of the circle of about the same area, mm.
    pub radius_mm: f32,
    /// Cover at its middle, 0–1: how full of ink it was.
    pub strength: f32,
    /// Length over width, ≥ 1.
    pub aspect: f32,
    /// Direction of the length, (cos, sin), y down.
    pub axis: [f32; 2],
    /// Share of the radius by which the outline departs from an ellipse: three- and fourfold lobes
    /// (cos, sin each).
    pub lobes: [f32; 4],
}

/// How irregular the dots of one hand are.
#[derive(Clone, Copy, Debug)]
pub struct DotShape {
    /// Greatest length over width.
    pub aspect: f32,
    /// Greatest lobe, share of the radius.
    pub lobe: f32,
    /// Least cover at the middle, 0–1.
    pub strength: f32,
}

impl DotShape {
    /// From nearly round needle points to ragged bitten pits.
    pub fn random(rng: &mut ChaCha8Rng) -> Self {
        Self {
            aspect: rng.random_range(1.05..1.8),
            lobe: rng.random_range(0.02..0.28),
            strength: rng.random_range(0.75..1.0),
        }
    }

    /// A dot of this shape.
    pub fn dot(&self, centre_mm: [f32; 2], radius_mm: f32, rng: &mut ChaCha8Rng) -> Dot {
        let turn: f32 = rng.random_range(0.0..std::f32::consts::PI);
        let mut lobe = || self.lobe * rng.random_range(-1.0..1.0_f32);
        let lobes = [lobe(), lobe(), 0.6 * lobe(), 0.6 * lobe()];
        Dot {
            centre_mm,
            radius_mm,
            strength: rng.random_range(self.strength..=1.0),
            aspect: rng.random_range(1.0..=self.aspect),
            axis: [turn.cos(), turn.sin()],
            lobes,
        }
    }
}

impl Dot {
    /// Lays the dot on `cover`, keeping the greater of old and new.
    pub fn lay(&self, cover: &mut Plane, edge: Edge) {
        let (h, w) = cover.dim();
        let reach = self.radius_mm * self.aspect.sqrt() * 1.4 + edge.soft_px / edge.px_per_mm;
        let [cx, cy] = self.centre_mm;
        let xs = pixel_span(cx - reach, cx + reach, edge.px_per_mm, w);
        for y in pixel_span(cy - reach, cy + reach, edge.px_per_mm, h) {
            let dy = (y as f32 + 0.5) / edge.px_per_mm - cy;
            for x in xs.clone() {
                let dx = (x as f32 + 0.5) / edge.px_per_mm - cx;
                let new = self.strength * self.cover_at(dx, dy, edge);
                let old = &mut cover[[y, x]];
                *old = old.max(new);
            }
        }
    }

    /// Cover at an offset from the middle, mm.
    fn cover_at(&self, dx: f32, dy: f32, edge: Edge) -> f32 {
        let stretch = self.aspect.sqrt();
        let u = (self.axis[0] * dx + self.axis[1] * dy) / stretch;
        let v = (self.axis[0] * dy - self.axis[1] * dx) * stretch;
        let r = u.hypot(v);
        let (c, s) = if r > 0.0 { (u / r, v / r) } else { (1.0, 0.0) };
        // Powers of the unit complex number give the multiples of the angle.
        let (c2, s2) = (c * c - s * s, 2.0 * c * s);
        let (c3, s3) = (c2 * c - s2 * s, c2 * s + s2 * c);
        let (c4, s4) = (c2 * c2 - s2 * s2, 2.0 * c2 * s2);
        let [a, b, d, e] = self.lobes;
        let radius = self.radius_mm * (1.0 + a * c3 + b * s3 + d * c4 + e * s4);
        edge.cover(radius - r)
    }
}
