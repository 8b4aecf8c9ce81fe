//! Photomechanical grain without a lattice, and a scene that is no print at all.

use crate::plane::Plane;
use crate::specimen::drawing::{Drawing, compose};
use crate::specimen::noise::{Noise, banded_surface, gaussian_surface, mix, step};
use crate::specimen::sheet::Layer;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Collotype: gelatine wrinkled into fine worms whose ink grows with the tone.
pub fn collotype(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    // Worms 15–40 per mm (from memory: far finer than stone grain).
    let worms_per_mm = rng.random_range(15.0..40.0);
    let sigma_px = (0.22 * drawing.px_per_mm / worms_per_mm).max(0.5);
    let surface = banded_surface(drawing.shape(), sigma_px, rng);
    let soft = rng.random_range(0.3..0.9_f32);
    let tone = continuous(drawing, rng);
    let mut cover = Plane::zeros(drawing.shape());
    Zip::from(&mut cover)
        .and(&tone)
        .and(&surface)
        .par_for_each(|a, &t, &s| {
            // The ridges of |surface| are worms, its summits would be grains.
            let worm = 1.0 - 1.2 * s.abs();
            let full = step(-soft, soft, worm - (1.0 - 2.0 * t));
            *a = full * mix(0.35, 1.0, t);
        });
    cover
}

/// Grain photogravure: resin grain so fine that tone is carried by the depth of ink.
pub fn gravure(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let grains_per_mm = rng.random_range(12.0..30.0);
    let sigma_px = (0.25 * drawing.px_per_mm / grains_per_mm).max(0.5);
    let surface = banded_surface(drawing.shape(), sigma_px, rng);
    let contrast = rng.random_range(0.15..0.5_f32);
    let tone = continuous(drawing, rng);
    let mut cover = Plane::zeros(drawing.shape());
    Zip::from(&mut cover)
        .and(&tone)
        .and(&surface)
        .par_for_each(|a, &t, &s| {
            *a = (t * (1.0 + contrast * s) - 0.04 * s.max(0.0)).clamp(0.0, 1.0);
        });
    cover
}

/// The tones as a lens sees them: shaded also outside the forms, with fine texture.
fn continuous(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let (h, w) = drawing.shape();
    let side = w.max(h) as f32;
    let ground = rng.random_range(0.05..0.5_f32);
    let (slow, fine) = (Noise::new(rng), Noise::new(rng));
    let rough = rng.random_range(0.0..0.25_f32);
    let cell = side * rng.random_range(0.01..0.05);
    let mut tone = drawing.tone.clone();
    Zip::indexed(&mut tone).par_for_each(|(y, x), t| {
        let (x, y) = (x as f32, y as f32);
        let around = ground * (0.7 + 0.6 * slow.at(2.0 * x / side, 2.0 * y / side));
        let base = if *t > 0.0 { *t } else { around };
        *t = (base + rough * fine.rough(x / cell, y / cell)).clamp(0.0, 1.0);
    });
    tone
}

/// A coloured scene of smooth shapes and textures; one film whose density is the picture.
pub fn scene(size_px: [usize; 2], rng: &mut ChaCha8Rng) -> Vec<Layer> {
    // The scale means nothing here: forms are laid out in pixels of an arbitrary frame.
    let drawing = compose::random(
        size_px[0].max(size_px[1]).max(1) as f64 / 12.0,
        size_px,
        rng,
    );
    let tone = continuous(&drawing, rng);
    let hues: Vec<[f32; 3]> = (0..256)
        .map(|_| [0; 3].map(|_| rng.random_range(0.05..1.2)))
        .collect();
    let sensor = gaussian_surface(tone.dim(), rng.random_range(0.5..1.5), rng);
    let noise = rng.random_range(0.0..0.03_f32);
    let drift = [0, 1, 2].map(|channel: usize| {
        let mut density = tone.clone();
        Zip::indexed(&mut density)
            .and(&sensor)
            .par_for_each(|(y, x), d, &n| {
                let hue = hues[usize::from(drawing.region[[y, x]])][channel];
                *d = (0.05 + *d * (0.5 + hue) + noise * n).max(0.0);
            });
        density
    });
    let mean = |p: &Plane| f64::from(p.mean().unwrap_or(0.5));
    let solid_density = [mean(&drift[0]), mean(&drift[1]), mean(&drift[2])];
    vec![Layer {
        drift: Some(drift),
        ..Layer::film(Plane::ones(tone.dim()), solid_density)
    }]
}
