//! Lithographic stones: crayon grain, pen and tusche, scraped lights, the tint stone.

pub mod grain;
pub mod tint;

use super::drawing::Drawing;
use super::drawing::stroke::{Edge, Stroke};
use super::noise::{Noise, mix, step};
use super::plate::{Key, lay_lines};
use crate::plane::Plane;
use grain::Grain;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// How the crayon is handled on one stone.
#[derive(Clone, Copy, Debug)]
struct Crayon {
    /// How much the strokes show, share of the tone.
    stroke: f32,
    /// Width and length of the strokes' texture, mm.
    stroke_mm: [f32; 2],
    /// Direction of the strokes, radians; within the form's own coordinates where `follows`.
    turn: f32,
    /// Whether the strokes follow the form.
    follows: bool,
    /// Tone from which the grain closes to a solid.
    closes: f32,
    /// Tone under which nothing is drawn.
    opens: f32,
    noise: Noise,
}

/// A crayon lithograph of the drawing.
pub fn crayoned(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Key {
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(2.0..20.0));
    let grain = Grain::random(rng);
    let mut tone = crayon_tone(drawing, rng);
    let outlined = rng.random_range(0..10);
    if outlined < 4 {
        // Crayon outlines: pressure, so that the grain shows in them.
        let pressure = rng.random_range(0.55..0.95);
        lay_lines_at(&drawing.outlines, pressure, &mut tone, edge, rng);
    }
    scrape(drawing, &mut tone, rng);
    if rng.random_bool(0.35) {
        // Specks of scum over the bare stone.
        let scum = rng.random_range(0.0005..0.01_f32);
        tone.par_mapv_inplace(|t| t.max(scum));
    }
    let mut cover = grain.print(&tone, drawing.px_per_mm, rng);
    if (4..8).contains(&outlined) {
        let ragged = rng.random_range(0.002..0.012);
        lay_lines(&drawing.outlines, ragged, &mut cover, edge, rng);
    }
    if rng.random_bool(0.3) {
        tusche(drawing, &mut cover, edge, rng);
    }
    lay_lines(&drawing.lettering, 0.004, &mut cover, edge, rng);
    Key {
        grains_per_mm: Some(grain.per_mm),
        ..Key::plain(cover)
    }
}

/// The tone as the crayon lays it: strokes, closing darks, open lights.
fn crayon_tone(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let crayon = Crayon {
        stroke: rng.random_range(0.0..0.7_f32).powi(2) * 1.4,
        stroke_mm: [rng.random_range(0.08..0.6), rng.random_range(1.0..6.0)],
        turn: rng.random_range(0.0..std::f32::consts::PI),
        follows: rng.random_bool(0.6),
        closes: rng.random_range(0.75..1.05),
        opens: rng.random_range(0.0..0.12),
        noise: Noise::new(rng),
    };
    let scale = 1.0 / drawing.px_per_mm as f32;
    let mut tone = drawing.tone.clone();
    Zip::indexed(&mut tone).par_for_each(|(y, x), t| {
        if *t <= 0.0 {
            return;
        }
        let place = if crayon.follows {
            [drawing.along[[y, x]], drawing.across[[y, x]]]
        } else {
            [x as f32 * scale, y as f32 * scale]
        };
        *t = crayon.pressed(*t, place);
    });
    tone
}

impl Crayon {
    fn pressed(&self, tone: f32, [x, y]: [f32; 2]) -> f32 {
        let (c, s) = (self.turn.cos(), self.turn.sin());
        let (along, across) = (c * x + s * y, c * y - s * x);
        let stroke = self
            .noise
            .at(across / self.stroke_mm[0], along / self.stroke_mm[1]);
        let pressed = tone * (1.0 + self.stroke * stroke);
        ((pressed - self.opens) / (self.closes - self.opens).max(0.1)).clamp(0.0, 1.0)
    }
}

fn lay_lines_at(
    strokes: &[Stroke],
    pressure: f32,
    tone: &mut Plane,
    edge: Edge,
    rng: &mut ChaCha8Rng,
) {
    let noise = Noise::new(rng);
    for stroke in strokes {
        let mut broad = stroke.clone();
        broad.widths_mm.iter_mut().for_each(|w| *w *= 1.6);
        broad.lay(tone, edge, pressure, |x, y| {
            0.02 * noise.at(x * 9.0, y * 9.0)
        });
    }
}

/// Scraped lights: fine scratches that take the drawing away again.
fn scrape(drawing: &Drawing, tone: &mut Plane, rng: &mut ChaCha8Rng) {
    if !rng.random_bool(0.2) {
        return;
    }
    let (h, w) = drawing.shape();
    let scale = 1.0 / drawing.px_per_mm as f32;
    let edge = Edge::new(drawing.px_per_mm, 5.0);
    let mut taken = Plane::zeros((h, w));
    let lead: f32 = rng.random_range(0.0..std::f32::consts::TAU);
    for _ in 0..rng.random_range(3..40) {
        let from = [
            rng.random_range(0.0..1.0) * w as f32 * scale,
            rng.random_range(0.0..1.0) * h as f32 * scale,
        ];
        let turn = lead + rng.random_range(-0.2..0.2_f32);
        let length = rng.random_range(0.5..4.0_f32);
        let to = [from[0] + length * turn.cos(), from[1] + length * turn.sin()];
        let middle = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
        let width = rng.random_range(0.03..0.15);
        Stroke::swelling(vec![from, middle, to], width).lay(&mut taken, edge, 1.0, |_, _| 0.0);
    }
    Zip::from(tone)
        .and(&taken)
        .for_each(|t, &gone| *t *= 1.0 - gone);
}

/// Solid areas brushed in with liquid ink: the darkest passages of a few forms.
fn tusche(drawing: &Drawing, cover: &mut Plane, edge: Edge, rng: &mut ChaCha8Rng) {
    let from = rng.random_range(0.6..0.9_f32);
    let noise = Noise::new(rng);
    let chosen: Vec<bool> = (0..256).map(|r| r > 0 && rng.random_bool(0.5)).collect();
    let scale = 1.0 / drawing.px_per_mm as f32;
    Zip::indexed(cover).par_for_each(|(y, x), a| {
        let p = [y, x];
        if !chosen[usize::from(drawing.region[p])] {
            return;
        }
        let wavering = from + 0.1 * noise.rough(x as f32 * scale * 2.5, y as f32 * scale * 2.5);
        let solid = step(wavering - 0.01, wavering + 0.01, drawing.tone[p]);
        let inside = edge.cover(drawing.edge[p]);
        *a = mix(*a, 1.0, solid * inside);
    });
}
