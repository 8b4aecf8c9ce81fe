//! Figures of the whole field for weighing: scale-free, each a share or a ratio.

use super::outline;
use super::ripple::{Layer, Window};
use super::sample;
use super::strokes::{Seed, Stroke};
use super::systems::Group;
use super::{System, figures};
use crate::measure::marks::Quantiles;
use crate::measured::{Measured, NotMeasured, Z95};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeSet;

/// A stroke longer than this many widths is long: three times the flick of a stippler.
const LONG_WIDTHS: f64 = 10.0;

/// Share of a window's line power at which its wave counts as hatching: an even ruling of any
/// width holds 0.5 or more, strewn dots under 0.3.
const HATCH_SHARE: f64 = 0.4;

/// Scale-free figures of the whole field. "Share of ink" figures rest on ink pixels drawn evenly
/// from all ink.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Features {
    /// Share of ink in strokes at least ten widths long, 0–1. High for line work, low for dots.
    pub ink_in_long_strokes: Measured,
    /// Share of ink in patches too broad to be strokes, 0–1.
    pub ink_in_patches: Measured,
    /// Length of the stroke that a bit of ink lies in, in widths (1 for a round dot).
    pub stroke_length_widths: Quantiles,
    /// Strength of one local direction over the others, weighted by line power, 0–1: the layer of
    /// window sizes in which it is strongest.
    pub orientation_coherence: Measured,
    /// Share of the inked field covered by systems of hatching, 0–1.
    pub hatched_share: Measured,
    /// Share of windows with line power that hold a wave sharp enough for hatching, 0–1.
    pub windows_with_hatch: Measured,
    /// Sharpness of hatching: share of a window's line power in its strongest wave, median, 0–1.
    pub peak_sharpness: Measured,
    /// The largest system's phase coherence, 0–1: 1 for screens and ruling machines.
    pub phase_coherence: Measured,
    /// The largest system's wander (see [`System::wander`]).
    pub wander: Measured,
    /// Change of width along long strokes (see [`System::swelling`]).
    pub swelling: Measured,
    /// Roughness of the edges of strokes as a share of their width.
    pub raggedness: Measured,
    /// Share of free ends of strokes that are pointed.
    pub pointed_ends: Measured,
    /// True when two crossing systems are as even as a screen's or ruling machine's lattice.
    pub lattice_like: bool,
}

/// Below this wander a system is as even as a machine's: camera distortion and perspective of a
/// few per cent stay under it.
const MACHINE_WANDER: f64 = 0.03;

pub(super) fn features(
    layers: &[Layer],
    groups: &[Group],
    systems: &[System],
    seeds: &[Seed],
) -> Features {
    let strokes: Vec<Stroke> = seeds.iter().filter_map(Seed::stroke).collect();
    let long: Vec<&Stroke> = strokes.iter().filter(|s| is_long(s)).collect();
    let first = |pick: fn(&System) -> &Measured| {
        systems
            .first()
            .map_or_else(no_hatching, |system| pick(system).clone())
    };
    Features {
        ink_in_long_strokes: sample::share(long.len(), seeds.len(), "bits of ink"),
        ink_in_patches: sample::share(seeds.len() - strokes.len(), seeds.len(), "bits of ink"),
        stroke_length_widths: lengths(&strokes),
        orientation_coherence: orientation_coherence(layers),
        hatched_share: hatched_share(layers, groups),
        windows_with_hatch: windows_with_hatch(layers),
        peak_sharpness: first(|s| &s.sharpness),
        phase_coherence: first(|s| &s.phase_coherence),
        wander: first(|s| &s.wander),
        swelling: sample::median(
            long.iter().filter_map(|s| outline::swelling(s)).collect(),
            "1",
            "long strokes wide enough to show swelling",
        ),
        raggedness: sample::median(
            strokes
                .iter()
                .filter_map(|s| Some(outline::raggedness_px(s)? / s.width_px))
                .collect(),
            "1",
            "strokes wide enough to show their edges",
        ),
        pointed_ends: figures::pointed(&long),
        lattice_like: lattice_like(systems),
    }
}

fn no_hatching() -> Measured {
    Measured::missing("no system of hatching was found")
}

fn is_long(stroke: &Stroke) -> bool {
    stroke.length_widths() >= LONG_WIDTHS
}

fn lengths(strokes: &[Stroke]) -> Quantiles {
    let values: Vec<f64> = strokes.iter().map(Stroke::length_widths).collect();
    let at = |p| sample::quantile(values.clone(), p, "widths", "bits of ink");
    Quantiles {
        p10: at(0.1),
        p50: at(0.5),
        p90: at(0.9),
    }
}

fn orientation_coherence(layers: &[Layer]) -> Measured {
    layers
        .iter()
        .filter_map(layer_coherence)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map_or_else(
            || Measured::missing("no window holds ink"),
            |(value, se, n)| {
                let (lo, hi) = ((value - Z95 * se).max(0.0), (value + Z95 * se).min(1.0));
                Measured::with_interval(value, lo, hi, "1", n)
            },
        )
}

/// Power-weighted mean coherence of a layer, its standard error and the windows' number.
fn layer_coherence(layer: &Layer) -> Option<(f64, f64, usize)> {
    let inked: Vec<&Window> = layer.windows.iter().filter(|w| w.inked).collect();
    if inked.len() < sample::MIN_SAMPLES {
        return None;
    }
    let total: f64 = inked.iter().map(|w| w.power).sum();
    let mean = inked.iter().map(|w| w.power * w.coherence).sum::<f64>() / total;
    let square: f64 = inked
        .iter()
        .map(|w| (w.power * (w.coherence - mean)).powi(2))
        .sum();
    // Neighbouring windows overlap by half each way, so four count as one.
    let se = 2.0 * square.sqrt() / total;
    (total > 0.0).then_some((mean, se, inked.len()))
}

/// Systems' cells over cells with line power.
fn hatched_share(layers: &[Layer], groups: &[Group]) -> Measured {
    let Some(finest) = layers.first() else {
        return Measured::missing("the field is smaller than a window");
    };
    let place = |x: f64, y: f64| {
        let at = |v: f64| (v / finest.stride_px).floor() as i64;
        (at(y), at(x))
    };
    let inked: BTreeSet<(i64, i64)> = finest
        .windows
        .iter()
        .filter(|w| w.inked)
        .map(|w| {
            let middle = |i: usize| i as f64 * finest.stride_px + finest.side_px / 2.0;
            place(middle(w.column), middle(w.row))
        })
        .collect();
    let hatched: BTreeSet<(i64, i64)> = groups
        .iter()
        .flat_map(|g| &g.cells)
        .map(|c| place(c.x, c.y))
        .filter(|at| inked.contains(at))
        .collect();
    overlapping(sample::share(hatched.len(), inked.len(), "inked windows"))
}

/// A share of windows that overlap by half each way, so that four count as one.
fn overlapping(share: Measured) -> Measured {
    const COUNT_AS_ONE: f64 = 4.0;
    match share {
        Measured::Figure(f) => Measured::with_share(f.value, f.n as f64 / COUNT_AS_ONE, f.n),
        missing => missing,
    }
}

fn windows_with_hatch(layers: &[Layer]) -> Measured {
    let best = layers
        .iter()
        .map(|layer| {
            let inked = layer.windows.iter().filter(|w| w.inked);
            let hits = inked.clone().filter(|w| {
                let first = w.ripples.first();
                first.is_some_and(|r| r.strong && r.share >= HATCH_SHARE)
            });
            (hits.count(), inked.count())
        })
        .filter(|&(_, inked)| inked >= sample::MIN_SAMPLES)
        .max_by(|a, b| (a.0 * b.1).cmp(&(b.0 * a.1)));
    best.map_or_else(
        || NotMeasured::too_few("inked windows", 0, sample::MIN_SAMPLES).into(),
        |(hits, n)| overlapping(sample::share(hits, n, "inked windows")),
    )
}

fn lattice_like(systems: &[System]) -> bool {
    let even: Vec<&System> = systems
        .iter()
        .filter(|s| s.wander.value().is_some_and(|w| w < MACHINE_WANDER))
        .collect();
    even.len() >= 2
        && figures::crossings(systems).iter().any(|c| {
            let is_even = |i: usize| {
                systems[i]
                    .wander
                    .value()
                    .is_some_and(|w| w < MACHINE_WANDER)
            };
            is_even(c.first) && is_even(c.second)
        })
}
