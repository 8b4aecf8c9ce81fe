//! Tonal intaglio: aquatint and mezzotint.

use crate::plane::Plane;
use crate::specimen::drawing::Drawing;
use crate::specimen::drawing::stroke::Edge;
use crate::specimen::noise::{Noise, gaussian_surface, step};
use crate::specimen::plate::wiping;
use crate::specimen::stone::grain::deviate_exceeded_by;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Resin grain: white islands in channels of ink, tones in a few flat steps bitten in turn.
pub fn aquatint(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let grains_per_mm = rng.random_range(4.0..14.0_f32);
    let steps = rng.random_range(3..7) as f32;
    let px = drawing.px_per_mm as f32;
    let islands = Noise::new(rng);
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(5.0..20.0));
    let mut cover = Plane::zeros(drawing.shape());
    Zip::indexed(&mut cover)
        .and(&drawing.tone)
        .par_for_each(|(y, x), a, &t| {
            let bitten = (t * steps).floor() / steps;
            if bitten <= 0.0 {
                return;
            }
            let place = [x as f32 * grains_per_mm / px, y as f32 * grains_per_mm / px];
            let [first, second] = nearest_two(&islands, place);
            // The channel between two grains: its half width grows with the biting.
            let into_channel = 0.04 + 0.5 * bitten * bitten.sqrt() - 0.5 * (second - first);
            *a = 0.95 * edge.cover(into_channel / grains_per_mm);
        });
    wiping::leave_tone(&mut cover, drawing.px_per_mm, rng);
    cover
}

/// Distances to the nearest and next nearest of points scattered one to a unit cell.
fn nearest_two(noise: &Noise, [x, y]: [f32; 2]) -> [f32; 2] {
    let (i, j) = (x.floor() as i32, y.floor() as i32);
    let mut best = [f32::MAX; 2];
    for v in j - 1..=j + 1 {
        for u in i - 1..=i + 1 {
            let dx = u as f32 + noise.draw(u, v) - x;
            let dy = v as f32 + noise.draw(u, v + 7919) - y;
            let d = dx.hypot(dy);
            if d < best[0] {
                best = [d, best[0]];
            } else if d < best[1] {
                best[1] = d;
            }
        }
    }
    best
}

/// A ground of many passes of a toothed rocker, burnished away in the lights.
pub fn mezzotint(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    // Rockers of 50–100 teeth per inch (handbook figures).
    let teeth_per_mm = rng.random_range(50.0..100.0_f32) / 25.4;
    let px = drawing.px_per_mm as f32;
    let passes: Vec<[f32; 4]> = (0..rng.random_range(9..20))
        .map(|_| {
            let turn: f32 = rng.random_range(0.0..std::f32::consts::PI);
            let pitch = teeth_per_mm * rng.random_range(0.85..1.15);
            [
                pitch * turn.cos(),
                pitch * turn.sin(),
                rng.random_range(0.0..1.0),
                pitch,
            ]
        })
        .collect();
    let shake = Noise::new(rng);
    let burr = gaussian_surface(drawing.shape(), (0.02 * drawing.px_per_mm).max(0.6), rng);
    let scale = 1.0 / (0.5 * passes.len() as f32).sqrt();
    let mut cover = Plane::zeros(drawing.shape());
    Zip::indexed(&mut cover)
        .and(&drawing.tone)
        .par_for_each(|(y, x), a, &t| {
            let (x_mm, y_mm) = (x as f32 / px, y as f32 / px);
            let wobble = 0.35 * shake.at(0.6 * x_mm, 0.6 * y_mm);
            let rocked: f32 = passes
                .iter()
                .map(|[fx, fy, phase, _]| {
                    (std::f32::consts::TAU * (fx * x_mm + fy * y_mm + phase + wobble)).cos()
                })
                .sum();
            let height = 0.8 * scale * rocked + 0.6 * burr[[y, x]];
            // Bare paper does not exist on a rocked plate: the ground is only burnished.
            let dark = t.max(0.02);
            *a = step(-0.35, 0.35, height - deviate_exceeded_by(dark)) * (0.6 + 0.4 * dark);
        });
    cover
}
