//! What press and paper do to the spots of a plate: spread, gain, rough edges, mottle, rims.

use super::Frame;
use crate::plane::Plane;
use crate::specimen::{blur, texture};
use serde::{Deserialize, Serialize};

/// The darker rim of letterpress, where ink is squeezed to the edge of the relief.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rim {
    /// Width of the rim, mm.
    pub width_mm: f64,
    /// Share of the film that is missing inside, 0–0.6.
    pub hollow: f64,
}

/// How ink goes over from plate to paper.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PressRecipe {
    /// Standard deviation of the spread of ink, mm.
    pub spread_mm: f64,
    /// Growth: shift of the edge's level, 0–0.25 of full cover.
    pub gain: f64,
    /// Softness of edges, 0.15 (crisp) – 1 (as spread).
    pub softness: f64,
    /// Roughness of edges, share of full cover.
    pub roughness: f64,
    /// Grain of that roughness, mm.
    pub rough_mm: f64,
    /// Unevenness of the film, 0–0.3.
    pub mottle: f64,
    /// Share of missing spots of ink within solids, 0–0.2.
    pub voids: f64,
    /// Mean film, share of the full one, 0.5–1.
    pub strength: f64,
    /// Letterpress rim.
    pub rim: Option<Rim>,
}

/// Ink on paper from the plate's spots, 0–1.
#[must_use]
pub fn transfer(spots: Plane, frame: Frame, recipe: &PressRecipe, key: u64) -> Plane {
    let mut cover = blur::gaussian(&spots, recipe.spread_mm * frame.px_per_mm);
    let grain_px = recipe.rough_mm * frame.px_per_mm;
    if recipe.roughness > 0.0 || recipe.gain > 0.0 || recipe.softness < 1.0 {
        let rough = texture::field(key ^ 0x40, frame.size_px, grain_px);
        let (gain, roughness) = (recipe.gain as f32, recipe.roughness as f32);
        let steepness = 1.0 / recipe.softness.clamp(0.1, 1.0) as f32;
        zip(&mut cover, &rough, |c, n| {
            // Nothing grows on bare paper, nor beyond the solid.
            let edge = 4.0 * c * (1.0 - c);
            (0.5 + steepness * (c - 0.5 + edge * (gain + roughness * n))).clamp(0.0, 1.0)
        });
    }
    if let Some(rim) = recipe.rim {
        hollow_out(&mut cover, rim, frame.px_per_mm);
    }
    uneven_film(&mut cover, frame, recipe, key);
    cover
}

/// Thins the film inside patches, so that a rim stays.
pub fn hollow_out(cover: &mut Plane, rim: Rim, px_per_mm: f64) {
    let wide = blur::gaussian(cover, rim.width_mm * px_per_mm);
    let hollow = rim.hollow as f32;
    zip(cover, &wide, |c, around| {
        // Well inside a patch its surroundings are full, too.
        let inside = ((around - 0.6) / 0.4).clamp(0.0, 1.0);
        c * (1.0 - hollow * inside)
    });
}

fn uneven_film(cover: &mut Plane, frame: Frame, recipe: &PressRecipe, key: u64) {
    let coarse = texture::field(key ^ 0x41, frame.size_px, 0.15 * frame.px_per_mm);
    let (strength, mottle) = (recipe.strength as f32, recipe.mottle as f32);
    zip(cover, &coarse, |c, n| {
        c * strength * (1.0 - mottle * n.abs().min(2.0))
    });
    if recipe.voids > 0.0 {
        let fine = texture::field(key ^ 0x42, frame.size_px, 0.03 * frame.px_per_mm);
        // Level that the given share of a normal variable exceeds, by exp(−z²/2)/2 ≈ share.
        let level = (-2.0 * (2.0 * recipe.voids.clamp(1e-4, 0.4)).ln())
            .max(0.0)
            .sqrt() as f32;
        zip(cover, &fine, |c, n| {
            c * (1.0 - 0.9 * ((n - level) * 3.0).clamp(0.0, 1.0))
        });
    }
}

fn zip(plane: &mut Plane, other: &Plane, of: impl Fn(f32, f32) -> f32 + Sync) {
    ndarray::Zip::from(plane)
        .and(other)
        .par_for_each(|v, &o| *v = of(*v, o));
}
