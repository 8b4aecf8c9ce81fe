//! Inkjet: round drops of a few sizes on a fine grid, scattered by the head and the weave.

use super::clustered::covering;
use super::stochastic::{Placement, placed};
use super::{Frame, Tone};
use crate::plane::Plane;
use crate::specimen::texture;
use serde::{Deserialize, Serialize};

/// How drops fall.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DropRecipe {
    /// Grid, drops per inch along x (the carriage) and y (the feed).
    pub dpi: [f64; 2],
    /// Diameters on paper, ascending, µm.
    pub drop_um: Vec<f64>,
    /// Which grid places get a drop.
    pub placement: Placement,
    /// Standard deviation of a drop's place, µm.
    pub scatter_um: f64,
    /// Standard deviation of a whole row's place (nozzle error, repeating), µm.
    pub weave_um: f64,
    /// Rows after which the same nozzle prints again.
    pub nozzles: u32,
    /// Share of drops with a small satellite.
    pub satellites: f64,
}

/// Share of each pixel of the frame under drops, 0–1.
#[must_use]
pub fn draw(tone: &Tone, recipe: &DropRecipe, frame: Frame, key: u64) -> Plane {
    let per_mm = recipe.dpi.map(|dpi| dpi / 25.4);
    let size = covering(frame, per_mm);
    let cell_um2 = 1e6 / (per_mm[0] * per_mm[1]);
    let amounts: Vec<f32> = recipe
        .drop_um
        .iter()
        .map(|d| (std::f64::consts::FRAC_PI_4 * d * d / cell_um2) as f32)
        .collect();
    let mut wanted = tone.at_grid(per_mm, size);
    let curve = Linearisation::of(recipe, &amounts);
    wanted.mapv_inplace(|area| curve.amount_for(area));
    let chosen = placed(wanted, recipe.placement, &amounts, key);
    splattered(&chosen, recipe, per_mm, frame, key)
}

/// Area covered by flat patches of rising ink amount, as a printer driver measures it once to
/// print the areas that are asked of it.
struct Linearisation {
    /// Amount (drop area per cell) and area covered, both ascending.
    points: Vec<[f32; 2]>,
}

impl Linearisation {
    fn of(recipe: &DropRecipe, amounts: &[f32]) -> Self {
        const STEPS: u32 = 12;
        const CELLS: usize = 40;
        const KEY: u64 = 0x11AE;
        let per_mm = recipe.dpi.map(|dpi| dpi / 25.4);
        // Drawn at two px to the finer side of a cell.
        let px_per_mm = 2.0 * per_mm[0].max(per_mm[1]);
        let frame = Frame {
            px_per_mm,
            size_px: per_mm.map(|n| ((CELLS as f64 - 6.0) / n * px_per_mm) as usize),
        };
        let most = amounts.last().copied().unwrap_or(1.0);
        let mut points = vec![[0.0, 0.0]];
        for step in 1..=STEPS {
            // Finer steps in the lights.
            let amount = most * (step as f32 / STEPS as f32).powf(1.5);
            let patch = Plane::from_elem((CELLS, CELLS), amount);
            let chosen = placed(patch, recipe.placement, amounts, KEY);
            let drawn = splattered(&chosen, recipe, per_mm, frame, KEY);
            let least = points.last().map_or(0.0, |last| last[1]);
            points.push([amount, drawn.mean().unwrap_or(0.0).max(least)]);
        }
        Self { points }
    }

    fn amount_for(&self, area: f32) -> f32 {
        let above = self.points.partition_point(|point| point[1] < area);
        let (Some(low), Some(high)) = (
            self.points.get(above.saturating_sub(1)),
            self.points.get(above.max(1)),
        ) else {
            return self.points.last().map_or(0.0, |last| last[0]);
        };
        let span = (high[1] - low[1]).max(1e-6);
        low[0] + (high[0] - low[0]) * ((area - low[1]) / span).clamp(0.0, 1.0)
    }
}

fn splattered(
    chosen: &Plane,
    recipe: &DropRecipe,
    per_mm: [f64; 2],
    frame: Frame,
    key: u64,
) -> Plane {
    let mut canvas = Canvas::new(frame);
    let (rows, columns) = chosen.dim();
    let cell_mm2 = 1.0 / (per_mm[0] * per_mm[1]);
    for ((row, column), &amount) in chosen.indexed_iter() {
        if amount <= 0.0 {
            continue;
        }
        let noise = |n: u64| f64::from(texture::normal(key ^ (n << 56), column as u64, row as u64));
        let nozzle = row as u64 % u64::from(recipe.nozzles.max(1));
        let weave = f64::from(texture::normal(key ^ 0x3E, nozzle, 0));
        let at_mm = [
            (column as f64 - (columns as f64 - 1.0) / 2.0) / per_mm[0],
            (row as f64 - (rows as f64 - 1.0) / 2.0) / per_mm[1],
        ];
        let off_um = [
            recipe.scatter_um * noise(1),
            recipe.scatter_um * noise(2) + recipe.weave_um * weave,
        ];
        let at_mm = [at_mm[0] + off_um[0] / 1000.0, at_mm[1] + off_um[1] / 1000.0];
        let radius_mm = (f64::from(amount) * cell_mm2 / std::f64::consts::PI).sqrt();
        canvas.drop(at_mm, radius_mm * (1.0 + 0.06 * noise(3)));
        if f64::from(texture::uniform(key ^ 0x5A, column as u64, row as u64)) < recipe.satellites {
            let away = radius_mm * (1.3 + 0.4 * noise(4).abs());
            canvas.drop(
                [at_mm[0] + away, at_mm[1] + 0.2 * away * noise(5)],
                0.3 * radius_mm,
            );
        }
    }
    canvas.bare.mapv_into(|bare| 1.0 - bare)
}

/// Share of each pixel still bare.
struct Canvas {
    bare: Plane,
    px_per_mm: f64,
}

impl Canvas {
    fn new(frame: Frame) -> Self {
        let [w, h] = frame.size_px;
        Self {
            bare: Plane::ones((h, w)),
            px_per_mm: frame.px_per_mm,
        }
    }

    fn drop(&mut self, at_mm: [f64; 2], radius_mm: f64) {
        let (h, w) = self.bare.dim();
        let x = at_mm[0] * self.px_per_mm + (w as f64 - 1.0) / 2.0;
        let y = at_mm[1] * self.px_per_mm + (h as f64 - 1.0) / 2.0;
        let r = radius_mm.max(0.0) * self.px_per_mm;
        // Under this radius a sampled disc would lose or gain area; its area is spread instead.
        const LEAST_DISC_PX: f64 = 0.8;
        if r < LEAST_DISC_PX {
            self.spread(x, y, std::f64::consts::PI * r * r);
            return;
        }
        let clip = |v: f64, top: usize| v.clamp(0.0, top as f64) as usize;
        for row in clip(y - r - 0.5, h)..clip(y + r + 1.5, h) {
            for column in clip(x - r - 0.5, w)..clip(x + r + 1.5, w) {
                let (dx, dy) = (column as f64 - x, row as f64 - y);
                let distance = (dx * dx + dy * dy).sqrt();
                let cover = (r + 0.5 - distance).clamp(0.0, 1.0) as f32;
                self.bare[[row, column]] *= 1.0 - cover;
            }
        }
    }

    /// Shares an area in px² among the four nearest pixels.
    fn spread(&mut self, x: f64, y: f64, area_px: f64) {
        let (h, w) = self.bare.dim();
        let (left, top) = (x.floor(), y.floor());
        let (s, t) = (x - left, y - top);
        let shares = [
            (0.0, 0.0, (1.0 - s) * (1.0 - t)),
            (1.0, 0.0, s * (1.0 - t)),
            (0.0, 1.0, (1.0 - s) * t),
            (1.0, 1.0, s * t),
        ];
        for (dx, dy, share) in shares {
            let (column, row) = (left + dx, top + dy);
            if column < 0.0 || row < 0.0 || column >= w as f64 || row >= h as f64 {
                continue;
            }
            let cover = (area_px * share).min(1.0) as f32;
            self.bare[[row as usize, column as usize]] *= 1.0 - cover;
        }
    }
}
