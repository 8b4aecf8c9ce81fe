//! The tint stone: one flat, transparent colour over the sheet, a shape or a bordered field.

use crate::plane::Plane;
use crate::specimen::colouring::inks;
use crate::specimen::drawing::Drawing;
use crate::specimen::drawing::stroke::{Edge, Stroke};
use crate::specimen::noise::{Noise, gaussian_surface, step};
use crate::specimen::sheet::Layer;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// What the tint covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TintField {
    /// The whole frame: no bare paper is seen.
    Whole,
    /// A field with a straight border that crosses the frame.
    Bordered,
    /// The drawn subject.
    Shape,
    /// A field that fades out.
    Vignette,
}

/// A printed tint with its truth.
#[derive(Clone, Debug)]
pub struct Tint {
    /// The film.
    pub layer: Layer,
    /// Its CIELAB on white paper, where it lies.
    pub lab: [f64; 3],
    /// Share of the sheet that it covers, 0–1.
    pub share: f64,
}

/// Cover from which a pixel counts as tinted.
const TINTED: f32 = 0.5;
/// A frame with less tint than this would not show that the sheet is tinted.
const LEAST_TINTED: f64 = 0.15;

/// A subject that fills the frame more than this is given a border instead, so that some paper shows.
const MOST_TINTED: f64 = 0.92;

/// Share of the sheet under tint, 0–1.
fn tinted_share(cover: &Plane) -> f64 {
    cover.iter().filter(|&&a| a >= TINTED).count() as f64 / cover.len().max(1) as f64
}

/// A tint for a drawing: buff, straw, grey-blue, greenish, rose or grey, ΔE00 4–30 from paper.
pub fn printed(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Tint {
    // A photograph taken as asked for has bare paper in view; now and then one has none.
    let field = match rng.random_range(0..12) {
        0 => TintField::Whole,
        1..5 => TintField::Bordered,
        5..11 => TintField::Shape,
        _ => TintField::Vignette,
    };
    let mut cover = field_cover(field, drawing, rng);
    cut_lights(drawing, &mut cover, rng);
    let seen = drawing.share_of_middle(|p| cover[p] >= TINTED);
    if seen < LEAST_TINTED || field != TintField::Whole && seen > MOST_TINTED {
        cover = bordered(drawing, rng);
    }
    let mottle = mottled(&mut cover, drawing.px_per_mm, rng);
    let density = inks::density_of_lab(inks::tint(rng));
    let share = tinted_share(&cover);
    let film = density.map(|d| 1.0 - mottle + mottle * 10.0_f64.powf(-d));
    Tint {
        layer: Layer::ink(cover, density),
        lab: inks::lab_of_linear(film),
        share,
    }
}

fn field_cover(field: TintField, drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let shape = drawing.shape();
    match field {
        TintField::Whole => Plane::ones(shape),
        TintField::Bordered => bordered(drawing, rng),
        TintField::Shape => shaped(drawing, rng),
        TintField::Vignette => vignette(drawing, rng),
    }
}

fn bordered(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let (h, w) = drawing.shape();
    let scale = 1.0 / drawing.px_per_mm as f32;
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(5.0..40.0));
    let turn: f32 = rng.random_range(0.0..std::f32::consts::TAU);
    let (c, s) = (turn.cos(), turn.sin());
    let reach = 0.35 * (w.min(h) as f32) * scale;
    let border = reach * rng.random_range(-0.6..0.8);
    let noise = Noise::new(rng);
    let middle = [0.5 * w as f32 * scale, 0.5 * h as f32 * scale];
    Plane::from_shape_fn((h, w), |(y, x)| {
        let [x, y] = [x as f32 * scale - middle[0], y as f32 * scale - middle[1]];
        let rough = 0.02 * noise.at(8.0 * x, 8.0 * y);
        edge.cover(border + rough - (c * x + s * y))
    })
}

/// The subject, out of register by up to 0.8 mm.
fn shaped(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let (h, w) = drawing.shape();
    let px = drawing.px_per_mm as f32;
    let off = [
        rng.random_range(-0.8..0.8_f32),
        rng.random_range(-0.8..0.8_f32),
    ];
    let waver = rng.random_range(0.0..0.25_f32);
    let noise = Noise::new(rng);
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(5.0..30.0));
    Plane::from_shape_fn((h, w), |(y, x)| {
        let [x, y] = [x as f32 / px, y as f32 / px];
        let shift = waver * noise.rough(1.5 * x, 1.5 * y);
        let place = [x + off[0] + shift, y + off[1] - shift];
        // Beyond the frame the subject goes on as at the border.
        let place = [
            place[0].clamp(0.0, (w as f32 - 1.0) / px),
            place[1].clamp(0.0, (h as f32 - 1.0) / px),
        ];
        drawing.pixel_at(place).map_or(0.0, |p| {
            if drawing.region[p] > 0 {
                edge.cover(drawing.edge[p])
            } else {
                0.0
            }
        })
    })
}

fn vignette(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let (h, w) = drawing.shape();
    let side = w.max(h) as f32;
    let noise = Noise::new(rng);
    let grain = gaussian_surface((h, w), (0.02 * drawing.px_per_mm).max(0.6), rng);
    let radius = rng.random_range(0.3..0.7_f32);
    Plane::from_shape_fn((h, w), |(y, x)| {
        let (u, v) = (
            (x as f32 - 0.5 * w as f32) / side,
            (y as f32 - 0.5 * h as f32) / side,
        );
        let fade = radius + 0.15 * noise.at(3.0 * u, 3.0 * v) - u.hypot(v);
        step(-0.05, 0.05, fade + 0.03 * grain[[y, x]])
    })
}

/// Highlights: cut hard out of the tint where the drawing is lightest, or scraped out of it.
fn cut_lights(drawing: &Drawing, cover: &mut Plane, rng: &mut ChaCha8Rng) {
    match rng.random_range(0..10) {
        0..2 => {
            let limit = rng.random_range(0.05..0.2_f32);
            Zip::from(cover)
                .and(&drawing.tone)
                .and(&drawing.region)
                .for_each(|a, &t, &r| {
                    if r > 0 {
                        *a *= step(limit - 0.01, limit + 0.01, t);
                    }
                });
        }
        2..5 => scrape_lights(drawing, cover, rng),
        _ => {}
    }
}

fn scrape_lights(drawing: &Drawing, cover: &mut Plane, rng: &mut ChaCha8Rng) {
    let (h, w) = drawing.shape();
    let scale = 1.0 / drawing.px_per_mm as f32;
    let sheet = [w as f32 * scale, h as f32 * scale];
    let edge = Edge::new(drawing.px_per_mm, 8.0);
    let mut taken = Plane::zeros((h, w));
    for _ in 0..rng.random_range(1..12) {
        let mut at = [
            rng.random_range(0.0..1.0) * sheet[0],
            rng.random_range(0.0..1.0) * sheet[1],
        ];
        let mut turn: f32 = rng.random_range(0.0..std::f32::consts::TAU);
        let stride = rng.random_range(0.1..0.5_f32);
        let mut places = vec![at];
        for _ in 0..6 {
            at = [at[0] + stride * turn.cos(), at[1] + stride * turn.sin()];
            turn += rng.random_range(-0.4..0.4);
            places.push(at);
        }
        let width = rng.random_range(0.08..0.6);
        Stroke::swelling(places, width).lay(&mut taken, edge, 1.0, |_, _| 0.0);
    }
    Zip::from(cover)
        .and(&taken)
        .for_each(|a, &gone| *a *= 1.0 - gone);
}

/// Slight unevenness of the film; gives the mean cover of a tinted pixel.
fn mottled(cover: &mut Plane, px_per_mm: f64, rng: &mut ChaCha8Rng) -> f64 {
    let depth = rng.random_range(0.0..0.12_f32);
    let cell_mm = rng.random_range(0.03..0.3_f32);
    let (patches, cloud) = (Noise::new(rng), Noise::new(rng));
    let scale = 1.0 / px_per_mm as f32;
    Zip::indexed(&mut *cover).par_for_each(|(y, x), a| {
        let (x, y) = (x as f32 * scale, y as f32 * scale);
        let rough = patches.rough(x / cell_mm, y / cell_mm) + 0.5 * cloud.at(0.3 * x, 0.3 * y);
        *a *= 1.0 - depth * (0.5 + 0.33 * rough).clamp(0.0, 1.0);
    });
    let tinted: Vec<f64> = cover
        .iter()
        .filter(|&&a| a >= TINTED)
        .map(|&a| f64::from(a))
        .collect();
    tinted.iter().sum::<f64>() / tinted.len().max(1) as f64
}
