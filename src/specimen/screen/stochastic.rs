//! Stochastic screens: equal spots without a lattice.

use super::clustered::covering;
use super::{Frame, Tone, area_mean};
use crate::plane::Plane;
use crate::specimen::texture;
use serde::{Deserialize, Serialize};
use std::sync::OnceLock;

/// How spots are placed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Placement {
    /// A blue-noise threshold array, repeated.
    Mask,
    /// Error diffusion (Floyd & Steinberg 1976) with a noisy threshold, serpentine.
    Diffused {
        /// Half-width of the threshold's noise, 0–0.5.
        noise: f64,
    },
    /// Error diffusion that prefers to grow existing spots (Levien 1992): second-order, "green" noise.
    Clustered {
        /// Strength of the preference, 0–1.
        hysteresis: f64,
    },
}

/// A stochastic screen.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SpotRecipe {
    /// Side of one spot, µm.
    pub spot_um: f64,
    /// How spots are placed.
    pub placement: Placement,
}

/// Share of each pixel of the frame that the plate would ink, 0–1.
#[must_use]
pub fn draw(tone: &Tone, recipe: &SpotRecipe, frame: Frame, key: u64) -> Plane {
    let spots_per_mm = [1000.0 / recipe.spot_um; 2];
    let size = covering(frame, spots_per_mm);
    let wanted = tone.at_grid(spots_per_mm, size);
    let bitmap = placed(wanted, recipe.placement, &[1.0], key);
    area_mean(&bitmap, spots_per_mm, frame)
}

/// Quantises wanted amounts to 0 or one of the ascending `levels`.
#[must_use]
pub fn placed(wanted: Plane, placement: Placement, levels: &[f32], key: u64) -> Plane {
    match placement {
        Placement::Mask => masked(wanted, levels, key),
        Placement::Diffused { noise } => diffused(wanted, levels, noise as f32, 0.0, key),
        Placement::Clustered { hysteresis } => {
            diffused(wanted, levels, 0.1, hysteresis as f32, key)
        }
    }
}

/// Side of the blue-noise array.
const MASK_SIDE: usize = 128;

fn masked(mut wanted: Plane, levels: &[f32], key: u64) -> Plane {
    let mask = blue_mask();
    let offset = [key as usize % MASK_SIDE, (key >> 8) as usize % MASK_SIDE];
    for ((y, x), v) in wanted.indexed_iter_mut() {
        let row = (y + offset[1]) % MASK_SIDE;
        let threshold = mask[row * MASK_SIDE + (x + offset[0]) % MASK_SIDE];
        let (below, above) = bracket(levels, *v);
        let share = if above > below {
            (*v - below) / (above - below)
        } else {
            1.0
        };
        *v = if share > threshold { above } else { below };
    }
    wanted
}

/// The levels on either side of a value (0 counts as one); equal beyond the highest.
fn bracket(levels: &[f32], value: f32) -> (f32, f32) {
    let mut below = 0.0;
    for &level in levels {
        if value < level {
            return (below, level);
        }
        below = level;
    }
    (below, below)
}

/// Thresholds in (0, 1) without low frequencies, wrapping round.
fn blue_mask() -> &'static [f32] {
    static MASK: OnceLock<Vec<f32>> = OnceLock::new();
    MASK.get_or_init(|| {
        const KEY: u64 = 0xB1_0E;
        const ROUNDS: usize = 16;
        let mut mask: Vec<f32> = (0..MASK_SIDE * MASK_SIDE)
            .map(|i| texture::uniform(KEY, i as u64, 0))
            .collect();
        for _ in 0..ROUNDS {
            mask = evenly_ranked(&without_lows(&mask));
        }
        mask
    })
}

/// Takes away a small blur (five by five binomial, wrapping).
fn without_lows(mask: &[f32]) -> Vec<f32> {
    const BINOMIAL: [f32; 5] = [1.0 / 16.0, 4.0 / 16.0, 6.0 / 16.0, 4.0 / 16.0, 1.0 / 16.0];
    let wrap = |i: usize, k: usize| (i + MASK_SIDE + k - 2) % MASK_SIDE;
    let along = |from: &[f32], stride: [usize; 2]| -> Vec<f32> {
        (0..MASK_SIDE * MASK_SIDE)
            .map(|i| {
                let (a, b) = (i / stride[0] % MASK_SIDE, i / stride[1] % MASK_SIDE);
                (0..5)
                    .map(|k| BINOMIAL[k] * from[wrap(a, k) * stride[0] + b * stride[1]])
                    .sum()
            })
            .collect()
    };
    let soft = along(&along(mask, [1, MASK_SIDE]), [MASK_SIDE, 1]);
    mask.iter().zip(&soft).map(|(v, s)| v - s).collect()
}

fn evenly_ranked(values: &[f32]) -> Vec<f32> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]).then(a.cmp(&b)));
    let mut ranks = vec![0.0; values.len()];
    for (rank, &i) in order.iter().enumerate() {
        ranks[i] = (rank as f32 + 0.5) / values.len() as f32;
    }
    ranks
}

/// Serpentine Floyd–Steinberg to several levels.
fn diffused(mut wanted: Plane, levels: &[f32], noise: f32, hysteresis: f32, key: u64) -> Plane {
    let (h, w) = wanted.dim();
    let Some(cells) = wanted.as_slice_mut() else {
        return wanted;
    };
    let mut carried = Carried::new(w);
    for y in 0..h {
        let row = &mut cells[y * w..(y + 1) * w];
        carried.next_row();
        for i in 0..w {
            let forward = y % 2 == 0;
            let x = if forward { i } else { w - 1 - i };
            let value = row[x] + carried.here(x);
            let jitter = noise * (2.0 * texture::uniform(key, x as u64, y as u64) - 1.0);
            let pull = hysteresis * carried.neighbours_on(x);
            let bare = row[x] <= 0.003;
            let chosen = if bare {
                0.0
            } else {
                quantised(levels, value + jitter + pull)
            };
            // A bare place takes no spot and passes no debt on.
            let error = if bare {
                0.0
            } else {
                (value - chosen).clamp(-1.5, 1.5)
            };
            carried.pass(x, forward, error, chosen > 0.0);
            row[x] = chosen;
        }
    }
    wanted
}

fn quantised(levels: &[f32], value: f32) -> f32 {
    let (below, above) = bracket(levels, value.max(0.0));
    if value - below > above - value {
        above
    } else {
        below
    }
}

/// Errors on their way to the rest of this row and to the next, with one place of margin.
struct Carried {
    this: Vec<f32>,
    next: Vec<f32>,
    on_above: Vec<bool>,
    on_here: Vec<bool>,
}

impl Carried {
    fn new(w: usize) -> Self {
        Self {
            this: vec![0.0; w + 2],
            next: vec![0.0; w + 2],
            on_above: vec![false; w + 2],
            on_here: vec![false; w + 2],
        }
    }

    fn next_row(&mut self) {
        std::mem::swap(&mut self.this, &mut self.next);
        self.next.fill(0.0);
        std::mem::swap(&mut self.on_above, &mut self.on_here);
        self.on_here.fill(false);
    }

    fn here(&self, x: usize) -> f32 {
        self.this[x + 1]
    }

    /// Mean of the neighbours already decided: 1 where they are inked, 0 where none is.
    fn neighbours_on(&self, x: usize) -> f32 {
        let on = |b: bool| f32::from(u8::from(b));
        0.5 * (on(self.on_here[x]) + on(self.on_here[x + 2])) + 0.5 * on(self.on_above[x + 1])
    }

    fn pass(&mut self, x: usize, forward: bool, error: f32, on: bool) {
        let (ahead, behind) = if forward { (x + 2, x) } else { (x, x + 2) };
        self.this[ahead] += error * 7.0 / 16.0;
        self.next[behind] += error * 3.0 / 16.0;
        self.next[x + 1] += error * 5.0 / 16.0;
        self.next[ahead] += error / 16.0;
        self.on_here[x + 1] = on;
    }
}
