//! Strokes at one spacing: their places, their ends, and how well they fit a rule.

use super::bands::Bands;
use super::ends::{Course, FromBaseline, extent};
use super::straighten::Strip;
use super::{FEWEST, RuleError};
use super::{across, between};
use crate::photo::field::quantile;

/// A tick is sought within this share of the spacing around its expected place.
const SEARCH_SHARE: f64 = 0.3;
/// A tick is present from this share of the typical contrast on.
const PRESENT_SHARE: f32 = 0.35;
/// Share of the expected ticks that must be present: a multiple of the true frequency finds
/// one in two at most.
const PRESENT_TICKS: f64 = 0.85;
/// Largest deviation of ticks from equal spacing, share of the spacing, or this many px if
/// that is more: hand-cut and machine-ruled hatching scatters by 3 % and more.
const EVEN_SHARE: f64 = 0.02;
const EVEN_PX: f64 = 0.4;
/// A fit this far from the spacing it was sought at has followed other strokes.
const DRIFTED: f64 = 0.05;
/// Said of strokes that are not seen whole.
pub(super) const OUTSIDE: &str = "their ends lie outside the field";
/// MAD to standard deviation of a normal distribution.
const MAD_TO_SD: f64 = 1.4826;

/// A row of ticks; lengths in px of the strip.
pub(super) struct Row {
    /// Distance of neighbouring ticks, at right angles to them.
    pub spacing: f64,
    pub spacing_se: f64,
    /// Change of the spacing from one end to the other, share of the mean.
    pub drift: f64,
    /// Slant of the ticks in the strip: change of x per row.
    pub shear: f64,
    /// Ticks measured.
    pub count: usize,
    /// Number and length of each tick whose ends lie in the picture.
    pub lengths: Vec<(i64, f64)>,
}

/// One tick's number in the row and its place.
struct Tick {
    number: i64,
    x: f64,
}

/// Ticks found, with the bands they stand in and the spacing they fit.
struct Found {
    bands: Bands,
    shear: f64,
    ticks: Vec<Tick>,
    fit: Fit,
}

impl Found {
    /// Ticks at about `spacing` px. A second pass uses the spacing the first one found: with a
    /// wrong one, phases would drift with where in the strip each band lies.
    fn at(strip: &Strip, spacing: f64, sign: f32) -> Option<Self> {
        let first = Self::once(strip, spacing, sign)?;
        Self::once(strip, first.fit.slope, sign)
    }

    fn once(strip: &Strip, spacing: f64, sign: f32) -> Option<Self> {
        let bands = Bands::at(strip, spacing)?;
        let shear = bands.shear(spacing);
        let profile = bands.profile(strip, shear, sign);
        let ticks = find_ticks(&profile, spacing, &bands, sign)?;
        let fit = Fit::of(&ticks)?;
        // Ticks followed from a chance spacing may end up at another one.
        let same = (fit.slope / spacing - 1.0).abs() < DRIFTED;
        same.then_some(Self {
            bands,
            shear,
            ticks,
            fit,
        })
    }
}

/// Slant of a row of strokes at about `spacing` px, change of x per row; `None` where no row
/// of them stands in the strip.
pub(super) fn slant(strip: &Strip, spacing: f64, sign: f32) -> Option<f64> {
    let found = Found::at(strip, spacing, sign)?;
    // Twice the scatter of a rule: leaning strokes are seen less clearly, chance ones scatter
    // over the whole search range.
    let limit = 2.0 * (EVEN_SHARE * found.fit.slope).max(EVEN_PX);
    (found.fit.scatter <= limit).then_some(found.shear)
}

impl Row {
    /// Traces the ticks at about `spacing` px; `sign` is 1 for dark ticks, −1 for bright ones.
    pub fn trace(strip: &Strip, spacing: f64, sign: f32) -> Result<Self, RuleError> {
        let Found {
            bands,
            shear,
            ticks,
            fit,
        } = Found::at(strip, spacing, sign).ok_or(RuleError::NoGraduations)?;
        if fit.scatter > (EVEN_SHARE * fit.slope).max(EVEN_PX) {
            return Err(RuleError::NotARule("their distances vary".into()));
        }
        let course = Course {
            shear,
            middle: bands.middle_row(),
            spacing: fit.slope,
            sign,
        };
        let (whole, ends): (Vec<between::Stroke>, Vec<_>) = ticks
            .iter()
            .filter_map(|t| Some(((t.number, t.x), extent(strip, t.x, &course)?)))
            .unzip();
        if whole.len() < FEWEST {
            return Err(RuleError::NotARule(OUTSIDE.into()));
        }
        let places: Vec<f64> = whole.iter().map(|(_, x)| *x).collect();
        let repetition = across::repetition(strip, &places, shear, course.middle, fit.slope);
        if across::repeats(repetition) {
            return Err(RuleError::NotARule(across::OF_DOTS.into()));
        }
        let ends = FromBaseline::of(&places, &ends)?;
        if between::finer_strokes(strip, &whole, &ends, &course) {
            return Err(RuleError::NotARule(between::FINER.into()));
        }
        let upright = shear.atan().cos();
        Ok(Self {
            spacing: fit.slope * upright,
            spacing_se: fit.slope_se * upright,
            drift: fit.drift,
            shear,
            count: ticks.len(),
            lengths: whole.iter().map(|w| w.0).zip(ends.lengths).collect(),
        })
    }
}

/// Follows ticks outwards from the middle of the strip.
fn find_ticks(profile: &[f32], spacing: f64, bands: &Bands, sign: f32) -> Option<Vec<Tick>> {
    let (_, _, phase) = *bands.run.get(bands.run.len() / 2)?;
    // Light is brightest at phase 0; dark ticks stand half a turn away.
    let offset = if sign > 0.0 { 0.5 } else { 0.0 };
    let centre = profile.len() as f64 / 2.0;
    let start = ((centre / spacing - phase - offset).round() + phase + offset) * spacing;
    let mut found: Vec<(i64, f64, f32)> = Vec::new();
    for step in [1_i64, -1] {
        let mut expected = if step > 0 { start } else { start - spacing };
        let mut number = if step > 0 { 0 } else { -1 };
        while expected > 0.0 && expected < profile.len() as f64 {
            let here = local_tick(profile, expected, spacing);
            if let Some((x, contrast)) = here {
                found.push((number, x, contrast));
                // Half-way to where it was found: follows slow drift, not a stray stroke.
                expected = f64::midpoint(expected, x);
            }
            number += step;
            expected += step as f64 * spacing;
        }
    }
    let typical = quantile(found.iter().map(|t| t.2), 0.6);
    found.retain(|t| t.2 >= PRESENT_SHARE * typical);
    found.sort_by_key(|t| t.0);
    let (first, last) = (found.first()?.0, found.last()?.0);
    let expected = (last - first + 1) as f64;
    (found.len() >= FEWEST && found.len() as f64 >= PRESENT_TICKS * expected).then(|| {
        found
            .into_iter()
            .map(|(number, x, _)| Tick { number, x })
            .collect()
    })
}

/// Place and contrast of the darkest stroke near `expected`: centre of gravity of what
/// stands above half its height.
fn local_tick(profile: &[f32], expected: f64, spacing: f64) -> Option<(f64, f32)> {
    let reach = (SEARCH_SHARE * spacing).max(1.5);
    let from = (expected - reach).ceil().max(0.0) as usize;
    let to = ((expected + reach).floor() as usize).min(profile.len().checked_sub(1)?);
    let peak = (from..=to).max_by(|a, b| profile[*a].total_cmp(&profile[*b]))?;
    let half = (spacing / 2.0).round() as usize;
    let ground = 0.5 * (profile.get(peak.checked_sub(half)?)? + profile.get(peak + half)?);
    let contrast = profile[peak] - ground;
    if !(contrast.is_finite() && contrast > 0.0) {
        return None;
    }
    let level = ground + 0.5 * contrast;
    let (mut sum, mut moment) = (0.0_f64, 0.0_f64);
    let quarter = (spacing * 0.35).ceil() as usize;
    let first = peak.saturating_sub(quarter);
    for (x, value) in profile
        .iter()
        .enumerate()
        .skip(first)
        .take(peak + quarter + 1 - first)
    {
        let weight = f64::from(value - level);
        if weight > 0.0 {
            sum += weight;
            moment += weight * x as f64;
        }
    }
    (sum > 0.0).then(|| (moment / sum, contrast))
}

/// Places = start + slope · number + bend · number².
struct Fit {
    slope: f64,
    slope_se: f64,
    drift: f64,
    scatter: f64,
}

impl Fit {
    fn of(ticks: &[Tick]) -> Option<Self> {
        let n = ticks.len() as f64;
        let mean_k = ticks.iter().map(|t| t.number as f64).sum::<f64>() / n;
        let mean_x = ticks.iter().map(|t| t.x).sum::<f64>() / n;
        let ks: Vec<f64> = ticks.iter().map(|t| t.number as f64 - mean_k).collect();
        let s2: f64 = ks.iter().map(|k| k * k).sum();
        if s2 <= 0.0 {
            return None;
        }
        let slope = ks
            .iter()
            .zip(ticks)
            .map(|(k, t)| k * (t.x - mean_x))
            .sum::<f64>()
            / s2;
        // The square made orthogonal to the straight line over these numbers.
        let s3: f64 = ks.iter().map(|k| k.powi(3)).sum();
        let bent: Vec<f64> = ks.iter().map(|k| k * k - s2 / n - k * s3 / s2).collect();
        let b2: f64 = bent.iter().map(|b| b * b).sum();
        let rest: Vec<f64> = ks
            .iter()
            .zip(ticks)
            .map(|(k, t)| t.x - mean_x - slope * k)
            .collect();
        let bend = if b2 > 0.0 {
            bent.iter().zip(&rest).map(|(b, r)| b * r).sum::<f64>() / b2
        } else {
            0.0
        };
        let off = rest
            .iter()
            .zip(&bent)
            .map(|(r, b)| (r - bend * b).abs() as f32);
        let scatter = MAD_TO_SD * f64::from(quantile(off, 0.5));
        let span = ks.last()? - ks.first()?;
        // Two hundredths of a px stand for what sampling hides in a noiseless picture.
        let slope_se = scatter.max(0.02) / s2.sqrt();
        Some(Self {
            slope,
            slope_se,
            drift: 2.0 * bend * span / slope,
            scatter,
        })
    }
}
