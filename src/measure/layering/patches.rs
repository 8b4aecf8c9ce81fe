//! The colour of the ink itself, patch by patch, free of blur and of what lies around it.
//!
//! Over a patch the missing light `1 − p/g` is summed per channel over the marks and their blurred
//! skirts (`p` pixel, `g` ground). Blur, chroma subsampling and a small lateral shift between
//! channels move light about inside that area but keep its sum, so the ratio of the sums is the
//! ink's own. Dividing by the ground takes out a transparent film or wash that lies over the marks
//! and their gaps alike.

use crate::ink::Inked;
use crate::measure::film::ground::{Cell, GroundMap};
use crate::measure::film::layout::hue_part;
use crate::rank::quantile;
use rayon::prelude::*;

/// Cells along the side of a patch: many marks, yet small against the parts of a subject.
const CELLS: usize = 4;
/// Density over the ground from which a pixel is ink: some five times the scatter of paper.
const INK_EXCESS: f32 = 0.15;
/// Width in px of the skirt that blur, demosaicing and chroma subsampling (2 × 2 blocks) give a mark.
const SKIRT_PX: usize = 2;
/// Ink pixels that a patch must hold for its colour to be told from noise.
const MIN_INK_PX: usize = 24;
/// Share of the patch's cells whose own ground must be seen.
const MIN_SEEN: f64 = 0.25;
/// Most pixels measured; the patches of a large photograph are thinned evenly.
const MAX_PX: usize = 2_000_000;
/// Darkest share of the ink pixels, taken as the cores of the marks.
const CORE_SHARE: f64 = 0.25;

/// Ink and ground in one patch.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// Middle of the patch, px.
    pub at_px: [f64; 2],
    /// Density of the ground per channel, over [`Inked::paper`].
    pub ground: [f64; 3],
    /// Missing light of marks and skirts over the ground, mean per channel, 0–1.
    pub contrast: [f64; 3],
    /// Density of the marks' cores per channel, over the ground.
    pub core: [f64; 3],
    /// Scatter of the hue part of the ground's density between the patch's cells.
    pub ground_scatter: f64,
}

/// Measures every patch that holds enough ink on visible ground, in reading order.
#[must_use]
pub fn measure(inked: &Inked, map: &GroundMap) -> Vec<Patch> {
    let (rows, columns) = map.cells.dim();
    let (down, across) = (rows / CELLS, columns / CELLS);
    let every = (down * across * (CELLS * map.cell_px).pow(2))
        .div_ceil(MAX_PX)
        .max(1);
    (0..down * across)
        .into_par_iter()
        .filter(|i| i % every == 0)
        .filter_map(|i| patch(inked, map, i / across, i % across))
        .collect()
}

/// Density over the ground of one patch's pixels, row by row.
struct Excess {
    side: usize,
    rgb: Vec<[f32; 3]>,
    usable: Vec<bool>,
}

impl Excess {
    fn grey(&self, i: usize) -> f32 {
        self.rgb[i].iter().sum::<f32>() / 3.0
    }
}

fn patch(inked: &Inked, map: &GroundMap, row: usize, column: usize) -> Option<Patch> {
    if !marked(map, row, column) {
        return None;
    }
    let grounds = grounds(map, row, column)?;
    let excess = excess(inked, map, &grounds, row, column);
    let ink: Vec<usize> = (0..excess.rgb.len())
        .filter(|&i| excess.usable[i] && excess.grey(i) > INK_EXCESS)
        .collect();
    if ink.len() < MIN_INK_PX {
        return None;
    }
    let side_px = (CELLS * map.cell_px) as f64;
    Some(Patch {
        at_px: [
            (column as f64 + 0.5) * side_px,
            (row as f64 + 0.5) * side_px,
        ],
        ground: mean_of(&grounds.map(|g| g.map(f64::from))),
        ground_scatter: hue_scatter(&grounds),
        contrast: contrast(&excess, &ink),
        core: core(&excess, &ink),
    })
}

/// True where some cell of the patch holds ink, or hides its ground; spares reading bare paper.
fn marked(map: &GroundMap, row: usize, column: usize) -> bool {
    (0..CELLS * CELLS).any(|i| {
        map.cells[[row * CELLS + i / CELLS, column * CELLS + i % CELLS]]
            .is_none_or(|cell| cell.contrast > INK_EXCESS)
    })
}

/// Ground of each cell of a patch; a hidden one takes the mean of those seen.
fn grounds(map: &GroundMap, row: usize, column: usize) -> Option<[[f32; 3]; CELLS * CELLS]> {
    let cells: [Option<Cell>; CELLS * CELLS] =
        std::array::from_fn(|i| map.cells[[row * CELLS + i / CELLS, column * CELLS + i % CELLS]]);
    let seen: Vec<[f64; 3]> = cells
        .iter()
        .flatten()
        .map(|c| c.density.map(f64::from))
        .collect();
    if (seen.len() as f64) < MIN_SEEN * (CELLS * CELLS) as f64 {
        return None;
    }
    let fallback = mean_of(&seen).map(|d| d as f32);
    Some(cells.map(|cell| cell.map_or(fallback, |c| c.density)))
}

fn excess(
    inked: &Inked,
    map: &GroundMap,
    grounds: &[[f32; 3]; CELLS * CELLS],
    row: usize,
    column: usize,
) -> Excess {
    let side = CELLS * map.cell_px;
    let (mut rgb, mut usable) = (
        Vec::with_capacity(side * side),
        Vec::with_capacity(side * side),
    );
    for dy in 0..side {
        for dx in 0..side {
            let at = [row * side + dy, column * side + dx];
            let ground = grounds[dy / map.cell_px * CELLS + dx / map.cell_px];
            rgb.push([0, 1, 2].map(|c| inked.density[c][at] - ground[c]));
            usable.push(inked.usable[at]);
        }
    }
    Excess { side, rgb, usable }
}

/// Mean missing light per channel over the ink pixels and their skirts.
fn contrast(excess: &Excess, ink: &[usize]) -> [f64; 3] {
    let mut near = vec![false; excess.rgb.len()];
    let last = excess.side - 1;
    for &i in ink {
        let (y, x) = (i / excess.side, i % excess.side);
        for row in y.saturating_sub(SKIRT_PX)..=(y + SKIRT_PX).min(last) {
            let start = row * excess.side;
            near[start + x.saturating_sub(SKIRT_PX)..=start + (x + SKIRT_PX).min(last)].fill(true);
        }
    }
    let missing = |d: f32| f64::from(1.0 - (-d * std::f32::consts::LN_10).exp());
    let lights: Vec<[f64; 3]> = (0..near.len())
        .filter(|&i| near[i] && excess.usable[i])
        .map(|i| excess.rgb[i].map(missing))
        .collect();
    mean_of(&lights)
}

/// Mean density per channel of the darkest ink pixels.
fn core(excess: &Excess, ink: &[usize]) -> [f64; 3] {
    let greys = ink.iter().map(|&i| excess.grey(i));
    let dark = quantile(greys, 1.0 - CORE_SHARE).unwrap_or(INK_EXCESS);
    let cores: Vec<[f64; 3]> = ink
        .iter()
        .filter(|&&i| excess.grey(i) >= dark)
        .map(|&i| excess.rgb[i].map(f64::from))
        .collect();
    mean_of(&cores)
}

/// Root mean square distance of the cells' hue from their mean.
fn hue_scatter(grounds: &[[f32; 3]]) -> f64 {
    let n = grounds.len().max(1) as f64;
    let hues: Vec<[f64; 2]> = grounds.iter().map(|g| hue_part(g.map(f64::from))).collect();
    let mean = [0, 1].map(|k| hues.iter().map(|h| h[k]).sum::<f64>() / n);
    let off = |h: &[f64; 2]| (h[0] - mean[0]).powi(2) + (h[1] - mean[1]).powi(2);
    (hues.iter().map(off).sum::<f64>() / n).sqrt()
}

/// Mean per channel; zero of nothing.
fn mean_of(values: &[[f64; 3]]) -> [f64; 3] {
    let n = values.len().max(1) as f64;
    [0, 1, 2].map(|c| values.iter().map(|v| v[c]).sum::<f64>() / n)
}
