//! Complex amplitudes of a wave in small patches over the field.

use super::phase::{Frame, Phase};
use super::pyramid::Level;
use rayon::prelude::*;
use rustfft::num_complex::Complex64;

/// Side of a patch in screen periods. Inks 15° apart then lie 2.6 cycles apart, past the first
/// null of the raised-cosine taper (2 cycles).
const PATCH_PERIODS: f64 = 10.0;
/// Least samples per period at the level used; below, averaging pixels eats the signal.
pub const MIN_SAMPLES_PER_PERIOD: f64 = 4.0;
/// Least share of a patch that must be usable.
const MIN_USABLE: f64 = 0.7;
/// Most channels.
pub const CHANNELS: usize = 3;

/// Amplitudes per channel (density, half the peak-to-peak swing) at one place.
pub type Amplitudes = [Complex64; CHANNELS];

/// A patch: its upper left corner in samples of the level and its centre in px.
#[derive(Clone, Copy, Debug)]
pub struct Site {
    corner: (usize, usize),
    /// Centre, px of the photograph.
    pub centre_px: [f64; 2],
}

/// Where the amplitudes are taken.
#[derive(Clone, Debug)]
pub struct Patchwork<'a> {
    level: &'a Level,
    side: usize,
    taper: Vec<f32>,
    /// Patches, row by row.
    pub sites: Vec<Site>,
    /// Distance between neighbouring patches, px.
    pub spacing_px: f64,
}

impl<'a> Patchwork<'a> {
    /// Lays at most about `most` patches over the usable field, at the coarsest level that
    /// still holds the wave.
    #[must_use]
    pub fn lay(levels: &'a [Level], period_px: f64, most: usize) -> Option<Self> {
        let level = levels
            .iter()
            .rev()
            .find(|l| period_px / l.step_px as f64 >= MIN_SAMPLES_PER_PERIOD)
            .or(levels.first())?;
        let (height, width) = level.shape();
        let wanted = (PATCH_PERIODS * period_px / level.step_px as f64).round() as usize;
        // A frame of few periods is still cut in about three a side, for the phase to be compared.
        let side = wanted.clamp(8, (height.min(width) / 3).max(8));
        if side > height.min(width) {
            return None;
        }
        let area = (height - side) as f64 * (width - side) as f64;
        let spacing = (area / most as f64).sqrt().max(side as f64 / 2.0);
        let starts = |length: usize| -> Vec<usize> {
            let room = length - side;
            let count = (room as f64 / spacing).floor() as usize + 1;
            (0..count)
                .map(|i| {
                    if count > 1 {
                        room * i / (count - 1)
                    } else {
                        room / 2
                    }
                })
                .collect()
        };
        let mut sites = Vec::new();
        for &y in &starts(height) {
            for &x in &starts(width) {
                if usable(level, y, x, side) {
                    sites.push(Site {
                        corner: (y, x),
                        centre_px: centre(level, y, x, side),
                    });
                }
            }
        }
        Some(Self {
            level,
            side,
            taper: taper(side),
            sites,
            spacing_px: spacing * level.step_px as f64,
        })
    }

    /// The same patches at full size; none where they are.
    #[must_use]
    pub fn at_full_size(&self, levels: &'a [Level]) -> Option<Self> {
        let level = levels.first()?;
        let step = self.level.step_px / level.step_px;
        let sites = self.sites.iter().map(|site| Site {
            corner: (site.corner.0 * step, site.corner.1 * step),
            ..*site
        });
        (step > 1).then(|| Self {
            level,
            side: self.side * step,
            taper: taper(self.side * step),
            sites: sites.collect(),
            spacing_px: self.spacing_px,
        })
    }

    /// Side of a patch, px.
    #[must_use]
    pub fn side_px(&self) -> f64 {
        (self.side * self.level.step_px) as f64
    }

    /// How many of the patches are independent: neighbours that overlap share what they see.
    #[must_use]
    pub fn independent(&self) -> f64 {
        // A raised cosine holds half of a patch's side in effect.
        let share = (self.spacing_px / (0.6 * self.side_px())).min(1.0);
        self.sites.len() as f64 * share * share
    }

    /// The sites moved by this many half sides along x and y where they stay in the frame.
    #[must_use]
    pub fn moved(&self, half_sides: (usize, usize)) -> Vec<Option<Site>> {
        let (height, width) = self.level.shape();
        let step = (self.side / 2).max(1);
        self.sites
            .iter()
            .map(|site| {
                let (y, x) = (
                    site.corner.0 + half_sides.1 * step,
                    site.corner.1 + half_sides.0 * step,
                );
                (y + self.side <= height && x + self.side <= width).then(|| Site {
                    corner: (y, x),
                    centre_px: centre(self.level, y, x, self.side),
                })
            })
            .collect()
    }

    /// Amplitudes relative to the model's phase at each site.
    #[must_use]
    pub fn amplitudes(&self, frame: &Frame, model: &Phase) -> Vec<Amplitudes> {
        self.sites
            .par_iter()
            .map(|site| self.amplitudes_at(frame, model, site))
            .collect()
    }

    /// Amplitudes relative to the model's phase at one site.
    #[must_use]
    pub fn amplitudes_at(&self, frame: &Frame, model: &Phase, site: &Site) -> Amplitudes {
        let step = self.level.step_px as f64;
        let local = model
            .local_frequency(frame, site.centre_px)
            .map(|f| f * step);
        let middle = (self.side as f64 - 1.0) / 2.0;
        let waves = [0, 1].map(|axis| self.wave(local[axis], middle));
        let turn = Complex64::cis(-std::f64::consts::TAU * model.cycles(frame, site.centre_px));
        let mut out = [Complex64::default(); CHANNELS];
        for (sum, channel) in out.iter_mut().zip(&self.level.channels) {
            *sum = self.project(channel, site.corner, &waves) * turn;
        }
        out
    }

    fn wave(&self, cycles_per_sample: f64, middle: f64) -> (Vec<f32>, Vec<f32>) {
        let turn = -std::f64::consts::TAU * cycles_per_sample;
        let step = Complex64::cis(turn);
        // Turned on from sample to sample: a side is short enough that no error gathers.
        let mut wave = Complex64::cis(-turn * middle);
        self.taper
            .iter()
            .map(|&taper| {
                let here = (wave.re as f32 * taper, wave.im as f32 * taper);
                wave *= step;
                here
            })
            .unzip()
    }

    fn project(
        &self,
        channel: &crate::plane::Plane,
        (y, x): (usize, usize),
        waves: &[(Vec<f32>, Vec<f32>); 2],
    ) -> Complex64 {
        let Some(data) = channel.as_slice() else {
            return Complex64::default();
        };
        let width = channel.dim().1;
        let mut sum = Complex64::default();
        for j in 0..self.side {
            let row = &data[(y + j) * width + x..][..self.side];
            let (re, im) = (dot(row, &waves[0].0), dot(row, &waves[0].1));
            sum += Complex64::new(f64::from(re), f64::from(im))
                * Complex64::new(f64::from(waves[1].0[j]), f64::from(waves[1].1[j]));
        }
        sum
    }
}

fn usable(level: &Level, y: usize, x: usize, side: usize) -> bool {
    // Every fourth sample tells the share well enough.
    let (mut seen, mut good) = (0, 0);
    for j in (0..side).step_by(4) {
        for i in (0..side).step_by(4) {
            seen += 1;
            good += usize::from(level.usable[[y + j, x + i]]);
        }
    }
    f64::from(good as u32) >= MIN_USABLE * f64::from(seen)
}

fn centre(level: &Level, y: usize, x: usize, side: usize) -> [f64; 2] {
    let middle = (side as f64 - 1.0) / 2.0;
    [x, y].map(|corner| level.to_px(corner as f64 + middle))
}

/// Raised cosine of sum 1.
fn taper(side: usize) -> Vec<f32> {
    (0..side)
        .map(|i| {
            let t = (i as f64 + 0.5) / side as f64;
            ((1.0 - (std::f64::consts::TAU * t).cos()) / side as f64) as f32
        })
        .collect()
}

/// Eight running sums, so that the compiler may use vector registers; both parts of a wave in one pass
/// take twice the time of two.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    const LANES: usize = 8;
    let mut sums = [0.0_f32; LANES];
    let (a_blocks, a_rest) = a.as_chunks::<LANES>();
    let (b_blocks, b_rest) = b.as_chunks::<LANES>();
    let rest: f32 = a_rest.iter().zip(b_rest).map(|(x, y)| x * y).sum();
    for (x, y) in a_blocks.iter().zip(b_blocks) {
        sums = std::array::from_fn(|lane| sums[lane] + x[lane] * y[lane]);
    }
    sums.iter().sum::<f32>() + rest
}
