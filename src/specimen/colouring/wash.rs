//! Watercolour brushed over a printed sheet by hand.

use super::inks;
use crate::plane::Plane;
use crate::specimen::drawing::Drawing;
use crate::specimen::drawing::stroke::{Edge, Stroke};
use crate::specimen::noise::{Noise, gaussian_surface, step};
use crate::specimen::sheet::Layer;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// How one colourist lays one colour.
#[derive(Clone, Copy, Debug)]
struct Brush {
    /// Shift against the outlines, mm.
    off_mm: [f32; 2],
    /// Wavering of its edge, mm (±), and the scale of the wavering, mm.
    waver_mm: [f32; 2],
    /// Darker rim where the wash dried: extra thickness, and width in mm.
    rim: [f32; 2],
    /// Thickness of the even film.
    body: f32,
    /// Slow pooling (±, share) and its scale in mm.
    pool: [f32; 2],
    /// Streaks of the brush (±, share).
    streak: f32,
    /// Granulation (±, share).
    granulation: f32,
    /// Share of the form that is missed, 0–1.
    missed: f32,
    /// Size of the missed places, mm.
    missed_mm: f32,
    /// Fading from one side to the other: direction and strength per mm.
    fade: [f32; 2],
    noise: Noise,
}

impl Brush {
    fn random(frame_mm: f32, rng: &mut ChaCha8Rng) -> Self {
        let careless = rng.random_range(0.0..1.0_f32).powi(2);
        let fade: f32 = if rng.random_bool(0.4) {
            rng.random_range(0.2..1.2) / frame_mm
        } else {
            0.0
        };
        let toward: f32 = rng.random_range(0.0..std::f32::consts::TAU);
        Self {
            off_mm: [
                careless * rng.random_range(-0.7..0.7),
                careless * rng.random_range(-0.7..0.7),
            ],
            waver_mm: [0.03 + 0.4 * careless, rng.random_range(0.3..1.5)],
            rim: [rng.random_range(0.0..0.7), rng.random_range(0.04..0.25)],
            body: rng.random_range(0.35..1.1),
            pool: [rng.random_range(0.0..0.45), rng.random_range(0.6..4.0)],
            streak: rng.random_range(0.0..0.3),
            granulation: rng.random_range(0.0..0.2),
            missed: if rng.random_bool(0.25) {
                rng.random_range(0.0..0.22)
            } else {
                0.0
            },
            fade: [fade * toward.cos(), fade * toward.sin()],
            missed_mm: frame_mm * rng.random_range(0.1..0.4),
            noise: Noise::new(rng),
        }
    }

    /// Where the brush thinks it is when it stands at a place: its careless aim.
    fn aim(&self, [x, y]: [f32; 2]) -> [f32; 2] {
        let [far, scale] = self.waver_mm;
        [
            x + self.off_mm[0] + far * self.noise.at(x / scale, y / scale),
            y + self.off_mm[1] + far * self.noise.at(y / scale + 40.0, x / scale),
        ]
    }

    /// Thickness of the film at a place that lies `inside_mm` within the brushed shape.
    fn film(
        &self,
        [x, y]: [f32; 2],
        along_mm: f32,
        across_mm: f32,
        inside_mm: f32,
        grain: f32,
    ) -> f32 {
        let n = &self.noise;
        if self.missed > 0.0
            && 0.5 + 0.6 * n.at(x / self.missed_mm + 90.0, y / self.missed_mm) < self.missed
        {
            return 0.0;
        }
        let rim = self.rim[0] * (-inside_mm / self.rim[1]).exp();
        let pool = self.pool[0] * n.rough(x / self.pool[1], y / self.pool[1] + 17.0);
        let streak = self.streak * n.at(across_mm * 2.5, along_mm * 0.35 + 60.0);
        let fade = self.fade[0] * x + self.fade[1] * y;
        let fade = 0.6 + 0.4 * (1.0 - fade.abs()).max(-0.5);
        let film =
            self.body * fade * (1.0 + pool + streak + self.granulation * grain) + rim * self.body;
        film.max(0.0)
    }
}

/// Grain of the pigment, mm.
const PIGMENT_MM: f64 = 0.04;
/// Share of the sheet that must carry wash for it to count as hand coloured.
pub const LEAST_WASHED: f64 = 0.1;

/// Washes seldom leave no paper bare in a whole view: where they would cover more of it than this,
/// they stop along an edge within it instead, but for one sheet in so many.
const MOST_WASHED: f64 = 0.92;
const FLOODED_ONE_IN: u32 = 12;

/// One to five washes over the parts of a drawing, with now and then touches of body colour.
pub fn brushed(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Vec<Layer> {
    let hues = rng.random_range(1..=5);
    let grain_px = (PIGMENT_MM * drawing.px_per_mm).max(0.7);
    let grain = gaussian_surface(drawing.shape(), grain_px, rng);
    let mut layers: Vec<Layer> = (0..hues)
        .map(|hue| {
            let regions = regions_of(drawing, hue, hues, rng);
            wash(drawing, &regions, &grain, rng)
        })
        .collect();
    if washed_share(&layers) < LEAST_WASHED {
        layers.push(wash(drawing, &[true; 256], &grain, rng));
    }
    if !rng.random_ratio(1, FLOODED_ONE_IN) {
        leave_paper(drawing, &mut layers, rng);
    }
    layers.retain(|layer| layer.cover.iter().any(|&a| a > 0.0));
    if rng.random_bool(0.2) {
        layers.push(touches(drawing, rng));
    }
    layers
}

/// Ends all washes along one wavering edge where together they cover the view.
fn leave_paper(drawing: &Drawing, layers: &mut [Layer], rng: &mut ChaCha8Rng) {
    let covered = drawing.share_of_middle(|p| layers.iter().any(|layer| layer.cover[p] > 0.1));
    if covered <= MOST_WASHED {
        return;
    }
    let (h, w) = drawing.shape();
    let px = drawing.px_per_mm as f32;
    let side_mm = w.min(h) as f32 / px;
    let turn: f32 = rng.random_range(0.0..std::f32::consts::TAU);
    let border_mm = 0.35 * side_mm * rng.random_range(0.1..0.8_f32);
    let noise = Noise::new(rng);
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(8.0..60.0));
    for layer in layers {
        Zip::indexed(&mut layer.cover).par_for_each(|(y, x), a| {
            let at = [
                x as f32 / px - 0.5 * w as f32 / px,
                y as f32 / px - 0.5 * h as f32 / px,
            ];
            let waver = 0.1 * side_mm * noise.rough(2.0 * at[0] / side_mm, 2.0 * at[1] / side_mm);
            *a *= edge.cover(border_mm + waver - (turn.cos() * at[0] + turn.sin() * at[1]));
        });
    }
}

/// Which forms get this colour; a few get two, one over the other.
fn regions_of(drawing: &Drawing, hue: usize, hues: usize, rng: &mut ChaCha8Rng) -> Vec<bool> {
    let mut regions = vec![false; 256];
    for (i, region) in regions
        .iter_mut()
        .skip(1)
        .take(drawing.forms.len())
        .enumerate()
    {
        *region = if i % hues == hue {
            rng.random_bool(0.85)
        } else {
            rng.random_bool(0.08)
        };
    }
    regions
}

fn washed_share(layers: &[Layer]) -> f64 {
    let Some(first) = layers.first() else {
        return 0.0;
    };
    let mut any = Plane::zeros(first.cover.raw_dim());
    for layer in layers {
        any.zip_mut_with(&layer.cover, |a, &b| *a = a.max(b));
    }
    any.iter().filter(|&&a| a > 0.1).count() as f64 / any.len().max(1) as f64
}

fn wash(drawing: &Drawing, regions: &[bool], grain: &Plane, rng: &mut ChaCha8Rng) -> Layer {
    let (h, w) = drawing.shape();
    let px = drawing.px_per_mm as f32;
    let frame_mm = w.max(h) as f32 / px;
    let brush = Brush::random(frame_mm.max(0.1), rng);
    let edge = Edge::new(drawing.px_per_mm, rng.random_range(8.0..60.0));
    let blot = rng
        .random_bool(0.25)
        .then(|| (Noise::new(rng), rng.random_range(-0.3..0.2)));
    let last = [(w as f32 - 1.0) / px, (h as f32 - 1.0) / px];
    let mut film = Plane::zeros((h, w));
    Zip::indexed(&mut film).par_for_each(|(y, x), a| {
        let place = [x as f32 / px, y as f32 / px];
        let aim = brush.aim(place);
        let aim = [aim[0].clamp(0.0, last[0]), aim[1].clamp(0.0, last[1])];
        let Some(p) = drawing.pixel_at(aim) else {
            return;
        };
        if !regions[usize::from(drawing.region[p])] {
            return;
        }
        let mut inside = drawing.edge[p];
        if let Some((noise, level)) = blot {
            // A wash that stops within the form, along an edge of its own.
            let own = noise.rough(2.2 * place[0] / frame_mm, 2.2 * place[1] / frame_mm) - level;
            inside = inside.min(own * 0.3 * frame_mm);
        }
        if inside > -0.1 {
            let thick = brush.film(
                place,
                drawing.along[p],
                drawing.across[p],
                inside.max(0.0),
                grain[[y, x]],
            );
            *a = thick * edge.cover(inside);
        }
    });
    Layer::film(film, inks::density_of_lab(inks::watercolour(rng)))
}

/// Small opaque touches: lights put back in white, or spots of strong colour.
fn touches(drawing: &Drawing, rng: &mut ChaCha8Rng) -> Layer {
    let (h, w) = drawing.shape();
    let scale = 1.0 / drawing.px_per_mm as f32;
    let mut cover = Plane::zeros((h, w));
    let edge = Edge::new(drawing.px_per_mm, 20.0);
    for _ in 0..rng.random_range(2..15) {
        let from = [
            rng.random_range(0.0..1.0) * w as f32 * scale,
            rng.random_range(0.0..1.0) * h as f32 * scale,
        ];
        let reach = [
            rng.random_range(-0.8..0.8_f32),
            rng.random_range(-0.8..0.8_f32),
        ];
        let bend = rng.random_range(-0.2..0.2);
        let middle = [
            from[0] + 0.5 * reach[0] + bend,
            from[1] + 0.5 * reach[1] - bend,
        ];
        let to = [from[0] + reach[0], from[1] + reach[1]];
        let touch = Stroke::swelling(vec![from, middle, to], rng.random_range(0.08..0.4));
        touch.lay(&mut cover, edge, rng.random_range(0.6..0.98), |_, _| 0.0);
    }
    cover.par_mapv_inplace(|a| a * step(0.0, 0.3, a));
    Layer::opaque(cover, inks::density_of_lab(inks::body_colour(rng)))
}
