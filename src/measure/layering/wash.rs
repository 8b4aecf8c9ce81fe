//! Colour on the ground that is neither the paper's nor an even film's.

use crate::measure::film::CELLS_TOGETHER;
use crate::measure::film::layout::{Kind, Layout, hue_part};
use crate::rank::median;
use ndarray::Array2;

/// Distance in hue from paper and film, in density, from which ground counts as washed: beyond
/// foxing's and the paper's own scatter, near the palest wash that is seen as colour.
const WASHED: f64 = 0.04;
/// Distance in hue from paper from which ground counts as coloured at all: the radius of a level, which pale
/// tints pass too.
const COLOURED: f64 = 0.025;
/// Cells over which a wash's fading is looked for: a fortieth of the frame.
const DRIFT_CELLS: isize = 4;
/// Width of a bin of hue angle; hues that far apart are told apart by name.
const HUE_DEG: f64 = 30.0;
/// Share of the washed cells that a hue must hold.
const MIN_HUE_SHARE: f64 = 0.05;
/// Washed cells below which their parts are not compared.
const MIN_CELLS: usize = 30;

/// Washed ground.
#[derive(Clone, Debug, PartialEq)]
pub struct Wash {
    /// Share of the seen ground, 0–1.
    pub share: f64,
    /// Share of the seen ground whose hue is not that of the lightest level, film included, 0–1.
    pub coloured: f64,
    /// Seen cells.
    pub seen: usize,
    /// Washed cells.
    pub cells: usize,
    /// Median hue part of the density.
    pub hue: Option<f64>,
    /// Hues [`HUE_DEG`] or more apart.
    pub hues: usize,
    /// Median change of hue over [`DRIFT_CELLS`], as a share of the hue.
    pub drift: Option<f64>,
    /// Hue of the rim over the inside, less 1.
    pub pooled_rim: Option<Rim>,
    /// Share of the border where no mark stands, and its cells.
    pub border_off_marks: Option<(f64, usize)>,
}

/// How strong the hue is at the rim of the washed ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rim {
    /// Hue of the rim over the inside, less 1.
    pub over_inside: f64,
    /// Its standard error.
    pub standard_error: f64,
}

/// Finds the washed ground. `base` is the density of the lightest level, `film` that of the film.
#[must_use]
pub fn find(layout: &Layout, base: [f64; 3], film: Option<[f64; 3]>) -> Wash {
    let hues = layout
        .density
        .map(|d| hue_part([0, 1, 2].map(|c| d[c] - base[c])));
    let film = film.map(|f| hue_part([0, 1, 2].map(|c| f[c] - base[c])));
    let off = |h: [f64; 2], from: [f64; 2]| (h[0] - from[0]).hypot(h[1] - from[1]);
    let washed = Array2::from_shape_fn(layout.kind.dim(), |i| {
        layout.kind[i] == Kind::Other
            && off(hues[i], [0.0; 2]) > WASHED
            && film.is_none_or(|f| off(hues[i], f) > WASHED)
    });
    let seen = layout.kind.iter().filter(|&&k| k != Kind::Hidden).count();
    let coloured = layout
        .kind
        .indexed_iter()
        .filter(|(i, k)| **k != Kind::Hidden && off(hues[*i], [0.0; 2]) > COLOURED)
        .count();
    let at: Vec<[usize; 2]> = washed
        .indexed_iter()
        .filter(|(_, w)| **w)
        .map(|((y, x), _)| [y, x])
        .collect();
    let strength = hues.map(|h| h[0].hypot(h[1]));
    let enough = at.len() >= MIN_CELLS;
    Wash {
        share: at.len() as f64 / seen.max(1) as f64,
        coloured: coloured as f64 / seen.max(1) as f64,
        seen,
        cells: at.len(),
        hue: median(at.iter().map(|&i| strength[i])).filter(|_| enough),
        hues: if enough { count_hues(&at, &hues) } else { 0 },
        drift: drift(layout, &at, &hues, &washed).filter(|_| enough),
        pooled_rim: pooled_rim(layout, &at, &strength, &washed).filter(|_| enough),
        border_off_marks: border_off_marks(layout, &at, &washed).filter(|_| enough),
    }
}

/// Number of separate peaks round the circle of hue angles.
fn count_hues(at: &[[usize; 2]], hues: &Array2<[f64; 2]>) -> usize {
    const BINS: usize = (360.0 / HUE_DEG) as usize;
    let mut bins = [0usize; BINS];
    for &i in at {
        let turn = hues[i][1].atan2(hues[i][0]).to_degrees().rem_euclid(360.0) / HUE_DEG;
        bins[turn as usize % BINS] += 1;
    }
    let least = (MIN_HUE_SHARE * at.len() as f64).max(1.0) as usize;
    (0..BINS)
        .filter(|&b| {
            let (before, after) = (bins[(b + BINS - 1) % BINS], bins[(b + 1) % BINS]);
            bins[b] >= least && bins[b] > before && bins[b] >= after
        })
        .count()
}

fn drift(
    layout: &Layout,
    at: &[[usize; 2]],
    hues: &Array2<[f64; 2]>,
    washed: &Array2<bool>,
) -> Option<f64> {
    let mut changes = Vec::new();
    for &i in at {
        for (dy, dx) in [(0, DRIFT_CELLS), (DRIFT_CELLS, 0)] {
            if let Some(end) = layout.beyond(i, dy, dx).filter(|&e| washed[e]) {
                let change = (hues[i][0] - hues[end][0]).hypot(hues[i][1] - hues[end][1]);
                changes.push(change / hues[i][0].hypot(hues[i][1]));
            }
        }
    }
    median(changes)
}

/// Cells between `at` and the nearest unwashed, seen one along rows and columns, up to 4.
fn depth(layout: &Layout, washed: &Array2<bool>, at: [usize; 2]) -> Option<isize> {
    (1..=DRIFT_CELLS).find(|&k| {
        [(0, k), (0, -k), (k, 0), (-k, 0)]
            .into_iter()
            .any(|(dy, dx)| {
                layout
                    .beyond(at, dy, dx)
                    .is_some_and(|i| !washed[i] && layout.kind[i] != Kind::Hidden)
            })
    })
}

/// The rim is two cells inside the border: the outermost cell is part bare.
fn pooled_rim(
    layout: &Layout,
    at: &[[usize; 2]],
    strength: &Array2<f64>,
    washed: &Array2<bool>,
) -> Option<Rim> {
    let (mut rim, mut inside) = (Vec::new(), Vec::new());
    for &i in at {
        match depth(layout, washed, i) {
            Some(2) => rim.push(strength[i]),
            None => inside.push(strength[i]),
            Some(_) => {}
        }
    }
    let errors = [relative_error(&rim), relative_error(&inside)];
    let ratio = median(rim)? / median(inside)?;
    Some(Rim {
        over_inside: ratio - 1.0,
        standard_error: ratio * errors[0].hypot(errors[1]),
    })
}

/// Standard error of the median of hues as a share of their mean, by that of a mean of as many cells as count apart.
fn relative_error(hues: &[f64]) -> f64 {
    let n = hues.len().max(1) as f64;
    let mean = hues.iter().sum::<f64>() / n;
    let variance = hues.iter().map(|h| (h - mean).powi(2)).sum::<f64>() / n;
    (variance * CELLS_TOGETHER / n).sqrt() / mean
}

fn border_off_marks(
    layout: &Layout,
    at: &[[usize; 2]],
    washed: &Array2<bool>,
) -> Option<(f64, usize)> {
    let border: Vec<[usize; 2]> = at
        .iter()
        .copied()
        .filter(|&i| depth(layout, washed, i) == Some(1))
        .collect();
    let bare = |i: &&[usize; 2]| {
        (-1..=1).all(|dy| {
            (-1..=1).all(|dx| layout.beyond(**i, dy, dx).is_none_or(|n| !layout.marked[n]))
        })
    };
    let off = border.iter().filter(bare).count();
    (!border.is_empty()).then(|| (off as f64 / border.len() as f64, border.len()))
}
