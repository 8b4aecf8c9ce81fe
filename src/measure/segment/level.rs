//! How light the ground is and how dark the ink, from place to place.

use super::tiles::{Tiles, tiles_over};
use crate::plane::{Mask, Plane};
use crate::rank::quantile;
use ndarray::{Array2, ArrayView2};
use rayon::prelude::*;

/// Side of the tiles in which the lightest and darkest spots are sought, px.
const TILE_PX: usize = 8;
/// Half-width, in tiles, of the window that must hold some bare ground (2 · 4 + 1 tiles = 72 px:
/// wider than a dot or a line, narrower than a wash).
const GROUND_REACH_TILES: usize = 4;
/// Side of the blocks over which the ink's darkness is taken, in tiles (256 px).
const INK_BLOCK_TILES: usize = 32;
/// Fewest tiles holding marks from which a block's own ink level is taken.
const MIN_INK_TILES: usize = 30;
/// Share of tiles below the ink level: marks much smaller than a tile are dimmed by blur, the
/// larger ones show the ink.
const INK_QUANTILE: f64 = 0.8;
/// Least difference between ground and ink in absorbed light. Laid paper, foxing and fibres stay
/// below it; printing ink, even in a pale colour, does not.
const MIN_CONTRAST: f32 = 0.15;
/// The difference must also exceed the pixel noise this many times.
const NOISE_TIMES: f32 = 6.0;
/// Share of the ink level above which an even area is solid ink and not a dark ground.
const SOLID_SHARE: f32 = 0.7;
/// A block's ink level is not taken below this share of the picture's: there the marks are so
/// small that blur, not the ink, sets their darkness.
const INK_FLOOR_SHARE: f32 = 0.6;

/// Ground and ink levels in absorbed light.
#[derive(Clone, Debug)]
pub struct Levels {
    /// Absorbed light of the ground: paper, wash or tint.
    pub ground: Tiles,
    /// Absorbed light of the solid ink.
    pub ink: Tiles,
    /// Whether there is any mark at all in the picture.
    pub any_marks: bool,
}

/// Finds both levels.
#[must_use]
pub fn find(absorbed: &Plane, usable: &Mask) -> Levels {
    let (light, dark) = extremes(absorbed, usable);
    let noise = noise(absorbed, usable);
    let contrast = MIN_CONTRAST.max(NOISE_TIMES * noise);
    let opened = dilate(&erode(&light, GROUND_REACH_TILES), GROUND_REACH_TILES);
    let with_marks = Array2::from_shape_fn(light.dim(), |at| {
        dark[at].is_finite() && opened[at].is_finite() && dark[at] - opened[at] >= contrast
    });
    let Some(overall) = quantile_where(
        &dark,
        &with_marks,
        INK_QUANTILE,
        MIN_INK_TILES.min(dark.len()),
    ) else {
        return Levels::blank(light.dim());
    };
    let ground = without_solids(&opened, SOLID_SHARE * overall);
    let ink = ink_level(&dark, &with_marks, overall, &ground, contrast);
    Levels {
        ground: Tiles {
            tile_px: TILE_PX,
            values: ground,
        },
        ink,
        any_marks: true,
    }
}

impl Levels {
    fn blank(grid: (usize, usize)) -> Self {
        Self {
            ground: Tiles {
                tile_px: TILE_PX,
                values: Array2::zeros(grid),
            },
            ink: Tiles {
                tile_px: TILE_PX,
                values: Array2::ones(grid),
            },
            any_marks: false,
        }
    }

    /// Ink cover per pixel: (absorbed − ground) / (ink − ground); 0 where not usable, and
    /// everywhere in a picture without marks.
    #[must_use]
    pub fn cover(&self, mut absorbed: Plane, usable: &Mask) -> Plane {
        let width = absorbed.ncols();
        if width == 0 || !self.any_marks {
            absorbed.fill(0.0);
            return absorbed;
        }
        if let (Some(pixels), Some(used)) = (absorbed.as_slice_mut(), usable.as_slice()) {
            pixels
                .par_chunks_mut(width)
                .zip(used.par_chunks(width))
                .enumerate()
                .for_each_init(
                    || (vec![0.0_f32; width], vec![0.0_f32; width]),
                    |(ground, ink), (y, (row, used))| {
                        self.ground.fill_row(y, ground);
                        self.ink.fill_row(y, ink);
                        for (((a, g), i), u) in row.iter_mut().zip(&*ground).zip(&*ink).zip(used) {
                            let rise = (i - g).max(0.5 * MIN_CONTRAST);
                            *a = if *u { (*a - g) / rise } else { 0.0 };
                        }
                    },
                );
        }
        absorbed
    }
}

/// Lightest and darkest mean of 2 × 2 px per tile; +∞ and −∞ where nothing is usable.
fn extremes(absorbed: &Plane, usable: &Mask) -> (Array2<f32>, Array2<f32>) {
    let (height, width) = absorbed.dim();
    let grid = tiles_over((height, width), TILE_PX);
    let cells: Vec<(f32, f32)> = (0..grid.0 * grid.1)
        .into_par_iter()
        .map(|i| {
            let (top, left) = (i / grid.1 * TILE_PX, i % grid.1 * TILE_PX);
            let (mut lo, mut hi) = (f32::INFINITY, f32::NEG_INFINITY);
            for y in (top..(top + TILE_PX).min(height.saturating_sub(1))).step_by(2) {
                for x in (left..(left + TILE_PX).min(width.saturating_sub(1))).step_by(2) {
                    let square = [[y, x], [y, x + 1], [y + 1, x], [y + 1, x + 1]];
                    if square.iter().all(|&at| usable[at]) {
                        let mean = square.iter().map(|&at| absorbed[at]).sum::<f32>() / 4.0;
                        lo = lo.min(mean);
                        hi = hi.max(mean);
                    }
                }
            }
            (lo, hi)
        })
        .collect();
    let at = |(y, x): (usize, usize)| cells[y * grid.1 + x];
    (
        Array2::from_shape_fn(grid, |i| at(i).0),
        Array2::from_shape_fn(grid, |i| at(i).1),
    )
}

/// Standard deviation of pixel noise in absorbed light: along rows or along columns, whichever is less. Fine lines
/// that lie across the one leave it no quiet stretch, and run along the other.
fn noise(absorbed: &Plane, usable: &Mask) -> f32 {
    let along_rows = noise_along_rows(absorbed.view(), usable.view());
    along_rows.min(noise_along_rows(absorbed.t(), usable.t()))
}

/// From second differences along rows, in the quietest fifth of short stretches, so that edges of marks do not count.
fn noise_along_rows(absorbed: ArrayView2<f32>, usable: ArrayView2<bool>) -> f32 {
    /// Pixels per stretch and rows between stretches.
    const STRETCH: usize = 18;
    const QUIET_SHARE: f64 = 0.2;
    let mut spreads: Vec<f32> = Vec::new();
    for y in (0..absorbed.nrows()).step_by(STRETCH) {
        for left in (0..absorbed.ncols().saturating_sub(STRETCH)).step_by(STRETCH) {
            if (left..left + STRETCH).all(|x| usable[[y, x]]) {
                let sum: f32 = (left..left + STRETCH - 2)
                    .map(|x| {
                        let d =
                            absorbed[[y, x]] - 2.0 * absorbed[[y, x + 1]] + absorbed[[y, x + 2]];
                        d * d / 6.0
                    })
                    .sum();
                spreads.push((sum / (STRETCH - 2) as f32).sqrt());
            }
        }
    }
    quantile(spreads, QUIET_SHARE).unwrap_or(0.0)
}

fn quantile_where(
    grid: &Array2<f32>,
    mask: &Array2<bool>,
    share: f64,
    least: usize,
) -> Option<f32> {
    let taken: Vec<f32> = grid
        .iter()
        .zip(mask)
        .filter(|&(_, &m)| m)
        .map(|(&v, _)| v)
        .collect();
    if taken.len() < least.max(1) {
        return None;
    }
    quantile(taken, share)
}

/// Ink level per block of tiles, from tiles that hold marks.
fn ink_level(
    dark: &Array2<f32>,
    with_marks: &Array2<bool>,
    overall: f32,
    ground: &Array2<f32>,
    contrast: f32,
) -> Tiles {
    let grid = tiles_over(dark.dim(), INK_BLOCK_TILES);
    let values = Array2::from_shape_fn(grid, |(by, bx)| {
        let rows = by * INK_BLOCK_TILES..((by + 1) * INK_BLOCK_TILES).min(dark.nrows());
        let columns = bx * INK_BLOCK_TILES..((bx + 1) * INK_BLOCK_TILES).min(dark.ncols());
        let window = ndarray::s![rows, columns];
        let here = dark.slice(window).to_owned();
        let base = ground.slice(window);
        let lowest = base.mean().unwrap_or(0.0);
        quantile_where(
            &here,
            &with_marks.slice(window).to_owned(),
            INK_QUANTILE,
            MIN_INK_TILES,
        )
        .unwrap_or(overall)
        .max(INK_FLOOR_SHARE * overall)
        .max(lowest + contrast)
    });
    Tiles {
        tile_px: TILE_PX * INK_BLOCK_TILES,
        values,
    }
}

/// Replaces levels of solid ink and of unusable tiles by the level of the nearest ground.
fn without_solids(opened: &Array2<f32>, solid: f32) -> Array2<f32> {
    let known = opened.mapv(|v| v.is_finite() && v < solid);
    fill_from_neighbours(opened, &known)
}

/// Spreads known values outward one ring of tiles at a time, each new tile the mean of its known
/// neighbours; 0 where nothing is known at all.
fn fill_from_neighbours(grid: &Array2<f32>, known: &Array2<bool>) -> Array2<f32> {
    let (rows, columns) = grid.dim();
    let mut value =
        Array2::from_shape_fn((rows, columns), |at| if known[at] { grid[at] } else { 0.0 });
    let mut have = known.clone();
    let mut waiting: Vec<(usize, usize)> = have
        .indexed_iter()
        .filter(|&(_, &k)| !k)
        .map(|(at, _)| at)
        .collect();
    while !waiting.is_empty() {
        let found: Vec<((usize, usize), f32)> = waiting
            .iter()
            .filter_map(|&(y, x)| {
                let (mut n, mut sum) = (0.0_f32, 0.0_f32);
                for ny in y.saturating_sub(1)..(y + 2).min(rows) {
                    for nx in x.saturating_sub(1)..(x + 2).min(columns) {
                        if have[[ny, nx]] {
                            n += 1.0;
                            sum += value[[ny, nx]];
                        }
                    }
                }
                (n > 0.0).then(|| ((y, x), sum / n))
            })
            .collect();
        if found.is_empty() {
            break;
        }
        for &(at, level) in &found {
            value[at] = level;
            have[at] = true;
        }
        waiting.retain(|&at| !have[at]);
    }
    value
}

/// Smallest finite value within `reach` tiles in both directions (a square window).
fn erode(grid: &Array2<f32>, reach: usize) -> Array2<f32> {
    let along = windowed(
        grid,
        reach,
        |a, b| if b.is_finite() { a.min(b) } else { a },
        f32::INFINITY,
    );
    let turned = along.t().as_standard_layout().to_owned();
    windowed(&turned, reach, f32::min, f32::INFINITY)
        .t()
        .as_standard_layout()
        .to_owned()
}

/// Largest finite value within `reach` tiles in both directions (a square window).
fn dilate(grid: &Array2<f32>, reach: usize) -> Array2<f32> {
    let pick = |a: f32, b: f32| if b.is_finite() { a.max(b) } else { a };
    let along = windowed(grid, reach, pick, f32::NEG_INFINITY);
    let turned = along.t().as_standard_layout().to_owned();
    windowed(&turned, reach, pick, f32::NEG_INFINITY)
        .t()
        .as_standard_layout()
        .to_owned()
}

fn windowed(
    grid: &Array2<f32>,
    reach: usize,
    pick: impl Fn(f32, f32) -> f32,
    start: f32,
) -> Array2<f32> {
    let columns = grid.ncols();
    Array2::from_shape_fn(grid.dim(), |(y, x)| {
        (x.saturating_sub(reach)..(x + reach + 1).min(columns))
            .fold(start, |best, i| pick(best, grid[[y, i]]))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    #[test]
    fn fine_lines_are_marks_whichever_way_they_run() {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        // 5.5 px apart, nearly upright, blurred over two pixels: no stretch of a row is quiet.
        let upright = Plane::from_shape_fn((400, 400), |(y, x)| {
            let across = (x as f32 + 0.05 * y as f32) / 5.5 * std::f32::consts::TAU;
            0.3 + 0.25 * across.sin() + rng.random_range(-0.02..0.02)
        });
        let usable = Mask::from_elem((400, 400), true);
        let lying = upright.t().as_standard_layout().into_owned();
        for absorbed in [upright, lying] {
            assert!(noise(&absorbed, &usable) < 0.02);
            assert!(find(&absorbed, &usable).any_marks);
        }
    }
}
