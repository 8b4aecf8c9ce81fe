//! How even the film is: over short and long distances, against the step from paper to film.

use super::ground::GroundMap;
use super::layout::{Kind, Layout, gap, hue_part};
use super::levels::{self, Level};
use crate::rank::median;
use std::collections::BTreeMap;

/// Distance in cells over which a drift is looked for: a fortieth of the frame, wider than the
/// blur of a rim and narrower than a brushed stroke's fade.
const DRIFT_CELLS: isize = 4;
/// Side of the tiles that part graininess (finer than 0.4 cycle/mm) from mottle (coarser).
/// Source: ISO 13660 (from memory).
const TILE_MM: f64 = 1.27;
/// Fewest cells that make a tile's mean and scatter.
const MIN_TILE_CELLS: usize = 6;
/// Bins along the way from paper to film.
const WAY_BINS: usize = 12;

/// Median change of hue over [`DRIFT_CELLS`] inside the film, as a share of the step from
/// paper to film; 0 = perfectly even. Where the colour thins out into other levels the change
/// counts too.
#[must_use]
pub fn drift(layout: &Layout, step: f64) -> Option<f64> {
    let mut changes = Vec::new();
    for at in layout.of(Kind::Film) {
        for (dy, dx) in [(0, DRIFT_CELLS), (DRIFT_CELLS, 0)] {
            let end = layout.beyond(at, dy, dx);
            let film = |i: &[usize; 2]| matches!(layout.kind[*i], Kind::Film | Kind::Other);
            if let Some(end) = end.filter(film) {
                changes.push(gap(layout.place[at], layout.place[end]));
            }
        }
    }
    Some(median(changes)? / step)
}

/// Scatter of the film's hue, as a share of the step: median distance of its hue part from its median.
#[must_use]
pub fn hue_scatter(layout: &Layout, step: f64) -> Option<f64> {
    let hues: Vec<[f64; 2]> = layout
        .of(Kind::Film)
        .map(|i| hue_part(layout.density[i]))
        .collect();
    let middle = [0, 1].map(|k| median(hues.iter().map(|h| h[k])));
    let [Some(u), Some(v)] = middle else {
        return None;
    };
    let off = hues.iter().map(|h| (h[0] - u).hypot(h[1] - v));
    Some(median(off)? / step)
}

/// Smallest share of the seen ground of a level whose steadiness is asked.
const STEADY_SHARE: f64 = 0.04;
/// Fewest pairs of cells that make a drift.
const MIN_PAIRS: usize = 20;
/// Least drift of paper, in density: noise of the camera leaves about this.
const STILL: f64 = 0.002;

/// Drift of hue inside the steadiest level apart from the lightest one, over the drift inside the
/// lightest: 1 = as steady as bare paper, as a printed tint is even where washes lie beside it.
#[must_use]
pub fn steadiest(map: &GroundMap, found: &[Level], paper: &Level) -> Option<f64> {
    let places = levels::positions(map);
    let still = drift_inside(map, &places, paper)?.max(STILL);
    found
        .iter()
        .filter(|l| !std::ptr::eq(*l, paper) && l.share >= STEADY_SHARE)
        .filter_map(|l| drift_inside(map, &places, l))
        .min_by(f64::total_cmp)
        .map(|least| least / still)
}

/// Median change of hue, in density, between cells of one level [`DRIFT_CELLS`] apart.
fn drift_inside(map: &GroundMap, places: &[[usize; 2]], level: &Level) -> Option<f64> {
    let mut hues = ndarray::Array2::from_elem(map.cells.dim(), None);
    for &member in &level.members {
        let at = places[member];
        hues[at] = map.cells[at].map(|c| hue_part(c.density.map(f64::from)));
    }
    let apart = DRIFT_CELLS.unsigned_abs();
    let mut changes = Vec::new();
    for (dy, dx) in [(0, apart), (apart, 0)] {
        for ((y, x), here) in hues.indexed_iter() {
            let there = hues.get([y + dy, x + dx]).copied().flatten();
            if let (Some([a, b]), Some([c, d])) = (*here, there) {
                changes.push((a - c).hypot(b - d));
            }
        }
    }
    if changes.len() < MIN_PAIRS {
        return None;
    }
    median(changes)
}

/// Whether a tile holds enough cells for its mean and scatter.
#[must_use]
pub fn holds_a_tile(cells_per_mm: f64) -> bool {
    let side = tile_side(cells_per_mm);
    side * side >= MIN_TILE_CELLS
}

fn tile_side(cells_per_mm: f64) -> usize {
    (TILE_MM * cells_per_mm).round().max(1.0) as usize
}

/// Mottle and graininess in density: standard deviation of the means of 1.27 mm tiles, and root
/// mean square of the scatter inside them, at the resolution of the cells.
#[must_use]
pub fn mottle_and_graininess(layout: &Layout, cells_per_mm: f64) -> Option<(f64, f64, usize)> {
    let side = tile_side(cells_per_mm);
    let mut tiles: BTreeMap<[usize; 2], Vec<f64>> = BTreeMap::new();
    for at in layout.of(Kind::Film) {
        let grey = layout.density[at].iter().sum::<f64>() / 3.0;
        tiles.entry(at.map(|v| v / side)).or_default().push(grey);
    }
    let full: Vec<(f64, f64)> = tiles
        .values()
        .filter(|greys| greys.len() >= MIN_TILE_CELLS)
        .map(|greys| mean_and_variance(greys))
        .collect();
    if full.len() < 2 {
        return None;
    }
    let means: Vec<f64> = full.iter().map(|t| t.0).collect();
    let inside = full.iter().map(|t| t.1).sum::<f64>() / full.len() as f64;
    Some((
        mean_and_variance(&means).1.sqrt(),
        inside.sqrt(),
        full.len(),
    ))
}

/// How clearly film and paper are two levels: 1 − (emptiest stretch between them / the lesser of
/// their peaks), along the way from one [place](super::levels::place) to the other; 1 = nothing lies between, 0 = one runs into the other.
#[must_use]
pub fn valley(layout: &Layout, paper: [f64; 3], film: [f64; 3]) -> Option<f64> {
    let step = gap(paper, film);
    let way: [f64; 3] = std::array::from_fn(|c| (film[c] - paper[c]) / step);
    let mut bins = [0usize; WAY_BINS];
    for (i, kind) in layout.kind.indexed_iter() {
        let d: [f64; 3] = std::array::from_fn(|c| layout.place[i][c] - paper[c]);
        let along: f64 = (0..3).map(|c| d[c] * way[c]).sum();
        let beside = gap(d, way.map(|w| w * along));
        // Bins reach half a step beyond either end, so that both peaks lie inside.
        let bin = ((along / step + 0.5) / 2.0 * WAY_BINS as f64).floor();
        if *kind != Kind::Hidden && beside < step / 2.0 && (0.0..WAY_BINS as f64).contains(&bin) {
            bins[bin as usize] += 1;
        }
    }
    let peak = |range: std::ops::Range<usize>| bins[range].iter().max().copied().unwrap_or(0);
    let lesser = peak(0..WAY_BINS / 2).min(peak(WAY_BINS / 2..WAY_BINS));
    let between = bins[WAY_BINS / 4 + 1..WAY_BINS * 3 / 4 - 1].iter().min()?;
    (lesser > 0).then(|| (1.0 - *between as f64 / lesser as f64).max(0.0))
}

fn mean_and_variance(values: &[f64]) -> (f64, f64) {
    let n = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / n;
    (
        mean,
        values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_need_a_scale_that_gives_them_cells() {
        // Cells of a millimetre, and of a quarter of one.
        assert!(!holds_a_tile(1.0));
        assert!(holds_a_tile(4.0));
    }
}
