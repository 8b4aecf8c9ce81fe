//! A grown system put into figures.

use super::outline;
use super::sample;
use super::strokes::Stroke;
use super::systems::Group;
use super::{Crossing, Place, System};
use crate::measure::segment::edge::Blur;
use crate::measure::systematic::SPACING;
use crate::measured::{Measured, NotMeasured, Z95};
use crate::photo::Scale;
use crate::plane::angle_deg;
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Share of the spacing that even perfect hatching keeps as error: the peak of a tapered window
/// is found to a hundredth of a bin in six (measured on drawn rulings).
const SPACING_FLOOR: f64 = 0.002;
/// The same for the direction, degrees.
const ORIENTATION_FLOOR_DEG: f64 = 0.15;
/// A stroke belongs to a system when it runs within this angle of it at the place: three standard
/// errors of the probe's 7.5° steps and a window's peak.
const BELONGS_DEG: f64 = 12.0;
/// Phases farther apart than this mean resultant length are no longer the same ruling.
const COHERENT: f64 = 0.5;
/// An end that tapers over more than this many widths is pointed; a round end tapers in 0.3.
const POINTED_WIDTHS: f64 = 1.5;

/// Puts one system into figures.
pub(super) fn system(
    group: &Group,
    strokes: &[Stroke],
    scale: Option<&Scale>,
    usable_px: usize,
    blur: Blur,
) -> System {
    let frequency = frequency_per_px(group);
    let own: Vec<&Stroke> = strokes.iter().filter(|s| belongs(group, s)).collect();
    let coherence_px = coherence_length_px(group);
    let width_px = sample::median(own.iter().map(|s| s.width_px).collect(), "px", "strokes");
    let width_px = sample::with_blur(width_px, blur);
    let ragged = |unit: &str, per: fn(&Stroke) -> f64| {
        let values = own
            .iter()
            .filter_map(|s| Some(outline::raggedness_px(s)? / per(s)));
        sample::median(
            values.collect(),
            unit,
            "strokes wide enough to show their edges",
        )
    };
    let share_of_field = field_share(group, usable_px);
    let by_hand = SPACING.at(share_of_field.value());
    System {
        spacing_per_mm: spacing(&frequency, scale, &share_of_field).widened(by_hand),
        period_px: inverse(&frequency, "px").widened(by_hand),
        orientation_deg: orientation(group),
        width_um: um(&width_px, scale),
        width_px,
        swelling: sample::median(
            own.iter().filter_map(|s| outline::swelling(s)).collect(),
            "1",
            "strokes long and wide enough to show swelling",
        ),
        pointed_ends: pointed(&own),
        raggedness_um: um(&ragged("px", |_| 1.0), scale),
        raggedness: ragged("1", |s| s.width_px),
        coherence_length_mm: in_mm(&coherence_px, scale),
        coherence_length_lines: times(&coherence_px, frequency.value().unwrap_or(f64::NAN), "1"),
        share_of_field,
        wander: wander(group),
        phase_coherence: phase_coherence(group),
        sharpness: sample::median(
            group.ripples.iter().map(|r| r.share).collect(),
            "1",
            "windows",
        ),
        false_alarm_log10: group.false_alarm_log10,
        places: group
            .cells
            .iter()
            .map(|c| Place {
                x: c.x,
                y: c.y,
                orientation_deg: line_deg(c.fx, c.fy),
                period_px: 1.0 / c.fx.hypot(c.fy),
                cell_px: group.cell_px2.sqrt(),
            })
            .collect(),
    }
}

/// Share of the field under which the spacing of a system is not given: of patches so small
/// half were off by a fifth or more on drawn plates, being sums and halves of other systems.
const MIN_SHARE: f64 = 0.1;

fn spacing(frequency: &Measured, scale: Option<&Scale>, share: &Measured) -> Measured {
    match share.value() {
        Some(share) if share < MIN_SHARE => Measured::missing(format!(
            "these lines cover only {:.0} % of the field and {:.0} % are needed; photograph a place that they fill",
            100.0 * share,
            100.0 * MIN_SHARE
        )),
        _ => per_mm(frequency, scale, "mm⁻¹"),
    }
}

/// Direction of the lines, [0, 180), from a frequency vector with y down, which stands across
/// them.
pub(super) fn line_deg(fx: f64, fy: f64) -> f64 {
    (angle_deg(fx, fy) + 90.0).rem_euclid(180.0)
}

/// Area-weighted mean frequency, cycles per px. The error is the spread over the field as if each
/// window that shares no pixel with another were one draw of it.
fn frequency_per_px(group: &Group) -> Measured {
    let values: Vec<f64> = group.cells.iter().map(|c| c.fx.hypot(c.fy)).collect();
    let (mean, variance) = sample::moments(&values);
    let n = group.independent.max(1);
    let se = (variance / n as f64 + (SPACING_FLOOR * mean).powi(2)).sqrt();
    Measured::with_standard_error(mean, se, "px⁻¹", n)
}

/// Area-weighted mean direction of the lines on doubled angles, [0, 180).
fn orientation(group: &Group) -> Measured {
    let n = group.independent.max(1);
    let (sin, cos) = group.cells.iter().fold((0.0, 0.0), |(s, c), cell| {
        let twice = 2.0 * line_deg(cell.fx, cell.fy).to_radians();
        (s + twice.sin(), c + twice.cos())
    });
    let resultant = sin.hypot(cos) / group.cells.len().max(1) as f64;
    let mean = (sin.atan2(cos).to_degrees() / 2.0).rem_euclid(180.0);
    // Circular standard deviation of the doubled angles, halved (Mardia & Jupp, Directional
    // Statistics, §2.3.4, from memory).
    let spread = (-2.0 * resultant.clamp(1e-9, 1.0).ln()).sqrt().to_degrees() / 2.0;
    let se = (spread * spread / n as f64 + ORIENTATION_FLOOR_DEG.powi(2)).sqrt();
    Measured::with_standard_error(mean, se, "°", n)
}

/// Share of the usable field the system covers; its border is known to half a cell.
fn field_share(group: &Group, usable_px: usize) -> Measured {
    let field = usable_px.max(1) as f64;
    let share = (group.area_px2() / field).min(1.0);
    let border_px = 4.0 * group.area_px2().sqrt();
    let half = (border_px * group.cell_px2.sqrt() / 2.0 / field).min(share);
    Measured::with_interval(
        share,
        share - half,
        (share + half).min(1.0),
        "1",
        group.independent,
    )
}

fn mean_side(group: &Group) -> f64 {
    group.ripples.iter().map(|r| r.side_px).sum::<f64>() / group.ripples.len().max(1) as f64
}

/// Spread of the frequency vectors about their mean, as a share of its length.
fn wander(group: &Group) -> Measured {
    let Some((mx, my)) = mean_vector(group) else {
        return Measured::missing("the system is empty");
    };
    let square = |c: &super::systems::Cell| {
        let sign = if c.fx * mx + c.fy * my < 0.0 {
            -1.0
        } else {
            1.0
        };
        (sign * c.fx - mx).powi(2) + (sign * c.fy - my).powi(2)
    };
    let n = group.cells.len().max(1) as f64;
    let spread = (group.cells.iter().map(square).sum::<f64>() / n).sqrt() / mx.hypot(my);
    let se = spread / (2.0 * group.independent.max(2) as f64).sqrt();
    Measured::with_standard_error(spread, se, "1", group.independent)
}

/// Mean frequency vector with each cell's sign turned to the principal direction.
fn mean_vector(group: &Group) -> Option<(f64, f64)> {
    let line = orientation(group).value()?.to_radians();
    let (nx, ny) = (-line.sin(), -line.cos());
    let (sx, sy) = group.cells.iter().fold((0.0, 0.0), |(sx, sy), c| {
        let sign = if c.fx * nx + c.fy * ny < 0.0 {
            -1.0
        } else {
            1.0
        };
        (sx + sign * c.fx, sy + sign * c.fy)
    });
    let n = group.cells.len() as f64;
    (n > 0.0 && sx.hypot(sy) > 0.0).then_some((sx / n, sy / n))
}

/// Phase left over between two windows when the ruling of the first is carried to the second.
fn phase_left(a: &super::ripple::Ripple, b: &super::ripple::Ripple) -> f64 {
    let sign = if a.fx * b.fx + a.fy * b.fy < 0.0 {
        -1.0
    } else {
        1.0
    };
    sign * b.phase - a.phase - TAU * (a.fx * (b.x - a.x) + a.fy * (b.y - a.y))
}

/// Resultants of left-over phases by distance: (mean distance px, resultant, pairs).
fn phase_resultants(group: &Group) -> Vec<(f64, f64, usize)> {
    let step = mean_side(group) / 2.0;
    let mut rings: Vec<(f64, f64, f64, usize)> = Vec::new();
    // Pairs grow with the square; every k-th window keeps them near a hundred thousand.
    let stride = group.ripples.len() / 450 + 1;
    for a in group.ripples.iter().step_by(stride) {
        for b in &group.ripples {
            let distance = (b.x - a.x).hypot(b.y - a.y);
            let ring = (distance / step).round() as usize;
            if ring == 0 || a.side_px != b.side_px {
                continue;
            }
            if rings.len() <= ring {
                rings.resize(ring + 1, (0.0, 0.0, 0.0, 0));
            }
            let left = phase_left(a, b);
            let r = &mut rings[ring];
            *r = (r.0 + distance, r.1 + left.cos(), r.2 + left.sin(), r.3 + 1);
        }
    }
    rings
        .into_iter()
        .filter(|r| r.3 >= 8)
        .map(|(d, c, s, n)| (d / n as f64, c.hypot(s) / n as f64, n))
        .collect()
}

/// Distance at which the ruling of one window no longer predicts another's phase.
fn coherence_length_px(group: &Group) -> Measured {
    let rings = phase_resultants(group);
    let Some(last) = rings.last() else {
        return Measured::missing("too few windows to follow the ruling");
    };
    let n = group.independent;
    match rings.iter().position(|r| r.1 < COHERENT) {
        Some(0) => Measured::with_interval(rings[0].0 / 2.0, 0.0, rings[0].0, "px", n),
        Some(i) => {
            let (a, b) = (rings[i - 1], rings[i]);
            let t = (a.1 - COHERENT) / (a.1 - b.1).max(f64::MIN_POSITIVE);
            Measured::with_interval(a.0 + t * (b.0 - a.0), a.0 / 1.5, b.0 * 1.5, "px", n)
        }
        // Coherent over all that is seen: a lower bound, so the interval is open to the field.
        None => Measured::with_interval(last.0, last.0 / 1.5, last.0 * 10.0, "px", n),
    }
}

/// Mean resultant at two window sides: 1 for a ruling that runs on in step, near 0 for lines drawn one by
/// one.
fn phase_coherence(group: &Group) -> Measured {
    let side = mean_side(group);
    let rings = phase_resultants(group);
    let near: Vec<_> = rings
        .iter()
        .filter(|r| (1.5..=2.5).contains(&(r.0 / side)))
        .collect();
    let pairs: usize = near.iter().map(|r| r.2).sum();
    if pairs < sample::MIN_SAMPLES {
        return NotMeasured::too_few("pairs of windows", pairs, sample::MIN_SAMPLES).into();
    }
    let mean = near.iter().map(|r| r.1 * r.2 as f64).sum::<f64>() / pairs as f64;
    let n = group.independent.max(2);
    let half = Z95 * (1.0 - mean * mean) / (n as f64).sqrt();
    Measured::with_interval(mean, (mean - half).max(0.0), (mean + half).min(1.0), "1", n)
}

/// Whether the stroke runs along the system where it was started.
fn belongs(group: &Group, stroke: &Stroke) -> bool {
    let Some(at) = stroke.points.get(stroke.seed) else {
        return false;
    };
    let half = 0.5 * group.cell_px2.sqrt();
    let [dx, dy] = stroke.direction();
    let along = angle_deg(dx, dy);
    group
        .cells
        .iter()
        .find(|c| (c.x - at[0]).abs() <= half && (c.y - at[1]).abs() <= half)
        .is_some_and(|c| apart_deg(along, line_deg(c.fx, c.fy)) <= BELONGS_DEG)
}

/// Share of true ends that are pointed.
pub(super) fn pointed(strokes: &[&Stroke]) -> Measured {
    let tapers: Vec<f64> = strokes.iter().flat_map(|s| outline::tapers(s)).collect();
    let hits = tapers.iter().filter(|&&t| t > POINTED_WIDTHS).count();
    sample::share(hits, tapers.len(), "free ends of strokes")
}

fn times(figure: &Measured, factor: f64, unit: &str) -> Measured {
    match figure {
        Measured::Figure(f) => {
            Measured::with_interval(f.value * factor, f.lo * factor, f.hi * factor, unit, f.n)
        }
        Measured::Missing(reason) => reason.clone().into(),
    }
}

fn inverse(figure: &Measured, unit: &str) -> Measured {
    match figure {
        Measured::Figure(f) => {
            let lo = f.lo.max(f.value / 10.0);
            Measured::with_interval(1.0 / f.value, 1.0 / f.hi, 1.0 / lo, unit, f.n)
        }
        Measured::Missing(reason) => reason.clone().into(),
    }
}

/// Scales a figure by a power of the scale, adding the scale's own relative error in quadrature.
fn scaled(
    figure: &Measured,
    scale: Option<&Scale>,
    factor: impl Fn(f64) -> f64,
    unit: &str,
) -> Measured {
    let (figure, scale) = match (figure, scale) {
        (Measured::Missing(reason), _) => return reason.clone().into(),
        (_, None) => return NotMeasured::no_scale().into(),
        (Measured::Figure(figure), Some(scale)) => (figure, scale),
    };
    let value = figure.value * factor(scale.value);
    let of_scale = 0.5 * (scale.hi - scale.lo) / scale.value * value;
    let reach = |end: f64| ((end - figure.value) * factor(scale.value)).hypot(of_scale);
    Measured::with_interval(
        value,
        value - reach(figure.lo),
        value + reach(figure.hi),
        unit,
        figure.n,
    )
}

fn per_mm(figure: &Measured, scale: Option<&Scale>, unit: &str) -> Measured {
    scaled(figure, scale, |px_per_mm| px_per_mm, unit)
}

fn in_mm(figure: &Measured, scale: Option<&Scale>) -> Measured {
    scaled(figure, scale, |px_per_mm| 1.0 / px_per_mm, "mm")
}

fn um(figure: &Measured, scale: Option<&Scale>) -> Measured {
    scaled(figure, scale, |px_per_mm| 1000.0 / px_per_mm, "µm")
}

/// Least share of the smaller system's area that must lie under the other.
const CROSSING_SHARE: f64 = 0.2;

/// The pairs of systems that lie over one another, with the angle between their lines there.
pub(super) fn crossings(systems: &[System]) -> Vec<Crossing> {
    let maps: Vec<BTreeMap<(i64, i64), f64>> = systems.iter().map(by_place).collect();
    let mut crossings = Vec::new();
    for (first, a) in maps.iter().enumerate() {
        for (second, b) in maps.iter().enumerate().skip(first + 1) {
            let angles: Vec<f64> = a
                .iter()
                .filter_map(|(at, one)| Some(apart_deg(*one, *b.get(at)?)))
                .collect();
            if angles.len() as f64 >= CROSSING_SHARE * a.len().min(b.len()) as f64 {
                crossings.push(Crossing {
                    first,
                    second,
                    angle_deg: sample::median(angles, "°", "windows in both systems"),
                });
            }
        }
    }
    crossings
}

fn by_place(system: &System) -> BTreeMap<(i64, i64), f64> {
    let at = |v: f64, cell: f64| (v / cell).floor() as i64;
    system
        .places
        .iter()
        .map(|p| ((at(p.y, p.cell_px), at(p.x, p.cell_px)), p.orientation_deg))
        .collect()
}

/// Angle between two undirected lines, [0, 90].
fn apart_deg(a: f64, b: f64) -> f64 {
    let apart = (a - b).rem_euclid(180.0);
    apart.min(180.0 - apart)
}
