//! The outline of a followed stroke: swelling, raggedness, tapering ends.

use super::strokes::{MIN_WIDTH_PX, Stroke};
use crate::rank::quantile;

/// Change of width along the stroke: (90 % − 10 % quantile) over the median of the width
/// smoothed over two widths, without the tapering ends.
pub(super) fn swelling(stroke: &Stroke) -> Option<f64> {
    let smooth = smoothed_widths(stroke)?;
    let inner: Vec<f64> = smooth[smooth.len() / 8..smooth.len() - smooth.len() / 8].to_vec();
    if inner.len() < 8 {
        return None;
    }
    let at = |share: f64| quantile(inner.iter().copied(), share);
    Some((at(0.9)? - at(0.1)?) / at(0.5)?.max(f64::MIN_POSITIVE))
}

/// Widths smoothed along the stroke over about two widths; nothing for short or thin strokes.
fn smoothed_widths(stroke: &Stroke) -> Option<Vec<f64>> {
    let widths: Vec<f64> = stroke.edges.iter().flatten().map(|[l, r]| l + r).collect();
    let reach = 4;
    (stroke.width_px >= MIN_WIDTH_PX && widths.len() >= 4 * reach).then(|| {
        (0..widths.len())
            .map(|i| {
                let part = &widths[i.saturating_sub(reach)..(i + reach + 1).min(widths.len())];
                part.iter().sum::<f64>() / part.len() as f64
            })
            .collect()
    })
}

/// Raggedness of the edges: root mean square of each edge about a straight line through its
/// neighbourhood of ±1 width, px.
pub(super) fn raggedness_px(stroke: &Stroke) -> Option<f64> {
    // ISO 13660 measures a straight edge's residuals about its line; strokes bend, so the line is
    // fitted over two widths (9 points a quarter width apart) at a time.
    const REACH: usize = 4;
    if stroke.width_px < MIN_WIDTH_PX {
        return None;
    }
    let (mut sum, mut count) = (0.0, 0usize);
    for side in 0..2 {
        for part in stroke.edges.windows(2 * REACH + 1) {
            let Some(edge) = part
                .iter()
                .map(|e| e.map(|e| e[side]))
                .collect::<Option<Vec<_>>>()
            else {
                continue;
            };
            sum += residual_at_middle(&edge).powi(2);
            count += 1;
        }
    }
    // The middle's residual about a line through all 2R + 1 points has (1 − 1/(2R + 1)) of the
    // variance of a point.
    let points = (2 * REACH + 1) as f64;
    (count >= 2 * REACH).then(|| (sum / count as f64 / (1.0 - 1.0 / points)).sqrt())
}

/// Distance of the middle value from the least-squares line, which at the middle is the mean.
fn residual_at_middle(values: &[f64]) -> f64 {
    values[values.len() / 2] - values.iter().sum::<f64>() / values.len() as f64
}

/// Length over which each true end tapers from nine tenths of the stroke's width, in widths; a cut
/// or blunt end tapers within half a width.
pub(super) fn tapers(stroke: &Stroke) -> Vec<f64> {
    if stroke.length_widths() < 4.0 || stroke.width_px < MIN_WIDTH_PX {
        return Vec::new();
    }
    let mut tapers = Vec::new();
    if stroke.ends[0] {
        tapers.push(taper(stroke, stroke.points.iter().zip(&stroke.edges)));
    }
    if stroke.ends[1] {
        tapers.push(taper(stroke, stroke.points.iter().zip(&stroke.edges).rev()));
    }
    tapers
}

fn taper<'a>(
    stroke: &Stroke,
    mut from_end: impl Iterator<Item = (&'a [f64; 2], &'a Option<[f64; 2]>)>,
) -> f64 {
    let Some((tip, _)) = from_end.next() else {
        return 0.0;
    };
    from_end
        .find(|(_, edges)| edges.is_some_and(|[l, r]| l + r >= 0.9 * stroke.width_px))
        .map_or(stroke.length_px, |(p, _)| {
            (p[0] - tip[0]).hypot(p[1] - tip[1])
        })
        / stroke.width_px
}
