//! Pixels per millimetre from the graduations of a rule or graticule.
//!
//! Graduations are ticks that are straight, parallel, equally spaced, and stand on one
//! baseline with lengths in a hierarchy (every second, fifth or tenth longer). Engraved
//! hatching, halftone screens and text lack one or more of these, and are refused.

mod hierarchy;
mod period;
mod straighten;
mod ticks;

use super::scale::{Scale, ScaleSource};
use super::{Field, Photo};
use crate::measured::Measured;
use crate::plane::{Mask, Plane};
use hierarchy::Hierarchy;
use straighten::{Strip, View};
use ticks::Row;

/// Long side of the working picture in which graduations are searched, px.
const WORKING_SIDE_PX: usize = 1200;
/// Fewest graduations for a period good to a tenth of a percent.
const FEWEST: usize = 10;
/// Half-width of the 95 % interval that a rule's own making leaves, as a share: ordinary
/// rules are good to some hundredths of a millimetre in twenty (from memory).
const RULE_TOLERANCE: f64 = 0.001;
/// Slant left alone, px per row: a third of a degree moves the end of a tick by a fraction of
/// its width.
const UPRIGHT: f64 = 0.005;
/// Largest slant put right; a direction found is good to a few degrees.
const LARGEST_SLANT: f64 = 0.12;
/// Standard errors either side in a 95 % interval of a normal estimate.
const Z95: f64 = 1.96;

/// What was read from a rule.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleReading {
    /// Pixels per millimetre along the rule, mean over the graduations seen.
    pub scale: Scale,
    /// Spacing of the shortest graduations, px.
    pub spacing_px: Measured,
    /// Graduations used.
    pub graduations: usize,
    /// Direction of the rule, degrees counter-clockwise from +x, [0, 180).
    pub direction_deg: f64,
    /// Change of the spacing from one end of what is seen to the other, share of the mean;
    /// more than a percent means that the camera was tilted.
    pub spacing_drift: f64,
    /// Every so many graduations a longer one stands (2, 5 or 10; all that were seen).
    pub longer_every: Vec<usize>,
    /// Plain sentences on what to watch.
    pub notes: Vec<String>,
}

/// Why no scale was read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RuleError {
    /// The stated graduation is no length.
    #[error(
        "a graduation of {0} mm is no length; state the distance of the shortest graduations, for instance 1 or 0.5"
    )]
    NoLength(f64),
    /// No ticks at equal distances stand in the picture.
    #[error(
        "no row of equally spaced graduations was found; photograph the rule flat, in focus, with at least {FEWEST} graduations in the field"
    )]
    NoGraduations,
    /// Equally spaced strokes, but not those of a rule.
    #[error(
        "the strokes found are equally spaced but are no rule ({0}); photograph a rule whose graduations are whole in the field"
    )]
    NotARule(String),
    /// The pattern of lengths contradicts the stated graduation.
    #[error("{0}")]
    Contradiction(String),
}

/// Measures the scale from the graduations of a rule, whose shortest graduations stand
/// `graduation_mm` apart.
///
/// # Errors
/// [`RuleError`] when no rule is found, what is found is no rule, or the pattern of long and
/// short graduations contradicts the stated distance.
pub fn measure_rule(photo: &Photo, graduation_mm: f64) -> Result<RuleReading, RuleError> {
    if !(graduation_mm.is_finite() && graduation_mm > 0.0) {
        return Err(RuleError::NoLength(graduation_mm));
    }
    let light = photo_light(photo);
    let field = field_mask(photo);
    let view = View::of(&light, &field, WORKING_SIDE_PX);
    let mut refusal = RuleError::NoGraduations;
    for direction in straighten::directions(&view) {
        let strip = Strip::along(&view, direction);
        for spacing in period::candidates(&strip) {
            // Bright graduations on a dark rule are the same picture turned inside out.
            for sign in [1.0, -1.0] {
                let attempt = Attempt {
                    view: &view,
                    direction,
                    spacing,
                    sign,
                };
                match attempt.reading(&strip, graduation_mm) {
                    Ok(reading) => return Ok(reading),
                    Err(RuleError::NoGraduations) => {}
                    // The shortest spacing comes first: a longer one must not hide what it says.
                    Err(contradiction @ RuleError::Contradiction(_)) => return Err(contradiction),
                    Err(other) => refusal = other,
                }
            }
        }
    }
    Err(refusal)
}

/// One direction, spacing and sign under trial.
struct Attempt<'a> {
    view: &'a View,
    direction: f64,
    spacing: f64,
    sign: f32,
}

impl Attempt<'_> {
    /// Traces the row, turning the strip upright first where the strokes lean in it: slanted
    /// strokes have no common baseline along its rows.
    fn reading(&self, strip: &Strip, graduation_mm: f64) -> Result<RuleReading, RuleError> {
        let slant = ticks::slant(strip, self.spacing, self.sign).ok_or(RuleError::NoGraduations)?;
        if slant.abs() > LARGEST_SLANT {
            return Err(RuleError::NoGraduations);
        }
        let (direction, row) = if slant.abs() > UPRIGHT {
            let direction = self.direction - slant.atan();
            let turned = Strip::along(self.view, direction);
            (direction, Row::trace(&turned, self.spacing, self.sign)?)
        } else {
            (self.direction, Row::trace(strip, self.spacing, self.sign)?)
        };
        let hierarchy = Hierarchy::of(&row.lengths)?;
        hierarchy.agrees_with(graduation_mm)?;
        Ok(conclude(
            &row,
            &hierarchy,
            self.view,
            direction,
            graduation_mm,
        ))
    }
}

fn conclude(
    row: &Row,
    hierarchy: &Hierarchy,
    view: &View,
    direction: f64,
    graduation_mm: f64,
) -> RuleReading {
    let reduction = view.reduction as f64;
    let spacing_px = row.spacing * reduction;
    let se_px = row.spacing_se * reduction;
    let value = spacing_px / graduation_mm;
    // The mean holds along the rule; elsewhere the scale may lie anywhere in its drift.
    let drift = row.drift.abs() / 12.0_f64.sqrt();
    let share = (Z95 * se_px / spacing_px)
        .hypot(Z95 * drift)
        .hypot(RULE_TOLERANCE);
    let mut notes = vec![format!(
        "{} graduations of {graduation_mm} mm were measured, {spacing_px:.2} px apart.",
        row.count
    )];
    if row.drift.abs() > 0.01 {
        notes.push(format!(
            "The graduations widen by {:.1} % along the rule; hold the camera square to the sheet for a better scale.",
            100.0 * row.drift.abs()
        ));
    }
    RuleReading {
        scale: Scale {
            value,
            lo: value * (1.0 - share),
            hi: value * (1.0 + share),
            source: ScaleSource::Rule,
        },
        spacing_px: Measured::with_standard_error(spacing_px, se_px, "px", row.count),
        graduations: row.count,
        direction_deg: (row.shear.atan() - direction)
            .to_degrees()
            .rem_euclid(180.0),
        spacing_drift: row.drift,
        longer_every: hierarchy.longer_every.clone(),
        notes,
    }
}

/// Mean of the three channels.
fn photo_light(photo: &Photo) -> Plane {
    let [red, green, blue] = &photo.linear;
    ndarray::Zip::from(red)
        .and(green)
        .and(blue)
        .par_map_collect(|r, g, b| (r + g + b) / 3.0)
}

/// The round field inside its rim; glare is not left out, since white steel glares harmlessly.
fn field_mask(photo: &Photo) -> Mask {
    let inside = |y: usize, x: usize| match photo.field {
        Field::Frame => true,
        Field::Round { cx, cy, radius } => (x as f64 - cx).hypot(y as f64 - cy) < 0.97 * radius,
    };
    Mask::from_shape_fn(photo.usable.dim(), |(y, x)| inside(y, x))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::{Provenance, ReadOptions, from_linear};
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

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
                let noise = self.noise
                    * (rng.random_range(-1.0_f32..1.0) + rng.random_range(-1.0_f32..1.0));
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
            let length = (self.lengths)(k as i64) * self.px_per_step;
            let width = 0.09 * self.px_per_step;
            let across = (width + 0.5 - off).clamp(0.0, 1.0);
            let along = (v + 0.5).clamp(0.0, 1.0) * (length - v + 0.5).clamp(0.0, 1.0);
            (across * along) as f32
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
}
