//! Screens laid in pieces.
//!
//! Tints of dots were rubbed or transferred from ruled films on to a stone or block, area by area (shading mediums,
//! "mechanical tints", from 1879; from memory), and lettering and joints part the screens of other reproductions. Each
//! piece keeps step, but not with the next: its phase starts anew, and the film was turned or stretched a little. So
//! squares of the photograph are read each for itself, and the screen is that of squares that agree.

use super::alarm;
use super::basis::{LINE_SHARE, SAME_COLOUR, cosine, off_right_angle_deg, unit};
use super::demodulate::MIN_SAMPLES_PER_PERIOD;
use super::folded;
use super::peaks::Peak;
use super::phase::{Frame, Warp};
use super::pyramid::Level;
use super::track::{self, Track};
use ndarray::s;
use rayon::prelude::*;

/// Side of a square in periods: 49 overlapping patches lie in it.
const SIDE_PERIODS: f64 = 40.0;
/// Most squares that are read for a pair of peaks, about: on a large photograph they then lie farther apart.
const MAX_SQUARES: f64 = 300.0;
/// Least share of a square that must be usable.
const MIN_USABLE: f64 = 0.9;
/// Both waves must keep step in a square this well. On a drawn field of lines crossed at a right angle, each set off from the
/// last with 5 % of their distance amiss, four squares passed at 0.93 and none did at 0.95; on real cards the middle square has
/// 0.97 to 0.99.
const MIN_COHERENCE: f64 = 0.95;
/// Fewest squares, none over another, that must agree.
const MIN_PIECES: usize = 4;
/// Squares agree whose rulings differ by no more than this share …
const SAME_RULING_SHARE: f64 = 0.03;
/// … and whose angles by no more than this, degrees: films were laid by eye.
const SAME_ANGLE_DEG: f64 = 8.0;
/// Two vectors of a film that was stretched may differ by this share in length …
const STRETCH_SHARE: f64 = 0.05;
/// … and by this from a right angle, degrees.
const SHEAR_DEG: f64 = 4.0;
/// A wave that is followed farther than this share of its frequency from the peak is another one: turned by 8°, a film's lies
/// at 0.14.
const STRAYED_SHARE: f64 = 0.15;
/// Least power of a peak over its surroundings, in the mean spectrum of the whole field. Peaks of pieces are wide, as
/// the pieces are turned to one another, but stand far out.
const MIN_RATIO: f32 = 10.0;
/// Most pairs of peaks that are followed.
const MAX_PAIRS: usize = 6;
/// Least amplitude of either wave, density over all channels: twice that of the mesh of a mould.
const MIN_STRENGTH: f64 = 0.02;

/// A screen laid in pieces.
#[derive(Clone, Debug)]
pub struct Pieces {
    /// Its two vectors, cycles per px, y down: means over the squares.
    pub vectors: [[f64; 2]; 2],
    /// Standard error of each component, cycles per px.
    pub frequency_se: f64,
    /// Squares that agree, none over another.
    pub squares: usize,
    /// Middle of their coherence, 0–1.
    pub coherence: f64,
    /// log10 of the probability that structure without a screen would keep step as well in as many squares.
    pub alarm_log10: f64,
    /// Unit vector of the modulation in density R, G, B.
    pub colour: [f64; 3],
    /// Amplitude of the weaker wave, density, mean over the squares.
    pub strength: f64,
}

/// Both waves of a screen in one square.
struct Square {
    corner: (usize, usize),
    waves: [Track; 2],
    alarm_log10: f64,
}

/// The clearest screen that lies in pieces, of the pairs of peaks that could be one.
#[must_use]
pub fn find(levels: &[Level], peaks: &[Peak]) -> Option<Pieces> {
    pairs(peaks)
        .into_iter()
        .take(MAX_PAIRS)
        .filter_map(|pair| read(levels, pair))
        .min_by(|a, b| a.alarm_log10.total_cmp(&b.alarm_log10))
}

/// Pairs of strong peaks of about one frequency at about a right angle, the strongest first.
fn pairs(peaks: &[Peak]) -> Vec<[[f64; 2]; 2]> {
    let strong: Vec<&Peak> = peaks.iter().filter(|p| p.ratio >= MIN_RATIO).collect();
    let mut pairs = Vec::new();
    for (i, a) in strong.iter().enumerate() {
        for b in &strong[i + 1..] {
            if is_about_square(a.frequency, b.frequency) {
                pairs.push((a.ratio.min(b.ratio), [a.frequency, b.frequency]));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    pairs.into_iter().map(|(_, pair)| pair).collect()
}

fn is_about_square(a: [f64; 2], b: [f64; 2]) -> bool {
    (length(a) / length(b)).ln().abs() <= STRETCH_SHARE && off_right_angle_deg(a, b) <= SHEAR_DEG
}

fn length(f: [f64; 2]) -> f64 {
    f[0].hypot(f[1])
}

/// Reads a pair of waves square by square.
fn read(levels: &[Level], pair: [[f64; 2]; 2]) -> Option<Pieces> {
    let period_px = 2.0 / (length(pair[0]) + length(pair[1]));
    let holds = |l: &&Level| period_px / l.step_px as f64 >= MIN_SAMPLES_PER_PERIOD;
    let level = levels.iter().rev().find(holds).or(levels.first())?;
    let side = (SIDE_PERIODS * period_px / level.step_px as f64).round() as usize;
    let corners = corners(level, side);
    let mut squares: Vec<Square> = corners
        .par_iter()
        .filter_map(|&corner| square(level, corner, side, pair))
        .filter(|square| is_on_the_photograph(levels, level, side, square))
        .collect();
    squares.sort_by(|a, b| a.alarm_log10.total_cmp(&b.alarm_log10));
    let agreeing = agreeing(squares, side);
    (agreeing.len() >= MIN_PIECES).then(|| joined(&agreeing, corners.len()))
}

/// Upper left corners of squares that overlap by half or less, in samples of the level.
fn corners(level: &Level, side: usize) -> Vec<(usize, usize)> {
    let (height, width) = level.shape();
    let widest = ((height * width) as f64 / MAX_SQUARES).sqrt() as usize;
    let step = (side / 2).max(widest).max(1);
    let along = |length: usize| {
        (0..)
            .map(move |i| i * step)
            .take_while(move |c| c + side <= length)
    };
    along(height)
        .flat_map(|y| along(width).map(move |x| (y, x)))
        .collect()
}

/// Both waves in one square, where they keep step in it.
fn square(
    level: &Level,
    corner: (usize, usize),
    side: usize,
    pair: [[f64; 2]; 2],
) -> Option<Square> {
    let cut = [cut_out(level, corner, side)];
    let usable = &cut[0].usable;
    let share = usable.iter().filter(|&&u| u).count() as f64 / usable.len() as f64;
    if share < MIN_USABLE {
        return None;
    }
    let frame = Frame::new(side * level.step_px, side * level.step_px);
    let [a, b] = pair.map(|f| track::follow_bent(&cut, &frame, &Warp::FLAT, f));
    let waves = [a?, b?];
    let alarm_log10 = alarm::log10_of(&[&waves[0], &waves[1]]);
    (alarm_log10 <= super::MAX_ALARM_LOG10 && are_a_screen(&waves, pair)).then_some(Square {
        corner,
        waves,
        alarm_log10,
    })
}

/// A square of a level, as a level of its own.
fn cut_out(level: &Level, (y, x): (usize, usize), side: usize) -> Level {
    let area = s![y..y + side, x..x + side];
    Level {
        step_px: level.step_px,
        channels: level
            .channels
            .iter()
            .map(|c| c.slice(area).to_owned())
            .collect(),
        means: level.means.clone(),
        usable: level.usable.slice(area).to_owned(),
    }
}

/// Whether both waves of a square that was read at a coarser level are there at full size, too.
fn is_on_the_photograph(levels: &[Level], level: &Level, side: usize, square: &Square) -> bool {
    let Some(full) = levels.first().filter(|full| full.step_px < level.step_px) else {
        return true;
    };
    let step = level.step_px / full.step_px;
    let at_full_size = (square.corner.0 * step, square.corner.1 * step);
    let cut = [
        cut_out(full, at_full_size, side * step),
        cut_out(level, square.corner, side),
    ];
    let frame = Frame::new(side * level.step_px, side * level.step_px);
    let is_there = |wave: &Track| folded::is_on_the_photograph(&cut, &frame, wave);
    square.waves.iter().all(is_there)
}

/// Whether two waves that were followed are still the pair sought, and dots of one ink.
fn are_a_screen(waves: &[Track; 2], sought: [[f64; 2]; 2]) -> bool {
    let [a, b] = waves;
    let [f, g] = [a, b].map(|w| w.phase.frequency);
    let weaker = a.strength().min(b.strength());
    let near = |found: [f64; 2], from: [f64; 2]| {
        length([found[0] - from[0], found[1] - from[1]]) <= STRAYED_SHARE * length(from)
    };
    near(f, sought[0])
        && near(g, sought[1])
        && is_about_square(f, g)
        && a.coherence.min(b.coherence) >= MIN_COHERENCE
        && weaker >= MIN_STRENGTH
        && weaker >= LINE_SHARE * a.strength().max(b.strength())
        && cosine(unit(a.colour), unit(b.colour)) >= SAME_COLOUR
}

/// The squares that agree with the clearest, none over another.
fn agreeing(squares: Vec<Square>, side: usize) -> Vec<Square> {
    let mut kept: Vec<Square> = Vec::new();
    for square in squares {
        let apart = |k: &Square| {
            square.corner.0.abs_diff(k.corner.0) >= side
                || square.corner.1.abs_diff(k.corner.1) >= side
        };
        if kept.iter().all(apart) && kept.first().is_none_or(|first| agree(first, &square)) {
            kept.push(square);
        }
    }
    kept
}

fn agree(a: &Square, b: &Square) -> bool {
    a.waves.iter().zip(&b.waves).all(|(a, b)| {
        let off = angle_between_deg(a.phase.frequency, b.phase.frequency);
        (a.magnitude() / b.magnitude()).ln().abs() <= SAME_RULING_SHARE && off <= SAME_ANGLE_DEG
    })
}

fn angle_between_deg(a: [f64; 2], b: [f64; 2]) -> f64 {
    90.0 - off_right_angle_deg(a, b)
}

/// One screen of the squares that agree; `looked_at` squares were read to find them.
fn joined(squares: &[Square], looked_at: usize) -> Pieces {
    let count = squares.len() as f64;
    let mean = |of: &dyn Fn(&Square) -> f64| squares.iter().map(of).sum::<f64>() / count;
    let component = |w: usize, axis: usize| mean(&|s| s.waves[w].phase.frequency[axis]);
    let vectors = [0, 1].map(|w| [component(w, 0), component(w, 1)]);
    // Of one component: squares differ in ruling, and as much again in angle.
    let variance = mean(&|s| {
        let off = |w: usize, axis: usize| s.waves[w].phase.frequency[axis] - vectors[w][axis];
        (0..4).map(|k| off(k / 2, k % 2).powi(2)).sum::<f64>() / 4.0
    });
    let mut coherence: Vec<f64> = squares
        .iter()
        .map(|s| s.waves[0].coherence.min(s.waves[1].coherence))
        .collect();
    coherence.sort_by(f64::total_cmp);
    let waves: Vec<&Track> = squares.iter().flat_map(|s| &s.waves).collect();
    let colour = [0, 1, 2].map(|c| mean(&|s| s.waves[0].colour[c] + s.waves[1].colour[c]));
    Pieces {
        vectors,
        frequency_se: (variance / (count - 1.0).max(1.0)).sqrt(),
        squares: squares.len(),
        coherence: coherence[coherence.len() / 2],
        alarm_log10: alarm::log10_of_pieces(&waves, looked_at),
        colour: unit(colour),
        strength: mean(&|s| s.waves[0].strength().min(s.waves[1].strength())),
    }
}

#[cfg(test)]
mod tests {
    use crate::measure::lattice::{InkScreen, by_waves};
    use crate::measure::segment::tests::inked_from;
    use crate::plane::Plane;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;
    use std::f64::consts::TAU;

    const SIDE: usize = 1000;
    /// Side of a piece of film, px.
    const PIECE: usize = 333;
    const PERIOD_PX: f64 = 6.0;

    /// Screens found where a density (0–1) is laid on paper with some noise.
    fn screens(density: impl Fn(f64, f64) -> f64, seed: u64) -> Vec<InkScreen> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let reflectance = Plane::from_shape_fn((SIDE, SIDE), |(y, x)| {
            let noise = rng.random_range(-0.02..0.02);
            10f64.powf(-density(x as f64, y as f64) - noise) as f32
        });
        let inked = inked_from(std::array::from_fn(|_| reflectance.clone()), Some(20.0));
        by_waves(&inked).lattice.inks
    }

    /// Films of dots, each with a place and a turn of its own, up to 2° either way of 40°.
    fn films(swing: f64, seed: u64) -> Vec<InkScreen> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let films: Vec<[f64; 3]> = (0..16)
            .map(|_| {
                let turn: f64 = rng.random_range(38.0..42.0);
                [
                    turn.to_radians(),
                    rng.random_range(0.0..1.0),
                    rng.random_range(0.0..1.0),
                ]
            })
            .collect();
        let density = move |x: f64, y: f64| {
            let [turn, a, b] = films[(y as usize / PIECE) * 4 + x as usize / PIECE];
            let (sin, cos) = turn.sin_cos();
            let along = (TAU * ((x * cos - y * sin) / PERIOD_PX + a)).cos();
            let across = (TAU * ((x * sin + y * cos) / PERIOD_PX + b)).cos();
            0.3 + swing * (along + across)
        };
        screens(density, seed + 100)
    }

    #[test]
    fn films_of_dots_laid_side_by_side_are_one_screen_in_pieces() {
        for seed in 0..4 {
            let found = films(0.05, seed);
            assert_eq!(found.len(), 1, "{found:?}");
            let screen = &found[0];
            assert!(
                screen.pieces >= 4 && screen.vectors_per_px.len() == 2,
                "{screen:?}"
            );
            let period = screen.period_px.value().unwrap();
            approx::assert_relative_eq!(period, PERIOD_PX, max_relative = 0.01);
            let angle = screen.angle_deg.value().unwrap();
            assert!((angle - 40.0).abs() < 2.0, "{angle}");
        }
    }

    /// Lines drawn one after the other, each set off from the last by eye, crossed at a right angle.
    fn crossed_by_hand(scatter: f64, seed: u64) -> Vec<InkScreen> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut system = || {
            let mut at = -(SIDE as f64);
            let mut lines = Vec::new();
            while at < 2.0 * SIDE as f64 {
                at += PERIOD_PX * (1.0 + scatter * rng.random_range(-1.7..1.7));
                lines.push(at);
            }
            lines
        };
        let systems = [system(), system()];
        let (sin, cos) = 40f64.to_radians().sin_cos();
        let density = move |x: f64, y: f64| {
            let line = |lines: &[f64], along: f64| {
                let next = lines
                    .partition_point(|&l| l < along)
                    .clamp(1, lines.len() - 1);
                let off = (lines[next] - along).min(along - lines[next - 1]);
                (-(off / 1.2).powi(2)).exp()
            };
            line(&systems[0], x * cos - y * sin) + line(&systems[1], x * sin + y * cos)
        };
        screens(density, seed + 200)
    }

    #[test]
    fn hatching_crossed_by_hand_is_no_screen_in_pieces() {
        for seed in 0..9 {
            let found = crossed_by_hand([0.05, 0.07, 0.1][seed as usize % 3], seed);
            assert!(found.iter().all(|s| s.pieces == 0), "{found:?}");
        }
    }
}
