//! Ink in several colours dabbed on one plate (à la poupée): hue drifts from mark to mark.

use super::inks;
use crate::plane::{Plane, Rgb};
use crate::specimen::drawing::Drawing;
use crate::specimen::noise::{Noise, mix, step};
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Density of the ink at every pixel, R, G, B: two to four coloured inks that run into each
/// other, either by the parts of the subject or in patches.
pub fn drift(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Rgb {
    let inks: Vec<[f32; 3]> = (0..rng.random_range(2..=4))
        .map(|_| inks::density_of_lab(inks::coloured(rng)).map(|d| d as f32))
        .collect();
    if rng.random_bool(0.5) {
        by_part(drawing, &inks, rng)
    } else {
        in_patches(drawing, &inks, rng)
    }
}

/// Each form in an ink of its own; towards its outline it mixes with the first ink.
fn by_part(drawing: &Drawing, inks: &[[f32; 3]], rng: &mut ChaCha8Rng) -> Rgb {
    let of_region: Vec<usize> = (0..256).map(|_| rng.random_range(0..inks.len())).collect();
    let bleed_mm = rng.random_range(0.05..1.0_f32);
    channels(drawing, |[y, x], channel| {
        let own = inks[of_region[usize::from(drawing.region[[y, x]])]][channel];
        let near_outline = 1.0 - step(0.0, bleed_mm, drawing.edge[[y, x]]);
        mix(own, inks[0][channel], 0.5 * near_outline)
    })
}

fn in_patches(drawing: &Drawing, inks: &[[f32; 3]], rng: &mut ChaCha8Rng) -> Rgb {
    let (h, w) = drawing.shape();
    let patch_px = w.max(h) as f32 * rng.random_range(0.2..0.7);
    let noise = Noise::new(rng);
    let phase: f32 = rng.random();
    let place = Plane::from_shape_fn((h, w), |(y, x)| {
        let smooth = 0.5 + 0.5 * noise.at(x as f32 / patch_px, y as f32 / patch_px);
        // Folded back and forth, so that no ink meets another without running into it.
        (1.0 - (2.0 * (smooth + phase).fract() - 1.0).abs()) * (inks.len() - 1) as f32
    });
    channels(drawing, |pixel, channel| {
        let at = place[pixel];
        let i = (at as usize).min(inks.len() - 2);
        mix(
            inks[i][channel],
            inks[i + 1][channel],
            step(0.2, 0.8, at - i as f32),
        )
    })
}

fn channels(drawing: &Drawing, density: impl Fn([usize; 2], usize) -> f32 + Sync) -> Rgb {
    [0, 1, 2].map(|channel| {
        let mut plane = Plane::zeros(drawing.shape());
        Zip::indexed(&mut plane).par_for_each(|(y, x), d| *d = density([y, x], channel));
        plane
    })
}
