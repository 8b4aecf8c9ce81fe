//! Measured figures against drawn truth.

use crate::measure::Examined;
use crate::measured::Measured;
use crate::specimen::truth::SpecimenTruth;

/// One measured figure beside its truth.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// Which figure.
    pub figure: &'static str,
    /// Measured over true, minus one (or measured minus true, for angles in degrees).
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
    let mut ratio = |figure, measured: &Measured, truth: f64| {
        if let Some(m) = measured.figure().filter(|_| truth > 0.0) {
            found.push(Check {
                figure,
                error: m.value / truth - 1.0,
                held: (m.lo..=m.hi).contains(&truth),
            });
        }
    };
    let m = &examined.measurements;
    if let Some(marks) = &truth.marks {
        if truth.origin == crate::specimen::sheet::Origin::StippleEngraving {
            ratio(
                "stipple: marks per mm²",
                &m.marks.density_per_mm2,
                marks.density_per_mm2,
            );
            ratio(
                "stipple: median diameter",
                &m.marks.diameter_um.p50,
                marks.diameter_um[1],
            );
        }
        ratio("coverage", &m.marks.coverage, marks.coverage);
    }
    let engraved = truth.origin == crate::specimen::sheet::Origin::LineEngraving;
    let main = truth.hatching.first().zip(m.lines.systems.first());
    if let Some((drawn, system)) = main.filter(|_| engraved) {
        ratio(
            "hatching: spacing of the main system",
            &system.spacing_per_mm,
            drawn.lines_per_mm,
        );
    }
    for screen in &truth.screens {
        if let Some(read) = m.lattice.inks.iter().find(|i| i.ink == screen.ink) {
            ratio("screen: ruling", &read.ruling_lpi, screen.ruling_lpi);
        }
    }
    found
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
                median_error: median(these.iter().map(|c| c.error).collect()),
                median_size: median(these.iter().map(|c| c.error.abs()).collect()),
                held: these.iter().filter(|c| c.held).count() as f64 / these.len() as f64,
            }
        })
        .collect()
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}
