//! The bare paper: its colour, where it is, and how the light falls on it.
//!
//! The light over a loupe field is smooth, so ln(light) is taken as a quadratic over the frame,
//! shared by the channels up to a constant. Its slopes come from differences between neighbouring
//! parts of the field, which a tint's edge cannot bend; the paper is then the lightest level of the
//! flattened field that holds a fair share of it.

use crate::plane::{Mask, Rgb};
use crate::rank::median;
use nalgebra::{SMatrix, SVector};
use palette::{FromColor, Lab, LinSrgb, white_point::D65};
use rayon::prelude::*;

/// The bare paper as photographed.
#[derive(Clone, Debug, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Paper {
    /// Linear light of the paper at the middle of the frame, R, G, B.
    pub linear: [f64; 3],
    /// CIELAB (D65) of the paper as photographed, with no correction for the camera's white balance.
    pub lab: [f64; 3],
    /// Share of the usable field that is bare paper, 0–1.
    pub share: f64,
    /// How far the light, or a colour that fades evenly over the whole frame, changes its hue from one side to the
    /// other: change of ln(red / blue) of linear light, 0 or above. 0.3 where that ratio changes by a third.
    pub hue_drift: f64,
}

/// The paper with the light that falls on it.
#[derive(Clone, Debug)]
pub struct Ground {
    /// The paper's figures.
    pub paper: Paper,
    /// Per channel: coefficients of ln(paper × light) over 1, u, v, u², uv, v² with u, v ∈ [−1, 1]
    /// across the frame's width and height.
    pub light: [[f64; 6]; 3],
}

/// Terms of the light's surface.
type Terms = SVector<f64, 6>;

/// Tiles along the longer side; fine enough to find paper between marks, coarse enough to be quick.
const TILES: usize = 64;
/// Pixels sampled along each side of a tile: 144 make the quantile below stable to about 1 % in light.
const SAMPLES: usize = 12;
/// Lightest share of a tile taken as its ground: the gaps between marks show in a tile even at 80 % cover.
const TILE_QUANTILE: f64 = 0.85;
/// Prior standard deviation of each slope and curvature of ln(light): a quarter of the light across
/// half a frame is about the worst that an examiner would still photograph by (common practice).
const LIGHT_PRIOR_SD: f64 = 0.12;
/// Scatter of a paper tile's ln(light) about the surface: fibre, toning, noise.
const TILE_SD: f64 = 0.02;
/// Tiles between the two ends of a difference: far enough for a slope to show over fibre and noise.
const REACH: usize = 4;
/// Rounds in which the slopes settle; the scale then stands within 1 % of its end.
const SLOPE_ROUNDS: i32 = 20;
/// Extra scale at the start, in tile scatters.
const SLOPE_START: f64 = 4.0;
/// Rounds in which the surface settles on the paper's tiles.
const PAPER_ROUNDS: usize = 6;
/// Scatters at which a difference or a tile counts for nothing (Tukey's biweight, usual 4.685).
const CUT: f64 = 4.685;
/// Share of lightest tiles that names the paper's level: bare paper of under a fiftieth of the
/// field cannot be told from specks and highlights.
const PAPER_TILE_QUANTILE: f64 = 0.97;
/// Half-width of the band about the paper's level, in ln(light), within which a pixel counts as bare.
const BARE_BAND: f64 = 0.08;

/// One tile's ground: position and ln of linear light.
struct Tile {
    terms: Terms,
    ln_luma: f64,
    ln_rgb: [f64; 3],
}

/// Tiles in reading order; none where too little is usable.
struct TileGrid {
    columns: usize,
    tiles: Vec<Option<Tile>>,
}

/// Finds the paper and the light on it. An empty or black field yields white paper in even light.
#[must_use]
pub fn find(linear: &Rgb, usable: &Mask) -> Ground {
    let grid = TileGrid::new(linear, usable);
    let tiles = grid.found();
    if tiles.is_empty() {
        return even_white();
    }
    let surface = settle_on_paper(&tiles, slopes(&grid, |tile| tile.ln_luma));
    let hue = slopes(&grid, |tile| tile.ln_rgb[0] - tile.ln_rgb[2]);
    let residuals: Vec<f64> = tiles
        .iter()
        .map(|t| t.ln_luma - surface.dot(&t.terms))
        .collect();
    let level = paper_level(&residuals);
    let mut light = [[0.0; 6]; 3];
    for (c, channel) in light.iter_mut().enumerate() {
        channel.copy_from_slice(surface.as_slice());
        channel[0] = channel_constant(&tiles, &residuals, &surface, level, c);
    }
    let rgb = light.map(|l| l[0].exp());
    Ground {
        paper: Paper {
            linear: rgb,
            lab: lab_of_linear(rgb),
            share: bare_share(linear, usable, &light),
            // From −1 to 1 in both directions.
            hue_drift: 2.0 * hue[1].hypot(hue[2]),
        },
        light,
    }
}

/// CIELAB (D65, 2°) of a linear sRGB colour. Source: CIE 15, IEC 61966-2-1, through `palette`.
#[must_use]
pub fn lab_of_linear(rgb: [f64; 3]) -> [f64; 3] {
    let lab: Lab<D65, f64> = Lab::from_color(LinSrgb::new(rgb[0], rgb[1], rgb[2]));
    [lab.l, lab.a, lab.b]
}

/// Surface terms at a pixel of a frame of the given size.
pub(super) fn terms(x: f64, y: f64, width: usize, height: usize) -> [f64; 6] {
    let u = 2.0 * (x + 0.5) / width as f64 - 1.0;
    let v = 2.0 * (y + 0.5) / height as f64 - 1.0;
    [1.0, u, v, u * u, u * v, v * v]
}

fn even_white() -> Ground {
    Ground {
        paper: Paper {
            linear: [1.0; 3],
            lab: [100.0, 0.0, 0.0],
            share: 0.0,
            hue_drift: 0.0,
        },
        light: [[0.0; 6]; 3],
    }
}

impl TileGrid {
    fn new(linear: &Rgb, usable: &Mask) -> Self {
        let (height, width) = usable.dim();
        let side = width.max(height).div_ceil(TILES).max(1);
        let columns = width.div_ceil(side);
        let tiles = (0..height.div_ceil(side) * columns)
            .into_par_iter()
            .map(|i| {
                tile(
                    linear,
                    usable,
                    (i % columns) * side,
                    (i / columns) * side,
                    side,
                )
            })
            .collect();
        Self { columns, tiles }
    }

    fn found(&self) -> Vec<&Tile> {
        self.tiles.iter().flatten().collect()
    }

    /// Pairs of tiles `reach` apart, along rows and along columns.
    fn pairs(&self, reach: usize) -> impl Iterator<Item = (&Tile, &Tile)> {
        let across = move |i: usize| (i % self.columns + reach < self.columns).then_some(i + reach);
        let down = move |i: usize| Some(i + reach * self.columns);
        (0..self.tiles.len()).flat_map(move |i| {
            [across(i), down(i)]
                .into_iter()
                .flatten()
                .filter_map(move |k| Some((self.tiles[i].as_ref()?, self.tiles.get(k)?.as_ref()?)))
        })
    }
}

/// Mean colour of the lighter part of one tile, or none where under a third is usable.
fn tile(linear: &Rgb, usable: &Mask, x0: usize, y0: usize, side: usize) -> Option<Tile> {
    let (height, width) = usable.dim();
    let step = side.div_ceil(SAMPLES).max(1);
    let mut samples: Vec<(f32, [f32; 3])> = Vec::with_capacity(SAMPLES * SAMPLES);
    let mut seen = 0usize;
    for y in (y0..(y0 + side).min(height)).step_by(step) {
        for x in (x0..(x0 + side).min(width)).step_by(step) {
            seen += 1;
            if usable[[y, x]] {
                let rgb = [0, 1, 2].map(|c| linear[c][[y, x]]);
                samples.push((luma(rgb), rgb));
            }
        }
    }
    if samples.len() * 3 < seen || samples.is_empty() {
        return None;
    }
    samples.sort_by(|a, b| a.0.total_cmp(&b.0));
    let from = ((samples.len() - 1) as f64 * TILE_QUANTILE) as usize;
    // The middle of the lighter part, not its top: the top is noise.
    let spread = (samples.len() / 12).max(1);
    let window = &samples[from.saturating_sub(spread)..(from + spread).min(samples.len())];
    let mean = [0, 1, 2]
        .map(|c| window.iter().map(|s| f64::from(s.1[c])).sum::<f64>() / window.len() as f64);
    let ln_rgb = mean.map(|m| m.max(1e-4).ln());
    let centre = (x0 as f64 + side as f64 / 2.0, y0 as f64 + side as f64 / 2.0);
    Some(Tile {
        terms: Terms::from(terms(centre.0, centre.1, width, height)),
        ln_luma: luma(mean.map(|m| m as f32)).max(1e-4).ln().into(),
        ln_rgb,
    })
}

fn luma(rgb: [f32; 3]) -> f32 {
    // Rec. 709 luminance, the Y row of IEC 61966-2-1.
    0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]
}

/// Slopes and curvatures of a logarithm of light, from differences between tiles a few apart. A tint's or a
/// wash's edge spoils only the pairs that straddle it, so most pairs speak for the light alone.
fn slopes(grid: &TileGrid, of: impl Fn(&Tile) -> f64) -> Terms {
    let pairs: Vec<(Terms, f64)> = grid
        .pairs(REACH)
        .map(|(a, b)| (b.terms - a.terms, of(b) - of(a)))
        .collect();
    let mut surface = Terms::zeros();
    for round in 0..SLOPE_ROUNDS {
        let scale = TILE_SD * (1.0 + SLOPE_START * 0.75f64.powi(round));
        let weighted = pairs.iter().map(|(terms, difference)| {
            let z = (difference - surface.dot(terms)) / scale;
            (*terms, *difference, biweight(z))
        });
        surface = fit(weighted, scale);
    }
    surface
}

/// The surface settled on the tiles that are paper: the lightest level of the flattened field.
fn settle_on_paper(tiles: &[&Tile], mut surface: Terms) -> Terms {
    for _ in 0..PAPER_ROUNDS {
        let residuals: Vec<f64> = tiles
            .iter()
            .map(|t| t.ln_luma - surface.dot(&t.terms))
            .collect();
        surface[0] += paper_level(&residuals);
        let weighted = tiles.iter().map(|tile| {
            let z = (tile.ln_luma - surface.dot(&tile.terms)) / TILE_SD;
            (
                tile.terms,
                tile.ln_luma - surface.dot(&tile.terms),
                biweight(z),
            )
        });
        surface += fit(weighted, TILE_SD);
    }
    surface
}

/// Tukey's biweight of a residual in scatters.
fn biweight(z: f64) -> f64 {
    if z.abs() < CUT {
        (1.0 - (z / CUT).powi(2)).powi(2)
    } else {
        0.0
    }
}

/// Weighted least squares over (terms, value, weight), with a ridge on every term but the constant.
fn fit(samples: impl Iterator<Item = (Terms, f64, f64)>, scale: f64) -> Terms {
    let mut normal = SMatrix::<f64, 6, 6>::zeros();
    let mut right = Terms::zeros();
    for (terms, value, weight) in samples {
        normal += weight * terms * terms.transpose();
        right += weight * value * terms;
    }
    // Neighbouring tiles share toning and marks: count them as a tenth of so many samples. While
    // the scale is wide the surface stays stiff, or it would tilt to follow a tint or a wash.
    let ridge = 10.0 * (scale / LIGHT_PRIOR_SD).powi(2);
    for i in 1..6 {
        normal[(i, i)] += ridge;
    }
    normal[(0, 0)] += 1e-9;
    normal
        .cholesky()
        .map_or_else(Terms::zeros, |c| c.solve(&right))
}

/// Level of the paper's tiles over the surface: the densest spot near the light end.
fn paper_level(residuals: &[f64]) -> f64 {
    let top = light_end(residuals.to_vec());
    let mut near: Vec<f64> = residuals
        .iter()
        .copied()
        .filter(|r| (r - top).abs() <= BARE_BAND)
        .collect();
    near.sort_by(f64::total_cmp);
    half_sample_mode(&near)
}

/// The light end of some levels, without the specks above it.
fn light_end(mut levels: Vec<f64>) -> f64 {
    levels.sort_by(f64::total_cmp);
    levels[((levels.len() - 1) as f64 * PAPER_TILE_QUANTILE) as usize]
}

/// Mode of sorted values by halving the shortest interval (Bickel & Frühwirth, Comput. Stat. Data
/// Anal. 50 (2006) 3500).
fn half_sample_mode(sorted: &[f64]) -> f64 {
    let mut part = sorted;
    while part.len() > 3 {
        let half = part.len().div_ceil(2);
        let start = (0..=part.len() - half)
            .min_by(|&a, &b| {
                (part[a + half - 1] - part[a]).total_cmp(&(part[b + half - 1] - part[b]))
            })
            .unwrap_or(0);
        if half == part.len() {
            break;
        }
        part = &part[start..start + half];
    }
    part.iter().sum::<f64>() / part.len().max(1) as f64
}

/// Constant of one channel: median over the paper's tiles of what the shared shape leaves.
fn channel_constant(
    tiles: &[&Tile],
    residuals: &[f64],
    surface: &Terms,
    level: f64,
    c: usize,
) -> f64 {
    let left = tiles
        .iter()
        .zip(residuals)
        .filter(|&(_, &r)| (r - level).abs() <= 1.5 * TILE_SD)
        .map(|(tile, _)| tile.ln_rgb[c] - (surface.dot(&tile.terms) - surface[0]));
    median(left).unwrap_or(surface[0])
}

/// Share of usable pixels whose light is within [`BARE_BAND`] of the paper's in every channel.
fn bare_share(linear: &Rgb, usable: &Mask, light: &[[f64; 6]; 3]) -> f64 {
    let (height, width) = usable.dim();
    let step = (width.max(height) / 512).max(1);
    let (bare, seen) = (0..height)
        .into_par_iter()
        .step_by(step)
        .map(|y| {
            let (mut bare, mut seen) = (0usize, 0usize);
            for x in (0..width).step_by(step).filter(|&x| usable[[y, x]]) {
                let t = terms(x as f64, y as f64, width, height);
                seen += 1;
                bare += usize::from((0..3).all(|c| {
                    let paper: f64 = t.iter().zip(&light[c]).map(|(a, b)| a * b).sum();
                    (f64::from(linear[c][[y, x]].max(1e-4)).ln() - paper).abs() <= BARE_BAND
                }));
            }
            (bare, seen)
        })
        .reduce(|| (0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    bare as f64 / seen.max(1) as f64
}

#[cfg(test)]
mod tests;
