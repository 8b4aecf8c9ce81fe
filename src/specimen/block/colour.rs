//! Chromolithographs: many inks, each from a stone of its own, flat, grained or hand-stippled.

use crate::plane::Plane;
use crate::specimen::colouring::inks;
use crate::specimen::drawing::Drawing;
use crate::specimen::drawing::stroke::Edge;
use crate::specimen::noise::{Noise, step};
use crate::specimen::plate::stipple::StippleHand;
use crate::specimen::plate::{dot::DotShape, lay_lines};
use crate::specimen::sheet::Layer;
use crate::specimen::stone::grain::Grain;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Five to ten inks over one drawing, light first; a dark key often comes last.
pub fn chromolithograph(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Vec<Layer> {
    let stones = rng.random_range(4..10);
    let grain = Grain::random(rng);
    let mut layers: Vec<Layer> = (0..stones)
        .map(|_| {
            let tone = tone_of_stone(drawing, rng);
            let cover = match rng.random_range(0..10) {
                0..3 => flat(&tone, drawing, rng),
                3..7 => grain.print(&tone, drawing.px_per_mm, rng),
                _ => stippled(&tone, drawing, rng),
            };
            Layer::ink(cover, inks::density_of_lab(inks::watercolour(rng)))
        })
        .collect();
    if rng.random_bool(0.7) {
        let mut key = grain.print(&drawing.tone.mapv(|t| 0.6 * t), drawing.px_per_mm, rng);
        let edge = Edge::new(drawing.px_per_mm, 8.0);
        lay_lines(&drawing.outlines, 0.006, &mut key, edge, rng);
        layers.push(Layer::ink(key, inks::density_of_lab(inks::near_black(rng))));
    }
    layers
}

/// What one stone carries: some of the forms, in tones of its own.
fn tone_of_stone(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let weights: Vec<f32> = (0..256)
        .map(|_| {
            if rng.random_bool(0.5) {
                rng.random_range(0.2..1.0)
            } else {
                0.0
            }
        })
        .collect();
    let shift = [rng.random_range(-4..5_i32), rng.random_range(-4..5_i32)];
    let (h, w) = drawing.shape();
    let clouds = Noise::new(rng);
    let cell = w.max(h) as f32 * 0.15;
    Plane::from_shape_fn((h, w), |(y, x)| {
        let at = |v: usize, by: i32, n: usize| (v as i32 + by).clamp(0, n as i32 - 1) as usize;
        let p = [at(y, shift[0], h), at(x, shift[1], w)];
        let weight = weights[usize::from(drawing.region[p])];
        let cloud = 0.3 * clouds.rough(x as f32 / cell, y as f32 / cell);
        if weight > 0.0 {
            (weight * (0.4 + drawing.tone[p]) + cloud).clamp(0.0, 1.0)
        } else {
            0.0
        }
    })
}

fn flat(tone: &Plane, drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let limit = rng.random_range(0.1..0.5_f32);
    let mottle = Noise::new(rng);
    let fine = 1.0 / (0.06 * drawing.px_per_mm as f32).max(1.0);
    let mut cover = tone.clone();
    Zip::indexed(&mut cover).par_for_each(|(y, x), a| {
        let rough = 0.06 * mottle.rough(x as f32 * fine, y as f32 * fine);
        *a = (step(limit - 0.02, limit + 0.02, *a) * (0.93 + rough)).clamp(0.0, 1.0);
    });
    cover
}

/// Dots set by hand with the pen, one by one.
fn stippled(tone: &Plane, drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let mut toned = drawing.clone();
    toned.tone.assign(tone);
    let dark = rng.random_range(12.0..60.0_f32);
    let diameter = 0.75 / dark.sqrt();
    let hand = StippleHand {
        density_per_mm2: [0.4 * dark, dark],
        diameter_mm: [0.7 * diameter, diameter],
        flicks: 0.0,
        doubles: 0.0,
        tracks_per_mm: 0.0,
        shape: DotShape {
            aspect: 1.2,
            lobe: 0.1,
            strength: 0.95,
        },
        ..StippleHand::random(rng)
    };
    let mut cover = Plane::zeros(drawing.shape());
    let edge = Edge::new(drawing.px_per_mm, 10.0);
    hand.lay(&toned, |p| tone[p] > 0.0, &mut cover, edge, rng);
    cover
}
