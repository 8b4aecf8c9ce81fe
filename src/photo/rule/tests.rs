use super::*;
use crate::photo::{Provenance, ReadOptions, from_linear};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

mod multiples;

/// A rule drawn with exact truth.
struct Drawn {
    width: usize,
    height: usize,
    px_per_step: f64,
    turn_deg: f64,
    /// Relative change of the scale across the picture's width.
    drift: f64,
    noise: f32,
    dark_ground: bool,
    lengths: fn(i64) -> f64,
    /// Factor to all lengths.
    stretch: f64,
    /// Width of every fifth graduation, in that of the others.
    heavy: f64,
    /// Where the middle of a numeral stands from the end of every tenth graduation: steps along the rule, and
    /// (stretched with the lengths) on from the end.
    numerals: Option<(f64, f64)>,
}

fn whole(k: i64) -> f64 {
    match (k.rem_euclid(10), k.rem_euclid(5)) {
        (0, _) => 4.0,
        (_, 0) => 3.2,
        _ => 2.3,
    }
}

fn half(k: i64) -> f64 {
    match (k.rem_euclid(10), k.rem_euclid(2)) {
        (0, _) => 6.5,
        (_, 0) => 5.0,
        _ => 3.2,
    }
}

impl Drawn {
    fn photo(&self, seed: u64) -> Photo {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let shift: f64 = rng.random_range(0.0..1.0);
        let (sin, cos) = self.turn_deg.to_radians().sin_cos();
        let light = Plane::from_shape_fn((self.height, self.width), |(y, x)| {
            let dx = x as f64 - 0.47 * self.width as f64;
            let dy = y as f64 - 0.4 * self.height as f64;
            // y down: a rule turned counter-clockwise runs up to the right.
            let u = dx * cos - dy * sin;
            let v = dx * sin + dy * cos;
            let paper = 0.7 - 0.2 * x as f32 / self.width as f32;
            let ink = self.cover(u, v, shift);
            let (low, high) = if self.dark_ground {
                (paper, 0.12)
            } else {
                (0.06, paper)
            };
            let noise =
                self.noise * (rng.random_range(-1.0_f32..1.0) + rng.random_range(-1.0_f32..1.0));
            (low * ink + high * (1.0 - ink) + noise).clamp(0.0, 1.0)
        });
        let provenance = Provenance {
            file: String::new(),
            sha256: String::new(),
            format: String::new(),
            bits_per_sample: 8,
            colour_space: String::new(),
            capture: Vec::new(),
        };
        from_linear(
            [light.clone(), light.clone(), light],
            provenance,
            &ReadOptions::default(),
        )
    }

    /// Cover of a tick at rule coordinates, 0–1, with edges a px wide.
    fn cover(&self, u: f64, v: f64, shift: f64) -> f32 {
        let steps = u / self.px_per_step;
        let bent = steps
            - self.drift * steps * steps * self.px_per_step / (2.0 * self.width as f64)
            + shift;
        let k = bent.round();
        let off = (bent - k).abs() * self.px_per_step;
        let length = (self.lengths)(k as i64) * self.stretch * self.px_per_step;
        let heavy = if k.rem_euclid(5.0) < 0.5 {
            self.heavy
        } else {
            1.0
        };
        let width = 0.09 * self.px_per_step * heavy;
        let across = (width + 0.5 - off).clamp(0.0, 1.0);
        let along = (v + 0.5).clamp(0.0, 1.0) * (length - v + 0.5).clamp(0.0, 1.0);
        (across * along).max(self.numeral(bent, v)) as f32
    }

    /// Cover of the numerals, each a nought 1.2 steps wide and 1.4 high, stretched with the lengths.
    fn numeral(&self, bent: f64, v: f64) -> f64 {
        let Some((along, on)) = self.numerals else {
            return 0.0;
        };
        let tenth = ((bent - along) / 10.0).round() * 10.0;
        let on_from_end = v / self.px_per_step / self.stretch - (self.lengths)(tenth as i64) - on;
        let (x, y) = ((bent - along - tenth) / 0.6, on_from_end / 0.7);
        let from_outline = (x.hypot(y) - 1.0).abs() * 0.6;
        ((0.15 - from_outline) * self.px_per_step + 0.5).clamp(0.0, 1.0)
    }
}

const PLAIN: Drawn = Drawn {
    width: 640,
    height: 400,
    px_per_step: 22.0,
    turn_deg: 0.0,
    drift: 0.0,
    noise: 0.01,
    dark_ground: false,
    lengths: whole,
    stretch: 1.0,
    heavy: 1.0,
    numerals: None,
};

#[test]
fn intervals_cover_the_truth_at_any_turn() {
    let (mut covered, mut refused, mut worst) = (0_u64, 0_u64, 0.0_f64);
    let seeds = 100;
    for seed in 0..seeds {
        let mut rng = ChaCha8Rng::seed_from_u64(1000 + seed);
        let step = rng.random_range(14.0..26.0);
        let turn = rng.random_range(-90.0..90.0_f64);
        let drawn = Drawn {
            px_per_step: step,
            turn_deg: turn,
            width: 560,
            height: 500,
            ..PLAIN
        };
        let reading = match measure_rule(&drawn.photo(seed), 1.0) {
            Ok(reading) => reading,
            Err(error) => {
                println!("seed {seed} step {step:.2} turn {turn:.1}: {error}");
                refused += 1;
                continue;
            }
        };
        let scale = &reading.scale;
        covered += u64::from(scale.lo <= step && step <= scale.hi);
        worst = worst.max((scale.value / step - 1.0).abs());
        let off = (reading.direction_deg - turn).rem_euclid(180.0);
        assert!(
            off.min(180.0 - off) < 0.5,
            "seed {seed} turn {turn}: {}",
            reading.direction_deg
        );
    }
    assert!(worst < 0.003, "worst error {worst}");
    assert!(refused <= 5, "{refused} of {seeds} refused");
    let read = seeds - refused;
    assert!(
        covered * 100 >= read * 93,
        "{covered} of {read} intervals cover"
    );
}

#[test]
fn half_steps_bright_ticks_and_tilt_are_read() {
    let half_mm = Drawn {
        lengths: half,
        px_per_step: 16.0,
        turn_deg: 24.0,
        ..PLAIN
    };
    let reading = measure_rule(&half_mm.photo(1), 0.5).expect("a half-millimetre rule");
    assert!(
        (reading.scale.value / 32.0 - 1.0).abs() < 0.002,
        "{:?}",
        reading.scale
    );
    assert!(matches!(
        measure_rule(&half_mm.photo(1), 1.0),
        Err(RuleError::Contradiction(_))
    ));
    let steel = Drawn {
        dark_ground: true,
        turn_deg: -63.0,
        ..PLAIN
    };
    let reading = measure_rule(&steel.photo(2), 1.0).expect("bright graduations");
    assert!((reading.scale.value / 22.0 - 1.0).abs() < 0.002);
    let tilted = Drawn {
        drift: 0.03,
        ..PLAIN
    };
    let reading = measure_rule(&tilted.photo(3), 1.0).expect("seen a little from the side");
    assert!(
        (reading.scale.value / 22.0 - 1.0).abs() < 0.006,
        "{:?}",
        reading
    );
    assert!(reading.spacing_drift.abs() > 0.015 && reading.notes.len() > 1);
}

#[test]
fn what_is_no_rule_is_refused() {
    let hatching = Drawn {
        lengths: |_| 4.0,
        ..PLAIN
    };
    assert!(measure_rule(&hatching.photo(1), 1.0).is_err());
    let ragged = Drawn {
        lengths: |k| 2.0 + (k * 7919).rem_euclid(31) as f64 / 20.0,
        ..PLAIN
    };
    assert!(measure_rule(&ragged.photo(1), 1.0).is_err());
    let blank = Drawn {
        lengths: |_| -9.0,
        ..PLAIN
    };
    assert_eq!(
        measure_rule(&blank.photo(1), 1.0),
        Err(RuleError::NoGraduations)
    );
    assert!(matches!(
        measure_rule(&blank.photo(1), -1.0),
        Err(RuleError::NoLength(_))
    ));
}

#[test]
fn a_halftone_screen_is_refused() {
    let dots = Plane::from_shape_fn((420, 560), |(y, x)| {
        let (u, v) = (
            0.9 * x as f64 + 0.43 * y as f64,
            -0.43 * x as f64 + 0.9 * y as f64,
        );
        let wave = (u * 0.5).cos() + (v * 0.5).cos();
        0.4 + 0.2 * wave.clamp(-1.0, 1.0) as f32
    });
    let mut photo = PLAIN.photo(1);
    photo.usable = Mask::from_elem(dots.dim(), true);
    photo.linear = [dots.clone(), dots.clone(), dots];
    assert!(measure_rule(&photo, 1.0).is_err());
}
