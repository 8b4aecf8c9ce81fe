//! Pages and cloths with no picture: text, bare paper, woven threads.

use crate::plane::Plane;
use crate::specimen::drawing::lettering::Hand;
use crate::specimen::drawing::stroke::Edge;
use crate::specimen::noise::{Noise, step};
use crate::specimen::plate::lay_lines;
use crate::specimen::sheet::Layer;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Lines of invented type.
pub fn text(px_per_mm: f64, size_px: [usize; 2], rng: &mut ChaCha8Rng) -> Plane {
    let [w, h] = size_px;
    let mut cover = Plane::zeros((h, w));
    let edge = Edge::new(px_per_mm, rng.random_range(5.0..30.0));
    // Small letters of 8–14 point type are about 1.3–2.4 mm high.
    let hand = Hand {
        slant: if rng.random_bool(0.2) { 0.25 } else { 0.0 },
        ..Hand::random(rng.random_range(1.2..2.5), rng)
    };
    let sheet = size_px.map(|n| (n as f64 / px_per_mm) as f32);
    let leading = hand.height_mm * rng.random_range(1.9..2.6);
    let mut foot = rng.random_range(0.0..1.0) * leading;
    let margin = rng.random_range(-1.0..0.2_f32) * sheet[0];
    while foot < sheet[1] + leading {
        let strokes = hand.line([margin, foot], sheet[0] - margin, rng);
        lay_lines(&strokes, 0.006, &mut cover, edge, rng);
        foot += leading;
    }
    cover
}

/// Nothing, or the brown spots of foxing; a faint stain now and then.
pub fn blank(px_per_mm: f64, size_px: [usize; 2], rng: &mut ChaCha8Rng) -> Vec<Layer> {
    let mut layers = Vec::new();
    if rng.random_bool(0.5) {
        layers.push(foxing(px_per_mm, size_px, rng));
    }
    layers
}

fn foxing(px_per_mm: f64, [w, h]: [usize; 2], rng: &mut ChaCha8Rng) -> Layer {
    let (spots, rough) = (Noise::new(rng), Noise::new(rng));
    let cell_px = (rng.random_range(0.5..3.0) * px_per_mm) as f32;
    let level = rng.random_range(0.15..0.55_f32);
    let mut film = Plane::zeros((h, w));
    Zip::indexed(&mut film).par_for_each(|(y, x), a| {
        let (x, y) = (x as f32 / cell_px, y as f32 / cell_px);
        let spot = spots.at(x, y) + 0.2 * rough.rough(6.0 * x, 6.0 * y);
        *a = step(level, level + 0.5, spot);
    });
    let strength = rng.random_range(0.3..1.2);
    Layer::film(film, [0.06, 0.13, 0.25].map(|d| d * strength))
}

/// Plain weave, 8–40 threads per cm, in one or two colours.
pub fn cloth(px_per_mm: f64, [w, h]: [usize; 2], rng: &mut ChaCha8Rng) -> Vec<Layer> {
    let threads_per_mm = [
        rng.random_range(0.8..4.0_f32),
        rng.random_range(0.8..4.0_f32),
    ];
    let turn = rng.random_range(-0.4..0.4_f32);
    let (c, s) = (turn.cos(), turn.sin());
    let (slub, fibre) = (Noise::new(rng), Noise::new(rng));
    let scale = 1.0 / px_per_mm as f32;
    let mut shade = Plane::zeros((h, w));
    Zip::indexed(&mut shade).par_for_each(|(y, x), a| {
        let (x, y) = (x as f32 * scale, y as f32 * scale);
        let drag = 0.12 * slub.rough(0.7 * x, 0.7 * y);
        let u = (c * x + s * y) * threads_per_mm[0] + drag;
        let v = (c * y - s * x) * threads_per_mm[1] - drag;
        let over = (u.floor() as i32 + v.floor() as i32).rem_euclid(2) == 0;
        let (across, along) = if over { (u, v) } else { (v, u) };
        let round = 1.0 - (2.0 * (across - across.floor() - 0.5)).powi(2);
        let arch = (std::f32::consts::PI * (along - along.floor())).sin();
        let hair = 0.2 * fibre.rough(across * 5.0, along * 1.5);
        *a = (1.0 - 0.8 * round * (0.5 + 0.5 * arch) + hair).clamp(0.0, 1.4);
    });
    let hue = [0; 3].map(|_| rng.random_range(0.15..1.0));
    vec![Layer::film(shade, hue)]
}
