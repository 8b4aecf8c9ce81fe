//! Relief blocks: white-line wood engraving and black-line woodcut.

use crate::plane::Plane;
use crate::specimen::drawing::Drawing;
use crate::specimen::drawing::stroke::Edge;
use crate::specimen::noise::{Noise, mix};
use crate::specimen::plate::hatch::Hatch;
use crate::specimen::plate::lay_lines;
use crate::specimen::plate::manner::{Manner, systems};
use crate::specimen::screen::press::{self, Rim};
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// White lines cut out of a black block: wide in the lights, narrow in the darks.
pub fn engraved(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(5.0..25.0));
    let mut lights = drawing.clone();
    // Nothing but the cleared ground is left quite white within a form.
    lights
        .tone
        .par_mapv_inplace(|t| (1.0 - t).clamp(0.02, 0.97));
    let mut white = Plane::zeros(drawing.shape());
    let first = Hatch {
        from_tone: 0.04,
        fill: [0.1, 0.9],
        dash_mm: 0.0,
        ..systems(Manner::Burin, rng)[0]
    };
    let crossed = Hatch {
        turn: rng.random_range(0.5..1.5),
        from_tone: rng.random_range(0.4..0.8),
        noise: Noise::new(rng),
        ..first
    };
    first.lay(&lights, |p| drawing.region[p] > 0, &mut white, edge);
    if rng.random_bool(0.6) {
        crossed.lay(&lights, |p| drawing.region[p] > 0, &mut white, edge);
    }
    let mut cover = Plane::zeros(drawing.shape());
    Zip::indexed(&mut cover)
        .and(&white)
        .par_for_each(|(y, x), a, &gone| {
            let inside = edge.cover(drawing.edge[[y, x]]);
            *a = if drawing.region[[y, x]] > 0 {
                inside * (1.0 - gone)
            } else {
                0.0
            };
        });
    lay_lines(&drawing.outlines, 0.004, &mut cover, edge, rng);
    lay_lines(&drawing.lettering, 0.004, &mut cover, edge, rng);
    squeezed(&mut cover, drawing.px_per_mm, rng);
    cover
}

/// Coarse black lines left standing by the knife.
pub fn cut(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Plane {
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(8.0..40.0));
    let mut cover = Plane::zeros(drawing.shape());
    let coarse = Hatch {
        pitch_mm: rng.random_range(0.4..1.1),
        fill: [rng.random_range(0.2..0.35), rng.random_range(0.5..0.8)],
        from_tone: rng.random_range(0.2..0.45),
        dash_mm: 0.0,
        ragged_mm: rng.random_range(0.01..0.03),
        thinnest_mm: 0.1,
        wander: 0.3,
        ..systems(Manner::Etched, rng)[0]
    };
    coarse.lay(drawing, |p| drawing.region[p] > 0, &mut cover, edge);
    let mut bold = drawing.outlines.clone();
    let weight = rng.random_range(1.5..3.0);
    for stroke in &mut bold {
        stroke
            .widths_mm
            .iter_mut()
            .for_each(|w| *w = (*w * weight).max(0.15));
    }
    lay_lines(&bold, 0.02, &mut cover, edge, rng);
    lay_lines(&drawing.lettering, 0.01, &mut cover, edge, rng);
    squeezed(&mut cover, drawing.px_per_mm, rng);
    cover
}

/// Relief ink squeezed to the edges of a mark, thinner and speckled within.
fn squeezed(cover: &mut Plane, px_per_mm: f64, rng: &mut ChaCha8Rng) {
    let starved = rng.random_range(0.0..0.35_f32);
    let noise = Noise::new(rng);
    let rim = Rim {
        width_mm: rng.random_range(0.02..0.06),
        hollow: rng.random_range(0.0..0.35),
    };
    press::hollow_out(cover, rim, px_per_mm);
    let fine = 1.0 / (0.03 * px_per_mm as f32).max(1.0);
    Zip::indexed(cover).par_for_each(|(y, x), a| {
        let speck = noise.rough(x as f32 * fine, y as f32 * fine).max(0.0);
        *a *= mix(1.0, 1.0 - speck, starved);
    });
}
