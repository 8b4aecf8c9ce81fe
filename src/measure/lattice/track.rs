//! Following one frequency over the field: its phase model, coherence and colour.

use super::demodulate::{Amplitudes, CHANNELS, Patchwork};
use super::phase::{Frame, Phase, TERMS, Warp, wrapped};
use super::pyramid::Level;
use super::solve::Normal;
use rustfft::num_complex::Complex64;

/// Patches for the first, rough model.
const ROUGH_SITES: usize = 40;
/// Patches for the phase itself.
const FINE_SITES: usize = 160;
/// Fewest patches from which a model is fitted.
const MIN_SITES: usize = 6;
/// Pull on the bend towards a flat sheet, as a share of the mean diagonal: only matters where
/// the data leave the bend open.
const RIDGE: f64 = 1e-4;
/// Patches weigh by their power, up to that of this quantile: a screen that fills a sixth of the
/// field is still heard over patches without it, and no single spot speaks for the field.
const STRENGTH_QUANTILE: f64 = 0.85;
/// Smallest scale of the robust weights, cycles: pixel rounding alone leaves about this.
const MIN_SCALE_CYCLES: f64 = 0.01;

/// What one patch says of the phase.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// Centre of the patch, px.
    pub at_px: [f64; 2],
    /// Amplitudes relative to the model the patch was read with.
    pub amplitudes: Amplitudes,
}

/// One frequency followed over the field.
#[derive(Clone, Debug)]
pub struct Track {
    /// The phase model.
    pub phase: Phase,
    /// Model the samples were read with.
    pub read_with: Phase,
    /// Readings.
    pub samples: Vec<Sample>,
    /// Independent patches among the samples.
    pub independent: f64,
    /// … less where few of them carry the weight.
    pub effective: f64,
    /// Share of the power that keeps step with the model, about 0 for noise, 1 for a screen.
    pub coherence: f64,
    /// Mean amplitude in step, per channel, density: the colour of the modulation.
    pub colour: [f64; CHANNELS],
    /// Weighted scatter of the phase about the model, cycles.
    pub scatter_cycles: f64,
    /// Standard error of each component of the frequency, cycles per px.
    pub frequency_se: f64,
}

/// Follows a frequency with a model of its own; `None` where the field holds too few patches.
#[must_use]
pub fn follow(levels: &[Level], frame: &Frame, frequency: [f64; 2]) -> Option<Track> {
    let period_px = 1.0 / frequency[0].hypot(frequency[1]);
    let rough = Patchwork::lay(levels, period_px, ROUGH_SITES)?;
    if rough.sites.len() < MIN_SITES {
        return None;
    }
    let mut phase = Phase::plane(frequency);
    for free_terms in [0, 3, TERMS] {
        phase = steepen(&rough, frame, &phase, free_terms)?;
    }
    let mut track = read(levels, frame, &phase)?;
    track.fit(frame, true);
    Some(track)
}

/// Follows a frequency on a sheet whose bend is already known.
#[must_use]
pub fn follow_bent(
    levels: &[Level],
    frame: &Frame,
    warp: &Warp,
    frequency: [f64; 2],
) -> Option<Track> {
    let period_px = 1.0 / frequency[0].hypot(frequency[1]);
    let rough = Patchwork::lay(levels, period_px, ROUGH_SITES)?;
    if rough.sites.len() < MIN_SITES {
        return None;
    }
    let mut phase = Phase {
        bend: warp.bend(frequency),
        ..Phase::plane(frequency)
    };
    phase = steepen(&rough, frame, &phase, 0)?;
    phase.bend = warp.bend(phase.frequency);
    let mut track = read(levels, frame, &phase)?;
    track.fit(frame, false);
    Some(track)
}

/// Mends the model by the phase steps inside patches, which cannot be off by a whole cycle.
fn steepen(work: &Patchwork, frame: &Frame, model: &Phase, free_terms: usize) -> Option<Phase> {
    let here = work.amplitudes(frame, model);
    let mut steps: Vec<([f64; 2 + TERMS], Complex64)> = Vec::new();
    for direction in [(1, 0), (0, 1)] {
        for ((site, moved), base) in work.sites.iter().zip(work.moved(direction)).zip(&here) {
            let Some(moved) = moved else { continue };
            let there = work.amplitudes_at(frame, model, &moved);
            let cross: Complex64 = there.iter().zip(base).map(|(t, b)| t * b.conj()).sum();
            steps.push((step_row(frame, site.centre_px, moved.centre_px), cross));
        }
    }
    let limit = quantile(steps.iter().map(|(_, c)| c.norm()).collect());
    let unknowns = 2 + free_terms;
    let mut normal = Normal::new(unknowns);
    for (row, cross) in &steps {
        let value = cross.arg() / std::f64::consts::TAU;
        normal.add(
            &row[..unknowns],
            value,
            cross.norm().min(limit) / limit.max(1e-30),
        );
    }
    normal.add_ridge(2, RIDGE);
    let (solution, _) = normal.solve()?;
    let mut mended = model.clone();
    apply(&mut mended, 0.0, &scaled_back(frame, &solution));
    Some(mended)
}

/// Coefficients of the phase step between two places: frequency then bend.
fn step_row(frame: &Frame, from_px: [f64; 2], to_px: [f64; 2]) -> [f64; 2 + TERMS] {
    let (a, b) = (phase_row(frame, from_px), phase_row(frame, to_px));
    std::array::from_fn(|i| b[i + 1] - a[i + 1])
}

fn apply(phase: &mut Phase, offset: f64, frequency_then_bend: &[f64]) {
    phase.offset += offset;
    for (i, &change) in frequency_then_bend.iter().enumerate() {
        if i < 2 {
            phase.frequency[i] += change;
        } else {
            phase.bend[i - 2] += change;
        }
    }
}

fn read(levels: &[Level], frame: &Frame, phase: &Phase) -> Option<Track> {
    let period_px = 1.0 / phase.frequency[0].hypot(phase.frequency[1]);
    let work = Patchwork::lay(levels, period_px, FINE_SITES)?;
    if work.sites.len() < MIN_SITES {
        return None;
    }
    let amplitudes = work.amplitudes(frame, phase);
    let samples = work
        .sites
        .iter()
        .zip(amplitudes)
        .map(|(site, amplitudes)| Sample {
            at_px: site.centre_px,
            amplitudes,
        })
        .collect();
    Some(Track {
        phase: phase.clone(),
        read_with: phase.clone(),
        samples,
        independent: work.independent(),
        effective: 0.0,
        coherence: 0.0,
        colour: [0.0; CHANNELS],
        scatter_cycles: 0.5,
        frequency_se: f64::INFINITY,
    })
}

impl Track {
    /// Cycles per px at the centre.
    #[must_use]
    pub fn magnitude(&self) -> f64 {
        self.phase.frequency[0].hypot(self.phase.frequency[1])
    }

    /// Length of the colour vector: density amplitude over all channels.
    #[must_use]
    pub fn strength(&self) -> f64 {
        self.colour.iter().map(|c| c * c).sum::<f64>().sqrt()
    }

    /// Per sample: position, phase residual in cycles about the present model, and weight.
    #[must_use]
    pub fn residuals(&self, frame: &Frame) -> Vec<([f64; 2], f64, f64)> {
        let tint = self.tint();
        let joined: Vec<Complex64> = self
            .samples
            .iter()
            .map(|s| s.amplitudes.iter().zip(tint).map(|(z, t)| z * t).sum())
            .collect();
        let limit = quantile(joined.iter().map(|z| z.norm()).collect());
        self.samples
            .iter()
            .zip(joined)
            .map(|(sample, z)| {
                let change = self.phase.cycles(frame, sample.at_px)
                    - self.read_with.cycles(frame, sample.at_px);
                let residual = wrapped(z.arg() / std::f64::consts::TAU - change);
                (
                    sample.at_px,
                    residual,
                    (z.norm().min(limit) / limit.max(1e-30)).powi(2),
                )
            })
            .collect()
    }

    /// Fits offset and frequency, and the bend where `bend_free`, to the readings.
    fn fit(&mut self, frame: &Frame, bend_free: bool) {
        const ROUNDS: usize = 5;
        self.centre_offset(frame);
        for round in 0..ROUNDS {
            let residuals = self.residuals(frame);
            let scale = scale_of(&residuals);
            // The bend joins once the wave is in step, so that wraps do not bend it.
            let unknowns = if bend_free && round > 0 { 3 + TERMS } else { 3 };
            let mut normal = Normal::new(unknowns);
            for &(at, residual, weight) in &residuals {
                let row = phase_row(frame, at);
                let robust = weight / (1.0 + (residual / scale).powi(2));
                normal.add(&row[..unknowns], residual, robust);
            }
            normal.add_ridge(3, RIDGE);
            let Some((solution, inverse)) = normal.solve() else {
                break;
            };
            self.frequency_se = self.standard_error(frame, scale, &inverse, unknowns);
            apply(
                &mut self.phase,
                solution[0],
                &scaled_back(frame, &solution[1..]),
            );
        }
        self.weigh_up(frame);
    }

    /// Standard error of the frequency: overlapping patches count once.
    fn standard_error(&self, frame: &Frame, scale: f64, inverse: &[f64], unknowns: usize) -> f64 {
        let variance = inverse[unknowns + 1].max(inverse[2 * unknowns + 2]);
        let inflation = self.samples.len() as f64 / self.independent.max(1.0);
        scale * (variance * inflation).sqrt() / frame.radius_px
    }

    fn centre_offset(&mut self, frame: &Frame) {
        let residuals = self.residuals(frame);
        let sum: Complex64 = residuals
            .iter()
            .map(|&(_, r, w)| Complex64::from_polar(w, std::f64::consts::TAU * r))
            .sum();
        self.phase.offset += sum.arg() / std::f64::consts::TAU;
    }

    /// Brings coherence, colour and scatter up to the present model.
    pub fn weigh_up(&mut self, frame: &Frame) {
        let residuals = self.residuals(frame);
        let total: f64 = residuals.iter().map(|r| r.2).sum();
        let in_step: f64 = residuals
            .iter()
            .map(|&(_, r, w)| w * (std::f64::consts::TAU * r).cos())
            .sum();
        // Patches of unequal weight count for fewer.
        let squares: f64 = residuals.iter().map(|r| r.2 * r.2).sum();
        self.effective =
            self.independent * total * total / (squares * residuals.len().max(1) as f64).max(1e-30);
        self.coherence = (in_step / total.max(1e-30)).clamp(0.0, 1.0);
        self.scatter_cycles = scale_of(&residuals);
        let mut colour = [0.0; CHANNELS];
        for sample in &self.samples {
            let change =
                self.phase.cycles(frame, sample.at_px) - self.read_with.cycles(frame, sample.at_px);
            let turn = Complex64::cis(-std::f64::consts::TAU * change);
            for (sum, z) in colour.iter_mut().zip(&sample.amplitudes) {
                *sum += (z * turn).re;
            }
        }
        self.colour = colour.map(|c| c / self.samples.len().max(1) as f64);
    }

    /// The direction in channel space that holds most of the modulation: first eigenvector of
    /// the real part of the cross-spectral matrix, by power iteration.
    fn tint(&self) -> [f64; CHANNELS] {
        let mut matrix = [[0.0; CHANNELS]; CHANNELS];
        for sample in &self.samples {
            for (i, a) in sample.amplitudes.iter().enumerate() {
                for (j, b) in sample.amplitudes.iter().enumerate() {
                    matrix[i][j] += (a * b.conj()).re;
                }
            }
        }
        let mut vector = [1.0, 1.0, 1.0];
        for _ in 0..40 {
            let next: [f64; CHANNELS] =
                std::array::from_fn(|i| (0..CHANNELS).map(|j| matrix[i][j] * vector[j]).sum());
            let length = next.iter().map(|v| v * v).sum::<f64>().sqrt();
            if length <= 1e-30 {
                break;
            }
            vector = next.map(|v| v / length);
        }
        // An ink darkens: let the main channel count up.
        let sign = if vector.iter().sum::<f64>() < 0.0 {
            -1.0
        } else {
            1.0
        };
        vector.map(|v| v * sign)
    }
}

/// Coefficients of the phase at a place, with positions in half diagonals so that the unknowns
/// are of one size: offset, frequency, bend.
pub(super) fn phase_row(frame: &Frame, at_px: [f64; 2]) -> [f64; 3 + TERMS] {
    let (unit, terms) = (frame.unit(at_px), frame.terms(at_px));
    std::array::from_fn(|i| match i {
        0 => 1.0,
        1 | 2 => unit[i - 1],
        _ => terms[i - 3],
    })
}

fn scaled_back(frame: &Frame, frequency_then_bend: &[f64]) -> Vec<f64> {
    frequency_then_bend
        .iter()
        .enumerate()
        .map(|(i, v)| if i < 2 { v / frame.radius_px } else { *v })
        .collect()
}

/// Robust scale: 1.48 weighted median of |residual|.
pub(super) fn scale_of(residuals: &[([f64; 2], f64, f64)]) -> f64 {
    let mut sorted: Vec<(f64, f64)> = residuals.iter().map(|r| (r.1.abs(), r.2)).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = 0.5 * sorted.iter().map(|s| s.1).sum::<f64>();
    let mut run = 0.0;
    for (size, weight) in sorted {
        run += weight;
        if run >= half {
            return (1.48 * size).max(MIN_SCALE_CYCLES);
        }
    }
    0.5
}

fn quantile(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let place = ((values.len() - 1) as f64 * STRENGTH_QUANTILE) as usize;
    *values.select_nth_unstable_by(place, f64::total_cmp).1
}
