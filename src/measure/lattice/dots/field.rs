//! Structure factors of dots over the frequencies at which a screen could stand.

use crate::measure::lattice::alarm::{EVIDENCE_SHARE, FLOOR_LOG10};
use crate::measure::points::Point;
use rayon::prelude::*;
use rustfft::num_complex::Complex64;
use std::f64::consts::TAU;

/// Fewest periods across the narrower side of the dots' field.
const MIN_PERIODS: f64 = 5.0;
/// Most periods across the wider side: beyond them the sheet's bend puts a plane wave out of
/// step, and the spectra see the screen.
const MAX_PERIODS: f64 = 40.0;
/// Most dots to a place of the lattice: a dot cut by the picture may count as two.
const MAX_PER_PLACE: f64 = 2.0;
/// Fewest dots to a place of the lattice.
const MIN_PER_PLACE: f64 = 0.08;
/// Dots whose phasors are turned together.
const ABREAST: usize = 4;
/// Steps of frequency in the width of one peak (1 over the field).
const STEPS_PER_WIDTH: f64 = 2.5;
/// How far the second direction may lie from the first turned by a right angle, as a share of
/// the frequency: a camera tilt of 10° shortens one axis by 1.5 %.
const MATE_SHARE: f64 = 0.02;
/// Steps from a peak between which the lines through it are looked at.
const BESIDE_STEPS: std::ops::RangeInclusive<i64> = 4..=14;
/// Lines through a peak, evenly turned: one of them lies along any row of power within its width.
const LINES: usize = 18;
/// What the strongest of so many lines shows by chance among dots in no step (means over 22 samples
/// of an exponential, by their medians).
const BESIDE_BY_CHANCE: f64 = 1.7;

/// Two directions and their structure factors over the background, summed.
pub(super) struct Pair {
    pub(super) vectors: [[f64; 2]; 2],
    pub(super) power: f64,
}

/// The dots and the frequencies that are looked at.
pub(super) struct Field<'a> {
    places: &'a [Point],
    sides: [f64; 2],
    least: f64,
    most: f64,
    step: f64,
}

impl<'a> Field<'a> {
    /// `None` where no frequency is worth a look.
    pub(super) fn of(places: &'a [Point]) -> Option<Self> {
        let side = |k: usize| {
            let (low, high) = places
                .iter()
                .fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p[k]), h.max(p[k])));
            (high - low).max(1.0)
        };
        let sides = [side(0), side(1)];
        let (wide, narrow) = (sides[0].max(sides[1]), sides[0].min(sides[1]));
        let per_px2 = places.len() as f64 / (sides[0] * sides[1]);
        let least = (MIN_PERIODS / narrow).max((per_px2 / MAX_PER_PLACE).sqrt());
        let most = (MAX_PERIODS / wide).min((per_px2 / MIN_PER_PLACE).sqrt());
        (most > least).then_some(Self {
            places,
            sides,
            least,
            most,
            step: 1.0 / (STEPS_PER_WIDTH * wide),
        })
    }

    /// Structure factor at a frequency.
    pub(super) fn power(&self, f: [f64; 2]) -> f64 {
        let sum: Complex64 = self
            .places
            .iter()
            .map(|p| Complex64::cis(TAU * (f[0] * p[0] + f[1] * p[1])))
            .sum();
        sum.norm_sqr() / self.places.len() as f64
    }

    /// Structure factors on the half plane of frequencies, rows of equal fy from 0 up.
    fn plane(&self, reach: i64) -> Vec<Vec<f64>> {
        (0..=reach)
            .into_par_iter()
            .map(|ky| {
                let fy = ky as f64 * self.step;
                let mut sums = vec![Complex64::default(); 2 * reach as usize + 1];
                // Several at a time: one phasor's turns wait for each other, those of several do not.
                for group in self.places.chunks(ABREAST) {
                    let mut turns = [Complex64::default(); ABREAST];
                    let mut ahead = [Complex64::default(); ABREAST];
                    for (k, p) in group.iter().enumerate() {
                        let start = -(reach as f64) * self.step * p[0] + fy * p[1];
                        turns[k] = Complex64::cis(TAU * start);
                        ahead[k] = Complex64::cis(TAU * self.step * p[0]);
                    }
                    for sum in &mut sums {
                        *sum += turns.iter().sum::<Complex64>();
                        for (turn, ahead) in turns.iter_mut().zip(&ahead) {
                            *turn *= ahead;
                        }
                    }
                }
                let n = self.places.len() as f64;
                sums.into_iter().map(|s| s.norm_sqr() / n).collect()
            })
            .collect()
    }

    /// Peaks and the best of the places where a square screen's other vector would lie.
    pub(super) fn pairs(&self) -> Vec<Pair> {
        let reach = (self.most * (1.0 + MATE_SHARE) / self.step).ceil() as i64 + 2;
        let plane = self.plane(reach);
        let at = |kx: i64, ky: i64| {
            let (kx, ky) = if ky < 0 { (-kx, -ky) } else { (kx, ky) };
            plane
                .get(ky as usize)
                .and_then(|row| row.get((kx + reach) as usize))
                .copied()
                .unwrap_or(0.0)
        };
        let background = self.background(&plane, reach);
        let over =
            |kx: i64, ky: i64| at(kx, ky) / background[ring(kx, ky)].max(beside(&at, [kx, ky]));
        let bound = (self.most / self.step) as i64;
        let mut pairs = Vec::new();
        // A quarter of the plane holds one vector of every square screen.
        for ky in 0..=bound {
            for kx in 1..=bound {
                let radius = (kx as f64).hypot(ky as f64);
                let inside = radius * self.step >= self.least && radius * self.step <= self.most;
                let top = || (-1..=1).all(|j| (-1..=1).all(|i| at(kx + i, ky + j) <= at(kx, ky)));
                if !inside || !top() {
                    continue;
                }
                let near = (MATE_SHARE * radius).ceil().max(1.0) as i64;
                let mate = (-near..=near)
                    .flat_map(|j| (-near..=near).map(move |i| (i - ky, kx + j)))
                    .max_by(|&a, &b| at(a.0, a.1).total_cmp(&at(b.0, b.1)));
                let Some(mate) = mate else { continue };
                let (one, other) = (over(kx, ky), over(mate.0, mate.1));
                pairs.push(Pair {
                    vectors: [(kx, ky), mate]
                        .map(|(x, y)| [x as f64, y as f64].map(|k| k * self.step)),
                    // Rows in one direction are no screen: the weaker one speaks for both.
                    power: 2.0 * one.min(other),
                });
            }
        }
        pairs
    }

    /// Mean structure factor of dots in no step, by ring of frequency: 1 for dots at random,
    /// more where they bunch or keep a distance.
    fn background(&self, plane: &[Vec<f64>], reach: i64) -> Vec<f64> {
        let mut rings: Vec<Vec<f64>> = vec![Vec::new(); ring(reach, reach) + 1];
        for (ky, row) in plane.iter().enumerate() {
            for (k, &value) in row.iter().enumerate() {
                rings[ring(k as i64 - reach, ky as i64)].push(value);
            }
        }
        rings
            .into_iter()
            .map(|mut values| {
                if values.is_empty() {
                    return 1.0;
                }
                let middle = values.len() / 2;
                let median = *values.select_nth_unstable_by(middle, f64::total_cmp).1;
                (median / std::f64::consts::LN_2).max(1.0)
            })
            .collect()
    }

    /// The top of the peak near a frequency.
    pub(super) fn summit(&self, from: [f64; 2]) -> [f64; 2] {
        let mut best = (self.power(from), from);
        let mut step = 0.5 * self.step;
        while step > 1e-4 * self.step {
            let around = (0..8).map(|k| {
                let (sin, cos) = (f64::from(k) * TAU / 8.0).sin_cos();
                [best.1[0] + step * cos, best.1[1] + step * sin]
            });
            let next = around
                .map(|f| (self.power(f), f))
                .fold(best, |a, b| if b.0 > a.0 { b } else { a });
            if next.0 > best.0 {
                best = next;
            } else {
                step *= 0.5;
            }
        }
        best.1
    }

    /// Standard error of a frequency: the scatter of a phase over the dots' spread.
    pub(super) fn standard_error(&self, in_step: f64) -> f64 {
        let scatter_cycles = (-2.0 * in_step.min(0.999).ln()).sqrt() / TAU;
        let spread = self.sides[0].min(self.sides[1]) / 12f64.sqrt();
        scatter_cycles / (self.places.len() as f64).sqrt() / spread
    }

    /// The structure factor of dots in no step is exponential, so the sum of two exceeds T with
    /// probability (1 + T)·e^−T, at each of the frequencies looked at.
    pub(super) fn alarm_log10(&self, power: f64) -> f64 {
        let frequencies =
            0.5 * std::f64::consts::PI * self.most.powi(2) * self.sides[0] * self.sides[1];
        let mates = (2.0 * MATE_SHARE * self.most / self.step).max(3.0).powi(2);
        let kept = EVIDENCE_SHARE * power;
        let log10 = (1.0 + kept).log10() - kept / std::f64::consts::LN_10;
        ((frequencies * mates).log10() + log10).clamp(FLOOR_LOG10, 0.0)
    }
}

/// Mean structure factor along the strongest line through a peak, over what chance gives: evenly
/// spaced dots in rows at uneven distances hold power all along lines, a lattice only at its places.
fn beside(at: &impl Fn(i64, i64) -> f64, [kx, ky]: [i64; 2]) -> f64 {
    let strongest = (0..LINES)
        .map(|line| {
            let (uy, ux) = (line as f64 * TAU / 2.0 / LINES as f64).sin_cos();
            let mut values: Vec<f64> = BESIDE_STEPS
                .flat_map(|t| [t, -t])
                .map(|t| {
                    let step = |k: i64, u: f64| k + (t as f64 * u).round() as i64;
                    at(step(kx, ux), step(ky, uy))
                })
                .collect();
            let middle = values.len() / 2;
            *values.select_nth_unstable_by(middle, f64::total_cmp).1 / std::f64::consts::LN_2
        })
        .fold(0.0, f64::max);
    strongest / BESIDE_BY_CHANCE
}

/// Ring of three steps' width.
fn ring(kx: i64, ky: i64) -> usize {
    (kx as f64).hypot(ky as f64) as usize / 3
}
