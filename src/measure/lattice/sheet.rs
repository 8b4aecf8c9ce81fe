//! The one bend of the sheet under the camera, from all waves that keep step.

use super::phase::{Frame, TERMS, Warp};
use super::solve::Normal;
use super::track::{Track, phase_row};

/// Waves below this coherence say too little of the sheet.
const MIN_COHERENCE: f64 = 0.5;
/// Most waves used; more add nothing.
const MAX_WAVES: usize = 14;
/// Unknowns of the sheet: two axes.
const BENDS: usize = 2 * TERMS;
/// Pull towards a flat sheet as a share of the mean diagonal; matters only along directions
/// that no wave crosses (a line screen).
const RIDGE: f64 = 1e-5;
/// Rounds of reweighting.
const ROUNDS: usize = 4;

/// The sheet and how well it is known.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The bend.
    pub warp: Warp,
    /// Covariance of the 14 coefficients (row-major), px².
    pub covariance: Vec<f64>,
}

impl Sheet {
    /// A flat sheet, taken as known: where no wave fixes the bend, its own uncertainty is left out.
    #[must_use]
    pub fn flat() -> Self {
        Self {
            warp: Warp::FLAT,
            covariance: vec![0.0; BENDS * BENDS],
        }
    }

    /// Variance of a linear form of the coefficients.
    #[must_use]
    pub fn variance(&self, form: &[f64]) -> f64 {
        let mut sum = 0.0;
        for (i, a) in form.iter().enumerate() {
            for (j, b) in form.iter().enumerate() {
                sum += a * b * self.covariance.get(i * BENDS + j).copied().unwrap_or(0.0);
            }
        }
        sum
    }
}

/// Fits the bend jointly; `None` where no wave keeps step.
#[must_use]
pub fn fit(frame: &Frame, tracks: &[Track]) -> Option<Sheet> {
    let mut waves: Vec<&Track> = tracks
        .iter()
        .filter(|t| t.coherence >= MIN_COHERENCE)
        .collect();
    waves.sort_by(|a, b| rank(b).total_cmp(&rank(a)));
    waves.truncate(MAX_WAVES);
    let readings: Vec<Vec<Reading>> = waves.iter().map(|t| readings(frame, t)).collect();
    let mut warp = Warp::FLAT;
    let mut own: Vec<[f64; 3]> = vec![[0.0; 3]; waves.len()];
    let mut covariance = Vec::new();
    for round in 0..ROUNDS {
        let unknowns = BENDS + 3 * waves.len();
        let mut normal = Normal::new(unknowns);
        for (k, (wave, readings)) in waves.iter().zip(&readings).enumerate() {
            for reading in readings {
                let row = joint_row(wave, reading, k, unknowns);
                let left = reading.cycles - reading.predicted(&warp, own[k], wave);
                let robust = if round == 0 {
                    1.0
                } else {
                    1.0 / (1.0 + (left / wave.scatter_cycles).powi(2))
                };
                let precision =
                    wave.scatter_cycles.powi(-2) * wave.independent / readings.len() as f64;
                normal.add(&row, reading.cycles, reading.weight * robust * precision);
            }
        }
        ridge(&mut normal);
        let (solution, inverse) = normal.solve()?;
        warp = Warp([0, 1].map(|axis| std::array::from_fn(|t| solution[axis * TERMS + t])));
        for (k, own) in own.iter_mut().enumerate() {
            *own = std::array::from_fn(|i| solution[BENDS + 3 * k + i]);
        }
        covariance = (0..BENDS * BENDS)
            .map(|i| inverse[(i / BENDS) * unknowns + i % BENDS])
            .collect();
    }
    Some(Sheet { warp, covariance })
}

fn rank(track: &Track) -> f64 {
    track.coherence.powi(2) * track.independent
}

fn ridge(normal: &mut Normal) {
    normal.add_ridge(0, RIDGE);
}

/// Phase over the unbent part of the wave's own model.
struct Reading {
    cycles: f64,
    weight: f64,
    row: [f64; 3 + TERMS],
}

impl Reading {
    fn predicted(&self, warp: &Warp, own: [f64; 3], wave: &Track) -> f64 {
        let bend = warp.bend(wave.phase.frequency);
        own.iter().zip(&self.row).map(|(a, b)| a * b).sum::<f64>()
            + bend
                .iter()
                .zip(&self.row[3..])
                .map(|(a, b)| a * b)
                .sum::<f64>()
    }
}

fn readings(frame: &Frame, track: &Track) -> Vec<Reading> {
    track
        .residuals(frame)
        .into_iter()
        .map(|(at, residual, weight)| {
            let row = phase_row(frame, at);
            let bent: f64 = track
                .phase
                .bend
                .iter()
                .zip(&row[3..])
                .map(|(b, t)| b * t)
                .sum();
            Reading {
                cycles: residual + bent,
                weight,
                row,
            }
        })
        .collect()
}

fn joint_row(wave: &Track, reading: &Reading, k: usize, unknowns: usize) -> Vec<f64> {
    let mut row = vec![0.0; unknowns];
    for axis in 0..2 {
        for t in 0..TERMS {
            row[axis * TERMS + t] = wave.phase.frequency[axis] * reading.row[3 + t];
        }
    }
    row[BENDS + 3 * k..BENDS + 3 * k + 3].copy_from_slice(&reading.row[..3]);
    row
}
