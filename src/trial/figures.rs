//! Measured figures against drawn truth.

use crate::measure::Examined;
use crate::measure::lines::{Place, System};
use crate::measure::systematic::{COVERAGE, Component, DENSITY, DIAMETER, RULING, SPACING};
use crate::measured::Measured;
use crate::rank::median;
use crate::specimen::sheet::{HatchPlace, Origin};
use crate::specimen::truth::SpecimenTruth;

/// One measured figure beside its truth.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// Which figure.
    pub figure: &'static str,
    /// The part of its uncertainty that is not scatter.
    pub component: &'static Component,
    /// What that part hangs on, where it was measured.
    pub condition: Option<f64>,
    /// Measured over true, minus one.
    pub error: f64,
    /// Whether the 95 % interval holds the truth.
    pub held: bool,
}

/// How one figure did over many specimens.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// Which figure.
    pub figure: &'static str,
    /// Specimens in which it was measured and the truth is known.
    pub n: usize,
    /// Median of the error: bias.
    pub median_error: f64,
    /// Median of the error's size.
    pub median_size: f64,
    /// Share of 95 % intervals that hold the truth.
    pub held: f64,
}

/// All figures of one specimen whose truth is known.
#[must_use]
pub fn checks(truth: &SpecimenTruth, examined: &Examined) -> Vec<Check> {
    let mut found = Vec::new();
    let mut ratio = |figure, component, condition, measured: &Measured, truth: f64| {
        if let Some(m) = measured.figure().filter(|_| truth > 0.0) {
            found.push(Check {
                figure,
                component,
                condition,
                error: m.value / truth - 1.0,
                held: (m.lo..=m.hi).contains(&truth),
            });
        }
    };
    let m = &examined.measurements;
    let resolved = m.marks.diameter_over_blur.value();
    if let Some(marks) = &truth.marks {
        if truth.origin == Origin::StippleEngraving {
            ratio(
                "stipple: marks per mm²",
                &DENSITY,
                resolved,
                &m.marks.density_per_mm2,
                marks.density_per_mm2,
            );
            ratio(
                "stipple: median diameter",
                &DIAMETER,
                resolved,
                &m.marks.diameter_um.p50,
                marks.diameter_um[1],
            );
        }
        ratio(
            "coverage",
            &COVERAGE,
            resolved,
            &m.marks.coverage,
            marks.coverage,
        );
    }
    let engraved = truth.origin == Origin::LineEngraving;
    if let Some(system) = m.lines.systems.first().filter(|_| engraved) {
        // What lies along no drawn lines is held against the main system.
        let main = || truth.hatching.first().map(|h| h.lines_per_mm);
        let drawn = drawn_beneath(system, truth).or_else(main);
        ratio(
            "hatching: spacing of the main system",
            &SPACING,
            system.share_of_field.value(),
            &system.spacing_per_mm,
            drawn.unwrap_or(0.0),
        );
    }
    for screen in &truth.screens {
        if let Some(read) = m.lattice.inks.iter().find(|i| i.ink == screen.ink) {
            ratio(
                "screen: ruling",
                &RULING,
                None,
                &read.ruling_lpi,
                screen.ruling_lpi,
            );
        }
    }
    found
}

/// Furthest that a system read may lie in direction from one drawn to be the same, degrees.
const SAME_DIRECTION_DEG: f64 = 10.0;
/// How near a place of a drawn system may lie to a place of one read, in sides of the patch that was read.
const NEAR_CELLS: f64 = 2.0;

/// Mean spacing, lines per mm, of the lines drawn where a system was read and running its way; none where fewer than
/// half of its places have such lines near.
fn drawn_beneath(system: &System, truth: &SpecimenTruth) -> Option<f64> {
    let drawn: Vec<&HatchPlace> = truth.hatching.iter().flat_map(|h| &h.places).collect();
    let off = |place: &Place, drawn: &HatchPlace| {
        let off = (drawn.orientation_deg - place.orientation_deg).rem_euclid(180.0);
        off.min(180.0 - off)
    };
    let beneath: Vec<f64> = system
        .places
        .iter()
        .filter_map(|place| {
            let near = |d: &HatchPlace| {
                (d.at[0] - place.x).hypot(d.at[1] - place.y) <= NEAR_CELLS * place.cell_px
            };
            let along = drawn
                .iter()
                .filter(|d| near(d) && off(place, d) <= SAME_DIRECTION_DEG);
            let likest = along.min_by(|a, b| off(place, a).total_cmp(&off(place, b)))?;
            Some(likest.lines_per_mm)
        })
        .collect();
    let enough = 2 * beneath.len() >= system.places.len().max(1);
    enough.then(|| beneath.iter().sum::<f64>() / beneath.len() as f64)
}

/// How far a figure was off in one class of its conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct OffBy {
    /// Which figure.
    pub figure: &'static str,
    /// Class of the condition, from 0.
    pub class: usize,
    /// Specimens.
    pub n: usize,
    /// 95 % quantile of the size of ln(measured over true).
    pub ln_95: f64,
    /// What the measurement reckons with.
    pub ln_half: f64,
}

/// One row a figure and class: what [`Component`] is set from.
#[must_use]
pub fn off_by(checks: &[Check]) -> Vec<OffBy> {
    let mut rows = Vec::new();
    for summary in summarise(checks) {
        let these: Vec<&Check> = checks
            .iter()
            .filter(|c| c.figure == summary.figure)
            .collect();
        let Some(component) = these.first().map(|c| c.component) else {
            continue;
        };
        for (class, &ln_half) in component.ln_half.iter().enumerate() {
            let mut sizes: Vec<f64> = these
                .iter()
                .filter(|c| component.class(c.condition) == class)
                .map(|c| (1.0 + c.error).ln().abs())
                .collect();
            sizes.sort_by(f64::total_cmp);
            // The smallest size that 95 in a hundred do not exceed.
            let rank = (0.95 * sizes.len() as f64).ceil() as usize;
            rows.push(OffBy {
                figure: summary.figure,
                class,
                n: sizes.len(),
                ln_95: sizes
                    .get(rank.saturating_sub(1))
                    .copied()
                    .unwrap_or(f64::NAN),
                ln_half,
            });
        }
    }
    rows
}

/// One row a figure, in the order in which they first appear.
#[must_use]
pub fn summarise(checks: &[Check]) -> Vec<Summary> {
    let mut names: Vec<&'static str> = Vec::new();
    for check in checks {
        if !names.contains(&check.figure) {
            names.push(check.figure);
        }
    }
    names
        .into_iter()
        .map(|figure| {
            let these: Vec<&Check> = checks.iter().filter(|c| c.figure == figure).collect();
            Summary {
                figure,
                n: these.len(),
                median_error: median(these.iter().map(|c| c.error)).unwrap_or(f64::NAN),
                median_size: median(these.iter().map(|c| c.error.abs())).unwrap_or(f64::NAN),
                held: these.iter().filter(|c| c.held).count() as f64 / these.len() as f64,
            }
        })
        .collect()
}
