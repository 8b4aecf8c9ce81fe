//! The grained surface of a stone: crayon touches the summits first.

use crate::plane::Plane;
use crate::specimen::noise::{Noise, banded_surface, gaussian_surface, mix};
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// The grain of one stone.
#[derive(Clone, Copy, Debug)]
pub struct Grain {
    /// Grains per mm: 1 / mean spacing, where a grain is a summit of the surface and the mean
    /// spacing is 1 / √(summits per mm²).
    pub per_mm: f64,
    /// Share of a coarser, slower roughness mixed in, 0–1: a stone grained unevenly.
    pub uneven: f32,
    /// Scale of that roughness over the scale of the grain.
    pub slowness: f64,
    /// Fine raggedness of the grains' edges, share of the surface's variance, 0–1.
    pub ragged: f32,
    /// How softly a grain's edge prints, as a multiple of the sharpest that the raster allows.
    pub soft: f32,
}

/// σ of the band's finer smoothing × summits per px for [`banded_surface`], found by counting
/// summits of surfaces of σ = 2–8 px (the test `summits_are_as_asked` counts them again).
const SIGMA_TIMES_SUMMITS: f64 = 0.25;
/// Finest smoothing that the raster holds; below it grains are single pixels.
const FINEST_SIGMA_PX: f64 = 0.45;

impl Grain {
    /// 6–25 grains per mm, even on a logarithmic scale.
    pub fn random(rng: &mut ChaCha8Rng) -> Self {
        Self {
            per_mm: 6.0 * (25.0_f64 / 6.0).powf(rng.random_range(0.0..1.0)),
            uneven: rng.random_range(0.0..0.8),
            slowness: rng.random_range(1.3..5.0),
            ragged: rng.random_range(0.0..0.4),
            soft: rng.random_range(1.0..2.0),
        }
    }

    /// The stone's surface with zero mean and unit variance.
    pub fn surface(&self, shape: (usize, usize), px_per_mm: f64, rng: &mut ChaCha8Rng) -> Plane {
        let sigma_px = (SIGMA_TIMES_SUMMITS * px_per_mm / self.per_mm).max(FINEST_SIGMA_PX);
        let fine = banded_surface(shape, sigma_px, rng);
        if self.uneven <= 0.0 && self.ragged <= 0.0 {
            return fine;
        }
        let slow = gaussian_surface(shape, self.slowness * sigma_px, rng);
        let frays = gaussian_surface(shape, (0.4 * sigma_px).max(FINEST_SIGMA_PX), rng);
        // Independent surfaces: the squares of the shares add up to unit variance.
        let (b, c) = (self.uneven, self.ragged);
        let a = (1.0 - b * b - c * c).max(0.0).sqrt();
        Zip::from(&fine)
            .and(&slow)
            .and(&frays)
            .par_map_collect(|f, s, r| a * f + b * s + c * r)
    }

    /// Prints a plane of tones through the grain: the share of ink follows the tone.
    pub fn print(&self, tone: &Plane, px_per_mm: f64, rng: &mut ChaCha8Rng) -> Plane {
        let surface = self.surface(tone.dim(), px_per_mm, rng);
        let fill = Noise::new(rng);
        let sigma_px = (SIGMA_TIMES_SUMMITS * px_per_mm / self.per_mm).max(FINEST_SIGMA_PX);
        // The surface's root mean square slope along an axis is 0.95/σ per px (counted on
        // surfaces of σ = 3 px), so this is the rise over about one pixel.
        let edge = self.soft * 0.95 / sigma_px as f32;
        let mut cover = Plane::zeros(tone.dim());
        Zip::indexed(&mut cover)
            .and(tone)
            .and(&surface)
            .par_for_each(|(y, x), a, &t, &height| {
                if t <= 0.0 {
                    return;
                }
                let over = height - deviate_exceeded_by(t);
                let strength = mix(0.86, 1.0, fill.draw(x as i32 / 3, y as i32 / 3));
                *a = strength * (0.5 + over / edge).clamp(0.0, 1.0);
            });
        cover
    }
}

/// The standard normal deviate that is exceeded with probability `share`: how high the crayon
/// must reach down. Abramowitz & Stegun 26.2.23, error under 0.00045 (from memory).
#[must_use]
pub fn deviate_exceeded_by(share: f32) -> f32 {
    let p = share.clamp(1e-5, 1.0 - 1e-5);
    let tail = p.min(1.0 - p);
    let t = (-2.0 * tail.ln()).sqrt();
    let z = t
        - (2.515_517 + t * (0.802_853 + t * 0.010_328))
            / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)));
    if p < 0.5 { z } else { -z }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;

    fn summits(surface: &Plane) -> usize {
        let (h, w) = surface.dim();
        (1..h - 1)
            .flat_map(|y| (1..w - 1).map(move |x| (y, x)))
            .filter(|&(y, x)| {
                let window = surface.slice(ndarray::s![y - 1..=y + 1, x - 1..=x + 1]);
                window.iter().all(|&v| v <= surface[[y, x]])
            })
            .count()
    }

    #[test]
    fn summits_are_as_asked() {
        let mut rng = ChaCha8Rng::seed_from_u64(4);
        for per_mm in [6.0, 10.0, 15.0] {
            let grain = Grain {
                per_mm,
                uneven: 0.0,
                slowness: 3.0,
                ragged: 0.0,
                soft: 1.0,
            };
            let px_per_mm = 90.0;
            let surface = grain.surface((320, 410), px_per_mm, &mut rng);
            let area_mm2 = 320.0 * 410.0 / (px_per_mm * px_per_mm);
            let counted = (summits(&surface) as f64 / area_mm2).sqrt();
            assert!(
                (counted / per_mm - 1.0).abs() < 0.06,
                "{per_mm} asked, {counted} counted"
            );
        }
    }

    #[test]
    fn cover_follows_tone() {
        let mut rng = ChaCha8Rng::seed_from_u64(8);
        for tone in [0.1, 0.35, 0.8] {
            let grain = Grain {
                per_mm: 14.0,
                uneven: 0.5,
                slowness: 2.0,
                ragged: 0.3,
                soft: 1.2,
            };
            let printed = grain.print(&Plane::from_elem((300, 260), tone), 80.0, &mut rng);
            let share = printed.iter().filter(|&&a| a >= 0.5).count() as f32 / 78_000.0;
            assert!((share - tone).abs() < 0.04, "{tone} asked, {share} printed");
        }
    }

    #[test]
    fn deviates_are_those_of_the_tables() {
        assert!((deviate_exceeded_by(0.025) - 1.959_964).abs() < 1e-3);
        assert!((deviate_exceeded_by(0.9) + 1.281_552).abs() < 1e-3);
    }
}
