//! Whether a row of strokes repeats across as it does along: then it is a screen of dots and no rule.

use super::straighten::Strip;

/// Fewest spacings across that the strip must show for the question to be asked.
const FEWEST_ACROSS: f64 = 6.0;
/// Said of what repeats.
pub(super) const OF_DOTS: &str = "they repeat across as well, as a screen of dots does";
/// Correlation of the contrast across with itself one spacing on, from which it repeats: between the screens of
/// dots by Ghostscript in `fixtures/foreign_screens` (0.51 to 0.97 in the first row found, where one is) and the
/// rules of three drawn lots (0.11 at most).
const REPEATS: f64 = 0.4;
/// Lags tried about the spacing, shares of it: a tilted camera shortens one way.
const LAGS: [f64; 5] = [0.9, 0.95, 1.0, 1.05, 1.1];

/// Correlation of the strokes' contrast across the row with itself one spacing farther on, −1 to 1; `None`
/// where too few spacings are seen. `places` are the strokes' x at row `middle`, `shear` their slant.
pub(super) fn repetition(
    strip: &Strip,
    places: &[f64],
    shear: f64,
    middle: f64,
    spacing: f64,
) -> Option<f64> {
    let contrast: Vec<Option<f64>> = (0..strip.log_light.nrows())
        .map(|row| contrast(strip, places, shear * (row as f64 - middle), spacing, row))
        .collect();
    let first = contrast.iter().position(Option::is_some)?;
    let last = contrast.iter().rposition(Option::is_some)?;
    let seen: Vec<f64> = contrast[first..=last]
        .iter()
        .map(|c| c.unwrap_or(0.0))
        .collect();
    if (seen.len() as f64) < FEWEST_ACROSS * spacing {
        return None;
    }
    let swing = without_mean(&seen, (spacing.round() as usize).max(1));
    LAGS.iter()
        .map(|share| correlation(&swing, (share * spacing).round() as usize))
        .reduce(f64::max)
}

/// Whether it repeats.
pub(super) fn repeats(repetition: Option<f64>) -> bool {
    repetition.is_some_and(|r| r >= REPEATS)
}

/// Mean light on the strokes less that half-way between them, in one row.
fn contrast(strip: &Strip, places: &[f64], shift: f64, spacing: f64, row: usize) -> Option<f64> {
    let at = |x: f64| {
        let column = x.round();
        let inside = column >= 0.0 && column < strip.log_light.ncols() as f64;
        let light = inside.then(|| strip.log_light[[row, column as usize]])?;
        light.is_finite().then(|| f64::from(light))
    };
    let pairs: Vec<f64> = places
        .iter()
        .filter_map(|x| Some(at(x + shift)? - at(x + shift + spacing / 2.0)?))
        .collect();
    (!pairs.is_empty()).then(|| pairs.iter().sum::<f64>() / pairs.len() as f64)
}

/// Values less their mean over one spacing around each.
fn without_mean(values: &[f64], width: usize) -> Vec<f64> {
    (0..values.len())
        .map(|i| {
            let from = i.saturating_sub(width / 2);
            let near = &values[from..(from + width).min(values.len())];
            values[i] - near.iter().sum::<f64>() / near.len() as f64
        })
        .collect()
}

fn correlation(values: &[f64], lag: usize) -> f64 {
    let Some(later) = values.get(lag..) else {
        return 0.0;
    };
    let earlier = &values[..later.len()];
    let product: f64 = earlier.iter().zip(later).map(|(a, b)| a * b).sum();
    let square = |v: &[f64]| v.iter().map(|x| x * x).sum::<f64>();
    product
        / (square(earlier) * square(later))
            .sqrt()
            .max(f64::MIN_POSITIVE)
}
